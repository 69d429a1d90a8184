"""A sheet for each height of the rails of a router sled: heights at the supports, and how far the bit is set down."""

from __future__ import annotations

from itertools import groupby

from shapely import box

from slabwright.machine.results import MachinePlan
from slabwright.machine.setting import Clamping
from slabwright.machine.sled import RailSetting, RailSupport
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.context import Context
from slabwright.sheets.machine_clamping import (
    CARD_GAP,
    card_width,
    clamp_rows,
    handling,
    lay,
    more_cards,
    row_of,
    then_beside,
)
from slabwright.sheets.machine_drawings import TURN, card_height, depth_card, draw_turn, page_box, spread
from slabwright.sheets.machine_room import picture_height
from slabwright.sheets.machine_words import after_it, carried_by, level_of, look_at, title_of, turned_over
from slabwright.sheets.picture import GREAT, MIDDLE, TEXT, THICK, THIN, Picture, text_width
from slabwright.sheets.plan_view import View, joined_bounds

_SIDE = 92.0
_LABEL = 17.0
_CARD_HIGH = 27.0


def rail_sheets(context: Context, machine: MachinePlan, clamping: Clamping) -> list[Sheet]:
    """The sheets of a clamping on a router sled: one for each height of its rails."""
    if machine.sled is None:
        return []
    settings = [each for each in machine.sled.settings if each.setting == clamping.number]
    sheets = []
    for index, setting in enumerate(settings):
        title = title_of(clamping, machine) + (", rails lowered" if index else "")
        sheets += _of_setting(context, machine, clamping, setting, title, index, last=setting is settings[-1])
    return sheets


def _of_setting(
    context: Context,
    machine: MachinePlan,
    clamping: Clamping,
    setting: RailSetting,
    title: str,
    index: int,
    *,
    last: bool,
) -> list[Sheet]:
    words, sled = context.words, context.plan.job.shop.sled
    lead = f"Face {clamping.face} up, lying on {carried_by(clamping, context)}. Seen from above."
    cards, then = _cards(context, machine, clamping, setting, last=last)
    in_a_row = row_of(len(cards))
    here, later = cards[:in_a_row], cards[in_a_row:]
    steps = lay(context, machine, clamping) if index == 0 else ["The slab stays where it lies."]
    steps += [
        f"Pack under the rails until their tops stand above the bed as drawn; the rail itself is {words.fine(sled.rail_height)}.",
        "Zero the bit with its end level with the rails' tops.",
        "For each card set it down by the great figure, lock it, cut, stop, look, tick.",
    ]
    boxes = ["Straight board across both rails, wound nowhere", "Sled slides freely, clears the highest wood"]
    if clamp_rows(context, clamping):
        boxes.append("Clamps below the sled's path")
    boxes.append("Bit locked, spindle stopped at each set-down")
    drawn = _wide_enough(context, setting)
    columns: list[list[Block]] = [
        [blocks.steps(steps)],
        [*then, blocks.checks(boxes)],
        [blocks.caution("machine", *handling(clamping, machine))],
    ]
    if not drawn:
        columns[1].insert(0, blocks.text("Heights at the supports by their numbers: next sheet."))
    height = picture_height(context, cards[0].height, columns)
    drawing = _drawing(
        context, machine, clamping, setting, height, turned=index == 0 and turned_over(clamping, machine)
    )
    picture: list[Block] = [blocks.picture(drawing), blocks.cards(here, in_a_row, CARD_GAP)]
    sheets = [Sheet(title, lead, picture, columns, "wide")]
    if not drawn:
        sheets += _height_sheets(context, setting, title, lead)
    sheets += more_cards(context, f"{title}, more depths", lead, later)
    return sheets


def _cards(
    context: Context, machine: MachinePlan, clamping: Clamping, setting: RailSetting, *, last: bool
) -> tuple[list[Picture], list[Block]]:
    words = context.words
    width = card_width(context, len(setting.depths) + 1)
    looks = [look_at(context, clamping, depth.level) for depth in setting.depths]
    height = card_height(looks, width)
    cards = [
        depth_card(
            width,
            height,
            f"{number}",
            words.number(depth.lower),
            f"Set the bit down {words.fine(depth.lower)}",
            f"in all {words.fine(depth.reach)}; level {level_of(depth.level, words)}",
            look,
            words.unit,
        )
        for number, (depth, look) in enumerate(zip(setting.depths, looks, strict=True), start=1)
    ]
    then = after_it(context, machine, clamping) if last else ["Lower the rails: next sheet."]
    return then_beside(cards, width, height, then, f"After depth {len(cards)}")


def _by_rail(setting: RailSetting) -> dict[str, list[RailSupport]]:
    order = sorted(setting.supports, key=lambda support: (support.rail, support.x))
    return {rail: list(found) for rail, found in groupby(order, key=lambda support: support.rail)}


def _plan_width(context: Context) -> float:
    return context.paper.inner_width - _SIDE - 4.0


def _apart(context: Context, setting: RailSetting) -> float:
    """Width that a height in great type wants [mm]."""
    return max(text_width(context.words.number(each.height), 1.12 * GREAT) for each in setting.supports) + 2.0


def _wide_enough(context: Context, setting: RailSetting) -> bool:
    most = max(len(found) for found in _by_rail(setting).values())
    return most * _apart(context, setting) <= _plan_width(context)


def _drawing(
    context: Context, machine: MachinePlan, clamping: Clamping, setting: RailSetting, height: float, *, turned: bool
) -> Picture:
    words = context.words
    bed = context.plan.job.shop.bed
    drawing = Picture(context.paper.inner_width, height)
    shapes = [box(0.0, 0.0, bed.length, bed.width), clamping.stock.outline]
    shapes += [box(each.x, each.y, each.x + 1.0, each.y + 1.0) for each in setting.supports]
    room = _plan_width(context)
    view = View.fit(joined_bounds(shapes), (14.0, _LABEL + 3.0, room - 28.0, drawing.height - 2 * _LABEL - 6.0))
    drawing.path(view.data(shapes[0]), weight=MIDDLE, stroke=SOFT)
    drawing.path(view.data(clamping.stock.outline), weight=THICK, fill=WOOD)
    drawing.path(view.data(clamping.region), weight=MIDDLE, stroke=SOFT, dash="3 1.2")
    x0, y0, x1, y1 = page_box(view, clamping.stock.outline)
    up = f"Face {clamping.face} up"
    size = GREAT if x1 - x0 > 1.2 * text_width(up, GREAT) and y1 - y0 > 2.0 * GREAT else 0.5 * GREAT
    drawing.text((x0 + x1) / 2, (y0 + y1) / 2 + 0.36 * size, up, size=size, anchor="middle", weight=700, halo=True)
    for number, each in enumerate(clamping.keep_out, start=1):
        cx0, cy0, cx1, cy1 = page_box(view, box(each.x_from, each.y_from, each.x_to, each.y_to))
        drawing.rectangle(cx0, cy0, max(cx1 - cx0, 2.0), max(cy1 - cy0, 2.0), fill=INK, weight=THIN)
        drawing.text(cx1 + 1.0, cy1, str(number), weight=700, halo=True)
    figures = _wide_enough(context, setting)
    for rail, found in _by_rail(setting).items():
        far = rail == "far"
        places = [view.point(each.x, each.y) for each in found]
        drawing.line(
            places[0][0] - 3.0, places[0][1], places[-1][0] + 3.0, places[-1][1], weight=4 * THICK, stroke=SOFT
        )
        apart = _apart(context, setting)
        labels = spread([x for x, _ in places], apart, apart / 2, room - apart / 2) if figures else []
        for number, (x, y) in enumerate(places, start=1):
            drawing.rectangle(x - 1.6, y - 1.6, 3.2, 3.2, fill=PAPER, weight=THICK)
            if not figures:
                drawing.text(x, y + (-2.6 if far else 5.8), str(number), anchor="middle", weight=700)
        for support, at, (x, y) in zip(found, labels, places, strict=False):
            edge = _LABEL - 1.0 if far else drawing.height - _LABEL + 1.0
            drawing.polyline([(x, y + (-1.6 if far else 1.6)), (at, edge)], weight=THIN)
            foot = 0.76 * GREAT if far else edge + 0.3 + 0.76 * GREAT
            drawing.text(at, foot, words.number(support.height), size=GREAT, anchor="middle", weight=700)
            packed = f"pack {words.number(support.packing)}"
            drawing.text(at, foot + 4.6, packed, anchor="middle", halo=True)
        side = places[-1][0] + 4.5
        drawing.text(side, places[0][1] + 0.35 * TEXT, f"{rail} rail", weight=600, halo=True)
    zero_x, zero_y = view.point(0.0, 0.0)
    drawing.circle(zero_x, zero_y, 1.3, fill=INK)
    drawing.text(zero_x - 4.5, zero_y + 0.35 * TEXT, "x0 y0", anchor="end", weight=700, halo=True)
    panel = drawing.width - _SIDE + 2.0
    _section(drawing, panel, height - TURN - 1.0 if turned else min(height, 62.0), context, clamping, setting)
    if turned:
        draw_turn(drawing, panel, height - TURN, machine.settings[clamping.number - 2].face, clamping.face)
    return drawing


def _section(
    drawing: Picture, left: float, height: float, context: Context, clamping: Clamping, setting: RailSetting
) -> None:
    """Rails above the finished plane in great type, over a section that is not to scale; 88 mm wide."""
    words = context.words
    figure = words.fine(setting.above_plane)
    drawing.text(left, 0.76 * GREAT, figure, size=GREAT, weight=700, fill=CHOSEN)
    after = left + 0.56 * GREAT * len(figure) + 3.0
    drawing.text(after, 3.6, "rails' tops above", weight=600)
    drawing.text(after, 8.1, "the finished plane", weight=600)
    base, right = height - 4.0, left + 86.0
    lift = 4.0 if clamping.lies_on == "stacks" else 0.0
    rail_top, foot = 16.0, base - lift
    upper = rail_top + 4.0
    # A face that was roughed already is flat, and little stands above the plane.
    flat = clamping.stage == "skim"
    plane = upper + (0.2 if flat else 0.35) * (foot - upper)
    for x in (left + 2.0, right - 9.0):
        drawing.rectangle(x, rail_top, 7.0, base - rail_top, fill=PAPER, weight=THICK)
        drawing.rectangle(x, base - 5.0, 7.0, 5.0, fill=SOFT, weight=MIDDLE)
    drawing.line(left - 1.0, rail_top, right + 1.0, rail_top, weight=MIDDLE, dash="6 1 1 1")
    wood_left, wood_right = left + 22.0, right - 16.0
    top = [(wood_right, upper), (wood_left, upper)]
    if not flat:
        top = [(wood_right, upper + 1.0), (wood_left + 14.0, upper), (wood_left, upper + 1.8)]
    drawing.polygon([(wood_left, foot), (wood_right, foot), *top], fill=WOOD, weight=THICK)
    off = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in [(wood_left, plane), (wood_right, plane), *top]) + "Z"
    drawing.hatch(off, (wood_left, upper, wood_right, plane), step=1.8, stroke=SOFT)
    drawing.line(left + 11.0, plane, wood_right + 3.0, plane, stroke=CHOSEN, weight=THICK, dash="4 1.2")
    at = left + 15.5
    drawing.line(at, plane, at, rail_top, stroke=CHOSEN)
    for y in (plane, rail_top):
        drawing.line(at - 0.9, y + 0.9, at + 0.9, y - 0.9, stroke=CHOSEN)
    if lift:
        for x in (wood_left + 4.0, wood_right - 10.0):
            drawing.rectangle(x, foot, 6.0, lift, fill=PAPER)
    drawing.line(left - 1.0, base, right + 1.0, base, weight=2 * THICK)
    drawing.text((wood_left + wood_right) / 2, foot - 1.4, f"face {clamping.face} up", anchor="middle", weight=600)


def _height_sheets(context: Context, setting: RailSetting, title: str, lead: str) -> list[Sheet]:
    """Heights in great type on cards, where there are too many supports for the plan."""
    words = context.words
    columns = 5
    width = (context.paper.inner_width - (columns - 1) * CARD_GAP) / columns
    cards = []
    for rail, found in sorted(_by_rail(setting).items(), reverse=True):
        for number, each in enumerate(found, start=1):
            card = Picture(width, _CARD_HIGH)
            card.rectangle(0.3, 0.3, width - 0.6, _CARD_HIGH - 0.6)
            card.text(2.5, 5.5, f"{rail} rail, support {number}", weight=600)
            card.text(2.5, 17.0, words.number(each.height), size=GREAT, weight=700)
            card.text(2.5, 23.5, f"pack {words.number(each.packing)}, at x {words.place(each.x)}")
            cards.append(card)
    chunk = max(int((context.paper.inner_height - 12.0) / (_CARD_HIGH + CARD_GAP)), 1) * columns
    return [
        Sheet(f"{title}, rails", lead, [blocks.cards(cards[start : start + chunk], columns, CARD_GAP)], [[]], "wide")
        for start in range(0, len(cards), chunk)
    ]
