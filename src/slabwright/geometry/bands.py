"""Where a flat shape may be in a way that is a run of bands: for a place along it and a turn, the room that is left across.

Every line across the way meets free space in one stretch: a door in a wall, a lift, a flight of stairs, a half-landing. So for
a place `y` along the way and a turn `t` the free places `x` across are one stretch too, whatever the shape; a path exists just
where a path in (y, t) exists on which that stretch is never empty. Three freedoms become two without loss.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from slabwright.geometry.faces import Floats

FAR = 1e6
"""Farther than anything [mm]: no wall on that side."""
_SIGNS = ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))


@dataclass(frozen=True)
class Band:
    """A stretch of the way; its walls may slope.

    Attributes:
        begin: where it begins along the way [mm]
        end: where it ends [mm]
        low: wall on the low side at its begin and at its end [mm]
        high: wall on the high side at its begin and at its end [mm]
        sized: whether its length is a size of the passage, to be written on its drawing
        clear: whether its size across is one
    """

    begin: float
    end: float
    low: tuple[float, float]
    high: tuple[float, float]
    sized: bool = False
    clear: bool = True


def straight(
    begin: float, end: float, low: float = -FAR, high: float = FAR, *, sized: bool = False, clear: bool = True
) -> Band:
    """A band with straight walls."""
    return Band(begin, end, (low, low), (high, high), sized, clear)


@dataclass(frozen=True)
class Region:
    """Bands that follow each other; what lies before the first and after the last is solid."""

    bands: tuple[Band, ...]

    @property
    def begin(self) -> float:
        """Where it begins [mm]."""
        return self.bands[0].begin

    @property
    def end(self) -> float:
        """Where it ends [mm]."""
        return self.bands[-1].end


@dataclass(frozen=True)
class Shape:
    """Rectangles that are one rigid shape, in its own frame; `grown` by g moves each side of each rectangle out by g.

    Attributes:
        middles: of the rectangles, shape (k, 2) [mm]
        halves: half sizes, shape (k, 2) [mm]
    """

    middles: Floats
    halves: Floats

    @classmethod
    def of(cls, boxes: Floats) -> Shape:
        """From corners x0, y0, x1, y1 of rectangles, shape (k, 4); the frame's origin goes to the middle of all."""
        low, high = boxes[:, :2], boxes[:, 2:]
        origin = (low.min(axis=0) + high.max(axis=0)) / 2.0
        return cls((low + high) / 2.0 - origin, (high - low) / 2.0)

    @property
    def reach(self) -> float:
        """Farthest corner from the origin [mm]."""
        return float(np.hypot(*(np.abs(self.middles) + self.halves).T).max())

    @property
    def size(self) -> tuple[float, float]:
        """Of the rectangle round all of it [mm]."""
        span = (self.middles + self.halves).max(axis=0) - (self.middles - self.halves).min(axis=0)
        return float(span[0]), float(span[1])

    @property
    def period(self) -> float:
        """Turn after which it looks the same [rad]."""

        def ordered(middles: Floats) -> Floats:
            rows: Floats = np.column_stack([middles, self.halves]).round(6) + 0.0
            return rows[np.lexsort(rows.T)]

        same = bool(np.allclose(ordered(self.middles), ordered(-self.middles)))
        return math.pi if same else 2.0 * math.pi

    def merged(self) -> Shape:
        """Without rectangles that others cover."""
        low, high = self.middles - self.halves, self.middles + self.halves
        kept: list[int] = []
        for i in range(len(low)):
            within = [
                j
                for j in range(len(low))
                if j != i
                and bool(np.all(low[j] <= low[i] + 1e-9) and np.all(high[j] >= high[i] - 1e-9))
                and not (j > i and bool(np.allclose(low[i], low[j]) and np.allclose(high[i], high[j])))
            ]
            if not within:
                kept.append(i)
        return Shape(self.middles[kept], self.halves[kept])

    def extents(self, turn: Floats) -> tuple[Floats, Floats, Floats, Floats]:
        """Least and greatest x, least and greatest y of it turned, each of the shape of `turn` [mm]."""
        cos, sin = np.cos(turn)[..., None], np.sin(turn)[..., None]
        x = cos * self.middles[:, 0] - sin * self.middles[:, 1]
        y = sin * self.middles[:, 0] + cos * self.middles[:, 1]
        half_x = np.abs(cos) * self.halves[:, 0] + np.abs(sin) * self.halves[:, 1]
        half_y = np.abs(sin) * self.halves[:, 0] + np.abs(cos) * self.halves[:, 1]
        return (x - half_x).min(-1), (x + half_x).max(-1), (y - half_y).min(-1), (y + half_y).max(-1)

    def corners(self, x: float, y: float, turn: float, grown: float = 0.0) -> Floats:
        """Corners of each rectangle at a pose, shape (k, 4, 2) [mm]."""
        cos, sin = math.cos(turn), math.sin(turn)
        halves = np.maximum(self.halves + grown, 0.0)
        own = self.middles[:, None, :] + halves[:, None, :] * np.array(_SIGNS)
        turned: Floats = own @ np.array([[cos, sin], [-sin, cos]]) + np.array([x, y])
        return turned


def stretch(region: Region, shape: Shape, y: Floats, turn: Floats, grown: Floats) -> tuple[Floats, Floats]:
    """The stretch of x in which the grown shape is free; empty where the low end is above the high one.

    Args:
        region: the way
        shape: what is carried
        y: places along the way, shape (n,) [mm]
        turn: shape (n,) [rad]
        grown: shape (n,) [mm]

    Returns:
        Low and high end, each of shape (n,) [mm]; where it is out of the region along the way, the stretch is emptied by
        as much as it stands out.
    """
    cos, sin = np.cos(turn)[:, None], np.sin(turn)[:, None]
    half = np.maximum(shape.halves[None] + grown[:, None, None], 0.0)
    mid_x = cos * shape.middles[:, 0] - sin * shape.middles[:, 1]
    mid_y = sin * shape.middles[:, 0] + cos * shape.middles[:, 1] + y[:, None]
    along_x, along_y = half[..., 0] * cos, half[..., 0] * sin
    over_x, over_y = -half[..., 1] * sin, half[..., 1] * cos
    px = np.stack([mid_x + a * along_x + b * over_x for a, b in _SIGNS], axis=-1)
    py = np.stack([mid_y + a * along_y + b * over_y for a, b in _SIGNS], axis=-1)
    qx, qy = np.roll(px, -1, axis=-1), np.roll(py, -1, axis=-1)
    rise = qy - py
    slope = np.divide(qx - px, rise, out=np.zeros_like(rise), where=np.abs(rise) > 1e-12)
    flat = np.abs(rise) <= 1e-12
    upper, lower = np.maximum(py, qy), np.minimum(py, qy)
    low, high = np.full(y.shape, -FAR), np.full(y.shape, FAR)
    for band in region.bands:
        open_low, open_high = max(band.low) <= -FAR, min(band.high) >= FAR
        if open_low and open_high:
            continue
        outside = (upper < band.begin) | (lower > band.end)
        begin = np.clip(py, band.begin, band.end)
        end = np.clip(qy, band.begin, band.end)
        begin_x = px + (begin - py) * slope
        end_x = np.where(flat, qx, px + (end - py) * slope)
        length = max(band.end - band.begin, 1e-9)
        for wall, is_low, open_ in ((band.low, True, open_low), (band.high, False, open_high)):
            if open_:
                continue
            tilt = (wall[1] - wall[0]) / length
            at_begin = wall[0] + tilt * (begin - band.begin) - begin_x
            at_end = wall[0] + tilt * (end - band.begin) - end_x
            if is_low:
                found = np.where(outside, -FAR, np.maximum(at_begin, at_end))
                low = np.maximum(low, found.max(axis=(1, 2)))
            else:
                found = np.where(outside, FAR, np.minimum(at_begin, at_end))
                high = np.minimum(high, found.min(axis=(1, 2)))
    room = np.minimum(lower.min(axis=(1, 2)) - region.begin, region.end - upper.max(axis=(1, 2)))
    return low, np.where(room < 0.0, np.minimum(high, low + room), high)


def room_left(
    region: Region, shape: Shape, y: Floats, turn: Floats, least: float, most: float, fineness: float
) -> Floats:
    """How far the shape can be grown at each place and turn, best placed across.

    It changes by no more than the shape's points move: by 1 for each mm of `y`, and by their radius for each radian.

    Args:
        region: the way
        shape: what is carried
        y: places along the way, shape (n,) [mm]
        turn: shape (n,) [rad]
        least: no less is told than this [mm]
        most: no more is looked for [mm]
        fineness: told lower by no more than this [mm]

    Returns:
        Growth that is sure to be free, shape (n,) [mm]; `least` where there is none.
    """
    below, above = np.full(y.shape, least), np.full(y.shape, most)
    for _ in range(max(1, math.ceil(math.log2((most - least) / fineness)))):
        middle = (below + above) / 2.0
        low, high = stretch(region, shape, y, turn, middle)
        free = high >= low
        below, above = np.where(free, middle, below), np.where(free, above, middle)
    return below
