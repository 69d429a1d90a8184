"""What the log says of each operation: started, stopped, done, delayed, failed, approved."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.findings import SlabwrightError
from slabwright.job.hours_models import LogEntry
from slabwright.reference.hours import KindOfWork
from slabwright.shop.operations_draft import Draft

_LONGEST = datetime.timedelta(hours=14)
"""From start to stop; what is longer was not hands on it all the while."""


@dataclass
class Logged:
    """What was logged of one operation.

    Attributes:
        started: when it was begun, of the try that counts
        running: when somebody last set hands to it, while nobody has stopped
        minutes: hands on it so far, of the try that counts
        told: whether every stretch of it has its minutes
        done: when its attended part ended
        not_before: delayed until
        lost: minutes of tries that failed
        notes: what was noted
    """

    started: datetime.datetime | None = None
    running: datetime.datetime | None = None
    minutes: float = 0.0
    told: bool = True
    done: datetime.datetime | None = None
    not_before: datetime.datetime | None = None
    lost: float = 0.0
    notes: tuple[str, ...] = ()

    @property
    def took(self) -> float | None:
        """Minutes that it took, where it is done and they are known."""
        return self.minutes if self.done is not None and self.told and self.minutes > 0.0 else None


def gone(
    drafts: Sequence[Draft], log: Sequence[LogEntry], own_work: KindOfWork
) -> tuple[tuple[Draft, ...], dict[str, Logged]]:
    """What was logged of operations that the plan does not have: they were renamed, or are not done any more.

    Args:
        drafts: the operations of the plan
        log: in any order
        own_work: kind of work whose minutes are stated

    Returns:
        Such operations as work of the maker's own that is over, where minutes of it are known; and what was logged of each.
    """
    known = {draft.name for draft in drafts}
    found: dict[str, Logged] = {}
    nothing = Draft("", own_work, "both")
    for entry in sorted((entry for entry in log if entry.operation not in known), key=lambda entry: entry.at):
        state = found.setdefault(entry.operation, Logged())
        if entry.note:
            state.notes = (*state.notes, entry.note)
        if entry.event == "started":
            state.started, state.running = state.started or entry.at, entry.at
        elif entry.event != "delayed":
            _stretch(entry, nothing, state)
            state.done = entry.at
    made = []
    for name, state in found.items():
        if state.done is not None and state.minutes > 0.0:
            state.told, state.started = True, state.started or state.done - datetime.timedelta(minutes=state.minutes)
            made.append(
                Draft(
                    name, own_work, "both", needs=("maker",), stated=state.minutes, own=True, known_done=True, gone=True
                )
            )
    return tuple(made), found


def logged(drafts: Sequence[Draft], log: Sequence[LogEntry]) -> dict[str, Logged]:
    """What the log says, by operation.

    Args:
        drafts: the operations
        log: in any order; taken in the order of its times; what it says of other operations is left to `gone`

    Raises:
        SlabwrightError: what happened cannot happen to an operation.
    """
    by_name = {draft.name: draft for draft in drafts}
    found: dict[str, Logged] = {}
    for number, entry in sorted(enumerate(log), key=lambda pair: pair[1].at):
        draft = by_name.get(entry.operation)
        if draft is None:
            continue
        state = found.setdefault(entry.operation, Logged())
        if entry.note:
            state.notes = (*state.notes, entry.note)
        _happened(number, entry, draft, state)
    return found


def _happened(number: int, entry: LogEntry, draft: Draft, state: Logged) -> None:
    event, where = entry.event, f"log[{number}].event"
    if event == "approved" and draft.gate != "sign-off":
        raise SlabwrightError(f'{where}: "{draft.name}" is no sign-off; what is finished is logged as done')
    if state.done is not None and event in ("started", "stopped", "done", "approved", "delayed"):
        raise SlabwrightError(
            f'{where}: "{draft.name}" is {event}, but was done on {state.done:%Y-%m-%d %H:%M}; log it as failed first if it is'
            " done again"
        )
    if event == "delayed":
        until = entry.free_from
        assert until is not None
        state.not_before = max(until, state.not_before) if state.not_before else until
    elif event == "started":
        state.started = state.started or entry.at
        state.running = entry.at
    elif event == "stopped":
        if state.running is None and entry.minutes is None:
            raise SlabwrightError(f'{where}: "{draft.name}" is stopped, but was not started; log started, or minutes')
        _stretch(entry, draft, state)
    elif event == "failed":
        _stretch(entry, draft, state)
        state.lost += state.minutes
        state.started = state.done = None
        state.minutes, state.told = 0.0, True
    else:
        _stretch(entry, draft, state)
        state.done = entry.at
        # Of what was never logged as started, its minutes before its end.
        state.started = state.started or entry.at - datetime.timedelta(minutes=state.minutes)


def _stretch(entry: LogEntry, draft: Draft, state: Logged) -> None:
    """Add the minutes of a stretch that ends: as stated; else from start to stop, where that is one day's work."""
    if entry.minutes is not None:
        # Minutes told at the end are of the whole, when nothing before was told.
        state.minutes += entry.minutes
        state.told = True
    elif state.running is not None:
        span = entry.at - state.running
        if state.running.date() == entry.at.date() and span <= _LONGEST:
            state.minutes += span.total_seconds() / 60.0
        else:
            state.told = False
    elif state.minutes == 0.0 and draft.kind is not None:
        state.told = False
    state.running = None
    if state.started is None and entry.event == "stopped":
        state.started = entry.at - datetime.timedelta(minutes=entry.minutes or 0.0)
