"""The shop's sheets: days, hours and orders; the price apart, for the maker alone; and the first price of a job."""

from __future__ import annotations

from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.day_sheets import day_sheets
from slabwright.sheets.first_price_sheet import first_price_sheets
from slabwright.sheets.hours_sheet import hours_sheets
from slabwright.sheets.order_sheet import order_sheets
from slabwright.sheets.price_sheet import price_sheets


def shop_sheets(context: Context) -> list[Sheet]:
    """Days, hours and orders of a job with a slab; the first price of one without."""
    plan = context.plan
    if plan.shop is None:
        return []
    if plan.slab is None:
        return first_price_sheets(context)
    ordered = plan.shop.orders
    return [
        *day_sheets(context),
        *hours_sheets(context),
        *(order_sheets(context, ordered) if ordered is not None else []),
    ]


def money_sheets(context: Context) -> list[Sheet]:
    """Where the price comes from: never for the client."""
    shop = context.plan.shop
    return price_sheets(context, shop.price) if shop is not None and shop.price is not None else []
