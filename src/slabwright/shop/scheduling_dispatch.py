"""One operation after the other into the earliest gap: a schedule at once, from which the search starts."""

from __future__ import annotations

import heapq
from bisect import bisect_left, bisect_right, insort
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from slabwright.shop.scheduling_task import Item, Ready, Tie

_RETRIES = 400


@dataclass(frozen=True)
class Times:
    """A schedule in whole minutes, by number of item.

    Attributes:
        starts: worked time of attended work, elapsed time of waiting, unused for what is fixed
        finishes: elapsed time at which each job is finished
    """

    starts: tuple[int, ...]
    finishes: tuple[int, ...]

    def late(self, made: Ready) -> int:
        """Elapsed minutes by which promises are missed, all together."""
        return sum(max(0, f - due) for f, due in zip(self.finishes, made.due, strict=True) if due is not None)


class Clocks:
    """Both clocks for single numbers: quicker than arrays of one."""

    def __init__(self, made: Ready) -> None:
        self.begins, self.ends = made.timeline.begins.tolist(), made.timeline.ends.tolist()
        self.before = made.timeline.before.tolist()
        self.last = len(self.begins) - 1

    def start(self, worked: int) -> int:
        """Elapsed time at which work begins with so many worked minutes before it."""
        at = min(bisect_right(self.before, worked) - 1, self.last)
        return int(self.begins[at] + worked - self.before[at])

    def finish(self, worked: int) -> int:
        """Elapsed time at which work ends after so many worked minutes."""
        at = min(max(bisect_left(self.before, worked) - 1, 0), self.last)
        return int(self.begins[at] + worked - self.before[at])

    def worked_by(self, elapsed: int) -> int:
        """Worked minutes before an elapsed time."""
        at = bisect_right(self.begins, elapsed) - 1
        return 0 if at < 0 else int(self.before[at] + min(elapsed - self.begins[at], self.ends[at] - self.begins[at]))

    def latest_by(self, elapsed: int) -> int:
        """Most worked minutes before work that begins by an elapsed time; -1 where none can."""
        at = bisect_right(self.begins, elapsed) - 1
        if at < 0:
            return -1
        return int(self.before[at] + min(elapsed - self.begins[at], self.ends[at] - self.begins[at] - 1))


def ends(
    made: Ready, clocks: Clocks, at: int, start: int, length: int | None = None, wait: int | None = None
) -> tuple[int, int, int]:
    """Elapsed start, end of the attended part, and finish, of an item that starts then and takes so long."""
    item = made.items[at]
    length, wait = item.length if length is None else length, item.wait if wait is None else wait
    if item.mode == "fixed":
        assert item.begun is not None
        return item.begun, item.ended, item.ended + wait
    if item.mode == "wait":
        return start, start, start + wait
    end = clocks.finish(start + length)
    return (clocks.start(start) if item.begun is None else item.begun), end, end + wait


def finished(made: Ready, clocks: Clocks, starts: Sequence[int]) -> Times:
    """Add the jobs' finishes to starts."""
    finishes = [-(10**9)] * len(made.jobs)
    for at, start in enumerate(starts):
        job = made.job_of[at]
        finishes[job] = max(finishes[job], ends(made, clocks, at, start)[2])
    return Times(tuple(starts), tuple(finishes))


def settled(made: Ready, clocks: Clocks, times: Times) -> Times:
    """What only waits begins as soon as what it comes after is over, but for a pin, or a window that it opens."""
    starts = list(times.starts)
    opened: dict[int, list[tuple[int, Tie]]] = {}
    for at, item in enumerate(made.items):
        for tie in item.ties:
            if tie.greatest is not None:
                opened.setdefault(tie.source, []).append((at, tie))
    for at, item in enumerate(made.items):
        if item.mode != "wait" or item.pin is not None:
            continue
        low = item.earliest
        for tie in item.ties:
            begun, _, finish = ends(made, clocks, tie.source, starts[tie.source])
            low = max(low, (begun if tie.from_start else finish) + tie.least)
        for other, tie in opened.get(at, ()):
            assert tie.greatest is not None
            here = ends(made, clocks, other, starts[other])[0]
            low = max(low, here - tie.greatest - (0 if tie.from_start else item.wait))
        starts[at] = min(starts[at], low)
    return finished(made, clocks, starts)


def sequence(made: Ready, rank: Sequence[float]) -> list[int]:
    """Items by rank, none before what it comes after."""
    waits = [len(item.ties) for item in made.items]
    followers: list[list[int]] = [[] for _ in made.items]
    for at, item in enumerate(made.items):
        for tie in item.ties:
            followers[tie.source].append(at)
    heap = [(rank[at], at) for at, count in enumerate(waits) if not count]
    heapq.heapify(heap)
    order = []
    while heap:
        _, at = heapq.heappop(heap)
        order.append(at)
        for follower in followers[at]:
            waits[follower] -= 1
            if not waits[follower]:
                heapq.heappush(heap, (rank[follower], follower))
    return order


class Dispatch:
    """Puts items into the earliest gaps, in a given order; where a window is missed, what opens it is put later."""

    def __init__(self, made: Ready) -> None:
        self.made = made
        self.windows = True
        self.clocks = Clocks(made)
        self.lengths = [item.length for item in made.items]
        self.waits = [item.wait for item in made.items]
        self._places = [
            [
                (name, name in item.operation.holds)
                for name in dict.fromkeys((*item.operation.needs, *item.operation.holds))
            ]
            for item in made.items
        ]
        """Persons and places of each item, and whether it holds them while it waits."""
        self._limits = {watch: made.timeline.limits(watch).tolist() for watch in (0, made.watch)}
        before = made.timeline.before[:-1]
        self._longest = {watch: int((made.timeline.limits(watch) - before).max()) for watch in (0, made.watch)}

    def ends(self, at: int, start: int) -> tuple[int, int, int]:
        """Elapsed start, end of the attended part, and finish, of an item that starts then."""
        return ends(self.made, self.clocks, at, start, self.lengths[at], self.waits[at])

    def keep(self, order: Sequence[int], before: Mapping[int, int]) -> Times | None:
        """A schedule in which as many items as can be stay where they were, and the others go into gaps after where they were.

        Args:
            order: numbers of the items, none before what it comes after
            before: where they were, on their own clocks
        """
        kept = dict(before)
        at_least = [before.get(at, 0) for at in range(len(self.made.items))]
        while True:
            times = self.run(order, at_least, kept)
            if not self.misfits:
                return times
            for at in self.misfits:
                kept.pop(at, None)

    def run(
        self, order: Sequence[int], at_least: Sequence[int] | None = None, kept: Mapping[int, int] | None = None
    ) -> Times | None:
        """A schedule, or None where windows or pins are not met this way.

        Args:
            order: numbers of the items, none before what it comes after
            at_least: no item starts earlier, on its own clock
            kept: where items are put down before all others; which of them cannot stay is in `misfits` then
        """
        kept = kept or {}
        self.misfits: set[int] = set()
        made = self.made
        # Lanes of each person and place: worked times between which it is taken, in order.
        self.lanes: dict[str, list[list[tuple[int, int]]]] = {
            name: [[] for _ in range(many)] for name, many in made.many.items()
        }
        self.dust: list[tuple[int, int]] = []
        self.coats: list[tuple[int, int]] = []
        starts = [0] * len(made.items)
        later = list(at_least) if at_least is not None else [0] * len(made.items)
        taken: dict[int, list[tuple[list[tuple[int, int]], tuple[int, int]]]] = {}
        first = [at for at in order if made.items[at].mode == "fixed"]
        first += [at for at in order if made.items[at].pin is not None]
        first += [at for at in order if made.items[at].begun is not None and made.items[at].mode == "work"]
        put = set(first)
        first += [at for at in order if at in kept and at not in put]
        for at in first:
            item = made.items[at]
            if item.mode == "fixed":
                self._take_fixed(item)
                continue
            if item.pin is not None:
                starts[at] = self.clocks.worked_by(item.pin) if item.mode == "work" else item.pin
                fits = item.mode == "wait" or self._gap(at, starts[at]) == starts[at]
                if not fits:
                    return None
            elif at in kept:
                starts[at] = kept[at]
                if item.mode == "work" and self._gap(at, kept[at]) != kept[at]:
                    self.misfits.add(at)
                    continue
            else:
                starts[at] = self._gap(at, self.clocks.worked_by(item.earliest))
            self._take(at, starts[at])
        put = set(first)
        rest = [at for at in order if at not in put]
        position = {at: number for number, at in enumerate(rest)}
        number = retries = 0
        while number < len(rest):
            at = rest[number]
            low = self._lowest(at, starts)
            start = max(low, later[at])
            if made.items[at].mode == "work":
                start = self._gap(at, start)
                if start + self.lengths[at] > made.timeline.worked:
                    return None
            opener = self.missed(at, start, starts)
            if opener is None:
                starts[at] = start
                taken[at] = self._take(at, start)
                number += 1
                continue
            source, wanted = opener
            retries += 1
            if source not in position or retries > _RETRIES:
                self.misfits |= {source} & kept.keys()
                return None
            back = position[source]
            for undone in rest[back:number]:
                for lane, interval in taken.pop(undone):
                    lane.remove(interval)
            later[source] = max(wanted, starts[source] + 1)
            number = back
        # What is pinned or under way was put down without a look at what comes before it.
        for at in first:
            item = made.items[at]
            if item.mode == "fixed" or item.begun is not None:
                continue
            if self._lowest(at, starts) > starts[at] or self.missed(at, starts[at], starts) is not None:
                if at not in kept:
                    return None
                self.misfits.add(at)
        if self.misfits:
            return None
        last = max((s + self.lengths[at] for at, s in enumerate(starts) if made.items[at].mode == "work"), default=0)
        if last > made.timeline.worked:
            return None
        finishes = [-(10**9)] * len(made.jobs)
        for at, start in enumerate(starts):
            job = made.job_of[at]
            finishes[job] = max(finishes[job], self.ends(at, start)[2])
        return Times(tuple(starts), tuple(finishes))

    def _lowest(self, at: int, starts: Sequence[int]) -> int:
        """Earliest start that links leave, on the item's own clock."""
        item = self.made.items[at]
        elapsed, worked = item.earliest, 0
        for tie in item.ties:
            source = self.made.items[tie.source]
            if source.mode == "work" and not tie.from_start and self.waits[tie.source] + tie.least == 0:
                worked = max(worked, starts[tie.source] + self.lengths[tie.source])
            begun, _, finish = self.ends(tie.source, starts[tie.source])
            elapsed = max(elapsed, (begun if tie.from_start else finish) + tie.least)
        if item.mode == "wait":
            return elapsed
        return max(worked, self.clocks.worked_by(elapsed))

    def missed(self, at: int, start: int, starts: Sequence[int]) -> tuple[int, int] | None:
        """The source of a window that is missed, and where it would have to start; None where none is."""
        item = self.made.items[at]
        clocks = self.clocks
        if item.begun is not None or not self.windows:
            return None
        for tie in item.ties:
            if tie.greatest is None:
                continue
            source = self.made.items[tie.source]
            begun, _, finish = self.ends(tie.source, starts[tie.source])
            here = start if item.mode == "wait" else clocks.start(start)
            missed = here - (begun if tie.from_start else finish) - tie.greatest
            if missed > 0:
                if source.mode != "work":
                    return tie.source, starts[tie.source] + missed
                wanted = (begun if tie.from_start else finish - self.waits[tie.source]) + missed
                return tie.source, clocks.worked_by(wanted) - (0 if tie.from_start else self.lengths[tie.source])
        return None

    def _gap(self, at: int, low: int) -> int:
        """The earliest worked time from `low` at which everything that it needs is free and its hours allow it."""
        item = self.made.items[at]
        operation = item.operation
        length = self.lengths[at]
        watch = self.made.watch if operation.hot else 0
        # What is longer than any stretch is done in two after all: only times that were drawn are.
        whole = item.begun is None and (not operation.splittable or operation.hot) and length <= self._longest[watch]
        limits = self._limits[watch] if whole else None
        start, before = low, -1
        while start != before:
            before = start
            if limits is not None:
                stretch = bisect_right(self.clocks.before, start) - 1
                if stretch >= len(limits):
                    return start
                if start + length > limits[stretch]:
                    start = self.clocks.before[stretch + 1]
                    continue
            for name, held in self._places[at]:
                lanes = self.lanes[name]
                if held and self.waits[at]:
                    until = self._until(at, start, self.waits[at])
                    start = min(_after(lane, start, until) for lane in lanes)
                elif len(lanes) == 1:
                    start = _free(lanes[0], start, length)
                else:
                    start = min(_free(lane, start, length) for lane in lanes)
            if operation.dusty:
                start = _clear(self.coats, start, start + length)
            if item.open:
                start = _clear(self.dust, start, self._until(at, start, item.open))
        return start

    def _until(self, at: int, start: int, wait: int) -> int:
        """Worked time until which it takes what it needs, waiting included."""
        end = start + self.lengths[at]
        return end if not wait else self.clocks.worked_by(self.clocks.finish(end) + wait)

    def _take(self, at: int, start: int) -> list[tuple[list[tuple[int, int]], tuple[int, int]]]:
        item = self.made.items[at]
        operation = item.operation
        taken: list[tuple[list[tuple[int, int]], tuple[int, int]]] = []
        if item.mode == "work":
            for name, held in self._places[at]:
                until = self._until(at, start, self.waits[at] if held else 0)
                free = next(lane for lane in self.lanes[name] if _after(lane, start, until) == start)
                taken.append((free, (start, until)))
            if operation.dusty:
                taken.append((self.dust, (start, start + self.lengths[at])))
            if item.open:
                taken.append((self.coats, (start, self._until(at, start, item.open))))
        for lane, interval in taken:
            insort(lane, interval)
        return taken

    def _take_fixed(self, item: Item) -> None:
        """What was done may still hold a place, and its coat may still be open."""
        for wait, lanes in (
            *((item.wait, self.lanes[name]) for name in item.operation.holds),
            (item.open, [self.coats]),
        ):
            until = self.clocks.worked_by(item.ended + wait)
            begin = self.clocks.worked_by(self.made.now)
            if wait and until > begin:
                lane = min(lanes, key=len)
                insort(lane, (begin, until))


def _after(lane: Sequence[tuple[int, int]], start: int, until: int) -> int:
    """`start` where a lane is free up to `until`, else the end of what stands in the way."""
    at = max(bisect_left(lane, (start, start)) - 1, 0)
    while at < len(lane) and lane[at][0] < until:
        if lane[at][1] > start:
            return lane[at][1]
        at += 1
    return start


def _free(lane: Sequence[tuple[int, int]], start: int, length: int) -> int:
    """The first time from `start` at which a lane is free for so long."""
    at = max(bisect_left(lane, (start, start)) - 1, 0)
    while at < len(lane):
        begin, end = lane[at]
        if begin >= start + length:
            break
        if end > start:
            start = end
        at += 1
    return start


def _clear(intervals: Sequence[tuple[int, int]], start: int, until: int) -> int:
    """The same for intervals that may lie over each other: the first end of those in the way."""
    return min((end for begin, end in intervals if end > start and begin < until), default=start)
