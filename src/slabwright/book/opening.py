"""Open a shop book: make it where there is none, bring an older one up to date, leave everything else untouched."""

from __future__ import annotations

import os
import sqlite3
import time
from contextlib import closing
from pathlib import Path

from sqlalchemy import URL, Connection, create_engine, inspect, make_url, text
from sqlalchemy.exc import ArgumentError, DBAPIError

from slabwright.book.book import Book
from slabwright.book.store import MOST_MORE, PATIENCE, Store, in_one_line, refused
from slabwright.findings import SlabwrightError
from slabwright.job.paths import shown

VERSIONS = ("0001", "0002")
"""Versions of the book that this program knows, oldest first; one for each script of `migrations`."""
VERSION_TABLE = "book_version"
APPLICATION_ID = 0x53425742
"""In the head of a SQLite file: this is a shop book."""
FILE = "book.slabwright.sqlite"
_MAGIC = b"SQLite format 3\x00"
_LOCK = 0x5342_5742
_POSTGRESQL = ("postgresql", "postgres", "postgresql+psycopg")


def default_place() -> str:
    """Where the book is when nobody says: what `SLABWRIGHT_BOOK` names, else a file in the user's data folder."""
    stated = os.environ.get("SLABWRIGHT_BOOK", "")
    if stated.strip():
        return stated
    data = os.environ.get("XDG_DATA_HOME", "")
    home = Path(data) if Path(data).is_absolute() else Path("~/.local/share").expanduser()
    return str(home / "slabwright" / FILE)


def open_book(place: str | Path | None = None) -> Book:
    """Open a shop book; one is made where there is none, and an older one is brought up to date.

    Args:
        place: a file, `sqlite:///FILE`, or `postgresql+psycopg://USER@HOST/DATABASE`; None for `default_place()`

    Raises:
        SlabwrightError: it is no book, was made by a newer Slabwright, or cannot be reached; it is left untouched.
    """
    asked = _place(place)
    if isinstance(asked, URL):
        return _open_server(asked)
    if place is None:
        _make_folder(asked.parent)
    return _open_file(asked)


def file_of(place: str | Path | None) -> Path | None:
    """The file in which a book is or would be kept, or None for one on a server.

    Raises:
        SlabwrightError: it is no book's address.
    """
    asked = _place(place)
    return asked if isinstance(asked, Path) else None


def told(place: str | Path | None) -> str:
    """A book's place as messages call it, without a password.

    Raises:
        SlabwrightError: it is no book's address.
    """
    asked = _place(place)
    return str(asked) if isinstance(asked, Path) else _without_password(asked)


def _without_password(url: URL) -> str:
    return url.set(query={}).render_as_string(hide_password=True)  # a query may hold a password too


def _place(place: str | Path | None) -> Path | URL:
    """A file, or a server's address."""
    words = default_place() if place is None else str(place)
    if not words.strip():
        raise SlabwrightError("the book's name is empty; name a file, or postgresql+psycopg://USER@HOST/DATABASE")
    if "://" not in words:
        return Path(words)
    try:
        url = make_url(words)
    except (ArgumentError, ValueError):
        raise SlabwrightError(
            f"{shown(words.split('@')[-1], 60)} is no book's address; "
            "write a file, or postgresql+psycopg://USER@HOST/DATABASE"
        ) from None
    if url.get_backend_name() == "sqlite":
        if not url.database or url.database == ":memory:":
            raise SlabwrightError(f"{words} names no file; a book is kept in a file, such as sqlite:///{FILE}")
        return Path(url.database)
    if url.drivername not in _POSTGRESQL:
        raise SlabwrightError(
            f"a book cannot be kept in {shown(url.drivername, 30)}; name a file, or postgresql+psycopg://USER@HOST/DATABASE"
        )
    return url.set(drivername="postgresql+psycopg")


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise SlabwrightError(
            f"{folder}: the book's folder cannot be made ({error.strerror}); name a book with --book"
        ) from None


def _open_file(path: Path) -> Book:
    name = str(path)
    version = file_version(path)
    address = URL.create("sqlite", database=os.path.abspath(path))  # noqa: PTH100 - a link stays a link
    engine = create_engine(address, connect_args={"timeout": PATIENCE}, max_overflow=MOST_MORE, pool_timeout=PATIENCE)
    store = Store(engine, name)
    if version != VERSIONS[-1]:
        try:
            _use_log(path, name)
            with store.writing() as connection:
                connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
                _bring_up_to_date(connection, name)
        except BaseException:
            store.close()
            raise
    return Book(store)


def file_version(path: Path) -> str | None:
    """Version of the book in a file, or None where there is none yet; nothing is changed.

    Raises:
        SlabwrightError: it is no book, was made by a newer Slabwright, or cannot be read.
    """
    name = shown(str(path), 100)
    try:
        if path.is_dir():
            raise SlabwrightError(f"{name} is a folder; name a file for the book, such as {FILE}")
        if not path.parent.is_dir():
            raise SlabwrightError(f"{name}: there is no such folder; make it, or name another")
        if not path.exists() or path.stat().st_size == 0:
            return None
        with path.open("rb") as stream:
            if stream.read(len(_MAGIC)) != _MAGIC:
                raise SlabwrightError(
                    f"{name} is no shop book; name another file, a new one is made where there is none"
                )
        uri = f"{Path(os.path.abspath(path)).as_uri()}?mode=rw"  # noqa: PTH100 - a link stays a link
        with closing(sqlite3.connect(uri, uri=True, timeout=PATIENCE)) as connection:
            (kind,) = connection.execute("PRAGMA application_id").fetchone()
            (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
            if kind == 0 and tables == 0:
                return None
            if kind != APPLICATION_ID:
                raise SlabwrightError(f"{name} is a database of something else; name another file for the book")
            found = connection.execute(f"SELECT version_num FROM {VERSION_TABLE}").fetchone()
    except sqlite3.Error as error:
        raise SlabwrightError(f"{name}: {refused(str(error))}") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be used"
        raise SlabwrightError(f"{name}: cannot be read ({reason}); check its name and who may read it") from error
    return _known(found[0] if found else None, name)


def _known(version: str | None, name: str) -> str | None:
    if version is not None and version not in VERSIONS:
        raise SlabwrightError(
            f"{name} was written by a newer Slabwright (book version {shown(version)}, this one knows {VERSIONS[-1]}); "
            "it is untouched: install the newer one"
        )
    return version


def _use_log(path: Path, name: str) -> None:
    """Let a file be written through a write-ahead log; two that make the same book at once take turns."""
    until = time.monotonic() + PATIENCE
    while True:
        try:
            with closing(sqlite3.connect(path, timeout=PATIENCE)) as connection:
                connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.Error as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise SlabwrightError(f"{name}: {refused(str(error))}") from error
            time.sleep(0.02)


def _open_server(url: URL) -> Book:
    name = _without_password(url)
    with in_one_line(name):
        engine = create_engine(
            url,
            max_overflow=MOST_MORE,
            pool_timeout=PATIENCE,
            pool_pre_ping=True,
            connect_args={"connect_timeout": 10, "client_encoding": "utf8"},
        )
    store = Store(engine, name)
    try:
        with store.reading() as connection:
            version = _server_version(connection, name)
        if version != VERSIONS[-1]:
            with store.writing() as connection:
                connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": _LOCK})
                _server_version(connection, name)
                _bring_up_to_date(connection, name)
    except BaseException:
        store.close()
        raise
    return Book(store)


def _server_version(connection: Connection, name: str) -> str | None:
    """Version of the book in a server's database, or None where it is empty."""
    encoding = connection.execute(text("SHOW server_encoding")).scalar_one()
    if encoding != "UTF8":
        raise SlabwrightError(f"{name}: keeps text in {encoding}; make the database with encoding UTF8")
    tables = inspect(connection).get_table_names()
    if VERSION_TABLE not in tables:
        if tables:
            raise SlabwrightError(f"{name} holds tables of something else; name an empty database for the book")
        return None
    return _known(connection.execute(text(f"SELECT version_num FROM {VERSION_TABLE}")).scalar(), name)


def _bring_up_to_date(connection: Connection, name: str) -> None:
    """Run the scripts that a book has not seen yet, within the transaction of the connection."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", "slabwright.book:migrations")
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    try:
        command.upgrade(config, "head")
    except DBAPIError as error:
        raise SlabwrightError(f"{name}: cannot be brought up to date: {refused(str(error.orig))}") from error
