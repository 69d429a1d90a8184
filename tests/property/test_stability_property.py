"""Tipping: statics by hand for six shapes of feet, and a search over every way that a rigid table can tilt."""

from __future__ import annotations

import math

import numpy as np
import pytest

from slabwright.base.tipping import tipping_lines, tipping_load
from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Floats

Place = tuple[float, float]


def load_at(feet: list[Place], weight: float, middle: Place, point: Place) -> float | None:
    lines = tipping_lines([(str(number), foot) for number, foot in enumerate(feet)])
    return tipping_load(lines, weight, middle, point)[0]


def box(x: float, y: float) -> list[Place]:
    return [(-x, -y), (x, -y), (x, y), (-x, y)]


@pytest.mark.parametrize(
    ("feet", "weight", "middle", "point", "by_hand"),
    [
        # Four feet, load beyond the end: W 600 / (900 - 600).
        (box(600, 300), 900.0, (0.0, 0.0), (900.0, 0.0), 1800.0),
        # The same, weight 100 nearer to that end: W 500 / 300.
        (box(600, 300), 900.0, (100.0, 0.0), (900.0, 0.0), 1500.0),
        # Three feet (0, 400), (-346.41, -200), (346.41, -200): a load opposite to a foot turns over the line at 200.
        ([(0.0, 400.0), (-346.4102, -200.0), (346.4102, -200.0)], 500.0, (0.0, 0.0), (0.0, -450.0), 400.0),
        # The same beside a foot's line: the line's normal leans by 30 degrees, 200 from the middle.
        (
            [(0.0, 400.0), (-346.4102, -200.0), (346.4102, -200.0)],
            500.0,
            (0.0, 0.0),
            (500.0, 0.0),
            500.0 * 200.0 / (500.0 * math.cos(math.radians(30.0)) - 200.0),
        ),
        # A post on a cross of feet: a square on its corner, load on a diagonal of the cross: lines at 300 / sqrt 2.
        (
            [(300.0, 0.0), (0.0, 300.0), (-300.0, 0.0), (0.0, -300.0)],
            700.0,
            (0.0, 0.0),
            (350.0, 350.0),
            700.0 * 300.0 / (700.0 - 300.0),
        ),
        # Feet farther out than the load: nothing tips it.
        (box(1000, 500), 900.0, (0.0, 0.0), (900.0, 400.0), None),
    ],
)
def test_six_shapes_by_hand(
    feet: list[Place], weight: float, middle: Place, point: Place, by_hand: float | None
) -> None:
    found = load_at(feet, weight, middle, point)
    if by_hand is None:
        assert found is None
    else:
        assert found == pytest.approx(by_hand, rel=1e-5)


def tilts(feet: Floats, weight: float, middle: Place, point: Place, load: float) -> bool:
    """Whether some small tilt, with no foot in the floor, lets weight and load together come down.

    Tilted by slope g the lowest foot keeps touching: a place p rises by g p - min over feet of g f.
    """

    def rises(angles: Floats) -> Floats:
        ways = np.column_stack([np.cos(angles), np.sin(angles)])
        floor = (ways @ feet.T).min(axis=1)
        found: Floats = (
            weight * (ways @ np.asarray(middle)) + load * (ways @ np.asarray(point)) - (weight + load) * floor
        )
        return found

    angles = np.linspace(0.0, 2.0 * math.pi, 7201)
    for step in (angles[1], angles[1] / 500.0, angles[1] / 250_000.0):
        first = rises(angles)
        if (first < 0.0).any():
            return True
        near = angles[np.argsort(first)[:8]]
        angles = (near[:, None] + np.linspace(-step, step, 1001)).ravel()
    return bool((rises(angles) < 0.0).any())


def test_200_random_bases_against_a_search_of_tilts() -> None:
    rng = np.random.default_rng(5)
    tipped = 0
    for _ in range(200):
        feet = rng.uniform(-1.0, 1.0, (int(rng.integers(3, 9)), 2)) * rng.uniform(200.0, 900.0, 2)
        mix = rng.dirichlet(np.ones(len(feet)))
        middle = (float(mix @ feet[:, 0]), float(mix @ feet[:, 1]))
        weight = float(rng.uniform(200.0, 2000.0))
        angle = rng.uniform(0.0, 2.0 * math.pi)
        point = (1100.0 * math.cos(angle), 600.0 * math.sin(angle))
        found = load_at([(float(x), float(y)) for x, y in feet], weight, middle, point)
        if found is None:
            assert not tilts(feet, weight, middle, point, 1e7)
            continue
        tipped += 1
        assert not tilts(feet, weight, middle, point, 0.999 * found)
        assert tilts(feet, weight, middle, point, 1.001 * found)
    assert tipped > 150


def test_weight_outside_the_feet_falls_by_itself() -> None:
    assert load_at(box(300, 300), 500.0, (310.0, 0.0), (0.0, 0.0)) == 0.0


def test_feet_in_a_line_are_refused() -> None:
    with pytest.raises(SlabwrightError, match="one line"):
        tipping_lines([("a", (0.0, 0.0)), ("b", (1.0, 1.0)), ("c", (2.0, 2.0))])
