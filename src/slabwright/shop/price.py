"""The price: costs with their spread, overhead, contingency, profit and tax, in whole units of the currency.

References:
    .. [1] margin is profit over price, mark-up profit over cost: any textbook of business mathematics
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from slabwright.findings import COMMON_PRACTICE, Finding, SlabwrightError
from slabwright.job.loaded import Job
from slabwright.job.money_models import Money
from slabwright.reference.money import minor_digits
from slabwright.shop.money import exact, format_amount, half_up, plain_amount, rounded_together, to_minor
from slabwright.shop.price_lines import CostLine, Group, LabourLine, check_cost, check_labour
from slabwright.shop.price_results import Price, PriceLine
from slabwright.shop.price_spread import Uncertain, deviation, quantile_of_sum
from slabwright.shop.stages import stages

_HUNDRED = Fraction(100)
_PROFIT: tuple[Group, ...] = ("profit", "rounding", "agreed")


@dataclass(frozen=True)
class _Line:
    """A line before it is rounded; amounts in the currency's own unit."""

    group: Group
    name: str
    amount: str
    exactly: Fraction
    low: float
    high: float


def from_margin(cost: Fraction, margin: float) -> Fraction:
    """Profit on a cost by margin, profit as % of the price [1]_: cost x margin / (100 - margin).

    Raises:
        SlabwrightError: the margin is not from 0 to less than 100 %.
    """
    if not 0.0 <= margin < 100.0:
        raise SlabwrightError(
            f"money.margin: {margin:g} % of the price cannot be profit; state 0 to less than 100, or a mark_up on the cost"
        )
    return cost * exact(margin) / (_HUNDRED - exact(margin))


def from_mark_up(cost: Fraction, mark_up: float) -> Fraction:
    """Profit on a cost by mark-up, profit as % of the cost [1]_: cost x mark-up / 100.

    Raises:
        SlabwrightError: the mark-up is negative.
    """
    if not 0.0 <= mark_up < math.inf:
        raise SlabwrightError(f"money.mark_up: {mark_up:g} % of the cost cannot be profit; state 0 or more")
    return cost * exact(mark_up) / _HUNDRED


def profit_rule(job: Job) -> tuple[str, float]:
    """`margin` or `mark_up` with its %; the job's rules the shop's; nothing stated: a mark-up of 0."""
    for stated in (job.stated.quote, job.shop.money):
        if stated is not None and stated.margin is not None:
            return "margin", stated.margin
        if stated is not None and stated.mark_up is not None:
            return "mark_up", stated.mark_up
    return "mark_up", 0.0


def _profit(rule: tuple[str, float], cost: Fraction) -> Fraction:
    return from_margin(cost, rule[1]) if rule[0] == "margin" else from_mark_up(cost, rule[1])


def price(
    job: Job, costs: Sequence[CostLine], labour: Sequence[LabourLine]
) -> tuple[Price | None, tuple[Finding, ...]]:
    """The price of a job.

    Args:
        job: with the shop's `[money]` and `[prices]`, and its own `[quote]`
        costs: material, machine, bought-in work, delivery and cover; see `stated_costs` and `orders_costs`
        labour: hours by kind of operation

    Returns:
        The price, or None where no rate of an hour is stated; and what there is to say.

    Raises:
        SlabwrightError: a cost, hours or a rate are negative, the currency is unknown, or shares are not the whole.
    """
    currency, money = job.stated.job.currency, job.shop.money
    minor_digits(currency)
    usual = job.shop.prices.hour
    checked = [check_labour(line) for line in labour]
    lacking = [line.kind for line in checked if line.rate is None and usual is None]
    if lacking:
        told = Finding(
            "price/no-rate",
            "caution",
            f"No price is told: an hour's work has no rate, first needed for: {lacking[0]}.",
            "State [prices] hour in shop.toml.",
        )
        return None, (told,)
    rates = [line.rate if line.rate is not None else usual or 0.0 for line in checked]
    known = [check_cost(line) for line in costs]
    lines = [_of_cost(line) for line in known if line.cost is not None]
    lines += [_of_labour(line, rate) for line, rate in zip(checked, rates, strict=True)]
    hours = sum((exact(line.hours) for line in checked), Fraction(0))
    lines += _by_the_hour(money, hours, sum((line.exactly for line in lines), Fraction(0)))
    parts = _parts(money, known, checked, rates)
    cost = sum((line.exactly for line in lines), Fraction(0))
    contingency = _contingency(money, parts, cost)
    rule = profit_rule(job)
    if contingency:
        lines.append(_fixed("contingency", _contingency_name(money), contingency))
    if profit := _profit(rule, cost + contingency):
        word = "margin, of the price before tax" if rule[0] == "margin" else "mark-up, on the cost"
        lines.append(_fixed("profit", f"profit: {rule[1]:g} % {word}", profit))
    unpriced = [line.name for line in known if line.cost is None]
    made = _added_up(job, [*lines], cost, contingency, parts, checked, unpriced)
    agreed = job.stated.quote.agreed if job.stated.quote is not None else None
    if agreed is not None:
        reckoned = made
        made = _added_up(job, lines, cost, contingency, parts, checked, unpriced, agreed)
        made = replace(made, reckoned=reckoned.total, as_reckoned=reckoned)
    return made, _said(job, made)


def _of_cost(line: CostLine) -> _Line:
    cost = exact(line.cost or 0.0)
    low, high = (float(cost) if each is None else each for each in (line.low, line.high))
    return _Line(line.group, line.name, line.amount, cost, low, high)


def _of_labour(line: LabourLine, rate: float) -> _Line:
    cost = exact(line.hours) * exact(rate)
    amount = f"{line.hours:.1f} h" if line.hours >= 0.05 or not line.hours else "under 0.1 h"
    return _Line("labour", line.kind, amount, cost, line.low * rate, line.high * rate)


def _fixed(group: Group, name: str, amount: Fraction) -> _Line:
    return _Line(group, name, "", amount, float(amount), float(amount))


def _by_the_hour(money: Money, hours: Fraction, direct: Fraction) -> list[_Line]:
    """Consumables and overhead."""
    found = []
    used = hours * exact(money.consumables_per_hour)
    if used:
        found.append(_fixed("consumables", "consumables", used))
    share = (direct + used) * exact(money.overhead) / _HUNDRED
    if over := hours * exact(money.overhead_per_hour) + share:
        found.append(_fixed("overhead", "overhead", over))
    return found


def _parts(
    money: Money, costs: Sequence[CostLine], labour: Sequence[LabourLine], rates: Sequence[float]
) -> tuple[Uncertain, ...]:
    """What the cost is the sum of, each with what goes by it: consumables and overhead."""
    share = 1.0 + money.overhead / 100.0
    found = [
        Uncertain(line.cost * share, deviation(line.cost, line.low, line.high) * share)
        for line in costs
        if line.cost is not None and line.low is not None and line.high is not None
    ]
    for work, rate in zip(labour, rates, strict=True):
        hour = (rate + money.consumables_per_hour) * share + money.overhead_per_hour
        found.append(Uncertain(work.hours * hour, deviation(work.hours, work.low, work.high) * hour, True))
    return tuple(found)


def _contingency(money: Money, parts: Sequence[Uncertain], cost: Fraction) -> Fraction:
    if money.contingency == "none":
        return Fraction(0)
    if money.contingency == "share":
        return cost * exact(money.contingency_share) / _HUNDRED
    bound = quantile_of_sum(parts, money.holds / 100.0, money.together / 100.0)
    return max(exact(round(bound, 6)) - cost, Fraction(0))


def _contingency_name(money: Money) -> str:
    if money.contingency == "share":
        return f"contingency: {money.contingency_share:g} % of the cost"
    return f"contingency: holds {money.holds:g} times in 100"


def _gross(job: Job, net: Fraction, digits: int) -> tuple[int, int, int]:
    """Total, price before tax and tax in the smallest unit, of a price before tax in the currency's own unit; rounded up."""
    money, unit = job.shop.money, Fraction(10**digits)
    rate = exact(money.tax) / _HUNDRED
    shown = net * (1 + rate) if money.prices_with_tax else net
    if money.round_to is not None:
        step = exact(money.round_to)
        # An amount that is a step already, but for less than the smallest unit, stays where it is.
        shown = math.ceil((half_up(shown * unit) / unit) / step) * step
    whole = half_up(shown * unit)
    if money.prices_with_tax:
        tax = half_up(whole * rate / (1 + rate))
        return whole, whole - tax, tax
    tax = half_up(whole * rate)
    return whole + tax, whole, tax


def _agreed(job: Job, agreed: float) -> tuple[int, int, int]:
    """Total, price before tax and tax in the smallest unit, of a price that was agreed, tax and all."""
    total, rate = to_minor(agreed, job.stated.job.currency), exact(job.shop.money.tax) / _HUNDRED
    tax = half_up(total * rate / (1 + rate))
    return total, total - tax, tax


def _added_up(
    job: Job,
    lines: list[_Line],
    cost: Fraction,
    contingency: Fraction,
    parts: Sequence[Uncertain],
    labour: Sequence[LabourLine],
    lacking: Sequence[str],
    agreed: float | None = None,
) -> Price:
    currency, money, rule = job.stated.job.currency, job.shop.money, profit_rule(job)
    digits = minor_digits(currency)
    unit = 10**digits
    quote = job.stated.quote
    settled = agreed is not None or quote is None or quote.agreed is None
    exactly = sum((line.exactly for line in lines), Fraction(0))
    total, net, tax = _gross(job, exactly, digits) if agreed is None else _agreed(job, agreed)
    if beyond := Fraction(net, unit) - Fraction(half_up(exactly * unit), unit):
        lines.append(
            _fixed("rounding", "rounding", beyond)
            if agreed is None
            else _fixed("agreed", "what was agreed, less what it is reckoned at today", beyond)
        )
    minors = rounded_together([line.exactly * unit for line in lines], net)
    if tax:
        lines.append(_fixed("tax", f"{money.tax_name}, {money.tax:g} %", Fraction(tax, unit)))
        minors = (*minors, tax)
    told = tuple(
        PriceLine(
            line.group,
            line.name,
            line.amount,
            plain_amount(minor, currency),
            round(line.low, digits),
            round(line.high, digits),
            minor,
        )
        for line, minor in zip(lines, minors, strict=True)
    )
    profit = sum(line.minor for line in told if line.group in _PROFIT)
    stay = net - profit
    correlation = money.together / 100.0

    def at(share: float) -> float:
        spent = exact(round(quantile_of_sum(parts, share, correlation), 6))
        return plain_amount(_gross(job, spent + _profit(rule, spent), digits)[0], currency)

    times = [Uncertain(line.hours, deviation(line.hours, line.low, line.high), True) for line in labour]
    hours = math.fsum(line.hours for line in labour)
    longest = quantile_of_sum(times, 0.9, correlation)
    other = sum(line.minor for line in told if line.group not in ("labour", "contingency", "tax", *_PROFIT))
    left = plain_amount(net - other, currency)
    more = (longest - hours) * (money.consumables_per_hour * (1.0 + money.overhead / 100.0) + money.overhead_per_hour)
    return Price(
        currency=currency,
        total=plain_amount(total, currency),
        low=at(0.1),
        high=at(0.9),
        lines=told,
        cost=plain_amount(half_up(cost * unit), currency),
        contingency=plain_amount(half_up(contingency * unit), currency),
        holds=money.holds if money.contingency == "spread" else None,
        profit=plain_amount(profit, currency),
        margin=100.0 * profit / net if net else 0.0,
        mark_up=100.0 * profit / stay if stay else 0.0,
        net=plain_amount(net, currency),
        tax=plain_amount(tax, currency),
        hours=hours,
        hours_low=quantile_of_sum(times, 0.1, correlation),
        hours_high=longest,
        earns_per_hour=left / hours if hours > 0.0 else None,
        earns_per_hour_low=(left - more) / longest if longest > 0.0 else None,
        stages=stages(job, total, tax, currency, settled=settled),
        reckoned=None,
        not_priced=tuple(lacking),
        total_minor=total,
        net_minor=net,
        tax_minor=tax,
    )


def _held(job: Job, made: Price, reckoned: Price) -> Finding:
    """An agreed price beside what the job is reckoned at by now."""
    quote, currency = job.stated.quote, made.currency
    signed = f" on {quote.agreed_on}" if quote is not None and quote.agreed_on is not None else ""
    agreed, now = (format_amount(each, currency) for each in (made.total, reckoned.total))
    loses = made.profit < 0.0
    left = format_amount(abs(made.profit), currency)
    tells = f"it is short of what the job costs by {left}" if loses else f"{left} of it is left as profit"
    return Finding(
        "price/agreed",
        "caution" if loses else "note",
        f"The price was agreed{signed} at {agreed} and holds; reckoned today it would be {now}, so {tells}.",
        "What the client changes is a change to be signed; what took longer is yours: it teaches the next price."
        if reckoned.total_minor > made.total_minor
        else "Nothing is to be done.",
        COMMON_PRACTICE,
    )


def _said(job: Job, made: Price) -> tuple[Finding, ...]:
    money, found = job.shop.money, []
    if made.not_priced:
        few = ", ".join(made.not_priced[:4]) + (
            f" and {len(made.not_priced) - 4} more" if len(made.not_priced) > 4 else ""
        )
        found.append(
            Finding(
                "price/not-whole",
                "caution",
                f"The price leaves out what has no price: {few}.",
                "State what they cost: [[suppliers.sells]] or [prices] in shop.toml, or [quote] in the job.",
            )
        )
    rule = profit_rule(job)
    if made.as_reckoned is not None:
        found.append(_held(job, made, made.as_reckoned))
    if rule[1] == 0.0:
        found.append(
            Finding(
                "price/no-profit",
                "note",
                "The price holds no profit: neither margin nor mark-up is stated.",
                "State [money] margin (profit as % of the price) or mark_up (profit as % of the cost).",
            )
        )
    usual = job.shop.prices.hour
    if made.earns_per_hour_low is not None and usual is not None and made.earns_per_hour_low < usual:
        left, wanted = (format_amount(round(each, 6), made.currency) for each in (made.earns_per_hour_low, usual))
        found.append(
            Finding(
                "price/thin",
                "caution",
                f"If it takes {made.hours_high:.0f} h, as once in ten, an hour earns {left}, and not {wanted}.",
                "A larger margin, fewer hours, or more put by: [money] holds.",
                COMMON_PRACTICE,
            )
        )
    if money.tax == 0.0:
        found.append(
            Finding(
                "price/no-tax",
                "note",
                "No tax is reckoned with: [money] tax is 0.",
                "State [money] tax where you owe it on what you sell.",
            )
        )
    return tuple(found)
