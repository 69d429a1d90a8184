"""No page has a barrier that axe-core knows of (WCAG 2.2 A and AA, and its best practices), in light and in dark."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from tests.end_to_end.web_browser import bring_in, chromium, device, needs_chromium, served

from slabwright.web.pages import PAGES

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

axe = pytest.importorskip("axe_playwright_python", reason="axe-playwright-python is not installed")
AXE = Path(axe.__file__).parent / "axe.min.js"
STEPS = [page.name for page in PAGES if page.standing is not None]

pytestmark = needs_chromium


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with served(tmp_path_factory.mktemp("book")) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as opened:
        yield opened


def barriers(page: Page) -> list[str]:
    """What axe-core finds on the page as it is."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found: dict[str, Any] = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [
        f"{rule['id']}: {node['html'][:160]} {node['any'][0]['message'] if node['any'] else ''}"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]


@pytest.fixture(scope="module")
def job(browser: Browser, address: str) -> int:
    with device(browser, address) as page:
        return bring_in(page, "hall-desk")


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (390, "dark")])
def test_no_page_has_a_barrier(browser: Browser, address: str, job: int, width: int, scheme: str) -> None:
    found: dict[str, list[str]] = {}
    with device(browser, address, width, scheme) as page:
        for where in ("/", "/jobs", *(f"/jobs/{job}/{name}" for name in STEPS)):
            page.goto(where, wait_until="load")
            found[where] = barriers(page)
        page.goto(f"/jobs/{job}/brief")
        page.locator("button.why").first.click()
        page.wait_for_selector("#why[open] .why-lines")
        found["why"] = barriers(page)
    assert {where: told for where, told in found.items() if told} == {}


def test_the_clients_page_has_no_barrier(browser: Browser, address: str, job: int) -> None:
    with device(browser, address) as page:
        page.goto(f"/jobs/{job}/client")
        page.get_by_role("button", name="Give a link").click()
        page.wait_for_selector("[data-given]:not([hidden])")
        assert barriers(page) == []
        page.goto(page.locator("#given").input_value())
        assert barriers(page) == []
        page.get_by_role("link", name=": larger").first.click()
        page.wait_for_selector(".large")
        assert barriers(page) == []


def test_going_back_has_no_barrier(browser: Browser, address: str, job: int) -> None:
    with device(browser, address) as page:
        page.goto(f"/jobs/{job}/brief")
        page.locator('[name="piece.finish"]').fill("soap")
        page.get_by_role("button", name="Save").click()
        page.wait_for_selector("body[data-revision='2']")
        page.goto(f"/jobs/{job}/history")
        page.get_by_role("button", name="Bring revision 1 back").click()
        page.wait_for_selector("dialog.going-back[open]")
        assert barriers(page) == []
