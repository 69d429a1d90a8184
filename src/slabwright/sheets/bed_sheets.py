"""Set-up and shims: the sheets for laying the slab on the bed."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

import numpy as np
from shapely import box

from slabwright.geometry.faces import as_scatter, other
from slabwright.machine.lying import lying_on_stacks
from slabwright.sheets import blocks
from slabwright.sheets.bed_layout import bed_rectangle
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.context import Context, seen
from slabwright.sheets.picture import GREAT, MIDDLE, TEXT, THICK, THIN, Picture, text_width
from slabwright.sheets.plan_view import (
    View,
    draw_origin,
    draw_slab,
    joined_bounds,
    near_origin,
    origin_places,
    with_origin,
)
from slabwright.sheets.stack_card import card_height, card_width, drawing_scale, name_text, stack_card
from slabwright.sheets.words import Words
from slabwright.slab.shim_results import ShimPlan, Stack

_WIDE_PICTURE = 98.0
_GAP = 4.0
_CARD = 74.0
_ENDS_AT = (0.27, 0.35, 0.65, 0.73, 0.4, 0.6, 0.3, 0.7, 0.5)
"""Shares of the width at which the ends' words may stand."""
_ACROSS, _ACROSS_OF_FEW = 4, 2


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
    stacks = slab.shims.stacks if slab.shims else ()
    places = [view.point(*context.place(stack)) for stack in stacks]
    slab_right = view.page_box(context.lying_region)[2]
    for stack, (x, y) in zip(stacks, places, strict=True):
        radius = max(view.scale * context.plan.job.shop.bed.pad_diameter / 2, 1.6)
        drawing.circle(x, y, radius, fill=INK if stack.carries else PAPER, weight=MIDDLE)
        aside = radius + 1.0 if x + radius + 6.0 < slab_right else -radius - 1.0
        drawing.text(
            x + aside, y + 0.35 * TEXT, stack.name, weight=600, halo=True, anchor="start" if aside > 0 else "end"
        )
    x0, y0, x1, y1 = outline.bounds
    left, _ = view.point(x0, y0)
    right, _ = view.point(x1, y1)
    middle = view.point((x0 + x1) / 2, (y0 + y1) / 2)
    drawing.dimension(left, right, 5.0, words.place(x1 - x0))
    drawing.text(
        middle[0], middle[1] + 0.35 * GREAT, f"Face {first} up", size=GREAT, anchor="middle", weight=700, halo=True
    )
    covered = [*places, *((x + 4.0, y) for x, y in places), *origin_places(view)]
    for said, x, anchor in (("x = 0 end", left + 3.0, "start"), ("far end", right - 3.0, "end")):
        wide = text_width(said) * (1.0 if anchor == "start" else -1.0)
        heights = [view.point(x0, y0 + share * (y1 - y0))[1] for share in _ENDS_AT]
        clear = [y for y in heights if all(abs(x + wide / 2 - a) > 11.0 or abs(y - b) > 4.5 for a, b in covered)]
        drawing.text(x, (clear or heights)[0] + 0.35 * TEXT, said, anchor=anchor, weight=600, halo=True)
    draw_origin(drawing, view, near_origin(view, places, outline))
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
        "Weight not known."
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
            [
                *([blocks.text(context.usual)] if context.usual else []),
                blocks.text(told),
                blocks.caution("handling", "surfacing"),
            ],
        ],
        "wide",
    )


def height_places(
    names: Sequence[tuple[float, float]], widths: Sequence[float], edges: tuple[float, float, float, float]
) -> list[tuple[float, float] | None]:
    """Where the height of each stack stands on the shim map: beside, below or above its letter, on the slab, clear of all.

    Args:
        names: page places of the letters
        widths: of each height in great type [mm]
        edges: of the slab on the page: x0, y0, x1, y1 [mm]

    Returns:
        The middle of each figure; None where there is no room.
    """
    high, letter = 0.75 * GREAT, 7.0
    taken = [(x, y, 2 * letter, 2 * letter) for x, y in names]

    def clear(index: int) -> list[tuple[float, float]]:
        (x, y), wide = names[index], widths[index]
        aside, over = letter + 1.0 + wide / 2, letter + 0.5 + high / 2
        spots = [(x + aside, y), (x - aside, y), (x, y + over), (x, y - over)]
        return [
            (a, b)
            for a, b in spots
            if a - wide / 2 > edges[0] + 1.0
            and a + wide / 2 < edges[2] - 1.0
            and b - high / 2 > edges[1] + 0.8
            and b + high / 2 < edges[3] - 0.8
            and all(
                abs(a - c) >= (wide + w) / 2 + 0.4 or abs(b - d) >= (high + h) / 2
                for c, d, w, h in taken
                if (c, d) != (x, y)
            )
        ]

    found: list[tuple[float, float] | None] = [None] * len(names)
    # Those with the least choice first.
    for index in sorted(range(len(names)), key=lambda k: len(clear(k))):
        if spots := clear(index):
            found[index] = spots[0]
            taken.append((*spots[0], widths[index], high))
    return found


def _map_drawing(context: Context, shims: ShimPlan) -> Picture:
    """The stacks in plan, each with its letter and, where there is room, its height in great type."""
    words = context.words
    first = context.slab.first_face
    outline = context.lying_outline
    drawing = Picture(context.paper.inner_width, _WIDE_PICTURE)
    room = (4.0, 4.0, drawing.width - 8.0, drawing.height - 8.0)
    view = View.fit(outline.bounds, room, mirrored=first == "B")
    if beside := near_origin(view, [view.point(*context.place(stack)) for stack in shims.stacks], outline):
        view = View.fit(outline.bounds, with_origin(*room, first), mirrored=first == "B")
    draw_slab(drawing, view, outline)
    places = [view.point(*context.place(stack)) for stack in shims.stacks]
    carrying = [place for stack, place in zip(shims.stacks, places, strict=True) if stack.carries]
    if len(carrying) == 3:
        drawing.polygon(carrying, stroke=CHOSEN, weight=MIDDLE, dash="2.5 1.2")
    heights = [words.shim(stack.height) for stack in shims.stacks]
    wide = [text_width(height, GREAT) for height in heights]
    spots = height_places(places, wide, view.page_box(outline))
    for stack, (x, y), height, spot in zip(shims.stacks, places, heights, spots, strict=True):
        drawing.circle(x, y, 6.4, fill=INK if stack.carries else PAPER, weight=THICK)
        ink = PAPER if stack.carries else INK
        drawing.text(x, y + 0.35 * GREAT, stack.name, size=GREAT, anchor="middle", weight=600, fill=ink)
        if spot is not None:
            drawing.text(spot[0], spot[1] + 0.35 * GREAT, height, size=GREAT, anchor="middle", weight=700, halo=True)
    draw_origin(drawing, view, beside)
    return drawing


def _cost(loss: float, words: Words) -> str:
    if abs(loss) < 0.005:
        return "nothing"
    return f"gains {words.finer(-loss)}" if loss < -0.005 else words.finer(loss)


def _listed(stacks: Sequence[Stack]) -> str:
    return ", ".join(stack.name for stack in stacks)


def _far_off(stacks: Sequence[Stack]) -> float:
    """By how much the worst of some stacks may be off: twice its gap's standard error [mm]."""
    return 2.0 * max(stack.gap_error for stack in stacks)


def _by_the_top(context: Context, shims: ShimPlan, blind: Sequence[Stack]) -> list[Block]:
    """Stacks that carry where nothing was read: the slab is levelled by readings of the face that is up."""
    words, face = context.words, context.faces[0]
    rows = context.heights(face)
    lying = lying_on_stacks(context.slab)
    survey = context.slab.survey
    read = as_scatter(survey.all_a if face == "A" else survey.all_b)
    heights = lying.to_machine(np.column_stack([read.x, read.y, read.z]))[:, 2]
    table = []
    for stack in shims.stacks:
        if stack.carries:
            nearest = int(np.argmin(np.hypot(rows[:, 0] - stack.x, rows[:, 1] - stack.y)))
            x, y, _ = rows[nearest]
            table.append(
                [stack.name, words.place(float(x)), words.place(float(y)), words.fine(float(heights[nearest]))]
            )
    told = (
        f"{_listed(blind)}: nothing was measured there, the stacks may be {words.fine(_far_off(blind))} off. "
        f"Level the slab by its top: change these stacks until face {face} stands so high above the bed."
    )
    return [
        blocks.voice("care", told),
        blocks.table(["Near", "Touch at x", "y", "Above the bed"], "lrrr", table, pad=2.2),
    ]


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
    if free := [stack for stack in shims.stacks if not stack.read and not stack.carries]:
        facts.append(
            f"No reading over {_listed(free)}: these may be {words.fine(_far_off(free))} off. "
            "Build them, then measure what is left with a feeler."
        )
    blind = [stack for stack in shims.stacks if not stack.read and stack.carries]
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
                    *(_by_the_top(context, shims, blind) if blind else []),
                ],
                [
                    *(blocks.text(fact) for fact in facts),
                    blocks.voice(
                        "go", f"It takes {words.force(shims.tip_margin)} more than the cutter's push to tip it."
                    )
                    if shims.tip_margin >= 0
                    else blocks.voice(
                        "stop", f"The cutter's push can tip it: {words.force(-shims.tip_margin)} too much."
                    ),
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
    wide = context.paper.inner_width
    most = max(min(int((wide + _GAP) // (card_width(shims.stacks, words) + _GAP)), _ACROSS), 1)
    parts = ceil(len(shims.stacks) / (most * down))
    # As many on each sheet; and where that leaves room across, wider.
    across = min(ceil(ceil(len(shims.stacks) / parts) / down), most)
    across = max(across, min(most, _ACROSS_OF_FEW))
    each = across * down
    width = (wide - (across - 1) * _GAP) / across
    scale = drawing_scale(shims.stacks, height)
    for part in range(parts):
        some = shims.stacks[part * each : (part + 1) * each]
        drawings = [stack_card(stack, context.place(stack), words, scale, width, height) for stack in some]
        title = "Stacks" if parts == 1 else f"Stacks {some[0].name} to {some[-1].name}"
        foot: list[Block] = [
            blocks.text(
                f"Figures in {words.unit_word}; the whole stack at the upper right, its pieces below. "
                f"Drawn from the side at {name_text(scale)}. "
                "Filled letter, thick frame: carries the slab."
                + (
                    ""
                    if all(stack.read for stack in some)
                    else " Unread: nothing was measured there, see the shim map."
                )
            )
        ]
        sheets.append(
            Sheet(
                title,
                f"To be read from {words.reading_distance}",
                [blocks.cards(drawings, across, _GAP)],
                [foot],
                "wide",
            )
        )
    return sheets
