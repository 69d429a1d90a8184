"""Which readings of a face a pair of planes meets first."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from slabwright.geometry.faces import Face, Floats, as_scatter


class Seeker(Protocol):
    """Finds the readings of one face that bind at given slopes."""

    least: Floats
    most: Floats

    def start(self) -> Floats:
        """A few readings to begin with, shape (n, 3): ends, corners and extreme heights [mm]."""
        ...

    def seek(self, a: float, b: float) -> tuple[float, Floats]:
        """Extreme of z - a x - b y over all readings [mm], and readings that reach it or come near, shape (n, 3)."""
        ...


class ScatterSeeker:
    """Scattered readings, all of them searched each time."""

    def __init__(self, face: Face, *, lowest: bool) -> None:
        scatter = as_scatter(face)
        if len(scatter) == 0:
            raise ValueError("a face has no readings")
        self._points = np.column_stack([scatter.x, scatter.y, scatter.z])
        if not bool(np.isfinite(self._points).all()):
            raise ValueError("a reading is not a finite number")
        self._sign = 1.0 if lowest else -1.0
        self.least = self._points.min(axis=0)
        self.most = self._points.max(axis=0)

    def start(self) -> Floats:
        points = self._points
        corners = [int(np.argmin(points[:, :2] @ way)) for way in ((1, 0), (-1, 0), (0, 1), (0, -1))]
        corners += [int(np.argmin(points[:, :2] @ way)) for way in ((1, 1), (-1, -1), (1, -1), (-1, 1))]
        corners.append(int(np.argmin(self._sign * points[:, 2])))
        return np.asarray(points[np.unique(corners)])

    def seek(self, a: float, b: float) -> tuple[float, Floats]:
        points = self._points
        rest = self._sign * (points[:, 2] - a * points[:, 0] - b * points[:, 1])
        place = int(np.argmin(rest))
        return self._sign * float(rest[place]), points[place : place + 1]


def seeker(face: Face, *, lowest: bool) -> Seeker:
    """The quickest seeker for a face; `lowest` for the face that lies above its plane, else the highest are sought."""
    return ScatterSeeker(face, lowest=lowest)
