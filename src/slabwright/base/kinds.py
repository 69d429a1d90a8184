"""Kinds of base: from a picture, a tube and five sizes to nodes, members, plates, bolts, feet and the parts to cut.

Frame: x along the grain from the middle of the top, y across from its centre line, z up from the floor [mm]. Members lie on the
middle lines of their tubes. A rail's depth stands upright, an upright's lies across.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from slabwright.base.base_sizes import Sizes, default_tube, keyed_section, tubes_to_cut
from slabwright.base.cut_list_results import Part
from slabwright.base.free_frame import free_frame
from slabwright.base.sections import Section, section
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base, BaseKind
from slabwright.quantities import Units, format_length

Place = tuple[float, float, float]
_UPRIGHT = (0.0, 0.0, 1.0)
_ACROSS = (0.0, 1.0, 0.0)
_ALONG = (1.0, 0.0, 0.0)
_SAME = 1.0
_PLATE_EDGE = 15.0
"""From a plate's long edge to its bolts where nothing else is stated [mm]: common practice."""
_PLATE_END = 30.0
"""From a plate's end to its bolts where nothing else is stated [mm]: common practice."""


@dataclass(frozen=True)
class Bolt:
    """A bolt that holds the top [mm].

    Attributes:
        name: as messages call it
        x: along, from the middle of the top
        y: across, from the centre line
        slides: whether its slot lets the wood move across the grain
        thread: diameter
        hole: diameter of the insert's hole in the wood
        engagement: of its thread
    """

    name: str
    x: float
    y: float
    slides: bool
    thread: float = 8.0
    hole: float = 13.0
    engagement: float = 20.0


@dataclass(frozen=True)
class Member:
    """A straight piece of the structure between two nodes; `part` is frame or plates."""

    name: str
    first: str
    last: str
    section: Section
    up: Place = _UPRIGHT
    part: str = "frame"
    pinned: tuple[bool, bool] = (False, False)


@dataclass(frozen=True)
class Plate:
    """A plate across a leg frame [mm].

    Attributes:
        name: as it is called
        x: of its middle, along
        width: along
        length: across
        thickness: of the steel
        bolts: that go through it
        spine: node under each of the bolts, in the same order
        beneath: half width of the steel that it is welded to, under each of the bolts; 0: none is there
    """

    name: str
    x: float
    width: float
    length: float
    thickness: float
    bolts: tuple[Bolt, ...]
    spine: tuple[str, ...]
    beneath: tuple[float, ...]

    @property
    def mass(self) -> float:
        """Holes not taken off [kg]."""
        return self.width * self.length * self.thickness * 7.85e-6


@dataclass(frozen=True)
class Drawn:
    """A base as drawn.

    Attributes:
        kind: which picture, or free frame
        nodes: place of each node by its name
        members: between them
        plates: that hold the top; none in a free frame
        bolted: bolts that hold the top straight at a node: (bolt, node)
        feet: where it stands: (name, node above, place on the floor)
        underside: height of the top's pocket floors, which the plates or the bolted nodes bear on
        parts: to cut, plates not among them
        foot_length: floor to steel
        stud: diameter of a leveller's thread; None: it stands on glides or bare
        units: of the job, that its flats are called in
    """

    kind: str
    nodes: dict[str, Place]
    members: tuple[Member, ...]
    plates: tuple[Plate, ...]
    bolted: tuple[tuple[Bolt, str], ...]
    feet: tuple[tuple[str, str, tuple[float, float]], ...]
    underside: float
    parts: tuple[Part, ...]
    foot_length: float
    stud: float | None
    units: Units = "metric"

    @property
    def bolts(self) -> tuple[Bolt, ...]:
        """Every bolt."""
        return tuple(bolt for plate in self.plates for bolt in plate.bolts) + tuple(bolt for bolt, _ in self.bolted)


def plate_bolts(base: Base, sizes: Sizes) -> tuple[Bolt, ...]:
    """Bolts in rows on both plates, where the top's layout has none yet; the middle ones hold, the others slide."""
    plate = base.plate
    spacing = plate.bolt_spacing if plate.bolt_spacing is not None else max(sizes.plate_width - 2 * _PLATE_EDGE, 0.0)
    reach = plate.bolt_reach if plate.bolt_reach is not None else max(sizes.plate_length - 2 * _PLATE_END, 0.0)
    rows = np.linspace(-spacing / 2, spacing / 2, plate.bolt_rows).tolist() if plate.bolt_rows > 1 else [0.0]
    places = np.linspace(-reach / 2, reach / 2, plate.bolts_in_row).tolist() if plate.bolts_in_row > 1 else [0.0]
    middle = min(places, key=lambda y: (round(abs(y), 6), y))
    found = []
    for end, x in (("left", -sizes.spread / 2), ("right", sizes.spread / 2)):
        for row, dx in enumerate(rows):
            for number, y in enumerate(places):
                name = f"{end} plate, row {row + 1}, bolt {number + 1}"
                found.append(Bolt(name, x + dx, y, slides=y != middle))
    return tuple(found)


def draw(kind: BaseKind, sizes: Sizes, bolts: Sequence[Bolt], units: Units) -> Drawn:
    """Draw a base.

    Args:
        kind: the picture
        sizes: from `sizes_of`
        bolts: that hold the top
        units: of the job

    Raises:
        SlabwrightError: a bolt misses its plate.
    """
    drawing = _Drawing(sizes)
    for end, x in (("left", -sizes.spread / 2), ("right", sizes.spread / 2)):
        nearer = [bolt for bolt in bolts if abs(bolt.x - x) <= abs(bolt.x + x)]
        if not nearer:
            raise SlabwrightError(f"base.plate: no bolt holds the top at the {end} leg frame")
        _leg_frame(drawing, kind, end, x, nearer, units)
    _between(drawing, kind)
    return Drawn(
        kind=kind,
        nodes=drawing.nodes,
        members=tuple(drawing.members),
        plates=tuple(drawing.plates),
        bolted=(),
        feet=tuple(drawing.feet),
        underside=sizes.foot + sizes.leg + sizes.plate_thickness,
        parts=tuple(tubes_to_cut(kind, sizes)),
        foot_length=sizes.foot,
        stud=sizes.stud,
        units=units,
    )


@dataclass
class _Drawing:
    sizes: Sizes
    nodes: dict[str, Place] = field(default_factory=dict)
    members: list[Member] = field(default_factory=list)
    plates: list[Plate] = field(default_factory=list)
    feet: list[tuple[str, str, tuple[float, float]]] = field(default_factory=list)

    def run(self, name: str, x: float, z: float, stops: dict[str, float], steel: Section, part: str = "frame") -> None:
        """A level run across the top through named stops, nearest first; stops that lie together become one node."""
        names = sorted(stops, key=lambda stop: stops[stop])
        for stop in names:
            self.nodes.setdefault(stop, (x, stops[stop], z))
        for first, last in pairwise(names):
            self.members.append(Member(name, first, last, steel, _UPRIGHT, part))


def _leg_frame(drawing: _Drawing, kind: BaseKind, end: str, x: float, bolts: Sequence[Bolt], units: Units) -> None:
    """Uprights, rails, plate and feet at one end."""
    sizes = drawing.sizes
    bottom, top = sizes.foot, sizes.foot + sizes.leg
    # A leaning leg is cut level: its footprint is longer than the tube is deep.
    half = sizes.tube.depth / 2 / math.cos(sizes.lean() if kind == "trestles" else 0.0)
    out = sizes.across / 2 - half
    out_top = sizes.top_across / 2 - half if kind == "trestles" else out
    sides = {"near": -1.0, "far": 1.0}
    railed_top = kind != "U legs"
    spine_height = top - sizes.rail.depth / 2 if railed_top else top + sizes.plate_thickness / 2
    flat = section(f"flat {sizes.plate_width:.6g} mm x {sizes.plate_thickness:.6g} mm", "metric")
    spine = {f"{end} {side} upright, top": sign * out_top for side, sign in sides.items()}
    nodes = []
    for bolt in bolts:
        if abs(bolt.x - x) > sizes.plate_width / 2 or abs(bolt.y) > sizes.plate_length / 2:
            raise SlabwrightError(
                f"base.plate: {bolt.name} lies {format_length(abs(bolt.x - x), units)} along and"
                f" {format_length(abs(bolt.y), units)} across from the middle of its plate, which is"
                f" {format_length(sizes.plate_width, units)} by {format_length(sizes.plate_length, units)}: it misses it"
            )
        near = next((name for name, y in spine.items() if abs(y - bolt.y) < _SAME), None)
        if near is None:
            near = f"{end} plate, {len(spine)}"
            spine[near] = bolt.y
        nodes.append(near)
    names = sorted(spine, key=lambda name: spine[name])
    for name in names:
        drawing.nodes[name] = (x, spine[name], spine_height)
    reach = sizes.top_across / 2 if kind == "trestles" else out_top + sizes.tube.depth / 2
    for first, last in pairwise(names):
        railed = railed_top and max(abs(spine[first]), abs(spine[last])) <= reach + _SAME
        drawing.members.append(
            Member(
                f"{end} top rail" if railed else f"{end} plate",
                first,
                last,
                sizes.rail if railed else flat,
                _UPRIGHT if railed else _ALONG,
                "frame" if railed else "plates",
            )
        )
    half = sizes.rail.width / 2 if railed_top else sizes.tube.width / 2

    def beneath(y: float) -> float:
        welded = abs(y) <= reach if railed_top else abs(abs(y) - out) <= sizes.tube.depth / 2
        return half if welded else 0.0

    drawing.plates.append(
        Plate(
            f"{end} plate",
            x,
            sizes.plate_width,
            sizes.plate_length,
            sizes.plate_thickness,
            tuple(bolts),
            tuple(nodes),
            tuple(beneath(bolt.y) for bolt in bolts),
        )
    )
    _below(drawing, kind, end, x, out, out_top, bottom, top)


def _below(
    drawing: _Drawing, kind: BaseKind, end: str, x: float, out: float, out_top: float, bottom: float, top: float
) -> None:
    """Uprights, the rail below them, and feet."""
    sizes = drawing.sizes
    railed_bottom = kind in ("U legs", "closed loops")
    low = bottom + sizes.rail.depth / 2 if railed_bottom else bottom
    feet_at = out if sizes.inset is None or not railed_bottom else max(sizes.across / 2 - sizes.inset, 0.0)
    stretched = kind == "trestles" or sizes.stretcher is not None
    for side, sign in (("near", -1.0), ("far", 1.0)):
        name = f"{end} {side}"
        drawing.nodes[f"{name} upright, bottom"] = (x, sign * out, low)
        way = [f"{name} upright, bottom", f"{name} upright, top"]
        if stretched:
            upper = drawing.nodes[way[1]][2]
            share = (sizes.rail_height - low) / (upper - low)
            drawing.nodes[f"{name} upright, rail"] = (x, sign * (out + share * (out_top - out)), sizes.rail_height)
            way.insert(1, f"{name} upright, rail")
        for first, last in pairwise(way):
            drawing.members.append(Member(f"{name} upright", first, last, sizes.tube, _ACROSS))
    if railed_bottom:
        stops = {f"{end} {side} upright, bottom": sign * out for side, sign in (("near", -1.0), ("far", 1.0))}
        if abs(feet_at - out) > _SAME:
            stops |= {f"{end} {side} foot": sign * feet_at for side, sign in (("near", -1.0), ("far", 1.0))}
        drawing.run(f"{end} bottom rail", x, low, stops, sizes.rail)
    if kind == "trestles":
        stops = {
            f"{end} {side} upright, rail": drawing.nodes[f"{end} {side} upright, rail"][1] for side in ("near", "far")
        }
        drawing.run(f"{end} middle rail", x, sizes.rail_height, stops | {f"{end} stretcher": 0.0}, sizes.rail)
    for side, sign in (("near", -1.0), ("far", 1.0)):
        inset = f"{end} {side} foot"
        above = inset if inset in drawing.nodes else f"{end} {side} upright, bottom"
        drawing.feet.append((f"{end} {side}", above, (x, sign * (feet_at if above == inset else out))))


def _between(drawing: _Drawing, kind: BaseKind) -> None:
    """What joins the two leg frames."""
    sizes = drawing.sizes
    if kind == "four legs":
        for side in ("near", "far"):
            drawing.members.append(
                Member(f"{side} rail", f"left {side} upright, top", f"right {side} upright, top", sizes.rail)
            )
    if kind == "trestles":
        steel = sizes.stretcher or sizes.rail
        drawing.members.append(Member("stretcher", "left stretcher", "right stretcher", steel))
    elif sizes.stretcher is not None:
        for side in ("near", "far"):
            drawing.members.append(
                Member(
                    f"{side} stretcher", f"left {side} upright, rail", f"right {side} upright, rail", sizes.stretcher
                )
            )


def draw_free(base: Base, units: Units) -> Drawn:
    """A free frame as it is stated.

    Raises:
        SlabwrightError: its members do not meet, or hold no top.
    """
    free_frame(base, units)
    tube = keyed_section("base.tube", base.tube or default_tube(units), units)
    nodes = {node.name: node.at for node in base.nodes}
    members, parts = [], []
    for number, member in enumerate(base.members):
        key = f"base.members[{number}].section"
        steel = keyed_section(key, member.section, units) if member.section else tube
        name = member.name or f"{member.first} to {member.last}"
        along = np.subtract(nodes[member.last], nodes[member.first])
        standing = bool(abs(along[2]) > 0.9 * np.linalg.norm(along))
        up = (_UPRIGHT, _ACROSS)[standing] if not member.turned else (_ACROSS, _ALONG)[standing]
        pinned = (member.pinned in ("first", "both"), member.pinned in ("last", "both"))
        members.append(Member(name, member.first, member.last, steel, up, pinned=pinned))
        parts.append(Part(name if member.name else f"member {number + 1}", steel, float(np.linalg.norm(along))))
    holding = [node for node in base.nodes if node.bolt]
    return Drawn(
        kind="free frame",
        nodes=nodes,
        members=tuple(members),
        plates=(),
        bolted=tuple((Bolt(node.name, node.at[0], node.at[1], node.slides), node.name) for node in holding),
        feet=tuple((node.name, node.name, (node.at[0], node.at[1])) for node in base.nodes if node.stands),
        underside=max((node.at[2] for node in holding), default=0.0),
        parts=tuple(parts),
        foot_length=base.feet.stands(),
        stud=None,
        units=units,
    )
