"""The price for the maker's own eyes: where it comes from, how far it may run, and what an hour earns."""

from __future__ import annotations

from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.context import Context
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture
from slabwright.sheets.words import plain
from slabwright.shop.money import format_amount, plain_amount
from slabwright.shop.price_results import Price

_GROUPS = (
    ("material", "Material"),
    ("labour", "Labour"),
    ("machine", "Machine"),
    ("consumables", "Consumables"),
    ("bought-in", "Bought-in work"),
    ("delivery", "Delivery"),
    ("cover", "Cover"),
    ("overhead", "Overhead"),
    ("contingency", "Put by for what goes wrong"),
    ("profit", "Profit"),
    ("rounding", "Rounding"),
    ("agreed", "The price is agreed"),
    ("tax", "Tax"),
)
_ROWS = 30


def price_sheets(context: Context, price: Price) -> list[Sheet]:
    """Sheets of the price.

    Args:
        context: of the job
        price: from `price`
    """
    currency = price.currency
    rows = []
    for group, name in _GROUPS:
        lines = [line for line in price.lines if line.group == group]
        if lines:
            amount = plain_amount(sum(line.minor for line in lines), currency)
            share = f"{100.0 * amount / price.total:.1f} %" if price.total else ""
            rows.append((name, share, format_amount(amount, currency)))
    rows.append(("The client pays", "", format_amount(price.total, currency)))
    first = Sheet(
        "Price",
        "For the shop's own eyes: not for the client.",
        [
            blocks.picture(price_strip(price, context.paper.picture_width)),
            blocks.table(["What", "Share", "Amount"], "lrr", rows, chosen=(len(rows) - 1,), wide=(0,), pad=2.6),
        ],
        [_text(price)],
    )
    return [first, *_lines(price)]


def _lines(price: Price) -> list[Sheet]:
    told = [
        line
        for line in price.lines
        if line.group in ("material", "labour", "machine", "bought-in", "delivery", "cover")
    ]
    pages = [told[start : start + 2 * _ROWS] for start in range(0, len(told), 2 * _ROWS)]
    found = []
    for number, page in enumerate(pages, start=1):
        columns = []
        for start in range(0, len(page), _ROWS):
            rows = [
                (plain(line.name, 44), line.amount, format_amount(line.price, price.currency))
                for line in page[start : start + _ROWS]
            ]
            columns.append([blocks.table(["Cost", "How much", "Amount"], "llr", rows, wide=(0,), pad=2.6)])
        title = (
            "What the price is made of" if len(pages) == 1 else f"What the price is made of {number} of {len(pages)}"
        )
        notes: list[Block] = [blocks.text("Costs as expected, before anything is put by, profit and tax.")]
        if price.not_priced and number == 1:
            notes.append(
                blocks.voice("care", f"Without a price, and left out: {plain('; '.join(price.not_priced), 300)}.")
            )
        found.append(Sheet(title, "To the currency's smallest unit.", [blocks.side_by_side(columns)], [notes], "wide"))
    return found


def _text(price: Price) -> list[Block]:
    currency = price.currency
    found: list[Block] = [blocks.figures([(format_amount(price.total, currency), "to pay, tax and all", True)])]
    found.append(
        blocks.text(
            f"One in ten jobs like this would come to less than {format_amount(price.low, currency)}, one in ten to more than"
            f" {format_amount(price.high, currency)}."
        )
    )
    if price.holds is not None:
        found.append(blocks.text(f"With what is put by, the cost stays within the price {price.holds:g} times in 100."))
    found.append(blocks.heading("Margin and mark-up"))
    found.append(
        blocks.table(
            ["Profit", "", ""],
            "lrl",
            [
                ("Margin", f"{price.margin:.1f} %", "of the price before tax"),
                ("Mark-up", f"{price.mark_up:.1f} %", "of the cost"),
            ],
            wide=(2,),
        )
    )
    if price.earns_per_hour is not None and price.earns_per_hour_low is not None:
        usual = format_amount(round(price.earns_per_hour, 6), currency)
        slow = format_amount(round(price.earns_per_hour_low, 6), currency)
        found.append(blocks.heading("What an hour earns"))
        found.append(
            blocks.text(
                f"{usual} in {price.hours:.0f} h, if all goes as expected; {slow} if it takes {price.hours_high:.0f} h, as once"
                " in ten."
            )
        )
    found.append(blocks.heading("Payments"))
    found.append(
        blocks.table(
            ["", "Share", "Amount"],
            "lrr",
            [
                (plain(stage.name, 34), f"{stage.share:g} %", format_amount(stage.amount, currency))
                for stage in price.stages
            ],
            wide=(0,),
            pad=2.6,
        )
    )
    found.append(
        blocks.checks(["Deposit has cleared: the slab may be bought", "Balance has cleared: it may be unloaded"])
    )
    return found


def price_strip(price: Price, width: float) -> Picture:
    """The price on a line from the lowest to the highest likely, and what it is made of as a strip cut to length.

    Args:
        price: from `price`
        width: of the drawing [mm]
    """
    drawing = Picture(width, 34.0)
    wide, at = width - 1.0, 0.5
    groups = {name: sum(line.minor for line in price.lines if line.group == name) for name, _ in _GROUPS}
    parts = (
        ("Material", groups["material"] + groups["bought-in"] + groups["delivery"] + groups["cover"]),
        ("Labour", groups["labour"] + groups["machine"] + groups["consumables"]),
        ("Overhead", groups["overhead"]),
        ("Put by", groups["contingency"]),
        ("Profit", groups["profit"] + groups["rounding"] + groups["agreed"]),
        ("Tax", groups["tax"]),
    )
    total = max(price.total_minor, 1)
    for number, (name, minor) in enumerate(parts):
        long = wide * max(minor, 0) / total
        if long <= 0.0:
            continue
        drawing.rectangle(at, 0.5, long, 9.0, fill=WOOD if number % 2 == 0 else PAPER, weight=MIDDLE)
        if 0.55 * TEXT * len(name) < long - 1.0:
            drawing.text(at + long / 2, 6.2, name, anchor="middle", weight=600)
        at += long
    low, high = min(price.low, price.total), max(price.high, price.total)
    span = (high - low) or 1.0
    left, right = 0.16 * width, 0.84 * width

    def x(amount: float) -> float:
        return left + (right - left) * (amount - low) / span

    drawing.line(x(price.low), 21.0, x(price.high), 21.0, weight=THICK)
    for amount, label in ((price.low, "1 in 10 less"), (price.high, "1 in 10 more")):
        drawing.line(x(amount), 18.6, x(amount), 23.4, weight=MIDDLE)
        drawing.text(x(amount), 27.6, format_amount(amount, price.currency), anchor="middle", fill=SOFT)
        drawing.text(x(amount), 32.2, label, anchor="middle", fill=SOFT)
    drawing.line(x(price.total), 17.2, x(price.total), 23.4, stroke=CHOSEN, weight=THICK)
    drawing.text(
        x(price.total), 15.8, format_amount(price.total, price.currency), anchor="middle", weight=700, fill=CHOSEN
    )
    drawing.line(0.5, 12.0, wide, 12.0, stroke=INK, weight=THIN)
    return drawing
