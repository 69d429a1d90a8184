"""Places for stacks under the slab, and the room that the underside leaves above each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.geometry.faces import Floats, Scatter
from slabwright.slab.sampling import thinned

_MANY = 20_000
_NEAR = 6
"""Readings that a local plane rests on."""
_EDGE = 0.12
"""Outer places stand so far in from the long edges, as a share of the width."""


@dataclass(frozen=True)
class Places:
    """Places on the bed where a stack may stand.

    Attributes:
        at: middle of each pad, shape (n, 2) [mm]
        on_wood: whether the pad's footprint lies wholly under wood, shape (n,)
    """

    at: Floats
    on_wood: NDArray[np.bool_]


@dataclass(frozen=True)
class Rooms:
    """Heights of the underside above the pads, for a slab at its lie.

    Attributes:
        height: lowest wood in each footprint, shape (n,) [mm]
        error: standard error of it, shape (n,) [mm]
        read: whether a reading lies in the footprint, shape (n,)
        roughness: spread of neighbouring readings about their local plane [mm]
    """

    height: Floats
    error: Floats
    read: NDArray[np.bool_]
    roughness: float


def laid_out(outline: Polygon, along: int, across: int, diameter: float, readings: Floats) -> Places:
    """Rows of places spread over the underside.

    Along the grain the rows stand L / sqrt(n^2 - 1) apart about the middle, the spacing that keeps the ends of an even
    bar on n evenly loaded supports level [1]_. Across, the outer places stand 0.12 of the width in from the long edges,
    far enough out that the slab is hard to tip, and always with the whole footprint under wood. Where no reading lies
    in a footprint the place moves to the nearest one within a third of the way to its neighbours: a height that was
    read is better than one between readings.

    Args:
        outline: of the underside, in the bed's frame
        along: rows
        across: places in a row
        diameter: of a pad [mm]
        readings: x, y of the underside's readings, shape (m, 2) [mm]

    References:
        .. [1] G. B. Airy, On the Flexure of a Uniform Bar, Memoirs of the Royal Astronomical Society 15, 1846; from memory.
    """
    from scipy.spatial import cKDTree

    radius = diameter / 2.0
    room = outline.buffer(-radius)
    if room.is_empty:
        room = outline.buffer(-1e-3)
    west, south, east, north = outline.bounds
    pitch = (east - west) / np.sqrt(along * along - 1.0)
    rows = (west + east) / 2.0 + (np.arange(along) - (along - 1) / 2.0) * pitch
    sample = thinned(Scatter(readings[:, 0], readings[:, 1], np.zeros(len(readings))))
    readings = np.column_stack([sample.x, sample.y])
    tree = cKDTree(readings)
    at = []
    for x in rows:
        low, high = _chord(room, float(x), south, north)
        inset = max(_EDGE * (high - low + diameter) - radius, 0.0)
        ys = np.linspace(low + inset, high - inset, across)
        apart = float(ys[1] - ys[0]) if across > 1 else high - low
        for y in ys:
            place = _inside(room, float(x), float(y))
            distance, nearest = tree.query(place)
            moved = readings[nearest]
            reach = min(pitch, apart) / 3.0
            if radius < distance <= reach and room.covers(shapely.Point(moved)):
                place = moved
            at.append(place)
    places = np.array(at)
    return Places(places, _covered(outline, places, radius))


def stated(outline: Polygon, at: Floats, diameter: float) -> Places:
    """Places that the maker fixed, shape (n, 2)."""
    return Places(at, _covered(outline, at, diameter / 2.0))


def _covered(outline: Polygon, places: Floats, radius: float) -> NDArray[np.bool_]:
    # A buffer's circle is a polygon: a hair of the radius is forgiven.
    edge = shapely.distance(outline.boundary, shapely.points(places)) if len(places) else np.zeros(0)
    return np.asarray(edge >= radius * 0.995)


def _chord(room: BaseGeometry, x: float, south: float, north: float) -> tuple[float, float]:
    """Lowest and highest y of the longest stretch inside at this x; of the nearest x where there is none."""
    cut = room.intersection(shapely.LineString([(x, south - 1.0), (x, north + 1.0)]))
    if cut.is_empty:
        nearest = shapely.shortest_line(shapely.Point(x, (south + north) / 2.0), room).coords[-1]
        return float(nearest[1]), float(nearest[1])
    longest = max(shapely.get_parts(cut), key=lambda part: float(part.length))
    return float(longest.bounds[1]), float(longest.bounds[3])


def _inside(room: BaseGeometry, x: float, y: float) -> Floats:
    point = shapely.Point(x, y)
    if room.covers(point):
        return np.array([x, y])
    return np.array(shapely.shortest_line(point, room).coords[-1], dtype=np.float64)


def rooms(underside: Floats, at: Floats, diameter: float) -> Rooms:
    """The underside above each pad: its lowest reading in the footprint less the roughness.

    A stack meets the lowest wood over its pad, not the mean. The roughness is the spread of readings about a plane through
    those near the pad (within one and a half diameters, where six lie so near). Where no reading lies in the
    footprint, the lowest of the plane through the nearest readings stands in, with an error to match.

    Args:
        underside: its readings in the bed's frame, shape (m, 3) [mm]
        at: places, shape (n, 2) [mm]
        diameter: of a pad [mm]
    """
    from scipy.spatial import cKDTree

    radius = diameter / 2.0
    if len(underside) > _MANY:
        near = np.zeros(len(underside), dtype=bool)
        for place in at:
            near |= (np.abs(underside[:, :2] - place) <= 3.0 * radius).all(axis=1)
        # A scan has readings enough beside every pad; where it has a hole, all of them are searched.
        counted = [int((np.abs(underside[near, :2] - place) <= radius).all(axis=1).sum()) for place in at]
        underside = underside[near] if min(counted) >= _NEAR else underside
    tree = cKDTree(underside[:, :2], balanced_tree=False, compact_nodes=False)
    planes = [_local_plane(underside, tree, place, 3.0 * radius) for place in at]
    spreads = [spread for _, spread, _, close in planes if close]
    roughness = float(np.sqrt(np.mean(np.square(spreads)))) if spreads else 0.0
    height, error, read = np.empty(len(at)), np.empty(len(at)), np.zeros(len(at), dtype=bool)
    for index, (place, (plane, spread, leverage, _)) in enumerate(zip(at, planes, strict=True)):
        under = tree.query_ball_point(place, radius * (1.0 + 1e-9))
        if under:
            read[index] = True
            height[index] = underside[under, 2].min() - roughness
            error[index] = roughness
        else:
            height[index] = plane[2] - radius * float(np.hypot(plane[0], plane[1])) - roughness
            error[index] = float(np.hypot(spread * np.sqrt(1.0 + leverage), roughness))
    return Rooms(height, error, read, roughness)


def _local_plane(underside: Floats, tree: object, place: Floats, reach: float) -> tuple[Floats, float, float, bool]:
    """Plane about a place (slopes, height there), spread about it, leverage of the place, and whether its readings are near."""
    from scipy.spatial import cKDTree

    assert isinstance(tree, cKDTree)
    near = np.asarray(tree.query_ball_point(place, reach), dtype=np.intp)
    close = near.size >= _NEAR
    if not close:
        count = min(_NEAR, len(underside))
        near = np.atleast_1d(tree.query(place, k=count)[1]).astype(np.intp)
    columns = np.column_stack([underside[near, :2] - place, np.ones(near.size)])
    plane, _, rank, _ = np.linalg.lstsq(columns, underside[near, 2], rcond=1e-6)
    rest = underside[near, 2] - columns @ plane
    spread = float(np.sqrt((rest @ rest) / max(near.size - int(rank), 1)))
    leverage = float(np.linalg.pinv(columns.T @ columns, rcond=1e-9)[2, 2])
    return plane, spread, leverage, close
