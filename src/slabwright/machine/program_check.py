"""What a program's moves must keep to, whatever the wood: travel, feeds, spindle, clamps, a safe start and a safe end."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats
from slabwright.job.models import Machine
from slabwright.machine.faults import Fault, FaultKind
from slabwright.machine.feeds import scallop
from slabwright.machine.frame import KeepOut
from slabwright.machine.interpreter import Move
from slabwright.quantities import Units, format_length

TOLERANCE = 0.01
"""How far below its plane a program may cut, and how far above it may leave wood beside the scallop [mm]."""
_CHORD_ERROR = 0.001
_ROUNDING = 0.005  # of places written to 0.001 mm or 0.0001 in, with room for two of them


@dataclass(frozen=True)
class Limits:
    """What machine and cutter may do.

    Attributes:
        cutter_diameter: [mm]
        corner_radius: of its inserts [mm]
        stepover: between strips; gives the scallop that may stay [mm]
        greatest_depth: that one move may take off [mm]
        greatest_feed: [mm/min]
        plunge_feed: downward part of a feed into wood [mm/min]
        travel_x: of the cutter's middle, in the machine's frame [mm]
        travel_y: of the cutter's middle, in the machine's frame [mm]
        travel_z: of the cutter's end, in the machine's frame [mm]
        least_speed: of the spindle while it cuts, turns per minute
        greatest_speed: of the spindle, turns per minute
        holder_diameter: of what carries the cutter; 0: it is no wider than the cutter [mm]
        stick_out: from the cutter's end up to its holder [mm]
        clearance: of a rapid move above wood, and of every move above clamps [mm]
        side_room: that strips may leave between cutter or holder and a clamp: wood so near need not come down [mm]
        first_contact_feed: of the move that first touches wood; None: nothing is asked [mm/min]
    """

    cutter_diameter: float
    corner_radius: float
    stepover: float
    greatest_depth: float
    greatest_feed: float
    plunge_feed: float
    travel_x: tuple[float, float]
    travel_y: tuple[float, float]
    travel_z: tuple[float, float]
    least_speed: float = 0.0
    greatest_speed: float = math.inf
    holder_diameter: float = 0.0
    stick_out: float = math.inf
    clearance: float = 1.0
    side_room: float = 5.0
    first_contact_feed: float | None = None

    @property
    def radius(self) -> float:
        """Of the cutter [mm]."""
        return self.cutter_diameter / 2.0

    @property
    def scallop(self) -> float:
        """Height of the ridge between two strips [mm]."""
        return scallop(self.stepover, self.cutter_diameter, self.corner_radius)


def limits_of(machine: Machine) -> Limits:
    """The limits of the machine and cutter that the shop states."""
    return Limits(
        cutter_diameter=machine.cutter_diameter,
        corner_radius=machine.corner_radius,
        stepover=machine.stepover,
        greatest_depth=min(machine.greatest_depth, machine.depth_most or math.inf),
        greatest_feed=machine.feed_most or machine.feed,
        plunge_feed=machine.plunge_feed,
        travel_x=(0.0, machine.travel_x),
        travel_y=(0.0, machine.travel_y),
        travel_z=(0.0, machine.travel_z),
        greatest_speed=min(machine.spindle_speed_most or math.inf, machine.cutter_speed_most or math.inf),
        holder_diameter=machine.holder_diameter or 0.0,
        stick_out=machine.stick_out or math.inf,
    )


@dataclass(frozen=True)
class Pieces:
    """Moves as straight pieces in the machine's frame; an arc becomes chords.

    Attributes:
        line: of the program's text, shape (n,)
        start: shape (n, 3); nan where the program has not said yet [mm]
        end: shape (n, 3); nan where the program has not said yet [mm]
        feed: 0: a rapid, shape (n,) [mm/min]
        speed: of the spindle, shape (n,)
    """

    line: NDArray[np.int64]
    start: Floats
    end: Floats
    feed: Floats
    speed: Floats


def pieces(moves: Sequence[Move], block: float) -> Pieces:
    """Straight pieces of a program's moves.

    Args:
        moves: in the program's own zero
        block: height of the program's z zero above the bed [mm]

    Returns:
        The pieces; a chord leaves its arc by at most 0.001 mm.
    """
    line: list[int] = []
    start: list[tuple[float, float, float]] = []
    end: list[tuple[float, float, float]] = []
    feed: list[float] = []
    speed: list[float] = []
    for move in moves:
        places = [move.start, move.end] if move.arc is None else [*_chord_ends(move), move.end]
        count = len(places) - 1
        line += [move.line] * count
        start += places[:-1]
        end += places[1:]
        feed += [move.feed] * count
        speed += [move.speed] * count
    raised = np.array([0.0, 0.0, block])
    return Pieces(
        np.array(line, int),
        np.array(start, float).reshape(-1, 3) + raised,
        np.array(end, float).reshape(-1, 3) + raised,
        np.array(feed, float),
        np.array(speed, float),
    )


def _chord_ends(move: Move) -> list[tuple[float, float, float]]:
    """Where the chords of an arc begin."""
    assert move.arc is not None
    x, y, z = move.start
    radius = math.hypot(x - move.arc.x, y - move.arc.y)
    step = 2.0 * math.acos(1.0 - min(_CHORD_ERROR / radius, 1.0))
    count = max(1, math.ceil(abs(move.arc.angle) / step))
    first = math.atan2(y - move.arc.y, x - move.arc.x)
    along = np.arange(count) / count
    angle = first + along * move.arc.angle
    places = np.column_stack(
        (
            move.arc.x + radius * np.cos(angle),
            move.arc.y + radius * np.sin(angle),
            z + along * (move.end[2] - z),
        )
    )
    places[0] = move.start
    return [(float(px), float(py), float(pz)) for px, py, pz in places]


def motion_faults(
    parts: Pieces, limits: Limits, keep_out: Sequence[KeepOut], *, highest: float, lowest: float, units: Units
) -> Iterator[Fault]:
    """Faults that show without looking at the wood, except for how high it reaches.

    Args:
        parts: of the program
        limits: of machine and cutter
        keep_out: clamps, stops and wedges
        highest: of all wood and clamps [mm]
        lowest: that the cutter may come at feed [mm]
        units: for the messages
    """

    def length(mm: float) -> str:
        return format_length(mm, units)

    low = np.minimum(parts.start[:, 2], parts.end[:, 2])
    known = np.asarray(np.isfinite(parts.start).all(axis=1))
    fed = parts.feed > 0.0
    yield from _start_faults(parts, known, highest + limits.clearance, length(highest + limits.clearance))
    for axis, (least, most) in enumerate((limits.travel_x, limits.travel_y, limits.travel_z)):
        where = parts.end[:, axis]
        for index in _first_of_each_line((where < least - _ROUNDING) | (where > most + _ROUNDING), parts):
            yield Fault(
                int(parts.line[index]),
                "travel",
                f"{'xyz'[axis]} of {length(where[index])} on the machine; it travels from {length(least)} to {length(most)}",
            )
    for index in _first_of_each_line(parts.feed > limits.greatest_feed * (1.0 + 1e-9), parts):
        yield Fault(
            int(parts.line[index]),
            "feed",
            f"a feed of {length(parts.feed[index])} a minute; {length(limits.greatest_feed)} is the most",
        )
    standing = (parts.speed <= 0.0) & known & (fed | (low < highest + limits.clearance - _ROUNDING))
    for index in _first_of_each_run(standing, parts):
        what = "a move at feed" if fed[index] else "the cutter comes down"
        yield Fault(int(parts.line[index]), "spindle", f"{what} and the spindle does not turn")
    out_of_speed = (parts.speed > limits.greatest_speed) | (
        fed & (parts.speed > 0.0) & (parts.speed < limits.least_speed)
    )
    for index in _first_of_each_run(out_of_speed, parts):
        yield Fault(
            int(parts.line[index]),
            "spindle",
            f"a spindle speed of {parts.speed[index]:g} a minute; "
            f"{limits.least_speed:g} to {limits.greatest_speed:g} is allowed",
        )
    for index in _first_of_each_run(fed & (low < lowest - TOLERANCE), parts):
        yield Fault(
            int(parts.line[index]),
            "below",
            f"the cutter goes {length(lowest - low[index])} below the plane that this program cuts to",
        )
    for keep in keep_out:
        yield from _keep_out_faults(parts, limits, keep, low, known, length(keep.top))


def _start_faults(parts: Pieces, known: NDArray[np.bool_], safe: float, told: str) -> Iterator[Fault]:
    """Where the cutter stands when a program starts is not known: it must first go up, then to its place."""
    for index in np.flatnonzero(~known):
        line, end = int(parts.line[index]), parts.end[index]
        if parts.feed[index] > 0.0:
            yield Fault(line, "start", "a move at feed from a place that the program has not stated")
        elif math.isnan(end[2]):
            yield Fault(line, "start", "the cutter moves sideways before it is lifted; it may stand in wood")
        elif end[2] < safe - _ROUNDING:
            yield Fault(
                line, "start", f"the first lift ends below {told} above the bed, where it clears all wood and clamps"
            )


def _keep_out_faults(
    parts: Pieces, limits: Limits, keep: KeepOut, low: Floats, known: NDArray[np.bool_], top: str
) -> Iterator[Fault]:
    """Moves whose cutter or holder comes over a clamp below its top."""
    sideways = (parts.start[:, :2] != parts.end[:, :2]).any(axis=1)
    rapid = parts.feed == 0.0
    lifting = rapid & ~sideways & (parts.end[:, 2] >= parts.start[:, 2])
    for radius, above, what, kind in (
        (limits.radius, 0.0, "the cutter", "clamp"),
        (limits.holder_diameter / 2.0, limits.stick_out, "the holder above the cutter", "holder"),
    ):
        if not radius:
            continue
        near = known & ~lifting & (low + above < keep.top + limits.clearance - _ROUNDING)
        index = np.flatnonzero(near)
        if not index.size:
            continue
        start, end = parts.start[index, :2], parts.end[index, :2]
        away = np.where(rapid[index], _box_to_box(start, end, keep), segment_to_box(start, end, keep))
        hit = np.zeros(len(parts.line), bool)
        hit[index[away < radius - _ROUNDING]] = True
        for first in _first_of_each_line(hit, parts):
            named: FaultKind = "clamp" if kind == "clamp" else "holder"
            yield Fault(
                int(parts.line[first]), named, f"{what} comes over {keep.name}, whose top is {top} above the bed"
            )


def _box_to_box(start: Floats, end: Floats, keep: KeepOut) -> Floats:
    """Distance of the box round each move from a clamp: a rapid may go any way within that box [mm]."""
    least, most = np.minimum(start, end), np.maximum(start, end)
    gap_x = np.maximum(np.maximum(keep.x_from - most[:, 0], least[:, 0] - keep.x_to), 0.0)
    gap_y = np.maximum(np.maximum(keep.y_from - most[:, 1], least[:, 1] - keep.y_to), 0.0)
    return np.hypot(gap_x, gap_y)


def segment_to_box(start: Floats, end: Floats, keep: KeepOut) -> Floats:
    """Distance of straight moves from a clamp seen from above.

    Args:
        start: x, y, shape (n, 2) [mm]
        end: x, y, shape (n, 2) [mm]
        keep: the clamp

    Returns:
        Shape (n,); 0 where they meet [mm].
    """
    least, most = np.array([keep.x_from, keep.y_from]), np.array([keep.x_to, keep.y_to])
    run = end - start
    # The stretch of the move (0 to 1) that lies within the box's x and within its y; if they share any, the two meet.
    with np.errstate(divide="ignore", invalid="ignore"):
        one, other = (least - start) / run, (most - start) / run
    inside = (start >= least) & (start <= most)
    enters = np.where(run == 0.0, np.where(inside, 0.0, np.inf), np.minimum(one, other)).max(axis=1)
    leaves = np.where(run == 0.0, np.where(inside, 1.0, -np.inf), np.maximum(one, other)).min(axis=1)
    meets = np.maximum(enters, 0.0) <= np.minimum(leaves, 1.0)
    ends = [np.hypot(*(np.maximum(np.maximum(least - p, p - most), 0.0).T)) for p in (start, end)]
    squared = np.maximum((run**2).sum(axis=1), 1e-300)
    away = np.minimum(*ends)
    for x in (keep.x_from, keep.x_to):
        for y in (keep.y_from, keep.y_to):
            to_corner = np.array([x, y]) - start
            along = np.clip((to_corner * run).sum(axis=1) / squared, 0.0, 1.0)
            away = np.minimum(away, np.hypot(*((to_corner - along[:, None] * run).T)))
    return np.where(meets, 0.0, away)


def _first_of_each_line(wrong: NDArray[np.bool_], parts: Pieces) -> Iterator[int]:
    """The first wrong piece of each line of the text."""
    index = np.flatnonzero(wrong)
    _, first = np.unique(parts.line[index], return_index=True)
    yield from (int(i) for i in index[first])


def _first_of_each_run(wrong: NDArray[np.bool_], parts: Pieces) -> Iterator[int]:
    """The first wrong piece of each run of wrong ones: a state that stays wrong is told once."""
    before = np.concatenate(([False], wrong[:-1]))
    yield from (int(i) for i in np.flatnonzero(wrong & ~before))
