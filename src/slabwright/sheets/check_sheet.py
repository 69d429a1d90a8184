"""The last sheet: what to check while working, with boxes to write in."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot

from slabwright.sheets import blocks
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.chart import PLANNED_APART
from slabwright.sheets.colours import CHOSEN, INK, PAPER
from slabwright.sheets.context import Context
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, Picture
from slabwright.sheets.plan_view import View, draw_origin, draw_slab


def _entered(context: Context, kind: str) -> list[str]:
    """Boxes of one kind of check: what the job holds of it, the last word of each face and stage."""
    found = {(c.face, c.after): c.value for c in context.plan.job.stated.checks if c.kind == kind}
    return [
        "[write]" + (context.words.number(found[face, after], 2) if (face, after) in found else "")
        for face in context.faces
        for after in ("rough", "skim")
    ]


def _thicknesses(context: Context, places: Sequence[tuple[float, float]]) -> list[str]:
    """Boxes of the thickness at each place, and of the least, with what the job holds of it after the skim."""
    words = context.words
    measured = [c for c in context.plan.job.stated.checks if c.kind == "thickness" and c.after == "skim"]
    found: dict[int, float] = {}
    for check in measured:
        if check.at is not None:
            apart = [hypot(check.at[0] - x, check.at[1] - y) for x, y in places]
            nearest = min(range(len(places)), key=apart.__getitem__)
            found[nearest] = min(check.value, found.get(nearest, check.value))
    boxes = ["[write]" + (words.number(found[k], 2) if k in found else "") for k in range(len(places))]
    return [*boxes, "[write]" + (words.number(min(c.value for c in measured), 2) if measured else "")]


def _board(context: Context) -> tuple[str, str, bool]:
    """The great figure of the sheet: the board as planned, or as checks have it."""
    board, words = context.plan.board, context.words
    if board is not None and board.basis == "as made":
        return words.fine(board.thickness), "made, measured", True
    if board is not None and board.found > 0 and board.thickness_low < context.slab.seat.target - PLANNED_APART:
        return words.least(board.thickness_low), "sanded, sure after the checks", True
    return words.fine(context.slab.seat.target), "sanded, at least", True


def check_sheet(context: Context) -> Sheet:
    """Straightedge, winding sticks and thickness at five places."""
    slab, words, paper = context.slab, context.words, context.paper
    face = slab.first_face
    region = context.region(face)
    wide = paper.picture_width
    drawing = Picture(wide, 72.0)
    view = View.fit(context.outline(face).bounds, (3.0, 2.0, wide - 6.0, 68.0), mirrored=face == "B")
    draw_slab(drawing, view, context.outline(face), region)
    x0, y0, x1, y1 = region.bounds
    inset_x, inset_y = 0.06 * (x1 - x0), 0.12 * (y1 - y0)
    corners = [
        (x0 + inset_x, y0 + inset_y),
        (x1 - inset_x, y0 + inset_y),
        (x0 + inset_x, y1 - inset_y),
        (x1 - inset_x, y1 - inset_y),
    ]
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    grain = 10.0 if words.metric else 0.5 * 25.4
    *corners, middle = [(grain * round(x / grain), grain * round(y / grain)) for x, y in (*corners, middle)]
    for a, b in ((corners[0], corners[3]), (corners[1], corners[2])):
        drawing.line(*view.point(*a), *view.point(*b), stroke=CHOSEN, weight=MIDDLE, dash="5 1 1 1")
    for a, b in ((corners[0], corners[2]), (corners[1], corners[3])):
        drawing.line(*view.point(*a), *view.point(*b), stroke=INK, weight=3 * THICK)
    places = [*corners, middle]
    for number, (x, y) in enumerate(places, start=1):
        px, py = view.point(x, y)
        drawing.circle(px, py, 3.4, fill=PAPER, weight=MIDDLE)
        drawing.text(px, py + 0.35 * TEXT, str(number), anchor="middle", weight=600)
    draw_origin(drawing, view)
    first, second = context.faces
    table = blocks.table(
        ["What", f"Face {first} rough", f"Face {first} skim", f"Face {second} rough", f"Face {second} skim"],
        "lcccc",
        [
            ["Straightedge 1–4 and 2–3, widest gap", *_entered(context, "straightedge")],
            ["Winding sticks, wind over the length", *_entered(context, "winding sticks")],
        ],
        wide=range(1, 5),
        pad=2.5,
    )
    measured = _thicknesses(context, places)
    as_made = context.plan.job.stated.as_made
    sanded = "[write]" + (words.number(as_made.thickness, 2) if as_made and as_made.thickness else "")
    thickness = blocks.table(
        ["Thickness at", *(f"{k}" for k in range(1, 6)), "Least"],
        "lcccccc",
        [["After both faces", *measured], ["After sanding", *["[write]"] * 5, sanded]],
        wide=range(1, 7),
        pad=2.5,
    )
    rows = [[str(k), words.place(x), words.place(y)] for k, (x, y) in enumerate(places, start=1)]
    return Sheet(
        "Checks while working",
        f"Write figures in {words.unit_word}. Enter them in the job file and the plan follows.",
        [blocks.picture(drawing), table, thickness],
        [
            [
                blocks.figures(
                    [
                        (words.fine(slab.seat.planes.thickness), "as cut, before sanding", False),
                        _board(context),
                    ]
                ),
                blocks.steps(
                    [
                        "After each face: straightedge corner to corner (chain lines), feeler at the widest gap.",
                        "Winding sticks on the two thick bars; sight the far one over the near one.",
                        "After the second face: callipers at the five places.",
                    ]
                ),
                blocks.table(["Place", "x", "y"], "lrr", rows, pad=2.4),
                blocks.checks(["Metal detector over the fresh face", "Moisture read again on the fresh face"]),
                blocks.caution("machine", "handling"),
            ]
        ],
    )
