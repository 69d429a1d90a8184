"""Today, the days and the price in a real browser: two taps log an hour, links that drop, pins, promises, papers."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect
from tests.end_to_end.web_browser import EXAMPLES, chromium, device, needs_chromium, served

from slabwright.book import open_book

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = needs_chromium


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("book")


@pytest.fixture(scope="module")
def address(book: Path) -> Iterator[str]:
    files = {path.name: path.read_bytes() for path in (EXAMPLES / "hall-desk").iterdir() if path.is_file()}
    with open_book(book / "book.sqlite") as opened:
        opened.add(files, "test", "begun")
    with served(book) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as opened:
        yield opened


def at(page: Page, where: str) -> None:
    page.set_default_timeout(60_000)
    page.goto(where)
    page.wait_for_selector("[data-known=yes]", state="attached")


def small(page: Page) -> list[str]:
    """What is pressed and lower than 44 pixels."""
    found: list[str] = page.evaluate(
        "[...document.querySelectorAll('main button, main .button, main summary, main select, main input:not([type=file])')]"
        ".filter(e => e.offsetParent && e.getBoundingClientRect().height < 44).map(e => e.outerHTML.slice(0, 80))"
    )
    return found


def test_two_taps_log_an_hour_and_a_dropped_link_loses_nothing(browser: Browser, address: str, book: Path) -> None:
    with device(browser, address, 390) as page:
        at(page, "/")
        operation = page.locator(".what strong").inner_text()
        assert page.evaluate("document.documentElement.scrollWidth") == 390 and small(page) == []
        page.get_by_role("button", name="Log time").click()
        page.get_by_role("button", name="1 hour", exact=True).click()
        expect(page.locator("#taken")).to_contain_text(f"{operation}: time logged (60 min)")
        with open_book(book / "book.sqlite") as opened:
            assert [(entry.operation, entry.minutes) for entry in opened.entries(1)] == [(operation, 60.0)]
        page.get_by_role("button", name="Take it back").click()
        expect(page.locator("#taken")).to_be_hidden()
        page.context.set_offline(True)
        page.get_by_role("button", name="Start", exact=True).click()
        expect(page.locator("#taken")).to_contain_text("kept here until the link is back")
        page.context.set_offline(False)
        expect(page.get_by_role("button", name="Stop for now")).to_be_visible(timeout=30_000)
        with open_book(book / "book.sqlite") as opened:
            assert [entry.event for entry in opened.entries(1)][-1] == "started"


def test_the_days_by_keyboard(browser: Browser, address: str) -> None:
    with device(browser, address, 1280, "dark") as page:
        at(page, "/jobs/1/days")
        assert page.locator(".strip").count() >= 3 and small(page) == []
        page.locator(".option:not(.chosen) button[data-promise]").last.focus()
        page.keyboard.press("Enter")
        expect(page.locator(".option.chosen .voice.go")).to_have_text("Promised")
        page.wait_for_selector("[data-known=yes]", state="attached")
        with page.expect_download() as download:
            page.get_by_role("link", name="Calendar file").click()
        assert download.value.suggested_filename == "job-1-days.ics"


def test_a_pin_says_that_it_is_taken_while_the_days_are_worked_out(browser: Browser, address: str) -> None:
    with device(browser, address, 390) as page:
        at(page, "/jobs/1/days")
        page.locator("details[data-day]", has=page.locator("form[data-pin]")).first.locator("summary").first.click()
        form = page.locator("form[data-pin]").first
        pinned = f'form[data-pin="{form.get_attribute("data-pin")}"]'
        later = page.evaluate("new Date(Date.now() + 12 * 864e5).toISOString().slice(0, 10)") + "T09:00"
        form.locator("input").fill(later)
        form.get_by_role("button", name="Pin it there").click()
        expect(page.locator(f"{pinned} .waits").first).to_contain_text("Pinned: the days are being worked out")
        expect(page.locator(f"{pinned} input").first).to_have_value(later)
        page.wait_for_selector("[data-known=yes]", state="attached")
        expect(page.locator(".waits")).to_have_count(0)


def test_the_price_takes_a_margin_and_hands_out_the_quote(browser: Browser, address: str) -> None:
    with device(browser, address, 390, "dark") as page:
        page.goto("/jobs/1/price")
        assert page.evaluate("document.documentElement.scrollWidth") == 390 and small(page) == []
        page.get_by_label("State").select_option("mark_up")
        page.get_by_label("Percent").fill("100")
        page.get_by_role("button", name="Take it").click()
        expect(page.locator(".option.chosen")).to_contain_text("mark-up 100", timeout=30_000)
        expect(page.locator("[data-change-place]")).to_contain_text("more to pay")
        page.locator("summary", has_text="Quote for the client").click()
        expect(page.locator(".before-quote")).to_contain_text("What is signed is what is paid")
        with page.expect_download() as download:
            page.get_by_role("link", name="Take the quote all the same").click()
        assert Path(download.value.path()).read_bytes().startswith(b"%PDF")


_SURFACED = """async () => {
  const token = (await (await fetch("/api/session")).json()).token;
  const plan = await (await fetch("/api/jobs/1/plan")).json();
  const headers = { "x-slabwright-token": token, "content-type": "application/json" };
  const found = [];
  for (const one of plan.shop.operations.filter((each) => each.kind.startsWith("surface"))) {
    const body = JSON.stringify({ operation: one.name, event: "done" });
    found.push((await fetch("/api/jobs/1/log", { method: "POST", headers, body })).status);
  }
  return found;
}"""


def test_what_is_done_is_measured_on_today_also_without_a_link(browser: Browser, address: str, book: Path) -> None:
    with device(browser, address, 390) as page:
        at(page, "/")
        statuses = page.evaluate(_SURFACED)
        assert statuses and set(statuses) == {200}
        at(page, "/")
        form = page.locator("form[data-measure]").first
        form.get_by_label("Thickness of the board, least measured").fill("1 3/4")
        page.context.set_offline(True)
        form.get_by_role("button", name="Save what was measured").click()
        expect(page.locator("#taken")).to_contain_text("kept here until the link is back")
        page.context.set_offline(False)
        expect(page.get_by_label("Thickness of the board, least measured")).to_have_count(0, timeout=60_000)
        with open_book(book / "book.sqlite") as opened:
            assert 'thickness = "1 3/4"' in opened.revision(1).files["job.toml"].decode()


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1280, "dark")])
def test_today_and_the_days_have_no_barrier_once_filled(
    browser: Browser, address: str, width: int, scheme: str
) -> None:
    pytest.importorskip("axe_playwright_python", reason="axe-playwright-python is not installed")
    from tests.end_to_end.test_web_accessible import barriers

    with device(browser, address, width, scheme) as page:
        for where in ("/", "/jobs/1/days"):
            at(page, where)
            page.evaluate("document.querySelectorAll('main details').forEach(one => { one.open = true; })")
            assert barriers(page) == []
