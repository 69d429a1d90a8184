"""Each kind of joint cut through, as shapes in its own millimetres: steel, weld, and where a seam's letter stands."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import shapely
from shapely import LineString, Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from slabwright.base.sections import Section
from slabwright.base.weld_joints import Meeting, corner_radius, hollow, thickness_of
from slabwright.base.weld_plan import Seam, WeldJoint
from slabwright.reference.welding import welding

_FAR = 4000.0
_RUN = 1.15
"""How much of a piece is drawn, over the side of the tube."""
_GAP_SEEN = 0.45
"""Least width at which a groove's weld is drawn, over the wall, so that it is seen."""


@dataclass(frozen=True)
class Scene:
    """A cut through a joint.

    Attributes:
        title: what it shows
        pieces: steel that is cut, one shape for each piece
        welds: weld metal
        marks: places of seams: the seam's place, where it is, which way its letter stands
        clip: what is shown; lines along its edge are left out, for the steel goes on there
        lines: seen edges, dashed
    """

    title: str
    pieces: tuple[BaseGeometry, ...]
    welds: tuple[BaseGeometry, ...]
    marks: tuple[tuple[str, tuple[float, float], tuple[float, float]], ...]
    clip: BaseGeometry
    lines: tuple[LineString, ...] = ()


Place = tuple[float, float]


def scenes(meeting: Meeting, joint: WeldJoint) -> tuple[Scene, ...]:
    """One or two cuts through a joint."""
    seams = {seam.place: seam for seam in joint.seams}
    return _KINDS[meeting.kind](meeting, seams)


def _wall_pair(side: float, wall: float, low: float, high: float, solid: bool) -> BaseGeometry:
    """Two walls that stand up, or a solid, about x = 0."""
    if solid:
        return box(-side / 2, low, side / 2, high)
    return shapely.union_all([box(-side / 2, low, -side / 2 + wall, high), box(side / 2 - wall, low, side / 2, high)])


def ring_of(wide: float, high: float, wall: float, radius: float, steel: Section) -> BaseGeometry:
    """A section across, its upper side at y = 0."""
    outer: BaseGeometry
    inner: BaseGeometry
    if steel.kind in ("round tube", "round bar"):
        outer, inner = Point(0.0, -high / 2).buffer(high / 2, 32), Point(0.0, -high / 2).buffer(high / 2 - wall, 32)
    else:
        outer = _rounded(wide, high, radius)
        inner = affinity.translate(_rounded(wide - 2 * wall, high - 2 * wall, max(radius - wall, 0.0)), 0.0, -wall)
    return outer.difference(inner) if hollow(steel) else outer


def _rounded(wide: float, high: float, radius: float) -> BaseGeometry:
    radius = min(radius, wide / 2 - 0.01, high / 2 - 0.01)
    if radius <= 0.0:
        return box(-wide / 2, -high, wide / 2, 0.0)
    return box(-wide / 2 + radius, -high + radius, wide / 2 - radius, -radius).buffer(radius, 16)


def _filled(ring: BaseGeometry) -> BaseGeometry:
    """A section with its hollow filled."""
    return Polygon(ring.exterior) if isinstance(ring, Polygon) else ring


def _half(normal: Place, offset: float) -> Polygon:
    """Every place whose share along a normal is at least an offset."""
    (nx, ny), (tx, ty) = normal, (-normal[1], normal[0])
    corners = [(offset, -_FAR), (offset + _FAR, -_FAR), (offset + _FAR, _FAR), (offset, _FAR)]
    return Polygon([(a * nx + b * tx, a * ny + b * ty) for a, b in corners])


def _strip(way: Place, low: float, high: float) -> Polygon:
    """A band along a way through the origin, between two offsets to its left."""
    left = (-way[1], way[0])
    corners = [(-_FAR, low), (_FAR, low), (_FAR, high), (-_FAR, high)]
    return Polygon([(a * way[0] + b * left[0], a * way[1] + b * left[1]) for a, b in corners])


def _fillet(seam: Seam, corner: Place, one: Place, other: Place) -> Polygon:
    leg = seam.leg or 0.0
    (x, y) = corner
    return Polygon([corner, (x + leg * one[0], y + leg * one[1]), (x + leg * other[0], y + leg * other[1])])


def _groove_width(wall: float) -> float:
    return max(sum(welding().gap) / 2, _GAP_SEEN * wall)


def _mitre(meeting: Meeting, seams: Mapping[str, Seam]) -> tuple[Scene, ...]:
    side, wall = meeting.inside, thickness_of(meeting.section)
    turn = math.radians(meeting.angle)
    rail, branch = (1.0, 0.0), (math.cos(turn), math.sin(turn))
    size = math.hypot(rail[0] - branch[0], rail[1] - branch[1])
    across = ((rail[0] - branch[0]) / size, (rail[1] - branch[1]) / size)
    inward = (math.cos(turn / 2), math.sin(turn / 2))
    outer, walls = [], []
    for way, keep, sign in ((rail, across, 1.0), (branch, (-across[0], -across[1]), -1.0)):
        edges = ((-side / 2, -side / 2 + wall), (side / 2 - wall, side / 2))
        bands = [_strip(way, *sorted((sign * low, sign * high))).intersection(_half(keep, 0.0)) for low, high in edges]
        outer.append(bands[0])
        solid = _strip(way, -side / 2, side / 2).intersection(_half(keep, 0.0))
        walls.append(shapely.union_all(bands) if hollow(meeting.section) else solid)
    shown = (0.5 + _RUN) * side
    clip = box(-_FAR, -_FAR, _FAR, _FAR).difference(_half(rail, shown)).difference(_half(branch, shown))
    seam_line = LineString([(-_FAR * inward[0], -_FAR * inward[1]), (_FAR * inward[0], _FAR * inward[1])])
    groove = shapely.union_all(outer).intersection(seam_line.buffer(_groove_width(wall) / 2, cap_style="flat"))
    reach = side / 2 / math.sin(turn / 2)
    inside, outside = (reach * inward[0], reach * inward[1]), (-reach * inward[0], -reach * inward[1])
    welds = [groove, _fillet(seams["inside of the corner"], inside, rail, branch)]
    middle = LineString([outside, inside]).difference(shapely.union_all([*walls, groove]))
    return (
        Scene(
            "Cut through the middle",
            tuple(wall_.intersection(clip) for wall_ in walls),
            tuple(welds),
            (
                ("outside of the corner", outside, (-inward[0], -inward[1])),
                ("first side", (0.0, 0.0), (-across[0], -across[1])),
                ("inside of the corner", inside, inward),
            ),
            clip,
            tuple(part for part in getattr(middle, "geoms", [middle]) if isinstance(part, LineString)),
        ),
    )


def _on_side(meeting: Meeting, seams: Mapping[str, Seam]) -> tuple[Scene, ...]:
    onto = meeting.onto
    assert onto is not None
    wall, chord_wall = thickness_of(meeting.section), meeting.thickness
    wide, solid = meeting.chord_outside, not hollow(meeting.section)
    high = onto.depth + onto.width - wide if onto.kind not in ("round tube", "round bar") else wide
    radius = corner_radius(onto)
    ring = ring_of(wide, high, chord_wall, radius, onto)
    side = meeting.outside
    up = _RUN * meeting.inside
    first, second = (seams.get(place, seams.get("all round")) for place in ("first side", "second side"))
    assert first is not None and second is not None
    standing = _wall_pair(side, wall, -high / 2, up, solid).difference(_filled(ring))
    standing = standing.intersection(box(-_FAR, -radius if first.type.startswith("flare") else -high / 2, _FAR, up))
    if first.type.startswith("flare"):
        standing = standing.intersection(box(-_FAR, 0.0, _FAR, up))
    welds = [_side_weld(seam, sign, side, wide, radius, wall, ring) for seam, sign in ((first, -1.0), (second, 1.0))]
    if first.type.endswith("groove") and not first.type.startswith("flare"):
        standing = standing.difference(shapely.union_all(welds))
    clip = box(-_FAR, -high - 1.0, _FAR, up)
    across = Scene(
        "Across",
        (ring, standing.intersection(clip)),
        tuple(welds),
        ((second.place, (side / 2 + 0.3 * (second.leg or 0.0), 0.3 * (second.leg or -radius)), (1.0, 0.35)),),
        clip,
    )
    return across, _along_side(meeting, seams, high, up)


def _side_weld(
    seam: Seam, sign: float, side: float, wide: float, radius: float, wall: float, ring: BaseGeometry
) -> BaseGeometry:
    edge = sign * side / 2
    if seam.leg is not None:
        return _fillet(seam, (edge, 0.0), (sign, 0.0), (0.0, 1.0)).difference(ring)
    if seam.type.startswith("flare"):
        low, up = sorted((sign * (wide / 2 - radius), sign * wide / 2))
        corner: BaseGeometry = box(low, -radius, up, 0.0)
        return corner.difference(_filled(ring))
    low, up = sorted((edge - sign * wall, edge))
    return box(low, 0.0, up, _groove_width(wall))


def _along_side(meeting: Meeting, seams: Mapping[str, Seam], high: float, up: float) -> Scene:
    """Along the piece that it stands on."""
    onto = meeting.onto
    assert onto is not None
    wall, chord_wall = thickness_of(meeting.section), meeting.thickness
    turn = math.radians(meeting.angle)
    way = (math.cos(turn), math.sin(turn))
    side, foot = meeting.inside, meeting.inside / 2 / math.sin(turn)
    bands = [_strip(way, side / 2 - wall, side / 2), _strip(way, -side / 2, -side / 2 + wall)]
    branch = shapely.union_all(bands) if hollow(meeting.section) else _strip(way, -side / 2, side / 2)
    clip = box(-foot - 0.75 * side, -high - 1.0, foot + 0.75 * side, up)
    branch = branch.intersection(_half((0.0, 1.0), 0.0)).intersection(clip)
    butted = "outside, flush with the end" in seams
    start = -foot if butted else -_FAR
    chord: BaseGeometry = box(start, -high, _FAR, 0.0)
    if hollow(onto):
        chord = chord.difference(box(-_FAR, -high + chord_wall, _FAR, -chord_wall))
    toe = seams.get("toe", seams.get("inside of the corner", seams.get("all round")))
    heel = seams.get("heel", seams.get("outside, flush with the end", seams.get("all round")))
    assert toe is not None and heel is not None
    welds: list[BaseGeometry] = [_fillet(toe, (foot, 0.0), (1.0, 0.0), way)]
    if heel.leg is not None:
        welds.append(_fillet(heel, (-foot, 0.0), (-1.0, 0.0), way))
    else:
        groove = box(-_FAR, 0.0, -foot + wall / math.sin(turn) + 0.01, _groove_width(wall)).intersection(branch)
        welds.append(groove)
        branch = branch.difference(groove)
    marks = ((toe.place, (foot, 0.0), (1.0, 0.9)), (heel.place, (-foot, 0.0), (-1.0, 0.9)))
    return Scene("Along", (chord.intersection(clip), branch), tuple(welds), marks, clip)


def _on_end(meeting: Meeting, seams: Mapping[str, Seam]) -> tuple[Scene, ...]:
    ledges = meeting.ledges or (0.0, 0.0, 0.0, 0.0)
    if "all round" in seams:
        every = dict.fromkeys(("outer end", "inner end", "left side", "right side"), seams["all round"])
    else:
        every = dict(seams)
    steel = meeting.section
    return (
        _under_plate(meeting, "Along the plate", steel.depth, ledges[:2], (every["outer end"], every["inner end"])),
        _under_plate(meeting, "Across the plate", steel.width, ledges[2:], (every["left side"], every["right side"])),
    )


def _under_plate(
    meeting: Meeting, title: str, side: float, ledges: tuple[float, ...], pair: tuple[Seam, Seam]
) -> Scene:
    wall, thick = thickness_of(meeting.section), meeting.thickness
    shown = 0.6 * side
    down = -_RUN * side
    plate = box(-side / 2 - max(ledges[0], 0.0), 0.0, side / 2 + max(ledges[1], 0.0), thick)
    clip = box(-side / 2 - shown, down, side / 2 + shown, thick + 1.0)
    standing = _wall_pair(side, wall, down, 0.0, not hollow(meeting.section))
    welds: list[BaseGeometry] = []
    marks = []
    for seam, sign in zip(pair, (-1.0, 1.0), strict=True):
        edge = sign * side / 2
        if seam.leg is not None:
            welds.append(_fillet(seam, (edge, 0.0), (sign, 0.0), (0.0, -1.0)))
        else:
            low, up = sorted((edge - sign * wall, edge))
            welds.append(box(low, -_groove_width(wall), up, 0.0))
        marks.append((seam.place, (edge, -0.2 * wall), (sign, -0.9)))
    standing = standing.difference(shapely.union_all(welds))
    return Scene(title, (plate.intersection(clip), standing), tuple(welds), tuple(marks), clip)


def _on_rail(meeting: Meeting, seams: Mapping[str, Seam]) -> tuple[Scene, ...]:
    steel = meeting.section
    wide, high, radius = steel.width, steel.depth, corner_radius(steel)
    ring = ring_of(wide, high, thickness_of(steel), radius, steel)
    plate = box(-meeting.chord_outside / 2, 0.0, meeting.chord_outside / 2, meeting.thickness)
    clip = box(-1.15 * wide, -high - 1.0, 1.15 * wide, meeting.thickness + 1.0)
    welds: list[BaseGeometry] = []
    for place, sign in (("left side", -1.0), ("right side", 1.0)):
        seam = seams[place]
        if seam.leg is not None:
            welds.append(_fillet(seam, (sign * wide / 2, 0.0), (sign, 0.0), (0.0, -1.0)))
        else:
            welds.append(_side_weld(seam, sign, wide, wide, radius, 0.0, ring))
    marks = tuple(
        (place, (sign * wide / 2, -0.3 * radius), (sign, -0.8))
        for place, sign in (("right side", 1.0), ("left side", -1.0))
    )
    return (Scene("Across", (plate.intersection(clip), ring), tuple(welds), marks, clip),)


def _cap(meeting: Meeting, seams: Mapping[str, Seam]) -> tuple[Scene, ...]:
    side, wall = meeting.inside, thickness_of(meeting.section)
    gap = _groove_width(wall)
    down = -_RUN * side
    clip = box(-_FAR, down, _FAR, _FAR)
    # Set in, flush with the end; the seam fills the bevel between its edge and the wall.
    deep = min(wall, meeting.thickness)
    inner = side / 2 - wall
    cap = box(-inner, -meeting.thickness, inner, 0.0)
    welds = tuple(
        Polygon([(sign * inner, 0.0), (sign * inner, -deep), (sign * (inner - gap), 0.0)]) for sign in (-1.0, 1.0)
    )
    marks = (("all round", (inner, 0.0), (1.0, 0.6)),)
    return (
        Scene(
            "Along the tube",
            (_wall_pair(side, wall, down, 0.0, False), cap.difference(shapely.union_all(welds))),
            welds,
            marks,
            clip,
        ),
    )


def _end_to_end(meeting: Meeting, seams: Mapping[str, Seam]) -> tuple[Scene, ...]:
    side, wall = meeting.inside, thickness_of(meeting.section)
    gap = _groove_width(wall)
    far = _RUN * side
    clip = box(-far, -side, far, side)
    pieces, welds = [], []
    for sign in (-1.0, 1.0):
        low, up = sorted((sign * gap / 2, sign * far))
        whole: BaseGeometry = box(low, -side / 2, up, side / 2)
        if hollow(meeting.section):
            whole = whole.difference(box(low - 1, -side / 2 + wall, up + 1, side / 2 - wall))
        pieces.append(whole)
        low, up = sorted((sign * (side / 2 - wall), sign * side / 2))
        welds.append(box(-gap / 2, low, gap / 2, up))
    marks = (("all round", (0.0, side / 2), (0.5, 1.0)),)
    return (Scene("Along the tubes", tuple(pieces), tuple(welds), marks, clip),)


_KINDS: Mapping[str, Callable[[Meeting, Mapping[str, Seam]], tuple[Scene, ...]]] = {
    "mitre": _mitre,
    "end on a side": _on_side,
    "corner, butted": _on_side,
    "end to end": _end_to_end,
    "plate on an end": _on_end,
    "plate on a rail": _on_rail,
    "cap": _cap,
}


def seam_scene(seam: Seam, meeting: Meeting) -> tuple[Scene, tuple[tuple[Place, Place, str], ...]]:
    """One seam drawn large, with its dimensions: from, to, and which measure.

    Measures: gap, wall, land, leg, throat, radius.
    """
    table = welding()
    wall = min(thickness_of(meeting.section), meeting.thickness)
    if seam.leg is not None:
        leg, thick = seam.leg, 1.1 * seam.leg
        clip = box(-1.3 * thick, -1.3 * thick, 2.1 * leg, 2.1 * leg)
        lying, standing = box(-_FAR, -thick, _FAR, 0.0), box(-thick, 0.0, 0.0, _FAR)
        weld = Polygon([(0.0, 0.0), (leg, 0.0), (0.0, leg)])
        scene = Scene("", (lying.intersection(clip), standing.intersection(clip)), (weld,), (), clip)
        return scene, (((0.0, 1.55 * leg), (leg, 1.55 * leg), "leg"),)
    if seam.type.startswith("flare"):
        steel = meeting.onto if meeting.onto is not None else meeting.section
        radius, thick = corner_radius(steel), thickness_of(steel)
        reach = 2.6 * radius
        clip = box(-reach, -reach, 0.9 * radius, 1.2 * thick)
        over = box(-_FAR, 0.0, 0.0 if meeting.onto is not None else _FAR, _FAR)
        outer, inner = (
            box(-_FAR, -_FAR, -radius, -radius).buffer(grown, 24) for grown in (radius, max(radius - thick, 0.0))
        )
        corner = box(-radius, -radius, 0.0, 0.0).difference(outer)
        scene = Scene("", (over.intersection(clip), outer.difference(inner).intersection(clip)), (corner,), (), clip)
        return scene, (((-radius, -radius), (-radius + 0.707 * radius, -radius + 0.707 * radius), "radius"),)
    gap = sum(table.gap) / 2
    land = table.land if seam.bevel else wall
    open_up = (wall - land) * math.tan(math.radians(table.bevel))
    right = Polygon([(gap / 2, 0.0), (_FAR, 0.0), (_FAR, wall), (gap / 2 + open_up, wall), (gap / 2, land)])
    reach = 1.9 * wall + open_up
    clip = box(-reach, -0.9 * wall, reach, 1.7 * wall)
    pieces = (affinity.scale(right, -1.0, 1.0, origin=(0.0, 0.0)).intersection(clip), right.intersection(clip))
    top = gap / 2 + open_up
    bead = [(-top - 1.2, wall), (-0.5 * top, wall + 1.0), (0.5 * top, wall + 1.0), (top + 1.2, wall)]
    scene = Scene("", pieces, (), (), clip, (LineString(bead),))
    return scene, (((-gap / 2, -0.35 * wall), (gap / 2, -0.35 * wall), "gap"),)
