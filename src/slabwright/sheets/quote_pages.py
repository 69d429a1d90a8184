"""The quote as the client reads it, and the page of a change."""

from __future__ import annotations

import datetime
import re

from slabwright.base.basing import BasePlan
from slabwright.job.loaded import Job
from slabwright.quantities import format_length
from slabwright.sheets.client_page import (
    INNER,
    Block,
    beside,
    care,
    client_pdf,
    great,
    heading,
    money_lines,
    paper_of,
    picture,
    rows,
    signing,
    small,
    stage_table,
    text,
)
from slabwright.sheets.quote_picture import payments_tape, piece_picture
from slabwright.shop.money import format_amount
from slabwright.shop.quote import Quote
from slabwright.shop.stages import DEPOSIT
from slabwright.shop.variation import Variation, days_words

_PICTURE = 53.0
_PICTURE_SHARE = 0.52
_TOLD = ("piece", "brief", "room", "base", "top", "finish", "delivery", "cables")
"""Tables whose changes a client is told; prices and margins are not among them."""
_LENGTHS = ("length", "width", "height", "thickness", "spread", "across", "diameter", "depth", "along")
_MOST_CHANGES = 14


def day_words(day: datetime.date | None) -> str:
    """A day as it is printed; nothing where there is none."""
    return "" if day is None else f"{day.day} {day:%B %Y}"


def quote_pdf(job: Job, quote: Quote, base: BasePlan | None = None) -> bytes:
    """The quote.

    Args:
        job: what is stated
        quote: from `quote_of`
        base: for the picture; None: none is drawn
    """
    width = paper_of(job)[0] - INNER
    number = f"No. {quote.number}" if quote.number else ""
    reference = ", ".join(each for each in (number, day_words(quote.date)) if each)
    blocks: list[Block] = []
    if job.stated.quote is not None and job.stated.quote.words:
        blocks.append(text(job.stated.quote.words))
    made = [heading("What we make for you"), rows(quote.described)]
    if base is not None:
        blocks.append(beside(piece_picture(base, _PICTURE_SHARE * width, _PICTURE), made))
    else:
        blocks += made
    blocks += [heading("What it costs"), money_lines(_lines(quote))]
    blocks.append(great("To pay, all in", format_amount(quote.total, quote.currency)))
    if quote.stages:
        blocks += [heading("When it is paid"), picture(payments_tape(quote.stages, width))]
        blocks.append(stage_table(quote.stages, quote.currency))
    blocks += _when(quote)
    blocks += [heading("What holds"), small([*_hangs_on(quote), *quote.terms])]
    until = f" by {day_words(quote.valid_until)}" if quote.valid_until is not None else ""
    blocks.append(
        signing(f"Signed{until}, this quote is our agreement.", ["Place, date", "For the client", "For the shop"])
    )
    return client_pdf(job, "Quote", reference, blocks)


def _lines(quote: Quote) -> list[tuple[str, str, bool]]:
    currency = quote.currency
    found = [(line.name, format_amount(line.amount, currency), False) for line in quote.lines]
    if not quote.tax:
        return found
    tax = format_amount(quote.tax, currency)
    if quote.with_tax:
        return [*found, (f"of which {quote.tax_words}", tax, False)]
    return [*found, ("Before tax", format_amount(quote.net, currency), False), (quote.tax_words, tax, False)]


def _when(quote: Quote) -> list[Block]:
    lines = []
    if quote.promised is not None:
        # What was promised is what holds; how likely that is concerns the shop.
        lines.append(("Ready and handed over", f"by {day_words(quote.promised)}, as we promised"))
    elif quote.ready is not None:
        even, sure = quote.ready
        lines.append(
            ("Ready and handed over", f"most likely by {day_words(even)}; four times in five by {day_words(sure)}")
        )
    if quote.valid_until is not None:
        lines.append(("This quote holds until", day_words(quote.valid_until)))
    return [heading("When"), rows(lines)] if lines else []


def _hangs_on(quote: Quote) -> list[str]:
    """What the day on which it is ready hangs on, in sentences."""
    if quote.promised is None and quote.ready is None:
        return []
    paid = any(stage.name == DEPOSIT for stage in quote.stages)
    begun = "is signed and the deposit has cleared" if paid else "is signed"
    waits = "a drawing that waits for your word moves it as well"
    if quote.promised is not None:
        return [f"The day holds from when this quote {begun} in its time; {waits}."]
    alone = "Reckoned for this piece alone, without what else is in our shop. " if quote.alone else ""
    return [f"{alone}Days count from when this quote {begun}; {waits}."]


def variation_pdf(job: Job, change: Variation, currency: str) -> bytes:
    """The page of a change: what is changed, what it costs in money and days, and lines to sign on.

    Args:
        job: with the change
        change: from `variation`
        currency: three letters
    """
    blocks: list[Block] = [heading("What is changed")]
    told = [each for each in change.changes if re.split(r"[.\[]", each.key)[0] in _TOLD or each.key == "slab.species"]
    items = [
        (_key_words(each.key), f"{_value(job, each.key, each.before)} → {_value(job, each.key, each.after)}")
        for each in told
    ]
    more = len(items) - _MOST_CHANGES
    blocks.append(rows(items[:_MOST_CHANGES]))
    if more > 0:
        blocks.append(text(f"and {more} more, on the drawings."))
    if not items:
        blocks.append(text("Nothing of the piece itself."))
    blocks.append(heading("What it costs"))
    sign = "more" if change.minor > 0 else "less"
    money = "nothing" if change.minor == 0 else f"{format_amount(abs(change.money), currency)} {sign}"
    blocks.append(great("The change", money))
    lines = [
        ("New price", format_amount(change.total, currency), True),
        ("Invoiced so far", format_amount(change.paid, currency), False),
        ("Left to pay", format_amount(change.balance, currency), False),
    ]
    if change.refund:
        lines.append(("We give back", format_amount(change.refund, currency), True))
    blocks.append(money_lines(lines))
    if change.days is not None:
        blocks += [heading("When"), text(f"It is {days_words(change.days)}.")]
    blocks.append(care("Nothing is changed until this is signed: work goes on as it was agreed."))
    blocks.append(signing("We agree to this change.", ["Place, date", "For the client", "For the shop"]))
    return client_pdf(job, "Change of your order", f"revision {job.stated.job.revision}", blocks)


def _key_words(key: str) -> str:
    last = key.split(".")
    head = last[0] if len(last) == 1 else f"{last[-2].split('[')[0]}: {last[-1]}"
    return head.replace("_", " ").capitalize()


def _value(job: Job, key: str, value: str) -> str:
    if not value:
        return "nothing"
    if key.rsplit(".", 1)[-1] in _LENGTHS:
        try:
            return format_length(float(value), job.stated.job.units)
        except ValueError:
            return value
    return value
