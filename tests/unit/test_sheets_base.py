"""The base's sheets: their figures, that each is one page, and that the views show the base as drawn."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from pypdf import PdfReader

from slabwright.base.basing import BasePlan
from slabwright.job.load import load_job
from slabwright.plan import Plan, plan
from slabwright.sheets import document
from slabwright.sheets.base_drawing import seen_from
from slabwright.sheets.base_sheets import base_sheets
from slabwright.sheets.base_views_sheet import answer
from slabwright.sheets.context import Context
from slabwright.sheets.words import Words

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("reading-table", "window-bench", "hall-desk")


@cache
def worked_out(name: str) -> Plan:
    return plan(load_job(EXAMPLES / name / "job.toml"))


def base_of(whole: Plan) -> BasePlan:
    assert whole.base is not None
    return whole.base


def with_head(whole: Plan, **head: object) -> Plan:
    """The same plan, its sheets printed in other units or on other paper."""
    stated = whole.job.stated
    changed = stated.model_copy(update={"job": stated.job.model_copy(update=head)})
    return replace(whole, job=replace(whole.job, stated=changed))


def printed(whole: Plan, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """The text of each of the base's sheets by its title; there are as many pages as sheets."""
    context = Context(whole)
    sheets = base_sheets(context)
    monkeypatch.setattr(document, "bench_sheets", lambda _: sheets)
    reader = PdfReader(io.BytesIO(document.bench_pdf(context)))
    said = [" ".join(page.extract_text().replace("\u00a0", " ").split()) for page in reader.pages]
    assert len(said) == len(sheets)
    return {sheet.title: text for text, sheet in zip(said, sheets, strict=True)}


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("head", [{"units": "metric", "paper": "A4"}, {"units": "inch", "paper": "Letter"}], ids=str)
def test_every_sheet_is_one_page(name: str, head: dict[str, object], monkeypatch: pytest.MonkeyPatch) -> None:
    said = printed(with_head(worked_out(name), **head), monkeypatch)
    assert next(iter(said)) == "The base"
    for title, text in said.items():
        assert f"Sheet {title}" in text


def test_no_base_has_no_sheets() -> None:
    assert base_sheets(Context(replace(worked_out("reading-table"), base=None))) == []


def test_the_height_stack_and_the_answer_stand_on_the_first_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out("reading-table")
    said = printed(whole, monkeypatch)["The base"]
    stack = base_of(whole).stack
    assert stack is not None
    for figure in (stack.top, stack.plate, stack.leg, stack.foot, stack.pocket):
        assert f"{figure:.1f} mm" in said
    assert "Yes Safe to cut the legs now?" in said


@pytest.mark.parametrize(
    ("safe", "long", "great", "step"),
    [("no", 0.0, "No", "Do not cut the legs yet"), ("cut long", 6.5, "6.5 mm long", "Cut the legs 6.5 mm long")],
)
def test_legs_that_are_not_safe_to_cut(
    safe: str, long: float, great: str, step: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = worked_out("reading-table")
    base = base_of(whole)
    assert base.stack is not None
    stack = replace(base.stack, safe_to_cut=safe, cut_long=long)  # type: ignore[arg-type]
    said = printed(replace(whole, base=replace(base, stack=stack)), monkeypatch)["The base"]
    assert f"{great} Safe to cut the legs now?" in said
    assert step in said
    assert answer(stack, Words("metric")).replace("\u00a0", " ") == great


@pytest.mark.parametrize("name", NAMES)
def test_the_views_show_the_base_as_drawn(name: str) -> None:
    base = base_of(worked_out(name))
    front, end, above = seen_from(base, "front"), seen_from(base, "left"), seen_from(base, "above")
    assert front.bounds[3] == pytest.approx(base.height.even)
    assert front.bounds[1] == pytest.approx(0.0)
    uprights = next(part for part in base.drawn.parts if part.name == "upright")
    feet = [y for _, _, (_, y) in base.drawn.feet]
    outside = max(feet) - min(feet) + uprights.section.depth
    assert end.steel.bounds[2] - end.steel.bounds[0] == pytest.approx(outside)
    # The leg stack runs from the foot's seat to the plate's underside.
    assert base.stack is not None
    assert end.steel.bounds[1] == pytest.approx(base.stack.foot)
    assert end.steel.bounds[3] == pytest.approx(base.stack.foot + base.stack.leg, abs=base.stack.plate)
    assert len(above.bolts) == len(base.drawn.bolts)
    right = seen_from(base, "right")
    assert right.top.bounds[0] == pytest.approx(-end.top.bounds[2])
