"""Outlines: closed polygons in plan, their faults and their making from what was scanned."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, is_valid_reason
from shapely.geometry.base import BaseGeometry

from slabwright.geometry.faces import Floats
from slabwright.geometry.scans import least_cell


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


def largest(shape: BaseGeometry) -> Polygon | None:
    """The largest polygon of a geometry, its holes filled, or None where it has none."""
    found: Polygon | None = None
    for part in shapely.get_parts(shape).tolist():
        if isinstance(part, Polygon) and (found is None or part.area > found.area):
            found = part
    return None if found is None else Polygon(found.exterior)


def corners_of(polygon: Polygon, tolerance: float = 0.5) -> Floats:
    """The corners of a polygon's outer ring, anticlockwise, not closed, thinned within a tolerance.

    Args:
        polygon: what was found
        tolerance: how far the thinned ring may lie from the ring [mm]
    """
    corners: Floats = shapely.get_coordinates(polygon.simplify(tolerance))[:-1]
    return corners if signed_area(corners) > 0 else corners[::-1].copy()


def outline_of_triangles(plan: Floats, triangles: NDArray[np.int64], spacing: float) -> Polygon | None:
    """The outline in plan of a part of a mesh: the edges that one triangle only has.

    Args:
        plan: x, y of the mesh's points, shape (n, 2) [mm]
        triangles: the part's triangles, shape (m, 3)
        spacing: distance of neighbouring points; spikes and gaps narrower than it are smoothed away [mm]

    Returns:
        The largest closed outline, holes filled, or None where there is none.
    """
    ends = np.sort(np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1)
    names = ends[:, 0].astype(np.int64) * len(plan) + ends[:, 1]
    edges, count = np.unique(names, return_counts=True)
    border = edges[count == 1]
    if border.size < 3:
        return None
    lines = shapely.linestrings(plan[np.column_stack([border // len(plan), border % len(plan)])])
    rings = shapely.get_parts(shapely.polygonize(shapely.get_parts(shapely.node(shapely.multilinestrings(lines)))))
    found = largest(shapely.unary_union([Polygon(ring.exterior) for ring in rings if isinstance(ring, Polygon)]))
    if found is None:
        return None
    smooth = largest(found.buffer(spacing, join_style="mitre").buffer(-2 * spacing, join_style="mitre"))
    return None if smooth is None else largest(smooth.buffer(spacing, join_style="mitre"))


def outline_of_points(x: Floats, y: Floats, spacing: float) -> Polygon | None:
    """The outline of an area that is strewn with points of about even density.

    Points are counted in square cells of two spacings; the count over that of the neighbourhood, smoothed, is one inside
    and nought outside, and its contour at one half runs where the points end, on average, whatever cells they fall into.

    Args:
        x: shape (n,) [mm]
        y: shape (n,) [mm]
        spacing: distance of neighbouring points [mm]

    Returns:
        The largest closed outline, holes filled, or None where there is none.
    """
    from contourpy import contour_generator
    from scipy.ndimage import gaussian_filter

    cell, rim = max(2.0 * spacing, least_cell(x, y)), 4
    low_x, low_y = float(x.min()) - rim * cell, float(y.min()) - rim * cell
    columns = int((x.max() - low_x) / cell) + 1 + rim
    rows = int((y.max() - low_y) / cell) + 1 + rim
    place = ((y - low_y) / cell).astype(np.int64) * columns + ((x - low_x) / cell).astype(np.int64)
    count = np.bincount(place, minlength=rows * columns).reshape(rows, columns).astype(np.float64)
    near_count, near_cells = gaussian_filter(count, 4.0), gaussian_filter((count > 0).astype(np.float64), 4.0)
    usual = near_count / np.maximum(near_cells, 1e-6)
    filled = gaussian_filter(np.minimum(count / np.maximum(usual, 1e-6), 2.0), 1.0)
    lines = contour_generator(
        low_x + cell * (np.arange(columns) + 0.5), low_y + cell * (np.arange(rows) + 0.5), filled
    ).lines(0.5)
    loops = [Polygon(line) for line in lines if isinstance(line, np.ndarray) and len(line) >= 4]
    # The outermost points of a regular scan stand on the border, those of a strewn one within it: the difference is shared.
    return largest(shapely.unary_union([loop.buffer(0) for loop in loops]).buffer(-spacing / 6)) if loops else None
