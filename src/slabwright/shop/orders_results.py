"""Results of ordering: what is bought, from whom, by when, and what has come."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.job.money_models import Kind

_PLAN = ("base.cut_list.bought", "finish.resin", "finish.systems", "top.fastenings", "carry.cables")


@dataclass(frozen=True)
class Order:
    """One thing to buy."""

    kind: Kind = figure("", "what kind of thing")
    what: str = figure("", "as the order names it", rests_on=_PLAN)
    for_what: str = figure("", "what it is for")
    unit: str = figure("", "in which it is counted")
    wanted: float = figure("1", "that the plan takes", how="added up over the plan", rests_on=_PLAN)
    in_stock: float = figure("1", "of that, on the shelf", rests_on=("shop:stock",), change="[[stock]] in shop.toml")
    amount: float = figure("1", "to order", how="wanted less what is on the shelf")
    received: float = figure("1", "of that, what has come", rests_on=("job:received",))
    needed: datetime.date | None = figure("", "day on which it must be there; empty: no schedule yet")
    order_by: datetime.date | None = figure(
        "",
        "last day to order it",
        how="day needed less the supplier's days, working days where he counts those; then back to a day from Monday to Friday on"
        " which the shop works: no holiday, no day away",
        rests_on=("shop:suppliers", "shop:calendar"),
        sure="as sure as the supplier",
        change="[[suppliers]] lead_days and lead_in, or another supplier",
    )
    before: str = figure("", "the work that it must be there for")
    lead_days: int | None = figure("day", "that the supplier takes", rests_on=("shop:suppliers",))
    lead_in: str = figure(
        "", "what those days are: days, Sundays counted, or working days", rests_on=("shop:suppliers",)
    )
    price: float | None = figure(
        "money", "of all to order; empty where no price is stated", rests_on=("shop:suppliers", "shop:prices")
    )
    price_of_wanted: float | None = figure(
        "money",
        "of all that the plan takes, from the shelf or not: what the job is charged; empty where no price is stated",
        rests_on=("shop:suppliers", "shop:prices"),
    )


@dataclass(frozen=True)
class SupplierOrder:
    """All that is ordered from one supplier."""

    supplier: str = figure("", "who; empty: no supplier is stated for these things", rests_on=("shop:suppliers",))
    items: tuple[Order, ...] = figure("", "what, most urgent first")
    order_by: datetime.date | None = figure("", "earliest last day of its things that have not come")
    price: float | None = figure("money", "of those that have a price; empty where none has")


@dataclass(frozen=True)
class Orders:
    """Everything that is bought for the job."""

    suppliers: tuple[SupplierOrder, ...] = figure("", "grouped by supplier, most urgent first")
    from_stock: tuple[Order, ...] = figure("", "what is on the shelf already, whole")
    next_order: datetime.date | None = figure("", "the next day on which something must be ordered")

    @property
    def items(self) -> tuple[Order, ...]:
        """Every thing of the job, from the shelf or not."""
        return (*(item for supplier in self.suppliers for item in supplier.items), *self.from_stock)
