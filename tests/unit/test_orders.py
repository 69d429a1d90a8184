"""Orders: amounts from the plan less the shelf, suppliers, days, and what has come."""

from __future__ import annotations

import dataclasses
import datetime
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from tests.unit.priced_job import SUPPLIERS, priced_job

from slabwright.base.foot_threads import foot_threads
from slabwright.job.calendar_models import WEEKDAYS, Calendar
from slabwright.job.load import load_job
from slabwright.job.loaded import Job
from slabwright.job.models import JobFile, ShopFile
from slabwright.job.selling import named, price_of_one
from slabwright.plan import Plan, plan
from slabwright.shop.can_words import can_words
from slabwright.shop.lead_times import OrderDays, supplier_days, supplier_words
from slabwright.shop.orders import amount_words, orders, orders_costs, plural
from slabwright.shop.orders_items import Item, OrderParts, items
from slabwright.shop.orders_results import Orders

EXAMPLES = Path(__file__).parents[2] / "examples"
DAY = datetime.date


@cache
def worked_out() -> Plan:
    return plan(load_job(EXAMPLES / "reading-table" / "job.toml"))


def parts() -> OrderParts:
    done = worked_out()
    return OrderParts(done.slab, done.top, done.base, done.machine, done.finish, done.carry)


def job(received: list[dict[str, Any]] | None = None, **shop: Any) -> Job:
    done = worked_out().job
    tables = ShopFile.model_validate({"suppliers": SUPPLIERS} | shop)
    stated = JobFile.model_validate({"job": {"title": "x"}, "received": received or []})
    return dataclasses.replace(
        done,
        shop=done.shop.model_copy(update={"suppliers": tables.suppliers, "stock": tables.stock}),
        stated=done.stated.model_copy(update={"received": stated.received}),
    )


def named_order(made: Orders, start: str) -> Any:
    return next(order for order in made.items if order.what.startswith(start))


def test_everything_that_the_plan_takes_is_there() -> None:
    made, _ = orders(job(), parts(), None)
    base, finish = worked_out().base, worked_out().finish
    assert base is not None and base.cut_list is not None and base.welds is not None and finish is not None
    steel = [order for order in made.items if order.kind == "steel"]
    assert sum(order.wanted for order in steel) == sum(bought.count for bought in base.cut_list.bought)
    assert named_order(made, "bolt M8").wanted == len(base.drawn.bolts)
    assert named_order(made, "washer M8").wanted == len(base.drawn.bolts)
    assert named_order(made, "levelling foot").wanted == len(base.drawn.feet)
    assert named_order(made, "welding filler").wanted == pytest.approx(base.welds.filler)
    resin = sum(
        order.wanted for order in made.items if order.kind == "epoxy" and order.what.endswith(("resin", "hardener"))
    )
    assert resin == pytest.approx(finish.resin.resin + finish.resin.hardener)
    cans = sum(order.wanted for order in made.items if order.unit == "can")
    assert cans == sum(can.count for system in finish.systems for can in system.cans)
    assert not [order for order in made.items if order.kind == "slab"]  # it lies in the shop already


def test_the_shelf_is_taken_off() -> None:
    made, _ = orders(
        job(stock=[{"what": "Washer  m8", "amount": 40}, {"what": "bolt M8 x 25 mm", "amount": 5.7}]), parts(), None
    )
    bolts = named_order(made, "bolt M8")
    assert (bolts.in_stock, bolts.amount) == (5.0, bolts.wanted - 5.0)
    assert [order.what for order in made.from_stock] == ["washer M8"]
    assert named_order(made, "washer M8").amount == 0.0


def test_days_to_order_by() -> None:
    made, _ = orders(job(), parts(), {"steel": DAY(2026, 12, 10), "fasteners": DAY(2026, 12, 23)})
    assert {order.order_by for order in made.items if order.kind == "steel"} == {DAY(2026, 12, 4)}
    assert {order.order_by for order in made.items if order.kind == "fasteners"} == {DAY(2026, 12, 18)}  # from a Sunday
    assert made.next_order == DAY(2026, 12, 4)
    assert [group.supplier for group in made.suppliers] == ["Steel yard", "Fixings", ""]
    epoxy = next(order for order in made.items if order.kind == "epoxy")
    assert epoxy.order_by is None and epoxy.before == "the first pour"


@pytest.mark.parametrize(
    ("needed", "lead", "by"),
    [
        (DAY(2026, 12, 9), 0, DAY(2026, 12, 9)),
        (DAY(2026, 12, 12), 0, DAY(2026, 12, 11)),
        (DAY(2026, 12, 13), 0, DAY(2026, 12, 11)),
        (DAY(2027, 1, 4), 7, DAY(2026, 12, 28)),
    ],
)
def test_never_on_a_weekend(needed: datetime.date, lead: int, by: datetime.date) -> None:
    assert OrderDays(Calendar()).order_by(needed, lead) == by


CLOSED = Calendar.model_validate(
    {
        "friday": [],
        "holidays": [DAY(2026, 12, 24), DAY(2026, 12, 25)],
        "away": [{"first": DAY(2026, 12, 14), "last": DAY(2026, 12, 16)}],
    }
)


@pytest.mark.parametrize(
    ("needed", "lead", "lead_in", "by"),
    [
        (DAY(2026, 12, 22), 6, "days", DAY(2026, 12, 10)),  # 16, 15, 14 away; 13, 12 weekend; 11 a Friday off
        (DAY(2026, 12, 28), 3, "days", DAY(2026, 12, 23)),  # 25 a holiday, 24 too
        (DAY(2026, 12, 28), 3, "working days", DAY(2026, 12, 21)),  # comes on the third of 22, 23, 28
        (DAY(2026, 12, 22), 2, "working days", DAY(2026, 12, 17)),  # of the supplier's 21, 22, and Friday 18 is off
        (DAY(2026, 12, 18), 2, "working days", DAY(2026, 12, 10)),  # the supplier works while the shop is away
        (DAY(2026, 12, 23), 0, "working days", DAY(2026, 12, 23)),
    ],
)
def test_orders_are_made_on_days_on_which_the_shop_works(
    needed: datetime.date, lead: int, lead_in: str, by: datetime.date
) -> None:
    assert OrderDays(CLOSED).order_by(needed, lead, working=lead_in == "working days") == by


def test_public_holidays_of_the_country_are_no_days_to_order_on() -> None:
    austria = Calendar.model_validate({"country": "AT"})
    # 8 December is a public holiday of Austria (Feiertagsruhegesetz 1957): a Tuesday in 2026.
    assert OrderDays(austria).order_by(DAY(2026, 12, 14), 6) == DAY(2026, 12, 7)
    assert OrderDays(austria).order_by(DAY(2026, 12, 14), 4, working=True) == DAY(2026, 12, 7)


def test_a_shop_that_works_at_weekends_orders_on_weekdays() -> None:
    week = {"saturday": ["08:00-12:00"]} | {day: [] for day in WEEKDAYS[:5]}
    assert OrderDays(Calendar.model_validate(week)).order_by(DAY(2026, 12, 12), 2) == DAY(2026, 12, 10)


def test_working_days_of_a_supplier_are_told_and_reckoned() -> None:
    yard = SUPPLIERS[0] | {"lead_in": "working days"}
    made, _ = orders(job(suppliers=[yard]), parts(), {"steel": DAY(2026, 12, 17)})
    steel = next(order for order in made.items if order.kind == "steel")
    assert (steel.lead_days, steel.lead_in, steel.order_by) == (6, "working days", DAY(2026, 12, 9))
    assert supplier_words(6, steel.lead_in) == "6 working days"
    assert supplier_words(1, "working days") == "1 working day"
    stated = ShopFile.model_validate({"suppliers": [yard, SUPPLIERS[1], {"name": "A", "what": ["other"]}]}).suppliers
    assert [supplier_days(each) for each in stated] == [9.0, 3.0, None]


def test_prices() -> None:
    made, _ = orders(job(), parts(), None)
    yard = next(group for group in made.suppliers if group.supplier == "Steel yard")
    tube = next(order for order in yard.items if order.what.startswith("60x60x3"))
    # As the cut list has it by the price of the demo's own yard: 6 m at 5.19 kg/m, EN 10219-2 tables.
    assert tube.price == pytest.approx(2.6 * 31.14, rel=0.02)
    assert yard.price == pytest.approx(sum(order.price or 0.0 for order in yard.items))
    assert named_order(made, "washer M8").price == pytest.approx(0.8 * named_order(made, "washer M8").amount)


def test_a_price_by_what_is_not_known_is_none() -> None:
    supplier = ShopFile.model_validate(
        {"suppliers": [{"name": "A", "what": ["other"], "sells": [{"what": "a", "price": 3, "per": "m3"}]}]}
    ).suppliers[0]
    item = Item("other", "a", "", "piece", 2.0)
    assert price_of_one(item.measured, supplier.sells[0]) is None
    assert price_of_one(dataclasses.replace(item, cubic_metres=0.5).measured, supplier.sells[0]) == 1.5


def test_what_has_come_is_ticked() -> None:
    made, said = orders(
        job([{"what": "BOLT M8 x 25 mm", "amount": 4}, {"what": "washer M8"}, {"what": "welding filer"}]), parts(), None
    )
    assert named_order(made, "bolt M8").received == 4.0
    assert named_order(made, "washer M8").received == named_order(made, "washer M8").amount
    told = {each.code: f"{each.message} {each.remedy}" for each in said}
    assert "'welding filler'" in told["orders/received-unknown"]
    assert "4 of 12 pieces" in told["orders/part-come"]


def test_late_orders_are_told_until_they_come() -> None:
    needed = {"steel": DAY(2026, 11, 27)}
    _, said = orders(job(), parts(), needed)
    late = next(each for each in said if each.code == "orders/late")
    assert "2026-11-20, 5 days before" in late.message  # the 21st is a Saturday
    come = [{"what": item.what} for item in items(job(), parts()) if "steel" in (item.kind, item.there_for)]
    made, said = orders(job(come), parts(), needed)
    assert "orders/late" not in {each.code for each in said}
    assert made.next_order is None


def test_no_supplier_is_told() -> None:
    _, said = orders(job(suppliers=[]), parts(), None)
    assert "steel" in next(each.message for each in said if each.code == "orders/no-supplier")
    slow = [{"name": "Slow yard", "what": ["steel"]}]
    _, said = orders(job(suppliers=slow), parts(), None)
    assert "Slow yard" in next(each.message for each in said if each.code == "orders/no-lead-days")


def test_a_slab_is_ordered_until_it_is_read() -> None:
    planned = {"species": "ash, white", "planned": {"length": "2400 mm", "width": "1000 mm", "thickness": "60 mm"}}
    one = priced_job(slab=planned)
    made, _ = orders(one, OrderParts(), None)
    slab = named_order(made, "slab")
    assert slab.what == "slab, ash, white, 2400 mm x 1000 mm x 60 mm"
    assert slab.price == pytest.approx(2400.0 * 0.144)
    (line,) = orders_costs(one, made, OrderParts())
    assert line.low is not None and line.high is not None and line.low < slab.price < line.high
    one = priced_job(slab=planned, quote={"slab_price": 500})
    made, _ = orders(one, OrderParts(), None)
    (line,) = orders_costs(one, made, OrderParts())
    assert (line.cost, line.low, line.high) == (500.0, None, None)


def test_the_slab_in_the_shop_is_charged() -> None:
    one = job()
    by_volume = dataclasses.replace(one, stated=one.stated.model_copy(update={"quote": None}))
    made, _ = orders(by_volume, parts(), None)
    lines = orders_costs(by_volume, made, parts())
    slab = lines[0]
    read = worked_out().slab
    assert read is not None
    size = read.survey.length * read.survey.width * read.survey.thickness_most / 1e9
    assert slab.name == "slab, ash, white" and slab.cost == pytest.approx(2400.0 * size)
    assert "cable" in " ".join(line.name for line in lines if line.cost is None)
    assert (stated := one.stated.quote) is not None and stated.slab_price is not None
    assert orders_costs(one, made, parts())[0].cost == stated.slab_price


@pytest.mark.parametrize(
    ("amount", "unit", "units", "told"),
    [
        (0.1111, "kg", "metric", "112 g"),
        (1.231, "kg", "metric", "1.24 kg"),
        (1.0, "kg", "inch", "2.21 lb"),
        (0.751, "l", "metric", "0.76 l"),
        # A US gallon is 3.785411784 l, 4 qt, 128 fl oz (NIST SP 811, appendix B).
        (0.3, "l", "inch", "11 fl oz"),
        (1.0, "l", "inch", "1.1 qt"),
        (3.785411784, "l", "inch", "1 gal"),
        (1.0, "piece", "metric", "1 piece"),
        (3.0, "can", "metric", "3 cans"),
    ],
)
def test_amounts_are_enough(amount: float, unit: str, units: Any, told: str) -> None:
    assert amount_words(amount, unit, units) == told


@pytest.mark.parametrize(
    ("litres", "inch", "metric"),
    [
        # A US gallon is 3.785411784 l, 4 qt, 128 fl oz (NIST SP 811, appendix B).
        (3.785411784, "1 gal", "1 gal (3.8 l)"),
        (0.946352946, "1 qt", "1 qt (0.95 l)"),
        (0.946, "1 qt", "1 qt (0.95 l)"),
        (0.354882355, "12 fl oz", "12 fl oz (0.35 l)"),
        (2.5, "2.5 l (84.5 fl oz)", "2.5 l"),
        (0.375, "0.375 l (12.7 fl oz)", "0.375 l"),
    ],
)
def test_cans_are_told_as_they_are_sold(litres: float, inch: str, metric: str) -> None:
    assert (can_words(litres, "inch"), can_words(litres, "metric")) == (inch, metric)


def test_an_inch_job_orders_cans_by_the_quart() -> None:
    done = worked_out()
    assert done.finish is not None
    one = done.job
    inches = dataclasses.replace(
        one,
        stated=one.stated.model_copy(update={"job": one.stated.job.model_copy(update={"units": "inch"})}),
    )
    system = next(system for system in done.finish.systems if system.cans)
    quarts = dataclasses.replace(system, cans=(dataclasses.replace(system.cans[0], size=0.946352946),))
    wanted = items(inches, OrderParts(systems=(quarts,)))
    assert [each.what for each in wanted if each.unit == "can"] == [f"{system.cans[0].coating}, 1 qt"]


def test_bushes_that_are_welded_in_are_ordered_with_the_steel() -> None:
    base = worked_out().base
    assert base is not None
    bushes = [each for each in foot_threads(base.drawn) if each.into.startswith("weld-in bush")]
    assert bushes
    made, _ = orders(job(), parts(), {"steel": DAY(2026, 12, 10), "feet": DAY(2026, 12, 30)})
    order = named_order(made, "weld-in bush")
    assert order.what == "weld-in bush, thread M10, 20 mm outside, 15 mm long"
    assert (order.kind, order.wanted, order.needed, order.before) == (
        "feet",
        len(bushes),
        DAY(2026, 12, 10),
        "steel is sawn",
    )
    assert named_order(made, "levelling foot").what == "levelling foot, thread M10"


def test_names_are_compared_as_people_type_them() -> None:
    assert named("  Bolt M8 ×  25 MM ") == "bolt m8 x 25 mm"
    assert plural("length", 2) == "lengths"
