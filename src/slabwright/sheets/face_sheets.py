"""Face maps before cutting, and the wood left at each depth."""

from __future__ import annotations

from math import ceil
from typing import NamedTuple

import numpy as np

from slabwright.geometry.faces import FaceName, other
from slabwright.machine.setting import Stage
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import PAPER
from slabwright.sheets.context import Context, seen
from slabwright.sheets.height_map import bands_for, draw_height_map, draw_scale_bar
from slabwright.sheets.picture import MIDDLE, THICK, Picture
from slabwright.sheets.plan_view import (
    View,
    draw_contact,
    draw_defects,
    draw_highest,
    draw_length_bar,
    draw_origin,
    near_origin,
    origin_places,
    with_origin,
)
from slabwright.sheets.words import Words
from slabwright.slab.passes import Pass

_LEGEND = 12.0
_BELOW_MAP = 32.0
"""What stands below a small map: its head, its great figures with their labels, and two lines [mm]."""
_BELOW_MAPS = 42.0
"""What stands below all small maps: the scale, the steps, the cautions [mm]."""
_BETWEEN = 3.5
_BESIDE_MAP = 62.0
"""What the same takes beside a map [mm]."""
_LEAST_MAP = 18.0
_GAP = 4.0
_NAMED: dict[Stage, str] = {"rough": "Roughing", "skim": "Skimming", "only": "In one go"}


def _most(context: Context) -> float:
    return max(float(np.nanmax(context.stock(face).depth, initial=0.0)) for face in context.faces)


def _low(context: Context, face: FaceName) -> bool:
    return bool(np.nanmin(context.stock(face).depth, initial=0.0) < -0.005)


def _unread(context: Context, face: FaceName) -> bool:
    outline = context.seated(context.outline(face), face)
    return outline.intersection(context.read(face)).area < outline.area * (1.0 - 1e-6)


def _lying_on(context: Context, face: FaceName, stage: Stage) -> str:
    """What the slab lies on while a stage of a face is cut."""
    if face == context.faces[0] and stage != "skim":
        return "on the stacks"
    down = other(face)
    finished = stage == "only" or (stage == "skim" and face == context.faces[1])
    return f"on face {down}, {'finished' if finished else 'roughed'}"


def _stages(context: Context, face: FaceName) -> list[Stage]:
    return list(dict.fromkeys(each.stage for each in context.slab.passes if each.face == face))


def _begin(context: Context, face: FaceName) -> list[Block]:
    """Where to touch the highest spot off, and how far to go down from it."""
    words = context.words
    x, y, above = context.highest(face)
    first = next((each for each in context.slab.passes if each.face == face), None)
    stage = first.stage if first else "only"
    plane, clamping = context.above_bed(face, stage), context.clamping(face, stage)
    known = "" if plane is None else f", {words.fine(plane + above)} above the bed"
    touch = (
        f"Spindle off, touch the highest spot, at x {words.place(x)}, y {words.place(y)}: it stands "
        f"{words.signed(above)} above the finished plane{known}."
    )
    if first is None or above <= 0.0:
        return [blocks.heading("Begin here"), blocks.steps([touch])]
    goals = [first.level, *([clamping.levels[0]] if clamping is not None and clamping.levels else [])]
    goal = max(level for level in goals if level < above or level == first.level)
    down = f"First depth: go down {words.fine(words.rounded(above) - words.rounded(goal))} from there, to {words.signed(goal)}"
    rest = f"; then to {words.signed(first.level)} and on by the next sheet." if goal > first.level + 0.005 else "."
    return [blocks.heading("Begin here"), blocks.steps([touch, down + rest])]


def _planes_told(context: Context, face: FaceName) -> list[Block]:
    """How high the finished plane stands above the bed, stage by stage."""
    words = context.words
    said = []
    for stage in _stages(context, face):
        height = context.above_bed(face, stage)
        told = "not known" if height is None else words.fine(height)
        said.append(f"{_NAMED[stage]}, lying {_lying_on(context, face, stage)}: {told}.")
    if not said:
        return []
    if all(context.above_bed(face, stage) is None for stage in _stages(context, face)):
        return [blocks.text("Finished plane above the bed: not known, there are no stacks that hold the slab.")]
    rest = context.plan.job.shop.allowance.rest
    if face == context.faces[1] and "skim" in _stages(context, face) and rest > 0:
        said.append(f"Roughing, the face below still has its rest of {words.fine(rest)}.")
    return [blocks.text("Finished plane above the bed. " + " ".join(said))]


def _deciding(context: Context, face: FaceName) -> list[tuple[float, float]]:
    """The readings of a face that decide the thickness, in the frame of the lie."""
    seat = context.slab.seat
    turn = seat.planes.rotation()
    turned = [turn @ np.array([c.x, c.y, c.z]) for c in seat.contacts if c.face == face]
    return [(float(x), float(y)) for x, y, _ in turned]


def _top(context: Context, face: FaceName) -> tuple[float, float]:
    """The highest reading of a face, in the frame of the lie."""
    planes = context.slab.seat.planes
    x, y, _ = context.highest(face)
    level = planes.upper if face == "A" else planes.lower
    top_x, top_y, _ = planes.to_seat(np.array([[x, y, float(level(np.array(x), np.array(y)))]]))[0]
    return float(top_x), float(top_y)


def face_map(context: Context, face: FaceName, cut: int) -> Sheet:
    """The wood above the finished plane of a face before it is cut; `cut` is 1 or 2, its turn."""
    words = context.words
    stock = context.stock(face)
    outline = context.seated(context.outline(face), face)
    region = context.seated(context.region(face), face)
    width, map_height = context.paper.inner_width, 94.0
    drawing = Picture(width, map_height + _LEGEND + 1.0)
    view = View.fit(outline.bounds, (4.0, 1.0, width - 8.0, map_height - 2.0), mirrored=face == "B")
    marked = [*_deciding(context, face), _top(context, face)]
    if beside := near_origin(view, [view.point(*place) for place in marked], outline):
        view = View.fit(outline.bounds, with_origin(4.0, 1.0, width - 8.0, map_height - 2.0, face), face == "B")
    bands = bands_for(_most(context), words)
    points = [c for c in context.slab.seat.contacts if c.face == face]
    deciding = [view.point(*place) for place in _deciding(context, face)]
    defects = context.defects(face)
    spots = [view.point(place.bounds[2], place.centroid.y) for _, place in defects]
    top = view.point(*_top(context, face))
    words_at = [(a + shift, b) for a, b in (*spots, top) for shift in (0.0, 8.0)]
    draw_height_map(
        drawing,
        view,
        stock,
        bands,
        words,
        outline=outline,
        read=context.read(face),
        clear_of=[*origin_places(view), *deciding, *words_at],
    )
    drawing.path(view.data(outline), weight=THICK)
    drawing.path(view.data(region), weight=1.0, stroke=PAPER)
    drawing.path(view.data(region), weight=MIDDLE, dash="3 1.2")
    draw_defects(drawing, view, defects)
    for place in deciding:
        draw_contact(drawing, place)
    draw_highest(drawing, top)
    draw_origin(drawing, view, beside)
    draw_scale_bar(
        drawing,
        bands,
        words,
        4.0,
        map_height + 2.0,
        width - 70.0,
        low=_low(context, face),
        unread=_unread(context, face),
    )
    draw_length_bar(drawing, view, width - 60.0, map_height + 6.0, 60.0, words.metric)
    stages = _stages(context, face)
    plane = context.above_bed(face, stages[0] if stages else "only")
    figures = [(words.signed(context.highest(face)[2]), "highest spot", False)]
    if plane is not None:
        figures.append((words.fine(plane), "plane above the bed", True))
    key: list[Block] = [
        blocks.text(
            "Each line is one height above the finished plane. Darker: more to come off. Hatched: no wood there, a low spot. "
            "Grey: not read; wood may stand higher there. Dashed: what must come out flat; with a word: a defect."
        ),
    ]
    key += _planes_told(context, face)
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
            [blocks.figures(figures), *key],
            [*_begin(context, face), *decide],
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
        read=context.read(face),
    )
    drawing.path(view.data(outline), weight=MIDDLE)
    return drawing


class Fit(NamedTuple):
    """How the small maps of a face are set.

    Attributes:
        columns: side by side
        each: maps on one sheet
        beside: whether a map's figures stand beside it, not below
        width: of a map [mm]
        height: of a map [mm]
    """

    columns: int
    each: int
    beside: bool
    width: float
    height: float


def fitted(count: int, shape: float, wide: float, high: float) -> Fit:
    """How the small maps of a face are set, on as few sheets as show them well, as large as can be.

    Args:
        count: of the maps
        shape: height over width of the slab
        wide: room on the sheet [mm]
        high: room on the sheet [mm]
    """

    def one(columns: int, each: int, beside: bool) -> Fit:
        rows = ceil(each / columns)
        width = (wide - (columns - 1) * _GAP) / columns - (_BESIDE_MAP if beside else 0.0)
        row = (high - (rows - 1) * _BETWEEN) / rows
        if beside and row < _BELOW_MAP:
            return Fit(columns, each, beside, width, 0.0)
        return Fit(columns, each, beside, width, min(width * shape + 1.2, row - (0.0 if beside else _BELOW_MAP)))

    sheets = 1
    while True:
        each = ceil(count / sheets)
        ways = [one(columns, each, beside) for columns in (1, 2, 3) for beside in (False, True)]
        best = max(ways, key=lambda way: way.height)
        if best.height >= _LEAST_MAP or each == 1:
            return best._replace(height=max(best.height, _LEAST_MAP))
        sheets += 1


def wood_left_sheets(context: Context, face: FaceName) -> list[Sheet]:
    """Small maps side by side: the wood that is left after each depth of a face."""
    words, paper = context.words, context.paper
    passes = [p for p in context.slab.passes if p.face == face]
    if not passes:
        return []
    bounds = context.seated(context.outline(face), face).bounds
    shape = (bounds[3] - bounds[1]) / max(bounds[2] - bounds[0], 1.0)
    fit = fitted(len(passes), shape, paper.inner_width, paper.inner_height - _BELOW_MAPS)
    each = fit.each
    parts = ceil(len(passes) / each)
    bands = bands_for(_most(context), words)
    stages = _stages(context, face)
    known = any(context.above_bed(face, stage) is not None for stage in stages)
    todo = [
        f"Set the cutter to the great figures: above the finished plane{', or above the bed' if known else ''}.",
        "Cut the whole depth; stop and look against the map. Tick its box.",
    ]
    if {"rough", "skim"} <= set(stages):
        todo.append("Depths are numbered in the order of the work: both faces rough, the rest, both skims.")
    lying = "; ".join(f"{_NAMED[stage].lower()} {_lying_on(context, face, stage)}" for stage in stages)
    if known:
        todo.append(f"Above the bed: {lying}.")
    sheets = []
    for part in range(parts):
        some = passes[part * each : (part + 1) * each]
        items = [
            (
                _small_map(context, face, p, fit.width, fit.height),
                f"Depth {p.number}, {_stage(p)}: {words.fine(p.depth)} deep",
                _set_to(context, p),
                [f"Takes {words.chips(p.volume)} on {words.area(p.area)}", _leaves(p, words)],
            )
            for p in some
        ]
        legend = Picture(paper.inner_width, _LEGEND)
        draw_scale_bar(
            legend,
            bands,
            words,
            0.0,
            1.0,
            paper.inner_width - 10.0,
            low=_low(context, face),
            unread=_unread(context, face),
        )
        more = "" if parts == 1 else f", {part + 1} of {parts}"
        sheets.append(
            Sheet(
                f"Wood left on face {face}{more}",
                f"After each depth. Great figures: the cutter's height, {words.unit_word}.",
                [blocks.maps(items, fit.columns, fit.beside), blocks.picture(legend)],
                [
                    [blocks.steps(todo)],
                    [blocks.caution("machine")],
                ],
                "wide",
            )
        )
    return sheets


def _set_to(context: Context, each: Pass) -> list[tuple[str, str]]:
    """The cutter's height for a depth: above the finished plane and, where it is known, above the bed."""
    words = context.words
    level = ("+" if each.level > 0 else "") + words.number(each.level)
    plane = context.above_bed(each.face, each.stage)
    above_bed = [] if plane is None else [(words.number(plane + each.level), "above the bed")]
    return [(level, "above the plane"), *above_bed]


def _leaves(each: Pass, words: Words) -> str:
    if each.left_volume <= 0.0:
        return "Nothing left"
    return f"Leaves {words.chips(each.left_volume)} on {words.area(each.left_area)}"


def _stage(each: Pass) -> str:
    return "thin last" if each.last else {"rough": "rough", "skim": "skim", "only": "one go"}[each.stage]
