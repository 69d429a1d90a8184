"""The machine's sheets in the order of the work."""

from __future__ import annotations

from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.machine_clamping import clamping_sheets
from slabwright.sheets.machine_feeds import error_sheet, feeds_card
from slabwright.sheets.machine_rails import rail_sheets


def machine_sheets(context: Context) -> list[Sheet]:
    """Feeds, what errors cost, and a sheet for each clamping; none where no machine is planned."""
    machine = context.plan.machine
    if machine is None:
        return []
    sheets = [feeds_card(context, machine), error_sheet(context, machine)]
    for clamping in machine.settings:
        if machine.kind == "sled":
            sheets += rail_sheets(context, machine, clamping)
        else:
            sheets += clamping_sheets(context, machine, clamping)
    return sheets
