"""Round corners of a polygon found again: a ring of many short sides as straight lines and arcs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from shapely import Polygon
from shapely.geometry.polygon import orient

Point = tuple[float, float]

_MOST_TURN = math.radians(15.0)
_LEAST_TURN = math.radians(0.02)
_MOST_SWEEP = math.radians(170.0)
_LEAST_POINTS = 4
_LARGEST = 1e4
_BELLY = 0.05
"""A straight side that an arc would leave by more than this was meant straight [mm]."""


@dataclass(frozen=True)
class Side:
    """One side of a ring, to where the next begins.

    Attributes:
        start: where it begins [mm]
        sweep: angle of its arc, against the clock positive; nothing for a straight line [rad]
        radius: of the arc; nothing for a straight line [mm]
    """

    start: Point
    sweep: float = 0.0
    radius: float = 0.0

    @property
    def bulge(self) -> float:
        """tan(sweep / 4), as drawing files state an arc."""
        return math.tan(self.sweep / 4.0)


def sides(polygon: Polygon, tolerance: float = 0.002) -> list[Side]:
    """The sides of a polygon's rim, against the clock, its round corners as arcs.

    Args:
        polygon: its rim is read, its holes are not
        tolerance: how far a vertex may lie off an arc [mm]
    """
    ring = [(float(p[0]), float(p[1])) for p in orient(polygon).exterior.coords[:-1]]
    ring = [p for p, before in zip(ring, [ring[-1], *ring[:-1]], strict=True) if math.dist(p, before) > 1e-7]
    count = len(ring)
    longest = max(range(count), key=lambda i: math.dist(ring[i], ring[(i + 1) % count]))
    ring = ring[longest + 1 :] + ring[: longest + 1]
    ring.append(ring[0])
    found: list[Side] = []
    at = 0
    while at < count:
        end, side = _arc_from(ring, at, tolerance)
        found.append(side)
        at = end
    return found


def inside_corner_radii(polygon: Polygon) -> list[float]:
    """Radii of the round corners that turn with the polygon's rim (inside corners of an opening), tightest first [mm]."""
    return sorted(side.radius for side in sides(polygon) if side.sweep > math.radians(10.0))


def _arc_from(ring: Sequence[Point], at: int, tolerance: float) -> tuple[int, Side]:
    """The longest arc that begins at a vertex, and where it ends; a straight side where there is none."""
    straight = at + 1, Side(ring[at])
    if at + _LEAST_POINTS > len(ring):
        return straight
    circle = _circle(ring[at], ring[at + 1], ring[at + 2])
    if circle is None:
        return straight
    (x, y), radius = circle
    way = math.copysign(1.0, _turn(ring[at], ring[at + 1], ring[at + 2]))
    sweep, end = 0.0, at
    for k in range(at, len(ring) - 1):
        here, there = ring[k], ring[k + 1]
        if abs(math.hypot(there[0] - x, there[1] - y) - radius) > tolerance:
            break
        step = math.remainder(
            math.atan2(there[1] - y, there[0] - x) - math.atan2(here[1] - y, here[0] - x), 2.0 * math.pi
        )
        if step * way < _LEAST_TURN or abs(step) > _MOST_TURN or abs(sweep + step) > _MOST_SWEEP:
            break
        if radius * (1.0 - math.cos(step / 2.0)) > _BELLY:
            break
        sweep, end = sweep + step, k + 1
    if end - at + 1 < _LEAST_POINTS:
        return straight
    # From end to end and the sweep: steadier than a circle through three near neighbours.
    return end, Side(ring[at], sweep, math.dist(ring[at], ring[end]) / (2.0 * abs(math.sin(sweep / 2.0))))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _circle(a: Point, b: Point, c: Point) -> tuple[Point, float] | None:
    """Middle and radius of the circle through three points, or None where they are as good as in line."""
    bx, by, cx, cy = b[0] - a[0], b[1] - a[1], c[0] - a[0], c[1] - a[1]
    twice = 2.0 * (bx * cy - by * cx)
    if abs(twice) < 1e-9:
        return None
    b2, c2 = bx * bx + by * by, cx * cx + cy * cy
    x, y = (cy * b2 - by * c2) / twice, (bx * c2 - cx * b2) / twice
    radius = math.hypot(x, y)
    return ((a[0] + x, a[1] + y), radius) if radius < _LARGEST else None
