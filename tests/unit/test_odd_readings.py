from __future__ import annotations

import numpy as np
import pytest

from slabwright.geometry.faces import Scatter
from slabwright.slab.odd_readings import odd_places


def face(along: int, across: int, seed: int = 3) -> Scatter:
    x, y = (axis.ravel() for axis in np.meshgrid(np.linspace(0, 1800, along), np.linspace(-400, 400, across)))
    draw = np.random.default_rng(seed)
    z = 100.0 + 5.0 * (y / 400.0) ** 2 + 6.0 * (x / 1800.0 - 0.5) * y / 400.0 + draw.normal(0.0, 0.5, x.size)
    return Scatter(x, y, z)


@pytest.mark.parametrize(
    ("stations", "slip"), [((5, 3), 25.4), ((5, 3), -25.4), ((9, 5), 25.4), ((9, 5), -10.0), ((30, 12), -10.0)]
)
def test_a_slip_is_found_where_it_is(stations: tuple[int, int], slip: float) -> None:
    good = face(*stations)
    for place in (0, len(good) // 2, len(good) - 2):
        z = good.z.copy()
        z[place] += slip
        found = odd_places(Scatter(good.x, good.y, z))
        assert (found[0][0], found[0][1]) == (good.x[place], good.y[place])
        assert found[0][2] == pytest.approx(slip, abs=0.45 * abs(slip))


@pytest.mark.parametrize("stations", [(5, 3), (9, 5), (30, 12)])
def test_a_cupped_and_twisted_slab_is_not_odd(stations: tuple[int, int]) -> None:
    assert all(not odd_places(face(*stations, seed=seed)) for seed in range(30))


def test_a_wide_dip_is_not_odd() -> None:
    good = face(40, 20)
    z = good.z - 9.0 * np.exp(-((good.x - 1500) ** 2 + (good.y - 100) ** 2) / 150.0**2)
    assert odd_places(Scatter(good.x, good.y, z)) == []


def test_too_few_readings_say_nothing() -> None:
    assert odd_places(face(3, 2)) == []
