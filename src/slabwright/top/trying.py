"""The top laid out anew with its features stated otherwise: quick enough to answer while a figure is typed."""

from __future__ import annotations

import dataclasses

from slabwright.job.loaded import Job
from slabwright.job.top_models import Top
from slabwright.reference.wood import species
from slabwright.slab.board import Board
from slabwright.top.as_made import as_made_features
from slabwright.top.clearances import clearances
from slabwright.top.layout import layout, positions
from slabwright.top.layout_results import Clearance
from slabwright.top.movement import Movement, OutOfRange, moisture_made, moisture_range, movement
from slabwright.top.results import TopPlan
from slabwright.top.rings import ring_pattern
from slabwright.top.slots import SlotPlan, fixed_insert, slot_plan


def tried_top(job: Job, plan: TopPlan, made: Board) -> tuple[TopPlan, tuple[Clearance, ...]]:
    """The top's features, slots and clearances as a job states them, in a piece that lies where it lay.

    What it leaves out is what does not answer where a feature may go: placement, cup, fastenings, templates.

    Args:
        job: with the features stated otherwise; slab, piece, room and moisture as the plan has them
        plan: the top's plan, for its outline and its place in the slab
        made: the board as well as it is known

    Returns:
        The plan with features, slots, pockets, movement and layout worked out anew; and every clearance, as wide as it may be.

    Raises:
        SlabwrightError: a feature cannot be used as it is stated.
    """
    stated, units = job.stated.slab, job.stated.job.units
    top = job.stated.top or Top()
    where = positions(top, plan.outline)
    about: Movement | None = None
    slots = SlotPlan(None, False, (), (), ())
    seasons = moisture_range(job.stated.room)
    made_at = moisture_made(top.moisture_made, stated.moisture) if stated is not None else None
    if stated is not None and seasons is not None and made_at is not None:
        fixed, _ = fixed_insert(top.features, where)
        try:
            about = movement(
                plan.width,
                made.thickness,
                species(stated.species),
                made_at,
                seasons,
                ring_pattern(top.rings, made.thickness),
                where[fixed.name][1] if fixed else 0.0,
            )
        except OutOfRange:
            about = None  # the plan has told why
    if about is not None:
        slots = slot_plan(top.features, where, about, top.clearances, units, top.paint)
        if top.plates_as_made:
            followed = as_made_features(top.features, where, slots, top.plates_as_made, paint=top.paint, units=units)
            top = top.model_copy(update={"features": list(followed.features)})
            slots = slot_plan(top.features, followed.positions, about, top.clearances, units, top.paint)
    laid = layout(top, plan.outline, made.thickness, slots.pockets)
    near = clearances(laid)
    changed = dataclasses.replace(
        plan,
        movement=about,
        features=laid.features,
        clearances=near,
        slots=slots.slots,
        pockets=slots.pockets,
        places=slots.places,
        fixed=slots.fixed,
        layout=laid,
    )
    return changed, near
