"""How the base stands: what a push moves, what loads the feet, what tips it, and what would mend a weak figure."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np

from slabwright.base.base_results import Mend, Shares, Tip
from slabwright.base.basing import BasePlan
from slabwright.base.loads import Loads, loads_of
from slabwright.job.base_models import BaseLoads
from slabwright.quantities import format_mass
from slabwright.sheets import blocks
from slabwright.sheets.base_drawing import Side, draw_seen, flat, seen_from
from slabwright.sheets.base_words import problems, stiffness
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, PAPER
from slabwright.sheets.context import Context
from slabwright.sheets.picture import GREAT, MIDDLE, TEXT, THICK, THIN, Picture
from slabwright.sheets.plan_view import View
from slabwright.sheets.words import Words

_MENDS = 5
_ROW = 4.7
"""Height of a row of a table [mm]."""
_SAID = 63.0
"""Of the words over a push [mm]."""
_LEAN = 4.5
"""How far the moved outline is drawn from the standing one: far too much, so that it is seen [mm of the page]."""
_CODES = (
    "steel-yields", "steel-margin", "bolt-pull", "tips", "tips-pushed-lengthwise", "tips-pushed-crosswise",
    "wobbles-lengthwise", "wobbles-crosswise", "sways-slowly", "rocks",
)  # fmt: skip
_SHARES = (
    ("frame", "Tubes"),
    ("plates", "Plates"),
    ("bolts", "Bolts and wood"),
    ("slab", "Top"),
    ("feet", "Levellers"),
)
_TIPS_HEAD, _SIDES, _ABOVE, _BELOW = 6.0, 25.0, 11.0, 9.0


def standing_sheet(context: Context, plan: BasePlan) -> Sheet:
    """What a push moves, what tips it, what its feet bear, where the give comes from and what would mend it."""
    words, paper = context.words, context.paper
    base = context.plan.job.stated.base
    loads = loads_of(base.loads if base is not None else BaseLoads(), plan.structure.top.area)
    mends = plan.mends[:_MENDS]
    pushed = push_drawing(plan, loads, paper.picture_width, 0.43 * paper.inner_height, words)
    left = paper.inner_height - pushed.height - _ROW * (len(mends) + 2) - 9.0
    loaded = load_drawing(plan, paper.picture_width, left, words)
    lead = f"Laid {words.weight(loads.spread.value)}, a person {words.force(loads.edge.value)} at an edge. "
    lead += "A model: joints differ by a third."
    here = [_figures(plan, words), *problems(context, _CODES, 2), _bolt(plan, words), _share_table(plan, words)]
    drawn: list[Block] = [blocks.picture(pushed), blocks.picture(loaded), _mend_table(plan, mends, words)]
    if not mends:
        drawn[-1] = blocks.text("No change is tried in the model that makes it stiffer.")
    return Sheet("How the base stands", lead, drawn, [[block for block in here if block]])


def push_drawing(plan: BasePlan, loads: Loads, width: float, high: float, words: Words) -> Picture:
    """Front and end view; a push at the top, and how far the top moves under it, as a dimension.

    Args:
        plan: the base
        loads: that it is pushed with
        width: of the drawing [mm]
        high: its greatest height [mm]
        words: how figures are written
    """
    front, end = seen_from(plan, "front"), seen_from(plan, "left")
    fx0, _, fx1, top = front.bounds
    ex0, _, ex1, _ = end.bounds
    head, gap, foot = 21.0, 30.0, 3.0
    scale = min((width - 2.0 - gap - 2 * 14.0) / (fx1 - fx0 + ex1 - ex0), (high - head - foot) / top)
    drawing = Picture(width, head + foot + scale * top)
    end_at = max(14.0 + scale * (fx1 - fx0) + gap, width - scale * (ex1 - ex0) - 26.0)
    views: tuple[tuple[float, Side, float, float, str], ...] = (
        (14.0, "front", loads.push_along.value, plan.sway_stiffness.x, "lengthwise"),
        (end_at, "left", loads.push_across.value, plan.sway_stiffness.y, "crosswise"),
    )
    for left, side, push, stiff, way in views:
        seen = front if side == "front" else end
        x0, _, x1, _ = seen.bounds
        view = View(left, head, scale, x0, 0.0, top, False)
        draw_seen(drawing, view, seen)
        _leaning(drawing, view, plan, side)
        floor = view.point(0.0, 0.0)[1]
        right = left + scale * (x1 - x0)
        drawing.line(left - 2.0, floor, right + 2.0, floor, weight=THICK)
        slab = view.point(0.0, top - plan.structure.top.thickness[1] / 2)[1]
        drawing.line(left - 11.0, slab, left - 3.0, slab, weight=2 * THICK, stroke=CHOSEN)
        drawing.polygon(
            [(left - 0.6, slab), (left - 4.0, slab - 1.5), (left - 4.0, slab + 1.5)], fill=CHOSEN, stroke=CHOSEN
        )
        said_at = min(left - 12.0, width - _SAID)
        drawing.text(said_at, 4.0, f"Push here {way}, {words.force(push)}: moves", weight=600)
        drawing.text(said_at, 14.8, words.finer(push / stiff), size=GREAT, weight=700, fill=CHOSEN)
        # The dimension stands between the standing and the moved end.
        for x in (right, right + _LEAN):
            drawing.line(x, head - 3.2, x, head + scale * plan.structure.top.thickness[1], weight=THIN, stroke=CHOSEN)
            drawing.line(x - 0.9, head - 1.3, x + 0.9, head - 3.1, stroke=CHOSEN)
        drawing.line(right - 2.0, head - 2.2, right + _LEAN + 2.0, head - 2.2, weight=THIN, stroke=CHOSEN)
    return drawing


def _leaning(drawing: Picture, view: View, plan: BasePlan, side: Side) -> None:
    """The moved middle lines and top, dashed; each place as far as it is high."""
    high = plan.height.even
    shown = plan.drawn

    def moved(place: tuple[float, float, float]) -> tuple[float, float]:
        across, up = flat(np.array([place], dtype=float), side)[0].tolist()
        x, y = view.point(across, up)
        return x + _LEAN * up / high, y

    for member in shown.members:
        if member.part == "frame":
            drawing.polyline(
                [moved(shown.nodes[member.first]), moved(shown.nodes[member.last])],
                stroke=CHOSEN, weight=MIDDLE, dash="1.6 1",
            )  # fmt: skip
    x0, y0, x1, y1 = seen_from(plan, side).top.bounds
    left, upper = view.point(x0, y1)
    right, lower = view.point(x1, y0)
    drawing.rectangle(left + _LEAN, upper, right - left, lower - upper, stroke=CHOSEN, dash="1.6 1")


def load_drawing(plan: BasePlan, width: float, high: float, words: Words) -> Picture:
    """From above: the load that tips it at each place, and what each foot presses with."""
    above = seen_from(plan, "above")
    x0, y0, x1, y1 = above.bounds
    used = high - _TIPS_HEAD - _ABOVE - _BELOW
    scale = min((width - 2 * _SIDES) / (x1 - x0), used / (y1 - y0))
    drawing = Picture(width, _TIPS_HEAD + _ABOVE + _BELOW + scale * (y1 - y0))
    drawing.text(
        0.0, 4.0, "From above: what tips the empty table, just inside its edge; what each foot bears", weight=600
    )
    left = (width - scale * (x1 - x0)) / 2
    view = View(left, _TIPS_HEAD + _ABOVE, scale, x0, y0, y1, False)
    draw_seen(drawing, view, above)
    least = min((tip.load for tip in plan.tips if tip.load is not None), default=None)
    for tip in plan.tips:
        _draw_tip(drawing, view, tip, (x0, y0, x1, y1), least, words)
    beside = scale * max(
        (member.section.width / 2 for member in plan.drawn.members if member.part == "frame"), default=0.0
    )
    for foot in plan.feet:
        x, y = view.point(foot.x, foot.y)
        drawing.circle(x, y, 1.6, fill=PAPER, weight=THICK)
        inward = foot.x <= 0.0
        edge = 2.6 + scale * max((plate.width / 2 for plate in plan.drawn.plates), default=0.0)
        at, anchor = (x + edge, "start") if inward else (x - edge, "end")
        # Towards the centre line, clear of a rail that runs along.
        upper = y + beside + 3.6 if foot.y > 0.0 else y - beside - 5.2
        drawing.text(at, upper, words.force(foot.standing), anchor=anchor, halo=True)
        drawing.text(at, upper + 4.2, f"up to {words.force(foot.most)}", anchor=anchor, halo=True)
    return drawing


def _draw_tip(
    drawing: Picture, view: View, tip: Tip, bounds: tuple[float, float, float, float], least: float | None, words: Words
) -> None:
    x, y = view.point(tip.x, tip.y)
    drawing.line(x - 1.4, y, x + 1.4, y)
    drawing.line(x, y - 1.4, x, y + 1.4)
    said = words.force_least(tip.load) if tip.load is not None else "never"
    weight = 700 if least is not None and tip.load is not None and tip.load <= least + 1e-6 else 400
    x0, y0, x1, y1 = bounds
    middle = abs(tip.x - (x0 + x1) / 2) < 0.25 * (x1 - x0)
    if middle:
        top, low = view.point(0.0, y1)[1], view.point(0.0, y0)[1]
        drawing.text(x, top - 2.5 if tip.y > 0.0 else low + 4.8, said, anchor="middle", weight=weight)
        return
    on_left = tip.x < 0.0
    edge = view.point(x0 if on_left else x1, 0.0)[0] + (-2.0 if on_left else 2.0)
    drawing.text(edge, y + 0.35 * TEXT, said, anchor="end" if on_left else "start", weight=weight)


def _figures(plan: BasePlan, words: Words) -> Block:
    tips = words.force_least(plan.tip_load) if plan.tip_load is not None else "None"
    rows = [
        ("Sways", f"{plan.sway_frequency:.1f} times a second"),
        ("Stiff lengthwise", stiffness(plan.sway_stiffness.x, words)),
        ("Stiff crosswise", stiffness(plan.sway_stiffness.y, words)),
        ("Sags now", words.finer(plan.sag.now)),
        ("Sags after years", f"{words.finer(plan.sag.long_term)}, up to twice that"),
        ("Level push that tips it", _pushes(plan, words)),
        ("Steel yields at", f"{plan.stress.margin:.1f} times the worst load"),
    ]
    return blocks.side_by_side([[
        blocks.figures([(tips, _inside(words), plan.tip_load is not None)]),
        blocks.table(["Figure", ""], "ll", rows, wide=(1,), pad=2.4),
    ]])  # fmt: skip


def _inside(words: Words) -> str:
    """Where the load stands that tips it."""
    return f"least load that tips it, {50 if words.metric else 2} {words.unit_word} from its edge"


def _pushes(plan: BasePlan, words: Words) -> str:
    return ", ".join(
        f"{words.force(push)} {way}"
        for push, way in ((plan.tip_push.x, "along"), (plan.tip_push.y, "across"))
        if push is not None
    ) or "none"  # fmt: skip


def _bolt(plan: BasePlan, words: Words) -> Block | None:
    pull = plan.bolt_pull
    if pull is None or pull.margin < 1.0:
        return None
    name = textwrap.shorten(pull.bolt, 34, placeholder="…")
    return blocks.text(
        f"Bolt pulled most: {name}, {words.force(pull.pull)} ({pull.case}); it may bear {words.force_least(pull.allowed)}."
    )


def _share_table(plan: BasePlan, words: Words) -> Block:
    both: tuple[Shares, Shares] = (plan.sway_shares.x, plan.sway_shares.y)
    rows = [(said, *(f"{getattr(share, name):.0%}" for share in both)) for name, said in _SHARES]
    rows.append(("Together", stiffness(plan.sway_stiffness.x, words), stiffness(plan.sway_stiffness.y, words)))
    return blocks.table(["Give comes from", "Lengthwise", "Crosswise"], "lrr", rows, chosen=[len(rows) - 1], pad=2.4)


def _mend_table(plan: BasePlan, mends: Sequence[Mend], words: Words) -> Block:
    def row(mend: Mend) -> tuple[str, ...]:
        return (
            textwrap.shorten(f"{mend.change[:1].upper()}{mend.change[1:]}", 70, placeholder="…"),
            f"+{format_mass(mend.mass, words.units)}" if mend.mass > 0.0 else "none",
            stiffness(mend.sway_x, words),
            stiffness(mend.sway_y, words),
        )

    now = ("As it is", "", stiffness(plan.sway_stiffness.x, words), stiffness(plan.sway_stiffness.y, words))
    rows = [now, *(row(mend) for mend in mends)]
    head = ["Change, tried in the model", "Steel", "Lengthwise", "Crosswise"]
    return blocks.table(head, "lrrr", rows, chosen=[0], wide=(0,), pad=2.4)
