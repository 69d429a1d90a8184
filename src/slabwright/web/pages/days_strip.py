"""A day as a strip: what is at the bench, what dries by itself, what is away. One job stands out, the others beside it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from slabwright.shop.calendar import WorkingCalendar
from slabwright.web import clock
from slabwright.web.shop_days import Work

_HOUR = 20.0
"""Width of an hour; the strip is as wide as a day and scales with the page."""
_LANES = {"bench": (2.0, 24.0), "drying": (29.0, 11.0), "away": (43.0, 11.0)}
"""Top and height of each lane."""
_BOTTOM = 57.0
_LEAST = 3.0
"""Narrower than this, a stretch would not be seen."""
_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class Stretch:
    """A stretch of one day.

    Attributes:
        lane: bench, drying or away
        start: within the day
        finish: within the day
        work: what
    """

    lane: str
    start: datetime.datetime
    finish: datetime.datetime
    work: Work


def stretches(works: Sequence[Work], day: datetime.date) -> list[Stretch]:
    """What a day has of each lane, in the order of time."""
    begin = datetime.datetime.combine(day, datetime.time())
    end = begin + _DAY
    found = []
    for work in works:
        away = work.operation.room == "away"
        for start, finish in work.planned.pieces:
            if start < end and finish > begin:
                found.append(Stretch("away" if away else "bench", max(start, begin), min(finish, end), work))
        since, until = work.waits_since, work.planned.finish_at
        if since < until and since < end and until > begin:
            lane = "away" if work.operation.gate else "drying"
            found.append(Stretch(lane, max(since, begin), min(until, end), work))
    return sorted(found, key=lambda one: (one.start, one.finish))


def at_bench(found: Sequence[Stretch], job: int | None = None) -> float:
    """Minutes that somebody is at it that day."""
    return sum(
        (one.finish - one.start).total_seconds() / 60.0
        for one in found
        if one.work.planned.pieces and _attended(one) and (job is None or one.work.job.id == job)
    )


def _attended(one: Stretch) -> bool:
    return any(start <= one.start < finish for start, finish in one.work.planned.pieces)


def strip(
    found: Sequence[Stretch],
    day: datetime.date,
    calendar: WorkingCalendar,
    *,
    own: int | None = None,
    now: datetime.datetime | None = None,
) -> str:
    """The strip of a day as SVG in the page's colours.

    Args:
        found: its stretches
        day: which
        calendar: the shop's hours, shown as a paler ground
        own: the job that stands out; None: all do
        now: this moment, marked where it is this day
    """
    words = told(found, day)
    parts = [
        f'<svg class="strip" viewBox="0 0 {24 * _HOUR:g} {_BOTTOM + 20:g}" role="img" aria-label="{escape(words)}">',
        f'<rect class="night" x="0" y="0" width="{24 * _HOUR:g}" height="{_BOTTOM:g}"/>',
    ]
    parts += [
        f'<rect class="hours" x="{_x(begin):g}" y="0" width="{_x(end) - _x(begin):g}" height="{_BOTTOM:g}"/>'
        for begin, end in _hours(calendar, day)
    ]
    # The job that stands out is drawn last, over the others.
    for one in sorted(found, key=lambda stretch: own is not None and stretch.work.job.id == own):
        parts.append(_drawn(one, own is None or one.work.job.id == own))
    parts += [
        f'<text x="{hour * _HOUR:g}" y="{_BOTTOM + 15:g}" text-anchor="middle">{hour}</text>'
        for hour in (6, 9, 12, 15, 18)
    ]
    if now is not None and now.date() == day:
        at = _x(now.hour * 60 + now.minute)
        parts.append(f'<path class="now" d="M{at:g} 0V{_BOTTOM:g}"/>')
    return "".join(parts) + "</svg>"


def _x(minute: float) -> float:
    return minute / 60.0 * _HOUR


def _hours(calendar: WorkingCalendar, day: datetime.date) -> list[tuple[int, int]]:
    """Working hours of a day [minutes from midnight]."""
    line = calendar.timeline(day, 1)
    end = 24 * 60
    return [(int(b), min(int(e), end)) for b, e in zip(line.begins, line.ends, strict=True) if b < end]


def works_on(calendar: WorkingCalendar, day: datetime.date) -> bool:
    """Whether the shop works that day."""
    return bool(_hours(calendar, day))


def _drawn(one: Stretch, stands_out: bool) -> str:
    top, height = _LANES[one.lane]
    left = _x(one.start.hour * 60 + one.start.minute)
    width = max(_x((one.finish - one.start).total_seconds() / 60.0) - 1.0, _LEAST)
    fill = f' fill="url(#{"dries" if stands_out else "dries-other"})"' if one.lane == "drying" else ""
    looks = f"{one.lane}{'' if stands_out else ' other'}{' gate' if one.work.operation.gate else ''}"
    done = " done" if one.work.planned.state == "done" else ""
    return f'<rect class="{looks}{done}" x="{left:g}" y="{top:g}" width="{width:g}" height="{height:g}" rx="2"{fill}/>'


def told(found: Sequence[Stretch], day: datetime.date) -> str:
    """A day in words, for who cannot see its strip."""
    lanes = {"bench": "at the bench", "drying": "drying or resting", "away": "away"}
    parts = []
    for lane, said in lanes.items():
        names = list(dict.fromkeys(one.work.words for one in found if one.lane == lane))
        if names:
            more = f" and {len(names) - 4} more" if len(names) > 4 else ""
            parts.append(f"{said}: {', '.join(names[:4])}{more}")
    return f"{clock.day_words(day)}: {'; '.join(parts) or 'nothing'}"
