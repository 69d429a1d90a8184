"""What no schedule of several jobs can beat, by a price on the hours of whoever is busiest.

Each job is planned by itself, exactly but for some links, and pays for the busiest person's time by the hour at which it takes
it. Whatever the prices are, what all jobs then cost together, less what all hours would fetch, is no more than the best schedule
takes: prices that come near to what hours are worth bring it near [1]_, [2]_.

References:
    .. [1] M. L. Fisher, The Lagrangian relaxation method for solving integer programming problems, Management Science 27 (1981)
    .. [2] R. H. Moehring, A. S. Schulz, F. Stork, M. Uetz, Solving project scheduling problems by minimum cut computations,
       Management Science 49 (2003)
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from slabwright.shop.calendar import Whole
from slabwright.shop.scheduling_bounds import earliest
from slabwright.shop.scheduling_models import Aim
from slabwright.shop.scheduling_task import Item, Ready

Real = NDArray[np.float64]
_CELLS = 3_200_000
"""Cells of worked time, of all operations together, up to which they are made as fine as lengths ask."""
_PATIENCE = 4
"""Steps without gain after which they are made shorter."""
_LEAST = 1e-3
"""Share of the first step at which it ends."""


@dataclass
class _Place:
    """One piece of attended work in its job's tree.

    Attributes:
        at: number of the item
        cells: length on the grid, rounded down
        rest: minutes that were rounded away
        count: cells in which its job may begin anything
        taken: how much it takes of what is priced
        allowed: nought at starts that hours and links allow, else infinite
        before: places that must be over first, each with the last start that is soon enough for each of this one's, and the first
            start that is not too soon, or None
    """

    at: int
    cells: int
    rest: int
    count: int
    taken: int
    allowed: Real
    before: list[tuple[_Place, Whole, Whole | None]] = field(default_factory=list)
    cost: Real = field(default_factory=lambda: np.empty(0))
    least: Real = field(default_factory=lambda: np.empty(0))


class Prices:
    """Bounds on sums of finishes or of minutes late, by prices of hours.

    Of the links of one job those are kept that make a tree: each piece of work is held to the one after it that has most to
    follow. Leaving links out makes a job no later. Worked time is counted in cells, and a start stands for all in its cell;
    lengths and waits are rounded down to whole cells in the links, which makes no job later either. Where all lengths are whole
    cells, all starts may be put back to the beginning of their cells; else work pays for its minutes at the least that they can
    cost then.

    Args:
        made: the task
        latest: finish of each job that no schedule that is looked for passes [elapsed min]
        grid: minutes of a cell, by which working hours begin and end; None: as few as there is room for
    """

    def __init__(self, made: Ready, latest: Sequence[int], grid: int | None = None) -> None:
        self.made = made
        clock = made.timeline
        self.latest = [min(limit, int(clock.ends[-1])) for limit in latest]
        worked = int(clock.worked_by(max(self.latest)))
        self.grid = grid if grid is not None else _grid(made, worked)
        count = worked // self.grid + 2
        self.worked = np.arange(count + 1, dtype=np.int64) * self.grid
        self.begin = clock.start(self.worked)
        self.priced = _busiest(made)
        inside = int(np.searchsorted(clock.before, self.worked[-1], side="left"))
        edges = np.append(clock.before[:inside], self.worked[-1])
        self.stretch = np.searchsorted(edges, self.worked[:-1], side="right") - 1
        self.capacity = made.many.get(self.priced, 1) * np.diff(edges).astype(np.float64)
        self.first = self.begin[np.searchsorted(self.stretch, np.arange(self.capacity.size))]
        """Elapsed time at which each stretch begins."""
        self.whole = all(item.length % self.grid == 0 for item in made.items)
        self.places: list[list[_Place]] = []
        self.ends: list[Whole] = []
        """Finish of each job, by the start of its last place."""
        self._plant()

    def bound(
        self, aim: Aim, finishes: Sequence[int], *, steps: int = 120, until: float | None = None, floor: int = 0
    ) -> int:
        """What no schedule beats: of the jobs' finishes together, or of their minutes late together.

        Args:
            aim: `finish times` or `promises`
            finishes: of a known schedule, from which the first prices are taken; what it reaches is not passed
            steps: that prices are bettered
            until: time at which it ends all the same, on the monotonic clock [s]
            floor: a bound that is known

        Returns:
            The bound [elapsed min].
        """
        goals = [self._goal(aim, job) for job in range(len(self.places))]
        due = [0 if aim == "finish times" else _or_far(one) for one in self.made.due]
        known = sum(max(0, finish - day) for finish, day in zip(finishes, due, strict=True))
        if aim == "finish times":
            known = sum(finishes)
        prices = self._first(finishes, due)
        best, chosen, step, idle = -math.inf, prices, 0.3, 0
        way = np.zeros_like(prices)
        for number in range(steps):
            if until is not None and time.monotonic() > until:
                break
            total, used = self._plan(prices, goals)
            if total > best + 1.0:
                best, chosen, idle = total, prices, 0
            else:
                idle += 1
                if idle >= _PATIENCE:
                    step, idle, prices, way = 0.6 * step, 0, chosen, np.zeros_like(prices)
                    if step < _LEAST:
                        break
                    continue
            over = used - self.capacity
            way = over + 0.6 * way if number else over
            square = float(way @ way)
            if best >= known or not square:
                break
            prices = np.maximum(prices + step * max(known - total, 1.0) / square * way, 0.0)
        return min(known, max(floor, math.ceil(best - 1e-3) if best > -math.inf else floor))

    def _plant(self) -> None:
        """Each job's tree."""
        made = self.made
        heads, _ = earliest(made)
        links = _links(made)
        after: dict[int, tuple[int, int, int | None]] = {}
        for at, sources in enumerate(links):
            for source, least, greatest in sources:
                if made.job_of[source] != made.job_of[at] or made.items[at].mode != "work":
                    continue  # only what is worked at has a place; that a link is left out makes the bound no less true
                weight = (greatest is not None, made.items[at].length + least + made.tails[at])
                held = after.get(source)
                if held is None or weight > (
                    held[2] is not None,
                    made.items[held[0]].length + held[1] + made.tails[held[0]],
                ):
                    after[source] = at, least, greatest
        for job in range(len(made.jobs)):
            count = int(made.timeline.worked_by(self.latest[job])) // self.grid + 1
            of_job = [at for at, of in enumerate(made.job_of) if of == job and made.items[at].mode == "work"]
            places = {at: self._place(at, made.items[at], heads[at], count) for at in of_job}
            for at in of_job:
                if at in after:
                    to, least, greatest = after[at]
                    places[to].before.append((places[at], *self._soon(places[at], places[to], least, greatest)))
            roots = [at for at in of_job if at not in after]
            # The last place says when the job is finished; others at which it may end are held to nothing.
            last = max(roots, key=lambda at: heads[at] + made.items[at].length + made.tails[at], default=None)
            order = [places[at] for at in of_job if at != last] + ([places[last]] if last is not None else [])
            self.places.append(order)
            if last is None:
                self.ends.append(np.zeros(0, dtype=np.int64))
                continue
            begin = self.worked[:count]
            self.ends.append(made.timeline.finish(begin + places[last].cells * self.grid) + made.tails[last])

    def _place(self, at: int, item: Item, head: int, count: int) -> _Place:
        worked = self.worked[:count]
        cells = item.length // self.grid
        allowed = worked >= head // self.grid * self.grid
        pairs = self.made.allowed(item)
        if pairs is not None:
            here = np.searchsorted(pairs[:, 0], worked, side="right") - 1
            allowed &= (here >= 0) & (worked <= pairs[np.maximum(here, 0), 1])
        if item.pin is not None:
            allowed &= worked == int(self.made.timeline.worked_by(item.pin)) // self.grid * self.grid
        allowed &= np.arange(count) + cells + 1 < self.worked.size
        operation = item.operation
        taken = 1 if self.priced in (*operation.needs, *operation.holds) else 0
        return _Place(at, cells, item.length % self.grid, count, taken, np.where(allowed, 0.0, np.inf))

    def _soon(self, source: _Place, to: _Place, least: int, greatest: int | None) -> tuple[Whole, Whole | None]:
        """The last start of a source that is soon enough for each start of what comes after it; the first not too soon."""
        clock, grid = self.made.timeline, self.grid
        worked, begin = self.worked[: source.count], self.begin[: to.count]
        over = clock.finish(worked + source.cells * grid) + least // grid * grid
        last = np.searchsorted(over, begin, side="right") - 1
        if not least:
            last = np.maximum(last, np.minimum(np.arange(to.count) - source.cells, source.count - 1))
        if greatest is None:
            return last, None
        # What was rounded away may have carried its end over a night.
        shut = clock.finish(worked + self.made.items[source.at].length + grid - 1) + greatest
        return last, np.searchsorted(shut, begin, side="left")

    def _goal(self, aim: Aim, job: int) -> Real:
        ends = self.ends[job]
        due = self.made.due[job]
        goal = (
            ends.astype(np.float64) if aim == "finish times" else np.maximum(ends - _or_far(due), 0).astype(np.float64)
        )
        return np.where(ends <= self.latest[job], goal, np.inf)

    def _first(self, finishes: Sequence[int], due: Sequence[int]) -> Real:
        """First prices: an hour more keeps all those jobs waiting of which most work is still to come, and that are late."""
        made, clock = self.made, self.made.timeline
        ratio = float(clock.ends[-1]) / max(1, clock.worked)
        lengths = np.array([item.length for item in made.items], dtype=np.float64)
        loads = np.bincount(made.job_of, weights=lengths, minlength=len(made.jobs))
        leads = np.bincount(made.job_of, weights=lengths * np.array(made.tails), minlength=len(made.jobs))
        middles = np.array(finishes) - leads / np.maximum(loads, 1.0)
        late = np.array(finishes) > np.array(due)
        return np.asarray(ratio * (middles[late, None] > self.first).sum(axis=0), dtype=np.float64)

    def _plan(self, prices: Real, goals: Sequence[Real]) -> tuple[float, Real]:
        """The bound at some prices, and how much of each stretch is then taken."""
        worth = np.concatenate([[0.0], np.cumsum(prices[self.stretch] * self.grid)])
        hourly = np.append(prices[self.stretch], 0.0)
        total = -float(prices @ self.capacity)
        change = np.zeros(self.worked.size)
        for places, goal in zip(self.places, goals, strict=True):
            for place in places:
                self._cost(place, worth, hourly)
            if not places:
                continue
            roots = set(map(id, places)) - {id(source) for place in places for source, _, _ in place.before}
            for place in places:
                if id(place) not in roots:
                    continue
                cost = place.cost + goal if place is places[-1] else place.cost
                here = int(np.argmin(cost))
                total += float(cost[here])
                self._take(place, here, change)
        taken = np.bincount(self.stretch, weights=np.cumsum(change)[:-1] * self.grid, minlength=self.capacity.size)
        return total, taken.astype(np.float64)

    def _cost(self, place: _Place, worth: Real, hourly: Real) -> None:
        """Least cost of a place and all before it, by its start."""
        cost = place.allowed.copy()
        more = min(place.count, worth.size - place.cells - 1)
        if place.taken and self.whole:
            cost[:more] += worth[place.cells : place.cells + more] - worth[:more]
        elif place.taken:
            cost[:more] += self._pays(place, worth, hourly, more)
        for source, last, first in place.before:
            if first is None:
                cost += np.where(last >= 0, source.least[last], np.inf)
            else:
                cost += _within(source.cost, first, last)
        place.cost = cost
        place.least = np.minimum.accumulate(cost)

    def _pays(self, place: _Place, worth: Real, hourly: Real, more: int) -> Real:
        """The least that work pays that starts anywhere within each cell.

        What lies between the last start and the first end is paid for as it is; the minutes about it at the least price there.
        """
        slack, cells = self.grid - 1, place.cells
        last = slice(cells + 1, cells + 1 + more)
        near = self.stretch[np.minimum(np.arange(cells + 1, cells + 1 + more), self.stretch.size - 1)]
        spans = near - self.stretch[np.minimum(np.arange(more), self.stretch.size - 1)] > 1
        least = np.where(spans, 0.0, np.minimum(hourly[:more], hourly[last]))
        if not cells:
            return np.asarray(place.rest * least, dtype=np.float64)
        end = worth[cells : cells + more] + place.rest * hourly[cells : cells + more]
        return np.asarray(end - worth[:more] - slack * hourly[:more] + slack * least, dtype=np.float64)

    def _take(self, place: _Place, here: int, change: Real) -> None:
        """Mark what a place takes that starts there, and all before it."""
        way = [(place, here)]
        while way:
            place, here = way.pop()
            if place.taken:
                cells = place.cells + (place.rest > 0)
                share = (place.cells + place.rest / self.grid) / max(1, cells)
                change[here] += share
                change[here + cells] -= share
            for source, last, first in place.before:
                low = 0 if first is None else int(first[here])
                costs = source.cost[low : int(last[here]) + 1]
                # Of starts that cost the same the last: so nothing is begun long before it is needed.
                way.append((source, low + int(costs.size - 1 - np.argmin(costs[::-1]))))


def _or_far(due: int | None) -> int:
    return 10**12 if due is None else due


def _grid(made: Ready, worked: int) -> int:
    """Minutes of a cell: none is cut by the calendar, nor by a length where there are not too many."""
    clock = made.timeline
    hours = reduce(math.gcd, np.concatenate([clock.begins, clock.ends]).tolist())
    fine = reduce(math.gcd, [item.length for item in made.items], hours)
    most = _CELLS // max(1, len(made.items))
    fits = [step for step in range(1, hours + 1) if hours % step == 0 and worked // step <= most]
    return fine if worked // fine <= most or not fits else min(fits)


def _busiest(made: Ready) -> str:
    """The person or place that has most to do of each of its kind."""
    loads = dict.fromkeys(made.many, 0.0)
    for item in made.items:
        for name in {*item.operation.needs, *item.operation.holds}:
            loads[name] += item.length / made.many[name]
    return max(loads, key=lambda name: loads[name], default="")


def _links(made: Ready) -> list[list[tuple[int, int, int | None]]]:
    """Attended work that must be over before each item, with elapsed minutes from its end at least and at most."""
    found: list[list[tuple[int, int, int | None]]] = []
    for item in made.items:
        before: list[tuple[int, int, int | None]] = []
        for tie in item.ties:
            source = made.items[tie.source]
            if source.mode == "work" and not tie.from_start:
                greatest = None if tie.greatest is None else source.wait + tie.greatest
                before.append((tie.source, source.wait + tie.least, greatest))
            elif source.mode == "wait":
                wait = tie.least + (0 if tie.from_start else source.wait)
                before += [(earlier, least + wait, None) for earlier, least, _ in found[tie.source]]
        found.append(before)
    return found


def _within(costs: Real, first: Whole, last: Whole) -> Real:
    """Least of the costs from `first` to `last` of each, infinite where there are none: by spans of doubled length."""
    size = last - np.maximum(first, 0) + 1
    found = np.full(last.size, np.inf)
    span, length = costs, 1
    longest = int(size.max(initial=0))
    while length <= longest:
        here = (size >= length) & (size < 2 * length)
        found[here] = np.minimum(span[first[here]], span[last[here] - length + 1])
        # Each entry is the least of twice as many from there on.
        further = span.copy()
        further[: span.size - length] = np.minimum(span[:-length], span[length:]) if length < span.size else further[:0]
        span, length = further, 2 * length
    return found
