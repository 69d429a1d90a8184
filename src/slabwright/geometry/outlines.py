"""Outlines: closed polygons in plan, their faults and their making from what was scanned."""

from __future__ import annotations

import numpy as np
from shapely import Polygon, is_valid_reason

from slabwright.geometry.faces import Floats


def without_repeats(corners: Floats, apart: float = 1e-9) -> Floats:
    """The corners of a loop without its closing corner and without corners that stand on the one before.

    Args:
        corners: shape (n, 2), closed or not [mm]
        apart: corners closer than this are one [mm]
    """
    if len(corners) == 0:
        return corners
    step = np.hypot(*(corners - np.roll(corners, 1, axis=0)).T)
    step[0] = np.inf
    kept: Floats = corners[step > apart]
    if len(kept) > 1 and np.hypot(*(kept[-1] - kept[0])) <= apart:
        kept = kept[:-1]
    return kept


def signed_area(corners: Floats) -> float:
    """Area of a loop, positive where it runs anticlockwise [mm2].

    Sum of x_i y_(i+1) - x_(i+1) y_i over the corners, halved.
    """
    # About its own middle: far from the origin the products would swamp the difference.
    x, y = (corners - corners.mean(axis=0)).T
    return float(np.dot(x, np.roll(y, -1)) - np.dot(np.roll(x, -1), y)) / 2.0


def crossing(corners: Floats) -> tuple[float, float] | None:
    """Where a loop crosses or touches itself, or None where it does not.

    Args:
        corners: shape (n, 2), not closed, at least 3 [mm]
    """
    reason = is_valid_reason(Polygon(corners))
    if reason == "Valid Geometry":
        return None
    inside = reason[reason.find("[") + 1 : reason.rfind("]")].split()
    return float(inside[0]), float(inside[1])
