"""Every device that listens hears of each change; the book itself is asked once for all of them."""

from __future__ import annotations

import asyncio
import json
from typing import Any

import pytest

from slabwright.web import live
from slabwright.web.live import Live

DEVICES = 20


class Heard:
    """What some devices heard of a job."""

    def __init__(self, told: Live, since: int) -> None:
        self.live, self.since = told, since
        self.newest, self.looks = since, 0
        self.revisions: list[list[int]] = [[] for _ in range(DEVICES)]

    def look(self) -> int:
        self.looks += 1
        return self.newest

    async def listen(self, device: int) -> None:
        async for event in self.live.stream(1, self.since, self.look):
            for line in event.decode().splitlines():
                if line.startswith("data: "):
                    self.revisions[device].append(json.loads(line[6:])["revision"])

    async def until(self, number: int) -> None:
        """Wait until every device heard of a revision."""
        while not all(number in revisions for revisions in self.revisions):
            await asyncio.sleep(0.005)


def during(since: int, work: Any) -> Heard:
    """Let devices listen while something happens."""

    async def run() -> Heard:
        heard = Heard(Live(), since)
        listening = [asyncio.create_task(heard.listen(device)) for device in range(DEVICES)]
        while heard.live.listening(1) < DEVICES or heard.looks < DEVICES:
            await asyncio.sleep(0.005)
        await asyncio.wait_for(work(heard), 20.0)
        heard.live.close()
        await asyncio.gather(*listening)
        assert heard.live.listening(1) == 0
        return heard

    return asyncio.run(run())


def test_all_hear_of_each_change_and_the_book_is_not_asked_again() -> None:
    async def changes(heard: Heard) -> None:
        for number in range(3, 9):
            heard.live.tell(1, number, "Ada", "device")
            heard.live.tell(2, number + 50, "Ben", "device")
            await heard.until(number)

    heard = during(2, changes)
    assert heard.revisions == [[3, 4, 5, 6, 7, 8]] * DEVICES
    assert heard.looks == DEVICES


def test_what_was_saved_before_a_device_listened_is_told_at_once() -> None:
    async def nothing(heard: Heard) -> None:
        heard.newest = 7
        device = asyncio.create_task(heard.listen(0))
        while 7 not in heard.revisions[0]:
            await asyncio.sleep(0.005)
        device.cancel()
        await asyncio.gather(device, return_exceptions=True)

    during(2, nothing)


def test_what_another_program_saves_is_found_by_one_look_for_all(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(live, "_BEAT", 0.2)

    async def another(heard: Heard) -> None:
        heard.newest = 5
        before = heard.looks
        await heard.until(5)
        assert heard.looks - before < DEVICES

    heard = during(2, another)
    assert heard.revisions == [[5]] * DEVICES
