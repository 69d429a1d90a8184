"""The order of the stretches, and how the cutter comes from one to the next: sideways in the wood, straight on, or lifted."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from slabwright.geometry.faces import Floats
from slabwright.machine.lattice import Bools, Cutter, Lattice
from slabwright.machine.rounds import rounds
from slabwright.machine.stretches import Stretches
from slabwright.machine.timing import move_seconds

APPROACH = 2.0
"""Above the level, to where the cutter comes down at rapid speed [mm]."""
_BESIDE = 1.0
_LONGEST_DIRECT = 800.0
_NEAR = 12

Point = tuple[float, float]


@dataclass(frozen=True)
class Leg:
    """Part of a route.

    Attributes:
        lifted: whether the cutter is lifted to its first place
        via: where the cutter goes at the level; the first after a lift is where it comes down
        feeds: of the moves to each place of `via` [mm/min]
        leave: where it is lifted; None for the first leg of all
        beside: whether no wood stands where it comes down
    """

    lifted: bool
    via: tuple[Point, ...]
    feeds: tuple[float, ...]
    leave: Point | None = None
    beside: bool = True


@dataclass
class Route:
    """All legs in their order, and about how long they take."""

    legs: list[Leg] = field(default_factory=list)
    seconds: float = 0.0


@dataclass
class _Work:
    """One level's stretches as plain lists, for quick access one by one."""

    cells: Lattice
    cutter: Cutter
    rise: float
    all_: Stretches

    def __post_init__(self) -> None:
        these = self.all_
        self.v = these.v.tolist()
        self.start, self.end = these.start.tolist(), these.end.tolist()
        self.start_up, self.end_up = these.start_up.tolist(), these.end_up.tolist()
        self.wood_from, self.wood_to = these.wood_from.tolist(), these.wood_to.tolist()
        self.speed = self.cutter.feed / 60.0
        self.rapid = self.cutter.rapid / 60.0
        self.stop = self.speed / self.cutter.acceleration
        self.rows = _middles(self.cells.v_start, self.cells.dv, self.cells.wood.shape[0])
        self.columns = _middles(self.cells.u_start, self.cells.du, self.cells.wood.shape[1])
        self._neighbours()
        up_and_down = move_seconds(self.rise, self.cutter.rapid / 60.0, self.cutter.acceleration)
        plunge = move_seconds(APPROACH, self.cutter.plunge_feed / 60.0, self.cutter.acceleration)
        self.lift_seconds = 2.0 * up_and_down + plunge + self.stop

    def _neighbours(self) -> None:
        """Which stretches have to be done before which, and which lie on the next line."""
        these, flat = self.all_, self.cutter.flat
        count = len(these)
        self.next_line: list[list[int]] = [[] for _ in range(count)]
        self.after: list[list[int]] = [[] for _ in range(count)]
        self.waits = [0] * count
        for index in range(count):
            # Sorted by patch and line: later lines of the patch follow.
            for other in range(index + 1, count):
                if these.patch[other] != these.patch[index] or self.v[other] - self.v[index] > 2.0 * flat:
                    break
                if these.line[other] == these.line[index]:
                    continue
                if (
                    self.wood_from[other] - flat < self.wood_to[index] + flat
                    and self.wood_to[other] + flat > self.wood_from[index] - flat
                ):
                    if these.line[other] == these.line[index] + 1:
                        self.next_line[index].append(other)
                    self.after[index].append(other)
                    self.waits[other] += 1


def _middles(start: float, step: float, count: int) -> Floats:
    """Middles of cells [mm]."""
    return np.asarray(start + step * (0.5 + np.arange(count)), dtype=np.float64)


def route(cells: Lattice, these: Stretches, cutter: Cutter, *, rise: float, from_far: bool = False) -> Route:
    """Order and links of all stretches: always the nearest in time of those whose turn it may be.

    Args:
        cells: the wood of the level
        these: what has to be fed
        cutter: speeds and sizes
        rise: about how far a lift goes up [mm]
        from_far: whether the first stretch is taken from its far end

    Returns:
        The route.
    """
    work = _Work(cells, cutter, rise, these)
    fresh = cells.wood.copy()
    count = len(these)
    open_ = [index for index in range(count) if not work.waits[index]]
    done = Route()
    if not count:
        _add_rounds(work, fresh, done)
        return done
    # The first one: at the lowest lines, from its near or its far end.
    at, forward = min(open_, key=lambda index: (work.v[index], work.start[index])), not from_far
    done.legs.append(_entry(work, fresh, at, forward))
    came_from = done.legs[0].via[-1][0]
    while True:
        open_.remove(at)
        for other in work.after[at]:
            work.waits[other] -= 1
            if not work.waits[other]:
                open_.append(other)
        _clear(work, fresh, at)
        leg, at_next, forward_next, leave = _next(work, fresh, at, forward, open_)
        done.seconds += abs(leave - came_from) / work.speed + work.stop
        if leg is None:
            done.legs.append(Leg(False, ((leave, work.v[at]),), (cutter.feed,)))
            _add_rounds(work, fresh, done)
            return done
        done.legs.append(leg[0])
        done.seconds += leg[1]
        came_from = leg[0].via[-1][0]
        at, forward = at_next, forward_next


def _add_rounds(work: _Work, fresh: Bools, done: Route) -> None:
    """What the strips left beside clamps and at a window's end in the wood, slower: the cut may be as wide as the flat."""
    cutter, cells = work.cutter, work.cells
    if not cells.boxes and not any(cells.in_wood):
        return
    slower = cutter.feed * min(1.0, cutter.spacing / (2.0 * cutter.flat))
    for line in rounds(cells, fresh, cutter):
        last = done.legs[-1].via[-1] if done.legs else None
        if _wood_under(work, fresh, line[0]) and not _wood_under(work, fresh, line[-1]):
            line = line[::-1]
        beside = not _wood_under(work, fresh, line[0])
        done.legs.append(Leg(True, line, (slower,) * len(line), last, beside))


def _clear(work: _Work, fresh: Bools, index: int) -> None:
    """What a stretch leaves no wood on."""
    flat = work.cutter.flat
    v, start, end = work.v[index], work.start[index], work.end[index]
    cells = work.cells
    top = max(int((v - flat - cells.v_start) / cells.dv), 0), int((v + flat - cells.v_start) / cells.dv) + 1
    side = max(int((start - flat - cells.u_start) / cells.du), 0), int((end + flat - cells.u_start) / cells.du) + 1
    rows, columns = slice(*top), slice(*side)
    u = work.columns[columns]
    off_u = np.maximum(np.maximum(start - u, u - end), 0.0)
    off_v = work.rows[rows] - v
    part = fresh[rows, columns]
    part &= off_u[None, :] ** 2 + off_v[:, None] ** 2 > flat * flat


def _next(
    work: _Work, fresh: Bools, at: int, forward: bool, open_: list[int]
) -> tuple[tuple[Leg, float] | None, int, bool, float]:
    """The quickest way on: leg and its seconds, the stretch, whether it is taken forward, and where this one is left."""
    end = work.end[at] if forward else work.start[at]
    best: tuple[float, Leg, int, bool, float] | None = None
    for other in work.next_line[at]:
        if work.waits[other] == 0 and other in open_:
            turn = _turn(work, at, other, forward)
            if turn is not None and (best is None or turn[0] < best[0]):
                best = (turn[0], turn[1], other, not forward, turn[2])
    if not open_:
        return None, at, forward, end
    cutter = work.cutter
    v = work.v[at]
    near: list[tuple[float, int, bool]] = []
    for other in open_:
        for way in (True, False):
            away = math.hypot((work.wood_from[other] if way else work.wood_to[other]) - end, work.v[other] - v)
            near.append((away, other, way))
    near.sort()
    for away, other, way in near[:_NEAR]:
        if best is not None and away / work.speed >= best[0] and away / work.rapid + work.lift_seconds >= best[0]:
            break
        entry = _entry(work, fresh, other, way)
        via = entry.via
        lead = sum(math.dist(one, two) for one, two in pairwise(via)) / work.speed
        run = math.dist((end, v), via[0])
        lift = work.lift_seconds + move_seconds(run, cutter.rapid / 60.0, cutter.acceleration) + lead
        if best is None or lift < best[0]:
            best = (lift, replace(entry, leave=(end, v)), other, way, end)
        straight = run / work.speed + (work.stop if run > 0.0 else 0.0) + lead
        if straight < best[0] and run <= _LONGEST_DIRECT and _is_clear(work, fresh, (end, v), via[0]):
            best = (straight, Leg(False, ((end, v), *via), (cutter.feed,) * (1 + len(via))), other, way, end)
    assert best is not None
    seconds, leg, other, way, leave = best
    return (leg, seconds), other, way, leave


def _turn(work: _Work, at: int, other: int, forward: bool) -> tuple[float, Leg, float] | None:
    """Sideways to a stretch of the next line: extra seconds, the leg, and where this stretch is left.

    The cutter goes on until what it meets sideways is no wider than the spacing.
    """
    cutter, cells = work.cutter, work.cells
    over = cutter.spacing - cutter.flat
    if forward:
        here, there = work.end[at], work.end[other]
        wood = max(work.wood_to[at], work.wood_to[other])
        wished = max(work.end_up[at], there, wood - over)
        # Beside clamps the line before may not have taken what this one reaches on its near side: it goes to its end.
        wished = max(wished, here) if cells.boxes else wished
        place = min(wished, cells.u_limits[1])
        meets = wood - place + cutter.flat
    else:
        here, there = work.start[at], work.start[other]
        wood = min(work.wood_from[at], work.wood_from[other])
        wished = min(work.start_up[at], there, wood + over)
        wished = min(wished, here) if cells.boxes else wished
        place = max(wished, cells.u_limits[0])
        meets = place + cutter.flat - wood
    low, high = work.v[at], work.v[other]
    if _meets_box(cells, (here, low), (place, low)) or _meets_box(cells, (place, low), (place, high)):
        return None
    if _meets_box(cells, (place, high), (there, high)):
        return None
    # Wider than that where a limit holds the cutter back: slower by as much.
    share = min(1.0, cutter.spacing / min(max(meets, 1e-9), 2.0 * cutter.flat))
    beyond = (place - here) if forward else (here - place)
    back = abs(place - there)
    seconds = (
        beyond / work.speed + move_seconds(high - low, share * work.speed, cutter.acceleration) + back / work.speed
    )
    leg = Leg(False, ((place, low), (place, high)), (cutter.feed, share * cutter.feed))
    return seconds, leg, place


def _entry(work: _Work, fresh: Bools, index: int, forward: bool) -> Leg:
    """Where the cutter comes down for a stretch, beside the wood if it can, and how it goes on to the stretch's line."""
    cutter, cells = work.cutter, work.cells
    v = work.v[index]
    sign = 1.0 if forward else -1.0
    start = work.start[index] if forward else work.end[index]
    edge = work.wood_from[index] if forward else work.wood_to[index]
    least, most = cells.u_limits
    for off_v in (0.0, -0.5 * cutter.radius, -cutter.radius):
        below = max(v + off_v, cells.v_limits[0])
        for off_u in (_BESIDE, 0.5 * cutter.radius, cutter.radius):
            u = min(max(edge - sign * (cutter.radius + off_u), least), most)
            if sign * (start - u) < 0.0:
                u = start
            if _meets_box(cells, (u, below), (u, v)) or _meets_box(cells, (u, v), (start, v)):
                continue
            if not _wood_under(work, fresh, (u, below)):
                via = ((u, v),) if below == v else ((u, below), (u, v))
                return Leg(True, via, (cutter.feed,) * len(via))
    return Leg(True, ((start, v),), (cutter.feed,), beside=False)


def _wood_under(work: _Work, fresh: Bools, at: Point) -> bool:
    """Whether wood stands under the cutter."""
    cells, radius = work.cells, work.cutter.radius
    top = max(int((at[1] - radius - cells.v_start) / cells.dv), 0)
    side = max(int((at[0] - radius - cells.u_start) / cells.du), 0)
    rows = slice(top, max(int((at[1] + radius - cells.v_start) / cells.dv) + 1, top))
    columns = slice(side, max(int((at[0] + radius - cells.u_start) / cells.du) + 1, side))
    part = fresh[rows, columns]
    if not part.any():
        return False
    off = (work.columns[columns] - at[0])[None, :] ** 2 + (work.rows[rows] - at[1])[:, None] ** 2
    return bool((part & (off < radius * radius)).any())


def _is_clear(work: _Work, fresh: Bools, one: Point, two: Point) -> bool:
    """Whether a straight move at the level meets no wood and no clamp."""
    if _meets_box(work.cells, one, two):
        return False
    cells, radius = work.cells, work.cutter.flat
    top = max(int((min(one[1], two[1]) - radius - cells.v_start) / cells.dv), 0)
    side = max(int((min(one[0], two[0]) - radius - cells.u_start) / cells.du), 0)
    rows = slice(top, max(int((max(one[1], two[1]) + radius - cells.v_start) / cells.dv) + 1, top))
    columns = slice(side, max(int((max(one[0], two[0]) + radius - cells.u_start) / cells.du) + 1, side))
    row, column = np.nonzero(fresh[rows, columns])
    if not row.size:
        return True
    u, v = work.columns[columns][column] - one[0], work.rows[rows][row] - one[1]
    run_u, run_v = two[0] - one[0], two[1] - one[1]
    share = np.clip((u * run_u + v * run_v) / max(run_u * run_u + run_v * run_v, 1e-12), 0.0, 1.0)
    return bool(((u - share * run_u) ** 2 + (v - share * run_v) ** 2).min() >= radius * radius)


def _meets_box(cells: Lattice, one: Point, two: Point) -> bool:
    """Whether a straight move goes through the room of a clamp."""
    for box in cells.boxes:
        least, most = 0.0, 1.0
        for at, to, low, high in (
            (one[0], two[0], box.u_from, box.u_to),
            (one[1], two[1], box.v_from, box.v_to),
        ):
            run = to - at
            if abs(run) < 1e-12:
                if not low + 1e-9 < at < high - 1e-9:
                    least, most = 1.0, 0.0
                continue
            near, far = sorted(((low - at) / run, (high - at) / run))
            least, most = max(least, near), min(most, far)
        if least < most - 1e-12:
            return True
    return False
