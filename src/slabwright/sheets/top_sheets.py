"""The top's sheets in the order of the work."""

from __future__ import annotations

from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.top_face_sheets import face_sheets
from slabwright.sheets.top_movement_sheet import movement_sheets
from slabwright.sheets.top_place_sheet import place_sheet
from slabwright.sheets.top_tables import fastening_sheets, feature_sheets


def top_sheets(context: Context) -> list[Sheet]:
    """Where to cut, both faces, the features, the movement, the fastenings; none where no piece is placed."""
    plan = context.plan.top
    if plan is None:
        return []
    return [
        place_sheet(context, plan),
        *face_sheets(context, plan),
        *feature_sheets(context, plan),
        *movement_sheets(context, plan),
        *fastening_sheets(context, plan),
    ]
