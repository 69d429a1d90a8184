"""The ground for placing: what of each face a piece may take, between its long edges and its ends."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from slabwright.geometry.faces import Floats, Scatter, as_scatter
from slabwright.geometry.outlines import largest
from slabwright.slab.region import BORDER, inset_long_edges, inside
from slabwright.slab.survey import Survey

_END_SHARE = 0.1


@dataclass(frozen=True)
class Ground:
    """Where a piece may lie.

    Attributes:
        region_a: of face A: its outline less the margin along its long edges, the trim at its ends and what is not used
        region_b: of face B
        room: what both faces share; a sawn piece lies in it
        left: places that lie left of a piece whose long edges stay live: the left ends, moved in by the trim, shape (n, 2) [mm]
        right: places that lie right of it, shape (m, 2) [mm]
        readings_a: of face A in its region
        readings_b: of face B in its region
    """

    region_a: BaseGeometry
    region_b: BaseGeometry
    room: BaseGeometry
    left: Floats
    right: Floats
    readings_a: Scatter
    readings_b: Scatter


def ends_of(outline: BaseGeometry) -> tuple[Floats, Floats]:
    """The left and the right end of an outline as segments, shape (k, 2, 2) [mm].

    An end is a steep piece of the outline (more across than along) in the outermost tenth of the length; a pointed end is the
    outermost corner.
    """
    corners = shapely.get_coordinates(outline)
    start, stop = corners[:-1], corners[1:]
    low, _, high, _ = outline.bounds
    near = _END_SHARE * (high - low)
    steep = np.abs(stop[:, 1] - start[:, 1]) > np.abs(stop[:, 0] - start[:, 0])
    found = []
    for ends, outermost in (
        (np.maximum(start[:, 0], stop[:, 0]) <= low + near, int(np.argmin(corners[:, 0]))),
        (np.minimum(start[:, 0], stop[:, 0]) >= high - near, int(np.argmax(corners[:, 0]))),
    ):
        segments = np.stack([start, stop], axis=1)[steep & ends]
        tip = np.repeat(corners[outermost][None, None, :], 2, axis=1)
        found.append(np.concatenate([segments, tip]))
    return found[0], found[1]


def ground(
    survey: Survey,
    *,
    edge_margin: float = 0.0,
    end_trim: float = 0.0,
    cut_from: float | None = None,
    cut_to: float | None = None,
) -> Ground:
    """What of the slab a piece may take.

    Args:
        survey: readings and outlines of both faces
        edge_margin: kept from the long edges; 0 where they are sawn off [mm]
        end_trim: kept from the ends, square to them [mm]
        cut_from: the slab is used from this x [mm]
        cut_to: and up to this x [mm]
    """
    west, south, east, north = shapely.total_bounds([survey.outline_a, survey.outline_b])
    low = west - 1.0 if cut_from is None else cut_from
    high = east + 1.0 if cut_to is None else cut_to
    used = shapely.box(low, south - 1.0, max(high, low), north + 1.0)
    regions, left, right = [], [], []
    for outline in (survey.outline_a, survey.outline_b):
        first, last = ends_of(outline)
        region = inset_long_edges(outline, edge_margin).intersection(used)
        if end_trim > 0.0:
            region = region.difference(_swollen(first, last, end_trim))
        regions.append(region)
        left.append(first.reshape(-1, 2) + np.array([end_trim, 0.0]))
        right.append(last.reshape(-1, 2) - np.array([end_trim, 0.0]))
    if cut_from is not None:
        left.append(np.array([(cut_from, south), (cut_from, north)]))
    if cut_to is not None:
        right.append(np.array([(cut_to, south), (cut_to, north)]))
    room = regions[0].intersection(regions[1])
    return Ground(
        regions[0],
        regions[1],
        room,
        np.unique(np.concatenate(left), axis=0),
        np.unique(np.concatenate(right), axis=0),
        _within(as_scatter(survey.all_a), regions[0]),
        _within(as_scatter(survey.all_b), regions[1]),
    )


def _swollen(first: Floats, last: Floats, trim: float) -> BaseGeometry:
    """All that lies nearer to the ends than the trim."""
    return shapely.union_all(shapely.buffer(shapely.linestrings(np.concatenate([first, last])), trim, quad_segs=16))


def _within(face: Scatter, region: BaseGeometry) -> Scatter:
    grown = region.buffer(BORDER, join_style="mitre")
    shapely.prepare(grown)
    kept = shapely.contains_xy(grown, face.x, face.y)
    return Scatter(face.x[kept], face.y[kept], face.z[kept])


def on_ground(survey: Survey, place: Ground) -> Survey:
    """The survey with all of the ground as its clean region, so that what is hidden is drawn wherever a piece may lie.

    Args:
        survey: readings and outlines
        place: the ground
    """
    region_a, region_b = largest(place.region_a), largest(place.region_b)
    if region_a is None or region_b is None:
        raise ValueError("the ground is empty")
    return replace(
        survey,
        region_a=region_a,
        region_b=region_b,
        face_a=inside(survey.all_a, region_a),
        face_b=inside(survey.all_b, region_b),
    )
