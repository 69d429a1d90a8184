"""The weld plan: every joint with what remains of its weld after grinding, its throat against the load, filler and time.

References:
    .. [1] AWS D1.1, least sizes of fillet welds
    .. [2] EN 1993-1-8, 4.5.3.3, simplified method: the resultant on the throat against one shear strength (from memory)
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from slabwright.accounts import figure, working
from slabwright.base.kinds import Drawn
from slabwright.base.weld_joints import Meeting, corner_radius, hollow, inside_of, meetings, thickness_of
from slabwright.base.weld_loads import JointLoad, throat_stress
from slabwright.base.weld_order import WeldStep, weld_order
from slabwright.findings import COMMON_PRACTICE, Finding, SlabwrightError
from slabwright.quantities import INCH, Units, format_length
from slabwright.reference.steel import steel
from slabwright.reference.welding import Welding, welding

_SHAPE = ("job:base.tube", "job:base.rail", "job:base.corners", "job:piece.base")
_LEAST = "AWS D1.1:2025, table 7.7"
_FLUSH = 1.0
_CAUTIONS = (
    "No galvanised tube: its fume makes ill. Zinc is ground off far behind the seam, or other tube is bought.",
    "No chlorinated cleaner, such as brake cleaner, anywhere near: an arc turns its vapour into phosgene.",
    "Any cleaner is flashed off, and its can and rag are out of the room, before an arc is struck.",
    "A sealed tube is vented before it is heated.",
    "Hood, gloves, covered skin; a screen for whoever walks by; fume drawn off or the doors open.",
    "Not into wood dust: floor swept, extraction of the wood not used for grinding, watched for an hour afterwards.",
)


@dataclass(frozen=True)
class Seam:
    """One weld of a joint, as it is when all grinding is done."""

    place: str = figure("", "where on the joint")
    type: str = figure(
        "",
        "which weld; ground flush it is a groove weld, as no fillet remains",
        source=COMMON_PRACTICE,
    )
    leg: float | None = figure(
        "mm",
        "of a fillet; none: no fillet",
        how="least leg by the thinner part, not more than that part; more where the load asks for it",
        rests_on=_SHAPE,
        source=_LEAST,
    )
    throat: float = figure(
        "mm",
        "that carries, after grinding",
        how="fillet: leg / root 2; groove: the thinner wall, bevelled where it is too thick to be melted through;"
        " flare: 5/8 (stick 5/16) of the tube's corner radius, not more than its wall",
        rests_on=_SHAPE,
        sure="as long as it is melted through: cut a trial joint open",
        source="effective throats of AWS D1.1, from memory",
    )
    length: float = figure("mm", "of weld", how="side of the section, longer where it is cut at an angle")
    stitches: int = figure("1", "how many it is laid in; 1: in one")
    ground: bool = figure("", "whether it is ground flush")
    bevel: bool = figure("", "whether its edges are bevelled before", source=COMMON_PRACTICE)
    filler: float = figure(
        "kg",
        "of weld metal, before grinding",
        how="area x length x density; fillet: leg squared / 2 and a tenth; groove: gap, bevel and what stands proud",
        source="deposit formula of a filler maker's handbook",
    )


@dataclass(frozen=True)
class WeldJoint:
    """One joint."""

    name: str = figure("", "which pieces meet")
    kind: str = figure("", "how they meet", rests_on=_SHAPE)
    seams: tuple[Seam, ...] = figure("", "its welds")
    throat: float = figure("mm", "its least throat after grinding", how="least of its seams")
    stress: float | None = figure(
        "MPa",
        "on its throat under the load with its factor; none: no load is given",
        how="all seams as one line round the section with the least throat; pull and moments added, root of squares with shear",
        rests_on=("base.stress",),
        sure="on the safe side: the least throat counts all round",
        source="EN 1993-1-8, 4.5.3.3, from memory",
        change="a thicker wall, or a larger tube",
    )
    strength: float = figure("MPa", "that its throat bears", source="EN 1993-1-8, 4.5.3.3, S235, from memory")
    used: float | None = figure("1", "share of that strength that the load takes", how="stress / strength")
    prepare: str = figure("", "what is done to it before", source=COMMON_PRACTICE)


@dataclass(frozen=True)
class WeldPlan:
    """All the welding of a base."""

    joints: tuple[WeldJoint, ...] = figure("", "the joints")
    joined: bool = figure("", "whether the leg frames are welded to each other; else only the top joins them")
    gap_least: float = figure("mm", "least gap of a groove before it is welded", source=COMMON_PRACTICE)
    gap_most: float = figure(
        "mm",
        "widest gap of a groove before it is welded",
        source=COMMON_PRACTICE,
        change="cut the piece again: a wide gap pulls the frame out of square",
    )
    length: float = figure("mm", "of all welds", how="sum of the seams", rests_on=_SHAPE)
    weld_metal: float = figure("kg", "in the seams, before grinding", how="sum of the seams")
    filler: float = figure(
        "kg",
        "to have at hand",
        how="weld metal / share of the filler that ends up in the seam",
        rests_on=("base.welds.weld_metal",),
        sure="about a fifth either way (from memory)",
        source="P = W L / E of a filler maker's handbook; E from memory",
    )
    welding_time: float = figure(
        "min",
        "of welding, tacks and turning included",
        how="weld metal / filler laid per hour of arc / share of the time that the arc burns",
        rests_on=("base.welds.weld_metal",),
        sure="half to double: a guess until it is timed",
        source="from memory",
        change="time one joint and state it",
    )
    grinding_length: float = figure("mm", "that is ground flush", how="sum of the seams that are ground")
    filling_length: float = figure(
        "mm",
        "whose pits and gaps are filled before paint",
        how="what is ground, and what is open between stitches, where dirt and damp would get in",
    )
    grinding_time: float = figure(
        "min",
        "of grinding and filling",
        how="ground length x 20 min/m",
        rests_on=("base.welds.grinding_length",),
        sure="half to double: a guess until it is timed",
        source="from memory",
    )
    prepare: tuple[str, ...] = figure("", "before the first tack", source=COMMON_PRACTICE)
    order: tuple[WeldStep, ...] = figure("", "what is done one after another", source=COMMON_PRACTICE)
    cautions: tuple[str, ...] = figure(
        "", "what harms", source="OSHA welding rules and AWS fact sheets for zinc and phosgene; common practice"
    )
    findings: tuple[Finding, ...] = working(())


def weld_plan(
    drawn: Drawn,
    units: Units,
    loads: Mapping[str, JointLoad] | None = None,
    process: str = "gas-shielded solid wire",
    joined: bool | None = None,
) -> WeldPlan:
    """All the welding of a base: least fillets [1]_, throats against the load [2]_.

    Args:
        drawn: the base
        units: of the job
        loads: what joints bear, by the names that `weld_joints.meetings` gives them
        process: how it is welded, a name of the table
        joined: whether the leg frames are welded to each other; None: as drawn

    Raises:
        SlabwrightError: the process or a joint that is loaded is unknown.
    """
    table = welding()
    if process not in table.processes:
        raise SlabwrightError(f"welding: process {process!r} is not known; known are {', '.join(table.processes)}")
    met = meetings(drawn)
    known = {meeting.name for meeting in met}
    for name in loads or {}:
        if name not in known:
            raise SlabwrightError(
                f"welding: no joint is called {name!r}; joints are called like {min(known, default='')!r}"
            )
    way = table.processes[process]
    joints = tuple(_joint(meeting, (loads or {}).get(meeting.name), process, table, units) for meeting in met)
    seams = [seam for joint in joints for seam in joint.seams]
    metal = math.fsum(seam.filler for seam in seams)
    ground = math.fsum(seam.length for seam in seams if seam.ground)
    open_between = math.fsum(
        2.0 * meeting.length - math.fsum(seam.length for seam in joint.seams)
        for meeting, joint in zip(met, joints, strict=True)
        if meeting.kind == "plate on a rail"
    )
    if joined is None:
        joined = any(member.name.endswith(("stretcher", "far rail", "near rail")) for member in drawn.members)
    return WeldPlan(
        joints=joints,
        joined=joined,
        gap_least=table.gap[0],
        gap_most=table.gap[1],
        length=math.fsum(seam.length for seam in seams),
        weld_metal=metal,
        filler=metal / way.efficiency,
        welding_time=metal / way.rate * 60.0 / way.arc,
        grinding_length=ground,
        filling_length=ground + open_between,
        grinding_time=ground / 1000.0 * table.grinding,
        prepare=(
            f"Grind off mill scale and rust, inside and out, {_clean_from_seam(units)} from each seam;"
            " wipe off oil until a white rag stays white.",
            "Let the cleaner dry. Deburr each cut, inside too.",
            "Turn the tube's own seam to the hidden side: inwards on uprights, downwards on bottom rails, upwards on top rails.",
            f"Dry fit on a flat plate: grooves open by {format_length(table.gap[0], units)} to"
            f" {format_length(table.gap[1], units)}, ends on sides tight."
            " Where a gap is wider, cut the piece again: filler does not mend it.",
            "Weld a trial mitre from the same tube, grind it flush, saw it through: melted through to the inside, or bevel more.",
        ),
        order=weld_order(
            [(m.name, m.kind, drawn.nodes[m.node]) for m in met],
            table.tack,
            units,
            joined=joined,
            plates=len(drawn.plates),
        ),
        cautions=_CAUTIONS,
        findings=tuple(_findings(met, joints, table, units)),
    )


def _clean_from_seam(units: Units) -> str:
    """How far from a seam the scale is ground off."""
    return format_length(25.0 if units == "metric" else INCH, units, 0 if units == "metric" else None)


def _joint(meeting: Meeting, load: JointLoad | None, process: str, table: Welding, units: Units) -> WeldJoint:
    wall = thickness_of(meeting.section)
    thinner, thicker = min(wall, meeting.thickness), max(wall, meeting.thickness)
    low_hydrogen = table.processes[process].low_hydrogen
    leg = min(table.least_leg(thinner if low_hydrogen else thicker, units), thinner)
    flare = table.flare_stick if process.startswith("stick") else table.flare
    step = 1.0 if units == "metric" else INCH / 16.0
    while True:
        seams = _seams(meeting, leg, flare, table)
        least = min(seam.throat for seam in seams)
        stress = None if load is None else table.load_factor * throat_stress(meeting, load, least, seams[0].length)
        fillet_rules = any(seam.leg is not None and seam.throat <= least + 1e-9 for seam in seams)
        if stress is None or stress <= table.strength or not fillet_rules or leg >= math.sqrt(2.0) * thinner:
            break
        leg = min(leg + step, math.sqrt(2.0) * thinner)
    return WeldJoint(
        name=meeting.name,
        kind=meeting.kind,
        seams=seams,
        throat=least,
        stress=stress,
        strength=table.strength,
        used=None if stress is None else stress / table.strength,
        prepare=_prepare(seams, table, units),
    )


def _prepare(seams: tuple[Seam, ...], table: Welding, units: Units) -> str:
    grooves = [seam for seam in seams if seam.leg is None and seam.type != "flare-bevel groove"]
    if not grooves:
        return "tight, clean"
    gap = f"gap {format_length(table.gap[0], units)} to {format_length(table.gap[1], units)}"
    if not any(seam.bevel for seam in grooves):
        return f"edges square, {gap}"
    return f"bevel the edges {table.bevel:.0f} deg down to {format_length(table.land, units)}, {gap}"


def _seams(meeting: Meeting, leg: float, flare: float, table: Welding) -> tuple[Seam, ...]:
    """The welds of one joint as they remain after grinding."""
    thinner = min(thickness_of(meeting.section), meeting.thickness)

    def fillet(place: str, length: float) -> Seam:
        area = leg**2 / 2.0 * (1.0 + table.convexity)
        return _seam(place, "fillet", length, leg / math.sqrt(2.0), area, leg=leg)

    def groove(place: str, length: float) -> Seam:
        bevelled = thinner > table.through
        deep = thinner - table.land if bevelled else 0.0
        open_up = deep * math.tan(math.radians(table.bevel))
        gap = sum(table.gap) / 2.0
        proud = 2.0 / 3.0 * table.reinforcement[0] * (gap + 2.0 * open_up + table.reinforcement[1])
        area = gap * thinner + deep * open_up + proud
        name = "bevelled groove" if bevelled else "square groove"
        return _seam(place, name, length, thinner, area, ground=True, bevel=bevelled)

    def flared(place: str, length: float, steel_radius: float, ground: bool, stitches: int = 1) -> Seam:
        area = (1.0 - math.pi / 4.0) * steel_radius**2 * (1.0 + table.convexity)
        throat = min(flare * steel_radius, thinner)
        return _seam(place, "flare-bevel groove", length, throat, area, ground=ground, stitches=stitches)

    round_tube = meeting.section.kind in ("round tube", "round bar")
    sine = math.sin(math.radians(meeting.angle))
    if meeting.kind == "mitre":
        long = meeting.inside / math.sin(math.radians(meeting.angle / 2.0))
        return (
            groove("outside of the corner", meeting.outside),
            groove("first side", long),
            groove("second side", long),
            fillet("inside of the corner", meeting.outside),
        )
    if meeting.kind == "cap":  # set in, flush: the seam runs inside the wall
        deep, wide = (2.0 * side for side in inside_of(meeting.section))
        return (groove("all round", math.pi * deep / 2.0 if round_tube else deep + wide),)
    if meeting.kind == "end to end":
        around = math.pi * meeting.inside if round_tube else 2.0 * (meeting.inside + meeting.outside)
        return (groove("all round", around),)
    if meeting.kind == "plate on a rail":
        length = min(table.stitch[0], meeting.length)
        count = max(1, math.ceil((meeting.length - length) / table.stitch[1] - 1e-9) + 1)
        radius = corner_radius(meeting.section)
        made = []
        for place in ("left side", "right side"):
            seam = flared(place, count * length, radius, False, count) if radius else fillet(place, count * length)
            made.append(replace(seam, stitches=count))
        return tuple(made)
    if round_tube:
        return (fillet("all round", math.pi * meeting.inside * (1.0 + 1.0 / sine) / 2.0),)
    if meeting.kind == "plate on an end":
        places = ("outer end", "inner end", "left side", "right side")
        lengths = (meeting.section.width,) * 2 + (meeting.section.depth,) * 2
        return tuple(
            fillet(place, length) if ledge >= leg else groove(place, length)
            for place, length, ledge in zip(places, lengths, meeting.ledges or (0.0,) * 4, strict=True)
        )
    radius = corner_radius(meeting.onto) if meeting.onto is not None else 0.0
    room = (meeting.chord_outside - meeting.outside) / 2.0
    made = []
    for place in ("first side", "second side"):
        long = meeting.inside / sine
        if room >= radius + leg:
            made.append(fillet(place, long))
        elif radius:
            made.append(flared(place, long, radius, room < _FLUSH))
        else:
            made.append(groove(place, long))
    butted = meeting.kind == "corner, butted"
    made.append(groove("outside, flush with the end", meeting.outside) if butted else fillet("heel", meeting.outside))
    made.append(fillet("inside of the corner" if butted else "toe", meeting.outside))
    return tuple(made)


def _seam(
    place: str,
    kind: str,
    length: float,
    throat: float,
    area: float,
    *,
    leg: float | None = None,
    ground: bool = False,
    bevel: bool = False,
    stitches: int = 1,
) -> Seam:
    return Seam(place, kind, leg, throat, length, stitches, ground, bevel, deposit(area, length, steel().density))


def deposit(area: float, length: float, density: float) -> float:
    """Weld metal of a seam: area x length x density [kg], from mm2, mm and kg/m3."""
    return area * length * density * 1e-9


def _findings(met: tuple[Meeting, ...], joints: tuple[WeldJoint, ...], table: Welding, units: Units) -> list[Finding]:
    found = [
        Finding(
            "base/weld-too-weak",
            "stop",
            f"{joint.name}: its weld of {format_length(joint.throat, units)} throat, as it remains after grinding,"
            f" is stressed with {joint.stress:.0f} MPa; it bears {joint.strength:.0f} MPa.",
            f"Take a wall at least {joint.used:.1f} times as thick, or a larger tube.",
            table.sources["strength"],
        )
        for joint in joints
        if joint.used is not None and joint.used > 1.0
    ]
    walls = {m.section.name: thickness_of(m.section) for m in met if hollow(m.section)}
    found += [
        Finding(
            "base/wall-burns-through",
            "caution",
            f"{name}: a wall of {format_length(wall, units)} burns through easily.",
            f"Take a wall of {format_length(table.thin_wall, units)} or more, or weld in short runs on a copper bar.",
            table.sources["thin_wall"],
        )
        for name, wall in walls.items()
        if wall < table.thin_wall
    ]
    found += [
        Finding(
            "base/plate-misses-tube",
            "stop",
            f"{meeting.name}: the tube stands {format_length(-min(meeting.ledges), units)} out beyond the plate.",
            f"Make the plate {format_length(-2.0 * min(meeting.ledges), units)} larger that way.",
        )
        for meeting in met
        if meeting.ledges is not None and min(meeting.ledges) < -_FLUSH
    ]
    return found
