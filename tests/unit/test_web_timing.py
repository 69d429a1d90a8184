"""Each answer tells how long it waited for its turn and how long it was worked at; those who change one job do so in turn."""

from __future__ import annotations

import contextlib
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import TracebackType

from fastapi import Depends, FastAPI
from fastapi.testclient import TestClient
from tests.unit.web_bench import bench

from slabwright.web.store import Store, Superseded
from slabwright.web.timing import HEADER, Looks, Timed, in_turn


def times(header: str) -> dict[str, float]:
    """What the header tells [ms]."""
    pairs = (entry.strip().partition(";dur=") for entry in header.split(","))
    return {name: float(told) for name, _, told in pairs}


class Slow:
    """A lock that is had after a while."""

    def __enter__(self) -> None:
        time.sleep(0.03)

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        pass


def test_waiting_and_work_are_told_apart() -> None:
    app = FastAPI()

    @app.get("/")
    def answer() -> str:
        with in_turn(Slow()):
            time.sleep(0.02)
        return "done"

    app.add_middleware(Timed)
    with TestClient(app) as device:
        told = [times(device.get("/").headers[HEADER]) for _ in range(2)]
    for one in told:
        assert set(one) == {"turn", "work"}
        assert one["turn"] >= 29.0
        assert one["work"] >= 19.0


def test_every_answer_tells_its_times(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        answers = [
            pages.device.get("/jobs/1/brief"),
            pages.device.get("/api/jobs/9"),
            pages.edit({"job.title": "A"}, 1),
        ]
    for answer in answers:
        assert set(times(answer.headers[HEADER])) == {"turn", "work"}


def test_those_who_change_a_job_do_so_in_turn(tmp_path: Path) -> None:
    with bench(tmp_path, jobs=2) as pages:
        store: Store = pages.app.state.desk.store
        done: list[int] = []

        def edit(job: int) -> None:
            with contextlib.suppress(Superseded):
                store.edit(job, 1, {"job.client": "another"}, "another", "")
                done.append(job)

        with store.turn(1):
            first, second = threading.Thread(target=edit, args=(1,)), threading.Thread(target=edit, args=(2,))
            first.start()
            second.start()
            second.join()
            assert done == [2]  # another job waits for nobody
            assert (
                store.edit(1, 1, {"job.client": "mine"}, "me", "").revision == 2
            )  # whoever has the turn may take it again
        first.join()
        assert done == [2]  # it came second: its change is kept as a draft
        assert len(pages.book.drafts(1)) == 1


def test_pages_are_worked_at_a_few_at_a_time() -> None:
    app, at_once, most = FastAPI(), 0, 0
    lock = threading.Lock()

    def work() -> str:
        nonlocal at_once, most
        with lock:
            at_once += 1
            most = max(most, at_once)
        time.sleep(0.02)
        with lock:
            at_once -= 1
        return "done"

    app.add_api_route("/", work, methods=["GET"], dependencies=[Depends(Looks(2), scope="function")])
    app.add_middleware(Timed)
    with TestClient(app) as device, ThreadPoolExecutor(8) as threads:
        told = list(threads.map(lambda _: times(device.get("/").headers[HEADER]), range(8)))
    assert most == 2
    assert max(one["turn"] for one in told) >= 20.0
