"""Job shops of the literature as operations of a shop that works round the clock."""

from __future__ import annotations

import datetime
from pathlib import Path

from slabwright.shop.calendar import WorkingCalendar
from slabwright.shop.scheduling_models import Link, Operation, Shop, Task

ROUND_THE_CLOCK = WorkingCalendar((((0, 1440),),) * 7)
_FILE = Path(__file__).with_name("job_shops.txt")


def job_shop(name: str) -> tuple[Task, int]:
    """An instance as a task, and its published optimal makespan."""
    lines = [line for line in _FILE.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    head = next(number for number, line in enumerate(lines) if line.split()[0] == name)
    best = int(lines[head].split()[1])
    operations = []
    for job, line in enumerate(lines[head + 1 :], 1):
        if not line[0].isdigit():
            break
        row = [int(part) for part in line.split()]
        for step, (machine, time) in enumerate(zip(row[::2], row[1::2], strict=True)):
            after = (Link(f"{job}.{step - 1}"),) if step else ()
            operations.append(Operation(f"{job}.{step}", f"{job}", "cut", (f"machine {machine}",), time, after=after))
    return Task(tuple(operations), (), Shop(ROUND_THE_CLOCK), datetime.datetime(2026, 1, 5)), best
