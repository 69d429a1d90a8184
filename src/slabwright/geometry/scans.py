"""Scans of a whole slab: which way is up, which points belong to which face, and where a face ends in its edges."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats

Mask = NDArray[np.bool_]

STEEP = 1.0
"""Slope beyond which a surface is an edge of the slab and no face (45 degrees)."""
FEW = 400
"""Points; below, neighbourhoods tell nothing and the whole is looked at."""


def laid_flat(points: Floats) -> Floats | None:
    """The rotation that lays a slab flat, length along x, or None where it lies so already.

    A slab that is thinnest within 10 degrees of z and longest within 30 degrees of x is left in its own axes, or where no
    length stands out. Of the two ways up the one is taken that turns the least.

    Args:
        points: shape (n, 3) [mm]

    Returns:
        Rows are the new axes, shape (3, 3).
    """
    middle = points.mean(axis=0)
    _, axes = np.linalg.eigh(np.cov((points - middle).T))
    thin, long = axes[:, 0], axes[:, 2]
    spread = np.ptp((points - middle) @ axes, axis=0)
    flat = abs(thin[2]) > np.cos(np.radians(10.0))
    along = abs(long[0]) > np.cos(np.radians(30.0)) or spread[2] < 1.2 * spread[1]
    if flat and along:
        return None
    up = np.array([0.0, 0.0, 1.0]) if flat else _positive(thin)
    forward = long - (long @ up) * up
    forward = _positive(forward / np.linalg.norm(forward))
    return np.vstack([forward, np.cross(up, forward), up])


def _positive(axis: Floats) -> Floats:
    return axis if axis[np.argmax(np.abs(axis))] > 0 else -axis


def spacing_of(x: Floats, y: Floats) -> float:
    """Typical distance of neighbours of points strewn over an area, from the area that they occupy [mm].

    The square root of the area a point stands for; the area is that of the cells that hold points.
    """
    box = max(float(np.ptp(x)) * float(np.ptp(y)), 1e-6)
    first = np.sqrt(box / x.size)
    cell = 4.0 * first
    columns = int(np.ptp(x) / cell) + 1
    place = ((y - y.min()) / cell).astype(np.int64) * columns + ((x - x.min()) / cell).astype(np.int64)
    occupied = np.unique(place).size * cell * cell
    return float(np.sqrt(min(box, occupied) / x.size))


def told_apart(points: Floats) -> tuple[Mask, Mask]:
    """Which points lie on the upper and which on the lower side of a slab, from their heights alone.

    The points of a cell in plan are split at their largest gap; where that is less than half the usual one (an edge,
    a place where one side only was scanned) the nearest cell's split is taken.

    Args:
        points: shape (n, 3) [mm]

    Returns:
        Upper, lower; together all points.
    """
    if len(points) < FEW:
        halves = _halves(points)
        return halves, ~halves
    from scipy.ndimage import distance_transform_edt

    cell = 4.0 * np.sqrt(2.0) * spacing_of(points[:, 0], points[:, 1])
    place, rows, columns = _cells(points, cell)
    order = np.lexsort((points[:, 2], place))
    z, at = points[order, 2], place[order]
    gap = np.where(np.diff(at) == 0, np.diff(z), -1.0)
    largest = np.full(rows * columns, -1.0)
    np.maximum.at(largest, at[:-1], gap)
    # The split of a cell is the middle of the gap that equals the cell's largest.
    split = np.full(rows * columns, np.nan)
    here = np.flatnonzero((gap > 0) & (gap == largest[at[:-1]]))
    split[at[here]] = (z[here] + z[here + 1]) / 2.0
    usual = np.median(largest[largest > 0]) if np.any(largest > 0) else 0.0
    sure = largest > 0.5 * usual
    if not np.any(sure):
        halves = _halves(points)
        return halves, ~halves
    nearest = distance_transform_edt(~sure.reshape(rows, columns), return_distances=False, return_indices=True)
    split = split.reshape(rows, columns)[nearest[0], nearest[1]].ravel()
    upper: Mask = points[:, 2] > split[place]
    return upper, ~upper


def _halves(points: Floats) -> Mask:
    """Above or below the plane through the middle of all points, at the largest gap of their distances from it."""
    base = np.column_stack([points[:, :2] - points[:, :2].mean(axis=0), np.ones(len(points))])
    height = points[:, 2] - base @ np.linalg.lstsq(base, points[:, 2], rcond=None)[0]
    levels = np.sort(height)
    at = int(np.argmax(np.diff(levels)))
    upper: Mask = height > (levels[at] + levels[at + 1]) / 2.0
    return upper


def least_cell(x: Floats, y: Floats) -> float:
    """A cell no smaller than this keeps the count of cells in plan within some ten times that of the points [mm].

    Points that occupy little of their bounding box (a bar that lies askew, a line) would ask for cells without end.
    """
    wide, deep = float(np.ptp(x)), float(np.ptp(y))
    return max(float(np.sqrt(wide * deep / (8.0 * x.size + 1000.0))), max(wide, deep) / (4.0 * x.size + 1000.0), 1e-6)


def _cells(points: Floats, cell: float) -> tuple[NDArray[np.int64], int, int]:
    """Cell of each point, and how many rows and columns of cells there are; a rim of two cells is empty."""
    cell = max(cell, least_cell(points[:, 0], points[:, 1]))
    low = points[:, :2].min(axis=0) - 2.0 * cell
    row = ((points[:, 1] - low[1]) / cell).astype(np.int64)
    column = ((points[:, 0] - low[0]) / cell).astype(np.int64)
    rows, columns = int(row.max()) + 3, int(column.max()) + 3
    return row * columns + column, rows, columns


def on_face(points: Floats) -> Mask:
    """Which points of one side lie on its face and not on the edges that fall away round it, nor on stray bits.

    A plane is fitted in every neighbourhood of three by three cells. Steep or badly fitting areas that run to the rim are
    edges: there, and beside them, only points stay that lie on the plane of the nearest neighbourhood well inside the face.
    Pits inside the face, and dips at its rim that are not steep, stay whole.

    Args:
        points: of one side, shape (n, 3) [mm]
    """
    from scipy.ndimage import binary_dilation, binary_erosion, distance_transform_edt, label

    everything = np.ones(len(points), dtype=bool)
    if len(points) < FEW:
        return everything
    place, rows, columns = _cells(points, 2.0 * spacing_of(points[:, 0], points[:, 1]))
    (a, b, c), rough, count = _planes(points, place, rows, columns)
    known = count >= 9
    usual = float(np.median(rough[known])) if known.any() else np.inf
    sound = known & (np.hypot(a, b) < STEEP) & (rough < 3.0 * usual + 0.2)

    three = np.ones((3, 3), dtype=bool)
    unsound, _ = label(~sound, structure=three)
    outside = unsound == unsound[0, 0]
    face, pieces = label(~outside)
    if pieces == 0:
        return everything
    main = face == 1 + int(np.argmax(np.bincount(face.ravel(), minlength=pieces + 1)[1:]))
    deep = sound & binary_erosion(main, structure=three, iterations=2)
    if not deep.any():
        return everything
    beside_edge = binary_dilation(outside & (count > 0) & ~(known & sound), structure=three)
    away, nearest = distance_transform_edt(~deep, return_indices=True)
    row, column = nearest[0].ravel()[place], nearest[1].ravel()[place]
    x, y, z = (points - points.mean(axis=0)).T
    off = np.abs(z - (a[row, column] * x + b[row, column] * y + c[row, column]))
    on_plane = (off < max(1.0, 4.0 * usual)) & (away.ravel()[place] <= 6.0)
    kept: Mask = np.where(beside_edge.ravel()[place], on_plane, main.ravel()[place])
    return kept


def _planes(
    points: Floats, place: NDArray[np.int64], rows: int, columns: int
) -> tuple[tuple[Floats, Floats, Floats], Floats, Floats]:
    """Plane, scatter about it and number of points of every neighbourhood of three by three cells.

    Heights of the planes are a x + b y + c about the mean of all points.
    """
    from scipy.ndimage import uniform_filter

    x, y, z = (points - points.mean(axis=0)).T

    def near(weights: Floats | None) -> Floats:
        total = np.bincount(place, weights=weights, minlength=rows * columns).reshape(rows, columns)
        filtered: Floats = uniform_filter(total.astype(np.float64), 3, mode="constant") * 9.0
        return filtered

    count = np.round(near(None))
    n = np.maximum(count, 1.0)
    mx, my, mz = near(x) / n, near(y) / n, near(z) / n
    xx, xy, yy = near(x * x) / n - mx * mx, near(x * y) / n - mx * my, near(y * y) / n - my * my
    xz, yz, zz = near(x * z) / n - mx * mz, near(y * z) / n - my * mz, near(z * z) / n - mz * mz
    det = xx * yy - xy * xy
    safe = np.where(det > 1e-9, det, 1.0)
    a = np.where(det > 1e-9, (xz * yy - yz * xy) / safe, np.inf)
    b = np.where(det > 1e-9, (yz * xx - xz * xy) / safe, np.inf)
    with np.errstate(invalid="ignore"):
        rough = np.sqrt(np.maximum(zz - a * xz - b * yz, 0.0))
        c = mz - a * mx - b * my
    rough = np.where(np.isfinite(rough), rough, np.inf)
    return (a, b, c), rough, count
