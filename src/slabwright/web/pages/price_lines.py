"""The price line by line, by kinds of cost, and the first price where there is no slab yet."""

from __future__ import annotations

from typing import Any

from pydantic import Field

from slabwright.plan import Plan
from slabwright.shop.money import format_amount
from slabwright.shop.orders_results import Orders
from slabwright.shop.price_results import Price
from slabwright.web.models import Model

GROUPS = {
    "material": "Material",
    "machine": "Machine",
    "labour": "Labour",
    "consumables": "Consumables",
    "bought in": "Bought in",
    "delivery": "Delivery",
    "overhead": "Overhead",
    "contingency": "Put by",
    "profit": "Profit",
    "tax": "Tax",
}


class Line(Model):
    """One line of the price."""

    name: str
    amount: str
    price: float
    shown: str
    low: str
    high: str


class Bar(Model):
    """A line that moves the price."""

    name: str
    amount: str
    shown: str
    low: str
    high: str
    bar: str = Field(description="SVG: from low to high, with a mark at what is reckoned")


class Group(Model):
    """A kind of cost with its lines, which add up to it."""

    name: str
    shown: str
    lines: list[Line]


def price_of(plan: Plan | None) -> tuple[Price | None, Orders | None, bool]:
    """Price and orders of a plan, and whether they are first ones."""
    if plan is None or plan.shop is None:
        return None, None, False
    if plan.shop.price is not None:
        return plan.shop.price, plan.shop.orders, False
    if plan.shop.first is not None:
        return plan.shop.first.price, plan.shop.orders, True
    return None, plan.shop.orders, False


def money(amount: float, currency: str) -> str:
    """An amount as people read it."""
    return format_amount(round(amount, 6), currency)


def groups_of(price: Price) -> list[Group]:
    """The lines by their kind of cost, in their order."""
    found: dict[str, list[Any]] = {}
    for line in price.lines:
        found.setdefault(line.group, []).append(line)
    return [
        Group(
            name=GROUPS.get(name, name[:1].upper() + name[1:]),
            shown=money(sum(line.price for line in lines), price.currency),
            lines=[
                Line(
                    name=line.name,
                    amount=line.amount,
                    price=line.price,
                    shown=money(line.price, price.currency),
                    low=money(line.low, price.currency),
                    high=money(line.high, price.currency),
                )
                for line in lines
            ],
        )
        for name, lines in found.items()
    ]
