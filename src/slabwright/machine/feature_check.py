"""A feature's program run on the wood: nothing outside the feature is touched, and its floor is at its depth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

from slabwright.accounts import figure
from slabwright.geometry.faces import Floats
from slabwright.machine.faults import Fault
from slabwright.machine.frame import KeepOut, Setting, Stock
from slabwright.machine.interpreter import read_program
from slabwright.machine.pockets import Cut, middles
from slabwright.machine.program_check import Limits
from slabwright.machine.simulator import simulate
from slabwright.quantities import Units, format_length

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

TOLERANCE = 0.02
"""Of walls and floors on the simulated wood: chords, figures of the program's text, the simulator's own [mm]."""
_CELL = 0.5
_MOST_CELLS = 400_000

_RUN = "from running the program's own text on the wood, cell by cell"


@dataclass(frozen=True)
class FeatureCheck:
    """What the simulated wood shows."""

    cell: float = figure("mm", "size of the cells that it was run on", how="0.5 mm, or as many as there is room for")
    beyond_wall: float = figure(
        "mm",
        "farthest that the cutter comes beyond the feature's wall",
        how="each move of the program below the wood's face against the shape less the cutter's radius",
    )
    outside: float = figure(
        "mm", "deepest cut outside the feature's shape", how=_RUN, sure="within 0.02 mm of its walls"
    )
    above_floor: float = figure("mm", "highest wood left above the floor where the cutter enters", how=_RUN)
    below_floor: float = figure("mm", "deepest cut below the floor", how=_RUN)
    deepest: float = figure("mm", "most that one move takes off", how=_RUN, rounds="up")
    cut_length: float = figure("mm", "fed through wood", how=_RUN)
    faults: tuple[str, ...] = figure("", "what is wrong; a program with any is not written", how=_RUN)

    @property
    def passed(self) -> bool:
        """Whether the program may be written."""
        return not self.faults


@dataclass(frozen=True)
class Lying:
    """The board on the bed, as features find it.

    Attributes:
        outline: of the board on the machine; None: wood wherever a feature is
        under: height of the face that is down above the bed: of the board of waste wood under it [mm]
        thickness: [mm]
        block: height of the fixed block above the bed, where z is zeroed [mm]
        keep_out: clamps, stops and wedges
    """

    outline: BaseGeometry | None
    under: float
    thickness: float
    block: float
    keep_out: tuple[KeepOut, ...] = ()


def stock_around(cut: Cut, radius: float, lying: Lying, earlier: Sequence[tuple[Cut, float]]) -> Setting:
    """The wood round a feature as its program finds it.

    Args:
        cut: core on the machine, heights above the bed
        radius: of the cutter [mm]
        lying: the board
        earlier: what was cut before, each with its cutter's radius
    """
    low_x, low_y, high_x, high_y = cut.shape().bounds
    room = radius + 4.0 * _CELL
    width, breadth = high_x - low_x + 2.0 * room, high_y - low_y + 2.0 * room
    cell = max(_CELL, math.sqrt(width * breadth / _MOST_CELLS))
    x: Floats = low_x - room + cell * np.arange(math.ceil(width / cell) + 1, dtype=np.float64)
    y: Floats = low_y - room + cell * np.arange(math.ceil(breadth / cell) + 1, dtype=np.float64)
    top = np.full((x.size, y.size), lying.under + lying.thickness)
    grid_x, grid_y = np.meshgrid(x, y, indexing="ij")
    if lying.outline is not None:
        top[~shapely.contains_xy(lying.outline, grid_x, grid_y)] = np.nan
    box = shapely.box(x[0], y[0], x[-1], y[-1])
    for other, its_radius in earlier:
        open_ = other.opened(its_radius)
        if open_.intersects(box):
            inside = shapely.contains_xy(open_, grid_x, grid_y)
            top[inside] = np.minimum(top[inside], other.floor)
    stock = Stock(x, y, top, np.ones_like(top), box)
    window = (float(x[0]), float(x[-1]))
    return Setting("A", 1, stock, cut.floor, lying.block, window, None, lying.keep_out)


def check_feature(text: str, cut: Cut, setting: Setting, limits: Limits, units: Units) -> FeatureCheck:
    """Run a feature's program and look at the wood that is left.

    Args:
        text: of the program
        cut: core on the machine, heights above the bed
        setting: of `stock_around`
        limits: of the machine and this cutter
        units: of the messages
    """
    stock = setting.stock
    wood = ~np.isnan(stock.top)
    grid_x, grid_y = np.meshgrid(stock.x, stock.y, indexing="ij")

    def within(shape: BaseGeometry) -> NDArray[np.bool_]:
        shapely.prepare(shape)
        return np.asarray(shapely.contains_xy(shape, grid_x, grid_y))

    opened = cut.opened(limits.radius)
    due = within(opened.buffer(-TOLERANCE)) & wood
    beyond = ~within(cut.shape().buffer(TOLERANCE)) & wood
    # Cells on the wall itself are cut or not as the last figure of a place falls, and another depth may fall otherwise.
    on_wall = within(opened.buffer(TOLERANCE)) & wood & ~due
    before = np.where(on_wall, np.minimum(stock.top, cut.floor), stock.top)
    run = simulate(text, replace(setting, stock=replace(stock, top=before)), limits, must=due)
    taken = np.where(wood, before - run.top, 0.0)
    outside = float(taken.max(where=beyond, initial=0.0))
    over = run.top - cut.floor
    above = float(over.max(where=due, initial=0.0))
    below = float((-over).max(where=wood & (taken > 0.0), initial=0.0))
    faults = [_told(fault) for fault in run.faults]
    beyond_wall = _beyond_wall(text, cut, limits.radius, setting.block)
    if beyond_wall > TOLERANCE:
        faults.append(f"goes {format_length(beyond_wall, units)} beyond the wall of '{cut.name}'")
    if outside > TOLERANCE:
        faults.append(f"cuts wood outside '{cut.name}', {format_length(outside, units)} deep")
    if below > TOLERANCE:
        faults.append(f"cuts {format_length(below, units)} below the floor of '{cut.name}'")
    if not due.any():
        faults.append(f"'{cut.name}' lies outside the wood, or no place of it is wide enough to be looked at")
    if not _within_sight(text, stock, limits.radius):
        faults.append(f"leaves the wood round '{cut.name}' that was looked at")
    return FeatureCheck(
        cell=float(stock.x[1] - stock.x[0]),
        beyond_wall=beyond_wall,
        outside=outside,
        above_floor=above,
        below_floor=below,
        deepest=run.deepest,
        cut_length=run.cut_length,
        faults=tuple(faults),
    )


def _told(fault: Fault) -> str:
    return f"line {fault.line}: {fault.message}" if fault.line else fault.message


def _beyond_wall(text: str, cut: Cut, radius: float, block: float) -> float:
    """Farthest that the program brings the cutter's middle out of where it may be, lower than where the feature begins [mm]."""
    moves = [move for move in read_program(text).moves if not any(map(math.isnan, (*move.start, *move.end)))]
    low = [move for move in moves if min(move.start[2], move.end[2]) + block < cut.top - 1e-6]
    if not low:
        return 0.0
    ways = shapely.linestrings([[move.start[:2], move.end[:2]] for move in low])
    allowed = middles(cut, radius)
    near = allowed.buffer(TOLERANCE)
    shapely.prepare(near)
    out = ways[~shapely.covers(near, ways)]
    if not out.size:
        ends = shapely.points([move.end[:2] for move in low])
        return float(shapely.distance(ends, allowed).max())
    # The middle of a chord may be farther out than its ends.
    return max(TOLERANCE * 1.001, float(shapely.distance(shapely.points(shapely.get_coordinates(out)), allowed).max()))


def _within_sight(text: str, stock: Stock, radius: float) -> bool:
    """Whether the cutter stays over the cells that were run, all of it."""
    ends = np.array([move.end[:2] for move in read_program(text).moves if not math.isnan(move.end[0])])
    low, high = np.array((stock.x[0], stock.y[0])), np.array((stock.x[-1], stock.y[-1]))
    return bool(ends.size and (ends - radius >= low).all() and (ends + radius <= high).all())
