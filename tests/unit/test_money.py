"""Money in whole units: rounding, sharing out, and how it is written."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

from slabwright.findings import SlabwrightError
from slabwright.reference.money import format_money, minor_digits, money_table
from slabwright.sheets.words import Words
from slabwright.shop.money import (
    exact,
    format_amount,
    format_minor,
    from_minor,
    half_up,
    rounded_together,
    shared_out,
    to_minor,
)
from slabwright.why import shown


@pytest.mark.parametrize(
    ("amount", "currency", "minor"),
    [
        (12.345, "EUR", 1235),
        (1.005, "EUR", 101),
        (-1.005, "EUR", -101),
        (1234.5, "JPY", 1235),
        (1.2345, "KWD", 1235),
        (Decimal("0.004"), "USD", 0),
        (np.float64(0.1), "EUR", 10),
    ],
)
def test_amounts_round_away_from_zero_as_they_were_typed(amount: float, currency: str, minor: int) -> None:
    assert to_minor(amount, currency) == minor


def test_a_tenth_is_a_tenth() -> None:
    assert exact(0.1) == Fraction(1, 10)
    assert exact(0.1) * 3 == exact(0.3)


def test_back_again() -> None:
    assert from_minor(1235, "KWD") == Decimal("1.235")
    assert from_minor(1235, "JPY") == Decimal(1235)


def test_the_largest_remainders_get_what_is_left() -> None:
    assert shared_out(100, [1, 1, 1]) == (34, 33, 33)
    assert shared_out(3334, [25, 25, 25, 25]) == (834, 834, 833, 833)
    assert shared_out(-100, [1, 1, 1]) == (-33, -33, -34)
    assert shared_out(0, [0, 0]) == (0, 0)


def test_nobody_to_share_with_is_refused() -> None:
    with pytest.raises(ValueError, match="nobody"):
        shared_out(5, [0, 0])
    with pytest.raises(ValueError, match="0 or more"):
        shared_out(5, [1, -1])


def test_rounded_lines_keep_their_sum() -> None:
    thirds = [Fraction(100, 3)] * 3
    assert rounded_together(thirds) == (34, 33, 33)
    with pytest.raises(ValueError, match="cannot be rounded"):
        rounded_together(thirds, 200)


def test_halves() -> None:
    assert half_up(Fraction(5, 2)) == 3
    assert half_up(Fraction(-5, 2)) == -3


@pytest.mark.parametrize(
    ("minor", "currency", "told"),
    [
        (123450, "EUR", "1 234.50 EUR"),
        (1235, "JPY", "1 235 JPY"),
        (1234500, "KWD", "1 234.500 KWD"),
        (-5, "USD", "−0.05 USD"),
    ],
)
def test_written_with_its_own_digits(minor: int, currency: str, told: str) -> None:
    assert format_minor(minor, currency).replace("\u00a0", " ") == told


def test_written_from_an_amount() -> None:
    assert format_amount(12.3, "EUR").replace("\u00a0", " ") == "12.30 EUR"


def test_a_currency_that_is_none_names_near_ones() -> None:
    with pytest.raises(SlabwrightError, match=r"job\.currency.*EUQ.*EUR"):
        minor_digits("EUQ")


def test_no_amount_is_refused() -> None:
    with pytest.raises(SlabwrightError, match="finite"):
        to_minor(float("nan"), "EUR")


def test_the_table_marks_what_is_recalled() -> None:
    table = money_table()
    assert all("from memory" in spread.source for spread in table.spreads.values())
    assert "from memory" in table.first_price.source


@pytest.mark.parametrize(
    ("amount", "currency", "told"),
    [
        # Digits: ISO 4217, minor unit.
        (1234.5, "EUR", "1\xa0234.50 EUR"),
        (1234.4, "JPY", "1\xa0234 JPY"),
        (-45.0, "KRW", "-45 KRW"),
        (1234.5678, "KWD", "1\xa0234.568 KWD"),
        (0.5, "BHD", "0.500 BHD"),
        (-0.001, "EUR", "0.00 EUR"),
        (12.0, "XXX", "12.00 XXX"),
    ],
)
def test_amounts_have_the_digits_of_their_currency(amount: float, currency: str, told: str) -> None:
    assert format_money(amount, currency) == told
    assert shown(amount, "money", "metric", currency) == told
    assert Words("metric", currency=currency).money(amount) == told
