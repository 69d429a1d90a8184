"""What is known of each kind's time: from the usual times, the shop's own rates, its history, and the job's own log."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from slabwright.job.loaded import Job
from slabwright.reference.hours import HoursTable
from slabwright.shop.learning import Belief, Taken, beginning, learn
from slabwright.shop.operations_draft import Draft
from slabwright.shop.operations_log import Logged


@dataclass(frozen=True)
class Known:
    """What is known of the time of each kind.

    Attributes:
        table: kinds with their usual times, or the shop's own
        beliefs: by kind, of those that this job has
        not_known: kinds of the history that are not known, with how many rows each has
    """

    table: HoursTable
    beliefs: Mapping[str, Belief]
    not_known: Mapping[str, int]

    def of(self, draft: Draft) -> Belief | None:
        """What is known of an operation's time over its usual time; None of what only waits."""
        if draft.kind is None:
            return None
        if draft.stated is None:
            return self.beliefs[draft.kind.name]
        rules = self.table.spread
        stated = replace(draft.kind, within=rules.stated_within, between=rules.stated_between)
        return beginning(stated, rules)

    def rests(self, draft: Draft) -> str:
        """What an operation's time rests on, in words."""
        if draft.kind is None:
            return ""
        if draft.stated is not None:
            return "your own minutes"
        return rests_on(self.beliefs[draft.kind.name], draft.kind.source)


def rests_on(belief: Belief, source: str) -> str:
    """What a kind's time rests on, in words."""
    if belief.jobs:
        return f"{belief.jobs} logged job{'s' if belief.jobs != 1 else ''}"
    return "your own rate" if source.startswith("the shop") else f"usual times, {source}"


def known_times(
    job: Job, drafts: Sequence[Draft], log: Mapping[str, Logged], table: HoursTable, *, own_log: bool = True
) -> Known:
    """What the logs teach of the kinds that a job has.

    Hours count in the order of their dates, the job's own last. Where the job has a log of its own, rows of the history that bear
    its title are left out, so that nothing counts twice.

    Args:
        job: with the shop's history
        drafts: its operations
        log: what was logged of them
        table: kinds with their usual times, or the shop's own
        own_log: whether the job's own log counts
    """
    title = job.stated.job.title
    taken: dict[str, list[Taken]] = {}
    not_known: dict[str, int] = {}
    for row in job.history:
        if row.job == title and log:
            continue
        kind = table.kinds.get(row.kind)
        if kind is None:
            not_known[row.kind] = not_known.get(row.kind, 0) + 1
            continue
        taken.setdefault(row.kind, []).append(Taken(row.job, row.minutes / kind.usual(row.amount)))
    if own_log:
        for kind_name, each in _own(title, drafts, log):
            taken.setdefault(kind_name, []).append(each)
    used = {draft.kind.name: draft.kind for draft in drafts if draft.kind is not None}
    half_life = job.shop.hours.half_life
    beliefs = {
        name: learn(beginning(table.kinds[name], table.spread), taken.get(name, ()), table.spread, half_life)
        for name in used
    }
    return Known(table, beliefs, not_known)


def _own(title: str, drafts: Sequence[Draft], log: Mapping[str, Logged]) -> Iterable[tuple[str, Taken]]:
    """What the job's own log tells, in the order in which it was done; what has minutes of its own teaches nothing."""
    done = [(log[draft.name], draft) for draft in drafts if draft.name in log and draft.kind and draft.stated is None]
    told = [(state, draft) for state, draft in done if state.took is not None and draft.usual > 0.0]
    for state, draft in sorted(told, key=lambda pair: str(pair[0].done)):
        assert state.took is not None and draft.kind is not None
        yield draft.kind.name, Taken(title, state.took / draft.usual)
