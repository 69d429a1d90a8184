"""What a client says through the link is part of the job: its log, its days, and a word that is told when it no longer stands."""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from tests.unit.web_bench import JOB, Bench, bench

from slabwright.web.client_word import DRAWINGS, FINISH, MATTERS, changed_since, matter_of, told
from slabwright.web.pages.today_cards import waits_of

AGREES = "Client agrees to the drawings"


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Bench]:
    with bench(tmp_path) as made:
        yield made


def _link(pages: Bench) -> str:
    given = pages.post("/api/jobs/1/client-links", json={"to": "the library", "days": 3}).json()["address"]
    return f"/api/client/{given.rpartition('/')[2]}"


def _says(pages: Bench, link: str, verdict: str = "approved", words: str = "", what: str = "the drawings") -> int:
    revision = pages.device.get(link).json()["revision"]
    said = {"what": what, "revision": revision, "name": "A. Client", "verdict": verdict, "words": words}
    return int(pages.post(f"{link}/sign-offs", json=said).status_code)


def _log(pages: Bench) -> list[dict[str, Any]]:
    return [one for one in tomllib.loads(pages.text()).get("log", []) if one["operation"] == AGREES]


def _state(pages: Bench) -> str:
    plan = pages.app.state.desk.store.planned(1).result
    return next(str(one.state) for one in plan.shop.operations if one.name == AGREES)


def _step(pages: Bench) -> tuple[str, str]:
    steps = pages.device.get("/api/jobs/1/client").json()["head"]["steps"]
    return next((one["state"], one["words"]) for one in steps if one["name"] == "client")


def test_an_approval_is_an_event_of_the_log_and_fulfils_the_sign_off(pages: Bench) -> None:
    assert _step(pages) == ("ready", "nothing is signed yet")
    assert _state(pages) != "done"
    assert _says(pages, _link(pages)) == 201
    assert [one["event"] for one in _log(pages)] == ["approved"]
    assert _state(pages) == "done"
    [entry] = pages.book.entries(1)
    assert (entry.operation, entry.event, entry.who) == (AGREES, "approved", "A. Client (client)")
    assert "revision 1" in entry.note
    # What the approval itself wrote into the log changes nothing that was looked at.
    assert _step(pages) == ("done", "approved")
    assert pages.device.get("/api/today").json()["said"] == []


def test_a_change_that_is_asked_for_is_told_where_the_work_is_seen(pages: Bench) -> None:
    link = _link(pages)
    assert _says(pages, link) == 201
    assert _says(pages, link, "asked", "a lighter leg, please") == 201
    assert [one["event"] for one in _log(pages)] == ["approved", "failed"]
    assert _state(pages) != "done"
    assert _step(pages) == ("decide", "asks for a change: the drawings")
    [said] = pages.device.get("/api/today").json()["said"]
    assert (said["verdict"], said["words"], said["changed"]) == ("asked", "a lighter leg, please", "")
    assert "a lighter leg, please" in pages.device.get("/").text
    pages.edit({"piece.base": "four legs"}, pages.book.job(1).revision)
    assert _step(pages) == ("decide", "changed: ask again, the drawings")
    assert _says(pages, link) == 201
    assert [one["event"] for one in _log(pages)] == ["approved", "failed", "approved"]
    assert _state(pages) == "done"
    assert _step(pages) == ("done", "approved")


def test_both_sides_are_told_when_what_was_approved_no_longer_stands(pages: Bench) -> None:
    link = _link(pages)
    assert _says(pages, link) == 201
    pages.edit({"piece.height": 730}, pages.book.job(1).revision)
    assert _step(pages) == ("decide", "changed since: the drawings")
    words = "height of the piece 740, now 730"
    assert pages.device.get("/api/jobs/1/client").json()["sign_offs"][0]["changed"] == words
    for address in ("/jobs/1/client", link.removeprefix("/api"), "/"):
        assert words in pages.device.get(address).text
    [said] = pages.device.get("/api/today").json()["said"]
    assert (said["verdict"], said["revision"], said["changed"]) == ("approved", 1, words)
    again = pages.post("/api/jobs/1/client/ask-again", json={"what": "the drawings"})
    assert again.status_code == 200
    assert _state(pages) != "done"
    assert _says(pages, link) == 201
    assert _step(pages) == ("done", "approved")


def test_what_does_not_touch_what_was_looked_at_leaves_it_standing(pages: Bench) -> None:
    link = _link(pages)
    newest = pages.device.get(link).json()["revision"]
    pages.edit({"slab.moisture.core": [11.2], "piece.finish": "soap"}, newest)
    said = {"what": "the drawings", "revision": newest, "name": "A", "verdict": "approved", "words": ""}
    assert pages.post(f"{link}/sign-offs", json=said).status_code == 201
    assert pages.book.sign_offs(1)[0].revision == newest
    pages.edit({"piece.finish": "hard-wax oil"}, pages.book.job(1).revision)
    assert pages.device.get("/api/jobs/1/client").json()["sign_offs"][0]["changed"] == ""
    assert pages.post(f"{link}/sign-offs", json=said | {"revision": 99}).status_code == 409


def test_an_approval_that_the_plan_cannot_take_is_kept_all_the_same(pages: Bench) -> None:
    pages.book.save(1, {"job.toml": JOB.replace('species = "ash', 'species = "no such').encode()}, 1, "test", "")
    assert _says(pages, _link(pages)) == 201
    assert pages.book.sign_offs(1)[0].verdict == "approved"
    assert pages.post("/api/jobs/1/client/ask-again", json={"what": "the weather"}).status_code == 404


def _files(**more: str) -> Mapping[str, bytes]:
    return {name.replace("_", "."): text.encode() for name, text in {"job_toml": JOB, **more}.items()}


def test_what_a_matter_rests_on() -> None:
    read = JOB.replace("[slab.planned]\nlength = 1900\nwidth = 800\nthickness = 54\n", "").replace(
        'species = "ash, white"', 'species = "ash, white"\nsurvey = "read.csv"'
    )
    then = _files(job_toml=read, read_csv="face,x,y,z\n")
    assert changed_since(then, then, DRAWINGS) == ()
    [one] = changed_since(then, _files(job_toml=read, read_csv="face,x,y,z\nA,0,0,1\n"), DRAWINGS)
    assert told([one]) == "the readings of the slab"
    assert changed_since(then, {**then, "hours.csv": b"1"}, DRAWINGS) == ()
    coats = _files(job_toml=f'{read}\n[[finish.wood]]\ncoating = "soap"\n', read_csv="face,x,y,z\n")
    assert changed_since(then, coats, DRAWINGS) == ()
    assert told(changed_since(then, coats, FINISH)) == "wood of the finish"
    logged = _files(job_toml=f"{read}\n[[log]]\noperation = 'x'\n", read_csv="face,x,y,z\n")
    assert not any(changed_since(then, logged, matter) for matter in MATTERS)
    assert matter_of("the finish: oil") is FINISH
    assert matter_of("the weather") is None


def test_a_sign_off_that_is_missing_is_told_however_far_back_it_lies(pages: Bench) -> None:
    operations = pages.app.state.desk.store.planned(1).result.shop.operations
    last = operations[-1]
    assert AGREES in waits_of(last, operations)
    pages.post("/api/jobs/1/log", json={"operation": AGREES, "event": "approved", "at": f"{_minute()}"})
    operations = pages.app.state.desk.store.planned(1).result.shop.operations
    assert AGREES not in waits_of(operations[-1], operations)


def _minute() -> str:
    return datetime.datetime.now().replace(second=0, microsecond=0).isoformat()
