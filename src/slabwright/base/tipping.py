"""What tips a table: rigid statics about the lines between its feet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from slabwright.base.base_results import Tip, TipPush
from slabwright.findings import SlabwrightError

if TYPE_CHECKING:
    from shapely import Polygon

_EDGES = (
    ("left end", -1.0, 0.0),
    ("right end", 1.0, 0.0),
    ("near edge", 0.0, -1.0),
    ("far edge", 0.0, 1.0),
    ("near left corner", -1.0, -1.0),
    ("near right corner", 1.0, -1.0),
    ("far left corner", -1.0, 1.0),
    ("far right corner", 1.0, 1.0),
)


@dataclass(frozen=True)
class Line:
    """A line between two feet that a table can turn over; points with n p > at lie outside it.

    Attributes:
        normal: outward, of length one
        at: distance of the line along it [mm]
        feet: their names
    """

    normal: tuple[float, float]
    at: float
    feet: tuple[str, str]

    def outside(self, point: tuple[float, float]) -> float:
        """How far a point lies outside the line [mm]."""
        return self.normal[0] * point[0] + self.normal[1] * point[1] - self.at


def tipping_lines(feet: Sequence[tuple[str, tuple[float, float]]]) -> tuple[Line, ...]:
    """The lines round the outermost feet, in their order round the table (counter-clockwise).

    Args:
        feet: name and place of each [mm]

    Raises:
        SlabwrightError: they stand in a line, or are fewer than three.
    """
    points = sorted({(round(x, 6), round(y, 6)): name for name, (x, y) in feet}.items())

    def half(ordered: list[tuple[tuple[float, float], str]]) -> list[tuple[tuple[float, float], str]]:
        chain: list[tuple[tuple[float, float], str]] = []
        for point in ordered:
            while len(chain) > 1 and _turn(chain[-2][0], chain[-1][0], point[0]) <= 1e-6:
                chain.pop()
            chain.append(point)
        return chain[:-1]

    ring = half(points) + half(points[::-1])
    if len(ring) < 3:
        raise SlabwrightError(
            "base.feet: all feet stand in one line: the table falls over; at least three must stand apart"
        )
    lines = []
    for (first, name), (last, other) in pairwise([*ring, ring[0]]):
        length = math.dist(first, last)
        normal = ((last[1] - first[1]) / length, (first[0] - last[0]) / length)
        lines.append(Line(normal, normal[0] * first[0] + normal[1] * first[1], (name, other)))
    return tuple(lines)


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def tipping_load(
    lines: Sequence[Line], weight: float, middle: tuple[float, float], point: tuple[float, float]
) -> tuple[float | None, Line | None]:
    """The load at a place that tips a table, and the line that it turns over.

    P = W d_W / d_P, the least over the lines: d_W of the weight's middle inside, d_P of the load outside. None where the place
    lies inside all of them; 0 where the table falls by itself.

    Args:
        lines: from `tipping_lines`
        weight: of the whole table [N]
        middle: its centre of gravity in plan [mm]
        point: where the load stands [mm]
    """
    least, over = math.inf, None
    for line in lines:
        inside, outside = -line.outside(middle), line.outside(point)
        if inside <= 0.0:
            return 0.0, line
        if outside > 0.0 and weight * inside / outside < least:
            least, over = weight * inside / outside, line
    return (least, over) if over is not None else (None, None)


def tips(
    lines: Sequence[Line], weight: float, middle: tuple[float, float], outline: Polygon, edge_line: float
) -> tuple[tuple[Tip, ...], float | None]:
    """Loads that tip a table at each edge and corner, and the least at any place of the edge.

    Args:
        lines: from `tipping_lines`
        weight: of the whole table [N]
        middle: its centre of gravity in plan [mm]
        outline: of the top, x from its middle, y from its centre line [mm]
        edge_line: how far in from the edge the load stands [mm]
    """
    import shapely

    inner = outline.buffer(-edge_line, join_style="mitre")
    if inner.is_empty or not isinstance(inner, shapely.Polygon):
        inner = outline
    corners = [(float(x), float(y)) for x, y in inner.exterior.coords[:-1]]
    west, south, east, north = inner.bounds
    found = []
    for place, to_x, to_y in _EDGES:
        if to_x and to_y:
            point = max(
                corners, key=lambda p: to_x * (p[0] - (west + east) / 2) / (east - west) + to_y * p[1] / (north - south)
            )
        else:
            ray = shapely.LineString([(0.0, 0.0), (2.0 * east * to_x, 2.0 * max(north, -south) * to_y)])
            reached = ray.intersection(inner).bounds
            point = (
                (0.0, reached[3] if to_y > 0 else reached[1]) if to_y else (reached[2] if to_x > 0 else reached[0], 0.0)
            )
        load, over = tipping_load(lines, weight, middle, point)
        found.append(Tip(place, point[0], point[1], load, " and ".join(over.feet) if over else ""))
    loads = [tipping_load(lines, weight, middle, corner)[0] for corner in corners]
    loads += [tip.load for tip in found]
    least = [load for load in loads if load is not None]
    return tuple(found), min(least) if least else None


def tipping_push(lines: Sequence[Line], weight: float, middle: tuple[float, float], height: float) -> TipPush:
    """Level pushes at the top that tip a table, the lesser of both directions each way: P = W d_W / (h n)."""
    found = []
    for axis in (0, 1):
        pushes = [
            weight * -line.outside(middle) / (height * abs(line.normal[axis]))
            for line in lines
            if abs(line.normal[axis]) > 1e-9
        ]
        found.append(min(pushes, default=None))
    return TipPush(found[0], found[1])
