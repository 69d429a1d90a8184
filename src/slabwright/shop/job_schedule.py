"""The schedule of one job by itself, as its plan tells it."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slabwright.accounts import figure, working
from slabwright.findings import Finding, SlabwrightError
from slabwright.job.loaded import Job
from slabwright.shop.calendar import working_calendar
from slabwright.shop.orders import job_date
from slabwright.shop.scheduling_models import Operation, Planned, Promise, Reached, Schedule, Shop, Task

if TYPE_CHECKING:
    from slabwright.shop.ready_dates import ReadyDates

_SECONDS = 15.0


@dataclass(frozen=True)
class JobSchedule:
    """When everything of a job is done, if it is alone in the shop."""

    operations: tuple[Planned, ...] = figure(
        "",
        "each operation with start and finish",
        how="first the promised date, then the finish, then the fewest change-overs, by search with proof",
        rests_on=("shop.operations", "shop:calendar"),
        sure="shop.schedule.bound",
        change="more hours, a later promise, a helper, or an operation less",
    )
    finish: str = figure("", "when it is finished if every time is kept", rests_on=("shop.schedule.operations",))
    promised: str | None = figure("", "day that it is promised for", rests_on=("job:job.promised",))
    late: float = figure("min", "elapsed time after the promised day; 0: in time, or nothing is promised")
    bound: float = figure(
        "min", "no schedule of these operations finishes it earlier, from the first midnight", how="proof by the search"
    )
    proven: bool = figure("", "whether every aim is proven")
    aims: tuple[Reached, ...] = figure("1", "what was reached of each aim, in their order")
    change_overs: int = figure("1", "changes of kind of work at places that are set up")
    ready_even: str = figure(
        "",
        "ready by then with even chance",
        how="middle of many runs of the schedule in its order, times drawn from their spread",
        rests_on=("shop.operations", "shop.schedule.operations"),
        sure="shop.schedule.ready_4_in_5",
        source="log-normal times: common practice",
        change="hours logged: they narrow the spread",
    )
    ready_4_in_5: str = figure("", "ready by then 4 times in 5", how="the same runs")
    kept: float | None = figure("1", "share of the runs in which the promise is kept; empty: nothing is promised")
    task: Task = working()
    schedule: Schedule = working()


def shop_now(job: Job) -> datetime.datetime | None:
    """From when on a job is scheduled: its date, or what was logged last if that is later; None without a date."""
    today = job_date(job)
    if today is None:
        return None
    return max([datetime.datetime.combine(today, datetime.time()), *(entry.at for entry in job.stated.log)])


def job_schedule(job: Job, operations: Sequence[Operation]) -> tuple[JobSchedule | None, tuple[Finding, ...]]:
    """Schedule a job by itself on the shop's calendar.

    Args:
        job: with its date and its promise
        operations: of the job, from `to_schedule`

    Returns:
        The schedule, or None where the job has no date, nothing is left to do, or windows and pinned times conflict; and what
        there is to say.

    Raises:
        SlabwrightError: the calendar or the operations cannot be used.
    """
    from slabwright.shop.conflicts import conflict
    from slabwright.shop.ready_dates import ready_dates
    from slabwright.shop.scheduling import CannotBeDoneError, schedule

    now, name = shop_now(job), job.stated.job.title
    if now is None or not operations:
        return None, ()
    promised = job.stated.job.promised
    due = None if promised is None else datetime.datetime.combine(promised, datetime.time(23, 59))
    promises = () if due is None else (Promise(name, due),)
    task = Task(tuple(operations), promises, Shop(working_calendar(job.shop.calendar)), now)
    try:
        made = schedule(task, workers=1, seconds=_SECONDS)
    except CannotBeDoneError as error:
        clash = conflict(task, seconds=_SECONDS)
        told = Finding("shop/conflict", "stop", f"{str(error)[:1].upper()}{str(error)[1:]}.", "Free a pinned time.")
        return None, (clash.finding() if clash is not None else told,)
    except SlabwrightError as error:
        raise _of_change(job, error) from error
    found: tuple[Finding, ...] = ()
    if any(late > 0.0 for late in made.late.values()):
        clash = conflict(task, seconds=_SECONDS)
        found = (clash.finding(),) if clash is not None else ()
    ready = ready_dates(task, made)
    found = (*found, *_chances(task, made, ready, told=bool(found)))
    finish_aim = next((aim for aim in made.aims if aim.aim == "finish times"), made.aims[-1])
    return (
        JobSchedule(
            operations=made.operations,
            finish=_stamp(made.finish[name]),
            promised=None if promised is None else promised.isoformat(),
            late=max(made.late.get(name, 0.0), 0.0),
            bound=finish_aim.bound,
            proven=made.proven,
            aims=made.aims,
            change_overs=made.change_overs,
            ready_even=_stamp(ready.ready_even[name]),
            ready_4_in_5=_stamp(ready.ready_4_in_5[name]),
            kept=ready.kept.get(name),
            task=task,
            schedule=made,
        ),
        found,
    )


def _of_change(job: Job, error: SlabwrightError) -> SlabwrightError:
    """The error with the key of the change to the operation that it names, where there is one."""
    for number, change in enumerate(job.stated.operations):
        if str(error).startswith(f'operation "{change.name}"'):
            key = "pin" if change.pin is not None and "pinned" in str(error) else "name"
            return SlabwrightError(f"operations[{number}].{key}: {error}")
    return error


_LIKELY = 0.8
_A_DAY = 24 * 60.0


def _chances(task: Task, made: Schedule, ready: ReadyDates, *, told: bool) -> Iterator[Finding]:
    """That a promise or a pinned time is kept less than 4 times in 5, and the day that is."""
    for promise in task.promises:
        kept, sure = ready.kept[promise.job], ready.ready_4_in_5[promise.job]
        if kept < _LIKELY:
            bound = ", ".join(f"{name} {round(minutes / _A_DAY)} days" for name, minutes in longest_waits(task, made))
            yield Finding(
                "shop/promise-chance",
                "caution",
                f"{promise.due:%Y-%m-%d} is kept {math.floor(100 * kept)} times in 100; {sure:%Y-%m-%d} is kept 4 times in 5.",
                f"Promise {sure:%Y-%m-%d}" + (f"; what it waits for longest: {bound}." if bound else "."),
                "log-normal times: common practice",
            )
    for name, kept in ready.pins_kept.items():
        if kept < _LIKELY and not told:
            yield Finding(
                "shop/pin-chance",
                "caution",
                f"{name} starts when it is pinned to {math.floor(100 * kept)} times in 100; else it starts later.",
                "Pin it later, or take the pin out.",
                "log-normal times: common practice",
            )


def longest_waits(task: Task, made: Schedule) -> list[tuple[str, float]]:
    """What the finish waits for longest: up to three waits of a day or more on the way that ends last, and their minutes."""
    planned = made.by_name()
    operations = {one.name: one for one in task.operations}
    name = max(planned, key=lambda name: planned[name].finish)
    waits = []
    while True:
        one = operations[name]
        if one.unattended >= _A_DAY and one.done is None:
            waits.append((name, one.unattended))
        links = [link for link in one.after if link.from_ == "finish"]
        if not links:
            break
        name = max(links, key=lambda link: planned[link.operation].finish + link.least_lag).operation
    return sorted(waits, key=lambda wait: -wait[1])[:3]


def _stamp(moment: datetime.datetime) -> str:
    return moment.isoformat(timespec="minutes")
