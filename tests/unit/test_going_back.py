"""Going back takes back what was stated; what happened stays, and what would be taken away is told before it is done."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.unit.web_bench import JOB, Bench, bench

from slabwright.findings import SlabwrightError
from slabwright.job.happened import going_back, what_happened


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Bench]:
    with bench(tmp_path) as made:
        yield made


def _edit(pages: Bench, values: dict[str, Any]) -> int:
    answer = pages.edit(values, pages.book.job(1).revision)
    assert answer.status_code == 200, answer.text
    return int(answer.json()["revision"])


def _work(pages: Bench, event: str, minutes: float, at: str) -> None:
    operation = pages.app.state.desk.store.planned(1).result.shop.operations[0].name
    sent = {"operation": operation, "event": event, "minutes": minutes, "at": at}
    assert pages.post("/api/jobs/1/log", json=sent).status_code == 200


def _going(pages: Bench, number: int) -> dict[str, Any]:
    answer = pages.device.get(f"/api/jobs/1/going-back?number={number}")
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def test_hours_that_were_worked_stay(pages: Bench) -> None:
    _edit(pages, {"piece.height": 730})
    _work(pages, "stopped", 60, "2026-11-24T09:00:00")
    _work(pages, "done", 45, "2026-11-24T11:00:00")
    logged = tomllib.loads(pages.text())["log"]
    going = _going(pages, 1)
    assert [(one["key"], one["old"], one["new"]) for one in going["stated"]] == [("piece.height", "730", "740")]
    assert going["happened"] == ["the log, 2 entries more"]
    assert [one["number"] for one in going["takes_back"]] == [4, 3, 2]
    undone = pages.post("/api/jobs/1/restore", json={"number": 1}).json()
    assert undone["problems_gone"] == []
    stated = tomllib.loads(pages.text())
    assert stated["piece"]["height"] == 740
    assert stated["log"] == logged
    assert "# What the client and I agreed on." in pages.text()
    assert "height = 740" in pages.text()


def test_what_happened_goes_too_where_that_is_asked_for(pages: Bench) -> None:
    _work(pages, "stopped", 60, "2026-11-24T09:00:00")
    assert _going(pages, 1)["only_happened"]
    pages.post("/api/jobs/1/restore", json={"number": 1, "as_it_was": True})
    assert pages.text() == JOB
    # The book's own diary never forgets.
    assert [one.minutes for one in pages.book.entries(1)] == [60]


def test_deliveries_checks_and_what_came_out_stay_and_readings_go_back(pages: Bench) -> None:
    _edit(
        pages,
        {"received[0]": {"what": "tube 60x60x3"}, "as_made": {"thickness": 51}, "slab.moisture": {"core": [11.5]}},
    )
    pages.post("/api/jobs/1/restore", json={"number": 1})
    stated = tomllib.loads(pages.text())
    assert stated["received"] == [{"what": "tube 60x60x3"}]
    assert stated["as_made"] == {"thickness": 51}
    assert "moisture" not in stated["slab"]


def test_undo_is_one_step(pages: Bench) -> None:
    for thickness in (52, 50, 48):
        _edit(pages, {"slab.planned.thickness": thickness})
    moved = pages.device.get("/jobs/1/moved?since=1").text
    assert 'data-restore="3"' in moved
    assert "The 3 changes since, one by one" in moved


def test_a_line_that_was_taken_back_does_not_come_again() -> None:
    logged = JOB.encode() + b'\n[[log]]\noperation = "x"\nevent = "done"\nat = 2026-11-24T09:00:00\n'
    back = going_back({"job.toml": JOB.encode()}, {"job.toml": logged})
    assert "log" not in tomllib.loads(back["job.toml"].decode())
    assert what_happened({"job.toml": logged}) == {"log": 1}
    assert going_back({"job.toml": logged}, {"job.toml": JOB.encode()})["job.toml"] != JOB.encode()


def test_measured_steel_stays_where_there_is_a_base_to_hold_it() -> None:
    old = JOB + '\n[base]\ntube = "80x80x3"\n'
    new = JOB + '\n[base]\ntube = "60x60x3"\nleg_as_made = 684\n'
    back = going_back({"job.toml": new.encode()}, {"job.toml": old.encode()})["job.toml"]
    assert tomllib.loads(back.decode())["base"] == {"tube": "80x80x3", "leg_as_made": 684}
    assert going_back({"job.toml": new.encode()}, {"job.toml": JOB.encode()})["job.toml"] == JOB.encode()


def test_readings_after_a_rest_stay_with_their_file() -> None:
    read = JOB.partition("[slab.planned]")[0] + 'survey = "survey.csv"\n'
    new = {
        "job.toml": (read + '\n[[rereadings]]\nsurvey = "again.csv"\nafter = "rough A"\n').encode(),
        "survey.csv": b"new",
        "again.csv": b"read again",
    }
    back = going_back(new, {"job.toml": read.encode(), "survey.csv": b"old"})
    assert (back["survey.csv"], back["again.csv"]) == (b"old", b"read again")


def test_a_newest_that_cannot_be_read_leaves_the_earlier_as_it_was(pages: Bench) -> None:
    pages.book.save(1, {"job.toml": b"[job]\ntitle = 3\n"}, 1, "test", "broken")
    assert pages.post("/api/jobs/1/restore", json={"number": 1}).status_code == 200
    assert pages.text() == JOB


def test_what_does_not_go_with_the_earlier_is_told_and_nothing_is_saved(
    pages: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    _edit(pages, {"as_made": {"thickness": 51}})

    def cannot(newest: object, old: object) -> dict[str, bytes]:
        raise SlabwrightError("job.toml: as_made cannot be changed without risk to the rest; change it by hand")

    monkeypatch.setattr("slabwright.web.store.going_back", cannot)
    going = _going(pages, 1)
    assert "without risk" in going["refused"]
    assert going["happened"] == ["what came out"]
    assert pages.post("/api/jobs/1/restore", json={"number": 1}).status_code == 422
    assert pages.book.job(1).revision == 2
    assert pages.post("/api/jobs/1/restore", json={"number": 1, "as_it_was": True}).status_code == 200
    assert pages.device.get("/api/jobs/1/going-back?number=9").status_code == 404
