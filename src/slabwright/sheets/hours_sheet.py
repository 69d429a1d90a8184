"""The hours: in all, what they rest on, what took longer; then each operation with room for what it took."""

from __future__ import annotations

from collections.abc import Sequence

from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.words import Words, plain
from slabwright.shop.hours import hours_words
from slabwright.shop.hours_results import KindHours, TookLonger
from slabwright.shop.operations_results import WorkOperation
from slabwright.shop.shop_plan import ShopPlan

_ROWS = 22
"""Operations in a column of the list."""
_KINDS = 28
_LONGER = 6


def hours_sheets(context: Context) -> list[Sheet]:
    """The hours in all, and the operations in the order of the work; none where nothing is to be done."""
    shop = context.plan.shop
    if shop is None:
        return []
    work = in_order(shop)
    if not work:
        return []
    pages = [work[start : start + 2 * _ROWS] for start in range(0, len(work), 2 * _ROWS)]
    found = [_in_all(shop, context.words)]
    for number, page in enumerate(pages, start=1):
        title = "What each takes" if len(pages) == 1 else f"What each takes {number} of {len(pages)}"
        half = min(-(-len(page) // 2), _ROWS) if number == len(pages) else _ROWS
        columns = [[_table(part)] for part in (page[:half], page[half:]) if part]
        lead = "In the order of the work, hands on it only. Write your minutes in the last column."
        found.append(Sheet(title, lead, [blocks.side_by_side(columns)], [[]], "wide"))
    return found


def in_order(shop: ShopPlan) -> list[WorkOperation]:
    """Operations with somebody at them, those done first, then by the day on which they are begun."""
    work = [each for each in shop.operations if each.attended > 0.0]
    if shop.schedule is None:
        return work
    begun: dict[str, float] = {}
    for planned in shop.schedule.operations:
        # Long hot work is planned in parts: "Weld the base, part 1 of 2".
        begun.setdefault(planned.name.rpartition(", part ")[0] or planned.name, planned.start)
        begun[planned.name] = planned.start
    return sorted(work, key=lambda each: begun.get(each.name, float("-inf")))


def rests_short(rests: str) -> str:
    """What a time rests on, in a word or two."""
    if rests.startswith("usual"):
        return "usual"
    return rests.replace(" logged", "").replace("your own minutes", "yours").replace("your own rate", "your rate")


def _table(part: Sequence[WorkOperation]) -> Block:
    rows = []
    for each in part:
        people = f" ({each.people} people)" if each.people > 1 else ""
        done = each.state == "done"
        rows.append(
            (
                plain(f"{each.name}{people}", 46),
                f"{each.attended:.0f}",
                "" if each.took is not None else f"{each.low:.0f} to {each.high:.0f}",
                "logged" if each.took is not None else rests_short(each.rests),
                f"{each.took:.0f}" if each.took is not None else "done" if done else "",
            )
        )
    return blocks.table(["What", "Minutes", "4 in 5", "Rests on", "Took, min"], "lrrll", rows, wide=(0,), pad=5.4)


def span_words(low: float, high: float) -> str:
    """A range of minutes of work, in one unit."""
    return f"{low:.0f} to {high:.0f} min" if high < 90.0 else f"{low / 60.0:.1f} to {high / 60.0:.1f} h"


def amount_said(amount: float, unit: str, words: Words) -> str:
    """How much there is of what drives a kind of work."""
    if unit == "min":
        return hours_words(amount)
    factor, name = _in_units(unit, words)
    return f"{amount * factor:.3g} {name}"


def _in_units(unit: str, words: Words) -> tuple[float, str]:
    """What a metric amount is multiplied by, and its unit, in the units of the job."""
    first, _, rest = unit.partition(" ")
    if first not in ("m", "m2") or words.metric:
        return 1.0, unit.replace("m2", "m²")
    feet = 1.0 / 0.3048
    return (feet, f"ft {rest}".strip()) if first == "m" else (feet**2, f"sq ft {rest}".strip())


def _in_all(shop: ShopPlan, words: Words) -> Sheet:
    hours = shop.hours
    picture: list[Block] = [
        blocks.figures(
            [
                (hours_words(hours.attended), "of all hands, even chance", True),
                (span_words(hours.low, hours.high), "4 times in 5", False),
                (hours_words(hours.machine), "of it at the machine bed", False),
            ]
        )
    ]
    kinds = shop.rates
    picture.append(
        blocks.table(
            ["Kind of work", "How much", "Hours", "4 in 5", "Rests on"],
            "lrrrl",
            [_kind(each, words) for each in kinds[:_KINDS]],
            wide=(0,),
            pad=2.6,
        )
    )
    if len(kinds) > _KINDS:
        others = sum(each.person_minutes for each in kinds[_KINDS:])
        picture.append(blocks.text(f"and {len(kinds) - _KINDS} more kinds, {hours_words(others)} in all."))
    share = 100.0 * hours.from_logs
    text: list[Block] = [blocks.heading("What they rest on")]
    text.append(
        blocks.text(
            f"{share:.0f} % of the hours rest on jobs that you logged or on your own figures; the rest on usual times of a small"
            " shop, from memory. Each job that is logged makes the range narrower."
        )
    )
    done, left = hours_words(hours.done), hours_words(hours.left)
    text.append(blocks.text(f"On average {hours_words(hours.mean)}: {done} done, {left} left."))
    if hours.lost > 0.0:
        text.append(blocks.text(f"Lost on what failed: {hours_words(hours.lost)}."))
    if shop.took_longer:
        text += _longer(shop.took_longer)
    own = [each for each in kinds if each.logged and each.usual_rate > 0.0]
    if own:
        text.append(blocks.heading("What your log says of you"))
        text.append(
            blocks.table(
                ["Kind of work", "Usual", "Yours", "For each"],
                "lrrl",
                [_yours(each, words) for each in own[:10]],
                wide=(0,),
                pad=2.6,
            )
        )
    return Sheet("Hours", "Hands on it; what waits by itself is on the days' sheet.", picture, [text])


def _kind(each: KindHours, words: Words) -> tuple[str, str, str, str, str]:
    amount = amount_said(each.amount, each.unit, words)
    spread = span_words(each.low, each.high) if each.high - each.low > 0.5 else "logged"
    # What it takes is told in the unit of its range, so that the two can be compared.
    short = max(each.high, each.person_minutes) < 90.0
    takes = f"{each.person_minutes:.0f} min" if short else f"{each.person_minutes / 60.0:.1f} h"
    return plain(each.kind, 34), amount, takes, spread, rests_short(each.rests)


def _yours(each: KindHours, words: Words) -> tuple[str, str, str, str]:
    """A kind's usual rate beside the one that the log teaches."""
    factor, unit = _in_units(each.unit, words)
    name = "minute planned" if each.unit == "min" else unit
    return plain(each.kind, 26), f"{each.usual_rate / factor:.3g} min", f"{each.rate / factor:.3g} min", name


def _longer(items: Sequence[TookLonger]) -> list[Block]:
    """What took longer than expected, and what shorter."""
    found: list[Block] = [blocks.heading("What took longer?")]
    longer = [each for each in items if each.difference >= 1.0]
    for each in longer[:_LONGER]:
        note = f": {plain(each.note, 90)}" if each.note else ""
        said = f"{each.operation}: {hours_words(each.took)}, {hours_words(each.expected)} expected{note}."
        found.append(blocks.voice("care", said) if each.outside else blocks.text(said))
    if len(longer) > _LONGER:
        found.append(blocks.text(f"and {len(longer) - _LONGER} more: plan.json, shop.took_longer."))
    if not longer:
        found.append(blocks.text("Nothing so far."))
    return found
