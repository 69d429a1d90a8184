"""Tool paths of features: pockets, holes, recesses, channels and keys in depth steps; pecks of a drill."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np

from slabwright.geometry.faces import Floats
from slabwright.job.models import Machine
from slabwright.machine.pockets import SAME, Cut, middles, perimeter, ring_sets
from slabwright.machine.toolpath import Toolpath

RAMP = 0.05
"""Fall of a ramp into full wood, on its length (some 3 degrees). Common practice."""
APPROACH = 2.0
"""Above wood, to where the cutter comes down at rapid speed [mm]."""
_LAPS = 3.0
_TINY = 2.0
"""A ring shorter than this is no ramp: the bit, which cuts to its middle, goes straight down there [mm]."""
_GENTLE = math.radians(25.0)


@dataclass(frozen=True)
class Bit:
    """The cutter for features: a straight router bit that cuts to its middle.

    Attributes:
        diameter: [mm]
        depth_step: greatest depth of one pass [mm]
        stepover: between rings, at most 0.95 of its radius [mm]
        feed: [mm/min]
        plunge_feed: downward [mm/min]
        spindle_speed: turns per minute
        wall: left for the pass along the wall [mm]
        cutting_length: of its edges, how deep it may go at all; None: not stated [mm]
    """

    diameter: float
    depth_step: float
    stepover: float
    feed: float
    plunge_feed: float
    spindle_speed: float
    wall: float = 0.3
    cutting_length: float | None = None

    @property
    def radius(self) -> float:
        """[mm]."""
        return self.diameter / 2.0


def bit_for(machine: Machine, diameter: float = 12.0, cutting_length: float | None = None) -> Bit:
    """A bit run gently on this machine: half its diameter deep at most, 0.4 of it wide. Common practice.

    Args:
        machine: gives feeds, speed and the greatest depth of a pass
        diameter: [mm]
        cutting_length: of its edges [mm]
    """
    return Bit(
        diameter=diameter,
        depth_step=min(machine.greatest_depth, diameter / 2.0),
        stepover=0.4 * diameter,
        feed=machine.bit_feed or min(machine.feed, 3000.0),
        plunge_feed=min(machine.plunge_feed, 1000.0),
        spindle_speed=machine.bit_speed or machine.spindle_speed,
        cutting_length=cutting_length,
    )


def depth_steps(top: float, floor: float, step: float) -> tuple[float, ...]:
    """Heights of the passes from a top to a floor, even steps of at most `step` [mm]."""
    count = max(1, math.ceil((top - floor) / step - 1e-9))
    return (*(top + (floor - top) * number / count for number in range(1, count)), floor)


@dataclass
class _Trace:
    """A path as it grows."""

    safe: float
    places: list[tuple[float, float, float]] = field(default_factory=list)
    feeds: list[float] = field(default_factory=list)

    def to(self, x: float, y: float, z: float, feed: float) -> None:
        """One straight move; the first place is where the path starts."""
        if self.places:
            self.feeds.append(feed)
        self.places.append((x, y, z))

    @property
    def here(self) -> tuple[float, float]:
        """Where it is, from above."""
        return self.places[-1][:2]

    def above(self, x: float, y: float, z: float) -> None:
        """Lifted, across, and down at rapid speed to a height that is clear."""
        if self.places:
            self.to(*self.here, self.safe, 0.0)
        self.to(x, y, self.safe, 0.0)
        self.to(x, y, z, 0.0)

    def path(self) -> Toolpath:
        """With a lift at the end."""
        self.to(*self.here, self.safe, 0.0)
        return Toolpath(np.array(self.places), np.array(self.feeds))


def clearing_path(cut: Cut, bit: Bit, *, safe: float) -> Toolpath | None:
    """Clear a shape to its floor, from the middle out, each depth with a pass along the wall.

    Each depth is entered on a ramp along its innermost ring (round a bore: a helix), which is then run once more level.

    Args:
        cut: core on the machine, heights above the bed
        bit: the cutter
        safe: height at which it travels [mm]

    Returns:
        The path; None where the bit is too wide.
    """
    sets = ring_sets(cut, bit.radius, bit.stepover, bit.wall)
    if not sets:
        return None
    if cut.round_hole and abs(cut.radius - bit.radius) <= SAME:
        return peck_path(cut, bit, safe=safe)
    import shapely

    allowed = middles(cut, bit.radius).buffer(1e-6) if len(sets) > 1 else None
    if allowed is not None:
        shapely.prepare(allowed)
    trace = _Trace(safe)
    before = cut.top
    for level in depth_steps(cut.top, cut.floor, bit.depth_step):
        down = False
        for rings in sets:
            waiting = list(rings)
            while waiting:
                ring = _nearest(waiting, trace.here if trace.places else None)
                begun = _begun(ring, trace.here if trace.places else None)
                first_x, first_y = begun[0].tolist()
                link = shapely.LineString([trace.here, (first_x, first_y)]) if down else None
                if link is not None and allowed is not None and allowed.covers(link):
                    trace.to(first_x, first_y, level, bit.feed)
                else:
                    trace.above(first_x, first_y, before + APPROACH)
                    trace.to(first_x, first_y, before, bit.plunge_feed)
                    if perimeter(ring) < _TINY:
                        trace.to(first_x, first_y, level, bit.plunge_feed)
                    else:
                        begun = _ramp(trace, begun, before, level, bit)
                for x, y in begun[1:].tolist():
                    trace.to(x, y, level, bit.feed)
                down = True
        before = level
    return trace.path()


def _nearest(waiting: list[Floats], here: tuple[float, float] | None) -> Floats:
    """The ring that comes nearest, taken from those that wait."""
    if here is None or len(waiting) == 1:
        return waiting.pop(0)
    away = [float(np.hypot(*(ring - here).T).min()) for ring in waiting]
    return waiting.pop(int(np.argmin(away)))


def _begun(ring: Floats, here: tuple[float, float] | None) -> Floats:
    """A closed ring begun at its place nearest to here."""
    if here is None:
        return ring
    first = int(np.argmin(np.hypot(*(ring[:-1] - here).T)))
    return np.concatenate((ring[first:-1], ring[: first + 1]))


def _ramp(trace: _Trace, ring: Floats, before: float, level: float, bit: Bit) -> Floats:
    """Go down along a ring; gives the ring begun where the ramp ends."""
    drop, length = before - level, perimeter(ring)
    steepest = 0.8 * bit.plunge_feed / bit.feed  # less, for places are rounded when they are written
    fall = min(steepest, max(RAMP, drop / (_LAPS * length)))
    run = drop / fall
    steps = np.hypot(*np.diff(ring, axis=0).T)
    done, index = 0.0, 0
    while True:
        step = float(steps[index])
        if done + step >= run - 1e-9:
            share = (run - done) / step if step > 0.0 else 0.0
            end = ring[index] + share * (ring[index + 1] - ring[index])
            trace.to(float(end[0]), float(end[1]), level, bit.feed)
            return np.concatenate((end[None], ring[index + 1 : -1], ring[: index + 1], end[None]))
        done += step
        x, y = ring[index + 1].tolist()
        trace.to(x, y, before - fall * done, bit.feed)
        index = (index + 1) % len(steps)


def peck_path(cut: Cut, bit: Bit, *, safe: float) -> Toolpath:
    """A hole drilled in pecks, lifted out after each to clear the chips: straight moves only, no canned cycle.

    Args:
        cut: its core is a point on the machine
        bit: the drill, as wide as the hole
        safe: height at which it travels [mm]
    """
    x, y = (float(value) for value in cut.core.coords[0][:2])
    trace = _Trace(safe)
    before = cut.top
    for level in depth_steps(cut.top, cut.floor, bit.depth_step):
        trace.above(x, y, before + APPROACH)
        trace.to(x, y, level, bit.plunge_feed)
        before = level
    return trace.path()


def flowing_time(path: Toolpath, *, rapid: float, acceleration: float) -> float:
    """Time of a path with arcs made of chords, on a control that reads ahead.

    Where the way turns by less than `_GENTLE` the cutter goes on, no faster than v = sqrt(a R), with R the chord's length over
    the turn: the radius of the arc that the chords stand for. At every sharper turn it stops.

    Args:
        path: the moves
        rapid: speed of the rapid moves [mm/min]
        acceleration: a, along the move and towards the middle of a turn [mm/s2]

    Returns:
        [min]
    """
    run = np.diff(path.points, axis=0)
    length = np.linalg.norm(run, axis=1)
    real = length > 1e-9
    run, length, feed = run[real], length[real], path.feed[real]
    if not length.size:
        return 0.0
    way = run / length[:, None]
    turn = np.arccos(np.clip((way[1:] * way[:-1]).sum(axis=1), -1.0, 1.0))
    stops = (turn > _GENTLE) | (feed[1:] != feed[:-1])
    bend = np.where(stops, 0.0, turn)
    sharper = np.maximum(np.append(bend, 0.0), np.append(0.0, bend))
    top = np.where(feed > 0.0, feed, rapid) / 60.0
    speed = np.minimum(top, np.sqrt(acceleration * length / np.maximum(sharper, 1e-9)))
    starts = np.flatnonzero(np.append(True, stops))
    whole = np.add.reduceat(length, starts)
    greatest = np.minimum.reduceat(speed, starts)
    # From standstill to standstill, as one straight move of the stretch's length at its slowest chord's speed.
    seconds = np.where(
        whole >= greatest**2 / acceleration,
        whole / greatest + greatest / acceleration,
        2.0 * np.sqrt(whole / acceleration),
    )
    return float(seconds.sum()) / 60.0
