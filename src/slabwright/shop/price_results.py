"""Results of pricing: the lines of the price, what it holds, and what the job earns."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.findings import COMMON_PRACTICE
from slabwright.shop.price_lines import Group
from slabwright.shop.stages import StageDue

_SPREAD = (
    "mean and variance of the sum from the ranges of its parts, hours running over together as `money.together` says; the sum"
    " taken as log-normal"
)
_COSTS = ("shop.price.lines", "shop:prices.hour", "shop:money")
_UNIT = "to the currency's smallest unit"


@dataclass(frozen=True)
class PriceLine:
    """One line of the price."""

    group: Group = figure("", "what kind of cost")
    name: str = figure("", "what it is")
    amount: str = figure("", "how much of it")
    price: float = figure(
        "money",
        "what it adds to the price",
        how="its cost; lines are rounded together, so that they add up to the price",
        rests_on=("shop:prices", "shop:suppliers", "shop:money"),
        sure=_UNIT,
    )
    low: float = figure("money", "least that it is likely to come to, passed once in ten")
    high: float = figure("money", "most that it is likely to come to, passed once in ten")
    minor: int = working()


@dataclass(frozen=True)
class Price:
    """The price of a job, for the maker's own eyes."""

    currency: str = figure("", "three letters", rests_on=("job:job.currency",), source="ISO 4217")
    total: float = figure(
        "money",
        "what the client pays, tax and all",
        how="sum of the lines",
        rests_on=("shop.price.lines",),
        sure="shop.price.low, shop.price.high",
        change="[money] margin, fewer hours, or cheaper material",
    )
    low: float = figure(
        "money",
        "the same where the cost comes out as low as once in ten",
        how=_SPREAD + "; profit and tax as in the price, nothing put by",
        rests_on=_COSTS,
        source="Fenton 1960, from memory",
    )
    high: float = figure(
        "money",
        "the same where the cost comes out as high as once in ten",
        how=_SPREAD + "; profit and tax as in the price, nothing put by",
        rests_on=_COSTS,
        source="Fenton 1960, from memory",
    )
    lines: tuple[PriceLine, ...] = figure("", "what the price is made of; they add up to it")
    cost: float = figure(
        "money", "expected, overhead and all, nothing put by", how="lines added up", rests_on=("shop.price.lines",)
    )
    contingency: float = figure(
        "money",
        "put by for what goes wrong",
        how="what the cost stays below in `holds` of 100 jobs, less its mean: " + _SPREAD,
        rests_on=(*_COSTS, "shop:money.contingency", "shop:money.holds"),
        sure="as sure as the ranges: log your hours",
        source="Fenton 1960, from memory",
        change="[money] contingency",
    )
    holds: float | None = figure(
        "%", "of jobs like this in which the cost stays within cost and contingency; empty where it is a fixed share"
    )
    profit: float = figure(
        "money",
        "beyond cost and contingency, rounding up and all",
        how="margin: cost x margin / (100 - margin); mark-up: cost x mark-up / 100",
        rests_on=("shop:money.margin", "shop:money.mark_up", "job:quote.margin", "job:quote.mark_up"),
    )
    margin: float = figure("%", "profit as a share of the price before tax", how="profit / price before tax x 100")
    mark_up: float = figure("%", "profit as a share of cost and contingency", how="profit / (cost + contingency) x 100")
    net: float = figure("money", "the price before tax", how="cost + contingency + profit")
    tax: float = figure("money", "on it", how="price before tax x tax rate", rests_on=("shop:money.tax",))
    hours: float = figure("h", "of labour, expected", how="added up over the kinds of work")
    hours_low: float = figure("h", "of labour, passed downwards once in ten", how=_SPREAD)
    hours_high: float = figure("h", "of labour, passed upwards once in ten", how=_SPREAD)
    earns_per_hour: float | None = figure(
        "money",
        "that the job leaves for an hour of labour if all goes as expected; empty without hours",
        how="(price before tax - all that is not labour, contingency or profit) / hours",
        rests_on=_COSTS,
        change="[money] margin, or fewer hours",
    )
    earns_per_hour_low: float | None = figure(
        "money",
        "the same where it takes as many hours as once in ten",
        how="the same with hours_high, and the costs that go by the hour with them",
        rests_on=_COSTS,
    )
    stages: tuple[StageDue, ...] = figure("", "when what is paid", source=COMMON_PRACTICE)
    reckoned: float | None = figure(
        "money",
        "what the price would be if it were made today, tax and all; empty where no price is agreed",
        how="the lines without the agreed price",
        rests_on=("shop.price.lines", "job:quote.agreed"),
    )
    not_priced: tuple[str, ...] = figure("", "what is in the job without a price: it is not in the total")
    total_minor: int = working()
    net_minor: int = working()
    tax_minor: int = working()
    as_reckoned: Price | None = working(None)
