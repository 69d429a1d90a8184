"""The bench pages in a real browser, phone and laptop: a job from nothing, two devices, a link that drops, the sheets."""

from __future__ import annotations

import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect
from tests.end_to_end.web_browser import bring_in, chromium, device, needs_chromium, served

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


def new_job(page: Page, title: str) -> int:
    page.goto("/jobs")
    page.get_by_label("What is the piece called?").fill(title)
    page.get_by_label("How long is the finished top").fill("1600")
    page.get_by_label("How high is the top").fill("740")
    page.get_by_label("Which wood?").fill("white ash")
    page.get_by_label("U legs").check()
    page.get_by_role("button", name="Begin the job").click()
    page.wait_for_url("**/jobs/*/brief")
    return int(page.url.split("/")[-2])


def test_a_job_from_nothing_on_a_phone(browser: Browser, address: str) -> None:
    with device(browser, address, 390, "dark") as page:
        new_job(page, "Desk on the phone")
        assert page.locator("h1").inner_text() == "Desk on the phone"
        assert page.evaluate("document.documentElement.scrollWidth") == 390
        sizes = page.evaluate(
            "[...document.querySelectorAll('main button, main input:not([type=radio]), .steps a, .pick label, header a')]"
            ".filter(e => e.offsetParent && !e.closest('dialog')).map(e => Math.round(e.getBoundingClientRect().height))"
        )
        assert min(sizes) >= 44


def test_what_is_saved_is_told_at_its_button_and_the_page_stays_where_it_was(browser: Browser, address: str) -> None:
    with device(browser, address, 390) as page:
        job = new_job(page, "Saved on the phone")
        page.goto(f"/jobs/{job}/stated#piece")
        page.locator('[name="piece.finish"]').fill("soap")
        page.locator("form", has=page.locator('[name="piece.finish"]')).get_by_role("button", name="Save").click()
        saved = page.locator(".saved")
        expect(saved).to_have_text("Saved:revision 2")
        page.wait_for_timeout(600)  # until what moved stands above
        expect(saved).to_be_in_viewport()
        page.reload()
        expect(saved).to_have_count(0)


def test_a_job_that_is_brought_in_says_why_and_undoes(browser: Browser, address: str) -> None:
    with device(browser, address) as page:
        bring_in(page, "hall-desk")
        page.locator("button.why").first.click()
        page.wait_for_selector("#why[open] .why-lines")
        assert page.locator("#why h2").inner_text().startswith("Why ")
        page.keyboard.press("Escape")
        height = page.locator('[name="piece.height"]')
        before = height.input_value()
        height.fill("high")
        page.get_by_role("button", name="Save").click()
        page.wait_for_selector("form .wrong:not([hidden])")
        assert "'high' is not a length" in page.locator("form .wrong").inner_text()
        assert height.get_attribute("aria-invalid") == "true"
        assert page.locator("p:has([name='piece.height']) + .wrong").count() == 1  # below the field that it is about
        height.fill("720 mm" if "720" not in before else "730 mm")
        page.get_by_role("button", name="Save").click()
        page.wait_for_selector("#moved .panel")
        assert "Height above the floor" in page.locator("#moved").inner_text()
        page.get_by_role("button", name="Undo the last change").click()
        page.wait_for_selector("dialog.going-back[open]")
        assert "piece.height" in page.locator("dialog.going-back").inner_text()
        page.get_by_role("button", name="Go back", exact=True).click()
        expect(height).to_have_value(before, timeout=20_000)


def test_two_devices_see_each_other(browser: Browser, address: str) -> None:
    with device(browser, address) as laptop, device(browser, address, 390) as phone:
        job = new_job(laptop, "Seen by two")
        phone.goto(f"/jobs/{job}/brief")
        laptop.locator('[name="piece.finish"]').fill("soap")
        phone.wait_for_timeout(500)
        laptop.get_by_role("button", name="Save").click()
        phone.wait_for_selector("#changed:not([hidden])")
        assert "revision 2" in phone.locator("#changed").inner_text()
        # Before the phone looks, its own change is told to be late, is kept, and is put on top.
        phone.locator('[name="piece.height"]').fill("700")
        phone.get_by_role("button", name="Save").click()
        phone.get_by_role("button", name="Put mine on top").click()
        phone.wait_for_selector("body[data-revision='3']")
        assert phone.locator('[name="piece.finish"]').input_value() == "soap"
        assert phone.locator('[name="piece.height"]').input_value() == "700"


def test_what_is_typed_while_the_link_is_down_is_sent_later(browser: Browser, address: str) -> None:
    with device(browser, address, 390) as page:
        job = new_job(page, "In the van")
        page.context.set_offline(True)
        page.locator('[name="piece.height"]').fill("715")
        page.get_by_role("button", name="Save").click()
        page.wait_for_selector("#link:not([hidden])")
        page.context.set_offline(False)
        page.wait_for_selector("body[data-revision='2']")
        assert page.locator('[name="piece.height"]').input_value() == "715"
        # Typed and not saved, and the page is left: it is there again.
        page.locator('[name="piece.height"]').fill("716")
        page.goto("/")
        page.goto(f"/jobs/{job}/brief")
        assert page.locator('[name="piece.height"]').input_value() == "716"
        page.get_by_role("button", name="As it was").click()
        assert page.locator('[name="piece.height"]').input_value() == "715"


def test_the_client_approves_and_the_maker_takes_the_sheets(browser: Browser, address: str) -> None:
    with device(browser, address) as maker, device(browser, address, 390) as client:
        job = new_job(maker, "Signed")
        maker.goto(f"/jobs/{job}/client")
        maker.get_by_role("button", name="Give a link").click()
        maker.wait_for_selector("[data-given]:not([hidden])")
        client.goto(maker.locator("#given").input_value())
        client.get_by_label("Your name").fill("A. Client")
        client.get_by_role("button", name="Approve").click()
        client.wait_for_selector("text=It is kept")
        maker.reload()
        assert "A. Client" in maker.locator("main").inner_text()
        maker.goto(f"/jobs/{job}/sheets")
        maker.get_by_role("button", name="Make the sheets").click()
        link = maker.get_by_role("link", name="Bench sheets (PDF)")
        link.wait_for(timeout=60_000)
        with maker.expect_download() as taken:
            link.click()
        assert Path(taken.value.path()).read_bytes().startswith(b"%PDF")


def test_all_is_done_by_keyboard(browser: Browser, address: str) -> None:
    with device(browser, address) as page:
        page.goto("/jobs")
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.className") == "skip"
        page.locator("#new-title-words").focus()
        page.keyboard.type("By keyboard")
        page.keyboard.press("Enter")
        page.wait_for_url("**/jobs/*/brief")
        page.locator("[data-who]").focus()
        page.keyboard.press("Enter")
        page.wait_for_selector("#name[open]")
        page.keyboard.press("ControlOrMeta+A")
        page.keyboard.type("the van")
        page.keyboard.press("Enter")
        expect(page.locator("[data-who-words]")).to_have_text("the van")


def test_what_is_said_is_in_nobodys_way(browser: Browser, address: str) -> None:
    with device(browser, address, 390) as page:
        page.goto("/jobs")
        page.get_by_label("What is the piece called?").fill("Half typed")
        page.reload()
        said = page.locator("#said")
        expect(said).not_to_be_empty()
        box = said.bounding_box()
        assert box is not None
        at = [box["x"] + box["width"] / 2, box["y"] + box["height"] / 2]
        assert page.evaluate("at => document.elementFromPoint(...at).closest('#said') === null", at), "taps go through"


def test_the_first_page_is_light(browser: Browser, address: str) -> None:
    sizes: dict[str, int] = {}
    with device(browser, address, 390) as page:
        page.on("response", lambda answer: sizes.__setitem__(answer.url, int(answer.headers.get("content-length", 0))))
        page.goto("/", wait_until="networkidle")
    assert sum(sizes.values()) < 1_000_000
    assert not [url for url in sizes if "plotly" in url]


def test_a_port_that_is_taken_is_told_in_one_line(address: str, tmp_path: Path) -> None:
    port = address.rpartition(":")[2]
    command = [sys.executable, "-m", "slabwright", "serve", "--port", port, "--book", str(tmp_path / "b.sqlite")]
    ended = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert ended.returncode == 2
    assert ended.stderr.startswith(f"slabwright: --port {port}: cannot be used")
    assert ended.stderr.count("\n") == 1


def test_events_come_as_they_are_saved(address: str) -> None:
    start = time.monotonic()
    with urllib.request.urlopen(f"{address}/api/jobs/1/events?since=0", timeout=20) as stream:
        lines = [stream.readline() for _ in range(5)]
    assert any(line.startswith(b"event: revision") for line in lines)
    assert time.monotonic() - start < 20
