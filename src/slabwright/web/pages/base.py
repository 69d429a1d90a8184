"""The base: its picture, what a push moves, others beside it, whether the legs can be cut, and steel like a tape."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any, Literal

from fastapi import APIRouter
from pydantic import Field

from slabwright.base.base_results import Mend
from slabwright.base.basing import BasePlan
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base
from slabwright.job.folder import JOB_FILE
from slabwright.plan import Plan
from slabwright.quantities import Units, format_mass, format_stiffness
from slabwright.reference.steel import steel
from slabwright.sheets.base_drawing import seen_from
from slabwright.sheets.base_words import mitre_words
from slabwright.sheets.top_words import tape
from slabwright.sheets.words import Words
from slabwright.web.desk import Desk, DeskOf
from slabwright.web.figures import figures, problems
from slabwright.web.models import ERRORS, Figure, JobId, JobView, Model, Remedy
from slabwright.web.page import Page, Standing, job_page
from slabwright.web.pages import base_remedies as base_remedies
from slabwright.web.pages.base_changes import Change, as_it_is, mending, values_of
from slabwright.web.pages.base_picture import KINDS, kind_picture, stack_picture, steel_tape, views
from slabwright.web.pages.base_trying import (
    BaseTried,
    BaseTry,
    Compared,
    MadeOf,
    answer,
    figures_of,
    loads_for,
    made_of,
)
from slabwright.web.pages.top_fields import Asked, FieldKind
from slabwright.web.store import Now
from slabwright.web.typed import plan_of

router = APIRouter()

_FIGURES = {
    "base.height.even": "Height above the floor",
    "base.sway_stiffness.x": "Push for a millimetre, lengthwise",
    "base.sway_stiffness.y": "Push for a millimetre, crosswise",
    "base.sway_frequency": "Sways, times a second",
    "base.sag.now": "Sags now",
    "base.sag.long_term": "Sags after years",
    "base.stress.margin": "Times the load that the steel bears",
    "base.bolt_pull.margin": "Times the load that the bolts bear",
    "base.tip_load": "Load at the edge that tips it",
    "base.mass": "Weight of the steel",
    "base.top_mass": "Weight of the top",
    "base.paint_area": "Steel that is coated",
}
_SIZES: tuple[tuple[str, str, FieldKind], ...] = (
    ("tube", "Tube of the legs", "words"),
    ("spread", "Leg frames apart, middle to middle", "length"),
    ("across", "Leg frame across, outside to outside", "length"),
    ("top_across", "Trestle at its top", "length"),
    ("rail_height", "Stretcher or rail above the floor", "length"),
    ("rail", "Rails, if not of the tube", "words"),
    ("stretcher", "Stretcher", "words"),
    ("plate.width", "Plates, along the top", "length"),
    ("plate.length", "Plates, across the top", "length"),
    ("plate.thickness", "Plates, thickness", "length"),
    ("feet.travel_up", "Levellers: way out", "length"),
    ("feet.travel_down", "Levellers: way in", "length"),
)
_MAIN = ("tube", "spread", "across", "rail_height", "plate.width", "plate.thickness")
_AS_MADE: tuple[tuple[str, str, FieldKind], ...] = (
    ("leg_as_made", "Leg as made: foot's seat to the plate's underside", "length"),
    ("plate_as_made", "Plates as made, with their paint", "length"),
)


class Kind(Model):
    """A picture to choose."""

    name: str
    picture: str = Field(description="SVG")
    chosen: bool


class SizeAsked(Asked):
    """A size of the base."""

    holds: str = Field("", description="what holds while nothing is stated")
    main: bool = Field(description="whether it is one of the main sizes")


class Stiffer(Model):
    """A change that was tried in the model."""

    change: str
    steel: str = Field(description="that it adds")
    along: str = Field(description="stiffness lengthwise with it")
    across: str = Field(description="stiffness crosswise with it")
    gain: float = Field(description="stiffness of the way that it helps most, with it over without")
    apply: Remedy | None = Field(description="what the tool can do about it at once")


class Column(MadeOf):
    """Another base to hold beside the planned one."""

    name: str


class Tape(Model):
    """A length of steel and what is cut of it."""

    words: str
    picture: str = Field(description="SVG")
    pieces: list[str]


class BaseView(JobView):
    """The steel under the top."""

    waits: str = Field("", description="what the base waits for, or nothing")
    kinds: list[Kind]
    views: list[str] = Field(description="SVG: from the near side and from the left end, with what a push moves")
    stack: str = Field("", description="SVG: what adds up to the height")
    legs: Literal["yes", "no", "cut long", ""] = Field("", description="whether the legs can be cut now")
    legs_words: str = Field("", description="the same, in a sentence")
    legs_wait: str = Field("", description="what is better settled before they are cut, though their length is known")
    asked: list[SizeAsked]
    as_made: list[SizeAsked]
    tubes: list[str] = Field(description="sections that are listed")
    now: list[Compared] = Field(description="the base that is planned")
    here: Column | None = Field(None, description="what the base that is planned is made of")
    columns: list[Column] = Field(description="others to begin with")
    mends: list[Stiffer]
    tapes: list[Tape]
    figures: list[Figure]


def _written(files: Mapping[str, bytes], key: str) -> str:
    here: Any = tomllib.loads(files[JOB_FILE].decode("utf-8-sig").replace("\r\n", "\n")).get("base")
    for part in key.split("."):
        here = here.get(part) if isinstance(here, dict) else None
    return "" if here is None else str(here)


def _asked(now: Now, rows: tuple[tuple[str, str, FieldKind], ...], kind: str | None) -> list[SizeAsked]:
    assert now.planned.result is not None
    plan = now.planned.result
    holds = _holds(plan)
    found = []
    for key, question, field in rows:
        if key == "top_across" and kind != "trestles":
            continue
        found.append(
            SizeAsked(
                key=f"base.{key}",
                name=key.replace(".", "-"),
                question=question,
                kind=field,
                answer=_written(now.revision.files, key),
                holds=holds.get(key, ""),
                main=key in _MAIN,
            )
        )
    return found


def _holds(plan: Plan) -> dict[str, str]:
    """What the plan takes for sizes that are not stated."""
    if plan.base is None or not plan.base.drawn.plates:
        return {}
    words, drawn = Words(plan.job.stated.job.units), plan.base.drawn
    change, base = as_it_is(plan.base), plan.job.stated.base or Base()
    places = sorted(plate.x for plate in drawn.plates)
    x0, _, x1, _ = seen_from(plan.base, "left").steel.bounds
    lengths = {
        "spread": places[-1] - places[0],
        "across": float(x1 - x0),
        "plate.width": drawn.plates[0].width,
        "plate.length": drawn.plates[0].length,
        "plate.thickness": drawn.plates[0].thickness,
        "feet.travel_up": base.feet.travel()[1],
        "feet.travel_down": base.feet.travel()[0],
    }
    if plan.base.stack is not None:
        lengths |= {"leg_as_made": plan.base.stack.leg, "plate_as_made": plan.base.stack.plate}
    return {"tube": change.tube or "", "stretcher": change.stretcher or "none"} | {
        key: tape(value, words) for key, value in lengths.items()
    }


def _view(desk: Desk, now: Now) -> BaseView:
    head, plan = desk.head(now), now.planned.result
    kind = plan.job.stated.piece.base if plan else None
    units: Units = plan.job.stated.job.units if plan else "metric"
    common: dict[str, Any] = {
        "head": head,
        "problems": problems(now.planned, ("base",)),
        "kinds": [Kind(name=one, picture=kind_picture(one), chosen=one == kind) for one in KINDS],
        "tubes": [row.name for row in steel().rows.values() if "tube" in row.kind and row.system == units],
        "figures": [_rounded(one) for one in figures(now.planned, _FIGURES)],
    }
    if plan is None or plan.base is None or plan.top is None:
        waits = (
            next((one.waits_for for one in plan.waiting if one.stage in ("base", "top", "slab")), "") if plan else ""
        )
        return BaseView(
            **common, waits=waits or "a job that can be used", views=[], asked=_asked(now, _SIZES, kind) if plan else [],
            as_made=[], now=[], columns=[], mends=[], tapes=[],
        )  # fmt: skip
    base, words = plan.base, Words(units, plan.job.stated.job.currency)
    assert base.cut_list is not None
    changes = {} if plan.job.stated.base is not None and plan.job.stated.base.nodes else mending(plan)
    stack = base.stack
    return BaseView(
        **common,
        views=views(base, loads_for(plan.job, base), words),
        stack=stack_picture(base, stack, words) if stack is not None else "",
        legs=stack.safe_to_cut if stack is not None else "",
        legs_words=_legs(base, words),
        legs_wait=_legs_wait(plan) if stack is not None and stack.safe_to_cut == "yes" else "",
        asked=_asked(now, _SIZES, kind),
        as_made=_asked(now, _AS_MADE, kind) if stack is not None else [],
        now=figures_of(base, base.cut_list, plan.job),
        here=_column("As it is", as_it_is(base), units) if base.drawn.plates else None,
        columns=_columns(plan, changes) if base.drawn.plates else [],
        mends=[_stiffer(plan, mend, changes, units) for mend in base.mends],
        tapes=_tapes(base, words),
    )


def _rounded(one: Figure) -> Figure:
    """A margin is told in tenths: it is not known better."""
    if one.unit == "1" and isinstance(one.value, float):
        return one.model_copy(update={"shown": f"{one.value:.1f} times"})
    return one


def _legs_wait(plan: Plan) -> str:
    """What is better settled before the legs are cut, though their length is known."""
    waits = []
    if above := _stops_above(plan):
        waits.append(f"mend what says stop on slab and top ({above})")
    if not (plan.job.stated.base and plan.job.stated.base.model_fields_set):
        waits.append("choose tube and sizes: so far they are the usual ones")
    return f"First {', and '.join(waits)}." if waits else ""


def _legs(base: BasePlan, words: Words) -> str:
    stack = base.stack
    if stack is None:
        return ""
    leg = tape(stack.leg, words)
    return {
        "yes": f"Yes: {leg} from the foot's seat to the plate's underside.",
        "no": "No: the slab is not read, so nobody knows how thick the top comes out.",
        "cut long": f"Cut them {tape(stack.leg + stack.cut_long, words)}, {tape(stack.cut_long, words)} long, and trim them when"
        " the top is made.",
    }[stack.safe_to_cut]


def _columns(plan: Plan, changes: Mapping[str, Change]) -> list[Column]:
    """The base as it is, and with the two mends that gain most for their steel, as two columns to begin with."""
    assert plan.base is not None
    units, here = plan.job.stated.job.units, as_it_is(plan.base)
    likely = [changes[mend.change] for mend in plan.base.mends if mend.change in changes]
    return [_column(name, other, units) for name, other in zip("AB", [*likely, here, here], strict=False)]


def _column(name: str, change: Change, units: Units) -> Column:
    return Column(name=name, **made_of(change, units).model_dump())


def _stiffer(plan: Plan, mend: Mend, changes: Mapping[str, Change], units: Units) -> Stiffer:
    apply = None
    change = changes.get(mend.change)
    if change is not None:
        try:
            values = values_of(plan, change)
        except SlabwrightError:
            values = {}
        if values:
            apply = Remedy(words=f"Take {mend.change}", values=values)
    return Stiffer(
        change=mend.change,
        steel=f"{format_mass(mend.mass, units)} more" if mend.mass > 0.0 else "none more",
        along=format_stiffness(mend.sway_x, units),
        across=format_stiffness(mend.sway_y, units),
        gain=mend.gain,
        apply=apply,
    )


def _tapes(base: BasePlan, words: Words) -> list[Tape]:
    longest = max((one.length for one in base.bars), default=1.0)
    numbers = {part.name: (k, part) for k, part in enumerate(base.parts, start=1)}
    found = []
    for one in base.bars:
        counts: dict[str, int] = {}
        for piece in one.pieces:
            counts[piece.part] = counts.get(piece.part, 0) + 1
        left = (
            f"{tape(one.offcut, words)} left, {'keep it' if one.kept else 'scrap'}"
            if one.offcut > 0
            else "nothing left"
        )
        times = f"{one.times} × " if one.times > 1 else ""
        found.append(
            Tape(
                words=f"{times}{one.section}, {tape(one.length, words)}, {one.source}; {left}",
                picture=steel_tape(one, base.parts, longest, words),
                pieces=[
                    f"{numbers[name][0]} {name}: {count} × {tape(numbers[name][1].rough, words)}, "
                    f"{mitre_words(numbers[name][1].mitres)}"
                    for name, count in counts.items()
                ],
            )
        )
    return found


def _standing(now: Now) -> Standing:
    plan = now.planned.result
    if plan is None or plan.base is None:
        waits = next((one.waits_for for one in plan.waiting if one.stage == "base"), "the top") if plan else "the brief"
        return Standing("waiting", f"waits for {waits.partition(':')[0]}")
    stops = [one for one in plan.findings if one.code.startswith("base/") and one.severity == "stop"]
    if stops:
        return Standing("decide", f"{len(stops)} to mend")
    if plan.base.stack is None:
        return Standing("done", "free frame")
    said = {"yes": "legs can be cut", "no": "do not cut the legs yet", "cut long": "cut the legs long"}
    state = plan.base.stack.safe_to_cut
    if state == "yes" and (above := _stops_above(plan)):
        return Standing("ready", f"the top first: {above} to mend")
    if state == "yes" and not (plan.job.stated.base and plan.job.stated.base.model_fields_set):
        return Standing("ready", "its steel is not chosen yet")
    return Standing("done" if state == "yes" else "ready", said[state])


def _stops_above(plan: Plan) -> int:
    """What is to be mended in the slab and the top before steel is cut for them."""
    return sum(one.severity == "stop" and one.code.partition("/")[0] in ("slab", "top") for one in plan.findings)


job_page(router, "base", BaseView, _view, script="base.js")


@router.post("/api/jobs/{job}/base/try", responses=ERRORS, tags=["base"])
def base_try(job: JobId, asked: BaseTry, desk: DeskOf) -> BaseTried:
    """What another base would come to beside the planned one; nothing is saved."""
    return answer(plan_of(desk, job, asked.revision), desk.store.revision(job, asked.revision).files, asked)


PAGE = Page("base", "Base", router, _standing)
