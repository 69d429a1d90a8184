"""The shop's calendar as two clocks: elapsed minutes, and worked minutes that stand still while nobody works.

Waiting runs on the first clock, attended work on the second. Both count whole minutes from a midnight. Times are those of the
shop's own wall clock: the two nights in a year on which clocks change are not treated apart.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.findings import SlabwrightError
from slabwright.job.calendar_models import Calendar

Whole = NDArray[np.int64]
DAY = 24 * 60
_FURTHEST = 20 * 366
"""Days that are looked ahead before a calendar is said to have no working days."""


@dataclass(frozen=True)
class WorkingCalendar:
    """When the shop works.

    Attributes:
        week: working hours of Monday to Sunday [minutes from midnight]
        closed: days without work
        country: whose public holidays are days without work, or empty
        region: part of the country, or empty
    """

    week: tuple[tuple[tuple[int, int], ...], ...]
    closed: frozenset[datetime.date] = frozenset()
    country: str = ""
    region: str = ""

    def timeline(self, origin: datetime.date, worked: int, elapsed: int = 0) -> Timeline:
        """Both clocks from the midnight that begins `origin`, for at least so many minutes of each.

        Raises:
            SlabwrightError: the calendar has no working days, or none for years.
        """
        stretches: list[list[int]] = []
        total = idle = 0
        public: dict[int, frozenset[datetime.date]] = {}
        for number in range(100 * _FURTHEST):
            if total >= worked and number * DAY >= elapsed:
                break
            day = origin + datetime.timedelta(days=number)
            if day.year not in public:
                public[day.year] = self._public(day.year)
            hours = () if day in self.closed or day in public[day.year] else self.week[day.weekday()]
            idle = 0 if hours else idle + 1
            if idle > _FURTHEST or not any(self.week):
                raise SlabwrightError(
                    "calendar: there is no working day; state working hours, and fewer holidays or days away"
                )
            for begin, end in hours:
                total += end - begin
                if stretches and stretches[-1][1] == number * DAY + begin:
                    stretches[-1][1] = number * DAY + end
                else:
                    stretches.append([number * DAY + begin, number * DAY + end])
        if not stretches:
            return self.timeline(origin, 1, elapsed)
        return Timeline(datetime.datetime.combine(origin, datetime.time()), np.array(stretches, dtype=np.int64))

    def is_public_holiday(self, day: datetime.date) -> bool:
        """Whether a day is a public holiday of the shop's country."""
        return day in self._public(day.year)

    def _public(self, year: int) -> frozenset[datetime.date]:
        if not self.country:
            return frozenset()
        import holidays

        return frozenset(holidays.country_holidays(self.country, subdiv=self.region or None, years=year))


class Timeline:
    """Both clocks over a stretch of days.

    Args:
        origin: the midnight at which both clocks show nought
        stretches: begin and end of each stretch of working hours on the elapsed clock, in order, shape (n, 2) [min]
    """

    def __init__(self, origin: datetime.datetime, stretches: Whole) -> None:
        self.origin = origin
        self.begins, self.ends = stretches[:, 0].copy(), stretches[:, 1].copy()
        self.before = np.concatenate([[0], np.cumsum(self.ends - self.begins)]).astype(np.int64)
        """Worked minutes before each stretch, and of all."""
        last = np.ones(self.begins.size, dtype=bool)
        # A stretch is its day's last where the next begins on a later day than it ends.
        last[:-1] = self.begins[1:] // DAY > (self.ends[:-1] - 1) // DAY
        self.last_of_day = last

    @property
    def worked(self) -> int:
        """Worked minutes of all days."""
        return int(self.before[-1])

    def start(self, worked: Whole | int) -> Whole:
        """Elapsed time at which work begins that has so many worked minutes before it [min]."""
        at = np.clip(np.searchsorted(self.before, worked, side="right") - 1, 0, self.begins.size - 1)
        return np.asarray(self.begins[at] + worked - self.before[at], dtype=np.int64)

    def finish(self, worked: Whole | int) -> Whole:
        """Elapsed time at which work ends after so many worked minutes: no later than the stretch's own end [min]."""
        at = np.clip(np.searchsorted(self.before, worked, side="left") - 1, 0, self.begins.size - 1)
        return np.asarray(self.begins[at] + worked - self.before[at], dtype=np.int64)

    def worked_by(self, elapsed: Whole | int) -> Whole:
        """Worked minutes before an elapsed time; no work that begins then or later has fewer before it."""
        at = np.searchsorted(self.begins, elapsed, side="right") - 1
        inside = np.minimum(elapsed - self.begins[at], self.ends[at] - self.begins[at])
        return np.asarray(np.where(at < 0, 0, self.before[at] + inside), dtype=np.int64)

    def latest_by(self, elapsed: Whole | int) -> Whole:
        """Most worked minutes before work that begins at an elapsed time or earlier; -1 where none can."""
        at = np.searchsorted(self.begins, elapsed, side="right") - 1
        inside = np.minimum(elapsed - self.begins[at], self.ends[at] - self.begins[at] - 1)
        return np.asarray(np.where(at < 0, -1, self.before[at] + inside), dtype=np.int64)

    def limits(self, watch: int = 0) -> Whole:
        """Worked minutes by which work that stays within a stretch is over, of each stretch.

        Args:
            watch: minutes that are kept free at the end of each day
        """
        return np.asarray(self.before[1:] - np.where(self.last_of_day, watch, 0), dtype=np.int64)

    def minutes(self, moment: datetime.datetime) -> int:
        """A moment on the elapsed clock, the last minute begun."""
        return int((moment - self.origin).total_seconds() // 60)

    def moment(self, elapsed: float) -> datetime.datetime:
        """The moment of an elapsed time."""
        return self.origin + datetime.timedelta(minutes=float(elapsed))

    def pieces(self, begin: int, end: int) -> list[tuple[int, int]]:
        """The stretches in which work between two worked times is done, on the elapsed clock."""
        first = int(np.searchsorted(self.before, begin, side="right")) - 1
        found = []
        for at in range(max(first, 0), self.begins.size):
            low, high = max(begin, int(self.before[at])), min(end, int(self.before[at + 1]))
            if low >= high:
                break
            shift = int(self.begins[at] - self.before[at])
            found.append((low + shift, high + shift))
        return found


def working_calendar(stated: Calendar) -> WorkingCalendar:
    """The calendar that the shop file states.

    Raises:
        SlabwrightError: the country or its region is not known.
    """
    closed = set(stated.holidays)
    for away in stated.away:
        closed |= {away.first + datetime.timedelta(days=day) for day in range((away.last - away.first).days + 1)}
    if stated.country:
        import holidays

        known = holidays.list_supported_countries(include_aliases=False)
        if stated.country not in known:
            raise SlabwrightError(
                f"calendar.country: no public holidays are known of {stated.country}; leave it out and state holidays"
            )
        if stated.region is not None and stated.region not in known[stated.country]:
            raise SlabwrightError(
                f"calendar.region: {stated.country} has no {stated.region}; it has {', '.join(known[stated.country])}"
            )
    return WorkingCalendar(stated.week, frozenset(closed), stated.country or "", stated.region or "")
