"""Money adds up to the smallest unit in every currency, whatever it is made of and however it is shared out."""

from __future__ import annotations

from contextlib import nullcontext
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.unit.priced_job import priced_job

from slabwright.reference.money import money_table
from slabwright.shop.money import exact, plain_amount, rounded_together, shared_out, to_minor
from slabwright.shop.price import price
from slabwright.shop.price_lines import CostLine, LabourLine
from slabwright.shop.quote import quote_of

CURRENCIES = sorted(money_table().digits)
amounts = st.decimals(0, 99_999, places=4).map(float)
percents = st.decimals(0, 99, places=2).map(float)


@st.composite
def shares(draw: st.DrawFn) -> dict[str, Any]:
    """Deposit and stages that come to 100 % at most."""
    parts = draw(st.lists(st.integers(1, 2500), min_size=1, max_size=4))
    deposit, *stages = [part / 100.0 for part in parts]
    return {"deposit": deposit, "stages": [{"name": f"stage {n}", "share": share} for n, share in enumerate(stages)]}


@st.composite
def moneys(draw: st.DrawFn) -> dict[str, Any]:
    found = draw(shares())
    found["tax"] = draw(percents)
    found["prices_with_tax"] = draw(st.booleans())
    found["overhead"] = draw(percents)
    found["overhead_per_hour"] = draw(amounts)
    found[draw(st.sampled_from(["margin", "mark_up"]))] = draw(percents)
    if draw(st.booleans()):
        found["round_to"] = draw(st.sampled_from([0.05, 1.0, 5.0, 10.0, 100.0]))
    return found


@given(
    currency=st.sampled_from(CURRENCIES),
    money=moneys(),
    costs=st.lists(amounts, max_size=6),
    hours=st.lists(st.tuples(amounts, amounts), max_size=4),
    delivery=amounts,
)
@settings(max_examples=150)
def test_price_quote_and_payments_add_up(
    currency: str, money: dict[str, Any], costs: list[float], hours: list[tuple[float, float]], delivery: float
) -> None:
    job = priced_job({"currency": currency}, {"prices": {"hour": 55}, "money": money})
    lines = [CostLine("material", f"thing {n}", cost, 0.8 * cost, 1.3 * cost) for n, cost in enumerate(costs)]
    lines.append(CostLine("delivery", "delivery", delivery))
    work = [LabourLine(f"work {n}", h, 0.7 * h, 1.5 * h, rate) for n, (h, rate) in enumerate(hours)]
    found, _ = price(job, lines, work)
    assert found is not None
    assert sum(line.minor for line in found.lines) == found.total_minor == found.net_minor + found.tax_minor
    assert sum(stage.minor for stage in found.stages) == found.total_minor
    assert sum(stage.tax_minor for stage in found.stages) == found.tax_minor
    assert found.total == plain_amount(found.total_minor, currency)
    rate = exact(money["tax"]) / 100
    assert abs(found.tax_minor - found.net_minor * rate) <= 1
    quote, _ = quote_of(job, found)
    shown = found.total_minor if money["prices_with_tax"] else found.net_minor
    assert sum(line.minor for line in quote.lines) == shown
    if "round_to" in money:
        step = exact(money["round_to"])
        assert shown >= step * 10 ** money_table().digits[currency] * (exact(plain_amount(shown, currency)) // step) - 1


@given(total=st.integers(-(10**9), 10**9), weights=st.lists(st.integers(0, 10**6), min_size=1, max_size=30))
def test_every_share_is_within_a_unit(total: int, weights: list[int]) -> None:
    if not any(weights):
        with pytest.raises(ValueError, match="nobody") if total else nullcontext():
            shared_out(total, weights)
        return
    found = shared_out(total, weights)
    assert sum(found) == total
    for share, weight in zip(found, weights, strict=True):
        assert abs(share - Fraction(total * weight, sum(weights))) < 1
        assert weight or share == 0


@given(st.lists(st.fractions(-(10**6), 10**6, max_denominator=1000), max_size=30))
def test_lines_rounded_together_are_within_a_unit(values: list[Fraction]) -> None:
    found = rounded_together(values)
    assert abs(sum(found) - sum(values, Fraction(0))) <= Fraction(1, 2)
    assert all(abs(one - value) < 1 for one, value in zip(found, values, strict=True))


@given(currency=st.sampled_from(CURRENCIES), minor=st.integers(-(10**12), 10**12))
def test_there_and_back(currency: str, minor: int) -> None:
    assert to_minor(plain_amount(minor, currency), currency) == minor
