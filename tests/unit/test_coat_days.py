"""The days of the coats: from the schedule where there is one, and a word only where nothing tells them."""

from __future__ import annotations

from dataclasses import replace

from tests.unit.carried import worked_out
from tests.unit.shop_job import parts, shop_job

from slabwright.job.loaded import Job
from slabwright.plan import Plan
from slabwright.sheets.context import Context
from slabwright.sheets.finish_sheets import schedule_sheet
from slabwright.shop.coat_days import coat_days
from slabwright.shop.shop_plan import ShopPlan, shop_plan


def demo() -> tuple[Plan, ShopPlan]:
    made = worked_out("reading-table")
    assert made.shop is not None
    return made, made.shop


def without_start(job: Job, date: str) -> Job:
    stated = job.stated
    assert stated.finish is not None
    finish = stated.finish.model_copy(update={"start": None, "steel_start": None})
    head = stated.job.model_copy(update={"date": date})
    return replace(job, stated=stated.model_copy(update={"finish": finish, "job": head}))


def test_every_coat_has_its_day_in_the_schedule() -> None:
    made, shop = demo()
    assert made.finish is not None and shop.schedule is not None
    coats = [(system.on, coat.number) for system in made.finish.systems for coat in system.coats]
    assert [(day.on, day.number) for day in shop.coats] == coats
    planned = {one.name: one for one in shop.schedule.operations}
    for day in shop.coats:
        name = next(name for name in planned if name.startswith(f"Coat {day.number} on the {day.on}"))
        assert day.starts == planned[name].start_at and day.starts < day.ends <= planned[name].finish_at
    assert coat_days(made.finish.systems, ()) == ()


def test_the_note_is_given_only_where_nothing_tells_the_days() -> None:
    made, _ = demo()
    assert "finish/no-start" not in {each.code for each in made.findings}
    undated = without_start(shop_job(), "")
    shop, said = shop_plan(undated, parts(), scheduled=False)
    assert shop.coats == () and "finish/no-start" in {each.code for each in said}
    # A plan in between, whose days are still being worked out, does not say so.
    _, said = shop_plan(without_start(shop_job(), "2026-11-25"), parts(), scheduled=False)
    assert "finish/no-start" not in {each.code for each in said}


def test_the_finish_sheet_has_the_days_of_the_day_sheets() -> None:
    made, shop = demo()
    assert made.finish is not None
    unstated = [
        replace(system, coats=tuple(replace(coat, starts=None, ends=None) for coat in system.coats))
        for system in made.finish.systems
    ]
    told = str(schedule_sheet(Context(made), unstated))
    for day in shop.coats:
        assert f"{day.starts:%a} {day.starts.day} {day.starts:%b}, {day.starts:%H:%M}" in told
    assert "Days as the day sheets have them" in told
    undated = replace(made, shop=replace(shop, coats=()))
    assert "No start is stated" in str(schedule_sheet(Context(undated), unstated))
