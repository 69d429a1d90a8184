"""Lift cards: one for each lift, with the weight of each end, the people, the aid and what to mind."""

from __future__ import annotations

import math
from collections.abc import Sequence

from shapely import affinity
from shapely.geometry.base import BaseGeometry

from slabwright.base.basing import BasePlan
from slabwright.carry.lifts_results import Lift
from slabwright.carry.mass_results import Masses
from slabwright.sheets import blocks
from slabwright.sheets.base_drawing import seen_from
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, STOP, WOOD
from slabwright.sheets.context import Context
from slabwright.sheets.lift_words import done_with
from slabwright.sheets.picture import GREAT, MIDDLE, THICK, Picture, path_of
from slabwright.sheets.words import Words

_COLUMNS = 4
_GAP = 7.0
_HIGH = 70.0
_FLOOR = 49.0
"""Of the floor in a card's drawing, from its upper edge [mm]."""
_PERSON = 17.0
_WEIGHT = 0.9 * GREAT
_SLOPE = 25.0
"""A flight in the drawing [deg]: flatter than a real one, so that the card stays low."""

Point = tuple[float, float]


def lift_sheets(context: Context, lifts: Sequence[Lift], masses: Masses) -> list[Sheet]:
    """The lift cards, four on a sheet, in the order of the work.

    Args:
        context: of the job's sheets
        lifts: from `slabwright.carry.lifts`
        masses: whose states they lift
    """
    words = context.words
    width = (context.paper.inner_width - (_COLUMNS - 1) * _GAP) / _COLUMNS
    basis = "weighed" if masses.basis == "weighed" else "not weighed"
    sheets = []
    groups = [lifts[k : k + _COLUMNS] for k in range(0, len(lifts), _COLUMNS)]
    for number, group in enumerate(groups):
        title = "Lift cards" if number == 0 else f"Lift cards, {number + 1}"
        lead = f"The {masses.of}: {_range(masses.mass.value, masses.mass.low, masses.mass.high, words)}; {basis}."
        columns = [_said(lift, words) for lift in group]
        columns += [[] for _ in range(_COLUMNS - len(group))]
        if len(group) < _COLUMNS:
            columns[-1] = [blocks.caution("handling", "lifting the base")]
        drawn = blocks.cards(
            [card(lift, width, words, seen_of(context.plan.base, lift)) for lift in group], _COLUMNS, _GAP
        )
        sheets.append(Sheet(title, lead, [drawn], columns, "wide"))
    return sheets


def _range(value: float, low: float, high: float, words: Words) -> str:
    low_words, unit = words.weight(low).split()
    return f"{words.weight(value)} ({low_words} to {words.weight(high).split()[0]} {unit}, 19 times in 20)"


def _said(lift: Lift, words: Words) -> list[Block]:
    """What a card says below its drawing."""
    told: list[Block] = [blocks.heading(lift.name)]
    who, when = _who(lift), f"{lift.when[:1].upper()}{lift.when[1:]}. At most"
    told.append(
        blocks.text(f"{when} {words.weight_most(lift.mass_high)}. {who}")
        if lift.ready
        else blocks.voice("care", f"{when} {words.weight_most(lift.mass_high)}. {who}")
    )
    told.append(blocks.text(f"Alone? {_alone(lift)}"))
    if lift.lifting_index is not None and lift.weight_limit is not None:
        index = f"Lifting index {lift.lifting_index:.1f}: recommended limit {words.weight(lift.weight_limit)} (NIOSH)."
        told.append(blocks.text(index) if lift.lifting_index <= 1.0 else blocks.voice("care", index))
    else:
        told.append(blocks.text(f"No lifting index: {lift.why_not}."))
    told.append(blocks.steps(lift.steps))
    if lift.instead:
        told.append(blocks.text(lift.instead))
    told.append(blocks.voice("care", lift.caution))
    return told


def _people(number: int) -> str:
    return "One person" if number == 1 else f"{number} people"


def _who(lift: Lift) -> str:
    """Who lifts, and with what."""
    if lift.people is None:
        return "Four people are not enough, and no aid serves: take it apart, or ask a carrier."
    by_hand = "" if lift.hand_people is None else f" By hand it takes {lift.hand_people}."
    if lift.aid is None:
        lacks = (
            "" if lift.ready else f", and {'one is' if lift.people_here == 1 else f'{lift.people_here} are'} at hand"
        )
        return f"{_people(lift.people)} by hand{lacks}."
    if lift.ready:
        return f"{_people(lift.people)} with the {lift.aid}: {lift.aid_words}."
    here = "One is" if lift.people_here == 1 else f"{lift.people_here} are"
    return f"{here} at hand; it takes {_people(lift.people).lower()} with a {lift.aid} that may carry it.{by_hand}"


def _alone(lift: Lift) -> str:
    if lift.alone == "with an aid":
        return f"Only with the {lift.aid}." if lift.aid else lift.alone_words
    return "Yes, close to the body." if lift.alone == "yes" else lift.alone_words.replace("Not alone.", "No.")


def seen_of(base: BasePlan | None, lift: Lift) -> BaseGeometry | None:
    """The steel of a lift as it is seen from the side; None where it lifts none, or more than steel.

    Args:
        base: whose steel it is; None: there is none yet
        lift: of the base, of a leg frame or of another welded part
    """
    if base is None or not (lift.state == "base" or lift.state.endswith("leg frame")):
        return None
    return seen_from(base, "left" if lift.ends[0].startswith("near") else "front").steel


def card(lift: Lift, width: float, words: Words, steel: BaseGeometry | None = None) -> Picture:
    """The drawing of a card: the load from the side, an arrow up at each end, its weight in great figures, the people.

    Args:
        lift: one of the work
        width: of the card [mm]
        words: how figures are written
        steel: from the side, for a lift of steel; see `seen_of`. None: two uprights and a rail stand for it
    """
    drawing = Picture(width, _HIGH)
    middle = width / 2.0
    if lift.ends[0].startswith("near edge"):
        ends = _turning(drawing, middle)
    elif lift.ends[0] == "lower end":
        ends = _on_a_flight(drawing, width, lift)
    else:
        ends = _level(drawing, width, lift, steel)
    _hung(drawing, lift, middle, min(y for _, y in ends))
    _crowd(drawing, lift, width, ends)
    for (x, y), anchor, at, weight, name in zip(
        ends, ("start", "end"), (0.0, width), lift.per_end, lift.ends, strict=True
    ):
        _arrow(drawing, x, y)
        drawing.text(at, _HIGH - 6.0, words.weight(weight), size=_WEIGHT, anchor=anchor, weight=600)
        drawing.text(at, _HIGH - 0.8, name, anchor=anchor, fill=SOFT)
    return drawing


def _arrow(drawing: Picture, x: float, y: float) -> None:
    """A hold: an arrow upward whose head is at the place."""
    drawing.line(x, y + 10.0, x, y + 2.5, weight=2 * THICK, stroke=CHOSEN)
    drawing.polygon([(x, y + 0.3), (x - 1.6, y + 3.4), (x + 1.6, y + 3.4)], fill=CHOSEN, stroke=CHOSEN)


def _person(drawing: Picture, x: float, floor: float) -> None:
    """A person, standing: head, body, legs."""
    head = floor - _PERSON
    drawing.circle(x, head + 1.8, 1.8, weight=MIDDLE, fill=PAPER)
    drawing.polygon(
        [(x - 2.0, head + 4.2), (x + 2.0, head + 4.2), (x + 1.5, head + 10.2), (x - 1.5, head + 10.2)], fill=PAPER
    )
    for side in (-1.0, 1.0):
        drawing.line(x + side * 1.0, head + 10.2, x + side * 1.5, floor, weight=MIDDLE)


def _floor(drawing: Picture, x0: float, x1: float, y: float) -> None:
    drawing.line(x0, y, x1, y, weight=THICK)


def _level(drawing: Picture, width: float, lift: Lift, steel: BaseGeometry | None) -> tuple[Point, Point]:
    """A load that is lifted level; where its two holds are."""
    scale = min((width - 34.0) / lift.length, 20.0 / lift.height)
    long, high = max(scale * lift.length, 12.0), max(scale * lift.height, 1.6)
    left, foot = (width - long) / 2.0, _FLOOR - 7.0
    if steel is not None:
        _silhouette(drawing, [(left, foot - high), (left + long, foot)], steel)
    else:
        _load(drawing, [(left, foot - high), (left + long, foot)], lift.state)
    _floor(drawing, 0.0, width, _FLOOR)
    inside = 0.04 * long
    hold = foot if lift.state not in ("finished piece",) else foot - 0.9 * high
    return (left + inside, hold), (left + long - inside, hold)


def _silhouette(drawing: Picture, box: Sequence[Point], steel: BaseGeometry) -> None:
    """Steel as it is seen from the side, fitted into a box; up on the page is up."""
    (x0, y0), (x1, y1) = box
    a0, b0, a1, b1 = steel.bounds
    wide, high = (x1 - x0) / (a1 - a0), (y1 - y0) / (b1 - b0)
    placed = affinity.affine_transform(steel, [wide, 0.0, 0.0, -high, x0 - wide * a0, y1 + high * b0])
    for part in getattr(placed, "geoms", [placed]):
        drawing.path(
            " ".join(path_of(list(ring.coords)) for ring in (part.exterior, *part.interiors)),
            weight=MIDDLE,
            fill=SOFT,
            rule="evenodd",
        )


def _load(drawing: Picture, box: Sequence[Point], state: str) -> None:
    """A board, a leg frame seen from its end, or the piece on its legs."""
    (x0, y0), (x1, y1) = box
    if state == "finished piece":
        thick = max(0.09 * (y1 - y0), 1.2)
        for x in (x0 + 0.18 * (x1 - x0), x1 - 0.18 * (x1 - x0)):
            drawing.rectangle(x - 0.9, y0 + thick, 1.8, y1 - y0 - thick, fill=SOFT)
        drawing.rectangle(x0, y0, x1 - x0, thick, fill=WOOD)
    elif "frame" in state or state.startswith("base"):
        bar = max(0.1 * (x1 - x0), 1.2)
        drawing.rectangle(x0, y0, bar, y1 - y0, fill=SOFT)
        drawing.rectangle(x1 - bar, y0, bar, y1 - y0, fill=SOFT)
        drawing.rectangle(x0, y0, x1 - x0, min(bar, 1.2), fill=SOFT)
    else:
        drawing.rectangle(x0, y0, x1 - x0, y1 - y0, fill=WOOD)


def _turned(points: Sequence[Point], about: Point, degrees: float) -> list[Point]:
    """Points turned about one, rising to the right where positive; y runs down."""
    turn = math.radians(degrees)
    cos, sin = math.cos(turn), math.sin(turn)
    return [
        (about[0] + cos * (x - about[0]) + sin * (y - about[1]), about[1] - sin * (x - about[0]) + cos * (y - about[1]))
        for x, y in points
    ]


def _turning(drawing: Picture, middle: float) -> tuple[Point, Point]:
    """The slab from its end, half way over; where its edges are."""
    bed, long, thick = _FLOOR - 6.0, 26.0, 2.4
    drawing.rectangle(middle - 24.0, bed, 48.0, 2.0, fill=PAPER)
    _floor(drawing, 2.0, 2.0 * middle - 2.0, _FLOOR)
    foot = (middle - 9.0, bed)
    drawing.polygon(
        _turned([foot, (foot[0] + long, bed), (foot[0] + long, bed - thick), (foot[0], bed - thick)], foot, 50.0),
        fill=WOOD,
    )
    return foot, _turned([(foot[0] + long, bed)], foot, 50.0)[0]


def _on_a_flight(drawing: Picture, width: float, lift: Lift) -> tuple[Point, Point]:
    """The load on a flight of stairs; where its lower and its upper hold are."""
    rise = math.tan(math.radians(_SLOPE))
    tread = 7.0
    count = int((width - 8.0) / tread)
    x, y = 4.0, _FLOOR + 1.0
    path: list[Point] = [(0.0, y), (x, y)]
    for _ in range(count):
        path += [(x, y - tread * rise), (x + tread, y - tread * rise)]
        x, y = x + tread, y - tread * rise
    drawing.polyline(path, weight=THICK)
    scale = min(0.42 * width / lift.length, 12.0 / lift.height)
    long, high = scale * lift.length, max(scale * lift.height, 1.6)
    centre = (width / 2.0, _FLOOR + 1.0 - (width / 2.0 - 4.0) * rise - 4.5)
    x0, x1, y0, y1 = centre[0] - long / 2, centre[0] + long / 2, centre[1] - high, centre[1]
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    if lift.state == "finished piece":
        thick = max(0.12 * high, 1.2)
        for leg in (x0 + 0.18 * long, x1 - 0.18 * long):
            post = [(leg - 0.7, y0 + thick), (leg + 0.7, y0 + thick), (leg + 0.7, y1), (leg - 0.7, y1)]
            drawing.polygon(_turned(post, centre, _SLOPE), fill=SOFT)
        corners = [(x0, y0), (x1, y0), (x1, y0 + thick), (x0, y0 + thick)]
    drawing.polygon(_turned(corners, centre, _SLOPE), fill=WOOD)
    lower, upper = _turned([corners[3], corners[2]], centre, _SLOPE)
    return lower, upper


def _hung(drawing: Picture, lift: Lift, middle: float, hold: float) -> None:
    """The aid: a hook with its slings."""
    if lift.ready and lift.aid == "hoist" and not lift.ends[0].startswith(("near edge", "lower end")):
        hook = max(hold - 20.0, 11.0)
        drawing.line(middle, 9.6, middle, hook - 1.2, weight=THICK)
        drawing.circle(middle, hook, 1.2, weight=THICK)
        for side in (-1.0, 1.0):
            drawing.line(middle, hook + 1.2, middle + side * 0.16 * drawing.width, hold - 1.2, weight=MIDDLE)


def _crowd(drawing: Picture, lift: Lift, width: float, ends: tuple[Point, Point]) -> None:
    """The people: of a lift by hand at its ends, more at the heavier; beside it where an aid carries."""
    people = lift.people
    heading, more = done_with(lift)
    drawing.text(0.0, 4.2, heading, weight=600, fill=INK if lift.ready else STOP)
    for number, line in enumerate(more):
        drawing.text(0.0, 8.4 + 4.2 * number, line, weight=600 if lift.ready else 400)
    if people is None:
        return
    if lift.ends[0] == "lower end":
        return
    heavier = 0 if lift.per_end[0] >= lift.per_end[1] else 1
    if lift.ends[0].startswith("near edge"):
        heavier = 1
    count = [people // 2, people // 2]
    count[heavier] += people % 2
    for side, number in enumerate(count):
        for k in range(number):
            shift = 5.5 + 5.0 * k
            x = ends[side][0] + (shift if side else -shift)
            _person(drawing, min(max(x, 3.0), width - 3.0), _FLOOR)
