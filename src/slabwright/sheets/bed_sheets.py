"""Set-up and shims: the sheets for laying the slab on the bed."""

from __future__ import annotations

from math import ceil

from shapely import box

from slabwright.sheets import blocks
from slabwright.sheets.bed_layout import bed_rectangle
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.context import Context, other, seen
from slabwright.sheets.picture import GREAT, MIDDLE, TEXT, THICK, THIN, Picture, text_width
from slabwright.sheets.plan_view import View, draw_origin, draw_slab, joined_bounds
from slabwright.sheets.stack_card import card_height, drawing_scale, name_text, stack_card
from slabwright.sheets.words import Words
from slabwright.slab.shims import ShimPlan

_WIDE_PICTURE = 98.0
_GAP = 4.0
_CARD = 74.0


def _tilts(drawing: Picture, context: Context, left: float) -> None:
    """How the stacks turn the slab from where it lay when it was read: from the x = 0 end, and from the side, exaggerated."""
    seat, turn = context.slab.seat, context.turn
    ends = (
        ("Seen from the x = 0 end", "y", turn * seat.tilt_x, -turn),
        (
            "Seen from the side of small y" if turn > 0 else "Seen from the side of great y",
            "x",
            turn * seat.tilt_y,
            1.0,
        ),
    )
    for row, (title, axis, degrees, right) in enumerate(ends):
        top = 4.0 + row * 0.5 * drawing.height
        middle, level = left + 34.0, top + 21.0
        drawing.text(left, top, title, weight=600)
        drawing.line(left, level + 12.0, left + 70.0, level + 12.0, weight=THICK)
        drop = 0.0 if abs(degrees) < 0.005 else (4.5 if degrees > 0 else -4.5) * right
        corners = [(-17.0, -3.5 - drop), (17.0, -3.5 + drop), (17.0, 3.5 + drop), (-17.0, 3.5 - drop)]
        drawing.polygon([(middle + x, level + y) for x, y in corners], fill=WOOD, weight=THICK)
        drawing.line(middle - 17.0, level, middle + 17.0, level, weight=THIN, dash="2 1")
        drawing.text(middle, level - 8.5, f"{abs(degrees):.2f}°", anchor="middle", weight=600)
        anchor = "start" if right > 0 else "end"
        drawing.text(middle + 19.0 * right, level + 1.0, f"greater {axis}", anchor=anchor, halo=True)


def set_up(context: Context) -> Sheet:
    """Which face up, which end where, what lies under it."""
    slab, words = context.slab, context.words
    first = slab.first_face
    outline = context.lying_outline
    bed = box(*bed_rectangle(context))
    drawing = Picture(context.paper.inner_width, _WIDE_PICTURE)
    bounds = joined_bounds([outline, bed])
    view = View.fit(bounds, (0.5, 7.0, drawing.width - 78.0, drawing.height - 9.0), mirrored=first == "B")
    _tilts(drawing, context, drawing.width - 70.0)
    drawing.path(view.data(bed), weight=MIDDLE, stroke=SOFT)
    draw_slab(drawing, view, outline, context.lying_region)
    for stack in slab.shims.stacks if slab.shims else ():
        x, y = view.point(*context.place(stack))
        radius = max(view.scale * context.plan.job.shop.bed.pad_diameter / 2, 1.6)
        drawing.circle(x, y, radius, fill=INK if stack.carries else PAPER, weight=MIDDLE)
        drawing.text(x + radius + 1.0, y + 0.35 * TEXT, stack.name, weight=600, halo=True)
    x0, y0, x1, y1 = outline.bounds
    left, _ = view.point(x0, y0)
    right, _ = view.point(x1, y1)
    middle = view.point((x0 + x1) / 2, (y0 + y1) / 2)
    drawing.dimension(left, right, 5.0, words.place(x1 - x0))
    drawing.text(
        middle[0], middle[1] + 0.35 * GREAT, f"Face {first} up", size=GREAT, anchor="middle", weight=700, halo=True
    )
    _, quarter = view.point(x0, y0 + 0.27 * (y1 - y0))
    drawing.text(left + 3.0, quarter + 0.35 * TEXT, "x = 0 end", weight=600, halo=True)
    drawing.text(right - 3.0, quarter + 0.35 * TEXT, "far end", anchor="end", weight=600, halo=True)
    draw_origin(drawing, view)
    down = slab.shims.down_face if slab.shims else other(first)
    todo = [
        "Write A and B on the two faces, and the arrow of x on both, from the x = 0 end.",
        f"Lay the slab with face {first} up and face {down or other(first)} on the stacks; the x = 0 end as drawn.",
        "Mark the places of the stacks on the bed from x = 0, y = 0, along and across.",
        "Build the stacks of the next sheets. Set down the ones that carry first (filled circles).",
        "Lower the slab. Slide in the other stacks and wedges by hand: they touch, they do not lift.",
        "Fix it against sliding, clear of every move of the cutter.",
    ]
    weight = context.weight
    told = (
        "Weight not known: the species has no density in the table."
        if weight is None
        else f"Weight about {words.weight(weight)}, about {words.weight(weight / 2)} at each end."
    )
    boxes = [
        "Nothing rocks under a hand at each corner",
        "Z zero set; the highest spot found with the spindle off",
        "Clamps and wedges outside every move",
    ]
    return Sheet(
        "Set-up",
        seen(first) + ".",
        [blocks.picture(drawing)],
        [
            [blocks.steps(todo)],
            [
                blocks.heading("Tick before cutting"),
                blocks.checks(boxes),
                blocks.text(
                    "Dashed: what comes out flat. Filled circles carry. The bed is drawn around the slab's middle. "
                    "At the right: how the stacks turn the slab from where it lay when it was read (dashed), steeper than it is."
                ),
            ],
            [blocks.text(told), blocks.caution("handling", "surfacing")],
        ],
        "wide",
    )


def _room_for_heights(shims: ShimPlan, places: list[tuple[float, float]], words: Words) -> tuple[bool, bool]:
    """Whether every stack's height fits beside its letter, and whether below it."""
    widest = max(text_width(words.shim(stack.height), GREAT) for stack in shims.stacks)

    def clear(wide: float, high: float) -> bool:
        pairs = ((a, b) for i, a in enumerate(places) for b in places[:i])
        return all(abs(a[0] - b[0]) >= wide or abs(a[1] - b[1]) >= high for a, b in pairs)

    return clear(widest + 17.0, 14.0), clear(widest + 2.0, 24.0)


def _map_drawing(context: Context, shims: ShimPlan) -> Picture:
    """The stacks in plan, each with its letter and, where there is room, its height in great type."""
    words = context.words
    first = context.slab.first_face
    outline = context.lying_outline
    drawing = Picture(context.paper.inner_width, _WIDE_PICTURE)
    view = View.fit(outline.bounds, (4.0, 4.0, drawing.width - 8.0, drawing.height - 8.0), mirrored=first == "B")
    draw_slab(drawing, view, outline)
    places = [view.point(*context.place(stack)) for stack in shims.stacks]
    beside, below = _room_for_heights(shims, places, words)
    carrying = [place for stack, place in zip(shims.stacks, places, strict=True) if stack.carries]
    if len(carrying) == 3:
        drawing.polygon(carrying, stroke=CHOSEN, weight=MIDDLE, dash="2.5 1.2")
    for stack, (x, y) in zip(shims.stacks, places, strict=True):
        drawing.circle(x, y, 6.4, fill=INK if stack.carries else PAPER, weight=THICK)
        ink = PAPER if stack.carries else INK
        drawing.text(x, y + 0.35 * GREAT, stack.name, size=GREAT, anchor="middle", weight=600, fill=ink)
        height = words.shim(stack.height)
        if beside:
            right = x + 8.0 + text_width(height, GREAT) < drawing.width - 4.0
            drawing.text(x + (8.0 if right else -8.0), y + 0.35 * GREAT, height, size=GREAT,
                         anchor="start" if right else "end", weight=700, halo=True)  # fmt: skip
        elif below:
            foot = y + 6.6 + 0.8 * GREAT if y < drawing.height / 2 else y - 8.2
            drawing.text(x, foot, height, size=GREAT, anchor="middle", weight=700, halo=True)
    draw_origin(drawing, view)
    return drawing


def _cost(loss: float, words: Words) -> str:
    if abs(loss) < 0.005:
        return "nothing"
    return f"gains {words.finer(-loss)}" if loss < -0.005 else words.finer(loss)


def shim_sheets(context: Context) -> list[Sheet]:
    """The shim map, then every stack drawn large; none where nothing is shimmed."""
    shims, words = context.slab.shims, context.words
    if shims is None or not shims.stacks:
        return []
    rows = [
        [stack.name, _cost(stack.loss_too_high, words), _cost(stack.loss_too_low, words)]
        for stack in shims.stacks
        if stack.carries
    ]
    tenth = words.finer(0.1)
    steps = (
        "Stacks come in steps: here that costs nothing."
        if shims.loss < 0.005
        else f"Stacks come in steps: that costs {words.finer(shims.loss)} of thickness; none of these shims cost less "
        f"than {words.finer(shims.bound)}."
    )
    facts = [steps, f"Sag between the stacks that carry: {words.finer(shims.sag)}."]
    if unread := [stack.name for stack in shims.stacks if not stack.read]:
        facts.append(f"No reading over {', '.join(unread)}: measure these gaps with a feeler.")
    if shims.raised:
        facts.append(
            f"The whole slab is raised {words.fine(shims.raised)} above the bed, so that every stack has room."
        )
    sheets = [
        Sheet(
            "Shim map",
            f"{seen(context.slab.first_face)}. Figures in {words.unit_word}.",
            [blocks.picture(_map_drawing(context, shims))],
            [
                [
                    blocks.steps(
                        [
                            "Build every stack as drawn on the next sheet. Wipe each shim: a chip counts.",
                            "Set down the filled ones; the slab stands on these.",
                            "Lower the slab. Wedge the others by hand until they just bite. They must not lift.",
                        ]
                    ),
                    blocks.checks(
                        ["Each stack measured with callipers", "Slab touches all that carry: no paper slides out"]
                    ),
                ],
                [
                    blocks.heading(f"What {tenth} amiss costs"),
                    blocks.table(["Stack", "Too high", "Too low"], "lrr", rows, pad=2.6),
                ],
                [
                    *(blocks.text(fact) for fact in facts),
                    blocks.voice("go", f"It takes {shims.tip_margin:.0f} N more than the cutter's push to tip it.")
                    if shims.tip_margin >= 0
                    else blocks.voice("stop", f"The cutter's push can tip it: {-shims.tip_margin:.0f} N too much."),
                    blocks.caution("handling"),
                ],
            ],
            "wide",
        )
    ]
    room = context.paper.inner_height - 14.0
    height = min(max(card_height(shims.stacks), 60.0), room)
    down = max(int((room + _GAP) // (height + _GAP)), 1)
    height = min((room - (down - 1) * _GAP) / down, max(height, _CARD))
    across = 4
    width = (context.paper.inner_width - (across - 1) * _GAP) / across
    scale = drawing_scale(shims.stacks, height)
    each = across * down
    parts = ceil(len(shims.stacks) / each)
    for part in range(parts):
        some = shims.stacks[part * each : (part + 1) * each]
        drawings = [stack_card(stack, context.place(stack), words, scale, width, height) for stack in some]
        title = "Stacks" if parts == 1 else f"Stacks {some[0].name} to {some[-1].name}"
        foot: list[Block] = [
            blocks.text(
                f"Figures in {words.unit_word}; the whole stack at the upper right, its pieces below. "
                f"Drawn from the side at {name_text(scale)}. "
                "Filled letter, thick frame: carries the slab."
            )
        ]
        sheets.append(
            Sheet(title, "To be read from two metres", [blocks.cards(drawings, across, _GAP)], [foot], "wide")
        )
    return sheets
