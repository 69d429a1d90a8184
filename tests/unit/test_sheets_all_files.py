"""The command and the pages hand out the same files, whatever a job has of them."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest
from tests.unit.web_bench import Bench, bench

from slabwright.cli import app as command

EXAMPLES = Path(__file__).parents[2] / "examples"


def made_on_the_page(desk: Bench) -> dict[str, Any]:
    assert desk.post("/api/jobs/1/sheets/make").status_code == 200
    for _ in range(1200):
        progress: dict[str, Any] = desk.device.get("/api/jobs/1/sheets/progress").json()
        if progress["state"] in ("done", "failed"):
            return progress
        time.sleep(0.05)
    raise AssertionError("the sheets never came")


def test_the_page_makes_every_file_that_the_command_makes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = EXAMPLES / "hall-desk"
    out = tmp_path / "sheets"
    command(["sheets", str(folder / "job.toml"), "--out", str(out)], standalone_mode=False)
    told = {line.removeprefix("wrote ") for line in capsys.readouterr().out.splitlines() if line.startswith("wrote ")}
    files = {path.relative_to(out).as_posix(): path.stat().st_size for path in out.rglob("*") if path.is_file()}
    assert {Path(path).relative_to(out).as_posix() for path in told} == files.keys(), "each is told"
    with bench(tmp_path, jobs=0) as desk:
        desk.book.add({path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}, "test", "begun")
        progress = made_on_the_page(desk)
        assert progress["state"] == "done", progress["error"]
        assert {one["name"] for one in progress["files"]} == files.keys()
        uses = {one["name"]: (one["use"], one["words"]) for one in progress["files"]}
        assert uses["quote.pdf"] == ("For the client", "the quote") and uses["days.ics"][0] == "For other programs"
        assert all(words != "file" for _, words in uses.values()), "each says what it is"
        page = desk.device.get("/jobs/1/sheets").text
        assert page.index("At the bench") < page.index("For the machine") < page.index("For the client")
        for name in ("plan.json", "bench-sheets.pdf", "quote.pdf", "days.ics"):
            assert name in files
            assert desk.device.get(f"/api/jobs/1/sheets/files/{name}").status_code == 200
