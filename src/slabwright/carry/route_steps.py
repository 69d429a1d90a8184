"""How one part goes through each kind of passage: van, door, corner, stairs, lift."""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from slabwright.carry.route_pieces import Solid
from slabwright.carry.route_results import Way
from slabwright.carry.route_ways import (
    ATTITUDES,
    UPS,
    Try,
    best_of,
    cornered,
    held_bound,
    least_width,
    others,
    searched,
    straight_turn,
    through,
    way,
)
from slabwright.geometry.bands import FAR, Band, Region, Shape, straight
from slabwright.geometry.faces import Floats
from slabwright.job.carry_models import CornerStep, DoorStep, LiftStep, StairsStep, Step, VanStep

_LEANS = tuple(math.radians(degrees) for degrees in (15, 25, 35, 45, 55, 65, 75))
_SILL = 20.0
"""Depth of a van's opening [mm]: common practice."""


def ways_through(step: Step, part: Solid, asked: float) -> tuple[Way, ...]:
    """How one part goes through one passage; margins are still without hands and padding.

    Args:
        step: the passage
        part: what is carried
        asked: room that hands and padding take on each side [mm]
    """
    if isinstance(step, VanStep):
        inside = (step.inside_width or step.width, step.inside_height or step.height)
        return (_into(part, (step.width, step.height, _SILL), (*inside, step.floor_length), asked),)
    if isinstance(step, LiftStep):
        return (
            _into(part, (step.door_width, step.door_height, step.wall), (step.width, step.height, step.depth), asked),
        )
    if isinstance(step, DoorStep):
        return (_door(step, part, asked),)
    if isinstance(step, CornerStep):
        return (_corner(step, part, asked),)
    return _stairs(step, part, asked)


def _into(part: Solid, door: tuple[float, float, float], car: tuple[float, float, float], asked: float) -> Way:
    """Through an opening into a room that has to hold it: straight in, turned inside, or leaned inside.

    Args:
        part: what is carried
        door: width, height and depth of the opening [mm]
        car: width, height and depth of the room [mm]
        asked: room that hands and padding take [mm]
    """
    (width, height, wall), (wide, high, deep) = door, car
    size = part.size
    side = (wide - width) / 2.0
    plan = Region(
        (
            straight(-FAR, 0.0),
            straight(0.0, wall, 0.0, width),
            straight(wall, wall + deep, -side, width + side, sized=True),
        )
    )
    section = Region(
        (straight(-FAR, 0.0, 0.0), straight(0.0, wall, 0.0, height), straight(wall, wall + deep, 0.0, high, sized=True))
    )
    inside, before = (wall, wall + deep), (-FAR, 0.0)
    tries: list[Try] = []
    for up in UPS:
        shape = part.seen(*others(up))
        tall = {"height": (min(height, high) - size[up]) / 2.0}
        room, turn, least = straight_turn(shape, min(width, wide), deep)
        near, far = (float(value) for value in shape.extents(np.array(turn))[2:])
        rows = through(shape, turn, width / 2.0, 0.0, wall)
        rows[:, 1] = np.linspace(rows[0, 1], wall + (deep - far - near) / 2.0, len(rows))
        rooms = {least: room, **tall}
        tries.append(
            Try(
                min(rooms.values()),
                False,
                partial(way, part, ATTITUDES[up], rooms, shape, plan, rows),
            )
        )
        bound = min(tall["height"], (width - least_width(shape)) / 2.0, held_bound(shape, wide, deep))
        tries.append(Try(bound, True, partial(searched, part, ATTITUDES[up], shape, plan, before, inside, tall, asked)))
    for across in UPS:
        shape = part.seen(*others(across)[::-1])
        beside = {"width": (min(width, wide) - size[across]) / 2.0}
        bound = min(beside["width"], (height - least_width(shape)) / 2.0, held_bound(shape, high, deep))
        tries.append(
            Try(
                bound,
                True,
                partial(searched, part, "tilted", shape, section, before, inside, beside, asked, view="section"),
            )
        )
    return best_of(tries, asked)


def _door(step: DoorStep, part: Solid, asked: float) -> Way:
    before, behind = step.before or FAR, step.behind or FAR
    far_side = step.depth + behind
    size = part.size
    plan = Region((straight(-before, 0.0), straight(0.0, step.depth, 0.0, step.width), straight(step.depth, far_side)))
    start, goal = (-before, 0.0), (step.depth, far_side)
    tries: list[Try] = []
    for up in UPS:
        shape = part.seen(*others(up))
        tall = {"height": (step.height - size[up]) / 2.0}
        if step.ceiling is not None:
            tall["height"] = (min(step.height, step.ceiling) - size[up]) / 2.0
        room, turn, least = straight_turn(
            shape, step.width, min(before, behind) if min(before, behind) < FAR else math.inf
        )
        rows = through(shape, turn, step.width / 2.0, 0.0, step.depth)
        if min(before, behind) < FAR:
            rows[:, 1] = np.clip(rows[:, 1], *_middles(shape, turn, -before, far_side))
        rooms = {least: room, **tall}
        tries.append(
            Try(
                min(rooms.values()),
                False,
                partial(way, part, ATTITUDES[up], rooms, shape, plan, rows),
            )
        )
        bound = min(tall["height"], (step.width - least_width(shape)) / 2.0)
        if len(shape.middles) > 1 or min(before, behind) < FAR:
            tries.append(
                Try(bound, True, partial(searched, part, ATTITUDES[up], shape, plan, start, goal, tall, asked))
            )
    if step.ceiling is not None and min(before, behind) < FAR:
        section = Region(
            (
                straight(-before, 0.0, 0.0, step.ceiling),
                straight(0.0, step.depth, 0.0, min(step.height, step.ceiling)),
                straight(step.depth, far_side, 0.0, step.ceiling),
            )
        )
        for across in UPS:
            shape = part.seen(*others(across)[::-1])
            beside = {"width": (step.width - size[across]) / 2.0}
            bound = min(beside["width"], (step.height - least_width(shape)) / 2.0)
            tries.append(
                Try(
                    bound,
                    True,
                    partial(searched, part, "tilted", shape, section, start, goal, beside, asked, view="section"),
                )
            )
    return best_of(tries, asked)


def _middles(shape: Shape, turn: float, begin: float, end: float) -> tuple[float, float]:
    """Between which places its origin stays, so that all of it is between two ends [mm]."""
    near, far = (float(value) for value in shape.extents(np.array(turn))[2:])
    return (begin - near, end - far) if end - far >= begin - near else ((begin + end - near - far) / 2,) * 2


def _corner(step: CornerStep, part: Solid, asked: float) -> Way:
    size = part.size
    tries: list[Try] = []
    for up in UPS:
        shape = part.seen(*others(up))
        tall = {"height": (step.height - size[up]) / 2.0}
        tries.append(
            Try(tall["height"], False, partial(cornered, part, ATTITUDES[up], shape, step.before, step.after, tall))
        )
    for across in UPS:
        level, up = sorted(others(across), key=lambda axis: -size[axis])
        for tilt in _LEANS:
            spread = math.cos(tilt) + math.sin(tilt)
            high = size[level] * math.sin(tilt) + size[up] * math.cos(tilt)
            tall = {"height": (step.height - high) / 2.0 / spread}
            shape = part.leaned(level, up, across, tilt)
            if tall["height"] > -50.0:
                tries.append(
                    Try(
                        tall["height"],
                        True,
                        partial(
                            cornered, part, "tilted", shape, step.before, step.after, tall, spread=spread, tilt=tilt
                        ),
                    )
                )
    return best_of(tries, asked)


def _stairs(step: StairsStep, part: Solid, asked: float) -> tuple[Way, ...]:
    """The flight in section, and the landing: straight on in section, or turned in plan."""
    slope = math.atan2(step.rise, step.going)
    flight = _flight(step, part, asked, slope)
    if step.landing is None:
        return (flight,)
    return flight, _landing(step, part, asked, slope)


def _flight(step: StairsStep, part: Solid, asked: float, slope: float) -> Way:
    """Up the flight: between the line of the nosings and what is overhead, which run side by side."""
    size = part.size
    clear = step.headroom * math.cos(slope)
    tries: list[Try] = []
    for across in UPS:
        # The section's first axis is upright, its second along the way.
        shape = part.seen(*others(across)[::-1])
        room, turn, _ = straight_turn(shape, clear)
        rooms = {"height": room, "width": (step.width - size[across]) / 2.0}
        long = 2.0 * shape.reach + 600.0
        run = long * math.cos(slope)
        climb = run * math.tan(slope)
        # It goes on beyond what is drawn, at both ends.
        ends = (-climb, 2.0 * climb)
        region = Region((Band(-run, 2.0 * run, ends, (ends[0] + step.headroom, ends[1] + step.headroom)),))
        rows = _up_the_slope(shape, turn, clear, slope, long)
        tries.append(
            Try(
                min(rooms.values()),
                False,
                partial(
                    way, part, _lying(others(across), turn), rooms, shape, region, rows, view="section", place="flight"
                ),
            )
        )
    return best_of(tries, asked)


def _lying(axes: tuple[int, int], turn: float) -> str:
    """The attitude, from the two axes in the section (first along, second up, as it is unturned) and its turn."""
    up = axes[1] if abs(math.cos(turn)) >= math.sqrt(0.5) else axes[0]
    return ATTITUDES[up]


def _up_the_slope(shape: Shape, turn: float, clear: float, slope: float, long: float) -> Floats:
    """Poses up a slope, at a turn told from it: x up, y level."""
    low, high, near, far = (float(value) for value in shape.extents(np.array(turn)))
    along = np.linspace(-near, long - far, 3) if long > far - near else np.array([long / 2.0])
    off = clear / 2.0 - (low + high) / 2.0
    level = along * math.cos(slope) - off * math.sin(slope)
    up = along * math.sin(slope) + off * math.cos(slope)
    return np.column_stack([up, level, np.full(len(along), turn - slope)])


def _landing(step: StairsStep, part: Solid, asked: float, slope: float) -> Way:
    size = part.size
    deep, over = step.landing or 0.0, step.landing_headroom or step.headroom
    tries: list[Try] = []
    if step.turn == 0:
        for across in UPS:
            shape = part.seen(*others(across)[::-1])
            beside = {"width": (step.width - size[across]) / 2.0}
            region = straight_landing(step, shape.reach)
            bound = min(beside["width"], (step.headroom * math.cos(slope) - least_width(shape)) / 2.0)
            run = -region.begin
            tries.append(
                Try(
                    bound,
                    True,
                    partial(
                        searched,
                        part,
                        "tilted",
                        shape,
                        region,
                        (-run, 0.0),
                        (deep, deep + run),
                        beside,
                        asked,
                        view="section",
                        place="landing",
                    ),
                )
            )
        return best_of(tries, asked)
    for across in UPS:
        level, up = sorted(others(across), key=lambda axis: -size[axis])
        # A half turn wants a search for each.
        leans = _LEANS if step.turn == 90 else _LEANS[3::2]
        for tilt in (math.pi / 2.0, *(lean for lean in leans if lean > slope), slope):
            reach_back = _reach_back(step, size[level], size[up], tilt)
            if reach_back <= 0.0:
                continue
            spread = math.cos(tilt) + math.sin(tilt)
            high = size[level] * math.sin(tilt) + size[up] * math.cos(tilt)
            beside = {"height": (over - high) / 2.0 / spread}
            shape = part.leaned(level, up, across, tilt)
            if beside["height"] < -50.0:
                continue
            name = "tilted" if tilt < 1.5 else ATTITUDES[level]
            bound = min(beside["height"], (min(step.width, deep) - least_width(shape)) / 2.0 / spread)
            if step.turn == 90:
                work = partial(
                    cornered,
                    part,
                    name,
                    shape,
                    step.width,
                    deep,
                    beside,
                    overhang=reach_back,
                    spread=spread,
                    tilt=tilt,
                    place="landing",
                )
            else:
                work = partial(_half_turn, step, part, name, shape, beside, asked, reach_back, spread, tilt)
            # Upright on a quarter turn it is a corner like any other.
            tries.append(Try(bound, step.turn != 90 or tilt < math.pi / 2.0, work))
    if not tries:
        shape = part.seen(*others(2))
        missing = {"height": (over - min(size)) / 2.0, "turn": -999.0}
        return way(part, "flat", missing, shape, Region((straight(0.0, deep),)), np.zeros((0, 3)), place="landing")
    return best_of(tries, asked)


def straight_landing(step: StairsStep, reach: float) -> Region:
    """Flight, landing, flight, in section: y level, from the landing's front edge; x up from its floor."""
    climb = step.rise / step.going
    deep, over = step.landing or 0.0, step.landing_headroom or step.headroom
    run = 2.0 * reach + 600.0
    return Region(
        (
            Band(-run, 0.0, (-run * climb, 0.0), (step.headroom - run * climb, step.headroom)),
            straight(0.0, deep, 0.0, over, sized=True),
            Band(deep, deep + run, (0.0, run * climb), (step.headroom, step.headroom + run * climb)),
        )
    )


def _reach_back(step: StairsStep, long: float, thick: float, tilt: float) -> float:
    """How far it may hang back over the lower flight, leaned with its low end at the landing's height [mm].

    Over the flight its top is no higher than its thickness upright and what it climbs over the part that can be there; what is
    overhead comes down with the flight.
    """
    climb = step.rise / step.going
    most = long * math.sin(tilt) + thick * math.cos(tilt)
    low, high = 0.0, step.headroom / climb

    def fits(back: float) -> bool:
        upright = tilt > math.pi / 2.0 - 1e-9
        top = most if upright else min(most, thick / math.cos(tilt) + math.hypot(step.width, back) * math.tan(tilt))
        return top + back * climb <= step.headroom

    if not fits(0.0):
        return 0.0
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low


def half_turn_region(step: StairsStep, reach_back: float) -> Region:
    """Two flights side by side with their landing, in plan: y across the flights, x towards the landing's far wall."""
    deep, wide, well = step.landing or 0.0, step.width, max(step.well, 1.0)
    return Region(
        (
            straight(0.0, wide, -reach_back, deep, sized=True, clear=False),
            straight(wide, wide + well, 0.0, deep),
            straight(wide + well, 2 * wide + well, -FAR, deep),
        )
    )


def _half_turn(
    step: StairsStep,
    part: Solid,
    name: str,
    shape: Shape,
    beside: dict[str, float],
    asked: float,
    reach_back: float,
    spread: float,
    tilt: float,
) -> Way:
    from slabwright.geometry.passing import widest_way

    region = half_turn_region(step, reach_back)
    well = max(step.well, 1.0)
    found = widest_way(
        region,
        shape,
        (0.0, step.width),
        (step.width + well, region.end),
        asked=asked * spread,
        most=max(100.0, asked * spread + 60.0),
    )
    rooms = {"turn": found.room / spread, **beside}
    return way(part, name, rooms, shape, region, found.poses, tilt=tilt, place="landing")
