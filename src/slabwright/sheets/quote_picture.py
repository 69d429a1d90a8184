"""The piece as a client sees it: an isometric picture without numbers, and the payments on a tape."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.base.basing import BasePlan
from slabwright.geometry.faces import Floats
from slabwright.sheets.base_drawing import outline_of
from slabwright.sheets.base_solids import Sight, isometric, solids, visible
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, text_width
from slabwright.sheets.plan_view import View
from slabwright.shop.stages import StageDue

_EDGE = 2.0
_SHADES = {0: "#D3D8DB", 1: "#9CA5AB", 2: "#5F6A72"}
_WOOD_SIDE = "#E3D3B8"
_TAPE = 9.0
_STEP = 10


def piece_picture(plan: BasePlan, width: float, most: float) -> Picture:
    """The piece from the near left, from above, hidden faces left out; the top hides what lies beneath it.

    Args:
        plan: the base, with the top that it carries
        width: of the drawing [mm]
        most: its greatest height [mm]
    """
    sight = isometric()
    seen = visible(solids(plan.drawn), sight)
    high = plan.height.even
    upper = _level(plan, sight, high)
    lower = _level(plan, sight, high - plan.structure.top.thickness[1])
    board = _swept(upper, lower)
    x0, y0, x1, y1 = shapely.union_all([board, *(surface.shape for surface in seen)]).bounds
    scale = min((width - 2 * _EDGE) / (x1 - x0), (most - 2 * _EDGE) / (y1 - y0))
    drawing = Picture(width, 2 * _EDGE + scale * (y1 - y0))
    view = View((width - scale * (x1 - x0)) / 2, _EDGE, scale, float(x0), float(y0), float(y1), False)
    for surface in seen:
        shade = _SHADES[0 if surface.normal[2] > 0.7 else 1 if abs(surface.normal[0]) >= abs(surface.normal[1]) else 2]
        drawing.path(view.data(surface.shape), weight=THIN, fill=shade, rule="evenodd")
    # All steel is below the top and is looked at from above: whatever lies in the top's shadow is hidden by it.
    drawing.path(view.data(board), weight=MIDDLE, fill=_WOOD_SIDE)
    drawing.path(view.data(upper), weight=MIDDLE, fill=WOOD)
    return drawing


def _level(plan: BasePlan, sight: Sight, height: float) -> Polygon:
    ring: Floats = shapely.get_coordinates(outline_of(plan).simplify(0.5).boundary)
    return Polygon(sight.flat(np.column_stack([ring, np.full(len(ring), height)])))


def _swept(upper: Polygon, lower: Polygon) -> BaseGeometry:
    """The shadow of the slab between its two faces."""
    above, below = np.array(upper.exterior.coords), np.array(lower.exterior.coords)
    quads = [Polygon([above[k], above[k + 1], below[k + 1], below[k]]) for k in range(len(above) - 1)]
    return shapely.union_all([upper, lower, *(quad.buffer(0.0) for quad in quads)], grid_size=1e-3)


def payments_tape(stages: Sequence[StageDue], width: float, paid: int = 0, chosen: int | None = None) -> Picture:
    """The price as a tape, cut into its payments.

    Args:
        stages: the payments
        width: of the drawing [mm]
        paid: how many are paid
        chosen: number of the one that is asked for, from 1; None: none
    """
    drawing = Picture(width, _TAPE + 7.0)
    wide, left = width - 1.0, 0.5
    at = left
    for tick in range(0, 101, _STEP // 2):
        x = left + wide * tick / 100.0
        drawing.line(x, 0.4, x, 2.6 if tick % _STEP == 0 else 1.6, stroke=SOFT, weight=THIN)
    for number, stage in enumerate(stages, 1):
        long = wide * stage.share / 100.0
        now = number == chosen
        fill = WOOD if number <= paid else PAPER
        drawing.rectangle(
            at, 0.4, long, _TAPE, weight=THICK if now else MIDDLE, stroke=CHOSEN if now else INK, fill=fill
        )
        for tick in range(0, 101, _STEP // 2):
            x = left + wide * tick / 100.0
            if at < x < at + long:
                drawing.line(x, 0.4, x, 2.6 if tick % _STEP == 0 else 1.6, stroke=SOFT, weight=THIN)
        label = f"{stage.share:g} %"
        if text_width(label) < long:
            drawing.text(at + long / 2, 0.4 + _TAPE - 2.4, label, anchor="middle", weight=600)
        if text_width(str(number)) < long:
            drawing.text(
                at + long / 2, _TAPE + 0.6 + TEXT + 1.0, str(number), anchor="middle", fill=CHOSEN if now else SOFT
            )
        at += long
    return drawing
