"""How the slab lies on the machine's bed in one clamping, and the field of wood that the cutter meets there."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from slabwright.geometry.between import in_triangles
from slabwright.geometry.faces import FaceName, Floats, as_scatter, other
from slabwright.slab.bed_frame import BedFrame
from slabwright.slab.results import SlabPlan
from slabwright.slab.stock import cell_middles

CELL = 5.0
"""Side of a cell of the stock [mm]."""
_CELLS_ALONG = 600
UNREAD_MARGIN = 1.0
"""What is added to the highest reading where nothing was read [mm]."""
_MOST_TO_TRIANGULATE = 20_000


@dataclass(frozen=True)
class Lying:
    """Where the slab is in one clamping.

    Attributes:
        frame: turns the slab's frame into the lie that is wanted level
        standing: plane (a, b, c): what lies at z of that frame stands at z + a x + b y + c above the bed, on its stacks
        turned: whether it has been turned over about the grain since it lay on its stacks
        rise: a height as the slab stood on its stacks becomes rise + height, or rise - height where it is turned [mm]
        shift: added to x and y, so that the slab lies where it is on the bed [mm]
    """

    frame: BedFrame
    standing: tuple[float, float, float]
    turned: bool = False
    rise: float = 0.0
    shift: tuple[float, float] = (0.0, 0.0)

    @property
    def up(self) -> FaceName:
        """The face that is up."""
        return self.frame.down_face if self.turned else other(self.frame.down_face)

    def to_machine(self, points: Floats) -> Floats:
        """Points of the slab's frame, shape (n, 3), in the machine's frame [mm]."""
        at = self.frame.to_bed(points)
        a, b, c = self.standing
        height = at[:, 2] + a * at[:, 0] + b * at[:, 1] + c
        sign = -1.0 if self.turned else 1.0
        return np.column_stack([at[:, 0] + self.shift[0], sign * at[:, 1] + self.shift[1], self.rise + sign * height])

    def outline(self, outline: Polygon, face: FaceName) -> Polygon:
        """An outline of a face, drawn on that face's plane, seen from above in the machine's frame."""
        sign = -1.0 if self.turned else 1.0
        return shapely.transform(
            self.frame.outline(outline, face), lambda at: at * np.array([1.0, sign]) + np.array(self.shift)
        )


def lying_on_stacks(slab: SlabPlan, *, rails_follow: bool = False) -> Lying:
    """The slab on its stacks, not yet moved to its place on the bed.

    Args:
        slab: with shims
        rails_follow: whether the rails of a sled are set parallel to the slab as it really stands, so that it counts as level

    Raises:
        ValueError: the slab has no stacks
    """
    if slab.shims is None:
        raise ValueError("the slab has no stacks")
    frame = BedFrame(slab.seat.planes, other(slab.first_face))
    a, b, c = (float(value) for value in slab.shims.standing)
    if rails_follow:
        x, y = middle(slab, frame)
        a, b, c = 0.0, 0.0, c + a * x + b * y
    return Lying(frame, (a, b, c))


def middle(slab: SlabPlan, frame: BedFrame) -> tuple[float, float]:
    """Middle of the clean region of the face that is cut first, in the bed's frame [mm]."""
    region = slab.survey.region_a if slab.first_face == "A" else slab.survey.region_b
    centre = frame.outline(region, slab.first_face).centroid
    return float(centre.x), float(centre.y)


def first_plane(slab: SlabPlan, lying: Lying) -> float:
    """Height above the bed of the first face's finished plane, on the stacks [mm].

    The plane is level on the machine and the slab stands a little out of it; they agree at the middle of the clean region.
    """
    planes = slab.seat.planes
    level = planes.c / planes.slant if slab.first_face == "A" else -planes.d / planes.slant
    x, y = middle(slab, lying.frame)
    a, b, c = lying.standing
    return level + a * x + b * y + c


def whole_outline(slab: SlabPlan, lying: Lying) -> Polygon:
    """Both faces' outlines together, live edges and ends too, seen from above in the machine's frame."""
    both = shapely.union(lying.outline(slab.survey.outline_a, "A"), lying.outline(slab.survey.outline_b, "B"))
    largest = max(shapely.get_parts(both), key=shapely.area)
    return Polygon(shapely.get_exterior_ring(largest))


@dataclass(frozen=True)
class Field:
    """Height of the wood of the face that is up, cell by cell.

    Attributes:
        x: middles of the cells, shape (nx,) [mm]
        y: middles of the cells, shape (ny,) [mm]
        top: height, shape (nx, ny); nan where there is no wood [mm]
        known: where the height rests on readings near it, shape (nx, ny)
    """

    x: Floats
    y: Floats
    top: Floats
    known: NDArray[np.bool_]


def field(slab: SlabPlan, lying: Lying) -> Field:
    """Height of the wood in the machine's frame, as it was read: of the face that is up.

    Linear between readings; never less than the highest reading that falls into a cell. What lies farther from a reading than
    readings usually lie apart counts as the highest reading and a margin.
    """
    face = as_scatter(slab.survey.all_a if lying.up == "A" else slab.survey.all_b)
    points = lying.to_machine(np.column_stack([face.x, face.y, face.z]))
    outline = whole_outline(slab, lying)
    x_least, y_least, x_most, y_most = outline.bounds
    step = max(CELL, (x_most - x_least) / _CELLS_ALONG)
    x, y = cell_middles(x_least, x_most, step), cell_middles(y_least, y_most, step)
    centre_x, centre_y = np.meshgrid(x, y, indexing="ij")
    shapely.prepare(outline)
    # A cell counts as wood where any of its corners or its middle does: no wood is left out of the map.
    wood = shapely.contains_xy(outline, centre_x, centre_y)
    for side_x, side_y in ((-0.5, -0.5), (-0.5, 0.5), (0.5, -0.5), (0.5, 0.5)):
        wood |= shapely.contains_xy(outline, centre_x + side_x * step, centre_y + side_y * step)
    top = np.full(centre_x.shape, np.nan)
    known = np.zeros(centre_x.shape, dtype=bool)
    top[wood], known[wood] = heights(points, np.column_stack([centre_x[wood], centre_y[wood]]))

    # A reading on the far border is one of the last cell.
    row = np.minimum(np.floor((points[:, 0] - x_least) / step).astype(int), x.size - 1)
    column = np.minimum(np.floor((points[:, 1] - y_least) / step).astype(int), y.size - 1)
    on = (row >= 0) & (points[:, 0] <= x_most + 1e-6) & (column >= 0) & (points[:, 1] <= y_most + 1e-6)
    highest = np.full(top.shape, -np.inf)
    np.maximum.at(highest, (row[on], column[on]), points[on, 2])
    read = np.isfinite(highest) & wood
    top[read] = np.where(known[read], np.maximum(top[read], highest[read]), highest[read])
    known |= read
    top[wood & ~known] = float(points[:, 2].max()) + UNREAD_MARGIN
    return Field(x, y, top, known)


def heights(points: Floats, places: Floats) -> tuple[Floats, NDArray[np.bool_]]:
    """Height between readings at places, and whether it rests on readings near them.

    Near is what the readings themselves call near: the middle circle round three neighbouring readings has the radius g (half
    over three of them, by area). Between readings a place within 1.5 g of one is known, beyond the outermost ones within g.

    Args:
        points: readings, shape (n, 3) [mm]
        places: shape (m, 2) [mm]
    """
    from scipy.spatial import Delaunay, cKDTree

    kept = points if len(points) <= _MOST_TO_TRIANGULATE else _highest_of_bins(points)
    # Near the origin: Qhull loses figures far from it.
    origin = kept[:, :2].mean(axis=0)
    mesh = Delaunay(kept[:, :2] - origin)
    between = in_triangles(kept[:, :2] - origin, kept[:, 2], places - origin, mesh)
    away, nearest = cKDTree(kept[:, :2]).query(places)
    inside = ~np.isnan(between)
    near = _usual_gap(kept[:, :2], mesh.simplices)
    height = np.where(inside, between, kept[nearest, 2])
    return height, away <= np.where(inside, 1.5, 1.0) * near * (1.0 + 1e-9)


def _usual_gap(points: Floats, triangles: NDArray[np.int32]) -> float:
    """Radius of the circle round three neighbouring readings: the middle one, by area."""
    corners = points[triangles]
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = 0.5 * np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
    real = area > 1e-9 * sides.max(axis=1) ** 2
    radius, weight = sides[real].prod(axis=1) / (4.0 * area[real]), area[real]
    order = np.argsort(radius)
    middle_one = int(np.searchsorted(np.cumsum(weight[order]), 0.5 * weight.sum()))
    return float(radius[order[min(middle_one, order.size - 1)]])


def _highest_of_bins(points: Floats) -> Floats:
    """The highest reading of each square bin, with as many bins as can be triangulated quickly."""
    least, span = points[:, :2].min(axis=0), np.ptp(points[:, :2], axis=0)
    side = math.sqrt(float(span.prod()) / _MOST_TO_TRIANGULATE) or 1.0
    bins = np.floor((points[:, :2] - least) / side).astype(np.int64)
    number = bins[:, 0] * (int(bins[:, 1].max()) + 1) + bins[:, 1]
    order = np.lexsort((points[:, 2], number))
    last = np.flatnonzero(np.diff(number[order], append=-1))
    return points[order[last]]
