"""Passes: depth by depth, what each takes and what wood is left above the plane."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure, working
from slabwright.geometry.faces import Floats


@dataclass(frozen=True)
class StockMap:
    """Wood above a finished plane on a grid in the seat's frame; `nan` outside the slab."""

    x: Floats = working()
    y: Floats = working()
    depth: Floats = working()
    """Shape (nx, ny) [mm]; negative: the plane passes above the wood (a low spot)."""


@dataclass(frozen=True)
class Pass:
    """One depth of one face."""

    face: Literal["A", "B"] = figure("", "the face that is cut")
    number: int = figure("1", "from 1, in the order of the work")
    stage: Literal["rough", "skim", "only"] = figure(
        "", "roughing that leaves a rest, the skim after it, or all in one go"
    )
    level: float = figure("mm", "height of the cutter above the finished plane of this face")
    depth: float = figure("mm", "taken by this pass at most")
    area: float = figure("mm2", "where it meets wood")
    volume: float = figure("mm3", "of wood that it takes")
    left_area: float = figure("mm2", "where wood still stands above the finished plane afterwards")
    left_volume: float = figure("mm3", "of wood still above the finished plane afterwards")
    last: bool = figure("", "the thin last pass")


@dataclass(frozen=True)
class PassPlan:
    """Every depth of both faces."""

    passes: tuple[Pass, ...] = figure("", "in the order of the work")
    first_face: Literal["A", "B"] = figure("", "the face that is cut first")
    stock_a: StockMap = working()
    stock_b: StockMap = working()


@dataclass(frozen=True)
class Procedure:
    """One way of working through the two faces: in one go, or rough, rest and skim."""

    kind: Literal["one go", "rough, rest, skim"] = figure("", "how the two faces are worked")
    thickness_low: float = figure("mm", "promised thickness, done so")
    movement: float = figure("mm", "that the wood is allowed to move when it is opened")
    days: float = figure("day", "that it takes with its rests")
    chosen: bool = figure("", "whether the sheets follow this one")
    steps: tuple[str, ...] = figure("", "in the order of the work")
