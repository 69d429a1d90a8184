"""The base with its top as one sees it from the near left: every piece with its number in the cut list."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from slabwright.base.basing import BasePlan
from slabwright.base.kinds import Drawn, Member
from slabwright.base.weld_joints import piece_name
from slabwright.geometry.faces import Floats
from slabwright.sheets import blocks
from slabwright.sheets.base_drawing import outline_of
from slabwright.sheets.base_solids import Face, Sight, foremost, isometric, solids, visible
from slabwright.sheets.base_words import cut_length, steel_name
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import INK, PAPER, SOFT
from slabwright.sheets.context import Context
from slabwright.sheets.picture import MIDDLE, TEXT, THIN, Picture, text_width
from slabwright.sheets.plan_view import View
from slabwright.sheets.top_words import tape
from slabwright.sheets.words import Words, plain

_LOW = 68.0
"""Height of the drawing where the sheet shares its page [mm]."""
_ROWS = 14
"""Parts that the list beside the drawing has room for."""
_BALLOON = 2.9
"""Radius of the ring round a number [mm of the page]."""
_EDGE = 5.0
_SHADES = {
    "steel": ("#FFFFFF", "#D3D8DB", "#9CA5AB"),
    "plate": ("#7F8990", "#5F6A72", "#444E55"),
    "foot": ("#3A4248", "#3A4248", "#3A4248"),
}
"""Of faces that look up, along, and across: printed in grey they stay apart."""
_ALIASES = {"upright": ("leg",), "top rail": ("end rail",), "near rail": ("long rail",), "far rail": ("long rail",)}
"""What the cut list calls pieces that the structure names by their place."""
_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88)


def view_3d_sheet(context: Context, plan: BasePlan, low: bool = False) -> Sheet:
    """The base as it stands, with the numbers of the cut list; `low` so that another sheet may stand below it."""
    words, paper = context.words, context.paper
    drawing = view_3d(plan, paper.picture_width, _LOW if low else paper.inner_height - 4.0, words)
    lead = "Isometric, not to scale: measure nothing on it. The top is drawn as if of glass."
    return Sheet("The base as it stands", lead, [blocks.picture(drawing)], [_text(plan, words)])


def view_3d(plan: BasePlan, width: float, most: float, words: Words) -> Picture:
    """Draw the base with its top, hidden faces left out, a number on each piece that is seen.

    Args:
        plan: the base
        width: of the drawing [mm]
        most: its greatest height [mm]
        words: how figures are written
    """
    sight = isometric()
    faces = solids(plan.drawn)
    seen = visible(faces, sight)
    upper, lower = (_level(plan, sight, height) for height in _heights(plan))
    glass = _swept(upper, lower)
    shapes = [surface.shape for surface in seen]
    x0, y0, x1, y1 = shapely.union_all([glass, *shapes]).bounds
    scale = min((width - 2 * _EDGE) / (x1 - x0), (most - 2 * _EDGE) / (y1 - y0))
    drawing = Picture(width, 2 * _EDGE + scale * (y1 - y0))
    view = View((width - scale * (x1 - x0)) / 2, _EDGE, scale, float(x0), float(y0), float(y1), False)
    for surface in seen:
        shade = _SHADES[surface.kind][_side(surface.normal)]
        drawing.path(view.data(surface.shape), weight=MIDDLE, fill=shade, rule="evenodd")
    drawing.path(view.data(lower), weight=THIN, stroke=SOFT, dash="1.6 1")
    for shape in (upper, glass):
        drawing.path(view.data(shape), weight=MIDDLE)
    _name_sides(drawing, view, plan, sight, view.drawn(shapely.union_all(shapes)))
    _numbers(drawing, view, plan, faces, sight)
    return drawing


def _side(normal: Floats) -> int:
    """0: looks up; 1: along, or 2: across."""
    if normal[2] > 0.7:
        return 0
    return 1 if abs(normal[0]) >= abs(normal[1]) else 2


def _heights(plan: BasePlan) -> tuple[float, float]:
    high = plan.height.even
    return high, high - plan.structure.top.thickness[1]


def _level(plan: BasePlan, sight: Sight, height: float) -> Polygon:
    """The top's outline at a height, on the page."""
    ring = shapely.get_coordinates(outline_of(plan).simplify(0.5).boundary)
    return Polygon(sight.flat(np.column_stack([ring, np.full(len(ring), height)])))


def _swept(upper: Polygon, lower: Polygon) -> BaseGeometry:
    """The shadow of the slab between its two faces."""
    above, below = np.array(upper.exterior.coords), np.array(lower.exterior.coords)
    quads = [Polygon([above[k], above[k + 1], below[k + 1], below[k]]) for k in range(len(above) - 1)]
    return shapely.union_all([upper, lower, *(quad.buffer(0.0) for quad in quads)], grid_size=1e-3)


def _name_sides(drawing: Picture, view: View, plan: BasePlan, sight: Sight, steel: BaseGeometry) -> None:
    """Which end and edge is which, beside the top's underside and clear of the steel."""
    x0, y0, x1, y1 = outline_of(plan).bounds
    low = _heights(plan)[1]
    for said, first, last, left in (
        ("left end", (x0, y1, low), (x0, y0, low), True),
        ("near edge", (x0, y0, low), (x1, y0, low), False),
    ):
        wide = text_width(said) + 2.0
        boxes = []
        for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.9):
            place = np.array(first) + share * np.subtract(last, first)
            x, y = view.point(*sight.flat(place[None, :])[0].tolist())
            x, y = (x - 2.0 - wide, y + 5.0) if left else (x + 2.0, y + 5.5)
            boxes.append(box(x, y - TEXT - 1.0, x + wide, y + 1.5))
        clear = next((each for each in boxes if not each.intersects(steel)), boxes[0])
        drawing.text(clear.bounds[0] + 1.0, clear.bounds[3] - 1.5, said, fill=SOFT, halo=True)


def part_number(plan: BasePlan, drawn: Drawn, member: Member) -> int | None:
    """The number in the cut list of the part that a member is of; None where no list has it."""
    if plan.cut_list is None:
        return None
    numbers = {part.name: number for number, part in reversed(list(enumerate(plan.cut_list.parts, start=1)))}
    if drawn.kind == "free frame":
        at = next(number for number, other in enumerate(drawn.members, start=1) if other is member)
        return numbers.get(member.name, numbers.get(f"member {at}"))
    words = member.name.split()
    names = [" ".join(words[-2:]), words[-1]]
    names += [alias for name in names for alias in _ALIASES.get(name, ())]
    return next((numbers[name] for name in names if name in numbers), None)


def _numbers(drawing: Picture, view: View, plan: BasePlan, faces: Sequence[Face], sight: Sight) -> None:
    """A ring with its number on every piece that is seen; of parts that are nowhere seen, a dashed one where one lies."""
    drawn = plan.drawn
    pieces: dict[str, tuple[int, list[Floats]]] = {}
    for member in drawn.members:
        number = part_number(plan, drawn, member) if member.part == "frame" else None
        if number is not None:
            ends = np.array([drawn.nodes[member.first], drawn.nodes[member.last]])
            pieces.setdefault(piece_name(drawn, member), (number, []))[1].append(ends)
    plates = (
        [number for number, part in enumerate(plan.cut_list.parts, start=1) if part.name == "plate"]
        if plan.cut_list
        else []
    )
    for plate in drawn.plates if plates else ():
        at = np.array([[plate.x, side * plate.length / 2, drawn.underside] for side in (-1.0, 1.0)])
        pieces[plate.name] = (plates[0], [at])
    taken: list[tuple[float, float]] = []
    shown: set[int] = set()
    for hidden in (False, True):
        for name, (number, runs) in pieces.items():
            if hidden and number in shown:
                continue
            longest = max(runs, key=lambda ends: float(np.linalg.norm(ends[1] - ends[0])))
            for share in _SHARES:
                place = sight.flat((longest[0] + share * (longest[1] - longest[0]))[None, :])[0].tolist()
                x, y = view.point(*place)
                clear = all(math.hypot(x - a, y - b) > 2.2 * _BALLOON for a, b in taken)
                if clear and (hidden or foremost(faces, sight, (place[0], place[1])) == name):
                    taken.append((x, y))
                    shown.add(number)
                    drawing.circle(x, y, _BALLOON, fill=PAPER, weight=MIDDLE, dash="0.9 0.7" if hidden else "")
                    drawing.text(x, y + 0.35 * TEXT, str(number), anchor="middle", weight=600, fill=INK)
                    break


def _text(plan: BasePlan, words: Words) -> list[Block]:
    top = plan.structure.top
    found: list[Block] = []
    if plan.cut_list is not None:
        parts = plan.cut_list.parts
        rows = [
            (
                str(number),
                plain(part.name, 22),
                steel_name(part.section, words, 16),
                str(part.count),
                cut_length(part.long_points, words),
            )
            for number, part in enumerate(parts[:_ROWS], start=1)
        ]
        found.append(blocks.table(["No.", "Part", "Steel", "Count", "Long points"], "rllrr", rows, wide=(1,), pad=2.4))
        if len(parts) > _ROWS:
            found.append(blocks.text(f"{len(parts) - _ROWS} more: see the cut list."))
    size = f"{tape(top.length, words)} long, {tape(plan.height.even, words)} high"
    found.append(
        blocks.text(
            f"Numbers as in the cut list; a dashed ring: it lies behind. With its top {size}; steel {words.weight(plan.mass)}."
        )
    )
    found.append(
        blocks.steps(
            [
                "Lay the pieces out as they stand here; each with its number.",
                "Left is where the left end of the top lies, near is your side of the bench.",
                "Hold the first frame against this picture before anything more than tacks is welded.",
            ]
        )
    )
    found.append(blocks.checks(["Every piece is there, deburred and numbered"]))
    return found
