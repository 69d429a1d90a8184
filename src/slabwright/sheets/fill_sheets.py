"""Thickness against fill with the ways out of a dip, and the filled places."""

from __future__ import annotations

from math import ceil

import numpy as np
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.job.models import Epoxy
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.chart import thickness_against_fill
from slabwright.sheets.colours import CHOSEN, STOP
from slabwright.sheets.context import Context
from slabwright.sheets.picture import GREAT, MIDDLE, TEXT, THICK, Picture, path_of
from slabwright.sheets.plan_view import View, draw_origin, draw_slab
from slabwright.slab.patch import Patch

_DAM_BEYOND = 30.0
"""How far a dam reaches beyond the fill along the edge [mm]: common practice."""


def fill_choice(context: Context) -> Sheet | None:
    """The chart and the ways out side by side; None where there is nothing to choose."""
    slab, words = context.slab, context.words
    if not slab.patch_front and not slab.ways:
        return None
    left: list[Block] = []
    wide = context.paper.picture_width
    if len(slab.patch_front) > 1:
        left.append(blocks.picture(thickness_against_fill(slab.patch_front, slab.chosen_fill, words, wide, 84.0)))
    if slab.ways:
        rows = [
            [
                way.kind[:1].upper() + way.kind[1:],
                words.number(way.thickness),
                words.number(way.thickness_low),
                ("+" if way.gain > 0.005 else "") + words.number(way.gain),
                words.money(way.money),
                words.days(way.days),
                "[tick]" if way.fits else "No",
            ]
            for way in slab.ways
        ]
        head = ["Way out", f"Board, {words.unit}", "Sure 19 in 20", "Gain", "Costs", "Waiting", "Fits?"]
        left += [blocks.heading("Ways out of a dip, side by side"), blocks.table(head, "lrrrrrl", rows, wide=(0,))]
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
                f"Fill {slab.chosen_fill}: seen on {words.area(chosen.fill_area)}, deepest {words.fine(chosen.deepest)}.",
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
    if notes := [f"{way.kind[:1].upper()}{way.kind[1:]}: {way.note}." for way in slab.ways if way.note]:
        right += [blocks.heading("What to know"), *(blocks.text(note.replace("..", ".")) for note in notes)]
    right.append(blocks.heading("To do"))
    right.append(
        blocks.steps(["Choose one way with the client.", "Enter it in the job file and print these sheets again."])
    )
    right.append(blocks.checks(["Way chosen", "Client's sign-off, where fill or let-in wood will be seen"]))
    right.append(blocks.why([(f"fill {slab.chosen_fill}", context.because("slab.chosen_fill"))]))
    return Sheet("Thickness against fill", "Each point: so much fill, so thick a board.", left, [right])


def dam_lines(patch: Patch, outline: Polygon) -> list[LineString]:
    """Where a fill runs out at an edge: the stretch of the outline that wants a dam, somewhat longer than the fill."""
    if not patch.meets_edge:
        return []
    shape: BaseGeometry = outline.exterior.intersection(patch.outline.buffer(_DAM_BEYOND))
    from shapely import line_merge

    shape = line_merge(shape) if shape.geom_type == "MultiLineString" else shape
    return [part for part in getattr(shape, "geoms", [shape]) if isinstance(part, LineString) and part.length > 0]


def mix(patch: Patch, epoxy: Epoxy) -> tuple[float, float]:
    """Resin and hardener of one pour by the data sheet's ratio of masses [kg]."""
    total = patch.resin / max(patch.pours, 1)
    share = epoxy.resin_parts / (epoxy.resin_parts + epoxy.hardener_parts)
    return total * share, total * (1.0 - share)


def patch_sheet(context: Context) -> Sheet | None:
    """The filled places with their dams and their epoxy; None where nothing is filled."""
    slab, words = context.slab, context.words
    if not slab.patches:
        return None
    face, epoxy = slab.show_face, context.plan.job.shop.epoxy
    outline = context.seated(context.outline(face), face)
    wide = context.paper.picture_width
    drawing = Picture(wide, 84.0)
    view = View.fit(outline.bounds, (4.0, 4.0, wide - 8.0, 74.0), mirrored=face == "B")
    draw_slab(drawing, view, outline)
    for patch in slab.patches:
        data = view.data(patch.outline)
        if data:
            x0, y0, x1, y1 = patch.outline.bounds
            corners = np.array([view.point(x0, y0), view.point(x1, y1)])
            low, high = corners.min(axis=0), corners.max(axis=0)
            drawing.path(data, weight=MIDDLE, stroke=CHOSEN, fill="#FFFFFF")
            drawing.hatch(data, (float(low[0]), float(low[1]), float(high[0]), float(high[1])), stroke=CHOSEN)
        for line in dam_lines(patch, outline):
            drawing.path(path_of(view.ring(line.coords)), stroke=STOP, weight=4 * THICK)
    for patch in slab.patches:
        x, y = view.point(patch.x, patch.y)
        right = x + 12.0 < wide
        drawing.text(
            x + (3.0 if right else -3.0),
            y - 2.0,
            patch.name,
            size=GREAT,
            weight=700,
            anchor="start" if right else "end",
            halo=True,
        )
        drawing.circle(x, y, 0.8, fill=CHOSEN, stroke=CHOSEN)
    draw_origin(drawing, view)
    if any(patch.meets_edge for patch in slab.patches):
        drawing.line(wide - 40.0, 81.0, wide - 28.0, 81.0, stroke=STOP, weight=4 * THICK)
        drawing.text(wide - 26.0, 81.0 + 0.35 * TEXT, "dam here")
    rows, pours = [], []
    for patch in slab.patches:
        resin, hardener = mix(patch, epoxy)
        rows.append(
            [
                patch.name,
                f"{words.place(patch.x)}, {words.place(patch.y)}",
                words.area(patch.area),
                words.fine(patch.depth),
                words.fill(patch.volume),
                "through: board below" if patch.hole else "at the edge" if patch.meets_edge else "none",
            ]
        )
        pours.append(
            [patch.name, str(patch.pours), words.grams(resin), words.grams(hardener), words.grams(patch.resin)]
        )
    ratio = f"{epoxy.resin_parts:g} to {epoxy.hardener_parts:g} by mass"
    most = max(patch.pours for patch in slab.patches)
    waiting = (most - 1) * epoxy.hours_between_pours + epoxy.hours_before_machining
    todo = [
        "Clean the dip to sound wood; undercut thin edges to the least depth, "
        f"{words.fine(context.plan.job.stated.fill.least_depth)}.",
        "Set the dams where the drawing has them; seal them, and close holes from below.",
        f"Mix {ratio}, one pour at a time, by the table.",
    ]
    if most > 1:
        todo.append(
            f"Pour no deeper than {words.fine(epoxy.greatest_pour)}. Wait {epoxy.hours_between_pours:g} hours between pours."
        )
    todo.append(
        f"Wait {epoxy.hours_before_machining:g} hours after the last pour, then cut the face again in the same set-up."
    )
    total = sum(patch.resin for patch in slab.patches)
    return Sheet(
        "Filled places",
        f"Face {face}. {epoxy.name[:1].upper()}{epoxy.name[1:]}, {words.grams(total)} of mix in all, waste counted.",
        [
            blocks.picture(drawing),
            blocks.table(["", "Middle at x, y", "Seen", "Deepest", "Fill", "Dam"], "llrrrl", rows, wide=(1,)),
            blocks.table(
                ["", "Pours", "Resin, each pour", "Hardener, each pour", "Mix in all"], "lrrrr", pours, wide=(0,)
            ),
        ],
        [
            [
                blocks.figures([(f"{ceil(waiting):d} hours", "of waiting, first pour to machining", False)]),
                blocks.steps(todo),
                blocks.checks(
                    [
                        "Dams hold water",
                        "Scale reads grams, set to nought with the cup",
                        "Fill flush or proud, no bubble at the rim",
                    ]
                ),
                blocks.caution("epoxy", "attended"),
            ]
        ],
    )
