"""Reading and writing a book's database: transactions, and what went wrong in one line."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from typing import Any

from sqlalchemy import Connection, Engine, event
from sqlalchemy.exc import DBAPIError, TimeoutError

from slabwright.findings import SlabwrightError

PATIENCE = 60.0
"""Seconds that a writer waits for another."""
MOST_MORE = 45
"""Connections beyond the five that are kept: more than the threads of a server that shows pages."""


class Store:
    """A book's database.

    Attributes:
        engine: connections to it
        name: what messages call it; never holds a password
    """

    def __init__(self, engine: Engine, name: str) -> None:
        self.engine = engine
        self.name = name
        # SQLite lets one write at a time and has others look again after a while; those of this process are called in turn.
        self._writer: AbstractContextManager[Any] = nullcontext()
        if engine.dialect.name == "sqlite":
            self._writer = threading.Lock()
            event.listen(engine, "connect", _as_asked)
            event.listen(engine, "begin", _begin)
        else:
            event.listen(engine, "connect", _on_the_disk)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A transaction that sees one state of the book and changes nothing."""
        with in_one_line(self.name), self.engine.connect() as connection:
            if self.engine.dialect.name == "postgresql":
                connection.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
            with connection.begin():
                yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction that is kept whole once it is left, or not at all."""
        with self._writer, in_one_line(self.name), self.engine.connect() as connection:
            connection.execution_options(slabwright_writes=True)
            with connection.begin():
                yield connection

    def close(self) -> None:
        """Let go of every connection."""
        self.engine.dispose()


def _as_asked(connection: Any, _: Any) -> None:
    """Transactions are begun by us, other writers are waited for, and what is acknowledged is on the disk."""
    connection.isolation_level = None
    for pragma in (f"busy_timeout = {PATIENCE * 1000:.0f}", "synchronous = FULL", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}")


def _on_the_disk(connection: Any, _: Any) -> None:
    """A server that was told to acknowledge before it has written is told otherwise for this book."""
    connection.execute(
        "SELECT set_config('synchronous_commit', 'on', false) WHERE current_setting('synchronous_commit') = 'off'"
    )
    connection.commit()


def _begin(connection: Connection) -> None:
    """A writer takes its turn at once, so that what it reads first still holds when it writes."""
    writes = connection.get_execution_options().get("slabwright_writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def in_one_line(name: str) -> Iterator[None]:
    """Tell what a database refuses as one line that names the book.

    Raises:
        SlabwrightError: the database refused; what it had acknowledged stands.
    """
    try:
        yield
    except DBAPIError as error:
        raise SlabwrightError(f"{name}: {refused(str(error.orig))}") from error
    except TimeoutError as error:
        raise SlabwrightError(f"{name}: too many use the book at once; try again in a minute") from error


def refused(said: str) -> str:
    """What a database said, and what to do about it."""
    known = {
        "database is locked": "is being written by another for a long time; try again when they are done",
        "disk is full": "there is no room left on its disk; make some, nothing that was saved is lost",
        "readonly database": "cannot be written; check who may write it and its folder",
        "unable to open": "cannot be opened; check its name and who may write its folder",
        "malformed": "is damaged; restore the last backup with `slabwright book restore`",
        "not a database": "is no shop book; name another file, a new one is made where there is none",
        "disk I/O error": "its disk cannot be read or written; check the disk, then try again",
    }
    for words, plain in known.items():
        if words in said:
            return plain
    first = next((line.strip() for line in said.splitlines() if line.strip()), "no reason given")
    return f"the database refuses: {first[:300]}"
