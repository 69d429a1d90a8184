"""A base stated otherwise, to be held beside the one that is planned: quick enough to answer while it is asked."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.base.base_results import BaseStructure
from slabwright.base.basing import _USUAL_GRAVITY
from slabwright.base.cut_list import cut_list
from slabwright.base.cut_list_results import CutList, OffcutOnHand, Saw, Yard
from slabwright.base.from_top import bolts_of, top_on, with_layout
from slabwright.base.parts import parts_to_cut
from slabwright.base.stability import base_structure
from slabwright.base.yard_prices import steel_supplies
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base
from slabwright.job.loaded import Job
from slabwright.reference.wood import species
from slabwright.slab.board import Board
from slabwright.top.results import TopPlan


@dataclass(frozen=True)
class TriedBase:
    """A base that was tried.

    Attributes:
        frame: as a structure, without the changes that would make it stiffer
        cuts: the steel that is cut for it, and what is bought
    """

    frame: BaseStructure
    cuts: CutList


def tried_base(job: Job, top: TopPlan, made: Board, *, density: float, modulus: float) -> TriedBase:
    """The base that a job states, on a top that is planned.

    What it leaves out is what does not tell one base from another: mends, welds, squareness, drilling.

    Args:
        job: with the base stated otherwise
        top: that it carries, laid out with what the job states
        made: the board as well as it is known
        density: of the wood [kg/m3]
        modulus: of elasticity along the grain [MPa]

    Raises:
        SlabwrightError: no base can be made of what is stated.
    """
    piece, stated, units, shop = job.stated.piece, job.stated.base, job.stated.job.units, job.shop
    if job.stated.slab is None or piece.height is None or (piece.base is None and not (stated and stated.nodes)):
        raise SlabwrightError("base: state its picture and the finished height first")
    base = with_layout(stated or Base(), top.layout)
    gravity = species(job.stated.slab.species).specific_gravity or _USUAL_GRAVITY
    carried = top_on(top, made, density, modulus, gravity)
    kind = None if base.nodes else piece.base
    frame = base_structure(base, kind, piece.height, carried, bolts_of(top.layout), units, mending=False)
    parts = parts_to_cut(frame.drawn, frame.stack)
    cuts = cut_list(
        parts,
        saw=Saw(shop.saw.kerf, shop.saw.greatest_mitre, shop.saw.reach, shop.saw.out_of_square),
        supplies=steel_supplies(job, [part.section.name for part in parts]),
        offcuts=[OffcutOnHand(offcut.section, offcut.length, offcut.count) for offcut in shop.steel.offcuts],
        yard=Yard(shop.steel.van, shop.steel.price_per_cut),
        keep=shop.steel.keep,
        units=units,
    )
    return TriedBase(frame, cuts)
