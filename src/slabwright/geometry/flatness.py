"""Minimum-zone flatness: the least distance between two parallel planes that hold a face between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slabwright.geometry.faces import Face, Floats, Grid, Scatter, as_scatter
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.seeker import seeker
from slabwright.geometry.signed import signed_strip

_MOST_PRODUCTS = 50_000_000


@dataclass(frozen=True)
class Zone:
    """The minimum zone.

    Attributes:
        width: normal distance of the two planes [mm]
        a: slope of both planes along x
        b: slope of both planes along y
        c: height, at the origin, of the plane midway between them [mm]
        bound: no pair of planes lies closer than this [mm]
    """

    width: float
    a: float
    b: float
    c: float
    bound: float


def minimum_zone(face: Face | Floats) -> Zone:
    """Minimum-zone flatness of a face (reference planes MZPL of ISO 12781-1, definition from memory).

    The strip problem of one face against itself, with the sign turned: the planes overlap, and least is sought. It is
    solved from the least-squares plane, in its own frame, turned until the tilt is nil. There the convex vertical problem
    shows that planes turned by an angle p lie no closer than `width cos p`; and a face of least plan width W lies in no
    zone turned by p that is narrower than `W sin p - width`. Where the two leave room for something narrower (a compact
    body rather than a face), every pair of edges and every facet of the convex hull is tried.

    Args:
        face: a face, or points of shape (n, 3) [mm]

    Returns:
        The zone with its bound.

    Raises:
        ValueError: fewer than three readings, or all in a line in plan.
    """
    scatter = as_scatter(face) if isinstance(face, Scatter | Grid) else Scatter(face[:, 0], face[:, 1], face[:, 2])
    points = np.column_stack([scatter.x, scatter.y, scatter.z])
    if len(points) < 3:
        raise ValueError("flatness wants at least three readings")
    middle = points.mean(axis=0)
    points = points - middle
    plan = np.linalg.svd(points[:, :2], compute_uv=False)
    if plan[1] <= 1e-9 * max(plan[0], 1e-300):
        raise ValueError("all readings lie on one line in plan; read at least three places that are not in a line")
    normal = np.linalg.svd(points, full_matrices=False)[2][-1]
    if abs(normal[2]) < 1e-3:
        normal = np.array([0.0, 0.0, 1.0])
    slopes = _slopes(normal)
    level = PlanePair(slopes[0], slopes[1], 0.0, 0.0)
    width, slopes = _local(level.to_seat(points), level)
    across = _least_plan_width(PlanePair(slopes[0], slopes[1], 0.0, 0.0).to_seat(points)[:, :2])
    bound = width * _least_cosine(width, across)
    if width - bound > 1e-6 * max(width, 1e-300):
        found = _by_hull(points)
        if found is not None:
            width, slopes = min((width, slopes), found, key=lambda one: one[0])
            bound = width
    rest = points[:, 2] - slopes[0] * points[:, 0] - slopes[1] * points[:, 1]
    height = float(rest.max() + rest.min()) / 2.0
    a, b = slopes
    return Zone(float(width), a, b, float(height + middle[2] - a * middle[0] - b * middle[1]), float(bound))


def _slopes(normal: Floats) -> tuple[float, float]:
    return float(-normal[0] / normal[2]), float(-normal[1] / normal[2])


def _local(points: Floats, level: PlanePair) -> tuple[float, tuple[float, float]]:
    """The zone that the signed problem reaches from a frame: its width, and its slopes in the unturned frame."""
    face = Scatter(points[:, 0], points[:, 1], points[:, 2])
    upper, lower = seeker(face, lowest=True), seeker(face, lowest=False)
    origin = np.zeros(3)
    a, b, c, d, *_ = signed_strip(upper, lower, origin, upper.start(), lower.start(), 1e-9)
    width = (d - c) / float(np.sqrt(1.0 + a * a + b * b))
    return width, _slopes(level.rotation().T @ np.array([-a, -b, 1.0]))


def _least_plan_width(plan: Floats) -> float:
    """Least width of the plan: over the edges of its hull, the greatest distance from the edge."""
    from scipy.spatial import ConvexHull

    hull = ConvexHull(plan)
    reach = hull.equations[:, :2] @ plan[hull.vertices].T + hull.equations[:, 2:]
    return float(np.min(-reach.min(axis=1)))


def _least_cosine(width: float, across: float) -> float:
    """Cosine of the greatest turn at which a zone no wider than `width` could still hold the face."""
    sine = min(1.0, 2.0 * width / across) if across > 0.0 else 1.0
    return float(np.sqrt(1.0 - sine * sine))


def _by_hull(points: Floats) -> tuple[float, tuple[float, float]] | None:
    """The narrowest zone over every facet and every pair of edges of the hull; None where there are too many.

    The narrowest zone of a body touches it with a facet and a point, or with two edges.
    """
    from scipy.spatial import ConvexHull

    size = float(np.abs(points).max())
    thin = np.linalg.svd(points, compute_uv=False)[-1]
    if thin <= 1e-12 * size:
        return None
    hull = ConvexHull(points)
    corners = points[hull.vertices]
    sides = np.unique(
        np.sort(np.vstack([hull.simplices[:, pair] for pair in ([0, 1], [1, 2], [2, 0])]), axis=1), axis=0
    )
    if len(sides) ** 2 * len(corners) > _MOST_PRODUCTS:
        return None
    ways = points[sides[:, 1]] - points[sides[:, 0]]
    ways = ways / np.linalg.norm(ways, axis=1)[:, None]
    one, other = np.triu_indices(len(ways), 1)
    normals = np.vstack([np.cross(ways[one], ways[other]), hull.equations[:, :3]])
    lengths = np.linalg.norm(normals, axis=1)
    upright = (lengths > 1e-9) & (np.abs(normals[:, 2]) > 1e-6 * lengths)
    normals = normals[upright] / lengths[upright, None]
    reach = normals @ corners.T
    widths = np.ptp(reach, axis=1)
    best = int(np.argmin(widths))
    return float(widths[best]), _slopes(normals[best])
