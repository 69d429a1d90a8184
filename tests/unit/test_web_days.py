"""Today, the days and the price: what is logged reaches the plan and the book, days fill in aside, papers come out."""

from __future__ import annotations

import dataclasses
import datetime
import time
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.unit import web_slab
from tests.unit.web_bench import JOB, Bench, bench

from slabwright.book.rows import Superseded
from slabwright.findings import SlabwrightError
from slabwright.shop.scheduling_models import Schedule, Task
from slabwright.web import bench_log, clock, shop_days_work
from slabwright.web import shop_days as shop_days_module
from slabwright.web.pages.days_strip import at_bench, stretches, strip
from slabwright.web.shop_days import board_of, shop_days
from slabwright.web.shop_days_work import Days

NOW = datetime.datetime(2026, 12, 1, 16, 30)
SHOP = """units = "metric"
[prices]
hour = 50
wood_per_cubic_metre = 2000
[money]
margin = 20
tax = 19
deposit = 40
"""


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    monkeypatch.setattr(clock, "now", lambda: NOW)
    with bench(tmp_path, jobs=0) as made:
        made.book.add({"job.toml": JOB.encode(), "shop.toml": SHOP.encode()}, "test", "begun")
        yield made


def today(desk: Bench, job: int = 0) -> Any:
    """The page once its days are known."""
    address = f"/api/jobs/{job}/days" if job else "/api/today"
    for _ in range(400):
        answer = desk.device.get(address)
        assert answer.status_code == 200, answer.text
        if answer.json()["known"]:
            return answer.json()
        time.sleep(0.05)
    raise AssertionError("the days never came")


def stated(desk: Bench) -> dict[str, Any]:
    return tomllib.loads(desk.text())


def test_what_is_logged_goes_to_the_job_file_and_the_book_and_moves_the_card(desk: Bench) -> None:
    first = today(desk)["card"]
    assert first["job"] == 1 and not first["started"]
    said = {"operation": first["operation"], "event": "stopped", "minutes": 60, "at": "2026-12-01T16:30:00"}
    answer = desk.post("/api/jobs/1/log", json=said)
    assert answer.status_code == 200, answer.text
    assert stated(desk)["log"] == [{**said, "at": NOW}]
    assert "# What the client and I agreed on." in desk.text()
    (entry,) = desk.book.entries(1)
    assert (entry.operation, entry.event, entry.minutes) == (first["operation"], "stopped", 60.0)
    assert today(desk)["card"]["started"]
    # What a device sends again because no answer came is kept once.
    again = desk.post("/api/jobs/1/log", json=said)
    assert again.json()["revision"] == answer.json()["revision"] and len(stated(desk)["log"]) == 1
    taken = desk.post("/api/jobs/1/log/take-back", json={key: said[key] for key in ("operation", "event", "at")})
    assert taken.status_code == 200 and "log" not in stated(desk)
    assert "taken back" in desk.book.entries(1)[-1].note


def test_what_took_longer_is_asked_in_the_evening(desk: Bench) -> None:
    card = today(desk)["card"]
    sent = {"operation": card["operation"], "event": "done", "minutes": round(card["minutes"]) + 500}
    assert desk.post("/api/jobs/1/log", json=sent).status_code == 200
    (longer,) = today(desk)["longer"]
    assert longer["operation"] == card["operation"] and longer["note"] == ""
    note = {"operation": card["operation"], "at": longer["at"], "note": "the wood"}
    assert desk.post("/api/jobs/1/log/note", json=note).status_code == 200
    assert stated(desk)["log"][0]["note"] == "the wood"
    assert today(desk)["longer"][0]["note"] == "the wood"
    assert today(desk)["card"]["operation"] != card["operation"]


@pytest.mark.parametrize(
    ("sent", "word"),
    [
        ({"operation": "Polish the moon", "event": "done"}, "no operation"),
        ({"operation": "Slab comes in", "event": "delayed"}, "until when"),
        ({"operation": "Slab comes in", "event": "stopped"}, "not started"),
        ({"operation": "Slab comes in", "event": "done", "at": "1999-01-01T08:00:00"}, "years away"),
        ({"operation": "Slab comes in", "event": "done", "at": "2026-12-02T08:00:00"}, "still to come"),
        ({"operation": "Slab comes in", "event": "done", "minutes": -5}, "minutes"),
    ],
)
def test_what_cannot_have_happened_is_refused_and_nothing_is_kept(desk: Bench, sent: dict[str, Any], word: str) -> None:
    answer = desk.post("/api/jobs/1/log", json=sent)
    assert answer.status_code == 422 and word in answer.json()["error"]
    assert desk.book.job(1).revision == 1 and desk.book.entries(1) == ()


def test_a_line_of_the_log_goes_on_top_of_whatever_is_newest(desk: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    store = desk.app.state.desk.store
    edit, quicker = store.edit, iter([True])

    def raced(job: int, based_on: int, *rest: Any, **more: Any) -> Any:
        if next(quicker, False):
            edit(job, based_on, {"piece.height": 700}, "office", "another was quicker")
        return edit(job, based_on, *rest, **more)

    monkeypatch.setattr(store, "edit", raced)
    assert bench_log.log_work(store, 1, "Slab comes in", "done", "bench") == 3
    assert stated(desk)["piece"]["height"] == 700 and len(stated(desk)["log"]) == 1
    assert desk.book.drafts(1) == ()


def test_others_that_are_always_quicker_are_told_in_the_end(desk: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    store = desk.app.state.desk.store
    edit = store.edit

    def raced(job: int, based_on: int, *rest: Any, **more: Any) -> Any:
        edit(job, based_on, {"piece.height": 700 + based_on}, "office", "quicker again")
        return edit(job, based_on, *rest, **more)

    monkeypatch.setattr(store, "edit", raced)
    with pytest.raises(Superseded):
        bench_log.log_work(store, 1, "Slab comes in", "done", "bench")
    assert len(desk.book.drafts(1)) == 1, "what was to be logged is kept"


def test_a_delivery_is_asked_for_comes_and_leaves_the_list(desk: Bench) -> None:
    ask = next(one for one in today(desk)["order"] if one["operation"] == "Slab comes in")
    things = [thing["what"] for thing in ask["things"]]
    assert things
    assert desk.post("/api/jobs/1/received", json={"things": things}).status_code == 200
    assert {one["what"] for one in stated(desk)["received"]} == set(things)
    assert desk.post("/api/jobs/1/log", json={"operation": "Slab comes in", "event": "done"}).status_code == 200
    assert "Slab comes in" not in [one["operation"] for one in today(desk)["order"]]
    assert desk.post("/api/jobs/1/received", json={"things": things, "came": False}).status_code == 200
    assert "received" not in stated(desk)


def test_a_promise_has_its_chance_and_a_missed_one_its_way_out(desk: Bench) -> None:
    view = today(desk, 1)
    even, sure = view["even"][:10], view["sure"][:10]
    assert view["finish"][:10] <= even <= sure and view["promised"] is None
    assert [one["day"] for one in view["promises"]] == [even, sure]
    assert desk.post("/api/jobs/1/promise", json={"day": sure}).status_code == 200
    view = today(desk, 1)
    assert view["promised"] == sure and not view["together"]
    assert 70 <= int(view["kept"].split()[1]) <= 100
    assert desk.post("/api/jobs/1/promise", json={"day": "2026-12-02"}).status_code == 200
    view = today(desk, 1)
    assert view["late"] and view["together"]
    way = next(one for one in view["ways"] if one["address"].endswith("/promise"))
    assert desk.post(way["address"], json=way["send"]).status_code == 200
    view = today(desk, 1)
    assert not view["together"] and not view["late"], "the least change frees it"


def test_a_pin_is_kept_moves_little_and_is_freed(desk: Bench) -> None:
    view = today(desk, 1)
    doings = [one for day in view["days"] for one in day["doings"] if one["can_pin"]]
    last = doings[-1]
    later = datetime.datetime.fromisoformat(last["start"]) + datetime.timedelta(days=14)
    pin = {"operation": last["operation"], "at": later.replace(hour=9, minute=0).isoformat()}
    if later.weekday() > 4:
        pin["at"] = (later.replace(hour=9, minute=0) + datetime.timedelta(days=2)).isoformat()
    assert desk.post("/api/jobs/1/pins", json=pin).status_code == 200
    view = today(desk, 1)
    starts = {one["operation"]: one["start"] for day in view["days"] for one in day["doings"]}
    assert starts[last["operation"]] == pin["at"]
    assert len(view["moved"]) <= 2 < view["untouched"]
    assert desk.post("/api/jobs/1/pins", json={"operation": last["operation"], "at": None}).status_code == 200
    assert "operations" not in stated(desk)
    past = desk.post("/api/jobs/1/pins", json={"operation": last["operation"], "at": "2026-11-01T09:00:00"})
    assert past.status_code == 422 and "past" in past.json()["error"]


def test_a_pin_that_does_not_fit_keeps_no_other_job_from_its_days(desk: Bench) -> None:
    view = today(desk, 1)
    first = next(one for day in view["days"] for one in day["doings"] if one["can_pin"])
    sunday = {"operation": first["operation"], "at": "2026-12-06T03:00:00"}
    assert desk.post("/api/jobs/1/pins", json=sunday).status_code == 200
    view = today(desk, 1)
    assert view["days"] and first["operation"] in view["pins"][0]


def test_the_days_are_a_calendar_and_a_job_that_is_done_has_none(desk: Bench) -> None:
    today(desk)
    answer = desk.device.get("/api/jobs/1/days.ics")
    assert answer.status_code == 200 and answer.content.startswith(b"BEGIN:VCALENDAR")
    assert desk.device.get("/api/days.ics").content.count(b"BEGIN:VEVENT") == answer.content.count(b"BEGIN:VEVENT") > 5
    desk.book.log(1, "job", "done", None, "test")
    assert today(desk)["card"] is None and today(desk)["jobs"] == 0
    assert "done" in today(desk, 1)["wrong"]
    assert desk.device.get("/api/jobs/1/days.ics").status_code == 404


def test_a_day_s_strip_holds_what_the_days_hold(desk: Bench) -> None:
    today(desk)
    board, known = shop_days(desk.app.state.desk.store).now(desk.app.state.desk.store)
    assert known and board is not None and board.task is not None
    works = board.work()
    whole = sum((finish - start).total_seconds() / 60 for work in works for start, finish in work.planned.pieces)
    first, last = works[0].planned.start_at.date(), max(work.planned.finish_at for work in works).date()
    days = [first + datetime.timedelta(days=day) for day in range((last - first).days + 1)]
    assert sum(at_bench(stretches(works, day)) for day in days) == pytest.approx(whole)
    day = next(day for day in days if at_bench(stretches(works, day)))
    drawn = strip(stretches(works, day), day, board.task.shop.calendar)
    assert drawn.count('class="bench') + drawn.count('class="away') >= 1 and "at the bench" in drawn
    assert board_of((), NOW.date()).schedule is None


def test_the_price_tells_margin_from_mark_up_and_writes_its_papers(desk: Bench) -> None:
    view = desk.device.get("/api/jobs/1/price").json()
    assert view["total"] and not view["waits"]
    margin, mark_up = view["margin"], view["mark_up"]
    assert mark_up == pytest.approx(100 * margin / (100 - margin), abs=0.05), "margin m is the mark-up m / (1 - m)"
    assert sum(one["share"] for one in view["payments"]) == pytest.approx(100)
    for address in (view["quote"], view["payments"][0]["invoice"]):
        paper = desk.device.get(address)
        assert paper.status_code == 200 and paper.content.startswith(b"%PDF")
    assert desk.device.get("/api/jobs/1/invoices/99.pdf").status_code == 404
    assert desk.edit({"piece.length": 1500}, 1).status_code == 200
    change = desk.device.get("/api/jobs/1/change", params={"old": 1}).json()
    assert (change["old"], change["new"]) == (1, 2) and any("piece.length" in one for one in change["changes"])
    assert desk.device.get(change["paper"]).content.startswith(b"%PDF")
    assert desk.device.get("/api/jobs/1/change", params={"old": 9}).status_code == 404


def test_the_quote_promises_no_more_on_the_page_than_on_the_sheets(
    desk: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    from slabwright.sheets import quote_pages, shop_files

    promised: list[str] = []
    quote_pdf = quote_pages.quote_pdf

    def seen(job: Any, quote: Any, *more: Any, **others: Any) -> bytes:
        promised.append(dict(quote.described)["Thickness"])
        return quote_pdf(job, quote, *more, **others)

    for module in (quote_pages, shop_files):
        monkeypatch.setattr(module, "quote_pdf", seen)
    assert desk.device.get("/api/jobs/1/quote.pdf").status_code == 200
    result = desk.app.state.desk.store.now(1).planned.result
    thick = shop_files.promised_thickness(result)
    assert thick is not None
    assert promised == [f"at least {thick:.0f} mm"]


def test_the_pages_say_the_same_as_their_twins(desk: Bench) -> None:
    card = today(desk)["card"]
    html = desk.device.get("/").text
    assert card["words"] in html and "<script>" not in html and " style=" not in html
    for name in ("days", "price"):
        page = desk.device.get(f"/jobs/1/{name}")
        assert page.status_code == 200 and " style=" not in page.text


def test_what_is_done_is_asked_to_be_measured_and_what_was_measured_is_kept(desk: Bench) -> None:
    job = desk.book.add(web_slab.files(), "test", "begun").job
    assert today(desk)["measure"] == []
    plan = desk.device.get(f"/api/jobs/{job}/plan").json()
    surfacing = [one["name"] for one in plan["shop"]["operations"] if one["kind"].startswith("surface")]
    assert len(surfacing) > 1
    # Logged in one edit, as a job that comes with its log.
    log = [{"operation": name, "event": "done", "at": NOW} for name in surfacing]
    store = desk.app.state.desk.store
    store.edit(job, 1, {f"log[{number}]": line for number, line in enumerate(log[:-1])}, "test", "")
    assert today(desk)["measure"] == [], "not before the last of it"
    store.edit(job, 2, {f"log[{len(log) - 1}]": log[-1]}, "test", "")
    (ask,) = today(desk)["measure"]
    assert (ask["job"], ask["after"], [one["key"] for one in ask["fields"]]) == (
        job, surfacing[-1], ["as_made.thickness"],
    )  # fmt: skip
    assert "Measure it now" in desk.device.get("/").text
    answer = desk.post(f"/api/jobs/{job}/as-made", json={"values": {"as_made.thickness": "38.6 mm"}})
    assert answer.status_code == 200, answer.text
    assert tomllib.loads(desk.text(job))["as_made"] == {"thickness": "38.6 mm"}
    assert "# Invented for tests." in desk.text(job)
    assert today(desk)["measure"] == []


@pytest.mark.parametrize(
    ("values", "word"),
    [
        ({"as_made.thickness": "thick"}, "as_made.thickness"),
        ({"piece.length": "1500"}, "values"),
        ({"as_made.thickness": "   "}, "a length is wanted"),
        ({}, "values"),
    ],
)
def test_what_was_not_measured_is_refused(desk: Bench, values: dict[str, str], word: str) -> None:
    answer = desk.post("/api/jobs/1/as-made", json={"values": values})
    assert answer.status_code == 422 and word in answer.json()["error"]
    assert desk.book.job(1).revision == 1


def test_what_one_job_cannot_have_keeps_no_other_from_its_days(desk: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    today(desk)
    board, _ = shop_days(desk.app.state.desk.store).now(desk.app.state.desk.store)
    assert board is not None
    one = board.jobs[0]
    other = dataclasses.replace(one, id=2, name="Other")

    def days_of(task: Task, earlier: Schedule | None) -> Days:
        if any(each.job == "Other" for each in task.operations):
            raise SlabwrightError("it cannot be done")
        return shop_days_work.days_of(task, earlier)

    monkeypatch.setattr(shop_days_module, "days_of", days_of)
    found = board_of([one, other], NOW.date())
    assert found.schedule is not None and not found.wrong
    assert set(found.schedule.finish) == {one.name}
    assert [each.wrong for each in found.jobs] == ["", "it cannot be done"]
