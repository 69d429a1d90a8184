"""When a job is ready, with even chance and 4 times in 5: the schedule run through many times with times as they may fall out."""

from __future__ import annotations

import datetime
import functools
import hashlib
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from slabwright.accounts import figure
from slabwright.findings import SlabwrightError
from slabwright.shop.calendar import Whole
from slabwright.shop.scheduling_dispatch import Dispatch, Times, sequence
from slabwright.shop.scheduling_models import Operation, Schedule, Task
from slabwright.shop.scheduling_runs import run_all
from slabwright.shop.scheduling_task import Ready, ready

DRAWS = 400
_PART = re.compile(r"(, part [0-9]+ of [0-9]+)+$")


def times_in_100(share: float) -> str:
    """A share of the runs as it is said; no finer at its ends than the runs can tell."""
    hundred = round(100.0 * share)
    return (
        "more than 99 times in 100"
        if hundred >= 100
        else "less than once in 100"
        if hundred < 1
        else f"{hundred} times in 100"
    )


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
    pins_kept: Mapping[str, float] = figure(
        "1",
        "share of runs in which each pinned operation starts when it is pinned to",
        how="the same runs; where it cannot, it starts as soon as it can after that",
    )


def ready_dates(task: Task, schedule: Schedule, *, draws: int = DRAWS, seed: int = 1) -> ReadyDates:
    """Run a schedule through many times, with times drawn from their spread.

    In each run everything is done in the schedule's order, each operation in the first gap that what it comes after, its
    persons and places, working hours and open coats leave; where a window would shut, what opens it is put later. An attended
    time is log-normal about its even-chance time; so is a waiting. Where a window or a pinned time is missed all the same, that
    is counted. An operation has the same draws whatever else there is, so that two plans are compared on the same luck; its
    parts share them. Draws are the middles of as many equally likely parts of the normal distribution, shuffled [1]_.

    Args:
        task: the operations
        schedule: their schedule
        draws: runs
        seed: of the draws

    Returns:
        Dates by which each job is ready with even chance and 4 times in 5.

    Raises:
        SlabwrightError: the operations cannot be used.

    References:
        .. [1] McKay, Beckman and Conover, A comparison of three methods for selecting values of input variables, 1979: Latin
           hypercube sampling (from memory)
    """
    made = ready(task)
    worst = sum(item.length * math.exp(5.0 * item.operation.spread) for item in made.items)
    waits = sum(item.wait * math.exp(5.0 * item.operation.wait_spread) for item in made.items)
    made.timeline = task.shop.calendar.timeline(
        task.now.date(), made.timeline.worked + round(worst), int(made.timeline.ends[-1]) + round(waits)
    )
    planned = schedule.by_name()
    order = sequence(made, [planned[item.operation.name].start for item in made.items])
    items = made.items
    lengths = np.stack([_drawn(one.length, one.operation, one.operation.spread, draws, seed) for one in items])
    lasting = np.stack([_drawn(one.wait, one.operation, one.operation.wait_spread, draws, seed + 1) for one in items])
    pinned = [at for at, item in enumerate(items) if item.pin is not None and item.begun is None]
    runs = run_all(made, order, lengths, lasting)
    finishes, missed = runs.finishes, np.zeros((len(pinned), draws), dtype=bool)
    left, rules = np.flatnonzero(~runs.whole), made
    if pinned and left.size:
        # Where a pinned time is missed in a run, it is when the operation starts at the earliest.
        rules, watched = _freed(made, pinned)
        again = run_all(watched, order, lengths[:, left], lasting[:, left])
        here = left[again.whole]
        own = again.finishes[len(made.jobs) :, again.whole]
        finishes[:, here] = again.finishes[: len(made.jobs), again.whole]
        for number, at in enumerate(pinned):
            finishes[made.job_of[at], here] = np.maximum(finishes[made.job_of[at], here], own[number])
            missed[number, here] = own[number] > _at_pin(made, at, lengths[at, here], lasting[at, here])
        left = left[~again.whole]
    dispatch = Dispatch(rules)
    shut: dict[str, int] = {}
    for draw in left.tolist():
        dispatch.lengths, dispatch.waits = lengths[:, draw].tolist(), lasting[:, draw].tolist()
        dispatch.windows = True
        times = dispatch.run(order)
        if times is None:
            dispatch.windows = False
            times = dispatch.run(order)
            for name in _shut(dispatch, times):
                shut[name] = shut.get(name, 0) + 1
        if times is None:
            raise SlabwrightError("ready dates: the calendar is too short for work that takes much longer than planned")
        finishes[:, draw] = times.finishes
        for number, at in enumerate(pinned):
            begun = dispatch.ends(at, times.starts[at])[0]
            missed[number, draw] = begun > (items[at].pin or 0)
    return ReadyDates(
        ready_even=_by(0.5, made, finishes),
        ready_4_in_5=_by(0.8, made, finishes),
        kept={
            job: float(np.mean(finishes[at] <= due))
            for at, (job, due) in enumerate(zip(made.jobs, made.due, strict=True))
            if due is not None
        },
        windows_missed={name: count / draws for name, count in shut.items()},
        pins_kept={items[at].operation.name: float(np.mean(~missed[number])) for number, at in enumerate(pinned)},
    )


def _drawn(minutes: int, operation: Operation, spread: float, draws: int, seed: int) -> Whole:
    """Log-normal whole minutes about an even-chance time, at least one where there is any."""
    if not minutes or not spread:
        return np.full(draws, minutes, dtype=np.int64)
    name = _PART.sub("", operation.name.removeprefix(f"{operation.job}: "))
    mark = int.from_bytes(hashlib.blake2b(name.encode(), digest_size=8).digest(), "big")
    factors = np.exp(spread * np.random.default_rng([seed, mark]).permutation(_normal(draws)))
    return np.asarray(np.maximum(1.0, np.rint(minutes * factors)), dtype=np.int64)


@functools.cache
def _normal(draws: int) -> NDArray[np.float64]:
    """Middles of equally likely parts of the standard normal distribution."""
    normal = NormalDist()
    return np.array([normal.inv_cdf((number + 0.5) / draws) for number in range(draws)])


def _freed(made: Ready, pinned: Sequence[int]) -> tuple[Ready, Ready]:
    """The same with pinned times as earliest starts; and so with what was pinned as a job of its own, to have its finish."""
    items = list(made.items)
    for at in pinned:
        items[at] = replace(items[at], pin=None, earliest=max(items[at].earliest, items[at].pin or 0))
    freed = replace(made, items=items)
    job_of = list(made.job_of)
    for number, at in enumerate(pinned):
        job_of[at] = len(made.jobs) + number
    names = [items[at].operation.name for at in pinned]
    return freed, replace(freed, jobs=[*made.jobs, *names], job_of=job_of)


def _at_pin(made: Ready, at: int, lengths: Whole, waits: Whole) -> Whole:
    """Finish of what is pinned in each run in which it starts then."""
    item, clock = made.items[at], made.timeline
    assert item.pin is not None
    if item.mode == "wait":
        return np.asarray(item.pin + waits, dtype=np.int64)
    return np.asarray(clock.finish(clock.worked_by(item.pin) + lengths) + waits, dtype=np.int64)


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
