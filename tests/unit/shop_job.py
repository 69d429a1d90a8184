"""The demo's plan with another log, other changes, rates or history, for tests of operations and hours."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

from tests.unit.carried import worked_out

from slabwright.job.history import LoggedHours
from slabwright.job.hours_models import Hours, LogEntry, OperationChange
from slabwright.job.loaded import Job
from slabwright.shop.hours import hours_plan
from slabwright.shop.hours_results import HoursPlan
from slabwright.shop.operations import PlanParts, WorkOperation


@cache
def parts() -> PlanParts:
    """What the demo's operations are made from."""
    made = worked_out("reading-table")
    return PlanParts(made.slab, made.top, made.base, made.machine, made.finish, made.carry)


def shop_job(
    log: list[dict[str, Any]] | None = None,
    operations: list[dict[str, Any]] | None = None,
    rates: list[dict[str, Any]] | None = None,
    history: list[LoggedHours] | None = None,
    half_life: float = 12.0,
) -> Job:
    """The demo's job with a log, changes, rates and a history of its own."""
    job = worked_out("reading-table").job
    stated = job.stated.model_copy(
        update={
            "log": [LogEntry.model_validate(entry) for entry in log or []],
            "operations": [OperationChange.model_validate(change) for change in operations or []],
        }
    )
    hours = Hours.model_validate({"rates": rates or [], "half_life": half_life})
    shop = job.shop.model_copy(update={"hours": hours})
    return replace(job, stated=stated, shop=shop, history=tuple(history or ()))


def planned(**changes: Any) -> HoursPlan:
    """The demo's hours with some changes of `shop_job`."""
    return hours_plan(shop_job(**changes), parts())[0]


def named(plan: HoursPlan, name: str) -> WorkOperation:
    """One operation."""
    return next(each for each in plan.operations if each.name == name)
