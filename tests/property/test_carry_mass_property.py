"""What is cut out of a top is taken off, and what is filled is put on, wherever it is."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, box

from slabwright.carry.lifts import end_weights
from slabwright.carry.mass_parts import cut_away
from slabwright.carry.mass_solids import Body, prism, together
from slabwright.top.layout_results import Solid, TopFeature

LENGTH, WIDTH, THICK = 2000.0, 800.0, 50.0
WOOD, FILL = 650e-9, 1100e-6 / 1e3
BOARD = prism(box(0, -WIDTH / 2, LENGTH, WIDTH / 2), 0.0, THICK)

along = st.floats(200.0, LENGTH - 200.0)
across = st.floats(-WIDTH / 2 + 150.0, WIDTH / 2 - 150.0)
side = st.floats(10.0, 200.0)
deep = st.floats(2.0, THICK)


def feature(solid: Solid) -> TopFeature:
    return TopFeature("f", "pocket", "underside", None, None, None, None, 0.0, 0.0, 0.0, None, None, None, (solid,))


@given(x=along, y=across, long=side, wide=side, depth=deep)
def test_a_pocket_is_taken_off(x: float, y: float, long: float, wide: float, depth: float) -> None:
    solid = Solid(box(x - long / 2, y - wide / 2, x + long / 2, y + wide / 2), 0.0, THICK - depth, THICK)
    left = together([BOARD, *cut_away([feature(solid)], box(0, -WIDTH / 2, LENGTH, WIDTH / 2), THICK)])
    gone = long * wide * depth
    assert left.mass == pytest.approx(BOARD.mass - gone, rel=1e-12)
    # The moments of what is left and of what is gone are those of the whole board.
    assert left.mass * left.x + gone * x == pytest.approx(BOARD.mass * BOARD.x, rel=1e-9)
    assert left.mass * left.z + gone * depth / 2 == pytest.approx(BOARD.mass * BOARD.z, rel=1e-9)
    assert left.mass * left.y + gone * y == pytest.approx(0.0, abs=1e-3)


@given(x=along, y=across, radius=st.floats(3.0, 100.0))
def test_a_hole_is_taken_off(x: float, y: float, radius: float) -> None:
    solid = Solid(Point(x, y), radius, 0.0, THICK)
    (hole,) = cut_away([feature(solid)], box(0, -WIDTH / 2, LENGTH, WIDTH / 2), THICK)
    assert -hole.mass == pytest.approx(math.pi * radius**2 * THICK, rel=1e-3)
    assert (hole.x, hole.y, hole.z) == pytest.approx((x, y, THICK / 2), abs=1e-6)


@given(x=along, y=across, volume=st.floats(1e3, 1e6), depth=deep)
def test_a_patch_puts_on_what_it_weighs_more_than_the_wood_in_its_place(
    x: float, y: float, volume: float, depth: float
) -> None:
    fill = Body(volume, x, y, THICK - depth / 2)
    whole = together([BOARD.times(WOOD), fill.times(-WOOD), fill.times(FILL)])
    assert whole.mass == pytest.approx(BOARD.mass * WOOD + volume * (FILL - WOOD), rel=1e-12)
    assert (whole.x - BOARD.x) * (x - BOARD.x) >= -1e-9
    assert (whole.z >= BOARD.z - 1e-9) == (fill.z >= BOARD.z - 1e-9)


@given(
    first=st.tuples(along, across, side, side, deep),
    second=st.tuples(along, across, side, side, deep),
)
@settings(max_examples=60)
def test_two_pockets_are_their_sum_less_what_they_share(
    first: tuple[float, float, float, float, float], second: tuple[float, float, float, float, float]
) -> None:
    shapes = [box(x - a / 2, y - b / 2, x + a / 2, y + b / 2) for x, y, a, b, _ in (first, second)]
    features = [
        feature(Solid(shape, 0.0, THICK - each[4], THICK)) for shape, each in zip(shapes, (first, second), strict=True)
    ]
    outline = box(0, -WIDTH / 2, LENGTH, WIDTH / 2)
    gone = -together(cut_away(features, outline, THICK)).mass
    shared = shapes[0].intersection(shapes[1]).area * min(first[4], second[4])
    assert gone == pytest.approx(
        sum(s.area * each[4] for s, each in zip(shapes, (first, second), strict=True)) - shared, rel=1e-9
    )


@given(mass=st.floats(0.1, 500.0), centre=st.floats(-900.0, 900.0))
def test_ends_bear_the_whole_and_balance(mass: float, centre: float) -> None:
    one, other = end_weights(mass, centre, -1000.0, 1000.0)
    assert one + other == pytest.approx(mass)
    assert other * 1000.0 - one * 1000.0 == pytest.approx(mass * centre, abs=1e-6 * mass)
