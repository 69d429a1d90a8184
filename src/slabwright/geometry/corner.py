"""A flat shape round a right-angled corner between two corridors, exactly: at each turn it is pressed into the outer corner.

At one turn the free places are closed towards the outer corner: what is free stays free when it is moved towards either outer
wall. So all free places of a turn hang together through the one where both outer walls are touched, and a way exists just where
the inner corner is cleared, so pressed, at every turn between one that fits the first corridor and one that fits the second.

References:
    .. [1] For a line of length L: the ladder problem, L = (a^(2/3) + b^(2/3))^(3/2); E. W. Weisstein, Moving Ladder Problem,
       MathWorld. For a rectangle L x t: the least over the angle of a / cos + b / sin - t / (sin cos); derived.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from slabwright.geometry.bands import Shape
from slabwright.geometry.faces import Floats

_STEPS = 360
_FINER = (16, 12)


@dataclass(frozen=True)
class Turned:
    """A way round the corner.

    Attributes:
        room: how far every side of the shape could stand farther out on the whole way; negative where it does not go [mm]
        poses: x, y, turn [mm, mm, rad], shape (n, 3); the outer corner is the origin, the first corridor comes down along y
            at 0 <= x <= first, the second leaves along x at 0 <= y <= second
        tightest: turn at which there is least room [rad]
    """

    room: float
    poses: Floats
    tightest: float


def ladder(first: float, second: float, thickness: float = 0.0) -> float:
    """Longest rectangle of a thickness that turns from one corridor into the other: closed form [1]_ [mm].

    Args:
        first: width of one corridor [mm]
        second: of the other [mm]
        thickness: of the rectangle, less than either [mm]
    """
    if thickness == 0.0:
        return float((first ** (2 / 3) + second ** (2 / 3)) ** 1.5)

    def longest(angle: float) -> float:
        sin, cos = math.sin(angle), math.cos(angle)
        return first / cos + second / sin - thickness / (sin * cos)

    # One minimum: golden section.
    low, high = 1e-6, math.pi / 2 - 1e-6
    share = (math.sqrt(5.0) - 1.0) / 2.0
    for _ in range(90):
        one, two = high - share * (high - low), low + share * (high - low)
        low, high = (low, two) if longest(one) < longest(two) else (one, high)
    return longest((low + high) / 2.0)


def _rooms(first: float, second: float, shape: Shape, turn: Floats, overhang: float) -> tuple[Floats, Floats, Floats]:
    """Room at the corner, in the first and in the second corridor, at each turn [mm]."""
    cos, sin = np.cos(turn), np.sin(turn)
    wide = np.abs(cos) + np.abs(sin)
    left, right, near, far = shape.extents(turn)
    in_first, in_second = (first - right + left) / (2 * wide), (second - far + near) / (2 * wide)
    # The one outward normal of a rectangle that looks at the inner corner.
    angle = np.mod(turn, math.pi / 2.0)
    nx, ny = np.cos(angle), np.sin(angle)
    own_x, own_y = cos * nx + sin * ny, -sin * nx + cos * ny
    spread = nx + ny
    least = np.full(turn.shape, np.inf)
    for middle, half in zip(shape.middles, shape.halves, strict=True):
        x, y = cos * middle[0] - sin * middle[1], sin * middle[0] + cos * middle[1]
        half_x, half_y = np.abs(cos) * half[0] + np.abs(sin) * half[1], np.abs(sin) * half[0] + np.abs(cos) * half[1]
        beside = (first - (x + half_x - left)) / (2 * wide)
        below = (second - (y + half_y - near)) / (2 * wide)
        out = nx * x + ny * y + np.abs(own_x) * half[0] + np.abs(own_y) * half[1] - nx * left - ny * near
        slanting = (nx * first + ny * second - out) / (1.0 + spread**2)
        least = np.minimum(least, np.maximum(np.maximum(beside, below), slanting))
    if math.isfinite(overhang):
        least = np.minimum(least, (second + overhang - far + near) / (2 * wide))
        in_first = np.minimum(in_first, least)
    return least, in_first, in_second


def round_corner(first: float, second: float, shape: Shape, overhang: float = math.inf) -> Turned:
    """The way round the corner on which the shape can be grown most.

    Turns are looked at in steps, and closely where the room is least and where the ends may lie; what can be lost between two
    of them is taken off.

    Args:
        first: width of the corridor that it comes from [mm]
        second: of the one into which it turns [mm]
        shape: what is carried
        overhang: how far it may reach back into the first corridor, from the second's inner wall [mm]
    """
    shape = shape.merged()
    step = shape.period / _STEPS
    # Two rounds, so that no run of turns is cut in two.
    turns: Floats = np.arange(2 * _STEPS + 1, dtype=np.float64) * step
    rooms = _rooms(first, second, shape, turns, overhang)
    for parts in _FINER:
        about = _widest(*rooms)[0]
        change = 2.0 * shape.reach * step
        # Only where the corner or a corridor may decide; elsewhere what lies between two turns can't.
        near = np.zeros(turns.shape, dtype=bool)
        for room_there in rooms:
            near |= np.abs(room_there - about) < change
        offsets = np.linspace(-0.5, 0.5, parts + 1) * step
        turns = np.unique(np.concatenate([turns, (turns[near][:, None] + offsets).ravel()])).astype(np.float64)
        rooms = _rooms(first, second, shape, turns, overhang)
        step /= parts
    room, begin, end = _widest(*rooms)
    chosen = np.arange(begin, end + 1) if begin <= end else np.arange(begin, end - 1, -1)
    tightest = float(turns[chosen[int(np.argmin(rooms[0][chosen]))]])
    room -= shape.reach * step / 2.0
    kept = chosen[np.unique(np.linspace(0, len(chosen) - 1, 60).round().astype(int))]
    left, _, near_edge, _ = shape.extents(turns[kept])
    wide = np.abs(np.cos(turns[kept])) + np.abs(np.sin(turns[kept]))
    poses = np.column_stack([room * wide - left, room * wide - near_edge, turns[kept]])
    return Turned(room, poses, tightest)


def _widest(corner: Floats, in_first: Floats, in_second: Floats) -> tuple[float, int, int]:
    """Greatest room over runs of turns that fit the first corridor somewhere and the second somewhere; those two places."""
    low, high = float(min(in_first.min(), in_second.min(), corner.min())), float(min(in_first.max(), in_second.max()))
    ends = (int(np.argmax(in_first)), int(np.argmax(in_first)))
    while high - low > 1e-4:
        middle = (low + high) / 2.0
        found = _ends_of_run(corner >= middle, in_first >= middle, in_second >= middle)
        if found is None:
            high = middle
        else:
            low, ends = middle, found
    return low, *ends


def _ends_of_run(
    free: npt.NDArray[np.bool_], first: npt.NDArray[np.bool_], second: npt.NDArray[np.bool_]
) -> tuple[int, int] | None:
    """A nearest pair of turns, one for each corridor, in one run of free turns."""
    runs = np.cumsum(~free)
    ones, twos = np.nonzero(first & free)[0], np.nonzero(second & free)[0]
    if not len(ones) or not len(twos):
        return None
    best: tuple[int, int] | None = None
    after = np.searchsorted(twos, ones)
    for side in (after - 1, after):
        inside = (side >= 0) & (side < len(twos))
        pairs = ones[inside], twos[side[inside]]
        good = runs[pairs[0]] == runs[pairs[1]]
        if good.any():
            gaps = np.where(good, np.abs(pairs[0] - pairs[1]), np.iinfo(np.int64).max)
            at = int(np.argmin(gaps))
            if best is None or gaps[at] < abs(best[0] - best[1]):
                best = int(pairs[0][at]), int(pairs[1][at])
    return best
