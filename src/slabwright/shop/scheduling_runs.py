"""Many runs of one order at once: what `Dispatch` does for one set of times, for hundreds of them in arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.shop.calendar import Whole
from slabwright.shop.scheduling_task import Item, Ready

_FAR = 4 * 10**9
_PASSES = 40
"""Times that a run is begun again because a window shut; after that it is left to be run by itself."""
_FEW = 20


@dataclass(frozen=True)
class Runs:
    """What came of many runs.

    Attributes:
        finishes: elapsed time at which each job is finished, shape (jobs, runs) [min]
        whole: whether each run is through; the others are to be run one by one
    """

    finishes: Whole
    whole: NDArray[np.bool_]


class _Lane:
    """Worked times between which a person or place is taken, in order, of each run, shape (intervals, runs)."""

    def __init__(self, runs: int) -> None:
        self.begins = np.full((1, runs), -_FAR, dtype=np.int64)
        self.ends = np.full((1, runs), -_FAR, dtype=np.int64)

    def gap(self, start: Whole, length: Whole) -> Whole:
        """The first time from `start` at which so much is free."""
        free = np.maximum(self.ends, start)
        last = np.full((1, start.size), _FAR, dtype=np.int64)
        fits = free + length <= np.concatenate([self.begins[1:], last])
        return np.asarray(free[np.argmax(fits, axis=0), np.arange(start.size)], dtype=np.int64)

    def step(self, start: Whole, until: Whole) -> Whole:
        """`start` where it is free up to `until`, else the first end of what stands in the way."""
        return _step(self.begins, self.ends, start, until)

    def take(self, begin: Whole, end: Whole, where: NDArray[np.bool_]) -> None:
        """Take an interval in some runs; in the others an empty one, before everything."""
        begin, end = np.where(where, begin, -_FAR), np.where(where, end, -_FAR)
        place = (self.begins <= begin).sum(axis=0)
        row = np.arange(self.begins.shape[0] + 1)[:, None]
        for name, new in (("begins", begin), ("ends", end)):
            old = getattr(self, name)
            early, late = np.concatenate([old, old[-1:]]), np.concatenate([old[:1], old])
            setattr(self, name, np.where(row < place, early, np.where(row == place, new, late)))


class _Air:
    """Intervals that may lie over each other: dusty work, or open coats."""

    def __init__(self, runs: int) -> None:
        self.begins = np.empty((0, runs), dtype=np.int64)
        self.ends = np.empty((0, runs), dtype=np.int64)

    def step(self, start: Whole, until: Whole) -> Whole:
        return _step(self.begins, self.ends, start, until) if self.begins.size else start

    def take(self, begin: Whole, end: Whole) -> None:
        self.begins, self.ends = np.vstack([self.begins, begin]), np.vstack([self.ends, end])


def _step(begins: Whole, ends: Whole, start: Whole, until: Whole) -> Whole:
    found = np.where((begins < until) & (ends > start), ends, _FAR).min(axis=0)
    return np.asarray(np.where(found < _FAR, found, start), dtype=np.int64)


class _Pass:
    """One pass through an order, all runs at once."""

    def __init__(self, made: Ready, lengths: Whole, waits: Whole, later: Whole) -> None:
        self.made, self.clock = made, made.timeline
        self.lengths, self.waits, self.later = lengths, waits, later
        self.runs = lengths.shape[1]
        self.starts = np.zeros_like(lengths)
        self.begun, self.until, self.finish = (np.zeros_like(lengths) for _ in range(3))
        self.bad = np.zeros(self.runs, dtype=bool)
        """Runs that cannot be gone through this way."""
        self.again = np.zeros(self.runs, dtype=bool)
        """Runs to be begun again, with what opens a window put later."""
        self.lanes = {name: [_Lane(self.runs) for _ in range(many)] for name, many in made.many.items()}
        self.dust, self.coats = _Air(self.runs), _Air(self.runs)
        self.limits = {watch: self.clock.limits(watch) for watch in (0, made.watch)}
        self.longest = {watch: int((limits - self.clock.before[:-1]).max()) for watch, limits in self.limits.items()}

    def all(self, order: Sequence[int]) -> None:
        """Put everything down."""
        items = self.made.items
        first = [at for at in order if items[at].mode == "fixed"]
        first += [at for at in order if items[at].pin is not None]
        first += [at for at in order if items[at].begun is not None and items[at].mode == "work"]
        for at in first:
            item = items[at]
            if item.mode == "fixed":
                self._fixed(at, item)
                continue
            worked = item.mode == "work"
            here = item.pin if item.pin is not None else item.earliest
            start = np.full(self.runs, int(self.clock.worked_by(here)) if worked else here, dtype=np.int64)
            if worked:
                free = self._gap(at, start)
                if item.pin is not None:
                    self.bad |= free != start
                else:
                    start = free
            self._put(at, start)
        done = set(first)
        for at in order:
            if at in done:
                continue
            start = np.maximum(self._lowest(at), self.later[at])
            if items[at].mode == "work":
                start = self._gap(at, start)
                self.bad |= start + self.lengths[at] > self.clock.worked
            self._windows(at, start)
            self._put(at, start)
        for at in first:
            if items[at].mode != "fixed" and items[at].begun is None:
                self.bad |= self._lowest(at) > self.starts[at]
                missed, _, _ = self._missed(at, self.starts[at])
                self.bad |= missed > 0

    def _put(self, at: int, start: Whole) -> None:
        item, clock = self.made.items[at], self.clock
        self.starts[at] = start
        if item.mode == "wait":
            self.begun[at] = self.until[at] = start
        else:
            self.until[at] = clock.finish(start + self.lengths[at])
            self.begun[at] = clock.start(start) if item.begun is None else item.begun
        self.finish[at] = self.until[at] + self.waits[at]
        if item.mode == "work":
            self._take(at, start)

    def _fixed(self, at: int, item: Item) -> None:
        """What was done may still hold a place, and its coat may still be open."""
        assert item.begun is not None
        self.begun[at], self.until[at] = item.begun, item.ended
        self.finish[at] = item.ended + self.waits[at]
        begin = int(self.clock.worked_by(self.made.now))
        every = np.ones(self.runs, dtype=bool)
        for name in item.operation.holds:
            until = int(self.clock.worked_by(item.ended + item.wait))
            if item.wait and until > begin:
                lane = min(self.lanes[name], key=lambda lane: lane.begins.shape[0])
                lane.take(np.full(self.runs, begin), np.full(self.runs, until), every)
        until = int(self.clock.worked_by(item.ended + item.open))
        if item.open and until > begin:
            self.coats.take(np.full(self.runs, begin), np.full(self.runs, until))

    def _lowest(self, at: int) -> Whole:
        """Earliest start that links leave, on the item's own clock."""
        item = self.made.items[at]
        elapsed = np.full(self.runs, item.earliest, dtype=np.int64)
        worked = np.zeros(self.runs, dtype=np.int64)
        for tie in item.ties:
            source = self.made.items[tie.source]
            if source.mode == "work" and not tie.from_start:
                direct = self.waits[tie.source] + tie.least == 0
                worked = np.where(
                    direct, np.maximum(worked, self.starts[tie.source] + self.lengths[tie.source]), worked
                )
            base = self.begun[tie.source] if tie.from_start else self.finish[tie.source]
            elapsed = np.maximum(elapsed, base + tie.least)
        return elapsed if item.mode == "wait" else np.maximum(worked, self.clock.worked_by(elapsed))

    def _missed(self, at: int, start: Whole) -> tuple[Whole, Whole, Whole]:
        """By how much the first window that is missed is; its source, and where that would have to start."""
        item, clock = self.made.items[at], self.clock
        by, of, wanted = (np.zeros(self.runs, dtype=np.int64) for _ in range(3))
        if item.begun is not None or all(tie.greatest is None for tie in item.ties):
            return by, of, wanted
        here = start if item.mode == "wait" else clock.start(start)
        for tie in item.ties:
            if tie.greatest is None:
                continue
            source = self.made.items[tie.source]
            missed = here - (self.begun[tie.source] if tie.from_start else self.finish[tie.source]) - tie.greatest
            first = (by == 0) & (missed > 0)
            if not first.any():
                continue
            if source.mode != "work":
                to = self.starts[tie.source] + missed
            elif tie.from_start:
                to = clock.worked_by(self.begun[tie.source] + missed)
            else:
                to = clock.worked_by(self.until[tie.source] + missed) - self.lengths[tie.source]
            by, of, wanted = np.where(first, missed, by), np.where(first, tie.source, of), np.where(first, to, wanted)
        return by, of, wanted

    def _windows(self, at: int, start: Whole) -> None:
        """Where a window is missed, what opens it is put later, and the run is begun again."""
        by, of, wanted = self._missed(at, start)
        missed = (by > 0) & ~self.again & ~self.bad
        for run in np.flatnonzero(missed).tolist():
            source = self.made.items[of[run]]
            if source.mode == "fixed" or source.pin is not None or source.begun is not None:
                self.bad[run] = True
                continue
            self.later[of[run], run] = max(int(wanted[run]), int(self.starts[of[run], run]) + 1)
            self.again[run] = True

    def _gap(self, at: int, low: Whole) -> Whole:
        """The earliest worked time from `low` at which everything that it needs is free and its hours allow it."""
        item, length = self.made.items[at], self.lengths[at]
        operation = item.operation
        watch = self.made.watch if operation.hot else 0
        whole = item.begun is None and (not operation.splittable or operation.hot) & (length <= self.longest[watch])
        bound = bool(np.any(whole))
        limits, before = self.limits[watch], self.clock.before
        names = list(dict.fromkeys((*operation.needs, *operation.holds)))
        start = low
        while True:
            was = start
            if bound:
                stretch = np.searchsorted(before, start, side="right") - 1
                out = stretch >= limits.size
                self.bad |= out
                stretch = np.minimum(stretch, limits.size - 1)
                start = np.where(whole & ~out & (start + length > limits[stretch]), before[stretch + 1], start)
            for name in names:
                held = name in operation.holds
                if held and (self.waits[at] > 0).any():
                    until = self._until(at, start, self.waits[at])
                    ways = [lane.step(start, until) for lane in self.lanes[name]]
                else:
                    ways = [lane.gap(start, length) for lane in self.lanes[name]]
                start = np.minimum.reduce(ways)
            if operation.dusty:
                start = self.coats.step(start, start + length)
            if item.open:
                start = self.dust.step(start, self._until(at, start, np.int64(item.open)))
            if np.array_equal(start, was):
                return start

    def _until(self, at: int, start: Whole, wait: Whole | np.int64) -> Whole:
        """Worked time until which it takes what it needs, waiting included."""
        end = start + self.lengths[at]
        return np.where(wait == 0, end, self.clock.worked_by(self.clock.finish(end) + wait))

    def _take(self, at: int, start: Whole) -> None:
        item = self.made.items[at]
        operation, end = item.operation, start + self.lengths[at]
        for name in dict.fromkeys((*operation.needs, *operation.holds)):
            until = self._until(at, start, self.waits[at]) if name in operation.holds else end
            open_ = np.ones(self.runs, dtype=bool)
            for lane in self.lanes[name]:
                free = open_ if len(self.lanes[name]) == 1 else open_ & (lane.step(start, until) == start)
                lane.take(start, until, free)
                open_ = open_ & ~free
        if operation.dusty:
            self.dust.take(start, end)
        if item.open:
            self.coats.take(start, self._until(at, start, np.int64(item.open)))


def run_all(made: Ready, order: Sequence[int], lengths: Whole, waits: Whole) -> Runs:
    """Put everything into the earliest gaps in one order, for many sets of times at once.

    The same rules as of `Dispatch.run`. A run in which a window is missed is begun again, with what opens the window put later.

    Args:
        made: the task
        order: numbers of the items, none before what it comes after
        lengths: attended minutes of each item in each run, shape (items, runs)
        waits: minutes for which each waits, of the same shape

    Returns:
        Finishes; and which runs are through. Those that are not are few, or would miss a pinned time.
    """
    runs = lengths.shape[1]
    finishes = np.full((len(made.jobs), runs), -(10**9), dtype=np.int64)
    whole = np.zeros(runs, dtype=bool)
    later = np.zeros_like(lengths)
    left = np.arange(runs)
    for _ in range(_PASSES):
        one = _Pass(made, lengths[:, left], waits[:, left], later[:, left])
        one.all(order)
        through = ~one.bad & ~one.again
        for at, job in enumerate(made.job_of):
            done = left[through]
            finishes[job, done] = np.maximum(finishes[job, done], one.finish[at, through])
        whole[left[through]] = True
        later[:, left] = one.later
        left = left[one.again & ~one.bad]
        if left.size < _FEW:
            break  # So few are quicker one by one.
    return Runs(finishes, whole)
