"""The delivery route: each passage drawn with the piece on its way, what is left, and what to do on the day."""

from __future__ import annotations

import math
from collections.abc import Sequence

from slabwright.carry.route_results import Passage, Way, WayIn
from slabwright.job.carry_models import Delivery
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.picture import Picture
from slabwright.sheets.route_drawing import route_drawing
from slabwright.sheets.words import Words, plain

_GAP = 5.0
_ON_A_PAGE = 4
_IN_A_ROW = 5
"""So few are drawn in a row, with all that is said below them."""
_ROW_HIGH = 88.0
"""Of a drawing in a row [mm]."""
_PROBLEMS = 3


def route_sheets(context: Context, way: WayIn, delivery: Delivery) -> list[Sheet]:
    """The delivery route, four drawings a page; none where no step is stated.

    Args:
        context: of the job
        way: the way in
        delivery: as the maker stated it
    """
    if way.margin is None:
        return []
    words, paper = context.words, context.paper
    shown = [
        (number, passage, found)
        for number, passage in enumerate(way.passages, 1)
        for found in passage.ways
        if found.part == passage.tight.part
    ]
    if 1 < len(shown) <= _IN_A_ROW:
        return [_one_sheet(context, way, delivery, shown)]
    pages = max(2, math.ceil(len(shown) / _ON_A_PAGE)) if len(shown) > 1 else 1
    each = _ON_A_PAGE if len(shown) > _ON_A_PAGE else math.ceil(len(shown) / pages)
    width = (paper.picture_width - _GAP) / 2 if each > 1 else paper.picture_width
    rows = math.ceil(each / 2)
    high = (paper.inner_height - _GAP * (rows - 1)) / rows - 1.0
    drawings = [_drawn(each, width, high, words) for each in shown]
    texts = [_what_is_left(context, way, delivery), _what_to_do(words, delivery, way)]
    if pages == 1:
        texts = [texts[0] + texts[1]]
    sheets = []
    for page in range(pages):
        here = drawings[page * each : (page + 1) * each]
        drawn: list[Block] = [blocks.cards(here, 2 if each > 1 else 1, _GAP)]
        sheets.append(
            Sheet(
                "Delivery route" if page == 0 else f"Delivery route, {page + 1}",
                _lead(way, words),
                drawn,
                [texts[min(page, len(texts) - 1)]],
            )
        )
    return sheets


_Shown = tuple[int, Passage, Way]


def _one_sheet(context: Context, way: WayIn, delivery: Delivery, shown: Sequence[_Shown]) -> Sheet:
    """All passages in a row, what is left and what to do below them."""
    words, paper = context.words, context.paper
    width = (paper.inner_width - _GAP * (len(shown) - 1)) / len(shown)
    drawings = [_drawn(each, width, _ROW_HIGH, words) for each in shown]
    heading, steps, checks, care = _what_to_do(words, delivery, way)
    text = [_what_is_left(context, way, delivery), [heading, steps], [checks, care]]
    return Sheet("Delivery route", _lead(way, words), [blocks.cards(drawings, len(shown), _GAP)], text, "wide")


def _drawn(each: _Shown, width: float, high: float, words: Words) -> Picture:
    number, passage, found = each
    fit = int(width / 1.9)
    place = f", {found.place}" if found.place else ""
    head = plain(f"{number} {passage.name[:1].upper()}{passage.name[1:]}{place}", min(44, fit))
    said = plain(f"{found.part[:1].upper()}{found.part[1:]}, {_lean(found.attitude, found.poses)}", min(44, fit))
    return route_drawing(found, head, said, width, high, words)


def _lead(way: WayIn, words: Words) -> str:
    return plain(
        f"Carried: {way.carried}. Tightest: {way.tightest}, {_left(way.margin or 0.0, words)}.", blocks.LONGEST_LEAD
    )


def _lean(attitude: str, poses: tuple[object, ...]) -> str:
    tilt = getattr(poses[0], "tilt", 0.0) if poses else 0.0
    return f"leaned {tilt:.0f}° out of level" if attitude == "tilted" and tilt else attitude


def _left(margin: float, words: Words) -> str:
    if margin < 0.0:
        return f"{words.place(math.ceil(-margin))} lacking"
    return f"{words.place(math.floor(margin))} left"


def _what_is_left(context: Context, way: WayIn, delivery: Delivery) -> list[Block]:
    words = context.words
    margin = way.margin or 0.0
    great = words.place(math.floor(margin)) if margin >= 0.0 else f"−{words.place(math.ceil(-margin))}"
    found: list[Block] = [
        blocks.figures([(great, "least left on each side", margin >= 0.0)]),
        blocks.text(
            f"Beyond {words.place(delivery.hand_room)} for hands and {words.place(delivery.padding)} of padding on each side."
        ),
    ]
    rows = [_row(number, passage, way.carried == "whole", words) for number, passage in enumerate(way.passages, 1)]
    tight = [number for number, passage in enumerate(way.passages) if passage.margin == way.margin]
    found.append(blocks.table(["", "Passage", "Goes", "Left"], "lllr", rows, chosen=tight, wide=(1, 2), pad=2.4))
    told = [finding for finding in context.plan.findings if finding.code in _CODES]
    found += [blocks.problem(finding) for finding in told[:_PROBLEMS]]
    return found


_CODES = ("carry/way-blocked", "carry/no-hand-room", "carry/way-tight", "carry/taken-apart")


def _row(number: int, passage: Passage, whole: bool, words: Words) -> tuple[str, ...]:
    tight = passage.tight
    return (
        str(number),
        plain(passage.name, 22),
        plain(tight.held if whole else f"{tight.part}, {tight.held}", 34) + _easier(tight, words),
        words.place(math.floor(passage.margin)).replace("-", "−") + (" or more" if passage.or_more else ""),
    )


def _easier(way: Way, words: Words) -> str:
    """The way that is drawn, where it is easier to carry than the one that leaves most."""
    return "" if way.most is None else f" (as drawn, {way.attitude}: {words.place(math.floor(way.margin))})"


def _what_to_do(words: Words, delivery: Delivery, way: WayIn) -> list[Block]:
    off = (
        []
        if way.carried == "whole"
        else [f"At the workshop: {way.carried}. Bolts and washers in a bag, marked, on the base."]
    )
    kinds = {step.kind for step in delivery.steps}
    steps = [
        *off,
        "Walk the way first, tape in hand: doors wide open or off their hinges, lamps and pictures down.",
        "Protect floor and door frames: board on soft floors, runners taped down, corner guards on jambs.",
        f"Pad the piece, {words.place(delivery.padding)} all round; wrapped corners last off.",
    ]
    if "van" in kinds:
        steps.append(
            "In the van: top on its long edge or flat on blankets; wood and steel lashed apart, each to the wall."
        )
    if "stairs" in kinds:
        steps.append("On stairs the strongest hands below; one calls, all stop at the landing.")
    steps += [
        "Turn it as drawn: from the dashed outline along the blue line to the filled one.",
        "On site: put it down where it stays, turn the feet until none rocks, then level, long way first.",
    ]
    checks = [
        "Every size of the way measured, at its narrowest",
        "Room between passages to set it down and turn it as the next one wants",
        "Bolts snugged again after levelling",
    ]
    return [
        blocks.heading("On the day"),
        blocks.steps(steps),
        blocks.checks(checks),
        blocks.caution("handling", "lifting the base"),
    ]
