"""Readings that are being taken: each line is in the book before it is acknowledged, and counts once however often it comes."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Row, insert, select
from sqlalchemy.dialects import postgresql, sqlite

from slabwright.book.revisions import newest
from slabwright.book.stated import now
from slabwright.book.tables import readings_begun, readings_closed, readings_lines
from slabwright.findings import SlabwrightError

if TYPE_CHECKING:
    from slabwright.book.store import Store


@dataclass(frozen=True)
class BegunRow:
    """Readings that are being taken in a job.

    Attributes:
        begun: their own id, as the device has it
        head: how the stations are laid out, as it was handed in
        lines: what was done at them, in the order in which it came
    """

    begun: str
    head: Mapping[str, Any]
    lines: tuple[Mapping[str, Any], ...]


class ReadingsBegun:
    """The readings that are being taken, of every job of a book; what is closed stays in the book."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def of(self, job: int) -> BegunRow | None:
        """The readings that are being taken in a job; None where there are none.

        Raises:
            SlabwrightError: there is no such job.
        """
        with self._store.reading() as connection:
            newest(connection, job)
            return _open(connection, job)

    def begin(self, job: int, begun: str, head: Mapping[str, Any], who: str) -> None:
        """Begin readings in a job.

        Raises:
            SlabwrightError: some are begun already, or there is no such job.
        """
        with self._store.writing() as connection:
            newest(connection, job, writes=True)  # others wait here, so that only one begins
            if _row(connection, job) is not None:
                raise SlabwrightError("readings are begun already; go on with them, or put them aside first")
            _begin(connection, job, begun, head, who)

    def add(self, job: int, lines: Iterable[Mapping[str, Any]]) -> BegunRow:
        """Keep lines, each under its own `id`; one whose id is known already says nothing.

        Raises:
            SlabwrightError: none are begun, or there is no such job.
        """
        with self._store.writing() as connection:
            newest(connection, job, writes=True)
            row = _row(connection, job)
            if row is None:
                raise SlabwrightError("no readings are begun; begin them first")
            _add(connection, row.id, lines)
            found = _open(connection, job)
        assert found is not None
        return found

    def close(self, job: int, begun: str) -> None:
        """Close readings, so that others can be begun; nothing where others are begun by now.

        Raises:
            SlabwrightError: there is no such job.
        """
        with self._store.writing() as connection:
            newest(connection, job, writes=True)
            row = _row(connection, job)
            if row is not None and row.begun == begun:
                connection.execute(insert(readings_closed), {"readings": row.id, "at": now()})

    def take_over(self, job: int, found: BegunRow, who: str, *, closed: bool) -> None:
        """Keep readings that were kept elsewhere before; nothing where the book has them already.

        Raises:
            SlabwrightError: there is no such job.
        """
        with self._store.writing() as connection:
            newest(connection, job, writes=True)
            known = select(readings_begun.c.id).where(readings_begun.c.begun == found.begun)
            if connection.execute(known).first() is not None:
                return
            others = _row(connection, job) is not None
            readings = _begin(connection, job, found.begun, found.head, who)
            _add(connection, readings, found.lines)
            if closed or others:
                connection.execute(insert(readings_closed), {"readings": readings, "at": now()})


def _row(connection: Connection, job: int) -> Row[Any] | None:
    closed = select(readings_closed.c.readings)
    asked = select(readings_begun).where(readings_begun.c.job == job, readings_begun.c.id.not_in(closed))
    return connection.execute(asked.order_by(readings_begun.c.id.desc()).limit(1)).first()


def _open(connection: Connection, job: int) -> BegunRow | None:
    row = _row(connection, job)
    if row is None:
        return None
    asked = select(readings_lines.c.said).where(readings_lines.c.readings == row.id).order_by(readings_lines.c.id)
    lines = tuple(json.loads(line.said) for line in connection.execute(asked))
    return BegunRow(row.begun, json.loads(row.head), lines)


def _begin(connection: Connection, job: int, begun: str, head: Mapping[str, Any], who: str) -> int:
    row = {"job": job, "begun": begun, "head": json.dumps(dict(head)), "who": who, "at": now()}
    (readings,) = connection.execute(insert(readings_begun), row).inserted_primary_key or (0,)
    return int(readings)


def _add(connection: Connection, readings: int, lines: Iterable[Mapping[str, Any]]) -> None:
    table = readings_lines
    made: Any = postgresql.insert(table) if connection.dialect.name == "postgresql" else sqlite.insert(table)
    once = made.on_conflict_do_nothing(index_elements=["readings", "key"])
    at = now()
    for line in lines:
        row = {"readings": readings, "key": str(line["id"]), "said": json.dumps(dict(line)), "at": at}
        connection.execute(once, row)
