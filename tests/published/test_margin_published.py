"""Margin and mark-up against a textbook's exercises, and smallest units against ISO 4217."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from tests.unit.priced_job import priced_job

from slabwright.reference.money import minor_digits
from slabwright.shop.money import exact, half_up
from slabwright.shop.price import from_margin, from_mark_up, price
from slabwright.shop.price_lines import CostLine


def cents(value: Fraction) -> Decimal:
    return Decimal(half_up(value * 100)).scaleb(-2)


# Business Mathematics (Cleaves, Hobbs; title of the edition from memory), section 8-2, "Markup on selling price", exercises
# of p. 297 and application exercises of p. 299, answers as its published solutions have them (read).
@pytest.mark.parametrize(
    ("cost", "margin", "profit", "selling"),
    [
        ("21.00", 25, "7.00", "28.00"),  # p. 297, exercise 1: 25 % of the selling price is 7.00
        ("18.60", 40, "12.40", "31.00"),  # exercise 2: 12.40 of 31.00
        ("145.00", 42, "105.00", "250.00"),  # exercise 3: cost 58 %, 42 % is 105.00
        ("41.88", 50, "41.88", "83.76"),  # p. 299, exercise 5: 12 cans, 6.98 each
    ],
)
def test_margin_of_the_selling_price(cost: str, margin: float, profit: str, selling: str) -> None:
    found = from_margin(exact(Decimal(cost)), margin)
    assert cents(found) == Decimal(profit)
    assert cents(found + exact(Decimal(cost))) == Decimal(selling)


@pytest.mark.parametrize(
    ("cost", "mark_up", "profit"),
    [("1040", 53.8, "559.52"), ("132", 45, "59.40")],  # p. 299, exercises 1 and 2
)
def test_mark_up_on_the_cost(cost: str, mark_up: float, profit: str) -> None:
    assert cents(from_mark_up(exact(Decimal(cost)), mark_up)) == Decimal(profit)


@pytest.mark.parametrize(
    ("cost", "selling", "mark_up"),
    [(335.0, 399.0, 19.1), (9.97, 15.95, 60.0)],  # p. 299, exercises 3 and 4
)
def test_mark_up_from_cost_and_price(cost: float, selling: float, mark_up: float) -> None:
    stated = {"mark_up": 100.0 * (selling - cost) / cost, "contingency": "none"}
    found, _ = price(priced_job(shop={"money": stated}), (CostLine("material", "item", cost),), ())
    assert found is not None and found.total == selling
    assert round(found.mark_up, 1 if mark_up < 60 else 0) == mark_up


# The same chapter: mark-up on cost = margin / (100 - margin); pairs of the trade's table (from memory).
@pytest.mark.parametrize(
    ("margin", "mark_up"), [(20, 25.0), (25, 100 / 3), (100 / 3, 50.0), (40, 200 / 3), (50, 100.0)]
)
def test_margin_and_mark_up_are_told_apart(margin: float, mark_up: float) -> None:
    stated = {"margin": margin, "contingency": "none"}
    found, _ = price(priced_job(shop={"money": stated}), (CostLine("material", "item", 1e6),), ())
    assert found is not None
    assert found.margin == pytest.approx(margin, abs=1e-5)
    assert found.mark_up == pytest.approx(mark_up, abs=1e-5)


# ISO 4217, minor unit, as a public copy of the list has it (read).
@pytest.mark.parametrize(
    ("digits", "codes"),
    [
        (0, "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF VND VUV XAF XOF XPF"),
        (
            2,
            "AUD BRL CAD CHF CNY CZK DKK EUR GBP HKD HUF IDR ILS INR MGA MXN NOK NZD PLN RON SEK SGD THB TRY TWD USD ZAR",
        ),
        (3, "BHD IQD JOD KWD LYD OMR TND"),
    ],
)
def test_smallest_units(digits: int, codes: str) -> None:
    assert {code: minor_digits(code) for code in codes.split()} == dict.fromkeys(codes.split(), digits)
