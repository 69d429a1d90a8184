"""Before there is a slab: a planning slab, base and coats from six answers, so that there is something to price."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.base.base_results import BaseStructure
from slabwright.base.basing import BasePlan
from slabwright.base.cut_list import cut_list
from slabwright.base.cut_list_results import OffcutOnHand, Saw, Yard
from slabwright.base.parts import parts_to_cut
from slabwright.base.stability import base_structure
from slabwright.base.stiffness import TopOn
from slabwright.base.weld_joints import meetings
from slabwright.base.weld_plan import weld_plan
from slabwright.base.yard_prices import steel_supplies
from slabwright.findings import FROM_MEMORY, Finding, SlabwrightError
from slabwright.finish.areas import Areas
from slabwright.finish.coating_plan import coating_plan
from slabwright.finish.coating_results import SystemPlan
from slabwright.job.base_models import Base
from slabwright.job.loaded import Job
from slabwright.job.models import JobFile, PlannedSlab
from slabwright.quantities import INCH, format_length
from slabwright.reference.money import money_table
from slabwright.reference.wood import species
from slabwright.slab.board import PLANNED_LOSS_EVEN, PLANNED_LOSS_LOW, planned_board

_USUAL = (650.0, 11_000.0, 0.6)
"""Density [kg/m3], modulus [MPa] and specific gravity of a wood that the table does not know: from memory."""
_QUESTIONS = (
    ("piece.length", "how long the top is"),
    ("piece.height", "how high it is"),
    ("slab.species", "which wood"),
    ("piece.base", "which base"),
)


@dataclass(frozen=True)
class Planning:
    """What is reckoned with until it is measured."""

    length: float = figure("mm", "rough length of the slab to look for", rests_on=("job:piece.length",))
    width: float = figure("mm", "rough width of the slab to look for", rests_on=("job:piece.width",))
    thickness: float = figure(
        "mm",
        "rough thickness of the slab to look for",
        how="finished thickness and what flattening takes, nineteen times in twenty, up to the next quarter of an inch",
        rests_on=("job:piece.thickness", "job:slab.planned.thickness"),
        source=FROM_MEMORY,
        change="[slab.planned] thickness",
    )
    board: float = figure("mm", "flat board that it gives, even chance", source=FROM_MEMORY)
    board_low: float = figure("mm", "flat board that it gives nineteen times in twenty", source=FROM_MEMORY)
    top_area: float = figure("mm2", "of the finished top", how="length x width", rests_on=("job:piece",))
    steel_mass: float | None = figure("kg", "of the base as the picture draws it; empty without one")
    steel_parts: int = figure("1", "pieces that are sawn for it")
    steel_joints: int = figure("1", "joints that are welded")
    steel_area: float = figure("mm2", "of steel that is coated")
    assumed: tuple[str, ...] = figure("", "what was taken because nothing is stated yet")
    base: BasePlan | None = working(None)
    systems: tuple[SystemPlan, ...] = working(())
    job: Job | None = working(None)


def open_questions(job: Job) -> tuple[str, ...]:
    """What must be known before anything can be priced and is not, in words."""
    stated = job.stated
    known = {
        "piece.length": stated.piece.length is not None,
        "piece.height": stated.piece.height is not None,
        "slab.species": stated.slab is not None,
        "piece.base": stated.piece.base is not None or bool(stated.base and stated.base.nodes),
    }
    return tuple(f"{words} ([{key.replace('.', '] ', 1)})" for key, words in _QUESTIONS if not known[key])


def planning_slab(stated: JobFile) -> tuple[PlannedSlab, tuple[str, ...]]:
    """The rough slab to look for: as stated, or from the finished sizes.

    Args:
        stated: with the finished length and a species

    Returns:
        The slab, and what was taken because nothing is stated.

    Raises:
        SlabwrightError: the length is not stated.
    """
    piece, slab, table = stated.piece, stated.slab, money_table().first_price
    if slab is not None and slab.planned is not None:
        return slab.planned, ()
    if piece.length is None:
        raise SlabwrightError("piece.length: is not stated; a first price wants the finished length")
    trim, margin = (slab.end_trim, slab.edge_margin) if slab is not None else (25.0, 10.0)
    assumed, units = [], stated.job.units
    width = piece.width
    if width is None:
        width = table.planned_width
        assumed.append(f"width {format_length(width, units)}")
    if piece.thickness == "max":
        thickness = 10 * table.sold_step
        assumed.append(f"a rough slab of {format_length(thickness, units)} (10/4)")
    else:
        thickness = math.ceil((piece.thickness + PLANNED_LOSS_LOW) / table.sold_step - 1e-9) * table.sold_step
        assumed.append(f"a rough slab of {format_length(thickness, units)}")
    step = 10.0 if units == "metric" else INCH / 2.0
    long, wide = (
        math.ceil(size / step - 1e-9) * step
        for size in (piece.length + 2.0 * trim + table.spare_length, width + 2.0 * margin + table.spare_width)
    )
    planned = PlannedSlab(length=round(long, 4), width=round(wide, 4), thickness=round(thickness, 4))
    return planned, tuple(assumed)


def planning(job: Job) -> tuple[Planning, tuple[Finding, ...]]:
    """What a job that has no slab yet is priced with.

    Args:
        job: with length, height, species and a base

    Returns:
        The planning slab, base and coats; and what there is to say.

    Raises:
        SlabwrightError: a question is open, or no such base can be made.
    """
    if lacking := open_questions(job):
        raise SlabwrightError(f"a first price wants to know {', '.join(lacking)}")
    stated = job.stated
    slab, piece = stated.slab, stated.piece
    assert slab is not None and piece.length is not None and piece.height is not None
    rough, assumed = planning_slab(stated)
    filled = slab.model_copy(update={"planned": rough})
    planned_job = dataclasses.replace(
        job, stated=stated.model_copy(update={"slab": filled}), readings=None, rereadings=()
    )
    board = planned_board(rough)
    width = piece.width if piece.width is not None else rough.width - 2.0 * slab.edge_margin
    target = piece.thickness if piece.thickness != "max" else board.thickness_even
    low = min(target, board.thickness_low)
    base, findings = _planned_base(job, width, (low, target, target))
    steel = base.paint_area if base is not None else 0.0
    ends = 2.0 * width * target
    wood = 2.0 * piece.length * width + 2.0 * piece.length * target + ends
    areas = Areas(wood, wood - ends, ends, steel, 0.0, (), ())
    systems, more = coating_plan(planned_job, areas)
    # Where the most of the slab is wanted no board is too thin for it.
    if low < target and piece.thickness != "max":
        findings = (*findings, _thin(job, rough, target, board.thickness_low))
    made = Planning(
        length=rough.length,
        width=rough.width,
        thickness=rough.thickness,
        board=board.thickness_even,
        board_low=board.thickness_low,
        top_area=piece.length * width,
        steel_mass=base.mass if base is not None else None,
        steel_parts=sum(part.count for part in base.parts) if base is not None else 0,
        steel_joints=len(meetings(base.drawn)) if base is not None else 0,
        steel_area=steel,
        assumed=assumed,
        base=base,
        systems=systems,
        job=planned_job,
    )
    return made, (*findings, *more)


def _planned_base(
    job: Job, width: float, thickness: tuple[float, float, float]
) -> tuple[BasePlan | None, tuple[Finding, ...]]:
    """The base of the picture under a plain board, with its steel to buy and its welds."""
    piece, units, shop = job.stated.piece, job.stated.job.units, job.shop
    assert piece.length is not None and piece.height is not None and job.stated.slab is not None
    row = species(job.stated.slab.species)
    density, modulus = row.density() or _USUAL[0], row.modulus or _USUAL[1]
    on = TopOn(
        piece.length, width, thickness, 0.0, density, modulus, row.specific_gravity or _USUAL[2], None, known=False
    )
    base = job.stated.base or Base()
    structure = base_structure(base, None if base.nodes else piece.base, piece.height, on, None, units)
    parts = parts_to_cut(structure.drawn, structure.stack)
    cuts = cut_list(
        parts,
        saw=Saw(shop.saw.kerf, shop.saw.greatest_mitre, shop.saw.reach, shop.saw.out_of_square),
        supplies=steel_supplies(job, [part.section.name for part in parts]),
        offcuts=[OffcutOnHand(offcut.section, offcut.length, offcut.count) for offcut in shop.steel.offcuts],
        yard=Yard(shop.steel.van, shop.steel.price_per_cut),
        keep=shop.steel.keep,
        units=units,
    )
    welds = weld_plan(structure.drawn, units)
    held = {each.name: getattr(structure, each.name) for each in dataclasses.fields(BaseStructure)}
    stops = tuple(found for found in structure.findings if found.severity == "stop")
    return BasePlan(**held, parts=cuts.parts, bars=cuts.lengths, cut_list=cuts, welds=welds), stops


def _thin(job: Job, rough: PlannedSlab, target: float, low: float) -> Finding:
    units = job.stated.job.units
    enough = target + PLANNED_LOSS_LOW
    even, most = format_length(PLANNED_LOSS_EVEN, units), format_length(PLANNED_LOSS_LOW, units)
    return Finding(
        "planning/thin-slab",
        "caution",
        f"A rough slab of {format_length(rough.thickness, units)} gives {format_length(low, units)} nineteen times in twenty,"
        f" and {format_length(target, units)} is wanted.",
        f"Look for {format_length(enough, units)} rough, or count on less; flattening takes {even} to {most}.",
        FROM_MEMORY,
    )
