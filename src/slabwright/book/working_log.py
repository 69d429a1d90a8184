"""What happened at the bench, told to the book: into its diary, and into the job's own file, so that the plan learns of it."""

from __future__ import annotations

import tomllib
from datetime import datetime
from typing import TYPE_CHECKING, Any

from slabwright.book.rows import Entry, Event, Superseded
from slabwright.book.stated import number
from slabwright.job.folder import JOB_FILE
from slabwright.job.load import job_from, toml_from
from slabwright.job.write import with_values

if TYPE_CHECKING:
    from slabwright.book.book import Book

WHOLE_JOB = "job"
"""What a line names that is about the whole job: it stands in the diary only."""
_TRIES = 6


def line_of(operation: str, event: Event, at: datetime, minutes: float | None = None, note: str = "") -> dict[str, Any]:
    """A line of `[[log]]`, as it stands in the job file.

    Args:
        operation: as the plan names it
        event: what happened
        at: on the shop's own clock
        minutes: attended time that it took [min]
        note: in their words
    """
    line: dict[str, Any] = {"operation": operation, "event": event, "at": at.replace(second=0, microsecond=0)}
    if minutes is not None:
        line["minutes"] = int(minutes) if minutes == int(minutes) else round(minutes, 1)
    if note:
        line["note"] = note
    return line


def log_work(
    book: Book,
    job: int,
    operation: str,
    event: Event,
    at: datetime | None,
    who: str,
    minutes: float | None = None,
    note: str = "",
) -> Entry:
    """Log what happened to an operation: a line of the book's diary, and a line of `[[log]]` in the job's newest revision.

    Args:
        book: opened
        job: id
        operation: as the plan names it; `job` for the whole job
        event: what happened
        at: when it happened, with its zone; None for now
        who: saw it
        minutes: attended time that it took [min]
        note: in their words

    Raises:
        SlabwrightError: there is no such job, or something cannot be used; then nothing is logged.
        Superseded: others were quicker again and again.
    """
    if minutes is not None:
        number(minutes, "the minutes")
    moment = (at or datetime.now().astimezone()).replace(second=0, microsecond=0)
    if operation != WHOLE_JOB:
        entry = line_of(operation, event, moment.astimezone().replace(tzinfo=None), minutes, note)
        _into_the_job(book, job, entry, who)
    return book.log(job, operation, event, at, who, minutes, note)


def _into_the_job(book: Book, job: int, entry: dict[str, Any], who: str) -> None:
    for last in reversed(range(_TRIES)):
        revision = book.revision(job)
        text = revision.files[JOB_FILE].decode("utf-8-sig")
        count = len(tomllib.loads(text.replace("\r\n", "\n")).get("log", []))
        changed = with_values(text, {f"log[{count}]": entry}).encode()
        job_from(toml_from(changed, JOB_FILE))
        files = {**revision.files, JOB_FILE: changed}
        try:
            book.save(job, files, revision.number, who, f"{entry['operation']}: {entry['event']}")
            return
        except Superseded as error:
            if not last:
                raise
            # Put on top of the newer one instead, so the draft is seen to.
            book.settle_draft(error.draft, who)
