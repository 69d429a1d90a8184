"""A first price and an earliest date from six answers, and how both narrow."""

from __future__ import annotations

import dataclasses
import datetime
import re
from typing import Any

import pytest
from tests.unit.priced_job import priced_job
from tests.unit.test_orders import parts, worked_out

from slabwright.findings import SlabwrightError
from slabwright.job.loaded import Job
from slabwright.job.money_models import Money
from slabwright.plan import plan
from slabwright.shop.money import format_about
from slabwright.shop.orders_items import OrderParts
from slabwright.shop.planning import open_questions, planning, planning_slab
from slabwright.shop.planning_price import FirstPrice, first_price
from slabwright.shop.price_lines import LabourLine
from slabwright.spoken import spoken

PLANNED = {"species": "ash, white", "planned": {"length": "2400 mm", "width": "1000 mm", "thickness": "60 mm"}}


def first(job: Job, known: OrderParts | None = None, **more: Any) -> FirstPrice:
    found, _ = first_price(job, known, **more)
    assert found is not None
    return found


def test_six_answers_make_a_price_and_a_date() -> None:
    found = first(priced_job())
    assert found.price.low < found.price.total < found.price.high
    assert 0 < found.days_low < found.days_high
    assert found.earliest is not None and found.latest is not None
    assert datetime.date(2026, 12, 25) < found.earliest < found.latest
    kinds = {line.group for line in found.price.lines}
    assert {"material", "labour", "machine", "contingency"} <= kinds
    assert any(line.name.startswith("slab, ash, white") for line in found.price.lines)
    assert any("60x60" in line.name for line in found.price.lines)


@pytest.mark.parametrize(
    ("piece", "slab", "wants"),
    [
        ({"width": "900 mm", "height": "740 mm", "base": "U legs"}, {"species": "ash, white"}, "piece] length"),
        ({"length": "2 m", "base": "U legs"}, {"species": "ash, white"}, "piece] height"),
        ({"length": "2 m", "height": "740 mm", "base": "U legs"}, None, "slab] species"),
        ({"length": "2 m", "height": "740 mm"}, {"species": "ash, white"}, "piece] base"),
    ],
)
def test_an_open_question_is_asked(piece: Any, slab: Any, wants: str) -> None:
    job = priced_job(piece=piece, slab=slab)
    found, said = first_price(job)
    assert found is None
    assert wants in said[0].message
    assert len(open_questions(job)) == 1
    with pytest.raises(SlabwrightError, match="first price wants"):
        planning(job)


def test_the_slab_to_look_for() -> None:
    stated = priced_job().stated
    slab, assumed = planning_slab(stated)
    assert slab.length >= 2200 + 2 * 25 and slab.length % 10 == 0
    assert slab.width >= 900 + 2 * 10
    assert slab.thickness >= 45 + 15 and slab.thickness / 6.35 == pytest.approx(round(slab.thickness / 6.35))
    assert len(assumed) == 1
    open_piece = {"length": "2 m", "height": "740 mm", "base": "U legs"}
    slab, assumed = planning_slab(priced_job(piece=open_piece).stated)
    assert slab.thickness == pytest.approx(63.5)
    assert any("width" in each for each in assumed)
    assert planning_slab(priced_job(slab=PLANNED).stated)[0].thickness == 60.0


def test_a_thin_slab_is_told() -> None:
    thin = PLANNED | {"planned": {"length": "2400 mm", "width": "1000 mm", "thickness": "8/4"}}
    _, said = first_price(priced_job(slab=thin))
    told = next(each for each in said if each.code == "planning/thin-slab")
    assert "35.8 mm nineteen times in twenty, and 45 mm" in told.message
    assert "60 mm rough" in told.remedy


def test_no_board_is_too_thin_where_the_most_is_wanted() -> None:
    piece = {"length": "2 m", "height": "740 mm", "thickness": "max", "base": "U legs"}
    found, said = first_price(priced_job(piece=piece))
    assert found is not None and "planning/thin-slab" not in {each.code for each in said}


def test_an_enquiry_tells_price_hours_and_days_on_the_terminal() -> None:
    job = priced_job(piece={"length": "2 m", "height": "740 mm", "thickness": "max", "base": "U legs"})
    result = plan(job)
    assert result.shop is not None and result.shop.first is not None
    price = result.shop.first.price
    said = spoken(result).replace("\u00a0", " ")
    assert "shop/usual-hours" not in said
    assert f"  Work: {price.hours:.0f} h" in said
    assert f"{result.shop.first.earliest} if all goes well" in said
    told = re.search(r"about ([\d ]+) EUR, tax and all; ([\d ]+) EUR to ([\d ]+) EUR", said)
    assert told is not None
    about, low, high = (float(each.replace(" ", "")) for each in told.groups())
    assert about % 100 == low % 100 == high % 100 == 0.0
    assert abs(about - price.total) <= 50 and abs(low - price.low) <= 50 and abs(high - price.high) <= 50


@pytest.mark.parametrize(
    ("amount", "low", "high", "currency", "told"),
    [
        (8687.8, 5820.1, 9438.0, "EUR", "8 700 EUR"),
        (868.78, 582.01, 943.8, "EUR", "870 EUR"),
        (8687.8, 8685.0, 8690.0, "EUR", "8 687.80 EUR"),
        (868780, 582010, 943800, "JPY", "870 000 JPY"),
        (8687.8, 5820.1, 9438.0, "KWD", "8 700 KWD"),
    ],
)
def test_a_range_is_told_no_finer_than_it_is_known(
    amount: float, low: float, high: float, currency: str, told: str
) -> None:
    assert format_about(amount, low, high, currency).replace("\u00a0", " ") == told


def spread(found: FirstPrice) -> float:
    return (found.price.high - found.price.low) / found.price.total


def test_price_and_date_narrow_as_facts_arrive() -> None:
    done = worked_out().job
    stated = done.stated.model_copy(update={"quote": None})  # no slab has been found yet
    shop = done.shop.model_copy(update={"money": Money.model_validate({"margin": 20})})
    job = dataclasses.replace(done, stated=stated, shop=shop)
    blind = first(dataclasses.replace(job, readings=None))
    known = parts()
    read = first(job, OrderParts(slab=known.slab))
    based = first(job, OrderParts(slab=known.slab, top=known.top, base=known.base))
    whole = first(job, known)
    spreads = [spread(each) for each in (blind, read, based, whole)]
    assert spreads == sorted(spreads, reverse=True)
    assert spreads[-1] < 0.85 * spreads[0]
    days = [each.days_high - each.days_low for each in (blind, read, based, whole)]
    assert days == sorted(days, reverse=True)
    states = [{fact.what: fact.state for fact in each.facts} for each in (blind, whole)]
    assert [state["slab"] for state in states] == ["taken", "measured"]


def test_a_found_slab_narrows_it() -> None:
    looked_for, found = first(priced_job(slab=PLANNED)), first(priced_job(slab=PLANNED, quote={"slab_price": 360}))
    assert spread(found) < spread(looked_for)


def test_logged_hours_take_the_tables_place() -> None:
    hours = (LabourLine("all of it", 40.0, 38.0, 42.0),)
    logged = first(priced_job(), labour=hours)
    assert [line.name for line in logged.price.lines if line.group == "labour"] == ["all of it"]
    assert spread(logged) < spread(first(priced_job()))


def test_wanted_too_soon() -> None:
    _, said = first_price(priced_job(brief={"wanted": datetime.date(2026, 12, 1)}))
    assert "2026-12-01" in next(each.message for each in said if each.code == "planning/too-soon")
    _, said = first_price(priced_job(brief={"wanted": datetime.date(2027, 12, 1)}))
    assert "planning/too-soon" not in {each.code for each in said}


def test_without_a_date_days_alone_are_told() -> None:
    found = first(priced_job({"date": "soon"}))
    assert found.earliest is None and found.days_low > 0


def test_a_larger_piece_costs_more() -> None:
    def total(length: str) -> float:
        return first(
            priced_job(piece={"length": length, "width": "900 mm", "height": "740 mm", "base": "U legs"})
        ).price.total

    assert total("1600 mm") < total("2200 mm") < total("3000 mm")


@pytest.mark.parametrize("base", ["U legs", "closed loops", "inverted U", "four legs", "trestles"])
def test_every_picture_in_inches(base: str) -> None:
    piece = {"length": "7 ft", "width": "36 in", "height": "29 1/2 in", "base": base}
    found = first(priced_job({"units": "inch", "currency": "USD"}, piece=piece))
    assert found.price.currency == "USD"
    assert found.planning is not None and found.planning.steel_mass is not None and found.planning.steel_mass > 10
