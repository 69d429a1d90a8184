"""Many runs at once against one by one; fewest change-overs and what comes together against counting out all orders."""

from __future__ import annotations

import datetime
import itertools
from dataclasses import replace

import numpy as np
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from slabwright.findings import SlabwrightError
from slabwright.shop.calendar import WorkingCalendar
from slabwright.shop.scheduling_bounds import earliest
from slabwright.shop.scheduling_changes import fewest_changes
from slabwright.shop.scheduling_dispatch import Clocks, Dispatch, ends, sequence
from slabwright.shop.scheduling_models import Link, Operation, Shop, Task
from slabwright.shop.scheduling_runs import run_all
from slabwright.shop.scheduling_task import Ready, ready

NOW = datetime.datetime(2026, 3, 5, 8, 0)
SHOP = Shop(WorkingCalendar((((480, 720), (750, 1020)),) * 5 + ((), ())), {"helper": 2})
NEEDS = (("maker",), ("maker", "spray corner"), ("helper",), ("maker", "helper"))


@st.composite
def tasks(draw: st.DrawFn, count: int) -> Task:
    """Operations of two jobs with links, windows, coats and held places."""
    operations = []
    for number in range(count):
        after = []
        for earlier in range(max(0, number - 3), number):
            if draw(st.integers(0, 2)) == 0:
                window = draw(st.sampled_from([None, None, 600, 1500]))
                after.append(Link(f"{earlier}", draw(st.sampled_from([0, 0, 300])), window and window + 300))
        waits = draw(st.integers(0, 4)) == 0
        coat = draw(st.booleans())
        needs = () if waits else draw(st.sampled_from(NEEDS))
        operations.append(
            Operation(
                f"{number}",
                draw(st.sampled_from(["desk", "table"])),
                draw(st.sampled_from(["wipe", "spray", "sand"])),
                needs,
                0 if waits else draw(st.sampled_from([20, 60, 150])),
                draw(st.sampled_from([0, 0, 240, 1000])),
                tuple(after),
                needs[-1:] if draw(st.booleans()) else (),
                draw(st.booleans()),
                hot=not waits and draw(st.integers(0, 4)) == 0,
                dusty=not waits and not coat,
                coat_open=draw(st.sampled_from([0, 240])) if coat and not waits else 0,
            )
        )
    return Task(tuple(operations), (), SHOP, NOW)


def usable(task: Task) -> Ready:
    """The task made ready; windows that can never be kept are left out of the trial."""
    try:
        return ready(task)
    except SlabwrightError as error:
        assert "make the window wider" in str(error)
        reject()


@settings(max_examples=40)
@given(tasks(9), st.integers(0, 2**32 - 1))
def test_many_runs_at_once_are_as_one_by_one(task: Task, seed: int) -> None:
    made = usable(task)
    made.timeline = task.shop.calendar.timeline(NOW.date(), 30000, 100 * 1440)
    rng = np.random.default_rng(seed)
    runs = 25
    lengths, waits = (
        np.rint(np.array(stated)[:, None] * rng.uniform(0.6, 1.6, (len(made.items), runs))).astype(np.int64)
        for stated in ([item.length for item in made.items], [item.wait for item in made.items])
    )
    order = sequence(made, rng.random(len(made.items)).tolist())
    found = run_all(made, order, lengths, waits)
    one = Dispatch(made)
    for run in range(runs):
        one.lengths, one.waits = lengths[:, run].tolist(), waits[:, run].tolist()
        times = one.run(order)
        if found.whole[run]:
            assert times is not None
            assert times.finishes == tuple(found.finishes[:, run])


def test_most_runs_are_gone_through_at_once() -> None:
    """Without windows and pins nothing stands in the way of any run."""
    operations = tuple(Operation(f"{n}", "desk", "saw", ("maker",), 100.0) for n in range(6))
    made = ready(Task(operations, (), SHOP, NOW))
    lengths = np.full((6, 30), 100)
    found = run_all(made, range(6), lengths, np.zeros_like(lengths))
    assert found.whole.all()
    assert set(found.finishes[0]) == {1440 + 8 * 60 + 90}


@settings(max_examples=60)
@given(tasks(6))
def test_fewest_change_overs_are_those_of_all_orders(task: Task) -> None:
    """Of every order that links allow the changes are counted."""
    made = usable(replace(task, shop=replace(SHOP, set_up=("spray corner",))))
    here = [
        at
        for at, item in enumerate(made.items)
        if "spray corner" in (*item.operation.needs, *item.operation.holds) and item.mode == "work"
    ]
    before: dict[int, set[int]] = {}
    for at, item in enumerate(made.items):
        before[at] = set().union(*({tie.source} | before[tie.source] for tie in item.ties)) if item.ties else set()
    counted = [
        sum(made.items[a].operation.kind != made.items[b].operation.kind for a, b in itertools.pairwise(order))
        for order in itertools.permutations(here)
        if not any(later in before[at] for n, at in enumerate(order) for later in order[n + 1 :])
    ]
    least, orders = fewest_changes(made)
    assert least == min(counted, default=0)
    for order in (order for place in orders for order in place):
        kinds = [made.items[at].operation.kind for at in order]
        assert sum(a != b for a, b in itertools.pairwise(kinds)) == least
        assert not any(later in before[at] for n, at in enumerate(order) for later in order[n + 1 :])


@settings(max_examples=60)
@given(tasks(6), st.integers(0, 2**32 - 1))
def test_nothing_starts_before_its_earliest(task: Task, seed: int) -> None:
    made = usable(task)
    starts, finishes = earliest(made)
    times = Dispatch(made).run(sequence(made, np.random.default_rng(seed).random(len(made.items)).tolist()))
    if times is not None:
        assert all(low <= here for low, here in zip(starts, times.starts, strict=True))
        assert all(low <= here for low, here in zip(finishes, times.finishes, strict=True))


def test_what_comes_together_waits_for_one_maker_to_do_both() -> None:
    """40 and 50 min from 08:00 by one maker: nothing that comes after both begins before 09:30."""
    operations = (
        Operation("a", "desk", "fit", ("maker",), 40),
        Operation("b", "desk", "fit", ("maker",), 50),
        Operation("c", "desk", "fit", ("helper",), 10, after=(Link("a"), Link("b"))),
    )
    made = ready(Task(operations, (), SHOP, NOW))
    starts, finishes = earliest(made)
    assert [ends(made, Clocks(made), 2, starts[2])[0], finishes[0]] == [9 * 60 + 30, 9 * 60 + 40]
