"""What is to be ordered for a job: by supplier, with the last day for each thing."""

from __future__ import annotations

import datetime
from typing import Any

from pydantic import Field

from slabwright.quantities import Units
from slabwright.shop.orders import amount_words
from slabwright.shop.orders_results import Order, Orders
from slabwright.web import clock
from slabwright.web.models import Model
from slabwright.web.pages.price_lines import money


class OrderLine(Model):
    """One thing to buy."""

    what: str
    for_what: str
    amount: str
    shown: str = Field(description="what it costs; nothing where no price is stated")
    by: str = Field(description="last day to order it, in words; nothing where it is not known")
    before: str = Field(description="the work that it must be there for")
    received: bool
    in_stock: str


class SupplierLines(Model):
    """All that is ordered from one supplier."""

    name: str
    by: str
    shown: str
    things: list[OrderLine]


def order_days(board: Any, job: int) -> dict[str, datetime.date]:
    """Last day to order what each delivery brings, by kind, as the shop's days have it."""
    from slabwright.web.pages.today_cards import COMES, asks

    if board.schedule is None:
        return {}
    found: dict[str, datetime.date] = {}
    waits = {one.name: one.waits_for for one in (board.job(job).operations if board.job(job) is not None else ())}
    for ask in asks(board, clock.now())[0]:
        if ask.job == job and not ask.asked:
            for kind in COMES.get(waits.get(ask.operation, ""), ()):
                found.setdefault(kind, ask.by)
    return found


def suppliers(orders: Orders, days: dict[str, datetime.date], currency: str, units: Units) -> list[SupplierLines]:
    """What is ordered, by supplier, in the units of the job."""
    today = clock.now().date()

    def by(order: Order) -> str:
        day = order.order_by or days.get(order.kind)
        if day is None or order.received >= order.amount:
            return ""
        told = clock.day_words(day, today)
        return told if order.order_by is not None else f"{told} (after the usual wait)"

    found = []
    for group in orders.suppliers:
        dated = [
            day
            for one in group.items
            if (day := one.order_by or days.get(one.kind)) is not None and one.received < one.amount
        ]
        found.append(
            SupplierLines(
                name=group.supplier or "No supplier stated yet",
                by=clock.day_words(min(dated), today) if dated else "",
                shown=money(group.price, currency) if group.price is not None else "",
                things=[
                    OrderLine(
                        what=one.what,
                        for_what=one.for_what,
                        amount=amount_words(one.amount, one.unit, units),
                        shown=money(one.price, currency) if one.price is not None else "",
                        by=by(one),
                        before=one.before,
                        received=one.received >= one.amount > 0.0,
                        in_stock=f"{one.in_stock:.3g} on the shelf" if one.in_stock else "",
                    )
                    for one in group.items
                ],
            )
        )
    return found
