"""Which defects stay in the finished top, and what of each: its place, its depth, what is empty."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely import Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from slabwright.geometry.faces import FaceName, Floats
from slabwright.job.models import Defect
from slabwright.reference.mending import mending_figures
from slabwright.slab.region import defect_places
from slabwright.slab.results import SlabPlan
from slabwright.top.placement_results import Placement
from slabwright.top.results import TopPlan

_FAR = 1e5
_OPEN = 0.5
"""A defect that comes so near to the piece's border is open there [mm]."""
_NOTHING = 1e-6
_FACES: tuple[FaceName, FaceName] = ("A", "B")


@dataclass(frozen=True)
class Ground:
    """The piece that defects stay in, in the frame of the readings.

    Attributes:
        slab: its plan
        top: the placed piece, or None
        thickness: of the finished board [mm]
        area: of the piece on each face
    """

    slab: SlabPlan
    top: TopPlan | None
    thickness: float
    area: dict[FaceName, BaseGeometry]

    @classmethod
    def of(cls, slab: SlabPlan, top: TopPlan | None, thickness: float) -> Ground:
        """Where a piece is placed its outline on each face; else what comes out flat."""
        survey = slab.survey
        if top is None:
            return cls(slab, None, thickness, {"A": survey.region_a, "B": survey.region_b})
        piece = rectangle_of(top.placement)
        return cls(
            slab,
            top,
            thickness,
            {"A": survey.outline_a.intersection(piece), "B": survey.outline_b.intersection(piece)},
        )

    def in_top(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape of the readings' frame in the top's: from its left end and centre line, seen from the show face."""
        if self.top is None:
            return shape
        placed = self.top.placement
        level = affinity.rotate(affinity.translate(shape, -placed.x, -placed.y), -placed.turn, origin=(0.0, 0.0))
        if self.slab.show_face == "B":
            level = affinity.scale(level, 1.0, -1.0, origin=(0.0, 0.0))
        return affinity.translate(level, placed.length / 2.0, 0.0)

    def from_top(self, shape: BaseGeometry) -> BaseGeometry:
        """The inverse of `in_top`."""
        if self.top is None:
            return shape
        placed = self.top.placement
        back = affinity.translate(shape, -placed.length / 2.0, 0.0)
        if self.slab.show_face == "B":
            back = affinity.scale(back, 1.0, -1.0, origin=(0.0, 0.0))
        return affinity.translate(affinity.rotate(back, placed.turn, origin=(0.0, 0.0)), placed.x, placed.y)

    def in_seat(self, points: Floats, face: FaceName) -> Floats:
        """Places of the readings' frame on a finished face, turned into the seat's frame, shape (n, 2)."""
        planes = self.slab.seat.planes
        x, y = points[:, 0], points[:, 1]
        z = planes.upper(x, y) if face == "A" else planes.lower(x, y)
        return np.asarray(planes.to_seat(np.column_stack([x, y, z]))[:, :2], dtype=np.float64)

    def wood_above(self, shape: BaseGeometry, face: FaceName) -> tuple[float, float, float]:
        """Wood that comes off above a place: least, on average and most; below 0 where the face lies lower [mm]."""
        points = np.vstack([shapely.get_coordinates(shape), shapely.get_coordinates(shape.centroid)])
        at = self.in_seat(points, face)
        stock = self.slab.stock_a if face == "A" else self.slab.stock_b
        row = np.abs(at[:, 0, None] - stock.x[None, :]).argmin(axis=1)
        column = np.abs(at[:, 1, None] - stock.y[None, :]).argmin(axis=1)
        wood = stock.depth[row, column]
        wood = wood[~np.isnan(wood)]
        return (float(wood.min()), float(wood.mean()), float(wood.max())) if wood.size else (0.0, 0.0, 0.0)

    def patch_over(self, shape: BaseGeometry) -> str:
        """The filled dip that lies over a shape's middle; empty where none does."""
        middle = self.in_seat(shapely.get_coordinates(shape.centroid), self.slab.show_face)[0]
        here = shapely.Point(middle)
        return next((patch.name for patch in self.slab.patches if patch.outline.covers(here)), "")


def rectangle_of(placed: Placement, shift: float = 0.0, shorter: tuple[float, float] = (0.0, 0.0)) -> Polygon:
    """The placed piece as a rectangle; with live edges one that is far wider than the slab.

    Args:
        placed: the placement
        shift: that it is moved by along itself [mm]
        shorter: taken off its left and its right end [mm]
    """
    half = _FAR if placed.width is None else placed.width / 2.0
    level = box(-placed.length / 2.0 + shift + shorter[0], -half, placed.length / 2.0 + shift - shorter[1], half)
    return affinity.translate(affinity.rotate(level, placed.turn, origin=(0.0, 0.0)), placed.x, placed.y)


@dataclass(frozen=True)
class Left:
    """What of a defect stays in the finished piece; see `Mended` for the figures."""

    number: int
    defect: Defect
    side: Literal["show", "underside", "both"]
    face: FaceName
    shape: BaseGeometry
    length: float
    width: float
    area: float
    depth: float
    through: bool
    known: bool
    missing: float
    volume: float
    filled_area: float
    leaks: bool
    open_edge: bool
    patch: str


def _true_area(defect: Defect, drawn: BaseGeometry) -> float:
    """Area of a defect's stated shape: a circle is round, not a polygon [mm2]."""
    return math.pi * defect.diameter**2 / 4.0 if defect.diameter is not None else float(drawn.area)


def _sides(shape: BaseGeometry, defect: Defect) -> tuple[float, float]:
    """Longer and shorter side of a shape [mm]."""
    if defect.width is not None:
        return float(shape.area) / defect.width, defect.width
    around = shapely.get_coordinates(shape.minimum_rotated_rectangle)
    sides = np.hypot(*np.diff(around[:3], axis=0).T) if len(around) > 3 else np.zeros(2)
    if defect.diameter is not None:
        sides = np.minimum(sides, defect.diameter)
    return float(sides.max()), float(sides.min())


def what_is_left(
    ground: Ground, number: int, defect: Defect, missing: float | None
) -> Left | Literal["outside the piece", "cut away with the face"]:
    """What of a defect stays in the finished piece, or where it goes.

    Args:
        ground: the piece
        number: of the defect, from 1
        defect: as stated
        missing: stated share of its shape that is empty
    """
    show = ground.slab.show_face
    under: FaceName = "B" if show == "A" else "A"
    # A defect that goes through is looked at on the show face.
    seen = [show, under] if defect.face == "both" or defect.depth == "through" else [defect.face]
    faces: list[FaceName] = [face for face in _FACES if face in seen]
    face = show if show in faces else faces[0]
    drawn = defect_places([defect], face)[0].place
    shape = drawn.intersection(ground.area[face])
    if shape.is_empty or shape.area < _NOTHING:
        return "outside the piece"
    area = _true_area(defect, drawn) * float(shape.area) / float(drawn.area)
    depths = {each: ground.wood_above(shape, each) for each in faces}
    dip = max(0.0, -depths[face][1]) if face == show else 0.0
    known = defect.depth is not None
    if isinstance(defect.depth, float):
        deepest = sum(max(0.0, defect.depth - max(least, 0.0)) for least, _, _ in depths.values())
        mean = sum(max(0.0, defect.depth - max(middle, 0.0)) for _, middle, _ in depths.values())
        if deepest <= _NOTHING:
            return "cut away with the face"
        through = deepest >= ground.thickness - dip - _NOTHING
    else:
        deepest = mean = ground.thickness - dip
        through = True
    if through:
        deepest = mean = max(ground.thickness - dip, 0.0)
    table = mending_figures().missing
    wedge = defect.kind == "check" and not through
    share = (
        missing
        if missing is not None
        else table["check_through" if defect.kind == "check" and through else defect.kind]
    )
    length, width = _sides(shape, defect)
    side: Literal["show", "underside", "both"] = (
        "both" if through or len(faces) == 2 else "show" if face == show else "underside"
    )
    return Left(
        number=number,
        defect=defect,
        side=side,
        face=face,
        shape=shape,
        length=length,
        width=width,
        area=area,
        depth=deepest,
        through=through,
        known=known,
        missing=share,
        volume=area * mean * share,
        # A check narrows downwards and is full width at the face; all else goes down with the same share.
        filled_area=area if wedge else area * share,
        leaks=through or defect.kind == "check",
        open_edge=bool(drawn.distance(ground.area[face].boundary) < _OPEN),
        patch=ground.patch_over(shape) if face == show and dip > 0.0 else "",
    )
