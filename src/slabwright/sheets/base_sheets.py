"""The base's sheets in the order of the work."""

from __future__ import annotations

from slabwright.sheets.base_cut_sheets import cut_sheets
from slabwright.sheets.base_spacing_sheet import spacing_sheet
from slabwright.sheets.base_standing_sheet import standing_sheet
from slabwright.sheets.base_view_3d import view_3d_sheet
from slabwright.sheets.base_views_sheet import views_sheet
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.drill_sheets import drill_sheets
from slabwright.sheets.weld_sheets import weld_sheets


def base_sheets(context: Context) -> list[Sheet]:
    """The base in three views, how it stands, its cut list, drill plan and weld plan; none where no base is planned."""
    plan = context.plan.base
    if plan is None:
        return []
    spacing = spacing_sheet(context, plan)
    return [
        views_sheet(context, plan),
        view_3d_sheet(context, plan),
        standing_sheet(context, plan),
        *([spacing] if spacing is not None else []),
        *cut_sheets(context, plan),
        *drill_sheets(context, plan),
        *weld_sheets(context, plan),
    ]
