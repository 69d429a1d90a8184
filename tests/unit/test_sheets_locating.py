"""The locating sheets: machine figures, go and no go, the files in their order, and what to touch first."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from shapely import Point
from tests.unit.sheet_prints import by_title

from slabwright.findings import Finding
from slabwright.job.load import load_job
from slabwright.machine.locating import Locating
from slabwright.plan import Plan, plan
from slabwright.sheets.context import Context
from slabwright.sheets.document import bench_pdf, bench_sheets
from slabwright.sheets.locating_drawing import shapes_of
from slabwright.sheets.locating_sheet import good_places, locating_sheets
from slabwright.sheets.words import Words

EXAMPLES = Path(__file__).parents[2] / "examples"
MEASURED = "\n[as_made]\nthickness = 48.1\n"
MANY = "".join(
    f'\n[[top.features]]\nkind = "insert"\nname = "bolt {k}"\nalong_from = "left end"\nalong = {420 + 52 * k}\n'
    f"across = {(-1) ** k * 60}\ndrill = 12\ndepth = 20\nthread = 8\nengagement = 14\n"
    for k in range(20)
)
SAWN = (('live_edges = "both"', 'live_edges = "none"\nwidth = 700'),)
SLIP = (("touched = [2192.28, 607.24]", "touched = [2196.28, 607.24]"),)
TIGHT = (("[top]\n", "[top]\nclearances = { placing = 0.1 }\n"),)
VARIANTS: dict[str, tuple[str, tuple[tuple[str, str], ...], str]] = {
    "found": ("window-bench", (), ""),
    "measured": ("window-bench", (), MEASURED),
    "letter": ("window-bench", (("currency", 'paper = "Letter"\ncurrency'),), MEASURED),
    "many": ("window-bench", (), MANY + MEASURED),
    "tight": ("window-bench", TIGHT, MEASURED),
    "slip": ("window-bench", SLIP, MEASURED),
    "untouched": ("reading-table", (), ""),
    "sawn": ("reading-table", SAWN, ""),
}


@cache
def worked_out(name: str) -> Plan:
    """The plan of an example, with some of its figures changed."""
    example, changes, more = VARIANTS[name]
    with TemporaryDirectory() as folder:
        here = Path(folder) / example
        shutil.copytree(EXAMPLES / example, here)
        job = here / "job.toml"
        # Whether the board was measured is each variant's own matter.
        text = re.sub(r"^\[as_made\]\n[^\[]*", "", job.read_text("utf-8"), flags=re.MULTILINE)
        for old, new in changes:
            assert old in text
            text = text.replace(old, new, 1)
        job.write_text(text + more, "utf-8")
        return plan(load_job(job))


def lying(name: str) -> Locating:
    machine = worked_out(name).machine
    assert machine is not None and machine.locating is not None
    return machine.locating


@cache
def pages(name: str) -> dict[str, str]:
    """The text of each locating page; every sheet is on one page."""
    context = Context(worked_out(name))
    said = by_title(bench_pdf(context), bench_sheets(context))
    return {sheet.title: " ".join(said[sheet.title].split()) for sheet in locating_sheets(context)}


@pytest.mark.parametrize("name", ["found", "measured", "letter", "many"])
def test_every_place_to_go_to_has_its_machine_figures_and_a_box(name: str) -> None:
    words, said = Words("metric"), " ".join(pages(name).values())
    sheets = [s for s in locating_sheets(Context(worked_out(name))) if "files" not in s.title]
    tables = [b for s in sheets for column in s.text for b in column if b["kind"] == "table"]
    rows = [row["cells"] for table in tables for row in table["rows"]]
    points = lying(name).dry_run
    assert [row[0] for row in rows] == [str(point.number) for point in points]
    for row, point in zip(rows, points, strict=True):
        assert row[-1] == "[box]"
        assert [cell.strip("()") for cell in row[2:5]] == [
            words.number(v, 2) for v in (point.x, point.y, point.within)
        ]  # fmt: skip
        assert words.number(point.x, 2) in said


def test_how_it_lies_and_that_it_is_a_go() -> None:
    text, located = pages("found")["Locating"], lying("found").located
    assert located.go
    assert f"Turned {abs(located.turn):.3f}° clockwise" in text
    assert f"x {located.shift_x:.2f}, y {located.shift_y:.2f}" in text
    assert "Every feature fits its room" in text and "No go" not in text
    assert "underside up" in text and "on a waste board of 12.0 mm" in text
    assert "Never leave the machine running alone" in text


def test_without_a_measured_thickness_there_are_no_files_and_it_says_why() -> None:
    assert list(pages("found")) == ["Locating"]
    assert "measure the board's thickness" in pages("found")["Locating"]
    assert "measure the board's thickness" not in pages("measured")["Locating"]


@pytest.mark.parametrize("name", ["measured", "letter", "many"])
def test_the_files_stand_in_their_order_with_tool_time_floor_and_passes(name: str) -> None:
    words, programs = Words("metric"), lying(name).programs
    found = worked_out(name)
    assert programs
    sheets = [s for s in locating_sheets(Context(found)) if "files" in s.title]
    rows = [row["cells"] for s in sheets for b in s.picture if b["kind"] == "table" for row in b["rows"]]
    assert [row[1] for row in rows] == [program.name for program in programs]
    said = " ".join(text for title, text in pages(name).items() if "files" in title)
    for row, program in zip(rows, programs, strict=True):
        # The waste board of 12 mm lies under the top: the floor as the machine counts it.
        floor = 12.0 + program.floor
        assert row[4] == str(len(program.depths))
        assert row[6] == words.number(floor)
        assert program.name in said
    assert "12.0" in said and "48.1" in said and "60.1" in said


def test_a_no_go_tells_its_reason_and_has_no_files() -> None:
    for name, reason in (("tight", "of room"), ("slip", "do not agree")):
        assert not lying(name).located.go
        assert list(pages(name)) == ["Locating"]
        text = pages(name)["Locating"]
        assert "No go" in text and "Stop." in text and reason in text
        assert "Every feature fits" not in text
        # Nowhere to go to before a cut that must not be made; what each feature is off by instead.
        assert "Go to" not in text and "Cut nothing" in text
        for feature in lying(name).located.features:
            assert f"{feature.most:.2f} {feature.clearance:.2f}" in text


def test_a_feature_whose_file_is_refused_is_no_go() -> None:
    found = worked_out("found")
    stop = Finding("machine/feature-program", "stop", "'cable' has no program.", "A smaller bit.", "")
    (sheet,) = locating_sheets(Context(replace(found, findings=(*found.findings, stop))))
    assert "No go" in sheet.picture[0]["svg"]
    assert "has no program" in str(sheet.picture)


def test_figures_in_inches() -> None:
    found = worked_out("found")
    stated = found.job.stated
    head = stated.job.model_copy(update={"units": "inch"})
    told = replace(found, job=replace(found.job, stated=stated.model_copy(update={"job": head})))
    (sheet,) = locating_sheets(Context(told))
    assert f"{lying('found').dry_run[0].x / 25.4:.3f}" in str(sheet.text)
    assert "Machine figures in inches" in str(sheet.text)


def test_live_edges_are_no_datums_so_pin_holes_are_asked_for_clear_of_what_is_cut() -> None:
    found = worked_out("untouched")
    assert found.top is not None
    places = good_places(Context(found), found.top, "underside")
    pins = [place for place in places if place.kind == "point"]
    assert [pin.name for pin in pins] == ["left pin hole", "right pin hole"]
    for pin in pins:
        assert pin.y == 0.0
        assert all(shape.distance(Point(pin.x, pin.y)) >= 30.0 for _, shape in shapes_of(found.top, "underside"))
    assert not any(place.kind == "edge along" for place in places)
    text = pages("untouched")["Locating: touch these first"]
    assert "two shallow pin holes" in text and "2140" in text


def test_sawn_edges_have_corners_edges_and_ends_to_touch_with_room_to_write() -> None:
    found = worked_out("sawn")
    assert found.top is not None
    places = good_places(Context(found), found.top, "underside")
    assert {place.kind for place in places} == {"point", "edge along", "edge across"}
    assert "pin hole" not in pages("sawn")["Locating: touch these first"]
    (sheet,) = locating_sheets(Context(found))
    rows = [row["cells"] for block in sheet.text[0] if block["kind"] == "table" for row in block["rows"]]
    for row, place in zip(rows, places, strict=True):
        # An edge gives one figure: only that one is asked for.
        assert (row[4] == "[write]") == (place.kind != "edge along")
        assert (row[5] == "[write]") == (place.kind != "edge across")


def test_no_sheet_where_no_feature_is_cut_by_a_machine() -> None:
    with TemporaryDirectory() as folder:
        here = Path(folder) / "hall-desk"
        shutil.copytree(EXAMPLES / "hall-desk", here)
        assert locating_sheets(Context(plan(load_job(here / "job.toml")))) == []
