"""The clean region of each face: where readings bind. The outline less live edges, ends and what is not used."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Face, Floats, Grid, Scatter
from slabwright.job.models import Defect, Piece, Slab
from slabwright.quantities import Units, format_length

BORDER = 1e-6
"""A reading so near the region's border counts as inside [mm]."""
STRIP_SPARE = 10.0
"""How much wider than the finished width the strip is that binds, so that the cut line may still be shifted [mm]."""
_END_SHARE = 0.1
_CELLS = 96
_MANY = 5000


@dataclass(frozen=True)
class Regions:
    """Outlines and clean regions of both faces.

    Attributes:
        outline_a: all of face A
        outline_b: all of face B
        region_a: clean region of face A
        region_b: clean region of face B
        given: true where an outline was given; else the outlines are the convex hulls of the readings
        left_out: area of smaller pieces that were left out, because an inset cut the region in two [mm2]
        strip: width of the strip that the regions were clipped to, or None [mm]
    """

    outline_a: Polygon
    outline_b: Polygon
    region_a: Polygon
    region_b: Polygon
    given: bool
    left_out: float
    strip: float | None


@dataclass(frozen=True)
class DefectPlace:
    """A defect as a place on one face.

    Attributes:
        kind: knot, check, void, bark or metal
        place: where, in the slab's frame
        depth: from its face, or None where it is not known or goes through [mm]
        through: whether it goes through the slab
        note: the maker's words
    """

    kind: str
    place: Polygon
    depth: float | None
    through: bool
    note: str


def hull(face: Face) -> Polygon:
    """Convex hull of a face's readings.

    Args:
        face: readings; of a grid only the first and last reading of each line are looked at

    Raises:
        SlabwrightError: the readings lie in a line
    """
    if isinstance(face, Grid):
        read = ~np.isnan(face.z)
        rows = np.flatnonzero(read.any(axis=1))
        first = read[rows].argmax(axis=1)
        last = face.y.size - 1 - read[rows, ::-1].argmax(axis=1)
        corners = np.column_stack([np.tile(face.x[rows], 2), face.y[np.concatenate([first, last])]])
    else:
        corners = np.column_stack([face.x, face.y])
        if len(face) > _MANY:
            corners = _outermost(corners)
    around = shapely.convex_hull(shapely.multipoints(corners))
    if not isinstance(around, Polygon) or around.is_empty or around.area < 1e-5 * around.length**2:
        raise SlabwrightError("slab.survey: all readings of a face lie in a line; read at least three places apart")
    return around


def _outermost(points: Floats) -> Floats:
    """The points of many that can be on their hull."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        return points[ConvexHull(points).vertices]
    except QhullError:
        return points


def inset_long_edges(outline: Polygon, margin: float) -> BaseGeometry:
    """The part of an outline that keeps a distance from its long edges; its ends stay where they are.

    An end is a steep piece of the outline (more across than along) in the outermost tenth of the length; all else is long
    edge, so that a notch in a live edge keeps its margin too.

    Args:
        outline: a face's outline, x along the grain [mm]
        margin: distance kept [mm]
    """
    if margin <= 0:
        return outline
    corners = shapely.get_coordinates(outline.exterior)
    start, stop = corners[:-1], corners[1:]
    low, _, high, _ = outline.bounds
    near = _END_SHARE * (high - low)
    span = np.abs(stop - start)
    at_low = np.maximum(start[:, 0], stop[:, 0]) <= low + near
    at_high = np.minimum(start[:, 0], stop[:, 0]) >= high - near
    long_edge = ~((span[:, 1] > span[:, 0]) & (at_low | at_high))
    edges = shapely.union_all(shapely.linestrings(np.stack([start, stop], axis=1)[long_edge]))
    return outline.difference(edges.buffer(margin, quad_segs=32))


def regions(
    slab: Slab,
    piece: Piece,
    all_a: Face,
    all_b: Face,
    outline_a: Floats | None,
    outline_b: Floats | None,
    units: Units = "metric",
) -> Regions:
    """Outlines and clean regions of both faces.

    One outline serves both faces. Without any, the outlines are the convex hulls of the readings; then the slab reaches
    further than they do, and only a margin or trim that the maker stated is taken off, not the defaults.

    Args:
        slab: margins, trims and cuts
        piece: which long edges stay live, and the finished width
        all_a: readings of face A in the slab's frame
        all_b: readings of face B in the slab's frame
        outline_a: corners of face A's outline, shape (n, 2), or None [mm]
        outline_b: corners of face B's outline, shape (n, 2), or None [mm]
        units: of the messages

    Raises:
        SlabwrightError: an outline crosses itself or misses the readings, or nothing is left inside the insets
    """
    given = outline_a is not None or outline_b is not None
    first = outline_a if outline_a is not None else outline_b
    second = outline_b if outline_b is not None else outline_a
    whole_a = hull(all_a) if first is None else _polygon(first, "A")
    whole_b = hull(all_b) if second is None else _polygon(second, "B")
    if given:
        _check_readings_inside(all_a, whole_a, "A")
        _check_readings_inside(all_b, whole_b, "B")
    stated = slab.model_fields_set
    margin = slab.edge_margin if piece.live_edges == "both" and (given or "edge_margin" in stated) else 0.0
    trim = slab.end_trim if given or "end_trim" in stated else 0.0
    low = max(whole_a.bounds[0], whole_b.bounds[0]) + trim
    high = min(whole_a.bounds[2], whole_b.bounds[2]) - trim
    low = low if slab.cut_from is None else max(low, slab.cut_from)
    high = high if slab.cut_to is None else min(high, slab.cut_to)
    if low >= high:
        raise SlabwrightError(
            f"slab.end_trim, slab.cut_from, slab.cut_to: nothing of the slab is left between x = "
            f"{format_length(low, units)} and x = {format_length(high, units)}; trim less or move the cuts apart"
        )
    cleans = []
    left_out = 0.0
    for whole, name in ((whole_a, "A"), (whole_b, "B")):
        clean, lost = _largest(_clip_x(inset_long_edges(whole, margin), low, high))
        if clean is None:
            raise SlabwrightError(
                f"slab.edge_margin: nothing of face {name} is left {format_length(margin, units)} inside its long edges and "
                f"between x = {format_length(low, units)} and x = {format_length(high, units)}; make the margin smaller or "
                "check the outline"
            )
        cleans.append(clean)
        left_out += lost
    strip = None
    if piece.live_edges == "none" and piece.width is not None:
        width = piece.width + STRIP_SPARE
        if width < min(clean.bounds[3] - clean.bounds[1] for clean in cleans):
            strip = width
            middle = _middle(cleans[0])
            for index, clean in enumerate(cleans):
                band = shapely.box(low - 1.0, middle - width / 2, high + 1.0, middle + width / 2)
                kept, lost = _largest(clean.intersection(band))
                if kept is None:
                    raise SlabwrightError(
                        "slab.outline_b: the outlines of the two faces lie apart; state both in face A's frame"
                    )
                cleans[index] = kept
                left_out += lost
    return Regions(whole_a, whole_b, cleans[0], cleans[1], given, left_out, strip)


def inside(face: Face, region: Polygon) -> Face:
    """The readings of a face inside a region, its border included.

    A grid stays a grid: it is cropped to the region, `nan` outside. Where the region covers the grid nothing is copied.

    Args:
        face: readings
        region: clean region, in the same frame
    """
    grown = region.buffer(BORDER, join_style="mitre")
    if isinstance(face, Scatter):
        kept = points_inside(face.x, face.y, grown)
        return face if kept.all() else Scatter(face.x[kept], face.y[kept], face.z[kept])
    low_x, low_y, high_x, high_y = grown.bounds
    rows = slice(*np.searchsorted(face.x, [low_x, high_x]))
    columns = slice(*np.searchsorted(face.y, [low_y, high_y]))
    x, y, z = face.x[rows], face.y[columns], face.z[rows, columns]
    if x.size == 0 or y.size == 0:
        return Grid(x, y, z)
    box = (high_x - low_x) * (high_y - low_y)
    if grown.area > box * (1.0 - 1e-12):
        return Grid(x, y, z)
    mask = grid_inside(x, y, grown)
    return Grid(x, y, z if mask.all() else np.where(mask, z, np.nan))


def grid_inside(x: Floats, y: Floats, region: Polygon) -> NDArray[np.bool_]:
    """Which points of a grid lie inside a polygon: line by line, where a line along y crosses the polygon.

    Args:
        x: rising, shape (nx,) [mm]
        y: rising, shape (ny,) [mm]
        region: the polygon

    Returns:
        Shape (nx, ny).
    """
    _, low, _, high = region.bounds
    ends = np.empty((x.size, 2, 2))
    ends[:, :, 0] = x[:, None]
    ends[:, 0, 1], ends[:, 1, 1] = low - 1.0, high + 1.0
    parts, line = shapely.get_parts(shapely.intersection(shapely.linestrings(ends), region), return_index=True)
    bounds = shapely.bounds(parts)
    first = np.searchsorted(y, bounds[:, 1], side="left")
    beyond = np.searchsorted(y, bounds[:, 3], side="right")
    column = np.arange(y.size)
    mask = np.zeros((x.size, y.size), dtype=np.bool_)
    # A line crosses most slabs once: one comparison of the whole grid for each crossing of the line that has most.
    crossing = np.arange(line.size) - np.searchsorted(line, line, side="left")
    for number in range(int(crossing.max(initial=-1)) + 1):
        now = crossing == number
        mask[line[now]] |= (column >= first[now, None]) & (column < beyond[now, None])
    return mask


def points_inside(x: Floats, y: Floats, region: Polygon) -> NDArray[np.bool_]:
    """Which points lie inside a polygon; only points in cells that the border crosses are tested one by one.

    Args:
        x: shape (n,) [mm]
        y: shape (n,) [mm]
        region: the polygon

    Returns:
        Shape (n,).
    """
    if x.size < 4 * _CELLS * _CELLS:
        shapely.prepare(region)
        return np.asarray(shapely.contains_xy(region, x, y))
    low_x, low_y, high_x, high_y = region.bounds
    size_x, size_y = (high_x - low_x) / _CELLS, (high_y - low_y) / _CELLS
    corner_x = low_x + size_x * np.arange(_CELLS)
    corner_y = low_y + size_y * np.arange(_CELLS)
    gx, gy = np.meshgrid(corner_x, corner_y, indexing="ij")
    spare = 1e-6 * (size_x + size_y)
    cells = shapely.box(gx - spare, gy - spare, gx + size_x + spare, gy + size_y + spare)
    shapely.prepare(region)
    whole = shapely.contains_properly(region, cells)
    crossed = shapely.intersects(region, cells) & ~whole
    state = np.zeros((_CELLS + 2, _CELLS + 2), dtype=np.int8)
    state[1:-1, 1:-1] = whole + 2 * crossed
    column_x = np.clip(np.floor((x - low_x) / size_x), -1, _CELLS).astype(np.intp)
    column_y = np.clip(np.floor((y - low_y) / size_y), -1, _CELLS).astype(np.intp)
    column_x[x == high_x] = _CELLS - 1
    column_y[y == high_y] = _CELLS - 1
    found = state[column_x + 1, column_y + 1]
    kept: NDArray[np.bool_] = found == 1
    doubtful = np.flatnonzero(found == 2)
    kept[doubtful] = shapely.contains_xy(region, x[doubtful], y[doubtful])
    return kept


def defect_places(defects: Sequence[Defect], face: str) -> tuple[DefectPlace, ...]:
    """The defects that meet a face, as polygons.

    Args:
        defects: as stated
        face: `A` or `B`; a defect of both faces or one that goes through meets either

    Raises:
        SlabwrightError: a defect without a place
    """
    found = []
    for index, defect in enumerate(defects):
        through = defect.depth == "through"
        if defect.face not in (face, "both") and not through:
            continue
        place = _defect_polygon(defect, index)
        depth = None if isinstance(defect.depth, str) else defect.depth
        found.append(DefectPlace(defect.kind, place, depth, through, defect.note))
    return tuple(found)


def _defect_polygon(defect: Defect, index: int) -> Polygon:
    key = f"slab.defects[{index}]"
    if defect.outline is not None and len(defect.outline) > 2:
        place = Polygon(defect.outline)
        if not place.is_valid or place.area == 0:
            raise SlabwrightError(f"{key}.outline: crosses itself or holds no area; list its corners in order round it")
        return place
    if defect.outline is not None:
        return LineString(defect.outline).buffer((defect.width or 1.0) / 2, cap_style="flat")
    if defect.at is not None and defect.diameter is not None:
        return Point(defect.at).buffer(defect.diameter / 2, quad_segs=16)
    raise SlabwrightError(f"{key}: has no place; state at and diameter, or an outline")


def _polygon(corners: Floats, name: str) -> Polygon:
    key = f"slab.outline (face {name})"
    if len(corners) < 3:
        raise SlabwrightError(f"{key}: {len(corners)} corners; an outline has at least three")
    outline = Polygon(corners)
    if not outline.is_valid:
        reason = shapely.is_valid_reason(outline)
        where = reason[reason.find("[") + 1 : reason.find("]")] if "[" in reason else ""
        at = f" near x, y = {where}" if where else ""
        raise SlabwrightError(f"{key}: crosses itself{at}; list its corners in order round the face")
    if outline.area <= 0:
        raise SlabwrightError(f"{key}: holds no area; list its corners in order round the face")
    return shapely.orient_polygons(outline)


def _check_readings_inside(face: Face, outline: Polygon, name: str) -> None:
    kept = len(inside(face, outline))
    if 2 * kept < len(face):
        raise SlabwrightError(
            f"slab.outline (face {name}): {len(face) - kept} of {len(face)} readings lie outside it; "
            "check outline_units, survey_units, and that both start at the same corner"
        )


def _clip_x(shape: BaseGeometry, low: float, high: float) -> BaseGeometry:
    _, bottom, _, top = shape.bounds if not shape.is_empty else (0.0, 0.0, 0.0, 0.0)
    return shape.intersection(shapely.box(low, bottom - 1.0, high, top + 1.0))


def _largest(shape: BaseGeometry) -> tuple[Polygon | None, float]:
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and part.area > 1.0]
    if not parts:
        return None, 0.0
    largest = max(parts, key=lambda part: part.area)
    return largest, float(sum(part.area for part in parts) - largest.area)


def _middle(region: Polygon) -> float:
    low, bottom, high, top = region.bounds
    x = np.linspace(low, high, 66)[1:-1]
    lines = shapely.linestrings([[(at, bottom - 1.0), (at, top + 1.0)] for at in x])
    bounds = shapely.bounds(shapely.intersection(lines, region))
    return float(np.nanmean((bounds[:, 1] + bounds[:, 3]) / 2))
