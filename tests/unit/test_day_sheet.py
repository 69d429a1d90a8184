"""A day's sheet and the calendar file."""

from __future__ import annotations

import datetime
from dataclasses import replace
from typing import Any, Literal

import icalendar
import pytest

from slabwright.shop.calendar import WorkingCalendar
from slabwright.shop.day_sheet import day_sheet, orders
from slabwright.shop.icalendar_export import icalendar_text
from slabwright.shop.scheduling import schedule
from slabwright.shop.scheduling_models import Link, Operation, Shop, Task

NOW = datetime.datetime(2026, 3, 2, 8, 0)
SHOP = Shop(WorkingCalendar((((480, 720), (750, 1020)),) * 5 + ((), ())))
HOUR = 60.0


def made() -> Task:
    spray = ("maker", "spray corner")
    operations = (
        Operation("order plates", "desk", "gate", (), 0, 24 * HOUR, gate="delivery"),
        Operation("coat", "desk", "oil", spray, 60, 20 * HOUR, holds=("spray corner",)),
        Operation("plane", "desk", "plane", ("maker",), 300, after=(Link("coat"),)),
        Operation("fit plates", "desk", "fit", ("maker",), 60, after=(Link("plane"), Link("order plates"))),
    )
    return Task(operations, (), SHOP, NOW)


def at(day: int, hour: int, minute: int = 0) -> datetime.datetime:
    return datetime.datetime(2026, 3, day, hour, minute)


def test_what_now_what_is_drying_what_to_order() -> None:
    task = made()
    planned = schedule(task, workers=1)
    monday, tuesday = (day_sheet(task, planned, datetime.date(2026, 3, day)) for day in (2, 3))
    assert [(one.operation, one.start, one.finish) for one in monday.doing] == [("coat", at(2, 8), at(2, 9))]
    assert [(one.operation, one.until) for one in monday.drying] == [("coat", at(3, 5))]
    assert [(one.operation, one.order_by) for one in monday.to_order] == [("order plates", at(2, 13, 30))]
    assert [one.operation for one in tuesday.drying] == ["coat"]
    assert [(one.operation, one.start) for one in tuesday.doing] == [
        ("plane", at(3, 8)),
        ("plane", at(3, 12, 30)),
        ("fit plates", at(3, 13, 30)),
    ]
    strips = {strip.name: strip.stretches for strip in monday.strips}
    assert strips["spray corner"] == ((at(2, 8), at(2, 9), "coat"), (at(2, 9), at(3, 0), "coat"))
    assert monday.works and not day_sheet(task, planned, datetime.date(2026, 3, 7)).works


def test_what_was_asked_for_is_not_asked_for_again() -> None:
    task = made()
    first = task.operations[0]
    started = Operation(**{**vars(first), "started": NOW})
    again = Task((started, *task.operations[1:]), (), SHOP, NOW)
    assert orders(again, schedule(again, workers=1)) == ()


def test_the_calendar_file_reads_back() -> None:
    """Read back by the icalendar library, an implementation of RFC 5545."""
    task = made()
    planned = schedule(task, workers=1)
    text = icalendar_text(task, planned)
    assert text == icalendar_text(task, planned)
    read: Any = icalendar.Calendar.from_ical(text.decode())
    events = {
        (str(one["summary"]), one.decoded("dtstart"), one.decoded("dtend") if "dtend" in one else None)
        for one in read.walk("VEVENT")
    }
    assert ("plane", at(3, 8), at(3, 12)) in events
    assert ("plane", at(3, 12, 30), at(3, 13, 30)) in events
    assert ("desk: finished", at(3, 14, 30), None) in events
    todos = [(str(one["summary"]), one.decoded("due")) for one in read.walk("VTODO")]
    assert todos == [("order plates", at(2, 13, 30))]
    assert len({str(one["uid"]) for one in read.walk() if "uid" in one}) == len(events) + len(todos)


@pytest.mark.parametrize(
    ("name", "gate", "told"),
    [
        ("Finish comes in", "delivery", "Order: finish"),
        ("Inserts, bolts and levellers come in", "delivery", "Order: inserts, bolts and levellers"),
        ("MDF comes in", "delivery", "Order: MDF"),
        ("Client signs the mock-up", "sign-off", "Ask for it: client signs the mock-up"),
    ],
)
def test_a_to_do_of_the_calendar_is_named_for_what_is_done_that_day(
    name: str, gate: Literal["delivery", "sign-off"], told: str
) -> None:
    task = made()
    renamed = tuple(
        replace(
            each,
            name=name if each.name == "order plates" else each.name,
            gate=gate if each.name == "order plates" else each.gate,
            after=tuple(
                replace(link, operation=name) if link.operation == "order plates" else link for link in each.after
            ),
        )
        for each in task.operations
    )
    other = replace(task, operations=renamed)
    read: Any = icalendar.Calendar.from_ical(icalendar_text(other, schedule(other, workers=1)).decode())
    assert [str(one["summary"]) for one in read.walk("VTODO")] == [told]
