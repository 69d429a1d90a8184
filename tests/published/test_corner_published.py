"""Turning a corner between two corridors, against the ladder problem.

Sources: E. W. Weisstein, "Moving Ladder Problem", MathWorld (two corridors of width 1: 2 sqrt 2); for widths a and b,
L = (a^(2/3) + b^(2/3))^(3/2). For a rectangle: the least over the angle of a / cos + b / sin - t / (sin cos), minimised here by
a general-purpose library.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from slabwright.geometry.bands import FAR, Region, Shape, straight
from slabwright.geometry.corner import ladder, round_corner
from slabwright.geometry.passing import widest_way


def longest(first: float, second: float, thick: float) -> float:
    """The closed form's least, by a library."""
    found = minimize_scalar(
        lambda t: first / math.cos(t) + second / math.sin(t) - thick / (math.sin(t) * math.cos(t)),
        bounds=(1e-4, math.pi / 2 - 1e-4),
        method="bounded",
        options={"xatol": 1e-10},
    )
    return float(found.fun)


def turns(first: float, second: float, thick: float) -> float:
    """The longest rectangle that our own way takes round the corner [mm]."""
    low, high = thick, 3.0 * (first + second)
    while high - low > 0.01:
        middle = (low + high) / 2.0
        shape = Shape.of(np.array([[0.0, 0.0, middle, thick]]))
        low, high = (middle, high) if round_corner(first, second, shape).room >= 0.0 else (low, middle)
    return low


def test_two_corridors_of_one_width_take_a_ladder_of_two_root_two() -> None:
    assert ladder(1000.0, 1000.0) == pytest.approx(1000.0 * 2.0 * math.sqrt(2.0))
    assert turns(1000.0, 1000.0, 0.01) == pytest.approx(2828.427, abs=0.5)


def test_corridors_of_five_and_three_take_a_ladder_of_eleven() -> None:
    # (5^(2/3) + 3^(2/3))^(3/2) = 11.194100
    assert ladder(5000.0, 3000.0) == pytest.approx(11194.100, abs=0.001)


@pytest.mark.parametrize(
    ("first", "second", "thick"),
    [
        (900.0, 900.0, 20.0),
        (900.0, 1200.0, 80.0),
        (1000.0, 1000.0, 200.0),
        (900.0, 1200.0, 600.0),
        (1150.0, 1250.0, 740.0),
    ],
)
def test_a_thin_and_a_wide_rectangle_are_as_long_as_the_closed_form_says(
    first: float, second: float, thick: float
) -> None:
    closed = longest(first, second, thick)
    assert ladder(first, second, thick) == pytest.approx(closed, abs=0.001)
    found = turns(first, second, thick)
    assert closed - 0.5 <= found <= closed + 1e-6


def test_a_square_as_wide_as_the_corridor_goes_without_turning() -> None:
    """The closed form holds for one that turns; what fits both corridors as it lies is only pushed round."""
    assert ladder(900.0, 900.0, 899.0) < 899.0
    assert round_corner(900.0, 900.0, Shape.of(np.array([[0.0, 0.0, 899.0, 899.0]]))).room == pytest.approx(
        0.5, abs=0.1
    )


@pytest.mark.parametrize(("long", "thick"), [(2550.0, 80.0), (1650.0, 500.0)])
def test_the_search_finds_the_corner_too(long: float, thick: float) -> None:
    shape = Shape.of(np.array([[0.0, 0.0, long, thick]]))
    exact = round_corner(900.0, 1200.0, shape).room
    region = Region((straight(0.0, 1200.0, 0.0, FAR), straight(1200.0, 6000.0, 0.0, 900.0)))
    found = widest_way(region, shape, (1200.0, 6000.0), (0.0, 1200.0), asked=exact - 0.5)
    assert exact - 1.0 <= found.room <= exact + 0.1
