"""The coats as a page shows them: when the next one goes on, the systems to choose from, starts, mixing cards, cans."""

from __future__ import annotations

import dataclasses
import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import Field

from slabwright.findings import Finding
from slabwright.finish.coating_plan import USUAL_TEMPERATURE, coating_plan
from slabwright.finish.coating_results import CoatPlan, SystemPlan
from slabwright.finish.coating_systems import asked_coats, examples, wood_listed
from slabwright.finish.coating_times import times_at
from slabwright.finish.preparation import preparation
from slabwright.finish.windows import (
    Calendar,
    between_words,
    clock_words,
    date_words,
    day_words,
    hours_words,
    last_start,
    next_window,
    ways_from,
    window_of,
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
_MINUTE = datetime.timedelta(minutes=1)
_MOST_COATS = 12
_DONE_BY = {"without sanding": "", "after scuffing": "scuff it, then ", "after sanding": "sand it flat, then "}


class NextCoat(Model):
    """What is to be done next on the wood or on the steel, as the clock stands."""

    on: On
    coat: int = Field(description="its number; 0: all coats are on")
    coating: str
    great: str = Field(description="the one line that is read from an arm's length")
    said: str = Field(description="what else is to be known")
    voice: Literal["go", "care", "wait", "done"]
    operation: str = Field(description="what it is logged as; nothing where all are on")
    open: bool = Field(description="whether it may go on this minute")


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


class CardPart(Model):
    """What is measured out."""

    name: str
    great: str
    small: str = Field(description="the other measure, or nothing")


class Card(Model):
    """One batch to mix."""

    key: str = Field(description="the tick's name: it changes when what is mixed changes")
    title: str
    parts: list[CardPart]
    lines: list[str]


class CanView(Model):
    """Cans to buy."""

    count: int = Field(description="0: its can sizes are not stated")
    coating: str
    holds: str
    money: str


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
    known = [one for one in known_coatings(job) if on == "wood" or one[0].kind != "oil"]
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


def starts_of(plan: Plan, on: On, at: datetime.datetime) -> list[StartOption]:
    """What is stated, this hour, and the next days' opening, side by side."""
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
    tried_at.append(("As soon as the shop allows", opens))
    day = opens.replace(hour=0, minute=0)
    for _ in range(2):
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


def system_view(plan: Plan, on: On, words: Words, at: datetime.datetime) -> SystemView | None:
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
        starts=starts_of(plan, on, at),
        start=stated.isoformat(timespec="minutes") if stated is not None else "",
    )


def operation_of(system: SystemPlan, coat: CoatPlan) -> str:
    """What the list of operations calls a coat."""
    return f"Coat {coat.number} on the {system.on}: {coat.coating}"


def on_since(plan: Plan, system: SystemPlan) -> dict[int, datetime.datetime]:
    """When each coat was put on, as the log has it."""
    names = {operation_of(system, coat): coat.number for coat in system.coats}
    found: dict[int, datetime.datetime] = {}
    for entry in sorted(plan.job.stated.log, key=lambda one: one.at):
        number = names.get(entry.operation)
        if number is not None and entry.event == "done":
            found[number] = entry.at
        elif number is not None and entry.event == "failed":
            found.pop(number, None)
    return found


def next_coats(plan: Plan, at: datetime.datetime) -> list[NextCoat]:
    """What is to be done next on the wood and on the steel.

    Args:
        plan: with its finish
        at: the shop's own clock
    """
    if plan.finish is None:
        return []
    return [_next(plan, system, at) for system in plan.finish.systems if system.coats]


def _next(plan: Plan, system: SystemPlan, at: datetime.datetime) -> NextCoat:
    job = plan.job
    clock, calendar = clock_of(job), calendar_of(job)
    finish = job.stated.finish or Finish()
    temperature = finish.temperature if finish.temperature is not None else USUAL_TEMPERATURE
    asked = asked_coats(rows_of(job, system.on), job.shop.coatings, f"finish.{system.on}")
    done = on_since(plan, system)
    last = max(done, default=0)
    if last == len(system.coats):
        usable = done[last] + datetime.timedelta(hours=system.cure)
        hard = usable <= at
        great = "Hard: use it as you like" if hard else f"All coats are on. Leave it until {date_words(usable)}"
        return NextCoat(
            on=system.on, coat=0, coating=system.coats[-1].coating, great=great,
            said=f"The last coat went on at {clock_words(done[last], clock)} {day_words(done[last], at)}."
            if done[last].date() >= at.date() else f"The last coat went on {date_words(done[last])}.",
            voice="done", operation="", open=False,
        )  # fmt: skip
    coat = system.coats[last]
    common: dict[str, Any] = {
        "on": system.on,
        "coat": coat.number,
        "coating": coat.coating,
        "operation": operation_of(system, coat),
    }
    if last == 0:
        return _first(plan, system, coat, asked, at, common)
    then, times = asked[last - 1].then, times_at(asked[last - 1].sheet, temperature)
    for number, way in enumerate(ways_from(then)):
        least, greatest = window_of(times, way)
        opens = done[last] + datetime.timedelta(hours=least)
        closes = done[last] + datetime.timedelta(hours=greatest) if greatest is not None else None
        begin = calendar.next_start(max(opens, at.replace(second=0, microsecond=0)), coat.minutes)
        if closes is not None and begin > closes + _MINUTE:
            continue
        by = last_start(begin, closes, coat.minutes, calendar)
        is_open = begin - at <= _MINUTE
        when = f"now, by {clock_words(by, clock)}" if is_open and by - at > _MINUTE else (
            "now" if is_open else between_words(begin, by, at, clock)
        )  # fmt: skip
        work = _DONE_BY[way]
        great = f"{work[:1].upper()}{work[1:]}coat {when}" if work else f"Coat {when}"
        if not is_open and not work:
            great = f"Coat next {when}"
        missed = number > 0
        since = hours_words(max(0.0, (at - done[last]).total_seconds() / 3600.0))
        said = f"Coat {last} has been on for {since}; the sheet wants {hours_words(least)}"
        said += f" to {hours_words(greatest)}." if greatest is not None else " at least."
        if missed:
            said = f"The window {_meant(ways_from(then)[0])} is past. {said}"
        return NextCoat(
            **common,
            great=great,
            said=said,
            voice="care" if missed else "go" if is_open else "wait",
            open=is_open,
        )
    raise AssertionError("sanding has no greatest")


def _meant(way: str) -> str:
    return "without sanding" if way == "without sanding" else way


def _first(
    plan: Plan,
    system: SystemPlan,
    coat: CoatPlan,
    asked: Sequence[Any],
    at: datetime.datetime,
    common: dict[str, Any],
) -> NextCoat:
    """The first coat: when it is planned, and what would follow if it went on now."""
    job = plan.job
    clock, calendar = clock_of(job), calendar_of(job)
    finish = job.stated.finish or Finish()
    temperature = finish.temperature if finish.temperature is not None else USUAL_TEMPERATURE
    planned = moment_of(coat.starts) if coat.starts is not None else None
    is_open = calendar.next_start(at.replace(second=0, microsecond=0), coat.minutes) - at <= _MINUTE
    said = ""
    if len(system.coats) > 1:
        ends = at + datetime.timedelta(minutes=coat.minutes)
        window, _ = next_window(
            times_at(asked[0].sheet, temperature), asked[0].then, ends, system.coats[1].minutes, calendar, clock
        )
        more = {"without sanding": "", "after scuffing": ", scuffed", "after sanding": ", sanded flat"}[window.way]
        said = f"Begun now, the next coat goes on {_since(window.words, window.begin, ends, at, clock)}{more}."
        if window.missed:
            said += " Its own window passes while the shop is closed."
    if planned is None:
        return NextCoat(
            **common, great="Coat when it is ready", said=said or "No start is stated.", voice="wait", open=is_open
        )
    if planned <= at:
        late = f"It was planned for {clock_words(planned, clock)} {_past(planned, at)}: log it if it is on. "
        return NextCoat(**common, great="Coat now" if is_open else "Coat when the shop opens", said=late + said,
                        voice="care", open=is_open)  # fmt: skip
    great = f"Begin at {clock_words(planned, clock)} {day_words(planned, at)}"
    return NextCoat(**common, great=great, said=said, voice="wait", open=is_open)


def _since(
    words: str, begin: str | None, ends: datetime.datetime, at: datetime.datetime, clock: Literal[12, 24]
) -> str:
    """The window's words, which count their day from when the coat is on: today where that is the same day."""
    return (
        words
        if begin is None or ends.date() == at.date()
        else between_words(moment_of(begin), moment_of(begin), at, clock)
    )


def _past(moment: datetime.datetime, at: datetime.datetime) -> str:
    days = (at.date() - moment.date()).days
    return "today" if days == 0 else "yesterday" if days == 1 else f"on {date_words(moment)}"


def moment_of(stamp: str) -> datetime.datetime:
    """A moment as the plan holds it."""
    return datetime.datetime.fromisoformat(stamp)


def coat_cards(plan: Plan, words: Words) -> list[Card]:
    """A mixing card for each batch of each coat."""
    if plan.finish is None:
        return []
    found = []
    for system in plan.finish.systems:
        for coat in system.coats:
            parts = [_part(coat, part, words) for part in coat.batches.parts]
            told = "; ".join(f"{part.name} {part.great}" for part in parts)
            for batch in range(1, coat.batches.count + 1):
                title = operation_of(system, coat)
                if coat.batches.count > 1:
                    title += f", batch {batch} of {coat.batches.count}"
                found.append(Card(key=f"{title}: {told}", title=title, parts=parts, lines=_lines(coat, words)))
    return found


def _part(coat: CoatPlan, part: Any, words: Words) -> CardPart:
    by_mass = coat.sheet.mix_by == "mass" and coat.sheet.two_parts and part.mass is not None
    name = {"": "Use", "thinner": "Thinner"}.get(part.name, part.name)
    volume = words.fill(part.volume * 1e6) if part.volume is not None else ""
    mass = words.grams(part.mass) if part.mass is not None else ""
    great, small = (mass, volume) if by_mass or not volume else (volume, mass)
    return CardPart(name=name, great=great, small=small)


def _lines(coat: CoatPlan, words: Words) -> list[str]:
    found = []
    if coat.batches.usable is not None and coat.pot_life is not None:
        stand = coat.sheet.more.induction
        waits = f"Let it stand {stand:.0f} min; use it" if stand > 0.0 else "Use it"
        found.append(f"{waits} up {max(0.0, coat.batches.usable + stand):.0f} min after mixing.")
    if coat.wet_film is not None:
        found.append(f"Comb gauge: {film_text(coat.wet_film, words)} wet, {film_text(coat.film, words)} dry.")
    if coat.sheet.kind == "oil":
        found.append("Worked in; wipe off all that stands. Oily cloths catch fire: wet them, or a lidded metal can.")
    if coat.sheet.isocyanate:
        found.append("Isocyanate: supplied air, nobody else in the building.")
    elif coat.sheet.epoxy:
        found.append("Epoxy: gloves, sleeves; skin sensitises.")
    return found


def resin_cards(plan: Plan, words: Words) -> list[Card]:
    """A mixing card for each batch of epoxy."""
    if plan.finish is None:
        return []
    found = []
    for batch in plan.finish.resin.batches:
        parts = [("Resin", batch.resin, batch.resin_volume), ("Hardener", batch.hardener, batch.hardener_volume)]
        if batch.tint > 0:
            parts.append(("Colour", batch.tint, None))
        views = [
            CardPart(name=name, great=f"{grams} g", small=words.fill(volume) if volume else "")
            for name, grams, volume in parts
        ]
        into = ", ".join(f"{one.place} {one.grams} g" if one.grams >= 1 else f"{one.place} a brushful"
                         for one in batch.portions[:8])  # fmt: skip
        start = "First" if batch.start <= 0.0 else f"{hours_words(batch.start)} after the first batch"
        title = f"{'Thin epoxy' if batch.sort == 'thin' else 'Epoxy'}, batch {batch.number}"
        told = "; ".join(f"{part.name} {part.great}" for part in views)
        found.append(
            Card(
                key=f"{title}: {told}",
                title=title,
                parts=views,
                lines=[f"Into {into}.", f"{start}. Pourable for {batch.working:.0f} min, less in a deep cup."],
            )
        )
    return found


def cans_of(plan: Plan, words: Words) -> list[CanView]:
    """Cans to buy, and coatings of which no can size is stated."""
    if plan.finish is None:
        return []
    found = []
    for system in plan.finish.systems:
        canned = {can.coating for can in system.cans}
        found += [
            CanView(
                count=can.count,
                coating=can.coating,
                holds=words.fill(can.size * 1e6),
                money=words.money(can.price) if can.price is not None else "",
            )
            for can in system.cans
        ]
        for name in dict.fromkeys(coat.coating for coat in system.coats if coat.coating not in canned):
            litres = sum(coat.amount for coat in system.coats if coat.coating == name)
            found.append(CanView(count=0, coating=name, holds=words.fill(litres * 1e6), money=""))
    return found


def stops_of(found: Tried) -> list[Problem]:
    """What a try has to say, stops and cautions first."""
    rank = {"stop": 0, "caution": 1, "note": 2}
    return [problem_of(one) for one in sorted(found.findings, key=lambda one: rank[one.severity])]
