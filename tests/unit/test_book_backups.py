"""A backup is made while others write, is checked from end to end, and comes back to either kind of book."""

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from tests.book_places import FILES, JOB, KINDS, new_place, photo

from slabwright.book import Book, Superseded, open_book, restore_book
from slabwright.book.backups import checked, fingerprint
from slabwright.book.links import LinkRow
from slabwright.book.opening import VERSION_TABLE
from slabwright.findings import SlabwrightError


@pytest.fixture(params=KINDS)
def book(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Book]:
    (tmp_path / "own").mkdir()
    with open_book(new_place(request.param, tmp_path / "own")) as opened:
        _fill(opened)
        yield opened


def _fill(book: Book) -> None:
    """A book with a row in every table."""
    book.add(FILES, "Ada", "")
    book.add({"job.toml": JOB, "scan.bin": bytes(range(256)) * 400}, "Ada", "ä and 木")
    book.save(1, {"job.toml": JOB + b"# more\n"}, 1, "Ben", "")
    with pytest.raises(Superseded):
        book.save(1, FILES, 1, "Ada", "")
    book.settle_draft(1, "Ada")
    book.log(1, "weld", "done", datetime(2026, 11, 25, 8, 0, 0, 123456, UTC), "Ada", 1 / 3, "well")
    book.add_photo(1, "a.jpg", photo(), "Ada")
    book.sign_off(1, "drawing", 2, "A client", None, "approved")
    item = book.stock.add("wood", "oak", 1.5, "m", "loft", "Ada", length=1 / 7)
    book.stock.take(item.id, 0.25, "Ben", job=2)
    book.stock.set_price("oak", "3.10", "EUR", "l", "Ada")
    book.readings.begin(1, "ab12", {"along": 3}, "Ada")
    book.readings.add(1, [{"id": "one", "z": 54.2}, {"id": "two", "z": None}])
    book.readings.begin(2, "cd34", {"along": 4}, "Ben")
    book.readings.close(2, "cd34")
    until, given = datetime(2027, 1, 1, tzinfo=UTC), datetime(2026, 12, 1, tzinfo=UTC)
    for nonce in ("first", "second"):
        book.links.add(LinkRow(nonce, 1, until, given, "a client", "ab" * 32))
    book.links.take_back(1, "first")


def _all(book: Book) -> dict[str, str]:
    with book.store.reading() as connection:
        return fingerprint(connection)


@pytest.mark.parametrize("kind", KINDS)
def test_a_backup_comes_back_whole_to_either_kind(book: Book, kind: str, tmp_path: Path) -> None:
    backup = book.backup(tmp_path / "copy.sqlite")
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["copy.sqlite"], (
        "the file alone is all of it"
    )
    before = backup.read_bytes()
    assert checked(backup) == _all(book)
    (tmp_path / "back").mkdir()
    place = new_place(kind, tmp_path / "back")
    assert restore_book(backup, place) == {"jobs": 2, "revisions": 3, "photos": 1}
    assert backup.read_bytes() == before
    with open_book(place) as back:
        assert _all(back) == _all(book)
        assert back.jobs() == book.jobs() and back.entries() == book.entries() and back.photo(1) == book.photo(1)
        assert dict(back.draft(1).files) == FILES
        assert back.readings.of(1) == book.readings.of(1) and back.readings.of(2) is None
        assert [link.nonce for link in back.links.of_job(1)] == ["second"]
        assert back.add(FILES, "Ada", "").job == 3, "the next job has the next number"
        assert back.stock.add("wood", "ash", 1, "m", "loft", "Ada").id == 2
        assert back.log(1, "weld", "failed", None, "Ada").id == 2


def test_nobody_waits_for_a_backup(book: Book, tmp_path: Path) -> None:
    stop = threading.Event()
    saved: list[int] = []

    def write() -> None:
        newest = 2
        while not stop.is_set():
            newest = book.save(1, {"job.toml": JOB + b"# %d\n" % newest}, newest, "Ben", "").number
            saved.append(newest)

    writer = threading.Thread(target=write)
    writer.start()
    try:
        for number in range(5):
            reached = len(saved)
            book.backup(tmp_path / f"{number}.sqlite")
            with open_book(tmp_path / f"{number}.sqlite") as copy:
                assert 2 + reached <= copy.job(1).revision <= 2 + len(saved) + 1
    finally:
        stop.set()
        writer.join()
    assert saved == list(range(3, 3 + len(saved)))


def test_a_backup_replaces_nothing(book: Book, tmp_path: Path) -> None:
    there = tmp_path / "letter.txt"
    there.write_text("to keep")
    with pytest.raises(SlabwrightError, match=r"letter\.txt' is there already; name a new file"):
        book.backup(there)
    with pytest.raises(SlabwrightError, match="there is no such folder"):
        book.backup(tmp_path / "none" / "copy.sqlite")
    with pytest.raises(SlabwrightError, match="holds something already; name a new book"):
        restore_book(book.backup(tmp_path / "copy.sqlite"), tmp_path / "copy.sqlite")
    assert there.read_text() == "to keep"


def test_what_is_no_backup_is_told_and_nothing_is_made(tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        _fill(book)
        whole = book.backup(tmp_path / "whole.sqlite")
    (tmp_path / "words.sqlite").write_text("no backup\n" * 50)
    (tmp_path / "empty.sqlite").touch()
    (tmp_path / "cut.sqlite").write_bytes(whole.read_bytes()[:60_000])
    for name in ("newer", "changed"):
        (tmp_path / f"{name}.sqlite").write_bytes(whole.read_bytes())
    with closing(sqlite3.connect(tmp_path / "newer.sqlite")) as raw:
        raw.execute(f"UPDATE {VERSION_TABLE} SET version_num = '9999'")
        raw.commit()
    with closing(sqlite3.connect(tmp_path / "changed.sqlite")) as raw:
        raw.execute("DROP TRIGGER contents_no_update")
        raw.execute("UPDATE contents SET data = zeroblob(length(data)) WHERE packed = 'plain'")
        raw.commit()
    for name, says in (
        ("words", "is no shop book"),
        ("empty", "is an empty database, no backup"),
        ("cut", "is damaged; name an earlier backup"),
        ("newer", "newer Slabwright"),
        ("changed", "the book is damaged: content .* name an earlier backup"),
        ("missing", "there is no such file"),
    ):
        with pytest.raises(SlabwrightError, match=says):
            restore_book(tmp_path / f"{name}.sqlite", tmp_path / "target.sqlite")
        assert not (tmp_path / "target.sqlite").exists()
