"""What is different between two plans: every figure that moved, the problems that came and went."""

from __future__ import annotations

from slabwright.accounts import as_plain
from slabwright.findings import Finding
from slabwright.quantities import Units
from slabwright.web.differing import Difference, differing
from slabwright.web.figures import problem_of, told
from slabwright.web.headlines import HEADLINES
from slabwright.web.models import Moved, Movement, ProblemMoved
from slabwright.web.planning import Planned
from slabwright.why import PARTS


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
    """Every figure that moved, the main ones first."""
    if before is after or before.result is None or after.result is None:
        return []
    head = after.result.job.stated.job
    rows = []
    for part in PARTS:
        pair = getattr(before.result, part), getattr(after.result, part)
        rows += [_row(one, head.units, head.currency) for one in differing(*pair, part)]
    return sorted(rows, key=lambda row: not row.main)


def _row(one: Difference, units: Units, currency: str) -> Moved:
    known = one.new or one.old
    assert known is not None
    main = HEADLINES.get(one.path, "")
    return Moved.model_construct(  # hundreds of them, of figures that are what they say
        path=one.path,
        words=main or known.description.meaning,
        unit=known.description.unit,
        old=as_plain(one.old.value) if one.old else None,
        new=as_plain(one.new.value) if one.new else None,
        old_shown=told(one.old, units, currency) if one.old else "was not there",
        new_shown=told(one.new, units, currency) if one.new else "is not there any more",
        main=bool(main),
    )
