"""Lengths survive being printed and read again; any text is a length or a plain refusal; factors are a units library's."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.quantities import LONGEST, QuantityError, Units, format_length, nearest_fraction, parse_length

lengths = st.floats(-20_000, 20_000, allow_nan=False)
units = st.sampled_from(["metric", "inch"])


@settings(deadline=None)
@given(lengths, units)
def test_printed_lengths_read_back_within_their_rounding(mm: float, of: Units) -> None:
    size, inches = abs(mm), abs(mm) / 25.4
    metric = 0.05 if size >= 9.99 else 0.005 if size >= 0.09 else 0.0005
    inch = 25.4 * (1 / 32 if inches >= 5.99 else 1 / 64 if inches >= 0.1245 else 0.0005)
    assert parse_length(format_length(mm, of)) == pytest.approx(mm, abs=(metric if of == "metric" else inch) + 1e-9)


@settings(deadline=None)
@given(lengths, units, st.integers(0, 3))
def test_asked_for_decimals_read_back(mm: float, of: Units, decimals: int) -> None:
    rounding = 0.5 * 10**-decimals * (1 if of == "metric" else 0.254)
    assert parse_length(format_length(mm, of, decimals)) == pytest.approx(mm, abs=rounding + 1e-9)


@settings(deadline=None)
@given(lengths, st.sampled_from([8, 16, 32, 64]))
def test_the_fractions_stated_error_is_its_error(mm: float, parts: int) -> None:
    text, error = nearest_fraction(mm, parts)
    assert parse_length(text) - mm == pytest.approx(error, abs=1e-9)
    assert abs(error) <= 25.4 / parts / 2 + 1e-9


@settings(deadline=None)
@given(st.integers(0, 30), st.integers(0, 11), st.integers(0, 63), st.sampled_from(["'", " ft", "′", "feet"]))
def test_feet_inches_and_fractions_add_up(feet: int, inches: int, over: int, mark: str) -> None:
    expected = (feet * 12 + inches + over / 64) * 25.4
    assert parse_length(f'{feet}{mark} {inches} {over}/64"') == pytest.approx(expected)


@settings(deadline=None)
@given(st.text(max_size=70) | st.text("0123456789 /.,-'\"mcinft½¼", max_size=20))
def test_any_text_is_a_length_or_one_plain_line(text: str) -> None:
    try:
        assert abs(parse_length(text)) <= LONGEST
    except QuantityError as error:
        assert str(error).isprintable()


@settings(deadline=None)
@given(st.decimals(0, 900, places=3), st.sampled_from(["mm", "cm", "m", "in", "ft", "thou"]))
def test_factors_agree_with_a_units_library(number: object, unit: str) -> None:
    assert parse_length(f"{number} {unit}") == pytest.approx(pint.Quantity(float(str(number)), unit).to("mm").magnitude)
