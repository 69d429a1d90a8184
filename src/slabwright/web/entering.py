"""The way in: the passcode, the session, and the name of who works at a device."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse
from pydantic import Field

from slabwright.web.desk import Desk, DeskOf, SessionOf, device
from slabwright.web.models import ERRORS, Model

router = APIRouter()


class SessionView(Model):
    """A device at the pages."""

    who: str = Field(description="who works there, as revisions say")
    token: str = Field(description="that every change brings along, in the header X-Slabwright-Token")
    device: str = Field(description="a short mark; changes from this device carry it")


class Named(Model):
    """Who works at a device."""

    who: str = Field(min_length=1, max_length=60, description="a name, or a place such as the office")


def _view(desk: Desk, session: SessionOf) -> SessionView:
    return SessionView(who=session.name, token=desk.sessions.token(session), device=device(session))


def _plain(who: str) -> str:
    """A name on one line, without what cannot be printed."""
    return "".join(letter for letter in " ".join(who.split()) if letter.isprintable())


@router.get("/api/session", responses=ERRORS, tags=["session"])
def session(desk: DeskOf, session: SessionOf) -> SessionView:
    """This device: its token and its name."""
    return _view(desk, session)


@router.put("/api/session", responses=ERRORS, tags=["session"])
def name_session(named: Named, desk: DeskOf, session: SessionOf, response: Response) -> SessionView:
    """Say who works at this device."""
    session = replace(session, name=_plain(named.who) or session.name)
    response.headers["set-cookie"] = desk.sessions.header(session)
    return _view(desk, session)


@router.get("/login", include_in_schema=False, response_class=HTMLResponse)
def ask(request: Request, desk: DeskOf, session: SessionOf) -> Response:
    """Ask for the passcode."""
    if not desk.locked or session.entered:
        return RedirectResponse("/", status_code=303)
    return desk.html(request, "login.html", {"wrong": ""})


@router.post("/login", include_in_schema=False, response_class=HTMLResponse)
def enter(
    request: Request,
    desk: DeskOf,
    session: SessionOf,
    passcode: Annotated[str, Form(max_length=400)] = "",
    token: Annotated[str, Form(max_length=400)] = "",
    who: Annotated[str, Form(max_length=60)] = "",
) -> Response:
    """Take the passcode."""
    if not desk.sessions.brings(session, token):
        return desk.html(request, "login.html", {"wrong": "The page had grown old: give it once more."}, status=403)
    if not desk.passcode.holds(passcode):
        return desk.html(request, "login.html", {"wrong": "That is not the passcode."}, status=401)
    entered = session.anew()
    response = RedirectResponse("/", status_code=303)
    response.headers["set-cookie"] = desk.sessions.header(replace(entered, name=_plain(who) or entered.name))
    return response
