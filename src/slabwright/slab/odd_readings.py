"""Readings that stand far off those around them: a slip of the pen, or a place worth a second look."""

from __future__ import annotations

import numpy as np

from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.geometry.faces import Face, Floats, as_scatter
from slabwright.quantities import Units, format_length
from slabwright.slab.survey import Survey

_FAR = 8.0
"""Off its neighbours by more than this is odd [mm]: common practice."""
_TIMES_SPREAD = 6.0
_MOST = 3
_MOST_READINGS = 20_000
_ROUNDS = 8


def _robust_trend(x: Floats, y: Floats, z: Floats) -> Floats:
    """What is left of heights after a bowed, cupped and twisted surface that no single reading can pull far.

    Least squares, weighted anew in each round with Tukey's biweight at 4.685 times the spread.
    """
    u, v = (x - x.mean()) / (np.ptp(x) or 1.0), (y - y.mean()) / (np.ptp(y) or 1.0)
    columns = [np.ones_like(u), u, v, u * v]
    if x.size >= 12:
        columns += [u * u, v * v]
    basis = np.column_stack(columns)
    left = z - np.median(z)
    for _ in range(_ROUNDS):
        spread = 1.4826 * float(np.median(np.abs(left))) + 0.05
        weight = np.clip(1.0 - (left / (4.685 * spread)) ** 2, 0.0, None)
        if np.count_nonzero(weight) < basis.shape[1] + 1:
            break
        solution, *_ = np.linalg.lstsq(basis * weight[:, None], z * weight, rcond=None)
        left = z - basis @ solution
    return left


def odd_places(face: Face) -> list[tuple[float, float, float]]:
    """Readings of a face that stand far off their four nearest neighbours, worst first.

    Args:
        face: readings [mm]

    Returns:
        x, y and by how much, positive: above its neighbours [mm].
    """
    from scipy.spatial import cKDTree

    readings = as_scatter(face)
    if not 8 <= len(readings) <= _MOST_READINGS:
        return []
    left = _robust_trend(readings.x, readings.y, readings.z)
    places = np.column_stack([readings.x, readings.y])
    neighbours = np.asarray(cKDTree(places).query(places, k=5)[1])[:, 1:]
    off = left - np.median(left[neighbours], axis=1)
    limit = max(_FAR, _TIMES_SPREAD * 1.4826 * float(np.median(np.abs(off))))
    # A reading that is not odd itself may have an odd one among its neighbours; its own trend tells it apart.
    odd = np.nonzero((np.abs(off) > limit) & (np.abs(left) > limit / 2.0))[0]
    worst = odd[np.argsort(-np.abs(off[odd]))][:_MOST]
    return [(float(readings.x[i]), float(readings.y[i]), float(off[i])) for i in worst]


def odd_reading_findings(survey: Survey, units: Units) -> tuple[Finding, ...]:
    """Which readings to take again before anything is cut."""
    told = [
        f"face {name} at x = {format_length(x, units)}, y = {format_length(y, units)} stands "
        f"{format_length(abs(off), units)} {'above' if off > 0 else 'below'} its neighbours"
        for name, face in (("A", survey.all_a), ("B", survey.all_b))
        for x, y, off in odd_places(face)
    ]
    if not told:
        return ()
    return (
        Finding(
            "slab/odd-reading",
            "caution",
            f"A reading looks like a slip: {'; '.join(told)}.",
            "Read it again, or mend it in the survey file; if the wood is really like that, read close around it.",
            COMMON_PRACTICE,
        ),
    )
