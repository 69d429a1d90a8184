"""Tells every device that looks at a job when another changed it."""

from __future__ import annotations

import asyncio
import json
import math
import threading
import time
from collections.abc import AsyncIterator, Callable
from dataclasses import asdict, dataclass

_WAITING = 32
"""Messages that wait for one device; a slow one misses the older: the newest tells all."""
_AFTER = 0.02
"""Seconds after which others are told: the one who made the change is answered first."""
_BEAT = 5.0
"""Seconds between looks at the book, for what another program wrote into it."""


@dataclass(frozen=True)
class Change:
    """A job's new revision.

    Attributes:
        job: id
        revision: number
        who: saved it
        device: that it came from, as a short mark; the device itself need not be told
    """

    job: int
    revision: int
    who: str
    device: str


@dataclass(frozen=True, eq=False)
class _Listener:
    loop: asyncio.AbstractEventLoop
    queue: asyncio.Queue[Change | None]


class Live:
    """Who listens to which job."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._listeners: dict[int, set[_Listener]] = {}
        self._looks: dict[int, tuple[float, int]] = {}

    def tell(self, job: int, revision: int, who: str, device: str) -> None:
        """Tell all who listen to a job; from any thread."""
        self._put(Change(job, revision, who, device), job, _AFTER)

    def close(self) -> None:
        """End every stream: the server is about to end."""
        self._put(None, None, 0.0)

    def _put(self, change: Change | None, job: int | None, after: float) -> None:
        """Hand a change to all who listen to a job, or to any: each event loop is woken once, however many they are."""
        loops: dict[asyncio.AbstractEventLoop, list[_Listener]] = {}
        with self._lock:
            for number, group in self._listeners.items():
                if job is None or number == job:
                    for listener in group:
                        loops.setdefault(listener.loop, []).append(listener)
        for loop, listeners in loops.items():
            loop.call_soon_threadsafe(loop.call_later, after, _put, listeners, change)

    def listening(self, job: int) -> int:
        """How many devices listen to a job."""
        with self._lock:
            return len(self._listeners.get(job, ()))

    async def stream(self, job: int, since: int, newest: Callable[[], int]) -> AsyncIterator[bytes]:
        """Server-sent events of a job: `revision` with what changed; a beat now and then.

        Args:
            job: id
            since: the revision that the device shows
            newest: asks the book for the newest revision; called on another thread
        """
        listener = _Listener(asyncio.get_running_loop(), asyncio.Queue(_WAITING))
        with self._lock:
            self._listeners.setdefault(job, set()).add(listener)
        try:
            yield b"retry: 3000\n\n"
            told = since
            number = await self._looked(job, newest, 0.0)
            while True:
                if number > told and listener.queue.empty():
                    told = number
                    yield _event(Change(job, number, "", ""))
                try:
                    change = await asyncio.wait_for(listener.queue.get(), _BEAT)
                except TimeoutError:
                    yield b": here\n\n"
                    number = await self._looked(job, newest, _BEAT)
                    continue
                if change is None:
                    return
                if change.revision > told:
                    told = change.revision
                    yield _event(change)
        finally:
            with self._lock:
                self._listeners[job].discard(listener)
                if not self._listeners[job]:
                    del self._listeners[job]

    async def _looked(self, job: int, newest: Callable[[], int], age: float) -> int:
        """The newest revision as the book has it; one look serves all who listen to the job for `age` seconds."""
        now = time.monotonic()
        with self._lock:
            when, number = self._looks.get(job, (-math.inf, 0))
            if now - when < age:
                return number
            self._looks[job] = now, number
        number = await asyncio.to_thread(newest)
        with self._lock:
            self._looks[job] = now, max(number, self._looks[job][1])
        return number


def _put(listeners: list[_Listener], change: Change | None) -> None:
    for listener in listeners:
        if listener.queue.full():
            listener.queue.get_nowait()
        listener.queue.put_nowait(change)


def _event(change: Change) -> bytes:
    return f"id: {change.revision}\nevent: revision\ndata: {json.dumps(asdict(change))}\n\n".encode()
