"""The signed strip problem: planes that may overlap, so that thickness may be negative."""

from __future__ import annotations

import numpy as np

from slabwright.geometry.faces import Floats
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.seeker import Seeker

_MOST_TURNS = 30
_MOST_SCANS = 400
_STEEPEST = 20.0


def vertical_strip(first: Floats, second: Floats) -> tuple[float, float, float, float]:
    """Planes with the greatest signed vertical distance c - d, the first set above c, the second below d: a linear program.

    Args:
        first: shape (n, 3), near zero [mm]
        second: shape (m, 3) [mm]

    Returns:
        a, b, c, d of z = a x + b y + c and z = a x + b y + d.

    Raises:
        ValueError: the sets do not lie above one another, so that the distance has no greatest value.
    """
    from scipy.optimize import linprog

    size = max(float(np.abs(first[:, :2]).max()), float(np.abs(second[:, :2]).max()), 1e-300)
    above = np.column_stack([first[:, :2] / size, np.ones(len(first)), np.zeros(len(first))])
    below = np.column_stack([-second[:, :2] / size, np.zeros(len(second)), -np.ones(len(second))])
    solved = linprog(
        [0.0, 0.0, -1.0, 1.0],
        A_ub=np.vstack([above, below]),
        b_ub=np.concatenate([first[:, 2], -second[:, 2]]),
        bounds=[(-_STEEPEST * size, _STEEPEST * size)] * 2 + [(None, None)] * 2,
        method="highs-ds",
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )
    if solved.status != 0 or solved.x is None:
        raise ValueError("the faces do not lie above one another")
    a, b = solved.x[:2] / size
    if max(abs(a), abs(b)) >= 0.999 * _STEEPEST:
        raise ValueError("the faces do not lie above one another")
    c = float(np.min(first[:, 2] - a * first[:, 0] - b * first[:, 1]))
    d = float(np.max(second[:, 2] - a * second[:, 0] - b * second[:, 1]))
    return float(a), float(b), c, d


def level_strip(first: Floats, second: Floats, a: float = 0.0, b: float = 0.0) -> tuple[float, float]:
    """Slopes of the signed strip of two small sets: the vertical problem in its own frame, turned until its tilt is nil."""
    frame = PlanePair(a, b, 0.0, 0.0)
    best = (-np.inf, a, b)
    for _ in range(_MOST_TURNS):
        turn = frame.rotation()
        tilt_a, tilt_b, c, d = vertical_strip(first @ turn.T, second @ turn.T)
        width = (c - d) / float(np.sqrt(1.0 + tilt_a * tilt_a + tilt_b * tilt_b))
        normal = turn.T @ np.array([-tilt_a, -tilt_b, 1.0])
        if normal[2] <= 0.0:
            raise ValueError("the faces do not lie above one another")
        a, b = -normal[0] / normal[2], -normal[1] / normal[2]
        if width > best[0]:
            best = (width, a, b)
        frame = PlanePair(float(a), float(b), 0.0, 0.0)
        if max(abs(tilt_a), abs(tilt_b)) <= 1e-11:
            break
    return float(best[1]), float(best[2])


def signed_strip(
    upper: Seeker, lower: Seeker, origin: Floats, first: Floats, second: Floats, tolerance: float
) -> tuple[float, float, float, float, Floats, Floats, int]:
    """The signed strip over all readings, a working set growing by what each search finds.

    Returns:
        a, b, c, d in the readings' frame, the readings that touch the planes (less `origin`), and the searches made.
    """
    a, b, c, d = 0.0, 0.0, 0.0, 0.0
    scans = 0
    while scans < _MOST_SCANS:
        a, b = level_strip(first, second, a, b)
        c, high = upper.seek(a, b)
        d, low = lower.seek(a, b)
        scans += 1
        rest_first = first[:, 2] - a * first[:, 0] - b * first[:, 1]
        rest_second = second[:, 2] - a * second[:, 0] - b * second[:, 1]
        shift = float(origin[2] - a * origin[0] - b * origin[1])
        short = (float(rest_first.min()) + shift - c) + (d - shift - float(rest_second.max()))
        if short <= tolerance * 0.1:
            touch = 1e-6 + tolerance
            first = first[rest_first <= rest_first.min() + touch]
            second = second[rest_second >= rest_second.max() - touch]
            break
        first, second = np.vstack([first, high - origin]), np.vstack([second, low - origin])
    return a, b, c, d, first, second, scans
