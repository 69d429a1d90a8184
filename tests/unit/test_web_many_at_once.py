"""Fifty at once on one job: none gets an error, nothing that was acknowledged is lost, and each late one is kept as a draft."""

from __future__ import annotations

import tomllib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tests.unit.web_bench import bench

from slabwright.book import Superseded
from slabwright.web.store import Store

CLIENTS = 50


def test_fifty_clients_lose_nothing(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        store: Store = pages.app.state.desk.store

        def client(number: int) -> tuple[int, int]:
            """Save one key of its own, as often as it takes; the revision it came to, and how often it was late."""
            late = 0
            while True:
                newest = store.row(1).revision
                try:
                    edited = store.edit(1, newest, {"job.client": f"client {number}"}, f"client {number}", "at once")
                except Superseded:
                    late += 1
                    continue
                return edited.revision, late

        with ThreadPoolExecutor(CLIENTS) as threads:
            came = list(threads.map(client, range(CLIENTS)))
        assert sorted(revision for revision, _ in came) == list(range(2, CLIENTS + 2))
        assert len(pages.book.drafts(1)) == sum(late for _, late in came)
        for number, (revision, _) in enumerate(came):
            saved = pages.book.revision(1, revision)
            assert saved.who == f"client {number}"
            assert tomllib.loads(saved.files["job.toml"].decode())["job"]["client"] == f"client {number}"


def test_the_same_files_are_planned_once(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        store: Store = pages.app.state.desk.store
        with ThreadPoolExecutor(8) as threads:
            plans = list(threads.map(lambda _: store.planned(1), range(8)))
        assert all(one is plans[0] for one in plans)


def test_the_days_are_worked_out_aside(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        store: Store = pages.app.state.desk.store
        whole = store.whole(1)
        assert whole is not None and whole.result is not None
        assert store.planned(1).figures["board.thickness"].value == whole.figures["board.thickness"].value
