"""The cables on their sheets: the underside in plan with every route, its length and its ties, and how it is drawn in."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import MultiPoint, affinity, box
from shapely.geometry.base import BaseGeometry

from slabwright.carry.cables_results import CableRoute
from slabwright.sheets import blocks
from slabwright.sheets.base_drawing import seen_from
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.context import Context
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, text_width
from slabwright.sheets.plan_view import View, draw_length_bar
from slabwright.sheets.top_picture import Box, free_place
from slabwright.sheets.top_words import tape
from slabwright.sheets.words import Words, plain

_CODES = (
    "tube-closed", "cable-bend", "plug-does-not-pass", "cable-pinched", "cable-thick", "cable-short", "no-way-over-plate",
    "channel-full", "channel-mixed", "cable-slack", "cable-hangs-short", "cable-spare",
)  # fmt: skip
_TIE_ROWS = 18
_EDGES = 4
_LEVEL = 2.0
"""Nearer to the underside than this a cable is level with it [mm]."""
_DASHES = ("", "3 1", "1.2 0.9", "4 1 1 1")


def cable_sheets(context: Context, routes: Sequence[CableRoute]) -> list[Sheet]:
    """One sheet for each cable; none where there are none.

    Args:
        context: the plan and its paper
        routes: of the cables
    """
    return [_sheet(context, routes, number) for number in range(len(routes))]


def _sheet(context: Context, routes: Sequence[CableRoute], number: int) -> Sheet:
    words, paper, route = context.words, context.paper, routes[number]
    rows = [
        (
            str(tie.number),
            plain(tie.kind, 44),
            words.place(tie.at),
            words.place(tie.along),
            words.place(tie.across),
            _level(tie.depth - _thickness(context), words),
        )
        for tie in route.ties
    ]
    shown = rows if len(rows) <= _TIE_ROWS else [*rows[: _TIE_ROWS - 1], rows[-1]]
    room = paper.inner_height - 4.75 * (len(shown) + 1) - (15.0 if len(shown) < len(rows) else 9.0)
    drawing = underside(context, routes, number, paper.picture_width, room)
    head = ["Tie", "How", "Along the cable", "From left end", "From centre line", "Underside"]
    drawn: list[Block] = [
        blocks.picture(drawing),
        blocks.table(head, "rlrrrr", shown, wide=(1,), pad=1.9),
    ]
    if len(shown) < len(rows):
        left_out = len(rows) - len(shown)
        drawn.append(
            blocks.text(
                f"{left_out} ties more, numbers {_TIE_ROWS} to {len(rows) - 1}: each with its place in plan.json."
            )
        )
    title = "Cables" if number == 0 else f"Cables, {number + 1}"
    lead = f"{plain(route.name, 30)}: {words.place(route.length)} from unit to plug; {len(route.ties)} ties."
    return Sheet(title, lead, drawn, [_text(context, route)])


def _level(below: float, words: Words) -> str:
    """How far below the underside, or in the wood."""
    if abs(below) < _LEVEL:
        return "level with it"
    return f"{words.place(abs(below))} {'below' if below > 0.0 else 'in'}"


def _thickness(context: Context) -> float:
    assert context.plan.top is not None
    return context.plan.top.layout.thickness


def underside(context: Context, routes: Sequence[CableRoute], number: int, width: float, most: float) -> Picture:
    """The underside, the top turned over about its length, with the ways of the cables.

    Args:
        context: the plan
        routes: of the cables
        number: of the one that is drawn with its ties and lengths
        width: of the drawing [mm]
        most: its greatest height [mm]
    """
    words, top = context.words, context.plan.top
    assert top is not None
    outline = top.layout.outline
    x0, y0, x1, y1 = outline.bounds
    head, foot, side = 6.0, 8.0, 2.0
    scale = min((width - 2 * side) / (x1 - x0), (most - head - foot) / (y1 - y0))
    drawing = Picture(width, head + foot + scale * (y1 - y0))
    view = View.fit(outline.bounds, (side, head, width - 2 * side, scale * (y1 - y0)), mirrored=True)
    drawing.path(view.data(outline), weight=THICK, fill=WOOD)
    drawing.text(side, 4.0, "Underside, the near edge uppermost", weight=600)
    for feature in top.layout.features:
        if feature.solids and (feature.face == "underside" or feature.wood_left is None):
            drawing.path(view.data(feature.shape()), weight=MIDDLE, fill=PAPER, stroke=SOFT, rule="evenodd")
    base = context.plan.base
    if base is not None:
        seen = seen_from(base, "above")
        steel = affinity.translate(shapely.union_all([seen.steel, seen.plates]), top.layout.length / 2.0, 0.0)
        drawing.path(view.data(steel), weight=MIDDLE, stroke=SOFT, dash="2 1", rule="evenodd")
    for k, route in enumerate(routes):
        if k != number:
            _line(drawing, view, route, SOFT, THICK, _DASHES[(k - number) % len(_DASHES)] or "2 1")
    route = routes[number]
    _line(drawing, view, route, CHOSEN, 2 * THICK, "")
    taken = _ties(drawing, view, route)
    _lengths(drawing, view, route, words, taken)
    draw_length_bar(drawing, view, side, drawing.height - 1.5, 60.0, words.metric)
    drawing.text(
        width - side,
        drawing.height - 1.5,
        "Steel dashed; ties numbered; lengths along the cable",
        anchor="end",
        fill=SOFT,
    )
    return drawing


def _line(drawing: Picture, view: View, route: CableRoute, ink: str, weight: float, dash: str) -> None:
    places = [view.point(point.at[0], point.at[1]) for point in route.way]
    drawing.polyline(places, stroke=PAPER, weight=weight + 0.8)
    drawing.polyline(places, stroke=ink, weight=weight, dash=dash)
    x, y = places[0]
    drawing.circle(x, y, 1.6, fill=ink, stroke=PAPER, weight=MIDDLE)
    x, y = places[-1]
    drawing.polygon([(x, y - 2.2), (x + 2.0, y + 1.4), (x - 2.0, y + 1.4)], fill=PAPER, stroke=ink, weight=THICK)


def _ties(drawing: Picture, view: View, route: CableRoute) -> list[Box]:
    """The ties' numbers beside their places; ties that stand over each other in plan share one."""
    spots: dict[tuple[float, float], list[int]] = {}
    for tie in route.ties:
        x, y = view.point(tie.along, tie.across)
        spots.setdefault((round(x, 1), round(y, 1)), []).append(tie.number)
    taken: list[Box] = []
    for x, y in spots:
        drawing.line(x - 1.2, y - 1.2, x + 1.2, y + 1.2, weight=THICK)
        drawing.line(x - 1.2, y + 1.2, x + 1.2, y - 1.2, weight=THICK)
        taken.append((x - 1.3, y - 1.3, x + 1.3, y + 1.3))
    ways = [view.point(point.at[0], point.at[1]) for point in route.way]
    line = shapely.LineString(ways)
    within = (0.0, 5.0, drawing.width, drawing.height - 6.0)
    for (x, y), numbers in spots.items():
        said = f"{numbers[0]}–{numbers[-1]}" if len(numbers) > 1 else str(numbers[0])
        wide = text_width(said) + 1.0
        spot = _beside(x, y, wide, taken, line, within)
        if spot is None:
            continue
        drawing.text(spot[0], spot[1] + 0.35 * TEXT, said, anchor="middle", weight=600, halo=True)
        taken.append((spot[0] - wide / 2, spot[1] - TEXT / 2, spot[0] + wide / 2, spot[1] + TEXT / 2))
    return taken


def _beside(
    x: float, y: float, wide: float, taken: Sequence[Box], line: BaseGeometry, within: Box
) -> tuple[float, float] | None:
    """Where a tie's number stands clear of the cable and of other numbers."""
    for far in (0.0, 2.5, 5.0):
        for dx, dy in (
            (0.0, -1.0),
            (0.0, 1.0),
            (1.0, 0.0),
            (-1.0, 0.0),
            (1.0, -1.0),
            (-1.0, -1.0),
            (1.0, 1.0),
            (-1.0, 1.0),
        ):
            middle = (x + dx * (wide / 2 + 1.8 + far), y + dy * (TEXT / 2 + 1.8 + far))
            mine = (middle[0] - wide / 2, middle[1] - TEXT / 2, middle[0] + wide / 2, middle[1] + TEXT / 2)
            if mine[0] < within[0] or mine[1] < within[1] or mine[2] > within[2] or mine[3] > within[3]:
                continue
            if line.intersects(box(*mine)) or any(
                mine[0] < b[2] and b[0] < mine[2] and mine[1] < b[3] and b[1] < mine[3] for b in taken
            ):
                continue
            return middle
    return None


def _lengths(drawing: Picture, view: View, route: CableRoute, words: Words, taken: list[Box]) -> None:
    """The length of each straight between corners, along the cable, where there is room to write it."""
    line = shapely.LineString([view.point(point.at[0], point.at[1]) for point in route.way])
    within = (0.0, 5.0, drawing.width, drawing.height - 6.0)
    for run in route.runs:
        places = _run_places(route, view, run.start, run.start + run.length)
        if not places:
            continue
        label = f"{'free' if run.kind == 'free' else plain(run.name, 20)} {words.place(run.length)}"
        wide, high = text_width(label) + 1.0, 1.3 * TEXT
        around = MultiPoint(places).buffer(0.5).bounds
        spot = free_place(tuple(around), wide, high, [*taken, *_along(line)], within)  # type: ignore[arg-type]
        if spot is None:
            continue
        drawing.line(*_nearest(places, spot), spot[0], spot[1], weight=THIN, stroke=SOFT)
        drawing.plated(spot[0], spot[1] + 0.35 * TEXT, label, anchor="middle", fill=INK)
        taken.append((spot[0] - wide / 2, spot[1] - high / 2, spot[0] + wide / 2, spot[1] + high / 2))


def _along(line: BaseGeometry) -> list[Box]:
    """Small boxes along a line, for what keeps clear of it."""
    steps = max(2, int(line.length / 3.0))
    spots = [line.interpolate(k / steps, normalized=True) for k in range(steps + 1)]
    return [(p.x - 1.0, p.y - 1.0, p.x + 1.0, p.y + 1.0) for p in spots]


def _nearest(places: Sequence[tuple[float, float]], spot: tuple[float, float]) -> tuple[float, float]:
    return min(places, key=lambda place: (place[0] - spot[0]) ** 2 + (place[1] - spot[1]) ** 2)


def _run_places(route: CableRoute, view: View, start: float, end: float) -> list[tuple[float, float]]:
    """Page places along a part of a route: its ties and its middle corners."""
    places = [view.point(tie.along, tie.across) for tie in route.ties if start <= tie.at <= end]
    places += [view.point(bend.along, bend.across) for bend in route.bends if start < bend.at < end]
    return places


def _text(context: Context, route: CableRoute) -> list[Block]:
    words = context.words
    found: list[Block] = [
        blocks.figures([(words.place(route.length), "cable needed, unit to plug", True)]),
    ]
    wanted = {f"carry/{code}" for code in _CODES}
    told = [f for f in context.plan.findings if f.code in wanted and f"'{route.name}'" in f.message]
    found += [blocks.problem(finding) for finding in told[:2]]
    rows = [
        (plain(f"{run.kind} {run.name}" if run.kind != "free" else f"free, {run.name}", 40), words.place(run.length))
        for run in route.runs
    ]
    rows += [("loop at the outlet", words.place(route.slack)), ("free to the socket", words.place(route.reach))]
    found.append(blocks.table(["Stretch", "Long"], "lr", rows, wide=(0,), pad=2.0))
    tight = [bend for bend in route.bends if bend.radius is not None]
    least = route.bends[0].least if route.bends else None
    if least is not None:
        narrowest = min((bend.radius for bend in tight if bend.radius is not None), default=None)
        room = f"; the tightest place leaves {tape(narrowest, words)}" if narrowest is not None else ""
        found.append(blocks.text(f"No bend tighter than {tape(least, words)} to its inside{room}."))
    passes = [
        (plain(f"{each.what}: {each.through}", 46), "[tick]" if each.fits else "No") for each in route.passings[:6]
    ]
    if passes:
        found.append(blocks.table(["Passes", ""], "ll", passes, wide=(0,), pad=2.0))
    found.append(blocks.steps(route.pull))
    found.append(
        blocks.checks(
            [f"Hangs from {route.hangs_from}", *(f"{each[:1].upper()}{each[1:]}" for each in route.protect[:_EDGES])]
        )
    )
    if route.mains:
        found.append(blocks.caution("mains"))
    return found
