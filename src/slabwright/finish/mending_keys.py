"""Keys (bow ties) across a check: their sizes, how many, where, and whether there is room for them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Literal

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.finish.mending_places import Ground, Left
from slabwright.finish.mending_results import KeyPlace, Keys
from slabwright.job.mend_models import MendKey
from slabwright.job.top_models import Clearances, Key
from slabwright.quantities import Units, format_length
from slabwright.reference.mending import mending_figures
from slabwright.top.feature_shapes import bow_tie


def key_sizes(asked: MendKey, thickness: float) -> tuple[float, float, float, float]:
    """Length, width, waist and depth of a key: as stated, else shares of the board's thickness [mm].

    Args:
        asked: what the job states
        thickness: of the finished board [mm]
    """
    shares = mending_figures().key
    length = asked.length or round(shares["length"] * thickness)
    width = asked.width or (shares["width"] * length if asked.waist is None else asked.waist / shares["waist"])
    waist = asked.waist or shares["waist"] * width
    depth = asked.depth or shares["depth"] * thickness
    return float(length), float(width), float(waist), float(depth)


def places_along(start: float, end: float, most: float, count: int | None = None) -> list[float]:
    """Middles of keys along a stretch of check: evenly, none of it farther from a key than half the spacing.

    Args:
        start: of the stretch [mm]
        end: of the stretch [mm]
        most: spacing between two keys [mm]
        count: how many; None: as the spacing asks for
    """
    number = count or max(1, math.ceil((end - start) / most - 1e-9))
    return [start + (each + 0.5) * (end - start) / number for each in range(number)]


def keys_across(
    ground: Ground, left: Left, asked: MendKey, clearances: Clearances, units: Units
) -> tuple[Keys | None, str]:
    """Keys across a check, and why there are none.

    Args:
        ground: the piece
        left: the check, as far as it lies in the piece
        asked: sizes that the job states
        clearances: least wood to edges and features
        units: of the words
    """
    shares = mending_figures().key
    if left.defect.kind != "check":
        return None, "keys hold a check together"
    if not left.through and left.length < shares["from_length"] and asked == MendKey():
        return None, f"a check of {format_length(left.length, units, 0)} that does not go through wants none"
    length, width, waist, depth = key_sizes(asked, ground.thickness)
    if waist >= width:
        return None, "the stated waist is not less than the width at its ends"
    spacing = asked.spacing or min(shares["spacing"] * length, shares["spacing_most"])
    shape, piece = ground.in_top(left.shape), ground.in_top(ground.area[left.face])
    middle, along = _axis(shape)
    reach = np.array([(point - middle) @ along for point in shapely.get_coordinates(shape)])
    start, end = float(reach.min()), float(reach.max())
    inset = clearances.edge + width / 2.0
    from_start, from_end = start, end
    if piece.boundary.distance(shapely.Point(middle + start * along)) < inset:
        from_start = start + inset
    if piece.boundary.distance(shapely.Point(middle + end * along)) < inset:
        from_end = end - inset
    if from_start > from_end:
        from_start = from_end = (start + end) / 2.0
    turn = math.degrees(math.atan2(along[1], along[0])) + 90.0
    turn = (turn + 90.0) % 180.0 - 90.0
    turn = turn if turn > -90.0 + 1e-9 else turn + 180.0
    model = Key(kind="key", name="key", length=length, width=width, waist=waist, depth=depth, turn=turn)
    middles = [middle + at * along for at in places_along(from_start, from_end, spacing, asked.count)]
    outlines = [bow_tie(model, (float(x), float(y))) for x, y in middles]
    face: Literal["show", "underside"] = "underside" if left.side == "underside" else "show"
    keys = Keys(
        face=face,
        length=length,
        width=width,
        waist=waist,
        depth=depth,
        spacing=(from_end - from_start) / len(middles),
        turn=turn,
        places=tuple(_place(ground, at, outline) for at, outline in zip(middles, outlines, strict=True)),
    )
    return keys, _in_the_way(ground, piece, outlines, keys, clearances, units)


def _axis(shape: BaseGeometry) -> tuple[np.ndarray, np.ndarray]:
    """Middle of a check and the direction that it runs in, towards greater x."""
    around = shapely.get_coordinates(shape.minimum_rotated_rectangle)
    sides = np.diff(around[:3], axis=0)
    along = sides[int(np.hypot(sides[:, 0], sides[:, 1]).argmax())]
    along = along / np.hypot(along[0], along[1])
    return shapely.get_coordinates(shape.minimum_rotated_rectangle.centroid)[0], along if along[0] >= 0 else -along


def _place(ground: Ground, at: np.ndarray, outline: Polygon) -> KeyPlace:
    here = shapely.get_coordinates(ground.from_top(shapely.Point(at)))[0]
    placed = ground.top is not None
    return KeyPlace(
        x=float(here[0]),
        y=float(here[1]),
        along=float(at[0]) if placed else None,
        across=float(at[1]) if placed else None,
        outline=ground.from_top(outline),
    )


def _in_the_way(
    ground: Ground,
    piece: BaseGeometry,
    outlines: Sequence[Polygon],
    keys: Keys,
    clearances: Clearances,
    units: Units,
) -> str:
    """Why keys cannot lie where they would; empty where they can."""
    if keys.depth >= ground.thickness:
        return f"deeper than the board, which is {format_length(ground.thickness, units)} thick"
    if ground.thickness - keys.depth < clearances.channel:
        return f"leaves less than {format_length(clearances.channel, units)} of wood below"
    inner = piece.buffer(-clearances.edge)
    if not all(inner.covers(outline) for outline in outlines):
        return f"a key comes nearer than {format_length(clearances.edge, units)} to an edge"
    for one, other in itertools.pairwise(outlines):
        if one.distance(other) < clearances.between:
            return f"keys come nearer than {format_length(clearances.between, units)} to each other"
    upper, lower = (0.0, keys.depth) if keys.face == "show" else (ground.thickness - keys.depth, ground.thickness)
    for feature in ground.top.features if ground.top is not None else ():
        if feature.kind == "key":
            continue
        for solid in feature.solids:
            apart = max(solid.upper - lower, upper - solid.lower)
            beside = min(solid.shape().distance(outline) for outline in outlines)
            if apart < clearances.channel and beside < clearances.between:
                return f"'{feature.name}' is in the way"
    return ""


def stated_keys(ground: Ground, left: Left) -> tuple[str, ...]:
    """Keys among the top's features that lie across a check."""
    if ground.top is None or left.defect.kind != "check":
        return ()
    shape = ground.in_top(left.shape)
    return tuple(
        feature.name
        for feature in ground.top.features
        if feature.kind == "key" and any(solid.shape().intersects(shape) for solid in feature.solids)
    )
