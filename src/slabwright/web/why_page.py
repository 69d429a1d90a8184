"""Why this number: the account of a figure, as JSON and as a piece of a page."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi import Path as InPath
from fastapi.responses import HTMLResponse

from slabwright.findings import SlabwrightError
from slabwright.web.desk import DeskOf
from slabwright.web.figures import why
from slabwright.web.models import ERRORS, JobId, Why
from slabwright.web.store import NotThere, Store

router = APIRouter()
FigurePath = Annotated[str, InPath(max_length=200, description="of the figure in plan.json: slab.seat.thickness")]
Revision = Annotated[int | None, Query(ge=1, le=2**31 - 1, description="of which; the newest if left out")]


def _why(store: Store, job: int, path: str, revision: int | None) -> Why:
    try:
        return why(store.planned(job, revision), path)
    except NotThere:
        raise
    except SlabwrightError as error:
        raise NotThere(str(error)) from None


@router.get("/api/jobs/{job}/why/{path:path}", responses=ERRORS, tags=["figures"])
def why_of(job: JobId, path: FigurePath, desk: DeskOf, revision: Revision = None) -> Why:
    """Where a figure comes from."""
    return _why(desk.store, job, path, revision)


@router.get("/jobs/{job}/why/{path:path}", response_class=HTMLResponse, include_in_schema=False)
def why_piece(request: Request, job: JobId, path: FigurePath, desk: DeskOf, revision: Revision = None) -> HTMLResponse:
    """The same as a piece of a page."""
    return desk.html(request, "why.html", {"why": _why(desk.store, job, path, revision)})


@router.get("/api/jobs/{job}/plan", responses=ERRORS, tags=["figures"])
def plan_of(job: JobId, desk: DeskOf, revision: Revision = None) -> dict[str, Any]:
    """The whole plan, as plan.json holds it."""
    planned = desk.store.planned(job, revision)
    if planned.result is None:
        raise SlabwrightError(planned.refused)
    return planned.json
