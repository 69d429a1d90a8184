"""A job's days, one row each: what is done at the bench, what waits by itself, what others bring or sign."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import groupby

from slabwright.shop.job_schedule import JobSchedule
from slabwright.shop.scheduling_models import Schedule, Task

Stretch = tuple[datetime.datetime, datetime.datetime, str]
_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class DayRow:
    """A day, or a run of days on which nobody is at it.

    Attributes:
        first: day
        last: day of the run; as `first` where it is one day
        work: stretches with somebody at it, in order
        waits: what dries, hardens, cools or rests
        away: what others bring or sign
        marks: what the day is, such as promised
    """

    first: datetime.date
    last: datetime.date
    work: tuple[Stretch, ...] = ()
    waits: tuple[Stretch, ...] = ()
    away: tuple[Stretch, ...] = ()
    marks: tuple[str, ...] = ()


@dataclass
class _Day:
    work: list[Stretch] = field(default_factory=list)
    waits: list[Stretch] = field(default_factory=list)
    away: list[Stretch] = field(default_factory=list)
    marks: list[str] = field(default_factory=list)


def waiting(task: Task, schedule: Schedule) -> tuple[list[Stretch], list[Stretch]]:
    """What waits by itself, and what others bring or sign: from when to when.

    What only waits begins as soon as what it comes after is over, though the schedule may leave it room.

    Args:
        task: the operations
        schedule: their schedule
    """
    planned, waits, away = schedule.by_name(), [], []
    for operation in task.operations:
        here = planned[operation.name]
        if operation.gate:
            if operation.done is None:
                away.append((here.start_at, here.finish_at, here.name))
            continue
        since = here.pieces[-1][1] if here.pieces else here.start_at
        until = here.finish_at
        if not here.pieces and operation.done is None and operation.after:
            ends = [
                (planned[link.operation].start_at if link.from_ == "start" else planned[link.operation].finish_at)
                + datetime.timedelta(minutes=link.least_lag)
                for link in operation.after
            ]
            since, until = min(since, max(ends)), until - (since - min(since, max(ends)))
        if since < until:
            waits.append((since, until, here.name))
    return sorted(waits), sorted(away)


def day_rows(days: JobSchedule) -> list[DayRow]:
    """Rows from the day of the schedule to its last date; days on which nothing happens or waits are left out."""
    waits, away = waiting(days.task, days.schedule)
    marks = _marks(days)
    first, last = days.task.now.date(), max(marks)
    found = {first + number * _DAY: _Day() for number in range((last - first).days + 1)}
    for planned in days.operations:
        for start, finish in planned.pieces:
            if start.date() in found:
                found[start.date()].work.append((start, finish, planned.name))
    for day, here in found.items():
        begin = datetime.datetime.combine(day, datetime.time())
        here.waits = [each for each in waits if each[0] < begin + _DAY and each[1] > begin]
        here.away = [each for each in away if each[0] < begin + _DAY and each[1] > begin]
        here.marks = marks.get(day, [])
        here.work.sort()
    rows: list[DayRow] = []
    for own, run in groupby(found.items(), key=lambda each: (bool(each[1].work or each[1].marks), _names(each[1]))):
        listed = list(run)
        for some in [[each] for each in listed] if own[0] else [listed]:
            if own[0] or own[1]:
                one = some[0][1]
                dry, others, marked = tuple(one.waits), tuple(one.away), tuple(one.marks)
                rows.append(DayRow(some[0][0], some[-1][0], tuple(one.work), dry, others, marked))
    return _fewer(rows)


def _names(day: _Day) -> tuple[str, ...]:
    return tuple(each[2] for each in (*day.waits, *day.away))


def _fewer(rows: Sequence[DayRow]) -> list[DayRow]:
    """Runs of days without work that follow each other as one, with all that waits in them."""
    found: list[DayRow] = []
    for row in rows:
        before = found[-1] if found else None
        idle = not row.work and not row.marks
        if before and idle and not before.work and not before.marks and row.first - before.last == _DAY:
            waits, away = (
                tuple(dict.fromkeys((*old, *new))) for old, new in ((before.waits, row.waits), (before.away, row.away))
            )
            found[-1] = DayRow(before.first, row.last, (), waits, away)
        else:
            found.append(row)
    return found


def _marks(days: JobSchedule) -> dict[datetime.date, list[str]]:
    """What stands for which day."""
    found: dict[datetime.date, list[str]] = {}
    for stamp, word in (
        (days.finish, "done, if every time is kept"),
        (days.ready_even, "ready with even chance"),
        (days.ready_4_in_5, "ready 4 times in 5"),
        (days.promised, "promised"),
    ):
        if stamp is not None:
            found.setdefault(datetime.date.fromisoformat(stamp[:10]), []).append(word)
    return found
