"""The dips that take wood in place of epoxy: where each piece goes, how large its recess is, and how it is let in."""

from __future__ import annotations

from slabwright.sheets import blocks
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context

_ROWS = 11


def let_in_sheet(context: Context, drawn: blocks.Block) -> Sheet | None:
    """The pieces that are let into the show face; None where there are none.

    Args:
        context: of the job
        drawn: the face with its dips
    """
    mending = context.plan.finish.mending if context.plan.finish is not None else None
    if mending is None or not mending.let_in:
        return None
    words, pieces = context.words, mending.let_in
    rows = [
        [
            piece.name.removeprefix("patch "),
            f"{words.place(piece.x)}, {words.place(piece.y)}",
            f"{words.place(piece.length)} x {words.place(piece.width)}",
            words.fine(piece.depth),
            f"{piece.hours:g} h",
        ]
        for piece in pieces[:_ROWS]
    ]
    if more := pieces[_ROWS:]:
        rows.append(["", f"and {len(more)} smaller", "", "", f"{sum(piece.hours for piece in more):g} h"])
    steps = [
        "Saw the pieces from the slab's own offcut: grain along, colour and rings as about the dip; dry as the slab.",
        "Cut each recess over all of its dip, walls upright, its floor flat and at its depth.",
        "Fit the piece tight, leave it proud of the face by a saw's kerf.",
        "Glue floor and walls, weigh or clamp it down; a day until it is cut.",
        "It is cut flush with the face: the last passes light, across the joint.",
    ]
    checks = ["Grain and colour turned as about the dip", "No gap at the rim, glue all round", "Glued for a day"]
    count = f"{len(pieces)} piece{'s' if len(pieces) != 1 else ''}"
    return Sheet(
        "Wood let in",
        f"Face {context.slab.show_face}, {mending.when}. {count}, glued in, in place of epoxy.",
        [
            drawn,
            blocks.table(["", "Middle at x, y", "Size of the dip", "Deep", "Work"], "lllrr", rows, wide=(1,), pad=3.0),
        ],
        [
            [
                blocks.steps(steps),
                blocks.checks(checks),
                blocks.why([("let-in wood", context.because("slab.filled_with"))]),
            ]
        ],
    )
