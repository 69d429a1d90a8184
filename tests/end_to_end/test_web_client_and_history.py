"""In a real browser: going back says first what it takes away; the client's word is seen on both sides."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from tests.end_to_end.web_browser import bring_in, chromium, device, needs_chromium, served

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser

pytestmark = needs_chromium


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served(tmp_path_factory.mktemp("book")) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as opened:
        yield opened


@pytest.mark.parametrize("width", [390, 1280])
def test_going_back_leaves_the_hours_that_were_worked(
    browser: Browser, address: str, width: int, tmp_path: Path
) -> None:
    with device(browser, address, width) as page:
        job = bring_in(page, "hall-desk")
        page.goto(f"/jobs/{job}/brief")
        before = page.locator('[name="piece.height"]').input_value()
        page.locator('[name="piece.height"]').fill("29")
        page.get_by_role("button", name="Save").click()
        page.wait_for_selector("body[data-revision='2']")
        logged = page.evaluate(
            """async (job) => (await (await import(new URL('bench.js', document.querySelector('script[type=module]').src)))
            .ask(`/api/jobs/${job}/log`, { method: 'POST', json: { operation: 'Read both faces', event: 'delayed',
            at: '2026-11-24T09:00:00', until: '2026-11-26T09:00:00' } })).revision""",
            job,
        )
        assert logged == 3
        page.goto(f"/jobs/{job}/history")
        page.get_by_role("button", name="Bring revision 1 back").click()
        asked = page.locator("dialog.going-back")
        assert "This undoes 2 changes" in asked.inner_text()
        assert f"piece.height: 29 → {before}" in asked.inner_text()
        assert "the log" in asked.inner_text()
        assert asked.evaluate("one => one.scrollWidth <= one.clientWidth")
        page.screenshot(path=tmp_path / f"going-back-{width}.png")
        page.keyboard.press("Escape")
        assert page.locator("body").get_attribute("data-revision") == "3"
        page.get_by_role("button", name="Bring revision 1 back").click()
        page.get_by_role("button", name="what happened stays").click()
        page.wait_for_selector("body[data-revision='4']")
        page.goto(f"/jobs/{job}/brief")
        assert page.locator('[name="piece.height"]').input_value() == before
        view = page.request.get(f"/api/jobs/{job}/stated").json()
        assert next(one["stated"] for one in view["tables"] if one["key"] == "log") > 0


def test_the_clients_word_is_seen_on_both_sides(browser: Browser, address: str, tmp_path: Path) -> None:
    with device(browser, address) as maker, device(browser, address, 390) as client:
        job = bring_in(maker, "window-bench")
        maker.goto(f"/jobs/{job}/client")
        maker.get_by_role("button", name="Give a link").click()
        maker.get_by_text("No client can open it").wait_for()
        client.goto(maker.locator("#given").input_value())
        client.get_by_label("Your name").fill("A. Client")
        client.get_by_role("button", name="Approve").click()
        client.get_by_text("It is kept").wait_for()
        # The approval is a line of the job's own log, so a revision; what was approved stands all the same.
        maker.goto(f"/jobs/{job}/brief")
        assert maker.locator("body").get_attribute("data-revision") == "2"
        assert "changed since" not in maker.locator(".steps").inner_text()
        maker.locator('[name="piece.height"]').fill("470")
        maker.get_by_role("button", name="Save").click()
        maker.wait_for_selector("body[data-revision='3']")
        maker.goto(f"/jobs/{job}/client")
        assert "changed since: the drawings" in maker.locator(".steps").inner_text()
        assert "That no longer stands: height of the piece" in maker.locator("main").inner_text()
        client.reload()
        assert "It was changed since: height of the piece" in client.locator("main").inner_text()
        assert client.evaluate("document.documentElement.scrollWidth") == 390
        client.screenshot(path=tmp_path / "client.png", full_page=True)
        maker.goto("/")
        seen = maker.locator("section", has=maker.get_by_role("heading", name="A client's word to see to"))
        assert "approved the drawings as of revision 1; that no longer stands" in seen.inner_text()
        seen.get_by_role("button", name="Let the work wait for it again").first.click()
        maker.wait_for_function("() => !document.body.innerText.includes('that no longer stands')", timeout=60_000)


def test_a_time_of_one_s_own_is_logged(browser: Browser, tmp_path: Path) -> None:
    # A book of its own: the days of one job are there at once.
    with served(tmp_path) as address, device(browser, address, 390) as page:
        bring_in(page, "window-bench")
        page.goto("/")
        page.get_by_role("button", name="Log time").click(timeout=60_000)
        field = page.locator("#tap-time").get_by_label("Another time")
        field.fill("soon")
        page.locator("#tap-time").get_by_role("button", name="Log it").click()
        assert "such as 45" in page.locator("#tap-time .wrong").inner_text()
        page.screenshot(path=tmp_path / "own-time.png", full_page=True)
        field.fill("45")
        field.press("Enter")
        page.get_by_text("time logged (45 min)").wait_for()
        read = page.evaluate(
            """async (typed) => {
            const today = [...document.querySelectorAll('script[type=module]')].at(-1).src;
            const { minutes } = await import(today);
            return typed.map(minutes);
            }""",
            ["45", "45 min", "1:20", "1 h 20", "1h20min", "1.5 h", "1,5 hours", "0", "1:75", "soon"],
        )
        assert read == [45, 45, 80, 80, 80, 90, 90, None, None, None]
