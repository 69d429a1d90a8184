"""Slots, washers and pocket room: what lets the wood move where it is held to steel.

A bolt sits fast in the wood and goes through a slot of the plate; when the wood moves, the bolt moves with it along the slot.
The slot reaches as far either way as the wood may go from the day it is made, so that its middle is shifted from the bolt.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE
from slabwright.job.top_models import PAINT, Clearances, Feature, Insert, Outlet, Pocket, ThroughHole
from slabwright.quantities import INCH, Units
from slabwright.reference.fasteners import Washer, bolt, fasteners
from slabwright.top.movement import Displacement, Movement, along_movement, displacement

JIG_RULE = INCH / 4.0
"""Room of a plate in its pocket along the grain, over all [mm]: a quarter inch. Common practice."""
LAND = 0.25
"""Least bearing of a washer on each long side of its slot, as a share of the bolt's diameter, but at least `LEAST_LAND`.
Common practice."""
LEAST_LAND = 2.0
"""mm; see `LAND`."""

Positions = Mapping[str, tuple[float, float]]
"""Middle of each feature: along from the left end, across from the centre line [mm]."""

_WASHERS = "; ".join(dict.fromkeys(known.source for known in fasteners().bolts))
_SLOT = [
    "top.movement.moisture_made",
    "top.movement.moisture_dry",
    "top.movement.moisture_damp",
    "top.movement.coefficient",
    "job:top.features",
    "job:top.clearances.placing",
    "job:top.paint",
]


@dataclass(frozen=True)
class Slot:
    """The hole in the plate for one bolt."""

    name: str = figure("", "the insert that the bolt goes into")
    plate: str | None = figure("", "the pocket whose plate it goes through", rests_on=["job:top.features"])
    fixed: bool = figure(
        "", "whether it does not slide; the wood moves from it", rests_on=["job:top.features"], source=COMMON_PRACTICE
    )
    along: float = figure("mm", "of the bolt from the left end, as made", rests_on=["job:top.features"])
    across: float = figure("mm", "of the bolt from the centre line, as made", rests_on=["job:top.features"])
    from_fixed: float = figure(
        "mm",
        "across from the fixed bolt to this one, as made; towards the far edge positive",
        how="its place across less the fixed bolt's",
        rests_on=["job:top.features", "top.fixed"],
    )
    movement_dry: float = figure(
        "mm",
        "how far the bolt goes in the driest season; towards the far edge positive",
        how="movement of the wood between the fixed bolt and this one",
        rests_on=_SLOT[:4],
        sure="movement_low and movement_high",
    )
    movement_damp: float = figure(
        "mm",
        "how far the bolt goes in the dampest season; towards the far edge positive",
        how="movement of the wood between the fixed bolt and this one",
        rests_on=_SLOT[:4],
        sure="movement_low and movement_high",
    )
    movement_low: float = figure(
        "mm",
        "furthest that the bolt may go towards the near edge",
        how="the seasons and the day it is made, with what trees, meters and rings may differ by (95 %)",
        rests_on=_SLOT[:4],
        rounds="down",
    )
    movement_high: float = figure(
        "mm",
        "furthest that the bolt may go towards the far edge",
        how="the seasons and the day it is made, with what trees, meters and rings may differ by (95 %)",
        rests_on=_SLOT[:4],
        rounds="up",
    )
    bolt: float = figure("mm", "diameter of the bolt", rests_on=["job:top.features"])
    length: float = figure(
        "mm",
        "of the slot across the grain, end to end, before paint",
        how="bolt + movement both ways + placing both ways + paint at both ends, each end rounded up",
        rests_on=_SLOT,
        sure="long enough for 95 of 100 trees",
        source=COMMON_PRACTICE,
        change="fix a bolt nearer to it; make the top at the moisture of the room's middle",
    )
    width: float = figure(
        "mm",
        "of the slot along the grain, before paint",
        how="bolt + placing, paint and what the wood moves along the grain from the fixed bolt, both ways; rounded up",
        rests_on=_SLOT,
        source=COMMON_PRACTICE,
    )
    shift: float = figure(
        "mm",
        "of the slot's middle from the bolt as made; towards the far edge positive",
        how="half of what the far end reaches further than the near end: a slot is not centred on the bolt",
        rests_on=_SLOT,
        change="make the top at the moisture of the room's middle",
    )
    near_end: float = figure(
        "mm",
        "from the bolt's middle, as made, to the slot's end towards the near edge",
        how="half the bolt + furthest movement towards the near edge + placing + paint, rounded up",
        rests_on=_SLOT,
    )
    far_end: float = figure(
        "mm",
        "from the bolt's middle, as made, to the slot's end towards the far edge",
        how="half the bolt + furthest movement towards the far edge + placing + paint, rounded up",
        rests_on=_SLOT,
    )
    bolt_sits: str = figure(
        "",
        "where in the slot the bolt sits when the top is put together",
        how="nearer to the end that the wood will move away from",
        rests_on=["top.movement.moisture_made"],
    )
    washer: str | None = figure(
        "",
        "the washer that bridges the slot; none where no usual one does",
        how="the smallest usual one of at least the least diameter",
        source=_WASHERS,
    )
    washer_least: float = figure(
        "mm",
        "least outer diameter of a washer that bridges the slot",
        how="slot's width + a bearing of a quarter of the bolt, at least 2 mm, on each side",
        rests_on=["job:top.features"],
        source=COMMON_PRACTICE,
        rounds="up",
    )
    washer_outer: float | None = figure("mm", "outer diameter of that washer", source=_WASHERS)
    washer_thickness: float | None = figure("mm", "thickness of that washer", source=_WASHERS)
    tighten: str = figure("", "how the bolt is tightened", source=COMMON_PRACTICE)


@dataclass(frozen=True)
class PocketRoom:
    """The opening of a pocket round its plate."""

    name: str = figure("", "the pocket")
    near: float = figure(
        "mm",
        "room between the plate and the pocket's wall towards the near edge, as made",
        how="furthest that this wall comes towards the plate + paint + placing",
        rests_on=_SLOT,
        sure="enough for 95 of 100 trees",
    )
    far: float = figure(
        "mm",
        "room between the plate and the pocket's wall towards the far edge, as made",
        how="furthest that this wall comes towards the plate + paint + placing",
        rests_on=_SLOT,
        sure="enough for 95 of 100 trees",
    )
    along_each: float = figure(
        "mm",
        "room at each end along the grain",
        how="a quarter inch over all, half of it at each end; more only if paint, placing and movement ask for it",
        rests_on=["job:top.clearances.placing"],
        source=f"jig rule, {COMMON_PRACTICE}",
    )
    opening_length: float = figure("mm", "of the pocket along the grain", how="plate + room at both ends")
    opening_width: float = figure("mm", "of the pocket across the grain", how="plate + room near and far")
    shift: float = figure(
        "mm", "of the pocket's middle from the plate's; towards the far edge positive", how="half of far less near"
    )


@dataclass(frozen=True)
class PlaceMovement:
    """Movement of a hole that nothing rigid is bolted into."""

    name: str = figure("", "the feature")
    dry: float = figure("mm", "movement in the driest season; towards the far edge positive", rests_on=_SLOT[:4])
    damp: float = figure("mm", "movement in the dampest season; towards the far edge positive", rests_on=_SLOT[:4])
    low: float = figure("mm", "furthest that it may move towards the near edge", rests_on=_SLOT[:4], rounds="down")
    high: float = figure("mm", "furthest that it may move towards the far edge", rests_on=_SLOT[:4], rounds="up")


@dataclass(frozen=True)
class SlotPlan:
    """Every slot and pocket, and which bolt the wood moves from."""

    fixed: str | None = figure(
        "",
        "the bolt that does not slide",
        how="as stated; else the one nearest the centre line",
        rests_on=["job:top.features"],
        change="state fixed = true for another insert",
    )
    fixed_stated: bool = figure("", "whether it was stated; else it is a default")
    slots: tuple[Slot, ...] = figure("", "the hole in the plate for each bolt", rests_on=_SLOT)
    pockets: tuple[PocketRoom, ...] = figure("", "the opening of each pocket round its plate", rests_on=_SLOT)
    places: tuple[PlaceMovement, ...] = figure("", "movement of the other holes", rests_on=_SLOT)


def inserts(features: Sequence[Feature]) -> list[Insert]:
    """The inserts among the features, in their order."""
    return [feature for feature in features if isinstance(feature, Insert)]


def fixed_insert(features: Sequence[Feature], positions: Positions) -> tuple[Insert | None, bool]:
    """The insert that the wood moves from, and whether it was stated: else the one nearest the centre line."""
    held = inserts(features)
    stated = [insert for insert in held if insert.fixed]
    if stated:
        return stated[0], True
    nearest = min(held, key=lambda insert: (abs(positions[insert.name][1]), positions[insert.name][0]), default=None)
    return nearest, False


def _rounded_up(length: float, units: Units) -> float:
    """Up to half a millimetre, or to 1/64 in."""
    step = 0.5 if units == "metric" else INCH / 64.0
    return math.ceil(length / step - 1e-9) * step


def _bridging(diameter: float, least: float) -> Washer | None:
    known = bolt(diameter)
    fitting = [washer for washer in known.washers if washer.outer >= least] if known else []
    return fitting[0] if fitting else None


def slot(
    insert: Insert,
    at: tuple[float, float],
    fixed_at: tuple[float, float],
    about: Movement,
    clearances: Clearances,
    units: Units,
    paint: float = PAINT,
    fixed: bool = False,
) -> Slot:
    """The hole that one bolt wants in its plate.

    From the bolt's middle, as made, the slot reaches

        near = D/2 + (furthest movement towards the near edge) + placing + paint
        far  = D/2 + (furthest movement towards the far edge) + placing + paint

    and its middle stands (far - near) / 2 from the bolt.

    Args:
        insert: what the bolt goes into
        at: its place: along from the left end, across from the centre line [mm]
        fixed_at: place of the bolt that the wood moves from [mm]
        about: the top's movement
        clearances: gives the error of placing
        units: lengths are rounded up to 0.5 mm or 1/64 in
        paint: thickness on a wall [mm]
        fixed: true for the bolt that does not slide
    """
    moved = displacement(about, at[1], fixed_at[1])
    slack = clearances.placing + paint
    lengthwise = 0.0 if fixed else along_movement(about, at[0] - fixed_at[0])
    width = _rounded_up(insert.thread + 2.0 * (slack + lengthwise), units)
    near = far = width / 2.0
    if not fixed:
        near = max(near, _rounded_up(insert.thread / 2.0 - moved.low + slack, units))
        far = max(far, _rounded_up(insert.thread / 2.0 + moved.high + slack, units))
    least = width + 2.0 * max(LEAST_LAND, LAND * insert.thread)
    washer = _bridging(insert.thread, least)
    return Slot(
        name=insert.name,
        plate=insert.plate,
        fixed=fixed,
        along=at[0],
        across=at[1],
        from_fixed=at[1] - fixed_at[1],
        movement_dry=moved.dry,
        movement_damp=moved.damp,
        movement_low=moved.low,
        movement_high=moved.high,
        bolt=insert.thread,
        length=near + far,
        width=width,
        shift=(far - near) / 2.0,
        near_end=near,
        far_end=far,
        bolt_sits=_sits(near, far),
        washer=washer.name if washer else None,
        washer_least=least,
        washer_outer=washer.outer if washer else None,
        washer_thickness=washer.thickness if washer else None,
        tighten="firmly"
        if fixed
        else "snug, not crushed: the washer must still slide; thread locker, no lock by force",
    )


def _sits(near: float, far: float) -> str:
    if abs(far - near) < 1e-6:
        return "in the middle"
    return "nearer the end towards the near edge" if near < far else "nearer the end towards the far edge"


def pocket_room(
    pocket: Pocket,
    at: tuple[float, float],
    fixed_at: tuple[float, float],
    about: Movement,
    clearances: Clearances,
    paint: float = PAINT,
) -> PocketRoom:
    """The room round a plate, so that the wood never presses against it.

    Across the grain each wall gets what it may come towards the plate; along the grain the jig rule.

    Args:
        pocket: states the plate
        at: its middle [mm]
        fixed_at: place of the bolt that the wood moves from; the plate stays with it [mm]
        about: the top's movement
        clearances: gives the error of placing
        paint: thickness on the plate's edge [mm]
    """
    slack = paint + clearances.placing
    near = max(0.0, displacement(about, at[1] - pocket.width / 2.0, fixed_at[1]).high) + slack
    far = max(0.0, -displacement(about, at[1] + pocket.width / 2.0, fixed_at[1]).low) + slack
    furthest = abs(at[0] - fixed_at[0]) + pocket.length / 2.0
    along = max(JIG_RULE / 2.0, slack + along_movement(about, furthest))
    return PocketRoom(
        name=pocket.name,
        near=near,
        far=far,
        along_each=along,
        opening_length=pocket.length + 2.0 * along,
        opening_width=pocket.width + near + far,
        shift=(far - near) / 2.0,
    )


def slot_plan(
    features: Sequence[Feature],
    positions: Positions,
    about: Movement,
    clearances: Clearances,
    units: Units = "metric",
    paint: float = PAINT,
) -> SlotPlan:
    """Every slot, washer and pocket opening, from the bolt that does not slide.

    Inserts of one plate move from the fixed one of that plate; a plate without one moves from the top's.

    Args:
        features: of the top
        positions: middle of each, by its name
        about: the top's movement
        clearances: least wood and placing
        units: of the job
        paint: thickness on each wall [mm]
    """
    chief, stated = fixed_insert(features, positions)
    by_plate = {insert.plate: insert for insert in reversed(inserts(features)) if insert.fixed and insert.plate}

    def origin(plate: str | None) -> tuple[float, float]:
        first = by_plate.get(plate or "", chief)
        return positions[first.name] if first else (about.width / 2.0, about.fixed_at)

    slots = tuple(
        slot(
            insert,
            positions[insert.name],
            origin(insert.plate),
            about,
            clearances,
            units,
            paint,
            fixed=insert is by_plate.get(insert.plate or "", chief),
        )
        for insert in inserts(features)
    )
    pockets = tuple(
        pocket_room(feature, positions[feature.name], origin(feature.name), about, clearances, paint)
        for feature in features
        if isinstance(feature, Pocket)
    )
    places = tuple(
        _place(feature.name, displacement(about, positions[feature.name][1], origin(None)[1]))
        for feature in features
        if isinstance(feature, ThroughHole | Outlet)
    )
    return SlotPlan(chief.name if chief else None, stated, slots, pockets, places)


def _place(name: str, moved: Displacement) -> PlaceMovement:
    return PlaceMovement(name, moved.dry, moved.damp, moved.low, moved.high)
