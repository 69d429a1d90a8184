"""Many operations: better schedules by searching a part at a time, the rest held where it is."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

import numpy as np

from slabwright.shop.scheduling_dispatch import Clocks, Dispatch, Times, ends, sequence
from slabwright.shop.scheduling_models import Aim
from slabwright.shop.scheduling_rules import Limits
from slabwright.shop.scheduling_search import Search
from slabwright.shop.scheduling_task import Ready

MANY = 150
"""Operations from which a schedule is bettered part by part before all of it is searched at once."""
_DAY = 24 * 60


def improve(
    made: Ready,
    best: Times,
    aim: Aim,
    value: Callable[[Aim, Times], int],
    limits: Limits,
    *,
    allowed: Callable[[Times], bool],
    until: float,
    enough: float,
    workers: int,
    seed: int,
) -> Times:
    """Better a schedule part by part.

    Parts are in turn a pair of jobs that finish one after the other, and all that is done within some weeks; every part is
    searched by the same model as the whole.

    Args:
        made: the task
        best: a schedule
        aim: what is made less
        value: what a schedule reaches of an aim
        limits: of the schedules that are searched
        allowed: whether a schedule keeps the aims before this one
        until: time at which it stops, on the monotonic clock [s]
        enough: value at which it stops
        workers: that search at once
        seed: of the search

    Returns:
        The best schedule found.
    """
    clocks = Clocks(made)
    dispatch = Dispatch(made)
    rng = np.random.default_rng(seed)
    reach = 7 * _DAY
    while time.monotonic() < until and value(aim, best) > enough:
        begun = value(aim, best)
        for free in _parts(made, best, clocks, rng):
            left = until - time.monotonic()
            if left <= 0.1 or value(aim, best) <= enough:
                break
            near = {}
            for at, item in enumerate(made.items):
                start = best.starts[at]
                if at not in free:
                    near[at] = (start, start)
                elif item.mode == "work":
                    here = clocks.start(start)
                    near[at] = (clocks.worked_by(here - reach), clocks.worked_by(here + reach))
                else:
                    near[at] = (start - reach, start + reach)
            search = Search(made, limits, near=near)
            if search.impossible:
                continue
            search.hint(best)
            found = search.solve(search.aim(aim), seconds=min(left, 1.5), workers=workers, seed=seed).times
            if found is None:
                continue
            # Gaps that this opened are filled from the front.
            rank = [float(ends(made, clocks, at, found.starts[at])[0]) for at in range(len(made.items))]
            packed = dispatch.run(sequence(made, rank))
            for times in (found, packed):
                if times is not None and allowed(times) and value(aim, times) <= value(aim, best):
                    best = times
        if value(aim, best) == begun:
            reach *= 2
            if reach > 60 * _DAY:
                break
    return best


def _parts(made: Ready, best: Times, clocks: Clocks, rng: np.random.Generator) -> Iterator[frozenset[int]]:
    """Parts of a schedule that are searched in turn."""
    jobs = sorted(range(len(made.jobs)), key=lambda job: best.finishes[job])
    of_job: list[list[int]] = [[] for _ in jobs]
    begins = []
    for at, item in enumerate(made.items):
        of_job[made.job_of[at]].append(at)
        begins.append(ends(made, clocks, at, best.starts[at])[0] if item.mode != "fixed" else -1)
    pairs = [frozenset(of_job[one] + of_job[other]) for one, other in pairwise(jobs)]
    first, last = made.now, max(begins)
    weeks = [
        frozenset(at for at, here in enumerate(begins) if begin <= here < begin + 14 * _DAY)
        for begin in range(first, last, 7 * _DAY)
    ]
    parts: Sequence[frozenset[int]] = [part for part in [*pairs, *weeks] if part]
    for number in rng.permutation(len(parts)):
        yield parts[number]
