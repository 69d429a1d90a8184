"""The first price and the earliest date, before any slab exists; both narrow as facts arrive."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.findings import FROM_MEMORY, Finding
from slabwright.finish.coating_results import SystemPlan
from slabwright.job.loaded import Job
from slabwright.reference.money import FirstHours, FirstPriceTable, money_table
from slabwright.shop.lead_times import supplier_days
from slabwright.shop.orders import job_date, orders, orders_costs
from slabwright.shop.orders_items import OrderParts
from slabwright.shop.orders_results import Orders
from slabwright.shop.planning import Planning, open_questions, planning
from slabwright.shop.price import price
from slabwright.shop.price_lines import LabourLine, stated_costs
from slabwright.shop.price_results import Price
from slabwright.shop.price_spread import TENTH, Uncertain, deviation, quantile_of_sum

_SQUARE_METRE = 1e6
_WEEK = 7.0


@dataclass(frozen=True)
class Fact:
    """Something that the first price rests on, and how ripe it is."""

    what: str = figure("", "what")
    state: str = figure("", "taken, stated, planned or measured")


@dataclass(frozen=True)
class FirstPrice:
    """A price range and an earliest date."""

    price: Price = figure("", "what it costs")
    days_low: float = figure(
        "day",
        "from the order until it is ready, if all goes well",
        how="slab found and settled, or steel there, whichever is later + rest between roughing and skim + hours at the bench"
        " through the shop's week + coats and cure + sign-offs",
        rests_on=("shop:calendar", "shop:allowance.rest_days", "shop:suppliers"),
        sure="shop.first.days_high",
        source=FROM_MEMORY,
    )
    days_high: float = figure("day", "the same if it goes as badly as once in ten", source=FROM_MEMORY)
    earliest: datetime.date | None = figure("", "day, if all goes well; empty: the job states no date", default=None)
    latest: datetime.date | None = figure("", "day, if it goes as badly as once in ten", default=None)
    facts: tuple[Fact, ...] = figure("", "what it rests on", default=())
    planning: Planning | None = figure("", "what is reckoned with until it is measured", default=None)
    orders: Orders | None = working(None)


def first_price(
    job: Job, parts: OrderParts | None = None, labour: Sequence[LabourLine] | None = None
) -> tuple[FirstPrice | None, tuple[Finding, ...]]:
    """A price range and an earliest date from what is known today.

    Args:
        job: what is stated
        parts: of the plan, as far as there are any; what is lacking is planned
        labour: hours from operations and the log; None: from the table of first prices

    Returns:
        The price and date, or None where a question is open or no hour has a rate; and what there is to say.

    Raises:
        SlabwrightError: what is stated cannot be used.
    """
    if lacking := open_questions(job):
        told = Finding(
            "planning/questions",
            "note",
            f"No first price yet: it wants to know {', '.join(lacking)}.",
            "Answer what you can; a rough answer will do.",
        )
        return None, (told,)
    known = parts or OrderParts()
    plan, found = planning(job)
    whole = OrderParts(
        known.slab,
        known.top,
        known.base or plan.base,
        known.machine,
        known.finish,
        known.carry,
        known.systems or plan.systems,
    )
    reckoned = plan.job if plan.job is not None and known.slab is None else job
    table = money_table().first_price
    settled = _settled(job, known)
    hours = tuple(labour) if labour is not None else tuple(_hours(row, plan, settled, table) for row in table.hours)
    area = plan.top_area / _SQUARE_METRE
    running = known.machine.time / 60.0 if known.machine is not None else table.machine_per_square_metre * area
    spread = 1.25 if known.machine is not None else table.machine_factor
    bought, more = orders(reckoned, whole, None)
    costs = (*orders_costs(reckoned, bought, whole), *stated_costs(job, running, spread))
    made, said = price(job, costs, hours)
    if made is None:
        return None, (*found, *more, *said)
    low, high = _days(job, hours, whole.systems if known.finish is None else known.finish.systems, known, table)
    start = job_date(job)
    result = FirstPrice(
        price=made,
        days_low=low,
        days_high=high,
        earliest=None if start is None else start + datetime.timedelta(days=math.ceil(low)),
        latest=None if start is None else start + datetime.timedelta(days=math.ceil(high)),
        facts=_facts(job, known, plan, labour is not None),
        planning=plan,
        orders=bought,
    )
    return result, (*found, *more, *said, *_wanted(job, result))


def _settled(job: Job, known: OrderParts) -> frozenset[str]:
    """What is measured or stated already."""
    found = {
        "slab": known.slab is not None,
        "top": known.top is not None and bool(known.top.features),
        "base": known.base is not None,
        "finish": known.finish is not None and bool(known.finish.systems),
    }
    return frozenset(name for name, there in found.items() if there)


def _hours(row: FirstHours, plan: Planning, settled: frozenset[str], table: FirstPriceTable) -> LabourLine:
    """Hours of one kind of work: what is told is the mean of a log-normal whose even chance is the table's."""
    even = (
        row.fixed
        + row.per_square_metre * plan.top_area / _SQUARE_METRE
        + row.per_part * plan.steel_parts
        + row.per_joint * plan.steel_joints
        + row.per_square_metre_of_steel * plan.steel_area / _SQUARE_METRE
    )
    factor = row.factor ** (table.settled if row.settled_by in settled else 1.0)
    s = math.log(factor) / TENTH
    return LabourLine(row.kind, even * math.exp(s * s / 2.0), even / factor, even * factor)


def _days(
    job: Job, labour: Sequence[LabourLine], systems: Sequence[SystemPlan], known: OrderParts, table: FirstPriceTable
) -> tuple[float, float]:
    """Days from the order until it is ready, at best and once in ten."""
    shop, slab = job.shop, job.stated.slab
    correlation = shop.money.together / 100.0
    times = [Uncertain(line.hours, deviation(line.hours, line.low, line.high), True) for line in labour]
    minutes = sum(end - begin for day in shop.calendar.week for begin, end in day)
    bench = [quantile_of_sum(times, share, correlation) * 60.0 / minutes * _WEEK for share in (0.1, 0.9)]
    lead = max((supplier_days(one) or 0.0 for one in shop.suppliers if "steel" in one.what), default=0.0)
    lain = slab.moisture.days_in_shop if slab is not None and slab.moisture is not None else None
    waits = []
    for k in (0, 1):
        there = known.slab is not None
        find = 0.0 if there else table.find_slab[k]
        settle = max(table.settle[k] - (lain or 0.0), 0.0)
        coats = max(
            (
                system.cure / 24.0
                + sum(coat.next.least / 24.0 if coat.next is not None else 0.0 for coat in system.coats)
                for system in systems
            ),
            default=0.0,
        )
        waits.append(max(find + settle, lead) + shop.allowance.rest_days + coats + table.sign_offs[k])
    return waits[0] + bench[0], waits[1] + bench[1]


def _facts(job: Job, known: OrderParts, plan: Planning, logged: bool) -> tuple[Fact, ...]:
    stated = job.stated
    planned = stated.slab is not None and stated.slab.planned is not None
    quote = stated.quote
    return (
        Fact("slab", "measured" if known.slab is not None else "planned" if planned else "taken"),
        Fact("price of the slab", "stated" if quote is not None and quote.slab_price is not None else "by its volume"),
        Fact("base", "worked out" if known.base is not None else "from its picture"),
        Fact("coats", "stated" if plan.systems or known.finish is not None else "not stated: left out"),
        Fact("hours", "from operations" if logged else "from a table, from memory"),
    )


def _wanted(job: Job, made: FirstPrice) -> tuple[Finding, ...]:
    brief = job.stated.brief
    found = []
    if made.planning is not None and made.planning.assumed:
        found.append(
            Finding(
                "planning/assumed",
                "note",
                f"The first price takes {', '.join(made.planning.assumed)}: nothing is stated yet.",
                "State [piece] width and [slab.planned]; the price narrows.",
                FROM_MEMORY,
            )
        )
    if brief is not None and brief.wanted is not None and made.earliest is not None and brief.wanted < made.earliest:
        late = (made.earliest - brief.wanted).days
        found.append(
            Finding(
                "planning/too-soon",
                "caution",
                f"It is wanted by {brief.wanted}; {made.earliest} is the earliest, {late} days later.",
                "Say so before the deposit; a slab that lies dry in the shop saves the weeks of finding and settling.",
                FROM_MEMORY,
            )
        )
    return tuple(found)
