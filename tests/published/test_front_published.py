"""Thickness against fill against a general solver and a solid whose volume is known."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.sparse
from scipy.optimize import linprog
from shapely import box

from slabwright.geometry.cells import reading_areas
from slabwright.geometry.faces import Face, Floats, Grid, as_scatter
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.strip import widest_strip
from slabwright.slab.patches import patch_front

REGION = box(0, 0, 2000, 800)


def best_by_general_solver(face_a: Face, face_b: Face, weights: Floats, lie: PlanePair, price_area: float) -> float:
    """The whole linear program: most of c - d - (1/K) sum w s, with s >= a x + b y + c - z and s >= 0."""
    upper, lower = (
        lie.to_seat(np.column_stack([points.x, points.y, points.z])) for points in map(as_scatter, (face_a, face_b))
    )
    middle = upper.mean(axis=0) * [1, 1, 0]
    upper, lower = upper - middle, lower - middle
    n, m = len(upper), len(lower)
    above = np.column_stack([upper[:, :2], np.ones(n), np.zeros(n)])
    below = np.column_stack([-lower[:, :2], np.zeros(m), -np.ones(m)])
    own = scipy.sparse.vstack([-scipy.sparse.eye_array(n), scipy.sparse.csr_array((m, n))])
    rows = scipy.sparse.hstack([scipy.sparse.csr_array(np.vstack([above, below])), own], format="csr")
    answer = linprog(
        np.concatenate([[0.0, 0.0, -1.0, 1.0], weights * lie.slant / price_area]),
        A_ub=rows,
        b_ub=np.concatenate([upper[:, 2], -lower[:, 2]]),
        bounds=[(None, None)] * 4 + [(0, None)] * n,
        method="highs",
    )
    return -float(answer["fun"])


def slab(shape: tuple[int, int], seed: int) -> tuple[Grid, Grid]:
    draw = np.random.default_rng(seed)
    x, y = np.linspace(0, 2000, shape[0]), np.linspace(0, 800, shape[1])
    u, v = x[:, None] / 1000 - 1, y[None, :] / 400 - 1
    bend = draw.normal(0, 2) * v * v + draw.normal(0, 2) * u * v + draw.normal(0, 1) * u * u + 8.0 * u
    dip = 6.0 * np.exp(-(((x[:, None] - 1700) / 120) ** 2) - ((y[None, :] - 300) / 70) ** 2)
    return (
        Grid(x, y, 62 + bend - dip + draw.normal(0, 0.2, shape)),
        Grid(x, y, 0.9 * bend + draw.normal(0, 0.2, shape)),
    )


@pytest.mark.parametrize(("shape", "seed"), [((6, 5), 1), ((15, 9), 2), ((40, 25), 3), ((80, 50), 4)])
@pytest.mark.parametrize("scattered", [False, True])
def test_against_the_whole_linear_program(shape: tuple[int, int], seed: int, scattered: bool) -> None:
    """Source: HiGHS (through scipy.optimize.linprog) on the unreduced program of Rockafellar and Uryasev (2000), eq. (17)."""
    face_a, face_b = slab(shape, seed)
    weights = reading_areas(face_a, REGION).ravel()
    faces: tuple[Face, Face] = (as_scatter(face_a), as_scatter(face_b)) if scattered else (face_a, face_b)
    lie = widest_strip(*faces).planes
    points = patch_front(*faces, REGION, lie)
    for point in points[1::8]:
        best = best_by_general_solver(face_a, face_b, weights, lie, point.price_area)
        assert point.thickness - point.fill_volume / point.price_area == pytest.approx(best, abs=0.004)
        assert best >= point.thickness - point.fill_volume / point.price_area - 1e-4
        assert point.bound <= best + point.fill_volume / point.price_area + 1e-3
        assert point.bound >= point.thickness


def test_a_round_bowl_fills_as_a_paraboloid_does() -> None:
    """Source: Archimedes, On Conoids and Spheroids, proposition 21: a paraboloid is half of the cylinder around it.

    A face z = 50 + r^2 / 2R filled to a height h above its lowest place takes pi R h^2.
    """
    x, y = np.linspace(-400, 400, 401), np.linspace(-400, 400, 401)
    radius = 20_000.0
    face_a = Grid(x, y, 50.0 + (x[:, None] ** 2 + y[None, :] ** 2) / (2 * radius))
    face_b = Grid(x, y, np.zeros_like(face_a.z))
    points = patch_front(face_a, face_b, box(-400, -400, 400, 400), PlanePair(0, 0, 50.0, 0.0))
    inside = [point for point in points[1:] if point.deepest < 400**2 / (2 * radius)]
    assert len(inside) > 15
    for point in inside[8:]:
        height = point.thickness - 50.0
        assert point.fill_volume == pytest.approx(np.pi * radius * height**2, rel=0.02)
        assert point.fill_area == pytest.approx(2 * np.pi * radius * height, rel=0.05)
        assert point.fill_area == pytest.approx(point.price_area, rel=0.05)
