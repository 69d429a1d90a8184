"""Face maps before cutting, and the wood left at each depth."""

from __future__ import annotations

from math import ceil

import numpy as np

from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import PAPER
from slabwright.sheets.context import Context, FaceName, other, seen
from slabwright.sheets.height_map import bands_for, draw_height_map, draw_scale_bar
from slabwright.sheets.picture import MIDDLE, THICK, Picture
from slabwright.sheets.plan_view import View, draw_contact, draw_defects, draw_length_bar, draw_origin
from slabwright.slab.passes import Pass

_LEGEND = 12.0
_SMALL_TEXT = 14.5


def _most(context: Context) -> float:
    return max(float(np.nanmax(context.stock(face).depth, initial=0.0)) for face in context.faces)


def face_map(context: Context, face: FaceName, cut: int) -> Sheet:
    """The wood above the finished plane of a face before it is cut; `cut` is 1 or 2, its turn."""
    words, seat = context.words, context.slab.seat
    stock = context.stock(face)
    outline = context.seated(context.outline(face), face)
    region = context.seated(context.region(face), face)
    width, map_height = context.paper.inner_width, 94.0
    drawing = Picture(width, map_height + _LEGEND + 1.0)
    view = View.fit(outline.bounds, (4.0, 1.0, width - 8.0, map_height - 2.0), mirrored=face == "B")
    bands = bands_for(_most(context), words)
    draw_height_map(drawing, view, stock, bands, words, outline=outline)
    drawing.path(view.data(outline), weight=THICK)
    drawing.path(view.data(region), weight=1.0, stroke=PAPER)
    drawing.path(view.data(region), weight=MIDDLE, dash="3 1.2")
    draw_defects(drawing, view, context.defects(face))
    points = [c for c in seat.contacts if c.face == face]
    turn = seat.planes.rotation()
    for contact in points:
        x, y, _ = turn @ np.array([contact.x, contact.y, contact.z])
        draw_contact(drawing, view, float(x), float(y))
    draw_origin(drawing, view)
    low = bool(np.nanmin(stock.depth, initial=0.0) < -0.005)
    draw_scale_bar(drawing, bands, words, 4.0, map_height + 2.0, width - 70.0, low)
    draw_length_bar(drawing, view, width - 60.0, map_height + 6.0, 60.0, words.metric)
    above = [] if cut == 1 else [(words.fine(seat.planes.thickness), "finished plane above the bed", True)]
    greatest = seat.cut_a if face == "A" else seat.cut_b
    key: list[Block] = [
        blocks.text(
            "Each line is one height above the finished plane. Darker: more to come off. Hatched: no wood there, a low spot."
        ),
        blocks.text("Dashed black: what must come out flat. Dashed red, with its word: a defect."),
    ]
    if cut == 2:
        down = other(face)
        rest = min((p.level for p in context.slab.passes if p.face == down and p.stage == "rough"), default=0.0)
        told = f"The height above the bed is with face {down} finished and down."
        if rest > 0:
            told += f" While that face still has its rest of {words.fine(rest)}, the plane stands that much higher."
        key.append(blocks.text(told))
    where = [[f"{words.place(c.x)}", f"{words.place(c.y)}"] for c in points]
    decide: list[Block] = (
        [blocks.heading("Diamonds: readings that decide the thickness"), blocks.table(["x", "y"], "rr", where, pad=2.4)]
        if where
        else [blocks.text("No reading of this face decides the thickness.")]
    )
    return Sheet(
        f"Face {face} before cutting",
        f"{seen(face)}. Cut {'first' if cut == 1 else 'second'}.",
        [blocks.picture(drawing)],
        [
            [blocks.figures([(words.fine(greatest), "most to come off", False), *above]), *key],
            decide,
            [
                blocks.checks(["Highest spot touched off where the map has it", "Defects marked with chalk"]),
                blocks.caution("surfacing"),
            ],
        ],
        "wide",
    )


def _small_map(context: Context, face: FaceName, each: Pass, width: float, height: float) -> Picture:
    outline = context.seated(context.outline(face), face)
    drawing = Picture(width, height)
    view = View.fit(outline.bounds, (0.6, 0.6, width - 1.2, height - 1.2), mirrored=face == "B")
    bands = bands_for(_most(context), context.words)
    draw_height_map(
        drawing,
        view,
        context.stock(face),
        bands,
        context.words,
        outline=outline,
        level=each.level,
        labelled=False,
        cell=1.5,
    )
    drawing.path(view.data(outline), weight=MIDDLE)
    return drawing


def wood_left_sheets(context: Context, face: FaceName) -> list[Sheet]:
    """Small maps side by side: the wood that is left after each depth of a face."""
    words, paper = context.words, context.paper
    passes = [p for p in context.slab.passes if p.face == face]
    if not passes:
        return []
    bounds = context.seated(context.outline(face), face).bounds
    columns = 3 if len(passes) > 2 else 2
    gap = 4.0
    width = (paper.inner_width - (columns - 1) * gap) / columns
    shape = (bounds[3] - bounds[1]) / max(bounds[2] - bounds[0], 1.0)
    room = paper.inner_height - 44.0
    height = min(width * shape + 1.2, room / 2 - _SMALL_TEXT)
    down = max(int(room // (height + _SMALL_TEXT + 3.5)), 1)
    each = columns * down
    parts = ceil(len(passes) / each)
    bands = bands_for(_most(context), words)
    low = bool(np.nanmin(context.stock(face).depth, initial=0.0) < -0.005)
    todo = [
        "Set the cutter to the great figure above the finished plane.",
        "Cut the whole depth; stop and look against the map. Tick its box.",
    ]
    if {p.stage for p in passes} >= {"rough", "skim"}:
        todo.append("Depths are numbered in the order of the work: both faces rough, the rest, both skims.")
    sheets = []
    for part in range(parts):
        some = passes[part * each : (part + 1) * each]
        items = [
            (
                _small_map(context, face, p, width, height),
                ("+" if p.level > 0 else "") + words.number(p.level),
                f"Depth {p.number}, {_stage(p)}: {words.fine(p.depth)}",
                [
                    f"Takes {words.chips(p.volume)} on {words.area(p.area)}",
                    f"Leaves {words.chips(p.left_volume)} on {words.area(p.left_area)}",
                ],
            )
            for p in some
        ]
        legend = Picture(paper.inner_width, _LEGEND)
        draw_scale_bar(legend, bands, words, 0.0, 1.0, paper.inner_width - 10.0, low)
        more = "" if parts == 1 else f", {part + 1} of {parts}"
        sheets.append(
            Sheet(
                f"Wood left on face {face}{more}",
                f"After each depth. Great figures: cutter above the finished plane, {words.unit_word}.",
                [blocks.maps(items, columns), blocks.picture(legend)],
                [
                    [blocks.steps(todo)],
                    [blocks.caution("machine")],
                ],
                "wide",
            )
        )
    return sheets


def _stage(each: Pass) -> str:
    word = {"rough": "rough", "skim": "skim", "only": "one go"}[each.stage]
    return f"{word}, thin last" if each.last else word
