"""What is to be done: each operation with what drives it, who and what it needs, its time and what it comes after."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure, working
from slabwright.base.basing import BasePlan
from slabwright.carry.carrying import CarryPlan
from slabwright.findings import COMMON_PRACTICE, FROM_MEMORY
from slabwright.finish.finishing import FinishPlan
from slabwright.machine.results import MachinePlan
from slabwright.slab.results import SlabPlan
from slabwright.top.results import TopPlan

State = Literal["planned", "started", "done"]
Gate = Literal["", "delivery", "sign-off"]
_TIMES = ("shop:hours", "shop:history", "job:log")
_USUAL = "usual times: reference/hours.toml, from memory; preparation: reference/preparation.toml, common practice"
_CHANGE = "log what it takes; or state [[hours.rates]], or [[operations]] minutes"


@dataclass(frozen=True)
class PlanParts:
    """What operations are made from; what is not known yet is None.

    Attributes:
        slab: the slab's plan
        top: the placed top
        base: the base
        machine: the machine's programs
        finish: mending, epoxy and coats
        carry: lifts, assembly and the way in
    """

    slab: SlabPlan | None = None
    top: TopPlan | None = None
    base: BasePlan | None = None
    machine: MachinePlan | None = None
    finish: FinishPlan | None = None
    carry: CarryPlan | None = None


@dataclass(frozen=True)
class OperationLink:
    """What an operation comes after."""

    operation: str = figure(
        "", "the earlier one", rests_on=("job:operations",), change="[[operations]] after, before, drop"
    )
    least_lag: float = figure(
        "min",
        "at least, from the end of the earlier one, its waiting counted",
        how="windows and waits of the data sheets, less what the earlier one waits by itself",
        rests_on=("finish.systems", "finish.resin"),
        default=0.0,
    )
    greatest_lag: float | None = figure(
        "min",
        "at most, through nights and weekends; empty: none",
        how="the coat's window, less what the earlier one waits by itself",
        rests_on=("finish.systems",),
        default=None,
    )


@dataclass(frozen=True)
class WorkOperation:
    """One thing to be done."""

    name: str = figure("", "as logs and changes call it")
    kind: str = figure("", "kind of operation: one rate for all of a kind")
    room: str = figure("", "wood, steel, both, or away")
    driver: str = figure("", "what its time goes with")
    amount: float = figure(
        "1",
        "of what drives it",
        how="counted or measured in the plan",
        rests_on=("slab", "top", "base", "machine", "finish", "carry", "job:operations"),
        change="[[operations]] minutes; or another plan",
    )
    unit: str = figure("", "of the amount")
    needs: tuple[str, ...] = figure("", "persons and places while somebody is at it", source=FROM_MEMORY)
    people: int = figure("1", "persons of these")
    attended: float = figure(
        "min",
        "somebody at it, even chance; of what is done: as it was logged",
        how="(set-up + minutes each x amount) x what the log teaches",
        rests_on=("shop.rates", *_TIMES),
        sure="low, high",
        source=_USUAL,
        change=_CHANGE,
    )
    mean: float = figure(
        "min",
        "the same, mean: for adding up",
        how="even chance x exp(half the spread squared)",
        rests_on=("shop.rates",),
    )
    low: float = figure(
        "min", "one time in ten it takes less", how="80 % range of a Student t", rests_on=("shop.rates", *_TIMES)
    )
    high: float = figure(
        "min", "one time in ten it takes more", how="80 % range of a Student t", rests_on=("shop.rates", *_TIMES)
    )
    spread: float = figure("1", "standard deviation of the logarithm of its time", rests_on=("shop.rates",))
    unattended: float = figure(
        "min",
        "that it waits by itself afterwards",
        how="drying, hardening, cooling, resting, coming in; never of cutting, welding or a large pour",
        rests_on=("finish.systems", "finish.resin", "slab.procedures", "slab.moisture", "job:operations"),
        change="[[operations]] wait",
    )
    wait_spread: float = figure("1", "standard deviation of the logarithm of its waiting", source=FROM_MEMORY)
    rests: str = figure("", "what its time rests on: usual times, logged jobs, or your own")
    after: tuple[OperationLink, ...] = figure("", "what it comes after")
    holds: tuple[str, ...] = figure("", "places that stay taken while it waits", source=COMMON_PRACTICE)
    waits_for: str = figure("", "whose delivery or sign-off it is; empty: nobody's")
    gate: Gate = figure("", "delivery, sign-off, or nothing")
    hot: bool = figure("", "sparks or flame: never the day's last")
    dusty: bool = figure("", "not while a coat is open")
    coat_open: float = figure("min", "for which a coat takes dust; 0: it is none", rests_on=("finish.systems",))
    splittable: bool = figure("", "whether it may go on the next day")
    attended_only: bool = figure("", "whether it is never left to itself", source=COMMON_PRACTICE)
    own: bool = figure("", "whether the maker added it", rests_on=("job:operations",))
    state: State = figure("", "planned, started or done", rests_on=("job:log", "job:slab.survey", "job:rereadings"))
    took: float | None = figure("min", "as logged; empty where nothing is", rests_on=("job:log",))
    lost: float = figure("min", "logged on tries that failed", rests_on=("job:log",))
    pinned: datetime.datetime | None = figure("", "when the maker wants it to start", rests_on=("job:operations",))
    not_before: datetime.datetime | None = figure("", "delayed until", rests_on=("job:log",))
    started: datetime.datetime | None = figure("", "when it was started", rests_on=("job:log",))
    done_at: datetime.datetime | None = figure("", "when its attended part ended", rests_on=("job:log",))
    left: float | None = figure("min", "of what was started; empty where the log does not tell", rests_on=("job:log",))
    usual: float = working(0.0)
    """Usual minutes of its amount."""
    rate_spread: float = working(0.0)
    """The part of `spread` that all operations of its kind have in common."""
