"""The schedule: literature's job shops proven, ten jobs of forty operations, planning again after a delay, made-up jobs only."""

from __future__ import annotations

import datetime
import time
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np
from tests.published.job_shops import job_shop

from bench.row import Row
from slabwright.shop.calendar import WorkingCalendar
from slabwright.shop.scheduling import replan, schedule
from slabwright.shop.scheduling_models import Link, Operation, Promise, Schedule, Shop, Task

NOW = datetime.datetime(2026, 3, 2, 8, 0)
HOUR = 60.0
WEEK = ((480, 720), (750, 1020))
SHOP = Shop(WorkingCalendar((WEEK,) * 5 + ((), ())))


def table(job: str, rng: np.random.Generator) -> list[Operation]:
    """One table: forty operations, wood and steel side by side, made-up times."""
    made: list[Operation] = []

    def add(name: str, kind: str, needs: tuple[str, ...], minutes: float, *after: Link, **more: object) -> str:
        attended = 5.0 * round(minutes * float(rng.uniform(0.7, 1.4)) / 5.0)
        made.append(Operation(f"{job}: {name}", job, kind, needs, attended, after=after, **more))  # type: ignore[arg-type]
        return f"{job}: {name}"

    def then(name: str, **more: object) -> Link:
        return Link(name, **more)  # type: ignore[arg-type]

    maker = ("maker",)
    slab = add("order slab", "gate", (), 0, unattended=5 * 24 * HOUR, gate="delivery")
    steel = add("order steel", "gate", (), 0, unattended=3 * 24 * HOUR, gate="delivery")
    read = add("read slab", "measure", maker, 60, then(slab))
    plan = add("plan top", "measure", maker, 90, then(read))
    agreed = add("client agrees", "gate", (), 0, then(plan), unattended=2 * 24 * HOUR, gate="sign-off")
    rough = add("cut to rough", "saw", ("maker", "saw"), 45, then(plan), splittable=False, dusty=True)
    bed = ("maker", "machine bed")
    flat_a = add("flatten first face", "flatten", bed, 110, then(rough), splittable=False, dusty=True)
    flat_b = add("flatten second face", "flatten", bed, 110, then(flat_a), splittable=False, dusty=True)
    rest = add("stack to rest", "handle", maker, 15, then(flat_b), unattended=4 * 24 * HOUR)
    clean = add("clean cracks", "mend", maker, 60, then(flat_b))
    pour = add("pour epoxy", "pour", maker, 45, then(clean), splittable=False, unattended=12 * HOUR)
    second = add(
        "pour again", "pour", maker, 30, then(pour, greatest_lag=24 * HOUR), splittable=False, unattended=72 * HOUR
    )
    skim_a = add("skim first face", "skim", bed, 60, then(second), then(rest), splittable=False, dusty=True)
    skim_b = add("skim second face", "skim", bed, 60, then(skim_a), splittable=False, dusty=True)
    outline = add("cut outline", "outline", bed, 80, then(skim_b), then(agreed), splittable=False, dusty=True)
    pockets = add("cut pockets", "pockets", bed, 50, then(outline), splittable=False, dusty=True)
    inserts = add("set inserts", "fit", maker, 40, then(pockets))
    edges = add("round edges", "route", maker, 45, then(inserts), dusty=True)
    sand_a = add("sand coarse", "sand", maker, 120, then(edges), dusty=True)
    sand_b = add("sand fine", "sand", maker, 90, then(sand_a), dusty=True)
    spray = ("maker", "spray corner")
    wet = {"splittable": False, "holds": ("spray corner",), "unattended": 4 * HOUR, "coat_open": 2 * HOUR}
    coat = add("first coat", "oil", spray, 50, then(sand_b), **wet)
    for number in ("second", "third"):
        coat = add(f"{number} coat", "oil", spray, 40, then(coat, least_lag=8 * HOUR, greatest_lag=68 * HOUR), **wet)
    cured = add("rub out", "finish", maker, 60, then(coat, least_lag=68 * HOUR))
    saw = ("maker", "saw")
    cut = add("cut tubes", "metal saw", saw, 70, then(steel), splittable=False)
    mitre = add("cut mitres", "metal saw", saw, 50, then(cut), splittable=False)
    plates = add("drill plates", "drill", maker, 80, then(steel))
    deburr = add("deburr", "grind", maker, 40, then(mitre), dusty=True, hot=True)
    bench_ = ("maker", "welding table")
    tack = add("tack legs", "weld", bench_, 60, then(deburr), then(plates), hot=True)
    square = add("check squareness", "weld", bench_, 20, then(tack))
    weld_a = add("weld first leg", "weld", bench_, 60, then(square), hot=True, unattended=HOUR)
    weld_b = add("weld second leg", "weld", bench_, 60, then(weld_a), hot=True, unattended=HOUR)
    grind = add("grind welds", "grind", maker, 80, then(weld_b), hot=True, dusty=True)
    tap = add("tap and file", "fit", maker, 40, then(grind))
    dry = add("dry fit", "fit", ("maker", "helper"), 50, then(tap), then(inserts))
    degrease = add("degrease base", "paint", maker, 30, then(dry))
    prime = add("prime base", "paint", spray, 40, then(degrease), **wet)
    paint = add("paint base", "paint", spray, 40, then(prime, least_lag=4 * HOUR, greatest_lag=44 * HOUR), **wet)
    join = add("assemble", "fit", ("maker", "helper"), 70, then(cured), then(paint, least_lag=44 * HOUR))
    pack = add("wrap and load", "handle", ("maker", "helper"), 60, then(join))
    assert len(made) == 40 and pack
    return made


def jobs(count: int, seed: int, *, weeks: float | None = None) -> Task:
    """So many tables, each promised some weeks after the one before; without weeks nothing is promised."""
    rng = np.random.default_rng(seed)
    operations = [one for number in range(count) for one in table(f"table {number + 1}", rng)]
    promises = [
        Promise(f"table {number + 1}", NOW + datetime.timedelta(weeks=4 + weeks * number))
        for number in range(count)
        if weeks is not None
    ]
    return Task(tuple(operations), tuple(promises), SHOP, NOW)


def broken(task: Task, planned: Schedule) -> list[str]:
    """Rules that a schedule breaks, judged on the wall clock apart from the scheduling's own code."""
    found: list[str] = []
    by_name = planned.by_name()
    taken: dict[str, list[tuple[datetime.datetime, datetime.datetime, str]]] = {}
    coats: list[tuple[datetime.datetime, datetime.datetime, str]] = []
    minute = datetime.timedelta(minutes=1)
    for one in task.operations:
        was = by_name[one.name]
        if one.done is not None or one.started is not None:
            continue
        if was.start_at < task.now:
            found.append(f"{one.name} starts before now")
        attended = sum(((end - begin) / minute for begin, end in was.pieces), 0.0)
        if abs(attended - one.attended) > 1e-6:
            found.append(f"{one.name} is attended for {attended} min")
        for begin, end in was.pieces:
            begun, over = begin.hour * 60 + begin.minute, end.hour * 60 + end.minute
            if begin.weekday() > 4 or not any(a <= begun < over <= b for a, b in WEEK):
                found.append(f"{one.name} lies outside working hours")
            if one.hot and over > WEEK[-1][1] - 60:
                found.append(f"{one.name} is too late in the day")
        if (one.hot or not one.splittable) and len(was.pieces) > 1:
            found.append(f"{one.name} is split")
        until = was.pieces[-1][1] if was.pieces else was.start_at
        if was.finish_at != until + one.unattended * minute:
            found.append(f"{one.name} does not wait as long as it must")
        for link in one.after:
            lag = (was.start_at - by_name[link.operation].finish_at) / minute
            if lag < link.least_lag or (link.greatest_lag is not None and lag > link.greatest_lag):
                found.append(f"{one.name} comes {lag} min after {link.operation}")
        for name in {*one.needs, *one.holds}:
            end = was.finish_at if name in one.holds else until
            taken.setdefault(name, []).append((was.start_at, end, one.name))
        if one.coat_open:
            coats.append((was.start_at, until + one.coat_open * minute, one.name))
    for name, intervals in taken.items():
        intervals.sort()
        found += [f"{name}: {a[2]} and {b[2]}" for a, b in pairwise(intervals) if a[1] > b[0]]
    for one in task.operations:
        was = by_name[one.name]
        if one.dusty and one.done is None and one.started is None:
            found += [
                f"dust of {one.name} on {name}" for a, b, name in coats if was.start_at < b and a < was.pieces[-1][1]
            ]
    return found


def _ends_late(planned: Schedule) -> float:
    return sum(planned.late.values())


def _literature() -> Iterator[Row]:
    """Job shops of the literature, proven."""
    for name in ("ft06", "la01", "ft10"):
        task, best = job_shop(name)
        start = time.perf_counter()
        found = schedule(task, aims=("last finish",), workers=1, seconds=120)
        seconds = time.perf_counter() - start
        reached = found.aims[0]
        yield Row(
            f"{name}: shortest time for all jobs",
            f"{reached.value:.0f}, {'proven' if reached.proven else 'not proven'} in {seconds:.1f} s",
            f"{best}, published",
            reached.value / best,
            "the same, proven",
            reached.proven and reached.value == best,
        )


def _ten_jobs() -> Iterator[Row]:
    """Ten tables of forty operations each, promised a week and a half apart."""
    for seed in (1, 2, 3):
        task = jobs(10, seed, weeks=1.1)
        start = time.perf_counter()
        found = schedule(task, aims=("promises", "finish times"), seconds=10)
        seconds = time.perf_counter() - start
        promises, finish = found.aims
        rules = broken(task, found)
        yield Row(
            f"10 jobs x 40 operations, shop {seed}: promised dates",
            f"{promises.value:.0f} min late in all, {'proven' if promises.proven else 'not proven'}, {seconds:.1f} s",
            f"{promises.bound:.0f} min: no schedule has less",
            seconds / 10.0,
            "optimal or within 1 % in 10 s on two cores",
            promises.gap <= 0.01 and seconds < 11.0 and not rules,
            f"{len(rules)} rules broken, judged on the wall clock by a checker of its own",
        )
        days = 10 * 24 * 60
        yield Row(
            f"10 jobs x 40 operations, shop {seed}: finish times, with all promises kept",
            f"{finish.value / days:.2f} days on average",
            f"{finish.bound / days:.2f} days: no schedule has less",
            finish.value / finish.bound,
            "told: 1 % is not proven for this aim",
            None,
            f"the second aim; proven: no schedule is more than {100 * finish.gap:.0f} % better. The proof lets the maker be at"
            " several jobs by shares, so that by each Monday half a job more is done than whole jobs allow",
        )


def _too_tight() -> Iterator[Row]:
    """Ten tables promised half a week apart: some are late whatever is done."""
    task = jobs(10, 1, weeks=0.5)
    found = schedule(task, aims=("promises",), seconds=10)
    reached = found.aims[0]
    finishes = [(finish - NOW).total_seconds() / 86400 for finish in found.finish.values()]
    yield Row(
        "10 jobs x 40 operations promised too tightly: minutes late in all",
        f"{reached.value / 1440:.1f} days, {sum(late > 0 for late in found.late.values())} jobs late",
        f"{reached.bound / 1440:.1f} days: no schedule has less",
        reached.value / reached.bound if reached.bound else None,
        "told: the least lateness is not proven",
        None,
        f"what is open is {(reached.value - reached.bound) / 14400:.1f} days a job, of {sum(finishes) / 10:.0f} days that jobs"
        f" take on average; {len(broken(task, found))} rules broken",
    )


def _alone() -> Iterator[Row]:
    """One table of forty operations: all three aims, proven from bounds that a first schedule meets."""
    task = jobs(1, 1, weeks=1.0)
    schedule(task, workers=1)
    start = time.perf_counter()
    found = schedule(task, workers=1)
    seconds = time.perf_counter() - start
    yield Row(
        "1 job x 40 operations: promise, finish, change-overs",
        f"{1000 * seconds:.0f} ms, {'all proven' if found.proven else 'not all proven'}; {found.change_overs} change-overs",
        "0.1 s",
        seconds / 0.1,
        "all proven in 0.1 s",
        found.proven and seconds < 0.1 and not broken(task, found),
    )


def _again() -> Iterator[Row]:
    """An operation under way takes three hours more than planned."""
    task = jobs(10, 1, weeks=1.2)
    planned = schedule(task, aims=("promises", "finish times"), seconds=6)
    now = NOW + datetime.timedelta(days=22, hours=2)
    by_name = planned.by_name()
    operations = []
    for one in task.operations:
        was = by_name[one.name]
        until = was.pieces[-1][1] if was.pieces else was.finish_at
        if until <= now:
            one = replace(one, done=(was.start_at, until))
        elif was.start_at <= now:
            one = replace(one, started=was.start_at, left=180.0 if one.attended else None)
        operations.append(one)
    after = replace(task, operations=tuple(operations), now=now)
    start = time.perf_counter()
    again = replan(after, planned, seconds=1.8)
    seconds = time.perf_counter() - start
    left = sum(one.done is None for one in operations)
    moved = again.aims[1]
    yield Row(
        "planning again after one delay, 10 jobs x 40 operations",
        f"{seconds:.2f} s; {len(again.moved)} of {left} operations moved, {moved.value / 60 / max(1, len(again.moved)):.1f} h"
        f" each on average; {_ends_late(again):.0f} min late",
        "2 s",
        seconds / 2.0,
        "in 2 s",
        seconds < 2.2 and again.aims[0].proven and not broken(after, again),
    )


def rows() -> Iterator[Row]:
    """All rows."""
    yield from _literature()
    yield from _alone()
    yield from _ten_jobs()
    yield from _too_tight()
    yield from _again()
