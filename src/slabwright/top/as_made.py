"""Pockets, slots and bolts follow the plates as they were made.

The plate is put where its holes leave the least to its inserts; the pocket grows with the plate's size, with its being out
of square and with the error of measuring; the bolts stand where its slots want them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from shapely import Polygon

from slabwright.accounts import figure, working
from slabwright.findings import COMMON_PRACTICE, Finding, SlabwrightError
from slabwright.job.plate_models import HoleAsMade, PlateAsMade
from slabwright.job.top_models import PAINT, Feature, Insert, Pocket
from slabwright.quantities import Units, format_length
from slabwright.top.slots import PocketRoom, Positions, SlotPlan
from slabwright.top.templates import pocket_fitting

_STATED = ("job:top.plates_as_made",)


@dataclass(frozen=True)
class PocketAsMade:
    """A pocket that follows its plate."""

    name: str = figure("", "the pocket", rests_on=_STATED)
    way: str = figure("", "how the plate was taken", rests_on=_STATED)
    length: float = figure(
        "mm",
        "that the pocket reckons the plate's to be, along the grain",
        how="measured length, without paint, + what it is out of square + the error of measuring at both ends",
        rests_on=(*_STATED, "job:top.features"),
    )
    width: float = figure(
        "mm",
        "that the pocket reckons the plate's to be, across the grain",
        how="measured width, without paint, + what it is out of square + the error of measuring on both sides",
        rests_on=(*_STATED, "job:top.features"),
    )
    thickness: float | None = figure("mm", "of the plate, with its paint", rests_on=_STATED)
    depth: float = figure(
        "mm",
        "of the pocket's floor below its face",
        how="as planned + what the plate is thicker than planned + its bow: so that it lies as deep as planned",
        rests_on=(*_STATED, "job:top.features"),
        change="straighten the plate; let it stand proud",
    )
    longer_bolts: float = figure(
        "mm", "that the bolts are longer than planned", how="what the plate is thicker than planned", rests_on=_STATED
    )
    along: float = figure("mm", "of the plate's middle from the left end")
    across: float = figure("mm", "of the plate's middle from the centre line, towards the far edge positive")
    opening: Polygon = working(None)


def outgrown_by_skew(length: float, width: float, diagonals_differ: float) -> tuple[float, float]:
    """How much longer and wider the box round a plate is whose diagonals differ [mm].

    Sheared by an angle a, diagonals d1 and d2 hold d1^2 - d2^2 = 4 L W sin a, so that sin a = (d1 - d2) D / (2 L W) with
    their mean D. Turned by a / 2, so that all four sides are as far out as each other, it is longer by W sin(a) / 2 and wider
    by L sin(a) / 2.
    """
    mean = math.hypot(length, width)
    skew = min(diagonals_differ * mean / (2.0 * length * width), 1.0)
    return width * skew / 2.0, length * skew / 2.0


def plate_as_pocket(pocket: Pocket, plate: PlateAsMade, paint: float = PAINT, units: Units = "metric") -> Pocket:
    """The pocket as it would have been stated for the plate as made: its sizes are those of the bare steel.

    Args:
        pocket: as planned
        plate: as made
        paint: thickness on an edge, which the room round a plate has already; taken off sizes over the paint [mm]
        units: of the messages

    Raises:
        SlabwrightError: the plate is another pocket's, or so far from the plan that it must be a slip
    """
    if plate.plate != pocket.name:
        raise SlabwrightError(f"The plate as made is for {plate.plate!r}, not for the pocket {pocket.name!r}.")
    sizes = (("length", plate.length, pocket.length), ("width", plate.width, pocket.width))
    for what, made, planned in sizes:
        if made is not None and abs(made - planned) > max(25.0, 0.2 * planned):
            raise SlabwrightError(
                f"top.plates_as_made: the plate of {pocket.name!r} has a {what} of {format_length(made, units)} where "
                f"{format_length(planned, units)} was planned; measure it again, or change the pocket's {what} in the job."
            )
    coats = 2.0 * paint if plate.painted else 0.0
    length = pocket.length if plate.length is None else max(plate.length - coats, 0.1)
    width = pocket.width if plate.width is None else max(plate.width - coats, 0.1)
    longer, wider = outgrown_by_skew(length, width, plate.diagonals_differ)
    radius = pocket.corner_radius if plate.corner_radius is None else plate.corner_radius
    return pocket.model_copy(
        update={
            "length": length + longer + 2.0 * plate.error,
            "width": width + wider + 2.0 * plate.error,
            "corner_radius": radius,
        }
    )


def follow_as_made(
    pocket: Pocket,
    plate: PlateAsMade,
    at: tuple[float, float],
    room: PocketRoom,
    planned_thickness: float | None = None,
    paint: float = PAINT,
) -> PocketAsMade:
    """The pocket's opening, its depth and its bolts for the plate as made.

    Args:
        pocket: as planned
        plate: as made
        at: the plate's middle in the top [mm]
        room: round the plate as made: what `pocket_room` gives for `plate_as_pocket`
        planned_thickness: of the plate; None where it was not stated [mm]
        paint: thickness on an edge [mm]

    Raises:
        SlabwrightError: as `plate_as_pocket`
    """
    grown = plate_as_pocket(pocket, plate, paint)
    thicker = 0.0
    if plate.thickness is not None and planned_thickness is not None:
        thicker = plate.thickness - planned_thickness
    return PocketAsMade(
        name=pocket.name,
        way=plate.way,
        length=grown.length,
        width=grown.width,
        thickness=plate.thickness if plate.thickness is not None else planned_thickness,
        depth=max(pocket.depth + thicker + plate.bow, 0.1),
        longer_bolts=thicker,
        along=at[0],
        across=at[1],
        opening=pocket_fitting(grown, at, room).opening,
    )


class Followed(NamedTuple):
    """Features and their places once the plates as made are taken: what slots, clearances and programs go on with."""

    features: tuple[Feature, ...]
    positions: dict[str, tuple[float, float]]
    by_hand: tuple[str, ...]
    """Inserts whose holes are drilled at the marks in the wood."""


def as_made_features(
    features: Sequence[Feature],
    positions: Positions,
    planned: SlotPlan,
    plates: Sequence[PlateAsMade],
    planned_thickness: Mapping[str, float] | None = None,
    paint: float = PAINT,
    units: Units = "metric",
) -> Followed:
    """Pockets and inserts that follow the plates as made; give them to `slot_plan` again.

    Each slot's middle stands `Slot.shift` from its bolt, so a bolt goes that far from the middle of its slot as made.

    Args:
        features: as stated
        positions: middle of each [mm]
        planned: slots as planned
        plates: as made
        planned_thickness: of each plate, by its pocket; the inserts' own where left out [mm]
        paint: thickness on a wall or an edge [mm]
        units: of the messages

    Raises:
        SlabwrightError: a plate without a pocket, or stated twice; a hole without an insert of that plate
    """
    pockets = {feature.name: feature for feature in features if isinstance(feature, Pocket)}
    bolts = {feature.name: feature for feature in features if isinstance(feature, Insert)}
    shift = {slot.name: slot.shift for slot in planned.slots}
    made: dict[str, PlateAsMade] = {}
    for plate in plates:
        if plate.plate not in pockets:
            raise SlabwrightError(
                f"top.plates_as_made: there is no pocket {plate.plate!r}; it names a pocket of the top."
            )
        if plate.plate in made:
            raise SlabwrightError(f"top.plates_as_made: the plate of {plate.plate!r} is stated twice; state it once.")
        made[plate.plate] = plate
    moved = dict(positions)
    changed: dict[str, Feature] = {}
    by_hand: list[str] = []
    for name, plate in made.items():
        pocket = pockets[name]
        planned_thick = (planned_thickness or {}).get(name)
        changed[name] = plate_as_pocket(pocket, plate, paint, units)
        holes = {hole.insert: hole for hole in plate.holes}
        for insert in (bolt for bolt in bolts.values() if bolt.plate == name):
            if planned_thick is None:
                planned_thick = insert.plate_thickness
            if plate.thickness is not None:
                changed[insert.name] = insert.model_copy(update={"plate_thickness": plate.thickness})
            hole = holes.pop(insert.name, None)
            if hole is not None:
                x, y = positions[name]
                moved[insert.name] = (x + hole.along, y + hole.across - shift.get(insert.name, 0.0))
            elif plate.way == "marked through":
                by_hand.append(insert.name)
        if holes:
            raise SlabwrightError(
                f"top.plates_as_made: the plate of {name!r} has a hole for {next(iter(holes))!r}, which is no insert of it."
            )
        thicker = plate.thickness - planned_thick if plate.thickness is not None and planned_thick is not None else 0.0
        grown = changed[name]
        changed[name] = grown.model_copy(update={"depth": max(pocket.depth + thicker + plate.bow, 0.1)})
    return Followed(tuple(changed.get(f.name, f) for f in features), moved, tuple(by_hand))


def as_made_findings(
    plates: Sequence[PlateAsMade], asked: SlotPlan, units: Units = "metric", paint: float = PAINT
) -> tuple[Finding, ...]:
    """Slots of the plates as made that are too short or too narrow, and plates that are bowed.

    Args:
        plates: as made
        asked: slots for the features as made
        units: of the job
        paint: thickness on a wall, which the slots asked for have not yet [mm]
    """

    def said(length: float) -> str:
        return format_length(length, units)

    slots = {slot.name: slot for slot in asked.slots}
    found: list[Finding] = []
    for plate in plates:
        for hole in plate.holes:
            slot = slots.get(hole.insert)
            if slot is not None:
                coats = 2.0 * paint if plate.painted else 0.0
                found += _slot_findings(plate, hole, slot.length - coats, slot.width - coats, units)
        if plate.bow > 1.0:
            found.append(
                Finding(
                    "top/plate-bowed",
                    "caution",
                    f"{plate.plate}: the plate is bowed by {said(plate.bow)}; screwed down it bends the top or rocks.",
                    f"Straighten it to within {said(1.0)} and measure it again; till then its pocket is that much deeper.",
                    COMMON_PRACTICE,
                )
            )
    return tuple(found)


def _slot_findings(plate: PlateAsMade, hole: HoleAsMade, length: float, width: float, units: Units) -> list[Finding]:
    out: list[Finding] = []
    for what, made, least in (("long", hole.length, length), ("wide", hole.width, width)):
        if made is not None and made < least - 0.05:
            out.append(
                Finding(
                    "top/slot-as-made",
                    "stop",
                    f"{plate.plate}: the slot for {hole.insert} is {format_length(made, units)} {what}; "
                    f"{format_length(least, units)} is asked for: the top would split or bind.",
                    f"File it {format_length(least - made, units)} more, half at each end or side, and touch up the paint.",
                    COMMON_PRACTICE,
                )
            )
    return out
