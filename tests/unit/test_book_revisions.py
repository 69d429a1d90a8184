"""Revisions are only ever added, and who comes second is told and loses nothing."""

from __future__ import annotations

import pickle
import sqlite3
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import delete, func, select, update
from sqlalchemy.exc import DBAPIError
from tests.book_places import FILES, JOB, KINDS, new_place

from slabwright.book import Book, Change, Superseded, open_book
from slabwright.book.comparing import ONLY_REMARKS, changes
from slabwright.book.links import LinkRow
from slabwright.book.tables import contents, metadata
from slabwright.findings import SlabwrightError


@pytest.fixture(params=KINDS)
def book(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Book]:
    with open_book(new_place(request.param, tmp_path)) as opened:
        yield opened


def test_what_was_saved_is_there_byte_for_byte(book: Book) -> None:
    before = datetime.now(UTC)
    first = book.add(FILES, "Ada", "first take")
    changed = FILES | {"job.toml": JOB + b"\xff not even text", "empty.csv": b""}
    second = book.save(first.job, changed, 1, "Ben", "")
    assert (first.job, first.number, second.number) == (1, 1, 2)
    assert book.revision(1) == second and book.revision(1, 1) == first
    assert dict(book.revision(1).files) == changed and dict(book.revision(1, 1).files) == FILES
    rows = book.revisions(1)
    assert [(row.number, row.who, row.why, row.based_on) for row in rows] == [
        (1, "Ada", "first take", None),
        (2, "Ben", "", 1),
    ]
    assert before <= rows[0].when <= rows[1].when <= datetime.now(UTC)
    assert rows[0].when.utcoffset() == timedelta(0)


def test_jobs_are_told_by_their_newest_revision(book: Book) -> None:
    assert book.jobs() == ()
    book.add(FILES, "Ada", "")
    book.add({"job.toml": b'[job]\ntitle = "Bench\\u0000 \\n"'}, "Ada", "")
    book.add({"job.toml": b"half a li"}, "Ada", "")
    book.save(1, FILES | {"job.toml": JOB.replace(b"Reading", b"Writing")}, 1, "Ben", "")
    assert [(job.id, job.title.strip(), job.client, job.revision, job.who) for job in book.jobs()] == [
        (1, "Writing table", "A library", 2, "Ben"),
        (2, "Bench", "", 1, "Ada"),
        (3, "(no title)", "", 1, "Ada"),
    ]
    assert book.revision(3).files["job.toml"] == b"half a li"
    assert book.job(1) == book.jobs()[0]


def test_who_comes_second_is_told_and_loses_nothing(book: Book) -> None:
    book.add(FILES, "Ada", "")
    mine, theirs = (FILES | {"job.toml": JOB + words} for words in (b"# mine\n", b"# theirs\n"))
    book.save(1, theirs, 1, "Ben", "")
    with pytest.raises(Superseded, match="revision 2 is there by now; it is kept as draft 1") as told:
        book.save(1, mine, 1, "Ada", "taller")
    assert (told.value.newest, told.value.draft) == (2, 1)
    again = pickle.loads(pickle.dumps(told.value))
    assert (str(again), again.newest, again.draft) == (str(told.value), 2, 1)
    assert dict(book.revision(1).files) == theirs and len(book.revisions(1)) == 2
    (row,) = book.drafts(1)
    assert (row.id, row.based_on, row.newest, row.who, row.why, row.settled) == (1, 1, 2, "Ada", "taller", False)
    assert dict(book.draft(1).files) == mine
    book.save(1, dict(book.draft(1).files), 2, "Ada", "taller, on top")
    book.settle_draft(1, "Ada")
    book.settle_draft(1, "Ben")
    assert book.drafts(1) == () and book.drafts(1, settled=True)[0].settled
    assert dict(book.draft(1).files) == mine


def test_going_back_is_a_new_revision(book: Book) -> None:
    book.add(FILES, "Ada", "")
    book.save(1, {"job.toml": JOB}, 1, "Ada", "")
    back = book.restore(1, 1, "Ben")
    assert (back.number, back.why, dict(back.files)) == (3, "back to revision 1", FILES)
    assert dict(book.revision(1, 2).files) == {"job.toml": JOB}
    assert book.compare(1, 1, 3) == ()


def test_the_database_itself_refuses_to_forget(book: Book) -> None:
    book.add(FILES, "Ada", "")
    book.save(1, FILES, 1, "Ada", "")
    with pytest.raises(Superseded):
        book.save(1, FILES, 1, "Ben", "")
    book.settle_draft(1, "Ada")
    book.log(1, "weld", "done", None, "Ada")
    book.sign_off(1, "drawing", 1, "A client", None, "approved")
    book.stock.add("steel", "60x60x4", 1, "pieces", "rack", "Ada")
    book.stock.set_price("60x60x4", "9.50", "EUR", "m", "Ada")
    book.readings.begin(1, "first", {"along": 5}, "Ada")
    book.readings.add(1, [{"id": "A1", "z": 54.2}])
    book.readings.close(1, "first")
    now = datetime.now(UTC)
    book.links.add(LinkRow("nonce", 1, now + timedelta(days=1), now, "A client", "key"))
    book.links.take_back(1, "nonce")
    for table in metadata.sorted_tables:
        if table.name == "photos":
            continue  # a photo's row is tried with the photos
        column = next(iter(table.columns))
        for change in (delete(table), update(table).values({column.name: column})):
            with book.store.engine.connect() as connection, pytest.raises(DBAPIError, match="a shop book only adds"):
                connection.execute(change)


def test_words_of_every_script_are_kept(book: Book) -> None:
    said = "für\u00a0Ada \N{MAN}\N{ZERO WIDTH JOINER}\N{PERSONAL COMPUTER}, two\nlines"
    book.add({"job.toml": f'[job]\ntitle = """{said}"""'.encode()}, "Ada \N{OGHAM LETTER BEITH}", said)
    assert book.revisions(1)[0].why == said
    assert book.job(1).title == said.replace("\n", " ") and book.job(1).who == "Ada \N{OGHAM LETTER BEITH}"


def test_many_who_write_at_once_wait_for_each_other(book: Book) -> None:
    def add(number: int) -> int:
        # the same new bytes under names in opposite order: each writer wants first what the other has
        names = ("a", "b") if number % 2 else ("b", "a")
        pair = {name: b"%d-%d" % (number // 4, at) * 2000 for at, name in enumerate(names)}
        return book.add({"job.toml": JOB} | pair, "Ada", "").job

    with ThreadPoolExecutor(12) as hands:
        assert sorted(hands.map(add, range(48))) == list(range(1, 49))


def test_the_same_bytes_are_kept_once(book: Book) -> None:
    big = {"scan.csv": b"1.5,2.5,3.5\n" * 10_000}
    book.add(FILES | big, "Ada", "")
    for number in range(1, 6):
        book.save(1, FILES | big | {"note.txt": b"%d" % number}, number, "Ada", "")
    book.add(FILES | big, "Ben", "")
    with book.store.reading() as connection:
        count, room = connection.execute(select(func.count(), func.sum(func.length(contents.c.data)))).one()
    assert count == len(FILES) + 1 + 5
    assert room < 3_000


@pytest.mark.parametrize("job", [0, 2, -1, 10**12])
def test_a_job_that_is_not_there_is_told(book: Book, job: int) -> None:
    book.add(FILES, "Ada", "")
    for call in (
        lambda: book.revision(job),
        lambda: book.job(job),
        lambda: book.revisions(job),
        lambda: book.drafts(job),
        lambda: book.save(job, FILES, 1, "Ada", ""),
        lambda: book.restore(job, 1, "Ada"),
        lambda: book.log(job, "weld", "done", None, "Ada"),
        lambda: book.entries(job),
        lambda: book.sign_off(job, "drawing", 1, "A client", None, "approved"),
        lambda: book.photos(job),
    ):
        with pytest.raises(SlabwrightError, match=f"there is no job {job} in the book; its jobs are 1 to 1"):
            call()


def test_what_cannot_be_used_is_told_and_nothing_is_written(book: Book) -> None:
    book.add(FILES, "Ada", "")
    for number in (0, 2, -3, 10**12):
        with pytest.raises(SlabwrightError, match=f"has no revision {number}; its revisions are 1 to 1"):
            book.revision(1, number)
        with pytest.raises(SlabwrightError, match=f"has no revision {number} to rest on; the newest is 1"):
            book.save(1, FILES, number, "Ada", "")
        with pytest.raises(SlabwrightError, match=f"no draft {number} "):
            book.draft(number)
    with pytest.raises(SlabwrightError, match=r"there is no job\.toml"):
        book.save(1, {"survey.csv": b""}, 1, "Ada", "")
    for who in ("", "  ", "a\x00b", "x" * 201):
        with pytest.raises(SlabwrightError, match=r"^who "):
            book.save(1, FILES, 1, who, "")
    for name in ("../job.toml", "/etc/passwd", "a//b", "C:x", "a\\b"):
        with pytest.raises(SlabwrightError, match="file name"):
            book.save(1, FILES | {name: b""}, 1, "Ada", "")
    assert len(book.revisions(1)) == 1


def test_damage_is_told(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        book.add(FILES, "Ada", "")
        with closing(sqlite3.connect(tmp_path / "book.sqlite")) as raw:
            raw.execute("DROP TRIGGER contents_no_update")
            raw.execute("UPDATE contents SET data = x'00' WHERE size = ?", (len(JOB),))
            raw.commit()
        with pytest.raises(SlabwrightError, match=r"the book is damaged: content .* restore the last backup"):
            book.revision(1)
        with pytest.raises(SlabwrightError, match="the book is damaged"):
            book.backup(tmp_path / "copy.sqlite")
        assert sorted(path.name for path in tmp_path.iterdir() if "book" not in path.name) == []


def test_differences_by_key_and_by_file() -> None:
    old = {
        "job.toml": JOB + b'[slab]\nlay = { supports = [1, 2] }\n[[slab.defects]]\nkind = "knot"\n',
        "survey.csv": b"a\nb\nc\n",
        "gone.bin": b"\xff\x00",
        "broken.toml": b"= 3",
        "same.csv": b"1",
        "shop.toml": b"# one\nfeed = 3\n",
    }
    new = {
        "job.toml": JOB.replace(b"Reading", b"Writing")
        + b'[slab]\nlay = { supports = [1, 3] }\n[[slab.defects]]\nkind = "knot"\nnote = "big"\n[piece]\nheight = 740\n',
        "survey.csv": b"a\nB\nc\nd\n",
        "new.csv": b"1\n2\n",
        "broken.toml": b"= 4",
        "same.csv": b"1",
        "shop.toml": b"# two\nfeed = 3\n",
    }
    assert changes(old, new) == (
        Change("broken.toml", "", "1 line, 1 of them gone", "1 line, 1 of them new"),
        Change("gone.bin", "", "2 bytes", None),
        Change("job.toml", "job.title", '"Reading table"', '"Writing table"'),
        Change("job.toml", "slab.lay.supports", "[1, 2]", "[1, 3]"),
        Change("job.toml", "slab.defects[0].note", None, '"big"'),
        Change("job.toml", "piece.height", None, "740"),
        Change("new.csv", "", None, "2 lines"),
        Change("shop.toml", "", ONLY_REMARKS, ONLY_REMARKS),
        Change("survey.csv", "", "3 lines, 1 of them gone", "4 lines, 2 of them new"),
    )
    assert changes(new, new) == ()


def test_the_state_is_what_was_signed_and_logged(book: Book) -> None:
    book.add(FILES, "Ada", "")
    day = datetime(2026, 11, 25, 8, tzinfo=UTC)

    def state() -> str:
        return book.job(1).state

    assert state() == "new"
    book.sign_off(1, "drawing", 1, "A client", day, "asked", "a little lower, please")
    assert state() == "changes asked"
    book.sign_off(1, "drawing", 1, "A client", day + timedelta(hours=1), "approved")
    assert state() == "approved"
    book.log(1, "weld", "delayed", day + timedelta(hours=2), "Ada")
    assert state() == "approved"
    book.log(1, "weld", "started", day + timedelta(hours=2), "Ada")
    book.log(1, "weld", "done", day + timedelta(hours=3), "Ada", 42.5, "went well")
    assert state() == "in work"
    book.log(1, "job", "done", day + timedelta(hours=4), "Ada")
    assert state() == "done"
    book.log(1, "sand", "started", day + timedelta(hours=1.5), "Ada", note="told late")
    assert state() == "done"
    assert [(entry.operation, entry.event, entry.minutes, entry.note) for entry in book.entries(1)] == [
        ("sand", "started", None, "told late"),
        ("weld", "delayed", None, ""),
        ("weld", "started", None, ""),
        ("weld", "done", 42.5, "went well"),
        ("job", "done", None, ""),
    ]
    assert book.entries() == book.entries(1)
    assert [(one.verdict, one.revision, one.words) for one in book.sign_offs(1)] == [
        ("asked", 1, "a little lower, please"),
        ("approved", 1, ""),
    ]


def test_a_log_line_that_cannot_be_used_is_told(book: Book) -> None:
    book.add(FILES, "Ada", "")
    with pytest.raises(SlabwrightError, match="has no time zone"):
        book.log(1, "weld", "done", datetime(2026, 11, 25, 8), "Ada")
    with pytest.raises(SlabwrightError, match="lies outside 1970 to 2200; check the year"):
        book.log(1, "weld", "done", datetime(1, 1, 1, tzinfo=UTC), "Ada")
    with pytest.raises(SlabwrightError, match="the event 'finished': write one of started, stopped"):
        book.log(1, "weld", "finished", None, "Ada")  # type: ignore[arg-type]
    for minutes in (-1.0, float("nan"), float("inf"), 1e9):
        with pytest.raises(SlabwrightError, match="the minutes"):
            book.log(1, "weld", "done", None, "Ada", minutes)
    with pytest.raises(SlabwrightError, match="the operation is empty"):
        book.log(1, " ", "done", None, "Ada")
    with pytest.raises(SlabwrightError, match="what they asked for is empty"):
        book.sign_off(1, "drawing", 1, "A client", None, "asked")
    with pytest.raises(SlabwrightError, match="no revision 2 to sign"):
        book.sign_off(1, "drawing", 2, "A client", None, "approved")
    assert book.entries() == () and book.sign_offs(1) == ()
