"""Staying flat: the cup to be expected, the wood's pull against what holds it, and which steel to take. All estimates.

Wood that shrinks about its pith by e_T along the rings and e_R square to them, free of stress, moves by u_r = e_R r and
u_t = (e_T - e_R) r t (t: the angle at the pith from straight above). A face at height h above the pith, s across from it,
therefore rises by

    e_R h - (e_T - e_R) s atan(s / h)

When the wood dries, e_T - e_R is negative and the edges rise away from the pith: a board cups away from the heart.
The difference of strain between the faces alone would miss it: over the pith that difference is nothing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE
from slabwright.geometry.faces import Floats
from slabwright.quantities import Units
from slabwright.reference.fasteners import Section, fasteners
from slabwright.reference.wood import Species
from slabwright.top.movement import SPECIES_SPREAD, Movement
from slabwright.top.rings import PICTURE_ERROR, RingPattern, holds_pith

ALLOWED = 1.0
"""Cup that is let pass on a table top, over its width [mm]. Common practice."""
PITH_DISTANCES = (0.5, 0.25, 1.0)
"""Where only the ring angle is known: distance of the pith from the middle, in widths: likely, nearest, furthest.

A slab as wide as its log allows lies a quarter of its width or so from the pith (a log 1.1 times as wide as the slab), one
from a log 2.2 times as wide a whole width. Geometry of a round log, estimate."""
FACE_DIFFERENCE = (1.0, 0.5, 2.0)
"""Moisture between a finished and a bare face while the seasons turn: likely, least, most [%]. Estimate, from memory."""
_POINTS = 41

_WHY = [
    "job:slab.species",
    "job:top.rings",
    "top.movement.moisture_made",
    "top.movement.moisture_dry",
    "top.movement.moisture_damp",
]
_SURE = "an estimate: the pith's place is guessed from the rings, creep and restraint make it less"
_DERIVED = "rings as circles about the pith, wood free of stress; common practice"


@dataclass(frozen=True)
class Holding:
    """One piece of steel across the grain and what it leaves of the cup. Estimates."""

    name: str = figure("", "the steel")
    kind: str = figure("", "plate, let-in channel or angle")
    second_moment: float = figure(
        "mm4", "second moment of area about its own middle", how="rectangles with sharp corners", source=COMMON_PRACTICE
    )
    section_modulus: float = figure(
        "mm³", "least section modulus", how="second moment / distance of the outermost fibre"
    )
    cup_left: float = figure(
        "mm",
        "cup that is left, at the worst likely cup and the stiffest likely wood",
        how="wood's stiffness / (wood's + steel's) where the steel reaches, the whole of it beyond its ends",
        rests_on=["top.staying_flat.cup_most", "top.staying_flat.wood_stiffness_most"],
        sure=_SURE,
        change="more pieces, a deeper section, or steel that reaches further across",
    )
    moment: float = figure("N mm", "that the wood bends it with", how="steel's stiffness x the curvature that is left")
    stress: float = figure("MPa", "in the steel, from that moment", how="moment / section modulus")
    bolt_pull: float = figure(
        "N",
        "pull on each outer bolt",
        how="moment / distance from the middle bolt to the outer one (0.4 of its length)",
    )
    holds: bool = figure("", "whether the cup that is left is let pass and the steel stays elastic")


@dataclass(frozen=True)
class StayingFlat:
    """Cup of a free top, and what holds it. Positive: the edges higher than the middle (the show face hollow)."""

    cup_dry: float = figure(
        "mm",
        "cup of a free top in the driest season: gap under a straightedge across; positive where the show face is hollow",
        how="edges move away from the pith by (tangential less radial) x half width x angle at the pith",
        rests_on=_WHY,
        sure="cup_least to cup_most either way",
        source=_DERIVED,
        change="quarter-sawn wood; make the top at the moisture of the room's middle",
    )
    cup_damp: float = figure(
        "mm",
        "cup of a free top in the dampest season",
        how="edges move towards the pith by (tangential less radial) x half width x angle at the pith",
        rests_on=_WHY,
        sure="cup_least to cup_most either way",
        source=_DERIVED,
        change="quarter-sawn wood; make the top at the moisture of the room's middle",
    )
    side_known: bool = figure("", "whether the pith's side is known, so that the cup's sign means something")
    cup_least: float = figure(
        "mm",
        "the greater of both is likely to be at least this, either way",
        rests_on=_WHY,
        sure=_SURE,
        rounds="down",
    )
    cup_most: float = figure(
        "mm",
        "the greater of both is likely to be at most this, either way",
        rests_on=_WHY,
        sure=_SURE,
        rounds="up",
    )
    cup_one_face: float = figure(
        "mm",
        "cup while one face is 1 % wetter than the other: one face finished, the other bare",
        how="coefficient x 1 % / thickness x width squared / 8",
        rests_on=["top.movement.coefficient", "job:piece.width", "board.thickness"],
        sure="0.5 to 2 % of difference are usual between unlike faces (estimate, from memory)",
        source="bending of a strip whose faces differ in strain, common practice",
        change="finish both faces alike, with as many coats",
    )
    pith_inside: bool = figure("", "whether the pith lies in the slab: it will check there", rests_on=["job:top.rings"])
    wood_stiffness: float = figure(
        "N mm2",
        "bending stiffness across the grain of the wood that one piece of steel holds",
        how="modulus across the grain x length per piece x thickness cubed / 12",
        rests_on=["job:slab.species", "board.thickness"],
        sure="half to twice",
        source=fasteners().across_source,
    )
    wood_stiffness_most: float = figure(
        "N mm2", "the same with the stiffest likely wood", rests_on=["top.staying_flat.wood_stiffness"]
    )
    pull: float = figure(
        "N mm",
        "moment that holds the worst likely cup flat, per piece of steel",
        how="stiffness of the wood x curvature of the cup (8 cup / width squared)",
        rests_on=["top.staying_flat.cup_most", "top.staying_flat.wood_stiffness_most"],
        sure="an upper estimate: wood gives way with time, to half or so (common practice)",
    )
    allowed: float = figure("mm", "cup that is let pass", how="the same for every top", source=COMMON_PRACTICE)
    stated: tuple[Holding, ...] = figure(
        "", "the plates that the job states, each as one piece across", rests_on=["job:top.features"]
    )
    choices: tuple[Holding, ...] = figure(
        "",
        "usual steel, lightest first, reaching over nine tenths of the width",
        source=fasteners().section_source,
    )
    take: str | None = figure(
        "",
        "which to take: nothing where the cup is let pass or what is stated holds it, else the lightest that holds",
        how="the first of choices that leaves at most what is let pass and stays elastic",
        rests_on=["top.staying_flat.choices", "top.staying_flat.stated"],
        source=COMMON_PRACTICE,
    )


def face_rise(pattern: RingPattern, strains: tuple[float, float], across: Floats, depth: float) -> Floats:
    """How far a line of the wood rises towards the show face when it moves about its pith, free of stress [mm].

    Args:
        pattern: circles about the pith; straight rings cup nothing
        strains: along and square to the rings
        across: y [mm]
        depth: of the line below the show face [mm]
    """
    y = np.asarray(across, dtype=float)
    if pattern.pith is None:
        return np.zeros_like(y)
    side, height = y - pattern.pith[0], pattern.pith[1] - depth
    angle = np.arctan2(np.abs(side), abs(height))
    return np.asarray(
        strains[1] * height - math.copysign(1.0, height) * (strains[0] - strains[1]) * np.abs(side) * angle, dtype=float
    )


def cup(pattern: RingPattern, strains: tuple[float, float], width: float, thickness: float) -> float:
    """Greatest departure of the mid-surface from the chord between its edges; positive: the edges higher [mm].

    A slab that holds its pith pulls both ways; its halves are averaged.
    """
    y = np.linspace(-width / 2.0, width / 2.0, _POINTS)
    if holds_pith(pattern, width, thickness):
        rise = (face_rise(pattern, strains, y, 0.0) + face_rise(pattern, strains, y, thickness)) / 2.0
    else:
        rise = face_rise(pattern, strains, y, thickness / 2.0)
    chord = rise[0] + (rise[-1] - rise[0]) * (y + width / 2.0) / width
    gap = chord - rise
    return float(gap[np.argmax(np.abs(gap))])


def _circles(pattern: RingPattern, width: float, thickness: float) -> list[RingPattern]:
    """Circles that look like the pattern: the likeliest first, then what else it may be."""
    if pattern.pith is not None:
        return [pattern]
    error = pattern.error if pattern.stated else PICTURE_ERROR
    middle = pattern.angle or 0.0
    found = []
    for share in PITH_DISTANCES:
        for angle in (middle, max(0.0, middle - error), min(90.0, middle + error)):
            turn = math.radians(angle)
            pith = (-share * width * math.sin(turn), thickness / 2.0 + share * width * math.cos(turn))
            found.append(RingPattern(None, pith, 0.0, pattern.stated))
    return found


def second_moment(section: Section) -> tuple[float, float]:
    """Second moment of area about its own horizontal axis [mm4], and least section modulus [mm3].

    A plate is a rectangle; an angle is two, one upright; a let-in channel lies with its web flat and its legs upright.

    Args:
        section: the steel, sharp-cornered
    """
    w, h, t = section.width, section.height, section.wall
    if t is None:
        parts = [(w, h, h / 2.0)]
    else:
        legs = 1 if section.kind == "angle" else 2
        parts = [(w, t, t / 2.0), (legs * t, h - t, (h + t) / 2.0)]
    area = sum(b * d for b, d, _ in parts)
    middle = sum(b * d * z for b, d, z in parts) / area
    inertia = sum(b * d**3 / 12.0 + b * d * (z - middle) ** 2 for b, d, z in parts)
    return inertia, inertia / max(middle, h - middle)


def _area(section: Section) -> float:
    if section.wall is None:
        return section.width * section.height
    legs = 1 if section.kind == "angle" else 2
    return section.width * section.wall + legs * section.wall * (section.height - section.wall)


def hold(section: Section, reach: float, width: float, worst: float, wood: float) -> Holding:
    """What one piece of steel leaves of a cup.

    The wood wants the curvature k = 8 cup / width^2. Steel that starts straight and is held to it, free to slide, bends
    with it; where it reaches the curvature that is left is k E_w I_w / (E_w I_w + E_s I_s), beyond its ends it is k.

    Args:
        section: the steel
        reach: of the steel across the grain, about the middle [mm]
        width: of the top [mm]
        worst: cup of the free top [mm]
        wood: bending stiffness of the wood that it holds [N mm2]
    """
    table = fasteners()
    inertia, modulus = second_moment(section)
    steel = table.steel_modulus * inertia
    free = 8.0 * abs(worst) / width**2
    left = free * wood / (wood + steel)
    inner, outer = min(reach, width) / 2.0, width / 2.0
    beyond = outer - inner
    cup_left = left * inner**2 / 2.0 + left * inner * beyond + free * beyond**2 / 2.0
    moment = steel * left
    stress = moment / modulus
    return Holding(
        name=section.name,
        kind=section.kind,
        second_moment=inertia,
        section_modulus=modulus,
        cup_left=cup_left,
        moment=moment,
        stress=stress,
        bolt_pull=moment / (0.4 * min(reach, width)),
        holds=cup_left <= ALLOWED and stress <= table.steel_yield / table.steel_safety,
    )


def staying_flat(
    length: float,
    wood: Species,
    about: Movement,
    pattern: RingPattern,
    stated: Sequence[tuple[Section, float]] = (),
    pieces: int | None = None,
    units: Units = "metric",
) -> StayingFlat:
    """Cup to be expected, and whether steel across the grain holds it.

    Args:
        length: of the top, along the grain [mm]
        wood: gives its stiffness; 12 000 MPa along the grain where the table has none
        about: the top's movement
        pattern: how the rings lie
        stated: steel that the job states, each with how far it reaches across [mm]
        pieces: of steel along the length; as many as are stated, or two, if left out
        units: whose usual sections are offered
    """
    table = fasteners()
    assert about.strains is not None
    width, thickness, strains = about.width, about.thickness, about.strains
    circles = _circles(pattern, width, thickness)
    dry, damp = ([cup(one, by, width, thickness) for one in circles] for by in (strains.dry, strains.damp))
    sizes = [max(abs(a), abs(b)) for a, b in zip(dry, damp, strict=True)]
    count = pieces or len(stated) or 2
    flat = math.cos(math.radians(about.ring_angle)) ** 2
    along = wood.modulus or 12000.0
    shares = [t * flat + r * (1.0 - flat) for t, r in zip(table.across_tangential, table.across_radial, strict=True)]
    per_piece = length / count * thickness**3 / 12.0 * along
    worst = max(sizes) * (1.0 + SPECIES_SPREAD)
    stiffest = per_piece * shares[2]
    held = tuple(hold(section, reach, width, worst, stiffest) for section, reach in stated)
    usual = sorted((section for section in table.sections if section.system == units), key=_area)
    choices = tuple(hold(section, 0.9 * width, width, worst, stiffest) for section in usual)
    enough = worst <= ALLOWED or (bool(held) and all(one.holds for one in held))
    return StayingFlat(
        cup_dry=dry[0],
        cup_damp=damp[0],
        side_known=pattern.pith is not None,
        cup_least=min(sizes) * (1.0 - SPECIES_SPREAD),
        cup_most=worst,
        cup_one_face=abs(about.coefficient) / thickness * width**2 / 8.0,
        pith_inside=holds_pith(pattern, width, thickness),
        wood_stiffness=per_piece * shares[0],
        wood_stiffness_most=stiffest,
        pull=stiffest * 8.0 * worst / width**2,
        allowed=ALLOWED,
        stated=held,
        choices=choices,
        take=None if enough else next((one.name for one in choices if one.holds), None),
    )
