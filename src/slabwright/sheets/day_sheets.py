"""The days of the job as strips, and the first of them as a sheet for the bench."""

from __future__ import annotations

import datetime
import math
from collections.abc import Sequence

from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block, Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.day_drawing import (
    LEAST,
    LEGEND,
    MOST,
    SCALE,
    by_operation,
    clock,
    day_words,
    days_drawing,
    hours_shown,
    one_day_drawing,
)
from slabwright.sheets.day_rows import Stretch, day_rows, waiting
from slabwright.sheets.words import plain
from slabwright.shop.day_sheet import DaySheet, ToOrder, day_sheet, orders
from slabwright.shop.hours import hours_words
from slabwright.shop.job_schedule import JobSchedule
from slabwright.shop.orders import amount_words, arrived
from slabwright.shop.orders_results import Order, Orders
from slabwright.shop.ready_dates import times_in_100

_FIGURES = 17.0
"""Height of the great figures above the strips, with their labels [mm]."""
_PROBLEM = 11.0
_FEW = 17
"""Rows of a day's list beside the drawing; what is more goes onto another sheet."""
_LIST = 22
_FEW_ENOUGH = 11
"""Rows that have room to write in."""
_FURTHEST = 60
"""Days that are looked ahead for the first on which somebody is at it."""


def day_sheets(context: Context) -> list[Sheet]:
    """The days, and the first of them; one that says why there are none where windows or pinned times conflict."""
    shop = context.plan.shop
    if shop is None:
        return []
    clashes = [blocks.problem(finding) for finding in context.plan.findings if finding.code == "shop/conflict"]
    days = shop.schedule
    if days is None:
        if not clashes:
            return []
        told = blocks.text("Not everything that is stated can be had at once, so no days are told.")
        return [Sheet("Days", "When what is done.", [], [[told, *clashes], []], "wide")]
    return [*_days(context, days, clashes), *_first_day(context, days, shop.orders)]


def _days(context: Context, days: JobSchedule, clashes: Sequence[Block]) -> list[Sheet]:
    paper, units = context.paper, context.words.units
    rows = day_rows(days)
    first = paper.inner_height - SCALE - LEGEND - _FIGURES - _PROBLEM * len(clashes) - 3.0
    other = paper.inner_height - SCALE - LEGEND - 3.0
    counts = _pages(len(rows), int(first / LEAST), int(other / LEAST))
    hours = hours_shown([row.work for row in rows])
    found = []
    for number, (start, count) in enumerate(counts):
        here = rows[start : start + count]
        room = first if number == 0 else other
        drawing = days_drawing(here, hours, paper.inner_width, min(MOST, room / max(len(here), 1)), units)
        picture: list[Block] = [blocks.picture(drawing)]
        if number == 0:
            picture = [_dates(days), *clashes, *picture]
        title = "Days" if len(counts) == 1 else f"Days {number + 1} of {len(counts)}"
        found.append(Sheet(title, _lead(days), picture, [[]], "wide"))
    return found


def _pages(rows: int, first: int, other: int) -> list[tuple[int, int]]:
    """First row and number of rows of each page; what does not go onto one is spread evenly."""
    first, other = max(first, 1), max(other, 1)
    if rows <= first:
        return [(0, rows)]
    pages = 1 + math.ceil((rows - first) / other)
    each = min(math.ceil(rows / pages), first)
    starts = [0, each]
    rest = math.ceil((rows - each) / (pages - 1))
    while starts[-1] + rest < rows:
        starts.append(starts[-1] + rest)
    return [(start, min(end, rows) - start) for start, end in zip(starts, [*starts[1:], rows], strict=True)]


def _lead(days: JobSchedule) -> str:
    proof = "proven the earliest" if days.proven else "not proven the earliest"
    return f"This job alone in the shop, from {day_words(days.task.now.date())}: {proof}."


def _dates(days: JobSchedule) -> Block:
    """The dates that matter, as great figures."""
    chosen = days.promised is not None
    items = []
    if days.promised is not None:
        kept = f", kept {times_in_100(days.kept)}" if days.kept is not None else ""
        items.append((_day(days.promised), f"promised{kept}", True))
    items.append((_day(days.ready_4_in_5), "ready 4 times in 5", not chosen))
    items.append((_day(days.ready_even), "ready with even chance", False))
    items.append((_day(days.finish), "done, if every time is kept", False))
    return blocks.figures(items)


def _day(stamp: str) -> str:
    return day_words(datetime.date.fromisoformat(stamp[:10]))


def _first_day(context: Context, days: JobSchedule, ordered: Orders | None) -> list[Sheet]:
    """The first day on which somebody is at it."""
    task, made, units = days.task, days.schedule, context.words.units
    now = task.now
    day = next(
        (
            date
            for date in (now.date() + datetime.timedelta(days=number) for number in range(_FURTHEST))
            if any(start.date() == date and finish > now for each in made.operations for start, finish in each.pieces)
        ),
        None,
    )
    if day is None:
        return []
    sheet = day_sheet(task, made, day)
    operations = {operation.name: operation for operation in task.operations}
    rows = []
    for number, (name, pieces) in enumerate(by_operation(sheet).items(), start=1):
        minutes = sum((each.finish - each.start).total_seconds() / 60.0 for each in pieces)
        past = pieces[-1].finish <= now or operations[name].done is not None
        who = plain(", ".join(pieces[0].needs), 34)
        box, begin = "[tick]" if past else "[box]", clock(pieces[0].start, units)
        rows.append((str(number), box, begin, plain(name, 52), who, hours_words(minutes)))
    drawing = one_day_drawing(sheet, context.paper.picture_width, units)
    head = ["", "", "From", "What now", "Who and where", "Expected", "Took, min"]
    found = []
    parts = [rows[:_FEW], *(rows[start : start + _LIST] for start in range(_FEW, len(rows), _LIST))]
    for number, part in enumerate(parts, start=1):
        title = f"First day: {day_words(day)}" + (f", {number} of {len(parts)}" if len(parts) > 1 else "")
        picture: list[Block] = [blocks.picture(drawing)] if drawing is not None and number == 1 else []
        few = len(rows) <= _FEW_ENOUGH
        table = blocks.table(head, "rcrllrl", [(*row, "") for row in part], wide=(3,), pad=6.0 if few else 2.4)
        picture.append(table)
        text = _beside(context, days, sheet, ordered) if number == 1 else []
        found.append(
            Sheet(title, "In this order. Write down what it took: the shop's hours learn from it.", picture, [text])
        )
    return found


def _beside(context: Context, days: JobSchedule, sheet: DaySheet, ordered: Orders | None) -> list[Block]:
    units = context.words.units
    waits = _today(waiting(days.task, days.schedule)[0], sheet.day)
    found: list[Block] = [blocks.heading("What is drying or resting")]
    if waits:
        rows = [
            (
                plain(name, 40),
                clock(since, units) if since.date() == sheet.day else _since(since),
                _until(until, sheet.day, context),
            )
            for since, until, name in waits
        ]
        found.append(blocks.table(["What", "Since", "Leave it until"], "lll", rows, wide=(0,), pad=2.8))
    else:
        found.append(blocks.text("Nothing."))
    found.append(blocks.heading("What to order today"))
    due = _due(ordered, sheet.day)
    if due:
        found.append(blocks.checks(_order_lines(context, due)))
    elif ordered is not None and ordered.next_order is not None:
        found.append(blocks.text(f"Nothing; next by {day_words(ordered.next_order)}."))
    else:
        found.append(blocks.text("Nothing."))
    asked = [each for each in orders(days.task, days.schedule) if _is_signed(days, each)]
    if asked:
        found.append(blocks.heading("To be signed by the client"))
        rows = [
            (
                plain(each.operation, 40),
                day_words(_workday(days, each.order_by.date())),
                day_words(each.needed_at.date()),
            )
            for each in asked
        ]
        found.append(blocks.table(["What", "Ask on", "Needed on"], "lll", rows, wide=(0,), pad=2.8))
    found.append(blocks.heading("In the evening"))
    found.append(blocks.checks(["What took longer? Note it, and why", "Enter what is done: [[log]] in the job file"]))
    return found


def _today(waits: Sequence[Stretch], day: datetime.date) -> list[Stretch]:
    begin = datetime.datetime.combine(day, datetime.time())
    return [each for each in waits if each[0] < begin + datetime.timedelta(days=1) and each[1] > begin]


def _since(moment: datetime.datetime) -> str:
    return day_words(moment.date())


def _until(moment: datetime.datetime, day: datetime.date, context: Context) -> str:
    hour = clock(moment, context.words.units)
    return hour if moment.date() == day else f"{day_words(moment.date())}, {hour}"


def _workday(days: JobSchedule, day: datetime.date) -> datetime.date:
    """The day itself, or the working day before it, no earlier than the schedule begins."""
    calendar, first = days.task.shop.calendar, days.task.now.date()
    while day > first and (
        day in calendar.closed or not calendar.week[day.weekday()] or calendar.is_public_holiday(day)
    ):
        day -= datetime.timedelta(days=1)
    return day


def _is_signed(days: JobSchedule, asked: ToOrder) -> bool:
    return any(operation.name == asked.operation and operation.gate == "sign-off" for operation in days.task.operations)


def _due(ordered: Orders | None, day: datetime.date) -> list[tuple[str, list[Order]]]:
    """What must be ordered by a day and has not come, supplier by supplier."""
    found = []
    for group in ordered.suppliers if ordered is not None else ():
        items = [
            each
            for each in group.items
            if each.order_by is not None and each.order_by <= day and each.amount > 0.0 and not arrived(each)
        ]
        if items:
            found.append((group.supplier, items))
    return found


def _order_lines(context: Context, due: Sequence[tuple[str, list[Order]]]) -> list[str]:
    units = context.words.units
    found = []
    for supplier, items in due:
        told = "; ".join(f"{amount_words(each.amount, each.unit, units)} {plain(each.what, 44)}" for each in items[:4])
        more = f"; and {len(items) - 4} more, on the order sheet" if len(items) > 4 else ""
        found.append(f"{plain(supplier, 40) or 'No supplier stated yet'}: {told}{more}")
    return found
