"""What wood movement, flatness and fasteners have to say: what would bind, split, cup or pull out, and what mends it.

Every remedy was tried: the slot, place, steel or bolt that it names was worked out with the same functions.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from slabwright.findings import COMMON_PRACTICE, FROM_MEMORY, Finding
from slabwright.job.top_models import PAINT, Clearances, Feature, Insert, Key, Pocket
from slabwright.quantities import Units, format_length
from slabwright.reference.fasteners import bolt
from slabwright.top.fasteners import Fastening, bolt_length, deeper_hole, washers_to_add
from slabwright.top.movement import Movement, displacement
from slabwright.top.slots import Positions, Slot, SlotPlan, inserts, slot
from slabwright.top.staying_flat import StayingFlat

KEY_MOVEMENT = 1.0
"""The most that the wood may move across a glued-in key [mm]. Common practice."""
_TRIES = 30


def unknown_movement(room_known: bool, moisture_known: bool) -> tuple[Finding, ...]:
    """What the movement is waiting for, where it could not be worked out.

    Args:
        room_known: the room's air is known
        moisture_known: the moisture at making is known
    """
    if room_known and moisture_known:
        return ()
    wanted = [] if room_known else ["[room] kind, or its dry and damp air"]
    wanted += [] if moisture_known else ["[slab.moisture] core, or top.moisture_made"]
    return (
        Finding(
            "top/movement-unknown",
            "caution",
            "How far the top will move with the seasons is not known, so no slot, washer or pocket room can be told.",
            f"State {' and '.join(wanted)}.",
        ),
    )


def movement_findings(
    features: Sequence[Feature],
    positions: Positions,
    about: Movement,
    plan: SlotPlan,
    clearances: Clearances,
    units: Units,
    rings_stated: bool,
    paint: float = PAINT,
) -> tuple[Finding, ...]:
    """Wherever the wood would bind or split: fixed twice, a slot that leaves its plate, a washer too small, a long key.

    Args:
        features: of the top
        positions: middle of each [mm]
        about: the top's movement
        plan: its slots and pockets
        clearances: least wood and placing
        units: of the messages
        rings_stated: whether [top.rings] was stated
        paint: thickness on each wall [mm]
    """
    found: list[Finding] = []
    if not rings_stated:
        found.append(_rings_unknown(about, units))
    if plan.fixed is not None and not plan.fixed_stated:
        found.append(
            Finding(
                "top/fixed-by-default",
                "note",
                f"No bolt is stated as the one that does not slide: '{plan.fixed}', nearest the centre line, is taken.",
                "State fixed = true for the insert that is to stay where it is.",
            )
        )
    found += _fixed_twice(features, positions, about, clearances, units, paint)
    found += _slots_in_plates(features, positions, about, plan, clearances, units, paint)
    for one in plan.slots:
        if one.washer is None:
            found.append(
                Finding(
                    "top/washer-too-small",
                    "caution",
                    f"No usual washer bridges the slot of '{one.name}', {format_length(one.width, units)} wide.",
                    f"Make a plate washer of at least {format_length(one.washer_least, units)}, drilled for the bolt.",
                )
            )
    found += _long_keys(features, positions, about, units)
    return tuple(found)


def _rings_unknown(about: Movement, units: Units) -> Finding:
    widest = max(abs(about.width_change_dry), abs(about.width_change_damp))
    least = min(about.strains.rates) / max(about.strains.rates) * widest if about.strains else widest
    return Finding(
        "top/rings-unknown",
        "note",
        f"How the rings lie is not stated: the most movement is taken, flat-sawn ({format_length(widest, units)} over the "
        f"width at most; quarter-sawn it would be {format_length(least, units)}).",
        "Look at the end grain and state [top.rings] picture, angle or the pith's place.",
        about.rests_on_source,
    )


def _fixed_twice(
    features: Sequence[Feature],
    positions: Positions,
    about: Movement,
    clearances: Clearances,
    units: Units,
    paint: float,
) -> Iterator[Finding]:
    """Two bolts that do not slide, with more movement between them than their holes have room for."""
    stated = [insert for insert in inserts(features) if insert.fixed]
    for other in stated[1:]:
        first = next(
            (
                one
                for one in stated
                if one.plate == other.plate and one is not other and stated.index(one) < stated.index(other)
            ),
            stated[0],
        )
        start, end = positions[first.name], positions[other.name]
        moved = displacement(about, end[1], start[1])
        room = 2.0 * clearances.placing
        travel = max(-moved.low, moved.high)
        if travel <= room:
            continue
        tried = slot(other, end, start, about, clearances, units, paint)
        same = first.plate == other.plate
        yield Finding(
            "top/fixed-twice",
            "stop" if same else "caution",
            f"'{first.name}' and '{other.name}' are both fixed, {format_length(abs(end[1] - start[1]), units)} apart across "
            f"the grain: the wood between them moves up to {format_length(travel, units)}, their holes give "
            f"{format_length(room, units)}. "
            + ("The top would split." if same else "On one welded base the top would split or be turned askew."),
            f"Leave out fixed for '{other.name}': its slot is then {format_length(tried.length, units)} x "
            f"{format_length(tried.width, units)}"
            + ("." if same else "; or let the two plates stand free of each other."),
            about.rests_on_source,
        )


def _slots_in_plates(
    features: Sequence[Feature],
    positions: Positions,
    about: Movement,
    plan: SlotPlan,
    clearances: Clearances,
    units: Units,
    paint: float,
) -> Iterator[Finding]:
    """Slots whose end comes nearer than a bolt's diameter to their plate's edge, with the nearest place that is free."""
    pockets = {feature.name: feature for feature in features if isinstance(feature, Pocket)}
    held = {insert.name: insert for insert in inserts(features)}
    for one in plan.slots:
        pocket = pockets.get(one.plate or "")
        if pocket is None:
            continue
        middle = positions[pocket.name][1]
        land = _land(one, middle, pocket.width)
        if land >= one.bolt - 1e-6:
            continue
        fixed = one.across - one.from_fixed
        place = _free_place(
            held[one.name], one, (one.along, fixed), middle, pocket.width, about, clearances, units, paint
        )
        yield Finding(
            "top/slot-leaves-plate",
            "stop" if land <= 0 else "caution",
            f"The slot of '{one.name}' "
            + (
                f"runs {format_length(-land, units)} out of its plate"
                if land < 0
                else f"leaves {format_length(land, units)} of steel to the edge of its plate"
            )
            + f" '{pocket.name}'; a bolt's diameter is asked for, {format_length(one.bolt, units)}.",
            f"Move it to {format_length(place, units)} across from the centre line: its slot, "
            f"{format_length(one.length, units)} long or less, then fits."
            if place is not None
            else f"Make the plate {format_length(pocket.width + 2.0 * (one.bolt - land), units)} wide: the slot then fits.",
        )


def _land(one: Slot, middle: float, width: float) -> float:
    """Least steel between a slot's end and its plate's edge across the grain; negative where it runs out [mm]."""
    near = one.across - one.near_end - (middle - width / 2.0)
    far = middle + width / 2.0 - one.across - one.far_end
    return min(near, far)


def _free_place(
    insert: Insert,
    one: Slot,
    fixed_at: tuple[float, float],
    middle: float,
    width: float,
    about: Movement,
    clearances: Clearances,
    units: Units,
    paint: float,
) -> float | None:
    """The nearest place across where the slot keeps clear of its plate's edges, worked out anew at each try."""
    if one.fixed:
        across = middle + math.copysign(max(0.0, width / 2.0 - one.near_end - one.bolt), one.across - middle)
        return across if width / 2.0 >= one.near_end + one.bolt else None
    tried = one
    for _ in range(_TRIES):
        lack = one.bolt - _land(tried, middle, width)
        if lack <= 1e-6:
            return tried.across
        inward = math.copysign(lack, middle - tried.across)
        if abs(inward) > abs(middle - tried.across):
            return None
        tried = slot(insert, (one.along, tried.across + inward), fixed_at, about, clearances, units, paint)
    return None


def _long_keys(features: Sequence[Feature], positions: Positions, about: Movement, units: Units) -> Iterator[Finding]:
    """Keys glued in across the grain: along their own grain they keep their length, and the slab round them moves."""
    for key in features:
        if not isinstance(key, Key):
            continue
        across = positions[key.name][1]
        reach = key.length * abs(math.sin(math.radians(key.turn))) / 2.0
        moved = displacement(about, across + reach, across - reach)
        travel = max(-moved.low, moved.high)
        if travel <= KEY_MOVEMENT:
            continue
        yield Finding(
            "top/key-too-long",
            "caution",
            f"The wood moves up to {format_length(travel, units)} across the key '{key.name}', "
            f"{format_length(2.0 * reach, units)} of it across the grain; {format_length(KEY_MOVEMENT, units)} is let pass, "
            "beyond it the key shears loose or a new check opens beside it.",
            f"Make it at most {format_length(key.length * KEY_MOVEMENT / travel, units, 0)} long, and use two if one is too few.",
        )


def flatness_findings(found: StayingFlat, units: Units) -> tuple[Finding, ...]:
    """The cup to be expected, what holds it, the pith, and finishing both faces alike.

    Args:
        found: the estimate
        units: of the messages
    """
    told: list[Finding] = []
    if found.pith_inside:
        told.append(
            Finding(
                "top/pith-inside",
                "caution",
                "The pith lies in the slab: it will check there, whatever is done, and both halves pull away from it.",
                "Key and fill the check once it has opened, or saw the pith out and join the halves.",
            )
        )
    if found.cup_most > found.allowed:
        expected = f"{format_length(found.cup_least, units)} to {format_length(found.cup_most, units)}"
        message = f"Left free the top is expected to cup by {expected} over its width (an estimate)"
        if found.stated and found.take is None and all(one.holds for one in found.stated):
            left = max(one.cup_left for one in found.stated)
            told.append(
                Finding(
                    "top/cup-held",
                    "note",
                    f"{message}; the steel that is stated leaves {format_length(left, units)}.",
                    "Nothing is wanted; keep its outer bolts in slots.",
                    f"rings as circles about the pith; stiffness of the wood {FROM_MEMORY}",
                )
            )
        else:
            told.append(_cup(found, message, units))
    told.append(
        Finding(
            "top/finish-both-faces",
            "note",
            f"Each percent that one face is wetter than the other cups the top by "
            f"{format_length(found.cup_one_face, units)} (an estimate).",
            "Finish both faces alike, with as many coats, and the walls of pockets and holes too.",
        )
    )
    return tuple(told)


def _cup(found: StayingFlat, message: str, units: Units) -> Finding:
    taken = next((one for one in found.choices if one.name == found.take), None)
    weak = ""
    if found.stated:
        left = max(one.cup_left for one in found.stated)
        weak = f"; what is stated leaves {format_length(left, units)} of it"
    if taken is not None:
        remedy = (
            f"Let {taken.name} in across the grain, over nine tenths of the width, outer bolts in slots: "
            f"{format_length(taken.cup_left, units)} stays."
        )
    else:
        best = min(found.choices, key=lambda one: one.cup_left)
        remedy = (
            f"The stiffest usual steel, {best.name}, leaves {format_length(best.cup_left, units)}: lay in more pieces "
            "along the length, make the top at the moisture of the room's middle, or agree the cup with the client."
        )
    return Finding(
        "top/cups",
        "caution",
        f"{message}{weak}; {format_length(found.allowed, units)} is let pass.",
        remedy,
        f"rings as circles about the pith; stiffness of the wood {FROM_MEMORY}; {COMMON_PRACTICE}",
    )


def fastener_findings(
    found: Sequence[Fastening], features: Sequence[Feature], clearances: Clearances, units: Units
) -> tuple[Finding, ...]:
    """Bolts that no usual length fits, holes too shallow, too little thread, and holes too near an edge or end.

    Args:
        found: the fastenings
        features: of the top
        clearances: least wood, and what a bolt's end keeps
        units: of the messages
    """
    held = {insert.name: insert for insert in inserts(features)}
    told: list[Finding] = []
    for one in found:
        insert = held[one.name]
        if one.bolt_length_least is None:
            told.append(
                Finding(
                    "top/bolt-unknown",
                    "note",
                    f"The bolt of '{one.name}' has no length: its plate's thickness is not stated.",
                    f"State plate_thickness for '{one.name}'.",
                )
            )
        elif one.bolt_length is None:
            told.append(_no_bolt(one, insert, clearances, units))
        if one.hole_depth + 1e-6 < one.hole_depth_least:
            told.append(
                Finding(
                    "top/hole-too-shallow",
                    "stop",
                    f"The hole of '{one.name}' is {format_length(one.hole_depth, units)} deep; thread and bolt's end want "
                    f"{format_length(one.hole_depth_least, units)}.",
                    f"Drill it {format_length(one.hole_depth_least, units)} deep: "
                    f"{format_length(one.wood_left - one.hole_depth_least + one.hole_depth, units)} of wood stays."
                    if one.wood_left - one.hole_depth_least + one.hole_depth >= clearances.insert
                    else f"Take a shorter thread: {format_length(one.hole_depth - clearances.bolt_end, units)} at most.",
                )
            )
        if one.engagement + 1e-6 < one.engagement_least:
            told.append(
                Finding(
                    "top/little-thread",
                    "caution",
                    f"The bolt of '{one.name}' takes {format_length(one.engagement, units)} of thread; its own diameter is "
                    f"asked for, {format_length(one.engagement_least, units)}.",
                    f"State engagement of at least {format_length(one.engagement_least, units)}, in an insert as long.",
                )
            )
        for where, got, least in (("long edge", one.edge, one.edge_least), ("end", one.end, one.end_least)):
            if got + 1e-6 < least:
                times = "4" if where == "long edge" else "7"
                told.append(
                    Finding(
                        "top/insert-near-edge",
                        "caution",
                        f"'{one.name}' sits {format_length(got, units)} from the nearer {where}; {times} times its hole, "
                        f"{format_length(least, units)}, is asked for so that the wood does not split.",
                        f"Move it {format_length(least - got, units)} inwards.",
                    )
                )
    return tuple(told)


def _no_bolt(one: Fastening, insert: Insert, clearances: Clearances, units: Units) -> Finding:
    assert one.bolt_length_least is not None
    assert one.bolt_length_most is not None
    depth = deeper_hole(one, insert, clearances)
    thread = bolt(insert.thread)
    longer = bolt_length(one.bolt_length_least, math.inf, thread.system if thread else "metric")
    more = washers_to_add(one.bolt_length_most, longer, thread)
    return Finding(
        "top/no-bolt-fits",
        "caution",
        f"No usual bolt fits '{one.name}': under its head it must be {format_length(one.bolt_length_least, units)} to "
        f"{format_length(one.bolt_length_most, units)}.",
        f"Drill its hole {format_length(depth, units)} deep: a usual length then fits and enough wood stays."
        if depth is not None
        else f"Lay {more} more washer{'s' * (more > 1)} under the head of a bolt of {format_length(longer, units)}."
        if more and longer
        else f"Saw a longer bolt off to {format_length(one.bolt_length_most, units)} under its head.",
    )
