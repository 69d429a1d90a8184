"""A slab read by hand on a phone while the link drops, and its decisions taken on a laptop, in a real browser."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect
from tests.end_to_end.web_browser import bring_in, chromium, needs_chromium, served

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = needs_chromium


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served(tmp_path_factory.mktemp("book")) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as opened:
        yield opened


@contextmanager
def device(browser: Browser, address: str, width: int, scheme: str = "light") -> Iterator[Page]:
    """A browser of its own; errors of its console fail the test, and so does any request to elsewhere.

    Warnings are let pass: the graphics driver of a machine without a screen gives some of its own.
    """
    context = browser.new_context(viewport={"width": width, "height": 844}, color_scheme=scheme, base_url=address)  # type: ignore[arg-type]
    page = context.new_page()
    page.set_default_timeout(20_000)
    complaints: list[str] = []
    page.on("console", lambda told: complaints.append(told.text) if told.type == "error" else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    own = ("data:", "blob:", address)
    page.on("request", lambda sent: None if sent.url.startswith(own) else complaints.append(sent.url))
    yield page
    context.close()
    expected = ("ERR_INTERNET_DISCONNECTED", "status of 409", "status of 422")
    assert [told for told in complaints if not any(known in told for known in expected)] == []


def small(page: Page) -> list[str]:
    """What can be pressed and is less than 44 px high or 44 px wide."""
    found: list[str] = page.evaluate(
        "[...document.querySelectorAll('main button, main a.button, main summary, main input')]"
        ".filter(e => !['radio', 'checkbox'].includes(e.type))"
        ".filter(e => e.offsetParent && !e.closest('dialog'))"
        ".filter(e => { const b = e.getBoundingClientRect(); return b.height < 44 || b.width < 44; })"
        ".map(e => `${e.textContent.trim()} ${e.name || ''}`)"
    )
    return found


def new_job(page: Page, title: str, units: str) -> int:
    page.goto("/jobs")
    page.get_by_label("What is the piece called?").fill(title)
    page.get_by_label(units).check()
    page.get_by_label("Which wood?").fill("white ash")
    page.get_by_role("button", name="Begin the job").click()
    page.wait_for_url("**/jobs/*/brief")
    return int(page.url.split("/")[-2])


def begin(page: Page, job: int, length: str, width: str, along: int = 4, across: int = 3) -> None:
    page.goto(f"/jobs/{job}/readings")
    page.get_by_label("Length of the slab, end to end").fill(length)
    page.get_by_label("Width at the end where x = 0").fill(width)
    page.get_by_label("Rows along the grain").fill(str(along))
    page.get_by_label("Places in a row").fill(str(across))
    page.get_by_role("button", name="Begin to read").click()
    page.wait_for_selector("[data-reading]")


def test_a_slab_is_read_on_a_phone_while_the_link_drops(browser: Browser, address: str) -> None:
    with device(browser, address, 390, "dark") as page:
        job = new_job(page, "Read on the phone", "feet and inches")
        begin(page, job, "75", "28")
        assert page.evaluate("document.documentElement.scrollWidth") == 390
        assert small(page) == []
        parts = ["1/16", "1/8", "3/16", "1/4"]

        def read(number: int) -> None:
            if number < 12:
                page.locator('[data-key="2"]').click()
            page.locator(f'[data-part="{parts[number % 4]}"]').click()
            page.locator("[data-next]").click()

        for number in range(10):
            read(number)
        expect(page.locator("[data-waiting]")).to_contain_text("safe", timeout=20_000)
        page.context.set_offline(True)
        for number in range(10, 13):
            read(number)
        expect(page.locator("[data-waiting]")).to_contain_text("3 waiting to be sent")
        # A slip is asked about: an underside above its own top.
        page.locator('[data-key="9"]').click()
        page.locator("[data-next]").click()
        assert "not below face A there" in page.locator("[data-odd]").inner_text()
        page.locator("[data-type-again]").click()
        page.locator("[data-skip]").click()
        # Redo goes back to the place that was skipped.
        page.locator("[data-redo]").click()
        assert "14 of 24" in page.locator("[data-number]").inner_text()
        page.locator('[data-part="3/16"]').click()
        page.locator("[data-next]").click()
        page.context.set_offline(False)
        expect(page.locator("[data-waiting]")).to_contain_text("safe", timeout=20_000)
        # The page left and opened again goes on where it was.
        page.reload()
        assert "15 of 24" in page.locator("[data-number]").inner_text()
        for number in range(14, 24):
            read(number)
        expect(page.locator("[data-thickness]")).not_to_have_text("–", timeout=20_000)
        expect(page.locator("[data-left]")).to_contain_text("Every place")
        page.get_by_role("button", name="Make the survey").click()
        page.wait_for_url("**/slab")
        page.wait_for_selector("[data-space-picture]")
        assert "sure" in page.locator("h1").inner_text()
        answer = page.request.get(f"/api/jobs/{job}/slab").json()
        assert answer["read"]


def test_typed_but_never_sent_is_sent_when_the_page_comes_back(browser: Browser, address: str) -> None:
    with device(browser, address, 1280) as page:
        job = new_job(page, "Closed too early", "millimetres")
        begin(page, job, "1900", "700")
        page.context.set_offline(True)
        for height in ("54.2", "54.6"):
            page.keyboard.type(height)
            page.keyboard.press("Enter")
        expect(page.locator("[data-waiting]")).to_contain_text("2 waiting to be sent")
        page.goto("about:blank")
        page.context.set_offline(False)
        page.goto(f"/jobs/{job}/readings")
        expect(page.locator("[data-waiting]")).to_contain_text("safe", timeout=20_000)
        view = page.request.get(f"/api/jobs/{job}/readings").json()
        assert [one["shown"] for one in view["begun"]["taken"]] == ["54.2 mm", "54.6 mm"]
        assert (
            page.evaluate("Object.keys(localStorage).filter(key => key.startsWith('slabwright-reading:')).length") == 0
        )


def test_what_is_asked_about_is_typed_anew_and_what_is_refused_is_come_back_to(browser: Browser, address: str) -> None:
    with device(browser, address, 390) as page:
        job = new_job(page, "A slip of the thumb", "millimetres")
        begin(page, job, "1900", "700")
        typed, number = page.locator("[data-typed]"), page.locator("[data-number]")

        def press(keys: str) -> None:
            for key in keys:
                page.locator(f'[data-key="{key}"]').click()

        for height in ("54", "54.4", "54.2"):
            press(height)
            page.locator("[data-next]").click()
        press("5..1")
        expect(typed).to_have_value("5.1")
        board = page.locator(".board").bounding_box()
        page.locator("[data-next]").click()
        expect(page.locator("[data-odd]")).to_contain_text("below its neighbours")
        assert page.locator(".board").bounding_box() == board  # no key moves away from under a thumb
        press("56.4")
        expect(typed).to_have_value("56.4")
        expect(page.locator("[data-odd]")).to_be_hidden()
        page.locator("[data-next]").click()
        expect(number).to_have_text("5 of 24")
        # What only the server can read, and does not, is told at the keypad and read again.
        typed.fill("54 kg")
        page.locator("[data-next]").click()
        expect(page.locator("[data-refused]")).to_contain_text("place 5, 54 kg")
        expect(number).to_have_text("6 of 24")
        page.reload()
        expect(number).to_have_text("5 of 24")
        press("54")
        page.locator("[data-next]").click()
        expect(page.locator("[data-refused]")).to_be_hidden()
        expect(number).to_have_text("6 of 24")
        expect(page.locator("[data-stranded]")).to_be_hidden()


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (390, "dark")])
def test_the_slab_is_turned_and_a_fill_is_picked(browser: Browser, address: str, width: int, scheme: str) -> None:
    with device(browser, address, width, scheme) as page:
        job = bring_in(page, "hall-desk")
        page.goto(f"/jobs/{job}/slab")
        page.wait_for_selector("[data-space][data-drawn]")
        page.get_by_role("button", name="Left").click()
        page.get_by_label("10 times").check()
        page.get_by_role("button", name="From above").click()
        page.locator(".jumps summary").click()
        page.locator(".jumps").get_by_role("link", name="Thickness against fill").click()
        expect(page.locator("[data-fill]")).to_be_in_viewport()
        page.locator("[data-fill]").scroll_into_view_if_needed()
        page.wait_for_selector("[data-fill][data-drawn]")
        assert page.evaluate("document.documentElement.scrollWidth") == width
        assert small(page) == []
        before = page.locator("[data-fill-name]").inner_text()
        # A press on the chart picks the point nearest to it; so does the button beside.
        box = page.locator("[data-chart]").bounding_box()
        assert box is not None
        page.mouse.click(box["x"] + 0.9 * box["width"], box["y"] + 0.1 * box["height"])
        assert page.locator("[data-fill-name]").inner_text() != before
        page.get_by_role("button", name="Less fill").click()
        name = page.locator("[data-fill-name]").inner_text()
        page.get_by_role("button", name="Take this").click()
        page.wait_for_selector("#moved .panel")
        assert "figures moved" in page.locator("#moved").inner_text()
        page.wait_for_selector("[data-fill-take][disabled]")
        assert page.locator("[data-fill-name]").inner_text() == name


def test_a_survey_is_sent_and_a_check_is_entered(browser: Browser, address: str) -> None:
    from tests.unit.test_web_slab import survey

    with device(browser, address, 390) as page:
        job = new_job(page, "Sent as a file", "millimetres")
        page.goto(f"/jobs/{job}/slab")
        page.get_by_label("Readings of both faces").set_input_files(
            files={"name": "readings.csv", "mimeType": "text/csv", "buffer": b"not a survey"}
        )
        page.get_by_role("button", name="Send the files").click()
        page.wait_for_selector("[data-slab-files] .wrong:not([hidden])")
        assert "readings.csv" in page.locator("[data-slab-files] .wrong").inner_text()
        page.get_by_label("Readings of both faces").set_input_files(
            files={"name": "readings.csv", "mimeType": "text/csv", "buffer": survey()}
        )
        page.get_by_role("button", name="Send the files").click()
        page.wait_for_selector("[data-space]")
        page.get_by_role("textbox", name="Found").fill("0.4")
        page.get_by_role("button", name="Enter the check").click()
        page.wait_for_selector("text=straightedge 0.4 mm")
        page.get_by_label("Thickness of the finished board").fill("49.8")
        page.get_by_label("Thickness of the finished board").press("Enter")
        page.wait_for_selector(".steps >> text=made: 49.8 mm")
