"""The price: what it is made of, what it holds, what it refuses."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError
from tests.unit.priced_job import priced_job

from slabwright.accounts import as_plain
from slabwright.findings import SlabwrightError
from slabwright.job.load import load_job
from slabwright.job.money_models import Money, Quote
from slabwright.shop.price import price
from slabwright.shop.price_lines import CostLine, LabourLine, stated_costs
from slabwright.shop.price_results import Price
from slabwright.shop.price_spread import TENTH, Uncertain, deviation, quantile_of_sum

COSTS = (CostLine("material", "slab", 400.0, 350.0, 500.0), CostLine("material", "steel", 120.0))
LABOUR = (LabourLine("flattening", 10.0, 7.0, 14.0), LabourLine("welding", 8.0, 5.0, 12.0, rate=60.0))


def made(money: dict[str, Any], **more: Any) -> Price:
    found, _ = price(priced_job(shop={"money": money}, **more), COSTS, LABOUR)
    assert found is not None
    return found


def group(found: Price, name: str) -> float:
    return math.fsum(line.price for line in found.lines if line.group == name)


def test_plain_sum() -> None:
    found = made({"contingency": "none"})
    # 400 + 120 + 10 h x 55 + 8 h x 60
    assert found.total == found.net == found.cost == 1550.0
    assert found.tax == found.profit == found.contingency == 0.0
    assert found.hours == 18.0
    assert found.earns_per_hour == pytest.approx(1030.0 / 18.0)


def test_overhead_consumables_tax() -> None:
    found = made({"contingency": "none", "overhead_per_hour": 10, "overhead": 5, "consumables_per_hour": 2, "tax": 20})
    assert group(found, "consumables") == 36.0
    assert group(found, "overhead") == pytest.approx(180.0 + 0.05 * (1550.0 + 36.0))
    assert found.tax == pytest.approx(round(0.2 * found.net, 2))
    assert found.total == pytest.approx(found.net + found.tax)


def test_margin_is_of_the_price_and_mark_up_of_the_cost() -> None:
    margin, mark_up = made({"contingency": "none", "margin": 25}), made({"contingency": "none", "mark_up": 25})
    assert margin.net == pytest.approx(1550.0 / 0.75, abs=0.01)
    assert mark_up.net == 1937.5
    assert margin.margin == pytest.approx(25.0, abs=1e-3)
    assert margin.mark_up == pytest.approx(100.0 / 3.0, abs=1e-3)
    assert mark_up.margin == pytest.approx(20.0)
    assert mark_up.mark_up == pytest.approx(25.0)


def test_the_job_rules_the_shop() -> None:
    found = made({"contingency": "none", "margin": 25}, quote={"mark_up": 10})
    assert found.mark_up == pytest.approx(10.0)


@pytest.mark.parametrize("with_tax", [False, True])
def test_rounded_up_to_a_step(with_tax: bool) -> None:
    found = made({"margin": 20, "tax": 19, "round_to": 10, "prices_with_tax": with_tax})
    shown = found.total if with_tax else found.net
    assert shown % 10 == 0
    assert found.margin >= 20.0 - 1e-3
    assert found.net + found.tax == pytest.approx(found.total, abs=1e-9)


def test_a_price_on_the_step_stays() -> None:
    assert made({"contingency": "none", "round_to": 50}).net == 1550.0


def test_more_is_put_by_the_oftener_it_must_hold() -> None:
    by = [made({"holds": share}).contingency for share in (50, 70, 80, 95)]
    assert by == sorted(by)
    assert by[0] < by[-1]
    assert made({"contingency": "share", "contingency_share": 10}).contingency == 155.0


def test_the_range_holds_the_price() -> None:
    found = made({"margin": 20, "tax": 19})
    assert found.low < found.total < found.high
    assert found.hours_low < found.hours < found.hours_high
    assert found.earns_per_hour_low is not None and found.earns_per_hour is not None
    assert found.earns_per_hour_low < found.earns_per_hour


def test_nothing_uncertain_has_no_range() -> None:
    found, _ = price(priced_job(), (CostLine("material", "slab", 400.0),), (LabourLine("all", 2.0, 2.0, 2.0),))
    assert found is not None
    assert found.low == found.total == found.high == 510.0


@pytest.mark.parametrize("correlation", [0.0, 0.3, 1.0])
def test_quantiles_of_sums_against_draws(correlation: float) -> None:
    """Against 400,000 draws of log-normal hours and prices with a common part: within 4 %, and what is to hold holds."""
    rng = np.random.default_rng(5)
    lines = [
        (400.0, 320.0, 520.0, False),
        (900.0, 560.0, 1400.0, True),
        (600.0, 300.0, 1100.0, True),
        (300.0, 280.0, 330.0, True),
    ]
    count = 400_000
    common = rng.normal(size=count)
    total = np.zeros(count)
    parts = []
    for mean, low, high, together in lines:
        s = math.log(high / low) / (2.0 * TENTH)
        own = rng.normal(size=count)
        root = math.sqrt(correlation)
        z = root * common + math.sqrt(1.0 - correlation) * own if together else own
        total += mean * np.exp(s * z - s * s / 2.0)
        parts.append(Uncertain(mean, deviation(mean, low, high), together))
    for share in (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
        assert quantile_of_sum(parts, share, correlation) == pytest.approx(np.quantile(total, share), rel=0.04)
    assert 0.78 < float(np.mean(total < quantile_of_sum(parts, 0.8, correlation))) < 0.83


def test_a_deviation_gives_its_range_back() -> None:
    mean, low, high = 100.0, 80.0, 125.0
    spread = deviation(mean, low, high)
    one = [Uncertain(mean, spread)]
    assert quantile_of_sum(one, 0.9, 0.0) / quantile_of_sum(one, 0.1, 0.0) == pytest.approx(high / low)
    assert deviation(5.0, 0.0, 10.0) == pytest.approx(5.0 / TENTH)
    with pytest.raises(ValueError, match="share"):
        quantile_of_sum(one, 1.0, 0.0)


def test_what_has_no_price_is_told() -> None:
    found, said = price(priced_job(), (*COSTS, CostLine("material", "levelling foot", None)), LABOUR)
    assert found is not None and found.not_priced == ("levelling foot",)
    assert "levelling foot" in next(each.message for each in said if each.code == "price/not-whole")


def test_no_rate_no_price() -> None:
    found, said = price(priced_job(shop={"prices": {}}), COSTS, LABOUR)
    assert found is None
    assert said[0].code == "price/no-rate"
    assert "flattening" in said[0].message


def test_thin_hours_are_told() -> None:
    _, said = price(priced_job(shop={"money": {"contingency": "none"}}), COSTS, LABOUR)
    assert {"price/thin", "price/no-profit", "price/no-tax"} <= {each.code for each in said}
    _, said = price(priced_job(shop={"money": {"margin": 40, "tax": 19}}), COSTS, LABOUR)
    assert said == ()


@pytest.mark.parametrize(
    ("costs", "labour", "told"),
    [
        ((CostLine("material", "slab", -1.0),), (), "slab"),
        ((CostLine("material", "slab", 5.0, 6.0, 7.0),), (), "in this order"),
        ((), (LabourLine("welding", -1.0, -1.0, 1.0),), "welding"),
        ((), (LabourLine("welding", 1.0, 1.0, 1.0, rate=-40.0),), "rate of -40"),
        ((), (LabourLine("welding", 1.0, 2.0, 3.0),), "in this order"),
    ],
)
def test_what_cannot_be_is_refused(costs: Any, labour: Any, told: str) -> None:
    with pytest.raises(SlabwrightError, match=told):
        price(priced_job(), costs, labour)
    with pytest.raises(SlabwrightError, match="machine hours"):
        stated_costs(priced_job(), -1.0)


@pytest.mark.parametrize(
    ("stated", "told"),
    [
        ({"margin": 100}, "less than 100.*mark_up = 100"),
        ({"margin": 150}, "less than 100"),
        ({"margin": 20, "mark_up": 25}, "not both"),
        ({"margin": -5}, "greater than or equal to 0"),
        ({"deposit": 60, "stages": [{"name": "frame", "share": 50}]}, r"60 \+ 50 = 110 %"),
        ({"deposit": 40, "balance": 50}, "balance of 60 would do"),
    ],
)
def test_bad_money_is_refused(stated: dict[str, Any], told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        Money.model_validate(stated)


def test_bad_quote_is_refused() -> None:
    with pytest.raises(ValidationError, match="less than 100"):
        Quote.model_validate({"margin": 100})
    with pytest.raises(ValidationError, match="low, cost and high"):
        Quote.model_validate({"bought_in": [{"what": "glass", "cost": 10, "low": 20}]})


def test_a_bad_share_names_its_line(tmp_path: Any) -> None:
    (tmp_path / "job.toml").write_text('[job]\ntitle = "Table"\n', encoding="utf-8")
    (tmp_path / "shop.toml").write_text("[money]\ndeposit = 40\nbalance = 50\n", encoding="utf-8")
    with pytest.raises(SlabwrightError, match=r"shop\.toml:1: money: deposit, stages and balance come to 40 \+ 50"):
        load_job(tmp_path / "job.toml")


def test_stated_costs() -> None:
    job = priced_job(
        shop={"prices": {"machine_hour": 20}, "money": {"transit_cover": 60, "liability_cover": 45}},
        quote={"delivery": 180, "bought_in": [{"what": "glass", "cost": 90}], "strike": ["transit cover"]},
    )
    found = {line.name: line.cost for line in stated_costs(job, 3.0)}
    assert found == {"machine": 60.0, "glass": 90.0, "delivery": 180.0, "liability cover": 45.0}


def test_plain_json_adds_up() -> None:
    told = as_plain(made({"margin": 20, "tax": 19}))
    assert round(sum(line["price"] for line in told["lines"]), 6) == told["total"]
    assert round(sum(stage["amount"] for stage in told["stages"]), 6) == told["total"]
    assert "minor" not in told["lines"][0]
    assert dataclasses.is_dataclass(made({}))


def test_a_few_minutes_of_work_are_not_told_as_none() -> None:
    found, _ = price(priced_job(), [], [LabourLine("bores", 0.02, 0.01, 0.04), LabourLine("saw", 0.5, 0.4, 0.6)])
    assert found is not None
    assert {line.name: line.amount for line in found.lines if line.group == "labour"} == {
        "bores": "under 0.1 h",
        "saw": "0.5 h",
    }
