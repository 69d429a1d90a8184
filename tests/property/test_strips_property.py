"""Paths over random wood: everything cleared, nothing spoiled, no cut wider than the stepover, never faster than can be."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import box

from slabwright.geometry.faces import Floats
from slabwright.job.models import Machine
from slabwright.machine.engagement import engagement
from slabwright.machine.frame import KeepOut, Setting, Stock
from slabwright.machine.lattice import HOLDER_MARGIN
from slabwright.machine.strips import strips
from slabwright.machine.timing import path_time, time_bound
from slabwright.machine.toolpath import Toolpath
from slabwright.slab.passes import levels

PLANE = 50.0
LENGTH, WIDTH = 640.0, 320.0


@dataclass(frozen=True)
class Case:
    setting: Setting
    machine: Machine
    level: float


@st.composite
def cases(draw: st.DrawFn, *, clamped: bool) -> Case:
    seed = draw(st.integers(0, 2**32 - 1))
    cell = draw(st.sampled_from([4.0, 8.0, 16.0]))
    rough = draw(st.sampled_from([0.0, 0.3, 2.0]))
    diameter = draw(st.sampled_from([20.0, 50.0, 100.0]))
    corner = draw(st.sampled_from([0.0, 1.0, 3.0]))
    share = draw(st.sampled_from([0.3, 0.7, 0.95]))
    random = np.random.default_rng(seed)
    x, y = (np.asarray(cell * (np.arange(round(side / cell)) + 0.5), dtype=np.float64) for side in (LENGTH, WIDTH))
    top = random.normal(0.0, rough, (x.size, y.size)) + random.uniform(-2.0, 2.0)
    for _ in range(draw(st.integers(0, 5))):
        at, reach = random.uniform((0, 0), (LENGTH, WIDTH)), random.uniform(30.0, 200.0)
        off = ((x - at[0])[:, None] ** 2 + (y - at[1])[None, :] ** 2) / reach**2
        top += random.choice([-6.0, 6.0]) * np.exp(-off)
    keep_out = tuple(_clamps(random, draw(st.integers(1, 3)))) if clamped else ()
    stock = Stock(x, y, top + PLANE, np.ones_like(top), box(0.0, 0.0, LENGTH, WIDTH))
    machine = Machine(
        cutter_diameter=diameter,
        corner_radius=corner,
        stepover=share * diameter,
        direction=draw(st.sampled_from(["along", "across", "quicker"])),
    )
    return Case(
        Setting("A", 1, stock, PLANE, 0.0, (0.0, LENGTH), None, keep_out), machine, draw(st.sampled_from([0.0, 3.0]))
    )


def _clamps(random: np.random.Generator, count: int) -> list[KeepOut]:
    found = []
    for number in range(count):
        x, y = random.uniform(0.0, LENGTH), random.choice([-20.0, WIDTH - 20.0, WIDTH / 2.0])
        found.append(KeepOut(f"clamp {number}", x, x + 40.0, y, y + 40.0, PLANE + random.choice([-9.0, 1.0, 30.0])))
    return found


def squared(stock: Stock, one: Floats, two: Floats) -> Floats:
    """Squared distance of each cell's middle from a move."""
    run = two[:2] - one[:2]
    x, y = stock.x[:, None] - one[0], stock.y[None, :] - one[1]
    share = np.clip((x * run[0] + y * run[1]) / max(float(run @ run), 1e-12), 0.0, 1.0)
    return np.asarray((x - share * run[0]) ** 2 + (y - share * run[1]) ** 2)


def run_on_wood(path: Toolpath, case: Case) -> Floats:
    """Heights after the path; every rapid has to clear the wood that stands at that moment."""
    stock, radius = case.setting.stock, case.machine.cutter_diameter / 2.0
    flat = radius - case.machine.corner_radius
    top = stock.top.copy()
    for one, two, feed in zip(path.points, path.points[1:], path.feed, strict=False):
        off = squared(stock, one, two)
        low = min(one[2], two[2])
        assert low >= PLANE + case.level - 1e-9
        if feed > 0.0:
            top[off <= flat * flat + 1e-9] = np.minimum(top[off <= flat * flat + 1e-9], low)
        elif not (np.array_equal(one[:2], two[:2]) and two[2] >= one[2]):
            assert top[off < flat * flat - 1e-6].max(initial=0.0) <= low - 1.0
    return top


@given(cases(clamped=False))
@settings(max_examples=60)
def test_all_wood_above_the_level_is_cleared(case: Case) -> None:
    path = strips(case.setting, case.level, None, machine=case.machine)
    top = run_on_wood(path, case)
    assert top.max() <= PLANE + case.level + 0.01


@given(cases(clamped=False))
@settings(max_examples=60)
def test_never_faster_than_can_be(case: Case) -> None:
    stock, machine = case.setting.stock, case.machine
    path = strips(case.setting, case.level, None, machine=machine)
    if not path.feed.size:
        return
    taken = path_time(path, rapid=machine.rapid, acceleration=machine.acceleration).minutes
    flat = machine.cutter_diameter / 2.0 - machine.corner_radius
    spacing = min(machine.stepover, 2.0 * flat)
    assert taken >= time_bound(stock, [case.level], PLANE, stepover=spacing, feed=machine.feed)
    met = engagement(path, stock, PLANE + case.level, radius=flat, piece=10.0 * float(stock.x[1] - stock.x[0]))
    cell = float(stock.y[1] - stock.y[0])
    slow = path.feed[met.move] < machine.feed
    # Cells count whole: a band is seen up to a cell wider than it is.
    assert (met.width[~slow] <= spacing + 2.0 * cell).all()


@given(cases(clamped=True))
@settings(max_examples=40)
def test_clamps_are_kept_clear_of_and_the_rest_is_cleared(case: Case) -> None:
    stock, radius = case.setting.stock, case.machine.cutter_diameter / 2.0
    path = strips(case.setting, case.level, None, machine=case.machine)
    top = run_on_wood(path, case)
    near = np.zeros(top.shape, dtype=bool)
    steps = np.linspace(0.0, 1.0, 60)[:, None]
    for keep in case.setting.keep_out:
        off_x = np.maximum(np.maximum(keep.x_from - stock.x, stock.x - keep.x_to), 0.0)
        off_y = np.maximum(np.maximum(keep.y_from - stock.y, stock.y - keep.y_to), 0.0)
        near |= np.hypot(off_x[:, None], off_y[None, :]) <= 2.0 * radius + HOLDER_MARGIN
        for one, two in zip(path.points, path.points[1:], strict=False):
            line = one + steps * (two - one)
            away_x = np.maximum(np.maximum(keep.x_from - line[:, 0], line[:, 0] - keep.x_to), 0.0)
            away_y = np.maximum(np.maximum(keep.y_from - line[:, 1], line[:, 1] - keep.y_to), 0.0)
            over = np.maximum(away_x, away_y) < radius + HOLDER_MARGIN - 1e-6
            assert (line[over, 2] >= keep.top + 1.0).all()
    assert top[~near].max(initial=0.0) <= PLANE + case.level + 0.01


@given(cases(clamped=True), st.sampled_from([(0.0, LENGTH), (0.0, 400.0), (200.0, LENGTH)]))
@settings(max_examples=40)
def test_no_depth_finds_more_than_its_own(case: Case, window: tuple[float, float]) -> None:
    # A sharp-edged cutter, so that the flat is all there is of it.
    machine = case.machine.model_copy(update={"corner_radius": 0.0})
    setting = replace(case.setting, window=window)
    stock = setting.stock
    top, radius = stock.top.copy(), machine.cutter_diameter / 2.0
    # At a window's end in the wood the cutter reaches half its breadth beyond.
    met_at_most = (stock.x >= window[0] - radius) & (stock.x <= window[1] + radius)
    depths = levels(float(top[met_at_most].max()) - PLANE, 2.0, 0.5)
    previous: float | None = None
    for level in depths:
        path = strips(setting, level, previous, machine=machine)
        previous = level
        for one, two, feed in zip(path.points, path.points[1:], path.feed, strict=False):
            if feed > 0.0:
                met = squared(stock, one, two) <= radius * radius
                assert top[met].max(initial=0.0) - min(one[2], two[2]) <= 2.0 + 0.01
                top[met] = np.minimum(top[met], min(one[2], two[2]))


@pytest.mark.parametrize("seed", range(3))
def test_the_same_wood_gives_the_same_path(seed: int) -> None:
    random = np.random.default_rng(seed)
    x, y = (np.asarray(8.0 * (np.arange(count) + 0.5), dtype=np.float64) for count in (60, 40))
    top = PLANE + random.normal(0.0, 2.0, (60, 40))
    setting = Setting("B", 1, Stock(x, y, top, np.ones_like(top), box(0, 0, 480, 320)), PLANE, 0.0, (0, 480), None, ())
    one, two = (strips(setting, 1.0, 4.0, machine=Machine()) for _ in range(2))
    assert np.array_equal(one.points, two.points)
    assert np.array_equal(one.feed, two.feed)
