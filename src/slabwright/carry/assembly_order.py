"""The order of assembly: what has to be done before what, and one order that keeps to it."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from slabwright.carry.assembly_results import AssemblyStep


@dataclass(frozen=True)
class Task:
    """One thing to do.

    Attributes:
        key: its name among the tasks
        do: what is done
        kind: lift, bolt, cable, earth, level, turn or prepare
        after: keys of what has to be done before
        parts: what it is done to
        people: that it wants
        tool: with what
        caution: what to mind
        sheet: which sheet has more
    """

    key: str
    do: str
    kind: str
    after: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    people: int = 1
    tool: str = "hands"
    caution: str = ""
    sheet: str = ""


def in_order(tasks: Sequence[Task]) -> list[Task]:
    """The tasks so that each comes after all that it waits for; among those that may come next, the first stated.

    Args:
        tasks: in any order; what a task waits for and is not among them is done already

    Raises:
        ValueError: tasks wait for each other in a circle
    """
    number = {task.key: k for k, task in enumerate(tasks)}
    waits = {task.key: {key for key in task.after if key in number} for task in tasks}
    ready = [number[key] for key, before in waits.items() if not before]
    heapq.heapify(ready)
    found: list[Task] = []
    while ready:
        task = tasks[heapq.heappop(ready)]
        found.append(task)
        for key, before in waits.items():
            if task.key in before:
                before.remove(task.key)
                if not before:
                    heapq.heappush(ready, number[key])
    if len(found) < len(tasks):
        stuck = sorted(key for key, before in waits.items() if before)
        raise ValueError(f"these wait for each other: {', '.join(stuck)}")
    return found


def as_steps(tasks: Iterable[Task]) -> tuple[AssemblyStep, ...]:
    """Ordered tasks as numbered steps; each names those that it waits for, less what these wait for themselves."""
    ordered = list(tasks)
    number: Mapping[str, int] = {task.key: k for k, task in enumerate(ordered, start=1)}
    behind: dict[str, set[int]] = {}
    after: dict[str, tuple[int, ...]] = {}
    for task in ordered:
        direct = [key for key in task.after if key in number]
        implied = {step for key in direct for step in behind[key]}
        behind[task.key] = implied | {number[key] for key in direct}
        after[task.key] = tuple(sorted({number[key] for key in direct} - implied))
    return tuple(
        AssemblyStep(
            number=number[task.key],
            do=task.do,
            kind=task.kind,
            parts=task.parts,
            people=task.people,
            tool=task.tool,
            caution=task.caution,
            sheet=task.sheet,
            after=after[task.key],
        )
        for task in ordered
    )
