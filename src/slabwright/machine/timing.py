"""How long a tool path takes: lengths, feeds, lifts and acceleration, and the time that no plan beats."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats
from slabwright.machine.frame import Stock
from slabwright.machine.toolpath import Toolpath

_STRAIGHT = 1e-9
ABOVE = 1e-3
"""What does not count as standing above a level [mm]."""


@dataclass(frozen=True)
class PathTime:
    """What a tool path takes.

    Attributes:
        minutes: with lifts and acceleration [min]
        fed: length of the moves at feed [mm]
        rapid: length of the rapid moves [mm]
        lifts: times that the cutter comes down again after it was lifted
    """

    minutes: float
    fed: float
    rapid: float
    lifts: int


def move_seconds(length: float, speed: float, acceleration: float) -> float:
    """Time of one straight move from standstill to standstill.

    With speed v and acceleration a, a move of length s takes s / v + v / a where it reaches its speed (s >= v^2 / a), else
    2 sqrt(s / a).

    Args:
        length: s [mm]
        speed: v [mm/s]
        acceleration: a [mm/s2]

    Returns:
        [s]
    """
    if length >= speed * speed / acceleration:
        return length / speed + speed / acceleration
    return 2.0 * math.sqrt(max(length, 0.0) / acceleration)


def path_time(path: Toolpath, *, rapid: float, acceleration: float) -> PathTime:
    """Time of a tool path whose speed rises and falls evenly, with a stop at every corner.

    Moves that go on in a straight line at the same feed count as one. Each takes the time of `move_seconds`.

    Args:
        path: the moves
        rapid: speed of the rapid moves [mm/min]
        acceleration: along the move [mm/s2]

    Raises:
        ValueError: a speed or the acceleration is not above zero, or the path has another number of feeds than of moves
    """
    if not (rapid > 0.0 and acceleration > 0.0):
        raise ValueError("rapid and acceleration are above zero")
    if len(path.points) != len(path.feed) + 1:
        raise ValueError("a path has one point more than it has moves")
    if bool(np.any(path.feed < 0.0)):
        raise ValueError("a feed is above zero, or zero for a rapid")
    run = np.diff(path.points, axis=0)
    length = np.linalg.norm(run, axis=1)
    real = length > 0.0
    run, length, feed = run[real], length[real], path.feed[real]
    fed, rapids = float(length[feed > 0.0].sum()), float(length[feed == 0.0].sum())
    down = (feed > 0.0) & (np.append(True, feed[:-1] == 0.0)) if feed.size else np.zeros(0, dtype=bool)
    merged, speed = _merged(run, length, np.where(feed > 0.0, feed, rapid), feed)
    v = speed / 60.0
    seconds = np.where(
        merged >= v * v / acceleration, merged / v + v / acceleration, 2.0 * np.sqrt(merged / acceleration)
    )
    return PathTime(float(seconds.sum()) / 60.0, fed, rapids, max(int(np.count_nonzero(down)) - 1, 0))


def _merged(run: Floats, length: Floats, speed: Floats, feed: Floats) -> tuple[Floats, Floats]:
    """Lengths and speeds of the moves, those that go straight on at the same feed added together."""
    if not length.size:
        return length, speed
    way = run / length[:, None]
    on = (np.abs(way[1:] - way[:-1]).max(axis=1) <= _STRAIGHT) & (feed[1:] == feed[:-1])
    starts = np.flatnonzero(np.append(True, ~on))
    return np.add.reduceat(length, starts), speed[starts]


def standing(stock: Stock, height: float) -> NDArray[np.bool_]:
    """Cells whose wood stands above a height over the bed, shape (nx, ny)."""
    return np.nan_to_num(stock.top, nan=-np.inf) > height + ABOVE


def time_bound(
    stock: Stock,
    levels: Iterable[float],
    plane: float,
    *,
    stepover: float,
    feed: float,
    window: tuple[float, float] | None = None,
) -> float:
    """Time that no plan beats whose cuts are nowhere wider than the stepover.

    A cutter at feed f that takes at most the width s clears at most s f of area in a minute, and all that stands above a level
    has to be cleared at that level, one level after the other:

        time >= sum over levels of (area standing above the level) / (s f)

    It holds where every level is run (each no deeper below the last than the cutter may take), no cut is wider than the
    stepover measured across its direction, and no wood is taken by a plunge: plunging takes a whole cutter's area at once.

    Args:
        stock: as it lies before the first level
        levels: heights of the cutter above the plane [mm]
        plane: height of the finished plane above the bed [mm]
        stepover: s [mm]
        feed: f [mm/min]
        window: x from and to that counts; None: everything [mm]

    Returns:
        [min]
    """
    cell = float((stock.x[1] - stock.x[0]) * (stock.y[1] - stock.y[0]))
    top = stock.top if window is None else stock.top[(stock.x >= window[0]) & (stock.x <= window[1])]
    high = np.sort(top[~np.isnan(top)])
    heights = np.array([plane + level + ABOVE for level in levels])
    above = high.size - np.searchsorted(high, heights, side="right")
    return float(above.sum()) * cell / (stepover * feed)
