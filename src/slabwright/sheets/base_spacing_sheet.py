"""How far apart the bolts, or a stretcher: stiffness lengthwise against the spacing of the bolts, as a chart."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from slabwright.base.base_sizes import Sizes, sizes_of
from slabwright.base.basing import BasePlan
from slabwright.base.from_top import with_layout
from slabwright.base.spacing_curve import (
    SPACINGS,
    SpacingPoint,
    frame_governs_from,
    needless_from,
    spacing_curve,
    stiffest,
)
from slabwright.job.base_models import Base, BaseKind
from slabwright.quantities import nearest_fraction
from slabwright.reference.table_loads import table_loads
from slabwright.sheets import blocks
from slabwright.sheets.base_words import steel_name, stiffness
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, PAPER, SOFT
from slabwright.sheets.context import Context
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, text_width
from slabwright.sheets.top_words import tape
from slabwright.sheets.words import Words

_THICKER = 1.5
_HIGH = 84.0
_INCHES = tuple(25.4 * inches for inches in (1.25, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0))
"""Spacings that an inch job is shown [mm]."""
_POUND_PER_INCH = 4.4482216152605 / 25.4


@dataclass(frozen=True)
class Tried:
    """What the chart shows.

    Attributes:
        kind: the picture
        sizes: of the base as it is
        curve: with plates as thick as they are
        thicker: with plates half as thick again
        thick: of those [mm]
        now: spacing of the bolts as it is [mm]; None: they stand in one row
    """

    kind: BaseKind
    sizes: Sizes
    curve: tuple[SpacingPoint, ...]
    thicker: tuple[SpacingPoint, ...]
    thick: float
    now: float | None


def tried(context: Context, plan: BasePlan) -> Tried | None:
    """The curves, worked out anew; None for a free frame, or where no plates go on the top."""
    job = context.plan.job.stated
    kind, top = job.piece.base, context.plan.top
    if plan.stack is None or kind is None or top is None or job.piece.height is None or not plan.drawn.plates:
        return None
    base = with_layout(job.base or Base(), top.layout)
    on, units = plan.structure.top, job.job.units
    sizes = sizes_of(base, on.length, on.width, job.piece.height, plan.stack.leg, units, kind)
    bolts = plan.drawn.bolts
    spacings = SPACINGS if units == "metric" else _INCHES
    curve = spacing_curve(kind, sizes, bolts, on, units, spacings)
    if len(curve) < 2:
        return None
    thick = _THICKER * sizes.plate_thickness
    thicker = spacing_curve(kind, replace(sizes, plate_thickness=thick), bolts, on, units, spacings)
    now = 2.0 * max(abs(abs(bolt.x) - sizes.spread / 2.0) for bolt in bolts)
    return Tried(kind, sizes, curve, thicker, thick, now if now >= 1.0 else None)


def spacing_sheet(context: Context, plan: BasePlan) -> Sheet | None:
    """Stiffness against the spacing of the bolts; None where there is nothing to choose."""
    found = tried(context, plan)
    if found is None:
        return None
    words = context.words
    chart = spacing_chart(found, plan.sway_stiffness.x, context.paper.picture_width, _HIGH, words)
    lead = "Wide plates with bolts far apart make a stretcher needless (common practice)."
    return Sheet("Bolts apart or a stretcher", lead, [blocks.picture(chart)], [_text(found, plan, words)], joins=True)


def _bare(newtons_per_mm: float, words: Words) -> str:
    """Stiffness without its unit."""
    return stiffness(newtons_per_mm, words).split()[0]


def _about(mm: float, words: Words) -> str:
    """A spacing that is read off the curve: to a millimetre or an eighth of an inch."""
    return f"{mm:.0f}\u00a0mm" if words.metric else nearest_fraction(mm, 8)[0].replace(" ", "\u00a0")


def _governs(curve: Sequence[SpacingPoint], thick: float, words: Words) -> str:
    at = frame_governs_from(curve)
    plates = f"Plates {tape(thick, words)} thick"
    if at is None:
        return f"{plates}: they and their bolts make more than half of the give at every spacing."
    said = f"{plates}: tubes and top govern from {_about(at, words)} on."
    best = stiffest(curve)
    if best is not None:
        said += f" Over {_about(best.spacing, words)} the plates bend more than it gains."
    return said


def _text(found: Tried, plan: BasePlan, words: Words) -> list[Block]:
    enough = table_loads().sway.value
    at = needless_from(found.curve, enough)
    said: list[Block] = []
    governs = frame_governs_from(found.curve)
    great = _about(governs, words) if governs is not None else "Plates"
    label = "bolts apart: from here tubes and top govern" if governs is not None else "govern at every spacing"
    said.append(blocks.figures([(great, label, True)]))
    if at is None:
        said.append(blocks.text(f"Under {stiffness(enough, words)} it is felt to wobble: here it wants a stretcher."))
    else:
        said.append(
            blocks.text(
                f"Stiff enough without a stretcher, {stiffness(enough, words)}, from {_about(at, words)} on (common practice)."
            )
        )
    said.append(blocks.text(_governs(found.curve, found.sizes.plate_thickness, words)))
    said.append(blocks.text(_governs(found.thicker, found.thick, words)))
    said.append(blocks.text("To govern: to make half of the give. No other plate then makes it twice as stiff."))
    stretched = any(point.stretched is not None for point in found.curve)
    head = ["Apart", "Plates", "Without", *(["Stretcher"] if stretched else []), "Share"]
    rows = []
    for point in found.curve:
        cells = [tape(point.spacing, words), tape(point.plate_width, words), _bare(point.stiffness, words)]
        cells += [_bare(point.stretched, words)] if point.stretched is not None else []
        rows.append((*cells, f"{point.joint:.0%}"))
    said.append(blocks.table(head, "r" * len(head), rows, pad=1.8))
    tube = steel_name((found.sizes.stretcher or found.sizes.tube).name, words)
    with_one = f" and with one of {tube} on either side" if stretched else ""
    said.append(
        blocks.text(
            f"Plates {tape(found.sizes.plate_thickness, words)} thick. Without a stretcher{with_one},"
            f" {'N/mm' if words.metric else 'lbf/in'}. Share: of the give, that plates and bolts make without one."
        )
    )
    return said


def spacing_chart(found: Tried, now: float, width: float, height: float, words: Words) -> Picture:
    """Draw the curves; both axes so that each doubling is as long as the next.

    Args:
        found: the curves
        now: stiffness as it is [N/mm]
        width: of the drawing [mm]
        height: of it [mm]
        words: how figures are written
    """
    drawing = Picture(width, height)
    left, right, top, foot = 21.0, width - 5.0, 10.0, height - 14.0
    unit = 1.0 if words.metric else _POUND_PER_INCH
    values = [point.stiffness for point in (*found.curve, *found.thicker)]
    values += [point.stretched for point in found.curve if point.stretched is not None]
    values += [now] if found.now else []
    least, most = _rounded(min(values) / unit, max(values) / unit)
    spacings = [point.spacing for point in found.curve] + ([found.now] if found.now else [])
    first, last = 0.93 * min(spacings), 1.07 * max(spacings)

    def at(spacing: float, stiff: float) -> tuple[float, float]:
        return (
            left + (right - left) * math.log(spacing / first) / math.log(last / first),
            foot - (foot - top) * math.log(stiff / unit / least) / math.log(most / least),
        )

    for value in _ticks(least, most):
        _, y = at(first, value * unit)
        drawing.line(left, y, right, y, weight=THIN, stroke=SOFT, dash="0.6 1.2")
        drawing.text(left - 2.0, y + 0.35 * TEXT, f"{value:.0f}", anchor="end")
    for spacing in SPACINGS if words.metric else _INCHES:
        if first <= spacing <= last:
            x, _ = at(spacing, least * unit)
            drawing.line(x, foot, x, foot + 1.5)
            drawing.text(x, foot + 1.5 + TEXT, tape(spacing, words).removesuffix("\u00a0mm"), anchor="middle")
    drawing.line(left, top, left, foot)
    drawing.line(left, foot, right, foot)
    drawing.text(0.0, 4.0, f"Stiffness lengthwise at the top, {'N/mm' if words.metric else 'lbf/in'}", weight=600)
    drawing.text(right, height - 1.0, f"Bolts apart along the top, {words.unit}", anchor="end", weight=600)
    enough = table_loads().sway.value / unit
    if least < enough < most:
        _, y = at(first, enough * unit)
        drawing.line(left, y, right, y, weight=THICK, dash="2 1.4")
        drawing.text(right - 1.0, y - 1.2, "felt to wobble below", anchor="end", halo=True)
    _curves(drawing, found, at, words)
    if found.now:
        x, y = at(found.now, now)
        drawing.circle(x, y, 2.0, fill=CHOSEN)
        drawing.line(x, y, x, foot, weight=THIN, stroke=CHOSEN, dash="1 1")
        said = f"as it is: {tape(found.now, words)}, {stiffness(now, words)}"
        rightwards = x + 2.0 + text_width(said) < right
        drawing.text(x + (2.0 if rightwards else -2.0), foot - 2.5, said, anchor="start" if rightwards else "end",
                     weight=600, fill=CHOSEN, halo=True)  # fmt: skip
    return drawing


def _curves(drawing: Picture, found: Tried, at: Callable[[float, float], tuple[float, float]], words: Words) -> None:
    """Each curve with its name over it, and a mark where tubes and top begin to govern."""
    curves = [
        (
            found.curve,
            [p.stiffness for p in found.curve],
            f"plates {tape(found.sizes.plate_thickness, words)} thick",
            "",
        ),
        (found.thicker, [p.stiffness for p in found.thicker], f"plates {tape(found.thick, words)} thick", "3 1"),
    ]
    if found.curve[0].stretched is not None:
        curves.append((found.curve, [p.stretched or 0.0 for p in found.curve], "with stretchers", "6 1 1 1"))
    for number, (points, values, said, dash) in enumerate(curves):
        places = [at(point.spacing, value) for point, value in zip(points, values, strict=True)]
        drawing.polyline(places, weight=THICK, dash=dash)
        if number < 2:
            governs = frame_governs_from(points)
            if governs is not None:
                x, y = at(governs, _between(points, governs))
                drawing.line(x, y - 2.6, x, y + 2.6, weight=2 * THICK, stroke=CHOSEN)
                drawing.circle(x, y, 1.3, fill=PAPER, stroke=CHOSEN, weight=MIDDLE)
        x, y = places[-1]
        # The two curves of plates may lie close: the lower's name stands under it, the upper's over it.
        under = number < 2 and values[-1] < curves[1 - number][1][-1]
        drawing.text(x, y + 7.0 if under else y - 2.2, said, anchor="end", weight=600, halo=True)


def _between(points: Sequence[SpacingPoint], spacing: float) -> float:
    """Stiffness on a curve at a spacing, straight between its points as it is drawn [N/mm]."""
    for before, after in pairwise(points):
        if before.spacing <= spacing <= after.spacing:
            share = math.log(spacing / before.spacing) / math.log(after.spacing / before.spacing)
            return before.stiffness * math.pow(after.stiffness / before.stiffness, share)
    return points[0].stiffness


def _rounded(least: float, most: float) -> tuple[float, float]:
    """Limits of an axis: round figures beyond both."""
    steps = [k * 10.0**n for n in range(-2, 7) for k in (1.0, 2.0, 5.0)]
    return max(step for step in steps if step <= 0.97 * least), min(step for step in steps if step >= 1.1 * most)


def _ticks(least: float, most: float) -> list[float]:
    """Round figures from one limit to the other."""
    return [k * 10.0**n for n in range(-2, 7) for k in (1.0, 2.0, 5.0) if 0.999 * least <= k * 10.0**n <= 1.001 * most]
