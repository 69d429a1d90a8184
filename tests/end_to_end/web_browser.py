"""A server of its own book and a real browser in front of it, for tests of the bench pages."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
EXAMPLES = Path(__file__).parents[2] / "examples"

needs_chromium = [
    pytest.mark.needs_program,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine: install Debian's chromium"),
]


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The address of pages over a new book; it must end without a complaint."""
    command = [sys.executable, "-m", "slabwright", "serve", "--port", "0", "--book", str(folder / "book.sqlite")]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert server.stdout is not None
    said = server.stdout.readline()
    try:
        yield said.partition("open: ")[2].partition("/ ")[0]
    finally:
        server.terminate()
        told, complaints = server.communicate(timeout=20)
        assert not told + complaints, told + complaints


@contextmanager
def chromium() -> Iterator[Browser]:
    """Debian's Chromium."""
    from playwright.sync_api import sync_playwright

    args = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=args)
        yield opened
        opened.close()


@contextmanager
def device(browser: Browser, address: str, width: int = 1280, scheme: str = "light") -> Iterator[Page]:
    """A browser of its own; what its console complains of fails the test, and so does any request to elsewhere."""
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme, base_url=address)  # type: ignore[arg-type]
    page = context.new_page()
    page.set_default_timeout(20_000)
    complaints: list[str] = []
    page.on("console", lambda told: complaints.append(told.text) if told.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("request", lambda sent: None if sent.url.startswith(("data:", address)) else complaints.append(sent.url))
    yield page
    context.close()
    # A refusal (409, 422) and a link that is down are told by the page; the browser notes them of itself, as it does what
    # the chart library could do faster.
    expected = (
        "ERR_INTERNET_DISCONNECTED",
        "status of 409",
        "status of 422",
        "GL Driver Message",
        "willReadFrequently",
    )
    left = [told for told in complaints if not any(known in told for known in expected)]
    assert not left, left


def bring_in(page: Page, example: str) -> int:
    """Import one of the examples through the page of jobs, and say its number."""
    page.goto("/jobs")
    page.set_input_files("#import-files", [str(path) for path in (EXAMPLES / example).iterdir()])
    page.get_by_role("button", name="Bring it in").click()
    page.wait_for_url("**/jobs/*/brief", timeout=60_000)
    return int(page.url.split("/")[-2])
