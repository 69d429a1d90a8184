"""How long the server took for an answer: waiting for its turn and work told apart, in the header Server-Timing.

References:
    .. [1] W3C, Server Timing (the header's form: `name;dur=milliseconds;desc="words"`)
"""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from fastapi import Request
from starlette.datastructures import MutableHeaders

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

HEADER = "server-timing"


class Turn:
    """What one request has waited so far.

    Attributes:
        waited: for its turn [s]
    """

    def __init__(self) -> None:
        self.waited = 0.0


_TURN: ContextVar[Turn | None] = ContextVar("turn", default=None)


@contextmanager
def in_turn(turn: AbstractContextManager[object]) -> Iterator[None]:
    """Hold a lock; the wait for it counts as waiting of the request that is being answered, not as work."""
    began = time.perf_counter()
    with turn:
        found = _TURN.get()
        if found is not None:
            found.waited += time.perf_counter() - began
        yield


class Looks:
    """Lets a few look at pages at a time: one interpreter works no faster at many, and each would wait for all of them.

    Args:
        at_once: how many
    """

    def __init__(self, at_once: int) -> None:
        self._at_once = at_once
        self._loops: WeakKeyDictionary[asyncio.AbstractEventLoop, asyncio.Semaphore] = WeakKeyDictionary()

    async def __call__(self, request: Request) -> AsyncIterator[None]:
        """Wait for a place, and hold it while the request is worked at; who changes or tries something needs none.

        It is a dependency of routes, of the scope `function`.
        """
        if request.method != "GET":
            yield
            return
        places = self._loops.setdefault(asyncio.get_running_loop(), asyncio.Semaphore(self._at_once))
        began = time.perf_counter()
        async with places:
            found = _TURN.get()
            if found is not None:
                found.waited += time.perf_counter() - began
            yield


class Timed:
    """ASGI middleware that tells with each answer how long it waited and how long it was worked at, until its first byte.

    Args:
        app: what is timed
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, and tell the times."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        began, turn = time.perf_counter(), Turn()

        async def sent(message: Message) -> None:
            if message["type"] == "http.response.start":
                whole = time.perf_counter() - began
                told = f"turn;dur={1e3 * turn.waited:.1f}, work;dur={1e3 * (whole - turn.waited):.1f}"
                MutableHeaders(scope=message)[HEADER] = told
            await send(message)

        # A thread that works at this request is handed this context, and so the very same object.
        held = _TURN.set(turn)
        try:
            await self._app(scope, receive, sent)
        finally:
            _TURN.reset(held)
