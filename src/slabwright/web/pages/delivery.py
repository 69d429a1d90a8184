"""The delivery: the way in drawn passage by passage and tried as it is typed, who lifts what, assembly, and cables."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter
from pydantic import Field

from slabwright.job.carry_models import Delivery
from slabwright.sheets.context import Context
from slabwright.web.desk import Desk, DeskOf
from slabwright.web.figures import figures, problems
from slabwright.web.models import ERRORS, Figure, JobId, JobView
from slabwright.web.page import Page, Standing, job_page
from slabwright.web.pages.delivery_hands import (
    AssemblyStepView,
    AssemblyWayView,
    CableView,
    HandsView,
    LiftView,
    assembly_steps,
    assembly_ways,
    cable_views,
    hands_view,
    lift_views,
)
from slabwright.web.pages.delivery_way import (
    DeliveryTried,
    DeliveryTry,
    KindForm,
    PassageForm,
    WayView,
    answered,
    general_of,
    kind_forms,
    margin_words,
    passage_forms,
    way_view,
)
from slabwright.web.store import Now
from slabwright.web.typed import plan_of

router = APIRouter()

_FIGURES = {
    "carry.mass.value": "Weight of the whole piece",
    "carry.mass.high": "Weight at most, 19 times in 20",
    "carry.assembly.stands.height": "Height of the stands for assembly",
    "carry.assembly.turning[0].room": "Floor to turn it over on",
}


class DeliveryView(JobView):
    """How it is carried in and put together."""

    waits: str = Field("", description="what the delivery waits for, or nothing")
    way: WayView | None = Field(description="the way in; nothing before top and base are known")
    passages: list[PassageForm] = Field(description="as they are typed")
    kinds: list[KindForm] = Field(description="of passages that can be added, with usual sizes as examples")
    general: dict[str, str] = Field(description="hand_room, padding and apart, as they are typed")
    lifts: list[LiftView]
    hands: HandsView | None
    ways: list[AssemblyWayView]
    steps: list[AssemblyStepView]
    cables: list[CableView]
    figures: list[Figure]


def _view(desk: Desk, now: Now) -> DeliveryView:
    head, plan = desk.head(now), now.planned.result
    view: dict[str, Any] = {
        "head": head,
        "problems": problems(now.planned, ("carry",)),
        "way": None,
        "passages": [],
        "kinds": [],
        "general": {},
        "lifts": [],
        "hands": None,
        "ways": [],
        "steps": [],
        "cables": [],
        "figures": [],
    }
    if plan is None:
        return DeliveryView(**view | {"waits": "a job that can be used"})
    units = plan.job.stated.job.units
    delivery = plan.job.stated.delivery or Delivery()
    words = Context(plan).words
    view |= {
        "passages": passage_forms(now.revision.files, units),
        "kinds": kind_forms(units),
        "general": general_of(now.revision.files, delivery, words),
        "lifts": lift_views(plan, words),
        "hands": hands_view(plan),
        "ways": assembly_ways(plan, words),
        "steps": assembly_steps(plan),
        "cables": cable_views(plan, now.row.id, now.revision.number, words),
        "figures": figures(now.planned, _FIGURES),
    }
    if plan.carry is not None and plan.base is not None and plan.top is not None:
        if plan.carry.way_in is not None:
            view["way"] = way_view(plan.base, delivery, plan.carry.way_in, words)
    else:
        view["waits"] = next((one.waits_for for one in plan.waiting), "the slab, the top and the base")
    return DeliveryView(**view)


def _standing(now: Now) -> Standing:
    plan = now.planned.result
    if plan is None:
        return Standing("waiting", "waits for the brief")
    if plan.carry is None or plan.base is None:
        return Standing("waiting", "waits for top and base")
    stops = sum(one.severity == "stop" and one.code.startswith("carry/") for one in plan.findings)
    if stops:
        return Standing("decide", f"{stops} to mend")
    way = plan.carry.way_in
    if way is None or way.margin is None:
        return Standing("ready", "the way is not stated")
    told = margin_words(way.margin, Context(plan).words, way.or_more)
    return Standing("done" if way.margin >= 0.0 else "decide", f"{told} at {way.tightest}")


@router.post("/api/jobs/{job}/delivery/try", responses=ERRORS, tags=["delivery"])
def delivery_try(job: JobId, asked: DeliveryTry, desk: DeskOf) -> DeliveryTried:
    """What is left on another way in; worked out at once without the rest of the plan, nothing is saved."""
    plan = plan_of(desk, job, asked.revision)
    files = desk.store.revision(job, asked.revision).files
    return answered(plan, files, asked, Context(plan).words)


job_page(router, "delivery", DeliveryView, _view, script="delivery.js")

PAGE = Page("delivery", "Delivery", router, _standing)
