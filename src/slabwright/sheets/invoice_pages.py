"""The invoice of one payment."""

from __future__ import annotations

import datetime

from slabwright.job.loaded import Job
from slabwright.sheets.client_page import (
    INNER,
    Block,
    care,
    client_pdf,
    great,
    heading,
    money_lines,
    paper_of,
    picture,
    rows,
    text,
)
from slabwright.sheets.quote_pages import day_words
from slabwright.sheets.quote_picture import payments_tape
from slabwright.shop.money import format_amount
from slabwright.shop.price_results import Price
from slabwright.shop.quote import Invoice, described


def invoice_pdf(job: Job, price: Price, invoice: Invoice, date: datetime.date | None = None) -> bytes:
    """The invoice.

    Args:
        job: what is stated
        price: whose payment it is
        invoice: from `invoice`
        date: of the invoice; None: a line to write it on
    """
    currency, money = invoice.currency, job.shop.money
    which = price.stages.index(invoice.stage) + 1
    of = len(price.stages)
    named = invoice.stage.name
    blocks: list[Block] = [
        rows(
            [
                ("For", f"{job.stated.job.title}: payment {which} of {of}, {named}"),
                ("Due", invoice.stage.due),
                ("Date", day_words(date) or "____________________"),
                ("Tax number", money.tax_number),
            ]
        ),
        heading("What this payment is"),
        picture(payments_tape(price.stages, paper_of(job)[0] - INNER, paid=which - 1, chosen=which)),
    ]
    lines = [(f"{invoice.stage.share:g} % of {format_amount(invoice.total, currency)}", "", False)]
    lines.append(("Before tax", format_amount(invoice.net, currency), False))
    if invoice.stage.tax:
        lines.append((invoice.tax_words, format_amount(invoice.stage.tax, currency), False))
    blocks += [money_lines(lines), great("To pay now", format_amount(invoice.stage.amount, currency))]
    blocks.append(
        money_lines(
            [
                ("Invoiced before", format_amount(invoice.paid_before, currency), False),
                ("Left after this payment", format_amount(invoice.left_after, currency), False),
            ]
        )
    )
    blocks += [heading("What it is for"), rows(described(job))]
    if which == 1 and of > 1:
        blocks.append(care("The slab is bought once this payment has cleared."))
    if which == of:
        blocks.append(care("This payment has cleared before the piece is unloaded."))
    if money.pay_to:
        blocks += [heading("Where to pay"), text(f"{money.pay_to}. Please quote: invoice {invoice.number}.")]
    return client_pdf(job, "Invoice", f"No. {invoice.number}", blocks)
