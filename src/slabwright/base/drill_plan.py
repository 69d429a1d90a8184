"""The drill plan: plate holes and slots from the top's layout, cable openings with their edges, vents, and what is deburred."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.accounts import figure, working
from slabwright.base.foot_threads import FootThread, foot_threads
from slabwright.base.kinds import Bolt, Drawn, Plate
from slabwright.base.sections import Section
from slabwright.base.weld_joints import at_nodes, hollow, meetings, piece_name, thickness_of
from slabwright.findings import COMMON_PRACTICE, Finding, SlabwrightError
from slabwright.quantities import INCH, Units, format_length
from slabwright.reference.welding import Welding, welding
from slabwright.top.slots import Slot, SlotPlan

_ROUND = 0.05
_CLEARANCE = 1.0
"""More than the bolt, where the top has no layout yet [mm]: ISO 273, medium, up to M12 about (from memory)."""


@dataclass(frozen=True)
class Cable:
    """A cable that goes through the steel [mm].

    Attributes:
        name: as the drawing calls it
        through: the plate or the piece of tube
        diameter: of the cable, or of its plug where that has to pass
        along: from the plate's middle, along the grain; of a tube: from its first end
        across: from the plate's middle, across the grain; of a tube: 0
    """

    name: str
    through: str
    diameter: float
    along: float
    across: float = 0.0


@dataclass(frozen=True)
class PlateHole:
    """One hole or slot of a plate."""

    name: str = figure("", "the insert that its bolt goes into", rests_on=("top.slots",))
    along: float = figure("mm", "of its middle from the plate's middle, along the grain", rests_on=("top.features",))
    across: float = figure(
        "mm",
        "of its middle from the plate's middle, across the grain, towards the far edge positive",
        how="the bolt's place + the slot's shift: a slot is not centred on its bolt",
        rests_on=("top.features", "top.slots"),
    )
    shift: float = figure("mm", "of its middle from the bolt as made", rests_on=("top.slots",))
    length: float = figure("mm", "across the grain, end to end, before paint", rests_on=("top.slots",))
    width: float = figure("mm", "along the grain, before paint; its ends are round", rests_on=("top.slots",))
    edge: float = figure(
        "mm", "of steel from its rim to the plate's nearest edge", how="plate less place and half of the hole"
    )
    edge_least: float = figure(
        "mm",
        "of steel that is asked for there",
        how="0.7 of the hole's width",
        source="EN 1993-1-8, table 3.3, from memory",
        rounds="up",
    )
    make: str = figure("", "how it is made", source=COMMON_PRACTICE)


@dataclass(frozen=True)
class Opening:
    """An opening for a cable."""

    name: str = figure("", "the cable")
    through: str = figure("", "the plate or the tube")
    along: float = figure("mm", "of its middle; plate: from its middle along the grain; tube: from its first end")
    across: float = figure("mm", "of its middle; plate: from its middle across the grain; tube: from its middle line")
    diameter: float = figure(
        "mm", "of the hole in the steel", how="cable + the grommet's wall on both sides", source=COMMON_PRACTICE
    )
    protect: str = figure("", "what keeps its edge off the cable", source=COMMON_PRACTICE)


@dataclass(frozen=True)
class Vent:
    """A hole that lets the air out of tubes that are welded shut."""

    pieces: tuple[str, ...] = figure("", "tubes that are one hollow, through their mitres")
    volume: float = figure("mm3", "of air that is shut in", how="inside of each tube x its length on the middle line")
    diameter: float = figure("mm", "of the vent", source=COMMON_PRACTICE)
    place: str = figure("", "where it is drilled: hidden, and before the last seam", source=COMMON_PRACTICE)


@dataclass(frozen=True)
class PlateDrill:
    """One plate, seen from above, from its middle."""

    name: str = figure("", "which plate")
    width: float = figure("mm", "along the grain", rests_on=("job:base.plate",))
    length: float = figure("mm", "across the grain", rests_on=("job:base.plate",))
    thickness: float = figure("mm", "of the steel", rests_on=("job:base.plate",))
    holes: tuple[PlateHole, ...] = figure("", "its holes and slots")
    openings: tuple[Opening, ...] = figure("", "its cable openings")


@dataclass(frozen=True)
class DrillPlan:
    """All the drilling of a base."""

    plates: tuple[PlateDrill, ...] = figure("", "the plates")
    openings: tuple[Opening, ...] = figure("", "cable openings in tubes")
    vents: tuple[Vent, ...] = figure("", "vents of tubes that are welded shut")
    feet: tuple[FootThread, ...] = figure("", "threads that the levellers are screwed into", source=COMMON_PRACTICE)
    deburr: tuple[str, ...] = figure("", "edges to take off, one after another", source=COMMON_PRACTICE)
    findings: tuple[Finding, ...] = working(())


def drill_plan(drawn: Drawn, slots: SlotPlan | None, units: Units, cables: Sequence[Cable] = ()) -> DrillPlan:
    """All the drilling of a base.

    Args:
        drawn: the base, its bolts as the top's layout has them
        slots: of the top; None: there is no layout yet, holes are round with plain clearance
        units: of the job
        cables: that go through the steel

    Raises:
        SlabwrightError: a cable goes through what the base does not have.
    """
    table = welding()
    by_name = {slot.name: slot for slot in slots.slots} if slots is not None else {}
    tubes = {piece_name(drawn, m): m.section for m in drawn.members if m.part == "frame"}
    known = {*tubes, *(plate.name for plate in drawn.plates)}
    for cable in cables:
        if cable.through not in known:
            raise SlabwrightError(
                f"cable {cable.name!r} goes through {cable.through!r}; the base has {', '.join(sorted(known))}"
            )
    openings = {cable.name: _opening(cable, table) for cable in cables}
    plates = tuple(
        PlateDrill(
            plate.name,
            plate.width,
            plate.length,
            plate.thickness,
            tuple(_hole(plate, bolt, by_name.get(bolt.name), table) for bolt in plate.bolts),
            tuple(openings[cable.name] for cable in cables if cable.through == plate.name),
        )
        for plate in drawn.plates
    )
    in_tubes = tuple(openings[cable.name] for cable in cables if cable.through in tubes)
    vents = tuple(_vents(drawn, table, units))
    found = [finding for plate in plates for finding in _plate_findings(plate, table, units)]
    found += _reach_findings(drawn, by_name, units)
    for opening in in_tubes:
        side = min(tubes[opening.through].depth, tubes[opening.through].width)
        if opening.diameter > table.opening_share * side:
            found.append(
                Finding(
                    "base/opening-too-wide",
                    "caution",
                    f"{opening.name}: an opening of {format_length(opening.diameter, units)} takes more than half of the side"
                    f" of {opening.through}, {format_length(side, units)}.",
                    f"Pass the cable without its plug, through {format_length(table.opening_share * side, units)} at most.",
                    table.sources["opening"],
                )
            )
    return DrillPlan(
        plates,
        in_tubes,
        vents,
        foot_threads(drawn),
        tuple(_deburr(plates, in_tubes, vents, units)),
        tuple(found),
    )


def _hole(plate: Plate, bolt: Bolt, slot: Slot | None, table: Welding) -> PlateHole:
    width = slot.width if slot is not None else bolt.thread + _CLEARANCE
    length = slot.length if slot is not None else width
    shift = slot.shift if slot is not None else 0.0
    along, across = bolt.x - plate.x, bolt.y + shift
    is_round = abs(length - width) < _ROUND
    return PlateHole(
        name=bolt.name,
        along=along,
        across=across,
        shift=shift,
        length=length,
        width=width,
        edge=min(plate.width / 2.0 - abs(along) - width / 2.0, plate.length / 2.0 - abs(across) - length / 2.0),
        edge_least=table.edge * width,
        make="centre punch, pilot, drill"
        if is_round
        else "centre punch and drill both ends, then file, saw or mill between them",
    )


def _slotted(hole: PlateHole) -> bool:
    return hole.length - hole.width >= _ROUND


def _opening(cable: Cable, table: Welding) -> Opening:
    return Opening(
        cable.name,
        cable.through,
        cable.along,
        cable.across,
        cable.diameter + 2.0 * table.grommet,
        "rubber grommet, put in after painting; rim rounded on both faces first, so that the edge is dull even without it",
    )


def _plate_findings(plate: PlateDrill, table: Welding, units: Units) -> list[Finding]:
    rims = [(hole.name, hole.along, hole.across, hole.length, hole.width) for hole in plate.holes]
    rims += [(o.name, o.along, o.across, o.diameter, o.diameter) for o in plate.openings]
    found = []
    for number, (name, along, across, length, width) in enumerate(rims):
        edge = min(plate.width / 2.0 - abs(along) - width / 2.0, plate.length / 2.0 - abs(across) - length / 2.0)
        least = table.edge * width
        if edge < least - 1e-6:
            breaks = edge <= 0.0
            said = "it breaks out of" if breaks else f"it leaves {format_length(edge, units)} to"
            found.append(
                Finding(
                    "base/hole-at-edge",
                    "stop" if breaks else "caution",
                    f"{name}: {said} the edge of the {plate.name}; {format_length(least, units)} is asked for.",
                    f"Move it in by {format_length(least - edge, units)}, or make the plate"
                    f" {format_length(2.0 * (least - edge), units)} larger that way.",
                    table.sources["hole"],
                )
            )
        for other, along_2, across_2, length_2, width_2 in rims[number + 1 :]:
            between = _between((along, across, length, width), (along_2, across_2, length_2, width_2))
            least = table.between * min(width, width_2)
            if between < least - 1e-6:
                told = (
                    f"{format_length(between, units)} of steel stays between them"
                    if between > 0.0
                    else "they run into each other"
                )
                found.append(
                    Finding(
                        "base/holes-too-near",
                        "stop" if between <= 0.0 else "caution",
                        f"{name} and {other}: {told}; {format_length(least, units)} is asked for.",
                        f"Set them {format_length(least - between, units)} farther apart.",
                        table.sources["hole"],
                    )
                )
    return found


def _between(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> float:
    """Steel between two slots with round ends, their length across: distance of their spines less both half widths."""
    gaps = abs(one[1] - other[1]) - (one[2] - one[3]) / 2.0 - (other[2] - other[3]) / 2.0
    return math.hypot(one[0] - other[0], max(gaps, 0.0)) - (one[3] + other[3]) / 2.0


def _reach_findings(drawn: Drawn, slots: dict[str, Slot], units: Units) -> list[Finding]:
    """Bolts that a tube under the plate keeps from being turned."""
    found = []
    for plate in drawn.plates:
        for bolt, beneath in zip(plate.bolts, plate.beneath, strict=True):
            slot = slots.get(bolt.name)
            washer = slot.washer_outer if slot is not None and slot.washer_outer is not None else 2.0 * bolt.thread
            room = abs(bolt.x - plate.x) - beneath - washer / 2.0
            if beneath > 0.0 and room < 0.0:
                found.append(
                    Finding(
                        "base/bolt-over-tube",
                        "stop",
                        f"{bolt.name}: the tube under the {plate.name} covers its washer by"
                        f" {format_length(-room, units)}; it cannot be turned.",
                        f"Move the bolt {format_length(-room, units)} away from the tube, along.",
                    )
                )
    return found


def _vents(drawn: Drawn, table: Welding, units: Units) -> list[Vent]:
    """One for each hollow: tubes that are joined by mitres are one, any other end is closed by what it meets, or by its cap."""
    sections = {piece_name(drawn, m): m.section for m in drawn.members if m.part == "frame" and hollow(m.section)}
    lengths = dict.fromkeys(sections, 0.0)
    for member in drawn.members:
        if member.part == "frame" and piece_name(drawn, member) in sections:
            lengths[piece_name(drawn, member)] += float(
                np.linalg.norm(np.subtract(drawn.nodes[member.last], drawn.nodes[member.first]))
            )
    pinned = {piece_name(drawn, m) for m in drawn.members if any(m.pinned)}
    hollow_of = {name: {name} for name in sections}
    for meeting in meetings(drawn):
        if meeting.kind in ("mitre", "end to end") and {meeting.branch, meeting.chord} <= sections.keys():
            joined = hollow_of[meeting.branch] | hollow_of[meeting.chord]
            for name in joined:
                hollow_of[name] = joined
    order = list(dict.fromkeys(name for at in at_nodes(drawn).values() for name in at))
    found, done = [], set[str]()
    for name in order:
        if name not in sections or name in done:
            continue
        pieces = tuple(piece for piece in order if piece in hollow_of[name])
        done.update(pieces)
        if pinned & set(pieces):
            continue
        found.append(
            Vent(
                pieces,
                sum(_inside(sections[piece]) * lengths[piece] for piece in pieces),
                table.vent,
                _place(pieces, units),
            )
        )
    return found


def _inside(steel: Section) -> float:
    wall = thickness_of(steel)
    if steel.kind == "round tube":
        return math.pi / 4.0 * (steel.depth - 2.0 * wall) ** 2
    return (steel.depth - 2.0 * wall) * (steel.width - 2.0 * wall)


def _place(pieces: tuple[str, ...], units: Units) -> str:
    lying = next((piece for piece in pieces if "rail" in piece or "stretcher" in piece), None)
    if lying is not None:
        return f"underside of the {lying}, at its middle"
    below = format_length(30.0, units, 0) if units == "metric" else format_length(1.25 * INCH, units)
    return f"inner side of the {pieces[0]}, {below} below its upper end"


def _deburr(
    plates: Sequence[PlateDrill], openings: Sequence[Opening], vents: Sequence[Vent], units: Units
) -> list[str]:
    half = format_length(0.5, units)
    found = ["sawn tubes: every end, outside and inside, before fitting"]
    for plate in plates:
        found.append(f"{plate.name}: all edges and corners, rounded {half}")
        found.append(
            f"{plate.name}: {len(plate.holes)} holes, both faces, {half}"
            + ("; slots' sides filed smooth: the bolt slides there" if any(_slotted(h) for h in plate.holes) else "")
        )
        found += [
            f"{plate.name}: opening {o.name}, both faces, rounded until a rag slides over it" for o in plate.openings
        ]
    found += [f"{o.through}: opening {o.name}, both faces, rounded until a rag slides over it" for o in openings]
    found += [f"{vent.place}: vent, chips shaken out" for vent in vents]
    return found
