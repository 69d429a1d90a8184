"""Mass and centre of solids, exactly: prisms, bodies between two surfaces of triangles, and sums of them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.geometry.between import at_nearest, in_triangles
from slabwright.geometry.faces import Face, Floats
from slabwright.slab.sampling import thinned

_MOST = 20_000
"""Readings of a face that its surface is made of; of more an even sample."""
_STEP = 50.0
"""Between the added places along an outline that runs beyond the readings [mm]."""


@dataclass(frozen=True)
class Body:
    """A mass and where its centre is; a negative mass takes wood off.

    Attributes:
        mass: [kg], or a volume [mm3]
        x: of its centre [mm]
        y: of its centre [mm]
        z: of its centre [mm]
    """

    mass: float
    x: float
    y: float
    z: float

    def times(self, factor: float) -> Body:
        """The same body of another density."""
        return Body(self.mass * factor, self.x, self.y, self.z)

    def moved(self, dx: float = 0.0, dy: float = 0.0, dz: float = 0.0) -> Body:
        """The same body at another place [mm]."""
        return Body(self.mass, self.x + dx, self.y + dy, self.z + dz)


def together(bodies: Iterable[Body]) -> Body:
    """Several bodies as one: masses add up, centres are their mean by mass."""
    kept = list(bodies)
    mass = math.fsum(body.mass for body in kept)
    if mass == 0.0:
        return Body(0.0, 0.0, 0.0, 0.0)
    x, y, z = (math.fsum(body.mass * getattr(body, axis) for body in kept) / mass for axis in "xyz")
    return Body(mass, x, y, z)


def prism(shape: BaseGeometry, low: float, high: float, density: float = 1.0) -> Body:
    """A shape in plan between two heights.

    Args:
        shape: in plan [mm]
        low: its underside [mm]
        high: its upper side [mm]
        density: [kg/mm3]; 1 gives the volume
    """
    area = float(shape.area)
    if area <= 0.0:
        return Body(0.0, 0.0, 0.0, 0.0)
    centre = shape.centroid
    return Body(area * (high - low) * density, float(centre.x), float(centre.y), (low + high) / 2.0)


def sloping_prism(upper: BaseGeometry, lower: BaseGeometry, low: float, high: float, density: float = 1.0) -> Body:
    """A board whose edges slope: its faces are different shapes in plan.

    What both faces share stands upright; what one face has beyond the other is a wedge: half of the height is wood, and its
    centre lies a third of the height from that face.

    Args:
        upper: shape of the upper face [mm]
        lower: shape of the lower face [mm]
        low: height of the lower face [mm]
        high: height of the upper face [mm]
        density: [kg/mm3]; 1 gives the volume
    """
    third = (high - low) / 3.0
    parts = [prism(shapely.intersection(upper, lower), low, high, density)]
    for beyond, height in (
        (shapely.difference(upper, lower), high - third),
        (shapely.difference(lower, upper), low + third),
    ):
        wedge = prism(beyond, low, high, density / 2.0)
        parts.append(Body(wedge.mass, wedge.x, wedge.y, height))
    return together(parts)


@dataclass(frozen=True)
class Surface:
    """One face of a slab as triangles between its readings.

    Attributes:
        points: x, y of their corners, shape (n, 2) [mm]
        heights: of them, shape (n,) [mm]
        mesh: the Delaunay triangulation
    """

    points: Floats
    heights: Floats
    mesh: Any

    def at(self, places: Floats) -> Floats:
        """Heights at places, shape (m,); beyond the triangles that of the nearest corner [mm]."""
        found = in_triangles(self.points, self.heights, places, self.mesh)
        beyond = np.isnan(found)
        if beyond.any():
            found[beyond] = at_nearest(self.points, self.heights, places[beyond])
        return found


def surface(face: Face, outlines: Iterable[Polygon]) -> Surface:
    """The face of a slab as triangles.

    Where outlines run beyond the readings, the nearest reading's height off the mean plane is kept.

    Args:
        face: every reading
        outlines: that the triangles have to cover
    """
    from scipy.spatial import Delaunay

    read = thinned(face, _MOST)
    points = np.column_stack([read.x, read.y])
    heights: Floats = np.asarray(read.z, dtype=np.float64)
    hull = shapely.MultiPoint(points).convex_hull
    rim = np.vstack([shapely.get_coordinates(shapely.segmentize(each.exterior, _STEP)) for each in outlines])
    shapely.prepare(hull)
    rim = np.unique(rim[~shapely.covers(hull, shapely.points(rim))], axis=0)
    if len(rim):
        middle = points.mean(axis=0)
        columns = np.column_stack([points - middle, np.ones(len(points))])
        plane = np.linalg.lstsq(columns, heights, rcond=None)[0]
        rest = heights - columns @ plane
        added = np.column_stack([rim - middle, np.ones(len(rim))]) @ plane + at_nearest(points, rest, rim)
        points, heights = np.vstack([points, rim]), np.concatenate([heights, added])
    points, first = np.unique(points, axis=0, return_index=True)
    return Surface(points, heights[first], Delaunay(points))


def _pieces(over: Surface, region: BaseGeometry) -> tuple[Floats, Floats]:
    """The triangles of a surface inside a region as signed triangles: corners, shape (k, 3, 2), and signed areas, shape (k,).

    A triangle that the border cuts is what its rings enclose: a fan from each ring's first corner.
    """
    corners = over.points[over.mesh.simplices]
    shapely.prepare(region)
    triangles = shapely.polygons(corners)
    inside = shapely.contains_properly(region, triangles)
    cut = triangles[~inside]
    cut = shapely.intersection(cut[shapely.intersects(region, cut)], region)
    fans = [corners[inside]]
    signs = [np.ones(int(inside.sum()))]
    for part in shapely.get_parts(cut):
        for shape in shapely.get_parts(part):
            if not isinstance(shape, Polygon) or shape.is_empty:
                continue
            for number, ring in enumerate((shape.exterior, *shape.interiors)):
                line = shapely.get_coordinates(ring)[:-1]
                turn = 1.0 if bool(ring.is_ccw) == (number == 0) else -1.0
                fan = np.stack([np.broadcast_to(line[0], (len(line) - 2, 2)), line[1:-1], line[2:]], axis=1)
                fans.append(fan)
                signs.append(np.full(len(fan), turn))
    every = np.concatenate(fans)
    one, two = every[:, 1] - every[:, 0], every[:, 2] - every[:, 0]
    areas = 0.5 * (one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
    areas[: int(inside.sum())] = np.abs(areas[: int(inside.sum())])
    return every, areas * np.concatenate(signs)


def _middles(triangles: Floats) -> Floats:
    """Middles of the edges of triangles, shape (k, 3, 2): a third of the area at each integrates squares exactly."""
    return np.asarray(0.5 * (triangles + np.roll(triangles, -1, axis=1)))


def _under(over: Surface, region: BaseGeometry) -> Floats:
    """Integrals of z, x z, y z and z^2 / 2 of a surface over a region, exact for its flat triangles."""
    if region.is_empty:
        return np.zeros(4)
    triangles, areas = _pieces(over, region)
    at = _middles(triangles)
    height = over.at(at.reshape(-1, 2)).reshape(-1, 3)
    weight = areas[:, None] / 3.0
    return np.array(
        [
            float((weight * height).sum()),
            float((weight * height * at[..., 0]).sum()),
            float((weight * height * at[..., 1]).sum()),
            float((weight * height * height).sum()) / 2.0,
        ]
    )


def _wedge(over: Surface, under: Surface, region: BaseGeometry, upper: bool) -> Floats:
    """The same four of the wedge beyond the other face's outline: half the height is wood, its centre a third from its face."""
    if region.is_empty or region.area <= 0.0:
        return np.zeros(4)
    triangles, areas = _pieces(over if upper else under, region)
    at = _middles(triangles)
    high, low = (each.at(at.reshape(-1, 2)).reshape(-1, 3) for each in (over, under))
    wood = areas[:, None] / 3.0 * 0.5 * (high - low)
    level = low + (high - low) * (2.0 / 3.0 if upper else 1.0 / 3.0)
    return np.array([float((wood * each).sum()) for each in (np.ones_like(level), at[..., 0], at[..., 1], level)])


def slab_volume(face_a: Face, face_b: Face, outline_a: Polygon, outline_b: Polygon) -> Body:
    """Volume and centre of a rough slab: the solid between the triangles of both faces, inside their outlines.

    Within both outlines exact for the triangles between the readings (integrals of z, x z, y z, z^2 over each, clipped at
    the outline); where an edge slopes, half of the wood between the outlines.

    Args:
        face_a: every reading of the upper face
        face_b: every reading of the lower face
        outline_a: of face A [mm]
        outline_b: of face B [mm]

    Returns:
        Volume [mm3] and centre in the readings' frame [mm].
    """
    over, under = surface(face_a, (outline_a, outline_b)), surface(face_b, (outline_a, outline_b))
    both = shapely.intersection(outline_a, outline_b)
    total = _under(over, both) - _under(under, both)
    total += _wedge(over, under, shapely.difference(outline_a, outline_b), upper=True)
    total += _wedge(over, under, shapely.difference(outline_b, outline_a), upper=False)
    volume = float(total[0])
    return Body(volume, *(float(each) / volume for each in total[1:]))
