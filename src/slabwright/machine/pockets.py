"""Where the cutter's middle goes to clear a shape: rings at even distances from the wall, and proof that they clear it all."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from slabwright.geometry.faces import Floats

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

CHORD = 0.004
"""How far a chord may leave its arc along a wall [mm]."""
ROUGH_CHORD = 0.05
"""How far a chord may leave its arc where `wall` is left [mm]."""
SAME = 0.005
"""A cutter that differs from a width by less is as wide as it [mm]."""


@dataclass(frozen=True)
class Cut:
    """Wood to be taken out, upright between two heights, for one clamping.

    Attributes:
        name: of the feature that it belongs to
        kind: what it is, such as `pocket`, `insert`, `through hole`, `channel`, `key`
        core: a point (round hole), a line (channel) or a polygon; in the drawing, or on the machine [mm]
        radius: by which the core is grown all round [mm]
        top: height at which it begins above the face that is down; what lies over it was cut before [mm]
        floor: height of its floor above the face that is down; 0: through [mm]
    """

    name: str
    kind: str
    core: BaseGeometry
    radius: float
    top: float
    floor: float

    @property
    def round_hole(self) -> bool:
        """Whether it is a round hole."""
        return self.core.geom_type == "Point"

    def shape(self) -> BaseGeometry:
        """In plan."""
        return grown(self.core, self.radius)

    def shrunk(self, by: float, chord: float = CHORD) -> BaseGeometry:
        """The shape less a margin all round: where the middle of a round cutter of that radius may be.

        Of a convex core grown by R, less e all round, stays the core grown by R - e. Of any other shape more may stay than
        that, inside a bend, so it is shrunk as it is drawn.
        """
        if _convex(self.core):
            return grown(self.core, self.radius - by, chord)
        return grown(self.shape(), -by, chord)

    def opened(self, cutter_radius: float) -> BaseGeometry:
        """What a round cutter can take out of it: all but the corners it does not enter."""
        if self.core.geom_type != "Polygon" and self.radius >= cutter_radius - SAME:
            return self.shape()
        return grown(self.shrunk(cutter_radius), cutter_radius)


def _convex(core: BaseGeometry) -> bool:
    """Whether a core is convex: a point, a straight line, a polygon without a bay or an island."""
    if core.geom_type == "Polygon":
        return bool(core.convex_hull.area - core.area <= 1e-9 * core.area)
    return core.geom_type == "Point" or len(core.coords) == 2


def middles(cut: Cut, cutter_radius: float) -> BaseGeometry:
    """Where the cutter's middle may be: the shape, less the cutter's radius all round. Empty where the cutter is too wide."""
    as_wide = cut.core.geom_type != "Polygon" and abs(cut.radius - cutter_radius) <= SAME
    return cut.core if as_wide else cut.shrunk(cutter_radius)


def grown(core: BaseGeometry, by: float, chord: float = CHORD) -> BaseGeometry:
    """A shape grown all round, or shrunk; a chord leaves its arc by at most `chord` [mm]."""
    if by == 0.0:
        return core
    half = math.acos(1.0 - min(chord / abs(by), 0.5))
    return core.buffer(by, quad_segs=max(4, math.ceil(math.pi / 4.0 / half)))


def ring_sets(cut: Cut, cutter_radius: float, stepover: float, wall: float) -> tuple[tuple[Floats, ...], ...]:
    """Rings for the cutter's middle, from the innermost set to the one along the wall.

    A point farther from the wall than one ring and less far than the next, which is the stepover s on, lies within s of the
    first. Everything that a cutter of radius r > s can reach is hence cleared; rings go on inward as long as wood lies deeper
    than r inside the last one. The wall's own ring runs last and takes what `wall` left.

    Args:
        cut: its core on the machine
        cutter_radius: r [mm]
        stepover: s, at most 0.95 r [mm]
        wall: left for the ring along the wall [mm]

    Returns:
        Sets of closed rings, each ring of shape (n, 2) [mm], outer borders counterclockwise (the cutter then meets the wood of
        the wall on its right, climbing), islands clockwise. Nothing where the cutter is too wide.
    """
    if stepover > 0.95 * cutter_radius:
        raise ValueError("a stepover of nearly the cutter's radius or more may leave wood between two rings")
    inside = middles(cut, cutter_radius)
    if inside is cut.core and inside.geom_type != "Polygon":
        return (_along(inside),)
    finish = _rings(inside)
    if not finish:
        return ()
    sets, away = [finish], cutter_radius + wall
    chord = min(ROUGH_CHORD, max(wall / 2.0, CHORD))
    while rings := _rings(cut.shrunk(away, chord)):
        sets.append(rings)
        if cut.shrunk(away + 0.98 * cutter_radius).is_empty:
            break
        away += stepover
    if len(sets) == 2 and sum(map(perimeter, sets[1])) < 0.5 * cutter_radius:
        sets.pop()  # a bore hardly wider than the cutter
    return tuple(tuple(rings) for rings in reversed(sets))


def perimeter(ring: Floats) -> float:
    """Length of a closed ring [mm]."""
    return float(np.hypot(*np.diff(ring, axis=0).T).sum())


def _along(core: BaseGeometry) -> tuple[Floats, ...]:
    """A slot as wide as the cutter: along its line and back; a hole as wide as the cutter: no ring but a place."""
    places = np.asarray(core.coords, dtype=np.float64)[:, :2]
    return (np.concatenate((places, places[-2::-1])),)


def _rings(region: BaseGeometry) -> tuple[Floats, ...]:
    from shapely.geometry.polygon import orient

    if region.is_empty or region.geom_type not in ("Polygon", "MultiPolygon"):
        return ()
    found: list[Floats] = []
    for part in getattr(region, "geoms", [region]):
        turned = orient(part, 1.0)
        found += [np.asarray(ring.coords, dtype=np.float64)[:, :2] for ring in (turned.exterior, *turned.interiors)]
    return tuple(found)
