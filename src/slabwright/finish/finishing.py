"""From the top and the base to what is mended, poured, prepared and coated."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.base.basing import BasePlan
from slabwright.findings import Finding
from slabwright.finish.areas import Areas, coated_areas
from slabwright.finish.coating_plan import coating_plan
from slabwright.finish.coating_results import SystemPlan
from slabwright.finish.mending import mending_plan
from slabwright.finish.mending_results import Mending
from slabwright.finish.preparation import Preparation, preparation
from slabwright.finish.resin import resin_plan
from slabwright.finish.resin_results import Resin
from slabwright.job.loaded import Job
from slabwright.slab.board import Board
from slabwright.slab.results import SlabPlan
from slabwright.top.results import TopPlan


@dataclass(frozen=True)
class FinishPlan:
    """Mending, epoxy, surface preparation and coats."""

    mending: Mending = figure("", "defects that stay in the top, and how each is mended")
    resin: Resin = figure("", "epoxy of filled dips and of what is mended: pours, batches and waits")
    areas: Areas = figure("mm2", "what is coated")
    preparation: Preparation = figure("", "what is done to each surface before it is coated")
    systems: tuple[SystemPlan, ...] = figure("", "coats on the wood and on the steel: amounts, batches and windows")


def finish_plan(
    job: Job,
    slab: SlabPlan,
    made: Board,
    top: TopPlan | None,
    base: BasePlan | None,
    *,
    mended: tuple[Mending, tuple[Finding, ...]] | None = None,
) -> tuple[FinishPlan, tuple[Finding, ...]]:
    """How the piece is mended and finished.

    Args:
        job: what is stated
        slab: the slab's plan
        made: the board as well as it is known
        top: the placed top; None where it is not placed
        base: the base; None where it is not planned
        mended: from `mending_plan` for the same job, slab, board and top, where it is known already

    Raises:
        SlabwrightError: a coating or a mend that is stated cannot be used.
    """
    mending, found = mended or mending_plan(job, slab, made, top)
    resin, more = resin_plan(job, slab, mending)
    areas = coated_areas(top, made, base, slab)
    prepared = preparation(job, areas)
    systems, coats = coating_plan(job, areas)
    plan = FinishPlan(mending, resin, areas, prepared, systems)
    return plan, (*found, *more, *prepared.findings, *coats)
