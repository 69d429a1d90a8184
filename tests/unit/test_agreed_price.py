"""A price that was signed holds: hours and prices move what the job earns, not what the client pays."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.unit.priced_job import priced_job

from slabwright.findings import Finding, SlabwrightError
from slabwright.job.loaded import Job
from slabwright.shop.price import price
from slabwright.shop.price_lines import CostLine, LabourLine
from slabwright.shop.price_results import Price
from slabwright.shop.quote import invoice, quote_of
from slabwright.shop.variation import variation

MONEY = {"margin": 20, "tax": 19, "tax_name": "VAT", "stages": [{"name": "frame tacked", "share": 30}]}
SIGNED = 2500.0


def priced(hours: float, **quote: Any) -> tuple[Job, Price, tuple[Finding, ...]]:
    job = priced_job(shop={"money": MONEY}, quote={"number": "26-014"} | quote)
    costs = (CostLine("material", "slab, ash, white", 400.0),)
    found, told = price(job, costs, (LabourLine("work", hours, 0.7 * hours, 1.5 * hours),))
    assert found is not None
    return job, found, told


@given(hours=st.floats(1.0, 400.0), agreed=st.integers(1, 10**7))
def test_an_agreed_price_is_what_is_paid_and_the_lines_still_add_up(hours: float, agreed: int) -> None:
    job, found, _ = priced(hours, agreed=agreed / 100)
    assert found.total_minor == agreed
    assert sum(line.minor for line in found.lines) == agreed
    assert found.net_minor + found.tax_minor == agreed
    # The tax in a price of 119 is 19, to the nearest cent.
    assert abs(found.tax_minor - agreed * 19 / 119) <= 0.5
    assert sum(stage.minor for stage in found.stages) == agreed
    quote, _ = quote_of(job, found)
    assert sum(line.minor for line in quote.lines) + found.tax_minor == agreed


def test_more_hours_cost_the_maker_and_not_the_client() -> None:
    _, quick, _ = priced(20.0, agreed=SIGNED, agreed_on="2026-11-30")
    _, slow, told = priced(60.0, agreed=SIGNED, agreed_on="2026-11-30")
    assert quick.total == slow.total == SIGNED
    assert slow.profit < quick.profit
    assert slow.earns_per_hour is not None and quick.earns_per_hour is not None
    assert slow.earns_per_hour < quick.earns_per_hour
    assert slow.reckoned is not None and slow.reckoned > SIGNED
    held = next(one for one in told if one.code == "price/agreed")
    assert held.severity == "caution"
    assert "2026-11-30" in held.message and "short" in held.message


def test_nothing_agreed_is_as_it_was() -> None:
    _, found, told = priced(20.0)
    assert found.reckoned is None
    assert not any(one.code == "price/agreed" for one in told)


def test_what_was_invoiced_does_not_move_and_the_rest_is_shared_out() -> None:
    job, found, _ = priced(20.0, agreed=2000.0, invoiced=[1000.0])
    # Deposit 40 %, sign-off 30 %, balance 30 %: after 1000 the other thousand goes half and half.
    assert [stage.amount for stage in found.stages] == [1000.0, 500.0, 500.0]
    second = invoice(job, found, 2)
    assert (second.paid_before, second.left_after) == (1000.0, 500.0)


def test_more_invoiced_than_the_price_is_refused_in_one_line() -> None:
    with pytest.raises(SlabwrightError, match=r"quote.invoiced: 3\s000\.00\sEUR is invoiced, and the price is 2\s000"):
        priced(20.0, agreed=2000.0, invoiced=[3000.0])
    with pytest.raises(SlabwrightError, match="4 payments are invoiced, and there are 3"):
        priced(20.0, agreed=2000.0, invoiced=[1.0, 1.0, 1.0, 1.0])


def test_a_change_costs_what_it_does_to_the_price_as_reckoned() -> None:
    before = priced(20.0, agreed=SIGNED, invoiced=[1000.0])
    after = priced(30.0, agreed=SIGNED, invoiced=[1000.0])
    _, plain_before, _ = priced(20.0)
    _, plain_after, _ = priced(30.0)
    change = variation(before[:2], after[:2])
    assert change.minor == plain_after.total_minor - plain_before.total_minor > 0
    assert change.total == pytest.approx(SIGNED + change.money)
    assert change.paid == 1000.0
    assert change.balance == pytest.approx(change.total - 1000.0)
    assert sum(line.minor for line in change.lines) == change.minor


def test_a_day_without_a_price_is_asked_about() -> None:
    with pytest.raises(ValueError, match="agreed_on is the day of an agreed price"):
        priced(20.0, agreed_on="2026-11-30")
