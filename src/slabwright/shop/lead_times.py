"""When to order: a supplier's days counted back from the day needed, to a day on which the shop is there to order."""

from __future__ import annotations

import datetime
import math

from slabwright.findings import SlabwrightError
from slabwright.job.calendar_models import Calendar
from slabwright.job.money_models import Supplier
from slabwright.shop.calendar import working_calendar

_FRIDAY = 4
_WORKING_WEEK = 5.0
_WEEK = 7.0
_FURTHEST = 20 * 366
"""Days that are looked back before a calendar is said to have no day to order on."""


class OrderDays:
    """Days on which the shop orders, and on which suppliers work.

    Args:
        calendar: the shop's, as stated

    Raises:
        SlabwrightError: its country or region is not known.
    """

    def __init__(self, calendar: Calendar) -> None:
        self._calendar = working_calendar(calendar)
        self._holidays = frozenset(calendar.holidays)
        # A shop that works at weekends only orders on any weekday on which it is not away.
        self._weekdays = any(self._calendar.week[: _FRIDAY + 1])

    def supplier_works(self, day: datetime.date) -> bool:
        """Whether a supplier works: Monday to Friday, on no public holiday and none that the shop states."""
        return day.weekday() <= _FRIDAY and day not in self._holidays and not self._calendar.is_public_holiday(day)

    def can_order(self, day: datetime.date) -> bool:
        """Whether something can be ordered: the supplier works and so does the shop."""
        if self._weekdays and not self._calendar.week[day.weekday()]:
            return False
        return self.supplier_works(day) and day not in self._calendar.closed

    def order_by(self, needed: datetime.date, supplier_days: int, *, working: bool = False) -> datetime.date:
        """Last day to order.

        Args:
            needed: day on which it must be there
            supplier_days: from order to delivery
            working: whether only days are counted on which suppliers work; else every day, Sundays too

        Raises:
            SlabwrightError: for years there is no day to order on.
        """
        day = needed
        left = supplier_days
        if not working:
            day -= datetime.timedelta(days=left)
            left = 0
        for _ in range(_FURTHEST):
            if left == 0 and self.can_order(day):
                return day
            # A day that is left behind counts where the supplier worked on the day that it could have come.
            if left and self.supplier_works(day):
                left -= 1
            day -= datetime.timedelta(days=1)
        raise SlabwrightError(
            "calendar: there is no day to order on before it is needed; state fewer holidays or days away"
        )


def supplier_days(supplier: Supplier) -> float | None:
    """Days from order to delivery, Sundays counted; of working days five are taken for a week. None: not known."""
    if supplier.lead_days is None:
        return None
    if supplier.lead_in == "working days":
        return float(math.ceil(supplier.lead_days * _WEEK / _WORKING_WEEK))
    return float(supplier.lead_days)


def supplier_words(lead_days: int, lead_in: str) -> str:
    """How long a supplier takes, as people say it: `6 days`, `6 working days`."""
    return f"{lead_days} {lead_in if lead_days != 1 else lead_in.removesuffix('s')}"
