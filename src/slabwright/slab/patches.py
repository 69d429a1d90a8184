"""Thickness against fill of a slab, the separate patches of a chosen point, and what to know about them."""

from __future__ import annotations

import dataclasses
import itertools
import math
from dataclasses import dataclass
from typing import Literal, cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from slabwright.geometry.cells import reading_areas, rectangle_areas
from slabwright.geometry.drawn import drawn_between
from slabwright.geometry.faces import Face, Floats, Grid
from slabwright.geometry.front import FilledLie, best_at_price, bound_at, front, price_areas
from slabwright.geometry.lowest import Tiles, tiles
from slabwright.geometry.planes import PlanePair
from slabwright.job.models import Epoxy
from slabwright.slab.patch import FrontPoint, Patch

SPECK = 25.0
"""Smallest patch that is listed on its own [mm2]."""
LEAST_VOLUME = 1.0
"""Of fill between two points that are told apart [mm3]."""
STEEP = 0.003
"""Between a point and its bound from which it is sought again in its own frame [mm]."""
GREATEST_SHARE = 0.6
"""Of the show face, at the end of thickness against fill."""
FEW_READINGS = 400
"""On a grid of fewer readings the patches are drawn between the readings, as on scattered ones."""
_TURN = np.diag([1.0, -1.0, -1.0])
_UPSIDE_DOWN = np.diag([1.0, 1.0, -1.0])


@dataclass(frozen=True)
class Specks:
    """Filled places too small to list: pores and scratches that go with the finish.

    Attributes:
        count: how many
        area: of all [mm2]
        volume: missing wood of all [mm3]
    """

    count: int
    area: float
    volume: float


def patch_front(
    face_a: Face,
    face_b: Face,
    region_a: Polygon,
    lie: PlanePair,
    *,
    show_face: Literal["A", "B"] = "A",
    points: int = 30,
    underside_area: float | None = None,
    region_b: Polygon | None = None,
) -> tuple[FrontPoint, ...]:
    """Thickness against fill, from no fill on.

    The readings are turned into the frame of the lie without fill. There, for a price of 1/K per volume, the sum of thickness
    and price is concave in the two tilts and its greatest value is found with a bound; see `geometry.front`. Fill is counted
    on the show face. The underside keeps skips only where they have a price.

    Args:
        face_a: readings of face A that count
        face_b: readings of face B that count
        region_a: clean region of face A
        lie: planes of the thickest board without fill
        show_face: the face that will be seen, which is filled
        points: how many, with the one without fill; on few readings some fall together and are left out
        underside_area: K of the underside's own price, where skips on it have one [mm2]
        region_b: clean region of face B; face A's if left out

    Returns:
        Points of rising volume. Each one's thickness is at most `bound`; K rises from the smallest cell (or 1/5000 of the face)
        to 60 % of the face. A price is left out where readings of the underside lie all to one side of the fill, so that the
        more the slab leans the better.
    """
    region_b = region_a if region_b is None else region_b
    if show_face == "A":
        faces = _Faces(face_a, face_b, reading_areas(face_a, region_a), None, region_a, "A")
        under, below = face_b, region_b
    else:
        faces = _Faces(face_b, face_a, reading_areas(face_b, region_b), None, region_b, "B")
        under, below = face_a, region_a
    skip = underside_area or 0.0
    if skip > 0.0:
        faces = dataclasses.replace(faces, under_areas=reading_areas(under, below))
    turned = faces.turned(lie)
    unfilled = front(turned.show, turned.under, (0.0,))
    prices = price_areas(turned.show, max(points - 1, 1), GREATEST_SHARE)
    filled = front(turned.show, turned.under, prices, skip_area=skip)
    found = [
        FrontPoint(
            fill_area=0.0,
            fill_volume=0.0,
            thickness=float(lie.thickness),
            bound=float(max(unfilled[0].limit, lie.thickness)),
            deepest=0.0,
            price_area=0.0,
            planes=lie,
        )
    ]
    for filled_lie in sorted(filled, key=lambda each: each.volume):
        if math.isfinite(filled_lie.limit) and filled_lie.volume > found[-1].fill_volume + LEAST_VOLUME:
            point = turned.point(filled_lie, filled, skip)
            if point.bound - point.thickness > STEEP:
                point = _in_its_own_frame(faces, point, skip)
            found.append(point)
    return tuple(found)


@dataclass(frozen=True)
class _Turned:
    """Both faces in the frame of a lie, the show face up; the underside's heights turned."""

    show: Tiles
    under: Tiles
    frame: Floats
    centre: Floats

    def point(self, lie: FilledLie, all_lies: tuple[FilledLie, ...], skip_area: float) -> FrontPoint:
        """A lie of this frame as a point of thickness against fill, its planes in the slab's frame."""
        normal = self.frame.T @ np.array([-lie.a, -lie.b, 1.0])
        shift = lie.a * self.centre[0] + lie.b * self.centre[1]
        lower, upper = sorted(((lie.c - shift) / normal[2], (lie.d - shift) / normal[2]))
        return FrontPoint(
            fill_area=lie.area,
            fill_volume=lie.volume,
            thickness=lie.thickness,
            bound=max(bound_at(all_lies, lie.volume, lie.skip_volume, skip_area), lie.thickness),
            deepest=lie.deepest,
            price_area=lie.price_area,
            planes=PlanePair(float(-normal[0] / normal[2]), float(-normal[1] / normal[2]), float(upper), float(lower)),
            skip_volume=lie.skip_volume,
        )


@dataclass(frozen=True)
class _Faces:
    """The face that is seen and the one that is not, in the slab's frame, with the area of each reading."""

    show: Face
    under: Face
    show_areas: Floats
    under_areas: Floats | None
    region: Polygon
    show_face: Literal["A", "B"]

    def turned(self, lie: PlanePair) -> _Turned:
        """Both faces in the frame of a lie."""
        over = PlanePair(-lie.a, lie.b, -lie.d, -lie.c)
        frame = lie.rotation() if self.show_face == "A" else over.rotation() @ _TURN
        middle = frame @ np.array([self.region.centroid.x, self.region.centroid.y, 0.5 * (lie.c + lie.d)])
        centre = np.array([middle[0], middle[1], 0.0])
        under_areas = np.ones_like(self.under.z) if self.under_areas is None else self.under_areas * lie.slant
        return _Turned(
            # A cell of the slab's frame is greater by the slant on the lie's plane; the volume stays the same.
            show=tiles(self.show, self.show_areas * lie.slant, frame, centre),
            under=tiles(self.under, under_areas, _UPSIDE_DOWN @ frame, centre),
            frame=frame,
            centre=centre,
        )


def _in_its_own_frame(faces: _Faces, point: FrontPoint, skip_area: float) -> FrontPoint:
    """A point that leans much against the lie without fill, sought again in the frame of its own planes.

    Heights of a frame exceed normal distances by the slant, so the bound of any frame holds; that of the nearest is closest.
    """
    turned = faces.turned(point.planes)
    lie = best_at_price(turned.show, turned.under, point.price_area, skip_area=skip_area)
    closer = turned.point(lie, (lie,), skip_area)
    return closer if closer.bound - closer.thickness < point.bound - point.thickness else point


def patches(
    face: Face,
    region: Polygon,
    point: FrontPoint,
    show_face: Literal["A", "B"],
    least_depth: float,
    epoxy: Epoxy,
) -> tuple[Patch, ...]:
    """The separate filled places of a chosen point, largest first; specks under 25 mm2 are left to `specks`.

    Args:
        face: readings of the show face that count
        region: clean region of the show face
        point: the chosen point of thickness against fill
        show_face: the face that will be seen
        least_depth: shallower fill is undercut to this depth [mm]
        epoxy: the resin's sheet
    """
    return find_patches(face, region, point, show_face, least_depth, epoxy)[0]


def find_patches(
    face: Face,
    region: Polygon,
    point: FrontPoint,
    show_face: Literal["A", "B"],
    least_depth: float,
    epoxy: Epoxy,
) -> tuple[tuple[Patch, ...], Specks]:
    """The separate filled places of a chosen point, and the total of those too small to list; see `patches`."""
    from scipy import ndimage

    if point.fill_volume <= 0.0:
        return (), Specks(0, 0.0, 0.0)
    grid, areas, border = _heights(face, region)
    slant = point.planes.slant
    x, y = grid.x[:, None], grid.y[None, :]
    above = point.planes.upper(x, y) - grid.z if show_face == "A" else grid.z - point.planes.lower(x, y)
    depth = above / slant
    filled = (depth > 1e-9) & (areas > 0.0)
    label, count = cast(tuple[NDArray[np.int32], int], ndimage.label(filled))
    at = label[filled]
    area, shallow = areas[filled] * slant, depth[filled]
    row, column = np.nonzero(filled)

    def total(values: Floats) -> Floats:
        sums: Floats = np.bincount(at, values, count + 1).astype(np.float64)
        return sums

    area_of, missing_of = total(area), total(area * shallow)
    volume_of = total(area * np.maximum(shallow, least_depth))
    x_of, y_of = total(area * grid.x[row]), total(area * grid.y[column])
    at_edge = np.bincount(at, border[filled], count + 1) > 0
    deepest_of = np.zeros(count + 1)
    np.maximum.at(deepest_of, at, shallow)
    windows = cast(list[tuple[slice, slice]], ndimage.find_objects(label))
    listed = [number for number in range(1, count + 1) if area_of[number] >= SPECK]
    small = np.setdiff1d(np.arange(1, count + 1), listed)
    found = []
    for place, number in enumerate(sorted(listed, key=lambda each: -area_of[each])):
        middle = np.array([x_of[number], y_of[number]]) / area_of[number]
        deep = max(float(deepest_of[number]), least_depth)
        seat_x, seat_y = _on_plane(middle[None, :], point.planes, show_face)[0]
        outline = _outline(grid, depth, label, number, windows[number - 1], region)
        found.append(
            Patch(
                name=letters(place),
                x=float(seat_x),
                y=float(seat_y),
                area=float(area_of[number]),
                volume=float(volume_of[number]),
                missing=float(missing_of[number]),
                depth=deep,
                meets_edge=bool(at_edge[number]),
                hole=bool(deepest_of[number] >= point.thickness),
                pours=max(1, math.ceil(deep / epoxy.greatest_pour - 1e-9)),
                resin=float(volume_of[number]) * 1e-6 * epoxy.density * (1.0 + epoxy.waste),
                outline=shapely.transform(outline, lambda corners: _on_plane(corners, point.planes, show_face)),
            )
        )
    return tuple(found), Specks(len(small), float(area_of[small].sum()), float(missing_of[small].sum()))


def letters(number: int) -> str:
    """A, B, ... Z, AA, AB, ... for 0, 1, ..."""
    name = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def _on_plane(corners: Floats, planes: PlanePair, show_face: Literal["A", "B"]) -> Floats:
    """Places of the slab's frame, put on the show plane and turned into the seat's frame: x and y."""
    x, y = corners[:, 0], corners[:, 1]
    z = planes.upper(x, y) if show_face == "A" else planes.lower(x, y)
    return planes.to_seat(np.column_stack([x, y, z]))[:, :2]


def _heights(face: Face, region: Polygon) -> tuple[Grid, Floats, NDArray[np.bool_]]:
    """Heights on a grid, the area of each of its places in the region, and whether the region's border runs through it."""
    if isinstance(face, Grid) and len(face) >= FEW_READINGS:
        grid, areas = face, reading_areas(face, region)
    else:
        grid = drawn_between(face, region)
        areas = rectangle_areas(_midways(grid.x), _midways(grid.y), region)
    edges_x, edges_y = _midways(grid.x), _midways(grid.y)
    whole = np.diff(edges_x)[:, None] * np.diff(edges_y)[None, :]
    return grid, areas, rectangle_areas(edges_x, edges_y, region) < 0.999 * whole


def _midways(lines: Floats) -> Floats:
    """Borders of a grid's cells, as wide outside the outermost lines as inside."""
    if len(lines) < 2:
        return np.array([lines[0] - 0.5, lines[0] + 0.5])
    middle = 0.5 * (lines[:-1] + lines[1:])
    return np.concatenate([[2 * lines[0] - middle[0]], middle, [2 * lines[-1] - middle[-1]]])


def _outline(
    grid: Grid, depth: Floats, label: NDArray[np.int32], number: int, window: tuple[slice, slice], region: Polygon
) -> Polygon:
    """Outline of one patch in the slab's frame: where its depth passes zero, clipped to the region."""
    from contourpy import FillType, contour_generator

    lines, cut, missing = [], [], []
    for span, values in zip(window, (grid.x, grid.y), strict=True):
        start, stop = span.start - 1, span.stop + 1
        step = float(values[1] - values[0]) if len(values) > 1 else 1.0
        before = [values[0] - step] if start < 0 else []
        after = [values[-1] + step] if stop > len(values) else []
        cut.append(slice(max(start, 0), stop))
        missing.append((len(before), len(after)))
        lines.append(np.concatenate([before, values[cut[-1]], after]))
    part = depth[cut[0], cut[1]]
    other = (part > 0.0) & (label[cut[0], cut[1]] != number)
    # Past the grid, and where nothing was read or another patch begins, the outline passes close by.
    part = np.pad(np.where(other | np.isnan(part), -1e-9, part), missing, constant_values=-1e-9)
    drawn = contour_generator(lines[0], lines[1], part.T, fill_type=FillType.OuterOffset, corner_mask=False)
    corners, breaks = drawn.filled(0.0, np.inf)[:2]
    shapes = [
        Polygon(rings[0], rings[1:])
        for points, ends in zip(corners, breaks, strict=True)
        if points is not None and ends is not None
        for rings in [[points[start:stop] for start, stop in itertools.pairwise(ends)]]
    ]
    clipped = shapely.intersection(shapely.union_all(shapely.make_valid(np.array(shapes))), region)
    pieces = [piece for piece in shapely.get_parts(clipped) if isinstance(piece, Polygon)]
    return max(pieces, key=lambda piece: piece.area) if pieces else Polygon()
