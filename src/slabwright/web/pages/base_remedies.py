"""What the page of the base can do about a problem at once."""

from __future__ import annotations

import tomllib

from slabwright.findings import Finding
from slabwright.web.models import Remedy
from slabwright.web.planning import Planned
from slabwright.web.remedies import remedies_for


@remedies_for("base/inserts-unstated")
def _inserts(_: Finding, planned: Planned) -> Remedy | None:
    """The inserts that the base's bolts want, as features of the top."""
    plan = planned.result
    if plan is None or plan.base is None or not plan.base.inserts_to_paste:
        return None
    fresh = tomllib.loads(plan.base.inserts_to_paste)["top"]["features"]
    held = plan.job.stated.top.features if plan.job.stated.top is not None else []
    values = {f"top.features[{len(held) + number}]": one for number, one in enumerate(fresh)}
    return Remedy(words=f"Put the {len(fresh)} inserts into the top", values=values)
