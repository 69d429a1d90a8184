"""Sheets: make them, see how far they are, and take them to the bench."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from fastapi import APIRouter
from fastapi import Path as InPath
from fastapi.responses import Response
from pydantic import Field

from slabwright.web.desk import Desk, DeskOf
from slabwright.web.editions import called, edition_of
from slabwright.web.figures import problems
from slabwright.web.models import ERRORS, JobId, JobView, Model
from slabwright.web.page import Page, Standing, job_page
from slabwright.web.pages.sheets_making import Making, zipped
from slabwright.web.pages.sheets_words import USES, words_of
from slabwright.web.security.gate import DRAWING_POLICY
from slabwright.web.store import NotThere, Now

router = APIRouter()
_TYPES = {
    "pdf": "application/pdf",
    "svg": "image/svg+xml",
    "dxf": "image/vnd.dxf",
    "json": "application/json",
    "csv": "text/csv; charset=utf-8",
    "ngc": "text/plain; charset=us-ascii",
}


class SheetFile(Model):
    """A file for the bench."""

    name: str
    size: int = Field(description="bytes")
    words: str = Field(description="what it is")
    use: str = Field(description="who takes it")


class Progress(Model):
    """How far the sheets are."""

    state: Literal["none", "drawing", "done", "failed"]
    step: str = Field(description="what is being drawn")
    error: str
    files: list[SheetFile] = Field(description="once they are done")


class SheetsView(JobView):
    """The sheets of the newest revision."""

    progress: Progress
    waiting: list[str] = Field(description="what will not be on them, and what it waits for")


def _progress(making: Making) -> Progress:
    files = []
    for name, data in making.files.items():
        use, words = words_of(name)
        files.append(SheetFile(name=name, size=len(data), words=words, use=use))
    files.sort(key=lambda one: USES.index(one.use))
    return Progress(state=making.state, step=making.step, error=making.error, files=files)


def _view(desk: Desk, now: Now) -> SheetsView:
    result = now.planned.result
    waiting = [f"{item.stage}: waits for {item.waits_for}" for item in result.waiting] if result else []
    stops = [problem for problem in problems(now.planned) if problem.severity == "stop"]
    return SheetsView(head=desk.head(now), problems=stops, progress=_progress(_making(desk, now)), waiting=waiting)


def _making(desk: Desk, now: Now) -> Making:
    return desk.sheets.of(now.planned, edition_of(now.revision))


@router.post("/api/jobs/{job}/sheets/make", responses=ERRORS, tags=["sheets"])
def make(job: JobId, desk: DeskOf) -> Progress:
    """Begin to make the sheets of the newest revision; they are drawn aside."""
    now = desk.store.now(job)
    return _progress(desk.sheets.begin(now.planned, edition_of(now.revision)))


@router.get("/api/jobs/{job}/sheets/progress", responses=ERRORS, tags=["sheets"])
def progress(job: JobId, desk: DeskOf) -> Progress:
    """How far they are."""
    return _progress(_making(desk, desk.store.now(job)))


def _made(desk: Desk, job: int) -> tuple[Now, Making]:
    now = desk.store.now(job)
    making = _making(desk, now)
    if making.state != "done":
        raise NotThere(f"the sheets of revision {now.revision.number} are not made yet; make them on the page Sheets")
    return now, making


_FILE: dict[int | str, dict[str, Any]] = {
    200: {"content": {kind: {} for kind in _TYPES.values()}, "description": "the file"}
}
_ZIP: dict[int | str, dict[str, Any]] = {200: {"content": {"application/zip": {}}, "description": "all files"}}


@router.get("/api/jobs/{job}/sheets/all.zip", response_class=Response, responses={**ERRORS, **_ZIP}, tags=["sheets"])
def all_files(job: JobId, desk: DeskOf) -> Response:
    """Every file in one zip."""
    now, making = _made(desk, job)
    name = called(now.row, now.revision.number)
    headers = {"content-disposition": f'attachment; filename="{name}.zip"'}
    return Response(zipped(making.files, name), media_type="application/zip", headers=headers)


@router.get(
    "/api/jobs/{job}/sheets/files/{name:path}", response_class=Response, responses={**ERRORS, **_FILE}, tags=["sheets"]
)
def one_file(job: JobId, name: Annotated[str, InPath(max_length=200)], desk: DeskOf) -> Response:
    """One of the files, by the name that the list tells; no other is looked for."""
    now, making = _made(desk, job)
    data = making.files.get(name)
    if data is None:
        raise NotThere(f"there is no {name[:60]!r} among the sheets")
    kind = _TYPES.get(name.rpartition(".")[2], "application/octet-stream")
    headers = {"content-security-policy": DRAWING_POLICY} if kind == "image/svg+xml" else {}
    how = "attachment" if kind == "application/octet-stream" else "inline"
    saved_as = called(now.row, now.revision.number, re.sub(r"[^A-Za-z0-9.-]+", "-", name))
    headers["content-disposition"] = f'{how}; filename="{saved_as}"'
    return Response(data, media_type=kind, headers=headers)


def _standing(now: Now) -> Standing:
    result = now.planned.result
    if result is None or (result.board is None and result.slab is None):
        return Standing("waiting", "waits for the slab")
    if any(finding.severity == "stop" for finding in result.findings):
        return Standing("decide", "a stop is to be mended")
    return Standing("ready", "can be made")


job_page(router, "sheets", SheetsView, _view, script="sheets.js")

PAGE = Page("sheets", "Sheets", router, _standing)
