"""One structure: the base, its plates, feet and bolts, and the slab as a grillage of strips along and across the grain.

A bolt is an elastic joint between plate and wood: against sliding by the standard's slip modulus (nothing along its slot),
against pull by the wood that is pressed round it, in series with the plate that reaches out to it.

References:
    .. [1] EN 1995-1-1, Table 7.1 and 7.1 (3), slip modulus (from memory)
    .. [2] E. C. Hambly, Bridge Deck Behaviour, grillage of a slab: each way half of the plate's twisting stiffness (from memory)
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from slabwright.base.frame import Assembled, Beam, Frame, Joint, along_loads, assemble
from slabwright.base.kinds import Bolt, Drawn, Plate
from slabwright.base.sections import Section
from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Floats
from slabwright.quantities import format_length
from slabwright.reference.fasteners import STANDARD_GRAVITY, fasteners
from slabwright.reference.steel import steel
from slabwright.reference.table_loads import table_loads

if TYPE_CHECKING:
    from shapely import Polygon

_TOGETHER = 15.0
"""Bolts as close as this share a line of the grillage [mm]."""
_SOFT = 1.0
"""A foot that slides is still drawn back by this much, so that the table does not wander off [N/mm]."""
_PRESSED_AT = 0.8
"""Where the pressure under a tilting plate acts, as a share of the way from the bolt to its edge: common practice."""
_HARD = 1e6
"""A foot without a leveller's thread [N/mm]."""


@dataclass(frozen=True)
class TopOn:
    """The top as the base sees it.

    Attributes:
        length: along the grain [mm]
        width: mean width [mm]
        thickness: thinnest likely, planned, thickest likely [mm]
        pocket: depth that the plates are let in [mm]
        density: [kg/m3]
        modulus: along the grain [MPa]
        gravity: ovendry mass over volume at 12 %
        outline: in the top's frame, x from its left end, y from its centre line; None: a rectangle
        known: whether the slab was read or made
        planned: whether its thickness is planned from readings, not measured on the board
    """

    length: float
    width: float
    thickness: tuple[float, float, float]
    pocket: float
    density: float
    modulus: float
    gravity: float
    outline: Polygon | None = None
    known: bool = True
    planned: bool = False

    @property
    def area(self) -> float:
        """In plan [mm2]."""
        return float(self.outline.area) if self.outline is not None else self.length * self.width

    @property
    def mass(self) -> float:
        """Pockets not taken off [kg]."""
        return self.area * self.thickness[1] * self.density * 1e-9


@dataclass(frozen=True)
class Structure:
    """A base with its top, ready for any load.

    Attributes:
        drawn: the base
        top: the top
        assembled: its stiffness
        beams: of the base, before those of the slab
        slab: nodes of the slab, shape (nx, ny)
        slab_x: of its lines, along [mm]
        slab_y: of its lines, across [mm]
        slab_share: of the top's area that each of its nodes stands for, shape (nx, ny)
        feet: node on the floor of each foot
        sections: of the base's members
        bolts: each bolt's joint number
        plate_share: of each bolt's give along its axis, what the plate's reach makes
        arms: of each bolt, free reach of the plate and width of it that bends [mm]
        plate_thickness: under each bolt [mm]
        levers: from each bolt to where its plate's edge presses on the wood as it tilts along the top [mm]; infinite: not
    """

    drawn: Drawn
    top: TopOn
    assembled: Assembled
    beams: int
    slab: np.ndarray[tuple[int, ...], np.dtype[np.intp]]
    slab_x: Floats
    slab_y: Floats
    slab_share: Floats
    feet: tuple[int, ...]
    sections: tuple[Section, ...]
    bolts: tuple[Bolt, ...]
    plate_share: tuple[float, ...]
    arms: tuple[tuple[float, float], ...]
    plate_thickness: tuple[float, ...]
    levers: tuple[float, ...]


def bolt_slip(bolt: Bolt, top: TopOn) -> float:
    """Stiffness of a bolt against sliding [N/mm], density^1.5 d / 23, doubled for steel on wood [1]_."""
    return table_loads().slip.value * math.pow(top.density, 1.5) * bolt.thread


def bolt_pull(bolt: Bolt, top: TopOn) -> tuple[float, float]:
    """Stiffness of the wood round a bolt against pull [N/mm] and against tilting [N mm].

    A disc of wood, `pressed` times the hole wide and as deep as the thread engages, pressed across the grain:
    k = E_across A / depth, and k d² / 16 about its diameter.
    """
    wide = table_loads().pressed.value * bolt.hole
    stiffness = _across(top) * math.pi * wide**2 / 4.0 / bolt.engagement
    return stiffness, stiffness * wide**2 / 16.0


def _across(top: TopOn) -> float:
    """Modulus across the grain, the lower of the two directions [MPa]."""
    return fasteners().across_tangential[0] * top.modulus


def _lines(span: float, wanted: list[float], most: float) -> Floats:
    """Lines of the grillage: both edges, the bolts, and others between them wherever a gap is wide."""
    lines = [-span / 2.0, span / 2.0]
    groups: list[list[float]] = []
    for value in sorted(wanted):
        if groups and value - groups[-1][0] <= _TOGETHER:
            groups[-1].append(value)
        else:
            groups.append([value])
    middles = [math.fsum(group) / len(group) for group in groups]
    lines += [middle for middle in middles if abs(middle) < span / 2.0 - _TOGETHER]
    if not any(abs(line) < span / 8.0 for line in lines):
        lines.append(0.0)
    lines.sort()
    found = [lines[0]]
    for first, last in pairwise(lines):
        found += np.linspace(first, last, math.ceil((last - first) / most - 1e-9) + 1).tolist()[1:]
    return np.array(found)


def _tributary(lines: Floats) -> Floats:
    gaps = np.diff(lines) / 2.0
    found: Floats = np.pad(gaps, (1, 0)) + np.pad(gaps, (0, 1))
    return found


def build(drawn: Drawn, top: TopOn) -> Structure:
    """Put base, bolts and top into one frame.

    Args:
        drawn: the base
        top: the top

    Raises:
        SlabwrightError: a free frame holds the top beside it.
    """
    _held_on_the_top(drawn, top)
    names = list(drawn.nodes)
    number = {name: place for place, name in enumerate(names)}
    places = [drawn.nodes[name] for name in names]
    known = steel()
    beams = [
        Beam(
            name=member.name,
            part=member.part,
            first=number[member.first],
            last=number[member.last],
            area=member.section.area,
            second_y=member.section.second_moment_y,
            second_z=member.section.second_moment_z,
            torsion=member.section.torsion_constant,
            shear_y=member.section.shear_area_y,
            shear_z=member.section.shear_area_z,
            modulus=known.modulus,
            shear_modulus=known.shear_modulus,
            up=member.up,
            pinned=member.pinned,
        )
        for member in drawn.members
    ]
    bolts = drawn.bolts
    x = _lines(top.length, [bolt.x for bolt in bolts], top.length / 8.0)
    y = _lines(top.width, [bolt.y for bolt in bolts], top.width / 3.0)
    slab = (np.arange(x.size * y.size, dtype=np.intp) + len(places)).reshape(x.size, y.size)
    middle = drawn.underside - top.pocket + top.thickness[1] / 2.0
    places += [(float(at_x), float(at_y), middle) for at_x in x for at_y in y]
    beams += _slab_beams(slab, x, y, top)
    feet = []
    joints: list[Joint] = []
    ground_at = []
    for name, above, (foot_x, foot_y) in drawn.feet:
        floor = drawn.nodes[above][2] if drawn.kind == "free frame" else 0.0
        feet.append(len(places))
        ground_at.append(len(places))
        places.append((foot_x, foot_y, floor))
        joints.append(
            Joint(f"{name} foot", "feet", feet[-1], number[above], (foot_x, foot_y, floor), _foot_stiffness(drawn))
        )
    shares, arms, thick, levers = [], [], [], []
    for bolt, node, plate, beneath in _bolted(drawn):
        pull, tilt = bolt_pull(bolt, top)
        reach, wide = _reach(bolt, plate, beneath)
        give = 1.0 / pull
        if plate is not None and reach > 0.0:
            give += reach**3 / (3.0 * known.modulus * wide * plate.thickness**3 / 12.0)
        slip = bolt_slip(bolt, top)
        lever, edge_give = _prying(bolt, plate, beneath, pull)
        near = slab[int(np.argmin(np.abs(x - bolt.x))), int(np.argmin(np.abs(y - bolt.y)))]
        level = drawn.underside if plate is not None else drawn.nodes[node][2]
        joints.append(
            Joint(
                bolt.name,
                "bolts",
                number[node],
                int(near),
                (bolt.x, bolt.y, level),
                (slip, 0.0 if bolt.slides else slip, 1.0 / give, tilt, max(tilt, lever**2 / edge_give), 0.0),
            )
        )
        levers.append(lever if lever**2 / edge_give > tilt else math.inf)
        shares.append(1.0 - 1.0 / (pull * give))
        arms.append((reach, wide))
        thick.append(plate.thickness if plate is not None else 0.0)
    nodes = np.array(places, dtype=float)
    ground = np.zeros((len(places), 6))
    ground[ground_at, :2] = _SOFT
    area = np.outer(_tributary(x), _tributary(y))
    return Structure(
        drawn=drawn,
        top=top,
        assembled=assemble(Frame(nodes, tuple(beams), tuple(joints), ground)),
        beams=len(drawn.members),
        slab=slab,
        slab_x=x,
        slab_y=y,
        slab_share=area / area.sum(),
        feet=tuple(feet),
        sections=tuple(member.section for member in drawn.members),
        bolts=bolts,
        plate_share=tuple(shares),
        arms=tuple(arms),
        plate_thickness=tuple(thick),
        levers=tuple(levers),
    )


def _held_on_the_top(drawn: Drawn, top: TopOn) -> None:
    """Whether the nodes of a free frame that hold the top lie under it; plates are held to that by their sizes."""
    for bolt, _ in drawn.bolted:
        off = max(abs(bolt.x) - top.length / 2.0, abs(bolt.y) - 1.1 * top.width / 2.0)
        if off > 0.0:
            raise SlabwrightError(
                f"base.nodes: {bolt.name!r} holds the top but lies {format_length(off, drawn.units)} beyond its edge; places"
                " are counted from the middle of the top"
            )


def _bolted(drawn: Drawn) -> list[tuple[Bolt, str, Plate | None, float]]:
    found: list[tuple[Bolt, str, Plate | None, float]] = [
        (bolt, node, plate, beneath)
        for plate in drawn.plates
        for bolt, node, beneath in zip(plate.bolts, plate.spine, plate.beneath, strict=True)
    ]
    return found + [(bolt, node, None, 0.0) for bolt, node in drawn.bolted]


def _reach(bolt: Bolt, plate: Plate | None, beneath: float) -> tuple[float, float]:
    """How far the plate reaches from the steel that it is welded to out to a bolt, and the width of it that bends."""
    if plate is None or beneath <= 0.0:
        return 0.0, 0.0
    reach = max(abs(bolt.x - plate.x) - beneath, 0.0)
    beside = [abs(other.y - bolt.y) for other in plate.bolts if abs(other.x - bolt.x) < 1.0 and other is not bolt]
    return reach, min(2.0 * reach + 3.0 * bolt.hole, min(beside, default=plate.length), plate.length)


def _prying(bolt: Bolt, plate: Plate | None, beneath: float, pull: float) -> tuple[float, float]:
    """How a plate tilts about its long edge and draws one row of bolts: the lever, and the give at its end [mm, mm/N].

    The edge presses on the wood near the plate's rim and the bolt is drawn, so that k = lever² / give; the plate bends from
    the steel that it is welded to out to the edge.
    """
    if plate is None:
        return 0.0, 1.0 / pull
    edge = max(plate.width / 2.0 - abs(bolt.x - plate.x), 0.0)
    reach = max(plate.width / 2.0 - beneath, 0.0) if beneath > 0.0 else 0.0
    bends = reach**3 / (3.0 * steel().modulus * (2.0 * reach + 3.0 * bolt.hole) * plate.thickness**3 / 12.0)
    return _PRESSED_AT * edge, 1.0 / pull + bends


def _foot_stiffness(drawn: Drawn) -> tuple[float, float, float, float, float, float]:
    """A leveller's thread between floor and steel, pinned on the floor; else hard."""
    if drawn.stud is None or drawn.foot_length <= 0.0:
        return (_HARD, _HARD, _HARD, 0.0, 0.0, 0.0)
    modulus, core = steel().modulus, 0.85 * drawn.stud  # the thread's core: about 0.85 of its diameter
    side = min(3.0 * modulus * math.pi * core**4 / 64.0 / drawn.foot_length**3, _HARD)
    upright = min(modulus * math.pi * core**2 / 4.0 / drawn.foot_length, _HARD)
    return (side, side, upright, 0.0, 0.0, 0.0)


def _slab_beams(slab: np.ndarray[tuple[int, ...], np.dtype[np.intp]], x: Floats, y: Floats, top: TopOn) -> list[Beam]:
    """Strips along and across the grain [2]_."""
    thick = top.thickness[1]
    shear = table_loads().shear_share.value * top.modulus
    found = []

    def strip(first: int, last: int, wide: float, modulus: float) -> Beam:
        return Beam(
            name="top",
            part="slab",
            first=first,
            last=last,
            area=wide * thick,
            second_y=wide * thick**3 / 12.0,
            second_z=thick * wide**3 / 12.0,
            torsion=wide * thick**3 / 6.0,
            shear_y=wide * thick * 5.0 / 6.0,
            shear_z=wide * thick * 5.0 / 6.0,
            modulus=modulus,
            shear_modulus=shear,
        )

    for column, wide in enumerate(_tributary(y).tolist()):
        found += [strip(int(a), int(b), wide, top.modulus) for a, b in pairwise(slab[:, column])]
    for row, wide in enumerate(_tributary(x).tolist()):
        found += [strip(int(a), int(b), wide, _across(top)) for a, b in pairwise(slab[row])]
    return found


def weights(structure: Structure, tubes: bool = True) -> Floats:
    """Mass of every node, shape (n,): half of each member, plates under their bolts, the top by its area [kg]."""
    frame = structure.assembled.frame
    mass = np.zeros(len(frame.nodes))
    for number, member in enumerate(structure.drawn.members):
        if tubes and member.part == "frame":
            beam = frame.beams[number]
            half = member.section.mass_per_metre * float(structure.assembled.lengths[number]) / 2000.0
            mass[[beam.first, beam.last]] += half
    names = {name: number for number, name in enumerate(structure.drawn.nodes)}
    for plate in structure.drawn.plates:
        for node in plate.spine:
            mass[names[node]] += plate.mass / len(plate.spine)
    mass[structure.slab.ravel()] += structure.slab_share.ravel() * structure.top.mass
    return mass


def own_weight(structure: Structure) -> tuple[Floats, Floats, Floats]:
    """Weight of everything: the tubes' own along their length, the rest at its nodes.

    Returns:
        Forces on the nodes, shape (6 n,) [N]; what the members' end forces are short of, shape (m, 12); and the load along
        each member in its own y and z, shape (m, 2) [N/mm].
    """
    along = np.zeros((len(structure.assembled.frame.beams), 3))
    for number, member in enumerate(structure.drawn.members):
        if member.part == "frame":
            along[number, 2] = -member.section.mass_per_metre * STANDARD_GRAVITY / 1000.0
    forces, ends = along_loads(structure.assembled, along)
    forces[2::6] -= weights(structure, tubes=False) * STANDARD_GRAVITY
    return forces, ends, np.einsum("mij,mj->mi", structure.assembled.turns[:, 1:3, :3], along)
