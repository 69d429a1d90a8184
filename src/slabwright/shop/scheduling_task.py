"""What is scheduled, made ready for the search: whole minutes, an order in which links run forward, and clear errors."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from slabwright.findings import SlabwrightError
from slabwright.shop.calendar import Timeline, Whole
from slabwright.shop.scheduling_models import Operation, Task


@dataclass(frozen=True)
class Tie:
    """A link by number: elapsed minutes from the source's start or finish to this one's start."""

    source: int
    least: int
    greatest: int | None
    from_start: bool


@dataclass
class Item:
    """An operation in whole minutes.

    Attributes:
        operation: as it was stated
        mode: `fixed` (both ends are known), `work` (attended, within working hours) or `wait` (only waiting)
        length: worked minutes of what is still to be done
        wait: elapsed minutes after the attended part
        open: elapsed minutes after the attended part for which a coat takes dust
        ties: what it comes after; none for what has begun
        begun: elapsed time at which it was started, where that is known
        ended: elapsed time at which the attended part of a fixed one ended
        earliest: elapsed time of the earliest start
        pin: elapsed time at which it starts
    """

    operation: Operation
    mode: Literal["fixed", "work", "wait"]
    length: int
    wait: int
    open: int
    ties: tuple[Tie, ...] = ()
    begun: int | None = None
    ended: int = 0
    earliest: int = 0
    pin: int | None = None


@dataclass
class Ready:
    """A task made ready.

    Attributes:
        items: in an order in which every link runs forward
        jobs: names, in the order in which they are first met
        job_of: number of each item's job
        due: elapsed time of each job's promise, or None
        timeline: both clocks, long enough for everything in sequence
        now: elapsed time
        many: of each person and place
        set_up: places that are set up
        watch: minutes kept free at the day's end after hot work
        tails: elapsed minutes from the end of each item's attended part to its job's finish, at least
    """

    items: list[Item]
    jobs: list[str]
    job_of: list[int]
    due: list[int | None]
    timeline: Timeline
    now: int
    many: dict[str, int]
    set_up: tuple[str, ...]
    watch: int
    tails: list[int] = field(default_factory=list)

    def allowed(self, item: Item) -> Whole | None:
        """First and last worked times at which it may start, of each stretch, shape (n, 2); None: at any."""
        operation = item.operation
        if item.begun is not None or (operation.splittable and not operation.hot):
            return None
        limits = self.timeline.limits(self.watch if operation.hot else 0)
        pairs = np.stack([self.timeline.before[:-1], limits - item.length], axis=1)
        return np.asarray(pairs[pairs[:, 1] >= pairs[:, 0]], dtype=np.int64)

    def sinks(self, job: int) -> list[int]:
        """Items at which a job may finish: those that nothing waits for."""
        waited = {
            tie.source
            for at, item in enumerate(self.items)
            for tie in item.ties
            if not tie.from_start and self.job_of[at] == job
        }
        return [at for at, of in enumerate(self.job_of) if of == job and at not in waited]


def ready(task: Task) -> Ready:
    """Make a task ready.

    Raises:
        SlabwrightError: an operation, a link, a window or a promise cannot be used, or operations wait for each other in a ring.
    """
    operations = _in_order(task.operations)
    jobs = list(dict.fromkeys(operation.job for operation in task.operations))
    origin = datetime.datetime.combine(task.now.date(), datetime.time())
    number = {operation.name: at for at, operation in enumerate(operations)}

    def elapsed(moment: datetime.datetime) -> int:
        return int((moment - origin).total_seconds() // 60)

    now = -((origin - task.now) // datetime.timedelta(minutes=1))
    items = [_item(operation, task, number, elapsed, now) for operation in operations]
    _windows(items)
    due: list[int | None] = [None] * len(jobs)
    for promise in task.promises:
        if promise.job not in jobs:
            raise SlabwrightError(f"promise: there is no job {promise.job}; promise one of {', '.join(jobs)}")
        if due[jobs.index(promise.job)] is not None:
            raise SlabwrightError(f"promise: {promise.job} is promised twice; state one date")
        due[jobs.index(promise.job)] = elapsed(promise.due)
    work = sum(item.length for item in items)
    first = task.shop.calendar.timeline(task.now.date(), 2 * work + 1)
    waits = sum(item.wait + max((tie.least for tie in item.ties), default=0) for item in items)
    late = max([item.earliest for item in items] + [item.pin or 0 for item in items] + [now])
    # Everything one after the other, twice over, after the last date from which something may begin, and a fortnight.
    timeline = task.shop.calendar.timeline(
        task.now.date(), 2 * work + 1, int(first.ends[-1]) + waits + late + 14 * 24 * 60
    )
    made = Ready(
        items,
        jobs,
        [jobs.index(item.operation.job) for item in items],
        due,
        timeline,
        now,
        {
            name: task.shop.many.get(name, 1)
            for item in items
            for name in (*item.operation.needs, *item.operation.holds)
        },
        task.shop.set_up,
        round(task.shop.watch),
    )
    _fits(made)
    made.tails = _tails(made)
    return made


def _in_order(operations: Sequence[Operation]) -> list[Operation]:
    """Operations in an order in which every link runs forward."""
    by_name: dict[str, Operation] = {}
    for operation in operations:
        if operation.name in by_name:
            raise SlabwrightError(f'operation "{operation.name}": there are two of this name; give each its own')
        by_name[operation.name] = operation
    for operation in operations:
        for link in operation.after:
            if link.operation not in by_name:
                raise SlabwrightError(
                    f'operation "{operation.name}": it comes after "{link.operation}", which is not there;'
                    " add it or leave the link out"
                )
    done: dict[str, bool] = {}
    order: list[Operation] = []
    for first in operations:
        way: list[tuple[Operation, int]] = [(first, 0)]
        while way:
            operation, at = way.pop()
            if at == 0:
                if operation.name in done:
                    continue
                done[operation.name] = False
            if at == len(operation.after):
                done[operation.name] = True
                order.append(operation)
                continue
            way.append((operation, at + 1))
            earlier = by_name[operation.after[at].operation]
            if done.get(earlier.name) is False:
                names = [one.name for one, _ in way]
                ring = [*names[names.index(earlier.name) :], earlier.name]
                raise SlabwrightError(
                    f"operations: each waits for the next in a ring: {' after '.join(ring)}; take one link out"
                )
            way.append((earlier, 0))
    return order


def _item(
    operation: Operation, task: Task, number: dict[str, int], elapsed: Callable[[datetime.datetime], int], now: int
) -> Item:
    name = f'operation "{operation.name}"'
    for key in ("attended", "unattended", "coat_open", "spread", "wait_spread"):
        value = getattr(operation, key)
        if not 0.0 <= value < 1e7:
            raise SlabwrightError(f"{name}: {key} is {value:g}; it must be at least 0 and a reasonable number")
    if operation.attended == 0.0 and (operation.needs or operation.holds):
        raise SlabwrightError(
            f"{name}: it needs {', '.join((*operation.needs, *operation.holds))} but has no attended time; state some"
        )
    length, wait = -(-operation.attended // 1), -(-operation.unattended // 1)
    item = Item(operation, "work" if length else "wait", int(length), int(wait), int(-(-operation.coat_open // 1)))
    ties = []
    for link in operation.after:
        least, greatest = -(-link.least_lag // 1), link.greatest_lag
        if not 0.0 <= link.least_lag < 1e7:
            raise SlabwrightError(
                f"{name}: least_lag after {link.operation} must be at least 0; it is {link.least_lag:g}"
            )
        if greatest is not None and greatest < link.least_lag:
            raise SlabwrightError(
                f"{name}: it can begin {link.least_lag:g} min after {link.operation} at the earliest and {greatest:g} min"
                " at the latest; make the window wider"
            )
        ties.append(
            Tie(
                number[link.operation],
                int(least),
                None if greatest is None else int(greatest // 1),
                link.from_ == "start",
            )
        )
    item.earliest = max(now, elapsed(operation.not_before) if operation.not_before else now)
    if operation.done is not None:
        began, ended = map(elapsed, operation.done)
        if ended < began:
            raise SlabwrightError(f"{name}: it was done before it was started; check both times")
        item.mode, item.begun, item.ended = "fixed", began, ended
        item.wait, item.length = (item.wait if length else 0), 0
    elif operation.started is not None:
        item.begun = elapsed(operation.started)
        if item.begun > now:
            raise SlabwrightError(f"{name}: it was started later than now; pin it instead")
        if item.mode == "wait":
            # What is overdue is looked for now.
            item.mode, item.ended, item.wait = "fixed", max(now, item.begun + item.wait), 0
        else:
            item.length = _left(operation, task)
            item.earliest = now
    else:
        item.ties = tuple(ties)
        if operation.pinned is not None:
            item.pin = elapsed(operation.pinned)
            if item.pin < item.earliest:
                raise SlabwrightError(f"{name}: it is pinned to a time that is past or before its earliest start")
    return item


def _left(operation: Operation, task: Task) -> int:
    """Worked minutes that are left of what was started: as stated, or what the calendar leaves, at least one."""
    if operation.left is not None:
        if not operation.left > 0.0:
            raise SlabwrightError(f'operation "{operation.name}": left must be more than 0; state it as done if it is')
        return int(-(-operation.left // 1))
    assert operation.started is not None
    first = operation.started.date()
    clock = task.shop.calendar.timeline(first, 1, (task.now.date() - first).days * 24 * 60 + 24 * 60)
    spent = int(clock.worked_by(clock.minutes(task.now)) - clock.worked_by(clock.minutes(operation.started)))
    return max(1, int(-(-operation.attended // 1)) - spent)


def _windows(items: Sequence[Item]) -> None:
    """Fail where a window closes before what lies between can be done: a ring of least times that is longer than nothing."""
    count = len(items)
    edges: list[tuple[int, int, int]] = []
    for at, item in enumerate(items):
        edges.append((at, count + at, item.length))
        if not item.operation.splittable or item.mode == "wait":
            edges.append((count + at, at, -item.length))
        for tie in item.ties:
            source = items[tie.source]
            if source.mode == "fixed":
                continue
            end = tie.source if tie.from_start else count + tie.source
            wait = 0 if tie.from_start else source.wait
            edges.append((end, at, wait + tie.least))
            if tie.greatest is not None:
                edges.append((at, end, -wait - tie.greatest))
    earliest = [0] * (2 * count)
    reason = [-1] * (2 * count)
    for _ in range(2 * count + 1):
        changed = -1
        for low, high, least in edges:
            if earliest[low] + least > earliest[high]:
                earliest[high], reason[high], changed = earliest[low] + least, low, high
        if changed < 0:
            return
    for _ in range(2 * count):
        changed = reason[changed]
    ring, at = [changed % count], reason[changed]
    while at != changed:
        ring.append(at % count)
        at = reason[at]
    inside = set(ring)
    for at in sorted(inside):
        for tie in items[at].ties:
            if tie.greatest is not None and tie.source in inside:
                raise SlabwrightError(
                    f'operation "{items[at].operation.name}": it must begin within {tie.greatest} min of'
                    f" {items[tie.source].operation.name}, but what lies between takes longer; make the window wider"
                )


def _fits(made: Ready) -> None:
    """Fail where attended work that may not be split is longer than any stretch of working hours, or a pin lies outside them."""
    for item in made.items:
        operation = item.operation
        allowed = made.allowed(item) if item.mode == "work" else None
        if allowed is not None and not allowed.size:
            longest = int((made.timeline.limits(made.watch if operation.hot else 0) - made.timeline.before[:-1]).max())
            kept = f", with {made.watch} min kept at the day's end to watch the place" if operation.hot else ""
            raise SlabwrightError(
                f'operation "{operation.name}": its {item.length} min do not fit into a stretch of working hours'
                f" (at most {max(longest, 0)} min{kept}); split it"
            )
        if item.pin is not None and item.mode == "work":
            start = int(made.timeline.worked_by(item.pin))
            inside = int(made.timeline.start(start)) == item.pin
            if not inside or (allowed is not None and not np.any((allowed[:, 0] <= start) & (start <= allowed[:, 1]))):
                why = (
                    f"the last {made.watch} min of a day are kept free after hot work, to watch the place; pin it earlier"
                    if operation.hot and inside and _fits_unwatched(made, start, item.length)
                    else "it does not fit into working hours; pin it to another time"
                )
                raise SlabwrightError(
                    f'operation "{operation.name}": it is pinned to {operation.pinned:%Y-%m-%d %H:%M}, where {why}'
                )


def _fits_unwatched(made: Ready, start: int, length: int) -> bool:
    """Whether work would be over within its stretch of working hours, if no place had to be watched after it."""
    stretch = int(np.searchsorted(made.timeline.before, start, side="right")) - 1
    return start + length <= int(made.timeline.before[stretch + 1])


def _tails(made: Ready) -> list[int]:
    """Elapsed minutes from the end of each attended part to the job's finish, if nothing but links held anything up."""
    tails = [item.wait if item.mode != "fixed" else 0 for item in made.items]
    for at in range(len(made.items) - 1, -1, -1):
        item = made.items[at]
        for tie in item.ties:
            # Counted from a start it says nothing: the source may be split over nights and end later.
            if made.job_of[tie.source] == made.job_of[at] and not tie.from_start:
                after = made.items[tie.source].wait + tie.least + item.length + tails[at]
                tails[tie.source] = max(tails[tie.source], after)
    return tails
