"""The schedule: what is done when, aim after aim, each with what no schedule can beat."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from slabwright.findings import SlabwrightError
from slabwright.shop.scheduling_bounds import Loads
from slabwright.shop.scheduling_changes import arranged, change_overs, fewest_changes, places_set_up
from slabwright.shop.scheduling_climb import first_schedule
from slabwright.shop.scheduling_dispatch import Clocks, Dispatch, Times, ends, sequence, settled
from slabwright.shop.scheduling_improve import MANY, improve
from slabwright.shop.scheduling_models import Aim, Planned, Reached, Schedule, Task
from slabwright.shop.scheduling_prices import Prices
from slabwright.shop.scheduling_rules import Limits
from slabwright.shop.scheduling_search import Found, Search
from slabwright.shop.scheduling_task import Ready, ready

AIMS: tuple[Aim, ...] = ("promises", "finish times", "change-overs")


_DAY = 24 * 60
_PRICES = 0.5
"""Share of the time for an aim that may go into its bound."""
_WEEKS = (7, 14, 28, 56)
"""Days ahead within which things are moved first when planning again."""


class CannotBeDoneError(SlabwrightError):
    """No schedule meets the windows and pins; `conflict` says which, and what would free them."""


def schedule(
    task: Task,
    *,
    aims: Sequence[Aim] = AIMS,
    earlier: Schedule | None = None,
    workers: int = 2,
    seconds: float = 20.0,
    seed: int = 1,
) -> Schedule:
    """Plan all operations, one aim after the other, none at an earlier one's cost.

    Attended work lies within working hours; waiting runs through nights and weekends; windows are elapsed time. Constraint
    programming [1]_ on the worked clock, started from the best of several serial schedules. With one worker the same task gives
    the same schedule, as long as the time is not used up.

    Args:
        task: operations, promises, shop, now
        aims: in order: `promises` (minutes late, all together), `moves` (elapsed minutes that starts move from `earlier`),
            `last finish`, `finish times` (all jobs' finishes together), `change-overs`
        earlier: a schedule of the same operations that is to be kept as far as it can be
        workers: that search at once
        seconds: for all aims together
        seed: of the search

    Returns:
        The best schedule found, with the bound of each aim.

    Raises:
        SlabwrightError: the operations cannot be used.
        CannotBeDoneError: there is no schedule; or none was found in time.

    References:
        .. [1] L. Perron and F. Didier, CP-SAT, OR-Tools
    """
    until = time.monotonic() + seconds
    made = ready(task)
    run = _Run(made, list(aims), earlier, workers, until, seed)
    for number, aim in enumerate(run.aims):
        run.pursue(aim, len(run.aims) - number)
    if run.best is None:
        raise CannotBeDoneError(
            "schedule: no schedule was found; state at least one aim"
            if not run.aims
            else "schedule: not everything can be done as it is stated: windows, pinned times and hours conflict"
            if run.impossible
            else "schedule: no schedule was found in time; allow more seconds, or widen windows"
        )
    run.pack()
    return _result(task, made, run.best, run.reached, earlier)


def replan(task: Task, earlier: Schedule, *, workers: int = 2, seconds: float = 2.0, seed: int = 1) -> Schedule:
    """Plan again after something happened: promises first, and then as little as can be is moved.

    What is done or under way stays; see `schedule` for the rest.
    """
    return schedule(task, aims=("promises", "moves"), earlier=earlier, workers=workers, seconds=seconds, seed=seed)


@dataclass
class _Run:
    """One run through the aims."""

    made: Ready
    aims: list[Aim]
    earlier: Schedule | None
    workers: int
    until: float
    seed: int
    best: Times | None = None
    impossible: bool = False
    reached: list[Reached] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.clocks = Clocks(self.made)
        self.loads = Loads(self.made)
        self.before = _before(self.made, self.earlier) if self.earlier is not None else {}
        self.kept: dict[Aim, int] = {}
        self.best = _kept(self.made, self.before) if self.before else None
        if self.before and self.aims[:2] == ["promises", "moves"]:
            self.best = self._repaired() or self.best
        if self.best is None:
            self.best = first_schedule(self.made, self.value, self.aims, self.seed, self.bound)

    def value(self, aim: Aim, times: Times) -> int:
        """What a schedule reaches."""
        if aim == "promises":
            return times.late(self.made)
        if aim == "moves":
            return sum(abs(self.clocks.start(times.starts[at]) - before) for at, before in self.before.items())
        if aim == "last finish":
            return max(0, *times.finishes) if times.finishes else 0
        if aim == "finish times":
            return sum(times.finishes)
        return change_overs(self.made, times)

    def bound(self, aim: Aim) -> int:
        """What no schedule beats, from loads and links."""
        if aim == "promises":
            return self.loads.late()
        if aim == "finish times":
            return self.loads.total(self._latest())
        if aim == "last finish":
            return self.loads.last()
        if aim == "change-overs":
            return fewest_changes(self.made)[0]
        return 0

    def _latest(self) -> list[int | None]:
        late = self.kept.get("promises")
        return [None if due is None or late is None else due + late for due in self.made.due]

    def limits(self, aim: Aim) -> Limits:
        """Within which a schedule that is at least as good as the best so far must lie."""
        made = self.made
        end = int(made.timeline.ends[-1])
        finishes = [end] * len(made.jobs)
        kept = self.kept
        if self.best is not None:
            latest = self._latest()
            total = kept.get("finish times")
            if aim == "finish times":
                total = self.value(aim, self.best)
            if total is not None:
                # Whatever the others take at least, this job cannot finish later than what is left of the total.
                finishes = [total - self.loads.total(latest, without=job) for job in range(len(made.jobs))]
            elif aim == "promises":
                finishes = self._any_before()
            last = self.value(aim, self.best) if aim == "last finish" else kept.get("last finish")
            for job, limit in enumerate(latest):
                asked = [end, *([limit] if limit is not None else []), *([last] if last is not None else [])]
                finishes[job] = min(finishes[job], *asked)
        moves = self.value(aim, self.best) if aim == "moves" and self.best is not None else kept.get("moves")
        return Limits(finishes, kept.get("promises"), moves, kept.get("last finish"), kept.get("finish times"))

    def _any_before(self) -> list[int]:
        """Latest finishes of which some schedule with the fewest minutes late has no later ones.

        Promised jobs: the promise and all minutes late of the best so far. The others may stand behind all of those, one after
        the other, and lose nothing.
        """
        assert self.best is not None
        made = self.made
        late = self.best.late(made)
        finishes = [int(made.timeline.ends[-1])] * len(made.jobs)
        for job, due in enumerate(made.due):
            if due is not None:
                finishes[job] = max(due + late, self.best.finishes[job])
        return finishes

    def pursue(self, aim: Aim, left: int) -> None:
        """Search for the least of one aim, and keep it from then on."""
        sure = self.bound(aim)
        found: Found | None = None
        if aim == "change-overs" and self.best is not None and self.value(aim, self.best) > sure:
            self._arrange()
        if self.best is not None and len(self.made.items) >= MANY and self.value(aim, self.best) > sure:
            sure = self._by_prices(aim, sure, left)
        if self.best is None or self.value(aim, self.best) > sure:
            seconds = max(self.until - time.monotonic(), 0.1)
            share = seconds if left == 1 else seconds * (0.8 if aim != "promises" else 0.5)
            if self.best is not None and aim != "moves" and len(self.made.items) >= MANY:
                self.best = self._part_by_part(aim, sure, share)
            else:
                found = self._at_once(aim, share)
            if self.best is None:
                self.impossible = found is not None and found.impossible
                return
        assert self.best is not None
        self.best = settled(self.made, self.clocks, self.best)
        value = self.value(aim, self.best)
        bound = max(float(sure), found.bound if found is not None else 0.0)
        if found is not None and found.proven and not found.impossible and self._exact(aim):
            bound = float(value)
        bound = min(bound, float(value))
        reach = value - self.made.now * (len(self.made.jobs) if aim == "finish times" else aim == "last finish")
        gap = (value - bound) / max(1.0, float(reach))
        self.reached.append(Reached(aim, float(value), bound, gap, bound >= value))
        self.kept[aim] = value

    def _by_prices(self, aim: Aim, sure: int, left: int) -> int:
        """A bound from the worth of hours, of several jobs; what is known where it says less."""
        if aim not in ("promises", "finish times") or len(self.made.jobs) == 1:
            return sure
        assert self.best is not None
        seconds = _PRICES * max(self.until - time.monotonic(), 0.1) / left
        found = Prices(self.made, self.limits(aim).finishes).bound(
            aim, self.best.finishes, until=time.monotonic() + seconds, floor=sure
        )
        return max(sure, found)

    def _arrange(self) -> None:
        """Take a schedule that keeps to an order of fewest change-overs, where that costs no earlier aim anything."""
        assert self.best is not None
        orders = fewest_changes(self.made, self.best)[1]
        fewest = change_overs(self.made, self.best)

        def missed(times: Times) -> int:
            return sum(max(0, self.value(aim, times) - kept) for aim, kept in self.kept.items())

        found = arranged(self.made, self.best, orders, missed, self.seed)
        if found is not None and change_overs(self.made, found) < fewest:
            self.best = found

    def _allowed(self, times: Times) -> bool:
        """Whether a schedule keeps what was reached so far."""
        return all(self.value(aim, times) <= kept for aim, kept in self.kept.items())

    def _at_once(self, aim: Aim, seconds: float) -> Found:
        """Search among all schedules that are as good as the best so far."""
        until = time.monotonic() + seconds
        search = Search(self.made, self.limits(aim), self.before)
        if search.impossible:
            return Found(None, 0.0, True, impossible=True)
        if self.best is not None:
            search.hint(self.best)
        seconds = max(until - time.monotonic(), 0.1)
        found = search.solve(search.aim(aim), seconds=seconds, workers=self.workers, seed=self.seed)
        if found.times is not None and (self.best is None or self.value(aim, found.times) < self.value(aim, self.best)):
            self.best = found.times
        return found

    def _repaired(self) -> Times | None:
        """A schedule in which only what was planned for the next weeks moves, and no more is late than must be."""
        if self.best is not None and not self.value("moves", self.best):
            return None
        finishes = [int(self.made.timeline.ends[-1])] * len(self.made.jobs)
        for number, days in enumerate(_WEEKS):
            late = self.bound("promises") if number < 2 or self.best is None else self.value("promises", self.best)
            near = {}
            for at, here in self.before.items():
                early, long = here - 2 * _DAY, here + (days + 1) * _DAY
                free = here < self.made.now + days * _DAY
                ends_ = (early, long) if free else (here, here)
                near[at] = self.clocks.worked_by(ends_[0]), self.clocks.worked_by(ends_[1])
            search = Search(self.made, Limits(finishes, late=late), self.before, near=near)
            if search.impossible:
                continue
            search.hint_starts(self.before)
            seconds = 0.4 * (self.until - time.monotonic())
            found = search.solve(search.aim("moves"), seconds=seconds, workers=self.workers, seed=self.seed).times
            if found is not None:
                return found
        return None

    def _part_by_part(self, aim: Aim, sure: int, seconds: float) -> Times:
        assert self.best is not None
        return improve(
            self.made,
            self.best,
            aim,
            self.value,
            self.limits(aim),
            allowed=self._allowed,
            until=time.monotonic() + seconds,
            enough=sure,
            workers=self.workers,
            seed=self.seed,
        )

    def pack(self) -> None:
        """Start everything as early as it can be where that costs no aim anything: what has slack stands anywhere in it."""
        assert self.best is not None
        rank = [float(ends(self.made, self.clocks, at, start)[0]) for at, start in enumerate(self.best.starts)]
        packed = Dispatch(self.made).run(sequence(self.made, rank))
        if packed is not None and self._allowed(packed):
            self.best = packed

    def _exact(self, aim: Aim) -> bool:
        """Whether the search counts all that there is of an aim."""
        return aim != "change-overs" or all(
            self.made.many[name] == 1 and len(at_place) <= 80 for name, at_place in places_set_up(self.made).items()
        )


def _before(made: Ready, earlier: Schedule) -> dict[int, int]:
    """Elapsed time at which each item that is still to be done started in an earlier schedule."""
    planned = earlier.by_name()
    return {
        at: made.timeline.minutes(planned[item.operation.name].start_at)
        for at, item in enumerate(made.items)
        if item.mode == "work" and item.begun is None and item.operation.name in planned
    }


def _kept(made: Ready, before: Mapping[int, int]) -> Times | None:
    """The earlier schedule, put later where it has to be."""
    clocks = Clocks(made)
    rank = [float(before.get(at, item.earliest)) for at, item in enumerate(made.items)]
    worked = {at: clocks.worked_by(here) for at, here in before.items()}
    dispatch = Dispatch(made)
    order = sequence(made, rank)
    # Either all wait for what is late, or what is late goes into later gaps and the rest stays.
    ways = [dispatch.run(order, [worked.get(at, 0) for at in range(len(made.items))]), dispatch.keep(order, worked)]
    found = [times for times in ways if times is not None]
    return min(
        found,
        key=lambda times: (times.late(made), sum(abs(times.starts[at] - start) for at, start in worked.items())),
        default=None,
    )


def _result(task: Task, made: Ready, times: Times, reached: Sequence[Reached], earlier: Schedule | None) -> Schedule:
    clock, clocks = made.timeline, Clocks(made)
    planned = []
    for at, item in enumerate(made.items):
        start, until, finish = ends(made, clocks, at, times.starts[at])
        begin = times.starts[at]
        pieces = clock.pieces(begin, begin + item.length) if item.mode == "work" else []
        if item.mode == "fixed" and item.operation.attended:
            pieces = [(start, until)]
        planned.append(
            Planned(
                name=item.operation.name,
                job=item.operation.job,
                kind=item.operation.kind,
                start=float(start),
                attended_until=float(until),
                finish=float(finish),
                start_at=clock.moment(start),
                finish_at=clock.moment(finish),
                pieces=tuple((clock.moment(a), clock.moment(b)) for a, b in pieces),
                state="done" if item.operation.done else "started" if item.operation.started else "planned",
            )
        )
    place = {operation.name: number for number, operation in enumerate(task.operations)}
    planned.sort(key=lambda one: (one.start, place[one.name]))
    was = earlier.by_name() if earlier is not None else {}
    shown = next((one for one in reached if not one.proven), reached[-1])
    return Schedule(
        operations=tuple(planned),
        finish={job: clock.moment(times.finishes[at]) for at, job in enumerate(made.jobs)},
        late={
            job: float(max(0, times.finishes[at] - due))
            for at, (job, due) in enumerate(zip(made.jobs, made.due, strict=True))
            if due is not None
        },
        aims=tuple(reached),
        bound=shown.bound,
        gap=shown.gap,
        proven=all(one.proven for one in reached),
        change_overs=change_overs(made, times),
        moved=tuple(one.name for one in planned if one.name in was and was[one.name].start_at != one.start_at),
        timeline=clock,
    )
