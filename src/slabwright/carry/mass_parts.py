"""What the states of a piece are made of: wood, fill and steel, each with its centre."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely import Polygon, affinity
from shapely.geometry.base import BaseGeometry

from slabwright.base.basing import BasePlan
from slabwright.base.kinds import Drawn
from slabwright.carry.mass_solids import Body, prism, sloping_prism
from slabwright.job.loaded import Job
from slabwright.job.top_models import Bar, Edge, Insert
from slabwright.reference.weights import weights
from slabwright.slab.results import SlabPlan
from slabwright.top.feature_shapes import Edges
from slabwright.top.layout_results import TopFeature
from slabwright.top.placement_results import Placement
from slabwright.top.results import TopPlan
from slabwright.top.topping import outline_of

_ROUND = 1.0 - math.pi / 4.0


@dataclass(frozen=True)
class Stuff:
    """What a state is made of: volumes of wood and fill [mm3], masses of steel [kg].

    Attributes:
        wood: what is wood, less what is cut away
        fill: epoxy
        steel: tubes, plates, inserts, bolts
    """

    wood: tuple[Body, ...] = ()
    fill: tuple[Body, ...] = ()
    steel: tuple[Body, ...] = ()


Frame = Callable[[BaseGeometry], BaseGeometry]
"""Turns a shape of the readings' frame into the one that centres are told in."""


def frame_of(slab: SlabPlan, placed: Placement | None) -> Frame:
    """The finished top's frame: from its middle, from its centre line, show face up; before it is placed, the slab's middle."""
    if placed is not None:
        x, y, turn, up = placed.x, placed.y, placed.turn, placed.face_up == "A"
    else:
        west, south, east, north = shapely.union(slab.survey.outline_a, slab.survey.outline_b).bounds
        x, y, turn, up = (west + east) / 2.0, (south + north) / 2.0, 0.0, slab.show_face == "A"

    def turned(shape: BaseGeometry) -> BaseGeometry:
        level = affinity.rotate(affinity.translate(shape, -x, -y), -turn, origin=(0.0, 0.0))
        return level if up else affinity.scale(level, 1.0, -1.0, origin=(0.0, 0.0))

    return turned


def underside_outline(slab: SlabPlan, placed: Placement) -> Polygon:
    """The finished top's underside in the top's frame, seen through it from above [mm]."""
    survey = slab.survey
    turned = dataclasses.replace(survey, outline_a=survey.outline_b, outline_b=survey.outline_a)
    return outline_of(turned, placed, placed.face_up)


def cut_away(features: Sequence[TopFeature], outline: BaseGeometry, thickness: float) -> tuple[Body, ...]:
    """Volumes that pockets, holes and channels take out of a top; what two of them share is taken once.

    The top is looked at in layers between the depths at which anything begins or ends; in each the union of what is cut there.

    Args:
        features: placed, in the top's frame
        outline: of the top [mm]
        thickness: of the top [mm]

    Returns:
        Volumes, all negative, z from the underside [mm3, mm].
    """
    solids = [
        (
            max(solid.upper, 0.0),
            min(solid.lower, thickness),
            solid.core.buffer(solid.radius, quad_segs=64) if solid.radius else solid.core,
        )
        for feature in features
        for solid in feature.solids
    ]
    depths = sorted({depth for upper, lower, _ in solids for depth in (upper, lower)})
    found = []
    for upper, lower in pairwise(depths):
        shapes = [shape for first, last, shape in solids if first <= upper and last >= lower]
        if shapes:
            hole = shapely.intersection(shapely.union_all(shapes), outline)
            found.append(prism(hole, thickness - lower, thickness - upper, -1.0))
    return tuple(found)


def eased(stated: Sequence[Edge], outline: Polygon, thickness: float) -> tuple[Body, ...]:
    """Volumes that chamfers and rounds take off, all negative: their section x the length of the edge [mm3]."""
    lines = Edges(outline).lines()
    found = []
    for edge in stated:
        section = edge.size**2 * (0.5 if edge.kind == "chamfer" else _ROUND)
        z = thickness - edge.size / 3.0 if edge.face == "show" else edge.size / 3.0
        for name in edge.edges:
            line = lines[name]
            if line.length > 0.0:
                found.append(Body(-section * line.length, line.centroid.x, line.centroid.y, z))
    return tuple(found)


def let_in(job: Job, top: TopPlan, thickness: float) -> tuple[Body, ...]:
    """Steel that stays in the top: threaded inserts and let-in bars [kg]."""
    density = weights().steel_density.value * 1e-9
    placed = {feature.name: feature for feature in top.features}
    found = []
    for stated in job.stated.top.features if job.stated.top else ():
        at = placed.get(stated.name)
        if at is None or at.along is None or at.across is None:
            continue
        middle = thickness - (at.upper + at.lower) / 2.0
        if isinstance(stated, Insert):
            long = min(stated.outer_length or stated.depth, stated.depth)
            section = math.pi / 4.0 * max(stated.drill**2 - stated.thread**2, 0.0)
            found.append(Body(section * long * density, at.along, at.across, middle))
        elif isinstance(stated, Bar):
            found.append(Body(_bar_section(stated) * stated.length * density, at.along, at.across, middle))
    return tuple(found)


def _bar_section(bar: Bar) -> float:
    """Of the steel [mm2]."""
    if bar.section == "plate" or bar.wall is None:
        return bar.width * bar.height
    sides = 2 if bar.section == "let-in channel" else 1
    return bar.wall * (bar.width + sides * (bar.height - bar.wall))


def _keys(top: TopPlan) -> tuple[Body, ...]:
    """Wood that keys put back into their pockets [mm3]."""
    thickness = top.layout.thickness
    return tuple(
        prism(feature.shape(), thickness - feature.lower, thickness - feature.upper)
        for feature in top.features
        if feature.kind == "key"
    )


def patch_fill(slab: SlabPlan, frame: Frame, outline: BaseGeometry | None, thickness: float) -> tuple[Body, ...]:
    """Volumes of the filled dips of the show face; of a top's the part inside its outline.

    Args:
        slab: with its patches, placed in the frame of the lie, which differs from the readings' by less than its slope
        frame: that the readings' frame is turned into
        outline: of the top, its middle at x = 0; None: the whole fill
        thickness: of the board [mm]
    """
    found = []
    # Wood that is let in weighs what was there.
    for patch in slab.patches if slab.filled_with == "epoxy" else ():
        shape = frame(patch.outline)
        share = 1.0
        if outline is not None and shape.area > 0.0:
            kept = shapely.intersection(shape, outline)
            share, shape = kept.area / shape.area, kept
        if share > 0.0 and not shape.is_empty:
            deep = min(patch.volume / patch.area, thickness) if patch.area > 0.0 else patch.depth
            found.append(Body(share * patch.volume, shape.centroid.x, shape.centroid.y, thickness - deep / 2.0))
    return tuple(found)


def top_stuff(job: Job, slab: SlabPlan, top: TopPlan, thickness: float, fills: Sequence[Body] = ()) -> Stuff:
    """What the machined top is made of; x from its middle, z from its underside.

    Args:
        job: as stated
        slab: with its outlines and patches
        top: with its features
        thickness: of the board [mm]
        fills: other fill, volumes in the top's frame, z from its underside [mm3, mm]
    """
    middle = -top.length / 2.0
    edges = [feature for feature in (job.stated.top.features if job.stated.top else ()) if isinstance(feature, Edge)]
    below = underside_outline(slab, top.placement)
    board = sloping_prism(top.outline, below, 0.0, thickness)
    inside = affinity.translate(top.outline, middle, 0.0)
    fill = (*patch_fill(slab, frame_of(slab, top.placement), inside, thickness), *fills)
    wood = [
        board,
        *cut_away(top.features, shapely.union(top.outline, below), thickness),
        *eased(edges, top.outline, thickness),
        *_keys(top),
    ]
    return Stuff(
        wood=(*(body.moved(dx=middle) for body in wood), *(body.times(-1.0) for body in fill)),
        fill=fill,
        steel=tuple(body.moved(dx=middle) for body in let_in(job, top, thickness)),
    )


def blank_stuff(slab: SlabPlan, placed: Placement | None, thickness: float) -> Stuff:
    """The flat blank, not yet cut to length: the mean of both outlines x thickness, dips filled."""
    survey, frame = slab.survey, frame_of(slab, placed)
    faces = (survey.outline_a, survey.outline_b)
    show, under = (frame(each) for each in (faces if slab.show_face == "A" else faces[::-1]))
    fill = patch_fill(slab, frame, None, thickness)
    board = sloping_prism(show, under, 0.0, thickness)
    return Stuff(wood=(board, *(body.times(-1.0) for body in fill)), fill=fill)


def base_steel(base: BasePlan) -> list[tuple[str, tuple[Body, ...], list[tuple[float, float, float]]]]:
    """Steel of the base, welded part by welded part: its name, bodies [kg] and the corners of its box [mm].

    Tubes lie on their middle lines, scaled to the mass of their cut lengths; plates and levellers are added.
    """
    drawn = base.drawn
    tubes = [member for member in drawn.members if member.part == "frame"]
    lines = {id(member): math.dist(drawn.nodes[member.first], drawn.nodes[member.last]) for member in tubes}
    plain = math.fsum(member.section.mass_per_metre * lines[id(member)] / 1000.0 for member in tubes)
    scale = base.tube_mass / plain if plain > 0.0 else 1.0
    part_of = _welded(drawn)
    bodies: dict[int, list[Body]] = {}
    corners: dict[int, list[tuple[float, float, float]]] = {}
    for member in tubes:
        first, last = drawn.nodes[member.first], drawn.nodes[member.last]
        mass = scale * member.section.mass_per_metre * lines[id(member)] / 1000.0
        middle = [(one + other) / 2.0 for one, other in zip(first, last, strict=True)]
        part = part_of[member.first]
        bodies.setdefault(part, []).append(Body(mass, *middle))
        half = max(member.section.depth, member.section.width) / 2.0
        for node in (first, last):
            corners.setdefault(part, []).extend(
                [(node[0] - half, node[1] - half, node[2]), (node[0] + half, node[1] + half, node[2])]
            )
    for plate in drawn.plates:
        part = part_of[plate.spine[0]] if plate.spine else 0
        at = Body(plate.mass, plate.x, 0.0, drawn.underside - plate.thickness / 2.0)
        bodies.setdefault(part, []).append(at)
        for side in (-1.0, 1.0):
            corners.setdefault(part, []).append(
                (plate.x + side * plate.width / 2.0, side * plate.length / 2.0, drawn.underside)
            )
    for _, above, (x, y) in drawn.feet:
        part = part_of[above]
        if drawn.stud is not None:
            mass = weights().leveller.value * (drawn.stud / 10.0) ** 2
            bodies.setdefault(part, []).append(Body(mass, x, y, drawn.foot_length / 2.0))
        corners.setdefault(part, []).append((x, y, 0.0))
    found = [(tuple(bodies[part]), corners[part]) for part in sorted(bodies)]
    found.sort(key=lambda each: sum(corner[0] for corner in each[1]) / len(each[1]))
    sides = ("left leg frame", "right leg frame")
    names = (
        ["base"]
        if len(found) == 1
        else list(sides)
        if len(found) == 2
        else [f"base part {k + 1}" for k in range(len(found))]
    )
    return [(name, *each) for name, each in zip(names, found, strict=True)]


def _welded(drawn: Drawn) -> dict[str, int]:
    """Which welded part each node belongs to."""
    part = {name: number for number, name in enumerate(drawn.nodes)}
    for member in drawn.members:
        one, other = part[member.first], part[member.last]
        if one != other:
            part = {name: one if each == other else each for name, each in part.items()}
    return part


def bolts(base: BasePlan) -> tuple[Body, ...]:
    """The bolts between base and top: shank and hexagon head [kg], x from the middle of the top."""
    density = weights().steel_density.value * 1e-9
    thick = {plate.name: plate.thickness for plate in base.drawn.plates}
    through = max(thick.values(), default=6.0)
    found = []
    for bolt in base.drawn.bolts:
        shank = math.pi / 4.0 * bolt.thread**2 * (bolt.engagement + through)
        head = 0.866 * (1.5 * bolt.thread) ** 2 * 0.65 * bolt.thread
        found.append(Body((shank + head) * density, bolt.x, bolt.y, base.drawn.underside - through))
    return tuple(found)
