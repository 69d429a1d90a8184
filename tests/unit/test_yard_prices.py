"""Yard prices in the cut list: what is bought is the cheapest where prices are known."""

from __future__ import annotations

from typing import Any

import pytest
from tests.unit.priced_job import priced_job

from slabwright.base.sections import section
from slabwright.base.yard_prices import steel_supplies
from slabwright.job.loaded import Job
from slabwright.kept import read_by
from slabwright.shop.planning import planning

SECTIONS = ["60x60x3", "flat 100x8"]


def yard(*sells: dict[str, Any], lengths: list[int] | None = None, **head: Any) -> Job:
    supplier = {"name": "Yard", "what": ["steel"], "sells": list(sells)}
    return priced_job(head, {"suppliers": [supplier], "steel": {"lengths": lengths or [6000, 3000]}})


def priced(job: Job) -> dict[tuple[str, float], float | None]:
    return {(each.section, each.length): each.price for each in steel_supplies(job, SECTIONS) if each.section}


def test_lengths_are_priced_by_metre_weight_or_piece() -> None:
    found = priced(
        yard(
            {"what": "steel", "price": 2.5, "per": "kg"},
            {"what": "60x60x3", "price": 9, "per": "m"},
            {"what": "60x60x3, 3000 mm", "price": 20},
        )
    )
    assert found["60x60x3", 6000.0] == pytest.approx(54.0)
    assert found["60x60x3", 3000.0] == 20.0
    assert found["flat 100x8", 6000.0] == pytest.approx(2.5 * 6.0 * section("flat 100x8", "metric").mass_per_metre)


def test_without_a_price_of_steel_lengths_are_for_any_section() -> None:
    bare = yard(lengths=[6000])
    assert [(each.length, each.price, each.section) for each in steel_supplies(bare, SECTIONS)] == [(6000.0, None, "")]


@pytest.mark.parametrize(
    ("date", "price"), [("2026-01-31", 6.0 * 8), ("2026-02-01", 6.0 * 9), ("2027-01-01", 6.0 * 10), ("", 6.0 * 10)]
)
def test_the_price_that_holds_on_the_jobs_date(date: str, price: float) -> None:
    job = yard(
        {"what": "60x60x3", "price": 10, "per": "m", "since": "2026-06-01"},
        {"what": "60x60x3", "price": 9, "per": "m", "since": "2026-02-01"},
        {"what": "60x60x3", "price": 8, "per": "m"},
        date=date,
    )
    assert priced(job)["60x60x3", 6000.0] == pytest.approx(price)


def test_the_cheapest_lengths_are_bought_and_not_the_least_steel() -> None:
    tube = planning(yard())[0].base
    assert tube is not None and tube.cut_list is not None
    name = next(each.section for each in tube.cut_list.bought if "x60x" in each.section)
    long, short = f"{name}, 6000 mm", f"{name}, 3000 mm"
    prices = [{"what": "steel", "price": 1, "per": "kg"}, {"what": long, "price": 31}, {"what": short, "price": 10}]
    base = planning(yard(*prices))[0].base
    assert base is not None and base.cut_list is not None
    bought = [each for each in base.cut_list.bought if each.section == name]
    assert {each.length for each in bought} == {3000.0}
    proof = next(each for each in base.cut_list.proofs if each.section == name)
    assert proof.price == proof.least_price == pytest.approx(10.0 * sum(each.count for each in bought))
    prices[2]["price"] = 40
    base = planning(yard(*prices))[0].base
    assert base is not None and base.cut_list is not None
    assert {each.length for each in base.cut_list.bought if each.section == name} == {6000.0}


def test_the_base_is_worked_out_anew_when_steel_costs_otherwise() -> None:
    one = yard({"what": "steel", "price": 2.5, "per": "kg"})
    assert read_by(one, "base") == read_by(yard({"what": "steel", "price": 2.5, "per": "kg"}), "base")
    assert read_by(one, "base") != read_by(yard({"what": "steel", "price": 2.6, "per": "kg"}), "base")
    assert read_by(one, "base") != read_by(
        yard({"what": "steel", "price": 2.5, "per": "kg"}, date="2027-01-01"), "base"
    )
