"""Revisions: each a job's files as they were saved; they are only ever added."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Row, insert, select

from slabwright.book.contents import keep_set, kept_set
from slabwright.book.rows import Draft, DraftRow, Revision, RevisionRow
from slabwright.book.stated import is_control, now
from slabwright.book.tables import drafts, jobs, revisions, settled_drafts
from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE
from slabwright.job.happened import going_back

_GREATEST = 2**31 - 1
"""Of the numbers that a database keeps in a column of whole numbers."""


def newest(connection: Connection, job: int, *, writes: bool = False) -> int:
    """Number of a job's newest revision; a writer holds the job until its transaction ends.

    Raises:
        SlabwrightError: there is no such job.
    """
    here = select(jobs.c.id).where(jobs.c.id == job)
    there = 0 < job <= _GREATEST and connection.execute(here.with_for_update() if writes else here).first()
    if not there:
        known = connection.execute(select(jobs.c.id).order_by(jobs.c.id.desc()).limit(1)).scalar()
        has = f"its jobs are 1 to {known}" if known else "it holds no job yet"
        raise SlabwrightError(f"there is no job {job} in the book; {has}: `slabwright book list` shows them")
    last = select(revisions.c.number).where(revisions.c.job == job).order_by(revisions.c.number.desc()).limit(1)
    return int(connection.execute(last).scalar_one())


def add_job(connection: Connection, files: Mapping[str, bytes], who: str, why: str) -> Revision:
    """A new job with its first revision."""
    (job,) = connection.execute(insert(jobs), {"made": now()}).inserted_primary_key or (0,)
    return _added(connection, int(job), 1, None, keep_set(connection, files), files, who, why)


def save(
    connection: Connection, job: int, files: Mapping[str, bytes], based_on: int, who: str, why: str
) -> Revision | Draft:
    """One more revision; or, where it rests on one that is no longer the newest, a draft.

    Raises:
        SlabwrightError: there is no such job or revision.
    """
    last = newest(connection, job, writes=True)
    if not 1 <= based_on <= last:
        raise SlabwrightError(f"job {job} has no revision {based_on} to rest on; the newest is {last}")
    file_set = keep_set(connection, files)
    if based_on == last:
        return _added(connection, job, last + 1, based_on, file_set, files, who, why)
    row: dict[str, Any] = {"job": job, "based_on": based_on, "newest": last, "who": who, "at": now(), "why": why}
    (draft,) = connection.execute(insert(drafts), row | {"file_set": file_set}).inserted_primary_key or (0,)
    return Draft(int(draft), job, based_on, last, who, row["at"], why, False, files=dict(files))


def restore(connection: Connection, job: int, number: int, who: str, why: str, *, as_it_was: bool = False) -> Revision:
    """One more revision with what an earlier one stated, and with what happened since unless it is to be as it was.

    Raises:
        SlabwrightError: there is no such job or revision, or what happened cannot be put into it.
    """
    last = newest(connection, job, writes=True)
    old = _row(connection, job, number, last)
    was = kept_set(connection, old.file_set)
    files = was if as_it_was else going_back(kept_set(connection, _row(connection, job, last, last).file_set), was)
    file_set = old.file_set if files == was else keep_set(connection, files)
    return _added(connection, job, last + 1, last, file_set, files, who, why or f"back to revision {number}")


def _added(
    connection: Connection,
    job: int,
    number: int,
    based_on: int | None,
    file_set: int,
    files: Mapping[str, bytes],
    who: str,
    why: str,
) -> Revision:
    title, client = _head(files[JOB_FILE])
    row: dict[str, Any] = {"job": job, "number": number, "based_on": based_on, "file_set": file_set}
    row |= {"title": title, "client": client, "who": who, "at": now(), "why": why}
    connection.execute(insert(revisions), row)
    return Revision(job, number, dict(files), who, row["at"], why)


def _head(data: bytes) -> tuple[str, str]:
    """Title and client of a job file; what cannot be read yet is kept all the same, and has none."""
    try:
        head = tomllib.loads(data.decode("utf-8-sig").replace("\r\n", "\n")).get("job", {})
    except (ValueError, RecursionError):
        head = {}
    words = [head.get(key, "") if isinstance(head, dict) else "" for key in ("title", "client")]
    title, client = (
        "".join(" " if is_control(c) else c for c in word) if isinstance(word, str) else "" for word in words
    )
    return title, client


def _row(connection: Connection, job: int, number: int, last: int) -> Row[Any]:
    if not 1 <= number <= last:
        raise SlabwrightError(f"job {job} has no revision {number}; its revisions are 1 to {last}")
    at = (revisions.c.job == job) & (revisions.c.number == number)
    return connection.execute(select(revisions).where(at)).one()


def revision(connection: Connection, job: int, number: int | None) -> Revision:
    """A revision with its files; without a number the newest.

    Raises:
        SlabwrightError: there is no such job or revision.
    """
    last = newest(connection, job)
    row = _row(connection, job, last if number is None else number, last)
    return Revision(job, row.number, kept_set(connection, row.file_set), row.who, row.at, row.why)


def rows(connection: Connection, job: int) -> tuple[RevisionRow, ...]:
    """Every revision of a job, oldest first.

    Raises:
        SlabwrightError: there is no such job.
    """
    newest(connection, job)
    found = connection.execute(select(revisions).where(revisions.c.job == job).order_by(revisions.c.number))
    return tuple(RevisionRow(row.job, row.number, row.who, row.at, row.why, row.title, row.based_on) for row in found)


def draft_rows(connection: Connection, job: int, *, settled: bool = False) -> tuple[DraftRow, ...]:
    """A job's drafts, oldest first.

    Args:
        connection: to the book
        job: id
        settled: whether those that somebody has seen to are told too

    Raises:
        SlabwrightError: there is no such job.
    """
    newest(connection, job)
    found = connection.execute(_drafts().where(drafts.c.job == job).order_by(drafts.c.id))
    return tuple(_draft_row(row) for row in found if settled or row.settled_by is None)


def draft(connection: Connection, number: int) -> Draft:
    """A draft with its files.

    Raises:
        SlabwrightError: there is no such draft.
    """
    row = 0 < number <= _GREATEST and connection.execute(_drafts().where(drafts.c.id == number)).first()
    if not row:
        raise SlabwrightError(f"there is no draft {number} in the book; `slabwright book show JOB` lists them")
    return Draft(**vars(_draft_row(row)), files=kept_set(connection, row.file_set))


def settle(connection: Connection, number: int, who: str) -> None:
    """Say that a draft was seen to; it stays in the book.

    Raises:
        SlabwrightError: there is no such draft.
    """
    job = draft(connection, number).job
    newest(connection, job, writes=True)
    if connection.execute(select(settled_drafts.c.draft).where(settled_drafts.c.draft == number)).first() is None:
        connection.execute(insert(settled_drafts), {"draft": number, "who": who, "at": now()})


def _drafts() -> Any:
    return select(drafts, settled_drafts.c.who.label("settled_by")).outerjoin_from(drafts, settled_drafts)


def _draft_row(row: Row[Any]) -> DraftRow:
    settled = row.settled_by is not None
    return DraftRow(row.id, row.job, row.based_on, row.newest, row.who, row.at, row.why, settled)
