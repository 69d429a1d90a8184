"""The simulator: runs a program's text on the wood, and lets it through or not.

The wood is a field of heights on cells. The cutter is a flat cylinder whose lower edge may be rounded; each move at feed sweeps
it along, and a cell keeps the lower of its height and the sweep's lower side above the cell's middle, worked out exactly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats
from slabwright.machine.faults import Fault
from slabwright.machine.frame import KeepOut, Setting, Stock
from slabwright.machine.interpreter import read_program
from slabwright.machine.program_check import TOLERANCE, Limits, Pieces, motion_faults, pieces
from slabwright.machine.sweep import TOUCH, Cells, engaged_length, highest_under, swept
from slabwright.quantities import Units, format_area, format_length

Bools = NDArray[np.bool_]

_NO_WOOD = -1e9


@dataclass(frozen=True)
class Simulation:
    """What a program does to the wood.

    Attributes:
        faults: none: it may be written
        top: height of the wood above the bed afterwards, on the stock's cells; nan where there is none [mm]
        deepest: most that one move took off [mm]
        cut_length: fed through wood [mm]
        air_length: fed outside wood [mm]
        removed_volume: [mm3]
        left_area: within the window, where wood still stands above the finished plane [mm2]
        left_volume: of that wood above the plane [mm3]
        highest_left: of what had to be cut, above the plane that this program cuts to; below it: negative [mm]
        lowest: that the cutter came at feed, above the finished plane [mm]
    """

    faults: tuple[Fault, ...]
    top: Floats
    deepest: float
    cut_length: float
    air_length: float
    removed_volume: float
    left_area: float
    left_volume: float
    highest_left: float
    lowest: float

    @property
    def passed(self) -> bool:
        """Whether the program may be written."""
        return not self.faults


def simulate(
    text: str, setting: Setting, limits: Limits, *, level: float = 0.0, must: Bools | None = None
) -> Simulation:
    """Run a program on the wood.

    Args:
        text: the program
        setting: the clamping; its stock as it lies before this program (`after` gives it for the next one)
        limits: of machine and cutter
        level: height above the finished plane that the program says it cuts to [mm]
        must: cells that have to come down to the level, shape (nx, ny); None: `reachable`

    Returns:
        Faults, the wood afterwards, lengths and depths. A program that cannot be read is not run: its wood is left as it was.
    """
    reading = read_program(text)
    stock = setting.stock
    wood = ~np.isnan(stock.top)
    if reading.faults or not wood.any():
        faults = reading.faults or (Fault(0, "left", "there is no wood in this clamping"),)
        return _summary(faults, setting, stock.top.copy(), _Run(), math.inf, level, must, limits)
    units: Units = "inch" if reading.units == "G20" else "metric"
    parts = pieces(reading.moves, setting.block)
    plane = setting.plane + level
    clamps = max((keep.top for keep in setting.keep_out), default=-math.inf)
    highest = max(float(np.nanmax(stock.top)), clamps)
    faults_found = list(motion_faults(parts, limits, setting.keep_out, highest=highest, lowest=plane, units=units))
    field = np.where(wood, stock.top, _NO_WOOD)
    run = _run(parts, field, stock, limits, units)
    top = np.where(wood, field, np.nan)
    faults_found += run.faults
    faults_found += _end_faults(parts, top, clamps, limits, reading.speed_at_end, units)
    faults_found += _outside_faults(stock, top, setting.window, limits, units)
    fed = parts.feed > 0.0
    lowest = float(np.nanmin(parts.end[fed, 2])) if fed.any() else math.inf
    return _summary(tuple(faults_found), setting, top, run, lowest, level, must, limits, units)


def after(setting: Setting, simulation: Simulation) -> Setting:
    """The setting as the next program finds it."""
    return replace(setting, stock=replace(setting.stock, top=simulation.top))


def reachable(setting: Setting, limits: Limits) -> Bools:
    """Cells that strips over the whole window can reach.

    A strip that keeps its distance from a clamp has its next neighbour, less than a cutter's radius aside, do so too: wood
    farther from a clamp than the cutter's radius and that distance is always reached. At a window's end in the middle of the
    wood, what the round of the cutter leaves is the other clamping's.

    Args:
        setting: the clamping
        limits: gives the cutter

    Returns:
        Shape (nx, ny).
    """
    stock = setting.stock
    x, y = stock.x[:, None], stock.y[None, :]
    wood = ~np.isnan(stock.top)
    from_x, to_x = setting.window
    within = (x >= from_x) & (x <= to_x)
    before, beyond = wood & (x < from_x), wood & (x > to_x)
    if before.any():
        within = within & (x >= from_x + limits.radius)
    if beyond.any():
        within = within & (x <= to_x - limits.radius)
    cells = wood & within
    around = limits.radius + max(limits.radius, limits.holder_diameter / 2.0) + limits.side_room
    for keep in setting.keep_out:
        cells &= _away_from(keep, x, y) > around
    return cells


def _away_from(keep: KeepOut, x: Floats, y: Floats) -> Floats:
    gap_x = np.maximum(np.maximum(keep.x_from - x, x - keep.x_to), 0.0)
    gap_y = np.maximum(np.maximum(keep.y_from - y, y - keep.y_to), 0.0)
    return np.hypot(gap_x, gap_y)


@dataclass
class _Run:
    """What gathers while the moves are run."""

    deepest: float = 0.0
    cut_length: float = 0.0
    air_length: float = 0.0
    removed_volume: float = 0.0
    touched: bool = False

    def __post_init__(self) -> None:
        self.faults: list[Fault] = []
        self._told: set[tuple[int, str]] = set()

    def tell(self, fault: Fault) -> None:
        """Note a fault, one of a kind for each line."""
        if (fault.line, fault.kind) not in self._told:
            self._told.add((fault.line, fault.kind))
            self.faults.append(fault)


def _run(parts: Pieces, field: Floats, stock: Stock, limits: Limits, units: Units) -> _Run:
    """Sweep the cutter along every piece; `field` is cut."""
    run = _Run()
    cells = Cells.of(stock)
    highest = float(field.max())
    holder = limits.holder_diameter / 2.0
    known = np.isfinite(parts.start).all(axis=1)
    lines, feeds = parts.line.tolist(), parts.feed.tolist()
    starts, ends = parts.start.tolist(), parts.end.tolist()
    for index in np.flatnonzero(known).tolist():
        line, feed, start, end = lines[index], feeds[index], starts[index], ends[index]
        low = min(start[2], end[2])
        if feed > 0.0:
            _feed(run, field, cells, line, feed, start, end, limits, units)
        elif low < highest + limits.clearance and not (start[:2] == end[:2] and end[2] >= start[2]):
            standing = highest_under(field, cells, start, end, limits.radius)
            if standing > low - limits.clearance + 0.005:
                run.tell(Fault(line, "rapid", _rapid_told(standing - low, units)))
        if holder and low + limits.stick_out < highest:
            standing = highest_under(field, cells, start, end, holder)
            if standing > low + limits.stick_out:
                depth = format_length(standing - low - limits.stick_out, units)
                run.tell(Fault(line, "holder", f"the holder above the cutter goes {depth} into wood"))
    return run


def _rapid_told(through: float, units: Units) -> str:
    if through > 0.005:
        return f"a rapid move through wood, {format_length(through, units)} deep"
    return f"a rapid move only {format_length(max(-through, 0.0), units)} above wood"


def _feed(
    run: _Run,
    field: Floats,
    cells: Cells,
    line: int,
    feed: float,
    start: list[float],
    end: list[float],
    limits: Limits,
    units: Units,
) -> None:
    """One piece at feed: cut the field, and judge depth and plunge."""
    length = math.dist(start, end)
    rows, columns = cells.window(start, end, limits.radius)
    part = field[rows, columns]
    if part.size == 0 or part.max() <= min(start[2], end[2]) + TOUCH:
        run.air_length += length
        return
    lower = swept(cells.x[rows], cells.y[columns], start, end, limits.radius, limits.corner_radius, part)
    taken = part - lower
    depth = float(taken.max())
    if depth <= TOUCH:
        run.air_length += length
        return
    field[rows, columns] = lower
    run.deepest = max(run.deepest, depth)
    run.removed_volume += float(taken.sum()) * cells.area
    through = engaged_length(cells.x[rows], cells.y[columns], start, end, limits.radius, taken, cells.step)
    run.cut_length += through
    run.air_length += length - through
    if depth > limits.greatest_depth + TOLERANCE:
        told, most = format_length(depth, units), format_length(limits.greatest_depth, units)
        run.tell(Fault(line, "depth", f"takes off {told} at once; {most} is the most"))
    fall = start[2] - end[2]
    if fall > TOUCH and feed * fall / length > limits.plunge_feed * (1.0 + 1e-9):
        told, most = format_length(feed * fall / length, units), format_length(limits.plunge_feed, units)
        run.tell(Fault(line, "plunge", f"goes down into wood at {told} a minute; {most} is the most"))
    if not run.touched:
        run.touched = True
        first = limits.first_contact_feed
        if first is not None and feed > first * (1.0 + 1e-9):
            told, most = format_length(feed, units), format_length(first, units)
            run.tell(Fault(line, "plunge", f"first touches wood at {told} a minute; {most} is the most"))


def _end_faults(parts: Pieces, top: Floats, clamps: float, limits: Limits, speed: float, units: Units) -> list[Fault]:
    """A program ends above everything, with the spindle stopped."""
    faults = []
    safe = max(float(np.nanmax(top)), clamps) + limits.clearance
    if len(parts.line):
        line, height = int(parts.line[-1]), float(parts.end[-1, 2])
        if not height >= safe - 0.005:
            told, least = format_length(height, units), format_length(safe, units)
            faults.append(
                Fault(line, "finish", f"ends at {told} above the bed; above {least} it clears wood and clamps")
            )
    if speed > 0.0:
        faults.append(Fault(0, "finish", "the spindle is not stopped (M5) before the program ends"))
    return faults


def _outside_faults(
    stock: Stock, top: Floats, window: tuple[float, float], limits: Limits, units: Units
) -> list[Fault]:
    """Wood may be cut within the window only; a cutter whose middle is in the window may reach half its breadth beyond."""
    beyond = (stock.x < window[0] - limits.radius - 0.01) | (stock.x > window[1] + limits.radius + 0.01)
    cut = np.nan_to_num(stock.top[beyond] - top[beyond]) > TOLERANCE
    if not cut.any():
        return []
    at = format_length(float(stock.x[beyond][np.argmax(cut.any(axis=1))]), units)
    return [Fault(0, "window", f"cuts wood outside this clamping's stretch, at x {at}")]


def _summary(
    faults: tuple[Fault, ...],
    setting: Setting,
    top: Floats,
    run: _Run,
    lowest: float,
    level: float,
    must: Bools | None,
    limits: Limits,
    units: Units = "metric",
) -> Simulation:
    """Figures of what is left, and the fault where too much is."""
    stock, cells = setting.stock, Cells.of(setting.stock)
    height = np.nan_to_num(top - setting.plane, nan=_NO_WOOD)
    due = reachable(setting, limits) if must is None else must & ~np.isnan(top)
    highest_left = float(height.max(where=due, initial=_NO_WOOD)) - level if due.any() else 0.0
    readable = math.isfinite(lowest) or not faults
    over = due & (height > level + TOLERANCE + limits.scallop)
    if readable and over.any():
        row, column = np.unravel_index(int(np.argmax(np.where(over, height, _NO_WOOD))), height.shape)
        at = f"x {format_length(float(stock.x[row]), units)}, y {format_length(float(stock.y[column]), units)}"
        faults = (
            *faults,
            Fault(
                0,
                "left",
                f"leaves wood {format_length(highest_left, units)} above the plane that this program cuts to, at {at}, "
                f"on {format_area(float(np.count_nonzero(over)) * cells.area, units)}",
            ),
        )
    from_x, to_x = setting.window
    within = ((stock.x >= from_x) & (stock.x <= to_x))[:, None] & (height > TOLERANCE)
    return Simulation(
        faults=faults,
        top=top,
        deepest=run.deepest,
        cut_length=run.cut_length,
        air_length=run.air_length,
        removed_volume=run.removed_volume,
        left_area=float(np.count_nonzero(within)) * cells.area,
        left_volume=float(np.sum(height, where=within)) * cells.area,
        highest_left=highest_left,
        lowest=lowest - setting.plane,
    )
