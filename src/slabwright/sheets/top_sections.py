"""Sections through what is cut into the top: a card for each kind of cut, hatched wood, its depths and the wood left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.job.top_models import Insert, Outlet
from slabwright.sheets.colours import INK, PAPER, SOFT, WOOD
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, path_of, text_width
from slabwright.sheets.top_drawing import Seen
from slabwright.sheets.top_words import mark
from slabwright.sheets.words import Words, plain

HIGH = 32.5
"""Of a card [mm]."""
_WOOD = 15.5
_HEAD = 11.5
_SIDE = 15.0


@dataclass(frozen=True)
class Section:
    """One kind of cut.

    Attributes:
        head: numbers of the features that have it
        words: what it is
        steps: share of the card's width and depth below the face of each step, from the face down [1, mm]
        left: wood between its floor and the other face; None where it goes through [mm]
        under: what that wood is called
    """

    head: str
    words: str
    steps: tuple[tuple[float, float], ...]
    left: float | None
    under: str = "wood left"


def _spans(numbers: Sequence[int]) -> str:
    """Numbers, those in a row as `3–8`."""
    parts: list[list[int]] = []
    for number in sorted(numbers):
        if parts and number == parts[-1][-1] + 1:
            parts[-1].append(number)
        else:
            parts.append([number])
    return ", ".join(str(p[0]) if len(p) == 1 else f"{p[0]}{', ' if len(p) == 2 else '–'}{p[-1]}" for p in parts)


def sections(features: Sequence[Seen], words: Words) -> list[Section]:
    """The kinds of cut of a face, each once; a hole that lies in a pocket is shown in it."""
    own = [each for each in features if each.own]
    held: dict[str, list[Seen]] = {}
    for each in own:
        if isinstance(each.asked, Insert) and each.feature.lies_in:
            held.setdefault(each.feature.lies_in, []).append(each)
    groups: dict[tuple[object, ...], list[tuple[Seen, list[Seen]]]] = {}
    for each in own:
        if isinstance(each.asked, Insert) and each.feature.lies_in:
            continue
        inner = held.get(each.feature.name, [])
        first = inner[0] if inner else None
        key = (
            each.feature.kind,
            round(each.feature.depth, 2),
            _across(each),
            None if first is None else (round(first.feature.depth, 2), _across(first)),
        )
        groups.setdefault(key, []).append((each, inner))
    return [_section(found, words) for found in groups.values()]


def _across(each: Seen) -> float:
    """What tells two of a kind apart: a hole's diameter, a channel's width; pockets differ by their depth alone."""
    for key in ("drill", "diameter", "width"):
        if each.feature.kind not in ("pocket", "bar", "key") and hasattr(each.asked, key):
            return round(float(getattr(each.asked, key)), 2)
    return 0.0


def _section(found: Sequence[tuple[Seen, list[Seen]]], words: Words) -> Section:
    first, inner = found[0]
    feature, asked = first.feature, first.asked
    head = _spans([each.number for each, _ in found])
    whole = feature.upper, feature.lower
    if isinstance(asked, Outlet):
        steps = ((0.46, asked.recess_depth), (0.3, whole[1] - whole[0]))
        said = f"hole Ø {mark(asked.diameter, words)}, recess Ø {mark(asked.recess_diameter, words)}"
        return Section(head, said, steps, feature.wood_left)
    if feature.kind == "through hole":
        return Section(head, f"hole Ø {mark(_across(first), words)}, through", ((0.16, whole[1] - whole[0]),), None)
    if inner:
        hole = inner[0]
        assert isinstance(hole.asked, Insert)
        holes = _spans([each.number for _, held in found for each in held])
        said = f"{holes}: hole Ø {mark(hole.asked.drill, words)} in {feature.kind} {head}"
        return Section(
            f"{head}, {holes}",
            said,
            ((0.7, feature.depth), (0.16, hole.feature.depth)),
            hole.feature.wood_left,
            f"{words.number(feature.wood_left or 0.0)} left, under hole",
        )
    share = {"pocket": 0.7, "bar": 0.5, "key": 0.5, "channel": 0.26, "insert": 0.16}[feature.kind]
    told = {
        "insert": f"hole Ø {mark(_across(first), words)}",
        "channel": f"channel, {mark(_across(first), words)} wide",
    }
    return Section(head, told.get(feature.kind, feature.kind), ((share, feature.depth),), feature.wood_left)


def section_card(section: Section, thickness: float, width: float, words: Words) -> Picture:
    """A section; depths to scale, widths not."""
    card = Picture(width, HIGH)
    fit = int(width / (0.5 * TEXT))
    card.text(0.0, 4.0, plain(section.head, fit - 2), weight=700)
    card.text(0.0, 8.6, plain(section.words, fit), fill=SOFT)
    left, right, top = _SIDE - 1.0, width - _SIDE, _HEAD
    scale, foot = _WOOD / thickness, _HEAD + _WOOD
    middle, wide = (left + right) / 2, right - left
    edge = [(left, top)]
    for share, depth in section.steps:
        half, floor = share * wide / 2, top + scale * depth
        edge += [(middle - half, edge[-1][1]), (middle - half, floor)]
    back = [(2 * middle - x, y) for x, y in reversed(edge)]
    through = section.steps[-1][1] >= thickness - 1e-6
    halves, whole = [[*edge, (left, foot)], [*back, (right, foot)]], [*edge, *back, (right, foot), (left, foot)]
    parts = halves if through else [whole]
    for part in parts:
        card.polygon(part, fill=WOOD, weight=0.0)
        card.hatch(path_of(part, close=True), (left, top, right, foot), step=2.2, stroke=SOFT)
    for part in (edge, back):
        card.polyline(part, weight=THICK)
    if not through:
        card.line(edge[-1][0], edge[-1][1], back[0][0], back[0][1], weight=THICK)
    for x in (left, right):
        card.line(x, top, x, foot, weight=THIN, dash="1.2 0.8")
    if through:
        half = section.steps[-1][0] * wide / 2
        card.line(left, foot, middle - half, foot, weight=THICK)
        card.line(middle + half, foot, right, foot, weight=THICK)
    else:
        card.line(left, foot, right, foot, weight=THICK)
    _upright(card, left - 1.6, top, foot, words.number(thickness), ends=True)
    depths = [depth for _, depth in section.steps if depth < thickness - 1e-6]
    for k, depth in enumerate(depths):
        x = right + 1.6 + 1.4 * k
        floor = top + scale * depth
        half = section.steps[k][0] * wide / 2
        card.line(middle + half, floor, x + 0.8, floor, weight=THIN, stroke=INK)
        _tick(card, x, top, floor)
    for k, depth in enumerate(depths):
        y = top + scale * depth
        room = top + 1.2 if len(depths) > 1 and k == 0 else max(y, top + 1.2 + (4.2 if k else 0.0))
        card.text(right + 2.4 + 1.4 * len(depths), room + 0.35 * TEXT, words.number(depth), weight=700)
    if section.left is not None and not through:
        floor = top + scale * section.steps[-1][1]
        _tick(card, middle, floor, foot)
    if section.left is not None:
        card.text(0.0, foot + 4.8, f"{section.under} {words.fine(section.left)}", weight=600)
    return card


def _tick(card: Picture, x: float, y0: float, y1: float) -> None:
    card.line(x, y0, x, y1, weight=MIDDLE)
    for y in (y0, y1):
        card.line(x - 0.7, y + 0.7, x + 0.7, y - 0.7, weight=MIDDLE)


def _upright(card: Picture, x: float, y0: float, y1: float, said: str, ends: bool) -> None:
    _tick(card, x, y0, y1)
    wide = text_width(said)
    card.rectangle(x - 1.2 - wide, (y0 + y1) / 2 - 2.0, wide, 4.0, fill=PAPER, weight=0.0)
    card.text(x - 1.2, (y0 + y1) / 2 + 0.35 * TEXT, said, anchor="end" if ends else "start")
