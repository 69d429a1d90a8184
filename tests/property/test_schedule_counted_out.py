"""The schedule against counting out: every minute at which small operations may start, judged minute by minute on the wall clock.

The days are four minutes long, so that all starts can be gone through.
"""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Iterator

from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.findings import SlabwrightError
from slabwright.shop.calendar import WorkingCalendar
from slabwright.shop.conflicts import conflict
from slabwright.shop.scheduling import CannotBeDoneError, schedule
from slabwright.shop.scheduling_models import Link, Operation, Planned, Promise, Shop, Task

NOW = datetime.datetime(2026, 3, 5)
"""A Thursday, so that a weekend lies within what is counted out."""
DAYS = 7
END = DAYS * 24 * 60
CALENDAR = WorkingCalendar((((480, 482), (483, 485)),) * 5 + ((), ()), frozenset({datetime.date(2026, 3, 9)}))


def open_minutes() -> list[int]:
    """The minutes in which the shop works: written down apart from the calendar's own code."""
    days = [NOW.date() + datetime.timedelta(days=number) for number in range(DAYS)]
    works = [day.weekday() < 5 and day != datetime.date(2026, 3, 9) for day in days]
    return [1440 * day + minute for day in range(DAYS) if works[day] for minute in (480, 481, 483, 484)]


OPEN = open_minutes()


def ways(operation: Operation) -> Iterator[tuple[int, frozenset[int]]]:
    """Each minute at which an operation may start, with the minutes in which it is worked at."""
    need = int(operation.attended)
    for first in range(len(OPEN) - need + 1):
        worked = OPEN[first : first + need]
        whole = worked[-1] - worked[0] == need - 1
        if (not operation.splittable or operation.hot) and not whole:
            continue
        if operation.hot and any(minute % 1440 == 484 for minute in worked):
            continue
        yield worked[0], frozenset(worked)


def end_of(start: int, hours: frozenset[int]) -> int:
    return max(hours) + 1 if hours else start


def fits(chosen: dict[str, tuple[int, frozenset[int]]], operations: dict[str, Operation], name: str) -> bool:
    """Whether an operation keeps its links, places and air to those chosen before it."""
    operation = operations[name]
    start, hours = chosen[name]
    for link in operation.after:
        source = operations[link.operation]
        begun, worked = chosen[link.operation]
        base = begun if link.from_ == "start" else end_of(begun, worked) + source.unattended
        lag = start - base
        if lag < link.least_lag or (link.greatest_lag is not None and lag > link.greatest_lag):
            return False
    for other_name, (begun, worked) in chosen.items():
        if other_name == name:
            continue
        other = operations[other_name]
        if not clear(operation, start, hours, other, begun, worked):
            return False
    return True


def clear(
    one: Operation, start: int, hours: frozenset[int], other: Operation, begun: int, worked: frozenset[int]
) -> bool:
    for a, at_a, b, at_b in ((one, hours, other, worked), (other, worked, one, hours)):
        if not at_a or not at_b:
            continue
        first, last = min(at_a), end_of(0, at_a)
        for place in a.holds:
            if place in (*b.needs, *b.holds) and at_b & set(range(first, int(last + a.unattended))):
                return False
        if a.coat_open and b.dusty and at_b & set(range(first, int(last + a.coat_open))):
            return False
    return not (set(one.needs) & set(other.needs) and hours & worked)


def best_by_hand(task: Task) -> tuple[int, int] | None:
    """Least minutes late in all, and with them the least sum of the jobs' finishes."""
    operations = {operation.name: operation for operation in task.operations}
    choices = {name: list(ways(operation)) for name, operation in operations.items()}
    due = {promise.job: int((promise.due - NOW).total_seconds() // 60) for promise in task.promises}
    jobs = list(dict.fromkeys(operation.job for operation in task.operations))
    best: tuple[int, int] | None = None
    chosen: dict[str, tuple[int, frozenset[int]]] = {}

    def judge() -> tuple[int, int]:
        finishes = dict.fromkeys(jobs, -(10**9))
        for name, (start, hours) in chosen.items():
            job, wait = operations[name].job, operations[name].unattended
            finishes[job] = max(finishes[job], end_of(start, hours) + int(wait))
        late = sum(max(0, finishes[job] - when) for job, when in due.items())
        return late, sum(finishes.values())

    def go(names: list[str]) -> None:
        nonlocal best
        if chosen and best is not None and judge() >= best and len(chosen) == len(operations):
            return
        if not names:
            worth = judge()
            best = worth if best is None or worth < best else best
            return
        for way in choices[names[0]]:
            chosen[names[0]] = way
            if fits(chosen, operations, names[0]) and (best is None or judge()[0] <= best[0]):
                go(names[1:])
            del chosen[names[0]]

    go(list(operations))
    return best


@st.composite
def tasks(draw: st.DrawFn) -> Task:
    """Three operations of one or two jobs."""
    count = 3
    operations: list[Operation] = []
    for number in range(count):
        after = []
        for earlier in range(number):
            if draw(st.integers(0, 2)) == 0:
                least = draw(st.sampled_from([0, 0, 1, 4, 960]))
                window = draw(st.sampled_from([None, None, 0, 2, 1200]))
                after.append(
                    Link(
                        f"{earlier}",
                        least,
                        None if window is None else least + window,
                        draw(st.sampled_from(["finish", "finish", "start"])),
                    )
                )
        coat = draw(st.booleans())
        splittable = draw(st.booleans())
        hot = draw(st.integers(0, 3)) == 0
        length = draw(st.sampled_from([1, 2] if not splittable else [1, 2, 3, 5]))
        if hot:
            length = 1
        place = draw(st.sampled_from(["corner", "table"]))
        operations.append(
            Operation(
                f"{number}",
                draw(st.sampled_from(["desk", "table"])),
                "work",
                draw(st.sampled_from([("maker",), ("maker", place), ("helper", place)])),
                length,
                draw(st.sampled_from([0, 0, 3, 1440])),
                tuple(after),
                (place,) if draw(st.booleans()) else (),
                splittable,
                hot=hot,
                dusty=not coat,
                coat_open=draw(st.sampled_from([0, 2, 900])) if coat else 0,
            )
        )
    jobs = sorted({operation.job for operation in operations})
    promises = tuple(
        Promise(job, NOW + datetime.timedelta(minutes=draw(st.sampled_from([482, 484, 490, 1925, 1930, 7000]))))
        for job in jobs
        if draw(st.booleans())
    )
    return Task(tuple(operations), promises, Shop(CALENDAR, watch=1), NOW)


def minutes(planned: Planned) -> int:
    return int((planned.finish_at - NOW).total_seconds() // 60)


@settings(max_examples=150)
@given(tasks())
def test_as_good_as_counting_out(task: Task) -> None:
    by_hand = best_by_hand(task)
    try:
        found = schedule(task, aims=("promises", "finish times"), workers=1, seconds=30)
    except CannotBeDoneError:
        assert by_hand is None
        clash = conflict(task, workers=1)
        assert clash is not None and clash.together
        return
    except SlabwrightError as error:
        assert "make the window wider" in str(error)
        assert by_hand is None
        return
    if by_hand is None or by_hand[1] > END - 1440:
        return  # Longer than what was counted out.
    late, total = (reached.value for reached in found.aims)
    assert found.proven
    assert (late, total) == by_hand
    operations = {operation.name: operation for operation in task.operations}
    chosen: dict[str, tuple[int, frozenset[int]]] = {}
    for planned in found.operations:
        worked = {
            minute
            for begin, end in planned.pieces
            for minute in range(int((begin - NOW).total_seconds() // 60), int((end - NOW).total_seconds() // 60))
        }
        assert worked <= set(OPEN)
        assert len(worked) == operations[planned.name].attended
        chosen[planned.name] = (int((planned.start_at - NOW).total_seconds() // 60), frozenset(worked))
    for name in operations:
        assert chosen[name] in list(ways(operations[name]))
        assert fits(chosen, operations, name)
    jobs = {operation.job for operation in task.operations}
    assert sum(max(minutes(p) for p in found.operations if p.job == job) for job in jobs) == total


@settings(max_examples=40)
@given(tasks(), st.sampled_from([482, 484, 490, 1925, 1930]))
def test_conflicts_are_as_counted_out(task: Task, minute: int) -> None:
    """What is said to conflict does, each of it is needed, and the least change in all is as small as counting finds."""
    promises = tuple(
        Promise(job, NOW + datetime.timedelta(minutes=minute)) for job in sorted({one.job for one in task.operations})
    )
    # With no windows, promises are all that can be missed: the least change is then the fewest minutes late.
    plain = tuple(
        Operation(**{**vars(one), "after": tuple(Link(link.operation, link.least_lag) for link in one.after)})
        for one in task.operations
    )
    task = Task(plain, promises, task.shop, NOW)
    by_hand = best_by_hand(task)
    assert by_hand is not None
    clash = conflict(task, workers=1)
    if by_hand[0] == 0:
        assert clash is None
        return
    assert clash is not None and clash.proven
    assert sum(change.by for change in clash.least) == by_hand[0]
    named = [promise for promise in promises if any(promise.job in words for words in clash.together)]
    assert len(named) == len(clash.together)
    for fewer in itertools.combinations(named, len(named) - 1):
        without = best_by_hand(Task(plain, fewer, task.shop, NOW))
        assert without is not None and without[0] == 0
