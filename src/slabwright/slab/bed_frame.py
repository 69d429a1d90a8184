"""The bed's frame: the slab as it is to lie for its first cut, level, with the chosen face down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely import Polygon

from slabwright.geometry.faces import Face, Floats, as_scatter
from slabwright.geometry.planes import PlanePair


@dataclass(frozen=True)
class BedFrame:
    """The seat's frame, turned over about the grain where face A lies down: x along the grain, z up from the bed.

    Attributes:
        planes: the planes that are to lie level
        down_face: the face that lies on the stacks
    """

    planes: PlanePair
    down_face: Literal["A", "B"]

    @property
    def _turn(self) -> Floats:
        return np.array([1.0, 1.0, 1.0]) if self.down_face == "B" else np.array([1.0, -1.0, -1.0])

    def to_bed(self, points: Floats) -> Floats:
        """Points of the slab's frame, shape (n, 3), in the bed's frame [mm]."""
        return self.planes.to_seat(points) * self._turn

    def from_bed(self, points: Floats) -> Floats:
        """The inverse of `to_bed`."""
        return self.planes.from_seat(points * self._turn)

    def face(self, face: Face) -> Floats:
        """Readings of a face in the bed's frame, shape (n, 3) [mm]."""
        scatter = as_scatter(face)
        return self.to_bed(np.column_stack([scatter.x, scatter.y, scatter.z]))

    def _height(self, face: Literal["A", "B"], x: Floats, y: Floats) -> Floats:
        return self.planes.upper(x, y) if face == "A" else self.planes.lower(x, y)

    def outline(self, outline: Polygon, face: Literal["A", "B"]) -> Polygon:
        """An outline of a face, taken at the height of that face's plane, in the bed's frame."""

        def moved(corners: Floats) -> Floats:
            x, y = corners[:, 0], corners[:, 1]
            return self.to_bed(np.column_stack([x, y, self._height(face, x, y)]))[:, :2]

        return shapely.transform(outline, moved)

    def place_to_bed(self, x: float, y: float) -> tuple[float, float]:
        """Where a place of the underside, given in the slab's frame, stands on the bed [mm]."""
        at = np.array([[x, y, float(self._height(self.down_face, np.array(x), np.array(y)))]])
        bed = self.to_bed(at)[0]
        return float(bed[0]), float(bed[1])

    def place_from_bed(self, x: float, y: float) -> tuple[float, float]:
        """The inverse of `place_to_bed`."""
        slant = self.planes.slant
        level = self.planes.c / slant if self.down_face == "A" else self.planes.d / slant
        slab = self.from_bed(np.array([[x, y, level * self._turn[2]]]))[0]
        return float(slab[0]), float(slab[1])
