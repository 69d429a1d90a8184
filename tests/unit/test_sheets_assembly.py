"""The assembly's sheets and the cables': one page each, with the figures that the hands need."""

from __future__ import annotations

import dataclasses
import io
from typing import Any
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader
from tests.unit.carried import worked_out

from slabwright.carry.assembly import assembly
from slabwright.carry.assembly_results import Assembly, PartMasses
from slabwright.carry.cables import cable_routes
from slabwright.carry.cables_results import CableRoute
from slabwright.job.cable_models import Cable
from slabwright.plan import Plan
from slabwright.sheets import document
from slabwright.sheets.assembly_drawing import step_drawings
from slabwright.sheets.assembly_sheet import assembly_sheets
from slabwright.sheets.context import Context

CORDS: list[dict[str, Any]] = [
    {
        "name": "lamp cord", "outlet": "reading lamp", "diameter": 8, "bend_radius": 32, "length": "4.5 m",
        "through": [{"channel": "lamp cable"}, {"outside": "right far upright"}],
        "plug": {"width": 38, "height": 38, "length": 60},
    },
    {
        "name": "data", "outlet": "reading lamp", "diameter": 4, "mains": False,
        "through": [{"channel": "lamp cable"}, {"outside": "right near upright"}],
    },
]  # fmt: skip


def together(name: str, people: int, cords: int) -> tuple[Plan, Assembly, tuple[CableRoute, ...]]:
    whole = worked_out(name)
    assert whole.top is not None
    assert whole.base is not None
    update = {"cables": [Cable.model_validate(each) for each in CORDS[:cords]]}
    job = dataclasses.replace(whole.job, stated=whole.job.stated.model_copy(update=update))
    made, told = assembly(job, whole.top, whole.base, PartMasses(whole.base.top_mass, whole.base.mass), people)
    routes, more = cable_routes(job, whole.top, whole.base)
    assert made is not None
    return dataclasses.replace(whole, job=job, findings=(*whole.findings, *told, *more)), made, routes


def printed(
    name: str, people: int, cords: int, head: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> tuple[dict[str, str], Assembly, tuple[CableRoute, ...]]:
    whole, made, routes = together(name, people, cords)
    stated = whole.job.stated
    stated = stated.model_copy(update={"job": stated.job.model_copy(update=head)})
    context = Context(dataclasses.replace(whole, job=dataclasses.replace(whole.job, stated=stated)))
    sheets = assembly_sheets(context, made, routes)
    monkeypatch.setattr(document, "bench_sheets", lambda _: sheets)
    pages = PdfReader(io.BytesIO(document.bench_pdf(context))).pages
    assert len(pages) == len(sheets)
    said = [" ".join(page.extract_text().replace("\u00a0", " ").split()) for page in pages]
    return {sheet.title: text for sheet, text in zip(sheets, said, strict=True)}, made, routes


@pytest.mark.parametrize("head", [{"units": "metric", "paper": "A4"}, {"units": "inch", "paper": "Letter"}], ids=str)
@pytest.mark.parametrize(
    ("name", "people", "cords"),
    [("reading-table", 2, 2), ("reading-table", 6, 2), ("window-bench", 3, 0), ("hall-desk", 1, 0)],
)
def test_every_sheet_is_one_page(
    name: str, people: int, cords: int, head: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    said, made, routes = printed(name, people, cords, head, monkeypatch)
    assert next(iter(said)) == "Assembly"
    assert len([title for title in said if title.startswith("Cables")]) == len(routes)
    steps = " ".join(text for title, text in said.items() if "step by step" in title)
    for step in made.steps:
        assert f"{step.number} {step.do.split()[0]}" in steps
    assert all(f"Sheet {title}" in text for title, text in said.items())


def test_the_figures_that_hands_need(monkeypatch: pytest.MonkeyPatch) -> None:
    said, made, routes = printed("reading-table", 6, 2, {"units": "metric"}, monkeypatch)
    assert made.stands is not None
    assert f"{made.stands.height:.0f} mm" in said["Assembly"]
    assert made.frames[0].name in said["Assembly"]
    assert f"{routes[0].length:.0f} mm" in said["Cables"]
    for tie in routes[0].ties:
        assert f"{tie.at:.0f} mm" in said["Cables"]
    assert "Anything fixed: licensed practice" in said["Cables"]
    assert "Anything fixed: licensed practice" not in said["Cables, 2"]


def test_ties_that_have_no_row_are_told_of(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(CORDS[0], "tie_every", 40)
    said, _, routes = printed("reading-table", 6, 1, {"units": "metric"}, monkeypatch)
    count = len(routes[0].ties)
    assert count > 18
    assert f"{count - 18} ties more" in said["Cables"]


def test_every_step_has_its_drawing() -> None:
    whole, made, routes = together("reading-table", 6, 1)
    assert whole.base is not None
    drawings = step_drawings(made, whole.base, routes, 40.0, 22.0)
    assert len(drawings) == len(made.steps)
    seen = []
    for drawing, step in zip(drawings, made.steps, strict=True):
        root = ElementTree.fromstring(drawing.svg())
        blue = [node for node in root.iter() if "#1B4B8F" in (node.get("stroke"), node.get("fill"))]
        assert blue, step.do
        seen.append(drawing.svg())
    assert len(set(seen)) >= len(seen) - 2


def test_nothing_to_put_together_has_no_sheets() -> None:
    assert assembly_sheets(Context(worked_out("reading-table")), None, ()) == []
