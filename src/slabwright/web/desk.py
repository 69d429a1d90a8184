"""What every page works at: the store, the keys, the templates; and who asks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import Depends, Request
from fastapi.responses import HTMLResponse

from slabwright.web.drawings import Drawer
from slabwright.web.models import Head, JobView, Step
from slabwright.web.security.client_links import ClientLinks
from slabwright.web.security.limits import Limits
from slabwright.web.security.passcode import Passcode
from slabwright.web.security.sessions import Session, Sessions
from slabwright.web.store import Now, Store

if TYPE_CHECKING:
    from jinja2 import Environment

    from slabwright.web.page import Page
    from slabwright.web.pages.sheets_making import SheetsMaker


@dataclass(frozen=True)
class Desk:
    """What every page works at.

    Attributes:
        store: the book and its plans
        sessions: devices
        passcode: of a server that others can reach
        links: given to clients
        limits: how often who came
        templates: Jinja's
        sheets: makes the sheets aside
        drawer: draws what pages show
        pages: every page, in the order of the work
        locked: whether the passcode is wanted
    """

    store: Store
    sessions: Sessions
    passcode: Passcode
    links: ClientLinks
    limits: Limits
    templates: Environment
    sheets: SheetsMaker
    drawer: Drawer
    pages: tuple[Page, ...]
    locked: bool

    def head(self, now: Now) -> Head:
        """The job, and where its steps stand."""
        result = now.planned.result
        steps = []
        for page in self.pages:
            if page.standing is not None:
                standing = page.standing(now)
                steps.append(Step(name=page.name, title=page.title, state=standing.state, words=standing.words))
        return Head(
            job=now.row.id,
            title=now.row.title or "Without a title",
            client=now.row.client,
            revision=now.revision.number,
            units=result.job.stated.job.units if result else "metric",
            refused=now.planned.refused,
            steps=steps,
        )

    def html(
        self, request: Request, template: str, context: Mapping[str, Any], *, script: str = "", status: int = 200
    ) -> HTMLResponse:
        """A page in its frame.

        Args:
            request: that asks for it
            template: below `templates/`
            context: what the template reads, beside `frame`
            script: ES module below `static/`
            status: HTTP status
        """
        session = session_of(request)
        frame = {
            "token": self.sessions.token(session),
            "who": session.name,
            "script": script,
            "locked": self.locked,
            "page": "",
            "job": 0,
            "revision": 0,
        }
        whole = {"frame": frame | dict(context.get("frame", {})), **{k: v for k, v in context.items() if k != "frame"}}
        return HTMLResponse(self.templates.get_template(template).render(whole), status_code=status)

    def job_html(
        self, request: Request, template: str, view: JobView, now: Now, *, page: str, script: str = ""
    ) -> HTMLResponse:
        """A job's page in its frame; the template reads `view`, `head`, and `now` (with the plan)."""
        frame = {"page": page, "job": now.row.id, "revision": now.revision.number}
        context = {"frame": frame, "view": view, "head": view.head, "now": now}
        return self.html(request, template, context, script=script)


def desk_of(request: Request) -> Desk:
    """The desk of the application that is asked."""
    desk: Desk = request.app.state.desk
    return desk


def session_of(request: Request) -> Session:
    """The device that asks."""
    session: Session = request.state.session
    return session


async def _desk_at_once(request: Request) -> Desk:
    return desk_of(request)


async def _session_at_once(request: Request) -> Session:
    return session_of(request)


DeskOf = Annotated[Desk, Depends(_desk_at_once)]
SessionOf = Annotated[Session, Depends(_session_at_once)]
"""Told by the event loop itself: to look them up is less work than to hand that to a thread."""


def device(session: Session) -> str:
    """A short mark of a device, which tells nothing of its session."""
    import hashlib

    return hashlib.sha256(session.id.encode()).hexdigest()[:12]
