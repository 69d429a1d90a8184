"""Heights drawn between the readings of a face, on a fine grid."""

from __future__ import annotations

import math
from typing import cast

import numpy as np
from shapely import Polygon

from slabwright.geometry.between import at_nearest
from slabwright.geometry.cells import MOST_CELLS
from slabwright.geometry.faces import Face, Floats, Grid, Scatter

LEAST_PLACES, MOST_PLACES = 60_000, 200_000
"""Of the fine grid that patches are drawn on between readings: two for each reading within these."""


def drawn_between(face: Face, region: Polygon) -> Grid:
    """Heights between readings on a fine grid over the region; beyond the outermost, that of the nearest.

    Between the lines of a grid along one axis, then the other; between scattered readings on the Delaunay triangles; above
    100,000 scattered readings their mean in small bins.

    Args:
        face: the readings
        region: the fine grid covers its extent

    Returns:
        The fine grid; at least six places from one reading to the next, unless that makes very many.
    """
    if isinstance(face, Scatter) and len(face) > MOST_CELLS:
        return _binned(face, region)
    low_x, low_y, high_x, high_y = region.bounds
    spacing = math.sqrt(region.area / max(len(face), 1))
    most = min(max(2 * len(face), LEAST_PLACES), MOST_PLACES)
    side = max(min(spacing / 6.0, 10.0), math.sqrt((high_x - low_x) * (high_y - low_y) / most))
    x = np.linspace(low_x, high_x, max(2, math.ceil((high_x - low_x) / side) + 1))
    y = np.linspace(low_y, high_y, max(2, math.ceil((high_y - low_y) / side) + 1))
    return Grid(x, y, _between_lines(face, x, y) if isinstance(face, Grid) else _between_places(face, x, y))


def _between_lines(face: Grid, x: Floats, y: Floats) -> Floats:
    """Heights between the lines of a grid: along one axis, then along the other."""
    z = _filled_in(face.z)
    along = np.column_stack([np.interp(x, face.x, column) for column in z.T])
    return np.vstack([np.interp(y, face.y, row) for row in along])


def _between_places(face: Scatter, x: Floats, y: Floats) -> Floats:
    """Heights on the triangles between scattered readings; beyond them that of the nearest place on one."""
    from scipy.spatial import Delaunay

    middle = np.array([0.5 * (x[0] + x[-1]), 0.5 * (y[0] + y[-1])])
    places = np.column_stack([face.x, face.y]) - middle
    x, y = x - middle[0], y - middle[1]
    if np.linalg.matrix_rank(places - places.mean(axis=0), tol=1e-3) < 2:
        across, along = np.meshgrid(x, y, indexing="ij")
        return at_nearest(places, face.z, np.column_stack([across.ravel(), along.ravel()])).reshape(across.shape)
    corners = Delaunay(places).simplices
    first, second, third = (places[corners[:, each]] for each in range(3))
    double = _cross(second - first, third - first)
    whole = np.abs(double) > 1e-6
    corners, double = corners[whole], double[whole]
    first, second, third = first[whole], second[whole], third[whole]
    low, high = np.minimum(np.minimum(first, second), third) - 1e-6, np.maximum(np.maximum(first, second), third) + 1e-6
    column, row = np.searchsorted(x, low[:, 0]), np.searchsorted(y, low[:, 1])
    wide, deep = np.searchsorted(x, high[:, 0], "right") - column, np.searchsorted(y, high[:, 1], "right") - row
    count = wide * deep
    which = np.repeat(np.arange(len(count)), count)
    at = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
    i, j = column[which] + at // deep[which], row[which] + at % deep[which]
    place = np.column_stack([x[i], y[j]])
    share_b = _cross(place - first[which], (third - first)[which]) / double[which]
    share_c = _cross((second - first)[which], place - first[which]) / double[which]
    inside = (share_b >= -1e-7) & (share_c >= -1e-7) & (share_b + share_c <= 1.0 + 1e-7)
    height = face.z[corners][which]
    z = np.full((len(x), len(y)), np.nan)
    drawn = height[:, 0] + share_b * (height[:, 1] - height[:, 0]) + share_c * (height[:, 2] - height[:, 0])
    z[i[inside], j[inside]] = drawn[inside]
    return _filled_in(z)


def _cross(u: Floats, v: Floats) -> Floats:
    """Twice the area between vectors in the plane, shape (n, 2) each."""
    area: Floats = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    return area


def _filled_in(z: Floats) -> Floats:
    """Missing heights of a grid taken from the nearest that is there."""
    from scipy.ndimage import distance_transform_edt

    missing = np.isnan(z)
    if not missing.any():
        return z
    nearest = cast(Floats, distance_transform_edt(missing, return_distances=False, return_indices=True))
    filled: Floats = z[nearest[0], nearest[1]]
    return filled


def _binned(readings: Scatter, region: Polygon) -> Grid:
    """Mean heights of dense scattered readings in bins; an empty bin takes the nearest one's."""
    low_x, low_y, high_x, high_y = region.bounds
    side = math.sqrt(region.area * 4.0 / len(readings))
    edges_x = np.linspace(low_x, high_x, max(2, round((high_x - low_x) / side)) + 1)
    edges_y = np.linspace(low_y, high_y, max(2, round((high_y - low_y) / side)) + 1)
    bins = (edges_x, edges_y)
    count = np.histogram2d(readings.x, readings.y, bins)[0]
    height = np.histogram2d(readings.x, readings.y, bins, weights=readings.z)[0]
    z = _filled_in(np.where(count > 0, height / np.maximum(count, 1.0), np.nan))
    return Grid(0.5 * (edges_x[:-1] + edges_x[1:]), 0.5 * (edges_y[:-1] + edges_y[1:]), z)
