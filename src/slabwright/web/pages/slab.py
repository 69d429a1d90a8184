"""The slab: both faces over the planes that are cut, the ways out of a dip, how much fill, the depths, the bed, what came out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fastapi import APIRouter
from pydantic import Field

from slabwright.quantities import format_length
from slabwright.sheets.context import Context
from slabwright.web.desk import Desk
from slabwright.web.figures import figures, problems
from slabwright.web.models import Figure, JobView, Model
from slabwright.web.page import Page, Standing, job_page
from slabwright.web.pages import slab_files, slab_shape
from slabwright.web.pages.readings_entries import journals
from slabwright.web.pages.slab_cuts import DepthView, StackView, depth_views, stack_views
from slabwright.web.pages.slab_pictures import bed_picture
from slabwright.web.pages.slab_ways import FillView, WayView, fill_views, way_views
from slabwright.web.store import Now

if TYPE_CHECKING:
    from slabwright.plan import Plan

router = APIRouter()
router.include_router(slab_shape.router)
router.include_router(slab_files.router)

_FIGURES = {
    "slab.seat.thickness_low_filled": "Board that is sure, with the chosen fill",
    "slab.seat.thickness": "Board of the readings as they are",
    "slab.seat.bound": "No lie without fill gives more than",
    "slab.seat.thickness_low": "Sure 19 times in 20, nothing filled",
    "slab.seat.thickness_even": "Even chance, nothing filled",
    "slab.seat.target": "Finished board that is planned for",
    "slab.seat.milled": "As the cutter leaves it",
    "board.thickness": "What later work is planned with",
    "slab.seat.cut_a": "Most that comes off face A",
    "slab.seat.cut_b": "Most that comes off face B",
    "slab.seat.cut_tilt_x": "Tilt across",
    "slab.seat.cut_tilt_y": "Tilt along the grain",
    "slab.shims.loss": "What the steps of the stacks cost",
    "slab.survey.spacing": "Readings lie apart",
    "slab.survey.sag": "Sag that was taken out",
    "slab.moisture.verdict": "Dry enough?",
}


class CheckView(Model):
    """What was found while working."""

    number: int = Field(description="as checks[number] in the job file")
    words: str


class SlabView(JobView):
    """From the readings to the flat board."""

    stated: bool = Field(description="whether the job has a slab")
    read: bool = Field(description="whether it was read")
    planned: bool = Field(description="whether a board came out")
    reading: str = Field(description="readings that are being taken, or nothing")
    wanted: str = Field(description="thickness that is asked for")
    unit: str
    figures: list[Figure]
    faces: list[str] = Field(description="addresses of the maps of the faces, the first to be cut first")
    ways: list[WayView]
    fills: list[FillView]
    volume_unit: str
    depths: list[DepthView]
    depths_key: str = Field(description="address of what the colours mean; nothing where there are no depths")
    bed: str = Field(description="SVG: the slab on its stacks")
    bed_words: str
    stacks: list[StackView]
    checks: list[CheckView]
    as_made: dict[str, str] = Field(description="what came out, by key, as it is typed")
    fill: dict[str, str] = Field(description="prices and consent, by key, as they are typed")


def _checks(now: Now) -> list[CheckView]:
    assert now.planned.result is not None
    stated = now.planned.result.job.stated
    units = stated.job.units
    found = []
    for number, check in enumerate(stated.checks):
        at = "" if check.at is None else " at " + ", ".join(format_length(value, units) for value in check.at)
        when = f", {check.date}" if check.date else ""
        found.append(
            CheckView(
                number=number,
                words=f"Face {check.face} after its {check.after}: {check.kind} {format_length(check.value, units)}{at}{when}",
            )
        )
    return found


def _typed(value: float | None, plan: Plan) -> str:
    return "" if value is None else format_length(value, plan.job.stated.job.units)


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _view(desk: Desk, now: Now) -> SlabView:
    head = desk.head(now)
    plan = now.planned.result
    if plan is None:
        return SlabView.model_validate(_EMPTY | {"head": head})
    stated = plan.job.stated
    begun = journals(desk).read(now.row.id)
    made, fill = stated.as_made, stated.fill
    view: dict[str, Any] = _EMPTY | {
        "head": head,
        "problems": problems(now.planned, ("slab",)),
        "stated": stated.slab is not None,
        "read": plan.job.readings is not None,
        "planned": plan.slab is not None,
        "reading": f"{len(begun.taken)} of {len(begun.wanted)} places" if begun else "",
        "wanted": "the most the slab gives"
        if stated.piece.thickness == "max"
        else format_length(stated.piece.thickness, stated.job.units),
        "unit": "mm" if stated.job.units == "metric" else "in",
        "figures": figures(now.planned, _FIGURES),
        "checks": _checks(now),
        "as_made": {
            f"as_made.{key}": _typed(getattr(made, key) if made else None, plan)
            for key in ("thickness", "length", "width")
        },
        "fill": {
            "fill.price_per_litre": _plain(fill.price_per_litre),
            "fill.price_per_visible_area": _plain(fill.price_per_visible_area),
            "fill.underside_price_per_litre": _plain(fill.underside_price_per_litre),
            "fill.choose": "" if fill.choose is None else str(fill.choose),
            "fill.client_agrees": "" if fill.client_agrees is None else "yes" if fill.client_agrees else "no",
        },
    }
    if plan.slab is not None:
        context = Context(plan)
        job, revision = now.row.id, now.revision.number
        depths = depth_views(plan, context, job, revision)
        bed, bed_words = bed_picture(plan) if plan.slab.shims is not None else ("", "")
        view |= {
            "faces": [
                f"/api/jobs/{job}/drawings/slab-face-{face.lower()}?revision={revision}" for face in context.faces
            ],
            "ways": way_views(plan, plan.slab, context.words),
            "fills": fill_views(plan, plan.slab, context.words),
            "volume_unit": context.words.volume_unit,
            "depths": depths,
            "depths_key": f"/api/jobs/{job}/drawings/slab-scale?revision={revision}" if depths else "",
            "bed": bed,
            "bed_words": bed_words,
            "stacks": stack_views(context),
        }
    return SlabView.model_validate(view)


_EMPTY: dict[str, Any] = {
    "problems": [],
    "stated": False,
    "read": False,
    "planned": False,
    "reading": "",
    "wanted": "",
    "unit": "mm",
    "figures": [],
    "faces": [],
    "ways": [],
    "fills": [],
    "volume_unit": "litres",
    "depths": [],
    "depths_key": "",
    "bed": "",
    "bed_words": "",
    "stacks": [],
    "checks": [],
    "as_made": {},
    "fill": {},
}


def _standing(now: Now) -> Standing:
    plan = now.planned.result
    if plan is None:
        return Standing("waiting", "waits for a job that can be used")
    stated = plan.job.stated
    if stated.slab is None:
        return Standing("waiting", "waits for the wood")
    if plan.slab is None:
        return Standing("ready", "to be read") if plan.job.readings is None else Standing("decide", "no board yet")
    board, words = plan.board, Context(plan).words
    if board is not None and board.basis == "as made":
        return Standing("done", f"made: {words.fine(board.thickness)}")
    sure = words.least(plan.slab.seat.thickness_low_filled)
    stops = any(one.severity == "stop" and one.code.startswith("slab/") for one in plan.findings)
    return Standing("decide" if stops else "done", f"sure: {sure}")


job_page(router, "slab", SlabView, _view, script="slab.js")

PAGE = Page("slab", "Slab", router, _standing)
