"""What stands on the machine's bed, in the machine's frame.

Machine frame: x along the bed (and the grain), y across, z up; origin at the bed's near left corner, z = 0 at the bed's
surface; millimetres. Programs count z from the top of a fixed block on the bed: z_program = z - block height.
"""

from __future__ import annotations

from dataclasses import dataclass

from shapely import Polygon

from slabwright.geometry.faces import FaceName, Floats


@dataclass(frozen=True)
class KeepOut:
    """A clamp, stop or wedge on the bed: nothing of the tool or its holder may come over it below its top.

    Attributes:
        name: as the sheets call it
        x_from: near end [mm]
        x_to: far end [mm]
        y_from: near side [mm]
        y_to: far side [mm]
        top: above the bed [mm]
    """

    name: str
    x_from: float
    x_to: float
    y_from: float
    y_to: float
    top: float


@dataclass(frozen=True)
class Stock:
    """The whole slab as it lies on the bed (live edge, bark and ends too), as a field of cells.

    Attributes:
        x: middles of the cells, evenly spaced, shape (nx,) [mm]
        y: middles of the cells, evenly spaced, shape (ny,) [mm]
        top: height of the wood above the bed, shape (nx, ny); nan where there is none [mm]
        known: whether a cell's height rests on readings near it; where it does not, `top` is the highest reading and a margin
        outline: of the wood seen from above [mm]
    """

    x: Floats
    y: Floats
    top: Floats
    known: Floats
    outline: Polygon


@dataclass(frozen=True)
class Setting:
    """One clamping: a face up, a stretch of the slab within the travel, and the plane that it is cut to.

    Attributes:
        face: the face that is up and is cut
        number: from 1, in the order of the work; a slab longer than the travel has two settings a face
        stock: as it lies before the first cut of this setting
        plane: height of the finished plane above the bed [mm]
        block: height of the fixed block above the bed, where z is zeroed [mm]
        window: x from and to that this setting may cut [mm]
        overlap: x from and to that the next setting cuts again; None where there is one setting [mm]
        keep_out: clamps, stops and wedges
    """

    face: FaceName
    number: int
    stock: Stock
    plane: float
    block: float
    window: tuple[float, float]
    overlap: tuple[float, float] | None
    keep_out: tuple[KeepOut, ...]
