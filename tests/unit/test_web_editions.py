"""What is made from the book says the book's revision and its day, and is called by the job's title and the revision."""

from __future__ import annotations

import datetime
import io
import re
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest
from tests.unit.web_bench import Bench, bench

from slabwright.book.rows import JobRow
from slabwright.job.load import load_job
from slabwright.machine.results import MachinePlan
from slabwright.plan import as_json, plan
from slabwright.sheets.edition import Edition, job_in, plan_in
from slabwright.web.editions import called

EXAMPLE = Path(__file__).parents[2] / "examples" / "reading-table"


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Bench]:
    with bench(tmp_path) as made:
        yield made


def _words(data: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages).split())


def _made(pages: Bench) -> list[str]:
    assert pages.post("/api/jobs/1/sheets/make").status_code == 200
    for _ in range(600):
        progress = pages.device.get("/api/jobs/1/sheets/progress").json()
        if progress["state"] == "done":
            return [one["name"] for one in progress["files"]]
        assert progress["state"] == "drawing", progress
        time.sleep(0.05)
    raise AssertionError("the sheets are not done")


def test_sheets_say_the_book_s_revision_even_where_two_have_the_same_files(pages: Bench) -> None:
    today = datetime.datetime.now().date().isoformat()
    pages.edit({"piece.height": 730}, 1)
    pages.book.restore(1, 1, "test")
    assert pages.book.revision(1, 1).files == pages.book.revision(1, 3).files
    _made(pages)
    sheets = pages.device.get("/api/jobs/1/sheets/files/bench-sheets.pdf")
    assert re.search(rf"Rev\. ?3 .*{today}", _words(sheets.content))
    assert "not stated Units" not in _words(sheets.content)
    assert 'filename="hall-desk-revision-3-bench-sheets.pdf"' in sheets.headers["content-disposition"]
    whole = pages.device.get("/api/jobs/1/sheets/all.zip")
    assert 'filename="hall-desk-revision-3.zip"' in whole.headers["content-disposition"]
    assert "hall-desk-revision-3/bench-sheets.pdf" in zipfile.ZipFile(io.BytesIO(whole.content)).namelist()
    pages.book.restore(1, 3, "test")
    assert pages.device.get("/api/jobs/1/sheets/progress").json()["state"] == "none"
    _made(pages)
    assert "Rev. 4" in _words(pages.device.get("/api/jobs/1/sheets/files/bench-sheets.pdf").content)


def test_the_quote_says_it_too(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        sent = {"based_on": 1, "values": {"prices.hour": 52.5}, "why": "", "file": "shop"}
        assert pages.post("/api/jobs/1/edits", json=sent).status_code == 200
        quote = pages.device.get("/api/jobs/1/quote.pdf")
        assert 'filename="hall-desk-revision-2-quote.pdf"' in quote.headers["content-disposition"]
        assert "Hall desk · revision 2" in _words(quote.content)
        day = datetime.datetime.now().date()
        assert f"{day.day} {day:%B %Y}" in _words(quote.content)


def test_drawings_say_the_revision_that_they_show(pages: Bench) -> None:
    files = {path.name: path.read_bytes() for path in EXAMPLE.iterdir() if path.is_file()}
    job = pages.book.add(files, "test", "brought in").job
    drawings = [one["address"] for one in pages.device.get(f"/api/jobs/{job}/drawings").json()]
    face = next(one for one in drawings if "top-" in one)
    assert "Revision 1." in pages.device.get(face).text
    pages.book.restore(job, 1, "test")
    assert "Revision 2." in pages.device.get(face).text
    assert "Revision 1." in pages.device.get(f"{face}?revision=1").text
    link = pages.post(f"/api/jobs/{job}/client-links", json={"to": "", "days": 3}).json()["address"]
    client = pages.device.get(f"/client/{link.rpartition('/')[2]}/drawings/{face.rpartition('/')[2]}")
    assert "Revision 2." in client.text


def test_no_figure_moves_and_programs_say_the_revision() -> None:
    made = plan(load_job(EXAMPLE / "job.toml"), scheduled=False)
    edition = Edition(22, datetime.date(2026, 11, 25))
    printed = plan_in(made, edition)
    before, after = as_json(made), as_json(printed)
    assert (after["job"]["revision"], after["job"]["date"]) == ("22", "2026-11-25")
    for machine in (made.machine, printed.machine):
        assert isinstance(machine, MachinePlan)
        assert machine.programs
    assert all("revision 22)" in one.text for one in printed.machine.programs)  # type: ignore[union-attr]
    drop = ("job", "machine")
    assert {k: v for k, v in before.items() if k not in drop} == {k: v for k, v in after.items() if k not in drop}
    assert job_in(made.job, edition).where == made.job.where


def test_a_download_has_a_plain_name() -> None:
    when = datetime.datetime(2026, 11, 25, tzinfo=datetime.UTC)

    def row(title: str) -> JobRow:
        return JobRow(7, title, "", 3, when, "test", "new")

    assert called(row('Tisch "für" Ärger / 2'), 3, "quote") == "tisch-fur-arger-2-revision-3-quote"
    assert called(row("机"), 3) == "job-7-revision-3"
    assert len(called(row("long " * 60), 3)) < 60
