"""The papers of a job as files: quote, invoices, calendar."""

from __future__ import annotations

import datetime
import math
import re

from slabwright.plan import Plan
from slabwright.quantities import INCH
from slabwright.sheets.context import Context
from slabwright.sheets.invoice_pages import invoice_pdf
from slabwright.sheets.quote_pages import quote_pdf
from slabwright.shop.icalendar_export import icalendar_text
from slabwright.shop.job_schedule import JobSchedule
from slabwright.shop.price_results import Price
from slabwright.shop.quote import Quote, invoice, quote_of

QUOTE = "quote.pdf"
DAYS = "days.ics"
_INVOICE = re.compile(r"invoice-[1-9][0-9]?\.pdf")
_STEPS = {"metric": 1.0, "inch": INCH / 16.0}
"""A thickness that is promised to a client goes down to the next of these [mm]."""


def invoice_name(which: int) -> str:
    """File of the invoice of one payment, counted from 1."""
    return f"invoice-{which}.pdf"


def is_shop_file(name: str) -> bool:
    """Whether a file is one of these papers, of this run or of an earlier one."""
    return name in (QUOTE, DAYS) or _INVOICE.fullmatch(name) is not None


def shop_files(context: Context) -> dict[str, bytes]:
    """Quote where there is a price, an invoice for each payment where the quote has a number, calendar where there are days.

    Args:
        context: of the job

    Returns:
        Contents of each file by its name.
    """
    plan = context.plan
    shop, job = plan.shop, plan.job
    found: dict[str, bytes] = {}
    if shop is None:
        return found
    if shop.price is not None:
        quote = quote_for_client(plan, shop.price, _ready(shop.schedule), alone=True)
        found[QUOTE] = quote_pdf(job, quote, plan.base)
        if quote.number:
            for which in range(1, len(shop.price.stages) + 1):
                found[invoice_name(which)] = invoice_pdf(job, shop.price, invoice(job, shop.price, which))
    if shop.schedule is not None:
        found[DAYS] = icalendar_text(shop.schedule.task, shop.schedule.schedule)
    return found


def _ready(days: JobSchedule | None) -> tuple[datetime.date, datetime.date] | None:
    if days is None:
        return None
    even, sure = (datetime.date.fromisoformat(stamp[:10]) for stamp in (days.ready_even, days.ready_4_in_5))
    return even, sure


def quote_for_client(
    plan: Plan, price: Price, ready: tuple[datetime.date, datetime.date] | None, *, alone: bool = False
) -> Quote:
    """The quote as the client is handed it.

    Args:
        plan: of the job
        price: of it, the first or the later one
        ready: day on which it is ready, even chance and four times in five; None: not known
        alone: whether the days know of no other job in the shop
    """
    wide = plan.top.width if plan.top is not None else None
    return quote_of(plan.job, price, ready=ready, promised=promised_thickness(plan), wide=wide, alone=alone)[0]


def promised_thickness(plan: Plan) -> float | None:
    """The thickness that a client is promised where the job asks for the most; None: the stated one [mm]."""
    if plan.job.stated.piece.thickness != "max" or plan.board is None:
        return None
    step = _STEPS[plan.job.stated.job.units]
    return math.floor(plan.board.thickness_low / step + 1e-6) * step
