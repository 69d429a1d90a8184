"""Less than the most: where a board of a given thickness lies in the slab, so that both faces lose alike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slabwright.geometry.faces import Face, Floats, Grid, as_scatter
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.seeker import Seeker, seeker
from slabwright.geometry.strip import Strip, widest_strip

_PAIRS = 1500
_TWINS_AMONG = 50_000
_MOST_TURNS = 4
_MOST_SEARCHES = 60
_FINE = 1e-7
"""What a working set may miss a limit by before more readings are taken in [mm]."""
_NO_CHOICE = 1e-4
"""Below this slack every lie is that of the thickest board [mm]."""


class Infeasible(ValueError):  # noqa: N818
    """No lie of the slab gives that thickness with those margins."""


@dataclass(frozen=True)
class _Wanted:
    """Thickness and margins [mm]."""

    thickness: float
    margin_a: float
    margin_b: float


class _Working:
    """The four kinds of limit, each with the readings that have mattered so far, less `middle`.

    The planes leave the margins (face A's lowest, face B's highest) and are nowhere deeper than the greatest depth of cut
    (face A's highest, face B's lowest).
    """

    def __init__(self, face_a: Face, face_b: Face) -> None:
        self.seekers: tuple[Seeker, ...] = (
            seeker(face_a, lowest=True),
            seeker(face_a, lowest=False),
            seeker(face_b, lowest=False),
            seeker(face_b, lowest=True),
        )
        starts = [one.start() for one in self.seekers]
        both = np.vstack(starts)
        self.middle: Floats = (both.min(axis=0) + both.max(axis=0)) / 2.0
        self.size = float(np.abs(both[:, :2] - self.middle[:2]).max())
        self.points = [start - self.middle for start in starts]

    def extreme(self, kind: int, normal: Floats) -> tuple[float, Floats]:
        """Extreme of normal . reading over all readings of a kind, and readings that come near it."""
        a, b = -normal[0] / normal[2], -normal[1] / normal[2]
        value, points = self.seekers[kind].seek(float(a), float(b))
        value -= float(self.middle[2] - a * self.middle[0] - b * self.middle[1])
        return float(value * normal[2]), points - self.middle

    def limits(self, turn: Floats, wanted: _Wanted) -> tuple[Floats, Floats, Floats]:
        """Rows, right-hand sides, and the depth's share (0 or 1): rows @ unknowns <= right-hand side + share * depth."""
        add = (-wanted.margin_a, 0.0, wanted.thickness + wanted.margin_b, wanted.thickness)
        rows, heights, share = [], [], []
        for kind, points in enumerate(self.points):
            seat = points @ turn.T
            row = np.column_stack([seat[:, :2] / self.size, np.ones(len(seat))])
            sign = 1.0 if kind in (0, 3) else -1.0
            rows.append(sign * row)
            heights.append(sign * (seat[:, 2] + add[kind]))
            share.append(np.full(len(seat), float(kind in (1, 3))))
        return np.vstack(rows), np.concatenate(heights), np.concatenate(share)

    def missed(self, turn: Floats, unknowns: Floats, depth: float, wanted: _Wanted) -> bool:
        """Takes in the readings that miss a limit; whether there were any."""
        normal, height = _normal(turn, unknowns, self.size), float(unknowns[2])
        bars = (
            height + wanted.margin_a,
            height + depth,
            height - wanted.thickness - wanted.margin_b,
            height - wanted.thickness - depth,
        )
        grown = False
        for kind, bar in enumerate(bars):
            value, points = self.extreme(kind, normal)
            short = bar - value if kind in (0, 3) else value - bar
            if short > _FINE:
                self.points[kind] = np.vstack([self.points[kind], points])
                grown = True
        return grown


def balance(
    face_a: Face,
    face_b: Face,
    thickness: float,
    margin_a: float = 0.0,
    margin_b: float = 0.0,
    *,
    most: Strip | None = None,
) -> PlanePair:
    """Planes of a given thickness: first the least greatest depth of cut on either face, then both faces cut alike.

    Over one region the volume cut depends on the thickness alone, so it decides nothing. Of all planes that leave the
    margins, first those whose deepest cut, on either face, is least (fewest passes) are kept, a linear program; among
    them the least sum of |cut of A - cut of B|, reading by reading, is taken, another one. Both are solved in the frame
    of their own answer, where vertical and normal distance are the same, on a working set of readings that grows until no
    reading of either face is missed. Where readings of the two faces do not stand at the same places, a reading of A is
    compared with the three nearest of B, weighted by nearness; of many, 1500 pairs are compared.

    Args:
        face_a: readings of the upper face [mm]
        face_b: readings of the lower face [mm]
        thickness: normal distance of the planes [mm]
        margin_a: wood that every reading of face A keeps above the upper plane, along its normal [mm]
        margin_b: wood that every reading of face B keeps below the lower plane [mm]
        most: the widest strip of these faces, where it is known already

    Returns:
        The planes.

    Raises:
        Infeasible: the margins and the thickness together are more than the thickest board.
        ValueError: thickness not above zero, or what `widest_strip` raises.
    """
    if not thickness > 0.0:
        raise ValueError("thickness must be greater than 0")
    most = most or widest_strip(face_a, face_b)
    slack = most.thickness - margin_a - margin_b - thickness
    if slack < -1e-9:
        raise Infeasible("the readings do not give that thickness with those margins")
    wanted = _Wanted(thickness, margin_a, margin_b)
    working = _Working(face_a, face_b)
    normal, height = np.array([-most.planes.a, -most.planes.b, 1.0]), None
    if slack > _NO_CHOICE:
        normal, height = _settled(working, _pairs(face_a, face_b, most.planes) - 2.0 * working.middle, normal, wanted)
    return _planes(working, normal, height, wanted)


def _normal(turn: Floats, unknowns: Floats, size: float) -> Floats:
    return np.asarray(turn.T @ np.array([-unknowns[0] / size, -unknowns[1] / size, 1.0]))


def _settled(working: _Working, twins: Floats, normal: Floats, wanted: _Wanted) -> tuple[Floats, float]:
    """Normal and height of the upper plane in the frame of the answer: solved, turned there, and solved again."""
    height = 0.0
    for _ in range(_MOST_TURNS):
        turn = PlanePair(float(-normal[0] / normal[2]), float(-normal[1] / normal[2]), 0.0, 0.0).rotation()
        depth = _least_depth(working, turn, wanted)
        unknowns = _most_alike(working, turn, depth, twins @ turn.T, wanted)
        normal, height = _normal(turn, unknowns, working.size), float(unknowns[2])
        if np.abs(unknowns[:2]).max() <= 1e-6 * working.size:
            break
    return normal, height


def _least_depth(working: _Working, turn: Floats, wanted: _Wanted) -> float:
    """The least greatest depth of cut [mm]."""
    from scipy.optimize import linprog

    depth = 0.0
    for _ in range(_MOST_SEARCHES):
        rows, heights, share = working.limits(turn, wanted)
        solved = linprog(
            [0.0, 0.0, 0.0, 1.0],
            A_ub=np.column_stack([rows, -share]),
            b_ub=heights,
            bounds=[(None, None)] * 4,
            method="highs-ds",
        )
        if solved.status != 0 or solved.x is None:
            raise Infeasible("the readings do not give that thickness with those margins")
        depth = float(solved.x[3])
        if not working.missed(turn, np.asarray(solved.x[:3]), depth, wanted):
            break
    return depth


def _most_alike(working: _Working, turn: Floats, depth: float, twins: Floats, wanted: _Wanted) -> Floats:
    """Among the planes of that greatest depth, the least sum of |cut of A - cut of B|: its dual, three rows only."""
    from scipy.optimize import linprog

    sums = np.column_stack([twins[:, :2] / working.size, np.full(len(twins), 2.0)])
    heights_twins = twins[:, 2] + wanted.thickness
    depth += 10.0 * _FINE
    unknowns = np.zeros(3)
    for _ in range(_MOST_SEARCHES):
        rows, heights, share = working.limits(turn, wanted)
        solved = linprog(
            np.concatenate([-heights_twins, heights + depth * share]),
            A_eq=np.vstack([sums, -rows]).T,
            b_eq=np.zeros(3),
            bounds=[(-1.0, 1.0)] * len(sums) + [(0.0, None)] * len(rows),
            method="highs-ds",
        )
        if solved.status != 0:
            raise Infeasible("the readings do not give that thickness with those margins")
        unknowns = -np.asarray(solved.eqlin.marginals, dtype=np.float64)
        if not working.missed(turn, unknowns, depth, wanted):
            break
    return unknowns


def _pairs(face_a: Face, face_b: Face, planes: PlanePair) -> Floats:
    """Sums of a place of face A and its twin on face B, shape (n, 3): half of each is on the mid-surface.

    Between readings, what face B's stand off the lower plane is averaged, not their heights: the slab may lie tilted.
    """
    draw = np.random.default_rng(0)
    if isinstance(face_a, Grid) and isinstance(face_b, Grid) and face_a.z.shape == face_b.z.shape:
        same = bool(np.array_equal(face_a.x, face_b.x) and np.array_equal(face_a.y, face_b.y))
        sums = face_a.z + face_b.z
        read = np.flatnonzero(~np.isnan(sums))
        if same and read.size:
            row, column = np.divmod(read[_some(draw, read.size, _PAIRS)], face_a.y.size)
            return np.column_stack([2.0 * face_a.x[row], 2.0 * face_a.y[column], sums[row, column]])
    from scipy.spatial import cKDTree

    upper, lower = as_scatter(face_a), as_scatter(face_b)
    here, there = _some(draw, len(upper), _PAIRS), _some(draw, len(lower), _TWINS_AMONG)
    count = min(3, there.size)
    tree = cKDTree(np.column_stack([lower.x[there], lower.y[there]]))
    far, near = tree.query(np.column_stack([upper.x[here], upper.y[here]]), k=count)
    far, near = np.reshape(far, (-1, count)), np.reshape(near, (-1, count))
    weights = 1.0 / np.maximum(far, 1e-6)
    off = lower.z[there] - planes.lower(lower.x[there], lower.y[there])
    twin = planes.lower(upper.x[here], upper.y[here]) + (weights * off[near]).sum(axis=1) / weights.sum(axis=1)
    return np.column_stack([2.0 * upper.x[here], 2.0 * upper.y[here], upper.z[here] + twin])


def _some(draw: np.random.Generator, count: int, most: int) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Places of so many at most, drawn without order; the same ones each time."""
    return np.arange(count) if count <= most else np.sort(draw.choice(count, most, replace=False))


def _planes(working: _Working, normal: Floats, height: float | None, wanted: _Wanted) -> PlanePair:
    """The planes in the slab's frame, their height put between what the readings of both faces allow."""
    a, b = float(-normal[0] / normal[2]), float(-normal[1] / normal[2])
    slant = float(np.sqrt(1.0 + a * a + b * b))
    highest = working.seekers[0].seek(a, b)[0] - wanted.margin_a * slant
    lowest = working.seekers[2].seek(a, b)[0] + (wanted.margin_b + wanted.thickness) * slant
    c = (highest + lowest) / 2.0
    if height is not None and lowest <= highest:
        shift = float(working.middle[2] - a * working.middle[0] - b * working.middle[1])
        c = min(max(height / float(normal[2]) + shift, lowest), highest)
    return PlanePair(a, b, c, c - wanted.thickness * slant)
