"""When the shop works: the shop file's models of its week, its holidays and the days away."""

from __future__ import annotations

import datetime
import re
from itertools import pairwise
from typing import Annotated, Self

from pydantic import BeforeValidator, Field, model_validator

from slabwright.job.fields import Stated

_HOURS = re.compile(r"(\d{1,2}):(\d{2})\s*(?:-|–|to)\s*(\d{1,2}):(\d{2})")
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def minutes_of(hours: str) -> tuple[int, int]:
    """Begin and end of hours such as `08:00-12:00` [minutes from midnight].

    Raises:
        ValueError: they are not written so, or end before they begin.
    """
    found = _HOURS.fullmatch(hours.strip())
    if not found:
        raise ValueError(f'hours are written "08:00-12:00"; it says "{hours[:40]}"')
    parts = [int(part) for part in found.groups()]
    begin, end = 60 * parts[0] + parts[1], 60 * parts[2] + parts[3]
    if parts[1] > 59 or parts[3] > 59 or end > 24 * 60:
        raise ValueError(f'"{hours}" is no time of a day; the last is 24:00')
    if end <= begin:
        raise ValueError(f'"{hours}" ends before it begins; work past midnight is stated on both days')
    return begin, end


def _day(value: object) -> object:
    """A date as it is typed, with or without quotes."""
    if isinstance(value, datetime.datetime) or not isinstance(value, str | datetime.date):
        raise ValueError("must be a date, such as 2026-12-24")
    if isinstance(value, datetime.date):
        return datetime.date(value.year, value.month, value.day)
    try:
        return datetime.date.fromisoformat(value)
    except ValueError:
        raise ValueError(f'must be a date, such as 2026-12-24; it says "{value[:40]}"') from None


def _hours(value: object) -> object:
    if isinstance(value, str):
        minutes_of(value)
    return value


Day = Annotated[datetime.date, BeforeValidator(_day)]
Stretch = Annotated[str, BeforeValidator(_hours)]
_WORKDAY: list[str] = ["08:00-12:00", "12:30-17:00"]


class Away(Stated):
    """`[[calendar.away]]`: days on which nobody works."""

    first: Day = Field(description="first day away")
    last: Day = Field(description="last day away")

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if self.last < self.first:
            raise ValueError("last must not be before first")
        return self


class Calendar(Stated):
    """`[calendar]`: when the shop works. Defaults are common practice."""

    monday: list[Stretch] = Field(_WORKDAY, max_length=8, description="working hours; [] for none")
    tuesday: list[Stretch] = Field(_WORKDAY, max_length=8, description="working hours; [] for none")
    wednesday: list[Stretch] = Field(_WORKDAY, max_length=8, description="working hours; [] for none")
    thursday: list[Stretch] = Field(_WORKDAY, max_length=8, description="working hours; [] for none")
    friday: list[Stretch] = Field(_WORKDAY, max_length=8, description="working hours; [] for none")
    saturday: list[Stretch] = Field([], max_length=8, description="working hours; [] for none")
    sunday: list[Stretch] = Field([], max_length=8, description="working hours; [] for none")
    holidays: list[Day] = Field([], max_length=1000, description="days on which the shop is closed")
    country: str | None = Field(
        None,
        pattern=r"^[A-Z]{2}$",
        description="two capital letters; its public holidays are taken as holidays too",
    )
    region: str | None = Field(
        None, min_length=1, max_length=10, description="part of the country, where its holidays differ"
    )
    away: list[Away] = Field([], max_length=200, description="days on which nobody works")

    @model_validator(mode="after")
    def _works(self) -> Self:
        week = self.week
        if not any(week):
            raise ValueError(
                'no day of the week has working hours; state some, such as monday = ["08:00-12:00", "12:30-17:00"]'
            )
        for name, stretches in zip(WEEKDAYS, week, strict=True):
            if any(a[1] > b[0] for a, b in pairwise(stretches)):
                raise ValueError(f"the hours of {name} overlap; state each hour once")
        if self.region is not None and self.country is None:
            raise ValueError("region needs its country")
        return self

    @property
    def week(self) -> tuple[tuple[tuple[int, int], ...], ...]:
        """Working hours of Monday to Sunday, each in order [minutes from midnight]."""
        return tuple(tuple(sorted(minutes_of(hours) for hours in getattr(self, name))) for name in WEEKDAYS)
