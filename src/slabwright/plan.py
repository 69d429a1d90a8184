"""The one place that says which stage follows which."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.findings import Finding
from slabwright.job.loaded import Job
from slabwright.slab.results import SlabPlan


@dataclass(frozen=True)
class Waiting:
    """A stage that was left out, and what it waits for."""

    stage: str
    waits_for: str


@dataclass(frozen=True)
class Plan:
    """All that follows from a job as it stands today."""

    slab: SlabPlan | None = figure("", "the slab's plan; empty where there are no readings yet")
    waiting: tuple[Waiting, ...] = figure("", "stages left out, and what they wait for")
    findings: tuple[Finding, ...] = figure("", "checks and problems")
    job: Job = working()
