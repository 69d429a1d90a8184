"""What is different between two plans: every figure that moved, the problems that came and went."""

from __future__ import annotations

from slabwright.accounts import Account
from slabwright.findings import Finding
from slabwright.quantities import Units
from slabwright.web.figures import problem_of, told
from slabwright.web.headlines import HEADLINES
from slabwright.web.models import Moved, Movement, ProblemMoved
from slabwright.web.planning import Planned


def movement(before: Planned, after: Planned, old: int, new: int) -> Movement:
    """Compare the plans of two revisions.

    Args:
        before: the plan of revision `old`
        after: the plan of revision `new`
        old: number
        new: number
    """
    found_before = before.result.findings if before.result else ()
    found_after = after.result.findings if after.result else ()
    gone, come = _not_in(found_before, found_after), _not_in(found_after, found_before)
    pairs = []
    for finding in list(come):
        same = next((other for other in gone if other.code == finding.code), None)
        if same is not None:
            gone.remove(same)
            come.remove(finding)
            pairs.append(ProblemMoved(old=problem_of(same), new=problem_of(finding)))
    return Movement(
        old=old,
        new=new,
        moved=_moved(before, after),
        problems_new=[problem_of(finding) for finding in come],
        problems_gone=[problem_of(finding) for finding in gone],
        problems_moved=pairs,
        refused=after.refused or before.refused,
    )


def _not_in(these: tuple[Finding, ...], those: tuple[Finding, ...]) -> list[Finding]:
    known = set(those)
    return [finding for finding in these if finding not in known]


def _moved(before: Planned, after: Planned) -> list[Moved]:
    if before is after or before.result is None or after.result is None:
        return []
    heads = [planned.result.job.stated.job for planned in (before, after) if planned.result]
    rows = []
    missing = object()
    for path, account in after.figures.items():
        if before.plain.get(path, missing) != after.plain[path]:
            rows.append(_row(path, before, after, account, heads[1].units, heads[1].currency))
    gone = [path for path in before.figures if path not in after.figures]
    rows += [_row(path, before, after, before.figures[path], heads[1].units, heads[1].currency) for path in gone]
    return sorted(rows, key=lambda row: not row.main)


def _row(path: str, before: Planned, after: Planned, account: Account, units: Units, currency: str) -> Moved:
    about = account.description
    main = HEADLINES.get(path, "")

    def told_of(planned: Planned) -> str:
        there = planned.figures.get(path)
        return told(there, units, currency) if there else "was not there"

    return Moved(
        path=path,
        words=main or about.meaning,
        unit=about.unit,
        old=before.plain.get(path),
        new=after.plain.get(path),
        old_shown=told_of(before),
        new_shown=told_of(after) if path in after.figures else "is not there any more",
        main=bool(main),
    )
