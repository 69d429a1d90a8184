"""Thickness kept: the seat against two habits of the bench, over a hundred invented slabs."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from scipy.optimize import linprog

from bench.row import Row
from bench.slabs import random_slab
from slabwright.geometry.faces import Floats, Scatter, as_scatter
from slabwright.geometry.strip import widest_strip

SLABS = 100


def rows() -> Iterator[Row]:
    kept = np.array([_gains(seed) for seed in range(SLABS)])
    for column, habit in enumerate(
        ("levelled to the least-squares plane of its mid-surface", "cut as it lies on a flat bed, on face B"),
    ):
        gains = kept[:, column]
        yield Row(
            f"thickness kept, seat against {habit}",
            f"{gains.min():.2f} / {np.median(gains):.2f} / {gains.max():.2f} mm",
            f"{SLABS} slabs of 2.4 x 0.95 m, read every 50 mm",
            None,
            "least / median / most; never less",
            bool(gains.min() >= -1e-6),
        )


def _gains(seed: int) -> tuple[float, float]:
    """What the seat keeps more than each habit [mm]."""
    face_a, face_b = random_slab(seed)
    best = widest_strip(face_a, face_b).thickness
    upper, lower = as_scatter(face_a), as_scatter(face_b)
    return best - _board(upper, lower, *_least_squares(upper, lower)), best - _board(upper, lower, *_lying(lower))


def _board(upper: Scatter, lower: Scatter, a: float, b: float) -> float:
    """Thickness of the board at given slopes [mm]."""
    gap = np.min(upper.z - a * upper.x - b * upper.y) - np.max(lower.z - a * lower.x - b * lower.y)
    return float(gap / np.sqrt(1.0 + a * a + b * b))


def _least_squares(upper: Scatter, lower: Scatter) -> tuple[float, float]:
    """Slopes of the least-squares plane of the mean of both faces."""
    known = np.column_stack([upper.x, upper.y, np.ones(len(upper))])
    a, b, _ = np.linalg.lstsq(known, (upper.z + lower.z) / 2.0, rcond=None)[0]
    return float(a), float(b)


def _lying(lower: Scatter) -> tuple[float, float]:
    """Slopes of the bed in the slab's frame: the facet of face B's hull that the slab's middle stands over.

    Of all planes that face B lies above, it is the one that is highest under the middle.
    """
    middle: Floats = np.array([lower.x.mean(), lower.y.mean()])
    rows = np.column_stack([lower.x - middle[0], lower.y - middle[1], np.full(len(lower), 1000.0)])
    solved = linprog([0.0, 0.0, -1.0], A_ub=rows / 1000.0, b_ub=lower.z, bounds=[(None, None)] * 3)
    if solved.x is None:
        raise RuntimeError(solved.message)
    return float(solved.x[0] / 1000.0), float(solved.x[1] / 1000.0)
