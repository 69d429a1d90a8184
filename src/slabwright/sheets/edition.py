"""Which revision files are of: printed on each, and no part of the plan that they are made from."""

from __future__ import annotations

import dataclasses
import datetime

from slabwright.job.loaded import Job
from slabwright.plan import Plan


@dataclasses.dataclass(frozen=True)
class Edition:
    """A revision as files name it.

    Attributes:
        revision: its number in the book
        day: on which it was saved
    """

    revision: int
    day: datetime.date


def job_in(job: Job, edition: Edition) -> Job:
    """A job whose papers say the book's revision and its day, in place of what the job file says of itself.

    Two revisions may have the same files: the plan is the same then, and what is printed on its papers is not.
    """
    head = job.stated.job.model_copy(update={"revision": str(edition.revision), "date": edition.day.isoformat()})
    return dataclasses.replace(job, stated=job.stated.model_copy(update={"job": head}))


def plan_in(plan: Plan, edition: Edition) -> Plan:
    """A plan whose sheets, drawings, papers and programs say the book's revision and its day; no figure of it moves."""
    from slabwright.machine.machining import title_of, titled

    job = job_in(plan.job, edition)
    machine = plan.machine
    if machine is not None:
        machine = titled(machine, title_of(plan.job.stated.job), title_of(job.stated.job))
    return dataclasses.replace(plan, job=job, machine=machine)
