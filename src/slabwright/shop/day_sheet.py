"""A day at the bench: what now, what is drying, what to order today, and the day as strips."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.shop.scheduling_models import Operation, Planned, Schedule, Task

_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class Doing:
    """One stretch of attended work."""

    start: datetime.datetime = figure("", "from")
    finish: datetime.datetime = figure("", "to")
    operation: str = figure("", "what")
    job: str = figure("", "whose")
    needs: tuple[str, ...] = figure("", "who and what it takes")


@dataclass(frozen=True)
class Drying:
    """Something that waits by itself."""

    since: datetime.datetime = figure("", "since")
    until: datetime.datetime = figure("", "until")
    operation: str = figure("", "what")
    job: str = figure("", "whose")


@dataclass(frozen=True)
class ToOrder:
    """Something that others bring or sign, to be asked for."""

    operation: str = figure("", "what")
    job: str = figure("", "whose")
    order_by: datetime.datetime = figure(
        "",
        "latest time to ask for it",
        how="the schedule's need of it less its lead time",
        change="a shorter lead time",
    )
    needed_at: datetime.datetime = figure("", "when the schedule needs it")


@dataclass(frozen=True)
class Strip:
    """A person's or a place's day."""

    name: str = figure("", "person or place")
    stretches: tuple[tuple[datetime.datetime, datetime.datetime, str], ...] = figure(
        "", "from, to and what; waiting included where the place stays taken"
    )


@dataclass(frozen=True)
class DaySheet:
    """All that the bench needs to know of one day."""

    day: datetime.date = figure("", "the day")
    works: bool = figure("", "whether the shop works")
    doing: tuple[Doing, ...] = figure("", "attended work in order")
    drying: tuple[Drying, ...] = figure("", "what waits by itself at some time of the day")
    to_order: tuple[ToOrder, ...] = figure("", "what must be asked for before the next working day")
    strips: tuple[Strip, ...] = figure("", "the day of each person and place")


def day_sheet(task: Task, schedule: Schedule, day: datetime.date) -> DaySheet:
    """What one day brings.

    Args:
        task: the operations
        schedule: their schedule
        day: which

    Returns:
        The day's sheet.
    """
    begin = datetime.datetime.combine(day, datetime.time())
    end = begin + _DAY
    operations = {operation.name: operation for operation in task.operations}
    doing, drying = [], []
    strips: dict[str, list[tuple[datetime.datetime, datetime.datetime, str]]] = {}
    for planned in schedule.operations:
        operation = operations[planned.name]
        for start, finish in planned.pieces:
            if start < end and finish > begin:
                here = max(start, begin), min(finish, end)
                doing.append(Doing(*here, planned.name, planned.job, operation.needs))
                for name in dict.fromkeys((*operation.needs, *operation.holds)):
                    strips.setdefault(name, []).append((*here, planned.name))
        since = planned.pieces[-1][1] if planned.pieces else planned.start_at
        if since < planned.finish_at and since < end and planned.finish_at > begin and not operation.gate:
            drying.append(Drying(since, planned.finish_at, planned.name, planned.job))
            for name in operation.holds:
                strips.setdefault(name, []).append((max(since, begin), min(planned.finish_at, end), planned.name))
    working_day = task.shop.calendar.timeline(day, 1)
    after = task.shop.calendar.timeline(day + _DAY, 1)
    return DaySheet(
        day=day,
        works=int(working_day.begins[0]) < _DAY // datetime.timedelta(minutes=1),
        doing=tuple(sorted(doing, key=lambda one: (one.start, one.operation))),
        drying=tuple(sorted(drying, key=lambda one: (one.until, one.operation))),
        to_order=tuple(
            order for order in orders(task, schedule) if order.order_by < after.moment(float(after.begins[0]))
        ),
        strips=tuple(Strip(name, tuple(sorted(strips[name]))) for name in sorted(strips)),
    )


def orders(task: Task, schedule: Schedule) -> tuple[ToOrder, ...]:
    """What is still to be asked for, by the latest time that keeps the schedule."""
    planned = schedule.by_name()
    needed: dict[str, list[datetime.datetime]] = {}
    for operation in task.operations:
        for link in operation.after:
            if link.from_ == "finish":
                start = planned[operation.name].start_at - datetime.timedelta(minutes=link.least_lag)
                needed.setdefault(link.operation, []).append(start)
    found = []
    for operation in task.operations:
        if operation.gate and operation.done is None and operation.started is None:
            at = min(needed.get(operation.name, [planned[operation.name].finish_at]))
            by = _ask_by(operation, planned[operation.name], at)
            found.append(ToOrder(operation.name, operation.job, by, at))
    return tuple(sorted(found, key=lambda one: (one.order_by, one.operation)))


def _ask_by(operation: Operation, planned: Planned, needed: datetime.datetime) -> datetime.datetime:
    """Latest time to ask; a sign-off cannot be asked for before there is something to sign, so no earlier than planned."""
    return max(planned.start_at, needed - datetime.timedelta(minutes=operation.attended + operation.unattended))
