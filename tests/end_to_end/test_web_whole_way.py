"""A new user's whole way, at the phone and at the laptop, finding each thing by the words on the page."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect
from tests.end_to_end.web_browser import chromium, device, needs_chromium, served
from tests.unit.test_web_slab import survey

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = needs_chromium


@pytest.fixture
def address(tmp_path: Path) -> Iterator[str]:
    with served(tmp_path) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as opened:
        yield opened


def to(page: Page, step: str) -> None:
    """Take a step in the line of steps."""
    page.get_by_role("navigation", name="Steps of the work").get_by_role("link", name=re.compile(f": {step}")).click()
    page.wait_for_url(f"**/{step.lower()}")


def begin(page: Page, title: str) -> int:
    page.goto("/jobs")
    page.get_by_label("What is the piece called?").fill(title)
    page.get_by_label("How long is the finished top").fill("1400")
    page.get_by_label("How wide").fill("500")
    page.get_by_label("How high is the top").fill("740")
    page.get_by_label("Which wood?").fill("white ash")
    page.get_by_label("U legs").check()
    page.get_by_label("What is the wood finished with?").fill("hard-wax oil")
    page.get_by_role("button", name="Begin the job").click()
    page.wait_for_url("**/jobs/*/brief")
    return int(page.url.split("/")[-2])


def saved(page: Page, button: str, revision: int) -> None:
    """Press a button that saves, and wait until the page stands on the new revision."""
    page.get_by_role("button", name=button, exact=True).first.click()
    page.wait_for_selector(f"body[data-revision='{revision}']")


def send_survey(page: Page) -> None:
    to(page, "Slab")
    page.get_by_label("Readings of both faces").set_input_files(
        files={"name": "readings.csv", "mimeType": "text/csv", "buffer": survey(dip=6.0)}
    )
    saved(page, "Send the files", 2)


def state_the_hour(page: Page) -> None:
    """The price waits for one figure of the shop, and leads to it."""
    to(page, "Price")
    page.get_by_role("link", name="Prices", exact=True).first.click()
    page.wait_for_url("**/stated?file=shop#prices")
    hour = page.get_by_label("Hour", exact=True)
    hour.fill("50")
    page.locator("form", has=hour).get_by_role("button", name="Save").click()
    page.wait_for_selector("body[data-revision='3']")


def out_of_the_dip(page: Page) -> None:
    to(page, "Slab")
    way = page.get_by_role("listitem").filter(has=page.get_by_role("heading", name="Shorten"))
    way.get_by_role("button", name="Use this stretch").click()
    page.wait_for_selector("body[data-revision='4']")
    expect(page.locator("#moved")).to_contain_text("Sure, 19 times in 20", timeout=20_000)
    expect(way).to_have_count(0)


def clear_of_a_clash(page: Page) -> None:
    to(page, "Top")
    for kind, revision in (("pocket", 5), ("outlet", 6)):
        page.get_by_label("Add", exact=True).select_option(kind)
        saved(page, "Add it", revision)
    verdict = page.locator("[data-verdict]")
    along, across = page.get_by_label("Along: distance"), page.get_by_label("Across: distance")
    page.locator(".features a").first.click()
    expect(page.locator("[data-feature='0']")).to_be_visible()
    there = along.input_value(), across.input_value()
    froms = [page.get_by_label(f"{way}: measured from").input_value() for way in ("Along", "Across")]
    page.locator(".features a").last.click()
    expect(page.locator("[data-feature='1']")).to_be_visible()
    for way, start in zip(("Along", "Across"), froms, strict=True):
        page.get_by_label(f"{way}: measured from").select_option(start)
    along.fill(there[0])
    across.fill(there[1])
    expect(verdict).to_contain_text("Stop")
    page.get_by_role("button", name="Nearest free place").click()
    expect(verdict).to_contain_text("Every distance holds")
    saved(page, "Save", 7)


def log_an_hour(page: Page, job: int) -> None:
    page.goto("/")
    page.get_by_role("button", name="Log time").first.click(timeout=60_000)
    with page.expect_response(f"**/api/jobs/{job}/log") as sent:
        page.get_by_role("button", name="1 hour").first.click()
    assert sent.value.ok
    files = page.request.get(f"/api/jobs/{job}/stated").json()
    log = next(table for table in files["tables"] if table["key"] == "log")
    assert {field["answer"] for field in log["rows"][0]["fields"]} >= {"60"}


@pytest.mark.parametrize("width", [390, 1280])
def test_from_nothing_to_the_sheets(browser: Browser, address: str, width: int) -> None:
    with device(browser, address, width) as page, device(browser, address, 390) as client:
        job = begin(page, f"Whole way {width}")
        send_survey(page)
        state_the_hour(page)
        out_of_the_dip(page)
        clear_of_a_clash(page)
        log_an_hour(page, job)
        page.goto(f"/jobs/{job}/client")
        page.get_by_role("button", name="Give a link").click()
        page.wait_for_selector("[data-given]:not([hidden])")
        client.goto(page.locator("#given").input_value())
        client.get_by_label("Your name").fill("A. Client")
        client.get_by_role("button", name="Approve").click()
        client.wait_for_selector("text=It is kept")
        page.goto(f"/jobs/{job}/sheets")
        page.get_by_role("button", name="Make the sheets").click()
        all_of_them = page.get_by_role("link", name=re.compile("[Aa]ll"))
        all_of_them.first.wait_for(timeout=90_000)
        with page.expect_download() as taken:
            all_of_them.first.click()
        names = zipfile.ZipFile(Path(taken.value.path())).namelist()
        assert any(name.endswith("bench-sheets.pdf") for name in names)
        assert page.evaluate("document.documentElement.scrollWidth") == width
