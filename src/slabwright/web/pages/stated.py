"""All that is stated: every key of the job file and of the shop's file as a plain question, and the same shop for other jobs."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from pydantic import Field

from slabwright.findings import SlabwrightError
from slabwright.job.folder import JOB_FILE
from slabwright.web.desk import Desk, DeskOf, SessionOf, device
from slabwright.web.models import ERRORS, GREATEST, JobId, JobView, Model
from slabwright.web.page import Page, Standing
from slabwright.web.shop_file import shop_files, shop_text
from slabwright.web.stated_form import File, StatedTable, stated_tables
from slabwright.web.store import Now, Superseded

router = APIRouter()

Which = Annotated[File, Query(description="which of the two files")]


class OtherJob(Model):
    """Another job that could take this one's shop file."""

    job: int
    title: str
    same: bool = Field(description="whether its shop file is the same already")


class StatedView(JobView):
    """What a file states, and what else it could state."""

    file: File
    tables: list[StatedTable]
    general: bool = Field(description="whether the shop's figures come from the file in the user's config folder")
    others: list[OtherJob] = Field(description="jobs that could take the same shop file")


class Spread(Model):
    """Jobs that are to take this job's shop file."""

    jobs: list[Annotated[int, Field(ge=1, le=GREATEST)]] = Field(min_length=1, max_length=200)


class Taken(Model):
    """What came of it for one job."""

    job: int
    title: str
    revision: int = Field(description="that it is at now")
    refused: str = Field("", description="why it could not take the file; nothing where it took it")


class SpreadAnswer(Model):
    """What came of it for each job."""

    taken: list[Taken]


def _view(desk: Desk, now: Now, file: File) -> StatedView:
    files = now.revision.files
    if file == "job":
        return StatedView(
            head=desk.head(now), file=file, tables=stated_tables(files[JOB_FILE], file), general=False, others=[]
        )
    text, general = shop_text(files)
    others = []
    for row in desk.store.book.jobs():
        if row.id != now.row.id:
            same = shop_files(desk.store.revision(row.id, row.revision).files) == shop_files(files)
            others.append(OtherJob(job=row.id, title=row.title or "Without a title", same=same))
    return StatedView(head=desk.head(now), file=file, tables=stated_tables(text, file), general=general, others=others)


def _standing(now: Now) -> Standing:
    return Standing("ready", "every figure, job and shop")


@router.get("/api/jobs/{job}/stated", responses=ERRORS, tags=["stated"], operation_id="stated_page")
def stated_page(job: JobId, desk: DeskOf, file: Which = "job") -> StatedView:
    """The page `stated` of a job."""
    return _view(desk, desk.store.now(job), file)


@router.get("/jobs/{job}/stated", response_class=HTMLResponse, include_in_schema=False)
def stated_html(job: JobId, desk: DeskOf, request: Request, file: Which = "job") -> HTMLResponse:
    """The page for people."""
    now = desk.store.now(job)
    return desk.job_html(request, "stated.html", _view(desk, now, file), now, page="stated", script="stated.js")


@router.post("/api/jobs/{job}/stated/shop", responses=ERRORS, tags=["stated"])
def spread(job: JobId, asked: Spread, desk: DeskOf, session: SessionOf) -> SpreadAnswer:
    """Put this job's shop file into other jobs, each as a new revision of its own."""
    now = desk.store.now(job)
    shop = shop_files(now.revision.files)
    if not shop:
        raise SlabwrightError("this job has no shop file of its own: state one of the shop's figures first")
    title = now.row.title or "another job"
    taken = []
    for number in dict.fromkeys(asked.jobs):
        row = desk.store.row(number)
        files = {**desk.store.revision(number, row.revision).files, **shop}
        try:
            edited = desk.store.save(
                number, files, row.revision, session.name, f"the shop's figures as in {title}", device=device(session)
            )
            taken.append(Taken(job=number, title=row.title, revision=edited.revision))
        except (SlabwrightError, Superseded) as refused:
            taken.append(Taken(job=number, title=row.title, revision=row.revision, refused=str(refused)))
    return SpreadAnswer(taken=taken)


PAGE = Page("stated", "Stated", router, _standing)
