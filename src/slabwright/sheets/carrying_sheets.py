"""The sheets of carrying in and putting together, in the order of the work."""

from __future__ import annotations

from slabwright.sheets.assembly_sheet import assembly_sheets
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.lift_sheets import lift_sheets
from slabwright.sheets.route_sheet import route_sheets


def carrying_sheets(context: Context) -> list[Sheet]:
    """Lift cards, the way in, assembly and cables; none where nothing is known to weigh."""
    plan, delivery = context.plan.carry, context.plan.job.stated.delivery
    if plan is None:
        return []
    found = [*lift_sheets(context, plan.lifts, plan)]
    if plan.way_in is not None and delivery is not None:
        found += route_sheets(context, plan.way_in, delivery)
    if context.plan.top is not None:
        found += assembly_sheets(context, plan.assembly, plan.cables)
    return found
