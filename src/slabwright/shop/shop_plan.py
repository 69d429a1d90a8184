"""The shop's side of a job: what is to be done and how long, what is ordered, what it costs, when it is ready."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, replace

from slabwright.accounts import figure
from slabwright.base.basing import BasePlan
from slabwright.findings import Finding
from slabwright.finish.finishing import FinishPlan
from slabwright.job.loaded import Job
from slabwright.quantities import format_length
from slabwright.shop.brief import BriefChecks, brief_checks
from slabwright.shop.coat_days import CoatDay, coat_days, no_start
from slabwright.shop.hours import hours_plan
from slabwright.shop.hours_results import HoursPlan
from slabwright.shop.job_schedule import JobSchedule, job_schedule, shop_now
from slabwright.shop.lead_times import supplier_days
from slabwright.shop.operations import PlanParts, to_schedule
from slabwright.shop.orders import orders, orders_costs
from slabwright.shop.orders_items import OrderParts
from slabwright.shop.orders_results import Orders
from slabwright.shop.planning import Planning, open_questions, planning
from slabwright.shop.planning_price import FirstPrice, first_price
from slabwright.shop.price import price
from slabwright.shop.price_lines import LabourLine, stated_costs
from slabwright.shop.price_results import Price
from slabwright.shop.quote import quote_findings

_FIRST_WORK: Mapping[str, tuple[str, ...]] = {
    "slab": ("lift",),
    "steel": ("saw steel",),
    "filler": ("tack",),
    "feet": ("put together",),
    "fasteners": ("set inserts",),
    "epoxy": ("pour epoxy",),
    "coatings": ("wipe a coat", "brush a coat", "roll a coat", "spray a coat"),
    "cutters": ("surface",),
    "cables": ("put together",),
    "consumables": ("sand the faces",),
    "other": ("put together",),
}
"""Kinds of work before which each kind of thing must be there."""
_LEADS: Mapping[str, tuple[str, ...]] = {
    "slab": ("slab",),
    "steel": ("steel",),
    "finish": ("coatings", "epoxy"),
    "hardware": ("fasteners", "feet"),
}
"""Kinds of things that each delivery waits for."""
_BY_THICKNESS = frozenset({"brief/knees", "brief/thighs", "brief/chair-arms", "brief/door"})
"""What is said of the brief that hangs on how thick the top is."""


@dataclass(frozen=True)
class ShopPlan(HoursPlan):
    """Operations, hours, schedule, orders and price."""

    schedule: JobSchedule | None = figure(
        "", "when everything is done; empty without a date of the job", rests_on=("job:job.date",), default=None
    )
    orders: Orders | None = figure("", "what is bought, by supplier", default=None)
    price: Price | None = figure("", "what the job costs; empty where no hour has a rate", default=None)
    first: FirstPrice | None = figure("", "a first price and date, before there is a slab", default=None)
    brief: BriefChecks | None = figure("", "how the piece meets the brief", default=None)
    coats: tuple[CoatDay, ...] = figure(
        "", "when each coat goes on; empty: no schedule", rests_on=("shop.schedule", "finish.systems"), default=()
    )


def shop_plan(job: Job, parts: PlanParts, *, scheduled: bool = True) -> tuple[ShopPlan, tuple[Finding, ...]]:
    """The shop's side of a job.

    Args:
        job: what is stated
        parts: the plan so far
        scheduled: whether its days are worked out too

    Raises:
        SlabwrightError: hours, calendar, prices or orders that are stated cannot be used.
    """
    base, machine = parts.base, parts.machine
    hours, more = hours_plan(job, parts, _lead_days(job))
    found: tuple[Finding, ...] = more
    bought_for = OrderParts(parts.slab, parts.top, base, machine, parts.finish, parts.carry)
    labour = [LabourLine(rate.kind, rate.mean / 60.0, rate.low / 60.0, rate.high / 60.0) for rate in hours.rates]
    days, first, priced = None, None, None
    if parts.slab is None:
        first, more = first_price(job, bought_for)
        met, asked = _planned_brief(job, first, base)
        # The operations that are known before there is a slab are the smaller part: their hours are not the job's.
        found = (*asked, *(each for each in found if each.code != "shop/usual-hours"))
        ordered = first.orders if first is not None else None
        found = (*found, *more, *(quote_findings(job, first.price) if first is not None else ()))
    else:
        met, asked = brief_checks(job, None, base)
        found = (*asked, *found)
        if scheduled:
            days, more = job_schedule(job, to_schedule(hours.operations, job=job.stated.job.title))
            found = (*found, *more)
        if days is None and (scheduled or shop_now(job) is None):
            found = (*found, *_coats_wait(job, parts.finish))
        ordered, more = orders(job, bought_for, _needed(days, hours))
        found = (*found, *more)
        costs = (*orders_costs(job, ordered, bought_for), *stated_costs(job, hours.hours.machine / 60.0))
        priced, more = price(job, costs, labour)
        found = (*found, *more, *(quote_findings(job, priced) if priced is not None else ()))
    systems = parts.finish.systems if parts.finish is not None else ()
    coats = coat_days(systems, days.operations) if days is not None else ()
    plan = ShopPlan(
        hours.operations, hours.hours, hours.rates, hours.took_longer, days, ordered, priced, first, met, coats
    )
    return plan, found


def _planned_brief(
    job: Job, first: FirstPrice | None, base: BasePlan | None
) -> tuple[BriefChecks | None, tuple[Finding, ...]]:
    """How the piece meets the brief by the slab and base that are reckoned with before there are any."""
    if job.stated.brief is None:
        return None, ()
    made: Planning | None = first.planning if first is not None else None
    if made is None and not open_questions(job):
        made = planning(job)[0]
    if made is None:
        return brief_checks(job, None, base)
    stated = job.stated.piece
    thickness = stated.thickness if stated.thickness != "max" else made.board
    stands = base if base is not None else made.base
    met, told = brief_checks(job, thickness, stands, made.top_area / stated.length if stated.length else None)
    return met, tuple(_reckoned(each, thickness, job) for each in told)


def _reckoned(told: Finding, thickness: float, job: Job) -> Finding:
    """A word on the brief that hangs on the board's thickness says with which board it was found."""
    if told.code not in _BY_THICKNESS:
        return told
    board = format_length(thickness, job.stated.job.units)
    return replace(told, message=f"{told.message} That is with a board of {board}, before there is a slab.")


def _coats_wait(job: Job, finish: FinishPlan | None) -> tuple[Finding, ...]:
    """That the coats have no days, where there is no schedule and no start of theirs either."""
    if finish is None or not finish.systems:
        return ()
    stated = job.stated.finish
    return () if stated is not None and stated.start is not None else (no_start(),)


def _lead_days(job: Job) -> dict[str, float] | None:
    """Days until each delivery comes in, by the suppliers that are stated."""
    found: dict[str, float] = {}
    for delivery, kinds in _LEADS.items():
        sellers = [one for one in job.shop.suppliers if any(kind in one.what for kind in kinds)]
        days = [days for seller in sellers if (days := supplier_days(seller)) is not None]
        if days:
            found[delivery] = max(days)
    return found or None


def _needed(days: JobSchedule | None, hours: HoursPlan) -> dict[str, datetime.date] | None:
    """Day on which each kind of thing must be there."""
    if days is None:
        return None
    kinds = {operation.name: operation.kind for operation in hours.operations}
    first: dict[str, datetime.date] = {}
    for planned in days.operations:
        kind, day = kinds.get(planned.name, planned.kind), planned.start_at.date()
        first[kind] = min(day, first.get(kind, day))
    found = {}
    for thing, works in _FIRST_WORK.items():
        begins = [first[work] for work in works if work in first]
        if begins:
            found[thing] = min(begins)
    return found
