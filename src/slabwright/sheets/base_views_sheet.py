"""The base in three views with dimensions, its height stack, and whether the legs can be cut."""

from __future__ import annotations

from slabwright.base.basing import BasePlan
from slabwright.base.height_stack import HeightStack
from slabwright.sheets import blocks
from slabwright.sheets.base_drawing import (
    SIDE_WORDS,
    Seen,
    Side,
    draw_seen,
    outline_of,
    projection_mark,
    seen_from,
    upright,
)
from slabwright.sheets.base_words import problems
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, INK, SOFT, WOOD
from slabwright.sheets.context import Context
from slabwright.sheets.picture import GREAT, MIDDLE, TEXT, THICK, THIN, Picture, path_of
from slabwright.sheets.plan_view import View
from slabwright.sheets.top_words import tape
from slabwright.sheets.words import Words

_STACK = 56.0
"""Height of the drawing of the height stack [mm]."""
_LEFT, _GAP, _RIGHT = 19.0, 17.0, 4.0
_HEAD, _BETWEEN, _BELOW = 6.0, 17.0, 11.0
_ANSWER = {"yes": "Yes", "no": "No"}
_SMALL = 0.05
"""Weight of feet and bolts that is worth a row [kg]."""
_CODES = ("height-off", "legs-not-yet", "legs-long")


def views_sheet(context: Context, plan: BasePlan) -> Sheet:
    """Three views, the height stack, and whether the legs can be cut now."""
    words, paper = context.words, context.paper
    room = paper.inner_height - _STACK - 5.0
    first = context.plan.job.stated.job.first_angle
    drawn: list[Block] = [blocks.picture(three_views(plan, paper.picture_width, room, words, first))]
    if plan.stack is not None:
        drawn.append(blocks.picture(stack_drawing(plan, plan.stack, paper.picture_width, words)))
    lead = f"{plan.kind[:1].upper()}{plan.kind[1:]}, {tape(plan.height.even, words)} high, {words.weight(plan.mass)} of steel."
    return Sheet("The base", lead, drawn, [_text(context, plan)])


def three_views(plan: BasePlan, width: float, most: float, words: Words, first: bool) -> Picture:
    """Front, end and plan to one scale, as first angle or third angle lays them out, with its symbol.

    Args:
        plan: the base
        width: of the drawing [mm]
        most: its greatest height [mm]
        words: how figures are written
        first: whether they lie in first angle
    """
    end: Side = "left" if first else "right"
    front, side, above = seen_from(plan, "front"), seen_from(plan, end), seen_from(plan, "above")
    fx0, fy0, fx1, fy1 = front.bounds
    sx0, _, sx1, _ = side.bounds
    ax0, ay0, ax1, ay1 = above.bounds
    wide, high = max(fx1, ax1) - min(fx0, ax0), fy1 - min(fy0, 0.0)
    scale = min(
        (width - _LEFT - _GAP - _RIGHT) / (wide + sx1 - sx0),
        (most - 2 * _HEAD - _BETWEEN - _BELOW) / (high + ay1 - ay0),
    )
    tall = 2 * _HEAD + _BETWEEN + _BELOW + scale * (high + ay1 - ay0)
    drawing = Picture(width, tall)
    left = _LEFT
    front_top = _HEAD if first else 2 * _HEAD + _BELOW + scale * (ay1 - ay0)
    plan_top = _HEAD + scale * high + _BETWEEN + _HEAD if first else _HEAD
    x0 = min(fx0, ax0)
    at_front = View(left, front_top, scale, x0, 0.0, fy1, False)
    at_end = View(left + scale * wide + _GAP, front_top, scale, sx0, 0.0, fy1, False)
    at_plan = View(left, plan_top, scale, x0, ay0, ay1, False)
    views: list[tuple[View, Seen, Side]] = [(at_front, front, "front"), (at_end, side, end), (at_plan, above, "above")]
    for view, seen, name in views:
        draw_seen(drawing, view, seen)
        drawing.text(view.left, view.top - 2.2, SIDE_WORDS[name], weight=600)
    for view, low, up in ((at_front, fx0, fx1), (at_end, sx0, sx1)):
        _, floor = view.point(0.0, 0.0)
        drawing.line(view.point(low, 0)[0] - 2.0, floor, view.point(up, 0)[0] + 2.0, floor, weight=THICK)
    _front_dimensions(drawing, at_front, plan, front, words)
    _end_dimensions(drawing, at_end, plan, side, words)
    _plan_dimensions(drawing, at_plan, plan, words)
    corner = left + scale * wide + _GAP
    low = plan_top + scale * (ay1 - ay0) - 8.0
    projection_mark(drawing, corner, low, first)
    drawing.text(corner, low - 2.5, f"1 : {1 / scale:.0f}, {'first' if first else 'third'} angle", fill=SOFT)
    return drawing


def _front_dimensions(drawing: Picture, view: View, plan: BasePlan, front: Seen, words: Words) -> None:
    _, floor = view.point(0.0, 0.0)
    left = view.point(front.bounds[0], 0.0)[0]
    upright(drawing, view.point(0, plan.height.even)[1], floor, left - 3.0, tape(plan.height.even, words))
    ends = _ends(plan)
    if len(ends) > 1:
        x1, x2 = view.point(ends[0], 0)[0], view.point(ends[-1], 0)[0]
        for x in (x1, x2):
            drawing.line(x, floor + 1.0, x, floor + 7.6, weight=THIN, dash="3 0.6 0.6 0.6")
        drawing.dimension(x1, x2, floor + 6.6, tape(ends[-1] - ends[0], words))
    if plan.stack is not None:
        low = plan.stack.foot
        inner = view.point(min(ends, default=0.0), 0)[0] + 12.0
        upright(
            drawing, view.point(0, low + plan.stack.leg)[1], view.point(0, low)[1], inner,
            f"leg {tape(plan.stack.leg, words)}", left=False, share=0.25,
        )  # fmt: skip


def _ends(plan: BasePlan) -> list[float]:
    """Where the plates, or else the feet, stand along the top [mm]."""
    places = [plate.x for plate in plan.drawn.plates] or [x for _, _, (x, _) in plan.drawn.feet]
    return sorted({round(place, 3) for place in places})


def _stood(plan: BasePlan, seen: Seen) -> tuple[float, float]:
    """Outer sides of the steel at its widest; a leaning leg is cut level, so that its footprint counts."""
    x0, _, x1, _ = seen.steel.bounds
    if plan.drawn.kind == "trestles" and plan.squareness is not None:
        wide = next((c.nominal for c in plan.squareness.checks if c.measure.startswith("width over all")), None)
        if wide is not None and abs(x1 - x0 - wide) < 2.0:
            return -wide / 2.0, wide / 2.0
    return x0, x1


def _end_dimensions(drawing: Picture, view: View, plan: BasePlan, seen: Seen, words: Words) -> None:
    _, floor = view.point(0.0, 0.0)
    if not seen.steel.is_empty:
        x0, x1 = _stood(plan, seen)
        drawing.dimension(view.point(x0, 0)[0], view.point(x1, 0)[0], floor + 6.6, tape(x1 - x0, words))


def _plan_dimensions(drawing: Picture, view: View, plan: BasePlan, words: Words) -> None:
    outline = outline_of(plan)
    x0, y0, x1, _ = outline.bounds
    left, foot = view.point(x0, y0)
    right, _ = view.point(x1, y0)
    drawing.dimension(left, right, foot + 6.6, tape(x1 - x0, words))
    drawing.line(left - 1.5, view.point(0, 0)[1], right + 1.5, view.point(0, 0)[1], weight=THIN, dash="5 1 1 1")
    if plan.drawn.plates:
        plate = plan.drawn.plates[0]
        top, low = view.point(0, plate.length / 2)[1], view.point(0, -plate.length / 2)[1]
        upright(drawing, top, low, left - 3.0, tape(plate.length, words))
        side, _ = view.point(plate.x + plate.width / 2, 0)
        y = (view.point(0, 0)[1] + low) / 2
        drawing.line(side, y, side + 3.0, y, weight=THIN)
        said = f"plate {tape(plate.width, words)} x {tape(plate.thickness, words)}"
        drawing.text(side + 4.0, y + 1.3, said, halo=True)


def stack_drawing(plan: BasePlan, stack: HeightStack, width: float, words: Words) -> Picture:
    """What adds up to the height, from the floor up; not to scale, but with every figure."""
    drawing = Picture(width, _STACK)
    drawing.text(0.0, 4.0, "Height stack, not to scale", weight=600)
    rows = [
        ("top", stack.top, WOOD, 10.0),
        ("plate", stack.plate, INK, 4.5),
        ("leg", stack.leg, SOFT, 17.0),
        ("foot", stack.foot, INK, 5.5),
    ]
    y, x0, x1 = 8.0, 16.0, 44.0
    for name, figure, ink, high in rows:
        tube = (x0, x1) if name in ("top", "plate") else ((x0 + x1) / 2 - 4.5, (x0 + x1) / 2 + 4.5)
        if name == "foot":
            tube = ((x0 + x1) / 2 - 2.0, (x0 + x1) / 2 + 2.0)
        drawing.rectangle(tube[0], y, tube[1] - tube[0], high, weight=THICK, fill=ink)
        if name == "top":
            corners = [(x0, y), (x1, y), (x1, y + high), (x0, y + high)]
            drawing.hatch(path_of(corners, close=True), (x0, y, x1, y + high), step=1.8, stroke=SOFT)
        middle = y + high / 2 + 0.35 * TEXT
        drawing.text(13.0, middle, name, anchor="end", weight=600)
        said = words.fine(figure)
        if name == "top" and stack.pocket > 0.0:
            said += f" less {words.fine(stack.pocket)} let in"
        drawing.text(47.0, middle, said)
        y += high
    drawing.line(x0 - 8.0, y, x1 + 8.0, y, weight=THICK)
    drawing.text(13.0, y + 5.5, "floor", anchor="end", fill=SOFT)
    beside = 100.0
    drawing.line(beside - 5.0, 8.0, beside - 5.0, y, weight=THIN)
    for tick in (8.0, y):
        drawing.line(beside - 5.9, tick + 0.9, beside - 4.1, tick - 0.9, weight=MIDDLE)
    drawing.text(beside, 18.0, tape(plan.height.even, words), size=GREAT, weight=700, fill=CHOSEN)
    lines = [
        f"asked for {tape(stack.wanted, words)}",
        f"likely {words.fine(plan.height.low)} to {words.fine(plan.height.high)},",
        _known(plan),
        *_travel(stack, words),
    ]
    for k, line in enumerate(lines):
        drawing.text(beside, 25.0 + 4.8 * k, line)
    return drawing


def _known(plan: BasePlan) -> str:
    """What the likely heights rest on."""
    return "the top planned from readings" if plan.structure.top.planned else "the top as made"


def _travel(stack: HeightStack, words: Words) -> list[str]:
    """What the levellers can do, and what is wanted of them; glides do nothing."""
    if stack.travel_up <= 0.0 and stack.travel_down <= 0.0:
        return ["glides or bare feet: nothing to screw out or in"]
    return [
        f"levellers: {words.fine(stack.travel_up)} out, {words.fine(stack.travel_down)} in",
        f"needed: {words.fine(stack.travel_up_needed)} out, {words.fine(stack.travel_down_needed)} in",
    ]


def answer(stack: HeightStack, words: Words) -> str:
    """Whether the legs can be cut now, in great type."""
    if stack.safe_to_cut == "cut long":
        return f"{tape(stack.cut_long, words)} long" if stack.cut_long > 0.0 else "As drawn"
    return _ANSWER[stack.safe_to_cut]


def _steps(stack: HeightStack | None, words: Words) -> list[str]:
    screwed = stack is None or stack.travel_up > 0.0 or stack.travel_down > 0.0
    last = f"{'Levellers in their middle, on' if screwed else 'On'} a flat floor: both ends stand equally high."
    if stack is None:
        return ["Cut and weld the frame as stated: the cut list has every length.", last]
    first = {
        "yes": f"Cut the legs to stand {tape(stack.leg, words)} from the foot's seat to the plate's underside.",
        "no": "Read the slab first. Do not cut the legs yet; the other steel can be cut.",
        "cut long": f"Cut the legs {answer(stack, words).lower()}; trim them when the top is made and measured.",
    }[stack.safe_to_cut]
    return [first, "State legs and plates as made ([base] leg_as_made, plate_as_made) and print again.", last]


def _text(context: Context, plan: BasePlan) -> list[Block]:
    words, stack = context.words, plan.stack
    found: list[Block] = []
    if stack is not None:
        found.append(blocks.figures([(answer(stack, words), "Safe to cut the legs now?", True)]))
        found += problems(context, _CODES, 2)
    found.append(blocks.steps(_steps(stack, words)))
    found.append(_weights(context, plan))
    if stack is not None:
        found.append(blocks.checks(["Leg as cut: ________", "Plates as bought: ________"]))
    found.append(blocks.caution("lifting the base"))
    return found


def _weights(context: Context, plan: BasePlan) -> Block:
    """What the parts weigh; top and piece as they are lifted, where that is worked out: less pockets, as moist as read."""
    words, carry = context.words, context.plan.carry
    rows = [("Tubes", words.weight(plan.tube_mass)), ("Plates", words.weight(plan.plate_mass))]
    top = carry.state("top") if carry is not None else None
    piece = carry.state("finished piece") if carry is not None else None
    if top is None or piece is None:
        rows += [("Top", words.weight(plan.top_mass)), ("Together", words.weight(plan.mass + plan.top_mass))]
    else:
        rows.append(("Top", words.weight(top.mass)))
        small = piece.mass - top.mass - plan.mass
        if small >= _SMALL:
            rows.append(("Feet, bolts", words.weight(small)))
        rows.append(("Together", words.weight(piece.mass)))
    finish = context.plan.finish
    rows.append(("Paint", words.area(finish.areas.steel if finish is not None else plan.paint_area)))
    return blocks.table(["Weight", ""], "lr", rows, chosen=[len(rows) - 2], pad=2.4)
