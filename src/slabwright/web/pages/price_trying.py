"""Margins side by side: what each makes of the price, with the mark-up that it is, each worked out by the price itself."""

from __future__ import annotations

from collections.abc import Mapping

from pydantic import Field

from slabwright.plan import Plan
from slabwright.shop.money import format_amount
from slabwright.shop.orders import orders_costs
from slabwright.shop.orders_items import OrderParts
from slabwright.shop.price import price
from slabwright.shop.price_lines import LabourLine, stated_costs
from slabwright.web.models import Model
from slabwright.web.typed import retold

_MARGINS = (10.0, 20.0, 30.0)


class Shares(Model):
    """A margin, the mark-up that it is, and what it makes of the price."""

    asked: float = Field(description="the margin that is tried, before the price is rounded up [%]")
    margin: float = Field(description="profit as % of the price before tax")
    mark_up: float = Field(description="profit as % of cost and what is put by")
    total: str = Field(description="to pay, tax and all")
    profit: str
    per_hour: str = Field(description="that the job leaves for an hour of labour; nothing without hours")
    chosen: bool


def tried(plan: Plan, files: Mapping[str, bytes]) -> list[Shares]:
    """What some margins make of the price, and the one that holds now.

    Args:
        plan: with its price and orders
        files: of the revision
    """
    shop, job = plan.shop, plan.job
    if shop is None or shop.price is None or shop.orders is None:
        return []
    parts = OrderParts(plan.slab, plan.top, plan.base, plan.machine, plan.finish, plan.carry)
    costs = (*orders_costs(job, shop.orders, parts), *stated_costs(job, shop.hours.machine / 60.0))
    labour = [LabourLine(rate.kind, rate.mean / 60.0, rate.low / 60.0, rate.high / 60.0) for rate in shop.rates]
    held = shop.price.margin
    margins = sorted({*(margin for margin in _MARGINS if abs(margin - held) > 1.0), held})
    found = []
    for margin in margins:
        if margin == held:
            made = shop.price
        else:
            other = retold(job, files, {"quote.margin": margin, "quote.mark_up": None}, ("quote",))
            priced, _ = price(other, costs, labour)
            if priced is None:
                continue
            made = priced
        hour = made.earns_per_hour
        found.append(
            Shares(
                asked=round(margin, 1),
                margin=round(made.margin, 1),
                mark_up=round(made.mark_up, 1),
                total=format_amount(made.total, made.currency),
                profit=format_amount(made.profit, made.currency),
                per_hour=format_amount(hour, made.currency) if hour is not None else "",
                chosen=margin == held,
            )
        )
    return found
