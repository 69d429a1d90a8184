"""The steel of a base as solids, and what of their faces a viewer far away sees: hidden faces taken out exactly.

Every face is plane, so that along a line of sight the distance of two faces differs by a linear function of the page's two
coordinates; what one hides of another is their common part on the side of a straight line.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon, STRtree
from shapely.geometry.base import BaseGeometry

from slabwright.base.kinds import Drawn, Member
from slabwright.base.weld_joints import piece_name
from slabwright.geometry.faces import Floats
from slabwright.sheets.base_drawing import run_on

_TOUCH = 0.05
"""Faces that are no farther apart lie in one plane [mm]."""
_SLIVER = 0.15
"""A visible piece that is thinner than twice this comes from faces that touch [mm]."""
_ROUND = 24
"""Sides that a round one is drawn with."""
_LEANS = 0.75
"""A trestle's leg that leans by less than this, level over upright, is cut level at its ends."""


@dataclass(frozen=True)
class Sight:
    """A parallel projection: unit vectors towards the viewer, to the right and up on the page."""

    to_viewer: Floats
    right: Floats
    up: Floats

    def flat(self, places: Floats) -> Floats:
        """Places of the base's frame on the page, shape (n, 3) to (n, 2) [mm]."""
        return np.column_stack([places @ self.right, places @ self.up])


def isometric() -> Sight:
    """From the near left, from above, so that lengths along, across and upright are to one scale."""
    return Sight(
        np.array([-1.0, -1.0, 1.0]) / np.sqrt(3.0),
        np.array([1.0, -1.0, 0.0]) / np.sqrt(2.0),
        np.array([1.0, 1.0, 2.0]) / np.sqrt(6.0),
    )


@dataclass(frozen=True)
class Face:
    """A plane face of a solid.

    Attributes:
        owner: the piece that it is of
        kind: steel, plate or foot
        corners: in order, shape (n, 3) [mm]
        normal: out of the solid
        smooth: number of the round surface that it is a part of; None: it is plane in truth
    """

    owner: str
    kind: str
    corners: Floats
    normal: Floats
    smooth: int | None = None


@dataclass(frozen=True)
class Surface:
    """What is seen of one surface.

    Attributes:
        kind: steel, plate or foot
        normal: out of the solid; of a round surface, towards the viewer
        shape: on the page [mm]
    """

    kind: str
    normal: Floats
    shape: BaseGeometry


def solids(drawn: Drawn) -> tuple[Face, ...]:
    """Every face of tubes, plates and feet."""
    found: list[Face] = []
    for number, member in enumerate(drawn.members):
        if member.part == "frame":
            found += _member(drawn, member, number)
    for plate in drawn.plates:
        low = np.array([plate.x - plate.width / 2, -plate.length / 2, drawn.underside - plate.thickness])
        size = np.array([plate.width, plate.length, plate.thickness])
        corners = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
        lower = np.column_stack([low[:2] + corners * size[:2], np.full(4, low[2])])
        found += _prism(plate.name, "plate", lower, lower + np.array([0.0, 0.0, size[2]]))
    radius = (drawn.stud or 20.0) / 2
    for number, (name, _, (x, y)) in enumerate(drawn.feet):
        ring = _ring(radius, radius, True) + np.array([x, y])
        lower = np.column_stack([ring, np.zeros(len(ring))])
        top = max(drawn.foot_length, 1.0)
        found += _prism(f"{name} foot", "foot", lower, lower + np.array([0.0, 0.0, top]), len(drawn.members) + number)
    return tuple(found)


def _ring(half_deep: float, half_wide: float, round_one: bool) -> Floats:
    """Corners of a section about its middle, shape (n, 2), counter-clockwise."""
    if not round_one:
        return np.array(
            [[-half_deep, -half_wide], [half_deep, -half_wide], [half_deep, half_wide], [-half_deep, half_wide]]
        )
    turns = np.linspace(0.0, 2.0 * np.pi, _ROUND, endpoint=False)
    return np.column_stack([half_deep * np.cos(turns), half_wide * np.sin(turns)])


def _member(drawn: Drawn, member: Member, number: int) -> Iterator[Face]:
    """A tube or bar, run on to the outside of what it meets; a leaning leg is cut level."""
    first, last = np.array(drawn.nodes[member.first]), np.array(drawn.nodes[member.last])
    along = (last - first) / np.linalg.norm(last - first)
    deep = np.array(member.up) - np.dot(member.up, along) * along
    deep /= np.linalg.norm(deep)
    wide = np.cross(along, deep)
    lean = float(np.hypot(along[0], along[1])) / max(abs(float(along[2])), 1e-9)
    level = drawn.kind == "trestles" and 1e-3 < lean < _LEANS
    steel = member.section
    round_one = steel.kind in ("round tube", "round bar")
    if steel.kind == "angle" and steel.wall is not None:
        half, thin = np.array([steel.depth, steel.width]) / 2, steel.wall / 2
        rings = [
            _ring(thin, half[1], False) + np.array([thin - half[0], 0.0]),
            _ring(half[0], thin, False) + np.array([0.0, thin - half[1]]),
        ]
    else:
        rings = [_ring(steel.depth / 2, steel.width / 2, round_one)]
    for ring in rings:
        offsets = ring[:, :1] * deep + ring[:, 1:] * wide
        ends = []
        for node, end, sign in ((member.first, first, -1.0), (member.last, last, 1.0)):
            corners = end + offsets
            if level:
                corners = corners - along * ((corners[:, 2] - end[2]) / along[2])[:, None]
            else:
                corners = corners + sign * along * run_on(drawn, member, node, along)
            ends.append(corners)
        yield from _prism(piece_name(drawn, member), "steel", ends[0], ends[1], number if round_one else None)


def _prism(owner: str, kind: str, first: Floats, last: Floats, smooth: int | None = None) -> Iterator[Face]:
    """Faces of a prism between two rings of corners."""
    middle = np.concatenate([first, last]).mean(axis=0)
    sides = [
        np.array([first[k], first[(k + 1) % len(first)], last[(k + 1) % len(first)], last[k]])
        for k in range(len(first))
    ]
    for corners, round_one in [(first, None), (last, None), *((side, smooth) for side in sides)]:
        normal = np.cross(corners[1] - corners[0], corners[2] - corners[1])
        normal /= np.linalg.norm(normal)
        if float(normal @ (corners.mean(axis=0) - middle)) < 0.0:
            normal = -normal
        yield Face(owner, kind, corners, normal, round_one)


@dataclass(frozen=True)
class _Plane:
    """Faces in one plane as one shape; how near they are to the viewer: at + right u + up v."""

    kind: str
    smooth: int | None
    normal: Floats
    shape: BaseGeometry
    nearness: Floats


def _nearness(face: Face, sight: Sight) -> Floats:
    """Constants of the linear function that tells how near a face is to the viewer."""
    facing = float(face.normal @ sight.to_viewer)
    at = float(face.normal @ face.corners[0])
    return np.array([at, -float(face.normal @ sight.right), -float(face.normal @ sight.up)]) / facing


def facing(faces: Sequence[Face], sight: Sight) -> list[Face]:
    """The faces that are turned to the viewer."""
    return [face for face in faces if float(face.normal @ sight.to_viewer) > 1e-6]


def _planes(faces: Sequence[Face], sight: Sight) -> list[_Plane]:
    groups: dict[tuple[object, ...], list[Face]] = {}
    for face in facing(faces, sight):
        plane = (*np.round(face.normal, 4).tolist(), round(float(face.normal @ face.corners[0]) / _TOUCH))
        groups.setdefault((face.kind, face.smooth, *plane), []).append(face)
    return [
        _Plane(
            group[0].kind,
            group[0].smooth,
            group[0].normal,
            _areas(shapely.union_all([Polygon(sight.flat(face.corners)) for face in group], grid_size=1e-3)),
            _nearness(group[0], sight),
        )
        for group in groups.values()
    ]


def _nearer(shape: BaseGeometry, over: Floats) -> BaseGeometry:
    """The part of a shape where a linear function is above nothing."""
    x0, y0, x1, y1 = shape.bounds
    box = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]) + np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]])
    values = over[0] + box @ over[1:] - _TOUCH
    if (values <= 0.0).all():
        return Polygon()
    if (values > 0.0).all():
        return shape
    kept: list[Floats] = []
    for k in range(4):
        here, there = values[k], values[(k + 1) % 4]
        if here > 0.0:
            kept.append(box[k])
        if (here > 0.0) != (there > 0.0):
            kept.append(box[k] + (box[(k + 1) % 4] - box[k]) * here / (here - there))
    return shape.intersection(Polygon(kept))


def visible(faces: Sequence[Face], sight: Sight) -> tuple[Surface, ...]:
    """What is seen of every surface.

    Args:
        faces: of all solids; solids may run into each other
        sight: the projection

    Returns:
        Surfaces whose shapes do not overlap; faces in one plane are one surface, and so are the facets of a round one.
    """
    planes = _planes(faces, sight)
    tree = STRtree([plane.shape for plane in planes])
    seen: list[Surface] = []
    rounds: dict[int, list[tuple[_Plane, BaseGeometry]]] = {}
    for plane in planes:
        hidden = []
        for other in tree.query(plane.shape, predicate="intersects").tolist():
            before = planes[other]
            if before is plane:
                continue
            common = plane.shape.intersection(before.shape)
            if common.area > 0.0:
                hidden.append(_nearer(common, before.nearness - plane.nearness))
        before_it = _areas(shapely.union_all(hidden)) if hidden else None
        left = plane.shape if before_it is None else shapely.difference(plane.shape, before_it, grid_size=1e-3)
        if left.is_empty:
            continue
        if plane.smooth is None:
            seen.append(Surface(plane.kind, plane.normal, _clean(left)))
        else:
            rounds.setdefault(plane.smooth, []).append((plane, left))
    for facets in rounds.values():
        whole = shapely.union_all([left for _, left in facets], grid_size=1e-3)
        nearest = max(facets, key=lambda facet: float(facet[0].normal @ sight.to_viewer))[0]
        seen.append(Surface(nearest.kind, nearest.normal, _clean(whole)))
    return tuple(surface for surface in seen if not surface.shape.is_empty)


def _areas(shape: BaseGeometry) -> BaseGeometry:
    """What of a shape has an area: shapes that only touch leave lines, which nothing is hidden by."""
    parts = [part for part in shapely.get_parts(shape) if part.geom_type in ("Polygon", "MultiPolygon")]
    return shapely.union_all(parts) if parts else Polygon()


def _clean(shape: BaseGeometry) -> BaseGeometry:
    """The shape without slits and slivers."""
    for by in (_SLIVER, -2.0 * _SLIVER, _SLIVER):
        shape = shape.buffer(by, join_style="mitre")
    return shape.simplify(0.02)


def foremost(faces: Sequence[Face], sight: Sight, place: tuple[float, float]) -> str | None:
    """The piece that is seen at a place of the page; None: nothing is there."""
    point, at = shapely.Point(place), np.array([1.0, *place])
    nearest: tuple[float, str] | None = None
    for face in facing(faces, sight):
        if Polygon(sight.flat(face.corners)).covers(point):
            near = float(_nearness(face, sight) @ at)
            if nearest is None or near > nearest[0]:
                nearest = (near, face.owner)
    return nearest[1] if nearest else None
