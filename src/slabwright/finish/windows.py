"""When the next coat goes on: the sheet's windows against the hours in which somebody is in the shop."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from slabwright.accounts import figure
from slabwright.finish.coating_times import Basis, SheetTimes

Way = Literal["without sanding", "after scuffing", "after sanding"]
Then = Literal["coat", "scuff", "sand"]

_LONGEST_WAIT = 60
"""Days in which an open hour is looked for."""
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_EVENING = 17
_SLACK = timedelta(seconds=1)


@dataclass(frozen=True)
class Calendar:
    """When somebody is in the shop: hours of the day, and days on which nobody is."""

    opens: float = 8.0
    closes: float = 20.0
    closed: frozenset[str] = frozenset()

    def span(self, day: datetime) -> tuple[datetime, datetime] | None:
        """Opening and closing of a day; None where it is closed."""
        if _DAYS[day.weekday()] in self.closed:
            return None
        midnight = day.replace(hour=0, minute=0, second=0, microsecond=0)
        return midnight + timedelta(hours=self.opens), midnight + timedelta(hours=self.closes)

    def next_start(self, earliest: datetime, minutes: float) -> datetime:
        """The first moment from which a piece of work fits into a day; what is longer than a day begins when it opens.

        Args:
            earliest: that it may begin
            minutes: that it takes [min]
        """
        work = timedelta(minutes=min(minutes, 60.0 * (self.closes - self.opens)))
        for days in range(_LONGEST_WAIT):
            span = self.span(earliest + timedelta(days=days))
            if span is None:
                continue
            begins = max(span[0], earliest)
            if begins + work <= span[1] + _SLACK:
                return begins
        raise ValueError("the shop is closed for weeks on end")


@dataclass(frozen=True)
class Window:
    """From one coat to the next."""

    way: Way = figure(
        "",
        "what is done to the coat before the next",
        how="as the job states it; where its window passes while the shop is closed, the next best: scuffed, then sanded",
        rests_on=("job:finish", "shop:coatings"),
    )
    least: float = figure(
        "hour",
        "from the end of this coat, at least",
        how="the data sheet's, at the shop's temperature",
        rests_on=("shop:coatings", "job:finish.temperature"),
        sure="as sure as the sheet, at an even temperature",
        change="a warmer or a cooler shop",
        rounds="up",
    )
    greatest: float | None = figure(
        "hour",
        "from the end of this coat, at most; empty: none",
        how="the data sheet's, at the shop's temperature; sanding makes it moot",
        rests_on=("shop:coatings", "job:finish.temperature"),
        rounds="down",
    )
    basis: Basis = figure("", "what these hours rest on", source="see reference/coatings.toml for the temperature rule")
    opens: str | None = figure("", "when the window opens; empty: no start is stated", rests_on=("job:finish.start",))
    closes: str | None = figure("", "when it closes; empty: it does not, or no start is stated")
    begin: str | None = figure(
        "", "first moment in the window that the next coat fits into the shop's hours", rests_on=("job:finish.opens",)
    )
    begin_by: str | None = figure("", "last moment of that day in the window")
    words: str = figure("", "when to coat next, as it is said at the bench")
    missed: bool = figure(
        "", "whether the stated way's window passes while the shop is closed, so that the next best way is taken"
    )


def window_of(times: SheetTimes, way: Way) -> tuple[float, float | None]:
    """Least and greatest hours of a way; sanding makes the greatest moot and time-to-sand governs [h]."""
    if way == "without sanding":
        return times.without_sanding
    return times.after_scuffing if way == "after scuffing" else (times.time_to_sand, None)


def ways_from(then: Then) -> tuple[Way, ...]:
    """The stated way, and what is left to do where its window is missed."""
    if then == "coat":
        return ("without sanding", "after scuffing", "after sanding")
    return ("after scuffing", "after sanding") if then == "scuff" else ("after sanding",)


def next_window(
    times: SheetTimes,
    then: Then,
    done: datetime | None,
    minutes: float,
    calendar: Calendar,
    clock: Literal[12, 24] = 24,
) -> tuple[Window, datetime | None]:
    """When the next coat goes on.

    Args:
        times: of the coat that is recoated, at the shop's temperature
        then: what the job states is done to it
        done: when it was put on; None: not known
        minutes: that the next coat takes [min]
        calendar: when somebody is in the shop
        clock: hours of the day as people read them

    Returns:
        The window, and the moment from which the next coat is planned; None where `done` is.
    """
    ways = ways_from(then)
    if done is None:
        least, greatest = window_of(times, ways[0])
        words = (
            f"after {hours_words(least)}"
            if greatest is None
            else f"{hours_words(least)} to {hours_words(greatest)} after"
        )
        return Window(ways[0], least, greatest, times.basis, None, None, None, None, words, False), None
    for number, way in enumerate(ways):
        least, greatest = window_of(times, way)
        opens = done + timedelta(hours=least)
        closes = done + timedelta(hours=greatest) if greatest is not None else None
        begin = calendar.next_start(opens, minutes)
        if closes is not None and begin > closes + _SLACK:
            continue
        by = last_start(begin, closes, minutes, calendar)
        words = between_words(begin, by, done, clock)
        return (
            Window(
                way, least, greatest, times.basis, stamp(opens), stamp(closes) if closes else None,
                stamp(begin), stamp(by), words, number > 0,
            ),
            begin,
        )  # fmt: skip
    raise AssertionError("sanding has no greatest")


def last_start(begin: datetime, closes: datetime | None, minutes: float, calendar: Calendar) -> datetime:
    """The last moment of that day from which the coat begins in its window and ends in the shop's hours."""
    span = calendar.span(begin)
    assert span is not None
    last = max(begin, span[1] - timedelta(minutes=minutes))
    return last if closes is None else min(last, closes)


def better_start(
    times: SheetTimes,
    then: Then,
    start: datetime,
    until: datetime | None,
    own: float,
    following: float,
    calendar: Calendar,
    *,
    first: bool = False,
) -> datetime | None:
    """The nearest other start of a coat, by half hours, from which the next coat's stated window is met.

    Later ones are tried within two days; of the first coat earlier ones of the same day too.

    Args:
        times: of the coat
        then: what is done to it
        start: as planned
        until: when its own window closes; None: it does not
        own: minutes that it takes [min]
        following: minutes that the next coat takes [min]
        calendar: when somebody is in the shop
        first: whether it is the first coat, so that nothing keeps it from an earlier hour
    """
    even = start.replace(minute=30 * (start.minute // 30), second=0, microsecond=0)
    for half_hours in range(1, 97):
        for tried in (even - timedelta(minutes=30 * half_hours), even + timedelta(minutes=30 * half_hours)):
            if tried < start and not (first and tried.date() == start.date()):
                continue
            if (until is not None and tried > until) or calendar.next_start(tried, own) != tried:
                continue
            window, _ = next_window(times, then, tried + timedelta(minutes=own), following, calendar)
            if not window.missed:
                return tried
    return None


def stamp(moment: datetime) -> str:
    """A moment as `plan.json` holds it, to the minute."""
    return (moment + timedelta(seconds=30)).replace(second=0, microsecond=0).isoformat(timespec="minutes")


def hours_words(hours: float) -> str:
    """A span as it is said: minutes, hours, or days."""
    if hours < 1.0:
        return f"{hours * 60.0:.0f} min"
    if hours < 72.0:
        return f"{hours:.1f}".removesuffix(".0") + " h"
    return f"{hours / 24.0:.1f}".removesuffix(".0") + " days"


def clock_words(moment: datetime, clock: Literal[12, 24] = 24) -> str:
    """An hour of the day: 18:00, or 6 pm."""
    moment = moment + timedelta(seconds=30)
    if clock == 24:
        return f"{moment.hour:02d}:{moment.minute:02d}"
    minutes = f":{moment.minute:02d}" if moment.minute else ""
    return f"{(moment.hour + 11) % 12 + 1}{minutes} {'am' if moment.hour < 12 else 'pm'}"


def day_words(moment: datetime, today: datetime) -> str:
    """A day as it is said on another one: today, tonight, tomorrow, on Thursday 3 December."""
    days = (moment.date() - today.date()).days
    if days == 0:
        return "tonight" if moment.hour >= _EVENING else "today"
    return "tomorrow" if days == 1 else f"on {date_words(moment)}"


def date_words(moment: datetime) -> str:
    """A day with its weekday: Thursday 3 December."""
    return f"{_DAYS[moment.weekday()]} {moment.day} {_MONTHS[moment.month - 1]}"


def between_words(begin: datetime, by: datetime, today: datetime, clock: Literal[12, 24] = 24) -> str:
    """When to coat next: between 18:00 and 21:00 tonight."""
    # What opens is rounded up to five minutes, what closes is rounded down, so that the words stay true.
    first, last = _five_minutes(begin, up=True), _five_minutes(by, up=False)
    if last <= first:
        return f"at {clock_words(begin, clock)} {day_words(begin, today)}"
    return f"between {clock_words(first, clock)} and {clock_words(last, clock)} {day_words(begin, today)}"


def _five_minutes(moment: datetime, *, up: bool) -> datetime:
    midnight = moment.replace(hour=0, minute=0, second=0, microsecond=0)
    fives = (moment - midnight).total_seconds() / 300.0
    whole = math.ceil(fives - 1e-6) if up else math.floor(fives + 1e-6)
    return midnight + timedelta(minutes=5 * whole)
