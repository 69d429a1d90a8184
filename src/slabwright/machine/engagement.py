"""How wide the cutter cuts, along a tool path: for the bound, and for what each insert edge cuts."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats
from slabwright.machine.frame import Stock
from slabwright.machine.timing import ABOVE, standing
from slabwright.machine.toolpath import Toolpath


@dataclass(frozen=True)
class Engagement:
    """Widths of the cut over short pieces of the moves at feed.

    Attributes:
        length: of each piece, shape (n,) [mm]
        width: brought down to the level by it, over its length, shape (n,) [mm]
        move: of the path that it belongs to, shape (n,)
        left: cells that stand above the level and that no move at feed at the level has reached, shape (nx, ny)
    """

    length: Floats
    width: Floats
    move: NDArray[np.intp]
    left: NDArray[np.bool_]

    @property
    def cut_length(self) -> float:
        """Fed through wood [mm]."""
        return float(self.length[self.width > 0.0].sum())

    @property
    def air_length(self) -> float:
        """Fed outside wood [mm]."""
        return float(self.length.sum()) - self.cut_length


def engagement(path: Toolpath, stock: Stock, height: float, *, radius: float, piece: float = 20.0) -> Engagement:
    """How much of the wood above a height each piece of the path brings down to it.

    A cell counts for the place where the cutter's leading edge first meets its middle.

    Args:
        path: of one level
        stock: before it
        height: of the level above the bed [mm]
        radius: of the cutter, or of its flat [mm]
        piece: length of a piece, about [mm]

    Returns:
        Widths; averages over a piece and over cells.
    """
    dx, dy = float(stock.x[1] - stock.x[0]), float(stock.y[1] - stock.y[0])
    left = standing(stock, height)
    lengths: list[Floats] = []
    widths: list[Floats] = []
    moves: list[NDArray[np.intp]] = []
    starts, ends = path.points[:-1], path.points[1:]
    flat = (path.feed > 0.0) & (starts[:, 2] <= height + ABOVE) & (ends[:, 2] <= height + ABOVE)
    for index in np.flatnonzero(flat).tolist():
        one, two = starts[index, :2], ends[index, :2]
        length = float(math.dist(one, two))
        low, high = np.minimum(one, two) - radius, np.maximum(one, two) + radius
        rows = slice(*np.searchsorted(stock.x, (low[0], high[0])).tolist())
        columns = slice(*np.searchsorted(stock.y, (low[1], high[1])).tolist())
        part = left[rows, columns]
        row, column = np.nonzero(part)
        x, y = stock.x[rows][row] - one[0], stock.y[columns][column] - one[1]
        way = (two - one) / max(length, 1e-12)
        along, aside = x * way[0] + y * way[1], y * way[0] - x * way[1]
        beyond = along - np.clip(along, 0.0, length)
        met = beyond**2 + aside**2 <= radius * radius + 1e-9
        part[row[met], column[met]] = False
        if length <= 0.0:
            continue
        count = max(1, round(length / piece))
        at = np.maximum(along[met] - np.sqrt(np.maximum(radius * radius - aside[met] ** 2, 0.0)), 0.0)
        bins = np.minimum((at * (count / length)).astype(int), count - 1)
        area: Floats = np.bincount(bins, minlength=count).astype(np.float64) * (dx * dy)
        lengths.append(np.full(count, length / count))
        widths.append(area * (count / length))
        moves.append(np.full(count, index, dtype=np.intp))
    if not lengths:
        return Engagement(np.zeros(0), np.zeros(0), np.zeros(0, dtype=np.intp), left)
    return Engagement(np.concatenate(lengths), np.concatenate(widths), np.concatenate(moves), left)


def edge_length(path: Toolpath, stock: Stock, height: float, *, diameter: float, spindle_speed: float) -> float:
    """Metal's way through wood: what each insert edge cuts along its own circle.

    In one turn of the spindle the cutter goes on by feed / speed, and each of its edges passes once through the arc that stands
    in wood, however many edges there are. Over a length L fed through wood, with a cut of width w by a cutter of diameter D:

        edge = L / (feed / speed) * D / 2 * arccos(1 - 2 w / D)

    summed over short pieces of the path, each with the width that it really takes.

    Args:
        path: of one level
        stock: before it
        height: of the level above the bed [mm]
        diameter: D [mm]
        spindle_speed: turns per minute

    Returns:
        Length cut by each edge [mm].
    """
    met = engagement(path, stock, height, radius=diameter / 2.0)
    angle = np.arccos(np.clip(1.0 - 2.0 * met.width / diameter, -1.0, 1.0))
    turns = met.length * spindle_speed / path.feed[met.move]
    return float((turns * angle).sum()) * diameter / 2.0
