"""The delivery's page: a way in that is tried is what comes when it is saved; lifts, steps and cables say what the plan says."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.unit import web_slab
from tests.unit.web_bench import Bench, bench

from slabwright.sheets.context import Context
from slabwright.sheets.lift_sheets import card, seen_of
from slabwright.web.pages.delivery_way import for_screens
from slabwright.web.planning import Planned

DELIVERY = """
[[cables]]
name = "lamp cord"
outlet = "lamp"
diameter = 8
length = "4 m"
through = [{ channel = "cord" }]

# Measured by the maker; invented.
[[delivery.steps]]
kind = "van"
width = 1390
height = 1600
floor_length = 3100

[[delivery.steps]]
kind = "door"
name = "front door"    # its leaf off
width = 960
height = 2050
"""


def files() -> dict[str, bytes]:
    held = dict(web_slab.files())
    held["job.toml"] += DELIVERY.encode()
    return held


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    with bench(tmp_path_factory.mktemp("delivery"), jobs=0) as made:
        made.book.add(files(), "test", "begun")
        yield made


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Bench]:
    """Pages whose job is changed."""
    with bench(tmp_path, jobs=0) as made:
        made.book.add(files(), "test", "begun")
        yield made


def view(pages: Bench) -> dict[str, Any]:
    answer = pages.device.get("/api/jobs/1/delivery")
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def attempt(pages: Bench, values: dict[str, Any]) -> dict[str, Any]:
    answer = pages.post("/api/jobs/1/delivery/try", json={"revision": 1, "values": values, "remedies": True})
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def planned(pages: Bench) -> Planned:
    found: Planned = pages.app.state.desk.store.now(1).planned
    return found


DOOR = {"kind": "door", "name": "flat door", "width": 830, "height": 2000}
STEPS: list[dict[str, Any]] = [
    {"kind": "van", "width": 1390, "height": 1600, "floor_length": 3100},
    {"kind": "corner", "name": "hall", "before": 1100, "after": 1000, "height": 2400},
    {"kind": "lift", "door_width": 900, "door_height": 2000, "width": 1100, "depth": 2100, "height": 2200},
    DOOR,
]


def test_the_page_and_its_twin_show_the_same_way(pages: Bench) -> None:
    twin = view(pages)
    assert [one["name"] for one in twin["way"]["passages"]] == ["van", "front door"]
    shown = pages.device.get("/jobs/1/delivery").text
    assert twin["way"]["great"] in shown and "front door" in shown
    assert "<script>" not in shown and "style=" not in shown
    assert {one["kind"] for one in twin["kinds"]} == {"van", "door", "corner", "stairs", "lift"}
    assert all(drawn["svg"].startswith("<svg") for one in twin["way"]["passages"] for drawn in one["drawings"])


def test_a_try_keeps_nothing(pages: Bench) -> None:
    before = pages.text()
    came = attempt(pages, {"delivery.steps": [DOOR]})
    assert [one["name"] for one in came["way"]["passages"]] == ["flat door"]
    assert pages.text() == before and pages.book.revision(1).number == 1


def test_what_is_tried_is_what_comes_when_it_is_saved(own: Bench) -> None:
    values = {"delivery.steps": STEPS, "delivery.hand_room": 20}
    tried = attempt(own, values)["way"]
    assert own.edit(values, 1).status_code == 200
    saved = view(own)["way"]
    assert [one["name"] for one in saved["passages"]] == ["van", "hall", "lift", "flat door"]
    assert saved == tried
    result = planned(own).result
    assert result is not None and result.carry is not None and result.carry.way_in is not None
    assert saved["margin"] == result.carry.way_in.margin == min(one["margin"] for one in saved["passages"])


def test_passages_are_moved_and_removed(own: Bench) -> None:
    held = view(own)["passages"]
    assert [one["kind"] for one in held] == ["van", "door"]
    typed = [{field["name"]: field["answer"] for field in one["fields"] if field["answer"]} for one in held]
    assert typed[1]["name"] == "front door" and typed[1]["width"] == "960"
    turned = [{"kind": "door", "name": "front door", "width": 960, "height": 2050}, STEPS[0]]
    assert own.edit({"delivery.steps": turned}, 1).status_code == 200
    assert [one["kind"] for one in view(own)["passages"]] == ["door", "van"]
    assert own.edit({"delivery": None}, 2).status_code == 200
    gone = view(own)
    assert gone["passages"] == [] and own.device.get("/jobs/1/delivery").status_code == 200
    assert {one["name"]: one["state"] for one in gone["head"]["steps"]}["delivery"] == "ready"


def test_a_narrow_door_says_what_must_come_off_and_what_would_help(pages: Bench) -> None:
    wide = attempt(pages, {"delivery.steps": [DOOR]})["way"]
    assert wide["carried"] == "whole" and wide["voice"] in ("go", "care")
    narrow = attempt(pages, {"delivery.steps": [{**DOOR, "width": 600}]})
    way = narrow["way"]
    assert way["carried"] != "whole" or way["voice"] == "stop"
    options = {one["title"]: one for one in way["options"]}
    assert options["Whole"]["stops"] == ["flat door"] and options["Whole"]["voice"] == "stop"
    assert narrow["problems"] and narrow["problems"][0]["remedy"]
    assert any(one["taken"] for one in way["options"])


def test_the_quick_answer_is_the_same_without_what_would_help(pages: Bench) -> None:
    values = {"delivery.steps": [STEPS[0], {**DOOR, "width": 600}]}
    quick = pages.post("/api/jobs/1/delivery/try", json={"revision": 1, "values": values}).json()
    whole = attempt(pages, values)
    for one in (*quick["way"]["passages"], *whole["way"]["passages"]):
        one["helps"] = []
    assert quick["way"] == whole["way"] and quick["problems"] == []


def test_what_comes_off_is_a_decision(own: Bench) -> None:
    options = view(own)["way"]["options"]
    choice = next(one for one in options if one["values"] and one["title"] != "Whole")
    assert choice["values"] == {"delivery.apart": "always"}
    assert own.edit(choice["values"], 1).status_code == 200
    way = view(own)["way"]
    assert way["carried"].lower() == choice["title"].lower()
    assert next(one for one in way["options"] if one["taken"])["great"] == choice["great"]


@given(st.lists(st.sampled_from([600, 830, 960, 1400]), min_size=1, max_size=4))
@settings(max_examples=12, deadline=None, derandomize=True)
def test_the_margin_is_that_of_the_tightest_passage(pages: Bench, widths: list[int]) -> None:
    steps = [{**DOOR, "name": f"door {number}", "width": width} for number, width in enumerate(widths)]
    way = attempt(pages, {"delivery.steps": steps})["way"]
    assert way["margin"] == min(one["margin"] for one in way["passages"])
    assert [one["voice"] == "stop" for one in way["passages"]] == [one["margin"] < 0 for one in way["passages"]]


@pytest.mark.parametrize(
    ("values", "told"),
    [
        ({"piece.length": 900}, "piece.length"),
        ({"delivery.steps": [{"kind": "door", "width": 830}]}, "height"),
        ({"delivery.steps": [{"kind": "hole", "width": 830}]}, "hole"),
        ({"delivery.steps": [{**DOOR, "width": "wide"}]}, "wide"),
        ({"delivery.hand_room": -4}, "hand_room"),
    ],
)
def test_what_cannot_be_tried_is_told_in_one_line(pages: Bench, values: dict[str, Any], told: str) -> None:
    answer = pages.post("/api/jobs/1/delivery/try", json={"revision": 1, "values": values})
    assert answer.status_code == 422
    assert told in answer.json()["error"] and "\n" not in answer.json()["error"]


def test_a_passage_that_is_added_states_nothing_and_shows_usual_sizes_as_examples(pages: Bench) -> None:
    for form in view(pages)["kinds"]:
        assert [one["name"] for one in form["fields"] if one["answer"] and one["kind"] != "choice"] == []
        step: dict[str, Any] = {"kind": form["kind"]}
        step |= {field["name"]: float(field["example"]) for field in form["fields"] if field["needed"]}
        came = attempt(pages, {"delivery.steps": [step]})
        assert [one["kind"] for one in came["way"]["passages"]] == [form["kind"]]


def test_lifts_say_alone_first_and_an_aid_changes_them(own: Bench) -> None:
    seen = view(own)
    assert seen["lifts"] and all(one["alone"] in ("yes", "with an aid", "no") for one in seen["lifts"])
    result = planned(own).result
    assert result is not None and result.carry is not None
    assert [one["name"] for one in seen["lifts"]] == [lift.name for lift in result.carry.lifts]
    hoist = next(one for one in seen["hands"]["aids"] if one["name"] == "hoist")
    assert not hoist["here"]
    assert own.edit(hoist["values"], 1).status_code == 200
    after = view(own)
    assert next(one for one in after["hands"]["aids"] if one["name"] == "hoist")["here"]
    assert own.edit({"hands.people": 4, "hands.people_on_delivery": 4}, 2).status_code == 200
    many = view(own)
    assert sum(one["ready"] for one in many["lifts"]) >= sum(one["ready"] for one in seen["lifts"])


def test_a_lift_of_steel_shows_that_steel_as_the_sheets_do(pages: Bench) -> None:
    result = pages.app.state.desk.store.now(1).planned.result
    words = Context(result).words
    steel = [(number, lift) for number, lift in enumerate(result.carry.lifts) if seen_of(result.base, lift)]
    assert steel, "the base is lifted by itself"
    for number, lift in steel:
        shown = view(pages)["lifts"][number]["svg"]
        assert shown == for_screens(card(lift, 78.0, words, seen_of(result.base, lift)).svg())
        assert shown != for_screens(card(lift, 78.0, words).svg()), "no stand-in"


def test_steps_and_cables_are_the_plans(pages: Bench) -> None:
    seen = view(pages)
    result = planned(pages).result
    assert result is not None and result.carry is not None and result.carry.assembly is not None
    assert [one["do"] for one in seen["steps"]] == [step.do for step in result.carry.assembly.steps]
    assert len({one["key"] for one in seen["steps"]}) == len(seen["steps"])
    assert sum(one["taken"] for one in seen["ways"]) == 1
    assert [one["name"] for one in seen["cables"]] == ["lamp cord"]
    assert pages.device.get(seen["cables"][0]["drawing"]).text.startswith("<svg")


def test_a_job_without_a_slab_waits(tmp_path: Path) -> None:
    with bench(tmp_path) as made:
        found = made.device.get("/api/jobs/1/delivery").json()
        assert found["waits"] and found["way"] is None
        assert made.device.get("/jobs/1/delivery").status_code == 200
        assert made.post("/api/jobs/1/delivery/try", json={"revision": 1}).status_code == 422
