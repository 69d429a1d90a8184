"""Readings of one face of a slab: scattered points, or heights on a grid."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
FaceName = Literal["A", "B"]


def other(face: FaceName) -> FaceName:
    """The opposite face."""
    return "B" if face == "A" else "A"


@dataclass(frozen=True)
class Scatter:
    """Readings anywhere.

    Attributes:
        x: along the grain, shape (n,) [mm]
        y: across, shape (n,) [mm]
        z: height, shape (n,) [mm]
    """

    x: Floats
    y: Floats
    z: Floats

    def __len__(self) -> int:
        return int(self.x.size)


@dataclass(frozen=True)
class Grid:
    """Readings on a rectangular grid; `nan` where nothing was read or where a reading does not count.

    Attributes:
        x: rising, shape (nx,) [mm]
        y: rising, shape (ny,) [mm]
        z: heights, shape (nx, ny) [mm]
    """

    x: Floats
    y: Floats
    z: Floats

    def __len__(self) -> int:
        return int(np.count_nonzero(~np.isnan(self.z)))


Face = Scatter | Grid


def as_scatter(face: Face) -> Scatter:
    """The readings of a face as scattered points; a grid's `nan` cells are left out."""
    if isinstance(face, Scatter):
        return face
    row, column = np.nonzero(~np.isnan(face.z))
    return Scatter(face.x[row], face.y[column], face.z[row, column])
