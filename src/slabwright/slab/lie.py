"""The planes that are cut: where in the readings a board of the target thickness is to lie, and at which tilt."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Face, Floats, Grid, Scatter, as_scatter
from slabwright.geometry.planes import PlanePair
from slabwright.slab.balance import Infeasible, balance

_WORTH_IT = 0.05
"""Slack below which the tilt of the most is kept [mm]."""
_HALVINGS = 6


def opposing_point(contacts_a: Floats, contacts_b: Floats, planes: PlanePair) -> tuple[float, float]:
    """Where the contacts of the two faces oppose: x, y of the shortest line between their hulls [mm].

    Args:
        contacts_a: shape (k, 3)
        contacts_b: shape (m, 3)
        planes: the widest strip that they carry
    """
    from scipy.optimize import nnls

    across = np.array([-planes.a, -planes.b]) / planes.slant * planes.thickness
    points = np.vstack([contacts_a[:, :2], contacts_b[:, :2]])
    scale = float(np.abs(points).max()) or 1.0
    size_a, size_b = len(contacts_a), len(contacts_b)
    sign = np.concatenate([np.ones(size_a), -np.ones(size_b)])
    rows = np.vstack([(points * sign[:, None]).T / scale, sign > 0, sign < 0])
    weights, _ = nnls(rows, np.concatenate([across / scale, [1.0, 1.0]]))
    middle = (contacts_a[:, :2].T @ weights[:size_a] + contacts_b[:, :2].T @ weights[size_a:]) / max(
        weights.sum(), 1e-12
    )
    return float(middle[0]), float(middle[1])


def above(face: Face, planes: PlanePair) -> Face:
    """Face A's readings that stand on or above the upper plane: what is left of it once the rest is filled."""
    if isinstance(face, Grid):
        height = planes.upper(face.x[:, None], face.y[None, :])
        return Grid(face.x, face.y, np.where(face.z >= height - 1e-9, face.z, np.nan))
    return _kept(face, face.z >= planes.upper(face.x, face.y) - 1e-9)


def below(face: Face, planes: PlanePair) -> Face:
    """Face B's readings that stand on or below the lower plane."""
    if isinstance(face, Grid):
        height = planes.lower(face.x[:, None], face.y[None, :])
        return Grid(face.x, face.y, np.where(face.z <= height + 1e-9, face.z, np.nan))
    return _kept(face, face.z <= planes.lower(face.x, face.y) + 1e-9)


def _kept(face: Scatter, keep: NDArray[np.bool_]) -> Scatter:
    return Scatter(face.x[keep], face.y[keep], face.z[keep])


def widest_at(planes: PlanePair, face_a: Face, face_b: Face) -> PlanePair:
    """The widest pair of planes at the tilt of given ones that clears both faces."""
    a, b = planes.a, planes.b
    upper, lower = as_scatter(face_a), as_scatter(face_b)
    return PlanePair(
        a, b, float(np.min(upper.z - a * upper.x - b * upper.y)), float(np.max(lower.z - a * lower.x - b * lower.y))
    )


def placed(tilt: PlanePair, thickness: float, share_a: float, face_a: Face, face_b: Face) -> PlanePair:
    """Planes of a tilt and a thickness, put into the widest pair of that tilt so that `share_a` of the slack lies on face A.

    Args:
        tilt: only its slopes count
        thickness: normal distance wanted [mm]
        share_a: part of the slack above the upper plane, 0 to 1
        face_a: readings that bind on face A
        face_b: readings that bind on face B
    """
    widest = widest_at(tilt, face_a, face_b)
    c = widest.c - (widest.thickness - thickness) * widest.slant * share_a
    return PlanePair(tilt.a, tilt.b, c, c - thickness * widest.slant)


def cut_planes(
    lie: PlanePair,
    face_a: Face,
    face_b: Face,
    *,
    milled: float,
    most: float,
    losses: tuple[float, float],
    kept: Callable[[PlanePair], float],
) -> PlanePair:
    """The planes to cut to.

    Where the target leaves no slack beyond what is hidden, the tilt of the most is kept and the hidden losses are shared out
    between the faces. Where it does, the slack goes first into the least greatest depth on either face, then into cutting
    both faces alike; the tilt goes back towards that of the most as far as the promise asks for it.

    Args:
        lie: the planes of the most thickness
        face_a: readings that bind on face A [mm]
        face_b: readings that bind on face B [mm]
        milled: thickness to be left by the cutter [mm]
        most: the same for the promised board [mm]
        losses: what is likely hidden below the readings of face A, and above those of face B [mm]
        kept: promised milled thickness at the tilt of given planes [mm]

    Returns:
        Planes `milled` apart.
    """
    total = sum(losses)
    share_a = losses[0] / total if total > 1e-9 else 0.5

    def at(share: float, towards: PlanePair) -> PlanePair:
        tilt = PlanePair(lie.a + share * (towards.a - lie.a), lie.b + share * (towards.b - lie.b), 0.0, 0.0)
        return placed(tilt, milled, share_a, face_a, face_b)

    if most - milled <= _WORTH_IT:
        return at(0.0, lie)
    hidden = max(lie.thickness - most, 0.0)
    try:
        best = balance(face_a, face_b, milled, hidden * share_a, hidden * (1.0 - share_a))
    except Infeasible:
        return at(0.0, lie)
    if kept(best) >= milled:
        return best
    for halving in range(1, _HALVINGS + 1):
        tilted = at(0.5**halving, best)
        if kept(tilted) >= milled:
            return tilted
    return at(0.0, lie)
