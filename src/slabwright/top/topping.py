"""From the slab's plan to the top's: placement, movement, slots, layout, clearances and fasteners, in that order."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import numpy as np
import shapely
from shapely import Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.job.loaded import Job
from slabwright.job.top_models import Bar, Pocket, Top
from slabwright.quantities import Units, format_least, format_length
from slabwright.reference.fasteners import Section
from slabwright.reference.wood import species
from slabwright.slab.board import Board
from slabwright.slab.hidden import hidden_surface
from slabwright.slab.results import SlabPlan
from slabwright.slab.survey import Survey
from slabwright.top.as_made import as_made_features, as_made_findings
from slabwright.top.clearances import clearances
from slabwright.top.end_gaps import BoxedEnd, MitreGap, boxed_end, mitre_gap
from slabwright.top.fasteners import fastenings
from slabwright.top.ground import ground, on_ground
from slabwright.top.layout import layout, positions
from slabwright.top.layout_findings import layout_findings
from slabwright.top.movement import Movement, OutOfRange, moisture_made, moisture_range, movement
from slabwright.top.movement_findings import fastener_findings, flatness_findings, movement_findings, unknown_movement
from slabwright.top.placement import place
from slabwright.top.placement_findings import placement_findings
from slabwright.top.placement_results import NoRoom, Placement
from slabwright.top.results import TopPlan
from slabwright.top.rings import ring_pattern
from slabwright.top.slots import SlotPlan, fixed_insert, slot_plan
from slabwright.top.staying_flat import StayingFlat, staying_flat
from slabwright.top.templates import templates_for

Progress = Callable[[str], None]

_FAR = 1e5
_WORTH_CUTTING = 0.5
_DRAWS = 200
"""Of what hides between the readings: enough to tell placements apart; the board's own promise takes more."""


def outline_of(survey: Survey, placed: Placement, show_face: Literal["A", "B"]) -> Polygon:
    """The finished top in its own frame: x from its left end, y from its centre line, seen from the show face from above.

    With live edges the outline is the show face's own between the two crosscuts; face B is seen turned over about its length.

    Args:
        survey: with the outlines of both faces
        placed: where the piece lies
        show_face: the face that is seen
    """
    outline = survey.outline_a if show_face == "A" else survey.outline_b
    about = affinity.translate(outline, -placed.x, -placed.y)
    level = affinity.rotate(about, -placed.turn, origin=(0.0, 0.0))
    half = _FAR if placed.width is None else placed.width / 2.0
    piece = shapely.intersection(level, box(-placed.length / 2.0, -half, placed.length / 2.0, half))
    parts = [part for part in shapely.get_parts(piece) if isinstance(part, Polygon)]
    whole = max(parts, key=lambda part: part.area)
    if show_face == "B":
        whole = affinity.scale(whole, 1.0, -1.0, origin=(0.0, 0.0))
    return affinity.translate(whole, placed.length / 2.0, 0.0)


def placing(job: Job, slab: SlabPlan, progress: Progress) -> Placement | NoRoom | None:
    """Where the piece lies in the slab; None where its finished length is not stated."""
    stated, piece = job.stated.slab, job.stated.piece
    if stated is None or piece.length is None:
        return None
    progress("Placing the piece")
    top = job.stated.top or Top()
    sawn = piece.live_edges == "none" and piece.width is not None
    margin = 0.0 if sawn else stated.edge_margin
    trim, survey = stated.end_trim, slab.survey
    room = ground(survey, edge_margin=margin, end_trim=trim, cut_from=stated.cut_from, cut_to=stated.cut_to)
    hidden = None
    if not room.region_a.is_empty and not room.region_b.is_empty:
        # Where the ground is the region that was flattened anyway, its draws serve again.
        same = _same(room.region_a, survey.region_a) and _same(room.region_b, survey.region_b)
        hidden = slab.hidden if same else None
        if hidden is None:
            hidden = hidden_surface(on_ground(survey, room), draws=_DRAWS, reading_error=stated.reading_error)
    elsewhere = sum(term.loss for term in slab.seat.terms if term.name != "between readings")
    return place(
        survey,
        piece.length,
        piece.width if sawn else None,
        hidden=hidden,
        taken=elsewhere,
        show_face=slab.show_face,
        edge_margin=margin,
        end_trim=trim,
        cut_from=stated.cut_from,
        cut_to=stated.cut_to,
        turn_most=top.turn_most,
        defect_cost=top.defect_cost,
    )


def _same(one: BaseGeometry, other: BaseGeometry) -> bool:
    """Whether two regions are the same but for a strip too thin to matter."""
    return bool(one.symmetric_difference(other).area < 0.005 * other.area)


def _steel(top: Top) -> list[tuple[Section, float]]:
    """The steel across the grain that the job states, each with how far it reaches."""
    thickness = {
        feature.plate: feature.plate_thickness
        for feature in top.features
        if feature.kind == "insert" and feature.plate and feature.plate_thickness
    }
    found = []
    for feature in top.features:
        if isinstance(feature, Pocket) and feature.name in thickness:
            plate = Section(feature.name, "metric", "plate", feature.length, thickness[feature.name], None)
            found.append((plate, feature.width))
        elif isinstance(feature, Bar):
            wall = feature.wall if feature.section != "plate" else None
            found.append(
                (Section(feature.name, "metric", feature.section, feature.length, feature.height, wall), feature.width)
            )
    return found


def top_plan(
    job: Job, slab: SlabPlan, made: Board, progress: Progress, placed: Placement | NoRoom | None
) -> tuple[TopPlan | None, tuple[Finding, ...]]:
    """The top's plan.

    Args:
        job: what is stated; the piece has a length
        slab: the slab's plan
        made: the board as well as it is known; depths are measured from its thickness
        progress: told each step
        placed: where the piece lies, from `placing`

    Returns:
        The plan, or None where the piece has no length yet or no room in the slab; and what there is to say.

    Raises:
        SlabwrightError: a feature cannot be used as it is stated.
    """
    units, stated = job.stated.job.units, job.stated.slab
    if placed is None or stated is None:
        return None, ()
    found = [*placement_findings(placed, units)]
    if isinstance(placed, NoRoom):
        return None, tuple(found)
    found += _cut_first(placed, slab, stated.end_trim, units)
    progress("The top")
    top = job.stated.top or Top()
    outline = outline_of(slab.survey, placed, slab.show_face)
    _, low, _, high = outline.bounds
    width, length = high - low, placed.length
    wood, pattern = species(stated.species), ring_pattern(top.rings, made.thickness)
    where = positions(top, outline)
    seasons, made_at = moisture_range(job.stated.room), moisture_made(top.moisture_made, stated.moisture)
    about: Movement | None = None
    slots = SlotPlan(None, False, (), (), ())
    flat: StayingFlat | None = None
    by_hand: tuple[str, ...] = ()
    if seasons is None or made_at is None:
        found += unknown_movement(seasons is not None, made_at is not None)
    else:
        fixed, _ = fixed_insert(top.features, where)
        at = where[fixed.name][1] if fixed else 0.0
        try:
            about = movement(width, made.thickness, wood, made_at, seasons, pattern, at)
        except OutOfRange as error:
            found.append(_movement_unknown(str(error)))
    if about is not None:
        slots = slot_plan(top.features, where, about, top.clearances, units, top.paint)
        if top.plates_as_made:
            followed = as_made_features(top.features, where, slots, top.plates_as_made, paint=top.paint, units=units)
            top = top.model_copy(update={"features": list(followed.features)})
            where, by_hand = followed.positions, followed.by_hand
            slots = slot_plan(top.features, where, about, top.clearances, units, top.paint)
            found += as_made_findings(top.plates_as_made, slots, units, top.paint)
        found += movement_findings(
            top.features, where, about, slots, top.clearances, units, top.rings is not None, top.paint
        )
        flat = staying_flat(length, wood, about, pattern, _steel(top), units=units)
        found += flatness_findings(flat, units)
    laid = layout(top, outline, made.thickness, slots.pockets)
    near = clearances(laid)
    found += layout_findings(laid, near, units)
    held = fastenings(
        top.features,
        where,
        {slot.name: slot for slot in slots.slots},
        made.thickness,
        (length, _least_width(outline)),
        wood,
        top.clearances,
        {feature.name: feature.wood_left for feature in laid.features},
    )
    found += fastener_findings(held, top.features, top.clearances, units)
    # A shop that states a machine and no hand-held router does not want its templates.
    by_hand_router = any(key.startswith("shop:router.") for key in job.where)
    wanted = by_hand_router or not any(key.startswith("shop:machine.") for key in job.where)
    made_by, more = templates_for(
        top.features if wanted else (),
        where,
        slots.pockets,
        job.shop.router,
        slack=top.paint + top.clearances.placing,
        units=units,
    )
    found += more
    boxed, mitred = _ends(top, about, width)
    plan = TopPlan(
        placement=placed,
        length=length,
        width=width,
        movement=about,
        staying_flat=flat,
        features=laid.features,
        clearances=tuple(one for one in near if one.distance < one.least or one.distance <= _TOLD),
        slots=slots.slots,
        pockets=slots.pockets,
        places=slots.places,
        fixed=slots.fixed,
        fastenings=held,
        templates=made_by,
        boxed_end=boxed,
        mitre_gap=mitred,
        by_hand=by_hand,
        outline=outline,
        layout=laid,
    )
    return plan, tuple(found)


def _ends(top: Top, about: Movement | None, width: float) -> tuple[BoxedEnd | None, MitreGap | None]:
    """How boxed or mitred ends part from the top; None where there are none, or the movement is not known."""
    ends = top.ends
    if about is None:
        return None, None
    if ends.kind == "boxed" and ends.pin is not None:
        return boxed_end(about, ends.pin), None
    if ends.kind == "mitred" and ends.width is not None:
        gaps = (mitre_gap(ends.width, change / width) for change in (about.width_change_dry, about.width_change_damp))
        return None, MitreGap(*gaps)
    return None, None


def _cut_first(placed: Placement, slab: SlabPlan, trim: float, units: Units) -> tuple[Finding, ...]:
    """That the piece alone holds a thicker board than the whole slab, which is flattened as long as nothing says otherwise."""
    gain = placed.thickness - slab.seat.thickness_low_filled
    if gain < _WORTH_CUTTING:
        return ()
    start, end = (x for x in (placed.x - placed.length / 2.0 - trim, placed.x + placed.length / 2.0 + trim))
    finding = Finding(
        "top/cut-first",
        "caution",
        f"Where the piece lies best it is sure of {format_least(placed.thickness, units)}; the whole slab, as it is flattened "
        f"now, of {format_least(slab.seat.thickness_low_filled, units)}.",
        f"Crosscut first, and flatten only that stretch: [slab] cut_from = {format_length(start, units)!r}, "
        f"cut_to = {format_length(end, units)!r}.",
        COMMON_PRACTICE,
    )
    return (finding,)


def _movement_unknown(why: str) -> Finding:
    return Finding(
        "top/movement-unknown",
        "caution",
        f"How the top moves is not worked out: {why}.",
        "Dry the slab first, and read its moisture again.",
        COMMON_PRACTICE,
    )


_TOLD = 60.0
"""Clearances wider than this go without saying [mm]."""


def _least_width(outline: Polygon) -> float:
    """The narrowest place of an outline across, away from its corners [mm]."""
    start, low, end, high = outline.bounds
    places = np.linspace(start + 0.02 * (end - start), end - 0.02 * (end - start), 41)
    lines = [shapely.LineString([(x, low - 1.0), (x, high + 1.0)]) for x in places]
    return float(min(shapely.length(shapely.intersection(outline, line)) for line in lines))
