"""The path of a cable channel: its rounded corners, where it crosses itself, and how tightly a cable bends in it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from shapely import LineString, Point

from slabwright.geometry.faces import Floats

_STEP = math.radians(2.0)
_APART = 1e-6
_STRAIGHT = 1e-3
"""A corner that turns less than this is none [rad]."""


@dataclass(frozen=True)
class Corner:
    """One corner of a path.

    Attributes:
        number: of the corner in the path without repeats, from 0
        turn: of the path's direction [rad]
        room: length of the shorter leg beside it that the corner may use: half of a leg between two corners [mm]
    """

    number: int
    turn: float
    room: float


def without_repeats(path: Floats) -> Floats:
    """The path without points that stand on the one before, shape (n, 2) [mm]."""
    kept = [path[0]]
    for point in path[1:]:
        if math.dist(point, kept[-1]) > _APART:
            kept.append(point)
    return np.asarray(kept, dtype=np.float64)


def corners(path: Floats) -> list[Corner]:
    """The corners of a path that turn.

    Args:
        path: without repeats, shape (n, 2) [mm]
    """
    legs = np.diff(path, axis=0)
    lengths = np.hypot(*legs.T)
    found = []
    for number in range(1, len(path) - 1):
        before, after = legs[number - 1], legs[number]
        turn = abs(math.atan2(before[0] * after[1] - before[1] * after[0], float(before @ after)))
        if turn > _STRAIGHT:
            rooms = (
                lengths[number - 1] * (0.5 if number > 1 else 1.0),
                lengths[number] * (0.5 if number < len(path) - 2 else 1.0),
            )
            found.append(Corner(number, turn, float(min(rooms))))
    return found


def most_radius(corner: Corner) -> float:
    """The greatest radius that a corner can be rounded to on its legs [mm]."""
    return 0.0 if corner.turn >= math.pi - _STRAIGHT else corner.room / math.tan(corner.turn / 2.0)


def rounded(path: Floats, radius: float) -> Floats:
    """The path with its corners rounded, as far as their legs let them, shape (m, 2) [mm].

    Args:
        path: without repeats, shape (n, 2) [mm]
        radius: of the corners [mm]
    """
    if radius <= 0.0:
        return path
    by_number = {corner.number: corner for corner in corners(path)}
    points: list[Floats] = []
    for number, point in enumerate(path):
        corner = by_number.get(number)
        fitted = min(radius, most_radius(corner)) if corner else 0.0
        if corner is None or fitted <= _APART:
            points.append(point)
            continue
        back = (path[number - 1] - point) / math.dist(path[number - 1], point)
        ahead = (path[number + 1] - point) / math.dist(path[number + 1], point)
        inward = (back + ahead) / float(np.hypot(*(back + ahead)))
        middle = point + inward * fitted / math.cos(corner.turn / 2.0)
        start = point + back * fitted * math.tan(corner.turn / 2.0) - middle
        side = math.copysign(1.0, ahead[0] * back[1] - ahead[1] * back[0])
        for angle in np.linspace(0.0, side * corner.turn, max(2, math.ceil(corner.turn / _STEP) + 1)):
            cos, sin = math.cos(angle), math.sin(angle)
            points.append(middle + np.array([cos * start[0] - sin * start[1], sin * start[0] + cos * start[1]]))
    return np.asarray(points, dtype=np.float64)


def crossing(path: Floats) -> tuple[int, int] | None:
    """Two legs of a path that meet where they should not, by their numbers from 0; None where there are none.

    Args:
        path: without repeats, shape (n, 2) [mm]
    """
    if len(path) < 3 or LineString(path).is_simple:
        return None
    legs = [LineString(leg) for leg in pairwise(path)]
    for last in range(1, len(legs)):
        for first in range(last):
            met = legs[first].intersection(legs[last])
            joint = first == last - 1 and isinstance(met, Point) and met.distance(Point(path[last])) <= _APART
            if not met.is_empty and not joint:
                return first, last
    return None


def without_loop(path: Floats, legs: tuple[int, int]) -> Floats:
    """The path without the corners between two legs that cross: from the first leg's start to the second one's end."""
    return np.concatenate([path[: legs[0] + 1], path[legs[1] + 1 :]])


def least_bend(path: Floats, width: float, cable: float, radius: float) -> tuple[float, int] | None:
    """The tightest bend that a cable needs to take in a channel, to its inside, and the corner where it is.

    A cable of diameter d has w - d of play in a channel of width w. At a corner that turns by phi it may lie against the
    outer walls before and after and against the inner one at the corner: with c = cos(phi / 2) its middle bends at

        R = ((w - d) / (2 c) + inner) / (1 / c - 1),  inner = max(w / (2 c) - d / 2, r (1 / c - 1) + (w - d) / 2)

    where r is the radius that the corner is rounded to; where the legs are too short, at what they have room for.

    Args:
        path: without repeats, shape (n, 2) [mm]
        width: of the channel [mm]
        cable: its diameter [mm]
        radius: that the corners are rounded to [mm]

    Returns:
        Radius to the inside of the bend [mm] and number of the corner from 0; None where the path is straight.
    """
    found: tuple[float, int] | None = None
    for corner in corners(path):
        cos = math.cos(corner.turn / 2.0)
        most = most_radius(corner)
        fitted = min(radius, most)
        if cos < 1e-9:
            middle = cable / 2.0
        else:
            play = max(0.0, width - cable)
            inner = max(width / (2.0 * cos) - cable / 2.0, fitted * (1.0 / cos - 1.0) + play / 2.0)
            middle = max(min((play / (2.0 * cos) + inner) / (1.0 / cos - 1.0), most), fitted, cable / 2.0)
        if found is None or middle - cable / 2.0 < found[0]:
            found = (middle - cable / 2.0, corner.number)
    return found
