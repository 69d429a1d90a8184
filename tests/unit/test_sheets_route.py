"""The delivery route on its sheets: what is left, each passage to scale, the day's steps; one page each."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
import shapely
from pypdf import PdfReader
from tests.unit.sheet_plan import plan
from tests.unit.test_route import CORNER, DOOR, STAIRS, TABLE, VAN, stated

from slabwright.carry.route import way_in
from slabwright.carry.route_results import WayIn
from slabwright.job.carry_models import Delivery
from slabwright.plan import Plan
from slabwright.quantities import Units
from slabwright.sheets import document
from slabwright.sheets.context import Context
from slabwright.sheets.picture import Picture, text_width
from slabwright.sheets.route_drawing import chosen_poses, route_drawing
from slabwright.sheets.route_sheet import route_sheets
from slabwright.sheets.words import Words

TURNED = {**STAIRS, "turn": 90, "landing": 1050, "landing_headroom": 2600}
HALF = {**STAIRS, "turn": 180, "landing": 1100, "landing_headroom": 2600, "well": 100}
NARROW = {**CORNER, "name": "back passage", "before": 740, "after": 740, "height": 2300}
LEANED = {"kind": "lift", "door_width": 1000, "door_height": 2100, "width": 1200, "depth": 2000, "height": 2200}
ROUTES: dict[str, tuple[dict[str, Any], ...]] = {
    "plain": (VAN, DOOR, CORNER, TURNED),
    "one": (DOOR,),
    "apart": (VAN, NARROW, LEANED),
    "half": (HALF, {**DOOR, "width": 650}),
}


@cache
def routed(name: str, units: Units = "metric") -> tuple[WayIn, Delivery, Plan]:
    """A route, and an invented plan with what there is to say of it."""
    delivery = stated(*ROUTES[name])
    way, findings = way_in(delivery, TABLE, units)
    whole = plan()
    job = whole.job.stated
    stated_job = job.model_copy(update={"job": job.job.model_copy(update={"units": units})})
    changed = replace(whole, job=replace(whole.job, stated=stated_job), findings=findings)
    return way, delivery, changed


@cache
def pages(name: str, units: Units) -> tuple[list[str], int]:
    """The text of each page of a route's sheets alone, and how many sheets there are."""
    way, delivery, whole = routed(name, units)
    context = Context(whole)
    sheets = route_sheets(context, way, delivery)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(document, "bench_sheets", lambda _: sheets)
        pdf = document.bench_pdf(context)
    return [page.extract_text().replace("\u00a0", " ") for page in PdfReader(io.BytesIO(pdf)).pages], len(sheets)


@pytest.mark.parametrize("units", ["metric", "inch"])
@pytest.mark.parametrize("name", list(ROUTES))
def test_each_sheet_is_one_page(name: str, units: Units) -> None:
    text, count = pages(name, units)
    assert len(text) == count


def test_every_passage_is_named_with_what_is_left() -> None:
    way, _, _ = routed("plain")
    text = " ".join(pages("plain", "metric")[0])
    for number, passage in enumerate(way.passages, 1):
        assert f"{number} {passage.name[:1].upper()}{passage.name[1:]}" in text
    for found in (found for passage in way.passages for found in passage.ways):
        assert f"{int(found.margin)} mm left on each side" in text


def test_floor_lashing_and_levelling_are_steps() -> None:
    text = " ".join(" ".join(pages("plain", "metric")[0]).split())
    for words in ("Protect floor and door frames", "wood and steel lashed apart", "then level, long way first"):
        assert words in text
    assert "Local codes, the maker's data sheets and licensed practice come first." in text


def test_what_comes_off_is_the_first_step() -> None:
    text = " ".join(" ".join(pages("apart", "metric")[0]).split())
    assert "At the workshop: the top off the leg frames" in text


def test_inches_are_told_in_inches() -> None:
    text = " ".join(pages("plain", "inch")[0])
    assert " mm" not in text and re.search(r'2\' 10 5/8"', text)


def test_no_step_no_sheet() -> None:
    _, _, whole = routed("plain")
    empty = stated()
    assert route_sheets(Context(whole), way_in(empty, TABLE, "metric")[0], empty) == []


def _figures(drawing: Picture) -> Iterator[str]:
    yield from re.findall(r">([^<]+)</text>", drawing.svg().replace("\u00a0", " "))


def test_a_drawing_says_the_clear_sizes_as_they_were_stated() -> None:
    way, _, _ = routed("plain")
    corner = route_drawing(way.passages[2].ways[0], "hall", "", 80.0, 75.0, Words("metric"))
    said = list(_figures(corner))
    assert "1150 mm" in said and "1250 mm" in said
    van = list(_figures(route_drawing(way.passages[0].ways[0], "van", "", 80.0, 75.0, Words("metric"))))
    assert "1400 mm" in van and "2600 mm" in van


def test_poses_are_drawn_from_the_first_to_the_last() -> None:
    way, _, _ = routed("plain")
    found = way.passages[2].ways[0]
    rows = chosen_poses(found)
    assert 3 <= len(rows) <= 6
    assert rows[0, :2] == pytest.approx((found.poses[0].x, found.poses[0].y))
    assert rows[-1, :2] == pytest.approx((found.poses[-1].x, found.poses[-1].y))


def test_sizes_stand_apart_from_each_other_and_on_the_drawing() -> None:
    way, _, _ = routed("plain")
    for passage in way.passages:
        for found in passage.ways:
            drawing = route_drawing(found, "", "", 80.0, 75.0, Words("metric"))
            # Each stands twice: its halo, and itself.
            texts = set(re.findall(r'<text x="([-0-9.]+)" y="([-0-9.]+)"[^>]*>([0-9][^<]*)</text>', drawing.svg()))
            plates = [
                shapely.box(float(x) - text_width(said) / 2, float(y) - 2.0, float(x) + text_width(said) / 2, float(y))
                for x, y, said in texts
            ]
            for number, plate in enumerate(plates):
                assert shapely.box(0.0, 0.0, 80.0, 75.0).covers(plate)
                assert not any(plate.intersects(other) for other in plates[number + 1 :])
