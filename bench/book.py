"""The shop book: killed while it saves, written by two at once, and what a revision takes of time and room."""

from __future__ import annotations

import contextlib
import hashlib
import multiprocessing
import random
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerContext
from pathlib import Path
from typing import Any

from sqlalchemy import event

from bench.private_server import NoServer, new_database
from bench.row import Row
from slabwright.book import Superseded, open_book

KILLS = 1000
REVISIONS = 2000
_EXAMPLE = Path(__file__).parents[1] / "examples" / "reading-table"


@dataclass(frozen=True)
class Killed:
    """What a book holds after its writers were killed.

    Attributes:
        kills: how many
        acknowledged: saves of which the writer knew that they are kept
        there: revisions in the book
        lost: acknowledged saves that are not there as they were saved
        damaged: how often the book's file failed its check after a kill
    """

    kills: int
    acknowledged: int
    there: int
    lost: int
    damaged: int


@dataclass(frozen=True)
class Written:
    """What a book holds after two wrote the same job at once.

    Attributes:
        accepted: saves that became revisions
        refused: saves that came second
        lost: saves of either kind that are not there as they were saved
        gaps: numbers of revisions that are missing or were given twice
        seconds: that it took
    """

    accepted: int
    refused: int
    lost: int
    gaps: int
    seconds: float


def processes() -> ForkServerContext:
    """Processes that start quickly, with the book already imported."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["bench.book", "slabwright.book.opening", "sqlalchemy.dialects.postgresql.psycopg"])
    return context


def files_of(seed: str) -> dict[str, bytes]:
    """A job's files that no other seed makes: a small job file, and readings that do not pack well."""
    draw = random.Random(seed)
    readings = draw.randbytes(draw.choice((300, 3_000, 30_000)))
    return {"job.toml": f'[job]\ntitle = "{seed}"\n'.encode(), "survey.csv": readings.hex().encode()}


def digest(files: Any) -> str:
    """Of all the files of a job."""
    whole = hashlib.sha256()
    for name in sorted(files):
        whole.update(hashlib.sha256(name.encode()).digest() + hashlib.sha256(files[name]).digest())
    return whole.hexdigest()


def _save_without_end(place: str, seed: str, told: Connection, often: bool) -> None:
    """Save one revision after the other, and say so each time once it is acknowledged.

    Args:
        place: of the book
        seed: of what is saved
        told: where it is said
        often: whether SQLite brings its log into the file every few saves, so that this is interrupted too
    """
    with open_book(place) as book:
        if often:
            event.listen(book.store.engine, "connect", lambda raw, _: raw.execute("PRAGMA wal_autocheckpoint = 10"))
        newest = book.job(1).revision
        for count in range(1_000_000):
            files = files_of(f"{seed}-{count}")
            newest = book.save(1, files, newest, "a writer", "").number
            told.send((newest, digest(files)))


def killed(place: str, kills: int, seed: int = 1) -> Killed:
    """Kill a writer again and again (SIGKILL) while it opens the book and saves, and look each time at what is there.

    Args:
        place: of a book that is not there yet
        kills: how often
        seed: of the moments
    """
    context = processes()
    draw = random.Random(seed)
    acknowledged: dict[int, str] = {}
    lost = damaged = 0
    with open_book(place) as book:
        book.add(files_of("first"), "a writer", "")
    for number in range(kills):
        here, there = context.Pipe(duplex=False)
        often = number % 2 == 1 and "://" not in place
        writer = context.Process(target=_save_without_end, args=(place, f"{seed}-{number}", there, often), daemon=True)
        writer.start()
        there.close()
        if number % 4:
            here.poll(30.0)  # three of four after the first save, one while it may still be opening the book
            time.sleep(draw.uniform(0.0, 0.012))
        else:
            time.sleep(draw.uniform(0.0, 0.060))
        writer.kill()
        writer.join()
        new: dict[int, str] = {}
        with contextlib.suppress(EOFError, OSError):
            while True:
                saved, of = here.recv()
                new[saved] = of
        here.close()
        acknowledged |= new
        damaged += not _sound(place)
        with open_book(place) as book:
            lost += sum(not _is_there(book, saved, of) for saved, of in new.items())
    with open_book(place) as book:
        lost += sum(not _is_there(book, saved, of) for saved, of in acknowledged.items())
        return Killed(kills, len(acknowledged), book.job(1).revision, lost, damaged)


def _is_there(book: Any, number: int, of: str) -> bool:
    return number <= book.job(1).revision and digest(book.revision(1, number).files) == of


def _sound(place: str) -> bool:
    """Whether a file's pages, indexes and references are as they must be; a server checks its own."""
    if "://" in place:
        return True
    with closing(sqlite3.connect(place)) as connection:
        pages = connection.execute("PRAGMA integrity_check").fetchall()
        return pages == [("ok",)] and not connection.execute("PRAGMA foreign_key_check").fetchall()


def _save_many(place: str, seed: str, count: int, start: Any, told: Connection) -> None:
    """Save so many revisions; what comes second is saved again on top of the newest."""
    accepted: list[tuple[int, str]] = []
    refused: list[tuple[int, str]] = []
    with open_book(place) as book:
        start.wait()
        newest = book.job(1).revision
        for number in range(count):
            files = files_of(f"{seed}-{number}")
            while True:
                try:
                    newest = book.save(1, files, newest, f"writer {seed}", "").number
                except Superseded as second:
                    refused.append((second.draft, digest(files)))
                    newest = second.newest
                else:
                    accepted.append((newest, digest(files)))
                    break
    told.send((accepted, refused))


def written_by_two(place: str, revisions: int) -> Written:
    """Have two processes write one job at once.

    Args:
        place: of a book that is not there yet
        revisions: by both together
    """
    context = processes()
    with open_book(place) as book:
        book.add(files_of("first"), "a writer", "")
    start = context.Barrier(3)
    pipes, writers = [], []
    for seed in ("a", "b"):
        here, there = context.Pipe(duplex=False)
        writer = context.Process(target=_save_many, args=(place, seed, revisions // 2, start, there), daemon=True)
        writer.start()
        there.close()
        pipes.append(here)
        writers.append(writer)
    start.wait(60.0)
    begin = time.perf_counter()
    accepted: list[tuple[int, str]] = []
    refused: list[tuple[int, str]] = []
    for here in pipes:
        mine, beside = here.recv()
        accepted += mine
        refused += beside
        here.close()
    seconds = time.perf_counter() - begin
    for writer in writers:
        writer.join()
    with open_book(place) as book:
        lost = sum(not _is_there(book, number, of) for number, of in accepted)
        lost += sum(digest(book.draft(number).files) != of for number, of in refused)
        listed = [row.number for row in book.revisions(1)]
        lost += len(refused) - len(book.drafts(1))
    numbers = sorted(number for number, _ in accepted)
    gaps = sum(one != other for one, other in zip(numbers, range(2, revisions + 2), strict=True))
    gaps += listed != list(range(1, revisions + 2))
    return Written(len(accepted), len(refused), lost, gaps, seconds)


def rows() -> Iterator[Row]:
    """Each claim about the shop book, measured."""
    with tempfile.TemporaryDirectory() as folder:
        yield _kills("SQLite", str(Path(folder) / "kills.sqlite"), KILLS)
        yield _two("SQLite", str(Path(folder) / "two.sqlite"))
        yield from _cost(Path(folder))
    try:
        places = [new_database(durable=True), new_database(durable=True)]
    except NoServer as reason:
        yield Row("PostgreSQL", "not measured", "-", None, "a server", None, str(reason))
        return
    yield _two("PostgreSQL", places[0])
    yield _kills("PostgreSQL", places[1], KILLS // 10)


def _kills(what: str, place: str, kills: int) -> Row:
    found = killed(place, kills)
    return Row(
        f"{what}: {kills} kills during saves",
        f"{found.lost} lost, {found.damaged} failed checks",
        f"{found.acknowledged} acknowledged revisions",
        (found.acknowledged - found.lost) / found.acknowledged,
        "every acknowledged revision is there, the file passes its check each time",
        found.lost == 0 and found.damaged == 0 and found.acknowledged > kills // 2,
        f"{found.there - 1 - found.acknowledged} more were kept that the killed writer did not live to tell",
    )


def _two(what: str, place: str) -> Row:
    found = written_by_two(place, REVISIONS)
    return Row(
        f"{what}: two processes write one job at once",
        f"{found.accepted - found.lost} revisions kept, {found.gaps} gaps; {found.refused} came second and are kept as drafts",
        f"{REVISIONS} revisions",
        (found.accepted - found.lost) / REVISIONS,
        "none is lost",
        found.lost == 0 and found.gaps == 0 and found.accepted == REVISIONS,
        f"{(found.accepted + found.refused) / found.seconds:.0f} saves a second",
    )


def _cost(folder: Path) -> Iterator[Row]:
    """What a revision of an example with one figure changed takes, beside the bare work."""
    files = {path.name: path.read_bytes() for path in _EXAMPLE.iterdir() if path.is_file()}
    whole = sum(map(len, files.values()))
    place, count = folder / "cost.sqlite", 300
    with open_book(place) as book:
        newest = book.add(files, "a writer", "").number
        before = _size(place)
        begin = time.perf_counter()
        for number in range(count):
            changed = files | {"job.toml": files["job.toml"] + f"# {number}\n".encode()}
            newest = book.save(1, changed, newest, "a writer", "").number
        each = (time.perf_counter() - begin) / count
        grown = (_size(place) - before) / count
    with closing(sqlite3.connect(folder / "bare.sqlite", isolation_level=None)) as bare:
        bare.execute("PRAGMA journal_mode = WAL")
        bare.execute("PRAGMA synchronous = FULL")
        bare.execute("CREATE TABLE kept (data BLOB)")
        begin = time.perf_counter()
        for number in range(count):
            bare.execute("INSERT INTO kept VALUES (?)", (files["job.toml"] + f"# {number}\n".encode(),))
        alone = (time.perf_counter() - begin) / count
    yield Row(
        "a save of the reading table with one line changed",
        f"{each * 1e3:.2f} ms",
        f"{alone * 1e3:.2f} ms, SQLite's own insert of the job file alone, as durable",
        each / alone,
        "told",
        None,
    )
    yield Row(
        "room that such a revision takes",
        f"{grown / 1e3:.1f} kB",
        f"{whole / 1e3:.1f} kB, the job's folder",
        grown / whole,
        "under a fifth",
        grown < whole / 5,
    )


def _size(place: Path) -> int:
    """Of a book, its log brought into the file first."""
    with closing(sqlite3.connect(place)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return place.stat().st_size
