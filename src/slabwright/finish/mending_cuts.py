"""Cutting a defect off: the piece moved along the slab, or made shorter; tried on the readings before it is offered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.finish.mending_places import Ground, Left, rectangle_of
from slabwright.geometry.faces import FaceName, Scatter
from slabwright.geometry.outlines import largest
from slabwright.job.models import Defect, JobFile
from slabwright.reference.mending import mending_figures
from slabwright.slab.region import defect_places, inside
from slabwright.slab.sampling import spans
from slabwright.top.ground import Ground as PlacingGround
from slabwright.top.ground import ground as placing_ground

_ROUNDING = 1e-6
_TOUCH = 1e-3


@dataclass(frozen=True)
class Cut:
    """A defect cut off.

    Attributes:
        shift: along the piece that clears the defect; None where the slab has no room for it [mm]
        thickness: of the readings that the move costs [mm]
        enters: whether another defect comes into the moved piece
        shorter: what the piece loses where it is not moved [mm]
        left_end: whether it is cut off the left end (smaller x)
        cut_at: x of the readings where the slab is cut [mm]
    """

    shift: float | None
    thickness: float
    enters: bool
    shorter: float
    left_end: bool
    cut_at: float


def cuts_of(ground: Ground, job: JobFile, lefts: Sequence[Left], floor: PlacingGround | None) -> dict[int, Cut]:
    """What cutting each defect off comes to, by its number; empty without a placed piece.

    Args:
        ground: the piece
        job: as stated: trims, margins
        lefts: the defects that stay in it
        floor: where a piece may lie at all, from `floor_of`
    """
    if ground.top is None or floor is None or job.slab is None:
        return {}
    return {left.number: _cut(ground, left, job.slab.defects, floor) for left in lefts}


def floor_of(ground: Ground, job: JobFile) -> PlacingGround | None:
    """Where the piece may lie in the slab, with the margins that it was placed with."""
    stated = job.slab
    if ground.top is None or stated is None:
        return None
    sawn = ground.top.placement.width is not None
    return placing_ground(
        ground.slab.survey,
        edge_margin=0.0 if sawn else stated.edge_margin,
        end_trim=stated.end_trim,
        cut_from=stated.cut_from,
        cut_to=stated.cut_to,
    )


def _cut(ground: Ground, left: Left, defects: Sequence[Defect], floor: PlacingGround) -> Cut:
    assert ground.top is not None
    placed = ground.top.placement
    beyond = mending_figures().cut["beyond"]
    # Along the piece from its left end, in the frame of the readings: the top's own x, whichever face is up.
    start, _, end, _ = ground.in_top(left.shape).bounds
    off_left, off_right = end + beyond, placed.length - start + beyond
    left_end = off_left <= off_right
    shorter = min(off_left, off_right)
    x_start, _, x_end, _ = left.shape.bounds
    cut_at = x_end + beyond if left_end else x_start - beyond
    best: tuple[float, float, bool] | None = None
    for shift in sorted((off_left, -off_right), key=abs):
        if not _has_room(ground, floor, shift):
            continue
        lost = _thickness_lost(ground, floor, shift)
        if lost is None:
            continue
        enters = _another_enters(ground, left, defects, shift)
        if best is None or (enters, lost) < (best[2], best[1] - _ROUNDING):
            best = (shift, lost, enters)
    if best is None:
        return Cut(None, 0.0, False, shorter, left_end, cut_at)
    shift, lost, enters = best
    cut_at = x_end + beyond if shift > 0.0 else x_start - beyond
    return Cut(shift, lost, enters, shorter, shift > 0.0, cut_at)


def _has_room(ground: Ground, floor: PlacingGround, shift: float) -> bool:
    """Whether the moved piece lies in the slab."""
    assert ground.top is not None
    placed = ground.top.placement
    piece = rectangle_of(placed, shift)
    if placed.width is not None:
        return bool(floor.room.buffer(_TOUCH).covers(piece))
    east = np.array([np.cos(np.radians(placed.turn)), np.sin(np.radians(placed.turn))])
    middle = np.array([placed.x, placed.y]) + shift * east
    half = placed.length / 2.0 + _TOUCH
    return bool(((floor.left - middle) @ east <= -half + 2 * _TOUCH).all()) and bool(
        ((floor.right - middle) @ east >= half - 2 * _TOUCH).all()
    )


def _thickness_lost(ground: Ground, floor: PlacingGround, shift: float) -> float | None:
    """Thickness of the readings where the piece lies now, less that where it would lie [mm]; None where it is not read."""
    from slabwright.geometry.strip import widest_strip

    assert ground.top is not None
    placed = ground.top.placement
    piece = rectangle_of(placed, shift)
    faces = []
    for region, face in ((floor.region_a, floor.readings_a), (floor.region_b, floor.readings_b)):
        part = largest(region.intersection(piece))
        here = None if part is None else inside(face, part)
        if not isinstance(here, Scatter) or len(here) < 3 or not spans(here):
            return None
        faces.append(here)
    return max(0.0, placed.thickness_read - widest_strip(faces[0], faces[1]).thickness)


def _another_enters(ground: Ground, left: Left, defects: Sequence[Defect], shift: float) -> bool:
    """Whether the moved piece holds a defect that it does not hold now."""
    assert ground.top is not None
    piece = rectangle_of(ground.top.placement, shift)
    gained = piece.difference(rectangle_of(ground.top.placement))
    for number, defect in enumerate(defects, start=1):
        where = piece if number == left.number else gained
        faces: tuple[FaceName, FaceName] = ("A", "B")
        if any(
            place.place.intersection(where).area > _TOUCH for face in faces for place in defect_places([defect], face)
        ):
            return True
    return False
