"""Drawings of the days: a strip for each day of a job, and one day with a strip for each person and place."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from slabwright.finish.windows import clock_words
from slabwright.quantities import Units
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.day_rows import DayRow, Stretch
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, path_of, text_width
from slabwright.sheets.words import plain
from slabwright.shop.day_sheet import DaySheet, Doing

SCALE, LEGEND = 6.5, 7.5
"""Height of the hours above the strips, and of what the marks mean below them [mm]."""
LEAST, MOST = 5.3, 7.4
"""Height of a day's row [mm]."""
_LABEL, _GAP = 30.0, 3.0
_SHARE = 0.33
_LANE, _NAME = 7.0, 30.0


def day_words(day: datetime.date) -> str:
    """A day as the bench says it: Wed 25 Nov."""
    return f"{day:%a} {day.day} {day:%b}"


def _label(row: DayRow) -> str:
    if row.first == row.last:
        return day_words(row.first)
    month = "" if row.first.month == row.last.month else f" {row.first:%b}"
    return f"{row.first.day}{month} to {row.last.day} {row.last:%b}"


def hour_words(hour: int, units: Units) -> str:
    """A full hour on a scale."""
    return f"{hour}:00" if units == "metric" else f"{(hour + 11) % 12 + 1} {'am' if hour % 24 < 12 else 'pm'}"


class _Hours:
    """Where an hour stands on a strip."""

    def __init__(self, hours: tuple[float, float], left: float, wide: float) -> None:
        self.first, self.last, self.left, self.wide = *hours, left, wide

    def at(self, moment: datetime.datetime, day: datetime.date) -> float:
        begin = datetime.datetime.combine(day, datetime.time())
        hour = (moment - begin).total_seconds() / 3600.0
        return self.left + self.wide * (min(max(hour, self.first), self.last) - self.first) / (self.last - self.first)

    def scale(self, drawing: Picture, units: Units, bottom: float) -> None:
        for hour in range(int(self.first), int(self.last) + 1, 2):
            x = self.left + self.wide * (hour - self.first) / (self.last - self.first)
            said = hour_words(hour, units)
            side = "start" if hour == int(self.first) else "end" if hour == int(self.last) else "middle"
            drawing.text(x, SCALE - 2.6, said, anchor=side, fill=SOFT, size=0.85 * TEXT)
            drawing.line(x, SCALE - 1.6, x, bottom, stroke=SOFT, weight=THIN)


def hours_shown(rows: Sequence[Sequence[Stretch]]) -> tuple[float, float]:
    """Hours of the day that hold all work, an hour more on both sides, whole and even in number."""
    begins = [start.hour for row in rows for start, _, _ in row]
    ends = [
        24.0 if finish.date() > start.date() else finish.hour + (finish.minute > 0)
        for row in rows
        for start, finish, _ in row
    ]
    first, last = max(min(begins, default=8) - 1, 0), min(max(ends, default=17) + 1, 24)
    if (last - first) % 2:
        first, last = (first, last + 1) if last < 24 else (first - 1, last)
    return float(first), float(last)


def days_drawing(
    rows: Sequence[DayRow], hours: tuple[float, float], width: float, high: float, units: Units
) -> Picture:
    """A strip for each day, and in words what is done on it.

    Args:
        rows: from `day_rows`
        hours: of the day that the strips show
        width: of the drawing [mm]
        high: of a row [mm]
        units: of the job, for the hours of the day
    """
    drawing = Picture(width, SCALE + high * len(rows) + LEGEND)
    strip = _SHARE * width
    scale = _Hours(hours, _LABEL, strip)
    bottom = SCALE + high * len(rows)
    scale.scale(drawing, units, bottom)
    said_from = _LABEL + strip + _GAP
    for number, row in enumerate(rows):
        top = SCALE + high * number
        drawing.line(0.0, top + high, width, top + high, stroke=SOFT, weight=THIN)
        foot = top + high / 2 + 0.36 * TEXT
        chosen = bool(row.marks)
        drawing.text(0.0, foot, _label(row), weight=600 if row.work or chosen else 400, fill=CHOSEN if chosen else INK)
        _strip(drawing, row, scale, top + 0.5, high - 1.0)
        _said(drawing, row, said_from, foot, width - said_from)
    _legend(drawing, bottom + LEGEND - 1.6)
    return drawing


def _strip(drawing: Picture, row: DayRow, scale: _Hours, top: float, high: float) -> None:
    """Work above, what waits below it, what is away at the foot."""
    lane = 0.58 * high
    whole = row.first != row.last
    for start, finish, _ in row.waits:
        left, right = (
            (scale.left, scale.left + scale.wide)
            if whole
            else (scale.at(start, row.first), scale.at(finish, row.first))
        )
        _hatched(drawing, left, top + lane + 0.05 * high, right - left, 0.22 * high)
    for start, finish, _ in row.away:
        left, right = (
            (scale.left, scale.left + scale.wide)
            if whole
            else (scale.at(start, row.first), scale.at(finish, row.first))
        )
        drawing.line(left, top + 0.96 * high, right, top + 0.96 * high, stroke=CHOSEN, weight=MIDDLE, dash="1.4 0.9")
    for start, finish, _ in row.work:
        left, right = scale.at(start, row.first), scale.at(finish, row.first)
        drawing.rectangle(left, top, max(right - left, 0.6), lane - 0.2, fill=WOOD)


def _hatched(drawing: Picture, left: float, top: float, wide: float, high: float) -> None:
    if wide <= 0.2:
        return
    box = (left, top, left + wide, top + high)
    data = path_of([(box[0], top), (box[2], top), (box[2], top + high), (box[0], top + high)], close=True)
    drawing.path(data, weight=THIN, fill=PAPER)
    drawing.hatch(data, box, step=1.3)


def _said(drawing: Picture, row: DayRow, left: float, foot: float, room: float) -> None:
    """The day in words: what it is first; then most of what is done, in its order, or what is waited for."""
    at = left
    if row.marks:
        mark = "; ".join(row.marks)
        mark = mark[:1].upper() + mark[1:]
        drawing.text(at, foot, mark, weight=600, fill=CHOSEN)
        at += text_width(mark) + 1.0
    names = list(dict.fromkeys(name for _, _, name in row.work))
    if names:
        lasts = {name: sum((f - s).total_seconds() for s, f, n in row.work if n == name) for name in names}
        drawing.text(at, foot, fitted(names, lasts, left + room - at))
    elif row.waits or row.away:
        waits = list(dict.fromkeys(name for _, _, name in (*row.waits, *row.away)))
        drawing.text(
            at, foot, fitted(waits, {name: -place for place, name in enumerate(waits)}, left + room - at), fill=SOFT
        )


def fitted(names: Sequence[str], weight: dict[str, float], room: float) -> str:
    """As many names as there is room for, those of the greatest weight, in their order; and how many more."""
    kept: list[str] = []
    said = ""
    for name in sorted(names, key=lambda each: -weight[each]):
        tried = [each for each in names if each in (*kept, name)]
        more = len(names) - len(tried)
        text = "; ".join(tried) + (f"; and {more} more" if more else "")
        if text_width(text) > room:
            break
        kept, said = tried, text
    return said or plain(names[0], max(int(room / text_width("n")) - 1, 4))


def _legend(drawing: Picture, foot: float) -> None:
    at, top = _LABEL, foot - 0.75 * TEXT
    drawing.rectangle(at, top, 6.0, 2.6, fill=WOOD)
    at = _legend_words(drawing, at + 7.5, foot, "somebody at it")
    _hatched(drawing, at, top + 0.4, 6.0, 1.8)
    at = _legend_words(drawing, at + 7.5, foot, "dries, hardens or rests by itself")
    drawing.line(at, top + 1.3, at + 6.0, top + 1.3, stroke=CHOSEN, weight=MIDDLE, dash="1.4 0.9")
    _legend_words(drawing, at + 7.5, foot, "away: on its way, or with the client to be signed")


def _legend_words(drawing: Picture, at: float, foot: float, said: str) -> float:
    drawing.text(at, foot, said, fill=SOFT)
    return at + text_width(said) + 8.0


def by_operation(day: DaySheet) -> dict[str, list[Doing]]:
    """The day's work, operation by operation in its order, each with its stretches."""
    found: dict[str, list[Doing]] = {}
    for each in day.doing:
        found.setdefault(each.operation, []).append(each)
    return found


def one_day_drawing(day: DaySheet, width: float, units: Units) -> Picture | None:
    """A strip for each person and place of one day, its work numbered as in the day's list.

    Args:
        day: from `day_sheet`
        width: of the drawing [mm]
        units: of the job, for the hours of the day

    Returns:
        The drawing; None where nobody is at it.
    """
    if not day.strips:
        return None
    numbers = {name: number for number, name in enumerate(by_operation(day), start=1)}
    worked = {(each.start, each.operation) for each in day.doing}
    strips = day.strips
    hours = hours_shown([[(each.start, each.finish, each.operation) for each in day.doing]])
    drawing = Picture(width, SCALE + _LANE * len(strips) + 1.0)
    scale = _Hours(hours, _NAME, width - _NAME - 0.5)
    scale.scale(drawing, units, SCALE + _LANE * len(strips))
    for lane, strip in enumerate(strips):
        top = SCALE + _LANE * lane
        drawing.text(0.0, top + _LANE / 2 + 0.36 * TEXT, plain(strip.name, 16), weight=600)
        drawing.line(0.0, top + _LANE, width, top + _LANE, stroke=SOFT, weight=THIN)
        before = _NAME
        for start, finish, what in sorted(strip.stretches):
            left, right = scale.at(start, day.day), scale.at(finish, day.day)
            free, before = left - before, max(before, right)
            if (start, what) not in worked:
                _hatched(drawing, left, top + 1.0, right - left, _LANE - 2.0)
                continue
            drawing.rectangle(left, top + 0.8, max(right - left, 0.6), _LANE - 1.6, fill=WOOD, weight=MIDDLE)
            number = numbers[what]
            if text_width(str(number)) + 0.6 < right - left:
                drawing.text(
                    (left + right) / 2, top + _LANE / 2 + 0.36 * TEXT, str(number), anchor="middle", weight=700
                )
            elif text_width(str(number)) + 1.4 < free:
                # What is too short for its number has it before it, where the strip is empty.
                drawing.text(left - 0.7, top + _LANE / 2 + 0.36 * TEXT, str(number), anchor="end", weight=700)
    drawing.line(0.0, SCALE, width, SCALE, weight=THICK)
    return drawing


def clock(moment: datetime.datetime, units: Units) -> str:
    """An hour of the day as the shop's clock shows it."""
    return clock_words(moment, 24 if units == "metric" else 12)
