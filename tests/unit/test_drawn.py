"""Heights drawn between readings."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import LinearNDInterpolator, RegularGridInterpolator
from shapely import box

from slabwright.geometry.drawn import drawn_between
from slabwright.geometry.faces import Grid, Scatter

REGION = box(0, 0, 1200, 500)


def test_scattered_readings_against_another_interpolator() -> None:
    draw = np.random.default_rng(1)
    places = np.concatenate([[(0, 0), (1200, 0), (1200, 500), (0, 500)], draw.uniform((0, 0), (1200, 500), (60, 2))])
    z = draw.normal(0, 2, len(places))
    fine = drawn_between(Scatter(places[:, 0], places[:, 1], z), REGION)
    expected = LinearNDInterpolator(places, z)(*np.meshgrid(fine.x[1:-1], fine.y[1:-1], indexing="ij"))
    assert fine.z[1:-1, 1:-1] == pytest.approx(expected, abs=1e-5)
    assert not np.isnan(fine.z).any()


def test_stations_in_rows() -> None:
    x, y = np.meshgrid(np.linspace(0, 1200, 25), np.linspace(0, 500, 11), indexing="ij")
    fine = drawn_between(Scatter(x.ravel(), y.ravel(), (0.01 * x - 0.02 * y).ravel()), REGION)
    assert fine.z == pytest.approx(0.01 * fine.x[:, None] - 0.02 * fine.y[None, :], abs=1e-6)


def test_a_grid_between_its_lines_and_past_them() -> None:
    draw = np.random.default_rng(2)
    x, y = np.linspace(100, 1100, 6), np.linspace(50, 450, 5)
    z = draw.normal(0, 2, (6, 5))
    fine = drawn_between(Grid(x, y, z), REGION)
    wanted = np.clip(fine.x, 100, 1100)[:, None], np.clip(fine.y, 50, 450)[None, :]
    assert fine.z == pytest.approx(RegularGridInterpolator((x, y), z)(np.broadcast_arrays(*wanted)), abs=1e-9)


def test_readings_in_a_line_give_the_nearest() -> None:
    fine = drawn_between(Scatter(np.array([0.0, 600.0, 1200.0]), np.full(3, 250.0), np.array([1.0, 2.0, 3.0])), REGION)
    assert set(np.unique(fine.z)) == {1.0, 2.0, 3.0}


def test_very_many_readings_in_bins() -> None:
    places = np.random.default_rng(3).uniform((0, 0), (1200, 500), (150_000, 2))
    fine = drawn_between(Scatter(places[:, 0], places[:, 1], 0.01 * places[:, 0]), REGION)
    assert fine.z == pytest.approx(np.broadcast_to(0.01 * fine.x[:, None], fine.z.shape), abs=0.06)
