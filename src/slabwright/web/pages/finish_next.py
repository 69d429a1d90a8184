"""The next coat as the clock stands: counted from when the last one went on, within its window and the shop's hours."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from typing import Any, Literal

from pydantic import Field

from slabwright.finish.coating_plan import USUAL_TEMPERATURE
from slabwright.finish.coating_results import CoatPlan, SystemPlan
from slabwright.finish.coating_systems import asked_coats
from slabwright.finish.coating_times import times_at
from slabwright.finish.windows import (
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
from slabwright.job.finish_models import Finish
from slabwright.plan import Plan
from slabwright.web.models import Model
from slabwright.web.pages.finish_coats import On, calendar_of, clock_of, moment_of, rows_of

_MINUTE = datetime.timedelta(minutes=1)
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
    before: str = Field("", description="what has to be done before the first coat and is not; nothing where all is")


_FIRST: dict[On, tuple[tuple[re.Pattern[str], str], ...]] = {
    "wood": (
        (re.compile(r"(Rough|Skim|Cut) face "), "the slab is not flat"),
        (re.compile(r"Cut the top to length"), "the top is not cut to length"),
    ),
    "steel": ((re.compile(r"Weld the base"), "the base is not welded"),),
}
"""Operations, as the list calls them, without which nothing is coated."""


def first_of_all(plan: Plan, on: On) -> str:
    """What has to be done before the first coat and is not, as far as log and measures tell; nothing where all is.

    Args:
        plan: with the shop's operations
        on: wood or steel
    """
    operations = plan.shop.operations if plan.shop is not None else ()
    for pattern, words in _FIRST[on]:
        if any(pattern.match(one.name) and one.state != "done" for one in operations):
            return words
    return ""


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
    if before := first_of_all(plan, system.on):
        planned_words = f"Planned: {clock_words(planned, clock)} {date_words(planned)}." if planned is not None else ""
        return NextCoat(
            **common, great=f"Not yet: {before}", said=planned_words, voice="wait", open=False, before=before
        )
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
