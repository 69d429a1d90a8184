"""A day to order by that rests on the usual wait says so, and no check denies that there is one."""

from __future__ import annotations

import time
from pathlib import Path

from tests.unit.web_bench import bench


def test_a_day_without_a_supplier_rests_on_the_usual_wait(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        sent = {"based_on": 1, "values": {"prices.hour": 50}, "why": "", "file": "shop"}
        assert pages.post("/api/jobs/1/edits", json=sent).status_code == 200
        deadline = time.monotonic() + 30
        while not pages.device.get("/api/today").json()["known"]:
            assert time.monotonic() < deadline
            time.sleep(0.05)
        view = pages.device.get("/api/jobs/1/price").json()
        told = [thing["by"] for supplier in view["suppliers"] for thing in supplier["things"] if thing["by"]]
        assert told
        assert all("(after the usual wait)" in words for words in told)
        [said] = [one["message"] for one in view["problems"] if one["code"] == "orders/no-supplier"]
        assert "rests on the usual wait" in said
        assert "no day" not in said
