"""Where the pieces of a base meet: mitres, ends that stand on another piece, plates on tubes, ends to close."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from slabwright.base.kinds import Drawn, Member, Plate
from slabwright.base.sections import Section
from slabwright.reference.tapping import tapping

JointKind = Literal[
    "mitre", "end on a side", "corner, butted", "end to end", "plate on an end", "plate on a rail", "cap"
]
_SAME = 1.0
_STANDS = 45.0
"""A piece that leans by less than this from upright stands on its foot [degrees]."""
_STRAIGHT = math.cos(math.radians(5.0))
_RAILS_RUN_THROUGH = ("U legs", "closed loops", "inverted U", "trestles")


@dataclass(frozen=True)
class Meeting:
    """Two pieces that are welded to each other [mm].

    Attributes:
        name: as the sheets call it
        kind: how they meet
        node: where
        branch: the piece that ends there
        chord: the piece or plate that it meets
        section: of the branch
        onto: section of the chord; none: a plate
        inside: extent of the branch in the plane of the two pieces
        outside: extent of the branch square to that plane
        chord_outside: extent of the chord square to that plane
        angle: between the pieces [degrees]
        thickness: of the chord's steel
        length: of a plate's contact along the rail; 0: elsewhere
        ledges: steel of a plate beyond each side of the tube: its outer end, inner, left and right
    """

    name: str
    kind: JointKind
    node: str
    branch: str
    chord: str
    section: Section
    onto: Section | None
    inside: float
    outside: float
    chord_outside: float
    angle: float
    thickness: float
    length: float = 0.0
    ledges: tuple[float, float, float, float] | None = None


def thickness_of(steel: Section) -> float:
    """Wall of a tube or an angle; the thinner side of what is solid [mm]."""
    return steel.wall if steel.wall is not None else min(steel.depth, steel.width)


def hollow(steel: Section) -> bool:
    """Whether it is a tube."""
    return steel.kind in ("square tube", "rectangular tube", "round tube")


def corner_radius(steel: Section) -> float:
    """Outer radius of a tube's corner: twice its wall, as EN 10219-2 has it for walls up to 6 mm (from memory) [mm]."""
    return 2.0 * thickness_of(steel) if steel.kind in ("square tube", "rectangular tube") else 0.0


def mitred(drawn: Drawn) -> bool:
    """Whether corners are mitred."""
    return drawn.kind in _RAILS_RUN_THROUGH[:3] and any(max(part.mitres) > 0.0 for part in drawn.parts)


def piece_name(drawn: Drawn, member: Member) -> str:
    """The piece of steel that a member is of: alike names are one piece, but in a free frame each member is cut by itself."""
    if drawn.kind == "free frame" and sum(other.name == member.name for other in drawn.members) > 1:
        return f"{member.name} ({member.first} to {member.last})"
    return member.name


def at_nodes(drawn: Drawn) -> dict[str, dict[str, list[Member]]]:
    """Members by node, then by the piece that they are of; plates and bolted ends not among them."""
    found: dict[str, dict[str, list[Member]]] = {}
    for member in drawn.members:
        if member.part != "frame":
            continue
        for node, pinned in zip((member.first, member.last), member.pinned, strict=True):
            if not pinned:
                found.setdefault(node, {}).setdefault(piece_name(drawn, member), []).append(member)
    return found


def meetings(drawn: Drawn) -> tuple[Meeting, ...]:
    """Every pair of pieces that is welded, plates last, then the ends that stay open and want a cap."""
    found = list(_frame_meetings(drawn))
    return (*found, *_plate_meetings(drawn), *_caps(drawn, found))


def _frame_meetings(drawn: Drawn) -> Iterator[Meeting]:
    for node, pieces in at_nodes(drawn).items():
        if len(pieces) < 2:
            continue
        passing = [name for name, members in pieces.items() if len(members) > 1]
        ends = [name for name, members in pieces.items() if len(members) == 1]
        if len(pieces) == 2 and not passing and mitred(drawn):
            rail = next((name for name in ends if "rail" in name), ends[0])
            branch = next(name for name in ends if name != rail)
            yield _meeting(drawn, node, pieces[branch][0], pieces[rail][0], "mitre")
            continue
        chord = passing[0] if passing else _through(drawn, ends)
        for name in pieces:
            if name == chord:
                continue
            kind: JointKind = "end on a side" if passing else "corner, butted"
            yield _meeting(drawn, node, pieces[name][0], pieces[chord][0], kind)


def _through(drawn: Drawn, ends: Sequence[str]) -> str:
    """The piece that runs through a butted corner, as the parts to cut have it."""
    if drawn.kind == "free frame":
        return ends[0]
    wanted = "rail" if drawn.kind in _RAILS_RUN_THROUGH else "upright"
    return next((name for name in ends if wanted in name), ends[0])


def _away(drawn: Drawn, member: Member, node: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    other = member.last if member.first == node else member.first
    way = np.subtract(drawn.nodes[other], drawn.nodes[node])
    return np.asarray(way / np.linalg.norm(way), dtype=float)


def _extents(
    drawn: Drawn, member: Member, node: str, normal: np.ndarray[tuple[int, ...], np.dtype[np.float64]]
) -> tuple[float, float]:
    """Of a member's section: in the plane, and along its normal."""
    axis = _away(drawn, member, node)
    up = np.asarray(member.up, dtype=float)
    up = up - axis * float(up @ axis)
    steel = member.section
    depth_stands_out = abs(float(up @ normal)) > 0.7 * float(np.linalg.norm(up))
    return (steel.width, steel.depth) if depth_stands_out else (steel.depth, steel.width)


def _meeting(drawn: Drawn, node: str, branch: Member, chord: Member, kind: JointKind) -> Meeting:
    one, other = _away(drawn, branch, node), _away(drawn, chord, node)
    cosine = float(one @ other)
    if abs(cosine) > _STRAIGHT:
        kind, normal = "end to end", np.cross(one, (0.0, 0.0, 1.0) if abs(one[2]) < 0.9 else (1.0, 0.0, 0.0))
    else:
        normal = np.cross(one, other)
    normal = np.asarray(normal / np.linalg.norm(normal), dtype=float)
    inside, outside = _extents(drawn, branch, node, normal)
    names = (piece_name(drawn, branch), piece_name(drawn, chord))
    angle = math.degrees(math.acos(max(-1.0, min(1.0, cosine))))
    return Meeting(
        f"{names[0]} to {names[1]}" + ("" if drawn.kind != "free frame" else f" at {node}"),
        kind,
        node,
        *names,
        branch.section,
        chord.section,
        inside,
        outside,
        _extents(drawn, chord, node, normal)[1],
        angle if kind in ("mitre", "end to end") or angle <= 90.0 else 180.0 - angle,
        thickness_of(chord.section),
    )


def _plate_meetings(drawn: Drawn) -> Iterator[Meeting]:
    pieces = at_nodes(drawn)
    for plate in drawn.plates:
        rail = next(
            (m for m in drawn.members if m.part == "frame" and m.name == f"{plate.name.split()[0]} top rail"), None
        )
        if rail is not None:
            yield _on_rail(drawn, plate, rail)
            continue
        for node, met in pieces.items():
            x, y, z = drawn.nodes[node]
            stands = abs(x - plate.x) < _SAME and abs(z - (drawn.underside - plate.thickness / 2.0)) < _SAME
            for name, members in met.items() if stands else ():
                steel = members[0].section
                side = (plate.width - steel.width) / 2.0
                ends = (plate.length / 2.0 - abs(y) - steel.depth / 2.0, abs(y) - steel.depth / 2.0)
                yield Meeting(
                    f"{plate.name} on {name}",
                    "plate on an end",
                    node,
                    name,
                    plate.name,
                    steel,
                    None,
                    steel.depth,
                    steel.width,
                    plate.width,
                    90.0,
                    plate.thickness,
                    ledges=(ends[0], ends[1], side, side),
                )


def _on_rail(drawn: Drawn, plate: Plate, rail: Member) -> Meeting:
    ends = [y for m in drawn.members if m.name == rail.name for y in (drawn.nodes[m.first][1], drawn.nodes[m.last][1])]
    upright = next(m.section.depth for m in drawn.members if m.part == "frame" and m.name.endswith("upright"))
    side = (plate.width - rail.section.width) / 2.0
    return Meeting(
        f"{plate.name} on {rail.name}",
        "plate on a rail",
        rail.first,
        rail.name,
        plate.name,
        rail.section,
        None,
        rail.section.depth,
        rail.section.width,
        plate.width,
        90.0,
        plate.thickness,
        length=min(plate.length, max(ends) - min(ends) + upright),
        ledges=(0.0, 0.0, side, side),
    )


def foot_plates(drawn: Drawn) -> dict[str, str]:
    """The piece at whose open end a foot plate is set in, by its node."""
    caps = _caps(drawn, list(_frame_meetings(drawn)))
    return {meeting.node: meeting.branch for meeting in caps if meeting.chord == "foot plate"}


def inside_of(steel: Section) -> tuple[float, float]:
    """Clear depth and width inside a tube [mm]."""
    return steel.depth - 2.0 * thickness_of(steel), steel.width - 2.0 * thickness_of(steel)


def _caps(drawn: Drawn, met: Sequence[Meeting]) -> Iterator[Meeting]:
    """Ends of tubes that nothing closes: where a piece runs through a butted corner, and at the floor.

    Each is closed by a cap that is set in, flush with the end, so that it adds no length; under a leveller by a foot plate,
    which is thick enough for its thread.
    """
    feet = {node for _, node, _ in drawn.feet} if drawn.stud is not None else set()
    pieces = at_nodes(drawn)
    plated = {meeting.node for meeting in _plate_meetings(drawn) if meeting.kind == "plate on an end"}
    closed = {(meeting.node, meeting.branch) for meeting in met}
    closed |= {(m.node, m.chord) for m in met if m.kind in ("mitre", "end to end")}
    plate_over = {m.node for m in met if drawn.kind == "four legs" and m.node.endswith("upright, top")}
    for node, at in pieces.items():
        for name, members in at.items():
            steel = members[0].section
            if len(members) > 1 or (node, name) in closed or node in plated or not hollow(steel):
                continue
            if node in plate_over and name.endswith("upright"):
                continue
            foot = node in feet and _leans(drawn, members[0]) < _STANDS
            cap = "foot plate" if foot else "cap"
            leans = _leans(drawn, members[0]) if foot else 0.0
            yield Meeting(
                f"{cap} in {name}" + ("" if foot else _which_end(drawn, name, node)),
                "cap",
                node,
                name,
                cap,
                steel,
                None,
                steel.depth,
                steel.width,
                steel.width,
                90.0 - leans,
                tapping().plate(drawn.stud or 0.0, drawn.units) if foot else max(thickness_of(steel), 3.0),
            )


def _leans(drawn: Drawn, member: Member) -> float:
    """From upright [degrees]; a leg's end is cut level by as much."""
    along = np.subtract(drawn.nodes[member.last], drawn.nodes[member.first])
    return math.degrees(math.atan2(math.hypot(float(along[0]), float(along[1])), abs(float(along[2]))))


def _which_end(drawn: Drawn, name: str, node: str) -> str:
    """Which end of its piece a node is, so that no two ends are called alike."""
    if drawn.kind == "free frame":
        return f" at {node}"
    ends = [
        drawn.nodes[end]
        for member in drawn.members
        if piece_name(drawn, member) == name
        for end in (member.first, member.last)
    ]
    spans = [max(place[axis] for place in ends) - min(place[axis] for place in ends) for axis in range(3)]
    axis = spans.index(max(spans))
    middle = (max(place[axis] for place in ends) + min(place[axis] for place in ends)) / 2.0
    words = (("left", "right"), ("near", "far"), ("lower", "upper"))[axis]
    return f", {words[drawn.nodes[node][axis] > middle]} end"
