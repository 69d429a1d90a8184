"""From the top's plan to the base: the structure, and the steel to be cut for it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.base.base_results import BaseStructure
from slabwright.base.cable_openings import openings_through
from slabwright.base.cut_list import cut_list
from slabwright.base.cut_list_results import CutLength, CutList, CutPart, Saw, Yard
from slabwright.base.drill_plan import DrillPlan, drill_plan
from slabwright.base.from_top import bolts_of, top_on, with_layout
from slabwright.base.inserts_wanted import as_tables, unstated_finding, wanted_inserts, wanted_slots
from slabwright.base.loads import loads_of
from slabwright.base.parts import parts_to_cut
from slabwright.base.rack import on_the_rack
from slabwright.base.square_checks import SquareChecks, square_checks
from slabwright.base.squareness_room import allowed_off
from slabwright.base.stability import base_structure
from slabwright.base.top_clashes import top_clashes
from slabwright.base.weld_loads import joint_loads
from slabwright.base.weld_plan import WeldPlan, weld_plan
from slabwright.base.yard_prices import steel_supplies
from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.job.base_models import Base
from slabwright.job.loaded import Job
from slabwright.job.top_models import Insert, Top
from slabwright.reference.wood import species
from slabwright.slab.board import Board
from slabwright.top.results import TopPlan
from slabwright.top.slots import SlotPlan

Progress = Callable[[str], None]
Structured = Callable[..., BaseStructure]

_USUAL_GRAVITY = 0.6


@dataclass(frozen=True)
class BasePlan(BaseStructure):
    """The base: how stiff and stable it is, what is cut for it, and how it is welded and drilled."""

    parts: tuple[CutPart, ...] = figure("", "parts as they are sawn", default=())
    bars: tuple[CutLength, ...] = figure("", "lengths of steel, and how each is cut", default=())
    cut_list: CutList | None = figure("", "lengths to buy, saw stops and offcuts", default=None)
    welds: WeldPlan | None = figure("", "joints, their order, filler and time", default=None)
    squareness: SquareChecks | None = figure(
        "", "what proves it square, and how far it may be off; empty for a free frame", default=None
    )
    drill: DrillPlan | None = figure("", "holes, slots and openings in the steel", default=None)
    inserts_to_paste: str = figure(
        "",
        "inserts for the base's bolts as tables of the job file; empty where the top states its own",
        how="one straight above each bolt; the hole is as deep as the thread engagement and 5 mm",
        rests_on=("job:base.plate", "job:top.features"),
        source=COMMON_PRACTICE,
        change="paste them into the job file; then they are drawn in the top",
        default="",
    )


def base_plan(
    job: Job,
    top: TopPlan,
    made: Board,
    *,
    density: float,
    modulus: float,
    progress: Progress,
    structured: Structured = base_structure,
) -> tuple[BasePlan | None, tuple[Finding, ...]]:
    """The base's plan.

    Args:
        job: with the picture of the base, or a free frame, and the finished height
        top: the top that it carries
        made: the board as well as it is known
        density: of the wood [kg/m3]
        modulus: of elasticity along the grain [MPa]
        progress: told each step
        structured: works the base out as a structure, or knows it from before for the very same that it is given

    Returns:
        The plan, or None where neither picture nor frame, or no height, is stated; and what there is to say.

    Raises:
        SlabwrightError: the base cannot be made as it is stated.
    """
    piece, stated, units = job.stated.piece, job.stated.base, job.stated.job.units
    slab = job.stated.slab
    if slab is None or piece.height is None or (piece.base is None and not (stated and stated.nodes)):
        return None, ()
    progress("The base")
    gravity = species(slab.species).specific_gravity or _USUAL_GRAVITY
    base = with_layout(stated or Base(), top.layout)
    carried = top_on(top, made, density, modulus, gravity)
    frame = structured(base, None if base.nodes else piece.base, piece.height, carried, bolts_of(top.layout), units)
    progress("Steel to cut")
    shop = job.shop
    parts = parts_to_cut(frame.drawn, frame.stack)
    rack, off_names = on_the_rack(shop.steel.offcuts, sorted({part.section.name for part in parts}), units)
    cuts = cut_list(
        parts,
        saw=Saw(shop.saw.kerf, shop.saw.greatest_mitre, shop.saw.reach, shop.saw.out_of_square),
        supplies=steel_supplies(job, [part.section.name for part in parts]),
        offcuts=rack,
        yard=Yard(shop.steel.van, shop.steel.price_per_cut),
        keep=shop.steel.keep,
        units=units,
    )
    progress("Welding and drilling")
    welds = weld_plan(frame.drawn, units, joint_loads(frame.structure, frame.standing))
    square = None
    if frame.stack is not None:
        stated_top = job.stated.top or Top()
        allowed = allowed_off(
            top,
            frame.stack,
            base,
            stated_top.clearances,
            stated_top.paint,
            loads_of(base.loads, carried.area).dropped.value,
        )
        square = square_checks(frame.drawn, allowed, units, joined=welds.joined)
    slots = SlotPlan(top.fixed, True, top.slots, top.pockets, top.places)
    told_first: list[Finding] = [*off_names]
    inserts: tuple[Insert, ...] = ()
    if bolts_of(top.layout) is None and frame.drawn.plates:
        stated_top = job.stated.top or Top()
        inserts = wanted_inserts(frame.drawn, made.thickness, stated_top.clearances.insert)
        moves = top.movement is not None
        if top.movement is not None:
            slots = wanted_slots(inserts, top.length, top.movement, stated_top.clearances, units, stated_top.paint)
        told_first.append(unstated_finding(inserts, moves, units))
    told_first += top_clashes(frame.drawn, top.layout, job.stated.cables, units)
    drill = drill_plan(frame.drawn, slots, units, openings_through(job.stated.cables))
    held = {field.name: getattr(frame, field.name) for field in dataclasses.fields(frame)}
    plan = BasePlan(
        **held,
        parts=cuts.parts,
        bars=cuts.lengths,
        cut_list=cuts,
        welds=welds,
        squareness=square,
        drill=drill,
        inserts_to_paste=as_tables(inserts, units),
    )
    told = (part.findings for part in (frame, cuts, welds, square, drill) if part is not None)
    return plan, (*told_first, *(finding for each in told for finding in each))
