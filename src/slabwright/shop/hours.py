"""The hours of a job: operations, totals with their range, rates with what they rest on, and what took longer."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from slabwright.findings import FROM_MEMORY, Finding
from slabwright.job.loaded import Job
from slabwright.reference.hours import HoursTable
from slabwright.shop.hours_known import Known, known_times, rests_on
from slabwright.shop.hours_results import HoursPlan, HoursTotal, KindHours, TookLonger
from slabwright.shop.operations import PlanParts, WorkOperation, drafted, planned, timed
from slabwright.shop.operations_draft import Draft, near
from slabwright.shop.operations_log import Logged

_NINE_IN_TEN = 1.2815515655446004
"""The standard normal's 90 % point."""


def hours_plan(
    job: Job, parts: PlanParts, leads: Mapping[str, float] | None = None
) -> tuple[HoursPlan, tuple[Finding, ...]]:
    """Everything that is to be done, how long it takes, and how sure that is.

    Args:
        job: with its changes to operations, its log, the shop's rates and its history
        parts: what is known of the piece
        leads: days until what is ordered comes in; see `operations_of`

    Returns:
        The plan, and what there is to say.

    Raises:
        SlabwrightError: see `operations_of`.
    """
    drafts, log, table = drafted(job, parts, leads)
    known = known_times(job, drafts, log, table)
    operations = timed(drafts, log, known)
    longer: tuple[TookLonger, ...] = ()
    if log:
        before = known_times(job, drafts, log, table, own_log=False)
        longer = _took_longer(drafts, log, before)
    together = table.spread.together
    rates = _rates(operations, known, together)
    plan = HoursPlan(operations, _total(operations, together), rates, longer)
    return plan, (*_gone(drafts, log), *_out_of_order(job, parts, drafts, log, table), *_findings(plan, known))


def _gone(drafts: Sequence[Draft], log: Mapping[str, Logged]) -> Iterator[Finding]:
    """Logged operations that the plan does not have."""
    names = [draft.name for draft in drafts if not draft.gone]
    for name, state in log.items():
        if name in names:
            continue
        meant = near(name, names)
        counted = (
            f"its {hours_words(state.minutes)} are counted as done" if state.minutes > 0.0 else "it has no minutes"
        )
        yield Finding(
            "shop/logged-unknown",
            "caution",
            f'The log tells of "{name[:60]}", and the plan has no such operation: {counted}.',
            f"{meant[:1].upper()}{meant[1:]} Write its name in [[log]] as the list has it; leave it where that work is not in the"
            " plan any more.",
        )


def _out_of_order(
    job: Job, parts: PlanParts, drafts: Sequence[Draft], log: Mapping[str, Logged], table: HoursTable
) -> Iterator[Finding]:
    """What is dropped though something rests on it, and what was done before what it rests on."""
    gone = [change.name for change in job.stated.operations if change.drop]
    whole = planned(job, parts, table) if gone else ()
    for name in gone:
        later = [draft.name for draft in whole if any(link.operation == name for link in draft.after)]
        if later:
            yield Finding(
                "shop/dropped",
                "caution",
                f'"{name}" is dropped, and {_named(later)} {"rest" if len(later) > 1 else "rests"} on it.',
                "Make sure that it is done in another way; else take drop out of [[operations]].",
            )
    over = {draft.name for draft in drafts if draft.known_done or (draft.name in log and log[draft.name].done)}
    for draft in drafts:
        if draft.name not in log or log[draft.name].done is None:
            continue
        lacking = [link.operation for link in draft.after if link.operation not in over]
        if lacking:
            yield Finding(
                "shop/done-before",
                "caution",
                f'"{draft.name}" is logged as done, and {_named(lacking)} {"are" if len(lacking) > 1 else "is"} not.',
                "Log what is done too; or take the entry out of [[log]] where it is a slip.",
            )


def _named(names: Sequence[str]) -> str:
    told = [f'"{name}"' for name in names[:3]]
    more = len(names) - len(told)
    return ", ".join(told) + (f" and {more} more" if more else "")


def added_up(operations: Sequence[WorkOperation], together: float) -> tuple[float, float, float, float]:
    """Minutes of all persons of some operations: even chance, mean, and the 80 % range.

    Of log-normal times X with means x and spreads s, of which r is common to a kind, cov(X, Y) = x y (exp(c) - 1) with c = s^2
    for one with itself, r^2 for two of one kind, and `together` r r' for two of different kinds; the sum is taken as log-normal
    of the same mean and variance [1]_.

    Args:
        operations: to be added up
        together: share of the spread between makers that all kinds have in common

    Returns:
        Even chance, mean, low, high [min].

    References:
        .. [1] Fenton, The sum of log-normal probability distributions, 1960 (from memory)
    """
    by_kind: dict[str, tuple[float, float]] = {}
    mean = own = 0.0
    for each in operations:
        minutes = each.mean * each.people
        mean += minutes
        own += minutes**2 * (math.exp(each.spread**2) - math.exp(each.rate_spread**2))
        if each.rate_spread > 0.0:
            key = each.name if each.rests == "your own minutes" else each.kind
            by_kind[key] = (by_kind.get(key, (0.0, 0.0))[0] + minutes, each.rate_spread)
    if mean <= 0.0:
        return 0.0, 0.0, 0.0, 0.0
    minutes_of, common = (np.array(column) for column in zip(*by_kind.values(), strict=True)) if by_kind else ((), ())
    shared = np.outer(common, common) * together
    np.fill_diagonal(shared, np.square(common))
    variance = own + float(minutes_of @ np.expm1(shared) @ minutes_of) if by_kind else own
    spread = math.sqrt(math.log1p(variance / mean**2))
    even = mean * math.exp(-(spread**2) / 2.0)
    return even, mean, even * math.exp(-_NINE_IN_TEN * spread), even * math.exp(_NINE_IN_TEN * spread)


def _total(operations: Sequence[WorkOperation], together: float) -> HoursTotal:
    even, mean, low, high = added_up(operations, together)
    done = math.fsum(each.mean * each.people for each in operations if each.state == "done")
    sure = math.fsum(each.mean * each.people for each in operations if not each.rests.startswith("usual"))
    left = math.fsum(
        (each.left * each.mean / each.attended if each.left is not None and each.attended else each.mean) * each.people
        for each in operations
        if each.state != "done"
    )
    return HoursTotal(
        attended=even,
        mean=mean,
        low=low,
        high=high,
        left=left,
        done=done,
        lost=math.fsum(each.lost for each in operations),
        machine=math.fsum(each.attended for each in operations if "machine bed" in each.needs and each.attended_only),
        unattended=math.fsum(each.unattended for each in operations if each.state != "done"),
        from_logs=sure / mean if mean > 0.0 else 0.0,
    )


def _rates(operations: Sequence[WorkOperation], known: Known, together: float) -> tuple[KindHours, ...]:
    by_kind: dict[str, list[WorkOperation]] = {}
    for each in operations:
        if each.kind in known.beliefs:
            by_kind.setdefault(each.kind, []).append(each)
    found = []
    for name, of in by_kind.items():
        kind, belief = known.table.kinds[name], known.beliefs[name]
        even, mean, low, high = added_up(of, together)
        found.append(
            KindHours(
                kind=name,
                operations=len(of),
                driver=kind.driver,
                amount=math.fsum(each.amount for each in of),
                unit=kind.unit,
                rate=kind.minutes * belief.even,
                rate_low=kind.minutes * belief.reaches(0.1),
                rate_high=kind.minutes * belief.reaches(0.9),
                set_up=kind.set_up * belief.even,
                usual_rate=kind.minutes,
                logged=belief.logged,
                jobs=belief.jobs,
                rests=rests_on(belief, kind.source),
                person_minutes=even,
                mean=mean,
                low=low,
                high=high,
            )
        )
    return tuple(sorted(found, key=lambda each: -each.mean))


def _took_longer(drafts: Sequence[Draft], log: Mapping[str, Logged], before: Known) -> tuple[TookLonger, ...]:
    """What was logged against what was expected before, most minutes longer first."""
    found = []
    for draft in drafts:
        state = log.get(draft.name)
        belief = before.of(draft)
        if draft.gone or state is None or state.took is None or belief is None or draft.usual <= 0.0:
            continue
        took, expected = state.took + state.lost, draft.usual * belief.even
        ratio = took / draft.usual
        outside = not belief.reaches(0.1) <= ratio <= belief.reaches(0.9)
        kind = draft.kind.name if draft.kind else ""
        note = "; ".join(state.notes)
        found.append(TookLonger(draft.name, kind, expected, took, took - expected, took / expected, outside, note))
    return tuple(sorted(found, key=lambda each: (-each.difference, each.operation)))


def hours_words(minutes: float) -> str:
    """A time of work as it is said: 40 min, 3.5 h."""
    return f"{minutes:.0f} min" if minutes < 90.0 else f"{minutes / 60.0:.1f} h"


def _findings(plan: HoursPlan, known: Known) -> list[Finding]:
    found = []
    share = plan.hours.from_logs
    if plan.hours.mean > 0.0 and share < 0.5:
        found.append(
            Finding(
                "shop/usual-hours",
                "note",
                f"Hours rest on usual times for {100 * (1 - share):.0f} % of the work: {hours_words(plan.hours.attended)} in all,"
                f" {hours_words(plan.hours.low)} to {hours_words(plan.hours.high)} four times in five.",
                "Log what each takes ([[log]]), or state [[hours.rates]] in the shop file: the range narrows from job to job.",
                FROM_MEMORY,
            )
        )
    for name, belief in known.beliefs.items():
        if belief.far_off:
            found.append(
                Finding(
                    "shop/far-off-hours",
                    "note",
                    f"{name}: {belief.far_off} of {belief.logged} logged lie so far off that they count less.",
                    "Look whether their minutes or amounts are slips.",
                    "reference/hours.toml, from memory",
                )
            )
    for name, rows in known.not_known.items():
        found.append(
            Finding(
                "shop/unknown-kind",
                "caution",
                f'The history has {rows} row{"s" if rows != 1 else ""} of a kind "{name[:60]}" that is not known: left out.',
                near(name, known.table.kinds) + " A kind of your own is stated in [[hours.rates]].",
            )
        )
    found += [
        Finding(
            "shop/took-longer",
            "note",
            f"{each.operation} took {hours_words(each.took)}, {hours_words(each.expected)} were expected.",
            "Note why in the log; what is usual for you is learnt from it.",
        )
        for each in plan.took_longer
        if each.outside and each.difference > 0.0
    ]
    return found
