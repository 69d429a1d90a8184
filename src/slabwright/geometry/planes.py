"""Parallel planes and the frame in which they lie flat."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from slabwright.geometry.faces import Floats


@dataclass(frozen=True)
class PlanePair:
    """Two parallel planes z = a x + b y + c (upper) and z = a x + b y + d (lower).

    Attributes:
        a: slope along x
        b: slope along y
        c: height of the upper plane at the origin [mm]
        d: height of the lower plane at the origin [mm]
    """

    a: float
    b: float
    c: float
    d: float

    @property
    def slant(self) -> float:
        """Vertical distance over normal distance, sqrt(1 + a^2 + b^2)."""
        return math.sqrt(1.0 + self.a * self.a + self.b * self.b)

    @property
    def thickness(self) -> float:
        """Normal distance of the planes, (c - d) / sqrt(1 + a^2 + b^2) [mm]."""
        return (self.c - self.d) / self.slant

    @property
    def tilt_x(self) -> float:
        """Turn about the x axis; positive: the side of greater y goes down in the seat's frame [deg]."""
        return math.degrees(math.atan(self.b))

    @property
    def tilt_y(self) -> float:
        """Turn about the y axis; positive: the side of greater x goes down in the seat's frame [deg]."""
        return math.degrees(math.atan(self.a))

    def upper(self, x: Floats, y: Floats) -> Floats:
        """Height of the upper plane at points [mm]."""
        return self.a * x + self.b * y + self.c

    def lower(self, x: Floats, y: Floats) -> Floats:
        """Height of the lower plane at points [mm]."""
        return self.a * x + self.b * y + self.d

    def rotation(self) -> Floats:
        """The rotation, shape (3, 3), that lays the planes level: rows are the seat frame's axes in the slab's frame.

        The x axis of the seat's frame stays in the vertical plane of the slab's x axis, so that the grain keeps its direction.
        """
        normal = np.array([-self.a, -self.b, 1.0]) / self.slant
        along = np.array([1.0, 0.0, self.a])
        along /= np.linalg.norm(along)
        return np.vstack([along, np.cross(normal, along), normal])

    def to_seat(self, points: Floats) -> Floats:
        """Points, shape (n, 3), turned into the seat's frame about the origin; rotated, not sheared [mm]."""
        return points @ self.rotation().T

    def from_seat(self, points: Floats) -> Floats:
        """The inverse of `to_seat`."""
        return points @ self.rotation()
