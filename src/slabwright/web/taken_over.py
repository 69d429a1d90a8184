"""What older servers kept beside the book, brought into it: readings that are being taken, and the links given to clients.

A file that is in the book is moved into a folder beside it and stays there; one that cannot be read stays where it is.
"""

from __future__ import annotations

import json
import logging
import re
from collections.abc import Callable
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

from slabwright.book import Book
from slabwright.book.links import LinkRow
from slabwright.book.readings import BegunRow
from slabwright.findings import SlabwrightError
from slabwright.web.readings_journal import readings_of

_LINKS = "client-links.json"
_DONE = "in-the-book"
_JOURNAL = re.compile(r"job-(\d{1,9})(?:-([0-9a-f]+))?\.jsonl")
_log = logging.getLogger(__name__)


def take_over(book: Book, keeping_folder: Path) -> None:
    """Bring what lies beside a book into it; what is in it already is not kept twice.

    Args:
        book: opened
        keeping_folder: the server's own folder
    """
    journals = keeping_folder / "readings"
    if "://" in book.name:
        journals /= sha256(book.name.encode()).hexdigest()[:12]
    for path in sorted(journals.glob("job-*.jsonl")):
        _each(book, path, _journal)
    if (keeping_folder / _LINKS).exists():
        _each(book, keeping_folder / _LINKS, _links)


def _each(book: Book, path: Path, take: Callable[[Book, Path], None]) -> None:
    try:
        take(book, path)
        done = path.parent / _DONE
        done.mkdir(mode=0o700, exist_ok=True)
        path.replace(done / path.name)
    except (OSError, ValueError, TypeError, KeyError, IndexError, AttributeError, SlabwrightError) as error:
        _log.warning("%s stays beside the book, it cannot be brought in: %s", path, " ".join(str(error).split())[:200])


def _journal(book: Book, path: Path) -> None:
    named = _JOURNAL.fullmatch(path.name)
    if named is None:
        raise ValueError("its name says no job")
    # A line that was cut off by a power cut was never acknowledged; its device sends it again.
    head, *lines = [json.loads(line) for line in path.read_text(encoding="utf-8").split("\n")[:-1] if line]
    found = BegunRow(str(head["begun"]), head, tuple(lines))
    readings_of(found)  # what is damaged is found here
    book.readings.take_over(int(named[1]), found, str(head.get("who", "")), closed=named[2] is not None)


def _links(book: Book, path: Path) -> None:
    def moment(seconds: int) -> datetime:
        return datetime.fromtimestamp(int(seconds), UTC)

    jobs = {row.id for row in book.jobs()}
    for nonce, (job, until, given, to) in json.loads(path.read_text(encoding="utf-8")).items():
        if int(job) in jobs:
            book.links.add(LinkRow(str(nonce)[:64], int(job), moment(until), moment(given), str(to), ""))
