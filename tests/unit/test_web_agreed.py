"""The price page holds a price that was signed and what was invoiced; a change is told in money and days."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.unit.web_bench import Bench, bench

EXAMPLE = Path(__file__).parents[2] / "examples" / "hall-desk"


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    with bench(tmp_path_factory.mktemp("agreed"), jobs=0) as made:
        made.book.add({path.name: path.read_bytes() for path in EXAMPLE.iterdir()}, "test", "begun")
        yield made


def shown(pages: Bench) -> Any:
    return pages.device.get("/api/jobs/1/price").json()


def edit(pages: Bench, values: dict[str, Any]) -> None:
    saved = pages.edit(values, pages.book.job(1).revision)
    assert saved.status_code == 200, saved.text


def test_a_signed_price_is_held_its_invoices_stay_and_a_change_is_told(pages: Bench) -> None:
    before = shown(pages)
    assert before["agreed"] == ""
    edit(pages, before["hold"])
    held = shown(pages)
    assert held["total"] == before["total"]
    assert held["agreed"].startswith("Agreed on ")

    deposit = held["payments"][0]
    edit(pages, deposit["send"])
    quote = tomllib.loads(pages.text())["quote"]
    assert len(quote["invoiced"]) == 1
    assert [one["out"] for one in shown(pages)["payments"]] == [True, False]

    # The maker's hour is dearer by now: the client pays what was signed.
    old = pages.book.job(1).revision
    sent = {"based_on": old, "values": {"prices.hour": 95}, "why": "", "file": "shop"}
    assert pages.post("/api/jobs/1/edits", json=sent).status_code == 200
    dearer = shown(pages)
    assert dearer["total"] == before["total"]
    assert dearer["payments"][0]["shown"] == deposit["shown"]

    # The client wants it a little longer: that is a change.
    old = pages.book.job(1).revision
    edit(pages, {"piece.height": "30 in"})
    change = pages.device.get(f"/api/jobs/1/change?old={old}").json()
    assert change["days"].startswith("ready ")
    if change["hold"]:
        edit(pages, change["hold"])
        assert shown(pages)["total"] == change["total"]
    paper = pages.device.get(f"/api/jobs/1/change.pdf?old={old}")
    assert paper.content.startswith(b"%PDF")

    # It did not go out after all, and nothing was signed.
    edit(pages, shown(pages)["payments"][0]["send"])
    assert "invoiced" not in tomllib.loads(pages.text())["quote"]
    edit(pages, shown(pages)["hold"])
    assert shown(pages)["agreed"] == ""
    assert shown(pages)["total"] != before["total"]
