r"""Readings as a wide grid: x along the first line, y down the first column, heights between them.

The first line is a corner cell of any text (`y\x`) and the x positions; every further line is a y and its heights, an empty
cell where nothing was read. Both faces of one set-up stand in one file, each below a line `face A` or `face B`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import numpy as np

from slabwright.geometry.faces import Face
from slabwright.job.paths import shown
from slabwright.job.readings.faces import arranged
from slabwright.job.readings.source import Source
from slabwright.job.readings.table import Header, Text

_NUMERIC_START = re.compile(r"[+-]?\.?\d", re.ASCII)
_FACE = re.compile(r"face\s+([ab])\s*:?", re.IGNORECASE)


@dataclass
class _Block:
    """A grid while it is being read; `line` is that of its x positions."""

    transposed: bool
    line: int
    along: list[float]
    down: list[float] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    heights: list[list[float]] = field(default_factory=list)


def is_wide_grid(header: Header) -> bool:
    """Whether a first line is a corner cell and positions, or the line that heads the block of a face."""
    if _face_line(header.cells):
        return True
    cells = header.cells
    # A row of a list whose header was forgotten begins with a face's letter alone.
    if header.names[0] in ("a", "b"):
        return False
    return len(cells) > 1 and not _NUMERIC_START.match(cells[0]) and bool(_NUMERIC_START.match(cells[1]))


def _face_line(cells: list[str]) -> str | None:
    match = _FACE.fullmatch(" ".join(cell for cell in cells if cell))
    return match.group(1).upper() if match else None


def faces_from_grids(text: Text) -> dict[str, Face]:
    """The grids of a file by the face that heads each; the key is empty for a grid that no such line heads."""
    source = text.source
    blocks: dict[str, _Block] = {}
    name, block = "", None
    for line, cells in text.rows():
        face = _face_line(cells)
        if face is not None:
            if face in blocks:
                source.fail(f"face {face} is headed a second time; keep one grid of each face.", line)
            if "" in blocks or (block is None and name):
                source.fail("a line that names a face stands where a grid is wanted; head each grid by its face.", line)
            name, block = face, None
        elif block is None:
            block = blocks[name] = _open_block(source, cells, line)
        else:
            _add_row(source, block, cells, line)
    if name and block is None:
        source.fail(rf"no grid follows the line face {name}; its first line is y\x and the x positions.")
    return {key: _face(source, found) for key, found in blocks.items()}


def _open_block(source: Source, cells: list[str], line: int) -> _Block:
    while cells and not cells[-1]:
        cells.pop()
    if len(cells) < 2 or _NUMERIC_START.match(cells[0]):
        source.fail(
            rf"the line is {shown(','.join(cells), 60)}; a grid's first line is y\x and the x positions: y\x,0,50,100.",
            line,
        )
    transposed = cells[0].lower().replace(" ", "") == "x\\y"
    what = "y position" if transposed else "x position"
    along = [source.number(cell, what, line) for cell in cells[1:]]
    if len(set(along)) < len(along):
        twice = next(value for at, value in enumerate(along) if value in along[:at])
        source.fail(
            f"the {what} {twice / source.factor:.6g} {source.unit} stands twice; keep one column for each.", line
        )
    return _Block(transposed, line, along)


def _add_row(source: Source, block: _Block, cells: list[str], line: int) -> None:
    width = len(block.along)
    while len(cells) > width + 1 and not cells[-1]:
        cells.pop()
    if len(cells) != width + 1:
        source.fail(
            f"the row has {len(cells) - 1} heights, line {block.line} has {width} positions; leave a cell empty where nothing was"
            " read.",
            line,
        )
    block.down.append(source.number(cells[0], "x position" if block.transposed else "y position", line))
    block.lines.append(line)
    block.heights.append([source.number(cell, "a height", line) if cell else np.nan for cell in cells[1:]])


def _face(source: Source, block: _Block) -> Face:
    if not block.down:
        source.fail("there are no rows below the positions; write a y and its heights in each.", block.line)
    along, down = np.array(block.along), np.array(block.down)
    first: dict[float, int] = {}
    for value, line in zip(block.down, block.lines, strict=True):
        if value in first:
            source.fail(
                f"the row of {value / source.factor:.6g} {source.unit} stands on line {first[value]} too.", line
            )
        first[value] = line
    heights = np.array(block.heights)[np.argsort(down)][:, np.argsort(along)]
    along.sort()
    down.sort()
    x, y, z = (down, along, heights) if block.transposed else (along, down, heights.T)
    column, row = np.nonzero(~np.isnan(z))
    return arranged(np.column_stack([x[column], y[row], z[column, row]]), x, y, column * y.size + row)
