"""The bench pages' application: the gate, every page, and errors that never tell more than one line."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from fastapi import Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware

from slabwright import __version__
from slabwright.book import Book
from slabwright.book.rows import Superseded
from slabwright.findings import SlabwrightError
from slabwright.web import assets, entering, jobs_api, why_page
from slabwright.web.desk import Desk
from slabwright.web.drawings import Drawer
from slabwright.web.linking import linked
from slabwright.web.live import Live
from slabwright.web.pages import PAGES
from slabwright.web.pages.sheets_making import SheetsMaker
from slabwright.web.plain_words import called, key_in, told_plainly
from slabwright.web.planning import Planner
from slabwright.web.security.client_links import ClientLinks
from slabwright.web.security.gate import Gate, Rules
from slabwright.web.security.keeping import Keeping
from slabwright.web.security.limits import Limits
from slabwright.web.security.passcode import Passcode
from slabwright.web.security.sessions import Sessions
from slabwright.web.store import Behind, NotThere, Store
from slabwright.web.taken_over import take_over
from slabwright.web.timing import Looks, Timed

_LOOKS = 2
"""Pages that are worked at at once."""
_THREADS = 128
"""Requests that are worked at or wait for their turn; a thread that waits costs next to nothing."""


def create_app(book: Book, keeping_folder: Path, *, rules: Rules | None = None, beside: bool = False) -> FastAPI:
    """The application.

    Args:
        book: opened; it stays open when the application is closed by `close_app`
        keeping_folder: where the server's key, the passcode's hash and the client links are kept
        rules: how strict the gate is; for this machine only if left out
        beside: whether long work is done in a process of its own

    Raises:
        SlabwrightError: the folder cannot be used.
    """
    rules = rules or Rules()
    keeping = Keeping(keeping_folder)
    take_over(book, keeping_folder)
    planner = Planner(beside=beside)
    store = Store(book, planner, Live())
    desk = Desk(
        store=store,
        sessions=Sessions(keeping.key),
        passcode=Passcode(keeping),
        links=ClientLinks(book.links, keeping.key),
        limits=Limits(),
        templates=_templates(),
        sheets=SheetsMaker(planner),
        drawer=Drawer(),
        pages=PAGES,
        locked=rules.locked,
    )

    app = FastAPI(
        title="Slabwright bench pages",
        version=__version__,
        description="Every page of the bench as JSON. Lengths in mm, angles in degrees, masses in kg, as plan.json has them. "
        "A change brings the header X-Slabwright-Token, which GET /api/session tells.",
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=_open,
    )
    app.state.desk = desk
    look = Depends(Looks(_LOOKS), scope="function")
    for router in (assets.router, entering.router, jobs_api.router, why_page.router, *(page.router for page in PAGES)):
        app.include_router(router, dependencies=[] if router is assets.router else [look])
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)
    app.add_middleware(Timed)
    app.add_middleware(Gate, sessions=desk.sessions, rules=rules, counted=desk.limits)
    _tell_errors(app, desk)
    return app


@asynccontextmanager
async def _open(_: FastAPI) -> AsyncIterator[None]:
    """Threads enough that those who wait for their turn at one job keep nobody from looking at another."""
    from anyio.to_thread import current_default_thread_limiter

    current_default_thread_limiter().total_tokens = _THREADS
    yield


def close_app(app: FastAPI) -> None:
    """Let the threads of an application go; what is being worked out is given up."""
    desk: Desk = app.state.desk
    desk.store.planner.close()
    desk.sheets.close()


def _templates() -> Environment:
    environment = Environment(
        loader=PackageLoader("slabwright.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["address"] = assets.address
    environment.filters["linked"] = linked
    environment.filters["plainly"] = told_plainly
    environment.filters["called"] = called
    return environment


def _tell_errors(app: FastAPI, desk: Desk) -> None:
    """One line for every error: JSON for the API, a page for people."""

    def told(request: Request, status: int, error: str, **more: Any) -> Response:
        if request.url.path.startswith("/api/"):
            return JSONResponse({"error": error, **more}, status_code=status)
        return desk.html(request, "trouble.html", {"status": status, "error": error}, status=status)

    @app.exception_handler(Superseded)
    def superseded(request: Request, error: Superseded) -> Response:
        return told(request, 409, str(error), newest=error.newest, draft=error.draft)

    @app.exception_handler(Behind)
    def behind(request: Request, error: Behind) -> Response:
        return told(request, 409, str(error), newest=error.newest, draft=None)

    @app.exception_handler(NotThere)
    def not_there(request: Request, error: NotThere) -> Response:
        return told(request, 404, str(error))

    @app.exception_handler(SlabwrightError)
    def unusable(request: Request, error: SlabwrightError) -> Response:
        words = " ".join(str(error).split())
        key = key_in(words)
        return told(request, 422, told_plainly(words), **({"key": key} if key else {}))

    @app.exception_handler(RequestValidationError)
    def unreadable(request: Request, error: RequestValidationError) -> Response:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"] if part not in ("body", "query", "path"))
        words = str(first["msg"])
        status = 404 if first["loc"][:1] == ("path",) else 422
        return told(request, status, f"{place}: {words}" if place else words)

    @app.exception_handler(HTTPException)
    def refused(request: Request, error: HTTPException) -> Response:
        words = {404: "there is no such page", 405: "this cannot be done here", 400: "this cannot be read"}
        status = 422 if error.status_code == 400 else error.status_code
        response = told(request, status, words.get(error.status_code, str(error.detail)))
        response.headers.update(error.headers or {})
        return response
