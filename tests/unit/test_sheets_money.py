"""Pages of money: quote, invoice, change, orders and price on paper."""

from __future__ import annotations

import dataclasses
import datetime
import io
from typing import Any

import pytest
from pypdf import PdfReader
from tests.unit.priced_job import SUPPLIERS
from tests.unit.test_orders import parts, worked_out
from tests.unit.test_quote import MONEY

from slabwright.job.loaded import Job
from slabwright.job.models import JobFile, ShopFile
from slabwright.sheets import document
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.invoice_pages import invoice_pdf
from slabwright.sheets.order_sheet import lead_times, order_sheets
from slabwright.sheets.price_sheet import price_sheets
from slabwright.sheets.quote_pages import quote_pdf, variation_pdf
from slabwright.shop.money import format_amount
from slabwright.shop.orders import orders
from slabwright.shop.orders_results import Orders
from slabwright.shop.planning_price import first_price
from slabwright.shop.price import price
from slabwright.shop.price_lines import LabourLine
from slabwright.shop.price_results import Price
from slabwright.shop.quote import invoice, quote_of
from slabwright.shop.variation import variation

HEADS = [{"units": "metric", "paper": "A4", "currency": "EUR"}, {"units": "inch", "paper": "Letter", "currency": "JPY"}]
DAY = datetime.date


def job(head: dict[str, Any], **money: Any) -> Job:
    done = worked_out().job
    shop = ShopFile.model_validate({"money": MONEY | {"trades_as": "Bench (invented)"} | money, "suppliers": SUPPLIERS})
    told = JobFile.model_validate({"job": {"title": "x"}, "quote": {"number": "7", "delivery": 180}})
    stated = done.stated.model_copy(update={"quote": told.quote, "job": done.stated.job.model_copy(update=head)})
    return dataclasses.replace(
        done, stated=stated, shop=done.shop.model_copy(update={"money": shop.money, "suppliers": shop.suppliers})
    )


def priced(one: Job) -> Price:
    found, _ = first_price(one, parts())
    assert found is not None
    return found.price


def pages(pdf: bytes) -> list[str]:
    return [" ".join(page.extract_text().replace("\u00a0", " ").split()) for page in PdfReader(io.BytesIO(pdf)).pages]


@pytest.mark.parametrize("head", HEADS, ids=["A4", "Letter"])
def test_the_quote_on_paper(head: dict[str, Any]) -> None:
    one = job(head | {"promised": None})
    found = priced(one)
    quote, _ = quote_of(one, found, ready=(DAY(2027, 1, 20), DAY(2027, 2, 3)), promised=52.0)
    base = worked_out().base
    made = quote_pdf(one, quote, base)
    assert made == quote_pdf(one, quote, base)
    said = pages(made)
    assert len(said) == 1
    whole = " ".join(said)
    total = format_amount(found.total, head["currency"]).replace("\u00a0", " ")
    for words in (
        "Bench (invented)",
        "No. 7, 25 November 2026",
        "white ash",
        "U legs",
        "VAT, 19 %",
        total,
        "20 January 2027",
    ):
        assert words in whole
    for insides in ("margin", "Margin", "overhead", "contingency", "55.00"):
        assert insides not in whole
    size = PdfReader(io.BytesIO(made)).pages[0].mediabox
    assert float(size.width) < float(size.height)


def test_the_quote_says_what_its_days_hang_on() -> None:
    one = job(HEADS[0] | {"promised": None})
    days = (DAY(2027, 1, 20), DAY(2027, 2, 3))
    quote, _ = quote_of(one, priced(one), ready=days, alone=True)
    whole = " ".join(pages(quote_pdf(one, quote)))
    assert "Reckoned for this piece alone" in whole
    assert "Days count from when this quote is signed and the deposit has cleared" in whole
    together, _ = quote_of(one, priced(one), ready=days)
    assert "this piece alone" not in " ".join(pages(quote_pdf(one, together)))
    firm = job(HEADS[0] | {"promised": DAY(2027, 1, 29)})
    whole = " ".join(pages(quote_pdf(firm, quote_of(firm, priced(firm), ready=days, alone=True)[0])))
    assert "by 29 January 2027, as we promised" in whole and "The day holds from when this quote is signed" in whole
    assert "20 January" not in whole and "alone" not in whole
    assert "waits for your word" not in " ".join(pages(quote_pdf(one, quote_of(one, priced(one))[0])))


def test_a_quote_without_a_base_or_tax() -> None:
    one = job(HEADS[0], tax=0, trades_as="")
    quote, _ = quote_of(one, priced(one))
    whole = " ".join(pages(quote_pdf(one, quote)))
    assert "VAT" not in whole and "Quote" in whole


@pytest.mark.parametrize("head", HEADS, ids=["A4", "Letter"])
def test_each_invoice_on_one_page(head: dict[str, Any]) -> None:
    one = job(head, pay_to="Bank of Oberlauf (invented)")
    found = priced(one)
    for which, words in (
        (1, "slab is bought once"),
        (2, "payment 2 of 3, frame tacked"),
        (3, "before the piece is unloaded"),
    ):
        (said,) = pages(invoice_pdf(one, found, invoice(one, found, which), DAY(2026, 12, 1)))
        assert words in said
        assert f"No. 7-{which}" in said and "1 December 2026" in said and "Bank of Oberlauf" in said


def test_a_change_to_sign() -> None:
    one = job(HEADS[0])
    piece = one.stated.piece.model_copy(update={"length": 2400.0, "finish": "lacquer"})
    quote = one.stated.quote
    assert quote is not None
    other = dataclasses.replace(
        one, stated=one.stated.model_copy(update={"piece": piece, "quote": quote.model_copy(update={"margin": 35.0})})
    )
    before, after = priced(one), priced(other)
    change = variation((one, before), (other, after), days=(50.0, 53.0), invoiced=1)
    (said,) = pages(variation_pdf(other, change, "EUR"))
    assert "2200 mm → 2400 mm" in said and "3 days later" in said and "EUR more" in said
    assert "margin" not in said.lower() and "35" not in said.replace(f"{change.money:.2f}", "")[:200]


def made_orders(one: Job) -> Orders:
    needed = {
        "steel": DAY(2026, 12, 10),
        "filler": DAY(2026, 11, 27),
        "fasteners": DAY(2026, 12, 23),
        "feet": DAY(2027, 1, 14),
    }
    return orders(one, parts(), needed)[0]


def printed(one: Job, sheets: list[Sheet], monkeypatch: pytest.MonkeyPatch) -> list[str]:
    monkeypatch.setattr(document, "bench_sheets", lambda _: sheets)
    said = pages(document.bench_pdf(Context(dataclasses.replace(worked_out(), job=one))))
    assert len(said) == len(sheets)
    return said


@pytest.mark.parametrize("head", HEADS, ids=["A4", "Letter"])
def test_orders_and_price_on_sheets(head: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    one = job(head)
    context = Context(dataclasses.replace(worked_out(), job=one))
    made = made_orders(one)
    found = priced(one)
    said = printed(one, [*order_sheets(context, made), *price_sheets(context, found)], monkeypatch)
    whole = " ".join(said)
    for order in made.items:
        if order.amount:
            assert order.what.split(",")[0][:20] in whole
    for words in (
        "Steel yard, order by",
        "No supplier stated yet",
        "by Fri 20 Nov",
        "Margin",
        "Mark-up",
        "late",
        "Labour",
    ):
        assert words in whole


def test_many_orders_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    one = job(HEADS[0])
    made = made_orders(one)
    group = made.suppliers[0]
    many = [dataclasses.replace(group.items[0], what=f"thing {number}") for number in range(60)]
    long = dataclasses.replace(made, suppliers=(dataclasses.replace(group, items=tuple(many)), *made.suppliers[1:]))
    context = Context(dataclasses.replace(worked_out(), job=one))
    said = printed(one, order_sheets(context, long), monkeypatch)
    assert all(any(f"thing {number} " in page for page in said) for number in range(60))


def test_many_lines_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    one = job(HEADS[0])
    labour = [
        LabourLine(f"work {number} with a name that is long enough to run on", 1.0, 0.8, 1.3) for number in range(70)
    ]
    found, _ = price(one, (), labour)
    assert found is not None
    context = Context(dataclasses.replace(worked_out(), job=one))
    said = printed(one, price_sheets(context, found), monkeypatch)
    assert all(any(f"work {number} with" in page for page in said) for number in range(70))


def test_no_orders_no_sheet() -> None:
    nothing = Orders((), (), None)
    assert order_sheets(Context(worked_out()), nothing) == []
    assert lead_times(nothing, 160.0, None) is None
