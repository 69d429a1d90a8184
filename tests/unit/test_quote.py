"""Quote, invoices, changes, and another piece like this one."""

from __future__ import annotations

import dataclasses
import datetime
from pathlib import Path
from typing import Any

import pytest
from tests.unit.priced_job import priced_job

from slabwright.findings import SlabwrightError
from slabwright.job.load import load_job
from slabwright.job.loaded import Job
from slabwright.reference.hours import hours_table
from slabwright.shop.operations import PlanParts
from slabwright.shop.price import price
from slabwright.shop.price_lines import CostLine, LabourLine, stated_costs
from slabwright.shop.price_results import Price
from slabwright.shop.quote import cancelled, invoice, quote_findings, quote_of
from slabwright.shop.shop_plan import shop_plan
from slabwright.shop.stages import payments
from slabwright.shop.variation import variation
from slabwright.shop.variation_another import another_like_this

EXAMPLES = Path(__file__).parents[2] / "examples"
MONEY = {
    "margin": 20,
    "tax": 19,
    "tax_name": "VAT",
    "tax_number": "invented 12",
    "stages": [{"name": "frame tacked", "share": 30}],
    "slab_hold": 40,
    "storage": 25,
    "transit_cover": 60,
    "liability_cover": 45,
}
SLAB = CostLine("material", "slab, ash, white", 400.0)


def agreed(
    slab: float = 400.0, hours: float = 20.0, money: dict[str, Any] | None = None, **more: Any
) -> tuple[Job, Price]:
    job = priced_job(shop={"money": MONEY | (money or {})}, **({"quote": {"number": "26-014", "delivery": 180}} | more))
    costs = (dataclasses.replace(SLAB, cost=slab), *stated_costs(job, 0.0))
    found, _ = price(job, costs, (LabourLine("work", hours, 0.7 * hours, 1.5 * hours),))
    assert found is not None
    return job, found


def test_the_quote_shows_no_insides() -> None:
    job, found = agreed()
    quote, said = quote_of(job, found, promised=43.2)
    names = [line.name for line in quote.lines]
    assert names == ["Reading table", "Delivery and placing", "Cover on the way", "Cover for damage in your house"]
    assert sum(line.minor for line in quote.lines) == found.net_minor
    assert ("Thickness", "at least 43 mm") in quote.described
    text = str(quote)
    assert "margin" not in text and "contingency" not in text and "overhead" not in text
    assert said == ()


def test_a_width_that_the_slab_gives_is_told_about() -> None:
    job, found = agreed()
    piece = job.stated.piece.model_copy(update={"width": None})
    live = dataclasses.replace(job, stated=job.stated.model_copy(update={"piece": piece}))
    assert "about 980 mm wide" in dict(quote_of(live, found, wide=977.6)[0].described)["Size"]
    assert "wide" not in dict(quote_of(live, found)[0].described)["Size"]
    head = live.stated.job.model_copy(update={"units": "inch"})
    inches = dataclasses.replace(live, stated=live.stated.model_copy(update={"job": head}))
    assert "about 3' 2 1/2\" wide" in dict(quote_of(inches, found, wide=977.6)[0].described)["Size"]
    piece = piece.model_copy(update={"width": 900.0})
    stated = dataclasses.replace(job, stated=job.stated.model_copy(update={"piece": piece}))
    assert "900 mm wide" in dict(quote_of(stated, found, wide=977.6)[0].described)["Size"]


def test_the_promised_day_is_the_quote_s() -> None:
    job, found = agreed()
    head = job.stated.job.model_copy(update={"promised": datetime.date(2027, 1, 29)})
    promised = dataclasses.replace(job, stated=job.stated.model_copy(update={"job": head}))
    days = (datetime.date(2027, 1, 8), datetime.date(2027, 1, 20))
    assert quote_of(promised, found, ready=days)[0].promised == datetime.date(2027, 1, 29)
    assert quote_of(job, found, ready=days)[0].promised is None


def test_days_and_terms() -> None:
    job, found = agreed()
    quote, _ = quote_of(job, found)
    assert quote.date == datetime.date(2026, 11, 25)
    assert quote.valid_until == datetime.date(2026, 12, 25)
    terms = " ".join(quote.terms)
    for words in (
        "30 days",
        "40.00",
        "25.00",
        "deposit has cleared",
        "cut it cannot be given back",
        "covered on the way",
    ):
        assert words in terms.replace("\u00a0", " ")


@pytest.mark.parametrize(
    ("term", "gone"),
    [
        ("expiry", "30 days"),
        ("slab hold", "held for you"),
        ("cancellation", "cannot be given back"),
        ("storage", "stored free"),
        ("transit cover", "covered on the way"),
        ("liability cover", "while it is carried in"),
    ],
)
def test_the_maker_strikes_a_line(term: str, gone: str) -> None:
    job, found = agreed(quote={"strike": [term]})
    quote, _ = quote_of(job, found)
    assert gone not in " ".join(quote.terms)
    job, found = agreed()
    quote, _ = quote_of(job, found)
    assert gone in " ".join(quote.terms)


def test_what_a_quote_lacks() -> None:
    job, found = agreed(money={"deposit": 0})
    job = dataclasses.replace(
        job, stated=job.stated.model_copy(update={"job": job.stated.job.model_copy(update={"date": ""})})
    )
    _, said = quote_of(job, dataclasses.replace(found, not_priced=("feet",)))
    assert {each.code for each in said} == {"quote/no-date", "quote/not-whole", "quote/no-deposit"}
    bare = dataclasses.replace(job, stated=job.stated.model_copy(update={"quote": None}))
    assert "quote/not-whole" not in {
        each.code for each in quote_findings(bare, dataclasses.replace(found, not_priced=("feet",)))
    }


def test_what_a_quote_lacks_is_told_with_the_plan() -> None:
    job = priced_job(shop={"money": {"deposit": 0}}, quote={"number": "7"})
    _, said = shop_plan(job, PlanParts())
    assert "quote/no-deposit" in {each.code for each in said}
    assert "quote/not-whole" in {each.code for each in said}  # feet have no price
    _, said = shop_plan(priced_job(), PlanParts())
    assert not [each.code for each in said if each.code.startswith("quote/")]


def test_payments() -> None:
    _, found = agreed()
    assert [(stage.name, stage.share) for stage in found.stages] == [
        ("Deposit", 40),
        ("frame tacked", 30),
        ("Balance", 30),
    ]
    assert found.stages[0].due == "cleared before the slab is bought"
    assert found.stages[-1].due == "cleared before unloading"
    assert payments(100.0, [], None) == (("Deposit", "cleared before the slab is bought", 100.0),)
    assert payments(33.3, [], None)[1][2] == pytest.approx(66.7, abs=1e-12)


def test_a_job_with_its_own_shares() -> None:
    _, found = agreed(quote={"deposit": 50})
    assert [stage.share for stage in found.stages] == [50, 30, 20]
    with pytest.raises(SlabwrightError, match=r"80 \+ 30 = 110"):
        agreed(quote={"deposit": 80})
    with pytest.raises(SlabwrightError, match="balance of 30 would do"):
        agreed(quote={"balance": 20})
    # A balance that the shop states does not bind a job with shares of its own.
    _, found = agreed(money={"balance": 30}, quote={"deposit": 50})
    assert found.stages[-1].share == pytest.approx(20)


def test_invoices_add_up() -> None:
    job, found = agreed()
    bills = [invoice(job, found, which) for which in (1, 2, 3)]
    assert sum(bill.stage.minor for bill in bills) == found.total_minor
    assert [bill.number for bill in bills] == ["26-014-1", "26-014-2", "26-014-3"]
    assert bills[2].left_after == 0.0
    assert bills[1].paid_before == bills[0].stage.amount
    assert bills[0].net + bills[0].stage.tax == pytest.approx(bills[0].stage.amount)
    with pytest.raises(SlabwrightError, match="no payment 4; choose 1 Deposit, 2 frame tacked, 3 Balance"):
        invoice(job, found, 4)


def test_cancelled_after_cutting() -> None:
    job, found = agreed()
    assert cancelled(job, found, 10.0) == 400.0 + 550.0
    assert cancelled(job, found, 99.0) == 400.0 + 1100.0
    half, at_half = agreed(money={"cancellation": 50})
    assert cancelled(half, at_half, 0.0) == 200.0
    with pytest.raises(SlabwrightError, match="hours worked"):
        cancelled(job, found, -1.0)


def test_a_change_costs_money_and_days() -> None:
    before = agreed()
    piece = before[0].stated.piece.model_dump(exclude_none=True) | {"length": "2400 mm"}
    after = agreed(slab=450.0, hours=22.0, piece=piece)
    change = variation(before, after, days=(50.0, 53.5), invoiced=1)
    assert [each.key for each in change.changes] == ["piece.length"]
    assert (change.changes[0].before, change.changes[0].after) == ("2200", "2400")
    assert change.minor == after[1].total_minor - before[1].total_minor > 0
    assert sum(line.minor for line in change.lines) == change.minor
    assert change.days == 3.5
    assert change.paid == before[1].stages[0].amount
    assert change.balance == pytest.approx(change.total - change.paid)
    assert change.refund == 0.0


def test_a_change_that_saves_more_than_is_left_is_given_back() -> None:
    change = variation(agreed(), agreed(slab=10.0, hours=1.0, quote={}), invoiced=2)
    assert change.money < 0 and change.balance == 0.0
    assert change.refund == pytest.approx(change.paid - change.total)


def test_changes_that_cannot_be_priced() -> None:
    job, found = agreed()
    with pytest.raises(SlabwrightError, match=r"EUR.*USD"):
        variation((job, found), (job, dataclasses.replace(found, currency="USD")))
    with pytest.raises(SlabwrightError, match="9 payments"):
        variation((job, found), (job, found), invoiced=9)


@pytest.mark.parametrize("name", ["reading-table", "hall-desk", "window-bench"])
def test_another_like_this(name: str, tmp_path: Path) -> None:
    file = EXAMPLES / name / "job.toml"
    old, text = load_job(file), file.read_text(encoding="utf-8")
    made = another_like_this(old, text, "Second one", species="oak, white")
    (tmp_path / "job.toml").write_text(made.text, encoding="utf-8")
    new = load_job(tmp_path / "job.toml")
    assert new.readings is None and new.stated.job.title == "Second one"
    assert new.stated.slab is not None and new.stated.slab.species == "oak, white"
    assert new.stated.slab.planned is not None and old.stated.piece.length is not None
    assert new.stated.slab.planned.length > old.stated.piece.length
    assert not new.stated.slab.defects and new.stated.as_made is None and not new.stated.mends
    assert new.stated.piece == old.stated.piece
    if old.stated.top is not None:
        assert new.stated.top is not None and new.stated.top.features == old.stated.top.features
    assert new.stated.base == old.stated.base or old.stated.base is not None
    assert new.stated.quote is not None and "welding jig of the leg frames" in new.stated.quote.kept_jigs
    remarks = [line.split("#")[1] for line in text.splitlines() if line.startswith("#")]
    assert all(remark in made.text for remark in remarks[:1])


def test_another_needs_one_to_be_like() -> None:
    with pytest.raises(SlabwrightError, match="there is none"):
        another_like_this(priced_job(slab=None), "", "Second one")


def test_the_work_of_bringing_it_is_paid_for_as_delivery() -> None:
    job, found = agreed()
    drive = next(line for line in found.lines if line.group == "labour")
    brought = dataclasses.replace(
        found, lines=tuple(dataclasses.replace(each, name="drive") if each is drive else each for each in found.lines)
    )
    before, after = ({line.name: line for line in quote_of(job, each)[0].lines} for each in (found, brought))
    spent = {each.group: each.minor for each in found.lines if each.name == "delivery"}["delivery"]
    ratio = after["Delivery and placing"].minor / before["Delivery and placing"].minor
    assert ratio == pytest.approx((spent + drive.minor) / spent, rel=1e-3)
    assert sum(each.minor for each in after.values()) == sum(each.minor for each in before.values())
    assert set(hours_table().kinds) >= {"wrap", "drive", "carry in", "set up in the room", "hand over"}


def test_invoices_that_ask_for_tax_want_its_number() -> None:
    def said(**more: Any) -> bool:
        told = quote_findings(*agreed(**more))
        return "quote/no-tax-number" in {each.code for each in told}

    assert said(money={"tax_number": ""})
    assert not said()
    assert not said(money={"tax_number": "", "tax": 0})
    assert not said(money={"tax_number": ""}, quote={"number": ""})
