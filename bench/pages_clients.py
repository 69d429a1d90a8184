"""Many who work at one job through its pages: each with its live stream open, each edit followed by the new page.

Run as a process of its own, so that its work is not counted as the server's: `python -m bench.pages_clients ADDRESS CLIENTS EDITS
THINK`; what happened is written to standard output as JSON.
"""

from __future__ import annotations

import asyncio
import dataclasses
import json
import random
import sys
import time
from dataclasses import dataclass, field
from typing import Any

import httpx2

JOB = 1
_TRIES = 400
_TOGETHER = 60.0
"""Longest wait for the others before all begin at once [s]."""


@dataclass(frozen=True)
class Kind:
    """A kind of edit.

    Attributes:
        name: in words
        weight: how many of a hundred edits are of it
        page: that is looked at, and shown again with what came of it
        key: of the job or shop file; `log` logs hours
        values: one of which it takes
        file: job or shop
    """

    name: str
    weight: int
    page: str
    key: str
    values: tuple[Any, ...]
    file: str = "job"


def _tenths(low: float, high: float) -> tuple[float, ...]:
    return tuple(round(low + 0.1 * step, 1) for step in range(round((high - low) * 10) + 1))


KINDS = (
    Kind("hours logged", 18, "days", "log", tuple(range(5, 95))),
    Kind("distance of a feature", 18, "top", "top.features[14].across", _tenths(90, 130)),
    Kind("door's width", 11, "delivery", "delivery.steps[1].width", _tenths(930, 1000)),
    Kind("coats on the wood", 5, "finish", "finish.wood[0].coats", (2, 3, 4)),
    Kind("coats of primer", 4, "finish", "finish.steel[0].coats", (1, 2, 3)),
    Kind("height", 7, "base", "piece.height", _tenths(720, 760)),
    Kind("tube", 7, "base", "base.tube", ("50x50x3", "60x40x3", "60x60x3", "60x60x4", "70x70x3")),
    Kind("what delivery costs", 7, "price", "quote.delivery", tuple(range(120, 220))),
    Kind("title", 7, "brief", "job.title", tuple(f"Reading table {number}" for number in range(200))),
    Kind("people at delivery", 5, "delivery", "hands.people_on_delivery", (3, 4, 5, 6)),
    Kind("where the seats look", 3, "brief", "brief.chair_seat", _tenths(440, 460)),
    Kind("margin", 4, "price", "money.margin", _tenths(12, 18), "shop"),
    Kind("hourly rate", 2, "price", "prices.hour", tuple(range(50, 65)), "shop"),
    Kind("length", 1, "brief", "piece.length", _tenths(2160, 2200)),
    Kind("thickness", 1, "slab", "piece.thickness", _tenths(53, 55)),
)
"""The mix: invented, as a job is worked at between its drawings and its delivery."""
OPERATIONS = (
    "Set the slab on its stacks",
    "Set up to rough face A",
    "Burn in the library's mark",
    "Cut the steel",
    "Tack the base",
    "Make the finish board",
)


@dataclass
class Asked:
    """One request: of which kind, what was answered, and how long it took whom.

    Attributes:
        what: edit, late, page, moved, settle or begin
        kind: of the edit
        status: of the answer
        turn: that the server let it wait for its turn [ms]
        work: that the server worked at it [ms]
        seen: that the client waited [ms]
    """

    what: str
    kind: str
    status: int
    turn: float
    work: float
    seen: float
    error: str = ""


@dataclass
class Kept:
    """An edit that the server said is saved."""

    who: str
    kind: str
    revision: int
    key: str
    value: Any
    file: str
    told: float = 0.0
    at: str = ""


@dataclass
class Told:
    """All that happened."""

    asked: list[Asked] = field(default_factory=list)
    kept: list[Kept] = field(default_factory=list)
    heard: dict[str, int] = field(default_factory=dict)
    """Newest revision of which each client's live stream told."""
    events: int = 0
    seconds: float = 0.0
    failed: list[str] = field(default_factory=list)


class Client:
    """One who works at the job."""

    def __init__(self, address: str, number: int, told: Told) -> None:
        self._told = told
        self._number = number
        self._who = f"client {number}"
        self._draw = random.Random(number)
        self._link = httpx2.AsyncClient(base_url=address, timeout=120.0, verify=False, trust_env=False)
        self._token = ""
        self._shown = 0
        self._listening: asyncio.Task[None] | None = None
        self._logged = 0

    async def begin(self, page: str) -> None:
        """Take a name, and look at a page."""
        self._token = (await self._ask("begin", "", "GET", "/api/session")).get("token", "")
        await self._ask("begin", "", "PUT", "/api/session", json={"who": self._who})
        self._token = (await self._ask("begin", "", "GET", "/api/session")).get("token", "")
        await self._look("begin", "", page)

    async def edits(self, amount: int, think: float) -> None:
        """Make edits, each after some thought."""
        for _ in range(amount):
            if think:
                await asyncio.sleep(self._draw.uniform(0.5, 1.5) * think)
            kind = self._draw.choices(KINDS, [kind.weight for kind in KINDS])[0]
            await self._edit(kind)

    async def end(self) -> None:
        """Leave."""
        if self._listening is not None:
            self._listening.cancel()
            await asyncio.gather(self._listening, return_exceptions=True)
        await self._link.aclose()

    async def _edit(self, kind: Kind) -> None:
        value = self._draw.choice(kind.values)
        before, began = self._shown, time.perf_counter()
        if kind.key == "log":
            # A minute of its own, so that no two lines are the same.
            minute = self._number * 24 + self._logged % 24
            self._logged += 1
            at = f"2026-11-24T{minute // 60:02d}:{minute % 60:02d}:00"
            sent = {"operation": self._draw.choice(OPERATIONS), "event": "stopped", "at": at, "minutes": value}
            sent["note"] = f"{self._who}, {self._logged}"
            answer = await self._ask("edit", kind.name, "POST", f"/api/jobs/{JOB}/log", json=sent)
            at = sent["note"]
        else:
            at, answer = "", {}
            for _ in range(_TRIES):
                sent = {"based_on": self._shown, "values": {kind.key: value}, "why": kind.name, "file": kind.file}
                answer = await self._ask("edit", kind.name, "POST", f"/api/jobs/{JOB}/edits", json=sent)
                if "newest" not in answer:
                    break
                self._shown = answer["newest"]
                await self._ask("settle", kind.name, "POST", f"/api/jobs/{JOB}/drafts/{answer['draft']}/settle")
        if "revision" not in answer:
            self._told.failed.append(f"{self._who}: {kind.name}: {answer}")
            return
        told = 1e3 * (time.perf_counter() - began)
        self._told.kept.append(
            Kept(self._who, kind.name, answer["revision"], kind.key, value, kind.file, told=told, at=at)
        )
        await self._look("page", kind.name, kind.page)
        await self._ask("moved", kind.name, "GET", f"/jobs/{JOB}/moved?since={before}")

    async def _look(self, what: str, kind: str, page: str) -> None:
        """Load a page; its stream takes the place of the one before."""
        answer = await self._ask(what, kind, "GET", f"/jobs/{JOB}/{page}")
        head = answer.get("text", "")
        mark = 'data-revision="'
        at = head.find(mark)
        self._shown = int(head[at + len(mark) :].partition('"')[0]) if at >= 0 else self._shown
        if self._listening is not None:
            self._listening.cancel()
        self._listening = asyncio.create_task(self._listen(self._shown))

    async def _listen(self, since: int) -> None:
        async with self._link.stream("GET", f"/api/jobs/{JOB}/events?since={since}") as stream:
            async for line in stream.aiter_lines():
                if line.startswith("id: "):
                    self._told.events += 1
                    heard = self._told.heard
                    heard[self._who] = max(heard.get(self._who, 0), int(line[4:]))

    async def _ask(self, what: str, kind: str, method: str, path: str, json: Any = None) -> dict[str, Any]:
        began = time.perf_counter()
        try:
            answer = await self._link.request(method, path, json=json, headers={"x-slabwright-token": self._token})
        except httpx2.HTTPError as error:
            seen = 1e3 * (time.perf_counter() - began)
            self._told.asked.append(Asked(what, kind, 0, 0.0, 0.0, seen, f"{type(error).__name__}: {error}"))
            return {}
        seen = 1e3 * (time.perf_counter() - began)
        times = _times(answer.headers.get("server-timing", ""))
        late = answer.status_code == 409
        wrong = answer.text[:300] if answer.status_code >= 400 and not late else ""
        self._told.asked.append(
            Asked(
                "late" if late else what, kind, answer.status_code, times.get("turn", 0.0), times.get("work", 0.0),
                seen, wrong,
            )
        )  # fmt: skip
        if answer.headers.get("content-type", "").startswith("application/json"):
            found: dict[str, Any] = answer.json()
            return found
        return {"text": answer.text}


def _times(header: str) -> dict[str, float]:
    """What Server-Timing tells [ms]."""
    found = {}
    for entry in header.split(","):
        name, _, rest = entry.strip().partition(";dur=")
        if rest:
            found[name] = float(rest.partition(";")[0])
    return found


async def worked(address: str, clients: int, edits: int, think: float) -> Told:
    """Let clients work at the job.

    Args:
        address: of the server
        clients: how many at once
        edits: of each
        think: seconds between the edits of one, in the mean; 0: all at once, and one after the other without a pause
    """
    told = Told()
    people = [Client(address, number, told) for number in range(clients)]
    for person in people:
        await person.begin("brief")
    told.asked = [asked for asked in told.asked if asked.error]
    began = time.perf_counter()
    await asyncio.gather(*(person.edits(edits, think) for person in people))
    told.seconds = time.perf_counter() - began
    await asyncio.sleep(6.0)  # a stream that missed a word asks the book within five seconds
    for person in people:
        await person.end()
    return told


if __name__ == "__main__":
    _address, _clients, _edits, _think = sys.argv[1:]
    _told = asyncio.run(worked(_address, int(_clients), int(_edits), float(_think)))
    json.dump(dataclasses.asdict(_told), sys.stdout)
