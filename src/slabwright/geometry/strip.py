"""The widest strip between two faces: the pair of parallel planes that leaves the thickest board between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slabwright.geometry.faces import Face, Floats
from slabwright.geometry.hull_distance import HullDistance, hull_distance
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.seeker import Seeker, seeker
from slabwright.geometry.signed import signed_strip

_MOST_SCANS = 400


@dataclass(frozen=True)
class Strip:
    """The widest strip.

    Attributes:
        planes: every reading of face A lies on or above the upper one, every reading of face B on or below the lower one
        thickness: normal distance of the planes [mm]; not above 0 where the hulls of the faces meet
        bound: no pair of planes gives more: the distance of a point of one hull to one of the other [mm]; 0 where they meet
        contacts_a: readings of face A that the optimum rests on, shape (k, 3) [mm]
        contacts_b: readings of face B that the optimum rests on, shape (m, 3) [mm]
        scans: how often all readings of both faces were searched
    """

    planes: PlanePair
    thickness: float
    bound: float
    contacts_a: Floats
    contacts_b: Floats
    scans: int


def widest_strip(face_a: Face, face_b: Face, *, tolerance: float = 1e-5) -> Strip:
    """The pair of parallel planes with the greatest normal distance that clears both faces.

    Its width equals the distance between the convex hulls of the two faces: every pair of planes that clears them is a
    lower bound, every pair of points of the hulls an upper one. The hull distance is solved exactly on a working set of
    readings; all readings are searched for those that the planes cut off most; they are added, until none is left.

        thickness = max over (a, b) of (min over A of (z - a x - b y) - max over B of (z - a x - b y)) / sqrt(1 + a^2 + b^2)

    Args:
        face_a: readings of the upper face [mm]
        face_b: readings of the lower face [mm]
        tolerance: greatest difference between `bound` and `thickness` that is accepted [mm]

    Returns:
        The strip. Where the hulls meet no board exists: the planes then overlap least, found by the signed problem, and
        `thickness` is not above 0.

    Raises:
        ValueError: a face without readings, a height that is infinite, both faces on one line in plan, or faces that do
            not lie above one another.
    """
    upper, lower = seeker(face_a, lowest=True), seeker(face_b, lowest=False)
    first, second = upper.start(), lower.start()
    both = np.vstack([first, second])
    origin = np.asarray((both.min(axis=0) + both.max(axis=0)) / 2.0)
    first, second = first - origin, second - origin
    _refuse_line(both)
    part_upper, part_lower = upper.sample(), lower.sample()
    if part_upper is not upper or part_lower is not lower:
        part = _widen(part_upper, part_lower, origin, first, second, tolerance)
        first, second = part.first, part.second
    found = _widen(upper, lower, origin, first, second, tolerance)
    if found.meets:
        return _overlap(upper, lower, origin, found, tolerance)
    planes = _cleared(upper, lower, *found.planes)
    return Strip(
        planes, planes.thickness, found.bound, found.contacts_a + origin, found.contacts_b + origin, found.scans
    )


@dataclass(frozen=True)
class _Widened:
    """Where a growing working set came to; points are less the origin."""

    planes: tuple[float, float, float, float]
    bound: float
    first: Floats
    second: Floats
    contacts_a: Floats
    contacts_b: Floats
    scans: int
    meets: bool


def _widen(upper: Seeker, lower: Seeker, origin: Floats, first: Floats, second: Floats, tolerance: float) -> _Widened:
    """The hull distance on a working set that grows by what each search of all readings finds."""
    best, planes = -np.inf, (0.0, 0.0, 0.0, 0.0)
    near: HullDistance | None = None
    scans = 0
    while True:
        near = hull_distance(first, second, near)
        carriers = (first[sorted(set(near.rows))], second[sorted(set(near.columns))])
        if near.distance <= tolerance or near.apart[2] <= 0.0:
            return _Widened(planes, 0.0, first, second, *carriers, scans, True)
        a, b = float(-near.apart[0] / near.apart[2]), float(-near.apart[1] / near.apart[2])
        c, high = upper.seek(a, b)
        d, low = lower.seek(a, b)
        scans += 1
        width = (c - d) / float(np.sqrt(1.0 + a * a + b * b))
        if width > best:
            best, planes = width, (a, b, c, d)
        grown_first, grown_second = _grown(first, high - origin), _grown(second, low - origin)
        settled = len(grown_first) == len(first) and len(grown_second) == len(second)
        if near.distance - best <= tolerance or settled or scans >= _MOST_SCANS:
            return _Widened(planes, near.distance, first, second, *carriers, scans, False)
        first, second = grown_first, grown_second


def _refuse_line(points: Floats) -> None:
    plan = points[:, :2] - points[:, :2].mean(axis=0)
    spread = np.linalg.svd(plan, compute_uv=False)
    if spread.size < 2 or spread[1] <= 1e-9 * max(spread[0], 1e-300):
        raise ValueError("all readings lie on one line in plan; read at least three places that are not in a line")


def _grown(points: Floats, more: Floats) -> Floats:
    """The points with those of `more` that are new."""
    fresh = ~(more[:, None, :] == points).all(axis=2).any(axis=1)
    return np.vstack([points, more[fresh]])


def _cleared(upper: Seeker, lower: Seeker, a: float, b: float, c: float, d: float) -> PlanePair:
    """The planes, drawn together by what rounding can take, so that every reading clears them when it is put in."""
    lean = float(np.maximum(upper.reach, lower.reach) @ np.abs([a, b]))
    rounding = 32.0 * float(np.finfo(np.float64).eps)
    return PlanePair(a, b, c - rounding * (2.0 * lean + abs(c)), d + rounding * (2.0 * lean + abs(d)))


def _overlap(upper: Seeker, lower: Seeker, origin: Floats, found: _Widened, tolerance: float) -> Strip:
    a, b, c, d, contacts_a, contacts_b, more = signed_strip(upper, lower, origin, found.first, found.second, tolerance)
    planes = _cleared(upper, lower, a, b, c, d)
    return Strip(planes, planes.thickness, 0.0, contacts_a + origin, contacts_b + origin, found.scans + more)
