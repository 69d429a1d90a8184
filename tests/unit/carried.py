"""Plans of the examples, worked out once for all tests that carry and put together."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from slabwright.job.load import load_job
from slabwright.plan import Plan, plan

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def worked_out(name: str) -> Plan:
    """The plan of an example."""
    return plan(load_job(EXAMPLES / name / "job.toml"))
