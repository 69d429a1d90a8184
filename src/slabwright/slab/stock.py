"""Wood above a finished plane, as a map on a grid in the seat's frame."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely import Polygon

from slabwright.accounts import working
from slabwright.geometry.between import at_nearest, in_triangles
from slabwright.geometry.faces import Face, Floats, as_scatter
from slabwright.geometry.planes import PlanePair

_CELLS_ALONG = 120
_STEP_RANGE = (10.0, 25.0)
_MOST_TO_TRIANGULATE = 20_000


@dataclass(frozen=True)
class StockMap:
    """Wood above a finished plane on a grid in the seat's frame; `nan` outside the slab."""

    x: Floats = working()
    y: Floats = working()
    depth: Floats = working()
    """Shape (nx, ny) [mm]; negative: the plane passes above the wood (a low spot)."""

    @property
    def cell_area(self) -> float:
        """Area that one cell stands for [mm2]."""
        return float((self.x[1] - self.x[0]) * (self.y[1] - self.y[0]))

    def left(self, level: float) -> Floats:
        """Wood above the finished plane once the cutter has been at `level` above it, shape (nx, ny) [mm]; 0 at low spots."""
        return np.clip(self.depth, 0.0, max(level, 0.0))


def outline_in_seat(outline: Polygon, planes: PlanePair, *, which: Literal["upper", "lower"]) -> Polygon:
    """An outline of the slab's frame, drawn on one of the planes and turned into the seat's frame."""
    x, y = np.asarray(outline.exterior.coords)[:, :2].T
    z = planes.upper(x, y) if which == "upper" else planes.lower(x, y)
    return Polygon(planes.to_seat(np.column_stack([x, y, z]))[:, :2])


def cell_middles(least: float, most: float, step: float) -> Floats:
    """Middles of the cells that cover a stretch; two cells at least [mm]."""
    count = max(2, math.ceil((most - least) / step - 1e-9))
    return np.asarray(least + step * (0.5 + np.arange(count)), dtype=np.float64)


def stock_map(face: Face, outline: Polygon, planes: PlanePair, *, which: Literal["A", "B"]) -> StockMap:
    """Wood above the finished plane of one face, between the readings and out to the outline.

    Linear between readings, the nearest reading beyond the outermost ones; a cell never shows less than the highest
    reading that falls into it, so that no high spot is missed.

    Args:
        face: every reading of the face, in the slab's frame [mm]
        outline: of that face [mm]
        planes: the finished planes
        which: face A is cut down to the upper plane, face B up to the lower one

    Returns:
        The map, in the seat's frame.
    """
    readings = as_scatter(face)
    points = planes.to_seat(np.column_stack([readings.x, readings.y, readings.z]))
    height = points[:, 2] - planes.c / planes.slant if which == "A" else planes.d / planes.slant - points[:, 2]
    border = outline_in_seat(outline, planes, which="upper" if which == "A" else "lower")
    x_least, y_least, x_most, y_most = border.bounds
    step = float(np.clip((x_most - x_least) / _CELLS_ALONG, *_STEP_RANGE))
    x, y = cell_middles(x_least, x_most, step), cell_middles(y_least, y_most, step)

    row = np.clip(((points[:, 0] - x_least) / step).astype(int), 0, x.size - 1)
    column = np.clip(((points[:, 1] - y_least) / step).astype(int), 0, y.size - 1)
    highest = np.full((x.size, y.size), -np.inf)
    np.maximum.at(highest, (row, column), height)

    centre_x, centre_y = np.meshgrid(x, y, indexing="ij")
    centres = np.column_stack([centre_x.ravel(), centre_y.ravel()])
    if len(readings) > _MOST_TO_TRIANGULATE:
        read_x, read_y = np.nonzero(np.isfinite(highest))
        flat = at_nearest(np.column_stack([x[read_x], y[read_y]]), highest[read_x, read_y], centres)
    else:
        between = in_triangles(points[:, :2], height, centres)
        flat = np.where(np.isnan(between), at_nearest(points[:, :2], height, centres), between)
    depth = flat.reshape(centre_x.shape)
    depth = np.maximum(depth, highest)
    depth[~shapely.contains_xy(border, centre_x, centre_y)] = np.nan
    return StockMap(x, y, depth)
