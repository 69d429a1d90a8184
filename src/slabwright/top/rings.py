"""How the growth rings lie in the slab, and how much of its movement across is tangential.

Frame: y across from the centre line, d down from the show face; rings are circles about the pith, or straight where a
picture or an angle is all that is known.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slabwright.geometry.faces import Floats
from slabwright.job.top_models import Rings

PICTURE_ANGLES = {"flat-sawn": 0.0, "rift": 45.0, "quarter-sawn": 90.0}
"""Degrees of the rings against the face in the pictures of end grain that show no pith. Trade terms."""
PICTURE_ERROR = 15.0
"""By how many degrees a picture may miss the ring angle. Common practice."""
ANGLE_ERROR = 8.0
"""By how many degrees a stated angle may miss the mean of the width. Common practice."""


@dataclass(frozen=True)
class RingPattern:
    """Rings of one slab: straight at an angle, or circles about the pith.

    Attributes:
        angle: of straight rings against the face [degrees], or None
        pith: y and depth of the pith [mm], or None
        error: of the angle, either way [degrees]
        stated: false where nobody stated the rings and the most movement is taken
    """

    angle: float | None
    pith: tuple[float, float] | None
    error: float
    stated: bool = True

    def spread(self) -> tuple[RingPattern, ...]:
        """The patterns that it may be as well, itself first."""
        if self.angle is None:
            return (self,)
        least, most = max(0.0, self.angle - self.error), min(90.0, self.angle + self.error)
        return (self, *(RingPattern(angle, None, 0.0, self.stated) for angle in (least, most) if angle != self.angle))


def ring_pattern(rings: Rings | None, thickness: float) -> RingPattern:
    """The pattern that was stated; flat-sawn, which moves most, where none was.

    Args:
        rings: a picture, an angle or the place of the pith, or None
        thickness: of the top [mm]
    """
    if rings is None:
        return RingPattern(0.0, None, 90.0, stated=False)
    if rings.picture == "through the pith":
        return RingPattern(None, (0.0, thickness / 2.0), 0.0)
    if rings.picture is not None:
        return RingPattern(PICTURE_ANGLES[rings.picture], None, PICTURE_ERROR)
    if rings.angle is not None:
        return RingPattern(rings.angle, None, ANGLE_ERROR)
    return RingPattern(None, (rings.pith_offset or 0.0, rings.pith_below or 0.0), 0.0)


def holds_pith(pattern: RingPattern, width: float, thickness: float) -> bool:
    """Whether the pith lies in the slab."""
    if pattern.pith is None:
        return False
    across, depth = pattern.pith
    return abs(across) <= width / 2.0 and 0.0 <= depth <= thickness


def ring_angle(pattern: RingPattern, across: Floats, depth: Floats) -> Floats:
    """Angle between the rings and the face: flat-sawn 0, rift 45, quarter-sawn 90 [degrees].

    About a pith at (p, q) the ring through (y, d) stands square to the line from the pith:

        angle = atan2(|y - p|, |d - q|)

    Args:
        pattern: the rings
        across: y, any shape [mm]
        depth: d, of a shape that goes with it [mm]
    """
    y, d = np.broadcast_arrays(np.asarray(across, dtype=float), np.asarray(depth, dtype=float))
    if pattern.pith is None:
        return np.full(y.shape, pattern.angle or 0.0)
    return np.degrees(np.arctan2(np.abs(y - pattern.pith[0]), np.abs(d - pattern.pith[1])))


def coefficients(pattern: RingPattern, tangential: float, radial: float, across: Floats, depth: Floats) -> list[Floats]:
    """Coefficient along the width, and through the thickness, at each place.

    The moisture strain is a tensor with principal values along and square to the rings; turned by the ring angle a [1]_:

        along the width        C_T cos^2 a + C_R sin^2 a
        through the thickness  C_T sin^2 a + C_R cos^2 a

    Args:
        pattern: the rings
        tangential: C_T, along the rings
        radial: C_R, square to them
        across: y [mm]
        depth: d [mm]

    References:
        .. [1] transformation of the strain tensor under a turn of the axes, as in any text on elasticity.
    """
    flat = np.cos(np.radians(ring_angle(pattern, across, depth))) ** 2
    return [tangential * flat + radial * (1.0 - flat), tangential * (1.0 - flat) + radial * flat]


def tangential_run(pattern: RingPattern, across: Floats, thickness: float) -> Floats:
    """Length from the centre line out to y that moves as tangential wood, mean through the thickness [mm].

    The rest of the way, y less this, moves as radial wood. It is the integral of cos^2 a over the way. At height h above
    or below the pith, s across from it, cos^2 a = h^2 / (h^2 + s^2); over s that gives h atan(s / h), and over h

        F(h, s) = (h^2 atan(s / h) + s h - s^2 atan(h / s)) / 2

    Wood that shrinks by e_T along and e_R square to circles about a pith outside it is free of stress (u_r = e_R r,
    u_t = (e_T - e_R) r t satisfies both strains and leaves no shear), so that this length is exact, not a mere sum of slices.

    Args:
        pattern: the rings
        across: y [mm]
        thickness: of the top [mm]
    """
    y = np.asarray(across, dtype=float)
    if pattern.pith is None:
        return y * float(np.cos(np.radians(pattern.angle or 0.0)) ** 2)
    beside, below = pattern.pith

    def over_depth(s: Floats) -> Floats:
        return (_both_ways(below, s) - _both_ways(below - thickness, s)) / thickness

    return over_depth(y - beside) - over_depth(np.full_like(y, -beside))


def _both_ways(h: float, s: Floats) -> Floats:
    """F(h, s) of `tangential_run`: odd in h and in s."""
    height, side = abs(h), np.abs(s)
    value = height**2 * np.arctan2(side, height) + side * height - side**2 * np.arctan2(height, side)
    return np.asarray(np.sign(h) * np.sign(s) * value / 2.0, dtype=float)


def mean_angle(pattern: RingPattern, width: float, thickness: float) -> float:
    """The angle of straight rings that move as much across the whole width [degrees]."""
    edges = tangential_run(pattern, np.array([-width / 2.0, width / 2.0]), thickness)
    share = float(np.clip((edges[1] - edges[0]) / width, 0.0, 1.0))
    return float(np.degrees(np.arccos(np.sqrt(share))))
