"""What every sheet of a job needs: the plan, the paper, the words, the outlines as they will be seen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from shapely import MultiPoint, Polygon, transform
from shapely.affinity import scale
from shapely.geometry.base import BaseGeometry

from slabwright.accounts import Description, accounts
from slabwright.geometry.faces import FaceName, Floats, as_scatter
from slabwright.geometry.faces import other as other
from slabwright.machine.lying import first_plane, lying_on_stacks
from slabwright.machine.setting import Clamping, Stage, no_setting, settings
from slabwright.plan import Plan
from slabwright.sheets.words import Words
from slabwright.slab.bed_frame import BedFrame
from slabwright.slab.results import SlabPlan
from slabwright.slab.shim_results import Stack
from slabwright.slab.stock import StockMap

SHOP_PARTS = ("machine", "bed", "shims", "allowance")
_READ_BEYOND = 15.0
"""A map goes on beyond the outermost readings by half their spacing, and no farther than this [mm]: common practice."""
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

    def heights(self, face: FaceName) -> Floats:
        """Each reading of a face: x and y in the slab's frame, height above the finished plane, shape (n, 3) [mm]."""
        survey, planes = self.slab.survey, self.slab.seat.planes
        read = as_scatter(survey.all_a if face == "A" else survey.all_b)
        level = planes.to_seat(np.column_stack([read.x, read.y, read.z]))[:, 2]
        above = level - planes.c / planes.slant if face == "A" else planes.d / planes.slant - level
        return np.column_stack([read.x, read.y, above])

    def highest(self, face: FaceName) -> tuple[float, float, float]:
        """The highest reading of a face: x and y in the slab's frame, height above the finished plane [mm]."""
        rows = self.heights(face)
        x, y, above = rows[int(np.argmax(rows[:, 2]))]
        return float(x), float(y), float(above)

    def read(self, face: FaceName) -> BaseGeometry:
        """Where a face's map rests on readings: their hull and a little beyond, in the frame of the lie."""
        survey, planes = self.slab.survey, self.slab.seat.planes
        read = as_scatter(survey.all_a if face == "A" else survey.all_b)
        points = planes.to_seat(np.column_stack([read.x, read.y, read.z]))[:, :2]
        return MultiPoint(points).convex_hull.buffer(min(survey.spacing / 2, _READ_BEYOND))

    @cached_property
    def clampings(self) -> tuple[Clamping, ...]:
        """The clampings on the machine; none where the slab cannot be set up on it."""
        shop, stated = self.plan.job.shop, self.plan.job.stated
        if no_setting(self.slab, shop.machine, shop.bed, self.words.units) is not None:
            return ()
        figured = stated.slab is not None and stated.slab.figured
        return settings(
            self.slab,
            shop.machine,
            shop.bed,
            stated.clamps,
            allowance=shop.allowance,
            figured=figured,
            units=self.words.units,
        )

    def clamping(self, face: FaceName, stage: Stage) -> Clamping | None:
        """The first clamping of a face in one stage; None where there is none."""
        return next((each for each in self.clampings if each.face == face and each.stage == stage), None)

    def above_bed(self, face: FaceName, stage: Stage) -> float | None:
        """Height of a face's finished plane above the bed while a stage is cut; None where it is not known [mm]."""
        if (found := self.clamping(face, stage)) is not None:
            return found.plane
        shims = self.slab.shims
        if face == self.faces[0] and stage != "skim":
            standing = shims is not None and not np.isnan(shims.loss)
            sled = self.plan.job.shop.machine.kind == "sled"
            return first_plane(self.slab, lying_on_stacks(self.slab, rails_follow=sled)) if standing else None
        return self.slab.seat.planes.thickness if face == self.faces[1] and stage != "rough" else None

    @cached_property
    def usual(self) -> str:
        """That the shop's own figures are not stated; empty where all are."""
        where = self.plan.job.where
        parts = [part for part in SHOP_PARTS if not any(key.startswith(f"shop:{part}") for key in where)]
        if not parts:
            return ""
        return f"Usual figures taken for {', '.join(parts)}: state your own in shop.toml."

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
        """Weight of the slab as it lies, as on its lift card where it has one; None where it was not worked out [kg]."""
        carry = self.plan.carry
        if carry is not None and (rough := carry.state("rough slab")) is not None:
            return rough.mass
        shims = self.slab.shims
        return shims.weight / STANDARD_GRAVITY if shims is not None and shims.weight > 0 else None


def seen(face: FaceName) -> str:
    """How a face is looked at in its pictures."""
    return "Face A up, seen from above" if face == "A" else "Face B up, turned over about the length, seen from above"
