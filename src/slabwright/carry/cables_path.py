"""The way of a cable in space: lengths with rounded corners, bends, and the bend that a hole in a wall leaves room for."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

Place = tuple[float, float, float]
"""Along from the left end, across from the centre line, depth below the show face [mm]."""
_SAME = 1e-6
_STRAIGHT = 1e-3
_HALVINGS = 60
_ROUNDING = 1e-9
WIDEST_BEND = 1e4
"""A bend wider than this is straight to any cable [mm]."""


@dataclass(frozen=True)
class Point:
    """A corner of a cable's way.

    Attributes:
        at: where it is
        radius: that the corner is rounded to, at the cable's middle [mm]
        bend: inside radius that the place leaves the cable [mm]; None: as much as the legs beside it allow
        said: where it is, in words
        stretch: number of the stretch whose leg ends there; 0: from the outlet to the first one
    """

    at: Place
    radius: float = 0.0
    bend: float | None = None
    said: str = ""
    stretch: int = 0


@dataclass(frozen=True)
class Turn:
    """A corner that turns: number of its point, by how much [rad], and the shorter leg that it may use [mm]."""

    number: int
    turn: float
    room: float


def cleaned(points: Sequence[Point]) -> list[Point]:
    """The way without points that stand on the one before; the tighter corner of the two stays."""
    kept: list[Point] = []
    for point in points:
        if kept and math.dist(point.at, kept[-1].at) <= _SAME:
            last = kept[-1]
            bends = [bend for bend in (last.bend, point.bend) if bend is not None]
            kept[-1] = Point(
                last.at,
                max(last.radius, point.radius),
                min(bends, default=None),
                last.said or point.said,
                last.stretch,
            )
            continue
        kept.append(point)
    return kept


def turns(points: Sequence[Point]) -> list[Turn]:
    """The corners that turn; a leg between two of them is shared by halves."""
    found = []
    for number in range(1, len(points) - 1):
        before, here, after = (points[number + step].at for step in (-1, 0, 1))
        turn = angle(before, here, after)
        if turn > _STRAIGHT:
            rooms = (
                math.dist(before, here) * (0.5 if number > 1 else 1.0),
                math.dist(here, after) * (0.5 if number < len(points) - 2 else 1.0),
            )
            found.append(Turn(number, turn, min(rooms)))
    return found


def angle(before: Place, here: Place, after: Place) -> float:
    """By how much a way turns at a place [rad]."""
    u = [b - a for a, b in zip(before, here, strict=True)]
    v = [b - a for a, b in zip(here, after, strict=True)]
    cross = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
    return math.atan2(math.hypot(*cross), math.fsum(a * b for a, b in zip(u, v, strict=True)))


def fitted_radius(radius: float, turn: Turn) -> float:
    """The radius that a corner gets: as asked for, as far as its legs let it [mm]."""
    if turn.turn >= math.pi - _STRAIGHT:
        return 0.0
    return min(radius, turn.room / math.tan(turn.turn / 2.0))


def lengths(points: Sequence[Point]) -> list[float]:
    """Length of the way from its start to each of its points [mm].

    A corner rounded to r saves 2 r tan(phi / 2) - r phi, half of it before the corner and half behind it.
    """
    saved = [0.0] * len(points)
    for turn in turns(points):
        radius = fitted_radius(points[turn.number].radius, turn)
        saved[turn.number] = 2.0 * radius * math.tan(turn.turn / 2.0) - radius * turn.turn if radius > 0.0 else 0.0
    found = [0.0]
    for number in range(1, len(points)):
        leg = math.dist(points[number - 1].at, points[number].at)
        found.append(found[-1] + leg - (saved[number - 1] + saved[number]) / 2.0)
    return found


def bend_through(room: float, wall: float, opening: float, cable: float) -> float:
    """The widest quarter bend that a cable can take from a shallow space out through a round hole in its wall.

    The cable lies against the far side of the space, which is `room` deep, and turns out through the wall. Measured from
    the far side, with inside radius r and diameter d, its inner side stands at the wall's inner face at
    sqrt(r^2 - (r + d - room)^2) and its outer side at the wall's outer face at
    sqrt((r + d)^2 - (r + d - room - wall)^2), both from the bend's middle; the opening must hold their difference. It grows
    with r, so that halving finds the greatest r. What lies behind the wall is free.

    Args:
        room: depth of the space [mm]
        wall: thickness of the wall [mm]
        opening: clear diameter of the hole [mm]
        cable: its diameter [mm]

    Returns:
        Inside radius [mm]; 0 where the cable does not even go through.
    """
    if opening < cable or room < cable:
        return 0.0

    def width(radius: float) -> float:
        inner = math.sqrt(max(0.0, radius**2 - max(0.0, radius + cable - room) ** 2))
        outer = math.sqrt((radius + cable) ** 2 - max(0.0, radius + cable - room - wall) ** 2)
        return outer - inner

    low, high = 0.0, WIDEST_BEND
    if width(high) <= opening:
        return high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if width(middle) <= opening + _ROUNDING else (low, middle)
    return low


def longest_round_corner(width: float, first: float, second: float) -> float:
    """Longest rectangle of a width that goes round a square corner between two passages [mm].

    The least over t of (a sin t + b cos t - w) / (sin t cos t). A wall with nothing behind it leaves more room than a passage.

    Args:
        width: of the rectangle [mm]
        first: width of one passage [mm]
        second: of the other [mm]
    """
    if width > min(first, second):
        return 0.0

    def length(t: float) -> float:
        return (first * math.sin(t) + second * math.cos(t) - width) / (math.sin(t) * math.cos(t))

    low, high = 1e-6, math.pi / 2.0 - 1e-6
    ratio = (math.sqrt(5.0) - 1.0) / 2.0
    one, other = high - ratio * (high - low), low + ratio * (high - low)
    for _ in range(_HALVINGS):
        if length(one) < length(other):
            high, other = other, one
            one = high - ratio * (high - low)
        else:
            low, one = one, other
            other = low + ratio * (high - low)
    return length((low + high) / 2.0)


def rectangle_in_rectangle(one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Whether a rectangle of the sides `one` goes into one of the sides `other`, turned where it must be.

    With p >= q and a >= b: p <= a and q <= b, or p > a and b >= (2 p q a + (p^2 - q^2) sqrt(p^2 + q^2 - a^2)) / (p^2 + q^2)
    [1]_.

    References:
        .. [1] Carver, W. B., The conditions for the failure of a rectangle to fit in another, American Mathematical Monthly 64
           (1957), from memory
    """
    p, q = max(one), min(one)
    a, b = max(other), min(other)
    if p <= a and q <= b:
        return True
    if p <= a or q > b:
        return False
    square = p * p + q * q
    return b >= (2.0 * p * q * a + (p * p - q * q) * math.sqrt(max(0.0, square - a * a))) / square
