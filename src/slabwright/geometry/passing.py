"""The widest way of a flat shape through a run of bands: found on a grid that is refined where it matters, then proved.

The room left at a place and a turn changes by no more than the shape's points move. So a cell of the grid is free for sure, or
blocked for sure, or is cut into four; and a polyline of poses is free for sure between its corners once these stand closely
enough (a Lipschitz bound). What is told as free is proved so; what is told as blocked is so down to the stated resolution.

References:
    .. [1] R. A. Brooks, T. Lozano-Perez, A subdivision algorithm in configuration space for findpath with rotation, IEEE
       Transactions on Systems, Man, and Cybernetics 15 (1985): cells free, mixed and full. From memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from slabwright.geometry.bands import Region, Shape, room_left, stretch
from slabwright.geometry.faces import Floats

Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

RESOLUTION = 3.0
"""A way is not missed for want of a finer grid where it would leave this much room on each side [mm]."""
_SURE = 0.1
"""The proof of a path stops when it tells no more than this too little [mm]."""
_COARSE, _FINE = 26, 6.0
_AMPLE = 25.0
"""Room beyond what is asked that is not measured more closely [mm]."""


@dataclass(frozen=True)
class Passed:
    """A way through.

    Attributes:
        room: how far every side of the shape could stand farther out on the whole way, proved; where negative: how far it
            would have to stand farther in, as well as it is known [mm]
        poses: x across, y along, turn [mm, mm, rad], shape (n, 3); none where nothing was found
    """

    room: float
    poses: Floats


@dataclass(frozen=True)
class _Task:
    region: Region
    shape: Shape
    start: tuple[float, float]
    goal: tuple[float, float]
    least: float
    most: float

    @property
    def radius(self) -> float:
        return self.shape.reach + math.sqrt(2.0) * max(self.most, 0.0)

    def room(self, y: Floats, turn: Floats, fineness: float) -> Floats:
        return room_left(self.region, self.shape, y, turn, self.least, self.most, fineness)

    def within(self, span: tuple[float, float], y: Floats, turn: Floats) -> Floats:
        """How far it can grow and stay between two places along the way."""
        _, _, low, high = self.shape.extents(turn)
        wide = np.abs(np.sin(turn)) + np.abs(np.cos(turn))
        room: Floats = np.minimum(y + low - span[0], span[1] - y - high) / wide
        return room


def widest_way(
    region: Region,
    shape: Shape,
    start: tuple[float, float],
    goal: tuple[float, float],
    *,
    asked: float = 0.0,
    least: float = -100.0,
    most: float = 100.0,
) -> Passed:
    """The way on which the shape can be grown most, as finely as it takes to tell whether that is as much as is asked.

    Args:
        region: the way
        shape: what is carried
        start: places along the way between which all of it lies at first [mm]
        goal: places between which all of it lies at last [mm]
        asked: growth that decides whether it goes [mm]
        least: growth below which nothing is told [mm]
        most: growth beyond which no more is looked for [mm]
    """
    task = _Task(region, shape.merged(), start, goal, least, most)
    grid = _Grid.coarse(task)
    low, high = grid.bracket()
    while grid.step > _FINE and high > asked and low < asked + _AMPLE and high - low > 1.0:
        grid = grid.split(max(low, asked - 2.0 * grid.step), min(high, asked + _AMPLE))
        low, high = grid.bracket()
    best = _polished(task, grid)
    # A way that is told as blocked is looked for with a finer grid first, near what is asked only.
    while best.room < asked < high and grid.step > RESOLUTION:
        grid = grid.split(asked, asked)
        start_at, goal_at = grid.ends()
        change = 7.0 / 6.0 * grid.error
        if not grid.joined(grid.room + change, start_at + change, goal_at + change, asked).any():
            break
        finer = _polished(task, grid, asked)
        best = finer if finer.room > best.room else best
    return best


@dataclass(frozen=True)
class _Grid:
    """Room left at the middles of cells; rows along the way, columns by turn, which close on themselves."""

    task: _Task
    step: float
    y: Floats
    turn: Floats
    room: Floats
    error: float

    @classmethod
    def coarse(cls, task: _Task) -> _Grid:
        reach = task.shape.reach + max(task.most, 0.0) * 1.5
        begin = max(task.region.begin, min(task.start[1], task.goal[1], task.region.bands[0].end) - reach)
        end = min(task.region.end, max(task.start[0], task.goal[0], task.region.bands[-1].begin) + reach)
        around = task.radius * task.shape.period
        step = max(2.0 * task.radius / _COARSE / 2.0, 10.0)
        rows, columns = max(4, math.ceil((end - begin) / step)), max(8, math.ceil(around / step))
        y = begin + (np.arange(rows) + 0.5) * (end - begin) / rows
        turn = (np.arange(columns) + 0.5) * task.shape.period / columns
        error = (end - begin) / rows / 2.0 + around / columns / 2.0
        each, turned = (a.ravel() for a in np.meshgrid(y, turn, indexing="ij"))
        room = task.room(each, turned, error / 6.0).reshape(rows, columns)
        return cls(task, max((end - begin) / rows, around / columns), y, turn, room, error)

    def ends(self) -> tuple[Floats, Floats]:
        y, turn = self.y[:, None], self.turn[None, :]
        start = np.minimum(self.room, self.task.within(self.task.start, y, turn))
        goal = np.minimum(self.room, self.task.within(self.task.goal, y, turn))
        return start, goal

    def joined(self, room: Floats, start: Floats, goal: Floats, least: float) -> Bools:
        """Cells of the free parts that hold both a start and a goal."""
        from scipy.ndimage import label

        found_labels, count = label(room >= least)
        labels = np.asarray(found_labels, dtype=np.int32)
        if not count:
            return np.zeros(room.shape, dtype=bool)
        same = _closed(labels, count)
        starts = np.zeros(count + 1, dtype=bool)
        goals = np.zeros(count + 1, dtype=bool)
        starts[same[labels[start >= least]]] = True
        goals[same[labels[goal >= least]]] = True
        good = starts & goals
        good[0] = False
        found: Bools = good[same][labels]
        return found

    def widest(self, shift: float, fineness: float, most: float | None = None) -> float:
        """The most that is joined, up to `most`, where each cell's room is told `shift` times its error more."""
        start, goal = self.ends()
        change = shift * self.error
        room, start, goal = self.room + change, start + change, goal + change
        low, high = self.task.least, self.task.most - 1.0 if most is None else most
        if not self.joined(room, start, goal, low + 1e-9).any():
            return low
        if self.joined(room, start, goal, high).any():
            return high
        while high - low > fineness:
            middle = (low + high) / 2.0
            low, high = (middle, high) if self.joined(room, start, goal, middle).any() else (low, middle)
        return low

    def bracket(self) -> tuple[float, float]:
        """No less, and no more, than the widest way has."""
        fine = max(self.step / 4.0, 0.5)
        return self.widest(-1.0, fine), self.widest(1.0 + 1.0 / 6.0, fine) + fine

    def split(self, low: float, high: float) -> _Grid:
        """Cells cut into four; those that are sure to be free or blocked keep what is known of them."""
        start, goal = self.ends()
        change = 7.0 / 6.0 * self.error
        reached = self.joined(self.room + change, start + change, goal + change, low)
        mixed = reached & (self.room - self.error < high)
        fine_y = np.repeat(self.y, 2) + np.tile([-1.0, 1.0], len(self.y)) * (self.y[1] - self.y[0]) / 4.0
        fine_turn = np.repeat(self.turn, 2) + np.tile([-1.0, 1.0], len(self.turn)) * (self.turn[1] - self.turn[0]) / 4.0
        room: Floats = np.repeat(np.repeat(self.room, 2, 0), 2, 1)
        reached, mixed = (np.repeat(np.repeat(cells, 2, 0), 2, 1) for cells in (reached, mixed))
        rows, columns = np.nonzero(mixed)
        half = self.error / 2.0
        # What is kept is told as what is sure of the smaller cells too.
        kept = np.where(mixed, room, room - half)
        kept[~reached] = self.task.least - 10.0 * self.step
        kept[rows, columns] = self.task.room(fine_y[rows], fine_turn[columns], half / 6.0)
        return _Grid(self.task, self.step / 2.0, fine_y, fine_turn, kept, half)


def _closed(labels: npt.NDArray[np.int32], count: int) -> Ints:
    """For each label the part that it belongs to, first and last column being neighbours."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    first, last = labels[:, 0], labels[:, -1]
    both = (first > 0) & (last > 0)
    if not both.any():
        return np.arange(count + 1)
    links = coo_array((np.ones(int(both.sum())), (first[both], last[both])), shape=(count + 1, count + 1))
    _, parts = connected_components(links, directed=False)
    # The part of what is not free keeps the number 0.
    shifted: Ints = np.where(parts == parts[0], 0, parts + 1).astype(np.intp)
    _, numbers = np.unique(shifted, return_inverse=True)
    return numbers.astype(np.intp)


def _polished(task: _Task, grid: _Grid, most: float | None = None) -> Passed:
    """A path of the grid, moved sideways to where there is most room, and proved."""
    level = grid.widest(0.0, max(grid.step / 16.0, 0.1), most)
    if level <= task.least:
        return Passed(task.least, np.zeros((0, 3)))
    chain = _chain(grid, level)
    if len(chain) < 2:
        return Passed(task.least, np.zeros((0, 3)))
    chain = _climbed(task, chain, grid.step)
    room, chain = _proved(task, chain)
    y, turn = chain[:, 0], chain[:, 1] / task.radius
    low, high = stretch(task.region, task.shape, y, turn, np.full(len(y), min(room, task.most)))
    ends = [
        task.within(span, y[at : at + 1], turn[at : at + 1])[0]
        for span, at in ((task.start, 0), (task.goal, -1 % len(y)))
    ]
    open_low, open_high = low <= -1e5, high >= 1e5
    across = np.where(open_low & open_high, 0.0, np.where(open_low, high, np.where(open_high, low, (low + high) / 2.0)))
    return Passed(min(room, *map(float, ends)), np.column_stack([_held(across, open_low & open_high), y, turn]))


def _held(across: Floats, anywhere: Bools) -> Floats:
    """Where it may be anywhere, it is drawn where it is next bound."""
    bound = np.nonzero(~anywhere)[0]
    if not len(bound):
        return across
    places = np.arange(len(across))
    held: Floats = np.interp(places, bound, across[bound])
    return held


def _chain(grid: _Grid, level: float) -> Floats:
    """A shortest path of cells with this room: y, and turn as the farthest point's way, shape (n, 2) [mm]."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import breadth_first_order

    start, goal = grid.ends()
    free = grid.joined(grid.room, start, goal, level)
    if not free.any():
        return np.zeros((0, 2))
    number = np.full(free.shape, -1, dtype=np.intp)
    number[free] = np.arange(int(free.sum()))
    pairs = [(number[:-1], number[1:]), (number, np.roll(number, -1, axis=1))]
    first = np.concatenate([a[(a >= 0) & (b >= 0)] for a, b in pairs])
    last = np.concatenate([b[(a >= 0) & (b >= 0)] for a, b in pairs])
    count = int(free.sum())
    starts = number[free & (start >= level)]
    # One node more is joined to all starts.
    first = np.concatenate([first, np.full(len(starts), count)])
    last = np.concatenate([last, starts])
    graph = coo_array((np.ones(len(first), dtype=np.int8), (first, last)), shape=(count + 1, count + 1)).tocsr()
    order, before = breadth_first_order(graph, count, directed=False)
    goals = np.zeros(count + 1, dtype=bool)
    goals[number[free & (goal >= level)]] = True
    hits = order[goals[order]]
    if not len(hits):
        return np.zeros((0, 2))
    path = [int(hits[0])]
    while (previous := int(before[path[-1]])) != count:
        path.append(previous)
    rows, columns = np.nonzero(free)
    nodes = np.array(path[::-1])
    turns = np.unwrap(grid.turn[columns[nodes]], period=grid.task.shape.period)
    return np.column_stack([grid.y[rows[nodes]], turns * grid.task.radius])


def _climbed(task: _Task, chain: Floats, step: float) -> Floats:
    """Corners of the path moved sideways uphill; its ends stay."""
    if len(chain) > 5:
        kept = np.unique(np.concatenate([np.arange(0, len(chain), 2), [len(chain) - 1]]))
        chain = chain[kept]
    else:
        chain = np.column_stack([np.interp(np.linspace(0, 1, 9), np.linspace(0, 1, len(chain)), c) for c in chain.T])
    fine = max(step / 64.0, 0.02)
    room = task.room(chain[:, 0], chain[:, 1] / task.radius, fine)
    reach = step
    while reach > 0.2:
        smooth = chain.copy()
        for _ in range(3):
            smooth[1:-1] = (smooth[:-2] + 2.0 * smooth[1:-1] + smooth[2:]) / 4.0
        tangent = np.gradient(smooth, axis=0)
        normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
        normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-9)
        for side in (reach, -reach):
            tried = chain + side * normal
            tried[[0, -1]] = chain[[0, -1]]
            found = task.room(tried[:, 0], tried[:, 1] / task.radius, fine)
            better = found > room
            chain, room = np.where(better[:, None], tried, chain), np.where(better, found, room)
        reach /= 1.6
    return chain


def _proved(task: _Task, chain: Floats) -> tuple[float, Floats]:
    """The least room on a polyline, from below, with corners put in where it is not sure yet."""
    fine = _SURE / 4.0
    room = task.room(chain[:, 0], chain[:, 1] / task.radius, fine)
    for _ in range(14):
        lengths = np.abs(np.diff(chain, axis=0)).sum(axis=1)
        sure = (room[:-1] + room[1:] - lengths) / 2.0
        unsure = sure < room.min() - _SURE
        if not unsure.any():
            break
        at = np.nonzero(unsure)[0]
        middles = (chain[at] + chain[at + 1]) / 2.0
        found = task.room(middles[:, 0], middles[:, 1] / task.radius, fine)
        chain, room = np.insert(chain, at + 1, middles, axis=0), np.insert(room, at + 1, found)
    lengths = np.abs(np.diff(chain, axis=0)).sum(axis=1)
    return float(((room[:-1] + room[1:] - lengths) / 2.0).min()), chain
