"""When a job is ready, with even chance and 4 times in 5: the schedule run through many times with times as they may fall out."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from slabwright.accounts import figure
from slabwright.findings import SlabwrightError
from slabwright.shop.calendar import Whole
from slabwright.shop.scheduling_dispatch import Dispatch, Times, sequence
from slabwright.shop.scheduling_models import Schedule, Task
from slabwright.shop.scheduling_runs import run_all
from slabwright.shop.scheduling_task import Ready, ready

DRAWS = 300


@dataclass(frozen=True)
class ReadyDates:
    """When each job is ready."""

    ready_even: Mapping[str, datetime.datetime] = figure(
        "",
        "ready by then with even chance",
        how="middle of many runs of the schedule in its order, times drawn from their spread",
        rests_on=("shop.operations", "shop.schedule.operations"),
        sure="ready_4_in_5",
        source="log-normal times: common practice",
        change="hours logged: they narrow the spread",
    )
    ready_4_in_5: Mapping[str, datetime.datetime] = figure("", "ready by then 4 times in 5", how="the same runs")
    kept: Mapping[str, float] = figure("1", "share of runs in which each promise is kept", how="the same runs")
    windows_missed: Mapping[str, float] = figure(
        "1", "share of runs in which an operation comes after its window is shut", how="the same runs"
    )


def ready_dates(task: Task, schedule: Schedule, *, draws: int = DRAWS, seed: int = 1) -> ReadyDates:
    """Run a schedule through many times, with times drawn from their spread.

    In each run everything is done in the schedule's order, each operation in the first gap that what it comes after, its
    persons and places, working hours and open coats leave; where a window would shut, what opens it is put later. An attended
    time is log-normal about its even-chance time; so is a waiting. Where a window is missed all the same, that is counted.

    Args:
        task: the operations
        schedule: their schedule
        draws: runs
        seed: of the draws

    Returns:
        Dates by which each job is ready with even chance and 4 times in 5.

    Raises:
        SlabwrightError: the operations cannot be used.
    """
    made = ready(task)
    worst = sum(item.length * math.exp(5.0 * item.operation.spread) for item in made.items)
    waits = sum(item.wait * math.exp(5.0 * item.operation.wait_spread) for item in made.items)
    made.timeline = task.shop.calendar.timeline(
        task.now.date(), made.timeline.worked + round(worst), int(made.timeline.ends[-1]) + round(waits)
    )
    planned = schedule.by_name()
    order = sequence(made, [planned[item.operation.name].start for item in made.items])
    rng = np.random.default_rng(seed)
    lengths = np.stack([_drawn(item.length, item.operation.spread, draws, rng) for item in made.items])
    lasting = np.stack([_drawn(item.wait, item.operation.wait_spread, draws, rng) for item in made.items])
    runs = run_all(made, order, lengths, lasting)
    finishes = runs.finishes
    dispatch = Dispatch(made)
    missed: dict[str, int] = {}
    for draw in np.flatnonzero(~runs.whole).tolist():
        dispatch.lengths, dispatch.waits = lengths[:, draw].tolist(), lasting[:, draw].tolist()
        dispatch.windows = True
        times = dispatch.run(order)
        if times is None:
            dispatch.windows = False
            times = dispatch.run(order)
            for name in _shut(dispatch, times):
                missed[name] = missed.get(name, 0) + 1
        if times is None:
            raise SlabwrightError("ready dates: a pinned time cannot be met when work takes longer; take the pin out")
        finishes[:, draw] = times.finishes
    return ReadyDates(
        ready_even=_by(0.5, made, finishes),
        ready_4_in_5=_by(0.8, made, finishes),
        kept={
            job: float(np.mean(finishes[at] <= due))
            for at, (job, due) in enumerate(zip(made.jobs, made.due, strict=True))
            if due is not None
        },
        windows_missed={name: count / draws for name, count in missed.items()},
    )


def _drawn(minutes: int, spread: float, draws: int, rng: np.random.Generator) -> Whole:
    """Log-normal whole minutes about an even-chance time, at least one where there is any."""
    if not minutes or not spread:
        return np.full(draws, minutes, dtype=np.int64)
    factors = np.exp(spread * np.clip(rng.standard_normal(draws), -5.0, 5.0))
    return np.asarray(np.maximum(1.0, np.rint(minutes * factors)), dtype=np.int64)


def _by(share: float, made: Ready, finishes: Whole) -> dict[str, datetime.datetime]:
    """The first moment by which at least that share of runs is ready, of each job."""
    return {
        job: made.timeline.moment(float(np.quantile(finishes[at], share, method="inverted_cdf")))
        for at, job in enumerate(made.jobs)
    }


def _shut(dispatch: Dispatch, times: Times | None) -> list[str]:
    """Operations that come after their window is shut."""
    if times is None:
        return []
    dispatch.windows = True
    items = dispatch.made.items
    return [
        item.operation.name
        for at, item in enumerate(items)
        if dispatch.missed(at, times.starts[at], times.starts) is not None
    ]
