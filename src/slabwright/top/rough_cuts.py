"""The slab's centre line, and the first crosscuts square to it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE
from slabwright.geometry.faces import Floats

_STATIONS = 201
_ENDS_LEFT_OUT = 0.05
_HUBER = 1.345
_FAR = 1e5
SPARE = 20.0
"""How far outside the final cut the first one runs [mm]: common practice."""
_OUTLINES = ("job:slab.outline", "job:slab.outline_a", "job:slab.outline_b", "job:slab.survey")


@dataclass(frozen=True)
class CentreLine:
    """The middle line of the long edges, in the frame of the readings."""

    x: float = figure("mm", "a point of it: the middle of the slab's length", how="half way", rests_on=_OUTLINES)
    y: float = figure(
        "mm",
        "and across, on the line",
        how="straight line through the middles of both faces' long edges, least squares; a notch or a limb counts for less",
        rests_on=_OUTLINES,
        sure="top.placement.centre_line.wander",
        change="outlines read closer",
    )
    angle: float = figure(
        "deg",
        "against the x axis of the readings; positive: it rises towards greater y",
        how="slope of that line",
        rests_on=_OUTLINES,
        sure="top.placement.centre_line.wander over half the length",
    )
    wander: float = figure(
        "mm",
        "how far the middle of the edges strays from it, typically",
        how="root mean square of the distances, station by station",
        rests_on=_OUTLINES,
        sure="exact",
    )

    def at(self, x: float) -> float:
        """Where it runs across at a place along [mm]."""
        return self.y + math.tan(math.radians(self.angle)) * (x - self.x)


@dataclass(frozen=True)
class RoughCut:
    """A first crosscut, square to the centre line, outside the final cut."""

    end: Literal["left", "right"] = figure("", "which end of the piece, seen from the show face of the readings' frame")
    x: float = figure(
        "mm",
        "where it crosses the centre line",
        how="final cut's place on the centre line, and the spare outside it",
        rests_on=("top.placement.x", "top.placement.turn", "top.placement.centre_line"),
    )
    y: float = figure("mm", "and across", how="on the centre line", rests_on=("top.placement.centre_line",))
    needed: bool = figure(
        "",
        "whether there is wood enough outside for a first cut; else the final cut is the first one",
        how="the slab reaches further than the spare",
        rests_on=_OUTLINES,
    )
    spare: float = figure(
        "mm",
        "from it to the final cut, on the centre line",
        how="20 mm clear of the final cut over its whole width, or what the slab has there",
        source=COMMON_PRACTICE,
        rests_on=("top.placement.x",),
    )
    width: float = figure("mm", "of the slab along the cut", how="outline along the cut", rests_on=_OUTLINES)
    out_of_square: float = figure(
        "deg",
        "it may be out of square either way and still leave the final cut",
        how="the first cut turned about the centre line until it meets the final one at an edge of the slab",
        rests_on=("top.placement.turn", "top.placement.centre_line", *_OUTLINES),
        sure="exact, for straight cuts",
        change="more spare outside the final cut",
    )
    out_over_width: float = figure(
        "mm",
        "the same as a distance over the width",
        how="width times the tangent of the angle",
        rests_on=("top.placement.rough_cuts",),
    )


def centre_line(outline_a: Polygon, outline_b: Polygon) -> CentreLine:
    """The middle line of the long edges of both faces.

    At stations along the slab, the ends left out, the middle of the outermost edges of both faces; a straight line through
    them by least squares, stations that stray counting for less the farther they do (Huber's weights [1]_).

    Args:
        outline_a: of face A [mm]
        outline_b: of face B [mm]

    References:
        .. [1] P. J. Huber, Robust Statistics, Wiley 1981, section 7.8 (from memory)
    """
    west = max(outline_a.bounds[0], outline_b.bounds[0])
    east = min(outline_a.bounds[2], outline_b.bounds[2])
    if west >= east:
        west, east = outline_a.bounds[0], outline_a.bounds[2]
    inset = _ENDS_LEFT_OUT * (east - west)
    x = np.linspace(west + inset, east - inset, _STATIONS)
    middles = [_middles(outline, x) for outline in (outline_a, outline_b)]
    y = np.nanmean(np.stack(middles), axis=0)
    x, y = x[~np.isnan(y)], y[~np.isnan(y)]
    centre = (west + east) / 2
    weights = np.ones(x.size)
    level = slope = 0.0
    for _ in range(50):
        root = np.sqrt(weights)
        before = (level, slope)
        level, slope = np.linalg.lstsq(np.column_stack([root, root * (x - centre)]), root * y, rcond=None)[0].tolist()
        off = np.abs(y - level - slope * (x - centre))
        scale = 1.4826 * float(np.median(off))
        if scale < 1e-9 or np.allclose(before, (level, slope), rtol=0.0, atol=1e-9):
            break
        weights = np.minimum(1.0, _HUBER * scale / np.maximum(off, 1e-12))
    wander = float(np.sqrt(np.mean((y - level - slope * (x - centre)) ** 2)))
    return CentreLine(centre, level, math.degrees(math.atan(slope)), wander)


def _middles(outline: Polygon, x: Floats) -> Floats:
    _, south, _, north = outline.bounds
    ends = np.empty((x.size, 2, 2))
    ends[:, :, 0] = x[:, None]
    ends[:, 0, 1], ends[:, 1, 1] = south - 1.0, north + 1.0
    limits = shapely.bounds(shapely.intersection(shapely.linestrings(ends), outline))
    return np.asarray((limits[:, 1] + limits[:, 3]) / 2)


def rough_cuts(
    line: CentreLine,
    outline_a: Polygon,
    outline_b: Polygon,
    *,
    x: float,
    y: float,
    turn: float,
    length: float,
    width: float | None,
    spare: float = SPARE,
) -> tuple[RoughCut, RoughCut]:
    """The first crosscuts outside a placed piece, square to the centre line.

    Args:
        line: the centre line
        outline_a: of face A [mm]
        outline_b: of face B [mm]
        x: of the piece's centre [mm]
        y: and across [mm]
        turn: of the piece [deg]
        length: of the piece [mm]
        width: of the piece, or None where the long edges stay live [mm]
        spare: asked for between first and final cut [mm]
    """
    theta, base = math.radians(turn), math.radians(line.angle)
    lean = theta - base
    both = shapely.union(outline_a, outline_b)
    along = np.array([math.cos(base), math.sin(base)])
    across = np.array([-along[1], along[0]])
    origin = np.array([line.x, line.y])
    cuts = []
    ends: tuple[tuple[Literal["left", "right"], float], ...] = (("left", -1.0), ("right", 1.0))
    for end, way in ends:
        middle = np.array([x, y]) + way * length / 2 * np.array([math.cos(theta), math.sin(theta)])
        # In the centre line's frame the final cut is u = u0 - tan(lean) v.
        u_end, v_end = float((middle - origin) @ along), float((middle - origin) @ across)
        u_final = u_end + math.tan(lean) * v_end
        low, high = wood_along(both, origin + u_final * along, across)
        if width is not None:
            # Only where the piece lies must the first cut leave the final one.
            half = width / 2 * math.cos(lean)
            low, high = max(low, v_end - half), min(high, v_end + half)
        outwards = way * math.tan(lean)
        wanted = spare + max(0.0, -outwards * low, -outwards * high)
        room = float((way * ((shapely.get_coordinates(both) - origin) @ along)).max()) - way * u_final
        given = min(wanted, max(room, 0.0))
        at = origin + (u_final + way * given) * along
        wood = wood_along(both, at, across)
        least = _free_slope(given, outwards, low, high)
        cuts.append(
            RoughCut(
                end=end,
                x=float(at[0]),
                y=float(at[1]),
                needed=bool(room > wanted),
                spare=given,
                width=wood[1] - wood[0],
                out_of_square=math.degrees(math.atan(least)),
                out_over_width=least * (wood[1] - wood[0]),
            )
        )
    return cuts[0], cuts[1]


def _free_slope(given: float, lean: float, low: float, high: float) -> float:
    """How far (as a slope, either way) the first cut may be turned before it meets the final one.

    At v along the cut the first one lies given + lean v outside the final one; turned by a slope s it comes |s v| nearer.
    """
    free = [(given + lean * v) / abs(v) for v in (low, high) if abs(v) > 1e-9]
    return max(min(free), 0.0) if free else math.inf


def wood_along(both: BaseGeometry, at: Floats, across: Floats) -> tuple[float, float]:
    """From where to where along a cut there is wood; nought and nought where there is none [mm].

    Args:
        both: the outline [mm]
        at: a place on the cut, that distances count from, shape (2,) [mm]
        across: direction of the cut, shape (2,)
    """
    ends = np.stack([at - _FAR * across, at + _FAR * across])
    places = shapely.get_coordinates(shapely.intersection(shapely.linestrings(ends), both))
    if len(places) == 0:
        return 0.0, 0.0
    v = (places - at) @ across
    return float(v.min()), float(v.max())
