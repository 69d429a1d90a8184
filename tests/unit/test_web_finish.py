"""The finish's page: the next coat as the clock stands, options with what they cost, tries that keep nothing, remedies."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from tests.unit import web_slab
from tests.unit.web_bench import Bench, bench

from slabwright.web.planning import Planned
from slabwright.web.remedies import remedy_of

FINISH = """
[finish]
start = 2026-12-14T09:00:00
steel_start = 2026-12-10T13:00:00
temperature = 20
humidity = 52
closed = ["Sunday"]

[[finish.wood]]
coating = "invented oil"
coats = 3

[[finish.steel]]
coating = "invented primer"

[[finish.steel]]
coating = "two-part flat urethane"
coats = 1
"""
DEFECTS = """
[[slab.defects]]
kind = "knot"
face = "A"
at = [700, 80]
diameter = 30
depth = 20

[[slab.defects]]
kind = "check"
face = "A"
outline = [[900, 40], [1100, 50]]
width = 1.5
depth = 20

[fill]
price_per_litre = 95
price_per_visible_area = 420
client_agrees = true
"""
SHOP = """# Invented.
units = "metric"

[prices]
hour = 55

[epoxy]
name = "casting epoxy (invented)"
resin_parts = 100
hardener_parts = 45
density = 1.1
greatest_pour = 20
hours_between_pours = 12
hours_before_machining = 72

[[coatings]]
name = "invented oil"
kind = "oil"
put_on = "wipe"
oil = { first = 22, second = 40, end_grain = 9 }
without_sanding = { least = 10, greatest = 72 }
cure = 240
coats = 2
cans = [{ size = 0.375, price = 24 }]
more = { coldest = 12, warmest = 30, dampest = 75, density = 0.93 }

[[coatings]]
name = "invented primer"
epoxy = true
mix = [4, 1]
pot_life = 240
without_sanding = { least = 6, greatest = 12 }
after_scuffing = { least = 12 }
cure = 168
cans = [{ size = 1.25, price = 46 }]

[coatings.more]
solids = 52
film = 50
thinner = 0.1
induction = 20
time_to_sand = 12
coldest = 10
density_a = 1.45
density_b = 0.98
"""


def files() -> dict[str, bytes]:
    held = dict(web_slab.files())
    held["job.toml"] += (DEFECTS + FINISH).encode()
    held["shop.toml"] = SHOP.encode()
    return held


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    with bench(tmp_path_factory.mktemp("finish"), jobs=0) as made:
        made.book.add(files(), "test", "begun")
        yield made


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Bench]:
    """Pages whose job is changed."""
    with bench(tmp_path, jobs=0) as made:
        made.book.add(files(), "test", "begun")
        yield made


def view(pages: Bench, at: str = "2026-12-01T10:00") -> dict[str, Any]:
    answer = pages.device.get(f"/api/jobs/1/finish?at={at}")
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def planned(pages: Bench) -> Planned:
    found: Planned = pages.app.state.desk.store.now(1).planned
    return found


def following(pages: Bench, at: datetime, on: str) -> dict[str, Any]:
    answer = pages.device.get(f"/api/jobs/1/finish/next?at={at.isoformat(timespec='minutes')}").json()
    found: dict[str, Any] = next(one for one in answer if one["on"] == on)
    return found


def put_on(pages: Bench, operation: str, at: datetime, revision: int, number: int = 0) -> None:
    entry = {"operation": operation, "event": "done", "at": at.isoformat(timespec="minutes")}
    answer = pages.edit({f"log[{number}]": entry}, revision)
    assert answer.status_code == 200, answer.text


def test_the_page_and_its_twin_show_the_same_finish(pages: Bench) -> None:
    twin = view(pages)
    shown = pages.device.get("/jobs/1/finish?at=2026-12-01T10:00").text
    for one in twin["next"]:
        assert one["great"] in shown
    for mend in twin["mends"]:
        assert f'id="mend-{mend["number"]}"' in shown
    assert "<script>" not in shown and "style=" not in shown
    assert pages.device.get(twin["picture"]).text.startswith("<svg")
    assert pages.device.get(twin["picture"].replace("mending-plan", "mending-plan-narrow")).status_code == 200


def test_no_coat_is_offered_on_a_slab_that_is_not_flat(pages: Bench) -> None:
    found = following(pages, datetime(2026, 12, 15, 10, 0), "wood")
    assert found["great"] == "Not yet: the slab is not flat" and found["voice"] == "wait" and not found["open"]
    assert found["said"] == "Planned: 09:00 Monday 14 December."
    assert following(pages, datetime(2026, 12, 15, 10, 0), "steel")["before"] == "the base is not welded"
    wood = next(one for one in view(pages)["systems"] if one["on"] == "wood")
    assert [one["words"] for one in wood["starts"]] == ["As stated"]
    assert not any("primer" in one["title"].lower() for one in wood["options"])


def made(own: Bench) -> None:
    """The log tells that slab, top and base are there."""
    result = planned(own).result
    assert result is not None and result.shop is not None
    names = [
        one.name
        for one in result.shop.operations
        if one.name.startswith(("Rough face", "Skim face", "Cut face", "Cut the top to length", "Weld the base"))
    ]
    at = "2026-11-30T16:00"
    entries = {f"log[{k}]": {"operation": name, "event": "done", "at": at} for k, name in enumerate(names)}
    assert own.edit(entries, own.book.revision(1).number).status_code == 200


def test_before_anything_is_on_the_stated_start_is_told(own: Bench) -> None:
    pages = own
    made(own)
    found = following(pages, datetime(2026, 12, 1, 10, 0), "wood")
    assert found["great"] == "Begin at 09:00 on Monday 14 December"
    assert (found["coat"], found["voice"], found["open"]) == (1, "wait", True)
    # Begun at ten, the oil may be coated ten hours later: the shop is closed by then, so the next morning.
    assert "between 08:00" in found["said"] and "tomorrow" in found["said"]
    late = following(pages, datetime(2026, 12, 15, 10, 0), "wood")
    assert late["great"] == "Coat now" and late["voice"] == "care" and "yesterday" in late["said"]


def test_the_next_coat_is_counted_from_when_the_last_one_went_on(own: Bench) -> None:
    done = datetime(2026, 12, 14, 8, 30)
    put_on(own, "Coat 1 on the wood: invented oil", done, 1)
    opens = done + timedelta(hours=10)
    early = following(own, done + timedelta(hours=1), "wood")
    assert early["coat"] == 2 and early["voice"] == "wait" and not early["open"]
    assert early["great"].startswith("Coat next between 18:30 and ") and early["great"].endswith("tonight")
    there = following(own, opens + timedelta(minutes=5), "wood")
    assert there["voice"] == "go" and there["open"] and there["great"].startswith("Coat now, by ")
    next_day = following(own, datetime(2026, 12, 14, 22, 0), "wood")
    assert next_day["great"].startswith("Coat next between 08:00") and next_day["great"].endswith("tomorrow")


def test_a_window_that_is_past_is_scuffed(own: Bench) -> None:
    done = datetime(2026, 12, 10, 9, 0)
    put_on(own, "Coat 1 on the steel: invented primer", done, 1)
    inside = following(own, done + timedelta(hours=7), "steel")
    assert inside["voice"] == "go" and "scuff" not in inside["great"].lower()
    past = following(own, done + timedelta(hours=24), "steel")
    assert past["voice"] == "care" and past["great"].startswith("Scuff it, then coat now")
    assert "is past" in past["said"]


def test_when_all_coats_are_on_it_hardens(own: Bench) -> None:
    for number, day in enumerate((14, 15, 16)):
        name = f"Coat {number + 1} on the wood: invented oil"
        put_on(own, name, datetime(2026, 12, day, 9, 0), number + 1, number)
    leave = following(own, datetime(2026, 12, 17, 9, 0), "wood")
    assert leave["coat"] == 0 and leave["great"].endswith("Saturday 26 December")
    assert following(own, datetime(2026, 12, 27, 9, 0), "wood")["great"].startswith("Hard")


def test_strips_hold_every_coat_and_the_clock(pages: Bench) -> None:
    strips = view(pages, "2026-12-14T09:30")["strips"]
    coats = [piece for strip in strips for piece in strip["pieces"] if piece["kind"] == "coat"]
    assert sorted((one["on"], one["number"]) for one in coats) == [
        ("steel", 1), ("steel", 2), ("wood", 1), ("wood", 2), ("wood", 3),
    ]  # fmt: skip
    assert [strip["date"] for strip in strips if strip["now"] is not None] == ["2026-12-14"]
    assert all(strip["svg"].startswith("<svg") and "style" not in strip["svg"] for strip in strips)


@pytest.mark.parametrize(("on", "group"), [("wood", "options"), ("wood", "counts")])
def test_a_choice_of_coats_costs_what_it_said_once_it_is_taken(own: Bench, on: str, group: str) -> None:
    side = next(one for one in view(own)["systems"] if one["on"] == on)
    choice = next(one for one in side[group] if not one["taken"])
    assert [one["title"] for one in side[group] if one["taken"]]
    assert own.edit(choice["values"], 1).status_code == 200
    now = next(one for one in view(own)["systems"] if one["on"] == on)
    taken = next(one for one in now["counts"] if one["taken"])
    for key in ("coats", "amount", "hours", "days", "money", "film"):
        assert taken[key] == choice[key], key


def test_examples_are_told_as_invented(pages: Bench) -> None:
    seen = view(pages)
    wood = next(one for one in seen["systems"] if one["on"] == "wood")
    assert {one["title"]: one["example"] for one in wood["options"]}["hard-wax oil"]
    assert not {one["title"]: one["example"] for one in wood["options"]}["invented oil"]
    assert "hard-wax oil (invented example)" in [one["words"] for one in seen["coatings"]]


def test_a_mend_is_taken_and_settled(own: Bench) -> None:
    knot, check = view(own)["mends"]
    assert not knot["stated"] and len(check["choices"]) > 3
    choice = next(one for one in check["choices"] if one["fits"] and not one["taken"] and one["kind"] == "fill")
    assert choice["hours"] and choice["days"] and choice["money"].endswith("EUR")
    assert own.edit(choice["values"], 1).status_code == 200
    other = next(one for one in view(own)["mends"][0]["choices"] if one["taken"])
    assert own.edit(other["values"], 2).status_code == 200
    now = view(own)["mends"]
    assert [one["stated"] for one in now] == [True, True]
    assert next(one for one in now[1]["choices"] if one["taken"])["kind"] == "fill"
    assert own.edit(now[1]["free"], 3).status_code == 200
    assert [one["stated"] for one in view(own)["mends"]] == [True, False]


def test_another_start_moves_every_coat(own: Bench) -> None:
    made(own)
    wood = next(one for one in view(own)["systems"] if one["on"] == "wood")
    assert [one["words"] for one in wood["starts"] if one["taken"]] == ["As stated"]
    soon = wood["starts"][1]
    assert soon["first"] == "Tue 1 Dec, 10:00"
    assert own.edit(soon["values"], 2).status_code == 200
    now = next(one for one in view(own)["systems"] if one["on"] == "wood")
    assert now["starts"][0]["coats"] == soon["coats"] and now["starts"][0]["usable"] == soon["usable"]


def test_a_try_keeps_nothing_and_tells_what_the_air_does(pages: Bench) -> None:
    before = pages.text()
    sent = {"revision": 1, "values": {"finish.temperature": 8, "finish.humidity": 80}}
    came = pages.post("/api/jobs/1/finish/try", json=sent).json()
    codes = {one["code"]: one["severity"] for one in came["problems"]}
    assert codes["finish/too-cold"] == codes["finish/too-damp"] == "stop"
    assert {one["on"] for one in came["systems"]} == {"wood", "steel"}
    assert pages.text() == before and pages.book.revision(1).number == 1


def test_what_is_tried_is_what_comes_when_it_is_saved(own: Bench) -> None:
    values = {"finish.steel": [{"coating": "invented primer", "coats": 2, "then": "sand"}], "finish.temperature": 15}
    came = own.post("/api/jobs/1/finish/try", json={"revision": 1, "values": values}).json()
    steel = next(one for one in came["systems"] if one["on"] == "steel")
    assert own.edit(values, 1).status_code == 200
    now = next(one for one in view(own)["systems"] if one["on"] == "steel")
    taken = next(one for one in now["counts"] if one["taken"])
    for key in ("coats", "amount", "hours", "days", "money", "film"):
        assert taken[key] == steel["system"][key]
    assert now["starts"][0]["coats"] == steel["start"]["coats"]


@pytest.mark.parametrize(
    ("values", "code"),
    [
        ({"finish.temperature": 8}, "finish/too-cold"),
        ({"finish.humidity": 88}, "finish/too-damp"),
        ({"finish.start": "2026-12-13T09:00"}, "finish/not-open"),
        ({"finish.steel_start": "2026-12-10T19:00", "finish.opens": "10:00"}, "finish/window-missed"),
        ({"finish.start": None, "finish.steel_start": None, "job.date": None}, "finish/no-start"),
        ({"finish.steel[1].coats": 6}, "finish/film-over-allowance"),
        ({}, "finish/mends-open"),
        ({"mends[0]": {"defect": 1, "choose": "cut off"}}, "finish/mend-does-not-fit"),
        ({"fill.client_agrees": None}, "finish/mend-sign-off"),
    ],
)
def test_a_remedy_mends_its_problem(own: Bench, values: dict[str, Any], code: str) -> None:
    revision = 1
    if values:
        answer = own.edit(values, 1)
        assert answer.status_code == 200, answer.text
        revision = 2
    result = planned(own).result
    assert result is not None
    finding = next(one for one in result.findings if one.code == code)
    remedy = remedy_of(finding, planned(own))
    assert remedy is not None and remedy.words
    answer = own.edit(remedy.values, revision)
    assert answer.status_code == 200, answer.text
    after = planned(own).result
    assert after is not None and finding not in after.findings


def test_cards_and_cans_say_what_the_plan_says(pages: Bench) -> None:
    seen = view(pages)
    result = planned(pages).result
    assert result is not None and result.finish is not None
    batches = sum(coat.batches.count for system in result.finish.systems for coat in system.coats)
    assert len(seen["cards"]) == batches + len(result.finish.resin.batches)
    assert len({card["key"] for card in seen["cards"]}) == len(seen["cards"])
    primer = next(card for card in seen["cards"] if "invented primer" in card["title"])
    assert [part["name"] for part in primer["parts"]] == ["A", "B", "Thinner"]
    assert {can["coating"]: can["count"] > 0 for can in seen["cans"]}["invented oil"]


@pytest.mark.parametrize(
    ("sent", "status", "told"),
    [
        ({"values": {"piece.length": 900}}, 422, "piece.length"),
        ({"values": {"finish.temperature": "warm"}}, 422, "finish.temperature"),
        ({"values": {"finish.wood": [{"coating": "nobody's"}]}}, 422, "nobody's"),
        ({"revision": 9}, 404, "revision 9"),
    ],
)
def test_what_cannot_be_tried_is_told_in_one_line(pages: Bench, sent: dict[str, Any], status: int, told: str) -> None:
    answer = pages.post("/api/jobs/1/finish/try", json={"revision": 1, **sent})
    assert answer.status_code == status
    assert told in answer.json()["error"] and "\n" not in answer.json()["error"]


def test_a_job_without_a_slab_waits(tmp_path: Path) -> None:
    with bench(tmp_path) as made:
        found = made.device.get("/api/jobs/1/finish").json()
        assert found["waits"] and found["next"] == []
        assert "waits for" in made.device.get("/jobs/1/finish").text
        assert made.post("/api/jobs/1/finish/try", json={"revision": 1}).status_code == 404
