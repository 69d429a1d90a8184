"""What every sheet of a job needs: the plan, the paper, the words, the outlines as they will be seen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from shapely import Polygon, transform
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from slabwright.accounts import Description, accounts
from slabwright.geometry.faces import Floats
from slabwright.plan import Plan
from slabwright.sheets.words import Words
from slabwright.slab.bed_frame import BedFrame
from slabwright.slab.results import SlabPlan
from slabwright.slab.shims import Stack
from slabwright.slab.stock import StockMap

FaceName = Literal["A", "B"]
STANDARD_GRAVITY = 9.80665
MARGIN = 11.0
FOOT = 21.0
HEAD = 12.0


@dataclass(frozen=True)
class Paper:
    """A sheet of paper, lying on its long side [mm]."""

    width: float
    height: float

    @property
    def inner_width(self) -> float:
        """Between the margins [mm]."""
        return self.width - 2 * MARGIN

    @property
    def inner_height(self) -> float:
        """Between the sheet's title and its title strip [mm]."""
        return self.height - MARGIN - FOOT - HEAD

    @property
    def picture_width(self) -> float:
        """Of a picture with text beside it [mm]."""
        return round(0.62 * self.inner_width, 1)


PAPERS = {"A4": Paper(297.0, 210.0), "Letter": Paper(279.4, 215.9)}


def other(face: FaceName) -> FaceName:
    """The opposite face."""
    return "B" if face == "A" else "A"


@dataclass(frozen=True)
class Context:
    """A plan with what its sheets have in common."""

    plan: Plan

    @cached_property
    def slab(self) -> SlabPlan:
        """The slab's plan.

        Raises:
            ValueError: the plan has none; such a plan has one sheet, which does not ask
        """
        if self.plan.slab is None:
            raise ValueError("the plan has no slab")
        return self.plan.slab

    @cached_property
    def words(self) -> Words:
        """How figures are written."""
        head = self.plan.job.stated.job
        return Words(head.units, head.currency)

    @cached_property
    def paper(self) -> Paper:
        """The job's paper."""
        head = self.plan.job.stated.job
        return PAPERS[head.paper or ("A4" if head.units == "metric" else "Letter")]

    def outline(self, face: FaceName) -> Polygon:
        """A face's outline in the slab's frame."""
        return self.slab.survey.outline_a if face == "A" else self.slab.survey.outline_b

    def region(self, face: FaceName) -> Polygon:
        """What of a face comes out flat, in the slab's frame."""
        return self.slab.survey.region_a if face == "A" else self.slab.survey.region_b

    def seated(self, shape: Polygon, face: FaceName) -> Polygon:
        """A shape of the slab's frame turned into the frame of the lie, as the maps have it."""
        turned = self._seated(shape, face)
        assert isinstance(turned, Polygon)
        return turned

    def _seated(self, shape: BaseGeometry, face: FaceName) -> BaseGeometry:
        planes = self.slab.seat.planes
        level = planes.upper if face == "A" else planes.lower

        def moved(corners: Floats) -> Floats:
            x, y = corners[:, 0], corners[:, 1]
            return planes.to_seat(np.column_stack([x, y, level(x, y)]))[:, :2]

        return transform(shape, moved)

    def stock(self, face: FaceName) -> StockMap:
        """The wood above the finished plane of a face."""
        return self.slab.stock_a if face == "A" else self.slab.stock_b

    @cached_property
    def faces(self) -> tuple[FaceName, FaceName]:
        """The faces in the order in which they are cut."""
        return self.slab.first_face, other(self.slab.first_face)

    @cached_property
    def descriptions(self) -> Mapping[str, Description]:
        """What each figure of the plan says of itself, by its path."""
        return {account.path: account.description for account in accounts(self.plan)}

    def because(self, path: str) -> str:
        """A figure's own account in one or two sentences."""
        found = self.descriptions.get(path)
        if found is None:
            return ""
        parts = [found.how or found.meaning, found.source and f"({found.source})"]
        said = " ".join(part for part in parts if part)
        return f"{said[:1].upper()}{said[1:]}." if not said.endswith(".") else said

    @cached_property
    def bed(self) -> BedFrame:
        """The frame of the slab as it lies level for its first cut."""
        return BedFrame(self.slab.seat.planes, self.faces[1])

    @cached_property
    def lying_outline(self) -> Polygon:
        """The upper face's outline as it lies on the bed; its y as `lying` has it."""
        return self._lying(self.outline(self.faces[0]))

    @cached_property
    def lying_region(self) -> Polygon:
        """What of the upper face comes out flat, as it lies on the bed."""
        return self._lying(self.region(self.faces[0]))

    def _lying(self, shape: Polygon) -> Polygon:
        on_bed = self.bed.outline(shape, self.faces[0])
        return scale(on_bed, 1.0, self.turn, origin=(0.0, 0.0))

    @property
    def turn(self) -> float:
        """1, or -1 where the slab was turned over about its length: bed places times this have y as the slab has it."""
        return 1.0 if self.faces[0] == "A" else -1.0

    def place(self, stack: Stack) -> tuple[float, float]:
        """Where a stack stands, along and across from the slab's x = 0, y = 0 [mm]."""
        return stack.bed_x, self.turn * stack.bed_y

    def defects(self, face: FaceName) -> list[tuple[str, BaseGeometry]]:
        """Word and place of each defect of a face, in the frame of the lie."""
        survey = self.slab.survey
        found = survey.defects_a if face == "A" else survey.defects_b
        return [(defect.kind, self._seated(defect.place, face)) for defect in found]

    @property
    def weight(self) -> float | None:
        """Weight of the slab as it lies; None where it was not worked out [kg]."""
        shims = self.slab.shims
        return shims.weight / STANDARD_GRAVITY if shims is not None and shims.weight > 0 else None


def seen(face: FaceName) -> str:
    """How a face is looked at in its pictures."""
    return "Face A up, seen from above" if face == "A" else "Face B up, turned over about the length, seen from above"
