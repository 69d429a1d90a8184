"""The log of what happened, what clients signed, and a job at a glance."""

from __future__ import annotations

from datetime import datetime
from typing import Any, get_args

from sqlalchemy import Connection, func, insert, select

from slabwright.book.revisions import newest
from slabwright.book.rows import WHOLE_JOB, Entry, Event, JobRow, SignOff, State, Verdict
from slabwright.book.stated import moment, now, number, one_of, words
from slabwright.book.tables import entries, revisions, sign_offs
from slabwright.findings import SlabwrightError

_MOST_MINUTES = 60.0 * 24 * 366


def log(
    connection: Connection,
    job: int,
    operation: str,
    event: Event,
    at: datetime | None,
    who: str,
    minutes: float | None,
    note: str,
) -> Entry:
    """One more line of the log.

    Raises:
        SlabwrightError: there is no such job, or something cannot be used.
    """
    row: dict[str, Any] = {
        "job": job,
        "operation": words(operation, "the operation", most=200),
        "event": one_of(event, get_args(Event), "the event"),
        "at": moment(at, "the time"),
        "who": words(who, "who", most=200),
        "minutes": None if minutes is None else number(minutes, "the minutes", most=_MOST_MINUTES),
        "note": words(note, "the note", wanted=False),
        "written": now(),
    }
    newest(connection, job)
    (entry,) = connection.execute(insert(entries), row).inserted_primary_key or (0,)
    return Entry(int(entry), **row)


def log_of(connection: Connection, job: int | None) -> tuple[Entry, ...]:
    """The log of a job, or of all, in the order in which it happened.

    Raises:
        SlabwrightError: there is no such job.
    """
    asked = select(entries).order_by(entries.c.at, entries.c.id)
    if job is not None:
        newest(connection, job)
        asked = asked.where(entries.c.job == job)
    return tuple(
        Entry(row.id, row.job, row.operation, row.event, row.at, row.who, row.minutes, row.note, row.written)
        for row in connection.execute(asked)
    )


def sign_off(
    connection: Connection,
    job: int,
    what: str,
    revision: int,
    name: str,
    at: datetime | None,
    verdict: Verdict,
    said: str,
) -> SignOff:
    """What a client said to a revision.

    Raises:
        SlabwrightError: there is no such job or revision, or something cannot be used.
    """
    row: dict[str, Any] = {
        "job": job,
        "what": words(what, "what was signed", most=200),
        "revision": revision,
        "name": words(name, "the name", most=200),
        "at": moment(at, "the time"),
        "verdict": one_of(verdict, get_args(Verdict), "the verdict"),
        "words": words(said, "what they asked for", wanted=verdict == "asked"),
    }
    last = newest(connection, job)
    if not 1 <= revision <= last:
        raise SlabwrightError(f"job {job} has no revision {revision} to sign; its revisions are 1 to {last}")
    (signed,) = connection.execute(insert(sign_offs), row).inserted_primary_key or (0,)
    return SignOff(int(signed), **row)


def sign_offs_of(connection: Connection, job: int) -> tuple[SignOff, ...]:
    """What was signed of a job, in order.

    Raises:
        SlabwrightError: there is no such job.
    """
    newest(connection, job)
    found = connection.execute(select(sign_offs).where(sign_offs.c.job == job).order_by(sign_offs.c.at, sign_offs.c.id))
    return tuple(
        SignOff(row.id, row.job, row.what, row.revision, row.name, row.at, row.verdict, row.words) for row in found
    )


def overview(connection: Connection, job: int | None = None) -> tuple[JobRow, ...]:
    """Each job at a glance, or one."""
    last = select(revisions.c.job, func.max(revisions.c.number).label("number")).group_by(revisions.c.job)
    if job is not None:
        newest(connection, job)
        last = last.where(revisions.c.job == job)
    of = last.subquery()
    asked = select(revisions).join(of, (of.c.job == revisions.c.job) & (of.c.number == revisions.c.number))
    states = _states(connection, job)
    return tuple(
        JobRow(
            row.job,
            row.title or "(no title)",
            row.client,
            row.number,
            row.at,
            row.who,
            states.get(row.job, "new"),
        )
        for row in connection.execute(asked.order_by(revisions.c.job))
    )


def _states(connection: Connection, job: int | None) -> dict[int, State]:
    """What sign-offs and log of each job, or of one, say: the log comes after the client's word, and the end after all."""
    found: dict[int, State] = {}
    said = select(sign_offs.c.job, sign_offs.c.verdict).order_by(sign_offs.c.at, sign_offs.c.id)
    for signed in connection.execute(said if job is None else said.where(sign_offs.c.job == job)):
        found[signed.job] = "approved" if signed.verdict == "approved" else "changes asked"
    asked = select(entries.c.job, entries.c.operation, entries.c.event).order_by(entries.c.at, entries.c.id)
    worked: dict[int, Any] = {}
    for entry in connection.execute(asked if job is None else asked.where(entries.c.job == job)):
        if entry.event in ("started", "stopped", "done"):
            worked[entry.job] = entry
    for job, last in worked.items():
        found[job] = "done" if last.operation == WHOLE_JOB and last.event == "done" else "in work"
    return found
