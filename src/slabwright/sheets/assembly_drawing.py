"""Drawings of the assembly: the exploded view, and a small drawing for each step of what is there and what is done."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import shapely
from shapely import affinity, box
from shapely.geometry.base import BaseGeometry

from slabwright.base.basing import BasePlan
from slabwright.carry.assembly_results import Assembly, AssemblyStep, SteelFrame
from slabwright.carry.assembly_ways import UPSIDE_DOWN
from slabwright.carry.cables_results import CableRoute
from slabwright.sheets.base_drawing import seen_from
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture
from slabwright.sheets.plan_view import View
from slabwright.sheets.words import Words

_APART, _MOST_APART = 150.0, 400.0
"""Between the parts of the exploded view, least and most [mm of the piece]."""
_FOOT_SEEN = 3.6
"""Height of a foot of the exploded view; drawn larger than it is, so that it is seen [mm of the page]."""
_FRAME = 90.0
_PALE = "#DDE6F2"


@dataclass(frozen=True)
class _Parts:
    """The piece from the near side, x from the middle of the top, up from the floor [mm]."""

    top: BaseGeometry
    frames: dict[str, BaseGeometry]
    feet: dict[str, BaseGeometry]
    bolts: tuple[tuple[float, str], ...]
    underside: float
    high: float


def _parts(base: BasePlan, frames: Sequence[SteelFrame]) -> _Parts:
    seen = seen_from(base, "front")
    steel = shapely.union_all([seen.steel, seen.plates])
    x0, _, x1, _ = steel.bounds
    middle = {frame.name: _middle(base, frame, (x0 + x1) / 2.0) for frame in frames}
    order = sorted(frames, key=lambda frame: middle[frame.name])
    cuts = [(middle[one.name] + middle[other.name]) / 2.0 for one, other in pairwise(order)]
    edges = [x0 - 1.0, *cuts, x1 + 1.0]
    far = 1e5
    of_steel, of_feet = {}, {}
    for number, frame in enumerate(order):
        part = box(edges[number], -far, edges[number + 1], far)
        of_steel[frame.name] = steel.intersection(part)
        of_feet[frame.name] = seen.feet.intersection(part)
    of = {bolt: frame.name for frame in frames for bolt in frame.bolts}
    bolts = tuple((bolt.x, of.get(bolt.name, "")) for bolt in base.drawn.bolts)
    return _Parts(seen.top, of_steel, of_feet, bolts, base.drawn.underside, base.height.even)


def _middle(base: BasePlan, frame: SteelFrame, usual: float) -> float:
    places = [plate.x for plate in base.drawn.plates if plate.name in frame.pieces]
    places += [at[0] for name, _, at in base.drawn.feet if name in frame.feet]
    return sum(places) / len(places) if places else usual


def exploded(plan: Assembly, base: BasePlan, width: float, most: float, words: Words) -> Picture:
    """The piece from the near side and from its left end, its parts drawn apart, with their names, weights and bolts.

    Args:
        plan: the assembly
        base: the base
        width: of the drawing [mm]
        most: its greatest height [mm]
        words: how figures are written
    """
    parts = _parts(base, plan.frames)
    end = seen_from(base, "left")
    x0, _, x1, _ = parts.top.bounds
    e0, _, e1, _ = end.top.bounds
    head, foot, left, gap = 6.0, 8.0, 3.0, 34.0
    scale = (width - 2.0 * left - gap) / (x1 - x0 + e1 - e0)
    scale = min(scale, (most - head - foot) / (parts.high + 2.0 * _APART))
    apart = min(_MOST_APART, ((most - head - foot) / scale - parts.high) / 2.0)
    drawing = Picture(width, head + foot + scale * (parts.high + 2.0 * apart))
    front = View(left, head, scale, x0, -apart, parts.high + apart, False)
    beside = View(left + scale * (x1 - x0) + gap, head, scale, e0, -apart, parts.high + apart, False)
    steel = shapely.union_all([end.steel, end.plates])
    along = [x for x, _ in parts.bolts]
    _apart(drawing, front, parts.top, list(parts.frames.values()), parts.feet.values(), along, parts.underside, apart)
    across = [-bolt.y for bolt in base.drawn.bolts]
    _apart(drawing, beside, end.top, [steel], [end.feet], across, parts.underside, apart)
    for view, said in ((front, "From the near side"), (beside, "From the left end")):
        drawing.text(view.left, 4.0, said, weight=600)
    right = front.point(x1, 0.0)[0]
    between = right + gap / 2.0
    sizes = " and ".join(dict.fromkeys(words.place(bolt.thread) for bolt in plan.bolts))
    for said, level in (
        ("top", (parts.high + parts.underside) / 2.0 + apart),
        (f"{len(plan.bolts)} bolts, {sizes}" if plan.bolts else "no bolts", parts.underside + 0.5 * apart),
        ("feet, last", -apart + 0.5 * _FOOT_SEEN / scale),
    ):
        drawing.text(between, front.point(0.0, level)[1] + 0.35 * TEXT, said, anchor="middle", weight=600)
    middle = front.point((x0 + x1) / 2.0, 0.0)[0]
    for number, (name, shape) in enumerate(parts.frames.items()):
        frame = next(each for each in plan.frames if each.name == name)
        said = f"{name}, {words.weight(frame.mass)}"
        y = front.point(0.0, parts.underside * (0.62 - 0.22 * (number % 3)))[1]
        sx0, _, sx1, _ = shape.bounds
        if sx1 - sx0 < 0.4 * (x1 - x0):
            side = sx1 if sx0 + sx1 < x0 + x1 else sx0
            drawing.line(front.point(side, 0.0)[0], y - 1.2, middle, y - 1.2, weight=THIN, stroke=SOFT)
        drawing.plated(middle, y, said, anchor="middle", weight=600)
    floor = front.point(0.0, -apart)[1]
    drawing.text(left, floor + 5.4, f"Drawn apart. 1 : {1 / scale:.0f}", fill=SOFT)
    return drawing


def _apart(
    drawing: Picture,
    view: View,
    top: BaseGeometry,
    steel: Sequence[BaseGeometry],
    feet: Iterable[BaseGeometry],
    bolts: Sequence[float],
    underside: float,
    apart: float,
) -> None:
    """One view of the parts drawn apart: top above, bolts between, steel, feet below."""
    _wood(drawing, view, affinity.translate(top, 0.0, apart))
    for x in sorted({round(x, 1) for x in bolts}):
        px, y0 = view.point(x, underside + apart)
        drawing.line(px, y0, px, view.point(x, underside)[1], weight=THIN, dash="1.2 0.8")
        _bolt(drawing, px, view.point(x, underside + 0.5 * apart)[1])
    for shape in steel:
        drawing.path(view.data(shape), weight=MIDDLE, fill=SOFT, rule="evenodd")
    for shape in feet:
        for piece in getattr(shape, "geoms", [shape]):
            if piece.is_empty:
                continue
            x = (piece.bounds[0] + piece.bounds[2]) / 2.0
            px, low = view.point(x, -apart)
            drawing.line(px, view.point(x, piece.bounds[3])[1], px, low - _FOOT_SEEN, weight=THIN, dash="1.2 0.8")
            drawing.rectangle(px - 0.5, low - _FOOT_SEEN, 1.0, _FOOT_SEEN - 1.0, fill=INK, weight=THIN)
            drawing.rectangle(px - 1.5, low - 1.0, 3.0, 1.0, fill=INK, weight=THIN)
    x0, _, x1, _ = top.bounds
    floor = view.point(0.0, -apart)[1]
    drawing.line(view.point(x0, 0.0)[0] - 2.0, floor + 0.3, view.point(x1, 0.0)[0] + 2.0, floor + 0.3, weight=THICK)


def _wood(drawing: Picture, view: View, shape: BaseGeometry, fill: str = WOOD, stroke: str = INK) -> None:
    drawing.path(view.data(shape), weight=THICK, fill=fill, stroke=stroke)
    drawing.hatch(view.data(shape), view.page_box(shape), step=1.8, stroke=SOFT)


def _bolt(drawing: Picture, x: float, y: float, stroke: str = INK) -> None:
    """A bolt, its head below."""
    drawing.line(x, y - 2.4, x, y + 1.6, weight=2 * THICK, stroke=stroke)
    drawing.rectangle(x - 1.3, y + 1.6, 2.6, 1.3, fill=stroke, weight=THIN, stroke=stroke)


@dataclass
class Stage:
    """What is there so far.

    Attributes:
        down: whether the top lies face down on stands
        top: whether the top is there
        on: whether the top lies on the base
        frames: of the base that are there
        cables: that are laid
    """

    down: bool = False
    top: bool = False
    on: bool = False
    frames: list[str] = field(default_factory=list)
    cables: list[str] = field(default_factory=list)


def step_drawings(
    plan: Assembly, base: BasePlan, routes: Sequence[CableRoute], width: float, high: float
) -> list[Picture]:
    """A small drawing for each step: what is there in grey, what the step is about in blue.

    Args:
        plan: the assembly
        base: the base
        routes: of the cables
        width: of each drawing [mm]
        high: of each drawing [mm]
    """
    parts = _parts(base, plan.frames)
    stage, found = Stage(), []
    for step in plan.steps:
        _goes_on(stage, step, plan)
        found.append(_step_drawing(plan, parts, stage, step, routes, width, high))
    return found


def _goes_on(stage: Stage, step: AssemblyStep, plan: Assembly) -> None:
    """What is there once a step is done."""
    names = {frame.name for frame in plan.frames}
    if step.kind == "lift" and "top" in step.parts:
        stage.top = True
        stage.down = not stage.frames or plan.way == UPSIDE_DOWN
        stage.on = not stage.down
    elif step.kind == "lift":
        stage.frames += [part for part in step.parts if part in names]
    elif step.kind == "turn":
        stage.down = False
        stage.on = plan.way == UPSIDE_DOWN
    elif step.kind == "cable":
        stage.cables += [part for part in step.parts if part not in stage.cables]


def _step_drawing(
    plan: Assembly,
    parts: _Parts,
    stage: Stage,
    step: AssemblyStep,
    routes: Sequence[CableRoute],
    width: float,
    high: float,
) -> Picture:
    drawing = Picture(width, high)
    x0, _, x1, _ = parts.top.bounds
    stand = plan.stands.height if plan.stands is not None else 0.0
    thick = parts.high - parts.underside
    tall = max(stand + parts.high, parts.high) + _FRAME
    scale = min((width - 2.0) / (x1 - x0), (high - 4.5) / tall)
    left = (width - scale * (x1 - x0)) / 2.0
    view = View(left, high - 3.0 - scale * tall, scale, x0, 0.0, tall, False)
    floor = view.point(0.0, 0.0)[1]
    drawing.line(0.0, floor, width, floor, weight=MIDDLE)
    about = set(step.parts)
    loose = [
        name
        for name in parts.frames
        if about & {name, *_feet_of(plan, name)}
        and not stage.on
        and (plan.way != UPSIDE_DOWN or name not in stage.frames)
    ]
    there = stage.top and not loose
    turned = stage.down and not loose
    aloft = there and not stage.on and not stage.down
    on_stands = plan.stands is not None and not loose and (turned or aloft or "stands" in about)

    def placed(shape: BaseGeometry) -> BaseGeometry:
        """Face down on the stands, upright otherwise."""
        if turned:
            return affinity.translate(affinity.scale(shape, 1.0, -1.0, origin=(0.0, 0.0)), 0.0, stand + parts.high)
        return shape

    top_down = affinity.translate(affinity.scale(parts.top, 1.0, -1.0, origin=(0.0, 0.0)), 0.0, stand + parts.high)
    top = top_down if turned or aloft else parts.top
    if on_stands and plan.stands is not None:
        ink = CHOSEN if "stands" in about else SOFT
        for place in plan.stands.places:
            at = place + x0
            legs = [(at - 70.0, 0.0), (at - 25.0, stand), (at + 25.0, stand), (at + 70.0, 0.0)]
            drawing.polyline([view.point(*leg) for leg in legs], stroke=ink, weight=THICK if ink == CHOSEN else MIDDLE)
    shown = loose or (stage.frames if stage.on or plan.way == UPSIDE_DOWN else [])
    for name in shown:
        ink = CHOSEN if name in about and step.kind in ("lift", "turn", "earth") else SOFT
        drawing.path(view.data(placed(parts.frames[name])), weight=THIN, fill=ink, stroke=ink, rule="evenodd")
        feet_now = step.kind == "level" or (step.kind == "prepare" and bool(about & _feet_of(plan, name)))
        drawing.path(view.data(placed(parts.feet[name])), weight=THIN, fill=CHOSEN if feet_now else SOFT)
        if feet_now:
            fx0, fy0, fx1, fy1 = placed(parts.feet[name]).bounds
            px, py = view.point((fx0 + fx1) / 2.0, (fy0 + fy1) / 2.0)
            drawing.circle(px, py, 2.0, stroke=CHOSEN, weight=THICK)
        if step.kind == "earth" and name in about:
            _, sy0, sx1, sy1 = placed(parts.frames[name]).bounds
            _earth(drawing, *view.point(sx1, (sy0 + sy1) / 2.0))
    if there:
        active = "top" in about and step.kind in ("lift", "turn")
        drawing.path(view.data(top), weight=THICK, fill=_PALE if active else WOOD, stroke=CHOSEN if active else INK)
        if step.kind == "turn":
            _turn_arrow(drawing, *view.point(x1 - 0.12 * (x1 - x0), top.bounds[3] + 30.0))
    if step.kind == "bolt" and there:
        own = {bolt for frame in plan.frames for bolt in frame.bolts if bolt in about}
        of = {bolt: frame.name for frame in plan.frames for bolt in frame.bolts}
        wanted = {of[bolt] for bolt in own}
        level = stand + thick if turned else parts.underside
        for x, frame in sorted(set(parts.bolts)):
            if frame in wanted:
                _dot(drawing, *view.point(x, level))
    if step.kind == "prepare" and there and not about:
        level = stand + thick if turned else parts.underside
        for x in sorted({x for x, _ in parts.bolts}):
            _dot(drawing, *view.point(x, level))
    for route in routes:
        if step.kind in ("cable", "prepare") and there and (route.name in about or route.outlet in about):
            _cord(drawing, view, route, step, parts, stand, x0, turned)
    return drawing


def _feet_of(plan: Assembly, name: str) -> set[str]:
    return set(next(frame.feet for frame in plan.frames if frame.name == name))


def _cord(
    drawing: Picture,
    view: View,
    route: CableRoute,
    step: AssemblyStep,
    parts: _Parts,
    stand: float,
    x0: float,
    down: bool,
) -> None:
    """The cable's way from the near side, with its unit as a square."""
    places = []
    for point in route.way:
        x, depth = point.at[0] + x0, point.at[2]
        places.append(view.point(x, stand + depth if down else parts.high - depth))
    px, py = places[0]
    drawing.rectangle(px - 1.1, py - 1.1, 2.2, 2.2, fill=CHOSEN, stroke=CHOSEN)
    if route.name in step.parts:
        drawing.polyline(places, stroke=PAPER, weight=4 * THICK)
        drawing.polyline(places, stroke=CHOSEN, weight=2 * THICK)


def _dot(drawing: Picture, x: float, y: float) -> None:
    drawing.circle(x, y, 1.1, fill=CHOSEN, stroke=PAPER, weight=THIN)


def _earth(drawing: Picture, x: float, y: float) -> None:
    """The mark of protective earth."""
    drawing.line(x, y, x + 3.0, y, stroke=CHOSEN, weight=THICK)
    for k, half in enumerate((2.0, 1.3, 0.6)):
        drawing.line(x + 3.0 + 0.9 * k, y - half, x + 3.0 + 0.9 * k, y + half, stroke=CHOSEN, weight=THICK)


def _turn_arrow(drawing: Picture, x: float, y: float) -> None:
    drawing.path(f"M{x - 3.0:.2f} {y:.2f}A3 3 0 1 1 {x + 2.6:.2f} {y + 1.5:.2f}", stroke=CHOSEN, weight=THICK)
    drawing.polygon([(x + 2.6, y + 3.4), (x + 1.2, y + 0.9), (x + 4.0, y + 1.0)], fill=CHOSEN, stroke=CHOSEN)
