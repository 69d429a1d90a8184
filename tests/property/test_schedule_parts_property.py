"""Schedules of middling size: quick bounds never pass the proven best, and what is found part by part keeps every rule."""

from __future__ import annotations

import datetime
import time
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.shop.calendar import WorkingCalendar
from slabwright.shop.scheduling import schedule
from slabwright.shop.scheduling_bounds import Loads
from slabwright.shop.scheduling_climb import first_schedule
from slabwright.shop.scheduling_dispatch import Dispatch, Times, sequence
from slabwright.shop.scheduling_improve import improve
from slabwright.shop.scheduling_models import Aim, Link, Operation, Promise, Shop, Task
from slabwright.shop.scheduling_rules import Limits
from slabwright.shop.scheduling_search import Search
from slabwright.shop.scheduling_task import Ready, ready

NOW = datetime.datetime(2026, 3, 5, 8, 0)
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
