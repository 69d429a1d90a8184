"""What is carried in: the piece as a whole, and the parts that it may come apart into, as boxes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.base.base_results import BaseStructure
from slabwright.findings import SlabwrightError
from slabwright.geometry.bands import Shape
from slabwright.geometry.faces import Floats

Box = tuple[float, float, float, float, float, float]
"""Least x, y, z and greatest x, y, z: along, across, up as it stands [mm]."""


@dataclass(frozen=True)
class Solid:
    """One thing that is carried: boxes that hold all of it.

    Attributes:
        name: as it is called on the sheets: the table, the top, the base
        boxes: along, across and up, as it stands [mm]
        mass: [kg]
    """

    name: str
    boxes: tuple[Box, ...]
    mass: float

    def __post_init__(self) -> None:
        if not self.boxes or any(low >= high for box in self.boxes for low, high in zip(box[:3], box[3:], strict=True)):
            raise SlabwrightError(
                f"delivery: {self.name} has no size; give boxes with length, width and height above 0"
            )

    @property
    def size(self) -> tuple[float, float, float]:
        """Length, width and height over all [mm]."""
        held = np.array(self.boxes)
        long, wide, high = (held[:, 3:].max(axis=0) - held[:, :3].min(axis=0)).tolist()
        return long, wide, high

    def seen(self, first: int, second: int) -> Shape:
        """Its shadow on two of its axes (0 length, 1 width, 2 height)."""
        return Shape.of(np.array(self.boxes)[:, [first, second, first + 3, second + 3]]).merged()

    def leaned(self, level: int, up: int, across: int, tilt: float) -> Shape:
        """Its shadow on the floor, leaned by a tilt, along `level` and `across`.

        Each box is stood in a box of its own, so that the shadow is never too small.

        Args:
            level: the axis that lies level before it is leaned
            up: the axis that stands upright before
            across: the axis about which it is leaned
            tilt: [rad]
        """
        held = np.array(self.boxes)
        along, over = (held[:, level] + held[:, level + 3]) / 2, (held[:, up] + held[:, up + 3]) / 2
        half = (held[:, level + 3] - held[:, level]) / 2, (held[:, up + 3] - held[:, up]) / 2
        middle = along * np.cos(tilt) - over * np.sin(tilt)
        reach = half[0] * np.cos(tilt) + half[1] * np.sin(tilt)
        rows: Floats = np.column_stack([middle - reach, held[:, across], middle + reach, held[:, across + 3]])
        return Shape.of(rows).merged()


@dataclass(frozen=True)
class Apart:
    """One way to take the piece apart.

    Attributes:
        how: what comes off, in the bench's words: the top off the base
        parts: that are carried then
    """

    how: str
    parts: tuple[Solid, ...]


@dataclass(frozen=True)
class Pieces:
    """The piece, and how it may come apart, least work first."""

    whole: Solid
    apart: tuple[Apart, ...] = ()


def block(name: str, length: float, width: float, height: float, mass: float) -> Solid:
    """A plain box."""
    return Solid(name, ((-length / 2, -width / 2, 0.0, length / 2, width / 2, height),), mass)


def table_pieces(base: BaseStructure) -> Pieces:
    """A table as its top and its leg frames: whole, the top off, and the leg frames one by one where nothing joins them.

    Args:
        base: the base, which knows its top
    """
    drawn, top, high = base.drawn, base.structure.top, base.height.even
    thickness = top.thickness[1]
    slab: Box = (-top.length / 2, -top.width / 2, high - thickness, top.length / 2, top.width / 2, high)
    frames = _frames(base)
    feet_off = max(0.0, drawn.foot_length)
    bare = tuple((x0, y0, z0 + feet_off, x1, y1, z1) for x0, y0, z0, x1, y1, z1 in frames)
    whole = Solid("the table", (slab, *frames), base.mass + base.top_mass)
    top_alone = Solid("the top", (slab,), base.top_mass)
    ways: list[Apart] = []
    if feet_off > 0.0:
        ways.append(Apart("the feet off", (Solid("the table", (slab, *bare), base.mass + base.top_mass),)))
    if len(frames) > 1:
        each = base.mass / len(frames)
        legs = tuple(Solid(f"leg frame {n}", (frame,), each) for n, frame in enumerate(frames, 1))
        ways.append(Apart("the top off the leg frames", (top_alone, *legs)))
    else:
        ways.append(Apart("the top off the base", (top_alone, Solid("the base", frames, base.mass))))
    return Pieces(whole, tuple(ways))


def _frames(base: BaseStructure) -> tuple[Box, ...]:
    """A box round each part of the base that is welded together, with its plates and feet."""
    drawn = base.drawn
    part = {name: name for name in drawn.nodes}

    def root(name: str) -> str:
        while part[name] != name:
            name = part[name]
        return name

    members = [member for member in drawn.members if member.part == "frame"]
    for member in members:
        part[root(member.first)] = root(member.last)
    boxes: dict[str, list[float]] = {}
    for member in members:
        half = max(member.section.depth, member.section.width) / 2
        ends = [drawn.nodes[member.first], drawn.nodes[member.last]]
        # A tube is as thick as its section across its own line only.
        line = np.abs(np.subtract(ends[0], ends[1]))
        thick = [0.0 if line[axis] > 0.999 * np.linalg.norm(line) else half for axis in range(3)]
        low = [min(e[axis] for e in ends) - thick[axis] for axis in range(3)]
        high = [max(e[axis] for e in ends) + thick[axis] for axis in range(3)]
        held = boxes.setdefault(root(member.first), [*low, *high])
        boxes[root(member.first)] = [*map(min, held[:3], low), *map(max, held[3:], high)]
    for held in boxes.values():
        held[2] = 0.0
    for plate in drawn.plates:
        nearest = min(boxes.values(), key=lambda held: abs((held[0] + held[3]) / 2 - plate.x))
        low = [plate.x - plate.width / 2, -plate.length / 2, drawn.underside - plate.thickness]
        high = [plate.x + plate.width / 2, plate.length / 2, drawn.underside]
        nearest[:] = [*map(min, nearest[:3], low), *map(max, nearest[3:], high)]
    return tuple(_as_box(held) for held in boxes.values())


def _as_box(held: Sequence[float]) -> Box:
    x0, y0, z0, x1, y1, z1 = (float(value) for value in held)
    return x0, y0, z0, x1, y1, z1
