"""A strip for each day on which a coat goes on: coats, the windows that they wait for, the shop's hours, and the clock."""

from __future__ import annotations

import datetime
from typing import Literal

from pydantic import Field

from slabwright.finish.windows import between_words, clock_words
from slabwright.plan import Plan
from slabwright.web.models import Model
from slabwright.web.pages.finish_coats import On, calendar_of, clock_of, moment_of, short_day

_LEFT, _WIDE, _LANE, _SCALE = 58.0, 336.0, 34.0, 22.0
_FROM, _TO = 6.0, 22.0
"""Hours that a strip shows; more where the shop is open earlier or later."""


class DayCoat(Model):
    """What lies on a day's strip."""

    kind: Literal["coat", "window"]
    on: On
    number: int = Field(description="of the coat; of a window the coat that it opens for")
    begin: float = Field(description="hours after midnight")
    end: float
    words: str


class DayStrip(Model):
    """One day on which a coat goes on, or is waited for."""

    date: datetime.date
    words: str
    opens: float = Field(description="hours after midnight; both alike: closed")
    closes: float
    now: float | None = Field(description="the clock, where it is today")
    pieces: list[DayCoat]
    svg: str = Field(description="the same, drawn")


def day_strips(plan: Plan, at: datetime.datetime, most: int = 24) -> list[DayStrip]:
    """A strip for each day on which a coat is planned to go on."""
    if plan.finish is None:
        return []
    calendar, clock = calendar_of(plan.job), clock_of(plan.job)
    pieces: dict[datetime.date, list[DayCoat]] = {}
    for system in plan.finish.systems:
        for coat in system.coats:
            if coat.starts is None or coat.ends is None:
                continue
            begins, ends = moment_of(coat.starts), moment_of(coat.ends)
            told = f"{clock_words(begins, clock)}: coat {coat.number} on the {system.on}, {coat.coating}"
            pieces.setdefault(begins.date(), []).append(
                DayCoat(kind="coat", on=system.on, number=coat.number, begin=_hour(begins, begins),
                        end=_hour(ends, begins), words=told)
            )  # fmt: skip
            window = coat.next
            if window is not None and window.begin is not None and window.begin_by is not None:
                first, by = moment_of(window.begin), moment_of(window.begin_by)
                told = f"coat {coat.number + 1} on the {system.on} may begin {between_words(first, by, first, clock)}"
                told = told.removesuffix(" today").removesuffix(" tonight")
                pieces.setdefault(first.date(), []).append(
                    DayCoat(kind="window", on=system.on, number=coat.number + 1, begin=_hour(first, first),
                            end=_hour(by, first), words=told)
                )  # fmt: skip
    found = []
    for date in sorted(pieces)[:most]:
        midnight = datetime.datetime.combine(date, datetime.time())
        span = calendar.span(midnight)
        strip = DayStrip(
            date=date,
            words=short_day(midnight),
            opens=_hour(span[0], midnight) if span else 0.0,
            closes=_hour(span[1], midnight) if span else 0.0,
            now=_hour(at, at) if at.date() == date else None,
            pieces=sorted(pieces[date], key=lambda one: (one.begin, one.kind)),
            svg="",
        )
        found.append(strip.model_copy(update={"svg": strip_picture(strip, clock)}))
    return found


def _hour(moment: datetime.datetime, of: datetime.datetime) -> float:
    midnight = of.replace(hour=0, minute=0, second=0, microsecond=0)
    return round((moment - midnight).total_seconds() / 3600.0, 3)


def strip_picture(strip: DayStrip, clock: Literal[12, 24]) -> str:
    """A day's strip as SVG in the page's colours; what it shows stands beside it in words."""
    lanes = [on for on in ("wood", "steel") if any(piece.on == on for piece in strip.pieces)]
    first = min(_FROM, strip.opens if strip.closes > strip.opens else _FROM)
    last = max(_TO, strip.closes)
    high = _SCALE + _LANE * len(lanes) + 2.0

    def at(hour: float) -> float:
        return round(_LEFT + _WIDE * (min(max(hour, first), last) - first) / (last - first), 1)

    foot = high - 2.0
    parts = [f'<rect class="closed" x="{_LEFT}" y="{_SCALE}" width="{_WIDE}" height="{foot - _SCALE:.0f}"/>']
    if strip.closes > strip.opens:
        x0, x1 = at(strip.opens), at(strip.closes)
        parts.append(f'<rect class="open" x="{x0}" y="{_SCALE}" width="{x1 - x0:.1f}" height="{foot - _SCALE:.0f}"/>')
    for hour in range(int(first + 0.99), int(last) + 1):
        if hour % 4 == 0:
            said = f"{hour}:00" if clock == 24 else f"{(hour + 11) % 12 + 1} {'am' if hour % 24 < 12 else 'pm'}"
            parts.append(f'<text class="hour" x="{at(hour)}" y="15">{said}</text>')
            parts.append(f'<path class="tick" d="M{at(hour)} {_SCALE}V{foot}"/>')
    for lane, on in enumerate(lanes):
        top = _SCALE + lane * _LANE
        parts.append(f'<text class="lane" x="0" y="{top + 22:.0f}">{on.capitalize()}</text>')
        parts.append(f'<rect class="edge" x="{_LEFT}" y="{top}" width="{_WIDE}" height="{_LANE}"/>')
        own = [piece for piece in strip.pieces if piece.on == on]
        for piece in (one for one in own if one.kind == "window"):
            x0, x1 = at(piece.begin), max(at(piece.end), at(piece.begin) + 4.0)
            parts.append(
                f'<rect class="window" x="{x0}" y="{top + 5:.0f}" width="{x1 - x0:.1f}" height="{_LANE - 10:.0f}"/>'
            )
        for piece in (one for one in own if one.kind == "coat"):
            x0 = at(piece.begin)
            wide = max(at(piece.end) - x0, 24.0)
            parts.append(
                f'<rect class="coat" x="{x0}" y="{top + 3:.0f}" width="{wide:.1f}" height="{_LANE - 6:.0f}" rx="3"/>'
            )
            parts.append(f'<text class="number" x="{x0 + wide / 2:.1f}" y="{top + 23:.0f}">{piece.number}</text>')
    if strip.now is not None and first <= strip.now <= last:
        parts.append(f'<path class="now" d="M{at(strip.now)} {_SCALE - 6}V{foot}"/>')
    return (
        f'<svg class="strip" viewBox="0 0 {_LEFT + _WIDE + 6:.0f} {high:.0f}" aria-hidden="true">{"".join(parts)}</svg>'
    )
