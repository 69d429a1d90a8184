"""When each coat goes on, as the shop's schedule has it: the finish itself knows hours and windows, and no days."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.finish.coating_results import SystemPlan
from slabwright.shop.operations_coats import coat_name
from slabwright.shop.scheduling_models import Planned


@dataclass(frozen=True)
class CoatDay:
    """The day of one coat."""

    on: str = figure("", "wood or steel", rests_on=("finish.systems",))
    number: int = figure("1", "which coat, from the first", rests_on=("finish.systems",))
    starts: datetime.datetime = figure(
        "", "when it is begun", how="its operation in the schedule", rests_on=("shop.schedule.operations",)
    )
    ends: datetime.datetime = figure("", "when it is on", how="the same", rests_on=("shop.schedule.operations",))


def coat_days(systems: Sequence[SystemPlan], planned: Sequence[Planned]) -> tuple[CoatDay, ...]:
    """The day of each coat that the schedule has; those that it does not have (dropped, done without a time) are left out.

    Args:
        systems: from the finish
        planned: operations of the schedule, in any order
    """
    found = []
    for system in systems:
        for coat in system.coats:
            name = coat_name(system.on, coat)
            pieces = [one for one in planned if one.name == name or one.name.startswith(f"{name}, part ")]
            if pieces:
                ends = [piece.pieces[-1][1] if piece.pieces else piece.start_at for piece in pieces]
                found.append(CoatDay(system.on, coat.number, min(one.start_at for one in pieces), max(ends)))
    return tuple(found)


def no_start() -> Finding:
    """That neither a start nor a schedule tells the days of the coats."""
    return Finding(
        "finish/no-start",
        "note",
        "Windows are told in hours: no start is stated, and there is no schedule.",
        'State [job] date, and the schedule tells the days; or [finish] start = "2026-12-01T09:00" or the like.',
        COMMON_PRACTICE,
    )
