"""The coats as a page shows them: when the next one goes on, the systems to choose from, starts, mixing cards, cans."""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import Field

from slabwright.findings import Finding
from slabwright.finish.coating_plan import coating_plan
from slabwright.finish.coating_results import SystemPlan
from slabwright.finish.coating_systems import examples, wood_listed
from slabwright.finish.preparation import preparation
from slabwright.finish.windows import (
    Calendar,
    clock_words,
    date_words,
    day_words,
    hours_words,
)
from slabwright.job.finish_models import Coating, Finish, FinishCoat
from slabwright.job.loaded import Job
from slabwright.plan import Plan
from slabwright.sheets.finish_drawing import film_text
from slabwright.sheets.words import Words
from slabwright.web.figures import problem_of
from slabwright.web.models import Model, Problem
from slabwright.web.typed import retold

On = Literal["wood", "steel"]
SIDES: tuple[On, ...] = ("wood", "steel")
_MOST_COATS = 12


class SystemOption(Model):
    """One choice of coats with what it costs."""

    title: str
    example: bool = Field(description="whether invented example figures stand behind it")
    coats: int
    amount: str = Field(description="of all coats, before thinner")
    hours: str = Field(description="hands on it: surface preparation and coats")
    days: str = Field(description="from the first coat until it may be used")
    money: str = Field(description="of its cans")
    film: str = Field(description="dry film of all coats; nothing where it leaves none")
    problems: list[str] = Field(description="stops and cautions that it brings")
    taken: bool
    values: dict[str, Any] = Field(description="keys that take it; none where it is taken")


class CoatRow(Model):
    """One line of a system as it is stated."""

    coating: str
    coats: int
    then: Literal["coat", "scuff", "sand"]


class StartOption(Model):
    """One time to begin with what follows from it."""

    words: str
    first: str = Field(description="when the first coat goes on")
    coats: list[str] = Field(description="when each coat goes on, in words")
    usable: str
    missed: list[str] = Field(description="windows that pass while the shop is closed")
    taken: bool
    values: dict[str, Any]


class SystemView(Model):
    """What goes on the wood, or on the steel."""

    on: On
    rows: list[CoatRow] = Field(description="as it is stated")
    options: list[SystemOption] = Field(description="coatings to choose from, side by side")
    counts: list[SystemOption] = Field(description="fewer and more coats of each line, side by side")
    starts: list[StartOption] = Field(description="times to begin, side by side")
    start: str = Field(description="that is stated, as a date and an hour; nothing where none is")


@dataclass(frozen=True)
class Tried:
    """A finish stated otherwise: the systems, the hours of each, and what there is to say."""

    job: Job
    systems: tuple[SystemPlan, ...]
    hours: Mapping[str, float]
    findings: tuple[Finding, ...]

    def system(self, on: On) -> SystemPlan | None:
        """The system on the wood or on the steel."""
        return next((one for one in self.systems if one.on == on), None)


def tried(plan: Plan, files: Mapping[str, bytes], values: Mapping[str, Any]) -> Tried:
    """Coat the piece with values that are not saved; `finish` and `piece.finish` may be tried.

    Raises:
        SlabwrightError: a value cannot be used.
    """
    return worked(plan, retold(plan.job, files, values, ("finish",)))


def restated(job: Job, **changes: Any) -> Job:
    """The job with parts of `[finish]` stated otherwise, all of them usable as they are."""
    finish = (job.stated.finish or Finish()).model_copy(update=changes)
    return dataclasses.replace(job, stated=job.stated.model_copy(update={"finish": finish}))


def worked(plan: Plan, job: Job, only: On | None = None) -> Tried:
    """Coat the piece as a job states it; wood or steel only where that is asked for.

    Raises:
        SlabwrightError: a coating is not known.
    """
    assert plan.finish is not None
    areas = plan.finish.areas
    if only is not None:
        areas = dataclasses.replace(areas, steel=0.0) if only == "wood" else dataclasses.replace(areas, wood=0.0)
    systems, found = coating_plan(job, areas)
    ready = preparation(job, plan.finish.areas)
    hours: dict[str, float] = {
        one.on: (
            (ready.minutes_wood if one.on == "wood" else ready.minutes_steel) + sum(coat.minutes for coat in one.coats)
        )
        / 60.0
        for one in systems
    }
    return Tried(job, systems, hours, found)


def rows_of(job: Job, on: On) -> list[FinishCoat]:
    """The lines of a system as the job means them."""
    finish = job.stated.finish or Finish()
    return list(wood_listed(job)[0]) if on == "wood" else list(finish.steel)


def _table(row: FinishCoat) -> dict[str, Any]:
    return row.model_dump(exclude_unset=True) | {"coating": row.coating}


def known_coatings(job: Job) -> list[tuple[Coating, bool]]:
    """The shop's coatings, then invented examples of which the shop states none of that name."""
    own = {" ".join(one.name.lower().split()) for one in job.shop.coatings}
    more = [one for one in examples() if " ".join(one.name.lower().split()) not in own]
    return [*((one, False) for one in job.shop.coatings), *((one, True) for one in more)]


def calendar_of(job: Job) -> Calendar:
    """When somebody is in the shop."""
    finish = job.stated.finish or Finish()
    return Calendar(*finish.hours, frozenset(finish.closed))


def clock_of(job: Job) -> Literal[12, 24]:
    """Hours of the day as people read them."""
    return 24 if job.stated.job.units == "metric" else 12


def short_day(day: datetime.datetime) -> str:
    """A day as a strip has it: Thu 3 Dec."""
    weekday, date, month = date_words(day).split(" ")
    return f"{weekday[:3]} {date} {month[:3]}"


def option_of(
    title: str, found: Tried, on: On, words: Words, values: dict[str, Any], *, example: bool, taken: bool
) -> SystemOption | None:
    """A choice with what it costs; None where it leaves nothing to put on."""
    system = found.system(on)
    if system is None:
        return None
    first, usable = system.coats[0].starts, system.usable
    if first is not None and usable is not None:
        days = (moment_of(usable) - moment_of(first)).total_seconds() / 86400.0
    else:
        days = (sum(coat.next.least for coat in system.coats if coat.next is not None) + system.cure) / 24.0
    prices = [can.price for can in system.cans]
    priced = bool(prices) and all(price is not None for price in prices)
    canned = {can.coating for can in system.cans}
    priced = priced and all(coat.coating in canned for coat in system.coats)
    return SystemOption(
        title=title,
        example=example,
        coats=len(system.coats),
        amount=words.fill(sum(coat.amount for coat in system.coats) * 1e6),
        hours=f"{found.hours[on]:.1f} h",
        days=words.days(round(days, 1)),
        money=words.money(sum(price for price in prices if price is not None)) if priced else "no price stated",
        film=film_text(system.film, words) if system.film else "",
        problems=[
            one.message
            for one in found.findings
            if one.severity != "note"
            and one.code != "finish/example-figures"
            and any(coat.coating in one.message for coat in system.coats)
        ],
        taken=taken,
        values={} if taken else values,
    )


def options_of(plan: Plan, on: On, words: Words) -> list[SystemOption]:
    """Coatings to choose from: on the steel the one that goes on last, over what lies under it."""
    job = plan.job
    rows = rows_of(job, on)
    under = rows[:-1] if on == "steel" else []
    last = rows[-1].coating if rows else ""
    found: list[SystemOption | None] = []
    # What is made for the other is not offered: oil for the steel; an epoxy, which goes under paint, for the wood.
    known = [
        one
        for one in known_coatings(job)
        if (one[0].kind != "oil" if on == "steel" else not one[0].epoxy or one[0].name == last)
    ]
    # Oils first on the wood; a primer last.
    known.sort(key=lambda one: (one[0].kind != "oil", one[0].epoxy) if on == "wood" else (False, False))
    for sheet, example in known:
        if any(row.coating == sheet.name for row in under):
            continue
        same = " ".join(sheet.name.lower().split()) == " ".join(last.lower().split())
        taken = same and (on == "steel" or len(rows) == 1)
        new = [*under, rows[-1] if taken else FinishCoat(coating=sheet.name)]
        values = _as_values(on, [_table(row) for row in new])
        title = sheet.name if not under else f"{sheet.name} on {under[-1].coating}"
        made = worked(plan, job if taken else restated(job, **{on: new}), on)
        found.append(option_of(title, made, on, words, values, example=example, taken=taken))
    return [one for one in found if one is not None]


def counts_of(plan: Plan, on: On, words: Words) -> list[SystemOption]:
    """One coat fewer and one more of each line, beside what is stated."""
    job = plan.job
    rows = rows_of(job, on)
    sheets = {sheet.name: sheet for sheet, _ in known_coatings(job)}
    found: list[SystemOption | None] = []
    for number, row in enumerate(rows):
        sheet = next((one for name, one in sheets.items() if name.lower() == row.coating.strip().lower()), None)
        now = row.coats or (sheet.coats if sheet is not None else 1)
        for count in (now - 1, now, now + 1):
            if not 1 <= count <= _MOST_COATS:
                continue
            taken = count == now
            tables = [_table(one) for one in rows]
            tables[number]["coats"] = count
            values = _as_values(on, tables)
            new = [*rows[:number], row.model_copy(update={"coats": count}), *rows[number + 1 :]]
            made = worked(plan, job if taken else restated(job, **{on: new}), on)
            title = f"{count} × {row.coating}"
            found.append(option_of(title, made, on, words, values, example=False, taken=taken))
    return [one for one in found if one is not None]


def _as_values(on: On, tables: list[dict[str, Any]]) -> dict[str, Any]:
    return {f"finish.{on}": tables}


def starts_of(plan: Plan, on: On, at: datetime.datetime, *, ready: bool = True) -> list[StartOption]:
    """What is stated and, where it is ready for its coats, this hour and the next days' opening, side by side."""
    job = plan.job
    finish = job.stated.finish or Finish()
    calendar = calendar_of(job)
    key = "finish.start" if on == "wood" else "finish.steel_start"
    stated = finish.start if on == "wood" else finish.steel_start or finish.start
    system = worked(plan, job, on).system(on)
    if system is None:
        return []
    tried_at: list[tuple[str, datetime.datetime | None]] = []
    if stated is not None:
        tried_at.append(("As stated", None))
    opens = calendar.next_start(_half_hour(at), system.coats[0].minutes)
    if ready:
        tried_at.append(("As soon as the shop allows", opens))
    day = opens.replace(hour=0, minute=0)
    for _ in range(2 if ready else 0):
        day = calendar.next_start(day + datetime.timedelta(days=1), system.coats[0].minutes)
        tried_at.append((f"When the shop opens {day_words(day, at).removeprefix('tonight')}", day))
        day = day.replace(hour=0, minute=0)
    found = []
    for words, moment in tried_at:
        values = {} if moment is None else {key: moment.isoformat(timespec="minutes")}
        made = worked(plan, job if moment is None else restated(job, **{key.partition(".")[2]: moment}), on)
        there = made.system(on)
        assert there is not None
        found.append(start_of(words, there, made, values, taken=moment is None))
    return found


def start_of(words: str, system: SystemPlan, made: Tried, values: dict[str, Any], *, taken: bool) -> StartOption:
    """A time to begin with what follows from it."""
    clock = clock_of(made.job)
    told = []
    for coat in system.coats:
        if coat.starts is not None:
            begins = moment_of(coat.starts)
            told.append(f"{coat.number}: {short_day(begins)}, {clock_words(begins, clock)}")
    names = {coat.coating for coat in system.coats}
    missed = [
        one.message
        for one in made.findings
        if one.code == "finish/window-missed" and any(name in one.message for name in names)
    ]
    usable = moment_of(system.usable) if system.usable is not None else None
    return StartOption(
        words=words,
        first=told[0].partition(": ")[2] if told else "no start is stated",
        coats=told,
        usable=short_day(usable) if usable is not None else hours_words(system.cure) + " after the last coat",
        missed=missed,
        taken=taken,
        values=values,
    )


def _half_hour(moment: datetime.datetime) -> datetime.datetime:
    even = moment.replace(minute=30 * (moment.minute // 30), second=0, microsecond=0)
    return even if even >= moment.replace(second=0, microsecond=0) else even + datetime.timedelta(minutes=30)


def system_view(plan: Plan, on: On, words: Words, at: datetime.datetime, *, ready: bool = True) -> SystemView | None:
    """All about one system; None where there is nothing to coat."""
    assert plan.finish is not None
    areas = plan.finish.areas
    if (areas.wood if on == "wood" else areas.steel) <= 0.0:
        return None
    finish = plan.job.stated.finish or Finish()
    stated = finish.start if on == "wood" else finish.steel_start or finish.start
    sheets = {sheet.name: sheet for sheet, _ in known_coatings(plan.job)}
    rows = [
        CoatRow(
            coating=row.coating,
            coats=row.coats or (sheets[row.coating].coats if row.coating in sheets else 1),
            then=row.then,
        )
        for row in rows_of(plan.job, on)
    ]
    return SystemView(
        on=on,
        rows=rows,
        options=options_of(plan, on, words),
        counts=counts_of(plan, on, words),
        starts=starts_of(plan, on, at, ready=ready),
        start=stated.isoformat(timespec="minutes") if stated is not None else "",
    )


def moment_of(stamp: str) -> datetime.datetime:
    """A moment as the plan holds it."""
    return datetime.datetime.fromisoformat(stamp)


def stops_of(found: Tried) -> list[Problem]:
    """What a try has to say, stops and cautions first."""
    rank = {"stop": 0, "caution": 1, "note": 2}
    return [problem_of(one) for one in sorted(found.findings, key=lambda one: rank[one.severity])]
