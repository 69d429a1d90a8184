"""The finish's sheets: each one page, with the figures that are mixed and the hours that are kept."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from slabwright.finish.areas import coated_areas
from slabwright.finish.coating_plan import coating_plan
from slabwright.finish.coating_results import SystemPlan
from slabwright.finish.preparation import preparation
from slabwright.finish.windows import Calendar
from slabwright.job.finish_models import Finish
from slabwright.job.load import load_job
from slabwright.plan import Plan, plan
from slabwright.sheets import document
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.finish_drawing import day_strips, mixing_card
from slabwright.sheets.finish_sheets import _in_use, finish_sheets
from slabwright.sheets.words import Words

EXAMPLES = Path(__file__).parents[2] / "examples"
USUAL: dict[str, Any] = {
    "wood": [{"coating": "hard-wax oil", "coats": 3}],
    "steel": [{"coating": "two-part epoxy primer", "then": "scuff"}, {"coating": "two-part flat urethane"}],
    "temperature": 19,
    "humidity": 55,
}
MANY = {
    "wood": [{"coating": "hard-wax oil", "coats": 9}],
    "steel": [{"coating": "two-part epoxy primer", "coats": 3}, {"coating": "two-part flat urethane", "coats": 8}],
    "temperature": 5,
    "humidity": 95,
    "start": "2026-12-01T13:00",
    "closed": ["Saturday", "Sunday"],
}


@cache
def worked_out(name: str) -> Plan:
    return plan(load_job(EXAMPLES / name / "job.toml"))


def made(finish: dict[str, Any], head: dict[str, object], name: str) -> tuple[Context, list[Sheet], list[SystemPlan]]:
    whole = worked_out(name)
    stated = whole.job.stated
    job = replace(
        whole.job,
        stated=stated.model_copy(
            update={"finish": Finish.model_validate(finish), "job": stated.job.model_copy(update=head)}
        ),
    )
    areas = coated_areas(whole.top, whole.board, whole.base, whole.slab)
    systems, found = coating_plan(job, areas)
    ready = preparation(job, areas)
    context = Context(replace(whole, job=job, findings=(*whole.findings, *found, *ready.findings)))
    return context, finish_sheets(context, areas, systems, ready), list(systems)


def printed(context: Context, sheets: list[Sheet], monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """The text of each sheet by its title; there are as many pages as sheets."""
    monkeypatch.setattr(document, "bench_sheets", lambda _: sheets)
    reader = PdfReader(io.BytesIO(document.bench_pdf(context)))
    said = [" ".join(page.extract_text().replace("\u00a0", " ").split()) for page in reader.pages]
    assert len(said) == len(sheets)
    return {sheet.title: text for text, sheet in zip(said, sheets, strict=True)}


@pytest.mark.parametrize(
    "finish", [USUAL, USUAL | {"start": "2026-12-01T09:00"}, MANY, {}], ids=["hours", "clock", "many", "none"]
)
@pytest.mark.parametrize(
    "head", [{"units": "metric", "paper": "A4"}, {"units": "inch", "paper": "Letter"}], ids=["A4", "Letter"]
)
@pytest.mark.parametrize("name", ["reading-table", "hall-desk"])
def test_every_sheet_is_one_page(
    name: str, head: dict[str, object], finish: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    context, sheets, _ = made(finish, head, name)
    for title, text in printed(context, sheets, monkeypatch).items():
        assert f"Sheet {title}" in text


def test_the_schedule_and_the_cards_tell_the_plans_figures(monkeypatch: pytest.MonkeyPatch) -> None:
    context, sheets, systems = made(USUAL | {"start": "2026-12-01T09:00"}, {"units": "metric"}, "reading-table")
    said = printed(context, sheets, monkeypatch)
    assert list(said) == [
        "Getting the wood ready", "Getting the steel ready", "Finishing schedule", "Mixing cards for the coats",
        "Care of the table",
    ]  # fmt: skip
    wood, steel = systems
    for coat in (*wood.coats, *steel.coats):
        assert f"{coat.amount * 1000:.0f} ml" in said["Finishing schedule"]
    assert "Tue 1 Dec, 09:00" in said["Finishing schedule"] and "scuffed" in said["Finishing schedule"]
    primer = steel.coats[0].batches.parts
    cards = said["Mixing cards for the coats"]
    assert f"{(primer[0].volume or 0) * 1000:.0f} ml" in cards and f"{(primer[1].volume or 0) * 1000:.0f} ml" in cards
    urethane = steel.coats[1].batches.parts
    assert f"{(urethane[0].mass or 0) * 1000:.0f} g" in cards and "Thinner" in cards
    assert "Isocyanates" in cards and "Oily rags" in cards and "sensitises" in cards
    assert "invented example figures" in said["Finishing schedule"]
    assert "Example figures stand behind these dates" in said["Care of the table"]
    assert "Finish board signed" in said["Getting the wood ready"]


def test_an_inch_job_reads_fluid_ounces_mils_and_degrees_fahrenheit(monkeypatch: pytest.MonkeyPatch) -> None:
    context, sheets, _ = made(
        USUAL | {"start": "2026-12-01T09:00"}, {"units": "inch", "paper": "Letter"}, "reading-table"
    )
    said = printed(context, sheets, monkeypatch)
    assert "fl oz" in said["Mixing cards for the coats"] and "mil wet" in said["Mixing cards for the coats"]
    assert "66 °F" in said["Finishing schedule"] and "9 am" in said["Finishing schedule"]


def test_no_coats_have_no_schedule_and_nothing_to_coat_has_no_sheet() -> None:
    context, sheets, _ = made({}, {"units": "metric"}, "reading-table")
    assert "Finishing schedule" in [sheet.title for sheet in sheets]  # its six answers name an oil
    bare = coated_areas(None, None, None)
    assert finish_sheets(context, bare, [], preparation(context.plan.job, bare)) == []


def test_a_strip_for_each_day_with_a_coat_and_a_box_for_each_batch() -> None:
    _, _, systems = made(USUAL | {"start": "2026-12-01T09:00"}, {"units": "metric"}, "reading-table")
    strips = day_strips(systems, Calendar(), 170.0, 80.0, "metric")
    assert strips is not None
    days = {(coat.starts or "")[:10] for system in systems for coat in system.coats}
    assert sum(strips.svg().count(f">{word} ") for word in ("Tue", "Wed", "Thu", "Fri")) == len(days)
    none = made(USUAL, {"units": "metric"}, "reading-table")[2]
    assert day_strips(none, Calendar(), 170.0, 80.0, "metric") is None
    coat = systems[1].coats[0]
    several = replace(coat, batches=replace(coat.batches, count=3))
    one_box = mixing_card(systems[1], coat, 80.0, Words("metric")).svg()
    three = mixing_card(systems[1], several, 80.0, Words("metric")).svg()
    assert three.count("<path") == one_box.count("<path") + 2 and "3 batches alike" in three


def test_that_days_closing_is_not_told_as_the_last_hour_of_a_window(monkeypatch: pytest.MonkeyPatch) -> None:
    finish = USUAL | {"start": "2026-12-01T09:00", "steel_start": "2026-12-01T09:00"}
    context, sheets, systems = made(finish, {}, "reading-table")
    text = printed(context, sheets, monkeypatch)["Finishing schedule"]
    for coat in (coat for system in systems for coat in system.coats):
        if coat.next is None or coat.next.begin_by is None:
            continue
        if coat.next.closes is None:
            assert "or any later day" in text
        elif coat.next.closes[:10] > coat.next.begin_by[:10]:
            assert "or at the latest" in text
        else:
            assert "no later" in text
    assert "any later day" in text or "at the latest" in text


@pytest.mark.parametrize(
    ("units", "kilograms", "said"), [("metric", 90.6, "90 kg"), ("metric", 90.4, "90 kg"), ("inch", 90.6, "199 lb")]
)
def test_the_weight_that_tips_it_is_never_told_as_more(units: str, kilograms: float, said: str) -> None:
    context, _, _ = made(USUAL, {"units": units}, "reading-table")
    base = context.plan.base
    assert base is not None
    # Standard gravity, 9.80665 m/s2 (ISO 80000-3).
    tipped = replace(base, tip_load=kilograms * 9.80665)
    in_use = _in_use(Context(replace(context.plan, base=tipped)))
    assert any(said in repr(block) for block in in_use)
