"""The top's plan: where the piece lies in the slab, what is let into it, and how it moves."""

from __future__ import annotations

from dataclasses import dataclass

from shapely import Polygon

from slabwright.accounts import figure, working
from slabwright.top.end_gaps import BoxedEnd, MitreGap
from slabwright.top.fasteners import Fastening
from slabwright.top.layout_results import Clearance, Layout, TopFeature
from slabwright.top.movement import Movement
from slabwright.top.placement_results import Placement
from slabwright.top.slots import PlaceMovement, PocketRoom, Slot
from slabwright.top.staying_flat import StayingFlat
from slabwright.top.template_results import Template


@dataclass(frozen=True)
class TopPlan:
    """From the flat blank to the machined top."""

    placement: Placement = figure("", "where the piece lies in the slab")
    length: float = figure("mm", "of the finished top", rests_on=["job:piece.length"])
    width: float = figure("mm", "of the finished top at its widest", rests_on=["job:piece.width", "top.placement.y"])
    movement: Movement | None = figure("", "how the wood moves; empty where the room or the moisture is not known")
    staying_flat: StayingFlat | None = figure("", "cup to be expected, and whether steel holds it")
    features: tuple[TopFeature, ...] = figure("", "what is let into the top, placed")
    clearances: tuple[Clearance, ...] = figure("", "distances that have a rule")
    slots: tuple[Slot, ...] = figure("", "the hole in the plate for each bolt")
    pockets: tuple[PocketRoom, ...] = figure("", "the opening of each pocket round its plate")
    places: tuple[PlaceMovement, ...] = figure("", "movement of the other holes")
    fixed: str | None = figure("", "the bolt that does not slide", rests_on=["job:top.features"])
    fastenings: tuple[Fastening, ...] = figure("", "hole, thread, bolt and hold of every insert")
    templates: tuple[Template, ...] = figure("", "for a hand-held router, one for each pocket, let-in bar and key")
    boxed_end: BoxedEnd | None = figure("", "how boxed ends and the top part over the year", rests_on=["job:top.ends"])
    mitre_gap: MitreGap | None = figure("", "how mitred ends open over the year", rests_on=["job:top.ends"])
    by_hand: tuple[str, ...] = figure(
        "",
        "inserts that are drilled at the marks of their plate, not by a program",
        rests_on=["job:top.plates_as_made"],
    )
    outline: Polygon = working()
    """In the top's frame, seen from the show face."""
    layout: Layout = working()
