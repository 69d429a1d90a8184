"""The top: a plan of either face, its features moved by typed distance, and clearances answered while they are typed."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from pydantic import Field

from slabwright.job.top_models import Channel, Placed, Top
from slabwright.quantities import INCH, Units
from slabwright.sheets.context import Context
from slabwright.sheets.top_words import Side, depth_of, size_of, tape
from slabwright.web.desk import Desk, DeskOf
from slabwright.web.figures import figures, problems
from slabwright.web.models import ERRORS, Figure, JobId, JobView, Model
from slabwright.web.page import Page, Standing
from slabwright.web.pages import top_remedies as top_remedies  # registers what the tool can mend
from slabwright.web.pages.top_as_made import MadePlate, plates_of
from slabwright.web.pages.top_fields import (
    FEATURE_KINDS,
    Asked,
    Switch,
    asked_of,
    corners_of,
    edges_of,
)
from slabwright.web.pages.top_picture import plan_picture, season_picture
from slabwright.web.pages.top_trying import (
    ClearanceView,
    TopAdded,
    TopNew,
    TopTried,
    TopTry,
    added,
    answer,
    clearances_of,
    season_words,
    tried,
)
from slabwright.web.store import NotThere, Now
from slabwright.web.typed import plan_of, typed

router = APIRouter()

_FIGURES = {
    "top.length": "Length",
    "top.width": "Width at its widest",
    "board.thickness": "Thickness that depths are measured from",
    "top.movement.width_change_dry": "Width, driest season",
    "top.movement.width_change_damp": "Width, dampest season",
    "top.staying_flat.cup_most": "Cup at most, left free",
}
Chosen = Annotated[int | None, Query(ge=0, le=400, description="number of the feature that is looked at, from 0")]
Up = Annotated[Side | None, Query(description="the face that is up; the feature's own if left out")]


class FeatureView(Model):
    """A feature of the top."""

    number: int = Field(description="among the features, from 0; drawings count from 1")
    name: str
    kind: str
    face: str
    place: str = Field(description="where it is and how large, as people read it")
    clashes: int = Field(description="how many of its distances do not hold")


class Step(Model):
    """How far one nudge goes."""

    mm: float
    words: str


class Kept(Model):
    """A place that is kept clear."""

    number: int = Field(description="from 0")
    name: str
    what: str
    corners: list[tuple[str, str]] = Field(description="as they are typed")


class Editor(Model):
    """One feature as it is changed."""

    number: int
    name: str
    kind: str
    face: str
    asked: list[Asked]
    corners: list[tuple[str, str]] = Field(description="of a channel, as they are typed")
    edges: list[Switch] = Field(description="of a chamfer or a round")
    place: tuple[float, float] | None = Field(description="along, across [mm]")
    movable: bool = Field(description="whether it can be nudged")
    season: str
    clearances: list[ClearanceView]


class TopView(JobView):
    """What is let into the top."""

    waits: str = Field("", description="what the top waits for, or nothing")
    features: list[FeatureView]
    editor: Editor | None = Field(description="the feature that is looked at")
    side: Side = Field(description="the face that is up")
    picture: str = Field(description="SVG of that face, to scale")
    season: str = Field(description="SVG of the width over the year; nothing where it is not known")
    kinds: list[str] = Field(description="of features that can be added")
    steps: list[Step] = Field(description="of the nudge buttons")
    kept: list[Kept]
    plates: list[MadePlate] = Field(description="as they were made; one for each pocket")
    figures: list[Figure]


def _steps(units: Units) -> list[Step]:
    if units == "metric":
        return [Step(mm=step, words=f"{step:g} mm") for step in (1.0, 5.0, 25.0)]
    return [Step(mm=INCH * part, words=words) for part, words in ((1 / 16, '1/16"'), (1 / 4, '1/4"'), (1.0, '1"'))]


def _view(desk: Desk, now: Now, chosen: int | None, side: Side | None) -> TopView:
    head, result = desk.head(now), now.planned.result
    units: Units = result.job.stated.job.units if result else "metric"
    top = (result.job.stated.top if result else None) or Top()
    common: dict[str, Any] = {
        "head": head,
        "problems": problems(now.planned, ("top",)),
        "kinds": list(FEATURE_KINDS),
        "steps": _steps(units),
        "kept": [_kept(top, number, units) for number in range(len(top.keep_clear))],
        "figures": figures(now.planned, _FIGURES),
    }
    if result is None or result.top is None or result.board is None:
        waits = next((one.waits_for for one in result.waiting if one.stage in ("slab", "top")), "") if result else ""
        return TopView(
            **common, waits=waits or "a job that can be used", features=[], editor=None, side="underside", picture="",
            season="", plates=[],
        )  # fmt: skip
    found = tried(result, now.revision.files, {})
    clashes = [one for one in found.near if not one.holds]
    broken = [name for one in clashes for name in (one.first, one.second) if name]
    context = Context(found.plan)
    views = [
        FeatureView(
            number=number,
            name=placed.name,
            kind=placed.kind,
            face=placed.face,
            place=_place(placed, asked, context),
            clashes=broken.count(placed.name),
        )
        for number, (placed, asked) in enumerate(zip(found.top.features, top.features, strict=False))
    ]
    number = _first(views) if chosen is None or chosen >= len(views) else chosen
    editor = editor_of(now, number) if views else None
    up: Side = side or ("show" if editor is not None and editor.face == "show" else "underside")
    name = editor.name if editor else ""
    return TopView(
        **common,
        features=views,
        editor=editor,
        side=up,
        picture=plan_picture(context, found.top, up, name, False, clashes),
        season=season_picture(found.top, context.words),
        plates=plates_of(top, found.top, units),
    )


def _first(views: list[FeatureView]) -> int:
    return next((view.number for view in views if view.clashes), 0)


def _place(placed: Any, asked: Any, context: Context) -> str:
    words = context.words
    size = size_of(placed, asked, words)
    if placed.along is None or placed.across is None:
        return f"{size}, {depth_of(placed, asked, words)} deep" if placed.solids else size
    across = placed.across
    side = (
        "on the centre line" if abs(across) < 0.05 else f"{tape(abs(across), words)} {'far' if across > 0 else 'near'}"
    )
    return f"{tape(placed.along, words)} along, {side}; {size}"


def _kept(top: Top, number: int, units: Units) -> Kept:
    place = top.keep_clear[number]
    corners = [(str(typed(x, units)), str(typed(y, units))) for x, y in place.outline]
    return Kept(number=number, name=place.name, what=place.what, corners=corners)


def editor_of(now: Now, number: int) -> Editor:
    """One feature as it is changed.

    Raises:
        SlabwrightError: there is no top.
        NotThere: there is no such feature.
    """
    result = now.planned.result
    if result is None or result.top is None:
        raise NotThere("the top is not worked out yet")
    top = result.job.stated.top or Top()
    if not 0 <= number < len(top.features):
        raise NotThere(f"the top has no feature {number}")
    found = tried(result, now.revision.files, {})
    units = result.job.stated.job.units
    stated, placed = top.features[number], found.top.features[number]
    files = now.revision.files
    return Editor(
        number=number,
        name=stated.name,
        kind=stated.kind,
        face=stated.face,
        asked=asked_of(top, number, files, units),
        corners=corners_of(top, number, files),
        edges=edges_of(top, number),
        place=None if placed.along is None or placed.across is None else (placed.along, placed.across),
        movable=isinstance(stated, Placed | Channel),
        season=season_words(found.top, stated.name, units),
        clearances=clearances_of(found.near, stated.name, units),
    )


def _standing(now: Now) -> Standing:
    result = now.planned.result
    if result is None:
        return Standing("waiting", "waits for the brief")
    if result.top is None:
        waits = next((one.waits_for for one in result.waiting if one.stage in ("slab", "top")), "the slab")
        return Standing("waiting", f"waits for {waits.partition(':')[0]}")
    found = [one for one in result.findings if one.code.startswith("top/") and one.severity == "stop"]
    if found:
        return Standing("decide", f"{len(found)} to mend")
    features = result.job.stated.top.features if result.job.stated.top else []
    return Standing(
        "done" if features else "ready",
        f"{len(features)} feature{'s' if len(features) != 1 else ''}, clear" if features else "no features yet",
    )


@router.get("/api/jobs/{job}/top", responses=ERRORS, tags=["top"], operation_id="top_page")
def top_page(job: JobId, desk: DeskOf, feature: Chosen = None, side: Up = None) -> TopView:
    """The page `top` of a job."""
    return _view(desk, desk.store.now(job), feature, side)


@router.get("/jobs/{job}/top", response_class=HTMLResponse, include_in_schema=False)
def top_html(job: JobId, desk: DeskOf, request: Request, feature: Chosen = None, side: Up = None) -> HTMLResponse:
    """The page for people."""
    now = desk.store.now(job)
    return desk.job_html(request, "top.html", _view(desk, now, feature, side), now, page="top", script="top.js")


@router.get("/jobs/{job}/top/feature/{number}", response_class=HTMLResponse, include_in_schema=False)
def feature_html(job: JobId, number: int, desk: DeskOf) -> HTMLResponse:
    """One feature's form, for the page that is shown."""
    now = desk.store.now(job)
    units = now.planned.result.job.stated.job.units if now.planned.result else "metric"
    view = {"editor": editor_of(now, number), "steps": _steps(units)}
    return HTMLResponse(desk.templates.get_template("top_feature.html").render(view=view, head={"job": job}))


@router.post("/api/jobs/{job}/top/try", responses=ERRORS, tags=["top"])
def top_try(job: JobId, asked: TopTry, desk: DeskOf) -> TopTried:
    """What would come of a change of the top: clearances, nearest free place, picture; nothing is saved."""
    return answer(plan_of(desk, job, asked.revision), desk.store.revision(job, asked.revision).files, asked)


@router.post("/api/jobs/{job}/top/new", responses=ERRORS, tags=["top"])
def top_new(job: JobId, asked: TopNew, desk: DeskOf) -> TopAdded:
    """What an edit adds a feature with, so that it lies free; nothing is saved."""
    return added(plan_of(desk, job, asked.revision), desk.store.revision(job, asked.revision).files, asked)


PAGE = Page("top", "Top", router, _standing)
