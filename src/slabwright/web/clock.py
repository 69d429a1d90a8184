"""The shop's own clock, as the log and the calendar use it: local, without a zone."""

from __future__ import annotations

import datetime
from typing import Annotated

from pydantic import NaiveDatetime, WithJsonSchema

_MINUTE, _HOUR, _DAY = 1, 60, 24 * 60


Moment = Annotated[
    NaiveDatetime,
    WithJsonSchema(
        {
            "type": "string",
            "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(:[0-9]{2})?$",
            "description": "on the shop's own clock, without a zone",
            "examples": ["2026-12-01T08:30:00"],
        }
    ),
]
"""A moment in what is sent: RFC 3339's own format wants a zone, which the shop's clock does not have."""


def now() -> datetime.datetime:
    """This minute."""
    return datetime.datetime.now().replace(second=0, microsecond=0)


def zoned(moment: datetime.datetime) -> datetime.datetime:
    """A moment of the shop's clock with its zone, as the book keeps it."""
    return moment.astimezone()


def span_words(minutes: float) -> str:
    """Elapsed time as it is said: `25 min`, `3 h 10 min`, `2 days 5 h`; coarser the longer it is."""
    whole = max(0, round(minutes))
    if whole < _HOUR:
        return f"{whole} min"
    if whole < _DAY:
        hours, rest = divmod(whole, _HOUR)
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    days, rest = divmod(round(whole / _HOUR), 24)
    told = f"{days} day{'s' if days != 1 else ''}"
    return f"{told} {rest} h" if rest else told


def day_words(day: datetime.date, today: datetime.date | None = None) -> str:
    """A day as it is said: `Tue 2 Dec`, with the year where it is another one."""
    told = f"{day:%a} {day.day} {day:%b}"
    return told if today is None or day.year == today.year else f"{told} {day.year}"


def moment_words(moment: datetime.datetime, today: datetime.date) -> str:
    """A moment as it is said: the hour alone where it is today."""
    if moment.date() == today:
        return f"{moment:%H:%M}"
    near = {1: "tomorrow ", -1: "yesterday "}.get((moment.date() - today).days)
    return f"{near or day_words(moment.date(), today) + ' '}{moment:%H:%M}"
