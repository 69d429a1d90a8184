"""What older servers kept beside the book comes into it, whole and once; a book of before is brought up to date."""

from __future__ import annotations

import json
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from itsdangerous import URLSafeSerializer
from sqlalchemy import text
from tests.book_places import KINDS, new_place
from tests.unit.web_bench import JOB, device_at

from slabwright.book import Book, open_book
from slabwright.book.opening import VERSION_TABLE
from slabwright.web.app import close_app, create_app
from slabwright.web.security.keeping import Keeping

HEAD: dict[str, Any] = {
    "begun": "00aa11bb22cc33dd",
    "along": 2,
    "across": 2,
    "outline": [[0, 0], [1000, 0], [1000, 500], [0, 500]],
    "made_outline": True,
    "after": None,
    "stations": [["A", 1, 1, 20.0, 15.0], ["A", 1, 2, 20.0, 485.0]],
    "who": "bench",
    "at": "2026-11-01T10:00:00+00:00",
}
NEW_TABLES = ("links_taken_back", "client_links", "readings_closed", "readings_lines", "readings_begun")


def line(number: int, z: float) -> dict[str, Any]:
    said = {"id": f"entry-{number:04d}", "act": "take", "face": "A", "row": 1, "column": number}
    return {**said, "who": "bench", "typed": str(z), "z": z, "line": "", "units": "metric"}


def journal(*lines: dict[str, Any], begun: str = "00aa11bb22cc33dd", after: str = "") -> bytes:
    return "".join(json.dumps(one) + "\n" for one in ({**HEAD, "begun": begun}, *lines)).encode() + after.encode()


def old_book(place: str) -> None:
    """A book as it was before: with a job, and without the tables that came since."""
    with open_book(place) as book:
        for _ in range(2):
            book.add({"job.toml": JOB.encode()}, "test", "begun")
        with book.store.writing() as connection:
            for table in NEW_TABLES:
                connection.execute(text(f"DROP TABLE {table}"))
            connection.execute(text(f"UPDATE {VERSION_TABLE} SET version_num = '0001'"))


@contextmanager
def pages(place: str, folder: Path) -> Iterator[tuple[Any, Book]]:
    with open_book(place) as book:
        app = create_app(book, folder)
        device, token = device_at(app)
        device.headers["x-slabwright-token"] = token
        yield device, book
        device.close()
        close_app(app)


@pytest.mark.parametrize("kind", KINDS)
def test_an_older_book_and_what_lay_beside_it_come_in_whole_and_once(kind: str, tmp_path: Path) -> None:
    (tmp_path / "book").mkdir()
    place = new_place(kind, tmp_path / "book")
    old_book(place)
    folder = tmp_path / "server"
    keeping = Keeping(folder)
    with open_book(place) as book:
        below = sha256(book.name.encode()).hexdigest()[:12] if "://" in book.name else ""
    beside = folder / "readings" / below
    beside.mkdir(parents=True)
    (beside / "job-1.jsonl").write_bytes(journal(line(1, 54.2), line(2, 54.4), after='{"id": "cut-off-in-the-mi'))
    (beside / "job-1-00ff.jsonl").write_bytes(journal(line(1, 60.0), begun="00ff"))
    good, given = 4_000_000_000, 1_700_000_000
    kept = {"a-nonce": [1, good, given, "A client"], "of-no-job": [77, good, given, ""]}
    (folder / "client-links.json").write_text(json.dumps(kept))
    token = str(URLSafeSerializer(keeping.key, salt="slabwright-client").dumps(["a-nonce", 1, good]))
    forged = str(URLSafeSerializer(keeping.key, salt="slabwright-client").dumps(["a-nonce", 2, good]))
    for _ in range(2):  # once more changes nothing
        with pages(place, folder) as (device, book):
            view = device.get("/api/jobs/1/readings").json()["begun"]
            assert view["begun"] == HEAD["begun"]
            assert [one["z"] for one in view["taken"]] == [54.2, 54.4]
            assert book.readings.of(2) is None
            assert device.get(f"/client/{token}").status_code == 200
            assert device.get(f"/client/{forged}").status_code in (403, 404)
            assert [link.to for link in book.links.of_job(1)] == ["A client"]
    assert not list(beside.glob("*.jsonl")) and len(list((beside / "in-the-book").iterdir())) == 2, "nothing is removed"
    with open_book(place) as book:
        backup = book.backup(tmp_path / "backup.sqlite")
    with open_book(backup) as book:
        found = book.readings.of(1)
        assert found is not None and [one["z"] for one in found.lines] == [54.2, 54.4]
        assert book.links.of("a-nonce") is not None


def test_what_is_damaged_stays_where_it_is_and_is_told(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    beside = tmp_path / "server" / "readings"
    beside.mkdir(parents=True)
    old_book(str(tmp_path / "book.sqlite"))
    (beside / "job-1.jsonl").write_bytes(b"nothing of ours\n")
    (beside / "job-9.jsonl").write_bytes(journal(line(1, 54.2)))
    with caplog.at_level(logging.WARNING), pages(str(tmp_path / "book.sqlite"), tmp_path / "server") as (device, book):
        assert device.get("/api/jobs/1/readings").json()["begun"] is None
        assert book.readings.of(1) is None
    assert sorted(path.name for path in beside.iterdir()) == ["job-1.jsonl", "job-9.jsonl"]
    assert sum("stays beside the book" in record.message for record in caplog.records) == 2


def test_a_link_that_the_book_gave_is_good_where_the_book_is_restored(tmp_path: Path) -> None:
    place = str(tmp_path / "book.sqlite")
    with open_book(place) as book:
        book.add({"job.toml": JOB.encode()}, "test", "begun")
    with pages(place, tmp_path / "here") as (device, book):
        given = device.post("/api/jobs/1/client-links", json={"days": 7, "to": "A client"})
        assert given.status_code == 201, given.text
        path = "/client/" + given.json()["address"].rpartition("/client/")[2]
        assert device.get(path).status_code == 200
        backup = book.backup(tmp_path / "backup.sqlite")
    with pages(str(backup), tmp_path / "there") as (device, _):
        assert device.get(path).status_code == 200
