"""What a page is: its router, where its step stands, and both faces of its view from one function."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from slabwright.web.desk import Desk, DeskOf
from slabwright.web.models import ERRORS, JobId, JobView, StepState
from slabwright.web.store import Now

V = TypeVar("V", bound=JobView)


@dataclass(frozen=True)
class Standing:
    """Where a step of the work stands.

    Attributes:
        state: ready, waiting, done, or decide: a decision is to be taken
        words: in a few words, such as `waits for readings`
    """

    state: StepState
    words: str


@dataclass(frozen=True)
class Page:
    """A page of the bench.

    Attributes:
        name: in addresses: `/jobs/1/slab` and `/api/jobs/1/slab`
        title: in the line of steps
        router: its routes
        standing: where its step stands; None: it is no step of a job
    """

    name: str
    title: str
    router: APIRouter
    standing: Callable[[Now], Standing] | None = None


def job_page(
    router: APIRouter,
    name: str,
    model: type[V],
    view: Callable[[Desk, Now], V],
    *,
    script: str = "",
    template: str = "",
) -> None:
    """Give a job's page its two faces: `/api/jobs/{job}/NAME` (JSON) and `/jobs/{job}/NAME` (HTML).

    Args:
        router: of the page's module
        name: of the page
        model: what the view returns
        view: makes it from the job as it stands; runs on a thread, so it may take its time
        script: ES module below `static/`, if the page has one
        template: below `templates/`; NAME.html if left out
    """

    def twin(job: JobId, desk: DeskOf) -> JobView:
        return view(desk, desk.store.now(job))

    def shown(job: JobId, desk: DeskOf, request: Request) -> HTMLResponse:
        now = desk.store.now(job)
        return desk.job_html(request, template or f"{name}.html", view(desk, now), now, page=name, script=script)

    twin.__doc__ = f"The page `{name}` of a job."
    router.add_api_route(
        f"/api/jobs/{{job}}/{name}",
        twin,
        response_model=model,
        responses=ERRORS,
        tags=[name],
        operation_id=f"{name}_page",
        summary=f"The page {name} of a job",
    )
    router.add_api_route(
        f"/jobs/{{job}}/{name}", shown, response_class=HTMLResponse, include_in_schema=False, name=f"{name}_html"
    )
