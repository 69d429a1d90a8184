"""Change-overs at places that are set up: how many there are, how few there can be, and a schedule that has so few."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import islice, pairwise, product

import numpy as np

from slabwright.shop.scheduling_dispatch import Clocks, Dispatch, Times, ends, sequence
from slabwright.shop.scheduling_task import Ready, Tie

_MOST_STATES = 4000
"""Sets of what may be done at a place so far that are gone through; past them only kinds are counted."""
_MOST = 60
"""Items at a place up to which its orders are gone through."""
_MOST_WAYS = 4
"""Orders of all places together that are tried."""
_STEPS = 320
"""Schedules from which turns are moved at random."""
_SPANS = (0.5, 1.0, 2.0)
"""Days by which turns are moved, or so."""
_ALONE = 150
"""Items up to which turns are moved at random."""
_FAR = 10**9
_DAY = 24 * 60


def places_set_up(made: Ready) -> dict[str, list[int]]:
    """Items that are still to be done at each place that is set up."""
    found: dict[str, list[int]] = {}
    for name in made.set_up:
        at_place = [
            at
            for at, item in enumerate(made.items)
            if item.mode == "work" and name in (*item.operation.needs, *item.operation.holds)
        ]
        if at_place:
            found[name] = at_place
    return found


def change_overs(made: Ready, times: Times) -> int:
    """How often the kind of work changes at places that are set up."""
    total = 0
    for at_place in places_set_up(made).values():
        kinds = [made.items[at].operation.kind for at in sorted(at_place, key=lambda at: times.starts[at])]
        total += sum(one != other for one, other in pairwise(kinds))
    return total


def fewest_changes(made: Ready, times: Times | None = None) -> tuple[int, list[list[list[int]]]]:
    """The fewest change-overs that links allow, whatever the hours, and orders of each place that have so few.

    At one place everything is done one after the other, and nothing before what it comes after. All sets that can be done by
    then are gone through, those of fewest changes first; what can be done next of the kind that is set up is done at once, as
    that costs no change later. Where there are more sets than are gone through, or several of a place, kinds alone are counted:
    each but one needs a change.

    Args:
        made: the task
        times: a schedule whose order is preferred among orders that have as few changes

    Returns:
        Changes that no schedule has less of; orders of each place of which they were found: one for each kind of work that
        it may end with.
    """
    before = _before(made)
    total = 0
    orders: list[list[list[int]]] = []
    for name, at_place in places_set_up(made).items():
        if times is not None:
            at_place = sorted(at_place, key=lambda at: times.starts[at])
        found = _order(made, at_place, before) if made.many[name] == 1 and len(at_place) <= _MOST else None
        if found is None:
            kinds = {made.items[at].operation.kind for at in at_place}
            total += len(kinds) - 1
            continue
        total += found[0]
        orders.append(found[1])
    return total, orders


def arranged(
    made: Ready,
    times: Times,
    orders: Sequence[Sequence[Sequence[int]]],
    missed: Callable[[Times], int],
    seed: int,
) -> Times | None:
    """A schedule that keeps to given orders at places and misses nothing.

    Everything is done as early as it can be: by a schedule's turns, by what must follow, and then by turns that are moved at
    random, from which the search goes on wherever that is no worse.

    Args:
        made: the task
        times: a schedule
        orders: of each place, orders of its items one after the other: one of each place is kept to
        missed: by how much a schedule falls short of what it must reach
        seed: of what is moved

    Returns:
        The schedule, or None where none was found.
    """
    clocks, rng = Clocks(made), np.random.default_rng(seed)
    turns = [float(ends(made, clocks, at, start)[0]) for at, start in enumerate(times.starts)]
    begun: list[tuple[int, int, Dispatch, np.ndarray]] = []
    for number, chosen in enumerate(islice(product(*orders), _MOST_WAYS)):
        ties: dict[int, list[Tie]] = {}
        for order in chosen:
            for one, other in pairwise(order):
                ties.setdefault(other, []).append(Tie(one, 0, None, from_start=False))
        items = [
            replace(item, ties=(*item.ties, *ties.get(at, ()))) if item.begun is None else item
            for at, item in enumerate(made.items)
        ]
        tied = replace(made, items=items)
        way = sequence(tied, turns)
        if len(way) < len(items):
            continue  # Orders of two places wait for each other in a ring.
        for rank in (turns, _latest(tied, way, times.finishes)):
            dispatch = Dispatch(tied)
            found = dispatch.run(sequence(tied, rank))
            short = missed(found) if found is not None else _FAR
            if found is not None and not short:
                return found
            begun.append((short, number, dispatch, np.array(rank)))
    for step in range(_STEPS if len(made.items) <= _ALONE else 0):
        # In turn, as the order that falls short by less at first may never do.
        at = step % len(begun) if begun else 0
        least, number, dispatch, kept = begun[at]
        rank_ = _moved(kept, _SPANS[step // len(begun) % len(_SPANS)], rng)
        found = dispatch.run(sequence(dispatch.made, rank_.tolist()))
        short = missed(found) if found is not None else _FAR
        if found is not None and not short:
            return found
        if short <= least:
            begun[at] = (short, number, dispatch, rank_)
    return None


def _moved(rank: np.ndarray, days: float, rng: np.random.Generator) -> np.ndarray:
    """Some turns earlier or later by so many days or so."""
    some = rng.choice(rank.size, min(rank.size, int(rng.choice([1, 3, 10]))), replace=False)
    moved = rank.copy()
    moved[some] += rng.normal(0.0, days * _DAY, some.size)
    return moved


def _latest(tied: Ready, way: Sequence[int], finishes: Sequence[int]) -> list[float]:
    """Elapsed time at which each item must start at the latest, for jobs to finish when they do: by links and hours alone."""
    clocks = Clocks(tied)
    over = [finishes[job] for job in tied.job_of]
    starts = [0.0] * len(over)
    for at in reversed(way):
        item = tied.items[at]
        here = over[at] - item.wait
        if item.mode == "work":
            start = clocks.worked_by(here) - item.length
            pairs = tied.allowed(item)
            if pairs is not None:
                stretch = max(int(np.searchsorted(pairs[:, 0], start, side="right")) - 1, 0)
                start = min(start, int(pairs[stretch, 1]))
            here = clocks.start(max(start, 0))
        starts[at] = float(here)
        for tie in item.ties:
            source = tied.items[tie.source]
            before = here - tie.least + (source.wait + source.length if tie.from_start else 0)
            over[tie.source] = min(over[tie.source], before)
    return starts


def _before(made: Ready) -> list[int]:
    """Of each item, as bits, everything that starts no later than it by links."""
    before: list[int] = []
    for item in made.items:
        mask = 0
        for tie in item.ties:
            mask |= before[tie.source] | 1 << tie.source
        before.append(mask)
    return before


def _order(made: Ready, at_place: Sequence[int], before: Sequence[int]) -> tuple[int, list[list[int]]] | None:
    """Fewest changes at one place, and for each kind that it may end with an order; None: too much to go through."""
    here = sum(1 << at for at in at_place)
    needs = {at: before[at] & here for at in at_place}
    kinds = {at: made.items[at].operation.kind for at in at_place}

    def filled(done: int, kind: str) -> tuple[int, list[int]]:
        """Everything of a kind that can be done next, one after the other."""
        order: list[int] = []
        while True:
            able = [at for at in at_place if not done >> at & 1 and kinds[at] == kind and not needs[at] & ~done]
            if not able:
                return done, order
            order += able
            for at in able:
                done |= 1 << at

    # The order that led to each set, and the kind that the place is set up for then.
    front: dict[tuple[int, str], list[int]] = {(0, ""): []}
    seen = set(front)
    changes = -1
    while front:
        further: dict[tuple[int, str], list[int]] = {}
        over = [order for (done, _), order in front.items() if done == here]
        if over:
            return changes, over
        for (done, kind), order in front.items():
            able = dict.fromkeys(kinds[at] for at in at_place if not done >> at & 1 and not needs[at] & ~done)
            for other in able:
                if other == kind:
                    continue
                then, more = filled(done, other)
                if (then, other) not in seen:
                    seen.add((then, other))
                    further[then, other] = order + more
        if len(seen) > _MOST_STATES:
            return None
        front = further
        changes += 1
    return None
