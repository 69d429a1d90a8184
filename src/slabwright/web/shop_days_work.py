"""The shop's days worked out from one task: the schedule, what cannot all be had, and when each job is ready."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import TYPE_CHECKING

from slabwright.shop.scheduling_models import Schedule, Task

if TYPE_CHECKING:
    from slabwright.shop.conflicts import Conflict
    from slabwright.shop.ready_dates import ReadyDates

_SECONDS, _AGAIN, _CLASH = 8.0, 4.0, 5.0
"""For the first schedule, for one planned again, and for what conflicts [s]."""


@dataclass(frozen=True)
class Days:
    """What came of a task.

    Attributes:
        task: that was scheduled: without the pinned times where these cannot be had
        schedule: None: there is none
        ready: even chance and 4 in 5
        clash: promises and pinned times that cannot all be had
        unpinned: whether the pinned times were let go
        wrong: why there is no schedule, or nothing
    """

    task: Task
    schedule: Schedule | None
    ready: ReadyDates | None
    clash: Conflict | None
    unpinned: bool
    wrong: str = ""


def days_of(task: Task, earlier: Schedule | None) -> Days:
    """Work the days out; it takes a good part of a second, or seconds where promises clash.

    Args:
        task: what is to be done
        earlier: days that are kept as far as can be; None: as early as can be
    """
    from slabwright.shop.conflicts import conflict
    from slabwright.shop.ready_dates import ready_dates
    from slabwright.shop.scheduling import CannotBeDoneError

    clash, unpinned = None, False
    try:
        made = _scheduled(task, earlier)
    except CannotBeDoneError as error:
        clash, unpinned = _clash(task), True
        free = dataclasses.replace(
            task, operations=tuple(dataclasses.replace(one, pinned=None) for one in task.operations)
        )
        try:
            made, task = _scheduled(free, earlier), free
        except CannotBeDoneError:
            return Days(task, None, None, clash, unpinned, str(error))
    if clash is None and any(late > 0.0 for late in made.late.values()):
        clash = conflict(task, seconds=_CLASH, workers=1)
    return Days(task, made, ready_dates(task, made), clash, unpinned)


def _scheduled(task: Task, earlier: Schedule | None) -> Schedule:
    from slabwright.shop.scheduling import replan, schedule

    if earlier is not None:
        return replan(task, earlier, workers=1, seconds=_AGAIN)
    return schedule(task, workers=1, seconds=_SECONDS)


def _clash(task: Task) -> Conflict | None:
    """What cannot all be had: first within each job with pinned times by itself, which is proven sooner; then all together."""
    from slabwright.shop.conflicts import conflict

    for name in dict.fromkeys(one.job for one in task.operations if one.pinned is not None):
        alone = dataclasses.replace(
            task,
            operations=tuple(one for one in task.operations if one.job == name),
            promises=tuple(one for one in task.promises if one.job == name),
        )
        found = conflict(alone, seconds=_CLASH, workers=1)
        if found is not None:
            return found
    return conflict(task, seconds=_CLASH, workers=1)
