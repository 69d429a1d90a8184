"""Clearances: the least wood between features, to the edges and under the faces, and the room that things want.

What a feature takes out is an upright solid: a core in plan grown by a radius, between two depths. Of two such solids the least
distance in space is exact:

    sqrt(max(0, plan)^2 + max(0, height)^2),  plan = distance of the cores - both radii,  height = gap between their depths

since the nearest places in plan and in height can be chosen on their own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.findings import COMMON_PRACTICE
from slabwright.geometry.faces import Floats
from slabwright.job.top_models import Bar, Channel, Clearances, Edge, Insert, Outlet, Pocket
from slabwright.top import clearance_rules as rule
from slabwright.top.channel_path import least_bend
from slabwright.top.feature_shapes import Edges, channel_path, rectangle
from slabwright.top.layout_results import Clearance, Layout, Solid, TopFeature

REACH = 60.0
"""Pairs that lie further apart than this, and than their rule asks for, are not told [mm]."""
_EPS = 1e-6


@dataclass(frozen=True)
class Solids:
    """All solids of a layout as arrays.

    Attributes:
        owner: number of the feature that each belongs to
        cores: in plan
        radius: by which each core is grown [mm]
        upper: depth of the upper end [mm]
        lower: depth of the lower end [mm]
    """

    owner: NDArray[np.intp]
    cores: NDArray[np.object_]
    radius: Floats
    upper: Floats
    lower: Floats


def gathered(features: Sequence[TopFeature]) -> Solids:
    """The solids of features, as arrays."""
    every = [(number, solid) for number, feature in enumerate(features) for solid in feature.solids]
    cores = np.empty(len(every), dtype=object)
    cores[:] = [solid.core for _, solid in every]
    return Solids(
        np.array([number for number, _ in every], dtype=np.intp),
        cores,
        np.array([solid.radius for _, solid in every], dtype=np.float64),
        np.array([solid.upper for _, solid in every], dtype=np.float64),
        np.array([solid.lower for _, solid in every], dtype=np.float64),
    )


def clearances(layout: Layout, rules: Clearances | None = None, reach: float = REACH) -> tuple[Clearance, ...]:
    """Every distance that has a rule: kept ones too, so that they can be shown.

    Args:
        layout: of the features
        rules: least wood; those of the layout's top where left out
        reach: pairs further apart are left out, unless their rule asks for more [mm]

    Returns:
        The clearances: floors and edges of every feature, then pairs, worked edges, rooms, kept places and cables.
    """
    asked = layout.top.clearances if rules is None else rules
    solids = gathered(layout.features)
    return (
        *_floors(layout, asked),
        *_edges(layout, asked, solids),
        *_pairs(layout, asked, solids, max(reach, asked.between)),
        *_worked_edges(layout, asked, solids, max(reach, asked.between)),
        *_plates(layout),
        *_nuts(layout, solids, reach),
        *_kept_clear(layout, solids, reach),
        *_bolt_ends(layout, asked),
        *_cables(layout),
    )


def _one(kind: str, first: str, second: str | None, distance: float, least: float, source: str) -> Clearance:
    return Clearance(kind, first, second, float(distance), float(least), bool(distance >= least - _EPS), source)


def _floors(layout: Layout, rules: Clearances) -> Iterator[Clearance]:
    keys = {"pocket": "pocket_floor", "insert": "insert", "outlet": "recess"}
    for feature in layout.features:
        if feature.wood_left is not None and feature.wood_asked is not None:
            stated = rule.floor_rule(_stated(layout, feature.name), rules, layout.thickness)
            least = stated.least if stated else feature.wood_asked
            told = rule.source(rules, keys.get(feature.kind, "channel"))
            yield _one(rule.FLOOR, feature.name, None, feature.wood_left, least, told)


def _stated(layout: Layout, name: str) -> object:
    return next(feature for feature in layout.top.features if feature.name == name)


def inside_by(outline: Polygon, cores: NDArray[np.object_], radius: Floats) -> Floats:
    """How far each grown core stays inside an outline; negative: how far it surely reaches out, at least [mm].

    Args:
        outline: of the top
        cores: shape (n,)
        radius: shape (n,) [mm]
    """
    if len(cores) == 0:
        return np.zeros(0)
    shapely.prepare(outline)
    found: Floats = shapely.distance(outline.boundary, cores) - radius
    for index in np.flatnonzero(~shapely.contains_properly(outline, cores)):
        corners = shapely.points(shapely.get_coordinates(cores[index]))
        found[index] = -float(shapely.distance(outline, corners).max()) - radius[index]
    return found


def _edges(layout: Layout, rules: Clearances, solids: Solids) -> Iterator[Clearance]:
    inside = inside_by(layout.outline, solids.cores, solids.radius)
    told = rule.source(rules, "edge")
    least = np.full(len(layout.features), np.inf)
    np.minimum.at(least, solids.owner, inside)
    for feature, distance in zip(layout.features, least, strict=True):
        if math.isfinite(distance):
            yield _one(rule.EDGE, feature.name, None, distance, rules.edge, told)


def plan_gap(first: BaseGeometry, second: BaseGeometry, radius: float) -> float:
    """Distance in plan of two cores less both radii; negative where they overlap and one core is a point or a line [mm]."""
    return float(first.distance(second)) - radius


def pair_distances(solids: Solids, first: NDArray[np.intp], second: NDArray[np.intp]) -> Floats:
    """Least distance in space of pairs of solids; 0 where they are cut into each other [mm].

    Args:
        solids: of the layout
        first: numbers of solids, shape (n,)
        second: numbers of solids, shape (n,)
    """
    plan = shapely.distance(solids.cores[first], solids.cores[second]) - solids.radius[first] - solids.radius[second]
    height = np.maximum(solids.upper[first] - solids.lower[second], solids.upper[second] - solids.lower[first])
    found: Floats = np.hypot(np.maximum(plan, 0.0), np.maximum(height, 0.0))
    return found


def _pairs(layout: Layout, rules: Clearances, solids: Solids, reach: float) -> Iterator[Clearance]:
    if len(solids.cores) < 2:
        return
    tree = shapely.STRtree(solids.cores)
    widest = float(solids.radius.max())
    first, second = tree.query(solids.cores, predicate="dwithin", distance=solids.radius + widest + reach)
    kept = solids.owner[first] < solids.owner[second]
    first, second = first[kept], second[kept]
    distances = pair_distances(solids, first, second)
    least: dict[tuple[int, int], float] = {}
    for one, other, distance in zip(
        solids.owner[first].tolist(), solids.owner[second].tolist(), distances.tolist(), strict=True
    ):
        if distance <= reach and distance < least.get((one, other), math.inf):
            least[one, other] = distance
    names = [feature.name for feature in layout.features]
    told = rule.source(rules, "between")
    for (one, other), distance in sorted(least.items()):
        if (names[one], names[other]) not in layout.meant:
            yield _one(rule.BETWEEN, names[one], names[other], distance, rules.between, told)


def chamfer_gap(gap: float, below: float, size: float) -> float:
    """Least wood between a solid's corner and a chamfer [mm].

    Args:
        gap: of the corner from the edge, in plan [mm]
        below: of the corner from the face that the chamfer is cut into [mm]
        size: leg of the chamfer [mm]
    """
    past = (gap + below - size) / math.sqrt(2.0)
    if abs(gap - below) <= size or past <= 0.0:
        return past
    return math.hypot(gap - size, below) if gap > below else math.hypot(gap, below - size)


def round_gap(gap: float, below: float, radius: float) -> float:
    """Least wood between a solid's corner and a rounded edge; arguments as of `chamfer_gap` [mm]."""
    if gap <= radius and below <= radius:
        return radius - math.hypot(radius - gap, radius - below)
    return math.hypot(gap - radius, below) if gap - radius > below - radius else math.hypot(gap, below - radius)


def _worked_edges(layout: Layout, rules: Clearances, solids: Solids, reach: float) -> Iterator[Clearance]:
    worked = [feature for feature in layout.top.features if isinstance(feature, Edge)]
    if not worked:
        return
    lines = Edges(layout.outline).lines()
    names = [feature.name for feature in layout.features]
    told = rule.source(rules, "between")
    gaps = {
        name: shapely.distance(line, solids.cores) - solids.radius if len(solids.cores) else np.zeros(0)
        for name, line in lines.items()
    }
    for edge in worked:
        below = solids.upper if edge.face == "show" else layout.thickness - solids.lower
        least: dict[int, float] = {}
        for name in edge.edges:
            near = np.flatnonzero(gaps[name] <= edge.size + reach)
            for index in near:
                gap, depth = max(0.0, float(gaps[name][index])), max(0.0, float(below[index]))
                one = (chamfer_gap if edge.kind == "chamfer" else round_gap)(gap, depth, edge.size)
                owner = int(solids.owner[index])
                least[owner] = min(one, least.get(owner, math.inf))
        for owner, distance in sorted(least.items()):
            if distance <= reach:
                yield _one(rule.WORKED_EDGE, names[owner], edge.name, distance, rules.between, told)
    for number, edge in enumerate(worked):
        for other in worked[number + 1 :]:
            if other.face != edge.face and set(edge.edges) & set(other.edges):
                left = layout.thickness - edge.size - other.size
                yield _one(rule.WORKED_EDGE, edge.name, other.name, left, 0.0, "thickness of the top")
            elif other.face == edge.face and set(edge.edges) & set(other.edges):
                yield _one(
                    rule.WORKED_EDGE, edge.name, other.name, -min(edge.size, other.size), 0.0, "one edge, one shape"
                )
        left = layout.thickness - edge.size
        yield _one(rule.WORKED_EDGE, edge.name, None, left, 0.0, "thickness of the top")


def _plates(layout: Layout) -> Iterator[Clearance]:
    """That the hole of a bolt lies under its plate."""
    at = {feature.name: (feature.along or 0.0, feature.across or 0.0) for feature in layout.features}
    plates = {feature.name: feature for feature in layout.top.features if isinstance(feature, Pocket | Bar)}
    for insert in layout.top.features:
        if isinstance(insert, Insert) and insert.plate is not None:
            plate = plates[insert.plate]
            size = (plate.length, plate.width) if isinstance(plate, Pocket) else (plate.width, plate.length)
            box = rectangle(*at[plate.name], *size)
            point = Point(at[insert.name])
            inside = box.exterior.distance(point) * (1.0 if box.covers(point) else -1.0)
            yield _one(
                rule.PLATE, insert.name, plate.name, inside - insert.drill / 2.0, 0.0, "a bolt goes through its plate"
            )


def nut_rooms(layout: Layout) -> dict[str, Solid]:
    """The room on the underside that each outlet's nut and the hand want."""
    found = {}
    for outlet in layout.top.features:
        if isinstance(outlet, Outlet):
            feature = layout.named(outlet.name)
            wide = max(outlet.nut_diameter or 0.0, outlet.recess_diameter, outlet.diameter)
            point = feature.solids[0].core
            found[outlet.name] = Solid(point, wide / 2.0, layout.thickness, layout.thickness)
    return found


def _nuts(layout: Layout, solids: Solids, reach: float) -> Iterator[Clearance]:
    """Room of nuts against whatever opens on the underside, and against each other."""
    rooms = nut_rooms(layout)
    if not rooms:
        return
    names = [feature.name for feature in layout.features]
    opens = np.flatnonzero(solids.lower >= layout.thickness - _EPS)
    told = "room for the nut and the hand, as stated"
    stated = {outlet.name for outlet in layout.top.features if isinstance(outlet, Outlet) and outlet.nut_diameter}
    done: set[tuple[str, str]] = set()
    for name, room in rooms.items():
        gaps = shapely.distance(room.core, solids.cores[opens]) - room.radius - solids.radius[opens]
        least: dict[str, float] = {}
        for index, gap in zip(opens.tolist(), gaps.tolist(), strict=True):
            other = names[solids.owner[index]]
            if other == name or (name, other) in layout.meant or (other, name) in done:
                continue
            if other in rooms:
                gap = plan_gap(room.core, rooms[other].core, room.radius + rooms[other].radius)
                done.add((name, other))
            least[other] = min(gap, least.get(other, math.inf))
        for other, gap in least.items():
            if gap <= reach and (name in stated or other in stated):
                yield _one(rule.NUT, name, other, gap, 0.0, told)


def _kept_clear(layout: Layout, solids: Solids, reach: float) -> Iterator[Clearance]:
    if not layout.top.keep_clear:
        return
    rooms = nut_rooms(layout)
    for place in layout.top.keep_clear:
        shape = kept_shape(place.outline)
        for number, feature in enumerate(layout.features):
            underside = feature.solids and feature.lower >= layout.thickness - _EPS
            if not feature.solids or not rule.kept_out(place, feature.kind, bool(underside)):
                continue
            own = np.flatnonzero((solids.owner == number) & (solids.lower >= layout.thickness - _EPS))
            gaps = shapely.distance(shape, solids.cores[own]) - solids.radius[own]
            gap = float(gaps.min())
            if feature.name in rooms:
                gap = min(gap, plan_gap(rooms[feature.name].core, shape, rooms[feature.name].radius))
            if gap <= reach:
                yield _one(rule.KEPT_CLEAR, feature.name, place.name, gap, 0.0, f"kept clear: {place.what}")


def kept_shape(outline: Sequence[tuple[float, float]]) -> BaseGeometry:
    """A place that is kept clear; an outline that crosses itself counts with all that it goes round."""
    shape = Polygon(outline)
    return shape if shape.is_valid else LineString([*outline, outline[0]]).convex_hull


def _bolt_ends(layout: Layout, rules: Clearances) -> Iterator[Clearance]:
    for insert in layout.top.features:
        if isinstance(insert, Insert):
            told = rule.source(rules, "bolt_end")
            yield _one(rule.BOLT_END, insert.name, None, insert.depth - insert.engagement, rules.bolt_end, told)


def _cables(layout: Layout) -> Iterator[Clearance]:
    """That the cable goes into its channel, and bends no tighter than it may."""
    for channel in layout.top.features:
        if not isinstance(channel, Channel):
            continue
        if channel.cable_diameter is not None:
            room = min(channel.width, channel.depth) - channel.cable_diameter
            yield _one(rule.CABLE, channel.name, None, room, 0.0, COMMON_PRACTICE)
        if channel.cable_bend is not None:
            bend = cable_bend(channel)
            if bend is not None:
                yield _one(rule.BEND, channel.name, None, bend[0], channel.cable_bend, "the cable's maker, as stated")


def cable_bend(channel: Channel) -> tuple[float, int] | None:
    """The tightest bend of a channel's cable, to its inside, and its corner; a cable of no stated size fills the channel."""
    path = channel_path(channel)
    cable = min(channel.cable_diameter or channel.width, channel.width)
    return least_bend(path, channel.width, cable, channel.corner_radius)
