"""From read rows to the readings of a face, and the checks that every face passes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Face, Floats, Grid, Scatter, as_scatter
from slabwright.job.readings.source import Source
from slabwright.job.readings.table import Table

Places = NDArray[np.int64]

GRID_LEAST = 400
"""Readings; below, nothing is gained by a grid."""
GRID_FILLED = 0.6
"""Share of a grid's crossings that must have been read for the readings to be held as a grid."""
SAME_PLACE = 1.0
"""Millimetres by which two readings of one place may differ and still be taken as their mean."""


def face_of(table: Table, rows: Places, points: Floats, name: str) -> Face:
    """The readings of one face, places read twice taken as their mean, as a grid where they lie on one.

    Args:
        table: where the readings stand, for the lines of messages
        rows: row of the table of each reading, shape (n,)
        points: x, y, z, shape (n, 3) [mm]
        name: `A` or `B`

    Raises:
        SlabwrightError: one place was read twice with heights that differ by more than 1 mm.
    """
    x, at_x = np.unique(points[:, 0], return_inverse=True)
    y, at_y = np.unique(points[:, 1], return_inverse=True)
    place = at_x.astype(np.int64) * y.size + at_y
    if x.size * y.size <= 4 * len(points) + 64:
        counts = np.bincount(place, minlength=x.size * y.size)
        twice = bool(counts.max() > 1)
    else:
        twice = np.unique(place).size < place.size
    if twice:
        order = np.argsort(place, kind="stable")
        starts = np.flatnonzero(np.concatenate([[True], np.diff(place[order]) > 0]))
        _check_twice(table, rows, points[:, 2], order, starts, name)
        points, place = _means(points, place, order, starts)
    return arranged(points, x, y, place)


def arranged(points: Floats, x: Floats, y: Floats, place: Places) -> Face:
    """A grid where the readings fill most of one, else scattered readings; no place stands twice."""
    crossings = x.size * y.size
    if len(points) < GRID_LEAST or min(x.size, y.size) < 2 or len(points) < GRID_FILLED * crossings:
        return Scatter(points[:, 0].copy(), points[:, 1].copy(), points[:, 2].copy())
    z = np.full(crossings, np.nan)
    z[place] = points[:, 2]
    return Grid(x, y, z.reshape(x.size, y.size))


def merged(points: Floats) -> Face:
    """Readings of which several may stand on one place, as a scan's do: a place's mean, whatever they differ by.

    Args:
        points: x, y, z, shape (n, 3) [mm]
    """
    x, at_x = np.unique(points[:, 0], return_inverse=True)
    y, at_y = np.unique(points[:, 1], return_inverse=True)
    place = at_x.astype(np.int64) * y.size + at_y
    order = np.argsort(place, kind="stable")
    starts = np.flatnonzero(np.concatenate([[True], np.diff(place[order]) > 0]))
    points, place = _means(points, place, order, starts)
    return arranged(points, x, y, place)


def _means(points: Floats, place: Places, order: Places, starts: Places) -> tuple[Floats, Places]:
    """One reading for each place, of mean height; `order` sorts by place, `starts` is where each place begins in it."""
    mean = np.add.reduceat(points[order, 2], starts) / np.diff(np.concatenate([starts, [order.size]]))
    kept = order[starts]
    return np.column_stack([points[kept, :2], mean]), place[kept]


def _check_twice(table: Table, rows: Places, heights: Floats, order: Places, starts: Places, name: str) -> None:
    """Refuse a place that was read twice with heights that differ."""
    z = heights[order]
    spread = np.maximum.reduceat(z, starts) - np.minimum.reduceat(z, starts)
    worst = int(np.argmax(spread))
    if spread[worst] <= SAME_PLACE:
        return
    same = order[starts[worst] : starts[worst + 1] if worst + 1 < starts.size else z.size]
    low, high = same[np.argmin(heights[same])], same[np.argmax(heights[same])]
    first, second = sorted((table.line(int(rows[low])), table.line(int(rows[high]))))
    source = table.text.source
    source.fail(
        f"face {name} has the same x, y on lines {first} and {second} with heights {spread[worst] / source.factor:.4g}"
        f" {source.unit} apart; keep the right one.",
        second,
    )


def check_spread(source: Source, face: Face, name: str) -> None:
    """Refuse a face with fewer than three readings, or with all of them in a line in plan."""
    places = as_scatter(face)
    if len(places) < 3:
        source.fail(f"face {name} has {len(places)} readings; at least 3 that are not in a line are wanted.")
    plan = np.vstack([places.x - places.x.mean(), places.y - places.y.mean()])
    small, large = np.linalg.eigvalsh(plan @ plan.T)
    if small <= 1e-6 * max(large, 1e-12):
        source.fail(f"all readings of face {name} lie in a line; read it at places across its width as well.")


def check_above(source: Source, face_a: Face, face_b: Face) -> None:
    """Refuse faces that were swapped: face B mostly above face A, compared where both were read."""
    a, b = as_scatter(face_a), as_scatter(face_b)
    low = np.array([min(a.x.min(), b.x.min()), min(a.y.min(), b.y.min())])
    size = np.array([max(a.x.max(), b.x.max()), max(a.y.max(), b.y.max())]) - low
    for cells in (32, 8, 1):
        means = []
        for face in (a, b):
            column = np.minimum((face.x - low[0]) / max(size[0], 1e-9) * cells, cells - 1).astype(np.int64)
            row = np.minimum((face.y - low[1]) / max(size[1], 1e-9) * cells, cells - 1).astype(np.int64)
            place = column * cells + row
            count = np.bincount(place, minlength=cells * cells)
            with np.errstate(invalid="ignore"):
                means.append(np.bincount(place, weights=face.z, minlength=cells * cells) / count)
        above = means[1] - means[0]
        above = above[~np.isnan(above)]
        if above.size >= min(4, cells):
            break
    if np.mean(above > 0) > 0.5:
        source.fail(
            "face B lies above face A; the faces are swapped or z points down: swap the letters A and B, or change the sign of z."
        )
