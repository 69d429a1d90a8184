"""The schedule as an iCalendar file (RFC 5545), for any calendar that reads one."""

from __future__ import annotations

import datetime
import uuid

from slabwright.shop.day_sheet import orders
from slabwright.shop.scheduling_models import Schedule, Task

_NAMES = uuid.uuid5(uuid.NAMESPACE_DNS, "schedule.slabwright.invalid")


def icalendar_text(task: Task, schedule: Schedule, *, written: datetime.datetime | None = None) -> bytes:
    """Write the schedule as an iCalendar file.

    Every stretch of attended work is an event, every finish of a job an event, everything to be asked for a to-do with its
    date. Times are local without a zone (RFC 5545, 3.3.5, form 1), as the shop's clock shows them. The same schedule gives the
    same file, so that an import again replaces what was there.

    Args:
        task: the operations
        schedule: their schedule
        written: time stamp of every entry; left out: the task's now

    Returns:
        The file's bytes.
    """
    from icalendar import Calendar, Event, Todo

    stamp = (written or task.now).replace(tzinfo=datetime.UTC)
    calendar = Calendar()
    calendar.add("prodid", "-//Slabwright//Shop schedule//EN")
    calendar.add("version", "2.0")
    operations = {operation.name: operation for operation in task.operations}
    for planned in schedule.operations:
        for number, (start, finish) in enumerate(planned.pieces):
            event = Event()
            event.add("uid", _uid("work", planned.name, number))
            event.add("dtstamp", stamp)
            event.add("dtstart", start)
            event.add("dtend", finish)
            event.add("summary", planned.name)
            event.add("description", f"{planned.job}: {', '.join(operations[planned.name].needs)}".rstrip(": "))
            event.add("categories", [planned.kind])
            calendar.add_component(event)
    for job, finish in schedule.finish.items():
        event = Event()
        event.add("uid", _uid("ready", job, 0))
        event.add("dtstamp", stamp)
        event.add("dtstart", finish)
        event.add("summary", f"{job}: finished")
        calendar.add_component(event)
    for order in orders(task, schedule):
        todo = Todo()
        todo.add("uid", _uid("order", order.operation, 0))
        todo.add("dtstamp", stamp)
        todo.add("due", order.order_by)
        todo.add("summary", _asked(order.operation, operations[order.operation].gate))
        calendar.add_component(todo)
    return bytes(calendar.to_ical())


def _asked(name: str, gate: str) -> str:
    """What is to be done by that day: the operation is named for what comes of it, `Finish comes in`."""
    thing = name.removesuffix(" comes in").removesuffix(" come in")
    if gate == "delivery" and thing != name:
        return f"Order: {_lowered(thing)}"
    return f"Ask for it: {_lowered(name)}" if gate == "sign-off" else name


def _lowered(name: str) -> str:
    """A name within a line; one that begins with an abbreviation stays."""
    return name[:1].lower() + name[1:] if name[1:2].islower() else name


def _uid(kind: str, name: str, number: int) -> str:
    return f"{uuid.uuid5(_NAMES, f'{kind}/{name}/{number}')}@slabwright.invalid"
