"""Operations made from the plan itself, timed by what the shop's log teaches, and as the schedule takes them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from slabwright.findings import SlabwrightError
from slabwright.finish.coating_results import SystemPlan
from slabwright.job.hours_models import Hours
from slabwright.job.loaded import Job
from slabwright.reference.hours import OWN_WORK, HoursTable, KindOfWork, hours_table
from slabwright.shop.hours_known import Known, known_times
from slabwright.shop.operations_away import last_operations
from slabwright.shop.operations_coats import coated, prepared
from slabwright.shop.operations_draft import DAY, Draft, Drafts, near
from slabwright.shop.operations_edits import changed
from slabwright.shop.operations_log import Logged, gone, logged
from slabwright.shop.operations_results import OperationLink, PlanParts, WorkOperation
from slabwright.shop.operations_steel import steel_operations
from slabwright.shop.operations_wood import slab_operations, top_operations
from slabwright.shop.orders import job_date
from slabwright.shop.scheduling_models import Link, Operation

__all__ = ["OperationLink", "PlanParts", "WorkOperation", "operations_of", "to_schedule"]

_LONGEST_JOB = 2 * 366
"""Days after a job's date from which an entry of its log is taken for a slip."""
LONGEST = 180.0
"""Minutes of hot work or of a coat that the schedule is given in one piece: what is longer would fit no half day."""


def operations_of(job: Job, parts: PlanParts, leads: Mapping[str, float] | None = None) -> tuple[WorkOperation, ...]:
    """Everything that is to be done, from the slab that comes in to the piece that is handed over.

    Args:
        job: with its changes to operations, its log, the shop's rates and its history
        parts: what is known of the piece; what is None has no operations
        leads: days until what is ordered comes in, by slab, steel, finish (epoxy too), hardware; else the usual ones

    Returns:
        Operations, each after what it comes after, with even-chance time, range, waiting and links.

    Raises:
        SlabwrightError: operations wait for each other in a ring; a change names one that is not there; the log tells what cannot
            be; a rate or a history cannot be used.
    """
    drafts, log, table = drafted(job, parts, leads)
    return timed(drafts, log, known_times(job, drafts, log, table))


def drafted(
    job: Job, parts: PlanParts, leads: Mapping[str, float] | None = None
) -> tuple[tuple[Draft, ...], dict[str, Logged], HoursTable]:
    """Operations without their times, what the log says of each, and the kinds with the shop's own rates; see `operations_of`.

    What was logged of operations that the plan does not have is there too, as work that is over.
    """
    table = shop_table(job.shop.hours, leads)
    drafts = changed(planned(job, parts, table), job.stated.operations, table)
    today = job_date(job)
    for number, entry in enumerate(job.stated.log):
        if today is not None and (entry.at.date() - today).days > _LONGEST_JOB:
            raise SlabwrightError(
                f"log[{number}].at: {entry.at:%Y-%m-%d} is more than two years after the date of the job; check the year"
            )
    log = logged(drafts, job.stated.log)
    over, of_those = gone(drafts, job.stated.log, table.kinds[OWN_WORK])
    return (*drafts, *over), log | of_those, table


def shop_table(hours: Hours, leads: Mapping[str, float] | None = None) -> HoursTable:
    """Kinds of operation, with the shop's own rates in place of the usual ones.

    Args:
        hours: the shop's own rates
        leads: days until what is ordered comes in

    Raises:
        SlabwrightError: a kind is new and does not say what its minutes are for, or a lead is not known.
    """
    table = hours_table()
    kinds, spread = dict(table.kinds), table.spread
    for number, rate in enumerate(hours.rates):
        usual = kinds.get(rate.kind)
        if usual is None:
            if not rate.unit:
                raise SlabwrightError(
                    f'shop:hours.rates[{number}].kind: there is no kind "{rate.kind}"; {near(rate.kind, kinds)}'
                    " A new one says what its minutes are for: unit."
                )
            usual = KindOfWork(rate.kind, rate.unit, rate.unit, 0.0, 0.0, spread.stated_within, spread.stated_between)
        set_up = usual.set_up if rate.set_up is None else rate.set_up
        between = min(usual.between, spread.stated_between)
        kinds[rate.kind] = replace(
            usual, minutes=rate.minutes, set_up=set_up, between=between, source="the shop's own rate"
        )
    waits = dict(table.waits)
    for what, days in (leads or {}).items():
        if what not in waits:
            raise ValueError(f"leads: {what} is not waited for; {', '.join(waits)} are")
        if not 0.0 <= days < 3650.0:
            raise SlabwrightError(f"suppliers: {what}: lead of {days:g} days; state 0 or more, of a reasonable size")
        waits[what] = days
    return replace(table, kinds=kinds, waits=waits, places=table.places | frozenset(hours.places))


def planned(job: Job, parts: PlanParts, table: HoursTable) -> tuple[Draft, ...]:
    """Operations as the plan alone has them."""
    d = Drafts(table)
    board = slab_operations(d, job, parts)
    top, board_signed, marks = top_operations(d, job, parts, board)
    tried = top if parts.top is not None else None
    steel, signed, drilled = steel_operations(d, parts, tried)
    if marks is not None and drilled is not None:
        at = next(at for at, draft in enumerate(d.all) if draft.name == marks)
        d.all[at] = replace(d.all[at], after=(*d.all[at].after, OperationLink(drilled)))
    ready = [name for name in (top, steel) if name]
    finish = parts.finish
    if finish is not None:
        on: dict[str, SystemPlan] = {system.on: system for system in finish.systems if system.coats}
        comes = None
        if on:
            comes = d.wait(
                "Finish comes in", table.waits["finish"] * DAY, room="both", gate="delivery", waits_for="finish"
            )
        last = {"wood": prepared(d, finish.preparation.steps, (top, signed), "wood") if parts.top else top}
        last["steel"] = prepared(d, finish.preparation.steps, (steel,), "steel") if parts.base else steel
        done = []
        for room, machined in (("wood", top), ("steel", steel)):
            system, before = on.get(room), last[room] or machined
            if system is None or before is None:
                done += [before] if before else []
                continue
            wiped = table.waits["primer_after_wiping"] if room == "steel" and last[room] else None
            first = [OperationLink(before, 0.0, wiped), comes, board_signed if room == "wood" else None]
            done.append(coated(d, system, finish.preparation.steps, first))
        ready = done or ready
    if parts.base is not None or parts.carry is not None:
        last_operations(d, parts, ready)
    return tuple(d.all)


def timed(drafts: Sequence[Draft], log: Mapping[str, Logged], known: Known) -> tuple[WorkOperation, ...]:
    """Operations with their times and what was logged of them."""
    return tuple(_timed(draft, log.get(draft.name, Logged()), known) for draft in drafts)


def _timed(draft: Draft, state: Logged, known: Known) -> WorkOperation:
    belief = known.of(draft)
    kind, usual = draft.kind, draft.usual
    even, mean, low, high, spread, common = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    if belief is not None:
        even, mean = usual * belief.even, usual * belief.average
        low, high = usual * belief.reaches(0.1), usual * belief.reaches(0.9)
        spread, common = belief.spread, belief.spread_of_rate
    done = state.done is not None or draft.known_done
    if state.took is not None:
        even = mean = low = high = state.took
        spread = common = 0.0
    left = None
    if not done and state.started is not None and state.told and state.minutes > 0.0:
        # What took longer than it should is nearly done, and is not said to be done.
        left = max(even - state.minutes, 0.05 * even, 1.0)
    people = [need for need in draft.needs if need not in known.table.places]
    return WorkOperation(
        name=draft.name,
        kind=kind.name if kind else draft.gate or "wait",
        room=draft.room,
        driver=kind.driver if kind else "",
        amount=draft.amount * draft.share if draft.stated is None or draft.amount else draft.stated * draft.share,
        unit=kind.unit if kind and (draft.stated is None or draft.amount) else "min" if kind else "",
        needs=draft.needs,
        people=len(people),
        attended=even,
        mean=mean,
        low=low,
        high=high,
        spread=spread,
        unattended=draft.unattended,
        wait_spread=draft.wait_spread if draft.unattended else 0.0,
        rests=known.rests(draft) if state.took is None else "its own log",
        after=draft.after,
        holds=draft.holds,
        waits_for=draft.waits_for,
        gate=draft.gate,
        hot=kind.hot if kind else False,
        dusty=kind.dusty if kind else False,
        coat_open=draft.coat_open,
        splittable=kind.splittable and not kind.hot if kind else True,
        attended_only=kind.attended_only if kind else False,
        own=draft.own,
        state="done" if done else "started" if state.started is not None else "planned",
        took=state.took,
        lost=state.lost,
        pinned=draft.pinned,
        not_before=state.not_before,
        started=state.started,
        done_at=state.done,
        left=left,
        usual=usual,
        rate_spread=common,
    )


def to_schedule(
    operations: Sequence[WorkOperation], job: str, prefix: str = "", longest: float = LONGEST
) -> tuple[Operation, ...]:
    """Operations as the schedule takes them.

    What is known to be done without a time is left out. Hot work that is longer than `longest` is given in parts.

    Args:
        operations: of one job
        job: its name
        prefix: before each name, where several jobs are scheduled: names are unique among all jobs
        longest: minutes of one piece of hot work [min]

    Returns:
        Operations for `scheduling_models.Task`.
    """
    past = {each.name for each in operations if each.state == "done" and each.done_at is None}
    ends: dict[str, str] = {}
    found: list[Operation] = []
    for each in operations:
        if each.name in past:
            continue
        made = _scheduled(each, job, prefix, ends, past)
        count = 1 if not each.hot or each.state != "planned" else max(1, -int(-made.attended // longest))
        for part in range(1, count + 1):
            name = made.name if count == 1 else f"{made.name}, part {part} of {count}"
            last = part == count
            found.append(
                replace(
                    made,
                    name=name,
                    attended=made.attended / count,
                    after=made.after if part == 1 else (Link(found[-1].name),),
                    unattended=made.unattended if last else 0.0,
                    coat_open=made.coat_open if last else 0.0,
                    holds=made.holds if last else (),
                    pinned=made.pinned if part == 1 else None,
                    not_before=made.not_before if part == 1 else None,
                )
            )
        ends[each.name] = found[-1].name
    return tuple(found)


def _scheduled(each: WorkOperation, job: str, prefix: str, ends: Mapping[str, str], past: set[str]) -> Operation:
    done = None
    if each.done_at is not None:
        done = (min(each.started or each.done_at, each.done_at), each.done_at)
    return Operation(
        name=prefix + each.name,
        job=job,
        kind=each.kind,
        needs=each.needs if each.attended > 0.0 else (),
        attended=each.attended,
        unattended=each.unattended,
        after=tuple(
            Link(ends[link.operation], link.least_lag, link.greatest_lag)
            for link in each.after
            if link.operation not in past
        ),
        holds=each.holds if each.attended > 0.0 else (),
        splittable=each.splittable,
        pinned=each.pinned if each.state == "planned" else None,
        not_before=each.not_before,
        started=each.started if each.state == "started" else None,
        left=each.left,
        done=done,
        hot=each.hot,
        dusty=each.dusty,
        coat_open=each.coat_open,
        gate=each.gate,
        spread=each.spread,
        wait_spread=each.wait_spread,
    )
