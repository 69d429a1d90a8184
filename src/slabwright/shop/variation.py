"""A change of the brief: what it costs, in money and days, from two prices of the same job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.findings import SlabwrightError
from slabwright.job.loaded import Job
from slabwright.shop.money import plain_amount
from slabwright.shop.price_results import Price, PriceLine

_CONTENT = (
    "job",
    "piece",
    "brief",
    "room",
    "slab",
    "fill",
    "base",
    "top",
    "finish",
    "delivery",
    "cables",
    "mends",
    "quote",
)
_MOST = 40


@dataclass(frozen=True)
class Changed:
    """A key that the client's change touches."""

    key: str = figure("", "which key")
    before: str = figure("", "what it said; empty: nothing")
    after: str = figure("", "what it says now; empty: nothing")


@dataclass(frozen=True)
class LineChange:
    """What a group of costs comes to before and after."""

    group: str = figure("", "what kind of cost")
    before: float = figure("money", "before")
    after: float = figure("money", "after")
    difference: float = figure("money", "after less before; groups add up to the change of the price")
    minor: int = working()


@dataclass(frozen=True)
class Variation:
    """What a change of the brief costs."""

    changes: tuple[Changed, ...] = figure("", "what is changed")
    lines: tuple[LineChange, ...] = figure("", "where the money goes; for the maker")
    money: float = figure(
        "money",
        "more to pay; less than nothing: less to pay",
        how="price after less price before, each whole",
        sure="to the currency's smallest unit",
    )
    days: float | None = figure(
        "day", "later; less than nothing: sooner; empty: no schedule", how="ready after less ready before"
    )
    total: float = figure("money", "the new price", how="the agreed price and what the change costs")
    paid: float = figure("money", "invoiced so far")
    balance: float = figure("money", "left to pay", how="new price less what is invoiced")
    refund: float = figure("money", "to give back, where more is invoiced than it now costs")
    minor: int = working()


def variation(
    before: tuple[Job, Price],
    after: tuple[Job, Price],
    *,
    days: tuple[float, float] | None = None,
    invoiced: int = 0,
) -> Variation:
    """What a change costs.

    Args:
        before: the job and its price as agreed
        after: the job and its price with the change
        days: days from the order until it is ready, before and after; None: no schedule
        invoiced: how many payments of the agreed price are invoiced already

    Raises:
        SlabwrightError: the currencies differ, or so many payments there are not.
    """
    (old_job, agreed), (new_job, new) = before, after
    # An agreed price does not move by itself: what the change costs is what it does to the price as it is reckoned.
    old, new = agreed.as_reckoned or agreed, new.as_reckoned or new
    if old.currency != new.currency:
        raise SlabwrightError(
            f"job.currency: the agreed price is in {old.currency}, the changed one in {new.currency}; keep one currency"
        )
    stated = old_job.stated.quote.invoiced if old_job.stated.quote is not None else []
    invoiced = max(invoiced, len(stated))
    if not 0 <= invoiced <= len(agreed.stages):
        raise SlabwrightError(
            f"variation: {invoiced} payments are invoiced, and the agreed price has {len(agreed.stages)}"
        )
    paid = sum(stage.minor for stage in agreed.stages[:invoiced])
    total = agreed.total_minor + new.total_minor - old.total_minor
    left = total - paid
    currency = new.currency
    groups = list(dict.fromkeys(line.group for line in (*old.lines, *new.lines)))
    lines = []
    for group in groups:
        was, now = _sum(old.lines, group), _sum(new.lines, group)
        if was or now:
            first, last, more = (plain_amount(each, currency) for each in (was, now, now - was))
            lines.append(LineChange(group, first, last, more, now - was))
    money = new.total_minor - old.total_minor
    return Variation(
        changes=changes(old_job, new_job),
        lines=tuple(lines),
        money=plain_amount(money, currency),
        days=None if days is None else days[1] - days[0],
        total=plain_amount(total, currency),
        paid=plain_amount(paid, currency),
        balance=plain_amount(max(left, 0), currency),
        refund=plain_amount(max(-left, 0), currency),
        minor=money,
    )


def days_words(days: float) -> str:
    """Days later or sooner, as they are told."""
    late = round(abs(days))
    if late == 0:
        return "ready no later"
    return f"ready {late} {'day' if late == 1 else 'days'} {'later' if days > 0 else 'sooner'}"


def _sum(lines: Sequence[PriceLine], group: str) -> int:
    return sum(line.minor for line in lines if line.group == group)


def changes(before: Job, after: Job) -> tuple[Changed, ...]:
    """Keys that differ between two job files, in the order of the file; at most 40."""
    old = before.stated.model_dump(mode="json", include=set(_CONTENT))
    new = after.stated.model_dump(mode="json", include=set(_CONTENT))
    found = [*_differ(old, new, "")]
    return tuple(found[:_MOST])


def _differ(old: object, new: object, key: str) -> list[Changed]:
    if old == new:
        return []
    if isinstance(old, Mapping) or isinstance(new, Mapping):
        one: Mapping[str, object] = old if isinstance(old, Mapping) else {}
        other: Mapping[str, object] = new if isinstance(new, Mapping) else {}
        keys = list(dict.fromkeys((*one, *other)))
        return [
            found
            for each in keys
            for found in _differ(one.get(each), other.get(each), f"{key}.{each}".removeprefix("."))
        ]
    if isinstance(old, list) or isinstance(new, list):
        was, now = old if isinstance(old, list) else [], new if isinstance(new, list) else []
        found = []
        for number in range(max(len(was), len(now))):
            first = was[number] if number < len(was) else None
            last = now[number] if number < len(now) else None
            found += _differ(first, last, f"{key}[{number}]")
        return found
    return [Changed(key, _said(old), _said(new))]


def _said(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
