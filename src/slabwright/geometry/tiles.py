"""Search of a large grid by tiles: one pass for their least heights, then only the tiles that can matter are opened."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats, Grid
from slabwright.geometry.seeker import COMPASS, Seeker

_ROWS = 64
_COLUMNS = 32
_AT_ONCE = 64
_HANDED_ON = 4
_TOO_MANY = 16
"""Of so many tiles one may stay open before they are taken anew."""
_ROUNDING = 16.0 * float(np.finfo(np.float64).eps)

Places = NDArray[np.intp]


class TileSeeker:
    """A grid in tiles of some 64 by 32 readings, the last ones lapping over their neighbours.

    At slopes (a0, b0) the least of z - a0 x - b0 y is known of every tile. At others it is nowhere less than that, less
    the greatest of (a - a0) x + (b - b0) y at the tile's corners. Tiles are opened from the least of these on, until none
    is left that could hold anything lower. The slopes are nil at first; where they leave too many tiles open (a flat face
    that was read tilted), the tiles are taken anew at the slopes asked for.

    Attributes:
        reach: greatest |x| and |y| of the readings, shape (2,) [mm]
        opened: how many tiles have been opened so far
    """

    def __init__(self, face: Grid, *, lowest: bool) -> None:
        turned = face.z.flags.f_contiguous and not face.z.flags.c_contiguous
        self._turned = turned
        self._z = np.ascontiguousarray(face.z.T if turned else face.z)
        self._u, self._v = (face.y, face.x) if turned else (face.x, face.y)
        self._sign = 1.0 if lowest else -1.0
        self._reduce = np.fmin.reduce if lowest else np.fmax.reduce
        self._rows = _starts(self._u.size, _ROWS)
        self._columns = _starts(self._v.size, _COLUMNS)
        self._tall, self._wide = min(_ROWS, self._u.size), min(_COLUMNS, self._v.size)
        self.opened = 0
        self._base = (0.0, 0.0)
        self._least = self._reduced()
        self._open = np.isfinite(self._least)
        if bool(np.isneginf(self._least).any()):
            raise ValueError("a reading is not a finite number")
        if not bool(self._open.any()):
            raise ValueError("a face has no readings")
        self._least[~self._open] = np.inf
        self.reach = np.array([np.abs(face.x).max(), np.abs(face.y).max()])
        self._reach = self.reach[::-1] if turned else self.reach
        self._down, self._across = np.arange(self._tall), np.arange(self._wide)

    def sample(self) -> Seeker:
        """Itself: a search costs little."""
        return self

    def start(self) -> Floats:
        """The readings at the ends and corners of the face, and the extreme one of each ninth of it."""
        down, across = np.nonzero(self._open)
        u, v = self._u[self._rows[down]], self._v[self._columns[across]]
        outer = np.unique([int(np.argmax(east * u + north * v)) for east, north in COMPASS])
        tiles = list(zip(down[outer], across[outer], strict=True))
        inner = [self._ninth(i, j) for i in range(3) for j in range(3)]
        tiles += [tile for tile in inner if tile is not None]
        row, column = np.array(tiles, dtype=np.intp).T
        heights, u_tile, v_tile = self._opened(row, column)
        found = [self._lowest_points(heights, u_tile, v_tile, heights)]
        heights, u_tile, v_tile = heights[: len(outer)], u_tile[: len(outer)], v_tile[: len(outer)]
        read = np.isfinite(heights)
        for east, north in COMPASS:
            lean = np.where(read, -(east * u_tile[:, :, None] + north * v_tile[:, None, :]), np.inf)
            found.append(self._lowest_points(lean, u_tile, v_tile, heights))
        return np.unique(np.vstack(found), axis=0)

    def seek(self, a: float, b: float) -> tuple[float, Floats]:
        """Extreme of z - a x - b y over the whole grid, and a few readings that come nearest to it."""
        along, aside = (b, a) if self._turned else (a, b)
        along, aside = self._sign * along, self._sign * aside
        flat = self._floor(along, aside)
        first = np.array([int(np.argmin(flat))])
        lows, points = self._search(first, along, aside)
        limit = float(lows.min())
        rounding = _ROUNDING * float(self._reach @ np.abs([along, aside]) + abs(limit))
        left = np.flatnonzero(flat < limit - rounding)
        if left.size > max(_AT_ONCE, flat.size // _TOO_MANY) and (along, aside) != self._base:
            self._take_anew(along, aside)
            flat = self._floor(along, aside)
            left = np.flatnonzero(flat < limit - rounding)
        left = left[left != first[0]]
        if left.size > _AT_ONCE:
            left = left[np.argsort(flat[left])]
        for begin in range(0, left.size, _AT_ONCE):
            batch = left[begin : begin + _AT_ONCE]
            batch = batch[flat[batch] < limit - rounding]
            if batch.size == 0:
                break
            more_lows, more_points = self._search(batch, along, aside)
            lows, points = np.concatenate([lows, more_lows]), np.vstack([points, more_points])
            limit = min(limit, float(more_lows.min()))
        order = np.argsort(lows)[:_HANDED_ON]
        return self._sign * limit, points[order]

    def _floor(self, along: float, aside: float) -> Floats:
        """What z less the slopes is nowhere less than in each tile, in a row."""
        along, aside = along - self._base[0], aside - self._base[1]
        floor = self._least - self._greatest(along * self._u, self._rows, self._tall)[:, None]
        floor -= self._greatest(aside * self._v, self._columns, self._wide)
        return np.asarray(floor.reshape(-1))

    def _take_anew(self, along: float, aside: float) -> None:
        """The least of every tile at other slopes: another pass over the grid."""
        lean = self._sign * aside * self._v
        strips = np.empty((self._rows.size, self._v.size))
        level = np.empty((self._tall, self._v.size))
        for place, begin in enumerate(self._rows):
            np.subtract(self._z[begin : begin + self._tall], lean, out=level)
            level -= (self._sign * along * self._u[begin : begin + self._tall])[:, None]
            self._reduce(level, axis=0, out=strips[place])
        self._least = self._across_strips(strips)
        self._least[~self._open] = np.inf
        self._base = (along, aside)

    def _reduced(self) -> Floats:
        """Least height of every tile, shape (tiles down, tiles across); nan where a tile has no reading."""
        tall, whole = self._tall, self._u.size // self._tall
        strips = np.empty((self._rows.size, self._v.size))
        self._reduce(self._z[: whole * tall].reshape(whole, tall, -1), axis=1, out=strips[:whole])
        if self._rows.size > whole:
            self._reduce(self._z[-tall:], axis=0, out=strips[whole])
        return self._across_strips(strips)

    def _across_strips(self, strips: Floats) -> Floats:
        """Least of every tile from the least of its columns."""
        wide, whole = self._wide, self._v.size // self._wide
        tiles = np.empty((self._rows.size, self._columns.size))
        stood = np.ascontiguousarray(strips[:, : whole * wide].reshape(-1, whole, wide).transpose(2, 0, 1))
        self._reduce(stood, axis=0, out=tiles[:, :whole])
        if self._columns.size > whole:
            self._reduce(strips[:, -wide:], axis=1, out=tiles[:, whole])
        return tiles if self._sign > 0 else np.negative(tiles, out=tiles)

    @staticmethod
    def _greatest(lean: Floats, starts: Places, length: int) -> Floats:
        """Greatest of a straight rise over each tile: it is reached at one of the two ends."""
        return np.maximum(lean[starts], lean[starts + length - 1])

    def _ninth(self, i: int, j: int) -> tuple[int, int] | None:
        down, across = self._least.shape
        top, left = i * down // 3, j * across // 3
        part = self._least[top : (i + 1) * down // 3, left : (j + 1) * across // 3]
        if part.size == 0 or not np.isfinite(part).any():
            return None
        row, column = np.unravel_index(int(np.argmin(part)), part.shape)
        return top + int(row), left + int(column)

    def _opened(self, row: Places, column: Places) -> tuple[Floats, Floats, Floats]:
        """Heights of tiles, turned so that the lowest is sought, inf where nothing was read; and their places."""
        self.opened += len(row)
        down = self._rows[row][:, None] + self._down
        across = self._columns[column][:, None] + self._across
        heights = self._sign * self._z[down[:, :, None], across[:, None, :]]
        np.copyto(heights, np.inf, where=np.isnan(heights))
        return heights, self._u[down], self._v[across]

    def _search(self, tiles: Places, along: float, aside: float) -> tuple[Floats, Floats]:
        """The extreme of each tile and the reading that reaches it."""
        row, column = np.divmod(tiles, self._columns.size)
        heights, u, v = self._opened(row, column)
        rest = heights - along * u[:, :, None]
        rest -= aside * v[:, None, :]
        flat = rest.reshape(len(tiles), -1)
        place = flat.argmin(axis=1)
        return flat[np.arange(len(tiles)), place], self._located(place, u, v, heights)

    def _lowest_points(self, rest: Floats, u: Floats, v: Floats, heights: Floats) -> Floats:
        return self._located(rest.reshape(len(rest), -1).argmin(axis=1), u, v, heights)

    def _located(self, place: Places, u: Floats, v: Floats, heights: Floats) -> Floats:
        each = np.arange(len(place))
        row, column = np.divmod(place, self._wide)
        z = self._sign * heights[each, row, column]
        flat = (v[each, column], u[each, row]) if self._turned else (u[each, row], v[each, column])
        return np.column_stack([*flat, z])


def _starts(size: int, length: int) -> Places:
    """Where tiles begin; the last one laps over so that it ends with the grid."""
    length = min(length, size)
    starts = np.arange(0, size - length + 1, length)
    return starts if starts[-1] + length == size else np.append(starts, size - length)
