"""The first schedule: serial ones by many priorities, the best bettered step by step."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from slabwright.shop.scheduling_dispatch import Dispatch, Times, sequence
from slabwright.shop.scheduling_models import Aim
from slabwright.shop.scheduling_task import Ready

_DAY = 24 * 60
_FAR = 10**9
_SPACINGS = (0, 1, 2, 3, 4, 5, 6, 7, 10)
"""Days between the finishes that jobs aim for, one after the other."""
_STEPS = 500
"""Steps of the climb where there are many operations; small tasks are searched through anyway."""
_STEPS_ALONE = 40
"""The same of a job alone: its least finish is soon proven."""
_FEW = 30


def first_schedule(
    made: Ready,
    value: Callable[[Aim, Times], int],
    aims: Sequence[Aim],
    seed: int,
    bound: Callable[[Aim], int] | None = None,
) -> Times | None:
    """The best of serial schedules by many priorities.

    Jobs aim for finishes at even spacings, by promise and by load; an operation's turn comes by its job's aim less what must
    follow it. The best is then climbed from: aims are moved or exchanged, turns are moved at random, and what is no worse stays.

    Args:
        made: the task
        value: what a schedule reaches of an aim
        aims: in their order
        seed: of the climb
        bound: what no schedule beats of an aim: one that reaches all of them ends it

    Returns:
        The best schedule, or None where none keeps windows and pins.
    """
    dispatch = Dispatch(made)
    count = len(made.jobs)
    judged = [aim for aim in aims if aim != "change-overs"]
    job_of, tails = np.array(made.job_of), np.array(made.tails, dtype=float)
    load = np.bincount(job_of, weights=[item.length for item in made.items], minlength=count)
    due = [_FAR if one is None else one for one in made.due]
    enough = [bound(aim) for aim in judged] if bound is not None else None
    best: tuple[list[int], Times] | None = None
    kept = np.zeros(count), np.zeros(len(made.items))

    def attempt(target: np.ndarray, moved: np.ndarray) -> None:
        nonlocal best, kept
        if best is not None and best[0] == enough:
            return
        times = dispatch.run(sequence(made, (target[job_of] - tails + moved).tolist()))
        if times is None:
            return
        worth = [value(aim, times) for aim in judged]
        if best is None or worth <= best[0]:
            best, kept = (worth, times), (target, moved)

    places = np.empty(count)
    for order in (
        sorted(range(count), key=lambda job: (due[job], load[job])),
        np.argsort(load, kind="stable").tolist(),
    ):
        places[order] = np.arange(count)
        for days in _SPACINGS if count > 1 else (0,):
            attempt(_DAY * days * places, np.zeros(len(made.items)))
        # One job wholly before the next.
        attempt(1e7 * places, np.zeros(len(made.items)))
    rng = np.random.default_rng(seed)
    steps = _STEPS if count > 1 else _STEPS_ALONE
    for _ in range(steps if best is not None and len(made.items) >= _FEW else 0):
        target, moved = kept[0].copy(), kept[1]
        if rng.random() < 0.6 or count == 1:
            target[rng.integers(count)] += rng.normal(0.0, 4.0 * _DAY)
        else:
            pair = rng.choice(count, 2, replace=False)
            target[pair] = target[pair[::-1]]
        if rng.random() < 0.6:
            moved = moved.copy()
            some = rng.choice(len(moved), min(len(moved), int(rng.choice([1, 3, 10, 40]))), replace=False)
            moved[some] = rng.normal(0.0, 3.0 * _DAY, len(some))
        attempt(target, moved)
    return best[1] if best is not None else None
