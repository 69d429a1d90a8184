"""The mean of the lowest part of a face above a tilted plane, exactly, without touching most of its readings.

Readings stand in tiles, each cut into layers by height, with known borders. At a tilt, the least and greatest height above the
plane that each can hold follow from its borders; only those that may hold the quantile are looked into, the others count by
their sums.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slabwright.geometry.faces import Face, Floats, Grid

PER_SIDE = 16
"""Readings along a tile's side."""
LAYERS = 8
"""That a tile is cut into by height, so that a rough face costs no more than a smooth one."""


@dataclass(frozen=True)
class Tiles:
    """Readings of one face in a frame, in tiles of near places and of near heights; each row of the arrays is a tile.

    Attributes:
        x: shape (tiles, m) [mm]
        y: shape (tiles, m) [mm]
        z: height, shape (tiles, m) [mm]
        w: area that a reading stands for, shape (tiles, m) [mm2]; 0 for the doubles that fill up a tile
        low: least height of each tile [mm]
        high: greatest height of each tile [mm]
        middle: of each tile in x and y, shape (tiles, 2) [mm]
        reach: half extent of each tile in x and y, shape (tiles, 2) [mm]
        sums: of w, w z, w x, w y over each tile, shape (tiles, 4)
    """

    x: Floats
    y: Floats
    z: Floats
    w: Floats
    low: Floats
    high: Floats
    middle: Floats
    reach: Floats
    sums: Floats

    @property
    def area(self) -> float:
        """All area that the readings stand for [mm2]."""
        return float(self.sums[:, 0].sum())


@dataclass(frozen=True)
class Lowest:
    """The lowest area of a face above a tilt.

    Attributes:
        height: quantile: the plane at this height has the area below it [mm]
        mean: mean height above the tilt of the area [mm]
        x: mean place of the area [mm]
        y: mean place of the area [mm]
        z: mean height of the area, in the frame [mm]
    """

    height: float
    mean: float
    x: float
    y: float
    z: float


@dataclass(frozen=True)
class Fill:
    """What lies below a plane.

    Attributes:
        area: of the readings below it [mm2]
        volume: between them and the plane, measured along z [mm3]
        deepest: of them; 0 where there are none [mm]
    """

    area: float
    volume: float
    deepest: float


def tiles(face: Face, areas: Floats, frame: Floats, centre: Floats) -> Tiles:
    """Put a face's readings into tiles, in another frame.

    Args:
        face: the readings
        areas: that each stands for, in the shape of the face's heights [mm2]
        frame: axes of the frame, shape (3, 3); rows, orthogonal (a reflection is allowed)
        centre: origin of the frame, in the frame, shape (3,) [mm]
    """
    x, y, z, w = _grid_rows(face, areas) if isinstance(face, Grid) else _scatter_rows(face.x, face.y, face.z, areas)
    u, v, h = (frame[axis, 2] * z - centre[axis] for axis in range(3))
    for axis, out in enumerate((u, v, h)):
        if frame[axis, 0]:
            out += frame[axis, 0] * x
        if frame[axis, 1]:
            out += frame[axis, 1] * y
    ends = np.array([[u.min(axis=1), u.max(axis=1)], [v.min(axis=1), v.max(axis=1)]])
    middle, reach = 0.5 * (ends[:, 0] + ends[:, 1]).T, 0.5 * (ends[:, 1] - ends[:, 0]).T
    order = np.argsort(h, axis=1)
    u, v, h, w = (np.take_along_axis(each, order, axis=1).reshape(len(h) * LAYERS, -1) for each in (u, v, h, w))
    sums = np.column_stack([w.sum(axis=1)] + [np.einsum("ij,ij->i", w, each) for each in (h, u, v)])
    return Tiles(
        x=u,
        y=v,
        z=h,
        w=w,
        low=h[:, 0].copy(),
        high=h[:, -1].copy(),
        middle=np.repeat(middle, LAYERS, axis=0),
        reach=np.repeat(reach, LAYERS, axis=0),
        sums=sums,
    )


def _grid_rows(face: Grid, areas: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """A grid's x, y, z and areas, one row a tile; a missing reading is a double of its tile's first, without area."""
    across, down = -(-len(face.x) // PER_SIDE), -(-len(face.y) // PER_SIDE)
    padding = (across * PER_SIDE - len(face.x), down * PER_SIDE - len(face.y))

    def cut(values: Floats, fill: float) -> Floats:
        padded = np.pad(values, ((0, padding[0]), (0, padding[1])), constant_values=fill) if any(padding) else values
        parts = padded.reshape(across, PER_SIDE, down, PER_SIDE).swapaxes(1, 2)
        return parts.reshape(across * down, PER_SIDE * PER_SIDE)

    lines_x = np.pad(face.x, (0, padding[0]), mode="edge").reshape(across, 1, PER_SIDE, 1)
    lines_y = np.pad(face.y, (0, padding[1]), mode="edge").reshape(1, down, 1, PER_SIDE)
    whole = (across, down, PER_SIDE, PER_SIDE)
    x: Floats = np.broadcast_to(lines_x, whole).reshape(across * down, -1)
    y: Floats = np.broadcast_to(lines_y, whole).reshape(across * down, -1)
    z, w = cut(face.z, np.nan), cut(areas, 0.0)
    missing = np.isnan(z)
    if missing.any():
        held = ~missing.all(axis=1)
        if not held.all():
            x, y, z, w, missing = x[held], y[held], z[held], w[held], missing[held]
        one = np.argmin(missing, axis=1)[:, None]
        x, y, z = (np.where(missing, np.take_along_axis(values, one, axis=1), values) for values in (x, y, z))
        w = np.where(missing, 0.0, w)
    return x, y, z, w


def _scatter_rows(x: Floats, y: Floats, z: Floats, areas: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Scattered readings in strips along y, each cut into tiles of as many readings; the last one is filled up with doubles."""
    size = PER_SIDE * PER_SIDE
    count = len(x)
    strips = max(1, round(float(np.sqrt(count / size))))
    by_x = np.argsort(x, kind="stable")
    strip = np.empty(count, dtype=np.intp)
    strip[by_x] = np.arange(count) * strips // max(count, 1)
    order = np.lexsort((y, strip))
    size = min(size, -(-count // LAYERS) * LAYERS)
    rows = -(-count // size)
    order = np.concatenate([order, np.full(rows * size - count, order[-1])])
    w = areas[order]
    w[count:] = 0.0
    return (
        x[order].reshape(rows, size),
        y[order].reshape(rows, size),
        z[order].reshape(rows, size),
        w.reshape(rows, size),
    )


def lowest(face: Tiles, a: float, b: float, area: float) -> Lowest:
    """Mean of the lowest area of a face above the tilt z = a x + b y, the last reading split.

    Args:
        face: the readings
        a: slope along x
        b: slope along y
        area: how much of the face, at most all of it; 0: the one lowest reading [mm2]
    """
    low, high = _borders(face, a, b)
    if area <= 0.0:
        return _single_lowest(face, low, high, a, b)
    own = face.sums[:, 0]
    area = min(area, float(own.sum()))
    least = _weighted_quantile(low, own, area)
    most = _weighted_quantile(high, own, area)
    under = high < least
    rows = np.flatnonzero((low <= most) & ~under)
    x, y, z, w = face.x[rows], face.y[rows], face.z[rows], face.w[rows]
    above = z - a * x
    above -= b * y
    sums = face.sums[under].sum(axis=0)
    height = _weighted_quantile(above.ravel(), w.ravel(), area - float(sums[0]), least, most)
    counted = w * (above < height)
    sums = sums + _sums(counted, z, x, y)
    rest = area - float(sums[0])
    if rest > 0.0:
        level = w * (above == height)
        at_height = _sums(level, z, x, y)
        if at_height[0] > 0.0:
            sums = sums + at_height * (rest / at_height[0])
    mean_z, mean_x, mean_y = (float(value) for value in sums[1:] / sums[0])
    return Lowest(height, mean_z - a * mean_x - b * mean_y, mean_x, mean_y, mean_z)


def fill_below(face: Tiles, a: float, b: float, height: float) -> Fill:
    """What lies below the plane z = a x + b y + height."""
    low, high = _borders(face, a, b)
    under = high < height
    rows = np.flatnonzero((low < height) & ~under)
    x, y, z, w = face.x[rows], face.y[rows], face.z[rows], face.w[rows]
    depth = a * x + b * y + height - z
    np.maximum(depth, 0.0, out=depth)
    sums = face.sums[under].sum(axis=0)
    volume = height * sums[0] + a * sums[2] + b * sums[3] - sums[1] + _dot(w, depth)
    area = sums[0] + float(w[depth > 1e-9].sum())
    deepest = height - _single_lowest(face, low, high, a, b).height
    return Fill(float(area), float(volume), max(0.0, deepest))


def _borders(face: Tiles, a: float, b: float) -> tuple[Floats, Floats]:
    """Least and greatest height above the tilt that each tile may hold."""
    shift = a * face.middle[:, 0] + b * face.middle[:, 1]
    spread = abs(a) * face.reach[:, 0] + abs(b) * face.reach[:, 1]
    # Rounding may not drop the tile that holds the reading sought.
    spread = spread + 1e-9 * (1.0 + np.abs(face.low) + np.abs(face.high))
    return face.low - shift - spread, face.high - shift + spread


def _sums(w: Floats, z: Floats, x: Floats, y: Floats) -> Floats:
    return np.array([float(w.sum()), _dot(w, z), _dot(w, x), _dot(w, y)])


def _dot(w: Floats, values: Floats) -> float:
    # Not by the linear algebra library: its threads wait for each other longer than the sum takes.
    return float(np.einsum("ij,ij->", w, values))


def _single_lowest(face: Tiles, low: Floats, high: Floats, a: float, b: float) -> Lowest:
    """The one lowest reading above a tilt: tiles that cannot hold it are not looked into."""
    first = int(np.argmin(low))
    best = float((face.z[first] - a * face.x[first] - b * face.y[first]).min())
    rows = np.flatnonzero(low <= min(best, float(high.min())))
    x, y, z = face.x[rows].ravel(), face.y[rows].ravel(), face.z[rows].ravel()
    above = z - a * x - b * y
    at = int(np.argmin(above))
    return Lowest(float(above[at]), float(above[at]), float(x[at]), float(y[at]), float(z[at]))


def _weighted_quantile(
    values: Floats, weights: Floats, wanted: float, least: float = -np.inf, most: float = np.inf
) -> float:
    """The value up to which the weights add up to what is wanted; known to lie from `least` to `most`.

    Counts into bins until few are left, then sorts those.
    """
    if np.isfinite(least) or np.isfinite(most):
        wanted -= float(weights[values < least].sum())
        kept = (values >= least) & (values <= most) & (weights > 0.0)
        if not kept.any():
            return float(most)
        values, weights = values[kept], weights[kept]
    while len(values) > 4096:
        start, end = float(values.min()), float(values.max())
        if not end > start:
            return start
        bins = 1024
        number = np.minimum(((values - start) * (bins / (end - start))).astype(np.intp), bins - 1)
        running = np.cumsum(np.bincount(number, weights, bins))
        found = min(int(np.searchsorted(running, wanted)), int(number.max()))
        if found:
            wanted -= float(running[found - 1])
        kept = number == found
        if kept.all() or not kept.any():
            break
        values, weights = values[kept], weights[kept]
    order = np.argsort(values, kind="stable")
    running = np.cumsum(weights[order])
    return float(values[order[min(int(np.searchsorted(running, wanted)), len(order) - 1)]])
