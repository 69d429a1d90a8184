"""The jobs of the book: which there are, a new one from six answers, and one that comes as files."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from fastapi import APIRouter, File, Request, UploadFile
from fastapi.responses import HTMLResponse
from pydantic import Field

from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE
from slabwright.job.load import SHOP_FILE, general_shop_file
from slabwright.job.starter import BASES, QUESTIONS, Answers, shop_starter, starter
from slabwright.quantities import QuantityError, Units
from slabwright.reference.wood import near_species
from slabwright.reference.wood import species as species_named
from slabwright.web.desk import DeskOf, SessionOf
from slabwright.web.models import ERRORS, Model, Saved
from slabwright.web.page import Page
from slabwright.web.security.uploads import LARGEST, MOST_FILES, checked_folder
from slabwright.web.shop_file import shop_files

router = APIRouter()
_MOST_WOODS = 8


class JobView(Model):
    """A job in the list."""

    id: int
    title: str
    client: str
    revision: int
    who: str = Field(description="saved the newest revision")
    when: datetime = Field(description="the newest revision was saved")
    state: str = Field(description="new, changes asked, approved, in work or done")


class JobsView(Model):
    """The jobs of the book."""

    jobs: list[JobView] = Field(description="the one that was changed last comes first")


Typed = Annotated[str, Field(max_length=200)]


class SixAnswers(Model):
    """What is known when a job begins; nothing where it is still open."""

    title: str = Field(min_length=1, max_length=200, description="what the piece is called")
    client: Typed = Field("", description="for whom")
    units: Literal["metric", "inch"] = Field("metric", description="how plain numbers are meant")
    length: Typed = Field("", description="finished, along the grain: 2200, 2.2 m, 7' 6\"", examples=["2200"])
    width: Typed = Field("", description="finished; nothing where both long edges stay live", examples=["900"])
    height: Typed = Field("", description="above the floor", examples=["740"])
    species: Typed = Field("", description="as the reference table names it", examples=["ash, white"])
    base: Typed = Field("", description="a picture of the base", examples=["U legs"])
    finish: Typed = Field("", description="in your words", examples=["hard-wax oil"])


class WrongAnswer(Model):
    """An answer that cannot be used."""

    key: str = Field(description="of the question")
    error: str = Field(description="what is wrong, and what would be right")
    choices: list[str] = Field(description="near answers that can be used, the likeliest first")


class Checked(Model):
    """What was found of all answers at once."""

    wrong: list[WrongAnswer] = Field(description="in the order of the questions; none: a job can begin")


def _answers(given: SixAnswers) -> tuple[Answers, list[WrongAnswer]]:
    """The answers as they are to stand in the job file, without those that cannot be used; and these."""
    parsed: dict[str, str | float] = {}
    wrong: list[WrongAnswer] = []
    units: Units = given.units
    for question in QUESTIONS:
        typed = getattr(given, question.key).strip()
        if not typed or (question.key == "width" and "live" in typed.lower()):
            continue
        try:
            parsed[question.key] = question.parse(typed, units)
            if question.key == "species":
                parsed["species"] = species_named(typed).name
        except (QuantityError, SlabwrightError) as error:
            parsed.pop(question.key, None)
            choices = near_species(typed)[:_MOST_WOODS] if question.key == "species" else []
            words = f"{typed[:40]!r} is not a wood of the table by that name; choose one" if choices else str(error)
            wrong.append(WrongAnswer(key=question.key, error=words, choices=choices))
    return Answers(title=given.title, units=units, **parsed), wrong  # type: ignore[arg-type]


@router.get("/api/jobs", responses=ERRORS, tags=["jobs"])
def jobs(desk: DeskOf) -> JobsView:
    """Every job of the book."""
    rows = sorted(desk.store.book.jobs(), key=lambda row: (row.when, row.id), reverse=True)
    return JobsView(
        jobs=[
            JobView(
                id=row.id,
                title=row.title or "Without a title",
                client=row.client,
                revision=row.revision,
                who=row.who,
                when=row.when,
                state=row.state,
            )
            for row in rows
        ]
    )


@router.get("/jobs", response_class=HTMLResponse, include_in_schema=False)
def jobs_html(request: Request, desk: DeskOf) -> HTMLResponse:
    """The list."""
    context = {
        "view": jobs(desk),
        "questions": QUESTIONS,
        "bases": BASES,
        "species": _species(),
        "frame": {"page": "jobs"},
    }
    return desk.html(request, "jobs.html", context, script="jobs.js")


def _species() -> list[str]:
    from slabwright.reference.wood import all_species

    return list(all_species())


@router.post("/api/jobs/answers", responses=ERRORS, tags=["jobs"])
def check_answers(given: SixAnswers) -> Checked:
    """Look at the answers of a new job, all at once; nothing is begun."""
    return Checked(wrong=_answers(given)[1])


def _listed(choices: list[str]) -> str:
    return f" ({', '.join(choices)})" if choices else ""


@router.post("/api/jobs", responses=ERRORS, tags=["jobs"], status_code=201)
def new_job(given: SixAnswers, desk: DeskOf, session: SessionOf) -> Saved:
    """Begin a job from its six answers."""
    from slabwright.job.write import with_values

    answers, wrong = _answers(given)
    if wrong:
        raise SlabwrightError("; ".join(f"{one.key}: {one.error}{_listed(one.choices)}" for one in wrong))
    text = starter(answers)
    if given.client.strip():
        text = with_values(text, {"job.client": " ".join(given.client.split())})
    files = {JOB_FILE: text.encode()}
    if not general_shop_file().exists():
        files |= _newest_shop(desk) or {SHOP_FILE: shop_starter(answers.units).encode()}
    return _saved(desk, files, session, "begun from six answers")


def _newest_shop(desk: DeskOf) -> dict[str, bytes]:
    """The shop's figures are stated once: a new job begins with those of the job that was worked on last."""
    for row in sorted(desk.store.book.jobs(), key=lambda row: (row.when, row.id), reverse=True):
        found = shop_files(desk.store.revision(row.id, row.revision).files)
        if found:
            return found
    return {}


@router.post("/api/jobs/import", responses=ERRORS, tags=["jobs"], status_code=201)
def import_job(
    desk: DeskOf,
    session: SessionOf,
    files: Annotated[
        list[UploadFile], File(description="the files of a job's folder, or its zip", max_length=MOST_FILES)
    ],
) -> Saved:
    """Take a job that comes as files."""
    sent = {(one.filename or "").replace("\\", "/"): one.file.read(LARGEST + 1) for one in files}
    return _saved(desk, checked_folder(sent), session, "brought in as files")


def _saved(desk: DeskOf, files: dict[str, bytes], session: SessionOf, why: str) -> Saved:
    revision = desk.store.add(files, session.name, why)
    return Saved(job=revision.job, revision=revision.number, who=revision.who, when=revision.when, why=revision.why)


PAGE = Page("jobs", "Jobs", router)
