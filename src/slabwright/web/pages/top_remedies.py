"""Clashes in the top that a move mends: the move that the remedy names, as a change of the job."""

from __future__ import annotations

import re
import threading
from collections import OrderedDict

from slabwright.findings import Finding
from slabwright.plan import Plan
from slabwright.top.moving import Trial
from slabwright.web.models import Remedy
from slabwright.web.pages.top_trying import Tried, typed_changes
from slabwright.web.planning import Planned
from slabwright.web.remedies import remedies_for

_MOVE = re.compile(r"(?:Move|Shift the whole path of) '(?P<name>.+?)'(?: with what| \d| -| under|\.|:)")
_KEPT = 4
_trials: OrderedDict[str, Trial] = OrderedDict()
_lock = threading.Lock()


def _trial(digest: str, plan: Plan) -> Trial:
    """What was tried on this plan before; it keeps the places that it found."""
    assert plan.top is not None
    with _lock:
        found = _trials.get(digest)
        if found is None:
            found = _trials[digest] = Trial(plan.top.layout, plan.top.clearances, plan.job.stated.job.units)
            while len(_trials) > _KEPT:
                _trials.popitem(last=False)
        return found


@remedies_for("top/too-close")
@remedies_for("top/near-edge")
@remedies_for("top/outside")
@remedies_for("top/nut-room")
@remedies_for("top/keep-clear")
@remedies_for("top/worked-edge")
def _moved_clear(finding: Finding, planned: Planned) -> Remedy | None:
    """The nearest free place, where the remedy is to move something there."""
    plan = planned.result
    told = _MOVE.match(finding.remedy)
    if plan is None or plan.top is None or told is None:
        return None
    stated = plan.job.stated.top
    if stated is None or stated.plates_as_made:
        return None  # features follow the plates that were made: what is typed is not what is laid out
    trial = _trial(planned.digest, plan)
    name = told["name"]
    if name not in trial.stated or trial.tired:
        return None
    move = trial.free_place(name)
    if move is None or not finding.remedy.startswith(move.words):
        return None
    values = typed_changes(
        Tried(plan.job, plan, plan.top, plan.top.clearances), move.changes, plan.job.stated.job.units
    )
    return Remedy(words=f"Move {name} there", values=values)
