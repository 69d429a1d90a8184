"""The cutter's sweep over a field of cells: exact above each cell's middle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from slabwright.geometry.faces import Floats
from slabwright.machine.frame import Stock

TOUCH = 1e-6
"""Less than this is no cut [mm]."""
_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


@dataclass(frozen=True)
class Cells:
    """Where the cells are: their middles [mm] and how far these are apart [mm]."""

    x: Floats
    y: Floats
    step_x: float
    step_y: float

    @classmethod
    def of(cls, stock: Stock) -> Cells:
        """The cells of a stock."""
        step_x = float(stock.x[-1] - stock.x[0]) / (stock.x.size - 1) if stock.x.size > 1 else 1.0
        step_y = float(stock.y[-1] - stock.y[0]) / (stock.y.size - 1) if stock.y.size > 1 else 1.0
        return cls(stock.x, stock.y, step_x, step_y)

    @property
    def area(self) -> float:
        """Of one cell [mm2]."""
        return self.step_x * self.step_y

    @property
    def step(self) -> float:
        """The wider of the two distances [mm]."""
        return max(self.step_x, self.step_y)

    def window(self, start: list[float], end: list[float], radius: float) -> tuple[slice, slice]:
        """The cells of the box round a move, grown by the radius."""
        return (
            _between(self.x, self.step_x, min(start[0], end[0]) - radius, max(start[0], end[0]) + radius),
            _between(self.y, self.step_y, min(start[1], end[1]) - radius, max(start[1], end[1]) + radius),
        )


def _between(middles: Floats, step: float, least: float, most: float) -> slice:
    first = float(middles[0])
    begin = max(math.ceil((least - first) / step - 1e-6), 0)
    return slice(begin, max(min(math.floor((most - first) / step + 1e-6) + 1, middles.size), begin))


def highest_under(field: Floats, cells: Cells, start: list[float], end: list[float], radius: float) -> float:
    """Highest wood within the radius of the box round a move: a rapid may go any way within that box."""
    rows, columns = cells.window(start, end, radius)
    part = field[rows, columns]
    if part.size == 0:
        return -math.inf
    x, y = cells.x[rows], cells.y[columns]
    off_x = np.maximum(np.maximum(min(start[0], end[0]) - x, x - max(start[0], end[0])), 0.0)
    off_y = np.maximum(np.maximum(min(start[1], end[1]) - y, y - max(start[1], end[1])), 0.0)
    near = off_x[:, None] ** 2 + off_y[None, :] ** 2 < (radius - 0.005) ** 2
    return float(part.max(where=near, initial=-math.inf))


def swept(
    x: Floats, y: Floats, start: list[float], end: list[float], radius: float, corner: float, before: Floats
) -> Floats:
    """Heights of a window of cells after the cutter went over it.

    Args:
        x: middles of the cells, shape (n,) [mm]
        y: middles of the cells, shape (m,) [mm]
        start: of the move [mm]
        end: of the move [mm]
        radius: of the cutter [mm]
        corner: radius of its lower edge [mm]
        before: heights, shape (n, m) [mm]

    Returns:
        Heights, shape (n, m) [mm].
    """
    if start[2] != end[2] and start[:2] != end[:2]:
        return np.minimum(before, _swept_sloping(x, y, start, end, radius, corner))
    squared = _squared_distance(x, y, start, end)
    low = min(start[2], end[2])
    flat = radius - corner
    after_flat = np.minimum(before, low, out=before.copy(), where=squared <= flat * flat + 1e-9)
    if corner:
        rim = np.nonzero((squared > flat * flat + 1e-9) & (squared <= radius * radius) & (before > low))
        after_flat[rim] = np.minimum(before[rim], low + _rise(np.sqrt(squared[rim]) - flat, corner))
    return after_flat


def _rise(beyond: Floats, corner: float) -> Floats:
    """Height of a rounded lower edge above the cutter's end, so far beyond the flat."""
    rise: Floats = corner - np.sqrt(np.maximum(corner * corner - np.maximum(beyond, 0.0) ** 2, 0.0))
    return rise


def _squared_distance(x: Floats, y: Floats, start: list[float], end: list[float]) -> Floats:
    """Squared distance of each cell from a straight move seen from above, shape (n, m)."""
    off_x, off_y = x - start[0], y - start[1]
    run_x, run_y = end[0] - start[0], end[1] - start[1]
    if run_y == 0.0 or run_x == 0.0:
        # Along an axis the two directions part, which is several times quicker.
        off_x = off_x - np.clip(off_x, min(run_x, 0.0), max(run_x, 0.0))
        off_y = off_y - np.clip(off_y, min(run_y, 0.0), max(run_y, 0.0))
        return (off_x**2)[:, None] + (off_y**2)[None, :]
    along = ((off_x * run_x)[:, None] + (off_y * run_y)[None, :]) / (run_x**2 + run_y**2)
    np.clip(along, 0.0, 1.0, out=along)
    return (off_x[:, None] - along * run_x) ** 2 + (off_y[None, :] - along * run_y) ** 2


def _swept_sloping(x: Floats, y: Floats, start: list[float], end: list[float], radius: float, corner: float) -> Floats:
    """Lower side of the sweep of a move that goes sideways and up or down; infinite where it does not come.

    Over one cell the cutter's lower side is, along the move, a straight slope plus a convex function of the distance, hence
    convex: golden section finds its least.
    """
    run = np.array(end) - np.array(start)
    length = math.hypot(run[0], run[1])
    along = ((x - start[0]) * run[0])[:, None] / length + ((y - start[1]) * run[1])[None, :] / length
    aside = ((x - start[0]) * run[1])[:, None] / length - ((y - start[1]) * run[0])[None, :] / length
    half = np.sqrt(np.maximum(radius * radius - aside**2, 0.0))
    begin, stop = np.maximum(along - half, 0.0), np.minimum(along + half, length)
    met = (np.abs(aside) <= radius) & (begin <= stop)
    slope = run[2] / length

    def lower_side(at: Floats) -> Floats:
        side: Floats = start[2] + slope * at + _rise(np.hypot(along - at, aside) - (radius - corner), corner)
        return side

    if corner == 0.0:
        lowest = np.minimum(lower_side(begin), lower_side(stop))
    else:
        left, right = begin.copy(), np.maximum(stop, begin)
        for _ in range(40):
            width = _GOLDEN * (right - left)
            one, other = right - width, left + width
            nearer = lower_side(one) <= lower_side(other)
            right, left = np.where(nearer, other, right), np.where(nearer, left, one)
        lowest = np.minimum(lower_side((left + right) / 2.0), np.minimum(lower_side(begin), lower_side(stop)))
    lower: Floats = np.where(met, lowest, np.inf)
    return lower


def engaged_length(
    x: Floats, y: Floats, start: list[float], end: list[float], radius: float, taken: Floats, step: float
) -> float:
    """Length of a move over which the cutter's leading edge meets wood [mm]."""
    run_x, run_y = end[0] - start[0], end[1] - start[1]
    length = math.hypot(run_x, run_y)
    if length < TOUCH:
        return math.dist(start, end)
    row, column = np.nonzero(taken > TOUCH)
    off_x, off_y = x[row] - start[0], y[column] - start[1]
    along = (off_x * run_x + off_y * run_y) / length
    aside = (off_x * run_y - off_y * run_x) / length
    met = np.clip(along - np.sqrt(np.maximum(radius * radius - aside**2, 0.0)), 0.0, length)
    count = max(1, round(length / (2.0 * step)))
    bins = np.minimum((met * (count / length)).astype(np.int64), count - 1)
    return float(np.count_nonzero(np.bincount(bins, minlength=count))) / count * math.dist(start, end)
