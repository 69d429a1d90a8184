"""Ways of one part through one passage: straight, round a corner, or searched in plan or in section.

The room of a way is how far every side of the part can stand farther out. A convex shape gets through a door just where its
least width does [1]_, so doors without corridors want no search unless legs can be hooked round the jamb.

References:
    .. [1] G. Strang, The width of a chair, The American Mathematical Monthly 89 (1982), 529-534. From memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from slabwright.carry.route_pieces import Solid
from slabwright.carry.route_results import Pose, Way
from slabwright.geometry.bands import Region, Shape, straight
from slabwright.geometry.corner import round_corner
from slabwright.geometry.faces import Floats
from slabwright.geometry.passing import widest_way

COMFORTABLE = 20.0
"""Room beyond what is asked with which no harder way is looked for, and beyond which none is measured [mm]: common practice."""
ATTITUDES = ("on its end", "on its long edge", "flat")
"""By the axis that stands upright: length, width, height."""
UPS = (2, 1, 0)
"""Upright axes, the easiest to carry first."""
_OUT = 150.0
"""Drawn beyond a passage [mm]."""


@dataclass(frozen=True)
class Try:
    """A way that may be tried.

    Attributes:
        bound: no more room than this can come of it [mm]
        hard: whether it wants a search
        work: works it out
    """

    bound: float
    hard: bool
    work: Callable[[], Way]


def best_of(tries: Sequence[Try], asked: float) -> Way:
    """The first easy way that leaves comfortable room, with the most that any of them leaves; or the one that leaves most.

    What is left of a hard way is told up to comfortable room only, so that a passage that is wider, where an easy way does, is
    never told to leave less than a narrower one.

    Args:
        tries: easiest to carry first
        asked: room that hands and padding take [mm]
    """
    easy = [one.work() for one in tries if not one.hard]
    best = max(easy, key=lambda found: round(found.margin, 6), default=None)
    if (
        best is not None
        and (first := next((one for one in easy if one.margin >= asked + COMFORTABLE), best)) is not best
    ):
        return replace(first, most=best.margin, most_attitude=best.attitude)
    for one in sorted((one for one in tries if one.hard), key=lambda one: -one.bound):
        # What would not go even bare is only looked for where nothing else tells how much is lacking.
        if best is not None and (best.margin >= asked + COMFORTABLE or one.bound <= max(best.margin, 0.0)):
            break
        found = one.work()
        if found.margin > asked + COMFORTABLE:
            found = replace(found, margin=asked + COMFORTABLE, or_more=True)
        best = found if best is None or found.margin > best.margin else best
    if best is None:
        raise ValueError("nothing to try")
    return best


def held_bound(shape: Shape, across: float, along: float) -> float:
    """No more room than this is left within a rectangle, whichever way it is turned [mm]."""
    # Between two of the turns that are tried it is no better than by the way of its farthest corner.
    return straight_turn(shape, across, along)[0] + shape.reach * math.radians(0.25)


def others(axis: int) -> tuple[int, int]:
    """The two axes beside one, the longer-named first: length before width before height."""
    first, second = (other for other in range(3) if other != axis)
    return first, second


def poses_of(rows: Floats, tilt: float = 0.0) -> tuple[Pose, ...]:
    """Poses from x, y, turn [mm, mm, rad]; no more than sixty, evenly chosen."""
    kept = rows[np.unique(np.linspace(0, len(rows) - 1, min(len(rows), 60)).round().astype(int))] if len(rows) else rows
    return tuple(Pose(float(x), float(y), math.degrees(turn), math.degrees(tilt)) for x, y, turn in kept)


def way(
    part: Solid,
    attitude: str,
    rooms: dict[str, float],
    shape: Shape,
    region: Region,
    rows: Floats,
    *,
    view: str = "plan",
    tilt: float = 0.0,
    place: str = "",
) -> Way:
    """A way from the room of each kind that it leaves; its margin is still without hands and padding."""
    tightest = min(rooms, key=lambda name: rooms[name])
    poses = poses_of(rows, tilt)
    return Way(part.name, place, attitude, rooms[tightest], tightest, view, *shape.size, poses, shape, region)


def straight_turn(shape: Shape, across: float, along: float = math.inf) -> tuple[float, float, str]:
    """The turn at which a shape has most room between two walls and, along them, between two ends.

    Returns:
        The room [mm], the turn [rad], and whether width or length leaves least.
    """
    right = np.array([0.0, math.pi / 2.0])
    turns = (
        right
        if len(shape.middles) == 1 and not math.isfinite(along)
        else np.concatenate([right, np.linspace(0.0, math.pi, 361)])
    )
    left, right_edge, near, far = shape.extents(turns)
    wide = 2.0 * (np.abs(np.cos(turns)) + np.abs(np.sin(turns)))
    beside = (across - right_edge + left) / wide
    ends = (along - far + near) / wide
    room = np.minimum(beside, ends)
    at = int(np.argmax(room))
    return float(room[at]), float(turns[at]), "width" if beside[at] <= ends[at] else "length"


def through(shape: Shape, turn: float, middle: float, begin: float, end: float) -> Floats:
    """Poses straight along the way: from all before `begin` to all beyond `end`, or to `end` where that is within."""
    left, right, near, far = (float(value) for value in shape.extents(np.array(turn)))
    x = middle - (left + right) / 2.0
    places = np.linspace(begin - far - _OUT, end - near + _OUT, 7)
    return np.column_stack([np.full(7, x), places, np.full(7, turn)])


def least_width(shape: Shape) -> float:
    """The least side of the largest-sided of its rectangles [mm]: none of them gets through less."""
    return float(2.0 * shape.halves.min(axis=1).max())


def searched(
    part: Solid,
    attitude: str,
    shape: Shape,
    region: Region,
    start: tuple[float, float],
    goal: tuple[float, float],
    beside: dict[str, float],
    asked: float,
    *,
    view: str = "plan",
    place: str = "",
) -> Way:
    """A way by the search in place and turn.

    Args:
        part: what is carried
        attitude: in words
        shape: its shadow in the view
        region: the passage in the view
        start: between which places along the way all of it lies at first [mm]
        goal: at last [mm]
        beside: rooms out of the view, by name [mm]
        asked: room that decides [mm]
        view: plan or section
        place: of stairs
    """
    found = widest_way(region, shape, start, goal, asked=asked, most=max(100.0, asked + 60.0))
    rooms = {"turn": found.room, **beside}
    return way(part, attitude, rooms, shape, region, found.poses, view=view, place=place)


def cornered(
    part: Solid,
    attitude: str,
    shape: Shape,
    first: float,
    second: float,
    beside: dict[str, float],
    *,
    overhang: float = math.inf,
    spread: float = 1.0,
    tilt: float = 0.0,
    place: str = "",
) -> Way:
    """A way round a right corner.

    Args:
        part: what is carried
        attitude: in words
        shape: its shadow on the floor
        first: width of the way that it comes from [mm]
        second: of the one into which it turns [mm]
        beside: rooms out of the plan, by name [mm]
        overhang: how far it may reach back, from the second's inner wall [mm]
        spread: by how much more the shadow grows than its sides
        tilt: that it is leaned by [rad]
        place: of stairs
    """
    turned = round_corner(first, second, shape, overhang)
    region = Region((straight(0.0, second, 0.0, sized=True), straight(second, second + _beyond(shape), 0.0, first)))
    rows = turned.poses
    if len(rows):
        ahead = np.array([[0.0, 0.6 * max(shape.size), 0.0]])
        out = np.array([[0.6 * max(shape.size), 0.0, 0.0]])
        rows = np.vstack([rows[:1] + ahead, rows, rows[-1:] + out])
    rooms = {"turn": turned.room / spread, **beside}
    return way(part, attitude, rooms, shape, region, rows, tilt=tilt, place=place)


def _beyond(shape: Shape) -> float:
    return 2.0 * shape.reach + 500.0


def less(found: Way, asked: float) -> Way:
    """A way with what hands and padding take off its room."""
    most = None if found.most is None else found.most - asked
    return replace(found, margin=found.margin - asked, most=most)
