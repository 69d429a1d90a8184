"""The widest strip between two faces: the pair of parallel planes that leaves the thickest board between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slabwright.geometry.faces import Face, Floats
from slabwright.geometry.hull_distance import hull_distance
from slabwright.geometry.lowest import Seeker, seeker
from slabwright.geometry.planes import PlanePair
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
    origin = _origin(upper, lower)
    first, second = upper.start() - origin, lower.start() - origin
    _refuse_line(first, second)
    best: tuple[float, float, float, float, float] | None = None
    scans = 0
    bound, contacts = np.inf, (first, second)
    for scans in range(1, _MOST_SCANS + 1):
        near = hull_distance(first, second)
        if near.distance <= tolerance or near.apart[2] <= 0.0:
            return _overlap(upper, lower, origin, first, second, scans - 1, tolerance)
        bound, contacts = near.distance, (first[near.first], second[near.second])
        a, b = -near.apart[0] / near.apart[2], -near.apart[1] / near.apart[2]
        c, high = upper.seek(a, b)
        d, low = lower.seek(a, b)
        width = (c - d) / float(np.sqrt(1.0 + a * a + b * b))
        if best is None or width > best[0]:
            best = (width, a, b, c, d)
        if bound - best[0] <= tolerance:
            break
        grown_first, grown_second = _grown(first, high - origin), _grown(second, low - origin)
        if len(grown_first) == len(first) and len(grown_second) == len(second):
            break
        first, second = grown_first, grown_second
    if best is None:
        raise ValueError("no planes were found")
    _, a, b, c, d = best
    planes = _cleared(upper, lower, a, b, c, d)
    return Strip(planes, planes.thickness, bound, contacts[0] + origin, contacts[1] + origin, scans)


def _origin(upper: Seeker, lower: Seeker) -> Floats:
    """The middle of both faces: slabs lie anywhere in their frame, and differences are best taken near zero."""
    least = np.minimum(upper.least, lower.least)
    most = np.maximum(upper.most, lower.most)
    return np.asarray((least + most) / 2.0)


def _refuse_line(first: Floats, second: Floats) -> None:
    plan = np.vstack([first, second])[:, :2]
    plan = plan - plan.mean(axis=0)
    spread = np.linalg.svd(plan, compute_uv=False)
    if spread.size < 2 or spread[1] <= 1e-9 * max(spread[0], 1e-300):
        raise ValueError("all readings lie on one line in plan; read at least three places that are not in a line")


def _grown(points: Floats, more: Floats) -> Floats:
    """The points with those of `more` that are new."""
    fresh = [point for point in more if not bool((points == point).all(axis=1).any())]
    return np.vstack([points, *fresh]) if fresh else points


def _cleared(upper: Seeker, lower: Seeker, a: float, b: float, c: float, d: float) -> PlanePair:
    """The planes, drawn together by what rounding can take, so that every reading clears them when it is put in."""
    size = np.maximum(np.abs(np.minimum(upper.least, lower.least)), np.abs(np.maximum(upper.most, lower.most)))
    rounding = 8.0 * float(np.finfo(np.float64).eps) * float(size @ np.array([abs(a), abs(b), 1.0]))
    return PlanePair(float(a), float(b), c - rounding, d + rounding)


def _overlap(
    upper: Seeker, lower: Seeker, origin: Floats, first: Floats, second: Floats, scans: int, tolerance: float
) -> Strip:
    a, b, c, d, contacts_a, contacts_b, more = signed_strip(upper, lower, origin, first, second, tolerance)
    planes = _cleared(upper, lower, a, b, c, d)
    return Strip(planes, min(planes.thickness, 0.0), 0.0, contacts_a + origin, contacts_b + origin, scans + more)
