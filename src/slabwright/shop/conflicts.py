"""When not everything can be had: which promises, windows and pinned times stand against each other, and what would free them."""

from __future__ import annotations

import datetime
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE, Finding, SlabwrightError
from slabwright.shop.scheduling import schedule
from slabwright.shop.scheduling_bounds import Loads, earliest
from slabwright.shop.scheduling_dispatch import Clocks, Dispatch, Times, sequence
from slabwright.shop.scheduling_improve import MANY
from slabwright.shop.scheduling_models import Task
from slabwright.shop.scheduling_rules import Limits, Slack
from slabwright.shop.scheduling_search import Search, solver_of
from slabwright.shop.scheduling_task import Ready, ready


@dataclass(frozen=True)
class Change:
    """One change that helps to free a conflict."""

    what: str = figure("", "what is changed: a promise, a window or a pinned time")
    kind: str = figure("", "promise, window or pin")
    by: float = figure("min", "elapsed time by which it is moved or made wider, at least")
    to: datetime.datetime | None = figure(
        "", "promise or pinned time that it then is; empty: of a window", default=None
    )


@dataclass(frozen=True)
class Conflict:
    """Promises, windows and pinned times that cannot all be had."""

    together: tuple[str, ...] = figure(
        "",
        "what cannot all be had; without any one of these, the others of them can",
        how="the search proves that there is no schedule with all of them, and finds one with each left out",
        sure="proven",
        change="give one of them up, or change it",
    )
    least: tuple[Change, ...] = figure(
        "", "the least change in all that frees everything", how="least minutes, all changes together", sure="proven"
    )
    alone: tuple[Change, ...] = figure(
        "", "changes of which one alone frees everything", how="least minutes, everything else held", sure="proven"
    )
    proven: bool = figure("", "whether time was enough to prove all of it")

    def finding(self) -> Finding:
        """The check that people read."""
        if not self.least and not self.alone:
            return Finding(
                "shop/conflict",
                "stop",
                f"These cannot all be kept: {'; '.join(self.together)}.",
                "Give one of them up: no lesser change was found in the time.",
                COMMON_PRACTICE,
            )
        ways = [f"{change.what} {_by(change)}" for change in self.alone]
        both = " and ".join(f"{change.what} {_by(change)}" for change in self.least)
        remedy = "; or ".join(dict.fromkeys([both, *ways])) if both else "; or ".join(ways)
        return Finding(
            "shop/conflict",
            "stop",
            f"These cannot all be kept: {'; '.join(self.together)}.",
            f"Any one of: {remedy}." if len(ways) > 1 else f"{remedy[:1].upper()}{remedy[1:]}.",
            COMMON_PRACTICE,
        )


def span(minutes: float) -> str:
    """Elapsed time in words, such as `2 days 3 h`."""
    days, rest = divmod(round(minutes), 24 * 60)
    hours, left = divmod(rest, 60)
    parts = [(days, "day" if days == 1 else "days"), (hours, "h"), (left, "min")]
    return " ".join(f"{count} {unit}" for count, unit in parts if count) or "0 min"


def _by(change: Change) -> str:
    told = f"{'wider' if change.kind == 'window' else 'later' if change.kind == 'promise' else 'moved'} by {span(change.by)}"
    return told if change.to is None else f"{told}, to {change.to:%Y-%m-%d %H:%M}"


def conflict(task: Task, *, seconds: float = 10.0, workers: int = 2, seed: int = 1) -> Conflict | None:
    """Find what cannot all be had, and the least change that frees it.

    Every promise, window and pinned time gets a slack. With all slacks at nought the search names some that cannot be [1]_; of
    these, each that is not needed is let go, until every one is. Then the least slack in all is searched, and the least of
    each one alone. Of many operations see `Conflict.proven`: the load says which promises conflict, and the best schedule found
    by how much.

    Args:
        task: the operations
        seconds: for everything together
        workers: that search at once
        seed: of the search

    Returns:
        The conflict; None where everything can be had, or no conflict was found in time.

    Raises:
        SlabwrightError: the operations cannot be used.

    References:
        .. [1] L. Perron and F. Didier, CP-SAT, OR-Tools: sufficient assumptions for infeasibility
    """
    made = ready(task)
    until = time.monotonic() + seconds
    start = _start(made)
    if start is not None and not start.late(made):
        return None
    if start is not None and (len(made.items) >= MANY or _one_alone(made)):
        return _of_many(task, made, seconds=seconds, workers=workers, seed=seed)
    if start is None and (pinned := _pin_alone(task, made, seconds=seconds, workers=workers, seed=seed)) is not None:
        return pinned
    search = Search(made, _limits(made, start), soft=True)
    if start is not None:
        search.hint(start)
    held = search.held
    core, sure = _core(search, list(held), until, seed)
    if core is None:
        return None
    number = 0
    while number < len(core):
        fewer = core[:number] + core[number + 1 :]
        smaller, known = _core(search, fewer, until, seed)
        sure &= known
        if smaller is not None:
            core = [key for key in fewer if key in smaller]
        else:
            number += 1
    search.model.clear_assumptions()
    everything, known = _least(search, list(held), until, workers, seed)
    sure &= known
    alone: dict[Slack, int] = {}
    for key in core:
        others = [other for other in held if other != key]
        found, known = _least(search, [key], until, workers, seed, others)
        sure &= known
        if found is not None:
            alone.update(found)
    if not everything and not alone:
        # No time was left for the least: what a schedule without each of them needs frees it too.
        for key in core:
            if key.kind == "window":
                changes = _wide_enough(task, made, core, [key]) or {}
            else:
                changes = _without(task, made, [key], workers=workers, seed=seed) or {}
            if set(changes) == {key}:
                alone |= changes
        everything = None if alone else _wide_enough(task, made, core, list(held))
        sure = False
    return Conflict(
        together=tuple(_words(task, made, key) for key in core),
        least=_changes(made, everything or {}),
        alone=_changes(made, alone),
        proven=sure,
    )


def _one_alone(made: Ready) -> bool:
    """Whether links and loads alone rule the one promise out that there is."""
    return sum(due is not None for due in made.due) == 1 and _too_much(made) is not None


def _pin_alone(task: Task, made: Ready, *, seconds: float, workers: int, seed: int) -> Conflict | None:
    """The conflict of a pinned time that what it comes after rules out, whatever else there is."""
    first, _ = earliest(made, pins=False)
    clocks = Clocks(made)
    early = [
        at
        for at, item in enumerate(made.items)
        if item.pin is not None
        and item.begun is None
        and (first[at] if item.mode == "wait" else clocks.start(first[at])) > item.pin
    ]
    if not early:
        return None
    keys = [Slack("pin", at, at) for at in early]
    changes = _without(task, made, keys, workers=workers, seed=seed, seconds=seconds)
    if not changes:
        return None
    alone: dict[Slack, int] = changes if len(changes) == 1 else {}
    return Conflict((_words(task, made, keys[0]),), _changes(made, changes), _changes(made, alone), False)


def _without(
    task: Task, made: Ready, keys: Sequence[Slack], *, workers: int, seed: int, seconds: float = 4.0
) -> dict[Slack, int] | None:
    """By how much a schedule that does not ask for some of it misses these; None where there is no schedule even so."""
    far = {key: None if key.kind == "window" else 0 for key in keys}
    asked = _released(task, made, far)
    try:
        found = schedule(
            asked,
            aims=("promises", "finish times"),
            workers=workers,
            seconds=seconds,
            seed=seed,
        )
    except SlabwrightError:
        return None
    planned = found.by_name()
    clock = made.timeline
    changes = {}
    for key in keys:
        if key.kind == "promise":
            by = clock.minutes(found.finish[made.jobs[key.at]]) - (made.due[key.at] or 0)
        elif key.kind == "pin":
            item = made.items[key.at]
            by = abs(clock.minutes(planned[item.operation.name].start_at) - (item.pin or 0))
        else:
            item, source_ = made.items[key.at], planned[made.items[key.other].operation.name]
            tie = next(tie for tie in item.ties if tie.source == key.other and tie.greatest is not None)
            since = source_.start_at if tie.from_start else source_.finish_at
            by = clock.minutes(planned[item.operation.name].start_at) - clock.minutes(since) - (tie.greatest or 0)
        if by > 0:
            changes[key] = by
    for job, late in found.late.items():
        if late > 0.0:
            at = made.jobs.index(job)
            changes[Slack("promise", at, at)] = round(late)
    return changes


def _of_many(task: Task, made: Ready, *, seconds: float, workers: int, seed: int) -> Conflict | None:
    """The conflict of many operations: promises that the load alone rules out, and what the best schedule found misses.

    The least change is then that of the best schedule found, and is said not to be proven unless its bound is met.
    """
    found = schedule(task, aims=("promises",), workers=workers, seconds=seconds, seed=seed)
    late = {job: minutes for job, minutes in found.late.items() if minutes}
    if not late:
        return None
    jobs = _too_much(made)
    named = jobs if jobs is not None else [made.jobs.index(job) for job in late]
    changes = {
        Slack("promise", made.jobs.index(job), made.jobs.index(job)): round(minutes) for job, minutes in late.items()
    }
    return Conflict(
        together=tuple(_words(task, made, Slack("promise", job, job)) for job in named),
        least=_changes(made, changes),
        alone=_changes(made, changes) if len(made.jobs) == 1 else (),
        proven=found.proven and jobs is not None,
    )


def _too_much(made: Ready) -> list[int] | None:
    """Promised jobs of which the load or the links alone show that not all can be kept, each needed for it."""
    loads = Loads(made)
    dated = sorted((due, job) for job, due in enumerate(made.due) if due is not None)
    for number, (due, job) in enumerate(dated):
        if loads.finishes[job] > due:
            return [job]
        jobs = [one for _, one in dated[: number + 1]]
        if loads.together(jobs) > due:
            for one in list(jobs):
                fewer = [other for other in jobs if other != one]
                last = max((made.due[other] or 0 for other in fewer), default=0)
                if fewer and loads.together(fewer) > last:
                    jobs = fewer
            return jobs
    return None


def _start(made: Ready) -> Times | None:
    """A schedule that keeps windows and pins, by the promised dates."""
    far = 10**9
    due = [far if one is None else one for one in made.due]
    return Dispatch(made).run(sequence(made, [float(due[job]) for job in made.job_of]))


def _limits(made: Ready, start: Times | None) -> Limits:
    end = int(made.timeline.ends[-1])
    if start is not None:
        # What is late in a known schedule bounds how much later anything can usefully be.
        end = min(end, max(start.finishes) + start.late(made))
    return Limits([end] * len(made.jobs))


def _core(search: Search, keys: Sequence[Slack], until: float, seed: int) -> tuple[list[Slack] | None, bool]:
    """Of slacks that are held to nought, some that cannot be together; None where they can; and whether that is sure."""
    from ortools.sat.python import cp_model

    search.model.clear_assumptions()
    search.model.add_assumptions([search.held[key] for key in keys])
    solver = solver_of(max(until - time.monotonic(), 0.2), 1, seed)
    status = solver.solve(search.model)
    if status == cp_model.INFEASIBLE:
        named = set(solver.sufficient_assumptions_for_infeasibility())
        return [key for key in keys if search.held[key].index in named], True
    return None, status in (cp_model.OPTIMAL, cp_model.FEASIBLE)


def _least(
    search: Search, free: Sequence[Slack], until: float, workers: int, seed: int, held: Sequence[Slack] = ()
) -> tuple[dict[Slack, int] | None, bool]:
    """Least slack in all of some, the others held to nought."""
    from ortools.sat.python import cp_model

    model = search.model.clone()
    for key in held:
        model.add(model.get_int_var_from_proto_index(search.slacks[key].index) == 0)
    slacks = {key: model.get_int_var_from_proto_index(search.slacks[key].index) for key in free}
    model.minimize(sum(slacks.values()))
    solver = solver_of(max(until - time.monotonic(), 0.2), workers, seed)
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None, True
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None, False
    found = {key: int(solver.value(slack)) for key, slack in slacks.items()}
    return {key: minutes for key, minutes in found.items() if minutes}, status == cp_model.OPTIMAL


def _released(task: Task, made: Ready, slacks: Mapping[Slack, int | None]) -> Task:
    """The task without some promises and pinned times, and with windows wider by so much; None: without the window."""
    operations = {one.name: one for one in task.operations}
    promises = list(task.promises)
    for key, wider in slacks.items():
        if key.kind == "promise":
            promises = [one for one in promises if one.job != made.jobs[key.at]]
            continue
        one = operations[made.items[key.at].operation.name]
        source = made.items[key.other].operation.name
        if key.kind == "pin":
            operations[one.name] = replace(one, pinned=None)
            continue
        links = [
            link
            if link.operation != source or link.greatest_lag is None
            else replace(link, greatest_lag=None if wider is None else link.greatest_lag + wider)
            for link in one.after
        ]
        operations[one.name] = replace(one, after=tuple(links))
    return replace(task, operations=tuple(operations.values()), promises=tuple(promises))


def _wide_enough(task: Task, made: Ready, core: Sequence[Slack], held: Sequence[Slack]) -> dict[Slack, int] | None:
    """Windows that are made wider, as few and each by as little as serial schedules find; None where they do not."""
    windows: dict[Slack, int | None] = {key: None for key in held if key.kind == "window"}

    def can(slacks: Mapping[Slack, int | None]) -> bool:
        try:
            return _start(ready(_released(task, made, slacks))) is not None
        except SlabwrightError:
            return False

    if not can(windows):
        return None
    for key in sorted(windows, key=lambda key: key in core):
        fewer = {other: wider for other, wider in windows.items() if other != key}
        if can(fewer):
            windows = fewer
    found: dict[Slack, int] = {}
    for key in windows:
        low, high = 0, 60 * 24 * 60
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if can({**windows, key: middle}) else (middle, high)
        windows[key] = found[key] = high
    return found


def _changes(made: Ready, slacks: Mapping[Slack, int]) -> tuple[Change, ...]:
    return tuple(
        Change(_name(made, key), key.kind, float(minutes), _to(made, key, minutes)) for key, minutes in slacks.items()
    )


def _to(made: Ready, key: Slack, minutes: int) -> datetime.datetime | None:
    """The promise or pinned time with its change."""
    asked = made.due[key.at] if key.kind == "promise" else made.items[key.at].pin if key.kind == "pin" else None
    return None if asked is None else made.timeline.moment(asked + minutes)


def _name(made: Ready, key: Slack) -> str:
    if key.kind == "promise":
        return f"the promise of {made.jobs[key.at]}"
    name = made.items[key.at].operation.name
    if key.kind == "pin":
        return f"the pinned time of {name}"
    return f"the window of {name} after {made.items[key.other].operation.name}"


def _words(task: Task, made: Ready, key: Slack) -> str:
    """What is asked, with its date or its minutes."""
    if key.kind == "promise":
        due = next(promise.due for promise in task.promises if promise.job == made.jobs[key.at])
        return f"{made.jobs[key.at]} promised by {due:%Y-%m-%d %H:%M}"
    item = made.items[key.at]
    if key.kind == "pin":
        return f"{item.operation.name} pinned to {item.operation.pinned:%Y-%m-%d %H:%M}"
    tie = next(tie for tie in item.ties if tie.source == key.other and tie.greatest is not None)
    assert tie.greatest is not None
    source = made.items[key.other].operation.name
    return f"{item.operation.name} at most {span(tie.greatest)} after {source}"
