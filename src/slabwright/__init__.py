"""Slabwright: one commissioned table, from the brief and the measured slab to the bench.

    >>> from slabwright import load_job, plan                                # doctest: +SKIP
    >>> plan(load_job("job.toml")).slab.seat.thickness_low                   # doctest: +SKIP

Names are imported when they are asked for, so that the command answers at once.
"""

from __future__ import annotations

import importlib
import sys
from types import ModuleType
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

_HOMES = {
    "load_job": "slabwright.job",
    "Job": "slabwright.job",
    "JobFile": "slabwright.job",
    "ShopFile": "slabwright.job",
    "plan": "slabwright.plan",
    "Plan": "slabwright.plan",
    "as_json": "slabwright.plan",
    "SlabPlan": "slabwright.slab.results",
    "Seat": "slabwright.slab.seat",
    "Survey": "slabwright.slab.survey",
    "FrontPoint": "slabwright.slab.patch",
    "Patch": "slabwright.slab.patch",
    "ShimPlan": "slabwright.slab.shim_results",
    "Pass": "slabwright.slab.passes",
    "Board": "slabwright.slab.board",
    "Finding": "slabwright.findings",
    "SlabwrightError": "slabwright.findings",
    "explain": "slabwright.why",
}

if TYPE_CHECKING:
    from slabwright.findings import Finding, SlabwrightError
    from slabwright.job import Job, JobFile, ShopFile, load_job
    from slabwright.plan import Plan, as_json, plan
    from slabwright.slab.board import Board
    from slabwright.slab.passes import Pass
    from slabwright.slab.patch import FrontPoint, Patch
    from slabwright.slab.results import SlabPlan
    from slabwright.slab.seat import Seat
    from slabwright.slab.shim_results import ShimPlan
    from slabwright.slab.survey import Survey
    from slabwright.why import explain

__all__ = [
    "Board",
    "Finding",
    "FrontPoint",
    "Job",
    "JobFile",
    "Pass",
    "Patch",
    "Plan",
    "Seat",
    "ShimPlan",
    "ShopFile",
    "SlabPlan",
    "SlabwrightError",
    "Survey",
    "__version__",
    "as_json",
    "explain",
    "load_job",
    "plan",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'slabwright' has no attribute {name!r}")
    value = getattr(importlib.import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


class _PublicFace(ModuleType):
    """Keeps `slabwright.plan` the function, though a module of that name is imported below it."""

    def __setattr__(self, name: str, value: Any) -> None:
        super().__setattr__(name, value.plan if name == "plan" and isinstance(value, ModuleType) else value)


sys.modules[__name__].__class__ = _PublicFace
