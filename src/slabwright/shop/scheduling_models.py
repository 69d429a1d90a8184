"""What is scheduled and what comes out: operations, links between them, promises, and the schedule with its proof."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from slabwright.accounts import figure, working
from slabwright.shop.calendar import Timeline, WorkingCalendar

Aim = Literal["promises", "moves", "last finish", "finish times", "change-overs"]


@dataclass(frozen=True)
class Link:
    """What an operation comes after.

    Attributes:
        operation: name of the earlier one
        least_lag: elapsed minutes from it at least
        greatest_lag: elapsed minutes from it at most, or None: a coat's window holds across nights
        from_: counted from its finish, waiting included, or from its start
    """

    operation: str
    least_lag: float = 0.0
    greatest_lag: float | None = None
    from_: Literal["finish", "start"] = "finish"


@dataclass(frozen=True)
class Operation:
    """One thing to be done.

    Attributes:
        name: unique among all jobs
        job: whose
        kind: of work: a change of kind at a place that is set up is a change-over
        needs: persons and places that are taken while it is attended
        attended: even-chance time with somebody at it, within working hours [min]
        unattended: elapsed time after that for which it waits, through nights and weekends [min]
        after: what it comes after
        holds: persons and places of `needs`, or further places, that stay taken until the waiting is over
        splittable: whether it may go on the next day, or after a break
        pinned: when the maker wants it to start
        not_before: earliest start
        started: when it was started, where it is under way
        left: attended minutes that are left of what was started; None: what the calendar leaves
        done: when it was started and when its attended part ended (an operation without one: when the waiting ended)
        hot: sparks or flame: over well before the working day ends, so that the place can be watched
        dusty: not while a coat is open
        coat_open: elapsed minutes after the attended part for which a coat takes dust; none: it is no coat
        gate: `delivery` or `sign-off`: waits for others
        spread: standard deviation of the logarithm of its attended time
        wait_spread: the same of its waiting
    """

    name: str
    job: str
    kind: str
    needs: tuple[str, ...] = ()
    attended: float = 0.0
    unattended: float = 0.0
    after: tuple[Link, ...] = ()
    holds: tuple[str, ...] = ()
    splittable: bool = True
    pinned: datetime.datetime | None = None
    not_before: datetime.datetime | None = None
    started: datetime.datetime | None = None
    left: float | None = None
    done: tuple[datetime.datetime, datetime.datetime] | None = None
    hot: bool = False
    dusty: bool = False
    coat_open: float = 0.0
    gate: Literal["", "delivery", "sign-off"] = ""
    spread: float = 0.0
    wait_spread: float = 0.0


@dataclass(frozen=True)
class Promise:
    """When a job is promised."""

    job: str
    due: datetime.datetime


@dataclass(frozen=True)
class Shop:
    """What the schedule needs to know of the shop.

    Attributes:
        calendar: when it works
        many: how many there are of a person or place of which there is more than one
        set_up: places that are set up for a kind of work
        watch: minutes for which a place of hot work is watched, within the working day
    """

    calendar: WorkingCalendar
    many: Mapping[str, int] = field(default_factory=dict)
    set_up: tuple[str, ...] = ("machine bed", "welding table", "spray corner")
    watch: float = 60.0


@dataclass(frozen=True)
class Task:
    """All that a schedule is made from.

    Attributes:
        operations: of all jobs, in any order
        promises: at most one a job
        shop: calendar and places
        now: nothing is planned earlier
    """

    operations: tuple[Operation, ...]
    promises: tuple[Promise, ...]
    shop: Shop
    now: datetime.datetime


@dataclass(frozen=True)
class Planned:
    """When one operation is done."""

    name: str = figure("", "the operation")
    job: str = figure("", "whose")
    kind: str = figure("", "kind of work")
    start: float = figure("min", "start, from the schedule's first midnight", how="the schedule's search")
    attended_until: float = figure("min", "end of the attended part, from the same")
    finish: float = figure("min", "finish, waiting included, from the same")
    start_at: datetime.datetime = figure("", "date and time of its start")
    finish_at: datetime.datetime = figure("", "date and time of its finish")
    pieces: tuple[tuple[datetime.datetime, datetime.datetime], ...] = figure(
        "", "stretches in which somebody is at it", how="what lies within working hours"
    )
    state: Literal["planned", "started", "done"] = figure("", "planned, started or done")


@dataclass(frozen=True)
class Reached:
    """One aim of the schedule: what was reached, and what no schedule can beat."""

    aim: str = figure("", "the aim")
    value: float = figure("1", "reached: minutes, or a number of change-overs")
    bound: float = figure("1", "no schedule of these operations has less", how="proof by the search, or by the load")
    gap: float = figure("1", "share of what was reached by which the proof falls short")
    proven: bool = figure("", "whether it is proven that no schedule has less")


@dataclass(frozen=True)
class Schedule:
    """When everything is done, with its proof."""

    operations: tuple[Planned, ...] = figure(
        "",
        "each operation with start and finish",
        how="first the promised dates, then the finish times, then the fewest change-overs, by search with proof",
        rests_on=("shop.operations", "shop:calendar"),
        sure="bound",
        change="more hours, a later promise, a helper, or an operation less",
    )
    finish: Mapping[str, datetime.datetime] = figure("", "when each job is finished, if every time is kept")
    late: Mapping[str, float] = figure("min", "elapsed minutes after its promise, of each promised job")
    aims: tuple[Reached, ...] = figure("", "what was reached of each aim, in their order")
    bound: float = figure("", "of the first aim that is not proven, or of the last", sure="gap")
    gap: float = figure("1", "of the same aim")
    proven: bool = figure("", "whether every aim is proven")
    change_overs: int = figure("1", "changes of kind at places that are set up")
    moved: tuple[str, ...] = figure("", "operations that start at another time than before", default=())
    timeline: Timeline | None = working(default=None)

    def by_name(self) -> dict[str, Planned]:
        """Each operation by its name."""
        return {planned.name: planned for planned in self.operations}
