"""The plan of the slab: what all its stages hand on together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure, working
from slabwright.findings import COMMON_PRACTICE
from slabwright.slab.hidden import Hidden
from slabwright.slab.moisture import MoistureGate
from slabwright.slab.passes import Pass, Procedure
from slabwright.slab.patch import FrontPoint, Patch
from slabwright.slab.seat import Seat
from slabwright.slab.shim_results import ShimPlan
from slabwright.slab.stock import StockMap
from slabwright.slab.survey import Survey
from slabwright.slab.ways import Way


@dataclass(frozen=True)
class SlabPlan:
    """From the readings to the flat board."""

    survey: Survey = figure("", "the readings in one frame")
    moisture: MoistureGate = figure("", "is it dry enough")
    seat: Seat = figure("", "the lie of the slab and the thickness that comes of it")
    show_face: Literal["A", "B"] = figure("", "the face that will be seen", rests_on=["job:slab.show_face"])
    first_face: Literal["A", "B"] = figure(
        "", "the face that is cut first", how="the show face", rests_on=["slab.show_face"], source=COMMON_PRACTICE
    )
    patch_front: tuple[FrontPoint, ...] = figure("", "thickness against fill, from no fill on")
    chosen_fill: int = figure(
        "1",
        "the point of thickness against fill that the sheets follow; 0: no fill",
        how="as stated; else the least fill that is sure to reach the stated thickness, once priced and agreed",
        rests_on=["job:fill.choose", "job:piece.thickness", "job:fill.price_per_litre", "job:fill.client_agrees"],
        change="[fill] choose",
    )
    filled_with: Literal["epoxy", "let in wood"] = figure(
        "", "what the dips of the chosen point are filled with", rests_on=["job:fill.way"], change="[fill] way"
    )
    patches: tuple[Patch, ...] = figure("", "the filled places of the chosen point")
    ways: tuple[Way, ...] = figure("", "ways out of a dip, side by side")
    shims: ShimPlan | None = figure("", "the stacks for the first cut")
    passes: tuple[Pass, ...] = figure("", "depth by depth, both faces")
    procedures: tuple[Procedure, ...] = figure("", "one go, or rough, rest and skim")
    stock_a: StockMap = working()
    stock_b: StockMap = working()
    hidden: Hidden | None = working(None)
    """Draws of what lies between the readings, on the clean region."""
