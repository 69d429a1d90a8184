"""The gate before every page: whose host, which device, with its token, how much and how often; and what the browser may do."""

from __future__ import annotations

import logging
import math
from dataclasses import dataclass
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import RedirectResponse, Response

from slabwright.web.security import limits
from slabwright.web.security.refusals import refused
from slabwright.web.security.sessions import COOKIE, Session, Sessions, new_session

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

_LOG = logging.getLogger("slabwright.web")
_FAULT = "a fault of this program, not of yours; what was saved is safe. The server's own log tells more"
TOKEN_HEADER = "x-slabwright-token"
LOCAL = frozenset({"127.0.0.1", "localhost", "::1"})
"""Names by which a machine calls itself."""
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
CONTENT_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data: blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
DRAWING_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox"
"""For a drawing that is opened by itself: it may look as it does, and do nothing."""
OPENER = "cross-origin-opener-policy"
HEADERS = {
    "content-security-policy": CONTENT_POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    OPENER: "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "geolocation=(), microphone=(), payment=(), usb=()",
}
_OPEN = ("/static/", "/client/", "/api/client/", "/login")
"""What is shown without the passcode: the way in, and what the client's own link opens."""
_OWN_TOKEN = ("/login", "/client/")
"""Plain forms, which bring their token among their fields; these pages check it themselves."""


@dataclass(frozen=True)
class Rules:
    """How strict the gate is.

    Attributes:
        hosts: names under which the server may be asked, without port; None: any (behind a passcode)
        locked: whether a passcode is wanted
        largest_body: bytes of a request that brings no files
        largest_upload: bytes of a request that brings files
    """

    hosts: frozenset[str] | None = LOCAL
    locked: bool = False
    largest_body: int = 256 * 1024
    largest_upload: int = 64 * 1024 * 1024


@dataclass
class _State:
    """How far a request is."""

    started: bool = False
    too_much: bool = False


class _TooMuch(Exception):  # noqa: N818 - it never leaves this file
    """A body grew beyond what is taken."""


class Gate:
    """ASGI middleware.

    Args:
        app: what stands behind the gate
        sessions: reads and writes the device's cookie
        rules: how strict it is
        counted: how often which address came
    """

    def __init__(self, app: ASGIApp, *, sessions: Sessions, rules: Rules, counted: limits.Limits) -> None:
        self._app = app
        self._sessions = sessions
        self._rules = rules
        self._limits = counted

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        session, is_new = self._session(headers)
        scope.setdefault("state", {})["session"] = session
        state = _State()

        async def sent(message: Message) -> None:
            if state.too_much and not state.started:
                return  # what the application makes of a body that was cut off is not told
            if message["type"] == "http.response.start":
                state.started = True
                own = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    if name != OPENER or _trusted(scope, headers):
                        own.setdefault(name, value)
                own.setdefault("cache-control", "no-store")
                if is_new and not scope["path"].startswith("/static/") and "set-cookie" not in own:
                    own.append("set-cookie", self._sessions.header(session))
            await send(message)

        answer = self._refusal(scope, headers, session)
        if answer is None:
            try:
                await self._app(scope, self._counted(scope, headers, receive, state), sent)
            except _TooMuch:
                pass
            except Exception:
                _LOG.exception("%s %s", scope["method"], scope["path"])
                if not state.started:
                    answer = refused(scope, 500, _FAULT)
            if state.too_much and not state.started:
                state.too_much = False
                answer = refused(scope, 413, _too_large(self._most(headers)))
        if answer is not None:
            await answer(scope, receive, sent)

    def _session(self, headers: Headers) -> tuple[Session, bool]:
        try:
            cookie = SimpleCookie(headers.get("cookie", "")).get(COOKIE)
        except CookieError:
            cookie = None
        session = self._sessions.read(cookie.value) if cookie else None
        return (session, False) if session else (new_session(), True)

    def _refusal(self, scope: Scope, headers: Headers, session: Session) -> Response | None:
        path, unsafe = scope["path"], scope["method"] not in SAFE
        host = headers.get("host", "")
        if self._rules.hosts is not None and _without_port(host) not in self._rules.hosts:
            return refused(
                scope, 403, "these pages are open on this machine only; `slabwright serve --lan` opens them to others"
            )
        if self._rules.locked and not session.entered and not path.startswith(_OPEN):
            if path.startswith("/api/") or unsafe:
                return refused(scope, 401, "give the passcode first")
            return RedirectResponse("/login", status_code=303)
        if unsafe:
            origin = headers.get("origin")
            if origin is not None and origin not in (f"http://{host}", f"https://{host}"):
                return refused(scope, 403, "this change comes from another site; make it on the pages themselves")
            if not path.startswith(_OWN_TOKEN) and not self._sessions.brings(session, headers.get(TOKEN_HEADER, "")):
                return refused(scope, 403, "this change lacks the page's token; load the page again, then change it")
            length = headers.get("content-length", "")
            if length.isdigit() and int(length[:18]) > self._most(headers):
                return refused(scope, 413, _too_large(self._most(headers)))
        return self._too_often(scope, headers, unsafe)

    def _too_often(self, scope: Scope, headers: Headers, unsafe: bool) -> Response | None:
        path = scope["path"]
        if path == "/login" and unsafe:
            kind, rate = "login", limits.LOGIN
        elif path.startswith(("/client/", "/api/client/")):
            kind, rate = "client", limits.CLIENT
        elif unsafe and _brings_files(headers):
            kind, rate = "upload", limits.UPLOAD
        else:
            return None
        address = scope["client"][0] if scope.get("client") else "?"
        wait = self._limits.wait(kind, address, rate)
        if not wait:
            return None
        seconds = math.ceil(wait)
        refusal = refused(scope, 429, f"too often; try again in {seconds} s")
        refusal.headers["retry-after"] = str(seconds)
        return refusal

    def _most(self, headers: Headers) -> int:
        return self._rules.largest_upload if _brings_files(headers) else self._rules.largest_body

    def _counted(self, scope: Scope, headers: Headers, receive: Receive, state: _State) -> Receive:
        """What is received, cut off where more comes than was told or is taken."""
        if scope["method"] in SAFE:
            return receive
        most, taken = self._most(headers), 0

        async def received() -> Message:
            nonlocal taken
            message = await receive()
            if message["type"] == "http.request":
                taken += len(message.get("body", b""))
                if taken > most:
                    state.too_much = True
                    raise _TooMuch
            return message

        return received


def _trusted(scope: Scope, headers: Headers) -> bool:
    """Whether the browser trusts where the page comes from; over plain HTTP from elsewhere it complains of an opener's policy."""
    return scope.get("scheme") == "https" or _without_port(headers.get("host", "")) in LOCAL


def _without_port(host: str) -> str:
    if host.startswith("["):
        return host[1:].partition("]")[0].lower()
    return host.partition(":")[0].lower()


def _brings_files(headers: Headers) -> bool:
    return headers.get("content-type", "").lower().startswith("multipart/form-data")


def _too_large(most: int) -> str:
    return f"this is larger than {most / 1e6:.1f} MB; send less at once"
