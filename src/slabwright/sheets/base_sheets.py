"""The base's sheets in the order of the work."""

from __future__ import annotations

from dataclasses import replace

from slabwright.sheets.base_cut_sheets import cut_sheets
from slabwright.sheets.base_spacing_sheet import spacing_sheet
from slabwright.sheets.base_standing_sheet import standing_sheet
from slabwright.sheets.base_view_3d import view_3d_sheet
from slabwright.sheets.base_views_sheet import views_sheet
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.drill_sheets import drill_sheets
from slabwright.sheets.weld_sheets import weld_sheets

_FEW = 5
"""Kinds of parts that are seen well enough in a low drawing."""


def base_sheets(context: Context) -> list[Sheet]:
    """The base in three views, how it stands, its cut list, drill plan and weld plan; none where no base is planned."""
    plan = context.plan.base
    if plan is None:
        return []
    spacing = spacing_sheet(context, plan)
    drilled, welded = drill_sheets(context, plan), weld_sheets(context, plan)
    plates = [sheet for sheet in drilled if sheet.title.startswith("Drill plan")]
    # What is vented and deburred stands with the joints, below one another where the page has room.
    listed = [sheet for sheet in drilled if sheet not in plates]
    joints = [replace(sheet, joins=True) if sheet.title == "Joint details" else sheet for sheet in welded]
    # A base of few parts is seen well enough in a low drawing, with the choice of its bolts below.
    shared = spacing is not None and len(plan.parts) <= _FEW
    return [
        views_sheet(context, plan),
        view_3d_sheet(context, plan, low=shared),
        *([spacing] if spacing is not None else []),
        standing_sheet(context, plan),
        *cut_sheets(context, plan),
        *plates,
        *joints[:1],
        *listed,
        *joints[1:],
    ]
