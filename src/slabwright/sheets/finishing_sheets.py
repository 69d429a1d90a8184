"""The sheets of mending and finishing in the order of the work: mending before the last skim, coats at the end."""

from __future__ import annotations

from dataclasses import replace

from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.finish_sheets import finish_sheets
from slabwright.sheets.mending_sheet import mending_sheets


def finishing_first(context: Context) -> list[Sheet]:
    """Mending and epoxy; none where nothing is planned."""
    plan = context.plan.finish
    if plan is None:
        return []
    # Short ones stand below one another where the page has room.
    return [replace(sheet, joins=True) for sheet in mending_sheets(context, plan.mending, plan.resin)]


def finishing_last(context: Context) -> list[Sheet]:
    """Surfaces and coats; none where there is no top yet."""
    plan = context.plan.finish
    if plan is None or context.plan.top is None:
        return []
    return finish_sheets(context, plan.areas, plan.systems, plan.preparation)
