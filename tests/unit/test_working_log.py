"""One log: what the command tells the book stands in the job's file too, so that hours and days learn of it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from slabwright.book import Book, open_book
from slabwright.book.working_log import log_work
from slabwright.findings import SlabwrightError

JOB = b"""# The client's own words stay.
[job]
title = "Logged"  # invented
"""


@pytest.fixture
def book(tmp_path: Path) -> Iterator[Book]:
    with open_book(tmp_path / "book.sqlite") as opened:
        opened.add({"job.toml": JOB}, "Ada", "begun")
        yield opened


def test_a_line_stands_in_the_diary_and_in_the_job(book: Book) -> None:
    at = datetime.fromisoformat("2026-11-25T14:30:00").astimezone()
    log_work(book, 1, "Weld the base", "done", at, "Ada", 42.0, "went well")
    text = book.revision(1).files["job.toml"]
    assert text.startswith(JOB)
    assert tomllib.loads(text.decode())["log"] == [
        {
            "operation": "Weld the base",
            "event": "done",
            "at": datetime.fromisoformat("2026-11-25T14:30"),
            "minutes": 42,
            "note": "went well",
        }
    ]
    assert [(entry.operation, entry.minutes) for entry in book.entries(1)] == [("Weld the base", 42.0)]
    log_work(book, 1, "Grind the welds", "started", at, "Ada")
    assert len(tomllib.loads(book.revision(1).files["job.toml"].decode())["log"]) == 2
    assert book.job(1).revision == 3


def test_a_line_about_the_whole_job_is_for_the_diary_only(book: Book) -> None:
    log_work(book, 1, "job", "approved", None, "Ada")
    assert book.job(1).revision == 1
    assert len(book.entries(1)) == 1


def test_what_cannot_be_used_is_logged_nowhere(book: Book) -> None:
    with pytest.raises(SlabwrightError):
        log_work(book, 1, "Weld the base", "done", None, "Ada", -1.0)
    assert book.job(1).revision == 1
    assert book.entries(1) == ()
