"""The quote: what the client is told, without the maker's insides; and the invoice of each payment."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.findings import COMMON_PRACTICE, Finding, SlabwrightError
from slabwright.job.loaded import Job
from slabwright.job.money_models import Term
from slabwright.quantities import INCH, format_length
from slabwright.shop.money import exact, format_amount, half_up, plain_amount, shared_out
from slabwright.shop.orders import job_date
from slabwright.shop.price_results import Price
from slabwright.shop.stages import DEPOSIT, StageDue

_ABOUT = {"metric": 10.0, "inch": 0.5 * INCH}
"""To which a width that the slab gives is told a client [mm]."""

_PLACING = frozenset({"wrap", "drive", "carry in", "set up in the room", "hand over"})
"""Kinds of work that a client pays for as delivery and placing."""


@dataclass(frozen=True)
class QuoteLine:
    """One line that the client pays for."""

    name: str = figure("", "what it is")
    amount: float = figure(
        "money",
        "what the client pays for it",
        how="the price shared out by what each costs the shop; lines add up to the price",
        rests_on=("shop.price.total",),
        sure="to the currency's smallest unit",
    )
    minor: int = working()


@dataclass(frozen=True)
class Quote:
    """What the client is told."""

    number: str = figure("", "of the quote", rests_on=("job:quote.number",))
    date: datetime.date | None = figure("", "from which it holds", rests_on=("job:quote.date", "job:job.date"))
    valid_until: datetime.date | None = figure(
        "",
        "last day on which it can be taken",
        how="date and the days that it holds",
        rests_on=("shop:money.valid_days",),
    )
    described: tuple[tuple[str, str], ...] = figure("", "what is made: wood, sizes, base, finish")
    lines: tuple[QuoteLine, ...] = figure("", "what the client pays for; they add up to the price")
    with_tax: bool = figure("", "whether the lines hold the tax", rests_on=("shop:money.prices_with_tax",))
    net: float = figure("money", "before tax")
    tax: float = figure("money", "tax")
    total: float = figure("money", "to pay, tax and all", rests_on=("shop.price.total",))
    stages: tuple[StageDue, ...] = figure("", "when what is paid")
    terms: tuple[str, ...] = figure(
        "", "what holds beside the price", rests_on=("shop:money", "job:quote.strike"), source=COMMON_PRACTICE
    )
    ready: tuple[datetime.date, datetime.date] | None = figure(
        "", "when it is ready: even chance, and four times in five"
    )
    promised: datetime.date | None = figure("", "the day that was promised", rests_on=("job:job.promised",))
    currency: str = working("")
    tax_words: str = working("")
    alone: bool = working(False)


def quote_of(
    job: Job,
    price: Price,
    *,
    ready: tuple[datetime.date, datetime.date] | None = None,
    promised: float | None = None,
    wide: float | None = None,
    alone: bool = False,
) -> tuple[Quote, tuple[Finding, ...]]:
    """The quote of a price.

    Args:
        job: what is stated
        price: from `price`
        ready: day on which it is ready, even chance and four times in five; None: no schedule yet
        promised: thickness of the top that is promised [mm]; None: as stated, or not told
        wide: width of the top as the slab gives it, at its widest [mm]; told where none is stated; None: not known yet
        alone: whether the days know of no other job in the shop

    Returns:
        The quote; and what there is to say.
    """
    money, stated = job.shop.money, job.stated.quote
    struck = frozenset(stated.strike) if stated is not None else frozenset()
    day = (stated.date if stated is not None else None) or job_date(job)
    until = None
    if day is not None and "expiry" not in struck:
        until = day + datetime.timedelta(days=money.valid_days)
    made = Quote(
        number=stated.number if stated is not None else "",
        date=day,
        valid_until=until,
        described=described(job, promised, wide),
        lines=_lines(job, price),
        with_tax=money.prices_with_tax,
        net=price.net,
        tax=price.tax,
        total=price.total,
        stages=price.stages,
        terms=terms(job, price, struck),
        ready=ready,
        promised=job.stated.job.promised,
        currency=price.currency,
        tax_words=f"{money.tax_name}, {money.tax:g} %",
        alone=alone,
    )
    return made, quote_findings(job, price)


def quote_findings(job: Job, price: Price) -> tuple[Finding, ...]:
    """What there is to say of the quote of a price before it is sent.

    Args:
        job: what is stated
        price: from `price`
    """
    stated = job.stated.quote
    found = []
    if (stated is None or stated.date is None) and job_date(job) is None:
        found.append(
            Finding(
                "quote/no-date",
                "note",
                "The quote has no date, so no day is told until which it holds.",
                'State [quote] date, such as date = "2026-12-01".',
            )
        )
    # A job that says nothing of its quote hears of these from the price itself.
    if price.not_priced and stated is not None:
        count = len(price.not_priced)
        found.append(
            Finding(
                "quote/not-whole",
                "caution",
                f"The quote would be sent without {count} {'thing that has' if count == 1 else 'things that have'} no price yet.",
                "Price them first: see the price's own check.",
            )
        )
    if stated is not None and stated.number and price.tax_minor and not job.shop.money.tax_number:
        found.append(
            Finding(
                "quote/no-tax-number",
                "note",
                f"The invoices ask for {job.shop.money.tax_name} and show no tax number of the shop.",
                "State [money] tax_number in shop.toml, where invoices must show one.",
                COMMON_PRACTICE,
            )
        )
    if not any(stage.name == DEPOSIT for stage in price.stages) and any(
        line.name.startswith("slab") for line in price.lines
    ):
        found.append(
            Finding(
                "quote/no-deposit",
                "caution",
                "No deposit is asked for: the slab and all else are bought with your own money.",
                "State [money] deposit, or a deposit for this job: [quote] deposit.",
                COMMON_PRACTICE,
            )
        )
    return tuple(found)


def _lines(job: Job, price: Price) -> tuple[QuoteLine, ...]:
    """Delivery with its work and covers told apart, all else as the piece; each with its share of what the shop adds on."""
    weights: dict[str, int] = {job.stated.job.title: 0}
    for line in price.lines:
        if line.group == "delivery" or (line.group == "labour" and line.name in _PLACING):
            name = "Delivery and placing"
        elif line.group == "cover":
            name = {"transit cover": "Cover on the way", "liability cover": "Cover for damage in your house"}[line.name]
        elif line.group in ("material", "labour", "machine", "consumables", "bought-in"):
            name = job.stated.job.title
        else:
            continue
        weights[name] = weights.get(name, 0) + line.minor
    whole = price.total_minor if job.shop.money.prices_with_tax else price.net_minor
    if not any(weights.values()):
        weights = {job.stated.job.title: 1}
    shares = shared_out(whole, list(weights.values()))
    return tuple(
        QuoteLine(name, plain_amount(share, price.currency), share) for name, share in zip(weights, shares, strict=True)
    )


def described(job: Job, promised: float | None = None, wide: float | None = None) -> tuple[tuple[str, str], ...]:
    """What is made, in the client's words.

    Args:
        job: what is stated
        promised: thickness of the top that is promised [mm]; None: as stated, or not told
        wide: width of the top as the slab gives it [mm]; told where none is stated
    """
    stated = job.stated
    piece, units, brief = stated.piece, stated.job.units, stated.brief
    found = []
    if stated.slab is not None:
        found.append(("Top", f"one solid slab of {wood_words(stated.slab.species)}"))
    about = _ABOUT[units]
    width = round(wide / about) * about if piece.width is None and wide is not None else None
    sizes = [
        f"{near}{format_length(size, units, None if units == 'inch' else 0)} {word}"
        for size, word, near in (
            (piece.length, "long", ""),
            (piece.width, "wide", ""),
            (width, "wide", "about "),
            (piece.height, "high", ""),
        )
        if size is not None
    ]
    if sizes:
        found.append(("Size", ", ".join(sizes)))
    thick = promised if promised is not None else piece.thickness if piece.thickness != "max" else None
    if thick is not None:
        least = "" if promised is None else "at least "
        found.append(("Thickness", f"{least}{format_length(thick, units, None if units == 'inch' else 0)}"))
    live = piece.live_edges == "both"
    found.append(("Edges", "both long edges keep their natural shape" if live else "straight"))
    if piece.base is not None:
        found.append(("Base", f"welded steel, {piece.base}"))
    if piece.finish:
        found.append(("Finish of the wood", piece.finish))
    if brief is not None and brief.seats is not None:
        found.append(("Seats", str(brief.seats)))
    if brief is not None and brief.town:
        found.append(("Delivered to", brief.town))
    return tuple(found)


def wood_words(species: str) -> str:
    """A species as it is said: `ash, white` is white ash."""
    first, _, second = species.partition(", ")
    return f"{second} {first}".strip()


def terms(job: Job, price: Price, struck: frozenset[Term]) -> tuple[str, ...]:
    """What holds beside the price, sentence by sentence; what the maker strikes is left out.

    Args:
        job: with the shop's `[money]`
        price: from `price`
        struck: terms that are left off
    """
    money, currency = job.shop.money, price.currency
    found = []
    if "expiry" not in struck:
        found.append(f"This quote holds for {money.valid_days} days: wood and steel prices move.")
    if any(stage.name == DEPOSIT for stage in price.stages):
        found.append("The slab is bought once the deposit has cleared.")
    if money.slab_hold is not None and "slab hold" not in struck:
        fee = format_amount(money.slab_hold, currency)
        found.append(f"A slab can be held for you beyond that, at {fee} a week.")
    found.append(
        "Wood is a natural material: knots, checks and colour are this slab's own; its width changes a little over the year."
    )
    found.append("Changes are welcome until a part is cut; each is quoted, in money and days, before it is made.")
    if "cancellation" not in struck and money.cancellation > 0.0:
        whole = "in full" if money.cancellation >= 100.0 else f"to {money.cancellation:g} %"
        found.append(f"Once the slab is cut it cannot be given back: after that, slab and work so far are due {whole}.")
    if money.storage is not None and "storage" not in struck:
        fee = format_amount(money.storage, currency)
        found.append(
            f"Where it cannot be handed over on the agreed day it is stored free for {money.storage_free_days} days,"
            f" then at {fee} a week."
        )
    found.append("The balance has cleared before it is unloaded.")
    if any(line.name == "transit cover" for line in price.lines):
        found.append("It is covered on the way to you.")
    if any(line.name == "liability cover" for line in price.lines):
        found.append("Damage in your house while it is carried in is covered.")
    return (*found, *money.terms)


@dataclass(frozen=True)
class Invoice:
    """The invoice of one payment."""

    number: str = figure("", "of the invoice")
    stage: StageDue = figure("", "the payment")
    net: float = figure("money", "before tax", how="amount less its tax")
    paid_before: float = figure("money", "invoiced by the payments before", how="added up")
    left_after: float = figure("money", "of the price, once this one is paid", how="price less all up to this one")
    total: float = figure("money", "the price of the whole", rests_on=("shop.price.total",))
    currency: str = working("")
    tax_words: str = working("")


def invoice(job: Job, price: Price, which: int) -> Invoice:
    """The invoice of one payment.

    Args:
        job: with the quote's number
        price: from `price`
        which: the payment, from 1

    Raises:
        SlabwrightError: there is no such payment.
    """
    if not 1 <= which <= len(price.stages):
        names = ", ".join(f"{number} {stage.name}" for number, stage in enumerate(price.stages, 1))
        raise SlabwrightError(f"invoice: there is no payment {which}; choose {names or 'a price first: it has none'}")
    stage = price.stages[which - 1]
    before = sum(each.minor for each in price.stages[: which - 1])
    quote, money = job.stated.quote, job.shop.money
    number = quote.number if quote is not None else ""
    return Invoice(
        number=f"{number}-{which}" if number else str(which),
        stage=stage,
        net=plain_amount(stage.minor - stage.tax_minor, price.currency),
        paid_before=plain_amount(before, price.currency),
        left_after=plain_amount(price.total_minor - before - stage.minor, price.currency),
        total=price.total,
        currency=price.currency,
        tax_words=f"{money.tax_name}, {money.tax:g} %",
    )


def cancelled(job: Job, price: Price, hours_worked: float) -> float:
    """What is due where the client cancels after the slab is cut: its share of the slab and of the hours worked.

    Args:
        job: with the shop's `[money] cancellation`
        price: from `price`
        hours_worked: so far [h]

    Returns:
        In the job's currency, before tax.

    Raises:
        SlabwrightError: the hours are negative.
    """
    if not hours_worked >= 0.0:
        raise SlabwrightError(f"quote: {hours_worked:g} hours worked cannot be; state 0 or more")
    slab = sum(line.minor for line in price.lines if line.group == "material" and line.name.startswith("slab"))
    labour = sum(line.minor for line in price.lines if line.group == "labour")
    worked = exact(min(hours_worked / price.hours, 1.0)) if price.hours else exact(0)
    due = half_up((slab + labour * worked) * exact(job.shop.money.cancellation) / 100)
    return plain_amount(due, price.currency)
