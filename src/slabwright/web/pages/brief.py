"""The brief: the six answers and what else is asked, with a picture of the piece that is being agreed on."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any, Literal

from fastapi import APIRouter
from fastapi.responses import RedirectResponse
from pydantic import Field

from slabwright.job.check import missing
from slabwright.job.folder import JOB_FILE
from slabwright.job.starter import BASES
from slabwright.quantities import format_length
from slabwright.web.desk import Desk
from slabwright.web.figures import figures, problems
from slabwright.web.headlines import HEADLINES
from slabwright.web.models import Figure, JobId, JobView, Model
from slabwright.web.page import Page, Standing, job_page
from slabwright.web.pages.brief_picture import picture
from slabwright.web.store import Now

router = APIRouter()

_FIGURES = (
    "board.thickness",
    "slab.seat.bound",
    "top.placement.length",
    "base.height.even",
    "carry.mass.value",
    "base.tip_load",
)


class Asked(Model):
    """One thing that is asked."""

    key: str = Field(description="of the job file")
    question: str
    kind: Literal["length", "words", "choice"]
    answer: str = Field(description="as it is typed; nothing where it is open")
    choices: list[str] = Field(default_factory=list, description="where only some words can be chosen")
    hint: str = Field("", description="an example, or what holds while it is open")
    main: bool = Field(description="whether it is one of the six answers")
    may_be_open: bool = Field(False, description="of a choice: whether it can be left open, also once it was answered")


class Open(Model):
    """What is not stated yet."""

    key: str
    why: str = Field(description="what it would make possible")
    how: str = Field(description="what to write or do")


class BriefView(JobView):
    """What is to be made."""

    asked: list[Asked]
    open: list[Open] = Field(description="what is still to be stated, in the order of the work")
    figures: list[Figure] = Field(description="what came of it")
    picture: str = Field(description="SVG: the piece from the front and from the end, as far as it is stated")
    picture_words: str = Field(description="the picture in words")


def _typed(files: Mapping[str, bytes], key: str, otherwise: object) -> str:
    """What the job file says under a key, as it was typed; what holds where it says nothing."""
    here: Any = tomllib.loads(files[JOB_FILE].decode("utf-8-sig").replace("\r\n", "\n"))
    for part in key.split("."):
        here = here.get(part) if isinstance(here, dict) else None
    found = otherwise if here is None else here
    return "" if found is None else str(found)


def _asked(now: Now) -> list[Asked]:
    assert now.planned.result is not None
    stated = now.planned.result.job.stated
    inch = stated.job.units == "inch"
    plain = "inches" if inch else "mm"
    files = now.revision.files

    def length(key: str, question: str, hint: str, *, main: bool = True) -> Asked:
        question = f"{question} ({plain}, or with its unit)"
        return Asked(key=key, question=question, kind="length", answer=_typed(files, key, None), hint=hint, main=main)

    def choice(key: str, question: str, otherwise: str | None, choices: list[str], *, main: bool = False) -> Asked:
        answer = _typed(files, key, otherwise)
        open_too = key in ("piece.base", "room.kind")
        return Asked(
            key=key, question=question, kind="choice", answer=answer, choices=choices, main=main, may_be_open=open_too
        )

    def words(key: str, question: str, hint: str, *, main: bool = False) -> Asked:
        return Asked(key=key, question=question, kind="words", answer=_typed(files, key, None), hint=hint, main=main)

    piece = stated.piece
    as_wide = _as_wide(now)
    rooms = ["heated house", "air-conditioned", "church"]
    return [
        length("piece.length", "Length, along the grain", "7' 6\"" if inch else "2200"),
        length("piece.width", "Width", f"open: {as_wide}" if as_wide else "open: as both live edges are"),
        length("piece.height", "Height above the floor", '29 1/2"' if inch else "740"),
        words("slab.species", "Wood", "ash, white", main=True),
        words("piece.finish", "Finish", "hard-wax oil", main=True),
        choice("piece.base", "Base", piece.base, list(BASES), main=True),
        words("job.title", "What the piece is called", "Reading table"),
        words("job.client", "For whom", "a name"),
        length("piece.thickness", "Thickness of the top", "max: the most the slab gives", main=False),
        words("job.date", "Date on the sheets", "2026-11-25"),
        choice("piece.live_edges", "Live edges", piece.live_edges, ["both", "none"]),
        choice("room.kind", "Where it will stand", stated.room.kind if stated.room else None, rooms),
        choice("job.units", "Plain numbers are, and figures are shown in", stated.job.units, ["metric", "inch"]),
    ]


def _as_wide(now: Now) -> str:
    """How wide the top comes out where no width is stated; nothing where nobody knows."""
    result = now.planned.result
    if result is None or result.top is None or result.job.stated.piece.width is not None:
        return ""
    units = result.job.stated.job.units
    wide = result.top.width
    return f"about {format_length(round(wide / 10.0) * 10.0 if units == 'metric' else wide, units, 0)}"


def _view(desk: Desk, now: Now) -> BriefView:
    head = desk.head(now)
    result = now.planned.result
    if result is None:
        return BriefView(head=head, asked=[], open=[], figures=[], picture="", picture_words="")
    drawn, words = picture(result.job.stated, width=_as_wide(now))
    return BriefView(
        head=head,
        problems=problems(now.planned, ("job", "piece", "room")),
        asked=_asked(now),
        open=[Open(key=item.key, why=item.why, how=item.how) for item in missing(result.job)],
        figures=figures(now.planned, {path: HEADLINES[path] for path in _FIGURES}),
        picture=drawn,
        picture_words=words,
    )


def _standing(now: Now) -> Standing:
    result = now.planned.result
    if result is None:
        return Standing("decide", "cannot be used yet")
    stated = result.job.stated
    piece = stated.piece
    answers = {
        "length": piece.length,
        "width": piece.width or (piece.live_edges == "both" or None),
        "height": piece.height,
        "wood": stated.slab,
        "base": piece.base,
        "finish": piece.finish,
    }
    lacking = [name for name, answer in answers.items() if answer is None]
    return Standing("ready", f"still open: {', '.join(lacking)}") if lacking else Standing("done", "six answers")


job_page(router, "brief", BriefView, _view, script="brief.js")


@router.get("/jobs/{job}", response_class=RedirectResponse, status_code=308, include_in_schema=False)
def whole_job(job: JobId) -> str:
    """A job's own address leads to its brief."""
    return f"/jobs/{job}/brief"


PAGE = Page("brief", "Brief", router, _standing)
