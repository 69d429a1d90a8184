"""Job shops of the literature at their published optima, by the shop's own scheduling.

Instances: H. Fisher and G. L. Thompson (1963) and S. Lawrence (1984), from the OR-Library; sources in job_shops.txt.
"""

from __future__ import annotations

from itertools import pairwise

import pytest
from tests.published.job_shops import job_shop

from slabwright.shop.scheduling import schedule


@pytest.mark.parametrize(("name", "size"), [("ft06", 36), ("la01", 50)])
def test_optimal_makespan_is_proven(name: str, size: int) -> None:
    task, best = job_shop(name)
    found = schedule(task, aims=("last finish",), workers=1, seconds=60)
    assert len(found.operations) == size
    assert (found.aims[0].value, found.aims[0].bound, found.proven) == (best, best, True)
    assert max(planned.finish for planned in found.operations) == best
    needs = {operation.name: operation.needs for operation in task.operations}
    for machine in {name for names in needs.values() for name in names}:
        at_it = sorted((p.start, p.finish) for p in found.operations if machine in needs[p.name])
        assert all(one[1] <= other[0] for one, other in pairwise(at_it))
    by_name = found.by_name()
    for operation in task.operations:
        assert by_name[operation.name].finish - by_name[operation.name].start == operation.attended
        assert all(by_name[link.operation].finish <= by_name[operation.name].start for link in operation.after)
