"""How densely a face was read: heights between its readings, their spacing, and border that nobody read."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import Polygon

from slabwright.geometry.between import in_triangles
from slabwright.geometry.faces import Face, Floats, Grid, Scatter, as_scatter
from slabwright.slab.region import hull

_FEW = 20_000


def thinned(face: Face, most: int = _FEW) -> Scatter:
    """A sample of a face's readings, spread evenly: one reading for each cell of a raster where there are more.

    Args:
        face: readings
        most: about how many are kept
    """
    if isinstance(face, Grid):
        step = max(1, int(np.sqrt(face.z.size / most)))
        return as_scatter(Grid(face.x[::step], face.y[::step], face.z[::step, ::step]))
    if len(face) <= most:
        return face
    low_x, high_x, low_y, high_y = face.x.min(), face.x.max(), face.y.min(), face.y.max()
    size = max(float(np.sqrt((high_x - low_x) * (high_y - low_y) / most)), 1e-9)
    across = int((high_y - low_y) / size) + 1
    cell = ((face.x - low_x) / size).astype(np.int64) * across + ((face.y - low_y) / size).astype(np.int64)
    order = np.full((int((high_x - low_x) / size) + 1) * across, -1, dtype=np.int64)
    order[cell] = np.arange(cell.size)
    kept = order[order >= 0]
    return Scatter(face.x[kept], face.y[kept], face.z[kept])


def spans(face: Face) -> bool:
    """Whether readings tell of a plane: three at least that are not in a line."""
    if isinstance(face, Grid):
        read = ~np.isnan(face.z)
        # Two rows and two columns are enough of a grid, but for readings down a diagonal: few, looked at one by one.
        if np.count_nonzero(read) > face.x.size + face.y.size:
            return True
    places = as_scatter(face)
    if len(places) < 3:
        return False
    narrow, wide = np.linalg.eigvalsh(np.cov(np.vstack([places.x, places.y])))
    return bool(narrow > 1e-8 * wide)


def heights_at(face: Face, x: Floats, y: Floats) -> Floats:
    """Heights of a face between its readings; `nan` outside them.

    A grid is interpolated within its cells, few scattered readings within their triangles; of many scattered readings the
    nearest one is taken.

    Args:
        face: readings
        x: places, shape (n,) [mm]
        y: places, shape (n,) [mm]

    Returns:
        Shape (n,) [mm].
    """
    if isinstance(face, Grid):
        return _between_grid(face, x, y)
    if len(face) <= _FEW:
        return in_triangles(np.column_stack([face.x, face.y]), face.z, np.column_stack([x, y]))
    from scipy.spatial import cKDTree

    tree = cKDTree(np.column_stack([face.x, face.y]), balanced_tree=False, compact_nodes=False)
    _, nearest = tree.query(np.column_stack([x, y]))
    return np.asarray(face.z[nearest], dtype=np.float64)


def spacing(face: Face) -> float:
    """Typical distance between neighbouring readings: the median distance to the nearest one [mm].

    Args:
        face: readings; of many scattered ones a strip across the middle is looked at
    """
    if isinstance(face, Grid):
        steps = [float(np.median(np.diff(axis))) for axis in (face.x, face.y) if axis.size > 1]
        return min(steps, default=0.0)
    from scipy.spatial import cKDTree

    points = np.column_stack([face.x, face.y])
    if len(points) > _FEW:
        middle = np.median(face.x)
        points = points[np.argpartition(np.abs(face.x - middle), _FEW)[:_FEW]]
    points = np.unique(points, axis=0)
    if len(points) < 2:
        return 0.0
    distance: Floats = np.asarray(cKDTree(points).query(points, k=2)[0], dtype=np.float64)
    return float(np.median(distance[:, 1]))


def unread(region: Polygon, face: Face, apart: float, most: int = 4) -> tuple[float, tuple[tuple[float, float], ...]]:
    """How far a region's border lies beyond what was read, and where it is worst.

    A border place counts as read where it lies within the readings' hull and no further from a reading than the middle of
    a typical gap between readings is.

    Args:
        region: clean region
        face: all readings of that face
        apart: typical distance between readings [mm]
        most: how many places are handed back

    Returns:
        The greatest distance [mm], and the worst places (x, y), worst first and well apart [mm].
    """
    from scipy.spatial import cKDTree

    sample = thinned(face)
    points = np.column_stack([sample.x, sample.y])
    step = max(apart / 2, region.length / 2000)
    border = np.unique(shapely.get_coordinates(shapely.segmentize(region.exterior, step)), axis=0)
    beyond_hull: Floats = np.asarray(shapely.distance(hull(face), shapely.points(border)), dtype=np.float64)
    nearest: Floats = np.asarray(cKDTree(points).query(border)[0], dtype=np.float64)
    beyond = np.maximum(beyond_hull, nearest - _gap(thinned(face, 4000)))
    beyond = np.maximum(beyond, 0.0)
    places: list[tuple[float, float]] = []
    for index in np.argsort(-beyond, kind="stable"):
        if len(places) == most or beyond[index] <= max(apart / 2, beyond.max() / 4):
            break
        x, y = float(border[index, 0]), float(border[index, 1])
        if all(np.hypot(x - other[0], y - other[1]) > max(4 * apart, region.length / 12) for other in places):
            places.append((x, y))
    return float(beyond.max()), tuple(places)


def _gap(sample: Scatter) -> float:
    """Distance from the middle of a typical gap to its readings: median radius round the triangles of readings."""
    from scipy.spatial import Delaunay, QhullError

    points = np.column_stack([sample.x, sample.y])
    try:
        corners = points[Delaunay(points).simplices]
    except QhullError:
        return float("inf")
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
    ab, ac = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    doubled = np.abs(ab[:, 0] * ac[:, 1] - ab[:, 1] * ac[:, 0])
    sound = doubled > 1e-9 * sides.max(axis=1) ** 2
    return float(np.median(sides[sound].prod(axis=1) / (2.0 * doubled[sound])))


def _between_grid(face: Grid, x: Floats, y: Floats) -> Floats:
    row = np.clip(np.searchsorted(face.x, x, side="right") - 1, 0, face.x.size - 2)
    column = np.clip(np.searchsorted(face.y, y, side="right") - 1, 0, face.y.size - 2)
    u = (x - face.x[row]) / (face.x[row + 1] - face.x[row])
    v = (y - face.y[column]) / (face.y[column + 1] - face.y[column])
    height = np.zeros(np.shape(x))
    for along, part_x in ((0, 1 - u), (1, u)):
        for across, part_y in ((0, 1 - v), (1, v)):
            part = part_x * part_y
            corner = face.z[row + along, column + across]
            height += np.where(part == 0, 0.0, part * corner)
    outside = (u < -1e-9) | (u > 1 + 1e-9) | (v < -1e-9) | (v > 1 + 1e-9)
    return np.where(outside, np.nan, height)
