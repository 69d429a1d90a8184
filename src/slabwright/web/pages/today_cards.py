"""What today brings, from the shop's days: what now, what dries, what to order, who is to sign."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from pydantic import Field

from slabwright.shop.day_sheet import orders
from slabwright.shop.operations_results import WorkOperation
from slabwright.shop.orders import amount_words
from slabwright.shop.orders_results import Order
from slabwright.web import clock
from slabwright.web.models import Model
from slabwright.web.shop_days import ShopBoard, Work

_SHEETS = {
    "set on stacks": "Shim map",
    "clamp and zero": "Set-up",
    "surface": "Feeds card",
    "surface with the sled": "Feeds card",
    "read faces": "Face A before cutting",
    "mend": "Mending",
    "pour epoxy": "Mixing cards",
    "fill small holes": "Mending",
    "cut to length": "Where to cut the top",
    "make template": "Templates",
    "locate": "Locating",
    "pocket": "Features of the top",
    "channel": "Features of the top",
    "outlets and openings": "Features of the top",
    "holes in wood": "Fastenings",
    "work edges": "Features of the top",
    "set inserts": "Fastenings",
    "saw steel": "Cut list",
    "drill steel": "The hole in the plate for each bolt",
    "deburr": "Vents, openings, deburring",
    "tack": "Tack and prove it square",
    "check square": "Prove it square",
    "weld": "Weld out: which in turn",
    "grind": "Weld plan",
    "finish board": "Finishing schedule",
    "wipe a coat": "Finishing schedule",
    "brush a coat": "Finishing schedule",
    "spray a coat": "Finishing schedule",
    "sand the faces": "Finishing schedule",
    "put together": "Assembly, step by step",
    "drive": "Delivery route",
    "carry in": "Delivery route",
    "hand over": "Care of the table",
}
"""The sheet that lies on the bench for each kind of work."""
_PICTURED = frozenset(
    {"check and photograph", "tack", "mock up", "finish board", "hand over", "read faces", "set up in the room"}
)
"""Kinds of work of which a picture is wanted, so that the camera comes first."""
COMES = {
    "slab": ("slab",),
    "steel": ("steel", "filler", "feet"),
    "epoxy": ("epoxy",),
    "finish": ("coatings",),
    "hardware": ("fasteners", "cables"),
}
"""Kinds of things that come with each delivery."""
REASONS = ("the wood", "the machine", "something was missing", "a slip", "the time was too short")


class Card(Model):
    """One thing to do."""

    job: int
    title: str = Field(description="of the job")
    operation: str = Field(description="as the log calls it")
    words: str = Field(description="with its part, where it is done in parts")
    minutes: float = Field(description="that it is likely to take, even chance")
    minutes_words: str
    range_words: str = Field(description="in which it stays 4 times in 5")
    start: clock.Moment = Field(description="when the days have it, on the shop's own clock")
    when: str = Field(description="the same in words")
    sheet: str = Field(description="that lies on the bench for it; nothing where there is none")
    started: bool
    waits: list[str] = Field(description="what it waits for, that is not done")
    needs: list[str] = Field(description="who and what it takes")
    pictured: bool = Field(description="whether a picture is wanted")
    hot: bool


class Dries(Model):
    """Something that waits by itself."""

    job: int
    title: str
    words: str
    until: clock.Moment
    opens: clock.Moment = Field(description="when what comes next can begin")
    closes: clock.Moment | None = Field(description="when it must have begun; nothing: whenever")
    follows: str = Field(description="what comes next")
    opens_words: str
    closes_words: str
    logged: bool = Field(description="whether the log says that it was done; if not, the days say so")


class Thing(Model):
    """One thing to buy."""

    what: str
    amount: str


class Ask(Model):
    """Something to be ordered, or asked of a client."""

    job: int
    title: str
    operation: str
    words: str
    by: datetime.date = Field(description="latest day to ask")
    when: str = Field(description="the same in words")
    needed: str = Field(description="when it is needed, in words")
    asked: bool = Field(description="whether it was asked for")
    overdue: bool
    soon: bool = Field(description="whether it is to be asked for within a week")
    things: list[Thing]


def waits_of(operation: WorkOperation, operations: Iterable[WorkOperation]) -> list[str]:
    """What an operation waits for that is not done: what comes right before it, and any sign-off before that.

    A sign-off is told however far back it lies: that work went on without it makes it no less needed.
    """
    states = {one.name: one for one in operations}
    right_before = [link.operation for link in operation.after if link.operation in states]
    waits = [name for name in right_before if states[name].state != "done"]
    seen, back = set(right_before), list(right_before)
    while back:
        one = states[back.pop()]
        if one.gate == "sign-off" and one.state != "done" and one.name not in waits:
            waits.append(one.name)
        further = [link.operation for link in one.after if link.operation in states and link.operation not in seen]
        seen.update(further)
        back += further
    return waits


def card(work: Work, board: ShopBoard, now: datetime.datetime) -> Card:
    """One thing to do, as its card says it."""
    operation = work.operation
    waits = waits_of(operation, work.job.operations)
    minutes = work.scheduled.left if operation.state == "started" and work.scheduled.left else work.scheduled.attended
    return Card(
        job=work.job.id,
        title=_title(work),
        operation=operation.name,
        words=work.words,
        minutes=minutes,
        minutes_words=clock.span_words(minutes),
        range_words=f"{clock.span_words(operation.low)} to {clock.span_words(operation.high)}",
        start=work.planned.start_at,
        when=clock.moment_words(work.planned.start_at, now.date()),
        sheet=_SHEETS.get(operation.kind, ""),
        started=operation.state == "started",
        waits=waits,
        needs=[name for name in operation.needs if name != "maker"],
        pictured=operation.kind in _PICTURED,
        hot=operation.hot,
    )


def _title(work: Work) -> str:
    return work.job.name


def to_do(board: ShopBoard) -> list[Work]:
    """What is to be done by hand and is not done: what is under way first, then as the days have it."""
    works = [work for work in board.work() if work.planned.pieces and work.planned.state != "done"]
    seen: set[tuple[int, str]] = set()
    found = []
    for work in sorted(works, key=lambda one: (one.operation.state != "started", one.planned.start, one.planned.name)):
        if (work.job.id, work.operation.name) not in seen:
            seen.add((work.job.id, work.operation.name))
            found.append(work)
    return found


def drying(board: ShopBoard, now: datetime.datetime) -> list[Dries]:
    """What waits by itself now, and when what comes next can and must begin."""
    assert board.task is not None
    follows: dict[str, list[tuple[float, float | None, str]]] = {}
    for operation in board.task.operations:
        for link in operation.after:
            if link.from_ == "finish":
                follows.setdefault(link.operation, []).append((link.least_lag, link.greatest_lag, operation.name))
    found = []
    for work in board.work():
        until = work.planned.finish_at
        windows = follows.get(work.planned.name, [])
        shuts = [greatest for _, greatest, _ in windows if greatest is not None]
        last = until + datetime.timedelta(minutes=min(shuts, default=0.0))
        todo = [name for _, _, name in windows]
        if work.operation.gate or work.waits_since > now or last <= now or work.waits_since >= max(until, last):
            continue
        logged = work.planned.state != "planned"
        least = min((least for least, _, _ in windows), default=0.0)
        opens = until + datetime.timedelta(minutes=least)
        closes = last if shuts else None
        if opens <= now and closes is None:
            continue
        found.append(
            Dries(
                job=work.job.id,
                title=_title(work),
                words=work.words,
                until=until,
                opens=opens,
                closes=closes,
                follows=todo[0].removeprefix(f"{work.job.name}: ") if todo else "",
                opens_words=_in(opens, now, "open"),
                closes_words=_in(closes, now, "shut") if closes is not None else "",
                logged=logged,
            )
        )
    return sorted(found, key=lambda one: one.opens)


def _in(moment: datetime.datetime, now: datetime.datetime, what: str) -> str:
    minutes = (moment - now).total_seconds() / 60.0
    at = clock.moment_words(moment, now.date())
    if minutes <= 0.0:
        return f"{'Open' if what == 'open' else 'Shut'} since {at}"
    return f"{'Opens' if what == 'open' else 'Shuts'} in {clock.span_words(minutes)}, {at}"


def asks(board: ShopBoard, now: datetime.datetime) -> tuple[list[Ask], list[Ask]]:
    """What others bring that is to be asked for, and what clients are to sign, most urgent first."""
    assert board.task is not None and board.schedule is not None
    known = {work.planned.name: work for work in board.work()}
    deadlines = {one.operation: one for one in orders(board.task, board.schedule)}
    bring, sign = [], []
    for name, work in known.items():
        operation = work.operation
        if not operation.gate or operation.state == "done":
            continue
        deadline = deadlines.get(name)
        by = deadline.order_by if deadline is not None else work.planned.finish_at
        needed = deadline.needed_at if deadline is not None else work.planned.finish_at
        things = _things(work) if operation.gate == "delivery" else []
        states = {one.name: one.state for one in work.job.operations}
        ready = all(states.get(link.operation, "done") == "done" for link in operation.after)
        one = Ask(
            job=work.job.id,
            title=_title(work),
            operation=operation.name,
            words=work.words,
            by=by.date(),
            when=_by(by.date(), now.date()),
            needed=clock.moment_words(needed, now.date()),
            asked=operation.state == "started",
            overdue=by.date() < now.date() and operation.state != "started",
            soon=operation.state != "started" and (by.date() - now.date()).days < 7,
            things=things,
        )
        if operation.gate == "delivery":
            bring.append(one)
        elif ready:
            sign.append(one)
    return sorted(bring, key=lambda one: (one.asked, one.by)), sorted(sign, key=lambda one: one.by)


def _by(day: datetime.date, today: datetime.date) -> str:
    days = (day - today).days
    if days <= 0:
        return "today" if days == 0 else f"since {clock.day_words(day, today)}"
    return "tomorrow" if days == 1 else f"by {clock.day_words(day, today)}"


def _things(work: Work) -> list[Thing]:
    plan = work.job.plan
    bought = plan.shop.orders if plan is not None and plan.shop is not None else None
    if plan is None or bought is None:
        return []
    kinds, units = COMES.get(work.operation.waits_for, ()), plan.job.stated.job.units
    return [
        Thing(what=order.what, amount=amount_words(order.amount, order.unit, units))
        for order in to_come(bought.items, kinds)
    ]


def to_come(items: Iterable[Order], kinds: tuple[str, ...] | None = None) -> list[Order]:
    """What is to be ordered and has not come."""
    return [
        order
        for order in items
        if order.amount > 0.0 and order.received < order.amount and (kinds is None or order.kind in kinds)
    ]
