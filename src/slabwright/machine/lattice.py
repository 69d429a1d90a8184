"""The wood that one level has to clear, in the frame of its strips: u along them, v across, strip after strip upward."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats
from slabwright.job.models import Machine
from slabwright.machine.frame import Setting
from slabwright.machine.timing import standing

Bools = NDArray[np.bool_]
Direction = Literal["along", "across"]

HOLDER_MARGIN = 5.0
"""Kept between the cutter or its holder and a clamp [mm]: common practice."""
_OVER_CLAMP = 2.0
"""A clamp this far below the cutter's end is passed over [mm]."""
_BEYOND = 1.0
"""Wood that reaches this far beyond a window's end goes on there [mm]."""


@dataclass(frozen=True)
class Cutter:
    """What the strips need to know of machine and cutter.

    Attributes:
        radius: [mm]
        flat: radius of its flat end, less the corner [mm]
        spacing: of the strips at most, and width of a cut at most [mm]
        feed: [mm/min]
        plunge_feed: [mm/min]
        rapid: [mm/min]
        acceleration: [mm/s2]
        safe_height: above wood and clamps, for rapid moves [mm]
        around: kept from the middle of the cutter to a clamp [mm]
    """

    radius: float
    flat: float
    spacing: float
    feed: float
    plunge_feed: float
    rapid: float
    acceleration: float
    safe_height: float
    around: float

    @classmethod
    def of(cls, machine: Machine) -> Cutter:
        """The cutter and the speeds of a machine."""
        radius = machine.cutter_diameter / 2.0
        flat = radius - machine.corner_radius
        return cls(
            radius=radius,
            flat=flat,
            spacing=min(machine.stepover, 2.0 * flat),
            feed=machine.feed,
            plunge_feed=machine.plunge_feed,
            rapid=machine.rapid,
            acceleration=machine.acceleration,
            safe_height=machine.safe_height,
            around=max(radius, (machine.holder_diameter or 0.0) / 2.0) + HOLDER_MARGIN,
        )


@dataclass(frozen=True)
class Box:
    """Where the middle of the cutter may not come, in the strips' frame [mm]."""

    u_from: float
    u_to: float
    v_from: float
    v_to: float


@dataclass(frozen=True)
class Lattice:
    """Cells in rows along the strips.

    Attributes:
        wood: cells that stand above the level, shape (rows, columns)
        wanted: those of them that are to be cleared, shape (rows, columns)
        u_start: near edge of the first column [mm]
        v_start: lower edge of the first row [mm]
        du: breadth of a column [mm]
        dv: height of a row [mm]
        u_limits: from and to where the middle of the cutter may be [mm]
        v_limits: from and to where the middle of the cutter may be [mm]
        in_wood: whether the limits lie in the middle of the wood: of u near and far, of v near and far
        boxes: round clamps, where the middle of the cutter may not be
        across: whether u is the machine's y
        mirrored: whether v counts downward
    """

    wood: Bools
    wanted: Bools
    u_start: float
    v_start: float
    du: float
    dv: float
    u_limits: tuple[float, float]
    v_limits: tuple[float, float]
    in_wood: tuple[bool, bool, bool, bool]
    boxes: tuple[Box, ...]
    across: bool
    mirrored: bool

    def to_machine(self, points: Floats) -> Floats:
        """Points u, v, z in the machine's frame, shape (n, 3) [mm]."""
        u, v = points[:, 0], points[:, 1] * (-1.0 if self.mirrored else 1.0)
        return np.column_stack([v, u, points[:, 2]] if self.across else [u, v, points[:, 2]])

    def mirror(self) -> Lattice:
        """The same, its strips taken from the other side."""
        v_end = self.v_start + self.dv * self.wood.shape[0]
        return Lattice(
            wood=self.wood[::-1],
            wanted=self.wanted[::-1],
            u_start=self.u_start,
            v_start=-v_end,
            du=self.du,
            dv=self.dv,
            u_limits=self.u_limits,
            v_limits=(-self.v_limits[1], -self.v_limits[0]),
            in_wood=(*self.in_wood[:2], self.in_wood[3], self.in_wood[2]),
            boxes=tuple(Box(box.u_from, box.u_to, -box.v_to, -box.v_from) for box in self.boxes),
            across=self.across,
            mirrored=not self.mirrored,
        )


def lattice(setting: Setting, level: float, cutter: Cutter, direction: Direction, *, whole: bool = False) -> Lattice:
    """The cells that one level has to clear.

    Args:
        setting: the clamping
        level: height of the cutter above the finished plane [mm]
        cutter: its radius and what it keeps from clamps
        direction: of the strips to the grain
        whole: the whole rectangle round the wood, as if it stood everywhere

    Returns:
        The cells; a window's end in the middle of the wood is a limit for the middle of the cutter, a window's end beside the
        wood lets it go out by its radius.
    """
    stock, height = setting.stock, setting.plane + level
    dx, dy = float(stock.x[1] - stock.x[0]), float(stock.y[1] - stock.y[0])
    wood = np.ones(stock.top.shape, dtype=bool) if whole else standing(stock, height)
    x_from, x_to = setting.window
    inside = (stock.x > x_from - 0.5 * dx + 1e-9) & (stock.x < x_to + 0.5 * dx - 1e-9)
    wanted = wood & inside[:, None]
    x_least, y_least, x_most, y_most = setting.stock.outline.bounds
    near, far = x_least < x_from - _BEYOND, x_most > x_to + _BEYOND
    x_limits = (x_from if near else x_from - cutter.radius, x_to if far else x_to + cutter.radius)
    y_limits = (y_least - cutter.radius, y_most + cutter.radius)
    grown = [
        (keep.x_from - cutter.around, keep.x_to + cutter.around, keep.y_from - cutter.around, keep.y_to + cutter.around)
        for keep in setting.keep_out
        if keep.top > height - _OVER_CLAMP
    ]
    x_start, y_start = float(stock.x[0]) - dx / 2.0, float(stock.y[0]) - dy / 2.0
    if direction == "along":
        return Lattice(
            wood=np.ascontiguousarray(wood.T),
            wanted=np.ascontiguousarray(wanted.T),
            u_start=x_start,
            v_start=y_start,
            du=dx,
            dv=dy,
            u_limits=x_limits,
            v_limits=y_limits,
            in_wood=(near, far, False, False),
            boxes=tuple(Box(*sides) for sides in grown),
            across=False,
            mirrored=False,
        )
    return Lattice(
        wood=wood,
        wanted=wanted,
        u_start=y_start,
        v_start=x_start,
        du=dy,
        dv=dx,
        u_limits=y_limits,
        v_limits=x_limits,
        in_wood=(False, False, near, far),
        boxes=tuple(Box(sides[2], sides[3], sides[0], sides[1]) for sides in grown),
        across=True,
        mirrored=False,
    )
