"""What happens at the bench, written down: into the job's own file, so that the plan learns of it, and into the book's log.

The job file's `[[log]]` is what the plan rests on, and it goes where the folder goes. The book's log is the shop's diary: it is
only ever added to.
"""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Callable, Mapping
from typing import Any

from slabwright.book.rows import Event, Superseded
from slabwright.book.working_log import line_of
from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE
from slabwright.shop.operations_draft import near
from slabwright.web import clock
from slabwright.web.models import Edited
from slabwright.web.store import Store

_TRIES = 6

Stated = dict[str, Any]


def stated_in(files: Mapping[str, bytes]) -> Stated:
    """What the job file says, as it was typed."""
    return tomllib.loads(files[JOB_FILE].decode("utf-8-sig").replace("\r\n", "\n"))


def put_on_newest(
    store: Store, job: int, values: Callable[[Stated], Mapping[str, Any]], who: str, why: str, device: str
) -> Edited | None:
    """Change the newest revision by what does not depend on which it is: a line more of the log, a tick, a pin.

    Args:
        store: the book and its plans
        job: id
        values: keys and what they shall say, from what the job file says now; nothing: it says so already
        who: changes it
        why: in a few words
        device: that the change comes from

    Returns:
        What it came to; None where nothing was to be changed.

    Raises:
        NotThere: the book has no such job.
        SlabwrightError: a value cannot be used.
        Superseded: others were quicker again and again; the change is kept as a draft.
    """
    with store.turn(job):
        for last in reversed(range(_TRIES)):
            revision = store.revision(job)
            wanted = values(stated_in(revision.files))
            if not wanted:
                return None
            try:
                return store.edit(job, revision.number, wanted, who, why, device=device)
            except Superseded as error:
                if not last:
                    raise
                # Put on top of the newer one instead, so the draft is seen to.
                store.book.settle_draft(error.draft, who)
    raise AssertionError("the loop ends by returning or raising")


def log_work(
    store: Store,
    job: int,
    operation: str,
    event: Event,
    who: str,
    *,
    device: str = "",
    at: datetime.datetime | None = None,
    minutes: float | None = None,
    until: datetime.datetime | None = None,
    note: str = "",
) -> int:
    """Log what happened to an operation; the same line sent twice is kept once.

    Args:
        store: the book and its plans
        job: id
        operation: as the plan calls it
        event: what happened
        who: saw it
        device: that it comes from
        at: when, on the shop's own clock; None: now
        minutes: hands on it
        until: of a delay
        note: why

    Returns:
        Number of the newest revision.

    Raises:
        NotThere: the book has no such job.
        SlabwrightError: this cannot have happened.
    """
    result = store.now(job).planned.result
    if result is not None and result.shop is not None:
        names = [each.name for each in result.shop.operations]
        if operation not in names:
            raise SlabwrightError(f'log: there is no operation "{operation}"; {near(operation, names)}')
    at = (at or clock.now()).replace(second=0, microsecond=0, tzinfo=None)
    entry = line_of(operation, event, at, minutes, note)
    if until is not None:
        entry["until"] = until.replace(second=0, microsecond=0, tzinfo=None)
    why = f"{operation}: {event}" if event != "stopped" or minutes is None else f"{operation}: {minutes:g} min"

    def values(stated: Stated) -> Mapping[str, Any]:
        log = stated.get("log", [])
        return {} if any(_same(one, entry) for one in log) else {f"log[{len(log)}]": entry}

    edited = put_on_newest(store, job, values, who, why, device)
    if edited is None:
        return store.row(job).revision
    store.book.log(job, operation, event, clock.zoned(at), who, minutes, note)
    return edited.revision


def take_back(
    store: Store, job: int, operation: str, event: Event, at: datetime.datetime, who: str, device: str
) -> int:
    """Take a line of the log back: out of the job file; the book's diary keeps it and says that it was taken back.

    Returns:
        Number of the newest revision.

    Raises:
        NotThere: the book has no such job.
        SlabwrightError: there is no such line.
    """
    entry = {"operation": operation, "event": event, "at": at.replace(second=0, microsecond=0, tzinfo=None)}

    def values(stated: Stated) -> Mapping[str, Any]:
        log = stated.get("log", [])
        there = [number for number, one in enumerate(log) if all(one.get(key) == entry[key] for key in entry)]
        if not there:
            raise SlabwrightError(f"the log does not say that {operation!r} was {event} then; nothing is taken back")
        return {f"log[{there[-1]}]": None} if len(log) > 1 else {"log": None}

    edited = put_on_newest(store, job, values, who, f"{operation}: {event} taken back", device)
    assert edited is not None
    told = f"taken back: {event} at {at:%Y-%m-%d %H:%M}"
    store.book.log(job, operation, "stopped", clock.zoned(clock.now()), who, None, told)
    return edited.revision


def receive(
    store: Store, job: int, things: Mapping[str, float | None], who: str, *, came: bool, device: str = ""
) -> int:
    """Tick things of the orders as received, or take the ticks away.

    Args:
        store: the book and its plans
        job: id
        things: as the orders name them, and how much came (None: all)
        who: ticks them
        came: whether they came; False: they did not after all
        device: that it comes from

    Returns:
        Number of the newest revision.

    Raises:
        NotThere: the book has no such job.
    """

    def values(stated: Stated) -> Mapping[str, Any]:
        ticks = stated.get("received", [])
        there = {one.get("what") for one in ticks}
        if came:
            new = [what for what in things if what not in there]
            today = clock.now().date()
            return {
                f"received[{len(ticks) + number}]": {
                    "what": what,
                    **({"amount": things[what]} if things[what] is not None else {}),
                    "date": today,
                }
                for number, what in enumerate(new)
            }
        gone = [number for number, one in enumerate(ticks) if one.get("what") in things]
        if len(gone) == len(ticks):
            return {"received": None} if ticks else {}
        return {f"received[{number}]": None for number in reversed(gone)}

    first, *rest = things
    what = first if not rest else f"{first} and {len(rest)} more"
    edited = put_on_newest(store, job, values, who, f"{what} {'received' if came else 'not received'}", device)
    return edited.revision if edited is not None else store.row(job).revision


def pin(store: Store, job: int, operation: str, at: datetime.datetime | None, who: str, device: str = "") -> int:
    """Pin an operation to a moment of the shop's clock, or free it.

    Returns:
        Number of the newest revision.

    Raises:
        NotThere: the book has no such job.
        SlabwrightError: there is no such operation.
    """

    def values(stated: Stated) -> Mapping[str, Any]:
        return pinned(stated, operation, at)

    why = f"{operation} pinned to {at:%Y-%m-%d %H:%M}" if at is not None else f"{operation} freed"
    edited = put_on_newest(store, job, values, who, why, device)
    return edited.revision if edited is not None else store.row(job).revision


def pinned(stated: Stated, operation: str, at: datetime.datetime | None) -> Mapping[str, Any]:
    """The edit that pins an operation to a moment of the shop's clock, or frees it; empty where it says so already."""
    changes = stated.get("operations", [])
    number = next((place for place, one in enumerate(changes) if one.get("name") == operation), None)
    if at is not None:
        moment = at.replace(second=0, microsecond=0, tzinfo=None)
        if number is None:
            return {f"operations[{len(changes)}]": {"name": operation, "pin": moment}}
        return {f"operations[{number}].pin": moment}
    if number is None or "pin" not in changes[number]:
        return {}
    if set(changes[number]) == {"name", "pin"}:
        return {f"operations[{number}]": None} if len(changes) > 1 else {"operations": None}
    return {f"operations[{number}].pin": None}


def _same(one: Mapping[str, Any], entry: Mapping[str, Any]) -> bool:
    return all(one.get(key) == entry.get(key) for key in ("operation", "event", "at", "minutes"))


__all__ = ["log_work", "pin", "pinned", "put_on_newest", "receive", "stated_in", "take_back"]
