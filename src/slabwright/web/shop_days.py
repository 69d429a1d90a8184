"""The days of every job of the book at once: one schedule, worked out aside, and planned again with as few moves as can be."""

from __future__ import annotations

import dataclasses
import datetime
import logging
import re
import threading
import weakref
from collections import OrderedDict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slabwright.findings import SlabwrightError
from slabwright.job.load import general_shop_file
from slabwright.job.loaded import Job
from slabwright.shop.calendar import working_calendar
from slabwright.shop.operations import to_schedule
from slabwright.shop.operations_results import WorkOperation
from slabwright.shop.scheduling_models import Operation, Planned, Promise, Schedule, Shop, Task
from slabwright.web import clock
from slabwright.web.aside import Aside
from slabwright.web.shop_days_work import Days, days_of

if TYPE_CHECKING:
    from slabwright.book import JobRow
    from slabwright.plan import Plan
    from slabwright.shop.conflicts import Conflict
    from slabwright.shop.ready_dates import ReadyDates
    from slabwright.web.store import Store

_LOG = logging.getLogger("slabwright.web")
_KEPT_JOBS = 200
_ALIKE = 0.6
"""Share of the operations that must be the same for the earlier days to be kept."""
_PART = re.compile(r", part [0-9]+ of [0-9]+$")
_HERE = Aside(beside=False)


@dataclass(frozen=True)
class OneJob:
    """A job as the shop's days take it.

    Attributes:
        id: in the book
        revision: number
        name: unique among the jobs
        job: what is stated
        plan: but for its days
        wrong: why it has no days, or nothing
    """

    id: int
    revision: int
    name: str
    job: Job | None
    plan: Plan | None
    wrong: str = ""

    @property
    def operations(self) -> tuple[WorkOperation, ...]:
        """What is to be done."""
        return self.plan.shop.operations if self.plan is not None and self.plan.shop is not None else ()


@dataclass(frozen=True)
class Work:
    """One operation of the days: when, whose, and what the plan says of it."""

    planned: Planned
    scheduled: Operation
    operation: WorkOperation
    job: OneJob

    @property
    def words(self) -> str:
        """Its name without the job's; with its part, where it is done in parts."""
        return self.planned.name.removeprefix(f"{self.job.name}: ")

    @property
    def waits_since(self) -> datetime.datetime:
        """When its waiting begins."""
        return self.planned.pieces[-1][1] if self.planned.pieces else self.planned.start_at


@dataclass(frozen=True)
class ShopBoard:
    """The shop's days.

    Attributes:
        day: on which they were worked out
        jobs: all that are not done, in the order of the book
        task: what was scheduled; None: nothing is to be done
        schedule: the days; None: there are none, see `wrong`
        ready: even chance and 4 in 5
        clash: promises and pinned times that cannot all be had
        unpinned: whether the days are shown without the pinned times, because these cannot be had
        late_pins: job id and operation of pins that are past or cannot be kept
        moved: operations that start at another time than in the days before: name, then, now
        wrong: why there are no days, or nothing
    """

    day: datetime.date
    jobs: tuple[OneJob, ...]
    task: Task | None = None
    schedule: Schedule | None = None
    ready: ReadyDates | None = None
    clash: Conflict | None = None
    unpinned: bool = False
    late_pins: tuple[tuple[int, str, str], ...] = ()
    moved: tuple[tuple[str, datetime.datetime, datetime.datetime], ...] = ()
    wrong: str = ""

    def job(self, job: int) -> OneJob | None:
        """One of the jobs."""
        return next((one for one in self.jobs if one.id == job), None)

    def work(self, job: int | None = None) -> list[Work]:
        """Every operation that has a time, in the order of time."""
        if self.task is None or self.schedule is None:
            return []
        scheduled = {operation.name: operation for operation in self.task.operations}
        by_name = {one.name: one for one in self.jobs}
        known = {one.name: {operation.name: operation for operation in one.operations} for one in self.jobs}
        found = []
        for planned in self.schedule.operations:
            one = by_name[planned.job]
            if job is None or one.id == job:
                name = planned.name.removeprefix(f"{one.name}: ")
                of = known[one.name]
                operation = of.get(name) or of[_PART.sub("", name)]
                found.append(Work(planned, scheduled[planned.name], operation, one))
        return sorted(found, key=lambda work: (work.planned.start, work.planned.name))


Key = tuple[datetime.date, str, tuple[tuple[int, int], ...], int]


class ShopDays:
    """Works the shop's days out on a thread that ends when nothing is left to do."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._jobs: OrderedDict[tuple[int, int, str], OneJob] = OrderedDict()
        self._board: ShopBoard | None = None
        self._known: Key | None = None
        self._wanted: Key | None = None
        self._anew = 0
        self._working = False

    def now(self, store: Store) -> tuple[ShopBoard | None, bool]:
        """The days as far as they are known, and whether they are those of today's revisions; if not, they are begun."""
        rows = [row for row in store.book.jobs() if row.state != "done"]
        with self._lock:
            key: Key = (clock.now().date(), _own_shop(), tuple((row.id, row.revision) for row in rows), self._anew)
            if key == self._known:
                return self._board, True
            self._wanted = key
            if not self._working:
                self._working = True
                threading.Thread(target=self._run, args=(store,), name="shop days").start()
            return self._board, False

    def anew(self) -> None:
        """Forget the days, so that they are planned as early as can be, whatever moves."""
        with self._lock:
            self._anew += 1

    def _run(self, store: Store) -> None:
        while True:
            with self._lock:
                key, before = self._wanted, self._board
                if key is None or key == self._known:
                    self._working = False
                    return
                fresh = self._known is None or self._known[3] != key[3]
            try:
                board = self._made(store, key, None if fresh else before)
            except SlabwrightError as error:
                board = ShopBoard(key[0], (), wrong=" ".join(str(error).split()))
            except Exception:
                _LOG.exception("the shop's days could not be worked out")
                board = ShopBoard(
                    key[0], (), wrong="a fault of this program, not of yours; the server's own log tells more"
                )
            with self._lock:
                self._board, self._known = board, key

    def _made(self, store: Store, key: Key, before: ShopBoard | None) -> ShopBoard:
        rows = {row.id: row for row in store.book.jobs()}
        titles = [rows[job].title for job, _ in key[2] if job in rows]
        jobs = [
            self._one(store, rows[job], number, key[1], titles.count(rows[job].title) > 1)
            for job, number in key[2]
            if job in rows
        ]
        return board_of(jobs, key[0], before, store.planner.aside)

    def _one(self, store: Store, row: JobRow, number: int, own_shop: str, twice: bool) -> OneJob:
        title = row.title or "Without a title"
        name = f"{title} (job {row.id})" if twice else title
        with self._lock:
            found = self._jobs.get((row.id, number, own_shop))
        if found is None:
            planned = store.planned(row.id, number)
            result = planned.result
            found = OneJob(row.id, number, name, result.job if result else None, result, planned.refused)
            with self._lock:
                self._jobs[row.id, number, own_shop] = found
                while len(self._jobs) > _KEPT_JOBS:
                    self._jobs.popitem(last=False)
        return dataclasses.replace(found, name=name)


_DAYS: weakref.WeakKeyDictionary[Store, ShopDays] = weakref.WeakKeyDictionary()
_DAYS_LOCK = threading.Lock()


def shop_days(store: Store) -> ShopDays:
    """The days of a book's store; one for each store, as long as that is there."""
    with _DAYS_LOCK:
        found = _DAYS.get(store)
        if found is None:
            found = _DAYS[store] = ShopDays()
        return found


def _own_shop() -> str:
    """A mark of the user's own shop file, on which jobs without one rest."""
    try:
        told = general_shop_file().stat()
    except OSError:
        return ""
    return f"{told.st_mtime_ns}:{told.st_size}"


def board_of(
    jobs: Iterable[OneJob], day: datetime.date, before: ShopBoard | None = None, aside: Aside = _HERE
) -> ShopBoard:
    """The days of some jobs.

    Args:
        jobs: that are not done
        day: today
        before: the days so far, which are kept as far as can be; None: as early as can be
        aside: where the long work is done

    Returns:
        The days. A job that cannot be scheduled by itself is left out and told, so that it keeps no other from its days.
    """
    jobs = list(jobs)
    logged = [entry.at for one in jobs if one.job is not None for entry in one.job.stated.log]
    now = max([datetime.datetime.combine(day, datetime.time()), *logged])
    able = [one for one in jobs if one.job is not None and one.operations]
    if not able:
        return ShopBoard(day, tuple(jobs))
    # One shop, one calendar: as the job that was changed last states it.
    newest = max(able, key=lambda one: (one.revision, one.id))
    assert newest.job is not None
    shop = Shop(working_calendar(newest.job.shop.calendar))
    operations: list[Operation] = []
    promises: list[Promise] = []
    pins: list[tuple[int, str, str]] = []
    for one in able:
        made, lost, wrong = _able(one, shop, now)
        pins += [(one.id, name, why) for name, why in lost]
        if wrong:
            jobs[jobs.index(one)] = dataclasses.replace(one, wrong=wrong)
            continue
        assert one.job is not None
        operations += made
        if one.job.stated.job.promised is not None and made:
            due = datetime.datetime.combine(one.job.stated.job.promised, datetime.time(23, 59))
            promises.append(Promise(one.name, due))
    kept = tuple(jobs)
    if not operations:
        return ShopBoard(day, kept, late_pins=tuple(pins))
    task = Task(tuple(operations), tuple(promises), shop, now)
    found = _days(aside, task, _kept(before, task))
    if found.schedule is None:
        # What one job cannot have keeps no other from its days.
        for one in able:
            alone = dataclasses.replace(
                task,
                operations=tuple(each for each in task.operations if each.job == one.name),
                promises=tuple(each for each in task.promises if each.job == one.name),
            )
            wrong = _days(aside, alone, None).wrong if alone.operations and not one.wrong else ""
            if wrong and one in jobs:
                jobs[jobs.index(one)] = dataclasses.replace(one, wrong=wrong)
        bad = {one.name for one in jobs if one.wrong}
        if bad and len(left := [each for each in task.operations if each.job not in bad]) not in (0, len(operations)):
            kept = tuple(jobs)
            task = dataclasses.replace(
                task,
                operations=tuple(left),
                promises=tuple(each for each in task.promises if each.job not in bad),
            )
            found = _days(aside, task, _kept(before, task))
    return ShopBoard(
        day=day,
        jobs=kept,
        task=None if found.schedule is None else found.task,
        schedule=found.schedule,
        ready=found.ready,
        clash=found.clash,
        unpinned=found.unpinned and found.schedule is not None,
        late_pins=tuple(pins),
        moved=() if found.schedule is None else _moved(before, found.schedule),
        wrong=found.wrong,
    )


def _days(aside: Aside, task: Task, earlier: Schedule | None) -> Days:
    try:
        return aside.do(days_of, task, earlier)
    except SlabwrightError as error:
        return Days(task, None, None, None, False, " ".join(str(error).split()))


def _able(one: OneJob, shop: Shop, now: datetime.datetime) -> tuple[tuple[Operation, ...], list[tuple[str, str]], str]:
    """A job's operations as they can be scheduled; pins that are let go and why; why it cannot be scheduled at all."""
    from slabwright.shop.scheduling_task import ready

    lost = []
    found = []
    for operation in to_schedule(one.operations, one.name, f"{one.name}: "):
        if operation.pinned is not None and operation.pinned < now:
            lost.append((operation.name.removeprefix(f"{one.name}: "), "its day is past"))
            operation = dataclasses.replace(operation, pinned=None)
        found.append(operation)
    if not found:
        return (), lost, ""
    try:
        ready(Task(tuple(found), (), shop, now))
    except SlabwrightError:
        free = [dataclasses.replace(operation, pinned=None) for operation in found]
        try:
            ready(Task(tuple(free), (), shop, now))
        except SlabwrightError as error:
            return (), lost, " ".join(str(error).split())
        for pinned in found:
            if pinned.pinned is not None:
                others = [
                    dataclasses.replace(other, pinned=other.pinned if other is pinned else None) for other in found
                ]
                try:
                    ready(Task(tuple(others), (), shop, now))
                except SlabwrightError:
                    found[found.index(pinned)] = dataclasses.replace(pinned, pinned=None)
                    told = "it does not fit there: outside working hours, before what it comes after is done, or, of hot work,"
                    told += f" without {shop.watch:.0f} min left in the day to watch the place"
                    lost.append((pinned.name.removeprefix(f"{one.name}: "), told))
    return tuple(found), lost, ""


def _kept(before: ShopBoard | None, task: Task) -> Schedule | None:
    """The earlier days, where they are of much the same work: what of them is still to come."""
    if before is None or before.schedule is None:
        return None
    ours = {operation.name for operation in task.operations}
    theirs = set(before.schedule.by_name())
    if len(ours & theirs) < _ALIKE * max(len(ours), len(theirs)):
        return None
    to_come = tuple(one for one in before.schedule.operations if one.name in ours and one.start_at >= task.now)
    return dataclasses.replace(before.schedule, operations=to_come) if to_come else None


def _moved(before: ShopBoard | None, made: Schedule) -> tuple[tuple[str, datetime.datetime, datetime.datetime], ...]:
    if before is None or before.schedule is None:
        return ()
    then = before.schedule.by_name()
    return tuple(
        (one.name, then[one.name].start_at, one.start_at)
        for one in made.operations
        if one.state == "planned" and one.pieces and one.name in then and then[one.name].start_at != one.start_at
    )
