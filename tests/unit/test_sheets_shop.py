"""Sheets of the shop: days, the first of them, hours, the first price; and the papers that go with them."""

from __future__ import annotations

import dataclasses
import datetime
import io
import itertools
import re
from typing import Any

import pytest
from pypdf import PdfReader
from tests.unit.carried import worked_out
from tests.unit.priced_job import priced_job
from tests.unit.sheet_plan import plan as invented_plan

from slabwright.findings import Finding
from slabwright.plan import Plan
from slabwright.sheets import document
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.day_drawing import days_drawing, fitted, hour_words, hours_shown, one_day_drawing
from slabwright.sheets.day_rows import day_rows, waiting
from slabwright.sheets.day_sheets import _pages, day_sheets
from slabwright.sheets.first_price_sheet import first_price_sheets, open_brief
from slabwright.sheets.hours_sheet import _kind, amount_said, hours_sheets, in_order, rests_short, span_words
from slabwright.sheets.shop_files import DAYS, QUOTE, is_shop_file, shop_files
from slabwright.sheets.shop_sheets import money_sheets, shop_sheets
from slabwright.sheets.words import Words
from slabwright.shop.day_sheet import DaySheet, Doing, Strip
from slabwright.shop.job_schedule import JobSchedule
from slabwright.shop.operations import PlanParts
from slabwright.shop.scheduling_models import Link, Operation
from slabwright.shop.shop_plan import ShopPlan, shop_plan

HEADS = [{"units": "metric", "paper": "A4"}, {"units": "inch", "paper": "Letter"}]


def demo(**head: Any) -> Plan:
    """The demo with some of `[job]` changed."""
    done = worked_out("reading-table")
    stated = done.job.stated
    told = stated.model_copy(update={"job": stated.job.model_copy(update=head)})
    return dataclasses.replace(done, job=dataclasses.replace(done.job, stated=told))


def shop_of(made: Plan) -> ShopPlan:
    assert made.shop is not None
    return made.shop


def days_of(made: Plan) -> JobSchedule:
    days = shop_of(made).schedule
    assert days is not None
    return days


def printed(made: Plan, sheets: list[Sheet], monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Words of each page; every sheet fills one page and no more."""
    monkeypatch.setattr(document, "bench_sheets", lambda _: sheets)
    reader = PdfReader(io.BytesIO(document.bench_pdf(Context(made))))
    said = [" ".join(page.extract_text().replace("\u00a0", " ").split()) for page in reader.pages]
    assert len(said) == len(sheets)
    return said


@pytest.mark.parametrize("head", HEADS, ids=["A4", "Letter"])
def test_the_demo_on_paper(head: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    made = demo(**head)
    said = printed(made, [*shop_sheets(Context(made)), *money_sheets(Context(made))], monkeypatch)
    whole = " ".join(said)
    for words in (
        "Fri 29 Jan",
        "ready 4 times in 5",
        "First day: Wed 25 Nov",
        "What is drying or resting",
        "What to order today",
        "Client signs the mock-up",
        "Burn in the library's mark",
        "What took longer?",
        "gauge had to be zeroed again",
        "not for the client",
    ):
        assert words in whole, words
    assert ("10 am" in whole) == (head["units"] == "inch")
    assert ("sq ft" in whole) == (head["units"] == "inch")


def test_every_operation_of_the_work_has_a_row_to_write_in() -> None:
    made = demo()
    shop = shop_of(made)
    listed = [row["cells"] for sheet in hours_sheets(Context(made))[1:] for row in rows_of(sheet)]
    assert [cells[0].partition(" (2 people)")[0] for cells in listed] == [each.name for each in in_order(shop)]
    took = {cells[0]: cells[4] for cells in listed}
    assert took["Read both faces"] == "125" and took["Slab off the van, onto the bed"] == "done"
    assert took["Set the slab on its stacks"] == ""


def rows_of(sheet: Sheet) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    waiting_blocks = list(sheet.picture)
    while waiting_blocks:
        block = waiting_blocks.pop(0)
        if block["kind"] == "table":
            found += block["rows"]
        if block["kind"] == "side-by-side":
            waiting_blocks = [*(each for column in block["columns"] for each in column), *waiting_blocks]
    return found


def test_the_work_is_in_the_order_of_the_days() -> None:
    made = demo()
    starts = {each.name: each.start for each in days_of(made).operations}
    begun = [starts[each.name] for each in in_order(shop_of(made)) if each.name in starts]
    assert begun == sorted(begun) and len(begun) > 50
    shop = dataclasses.replace(shop_of(made), schedule=None)
    assert [each.name for each in in_order(shop)] == [each.name for each in shop.operations if each.attended > 0]


def test_every_stretch_of_work_stands_on_its_day() -> None:
    days = days_of(demo())
    rows = day_rows(days)
    now = days.task.now.date()
    shown = sorted((start, finish, name) for row in rows for start, finish, name in row.work)
    worked = sorted((*piece, each.name) for each in days.operations for piece in each.pieces if piece[0].date() >= now)
    assert shown == worked
    assert all(start.date() == row.first == row.last for row in rows for start, _, _ in row.work)
    assert all(a.last < b.first for a, b in itertools.pairwise(rows))
    marks = {mark: row.first for row in rows for mark in row.marks}
    assert marks["promised"] == datetime.date(2027, 1, 29) and len(marks) == 4


def test_what_only_waits_begins_when_what_it_follows_is_over() -> None:
    days = days_of(demo())
    waits, away = waiting(days.task, days.schedule)
    planned = days.schedule.by_name()
    rest = next(each for each in waits if each[2] == "Slab rests")
    assert rest[0] == planned["Slab onto stickers"].finish_at
    assert rest[1] - rest[0] == datetime.timedelta(days=10)
    assert rest[1] <= planned["Read both faces again"].start_at
    assert {"Steel comes in", "Client signs the mock-up"} <= {name for _, _, name in away}
    assert "Client agrees to the drawings" not in {name for _, _, name in away}


def test_a_wait_from_a_start_and_after_a_lag() -> None:
    days = days_of(demo())
    onto = next(each for each in days.task.operations if each.name == "Slab onto stickers")
    rests = next(each for each in days.task.operations if each.name == "Slab rests")

    def since(link: Link) -> datetime.datetime:
        changed: list[Operation] = [
            dataclasses.replace(rests, after=(link,)) if each is rests else each for each in days.task.operations
        ]
        waits, _ = waiting(dataclasses.replace(days.task, operations=tuple(changed)), days.schedule)
        return next(start for start, _, name in waits if name == "Slab rests")

    planned = days.schedule.by_name()[onto.name]
    assert since(Link(onto.name, from_="start")) == planned.start_at
    assert since(Link(onto.name, 5.0, from_="start")) == planned.start_at + datetime.timedelta(minutes=5)
    assert since(Link(onto.name, 1e6)) == days.schedule.by_name()[rests.name].start_at


def test_a_conflict_is_told_with_and_without_days() -> None:
    made = demo()
    stop = Finding("shop/conflict", "stop", "These cannot all be kept: a; b.", "Move a.")
    told = dataclasses.replace(made, findings=(*made.findings, stop))
    assert "These cannot all be kept" in str(day_sheets(Context(told))[0].picture)
    none = dataclasses.replace(told, shop=dataclasses.replace(shop_of(told), schedule=None))
    (only,) = day_sheets(Context(none))
    assert "These cannot all be kept" in str(only.text)
    undated = dataclasses.replace(made, shop=dataclasses.replace(shop_of(made), schedule=None))
    assert day_sheets(Context(undated)) == []


@pytest.mark.parametrize(("rows", "first", "other"), [(5, 20, 24), (20, 20, 24), (21, 20, 24), (75, 20, 24), (3, 1, 1)])
def test_days_are_spread_over_pages(rows: int, first: int, other: int) -> None:
    pages = _pages(rows, first, other)
    assert [start for start, _ in pages] == [sum(count for _, count in pages[:k]) for k in range(len(pages))]
    assert sum(count for _, count in pages) == rows
    assert pages[0][1] <= first and all(0 < count <= max(other, first) for _, count in pages)


def test_names_that_have_room() -> None:
    weight = {"a": 1.0, "bb": 3.0, "ccc": 2.0}
    assert fitted(["a", "bb", "ccc"], weight, 100.0) == "a; bb; ccc"
    assert fitted(["a", "bb", "ccc"], weight, 27.0) == "bb; and 2 more"
    assert fitted(["a name that is far too long"], {"a name that is far too long": 1.0}, 20.0).endswith("…")


def test_hours_of_the_day_that_are_shown() -> None:
    day = datetime.datetime(2026, 11, 25)
    early = (day.replace(hour=6, minute=30), day.replace(hour=11, minute=10), "x")
    late = (day.replace(hour=13), day + datetime.timedelta(days=1), "y")
    assert hours_shown([[early]]) == (5.0, 13.0)
    assert hours_shown([[early, late]]) == (4.0, 24.0)
    assert hours_shown([]) == (7.0, 19.0)
    assert [hour_words(hour, "inch") for hour in (0, 9, 12, 15, 24)] == ["12 am", "9 am", "12 pm", "3 pm", "12 am"]


def test_a_strip_shows_its_work() -> None:
    rows = day_rows(days_of(demo()))
    hours = hours_shown([row.work for row in rows])
    drawing = days_drawing(rows, hours, 270.0, 5.5, "metric")
    boxes = drawing.svg().count('fill="#F3EADA"')
    assert boxes == sum(len(row.work) for row in rows) + 1  # one in the legend


def test_hours_in_words() -> None:
    assert span_words(20.0, 80.0) == "20 to 80 min" and span_words(85.0, 276.0) == "1.4 to 4.6 h"
    assert amount_said(2.0, "m2", Words("inch")) == "21.5 sq ft" and amount_said(2.0, "m", Words("metric")) == "2 m"
    assert amount_said(3.0, "m2 and grit", Words("metric")) == "3 m² and grit"
    assert amount_said(30.0, "min", Words("inch")) == "30 min"
    assert rests_short("usual times, from memory") == "usual" and rests_short("6 logged jobs") == "6 jobs"


def first_plan(**head: Any) -> Plan:
    """A job that has six answers and no slab."""
    job = priced_job({"units": "metric"} | head)
    shop, told = shop_plan(job, PlanParts())
    return dataclasses.replace(invented_plan(), slab=None, board=None, shop=shop, job=job, findings=told)


def test_the_first_price_on_paper(monkeypatch: pytest.MonkeyPatch) -> None:
    made = first_plan()
    (said,) = printed(made, shop_sheets(Context(made)), monkeypatch)
    first = shop_of(made).first
    assert first is not None and first.earliest is not None
    for words in ("First price", f"{first.earliest:%b}", "1 in 10 later", "Does the sun reach it?", "Slab to look for"):
        assert words in said
    assert "Taken, as nothing is stated yet" in said


def test_the_first_price_without_a_date_tells_days(monkeypatch: pytest.MonkeyPatch) -> None:
    made = first_plan(date="")
    first = shop_of(made).first
    assert first is not None and first.earliest is None
    (said,) = printed(made, first_price_sheets(Context(made)), monkeypatch)
    assert f"{first.days_low:.0f} days" in said


def test_what_the_brief_answers_is_not_asked_again() -> None:
    stated = worked_out("reading-table").job.stated
    assert open_brief(stated) == []
    assert len(open_brief(stated.model_copy(update={"brief": None}))) == 9


def test_no_shop_no_sheets_and_no_papers() -> None:
    context = Context(dataclasses.replace(demo(), shop=None))
    assert shop_sheets(context) == money_sheets(context) == hours_sheets(context) == day_sheets(context) == []
    assert shop_files(context) == {}


def test_the_papers_of_the_demo() -> None:
    made = demo()
    papers = shop_files(Context(made))
    assert set(papers) == {QUOTE, DAYS, "invoice-1.pdf", "invoice-2.pdf", "invoice-3.pdf"}
    assert papers == shop_files(Context(made))
    quote = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(papers[QUOTE])).pages)
    even = datetime.date.fromisoformat(days_of(made).ready_even[:10])
    promised = made.job.stated.job.promised
    assert promised is not None
    assert f"by {promised.day} {promised:%B %Y}, as we promised" in " ".join(quote.split())
    assert f"{even.day} {even:%B %Y}" not in " ".join(quote.split())
    assert "overhead" not in quote.lower() and "margin" not in quote.lower()
    work = sum(len(each.pieces) for each in days_of(made).operations)
    assert papers[DAYS].count(b"BEGIN:VEVENT") == work + 1  # and the day on which it is finished


def test_no_number_no_invoice_and_no_price_no_quote() -> None:
    made = demo()
    quote = made.job.stated.quote
    assert quote is not None
    stated = made.job.stated.model_copy(update={"quote": quote.model_copy(update={"number": ""})})
    bare = dataclasses.replace(made, job=dataclasses.replace(made.job, stated=stated))
    assert set(shop_files(Context(bare))) == {QUOTE, DAYS}
    none = dataclasses.replace(shop_of(made), price=None, schedule=None)
    assert shop_files(Context(dataclasses.replace(made, shop=none))) == {}


@pytest.mark.parametrize(("units", "says"), [("metric", "at least 51 mm"), ("inch", 'at least 2"')])
def test_a_thickness_that_is_promised_goes_down(units: str, says: str) -> None:
    made = demo(units=units)
    assert made.board is not None
    piece = made.job.stated.piece.model_copy(update={"thickness": "max"})
    job = dataclasses.replace(made.job, stated=made.job.stated.model_copy(update={"piece": piece}))
    board = dataclasses.replace(made.board, thickness_low=51.9)
    quote = shop_files(Context(dataclasses.replace(made, job=job, board=board)))[QUOTE]
    assert says in " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(quote)).pages).split())


@pytest.mark.parametrize(
    ("name", "ours"),
    [
        ("quote.pdf", True),
        ("days.ics", True),
        ("invoice-1.pdf", True),
        ("invoice-12.pdf", True),
        ("invoice-0.pdf", False),
        ("invoice-2 paid.pdf", False),
        ("my-invoice-1.pdf", False),
        ("quote-old.pdf", False),
    ],
)
def test_only_our_own_papers_are_taken_for_ours(name: str, ours: bool) -> None:
    assert is_shop_file(name) is ours


def test_the_first_price_of_an_enquiry_is_its_first_sheet() -> None:
    titles = [sheet.title for sheet in document.bench_sheets(Context(first_plan()))]
    assert titles == ["First price", "No board yet"]


def test_what_a_kind_of_work_takes_is_told_in_the_unit_of_its_range() -> None:
    rates = shop_of(demo()).rates
    assert rates
    rows = {each.kind: _kind(each, Words("metric")) for each in rates}
    assert any(row[2].endswith(" h") for row in rows.values()) and any(row[2].endswith("min") for row in rows.values())
    for _, _, takes, spread, _ in rows.values():
        assert spread == "logged" or takes.rsplit(" ", 1)[1] == spread.rsplit(" ", 1)[1]
    edge = dataclasses.replace(rates[0], person_minutes=80.0, low=70.0, high=95.0)
    assert _kind(edge, Words("metric"))[2:4] == ("1.3 h", "1.2 to 1.6 h")


def test_a_sliver_of_work_carries_its_number_before_it() -> None:
    noon = datetime.datetime(2026, 12, 1, 12)
    minutes = [(0, 60), (90, 92), (92, 150)]
    stretches = tuple(
        (noon + datetime.timedelta(minutes=a), noon + datetime.timedelta(minutes=b), name)
        for (a, b), name in zip(minutes, ("surface", "clamp", "rout"), strict=True)
    )
    doing = tuple(Doing(start, finish, name, "desk", ("maker",)) for start, finish, name in stretches)
    day = DaySheet(noon.date(), True, doing, (), (), (Strip("maker", stretches),))
    drawing = one_day_drawing(day, 150.0, "metric")
    assert drawing is not None
    svg = drawing.svg()
    assert [re.search(rf">{number}</text>", svg) is not None for number in (1, 2, 3)] == [True, True, True]


def test_a_suppliers_name_stands_whole_beside_its_days(monkeypatch: pytest.MonkeyPatch) -> None:
    made = demo()
    said = " ".join(printed(made, shop_sheets(Context(made)), monkeypatch))
    assert "filler: Steel yard Mill Street (invented)" in said
