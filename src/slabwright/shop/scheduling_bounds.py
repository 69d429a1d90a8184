"""What no schedule can beat, from links and loads alone: quick, and often closer than the search's own proof."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from slabwright.shop.calendar import Whole
from slabwright.shop.scheduling_dispatch import Clocks, ends
from slabwright.shop.scheduling_task import Item, Ready

_FAR = 10**9


def earliest(made: Ready, *, pins: bool = True) -> tuple[list[int], list[int]]:
    """Earliest start of each item on its own clock, and earliest finish of each job, if nobody were busy with anything else.

    What several things come together for waits for all of them: of a person or place of which there is one, no two are done at
    once, so that it begins no earlier than the first of any of them can, and all of their time there after that.

    Args:
        made: the task
        pins: whether pins hold

    Returns:
        Starts (worked time of attended work, elapsed time of waiting); finishes on the elapsed clock [min].
    """
    clocks = Clocks(made)
    starts: list[int] = []
    finishes = [-_FAR] * len(made.jobs)
    before: list[frozenset[int]] = []
    for at, item in enumerate(made.items):
        before.append(_over(made, item, before))
        elapsed = item.pin if item.pin is not None and pins else item.earliest
        worked = 0
        for tie in item.ties:
            begun, _, finish = ends(made, clocks, tie.source, starts[tie.source])
            elapsed = max(elapsed, (begun if tie.from_start else finish) + tie.least)
            source = made.items[tie.source]
            if source.mode == "work" and not tie.from_start and source.wait + tie.least == 0:
                worked = max(worked, starts[tie.source] + source.length)
        if len(item.ties) > 1:
            together = _one_by_one(made, before[at], starts)
            worked = max(worked, together)
            elapsed = max(elapsed, clocks.finish(together)) if together else elapsed
        if item.mode == "work":
            start = max(worked, clocks.worked_by(elapsed))
            pairs = made.allowed(item)
            if pairs is not None:
                stretch = int(np.searchsorted(pairs[:, 1], start))
                start = max(start, int(pairs[stretch, 0])) if stretch < len(pairs) else made.timeline.worked
            starts.append(start)
        else:
            starts.append(elapsed)
        job = made.job_of[at]
        finishes[job] = max(finishes[job], ends(made, clocks, at, starts[at])[2])
    return starts, finishes


def _over(made: Ready, item: Item, before: Sequence[frozenset[int]]) -> frozenset[int]:
    """Attended work that is over when an item starts."""
    found: set[int] = set()
    for tie in item.ties:
        found |= before[tie.source]
        if not tie.from_start and made.items[tie.source].mode == "work":
            found.add(tie.source)
    return frozenset(found)


def _one_by_one(made: Ready, before: Iterable[int], starts: Sequence[int]) -> int:
    """Least worked time by which some work is over, as none at the same person or place is done at once."""
    loads: dict[str, int] = {}
    least = 0
    for at in sorted(before, key=lambda at: -starts[at]):
        operation = made.items[at].operation
        for name in {*operation.needs, *operation.holds}:
            if made.many[name] == 1:
                loads[name] = loads.get(name, 0) + made.items[at].length
                least = max(least, starts[at] + loads[name])
    return least


class Loads:
    """Bounds on the jobs' finishes from how long persons and places are busy.

    For a person or place of which there is one, and any elapsed time q: when a job is the k-th to finish, it and k - 1 others
    have all their work there done, but for what lies less than q before their own finish. So it finishes no earlier than q after
    the worked time of its own such load and the k - 1 least of the others'. Jobs and ranks are then matched at the least sum
    (the assignment problem): no schedule has less.
    """

    def __init__(self, made: Ready) -> None:
        self.made = made
        self.starts, self.finishes = earliest(made)
        self._costs = self._matrix()

    def total(self, latest: Sequence[int | None] | None = None, without: int | None = None) -> int:
        """Least sum of the jobs' finishes [elapsed min].

        Args:
            latest: finish of each job that is not passed, or None
            without: a job that is left out
        """
        jobs = [job for job in range(len(self.made.jobs)) if job != without]
        if not jobs:
            return 0
        if len(jobs) == 1:
            return int(self._costs[jobs[0], 0])
        from scipy.optimize import linear_sum_assignment

        # With one job left out, ranks among the others are no later: the first ones bound them.
        costs = self._costs[np.ix_(jobs, range(len(jobs)))].astype(float)
        if latest is not None:
            for row, job in enumerate(jobs):
                limit = latest[job]
                if limit is not None:
                    costs[row, costs[row] > limit] = _FAR
        rows, ranks = linear_sum_assignment(costs)
        total = int(costs[rows, ranks].sum())
        return total if total < _FAR // 2 else 0

    def late(self) -> int:
        """Least minutes late, all promised jobs together, by the same matching."""
        due = np.array([_FAR if one is None else one for one in self.made.due])
        costs = np.maximum(self._costs - due[:, None], 0)
        if not costs.any() or len(due) == 1:
            return int(costs.sum())
        from scipy.optimize import linear_sum_assignment

        rows, ranks = linear_sum_assignment(costs)
        return int(costs[rows, ranks].sum())

    def last(self) -> int:
        """Least finish of the last job [elapsed min]."""
        return int(self._costs[:, -1].max())

    def together(self, jobs: Sequence[int]) -> int:
        """Least time by which some jobs are all finished, whatever becomes of the others [elapsed min]."""
        made = self.made
        best = max(self.finishes[job] for job in jobs)
        inside = set(jobs)
        for name, many in made.many.items():
            used = [
                at
                for at, item in enumerate(made.items)
                if many == 1
                and item.mode == "work"
                and made.job_of[at] in inside
                and name in (*item.operation.needs, *item.operation.holds)
            ]
            # The last to finish has all work done that has at least so long a tail, whichever job it is of.
            for least in sorted({made.tails[at] for at in used}):
                counted = [at for at in used if made.tails[at] >= least]
                begin = min(self.starts[at] for at in counted)
                load = sum(made.items[at].length for at in counted)
                best = max(best, int(made.timeline.finish(begin + load)) + least)
        return best

    def _matrix(self) -> Whole:
        """Earliest finish of each job at each rank."""
        made = self.made
        count = len(made.jobs)
        costs = np.repeat(np.array(self.finishes, dtype=np.int64)[:, None], count, axis=1)
        for name, many in made.many.items():
            if many > 1:
                continue
            used = [
                at
                for at, item in enumerate(made.items)
                if item.mode == "work" and name in (*item.operation.needs, *item.operation.holds)
            ]
            if not used:
                continue
            begin = min(self.starts[at] for at in used)
            tails = np.array([made.tails[at] for at in used], dtype=np.int64)
            least = np.unique(np.append(tails, 0))
            lengths = np.zeros((len(used), count), dtype=np.int64)
            lengths[np.arange(len(used)), [made.job_of[at] for at in used]] = [made.items[at].length for at in used]
            load = (tails[None, :] >= least[:, None]).astype(np.int64) @ lengths
            place = np.argsort(np.argsort(load, axis=1, kind="stable"), axis=1, kind="stable")
            sums = np.zeros((least.size, count + 1), dtype=np.int64)
            sums[:, 1:] = np.cumsum(np.sort(load, axis=1), axis=1)
            for rank in range(count):
                # The least loads of the others: its own is taken out where it is among them.
                before = rank <= place
                others = np.where(before, sums[:, [rank]], sums[:, [rank + 1]] - load)
                total = load + others
                found = made.timeline.finish(begin + total) + least[:, None]
                costs[:, rank] = np.maximum(costs[:, rank], np.where(total > 0, found, -_FAR).max(axis=0))
        return costs
