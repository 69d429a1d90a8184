"""Which readings of a face a plane meets first."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from slabwright.geometry.faces import Face, Floats, Grid, Scatter, as_scatter

FEW = 30_000
"""So many readings are searched one and all; beyond, most are passed over with proof."""

COMPASS = np.array([(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1), (1, -1), (-1, 1)], dtype=np.float64)


class Seeker(Protocol):
    """Finds the readings of one face that bind at given slopes.

    Attributes:
        reach: greatest |x| and |y| of the readings, shape (2,) [mm]
    """

    reach: Floats

    def sample(self) -> Seeker:
        """A seeker over a part of the readings to find the slopes by; itself where a search costs little."""
        ...

    def start(self) -> Floats:
        """A few readings to begin with, shape (n, 3): ends, corners and low spots [mm]."""
        ...

    def seek(self, a: float, b: float) -> tuple[float, Floats]:
        """Extreme of z - a x - b y over all readings [mm], and readings that reach it or come near, shape (n, 3)."""
        ...


class AllSeeker:
    """Readings that are all searched each time."""

    def __init__(self, x: Floats, y: Floats, z: Floats, *, lowest: bool) -> None:
        if x.size == 0:
            raise ValueError("a face has no readings")
        self._x, self._y, self._z = x, y, z
        self._sign = 1.0 if lowest else -1.0
        self.reach = np.array([np.abs(x).max(), np.abs(y).max()])
        if not bool(np.isfinite(self.reach).all() and np.isfinite(z).all()):
            raise ValueError("a reading is not a finite number")

    def sample(self) -> Seeker:
        """Itself."""
        return self

    def start(self) -> Floats:
        """Ends, corners and the extreme height, shape (n, 3) [mm]."""
        places = [int(np.argmax(east * self._x + north * self._y)) for east, north in COMPASS]
        places.append(int(np.argmin(self._sign * self._z)))
        return self._points(np.unique(places))

    def seek(self, a: float, b: float) -> tuple[float, Floats]:
        """Extreme of z - a x - b y and the reading that reaches it."""
        rest = self._z - a * self._x - b * self._y
        place = int(np.argmin(rest) if self._sign > 0 else np.argmax(rest))
        return float(rest[place]), self._points(np.array([place]))

    def _points(self, places: np.ndarray[tuple[int], np.dtype[np.intp]]) -> Floats:
        return np.column_stack([self._x[places], self._y[places], self._z[places]])


def seeker(face: Face, *, lowest: bool) -> Seeker:
    """The quickest seeker for a face.

    Args:
        face: its readings
        lowest: whether the lowest readings above a plane are sought (face A), else the highest (face B)

    Raises:
        ValueError: no readings, or one that is not finite.
    """
    from slabwright.geometry.pool import PoolSeeker
    from slabwright.geometry.tiles import TileSeeker

    if isinstance(face, Grid) and face.z.size > FEW:
        return TileSeeker(face, lowest=lowest)
    scatter: Scatter = as_scatter(face)
    if len(scatter) > FEW:
        return PoolSeeker(scatter, lowest=lowest)
    return AllSeeker(scatter.x, scatter.y, scatter.z, lowest=lowest)
