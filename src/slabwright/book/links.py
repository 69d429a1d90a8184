"""Links that were given to clients: of which job, until when, to whom, and whether they were taken back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import Row, Select, insert, select

from slabwright.book.revisions import newest
from slabwright.book.stated import now
from slabwright.book.tables import client_links, links_taken_back

if TYPE_CHECKING:
    from slabwright.book.store import Store


@dataclass(frozen=True)
class LinkRow:
    """A link that was given out.

    Attributes:
        nonce: random, its name in the book
        job: that it shows
        until: good until then
        given: when it was given out
        to: whom it was given to, in the maker's words
        key: that its token is signed with, in hex; nothing: the server's own
    """

    nonce: str
    job: int
    until: datetime
    given: datetime
    to: str
    key: str


class Links:
    """The links of a book; one that is over or was taken back stays in it."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def add(self, link: LinkRow) -> None:
        """Keep a link; nothing where the book has it already.

        Raises:
            SlabwrightError: there is no such job.
        """
        row: dict[str, Any] = {"nonce": link.nonce, "job": link.job, "until": link.until, "given": link.given}
        row |= {"given_to": link.to, "key": link.key}
        with self._store.writing() as connection:
            newest(connection, link.job, writes=True)
            if (
                connection.execute(select(client_links.c.nonce).where(client_links.c.nonce == link.nonce)).first()
                is None
            ):
                connection.execute(insert(client_links), row)

    def of(self, nonce: str) -> LinkRow | None:
        """The link of a name; None where it was never given out, or was taken back."""
        with self._store.reading() as connection:
            row = connection.execute(_standing().where(client_links.c.nonce == nonce)).first()
        return None if row is None else _link(row)

    def of_job(self, job: int) -> tuple[LinkRow, ...]:
        """A job's links that were not taken back, the newest first."""
        order = client_links.c.given.desc(), client_links.c.nonce
        with self._store.reading() as connection:
            rows = connection.execute(_standing().where(client_links.c.job == job).order_by(*order)).all()
        return tuple(_link(row) for row in rows)

    def take_back(self, job: int, nonce: str) -> bool:
        """Make a link worthless; False where the job has none like it."""
        with self._store.writing() as connection:
            standing = _standing().where(client_links.c.job == job, client_links.c.nonce == nonce)
            # Held until the end, so that two who take it back at once do it once.
            if connection.execute(standing.with_for_update(of=client_links)).first() is None:
                return False
            connection.execute(insert(links_taken_back), {"nonce": nonce, "at": now()})
        return True


def _standing() -> Select[Any]:
    return select(client_links).where(client_links.c.nonce.not_in(select(links_taken_back.c.nonce)))


def _link(row: Row[Any]) -> LinkRow:
    return LinkRow(row.nonce, row.job, row.until, row.given, row.given_to, row.key)
