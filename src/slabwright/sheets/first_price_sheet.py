"""The first price of a job that has no slab yet: what it may cost, when it may be ready, what is to be asked still."""

from __future__ import annotations

import datetime
from collections.abc import Callable

from slabwright.job.brief_models import Brief
from slabwright.job.models import JobFile
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, INK, SOFT
from slabwright.sheets.context import Context
from slabwright.sheets.day_drawing import day_words
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, Picture
from slabwright.sheets.price_sheet import price_strip
from slabwright.sheets.words import plain
from slabwright.shop.money import format_about
from slabwright.shop.planning_price import FirstPrice

_SEATS = "How high are the chairs' seats?"
_ASKED: tuple[tuple[str, Callable[[Brief], object]], ...] = (
    ("How many sit at it, and do some sit at its ends?", lambda brief: brief.seats),
    (_SEATS, lambda brief: brief.chair_seat),
    ("How much room is behind those who sit?", lambda brief: brief.behind),
    ("Is the floor even, or is there a rug?", lambda brief: brief.floor),
    ("Does the sun reach it?", lambda brief: brief.sun),
    ("Where are the wall sockets?", lambda brief: brief.sockets),
    ("What doors must it pass, how wide and high?", lambda brief: brief.doors),
    ("Is a template of the floor signed?", lambda brief: brief.template),
    ("By when is it wanted?", lambda brief: brief.wanted),
)


def first_price_sheets(context: Context) -> list[Sheet]:
    """The first price; none where a question is open that it cannot do without, or no hour has a rate."""
    shop = context.plan.shop
    if shop is None or shop.first is None:
        return []
    first = shop.first
    price, currency = first.price, first.price.currency
    low, most_likely, high = (
        format_about(each, price.low, price.high, currency) for each in (price.low, price.total, price.high)
    )
    picture: list[Block] = [
        blocks.figures(
            [
                (most_likely, "to pay, tax and all, as it looks today", True),
                *([(day_words(first.earliest), f"earliest, {first.earliest.year}", False)] if first.earliest else []),
            ]
        ),
        blocks.picture(price_strip(price, context.paper.picture_width)),
        blocks.text(
            f"One in ten jobs like this would come to less than {low}, one in ten to more than"
            f" {high}. The shop's own figures: tell the client the range, not what it is made of."
        ),
        blocks.heading("When it can be ready"),
        blocks.picture(_ready_drawing(first, context.paper.picture_width)),
    ]
    picture += [blocks.heading("What it rests on"), _facts(context, first)]
    lead = "Before there is a slab; price and date narrow as facts come in."
    return [Sheet("First price", lead, picture, [_text(context, first)])]


def open_brief(stated: JobFile) -> list[str]:
    """What the client has not been asked yet, as questions."""
    brief = stated.brief
    found = [question for question, answer in _ASKED if brief is None or not answer(brief)]
    if brief is None or not (brief.chair_arms or brief.chair_seat):
        # A brief that tells the seats and no arms means chairs without arms.
        found = [f"{each[:-1]}, and their arms?" if each == _SEATS else each for each in found]
    return found


def _facts(context: Context, first: FirstPrice) -> Block:
    rows = [(fact.what[:1].upper() + fact.what[1:], fact.state) for fact in first.facts]
    made, words = first.planning, context.words
    if made is not None:
        sizes = " x ".join(words.place(size) for size in (made.length, made.width, made.thickness))
        rows.append(("Slab to look for, rough", sizes))
        rows.append(
            (
                "Flat board that it gives",
                f"{words.fine(made.board)}; 19 times in 20 at least {words.least(made.board_low)}",
            )
        )
        if made.steel_mass is not None:
            joints = f"{made.steel_parts} pieces, {made.steel_joints} joints"
            rows.append(("Steel of the base", f"{words.weight(made.steel_mass)}, {joints}"))
    return blocks.table(["What", "How ripe, or how much"], "ll", rows, wide=(1,), pad=2.8)


def _text(context: Context, first: FirstPrice) -> list[Block]:
    found: list[Block] = []
    assumed = first.planning.assumed if first.planning is not None else ()
    if assumed:
        found.append(blocks.voice("care", f"Taken, as nothing is stated yet: {plain('; '.join(assumed), 240)}."))
    if first.price.not_priced:
        names = plain("; ".join(first.price.not_priced), 240)
        found.append(blocks.voice("care", f"Without a price, and left out: {names}."))
    found += [
        blocks.problem(finding)
        for finding in context.plan.findings
        if finding.code == "planning/too-soon" or finding.code == "planning/thin-slab"
    ]
    questions = open_brief(context.plan.job.stated)
    found.append(blocks.heading("Open questions"))
    found.append(
        blocks.checks(questions) if questions else blocks.text("None of the brief: the slab is looked for and read.")
    )
    found.append(blocks.heading("What comes next"))
    found.append(
        blocks.steps(
            [
                "Tell the client the range and the earliest day, and what is still taken.",
                "Write the answers into [brief]; sizes into [piece]; the slab that you look for into [slab.planned].",
                "When there is a slab, read both faces: price and days are then worked out from it.",
            ]
        )
    )
    return found


def _ready_drawing(first: FirstPrice, width: float) -> Picture:
    """From the order to the earliest and the latest day."""
    drawing = Picture(width, 16.0)
    most = max(first.days_high, 1.0)

    def at(days: float) -> float:
        return 2.0 + (width - 34.0) * days / most

    drawing.line(at(0.0), 6.0, at(first.days_low), 6.0, stroke=SOFT, weight=MIDDLE, dash="1.6 1")
    drawing.line(at(first.days_low), 6.0, at(first.days_high), 6.0, stroke=CHOSEN, weight=THICK)
    for days, day, word in (
        (0.0, None, "order"),
        (first.days_low, first.earliest, "if all goes well"),
        (first.days_high, first.latest, "1 in 10 later"),
    ):
        drawing.line(at(days), 3.6, at(days), 8.4, stroke=INK, weight=MIDDLE)
        side = "start" if days == 0.0 else "middle"
        drawing.text(at(days), 2.6 + TEXT * 0.1, _when(days, day), anchor=side, weight=600)
        drawing.text(at(days), 13.0, word, anchor=side, fill=SOFT)
    return drawing


def _when(days: float, day: datetime.date | None) -> str:
    if days == 0.0:
        return ""
    return f"{days:.0f} days" if day is None else f"{day_words(day)} {day.year}"
