"""Drawings of the machine's sheets: the bed in plan, the heights from the side, the turn over, a card for each depth."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

import numpy as np
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from slabwright.geometry.faces import FaceName
from slabwright.machine.setting import Clamping
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.context import Context
from slabwright.sheets.machine_labels import Labels, Spot, middles, span
from slabwright.sheets.picture import GREAT, MIDDLE, TEXT, THICK, THIN, Picture, path_of
from slabwright.sheets.plan_view import View, draw_origin, joined_bounds
from slabwright.sheets.words import Words, plain

_CARD_HEAD = 25.6
TURN = 23.5
"""Height of the drawing of the turn over [mm]."""
_ANCHORED = 0.35
_LINE = 4.5
_WIDE = {"m": 3.2, "i": 1.0}
"""Of the letters of a unit [mm]."""
ROWS = 11.5
"""Above the plan, for what is cut in which clamping [mm]."""


def bed_box(context: Context) -> Polygon:
    """The bed in the machine's frame."""
    bed = context.plan.job.shop.bed
    return box(0.0, 0.0, bed.length, bed.width)


def page_box(view: View, shape: BaseGeometry) -> tuple[float, float, float, float]:
    """The least rectangle round a shape on the page: x0, y0, x1, y1 [mm]."""
    x0, y0, x1, y1 = shape.bounds
    left, foot = view.point(x0, y0)
    right, top = view.point(x1, y1)
    return left, min(top, foot), right, max(top, foot)


def plan_bounds(context: Context, clamping: Clamping) -> tuple[float, float, float, float]:
    """What the plan of a clamping shows: bed, slab, travel and clamps [mm]."""
    machine = context.plan.job.shop.machine
    shapes = [bed_box(context), clamping.stock.outline, *(_held(clamping))]
    if machine.kind == "gantry":
        shapes.append(box(0.0, 0.0, machine.travel_x, machine.travel_y))
    return joined_bounds(shapes)


def _held(clamping: Clamping) -> list[Polygon]:
    return [box(each.x_from, each.y_from, each.x_to, each.y_to) for each in clamping.keep_out]


def draw_bed(drawing: Picture, view: View, context: Context, clamping: Clamping, slid: float = 0.0) -> None:
    """Bed, travel, slab, its stacks, the stretch that is cut, clamps, and where x0 y0 is.

    Args:
        drawing: where to
        view: how
        context: of the job
        clamping: what lies where
        slid: by how much the slab was set down along since the clamping before, of the same face [mm]
    """
    machine = context.plan.job.shop.machine
    drawing.path(view.data(bed_box(context)), weight=MIDDLE, stroke=SOFT)
    if machine.kind == "gantry":
        travel = box(0.0, 0.0, machine.travel_x, machine.travel_y)
        drawing.path(view.data(travel), weight=MIDDLE, stroke=SOFT, dash="6 1 1 1")
    outline = clamping.stock.outline
    drawing.path(view.data(outline), weight=THICK, fill=WOOD)
    drawing.path(view.data(clamping.region), weight=MIDDLE, stroke=SOFT, dash="3 1.2")
    labels = Labels(drawing, (0.0, 0.0, drawing.width, drawing.height))
    _draw_window(labels, view, clamping, slid)
    for number, each in enumerate(_held(clamping), start=1):
        x0, y0, x1, y1 = page_box(view, each)
        middle_x, middle_y = (x0 + x1) / 2, (y0 + y1) / 2
        wide, high = max(x1 - x0, 3.4 if number < 10 else 5.2), max(y1 - y0, 4.2)
        drawing.rectangle(middle_x - wide / 2, middle_y - high / 2, wide, high, fill=INK, weight=THIN)
        labels.take((middle_x - wide / 2, middle_y - high / 2, middle_x + wide / 2, middle_y + high / 2))
        drawing.text(
            middle_x, middle_y + _ANCHORED * TEXT, str(number), anchor="middle", weight=700, fill=PAPER
        )  # fmt: skip
    draw_origin(drawing, view)
    corner_x, corner_y = view.point(0.0, 0.0)
    labels.take((corner_x - 1.5, corner_y - 16.0, corner_x + 4.5, corner_y + 1.5))
    labels.take((corner_x, corner_y - 1.8, corner_x + 17.0, corner_y + 1.8))
    _draw_place(labels, view, outline, context.words)
    below = corner_y + 5.0
    labels.put(
        "x0 y0",
        [Spot(corner_x - 3.2, below, "end"), Spot(corner_x + 3.0, below), Spot(corner_x + 3.0, below + 4.0)],
        weight=700,
    )
    if clamping.lies_on == "stacks":
        _draw_stacks(labels, view, context, clamping)
    wood = page_box(view, outline)
    x0, y0, _, y1 = wood
    ends = [Spot(x0 + 2.0, y0 + share * (y1 - y0) + 1.3) for share in (0.3, 0.4, 0.5, 0.6, 0.7, 0.2)]
    ends += [Spot(x0 - 1.5, y0 + share * (y1 - y0) + 1.3, "end") for share in (0.5, 0.3, 0.7)]
    labels.put("x = 0 end", ends)
    said = f"Face {clamping.face} up"
    labels.put(said, middles(wood, said, (GREAT, 0.75 * GREAT, 0.55 * GREAT)), weight=700)


def _draw_window(labels: Labels, view: View, clamping: Clamping, slid: float) -> None:
    """Of two clampings of a face: the stretch that is cut, and where they overlap."""
    if clamping.overlap is None and slid == 0.0:
        return
    drawing, outline = labels.drawing, clamping.stock.outline
    x_from, x_to = clamping.window
    low, high = outline.bounds[1], outline.bounds[3]
    # The overlap as the first clamping has it, or at the near end of the second one's stretch.
    shared = clamping.overlap
    others = (outline.bounds[0], x_from) if slid else (x_to, outline.bounds[2])
    rest = outline.intersection(box(others[0], low, others[1], high))
    drawing.path(view.data(rest), weight=0.0, fill=PAPER)
    drawing.hatch(view.data(rest), page_box(view, rest), step=2.4, stroke=SOFT)
    drawing.path(view.data(outline), weight=THICK)
    if shared is not None:
        twice = outline.intersection(box(shared[0], low, shared[1], high))
        drawing.hatch(view.data(twice), page_box(view, twice), step=0.9, stroke=CHOSEN)
    for x in clamping.window:
        px, top = view.point(x, high)
        _, foot = view.point(x, low)
        drawing.line(px, min(top, 5.0), px, foot + 2.0, stroke=CHOSEN, weight=THICK)
        labels.take((px - 0.6, min(top, 5.0), px + 0.6, foot + 2.0))
    row = 5.0
    ends = [view.point(x, high)[0] for x in (x_from, x_to, *others)]
    span(labels, ends[0], ends[1], row, "cut now")
    span(labels, ends[2], ends[3], row, "cut before" if slid else "cut later")
    if shared is not None:
        x_left, x_right = (view.point(x, high)[0] for x in shared)
        span(labels, x_left, x_right, row + 5.5, "overlap")


def _draw_stacks(labels: Labels, view: View, context: Context, clamping: Clamping) -> None:
    shims, drawing = context.slab.shims, labels.drawing
    radius = max(view.scale * context.plan.job.shop.bed.pad_diameter / 2, 1.3)
    shift_x, shift_y = clamping.lying.shift
    places = [
        (stack, view.point(stack.bed_x + shift_x, stack.bed_y + shift_y)) for stack in (shims.stacks if shims else ())
    ]
    labels.take(*((x - radius, y - radius, x + radius, y + radius) for _, (x, y) in places))
    for stack, (x, y) in places:
        drawing.circle(x, y, radius, fill=INK if stack.carries else PAPER, weight=MIDDLE)
        foot = y + _ANCHORED * TEXT
        around = [Spot(x + radius + 0.9, foot), Spot(x - radius - 0.9, foot, "end")]
        around += [Spot(x, y - radius - 0.9, "middle"), Spot(x, y + radius + 3.5, "middle")]
        labels.put(stack.name, around)


def _draw_place(labels: Labels, view: View, outline: Polygon, words: Words) -> None:
    """Where the box round the slab begins on the bed: dimensions from the bed's near left corner."""
    drawing = labels.drawing
    x0, y0 = outline.bounds[0], outline.bounds[1]
    left, foot = view.point(x0, y0)
    bed_left, bed_foot = view.point(0.0, 0.0)
    below = max(bed_foot, foot) + 4.6
    drawing.line(bed_left, below, left, below, weight=THIN)
    for x in (bed_left, left):
        drawing.line(x - 0.9, below + 0.9, x + 0.9, below - 0.9)
    drawing.line(left, foot + 0.8, left, below + 1.4, weight=THIN)
    labels.take((min(left, bed_left) - 1.0, below - 1.0, max(left, bed_left) + 1.0, below + 1.0))
    told = f"slab from x {_at(words, x0)}"
    spots = [Spot(left - 2.2, below + 1.3, "end"), Spot(left, below + 4.2)] if x0 < 0.0 else []
    labels.put(told, [*spots, Spot(left + 2.2, below + 1.3), Spot(left + 1.0, below + 4.2)])
    aside = min(bed_left, left) - 3.0
    drawing.line(aside, bed_foot, aside, foot, weight=THIN)
    for y in (bed_foot, foot):
        drawing.line(aside - 0.9, y + 0.9, aside + 0.9, y - 0.9)
    drawing.line(aside - 1.4, foot, left - 0.6, foot, weight=THIN, dash="1 1")
    labels.take((aside - 1.0, min(foot, bed_foot), aside + 1.0, max(foot, bed_foot)))
    labels.put(f"y {_at(words, y0)}", [Spot(aside - 1.8, foot - 1.6, "end")])


def _at(words: Words, mm: float) -> str:
    return words.place(mm).replace("-", "−")


def draw_turn(drawing: Picture, left: float, top: float, before: FaceName, after: FaceName) -> None:
    """How the slab is turned over, seen from the x = 0 end; 88 mm wide, 22 mm high."""
    drawing.text(left, top + 3.6, "Turn over about its length, seen from the x = 0 end", weight=600)
    for x, up, down in ((left + 3.0, before, after), (left + 55.0, after, before)):
        drawing.rectangle(x, top + 12.0, 27.0, 7.0, fill=WOOD, weight=THICK)
        drawing.text(x + 13.5, top + 11.0, up, anchor="middle", weight=700)
        drawing.text(x + 13.5, top + 22.7, down, anchor="middle", weight=700)
    start, end, level = left + 33.0, left + 51.0, top + 17.0
    drawing.path(f"M{start:.2f} {level:.2f}A9.2 9.2 0 0 1 {end:.2f} {level:.2f}", weight=2 * THICK, stroke=CHOSEN)
    drawing.polygon(
        [(end - 1.9, level - 0.6), (end + 1.9, level - 0.6), (end, level + 2.8)], fill=CHOSEN, stroke=CHOSEN
    )


def draw_heights(
    drawing: Picture, left: float, top: float, height: float, *, context: Context, clamping: Clamping
) -> None:
    """The finished plane above z0 in great type, over a section that is not to scale; 88 mm wide."""
    words = context.words
    on_block = clamping.block > 0.0
    figure = words.fine(clamping.plane - clamping.block)
    drawing.text(left, top + 0.76 * GREAT, figure, size=GREAT, weight=700, fill=CHOSEN)
    after = left + 0.56 * GREAT * len(figure) + 3.0
    where = "the block" if on_block else "the bed"
    drawing.text(after, top + 3.6, "finished plane", weight=600)
    drawing.text(after, top + 8.1, f"above z0, {where}", weight=600)
    base = top + height - 4.0
    lift = 5.0 if clamping.lies_on == "stacks" else 0.0
    right, slab_left = left + 86.0, left + 40.0
    foot = base - lift
    thick = max(min(foot - (top + 15.5), 26.0), 9.0)
    # A face that was roughed already is flat; only a fresh one is as the saw left it.
    flat = clamping.stage == "skim"
    upper, plane = foot - thick, foot - (0.82 if flat else 0.68) * thick
    top_edge = [(right, upper), (slab_left, upper)]
    if not flat:
        top_edge = [(right, upper + 0.8), (slab_left + 14.0, upper), (slab_left, upper + 1.6)]
    drawing.polygon([(slab_left, foot), (right, foot), *top_edge], fill=WOOD, weight=THICK)
    off = path_of([(slab_left, plane), (right, plane), *top_edge], close=True)
    drawing.hatch(off, (slab_left, upper, right, plane), step=1.8, stroke=SOFT)
    if lift:
        for x in (slab_left + 6.0, right - 12.0):
            drawing.rectangle(x, foot, 6.0, lift, fill=PAPER, weight=MIDDLE)
    drawing.line(left, base, right + 2.0, base, weight=2 * THICK)
    zero = base - (6.5 if on_block else 0.0)
    if on_block:
        drawing.rectangle(left + 3.0, zero, 14.0, base - zero, fill=SOFT, weight=THICK)
    drawing.text(left + 3.0, zero - 1.6, "z0", weight=700)
    at = left + 26.0
    drawing.line(left + 10.0, zero, at + 2.0, zero, weight=THIN)
    drawing.line(at - 2.0, plane, right + 2.0, plane, stroke=CHOSEN, weight=THICK, dash="4 1.2")
    drawing.line(at, plane, at, zero, weight=MIDDLE, stroke=CHOSEN)
    for y in (plane, zero):
        drawing.line(at - 0.9, y + 0.9, at + 0.9, y - 0.9, stroke=CHOSEN)
    drawing.text(slab_left + 23.0, upper - 1.2, f"face {clamping.face}", anchor="middle", weight=600)
    under = "stacks" if lift else f"lies on {clamping.lies_on}"
    drawing.text(slab_left + 23.0, foot - 1.5 if not lift else base - 0.9, under, anchor="middle", weight=600)


def _wrapped(look: str, width: float) -> list[str]:
    return textwrap.wrap(look, int((width - 9.5) / 1.66))


def _named(name: str, width: float) -> list[str]:
    """A file's name on as many lines as it wants, broken after its dashes."""
    return textwrap.wrap(plain(name, 80), int((width - 3.0) / 1.75)) or [""]


def card_height(looks: Iterable[Sequence[str]], width: float, names: Iterable[str] = ()) -> float:
    """The height that the fullest of some cards wants [mm]."""
    most = max((sum(len(_wrapped(look, width)) for look in each) for each in looks), default=0)
    named = max((len(_named(name, width)) for name in names), default=1)
    return _CARD_HEAD + _LINE * (named - 1) + _LINE * max(most - 1, 1) + 2.4


def depth_card(
    width: float, height: float, number: str, great: str, name: str, told: str, looks: Sequence[str], unit: str = ""
) -> Picture:
    """One depth: its number and its great figure, what the file is called, and what to look at after it.

    Args:
        width: of the card [mm]
        height: of the card [mm]
        number: in the order of the work
        great: in great type
        name: of the file, or what is done
        told: a line of figures
        looks: after it, each with a box
        unit: of the great figure
    """
    picture = Picture(width, height)
    picture.rectangle(0.3, 0.3, width - 0.6, height - 0.6, weight=MIDDLE)
    picture.circle(7.0, 7.0, 5.6, weight=THICK, fill=PAPER)
    picture.text(7.0, 7.0 + 0.35 * GREAT * 0.8, number, size=0.8 * GREAT, anchor="middle", weight=700)
    picture.text(
        width - 3.4 - sum(_WIDE.get(letter, 2.0) for letter in unit), 10.6, great, size=GREAT, anchor="end", weight=700
    )
    if unit:
        picture.text(width - 2.0, 10.6, unit, anchor="end")
    y = 16.4
    for line in _named(name, width):
        picture.text(2.0, y, line, weight=600)
        y += _LINE
    picture.text(2.0, y, told)
    y += _CARD_HEAD - 20.9
    for look in looks:
        for index, line in enumerate(_wrapped(look, width)):
            if index == 0:
                picture.rectangle(2.0, y - 2.9, 3.2, 3.2, weight=MIDDLE)
            picture.text(6.8, y, line)
            y += _LINE
    return picture


def then_card(width: float, height: float, lines: Sequence[str]) -> Picture:
    """What comes after the last depth of a clamping."""
    picture = Picture(width, height)
    picture.rectangle(0.3, 0.3, width - 0.6, height - 0.6, weight=THICK, stroke=CHOSEN)
    picture.text(2.5, 6.4, "Then", size=1.4 * TEXT, weight=700, fill=CHOSEN)
    y = 11.4
    for each in lines:
        for line in textwrap.wrap(each, int((width - 5.0) / 1.66)):
            picture.text(2.5, y, line)
            y += _LINE
        y += 1.0
    return picture


def spread(places: Sequence[float], least: float, low: float, high: float) -> list[float]:
    """Places along a line, moved so that they are at least so far apart and within bounds, in their order.

    Args:
        places: rising [mm]
        least: distance apart [mm]
        low: least place [mm]
        high: greatest place [mm]
    """
    index = np.arange(len(places))
    forward = np.maximum.accumulate(np.asarray(places) - least * index) + least * index
    # What was pushed beyond the end is pushed back from there.
    forward = np.minimum(forward, high - least * (len(places) - 1 - index))
    return [max(float(each), low + least * k) for k, each in enumerate(forward)]
