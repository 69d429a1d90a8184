"""The rules of a schedule as a constraint program: what is there, and what holds between it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from slabwright.shop.calendar import Whole
from slabwright.shop.scheduling_bounds import earliest
from slabwright.shop.scheduling_dispatch import Clocks
from slabwright.shop.scheduling_task import Item, Ready, Tie

if TYPE_CHECKING:
    from ortools.sat.python import cp_model


@dataclass(frozen=True)
class Slack:
    """What may be missed: a `window` of an item after another, a `pin` of an item, or a `promise` of a job."""

    kind: Literal["window", "pin", "promise"]
    at: int
    other: int


@dataclass(frozen=True)
class Limits:
    """How late anything can be in the schedules that are searched.

    Attributes:
        finishes: latest finish of each job [elapsed min]
        late: most minutes late, all together, or None
        moves: most elapsed minutes moved, all together, or None
        last: latest finish of all, or None
        total: most of the jobs' finishes together, or None
    """

    finishes: Sequence[int]
    late: int | None = None
    moves: int | None = None
    last: int | None = None
    total: int | None = None


class Rules:
    """The model of one task within limits, all of it on the elapsed clock.

    Working hours become sets of starts. Work that may go on after a break has as many sizes as breaks make; of each size, the
    starts that lead to it are a set too. So links, waits and windows are plain differences.

    Args:
        made: the task
        limits: of the schedules that are searched
        before: elapsed time at which each item started in an earlier schedule, where moves count
        soft: windows, promises and pins may be missed, by slack that is counted (see `slacks`)
        near: first and last start of items on their own clock, where only a part of all schedules is searched
    """

    def __init__(
        self,
        made: Ready,
        limits: Limits,
        before: Mapping[int, int] | None = None,
        *,
        soft: bool = False,
        near: Mapping[int, tuple[int, int]] | None = None,
    ) -> None:
        from ortools.sat.python import cp_model

        self.made, self.limits, self.before = made, limits, dict(before or {})
        self.model = cp_model.CpModel()
        self.clocks = Clocks(made)
        self.soft = soft
        self.near = dict(near or {})
        self.slacks: dict[Slack, Any] = {}
        self.held: dict[Slack, Any] = {}
        self.impossible = False
        self._first, least = earliest(made, pins=not soft)
        self.starts: list[Any] = []
        """Elapsed start of each item; of what is under way, of what is left of it."""
        self.ends: list[Any] = []
        """Elapsed end of each attended part."""
        self.intervals: list[Any] = []
        self.sizes: list[list[tuple[int, Any]]] = []
        for at, item in enumerate(made.items):
            self._place(at, item)
        if self.impossible:
            return
        for at, item in enumerate(made.items):
            for tie in item.ties:
                self._tie(at, tie)
        self._taken_once()
        self._dust()
        self._finish(least)
        self._moved()

    def _place(self, at: int, item: Item) -> None:
        """The variables of one item."""
        model, made, clock = self.model, self.made, self.made.timeline
        if item.mode == "fixed":
            self.starts.append(item.begun)
            self.ends.append(item.ended)
            self.intervals.append(None)
            self.sizes.append([])
            return
        latest = self.limits.finishes[made.job_of[at]] - made.tails[at]
        low = self._first[at]
        near = self.limits.moves if at in self.before else None
        if item.mode == "wait":
            if at in self.near:
                low, latest = max(low, self.near[at][0]), min(latest, self.near[at][1])
            if latest < low:
                self.impossible = True
            start = model.new_int_var(low, max(low, latest), "")
            self._pin(at, item, start)
            self.starts.append(start)
            self.ends.append(start)
            self.intervals.append(None)
            self.sizes.append([])
            return
        high = min(self.clocks.worked_by(latest), clock.worked) - item.length
        if near is not None:
            low = max(low, self.clocks.worked_by(self.before[at] - near))
            high = min(high, self.clocks.latest_by(self.before[at] + near))
        if at in self.near:
            low, high = max(low, self.near[at][0]), min(high, self.near[at][1])
        worked = self._worked_starts(at, item, low, high)
        if not worked.size:
            self.impossible = True
            worked = np.array([low])
        begins = clock.start(worked)
        sizes = clock.finish(worked + item.length) - begins
        start = model.new_int_var_from_domain(_domain(begins), "")
        kinds = np.unique(sizes).tolist()
        chosen: list[tuple[int, Any]] = []
        if len(kinds) == 1:
            size: Any = int(kinds[0])
            interval = model.new_fixed_size_interval_var(start, size, "")
            end: Any = start + size
        else:
            chosen = [(int(kind), model.new_bool_var("")) for kind in kinds]
            model.add_exactly_one([literal for _, literal in chosen])
            for kind, literal in chosen:
                domain = _domain(begins[sizes == kind])
                model.add_linear_expression_in_domain(start, domain).only_enforce_if(literal)
            size = model.new_int_var_from_domain(_domain(np.array(kinds)), "")
            model.add(size == sum(kind * literal for kind, literal in chosen))
            for kind, literal in chosen:
                model.add(size == kind).only_enforce_if(literal)
            end = model.new_int_var_from_domain(_domain(np.unique(begins + sizes)), "")
            interval = model.new_interval_var(start, size, end, "")
        self._pin(at, item, start)
        self.starts.append(start)
        self.ends.append(end)
        self.intervals.append(interval)
        self.sizes.append(chosen)

    def _worked_starts(self, at: int, item: Item, low: int, high: int) -> Whole:
        """Worked times at which attended work may start."""
        pairs = self.made.allowed(item)
        if pairs is None:
            return np.arange(low, high + 1)
        parts = [np.arange(max(a, low), min(b, high) + 1) for a, b in pairs.tolist() if b >= low and a <= high]
        return np.concatenate(parts) if parts else np.arange(0)

    def _pin(self, at: int, item: Item, start: Any) -> None:
        if item.pin is None:
            return
        if not self.soft:
            self.model.add(start == item.pin)
            return
        slack = self._slack(Slack("pin", at, at))
        self.model.add(start - item.pin <= slack)
        self.model.add(item.pin - start <= slack)

    def _tie(self, at: int, tie: Tie) -> None:
        """A link: at least, and at most, so long after its source."""
        source = self.made.items[tie.source]
        if not tie.from_start:
            after = self.ends[tie.source] + source.wait
        elif source.begun is not None:
            after = source.begun
        else:
            after = self.starts[tie.source]
        self.model.add(self.starts[at] >= after + tie.least)
        if tie.greatest is not None:
            slack = self._slack(Slack("window", at, tie.source)) if self.soft else 0
            self.model.add(self.starts[at] <= after + tie.greatest + slack)

    def _slack(self, key: Slack) -> Any:
        """Elapsed minutes by which something may be missed, and whether it is held to none."""
        slack = self.model.new_int_var(0, 10**7, "")
        held = self.model.new_bool_var("")
        self.model.add(slack == 0).only_enforce_if(held)
        self.slacks[key], self.held[key] = slack, held
        return slack

    def _taken(self, at: int, wait: int) -> Any | None:
        """The interval in which an item takes a place: its attended part, and waiting after it."""
        item = self.made.items[at]
        if item.mode == "fixed":
            size = item.ended + wait - self.made.now
            return self.model.new_fixed_size_interval_var(self.made.now, size, "") if wait and size > 0 else None
        if not wait:
            return self.intervals[at]
        start, end = self.starts[at], self.ends[at]
        if not self.sizes[at]:
            return self.model.new_interval_var(start, end - start + wait, end + wait, "")
        kinds = [kind for kind, _ in self.sizes[at]]
        longer = self.model.new_int_var(min(kinds) + wait, max(kinds) + wait, "")
        return self.model.new_interval_var(start, longer, end + wait, "")

    def _taken_once(self) -> None:
        """Nobody and no place is taken twice."""
        for name, many in self.made.many.items():
            intervals = []
            for at, item in enumerate(self.made.items):
                held = name in item.operation.holds
                if item.mode != "wait" and (held or name in item.operation.needs):
                    interval = self._taken(at, item.wait if held else 0)
                    intervals += [interval] if interval is not None else []
            if many == 1:
                self.model.add_no_overlap(intervals)
            elif len(intervals) > many:
                self.model.add_cumulative(intervals, [1] * len(intervals), many)

    def _dust(self) -> None:
        """No dusty work while a coat is open."""
        items = self.made.items
        dusty = [at for at, item in enumerate(items) if item.mode == "work" and item.operation.dusty]
        open_ = [self._taken(at, item.open) for at, item in enumerate(items) if item.open and item.mode != "wait"]
        coats = [interval for interval in open_ if interval is not None]
        if not coats or not dusty:
            return
        work = [self.intervals[at] for at in dusty]
        shared = set.intersection(
            *({name for name in items[at].operation.needs if self.made.many[name] == 1} for at in dusty)
        )
        if shared:
            # One pair of hands does all dusty work, so that one rule says it: a coat takes one share, dust takes all.
            shares = [1] * len(coats) + [len(coats)] * len(work)
            self.model.add_cumulative([*coats, *work], shares, len(coats))
            return
        for coat in coats:
            for one in work:
                self.model.add_no_overlap([coat, one])

    def _finish(self, least: Sequence[int]) -> None:
        """The finish of each job, how late it is, and what earlier aims ask."""
        made, model = self.made, self.model
        self.finishes: list[Any] = []
        late = []
        for job in range(len(made.jobs)):
            finish = model.new_int_var(least[job], max(least[job], self.limits.finishes[job]), "")
            for at in made.sinks(job):
                model.add(finish >= self.ends[at] + made.items[at].wait)
            self.finishes.append(finish)
            due = made.due[job]
            if due is None:
                continue
            if self.soft:
                model.add(finish <= due + self._slack(Slack("promise", job, job)))
            else:
                over = model.new_int_var(max(0, least[job] - due), max(0, self.limits.finishes[job] - due), "")
                model.add(over >= finish - due)
                late.append(over)
        self.late = sum(late)
        if self.limits.late is not None and late:
            model.add(self.late <= self.limits.late)
        if self.limits.total is not None:
            model.add(sum(self.finishes) <= self.limits.total)
        if self.limits.last is not None:
            for finish in self.finishes:
                model.add(finish <= self.limits.last)

    def _moved(self) -> None:
        """Elapsed minutes by which each item starts earlier or later than before."""
        self.moves: Any = 0
        moved = []
        for at, before in self.before.items():
            move = self.model.new_int_var(0, 10**7, "")
            self.model.add(move >= self.starts[at] - before)
            self.model.add(move >= before - self.starts[at])
            moved.append(move)
        if moved:
            self.moves = sum(moved)
            if self.limits.moves is not None:
                self.model.add(self.moves <= self.limits.moves)


def _domain(values: Whole) -> cp_model.Domain:
    """The set of rising whole numbers, as intervals."""
    from ortools.sat.python import cp_model

    edges = np.flatnonzero(np.diff(values) != 1)
    firsts = values[np.concatenate([[0], edges + 1])]
    lasts = values[np.concatenate([edges, [values.size - 1]])]
    return cp_model.Domain.from_intervals(np.stack([firsts, lasts], axis=1).tolist())
