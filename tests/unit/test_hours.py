"""Hours: what the log, the history and the shop's rates teach, totals with their range, and what took longer."""

from __future__ import annotations

import datetime
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError
from tests.unit.shop_job import named, parts, planned, shop_job

from slabwright.findings import SlabwrightError
from slabwright.job.history import LoggedHours, history
from slabwright.job.hours_models import Hours, LogEntry
from slabwright.job.load import load_job
from slabwright.shop.hours import hours_plan
from slabwright.shop.job_schedule import job_schedule
from slabwright.shop.operations import to_schedule

HEADER = "date,job,kind,amount,minutes\n"


def at(day: int, hour: int = 8, minute: int = 0) -> datetime.datetime:
    return datetime.datetime(2026, 12, day, hour, minute)


def weld_rows(count: int, minutes: float, amount: float = 20.0) -> list[LoggedHours]:
    return [
        LoggedHours(datetime.date(2026, 1, 1) + datetime.timedelta(days=7 * n), f"job {n}", "weld", amount, minutes)
        for n in range(count)
    ]


def test_the_history_moves_the_rate_and_narrows_its_range() -> None:
    before = named(planned(), "Weld the base")
    usual_of_rows = 25 + 2.5 * 20
    after = named(planned(history=weld_rows(10, 2 * usual_of_rows)), "Weld the base")
    assert 1.7 * before.attended < after.attended < 2.0 * before.attended
    assert after.high / after.low < before.high / before.low
    assert before.rests == "usual times, from memory" and after.rests == "10 logged jobs"
    assert after.low < after.attended < after.mean < after.high
    other = named(planned(history=weld_rows(10, 2 * usual_of_rows)), "Grind the welds")
    assert other.attended == named(planned(), "Grind the welds").attended


def test_the_shops_own_rate_takes_the_place_of_the_usual_one() -> None:
    plan = planned(rates=[{"kind": "saw steel", "minutes": 2.0, "set_up": 30}])
    cut = named(plan, "Cut the steel")
    assert cut.attended == pytest.approx(30 + 2 * cut.amount) and cut.rests == "your own rate"
    usual = named(planned(), "Cut the steel")
    assert cut.high / cut.low < usual.high / usual.low
    own = planned(
        rates=[{"kind": "bend", "minutes": 7, "unit": "bend"}],
        operations=[{"name": "Bend the feet", "kind": "bend", "amount": 4, "after": ["Cut the steel"]}],
        history=[LoggedHours(datetime.date(2026, 1, 1), "old", "bend", 2.0, 28.0)],
    )
    assert named(own, "Bend the feet").attended > 28 and named(own, "Bend the feet").rests == "1 logged job"


@pytest.mark.parametrize(
    "rate",
    [{"kind": "weld", "minutes": -1}, {"kind": "weld", "minutes": 1, "set_up": -5}, {"kind": "weld", "minutes": 0}],
)
def test_a_negative_rate_is_refused(rate: dict[str, Any]) -> None:
    with pytest.raises(ValidationError, match=r"greater than or equal to 0|takes no time"):
        Hours.model_validate({"rates": [rate]})


def test_a_negative_rate_in_a_file_is_told_with_its_line(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text('[job]\ntitle = "Table"\n')
    (tmp_path / "shop.toml").write_text('[[hours.rates]]\nkind = "weld"\nminutes = -3\n')
    with pytest.raises(SlabwrightError, match=r"shop.toml:3: hours.rates\[0\].minutes"):
        load_job(tmp_path / "job.toml")


def test_an_unknown_kind_in_the_rates_names_the_near_one() -> None:
    with pytest.raises(SlabwrightError, match=r"shop:hours.rates\[0\].kind: .*did you mean \"weld\""):
        planned(rates=[{"kind": "welds", "minutes": 3}])


def test_the_log_tells_what_was_done_and_teaches_the_rest() -> None:
    log = [
        {"operation": "Coat 1 on the wood: hard-wax oil", "event": "started", "at": at(1)},
        {"operation": "Coat 1 on the wood: hard-wax oil", "event": "done", "at": at(1, 10, 30)},
    ]
    plan, usual = planned(log=log), planned()
    first = named(plan, "Coat 1 on the wood: hard-wax oil")
    assert first.state == "done" and first.took == first.attended == first.low == first.high == 150
    second = "Coat 2 on the wood: hard-wax oil"
    assert named(plan, second).attended > 1.3 * named(usual, second).attended
    assert named(plan, second).rests == "1 logged job"
    told = {each.name: each for each in to_schedule(plan.operations, "table")}
    assert told[first.name].done == (at(1), at(1, 10, 30))
    assert plan.hours.done >= 150 and plan.hours.left < plan.hours.mean


def test_stopping_and_going_on_adds_up_and_a_night_does_not_count() -> None:
    def took(*events: tuple[str, datetime.datetime, float | None]) -> float | None:
        log = [{"operation": "Cut the steel", "event": event, "at": when, "minutes": m} for event, when, m in events]
        return named(planned(log=log), "Cut the steel").took

    assert (
        took(
            ("started", at(1, 8), None),
            ("stopped", at(1, 9), None),
            ("started", at(2, 8), None),
            ("done", at(2, 8, 20), None),
        )
        == 80
    )
    assert took(("done", at(1, 9), 45)) == 45
    assert took(("started", at(1, 16), None), ("done", at(2, 9), None)) is None
    assert took(("started", at(1, 16), None), ("done", at(2, 9), 70)) == 70
    assert took(("done", at(1, 9), None)) is None


def test_started_delayed_failed_and_approved() -> None:
    log = [
        {"operation": "Cut the steel", "event": "started", "at": at(1, 8)},
        {"operation": "Cut the steel", "event": "stopped", "at": at(1, 8, 40)},
        {"operation": "Steel comes in", "event": "delayed", "at": at(1), "until": at(9), "note": "yard closed"},
        {"operation": "Tack the base", "event": "done", "at": at(2, 12), "minutes": 90},
        {"operation": "Tack the base", "event": "failed", "at": at(2, 13), "note": "frame twisted"},
        {"operation": "Client signs the finish board", "event": "approved", "at": at(3)},
    ]
    plan = planned(log=log)
    cut = named(plan, "Cut the steel")
    assert cut.state == "started" and cut.left == pytest.approx(cut.attended - 40)
    assert named(plan, "Steel comes in").not_before == at(9)
    tack = named(plan, "Tack the base")
    assert tack.state == "planned" and tack.lost == 90 and tack.took is None and plan.hours.lost == 90
    assert named(plan, "Client signs the finish board").done_at == at(3)
    again = planned(log=[*log, {"operation": "Tack the base", "event": "done", "at": at(3, 9), "minutes": 60}])
    assert named(again, "Tack the base").took == 60
    assert again.took_longer[0].operation == "Tack the base" and again.took_longer[0].took == 150
    assert again.took_longer[0].note == "frame twisted"
    told = {each.name: each for each in to_schedule(plan.operations, "table")}
    assert told["Cut the steel"].left == cut.left and told["Steel comes in"].not_before == at(9)


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ({"operation": "Weld the base", "event": "approved"}, "is no sign-off"),
        ({"operation": "Weld the base", "event": "stopped"}, "was not started"),
    ],
)
def test_a_log_that_cannot_be_is_told(entry: dict[str, Any], told: str) -> None:
    with pytest.raises(SlabwrightError, match=told):
        planned(log=[{**entry, "at": at(1)}])


def test_what_is_done_is_not_done_twice() -> None:
    entries = [{"operation": "Weld the base", "event": "done", "at": at(day), "minutes": 60} for day in (1, 2)]
    with pytest.raises(SlabwrightError, match="was done on 2026-12-01"):
        planned(log=entries)


def test_a_delay_says_until_when() -> None:
    with pytest.raises(ValidationError, match="until when"):
        LogEntry.model_validate({"operation": "x", "event": "delayed", "at": at(1)})
    with pytest.raises(ValidationError, match="later than at"):
        LogEntry.model_validate({"operation": "x", "event": "delayed", "at": at(2), "until": at(1)})


def test_what_took_longer_is_ranked_by_minutes() -> None:
    base = planned()
    log = [
        {"operation": name, "event": "done", "at": at(1, 12), "minutes": factor * named(base, name).attended}
        for name, factor in (("Sand the faces", 1.5), ("Cut the steel", 4.0), ("Deburr the steel", 0.7))
    ]
    plan, findings = hours_plan(shop_job(log=log), parts())
    longer = plan.took_longer
    assert [each.operation for each in longer] == ["Cut the steel", "Sand the faces", "Deburr the steel"]
    assert [each.ratio for each in longer] == pytest.approx([4.0, 1.5, 0.7])
    assert [each.outside for each in longer] == [True, False, False]
    told = [finding.message for finding in findings if finding.code == "shop/took-longer"]
    assert len(told) == 1 and told[0].startswith("Cut the steel took 4.0 h")


def test_a_jobs_own_rows_of_the_history_do_not_count_twice() -> None:
    title = shop_job().stated.job.title
    row = LoggedHours(datetime.date(2026, 12, 1), title, "saw steel", 8.0, 120.0)
    log = [{"operation": "Cut the steel", "event": "done", "at": at(1, 12), "minutes": 120}]
    rates = {each.kind: each for each in planned(log=log, history=[row]).rates}
    assert rates["saw steel"].logged == 1
    rates = {each.kind: each for each in planned(history=[row]).rates}
    assert rates["saw steel"].logged == 1


def test_the_total_is_what_a_simulation_of_the_same_shop_gives() -> None:
    plan = planned()
    rng = np.random.default_rng(5)
    draws, together = 20_000, 0.5
    shop = rng.normal(size=draws)
    kinds = {each.kind: rng.normal(size=draws) for each in plan.operations}
    total = np.zeros(draws)
    for each in plan.operations:
        if each.attended > 0.0:
            common = each.rate_spread * (math.sqrt(together) * shop + math.sqrt(1 - together) * kinds[each.kind])
            own = math.sqrt(each.spread**2 - each.rate_spread**2) * rng.normal(size=draws)
            total += each.people * each.attended * np.exp(common + own)
    hours = plan.hours
    assert hours.mean == pytest.approx(total.mean(), rel=0.02)
    low, even, high = np.quantile(total, [0.1, 0.5, 0.9])
    assert (hours.low, hours.attended, hours.high) == pytest.approx((low, even, high), rel=0.04)
    assert math.fsum(each.mean for each in plan.rates) == pytest.approx(hours.mean)


def test_hours_that_rest_on_logs_are_told_apart() -> None:
    plan, findings = hours_plan(shop_job(), parts())
    assert plan.hours.from_logs == 0.0 and "shop/usual-hours" in [finding.code for finding in findings]
    rows = [
        LoggedHours(datetime.date(2026, 1, day), f"job {day}", each.kind, 10.0, 60.0)
        for each in plan.rates
        for day in (1, 2)
    ]
    plan, findings = hours_plan(shop_job(history=rows), parts())
    assert plan.hours.from_logs == pytest.approx(1.0) and "shop/usual-hours" not in [f.code for f in findings]


def test_unknown_kinds_and_slips_in_the_history_are_told() -> None:
    rows = [*weld_rows(8, 75.0), LoggedHours(datetime.date(2026, 9, 1), "slip", "weld", 20.0, 7500.0)]
    rows.append(LoggedHours(datetime.date(2026, 9, 1), "old", "wleding", 20.0, 75.0))
    plan, findings = hours_plan(shop_job(history=rows), parts())
    told = {finding.code: finding for finding in findings}
    assert "1 of 9 logged" in told["shop/far-off-hours"].message
    assert '"wleding"' in told["shop/unknown-kind"].message and '"weld"' in told["shop/unknown-kind"].remedy
    even = named(plan, "Weld the base").attended
    assert even < 1.35 * named(planned(history=weld_rows(8, 75.0)), "Weld the base").attended


def test_the_history_is_read_beside_the_shop_file(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text('[job]\ntitle = "Table"\n')
    (tmp_path / "shop.toml").write_text('[history]\nfile = "hours.csv"\n')
    (tmp_path / "hours.csv").write_text(
        "# invented\n" + HEADER + '2026-02-01,"bench, oak",weld,20,80\n2026-01-01,stool,weld,10,50\n'
    )
    rows = load_job(tmp_path / "job.toml").history
    assert [(row.job, row.minutes) for row in rows] == [("stool", 50.0), ("bench, oak", 80.0)]
    assert rows[0].line == 4


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "hours.csv:1: is empty"),
        ("date,job,kind,minutes\n", "hours.csv:1: there is no column amount"),
        (HEADER + "2026-02-30,a,weld,1,1\n", "hours.csv:2: date is '2026-02-30'"),
        (HEADER + "2026-02-03,a,weld,1,-5\n", "hours.csv:2: minutes is '-5'"),
        (HEADER + "2026-02-03,a,weld,nan,5\n", "hours.csv:2: amount is 'nan'"),
        (HEADER + "2026-02-03,a,weld,1\n", "hours.csv:2: minutes is missing"),
    ],
)
def test_a_history_that_cannot_be_used_names_its_line(tmp_path: Path, text: str, told: str) -> None:
    (tmp_path / "hours.csv").write_text(text)
    with pytest.raises(SlabwrightError, match=told):
        history(tmp_path, "hours.csv", "shop.toml:2: history.file")


def test_a_history_outside_the_folder_is_not_read(tmp_path: Path) -> None:
    (tmp_path / "inner").mkdir()
    (tmp_path / "hours.csv").write_text(HEADER)
    with pytest.raises(SlabwrightError, match="outside"):
        history(tmp_path / "inner", "../hours.csv", "shop.toml:2: history.file")


def test_what_was_logged_of_an_operation_that_is_gone_is_told_and_counted() -> None:
    name = next(each.name for each in planned().operations if each.kind == "tack")
    renamed = f"{name}s"
    log = [
        {"operation": renamed, "event": "started", "at": "2026-11-24 08:00"},
        {"operation": renamed, "event": "done", "at": "2026-11-24 09:30"},
        {"operation": "Polish the moon", "event": "approved", "at": "2026-11-24 10:00"},
    ]
    made, said = hours_plan(shop_job(log=log), parts())
    told = [each for each in said if each.code == "shop/logged-unknown"]
    assert [each.severity for each in told] == ["caution", "caution"]
    assert renamed in told[0].message and "1.5 h" in told[0].message and f'"{name}"' in told[0].remedy
    assert "Polish the moon" in told[1].message and "no minutes" in told[1].message
    over = named(made, renamed)
    assert (over.state, over.took, over.kind) == ("done", 90.0, "own work")
    assert made.hours.done == pytest.approx(planned().hours.done + 90.0)
    assert made.hours.mean == pytest.approx(planned().hours.mean + 90.0)
    assert named(made, name).state == "planned"
    assert not made.took_longer


def test_what_rests_on_what_is_dropped_or_not_done_is_told() -> None:
    job = shop_job(
        operations=[{"name": "Weld the base", "drop": True}],
        log=[{"operation": "Grind the welds", "event": "done", "at": at(1), "minutes": 20}],
    )
    _, found = hours_plan(job, parts())
    told = {each.code: each.message for each in found}
    assert told["shop/dropped"] == '"Weld the base" is dropped, and "Base cools in its clamps" rests on it.'
    assert told["shop/done-before"] == '"Grind the welds" is logged as done, and "Check the welded base" is not.'
    _, quiet = hours_plan(shop_job(), parts())
    assert not {"shop/dropped", "shop/done-before"} & {each.code for each in quiet}


def test_a_pin_that_cannot_be_is_told_with_its_key() -> None:
    job = shop_job(operations=[{"name": "Weld the base", "pin": datetime.datetime(2026, 12, 10, 16, 40)}])
    made, _ = hours_plan(job, parts())
    with pytest.raises(SlabwrightError, match=r'^operations\[0\]\.pin: operation "Weld the base"'):
        job_schedule(job, to_schedule(made.operations, job.stated.job.title))


def test_an_entry_of_the_log_years_ahead_is_a_slip() -> None:
    with pytest.raises(SlabwrightError, match=r"^log\[0\]\.at: 2030-12-01 is more than two years after"):
        planned(log=[{"operation": "Cut the steel", "event": "done", "at": at(1).replace(year=2030), "minutes": 20}])
