"""Backups: a copy of a book in a file, made while others go on with it, checked row by row; and the way back."""

from __future__ import annotations

import hashlib
import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from pathlib import Path

from sqlalchemy import Connection, Table, func, insert, select, text

from slabwright.book.contents import unpacked
from slabwright.book.store import Store, refused
from slabwright.book.tables import contents, metadata
from slabwright.findings import SlabwrightError
from slabwright.job.paths import shown

_AT_ONCE = 200
"""Rows that are copied with one statement."""


def backup(store: Store, path: Path) -> Path:
    """Copy a book into a file, and check the copy.

    A SQLite book is copied page by page by SQLite itself; one on a server row by row, as it stood at one moment. Either way the
    copy is a SQLite book, which `open_book` opens, and nobody has to wait for it.

    Raises:
        SlabwrightError: the file is there already or cannot be written, or the book or the copy is damaged.
    """
    name = shown(str(path), 100)
    if os.path.lexists(path):
        raise SlabwrightError(f"{name} is there already; name a new file for the backup")
    if not path.parent.is_dir():
        raise SlabwrightError(f"{name}: there is no such folder; make it, or name another")
    with _beside(path) as copy:
        copied = _copied_pages if store.engine.dialect.name == "sqlite" else _copied_rows
        stood = copied(store, copy)
        _on_its_own(copy)
        if checked(copy) != stood:
            raise SlabwrightError(f"{name}: the copy differs from the book; the disk may be failing: back up elsewhere")
        with copy.open("rb") as stream:
            os.fsync(stream.fileno())
        copy.replace(path)
    return path


@contextmanager
def _beside(path: Path) -> Iterator[Path]:
    """A file in a folder of its own beside another, gone when it is left."""
    folder: Path | None = None
    try:
        folder = Path(tempfile.mkdtemp(dir=path.parent, prefix=f".{path.name[:40]}-", suffix=".part"))
        yield folder / "copy.sqlite"
    except OSError as error:
        raise SlabwrightError(
            f"{shown(str(path), 100)}: cannot be written ({error.strerror}); check who may write there, and its room"
        ) from error
    finally:
        if folder is not None:
            shutil.rmtree(folder, ignore_errors=True)


def _copied_pages(store: Store, copy: Path) -> dict[str, str]:
    """Copy a SQLite book; the transaction holds the state that the copy is compared with."""
    with store.reading() as connection:
        stood = fingerprint(connection)
        source = connection.connection.driver_connection
        try:
            if not isinstance(source, sqlite3.Connection):
                raise SlabwrightError(f"{store.name}: cannot be copied through this driver")
            with closing(sqlite3.connect(copy)) as target:
                source.backup(target)
        except sqlite3.Error as error:
            raise SlabwrightError(f"{store.name}: {refused(str(error))}") from error
    return stood


def _copied_rows(store: Store, copy: Path) -> dict[str, str]:
    from slabwright.book.opening import open_book

    with open_book(copy) as target, store.reading() as connection, target.store.writing() as other:
        stood = fingerprint(connection)
        copy_rows(connection, other)
    return stood


def _on_its_own(copy: Path) -> None:
    """Leave the log of a SQLite file, so that the file alone is all of it."""
    try:
        with closing(sqlite3.connect(copy)) as connection:
            connection.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.Error as error:
        raise SlabwrightError(f"{copy.name}: {refused(str(error))}") from error


def checked(path: Path) -> dict[str, str]:
    """Check a book in a file from end to end: its pages, its references, and every content against its digest.

    Returns:
        Its fingerprint.

    Raises:
        SlabwrightError: it is damaged.
    """
    name = shown(str(path), 100)
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as connection:
            said = connection.execute("PRAGMA integrity_check").fetchall()
            dangling = connection.execute("PRAGMA foreign_key_check").fetchall()
    except sqlite3.Error as error:
        raise SlabwrightError(f"{name}: {refused(str(error))}") from error
    if said != [("ok",)] or dangling:
        raise SlabwrightError(f"{name} is damaged ({str(said[0][0])[:100] if not dangling else 'rows are missing'})")
    from slabwright.book.opening import open_book

    with open_book(path) as book, book.store.reading() as connection_:
        for row in connection_.execute(select(contents).execution_options(yield_per=16)):
            unpacked(row.digest, row.size, row.packed, row.data)
        return fingerprint(connection_)


def fingerprint(connection: Connection) -> dict[str, str]:
    """A sum of every table's rows: equal for two books that hold the same, whatever they are kept in."""
    found: dict[str, str] = {}
    for table in metadata.sorted_tables:
        columns = [column for column in table.columns if column is not contents.c.data]
        total = 0
        for row in connection.execute(select(*columns).execution_options(yield_per=_AT_ONCE)):
            # the order of rows differs between databases: the sum of their digests does not
            total += int.from_bytes(hashlib.sha256(repr(tuple(row)).encode()).digest())
        found[table.name] = f"{total:x}"
    return found


def copy_rows(source: Connection, target: Connection) -> None:
    """Copy every row of a book into an empty one, with its ids."""
    for table in metadata.sorted_tables:
        at_once = 4 if table is contents else _AT_ONCE
        for rows in source.execute(select(table).execution_options(yield_per=at_once)).mappings().partitions():
            target.execute(insert(table), [dict(row) for row in rows])
        if target.dialect.name == "postgresql" and "id" in table.c:
            _count_on(target, table)


def _count_on(target: Connection, table: Table) -> None:
    """Have a server number the next row after the last one copied."""
    last = target.execute(select(func.max(table.c.id))).scalar()
    if last is not None:
        target.execute(
            text("SELECT setval(pg_get_serial_sequence(:name, 'id'), :last)"), {"name": table.name, "last": last}
        )


def restore_book(path: Path | str, target: Path | str | None) -> Mapping[str, int]:
    """Bring a backup back into a book that is new or holds nothing; the backup stays as it is.

    Args:
        path: the backup
        target: the book, as `open_book` takes it; made where there is none

    Returns:
        How many jobs, revisions and photos it holds.

    Raises:
        SlabwrightError: the backup is none or is damaged, or the book holds something.
    """
    from slabwright.book.opening import file_version, open_book

    backup_file = Path(path)
    name = shown(str(path), 100)
    if not backup_file.exists():
        raise SlabwrightError(f"{name}: there is no such file; name a backup")
    try:
        version = file_version(backup_file)
    except SlabwrightError as error:
        raise SlabwrightError(_of_a_backup(str(error))) from error
    if version is None:
        raise SlabwrightError(f"{name} is an empty database, no backup of a book")
    with tempfile.TemporaryDirectory(prefix="slabwright-") as folder:
        copy = Path(folder) / "copy.sqlite"
        try:
            with (
                closing(sqlite3.connect(f"{backup_file.absolute().as_uri()}?mode=ro", uri=True)) as source,
                closing(sqlite3.connect(copy)) as made,
            ):
                source.backup(made)
        except sqlite3.Error as error:
            raise SlabwrightError(f"{name}: {_of_a_backup(refused(str(error)))}") from error
        try:
            with open_book(copy):
                pass  # an older one is brought up to date; the backup itself stays as it is
            stood = checked(copy)
        except SlabwrightError as error:
            raise SlabwrightError(_of_a_backup(str(error))) from error
        with open_book(copy) as old, open_book(target) as book:
            with old.store.reading() as connection, book.store.writing() as other:
                held = [table.name for table in metadata.sorted_tables if other.execute(select(table).limit(1)).first()]
                if held:
                    raise SlabwrightError(
                        f"{book.name} holds something already; name a new book with --book, or move this one away"
                    )
                copy_rows(connection, other)
                if fingerprint(other) != stood:
                    raise SlabwrightError(f"{book.name}: the copy differs from the backup; nothing was written")
            with book.store.reading() as connection:
                return {
                    name: int(connection.execute(select(func.count()).select_from(metadata.tables[name])).scalar_one())
                    for name in ("jobs", "revisions", "photos")
                }


def _of_a_backup(said: str) -> str:
    """What is said of a damaged book, said of a backup: the remedy is an earlier one, not the command just used."""
    return said.replace(
        "restore the last backup with `slabwright book restore`", "name an earlier backup; this one cannot be restored"
    )
