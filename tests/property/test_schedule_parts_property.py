"""Schedules of middling size: quick bounds never pass the proven best, and what is found part by part keeps every rule."""

from __future__ import annotations

import datetime
import time
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.shop.calendar import WorkingCalendar
from slabwright.shop.scheduling import schedule
from slabwright.shop.scheduling_bounds import Loads
from slabwright.shop.scheduling_changes import arranged, change_overs, fewest_changes
from slabwright.shop.scheduling_climb import first_schedule
from slabwright.shop.scheduling_dispatch import Dispatch, Times, sequence
from slabwright.shop.scheduling_improve import improve
from slabwright.shop.scheduling_models import Aim, Link, Operation, Promise, Shop, Task
from slabwright.shop.scheduling_prices import Prices
from slabwright.shop.scheduling_rules import Limits
from slabwright.shop.scheduling_search import Search
from slabwright.shop.scheduling_task import Ready, ready

NOW = datetime.datetime(2026, 3, 5, 8, 0)
HOUR = datetime.timedelta(hours=1)
SHOP = Shop(WorkingCalendar((((480, 720), (750, 1020)),) * 5 + ((), ())))


@st.composite
def tasks(draw: st.DrawFn, jobs: int, steps: int) -> Task:
    operations = []
    for job in range(jobs):
        for step in range(steps):
            after = (Link(f"{job}.{step - 1}", draw(st.sampled_from([0, 0, 600, 2000]))),) if step else ()
            operations.append(
                Operation(
                    f"{job}.{step}",
                    f"{job}",
                    draw(st.sampled_from(["saw", "oil"])),
                    draw(st.sampled_from([("maker",), ("maker", "spray corner")])),
                    draw(st.sampled_from([30, 60, 90, 150])),
                    draw(st.sampled_from([0, 0, 0, 900])),
                    after,
                    splittable=draw(st.booleans()),
                    dusty=draw(st.booleans()),
                )
            )
    return Task(tuple(operations), (), SHOP, NOW)


def together(aim: Aim, times: Times) -> int:
    return max(times.finishes) if aim == "last finish" else sum(times.finishes)


def anything(made: Ready) -> Limits:
    return Limits([int(made.timeline.ends[-1])] * len(made.jobs))


@settings(max_examples=15)
@given(tasks(jobs=3, steps=3))
def test_bounds_never_pass_the_proven_best(task: Task) -> None:
    made = ready(task)
    loads = Loads(made)
    bounds: tuple[tuple[int, Aim], ...] = ((loads.total(), "finish times"), (loads.last(), "last finish"))
    for bound, aim in bounds:
        search = Search(made, anything(made))
        found = search.solve(search.aim(aim), seconds=20, workers=1, seed=1)
        assert found.proven and found.times is not None
        assert bound <= together(aim, found.times)
        again = schedule(task, aims=(aim,), workers=1, seconds=20)
        assert again.proven
        assert again.aims[0].value == together(aim, found.times)


@settings(max_examples=15)
@given(tasks(jobs=3, steps=3), st.lists(st.sampled_from([8, 12, 24, 26, 30, 50]), min_size=3, max_size=3))
def test_bounds_on_lateness_never_pass_the_proven_best(task: Task, hours: list[int]) -> None:
    promises = tuple(Promise(f"{job}", NOW + datetime.timedelta(hours=here)) for job, here in enumerate(hours))
    task = replace(task, promises=promises)
    made = ready(task)
    loads = Loads(made)
    search = Search(made, anything(made))
    found = search.solve(search.aim("promises"), seconds=20, workers=1, seed=1)
    assert found.proven and found.times is not None
    assert loads.late() <= found.times.late(made)
    if not found.times.late(made):
        assert all(loads.together([*range(job + 1)]) <= max(found.times.finishes[: job + 1]) for job in range(3))
    assert schedule(task, aims=("promises",), workers=1, seconds=20).aims[0].value == found.times.late(made)


@settings(max_examples=25)
@given(
    tasks(jobs=3, steps=3), st.lists(st.sampled_from([8, 12, 24, 26, 30, 50]), min_size=3, max_size=3), st.booleans()
)
def test_prices_never_pass_the_proven_best(task: Task, hours: list[int], odd: bool) -> None:
    """Bounds by prices, with cells of up to 30 min and, where lengths are odd, with what is rounded away."""
    promises = tuple(Promise(f"{job}", NOW + datetime.timedelta(hours=here)) for job, here in enumerate(hours))
    operations = tuple(
        replace(
            one,
            attended=one.attended + 7 * odd * (number % 3),
            after=tuple(
                replace(link, greatest_lag=link.least_lag + 1400.0 if number % 2 else None) for link in one.after
            ),
        )
        for number, one in enumerate(task.operations)
    )
    made = ready(replace(task, operations=operations, promises=promises))
    first = first_schedule(made, together, ["finish times"], 1)
    if first is None:
        return
    aims: tuple[Aim, ...] = ("finish times", "promises")
    for aim in aims:
        search = Search(made, anything(made))
        found = search.solve(search.aim(aim), seconds=20, workers=1, seed=1)
        assert found.proven and found.times is not None
        best = sum(found.times.finishes) if aim == "finish times" else found.times.late(made)
        # With what is known far off, no step is cut short by it.
        far = [finish + 5000 for finish in first.finishes]
        for latest in (anything(made).finishes, [max(first.finishes) + 1000] * 3):
            for grid in (1, 10, 30):
                assert Prices(made, latest, grid).bound(aim, far, steps=25) <= best


def test_prices_tell_that_one_maker_is_not_at_all_tables_at_once() -> None:
    """Four tables of 6 h each from Thursday 08:00, none of which can wait: 8.5 h a day."""
    operations = tuple(
        Operation(f"{job}.{n}", f"{job}", "saw", ("maker",), 60.0, after=(Link(f"{job}.{n - 1}"),) if n else ())
        for job in range(4)
        for n in range(6)
    )
    made = ready(Task(operations, (), SHOP, NOW))
    # 6 h of work are over at 14:30; 12 h on the next day at 11:30; 18 h on Monday at 09:00, 24 h at 15:30.
    finishes = [14 * 60 + 30, 1440 + 11 * 60 + 30, 4 * 1440 + 9 * 60, 4 * 1440 + 15 * 60 + 30]
    for grid in (10, 15, 30):
        bound = Prices(made, [6 * 1440] * 4, grid).bound(
            "finish times", [finish + 60 for finish in finishes], steps=200
        )
        # Each alone would be over at 14:30; whoever pays by the stretch of hours may be at all tables by shares.
        assert 4 * finishes[0] < 0.75 * sum(finishes) <= bound <= sum(finishes)
    odd = tuple(replace(one, attended=53.0) for one in operations)
    late = [finish + 60 for finish in finishes]
    fine, coarse = (Prices(ready(Task(odd, (), SHOP, NOW)), [6 * 1440] * 4, grid) for grid in (1, 10))
    assert coarse.bound("finish times", late) == pytest.approx(fine.bound("finish times", late), rel=0.05)


def test_prices_take_waits_and_what_is_done_as_they_are() -> None:
    """An hour from Thursday 08:00, 15 h to dry, an hour: over on Friday at 09:00; what is done already holds nothing up."""
    operations = (
        Operation("cut", "1", "saw", ("maker",), 60.0),
        Operation("read", "1", "saw", ("maker",), 60.0, after=(Link("cut"),), done=(NOW - HOUR * 2, NOW - HOUR)),
        Operation("dry", "1", "oil", (), 0.0, 900.0, after=(Link("cut"),)),
        Operation("fit", "1", "saw", ("maker",), 60.0, after=(Link("dry"),)),
    )
    made = ready(Task(operations, (), SHOP, NOW))
    for grid in (1, 10, 30):
        over = 1440 + 9 * 60
        assert Prices(made, [6 * 1440], grid).bound("finish times", [over + 60], steps=25) <= over


@settings(max_examples=8)
@given(tasks(jobs=3, steps=6))
def test_parts_better_the_first_schedule_and_keep_every_rule(task: Task) -> None:
    made = ready(task)
    far = [float(-tail) for tail in made.tails]
    first = Dispatch(made).run(sequence(made, far))
    assert first is not None
    found = improve(
        made,
        first,
        "finish times",
        together,
        anything(made),
        allowed=lambda times: True,
        until=time.monotonic() + 0.6,
        enough=0,
        workers=1,
        seed=1,
    )
    assert together("finish times", found) <= together("finish times", first)
    climbed = first_schedule(made, together, ["finish times"], 1)
    assert climbed is not None
    for times in (found, climbed):
        # The model with every start held where it was found says whether the rules are kept.
        held = Search(made, anything(made), near={at: (start, start) for at, start in enumerate(times.starts)})
        assert not held.impossible
        judged = held.solve(held.aim("finish times"), seconds=10, workers=1, seed=1)
        assert judged.times is not None
        assert judged.times.finishes == times.finishes


@settings(max_examples=20)
@given(tasks(jobs=2, steps=4))
def test_arranged_places_have_the_fewest_change_overs_and_keep_every_rule(task: Task) -> None:
    made = ready(task)
    first = Dispatch(made).run(sequence(made, [0.0] * len(made.items)))
    assert first is not None
    least, orders = fewest_changes(made, first)
    found = arranged(made, first, orders, lambda times: 0, 1)
    assert found is not None
    assert change_overs(made, found) == least <= change_overs(made, first)
    held = Search(made, anything(made), near={at: (start, start) for at, start in enumerate(found.starts)})
    assert not held.impossible
    judged = held.solve(held.aim("finish times"), seconds=10, workers=1, seed=1)
    assert judged.times is not None
    assert judged.times.finishes == found.finishes
