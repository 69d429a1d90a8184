"""The slab laid on the bed at its lie: its places, the room above them, its weight and what can carry it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely import Polygon

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Floats
from slabwright.geometry.planes import PlanePair
from slabwright.job.models import Bed
from slabwright.slab.bed_frame import BedFrame
from slabwright.slab.pads import Places, Rooms, laid_out, rooms, stated
from slabwright.slab.resting import Threes, threes
from slabwright.slab.standing import Load, load
from slabwright.slab.survey import Survey


@dataclass(frozen=True)
class Laid:
    """The slab at its lie on the bed.

    Attributes:
        frame: the bed's frame
        places: where stacks may stand, in the bed's frame
        rooms: the underside above them
        borne: weight and stiffness
        three: the threes that can carry, their places about the centre of mass
        zero: height of the lowest wood of the underside in the bed's frame [mm]
        height: of the wood above each place, the lowest wood being 0, shape (n,) [mm]
        reached: corners of the convex region that the cutter reaches, about the centre of mass, shape (c, 2) [mm]
        left_out: stated places, in the slab's frame, with no wood above them
    """

    frame: BedFrame
    places: Places
    rooms: Rooms
    borne: Load
    three: Threes
    zero: float
    height: Floats
    reached: Floats
    left_out: tuple[tuple[float, float], ...]

    @property
    def about(self) -> Floats:
        """The places about the centre of mass, shape (n, 2) [mm]."""
        return self.three.places

    def centred(self, points: Floats) -> Floats:
        """Points of the bed's frame about the centre of mass, heights from the lowest wood, shape (n, 3) [mm]."""
        return np.asarray(points - np.array([self.borne.centre[0], self.borne.centre[1], self.zero]))


def lay(survey: Survey, planes: PlanePair, down_face: Literal["A", "B"], bed: Bed, density: float) -> Laid:
    """Lay the slab on the bed with the planes level.

    Args:
        survey: readings and outlines
        planes: the lie that is wanted level
        down_face: the face that lies on the stacks
        bed: places and their diameter
        density: of the wood at its moisture content [kg/m3]

    Raises:
        SlabwrightError: fewer than three places under the slab, or all in one line
    """
    frame = BedFrame(planes, down_face)
    outline_a, outline_b = frame.outline(survey.outline_a, "A"), frame.outline(survey.outline_b, "B")
    below, above = (outline_b, outline_a) if down_face == "B" else (outline_a, outline_b)
    underside = frame.face(survey.all_b if down_face == "B" else survey.all_a)
    places, left_out = _places(frame, below, bed, underside)
    if len(places.at) < 3:
        raise SlabwrightError(
            f"[bed] pads: {len(places.at)} of the places lie under the slab; three or more that are not in one line hold it"
        )
    found = rooms(underside, places.at, bed.pad_diameter)
    borne = load(survey.all_a, survey.all_b, survey.outline_a, survey.outline_b, frame, density)
    about = places.at - borne.centre
    three = threes(about, np.zeros(2))
    if not len(three):
        # It tips by itself; the three nearest to holding it still show how it would lie.
        three = threes(about, _nearest_held(about))
    if not len(three):
        raise SlabwrightError("[bed] pads: all places lie in one line; a slab stands on three that do not")
    zero = min(float(underside[:, 2].min()) - found.roughness, float(found.height.min()))
    reached = hull_corners(shapely.get_coordinates(above)) - borne.centre
    return Laid(frame, places, found, borne, three, zero, found.height - zero, reached, left_out)


def _places(
    frame: BedFrame, below: Polygon, bed: Bed, underside: Floats
) -> tuple[Places, tuple[tuple[float, float], ...]]:
    if bed.pads is None:
        return laid_out(below, bed.pads_along, bed.pads_across, bed.pad_diameter, underside[:, :2]), ()
    at = np.array([frame.place_to_bed(x, y) for x, y in bed.pads], dtype=np.float64).reshape(-1, 2)
    under = shapely.contains_xy(below, at)
    left_out = tuple(place for place, kept in zip(bed.pads, under, strict=True) if not kept)
    return stated(below, at[under], bed.pad_diameter), left_out


def _nearest_held(about: Floats) -> Floats:
    """The place nearest to the centre of mass, a hair inside all places."""
    hull = shapely.MultiPoint(about).convex_hull
    near = shapely.get_coordinates(shapely.shortest_line(shapely.Point(0.0, 0.0), hull))[-1]
    return np.asarray(near + 1e-6 * (about.mean(axis=0) - near))


def hull_corners(points: Floats) -> Floats:
    """Corners of the convex hull in plan, each once, shape (n, 2)."""
    hull = shapely.MultiPoint(points).convex_hull
    corners = np.asarray(shapely.get_coordinates(hull), dtype=np.float64)
    return corners[:-1] if hull.geom_type == "Polygon" else corners
