"""Readings on a page: nothing lost, nothing double, the same survey and the same lie as by any other way."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select
from tests.unit.web_bench import Bench, bench

from slabwright.book.tables import readings_lines
from slabwright.web.app import close_app, create_app
from slabwright.web.pages.slab import SlabView

_ids = count()


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Bench]:
    with bench(tmp_path) as made:
        yield made


def begin(pages: Bench, **more: Any) -> dict[str, Any]:
    given = {"along": 3, "across": 3, "length": "1900", "near": "700", **more}
    answer = pages.post("/api/jobs/1/readings/begin", json=given)
    assert answer.status_code == 201, answer.text
    return dict(answer.json())


def entry(station: dict[str, Any], typed: str, **more: Any) -> dict[str, Any]:
    place = {key: station[key] for key in ("face", "row", "column")}
    return {"id": f"entry-{next(_ids):06d}", "act": "take", **place, "typed": typed, **more}


def send(pages: Bench, begun: str, entries: list[dict[str, Any]]) -> Any:
    return pages.post("/api/jobs/1/readings/entries", json={"begun": begun, "entries": entries})


def taken(pages: Bench) -> dict[tuple[str, int, int], float | None]:
    view = pages.device.get("/api/jobs/1/readings").json()["begun"]
    return {(one["face"], one["row"], one["column"]): one["z"] for one in view["taken"]}


def height(station: dict[str, Any]) -> float:
    """A bowed and winding slab."""
    bow = 2.0 * math.cos(station["x"] / 900.0) + 0.001 * float(station["y"])
    return round((56.0 if station["face"] == "A" else 2.0) + bow, 1)


def read_all(pages: Bench, begun: dict[str, Any]) -> None:
    entries = [entry(station, f"{height(station)}") for station in begun["stations"]]
    assert send(pages, begun["begun"], entries).json()["left"] == 0


def test_stations_are_laid_out_and_nothing_of_the_job_changes(pages: Bench) -> None:
    begun = begin(pages, far="600")
    assert [station["face"] for station in begun["stations"]] == ["A"] * 9 + ["B"] * 9
    assert begun["outline"][0] == [0.0, -350.0]
    first, last = begun["stations"][0], begun["stations"][8]
    # End trim 25 and edge margin 10 (and 2 more) as defaults; 700 wide up to its middle, 600 at its end.
    assert (first["x"], first["y"]) == (25.0, -338.0)
    assert last["x"] == 1875.0
    assert last["y"] == 289.0
    assert pages.book.job(1).revision == 1
    again = pages.post("/api/jobs/1/readings/begin", json={"along": 3, "across": 3, "length": "1900", "near": "700"})
    assert again.status_code == 422
    assert "begun already" in again.json()["error"]


def test_what_is_sent_twice_counts_once(pages: Bench) -> None:
    begun = begin(pages)
    first, second = begun["stations"][:2]
    early = entry(first, "54.2")
    batch = [early, entry(second, "", act="skip")]
    for _ in range(3):
        kept = send(pages, begun["begun"], batch).json()
        assert kept == {"kept": [one["id"] for one in batch], "refused": [], "read": 1, "left": 16}
    # Another device reads the place again; a late copy of the first reading must not take its place.
    send(pages, begun["begun"], [entry(first, "53.0")])
    send(pages, begun["begun"], [early])
    assert taken(pages) == {("A", 1, 1): 53.0, ("A", 1, 2): None}


def test_an_entry_that_cannot_be_used_does_not_hold_the_others_up(pages: Bench) -> None:
    begun = begin(pages)
    first, second, third = begun["stations"][:3]
    bad, missing = entry(first, "wide"), entry({"face": "A", "row": 9, "column": 1}, "54")
    good = entry(second, "54")
    kept = send(pages, begun["begun"], [bad, missing, good, entry(third, "9 m")]).json()
    assert kept["kept"] == [good["id"]]
    assert len(kept["refused"]) == 3
    assert "'wide' is not a length" in kept["refused"][0]["error"]
    assert kept["refused"][1]["error"] == "face A has no row 9, place 1"
    assert taken(pages) == {("A", 1, 2): 54.0}


def test_sixteenths_and_a_level_line(pages: Bench) -> None:
    begun = begin(pages)
    first, second, third = begun["stations"][:3]
    entries = [
        entry(first, "2 3/16", units="inch"),
        entry(second, "1/2", units="inch", line="3"),
        entry(third, "25 mm", units="inch"),
    ]
    send(pages, begun["begun"], entries)
    assert list(taken(pages).values()) == pytest.approx([2.1875 * 25.4, 2.5 * 25.4, 25.0])


def test_edges_only_and_back(pages: Bench) -> None:
    begun = begin(pages)
    edges = {"id": "edges-of-b", "act": "edges", "face": "B"}
    assert send(pages, begun["begun"], [edges]).json()["left"] == 15
    assert (
        send(pages, begun["begun"], [{"id": "middle-of-b", "act": "middle", "face": "B"}, edges]).json()["left"] == 18
    )


def test_readings_outlast_the_server(pages: Bench, tmp_path: Path) -> None:
    begun = begin(pages)
    first, second = begun["stations"][:2]
    send(pages, begun["begun"], [entry(first, "54.2")])
    assert taken(pages) == {("A", 1, 1): 54.2}
    send(pages, begun["begun"], [entry(second, "54.4")])
    later = create_app(pages.book, tmp_path / "another")
    try:
        from tests.unit.web_bench import device_at

        device, _ = device_at(later)
        view = device.get("/api/jobs/1/readings").json()["begun"]
        assert [one["z"] for one in view["taken"]] == [54.2, 54.4]
    finally:
        close_app(later)


def test_the_lie_comes_closer_and_is_that_of_the_plan(pages: Bench) -> None:
    begun = begin(pages)
    stations = begun["stations"]
    lie = "/api/jobs/1/readings/lie"
    assert "Three places" in pages.device.get(lie).json()["waiting"]
    send(pages, begun["begun"], [entry(station, f"{height(station)}") for station in stations[:9]])
    alone = pages.device.get(lie).json()
    assert alone["thickness"] is None
    assert "Face B" in alone["waiting"]
    assert min(one["above"] for one in alone["above"]) == pytest.approx(0.0, abs=1e-9)
    send(pages, begun["begun"], [entry(station, f"{height(station)}") for station in stations[9:14]])
    some = pages.device.get(lie).json()
    send(pages, begun["begun"], [entry(station, f"{height(station)}") for station in stations[14:]])
    every = pages.device.get(lie).json()
    # More readings only take from the board of the readings; what carries it stands on its planes.
    assert some["thickness"] >= every["thickness"] - 1e-6
    assert every["promised"] < every["thickness"]
    heights = {f"{one['face']}-{one['row']}-{one['column']}": one["above"] for one in every["above"]}
    assert every["deciding"]
    assert all(abs(heights[place]) < 1e-6 for place in every["deciding"])
    answer = pages.post("/api/jobs/1/readings/finish", json={"begun": begun["begun"], "based_on": 1})
    assert answer.status_code == 200, answer.text
    figures = {one["path"]: one["value"] for one in pages.device.get("/api/jobs/1/slab").json()["figures"]}
    assert figures["slab.seat.thickness"] == pytest.approx(every["thickness"], abs=1e-6)
    # The plan takes what shims cost off as well; their draws come after those of the lie.
    assert figures["slab.seat.thickness_low"] <= every["promised"] + 0.05


def test_the_survey_is_made_and_the_readings_close(pages: Bench) -> None:
    begun = begin(pages)
    read_all(pages, begun)
    ask = {"begun": begun["begun"], "based_on": 1}
    edited = pages.post("/api/jobs/1/readings/finish", json=ask).json()
    assert edited["revision"] == 2
    files = pages.book.revision(1).files
    assert files["survey.csv"].decode().splitlines()[0] == "face,x,y,z"
    assert len(files["survey.csv"].decode().splitlines()) == 19
    assert files["outline.csv"].decode().splitlines()[:2] == ["x,y", "0,-350"]
    assert 'survey = "survey.csv"' in pages.text()
    assert 'outline = "outline.csv"' in pages.text()
    late = send(pages, begun["begun"], [entry(begun["stations"][0], "99")])
    assert late.status_code == 404
    assert "what was not sent is kept" in late.json()["error"]
    assert pages.post("/api/jobs/1/readings/finish", json=ask).status_code == 404
    assert pages.book.readings.of(1) is None
    with pages.book.store.reading() as connection:
        assert len(connection.execute(select(readings_lines)).all()) == 18, "what was read stays in the book"


def test_a_slab_is_read_again_after_a_cut(pages: Bench) -> None:
    first = begin(pages)
    read_all(pages, first)
    pages.post("/api/jobs/1/readings/finish", json={"begun": first["begun"], "based_on": 1})
    again = pages.post("/api/jobs/1/readings/begin", json={"along": 3, "across": 3, "after": "rough A"}).json()
    assert again["outline"] == first["outline"]
    read_all(pages, again)
    assert pages.device.get("/api/jobs/1/readings/lie").json()["thickness"] > 0.0
    pages.post("/api/jobs/1/readings/finish", json={"begun": again["begun"], "based_on": 2})
    assert '[[rereadings]]\nsurvey = "survey-2.csv"\nafter = "rough A"' in pages.text()
    assert 'survey = "survey.csv"' in pages.text()


def test_readings_are_put_aside(pages: Bench) -> None:
    begun = begin(pages)
    send(pages, begun["begun"], [entry(begun["stations"][0], "54.2")])
    assert pages.post("/api/jobs/1/readings/aside", json={"begun": "another"}).status_code == 404
    assert pages.post("/api/jobs/1/readings/aside", json={"begun": begun["begun"]}).json()["read"] == 1
    assert pages.device.get("/api/jobs/1/readings").json()["begun"] is None
    assert begin(pages)["begun"] != begun["begun"]


def test_one_face_alone_makes_no_survey(pages: Bench) -> None:
    begun = begin(pages)
    send(pages, begun["begun"], [entry(station, "54") for station in begun["stations"][:9]])
    refused = pages.post("/api/jobs/1/readings/finish", json={"begun": begun["begun"], "based_on": 1})
    assert refused.status_code == 422
    assert "both faces want" in refused.json()["error"]
    assert len(taken(pages)) == 9


def test_another_was_quicker_and_the_readings_stay(pages: Bench) -> None:
    begun = begin(pages)
    read_all(pages, begun)
    pages.edit({"piece.height": 720}, 1)
    late = pages.post("/api/jobs/1/readings/finish", json={"begun": begun["begun"], "based_on": 1})
    assert late.status_code == 409
    assert len(taken(pages)) == 18
    done = pages.post("/api/jobs/1/readings/finish", json={"begun": begun["begun"], "based_on": late.json()["newest"]})
    assert done.status_code == 200
    assert "height = 720" in pages.text()


def test_the_page_shows_what_it_shows_as_json(pages: Bench) -> None:
    assert "Begin to read" in pages.device.get("/jobs/1/readings").text
    begin(pages)
    page = pages.device.get("/jobs/1/readings").text
    assert "readings-begun" in page
    assert 'data-key="7"' in page
    assert "data-part" not in page
    view = SlabView.model_validate(pages.device.get("/api/jobs/1/slab").json())
    assert view.reading == "0 of 18 places"
