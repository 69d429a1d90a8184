"""The area that each reading stands for: its Voronoi cell, clipped to the region."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon

from slabwright.geometry.faces import Face, Floats, Grid, Scatter

Region = Polygon | MultiPolygon

MOST_CELLS = 100_000
"""Scattered readings above which a count per bin stands in for the cells."""
READINGS_PER_BIN = 8.0


def reading_areas(face: Face, region: Region) -> Floats:
    """Area that each reading of a face stands for.

    Scattered readings: the Voronoi cell clipped to the region; above 100,000 of them the area of a bin shared by the readings
    in it. On a grid: the cell between the neighbouring lines clipped to the region, which halves it at a border that runs
    along the outermost readings. Area of the region whose own reading is missing goes to the nearest reading.

    Args:
        face: the readings; those of a grid that do not count are `nan`
        region: where area counts

    Returns:
        Areas [mm2]: shape (n,) for scattered readings, the grid's shape for a grid (0 where `nan`). They add up to the
        region's area.
    """
    if isinstance(face, Grid):
        areas = rectangle_areas(_midways(face.x), _midways(face.y), region)
        return _hand_over(areas, ~np.isnan(face.z), face.x, face.y)
    if len(face) == 0:
        return np.zeros(0)
    return _binned_areas(face, region) if len(face) > MOST_CELLS else _voronoi_areas(face, region)


def rectangle_areas(x_edges: Floats, y_edges: Floats, region: Region) -> Floats:
    """Area of each rectangle of a grid inside a region, exactly.

    Each edge of the region, split at the grid's lines, adds the strip below it (Green's theorem: area = -∮ y dx): its own part
    in the rectangle it runs through, a full height in every rectangle below.

    Args:
        x_edges: rising, shape (nx + 1,) [mm]; the outermost may be infinite
        y_edges: rising, shape (ny + 1,) [mm]; the outermost may be infinite
        region: any polygon, with or without holes

    Returns:
        Areas, shape (nx, ny) [mm2].
    """
    low_x, low_y, high_x, high_y = region.bounds
    x_lines = np.clip(x_edges, low_x if np.isneginf(x_edges[0]) else None, high_x if np.isposinf(x_edges[-1]) else None)
    y_lines = np.clip(y_edges, low_y if np.isneginf(y_edges[0]) else None, high_y if np.isposinf(y_edges[-1]) else None)
    shape = (len(x_edges) - 1, len(y_edges) - 1)
    own, below = np.zeros(shape), np.zeros(shape)
    for part in shapely.get_parts(region):
        exterior = shapely.get_coordinates(part.exterior)
        rings = [(exterior, True)] + [(shapely.get_coordinates(ring), False) for ring in part.interiors]
        for ring, outer in rings:
            turn = np.sum(ring[:-1, 0] * ring[1:, 1] - ring[1:, 0] * ring[:-1, 1]) > 0
            path = ring if turn == outer else ring[::-1]
            # Outside the lines along x nothing counts; along y what lies above counts as a full height, below as none.
            path = _split(_split(path, x_lines, 0), y_lines, 1)
            step = np.diff(path[:, 0])
            middle = 0.5 * (path[:-1] + path[1:])
            column = np.searchsorted(x_lines, middle[:, 0], side="right") - 1
            row = np.searchsorted(y_lines, middle[:, 1], side="right") - 1
            kept = (step != 0) & (column >= 0) & (column < shape[0]) & (row >= 0)
            step, height, column, row = step[kept], middle[kept, 1], column[kept], row[kept]
            row = np.minimum(row, shape[1] - 1)
            height = np.minimum(height, y_lines[-1])
            np.add.at(own, (column, row), -step * (height - y_lines[row]))
            np.add.at(below, (column, row), -step)
    covered = np.cumsum(below[:, ::-1], axis=1)[:, ::-1] - below
    areas: Floats = own + covered * np.diff(y_lines)
    # What is left of rounding: nothing below a billionth of a whole rectangle.
    areas[areas < 1e-9 * areas.max(initial=0.0)] = 0.0
    return areas


def _split(path: Floats, lines: Floats, axis: int) -> Floats:
    """A path with a corner added wherever it crosses one of the lines."""
    start, end = path[:-1], path[1:]
    low, high = np.minimum(start[:, axis], end[:, axis]), np.maximum(start[:, axis], end[:, axis])
    first = np.searchsorted(lines, low, side="right")
    count = np.maximum(np.searchsorted(lines, high, side="left") - first, 0)
    total = int(count.sum())
    if total == 0:
        return path
    edge = np.repeat(np.arange(len(count)), count)
    line = lines[np.repeat(first, count) + np.arange(total) - np.repeat(np.cumsum(count) - count, count)]
    share = (line - start[edge, axis]) / (end[edge, axis] - start[edge, axis])
    corners = start[edge] + share[:, None] * (end[edge] - start[edge])
    corners[:, axis] = line
    order = np.lexsort(
        (np.concatenate([np.full(len(path), -1.0), share]), np.concatenate([np.arange(len(path)), edge]))
    )
    return np.concatenate([path, corners])[order]


def _midways(lines: Floats) -> Floats:
    """Borders of the cells of a grid's lines: midway between them, open outwards."""
    return np.concatenate([[-np.inf], 0.5 * (lines[:-1] + lines[1:]), [np.inf]])


def _hand_over(areas: Floats, read: NDArray[np.bool_], x: Floats, y: Floats) -> Floats:
    """Give the area of cells without a reading to the nearest one (one of them, where several are as near)."""
    orphan = ~read & (areas > 0.0)
    if not orphan.any() or not read.any():
        return np.where(read, areas, 0.0)
    kept = np.where(read, areas, 0.0)
    at_x, at_y = np.nonzero(orphan)
    step_x = float(np.median(np.diff(x))) if len(x) > 1 else 1.0
    step_y = float(np.median(np.diff(y))) if len(y) > 1 else 1.0
    near = [(i, j) for i in range(-3, 4) for j in range(-3, 4)]
    for i, j in sorted(near, key=lambda away: (away[0] * step_x) ** 2 + (away[1] * step_y) ** 2):
        to_x, to_y = at_x + i, at_y + j
        inside = (to_x >= 0) & (to_x < areas.shape[0]) & (to_y >= 0) & (to_y < areas.shape[1])
        found = inside.copy()
        found[inside] = read[to_x[inside], to_y[inside]]
        np.add.at(kept, (to_x[found], to_y[found]), areas[at_x[found], at_y[found]])
        at_x, at_y = at_x[~found], at_y[~found]
    if at_x.size:
        from scipy.ndimage import distance_transform_edt

        nearest = distance_transform_edt(~read, sampling=(step_x, step_y), return_distances=False, return_indices=True)
        assert isinstance(nearest, np.ndarray)
        np.add.at(kept, (nearest[0][at_x, at_y], nearest[1][at_x, at_y]), areas[at_x, at_y])
    return kept


def _binned_areas(points: Scatter, region: Region) -> Floats:
    """Area of the reading's bin inside the region over the number of readings in the bin."""
    low_x, low_y, high_x, high_y = region.bounds
    side = float(np.sqrt(region.area * READINGS_PER_BIN / len(points)))
    columns, rows = max(1, round((high_x - low_x) / side)), max(1, round((high_y - low_y) / side))
    x_edges, y_edges = np.linspace(low_x, high_x, columns + 1), np.linspace(low_y, high_y, rows + 1)
    column = np.clip(np.searchsorted(x_edges, points.x, side="right") - 1, 0, columns - 1)
    row = np.clip(np.searchsorted(y_edges, points.y, side="right") - 1, 0, rows - 1)
    number = column * rows + row
    count = np.bincount(number, minlength=columns * rows)
    areas = rectangle_areas(x_edges, y_edges, region)
    middle_x, middle_y = 0.5 * (x_edges[:-1] + x_edges[1:]), 0.5 * (y_edges[:-1] + y_edges[1:])
    areas = _hand_over(areas, count.reshape(areas.shape) > 0, middle_x, middle_y).ravel()
    shared: Floats = areas[number] / count[number]
    return shared


def _voronoi_areas(points: Scatter, region: Region) -> Floats:
    """Area of each reading's Voronoi cell inside the region; readings at one place share theirs."""
    from scipy.spatial import Voronoi

    places, number, count = np.unique(
        np.column_stack([points.x, points.y]), axis=0, return_inverse=True, return_counts=True
    )
    low_x, low_y, high_x, high_y = shapely.total_bounds([region, shapely.MultiPoint(places)])
    centre = np.array([0.5 * (low_x + high_x), 0.5 * (low_y + high_y)])
    # Four far points close every cell; they lie farther from the region than any reading, so no cell inside it changes.
    far = 4.0 * (high_x - low_x + high_y - low_y) * np.array([[1.0, 0.1], [-0.1, 1.0], [-1.0, -0.1], [0.1, -1.0]])
    diagram = Voronoi(np.concatenate([places - centre, far]))
    cells = [diagram.regions[diagram.point_region[index]] for index in range(len(places))]
    sizes = np.array([len(cell) for cell in cells])
    first = np.concatenate([[0], np.cumsum(sizes)])
    corners = diagram.vertices[np.concatenate([np.asarray(cell, dtype=np.intp) for cell in cells])] + centre
    # Rings close on their first corner.
    ring_first = first + np.arange(len(first))
    ring = np.empty((len(corners) + len(cells), 2))
    closing = ring_first[1:] - 1
    body = np.ones(len(ring), dtype=bool)
    body[closing] = False
    ring[body] = corners
    ring[closing] = corners[first[:-1]]
    polygons = shapely.from_ragged_array(
        shapely.GeometryType.POLYGON, ring, (ring_first, np.arange(len(cells) + 1, dtype=np.int64))
    )
    shapely.prepare(region)
    areas = shapely.area(polygons)
    border = ~shapely.contains(region, polygons)
    areas[border] = shapely.area(shapely.intersection(polygons[border], region))
    shared: Floats = (areas / count)[number.ravel()]
    return shared
