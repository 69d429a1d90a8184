"""The finish: how each defect is mended, what goes on wood and steel, when the next coat goes on, and what is mixed for it."""

from __future__ import annotations

import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from pydantic import Field

from slabwright.finish.finishing import FinishPlan
from slabwright.job.finish_models import Finish
from slabwright.sheets.context import Context
from slabwright.sheets.finish_drawing import degrees_text
from slabwright.web.desk import Desk, DeskOf
from slabwright.web.figures import figures, problems
from slabwright.web.models import ERRORS, Figure, JobId, JobView, Model, Number, Problem
from slabwright.web.page import Page, Standing
from slabwright.web.pages import finish_remedies as _finish_remedies  # noqa: F401  (makes its remedies known)
from slabwright.web.pages.finish_cards import CanView, Card, cans_of, coat_cards, resin_cards
from slabwright.web.pages.finish_coats import (
    SIDES,
    On,
    StartOption,
    SystemOption,
    SystemView,
    known_coatings,
    option_of,
    short_day,
    start_of,
    stops_of,
    system_view,
    tried,
)
from slabwright.web.pages.finish_mends import MendView, mend_views, there
from slabwright.web.pages.finish_next import NextCoat, first_of_all, next_coats
from slabwright.web.pages.finish_strips import DayStrip, day_strips
from slabwright.web.store import NotThere, Now
from slabwright.web.typed import plan_of

router = APIRouter()

_FIGURES = {
    "finish.mending.hours": "Work on defects and let-in wood",
    "finish.mending.money": "Defects and let-in wood cost",
    "finish.resin.mass": "Epoxy to mix",
    "finish.resin.wait": "From the first batch until the face may be cut",
    "finish.areas.wood": "Wood that is coated",
    "finish.areas.steel": "Steel that is coated",
    "finish.preparation.minutes_wood": "Getting the wood ready",
    "finish.preparation.minutes_steel": "Getting the steel ready",
    "finish.systems[0].film": "",
    "finish.systems[1].film": "",
    "finish.systems[0].dew_point": "Dew point of the shop's air",
}
At = Annotated[datetime.datetime | None, Query(description="the shop's clock, without a zone; this minute if left out")]


class Choice(Model):
    """A coating that can be chosen."""

    name: str
    words: str = Field(description="the same, and whether its figures are invented examples")


class FinishView(JobView):
    """How the piece is mended and coated."""

    waits: str = Field("", description="what the finish waits for, or nothing")
    next: list[NextCoat] = Field(description="what is to be done next, as the clock stands")
    picture: str = Field(description="address of the mending plan; nothing where nothing is mended")
    strips: list[DayStrip] = Field(description="a strip for each day of coats")
    mends: list[MendView]
    when: str = Field(description="between which cuts it is mended")
    systems: list[SystemView]
    coatings: list[Choice] = Field(description="the shop's, then invented examples")
    air: dict[str, str] = Field(description="what is stated of the shop's air and hours, as it is typed")
    cards: list[Card] = Field(description="mixing cards: epoxy, then coats")
    cans: list[CanView] = Field(description="to buy")
    log: int = Field(description="lines that the job's log has: the next one's number")
    figures: list[Figure]


class FinishTry(Model):
    """What is tried."""

    revision: Number = Field(description="that was looked at")
    values: dict[str, Any] = Field(
        default_factory=dict,
        max_length=60,
        description="as an edit takes them; keys of finish",
        examples=[{"finish.temperature": 16}, {"finish.start": "2026-12-14T17:00"}],
    )


class SystemTried(Model):
    """What came of it on the wood, or on the steel."""

    on: On
    system: SystemOption
    start: StartOption


class FinishTried(Model):
    """What came of it."""

    systems: list[SystemTried]
    problems: list[Problem] = Field(description="of the coats, worst first")


def _clock(at: datetime.datetime | None) -> datetime.datetime:
    """The shop's own clock: local, without a zone."""
    if at is None or not 1990 <= at.year <= 2200:
        return datetime.datetime.now()
    return at.replace(tzinfo=None)


def _view(desk: Desk, now: Now, at: datetime.datetime) -> FinishView:
    head, result = desk.head(now), now.planned.result
    empty: dict[str, Any] = {
        "head": head,
        "problems": problems(now.planned, ("finish",)),
        "next": [],
        "picture": "",
        "strips": [],
        "mends": [],
        "when": "",
        "systems": [],
        "coatings": [],
        "air": {},
        "cards": [],
        "cans": [],
        "log": len(result.job.stated.log) if result else 0,
        "figures": [],
    }
    if result is None or result.finish is None:
        waits = next((one.waits_for for one in result.waiting), "") if result else ""
        return FinishView(**empty | {"waits": waits or "a job that can be used"})
    words = Context(result).words
    finish = result.job.stated.finish or Finish()
    opens, closes = finish.hours
    names = {"wood": "Film on the wood", "steel": "Film on the steel"}
    wanted = {
        path: told or names[result.finish.systems[int(path[15])].on]
        for path, told in _FIGURES.items()
        if not path.startswith("finish.systems") or int(path[15]) < len(result.finish.systems)
    }
    view = empty | {
        "next": next_coats(result, at),
        "picture": f"/api/jobs/{now.row.id}/drawings/mending-plan?revision={now.revision.number}"
        if there(result)
        else "",
        "strips": day_strips(result, at),
        "mends": mend_views(result, words),
        "when": result.finish.mending.when,
        "systems": [
            one
            for on in SIDES
            if (one := system_view(result, on, words, at, ready=not first_of_all(result, on))) is not None
        ],
        "coatings": [
            Choice(name=sheet.name, words=f"{sheet.name} (invented example)" if example else sheet.name)
            for sheet, example in known_coatings(result.job)
        ],
        "air": {
            "temperature": "" if finish.temperature is None else f"{finish.temperature:g}",
            "humidity": "" if finish.humidity is None else f"{finish.humidity:g}",
            "steel_temperature": "" if finish.steel_temperature is None else f"{finish.steel_temperature:g}",
            # The file has it in degrees Celsius; a shop in inches reads the other scale.
            "warmth": ""
            if finish.temperature is None or words.metric
            else f": {finish.temperature:g} °C is {degrees_text(finish.temperature, words)}",
            "opens": _hour(opens),
            "closes": _hour(closes),
        },
        "cards": [*resin_cards(result, words), *coat_cards(result, words)],
        "cans": cans_of(result, words),
        "figures": figures(now.planned, {path: told for path, told in wanted.items() if _tells(result.finish, path)}),
    }
    return FinishView(**view)


def _tells(finish: FinishPlan, path: str) -> bool:
    """Whether a figure tells something: of nothing to mend no hours and no money are told."""
    mending = finish.mending
    return bool(mending.mends or mending.let_in) if path.startswith("finish.mending.") else True


def _hour(hours: float) -> str:
    whole = int(hours)
    return f"{whole:02d}:{round((hours - whole) * 60):02d}"


def _standing(now: Now) -> Standing:
    plan = now.planned.result
    if plan is None:
        return Standing("waiting", "waits for the brief")
    if plan.finish is None:
        return Standing("waiting", "waits for the slab")
    found = [one for one in plan.findings if one.code.startswith("finish/")]
    stops = sum(one.severity == "stop" for one in found)
    if stops:
        return Standing("decide", f"{stops} to mend")
    open_mends = sum(not mend.stated for mend in plan.finish.mending.mends)
    if open_mends:
        return Standing("decide", f"{open_mends} {'defect' if open_mends == 1 else 'defects'} to settle")
    if not plan.finish.systems:
        return Standing("ready", "no coats yet")
    last = [system.usable for system in plan.finish.systems]
    days = [datetime.datetime.fromisoformat(one) for one in last if one is not None]
    if len(days) < len(last):
        return Standing("ready", "no start yet")
    return Standing("done", f"usable {short_day(max(days))}")


@router.get("/api/jobs/{job}/finish", responses=ERRORS, tags=["finish"], operation_id="finish_page")
def finish_page(job: JobId, desk: DeskOf, at: At = None) -> FinishView:
    """The page `finish` of a job."""
    return _view(desk, desk.store.now(job), _clock(at))


@router.get("/jobs/{job}/finish", response_class=HTMLResponse, include_in_schema=False)
def finish_html(job: JobId, desk: DeskOf, request: Request, at: At = None) -> HTMLResponse:
    """The page for people."""
    now = desk.store.now(job)
    view = _view(desk, now, _clock(at))
    return desk.job_html(request, "finish.html", view, now, page="finish", script="finish.js")


@router.get("/api/jobs/{job}/finish/next", responses=ERRORS, tags=["finish"])
def finish_next(job: JobId, desk: DeskOf, at: At = None) -> list[NextCoat]:
    """What is to be done next on the wood and on the steel, as the clock stands."""
    plan = desk.store.now(job).planned.result
    return next_coats(plan, _clock(at)) if plan is not None else []


@router.post("/api/jobs/{job}/finish/try", responses=ERRORS, tags=["finish"])
def finish_try(job: JobId, asked: FinishTry, desk: DeskOf) -> FinishTried:
    """What would come of another system, another start or other air; nothing is saved."""
    plan = plan_of(desk, job, asked.revision)
    if plan.finish is None:
        raise NotThere("there is no finish to try yet: the slab is read first")
    words = Context(plan).words
    found = tried(plan, desk.store.revision(job, asked.revision).files, asked.values)
    systems = []
    for system in found.systems:
        title = ", ".join(dict.fromkeys(coat.coating for coat in system.coats))
        option = option_of(title, found, system.on, words, {}, example=bool(system.invented), taken=False)
        assert option is not None
        start = start_of("As typed", system, found, {}, taken=False)
        systems.append(SystemTried(on=system.on, system=option, start=start))
    return FinishTried(systems=systems, problems=stops_of(found))


PAGE = Page("finish", "Finish", router, _standing)
