"""Thickness against fill with the ways out of a dip, and the filled places."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.chart import thickness_against_fill
from slabwright.sheets.colours import CHOSEN, STOP
from slabwright.sheets.context import Context
from slabwright.sheets.let_in_sheet import let_in_sheet
from slabwright.sheets.picture import GREAT, MIDDLE, TEXT, THICK, Picture, path_of, text_width
from slabwright.sheets.plan_view import View, draw_origin, draw_slab
from slabwright.sheets.pour_words import cut_then, hardens, poured_of, when_poured
from slabwright.sheets.words import Words, plain
from slabwright.slab.patch import Patch

_MOST_ROWS = 11
_WITH_MENDING = 3
_DEFECTS = 6
"""So many filled places go on the map of the mending, beside so many defects."""
_NAMED = 6
_DAM_BEYOND = 30.0
"""How far a dam reaches beyond the fill along the edge [mm]: common practice."""


def fill_choice(context: Context) -> Sheet | None:
    """The chart and the ways out side by side; None where there is nothing to choose."""
    slab, words = context.slab, context.words
    if not slab.patch_front and not slab.ways:
        return None
    left: list[Block] = []
    wide = context.paper.picture_width
    if len(slab.patch_front) > 1 and slab.patch_front[-1].fill_volume > 0:
        left.append(blocks.picture(thickness_against_fill(slab.patch_front, slab.chosen_fill, words, wide, 98.0)))
    if slab.ways:
        rows = [
            [
                way.kind[:1].upper() + way.kind[1:],
                words.number(way.thickness),
                words.least_number(way.thickness_low),
                ("+" if way.gain > 0.005 else "") + words.number(way.gain),
                words.money(way.money),
                words.days(way.days),
                "[tick]" if way.fits else f"No: {way.reason}" if way.reason else "No",
            ]
            for way in slab.ways
        ]
        head = ["Way out", f"Board, {words.unit}", "Sure 19 in 20", "Gain", "Costs", "Waiting", "Fits?"]
        left += [blocks.heading("Ways out of a dip, side by side"), blocks.table(head, "lrrrrrl", rows, wide=(0, 6))]
    chosen = slab.patch_front[slab.chosen_fill] if slab.patch_front else None
    right: list[Block] = []
    if chosen is not None and slab.chosen_fill:
        right += [
            blocks.figures(
                [
                    (
                        words.fine(chosen.thickness),
                        f"board of the readings with {words.fill(chosen.fill_volume)} of fill",
                        True,
                    )
                ]
            ),
            blocks.voice(
                "chosen",
                f"Choice {slab.chosen_fill}: seen on {words.area(chosen.fill_area)}, deepest {words.fine(chosen.deepest)}.",
            ),
        ]
        agrees = context.plan.job.stated.fill.client_agrees
        right.append(
            blocks.voice("go", "The client has agreed to the fill.")
            if agrees
            else blocks.voice(
                "care",
                "The client has not signed for the fill yet."
                if agrees is None
                else "The client does not want the fill.",
            )
        )
    elif chosen is not None:
        right.append(blocks.voice("chosen", "No fill. The board is as thick as the readings give."))
    if notes := [
        f"{way.kind[:1].upper()}{way.kind[1:]}: {way.note[:1].lower()}{way.note[1:].rstrip('.')}."
        for way in slab.ways
        if way.note
    ]:
        right += [blocks.heading("What to know"), *(blocks.text(note) for note in notes)]
    right.append(blocks.heading("To do"))
    right.append(
        blocks.steps(["Choose one way with the client.", "Enter it in the job file and print these sheets again."])
    )
    right.append(blocks.checks(["Way chosen", "Client's sign-off, where fill or let-in wood will be seen"]))
    right.append(blocks.why([(f"choice {slab.chosen_fill}", context.because("slab.chosen_fill"))]))
    return Sheet("Thickness against fill", "Each point: so much fill, so thick a board.", left, [right])


def dam_lines(patch: Patch, outline: Polygon) -> list[LineString]:
    """Where a fill runs out at an edge: the stretch of the outline that wants a dam, somewhat longer than the fill."""
    if not patch.meets_edge:
        return []
    shape: BaseGeometry = outline.exterior.intersection(patch.outline.buffer(_DAM_BEYOND))
    from shapely import line_merge

    shape = line_merge(shape) if shape.geom_type == "MultiLineString" else shape
    return [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, LineString) and part.length > 0]


def with_mending(context: Context) -> bool:
    """Whether the filled places stand on the mending schedule: where they and the defects are few."""
    finish = context.plan.finish
    mends = finish.mending.mends if finish is not None and finish.mending is not None else ()
    wood = context.slab.filled_with == "let in wood"
    return not wood and 0 < len(context.slab.patches) <= _WITH_MENDING and 0 < len(mends) <= _DEFECTS


def draw_patches(drawing: Picture, view: View, patches: Sequence[Patch], outline: Polygon) -> None:
    """Hatch the filled places, with the dams that they want."""
    for patch in patches:
        data = view.data(patch.outline)
        if data:
            x0, y0, x1, y1 = patch.outline.bounds
            corners = np.array([view.point(x0, y0), view.point(x1, y1)])
            low, high = corners.min(axis=0), corners.max(axis=0)
            drawing.path(data, weight=MIDDLE, stroke=CHOSEN, fill="#FFFFFF")
            drawing.hatch(data, (float(low[0]), float(low[1]), float(high[0]), float(high[1])), stroke=CHOSEN)
        for line in dam_lines(patch, outline):
            drawing.path(path_of(view.ring(line.coords)), stroke=STOP, weight=4 * THICK)


def patch_table(context: Context) -> Block:
    """What each filled place takes; those beyond the rows of the table together in the last."""
    slab, words, resin = context.slab, context.words, poured_of(context)
    pours = {place.name.removeprefix("patch "): place.pours for place in resin.places} if resin is not None else {}
    rows = [_patch_row(patch, pours.get(patch.name, patch.pours), words) for patch in slab.patches[:_MOST_ROWS]]
    if more := slab.patches[_MOST_ROWS:]:
        volume = sum(patch.volume for patch in more)
        rows.append(["", f"and {len(more)} smaller", "", "", words.fill(volume), "", ""])
    head = ["", "Middle at x, y", "Seen", "Deepest", "Fill", "Pours", "Dam"]
    return blocks.table(head, "llrrrrl", rows, wide=(1,), pad=3.0)


def patch_steps(context: Context) -> list[str]:
    """How the filled places are got ready for the pour."""
    patches = context.slab.patches
    least = context.words.fine(context.plan.job.stated.fill.least_depth)
    todo = [f"Clean the dip to sound wood; undercut thin edges to the least depth, {least}."]
    if any(patch.hole for patch in patches):
        todo.append("Close the holes from below, and seal the board that closes them.")
    if any(patch.meets_edge for patch in patches):
        todo.append("Set the dams where the drawing has them, and seal them.")
    return todo


def _patch_row(patch: Patch, pours: int, words: Words) -> list[str]:
    return [
        patch.name,
        f"{words.place(patch.x)}, {words.place(patch.y)}",
        words.area(patch.area),
        words.fine(patch.depth),
        words.fill(patch.volume),
        str(pours),
        "below" if patch.hole else "at the edge" if patch.meets_edge else "",
    ]


def draw_names(drawing: Picture, origin: tuple[float, float], names: Sequence[tuple[str, float, float]]) -> None:
    """Write names of places in great type where they do not cover one another, each with a line to its place."""
    high = 0.7 * GREAT
    taken: list[tuple[float, float, float]] = [(origin[0] + 8.0, origin[1], 18.0), (origin[0], origin[1] - 8.0, 6.0)]
    apart = len(taken)
    for name, x, y in names:
        wide = text_width(name, GREAT) * 1.2
        spots = [
            (x + far * dx, y + far * dy)
            for far in (7.0, 12.0, 17.0, 23.0, 30.0)
            for dx, dy in (
                (0.8, -0.6),
                (-0.8, -0.6),
                (0.8, 0.6),
                (-0.8, 0.6),
                (0.0, -1.0),
                (0.0, 1.0),
                (1.0, 0.0),
                (-1.0, 0.0),
            )
        ]
        inside = [
            (a, b) for a, b in spots if wide / 2 < a < drawing.width - wide / 2 and high < b < drawing.height - high / 2
        ]
        clear = [
            (a, b)
            for a, b in inside
            if all(abs(a - c) > (wide + w) / 2 + 0.5 or abs(b - d) > high + 0.8 for c, d, w in taken)
            and all(
                name == other or abs(a - px) > wide / 2 + 1 or abs(b - py) > high / 2 + 1 for other, px, py in names
            )
        ]
        a, b = (clear or inside or spots)[0]
        taken.append((a, b, wide))
        drawing.line(x, y, a, b, stroke=CHOSEN, weight=MIDDLE)
        drawing.circle(x, y, 0.8, fill=CHOSEN, stroke=CHOSEN)
    for (name, _, _), (a, b, _) in zip(names, taken[apart:], strict=True):
        drawing.text(a, b + high / 2, name, size=GREAT, weight=700, anchor="middle", halo=True)


def patch_sheet(context: Context) -> Sheet | None:
    """The filled places with their dams and their epoxy; None where none are filled, or on the mending schedule."""
    slab, words = context.slab, context.words
    if not slab.patches or with_mending(context):
        return None
    face, epoxy = slab.show_face, context.plan.job.shop.epoxy
    outline = context.seated(context.outline(face), face)
    wide = context.paper.picture_width
    drawing = Picture(wide, 84.0)
    view = View.fit(outline.bounds, (4.0, 4.0, wide - 8.0, 74.0), mirrored=face == "B")
    draw_slab(drawing, view, outline)
    draw_patches(drawing, view, slab.patches, outline)
    draw_origin(drawing, view)
    draw_names(drawing, view.point(0.0, 0.0), [(patch.name, *view.point(patch.x, patch.y)) for patch in slab.patches])
    if slab.filled_with == "let in wood":
        return let_in_sheet(context, blocks.picture(drawing))
    if any(patch.meets_edge for patch in slab.patches):
        drawing.line(wide - 40.0, 81.0, wide - 28.0, 81.0, stroke=STOP, weight=4 * THICK)
        drawing.text(wide - 26.0, 81.0 + 0.35 * TEXT, "dam here")
    resin = poured_of(context)
    pours = {place.name.removeprefix("patch "): place.pours for place in resin.places} if resin is not None else {}
    most = max(pours.get(patch.name, patch.pours) for patch in slab.patches)
    apart = f"{resin.between:g}" if resin is not None else f"{epoxy.hours_between_pours:g}"
    todo = [
        *patch_steps(context),
        f"{plain(epoxy.name, 30)}: mix and pour by the mixing cards, one cup at a time.",
    ]
    if most > 1:
        todo.append(f"Pour no deeper than {words.fine(epoxy.greatest_pour)}. Wait {apart} hours between pours.")
    if resin is not None:
        mended = [place.name for place in resin.places if not place.name.startswith("patch ")]
        if mended:
            todo.append(f"Defects are poured in the same go, from the same cups: {', '.join(mended[:_NAMED])}.")
        todo.append(
            f"Wait {resin.before_machining:g} hours after the last pour: {hardens(resin)} from the first batch of all."
        )
        todo += [cut_then(context, again) for again in resin.rerun]
    total = sum(patch.volume for patch in slab.patches)
    waiting = [] if resin is None else [blocks.figures([(hardens(resin), "from the first batch to the cut", False)])]
    return Sheet(
        "Filled places",
        f"Face {face}, poured {when_poured(context)}. {words.fill(total)} to fill.",
        [
            blocks.picture(drawing),
            patch_table(context),
        ],
        [
            [
                *waiting,
                blocks.steps(todo),
                blocks.checks(
                    [
                        "Dams and closed holes sealed all round",
                        "Scale reads grams, set to nought with the cup",
                        "Fill flush or proud, no bubble at the rim",
                    ]
                ),
                blocks.caution("epoxy", "attended"),
            ]
        ],
    )
