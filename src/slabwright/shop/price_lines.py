"""What a price is made from: costs with their spread, and hours of labour with theirs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.findings import SlabwrightError
from slabwright.job.loaded import Job

CostGroup = Literal["material", "machine", "bought-in", "delivery", "cover"]
Group = Literal[
    "material",
    "labour",
    "machine",
    "consumables",
    "bought-in",
    "delivery",
    "cover",
    "overhead",
    "contingency",
    "profit",
    "rounding",
    "agreed",
    "tax",
]


@dataclass(frozen=True)
class CostLine:
    """One thing that costs money, in the job's currency, without tax.

    Attributes:
        group: what kind of cost
        name: as the price lists it
        cost: expected; None: no price is stated
        low: passed downwards once in ten; None: as `cost`
        high: passed upwards once in ten; None: as `cost`
        amount: how much of it, in words
    """

    group: CostGroup
    name: str
    cost: float | None
    low: float | None = None
    high: float | None = None
    amount: str = ""


@dataclass(frozen=True)
class LabourLine:
    """Hours of one kind of work.

    Attributes:
        kind: of operation
        hours: attended, expected (mean)
        low: passed downwards once in ten
        high: passed upwards once in ten
        rate: of an hour, in the job's currency; None: the shop's
    """

    kind: str
    hours: float
    low: float
    high: float
    rate: float | None = None


def check_cost(line: CostLine) -> CostLine:
    """The line with its range filled in.

    Raises:
        SlabwrightError: it is negative, or its range does not hold it.
    """
    if line.cost is None:
        return line
    low = line.cost if line.low is None else line.low
    high = line.cost if line.high is None else line.high
    if not 0.0 <= low <= line.cost <= high < float("inf"):
        raise SlabwrightError(
            f"price: {line.name}: low, cost and high are {low:g}, {line.cost:g}, {high:g}; they must be 0 or more, in this order"
        )
    return CostLine(line.group, line.name, line.cost, low, high, line.amount)


def check_labour(line: LabourLine) -> LabourLine:
    """The line itself.

    Raises:
        SlabwrightError: hours or rate are negative, or the range does not hold the hours.
    """
    if not 0.0 <= line.low <= line.hours <= line.high < float("inf"):
        raise SlabwrightError(
            f"price: {line.kind}: low, mean and high hours are {line.low:g}, {line.hours:g}, {line.high:g}; they must be 0 or"
            " more, in this order"
        )
    if line.rate is not None and not 0.0 <= line.rate < float("inf"):
        raise SlabwrightError(f"price: {line.kind}: a rate of {line.rate:g} an hour cannot be; state 0 or more")
    return line


def stated_costs(job: Job, machine_hours: float, machine_spread: float = 1.25) -> tuple[CostLine, ...]:
    """Costs that job and shop state themselves: machine hours, bought-in work, delivery, cover.

    Args:
        job: with `[quote]`, and the shop's `[prices]` and `[money]`
        machine_hours: that the machine runs
        machine_spread: factor either way, passed once in ten (from memory)

    Raises:
        SlabwrightError: the hours are negative.
    """
    if not 0.0 <= machine_hours < float("inf"):
        raise SlabwrightError(f"price: {machine_hours:g} machine hours cannot be; state 0 or more")
    quote, money = job.stated.quote, job.shop.money
    struck = set(quote.strike) if quote is not None else set()
    found = []
    if machine_hours > 0.0:
        rate = job.shop.prices.machine_hour
        cost = None if rate is None else machine_hours * rate
        low, high = (None, None) if cost is None else (cost / machine_spread, cost * machine_spread)
        found.append(CostLine("machine", "machine", cost, low, high, f"{machine_hours:.1f} h"))
    if quote is not None:
        found += [CostLine("bought-in", each.what, each.cost, each.low, each.high) for each in quote.bought_in]
        if quote.delivery is not None:
            found.append(CostLine("delivery", "delivery", quote.delivery))
    covers = (("transit cover", money.transit_cover), ("liability cover", money.liability_cover))
    found += [CostLine("cover", name, cost) for name, cost in covers if cost is not None and name not in struck]
    return tuple(found)
