"""Tool paths of one depth: parallel strips where wood stands, along or across the grain, in the quickest order found."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Literal

import numpy as np

from slabwright.geometry.faces import Floats
from slabwright.job.models import Machine
from slabwright.machine.frame import KeepOut, Setting
from slabwright.machine.lattice import Cutter, Direction, Lattice, lattice
from slabwright.machine.links import APPROACH, Point, Route, route
from slabwright.machine.stretches import EMPTY, Stretches, patches, stretches
from slabwright.machine.timing import path_time
from slabwright.machine.toolpath import Toolpath

Wish = Literal["along", "across", "quicker"]

GAPS = (0.0, 120.0, 250.0, 450.0)
"""Lengths without wood that are fed through, one after the other tried: at usual feeds two turns take as long as some 100 mm,
a lift as some 400 mm [mm]."""


def strips(
    setting: Setting,
    level: float,
    previous: float | None,
    *,
    machine: Machine,
    direction: Wish | None = None,
    whole: bool = False,
) -> Toolpath:
    """The tool path that clears all wood above one level.

    Parallel strips go only where wood stands. Every cell above the level comes to lie within the flat of the cutter (its radius
    less the corner) from some move at feed, unless a clamp or the window's end in the middle of the wood keeps the cutter away.
    Each strip takes a band of its own, strip after strip from one side, so that no cut is wider than the stepover; where a
    window's end makes the cutter turn in full wood, that turn is slower by as much as it is wider. The cutter comes down beside
    the wood where it can. Tried are both directions (or the one that is asked for), both sides to begin from and several
    lengths of gap to feed through; within each the nearest strip in time comes next. The quickest path is handed back.

    Args:
        setting: the clamping, its stock as it lies before the first cut of this setting
        level: height of the cutter above the finished plane [mm]
        previous: level of the pass before, or None for the first one [mm]
        machine: cutter, speeds, acceleration, safe height
        direction: of the strips to the grain; None: as the machine states it
        whole: the whole rectangle round the wood instead, for comparison

    Returns:
        The path: it begins above its first strip and ends above its last, higher than all wood and clamps by the safe height. It
        has no moves where no wood stands above the level.
    """
    cutter = Cutter.of(machine)
    wish = direction or machine.direction
    ways: tuple[Direction, ...] = ("along", "across") if wish == "quicker" else (wish,)
    current = _current(setting, previous, cutter)
    highest = max(float(current.max()), setting.plane + level)
    search = _Search(setting, level, current, highest, cutter)
    candidates: list[tuple[float, Lattice, Stretches]] = []
    for way in ways:
        cells = lattice(setting, level, cutter, way, whole=whole)
        candidates += _candidates(cells, cutter)
    for least, cells, these in sorted(candidates, key=lambda candidate: candidate[0]):
        if least < search.minutes:
            search.attempt(cells, these, from_far=False)
    if search.best is not None:
        search.attempt(*search.best, from_far=True)
    else:
        # Wood may stand only where no strip comes, close by a clamp or a window's end.
        cells = lattice(setting, level, cutter, ways[0], whole=whole)
        search.attempt(cells, EMPTY, from_far=False)
    return search.path


def whole_rectangle(
    setting: Setting, levels: Iterable[float], *, machine: Machine, direction: Wish | None = None
) -> tuple[Toolpath, ...]:
    """Tool paths that run the whole rectangle round the wood at every level, for comparison.

    They are planned as `strips` are, with the same turns in the wood and the same care for clamps.

    Args:
        setting: the clamping
        levels: heights of the cutter above the finished plane, falling [mm]
        machine: cutter, speeds, acceleration, safe height
        direction: of the strips to the grain; None: as the machine states it

    Returns:
        One path for each level.
    """
    paths = []
    previous: float | None = None
    for level in levels:
        paths.append(strips(setting, level, previous, machine=machine, direction=direction, whole=True))
        previous = level
    return tuple(paths)


def _candidates(cells: Lattice, cutter: Cutter) -> list[tuple[float, Lattice, Stretches]]:
    """Stretches of one direction from both sides for each gap, with the time that they take at least [min]."""
    found: list[tuple[float, Lattice, Stretches]] = []
    if not cells.wanted.any():
        return found
    other_side = cells.mirror()
    before: list[float] = []
    for gap in GAPS:
        labels = patches(cells, cutter, gap)
        least: list[float] = []
        for turned, labelled in ((cells, labels), (other_side, labels[::-1])):
            these = stretches(turned, cutter, labelled, gap=gap)
            least.append(_least(these, cutter) if len(these) else math.inf)
            # A wider gap that joins nothing more brings nothing new.
            if len(these) and not (before and before[len(least) - 1] == least[-1]):
                found.append((least[-1], turned, these))
        before = least
    return found


def _least(these: Stretches, cutter: Cutter) -> float:
    """Time that stretches take without any links [min]."""
    speed = cutter.feed / 60.0
    stops = len(these) * speed / cutter.acceleration
    return (float((these.end_up - these.start_up).sum()) / speed + stops) / 60.0


class _Search:
    """The quickest path so far."""

    def __init__(self, setting: Setting, level: float, current: Floats, highest: float, cutter: Cutter) -> None:
        self.setting, self.level, self.current, self.cutter = setting, level, current, cutter
        self.rise = highest - setting.plane - level + cutter.safe_height
        self.park = max([highest, *(keep.top for keep in setting.keep_out)]) + cutter.safe_height
        self.minutes = math.inf
        self.path = Toolpath(np.zeros((1, 3)), np.zeros(0))
        self.best: tuple[Lattice, Stretches] | None = None

    def attempt(self, cells: Lattice, these: Stretches, *, from_far: bool) -> None:
        """Plan one way, and keep it if it is quicker."""
        found = route(cells, these, self.cutter, rise=self.rise, from_far=from_far)
        path = self._path(found, cells)
        minutes = path_time(path, rapid=self.cutter.rapid, acceleration=self.cutter.acceleration).minutes
        if minutes < self.minutes:
            self.minutes, self.path, self.best = minutes, path, (cells, these)

    def _path(self, found: Route, cells: Lattice) -> Toolpath:
        """The moves of a route in the machine's frame."""
        z, cutter = self.setting.plane + self.level, self.cutter
        points: list[tuple[float, float, float]] = []
        feeds: list[float] = []

        def add(at: Point, height: float, feed: float) -> None:
            if points and points[-1] == (*at, height):
                return
            points.append((*at, height))
            feeds.append(feed)

        for leg in found.legs:
            via, leg_feeds = leg.via, leg.feeds
            if leg.lifted:
                first = via[0]
                if leg.leave is None:
                    add(first, self.park, 0.0)
                else:
                    add(leg.leave, z, cutter.feed)
                    over = self._safe(cells, leg.leave, first, z)
                    add(leg.leave, over, 0.0)
                    add(first, over, 0.0)
                down_to = z if leg.beside else self._safe(cells, first, first, z) - cutter.safe_height
                add(first, down_to + APPROACH, 0.0)
                add(first, z, cutter.plunge_feed)
                via, leg_feeds = via[1:], leg_feeds[1:]
            for at, feed in zip(via, leg_feeds, strict=True):
                add(at, z, feed)
        if not points:
            return Toolpath(np.zeros((1, 3)), np.zeros(0))
        add((points[-1][0], points[-1][1]), self.park, 0.0)
        return Toolpath(cells.to_machine(np.array(points)), np.array(feeds[1:]))

    def _safe(self, cells: Lattice, one: Point, two: Point, z: float) -> float:
        """Height that clears all wood and clamps of the box round a move by the safe height."""
        ends = cells.to_machine(np.array([(*one, 0.0), (*two, 0.0)]))[:, :2]
        low, high = ends.min(axis=0) - self.cutter.around, ends.max(axis=0) + self.cutter.around
        stock = self.setting.stock
        rows = slice(*np.searchsorted(stock.x, (low[0], high[0])).tolist())
        columns = slice(*np.searchsorted(stock.y, (low[1], high[1])).tolist())
        part = self.current[rows, columns]
        tops = [keep.top for keep in self.setting.keep_out if _overlaps(keep, low, high)]
        return max([float(part.max(initial=z)), *tops]) + self.cutter.safe_height


def _overlaps(keep: KeepOut, low: Floats, high: Floats) -> bool:
    return bool(keep.x_from < high[0] and keep.x_to > low[0] and keep.y_from < high[1] and keep.y_to > low[1])


def _current(setting: Setting, previous: float | None, cutter: Cutter) -> Floats:
    """Height of the wood as it stands before this level, shape (nx, ny); near clamps, where no pass comes, as it lay."""
    stock = setting.stock
    top = np.nan_to_num(stock.top, nan=-np.inf)
    if previous is None:
        return top
    x, y = stock.x[:, None], stock.y[None, :]
    cut = np.broadcast_to((x >= setting.window[0]) & (x <= setting.window[1]), top.shape).copy()
    room = cutter.around + cutter.radius
    for keep in setting.keep_out:
        near_x = (x > keep.x_from - room) & (x < keep.x_to + room)
        cut &= ~(near_x & (y > keep.y_from - room) & (y < keep.y_to + room))
    return np.where(cut, np.minimum(top, setting.plane + previous), top)
