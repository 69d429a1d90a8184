"""The schedule of one job by itself, as its plan tells it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.findings import Finding
from slabwright.job.loaded import Job
from slabwright.shop.calendar import working_calendar
from slabwright.shop.orders import job_date
from slabwright.shop.scheduling_models import Operation, Planned, Promise, Reached, Schedule, Shop, Task

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
    found: tuple[Finding, ...] = ()
    if any(late > 0.0 for late in made.late.values()):
        clash = conflict(task, seconds=_SECONDS)
        found = (clash.finding(),) if clash is not None else ()
    ready = ready_dates(task, made)
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


def _stamp(moment: datetime.datetime) -> str:
    return moment.isoformat(timespec="minutes")
