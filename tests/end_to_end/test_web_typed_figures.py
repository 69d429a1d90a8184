"""Figures as they are typed on the pages: a decimal comma is one, and what can be read in two ways is asked about."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from tests.end_to_end.web_browser import bring_in, chromium, device, needs_chromium, served

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = needs_chromium

READ = """async ([typed, kind, of]) => {
  const frame = document.querySelector('script[type=module]').src;
  const { stated, Unclear } = await import(new URL('bench.js', frame));
  try { return stated({ dataset: { kind, of } }, typed); } catch (error) {
    if (error instanceof Unclear) return `? ${error.message}`;
    throw error;
  }
}"""


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    with (
        served(tmp_path_factory.mktemp("book")) as address,
        chromium() as browser,
        device(browser, address, 390) as made,
    ):
        bring_in(made, "reading-table")
        yield made


@pytest.mark.parametrize(
    ("typed", "figures"),
    [
        ("11.2", [11.2]),
        ("11.2, 12", [11.2, 12]),
        ("11.2,12.4", [11.2, 12.4]),
        ("11,2; 12,4", [11.2, 12.4]),
        ("11,2, 12,4", [11.2, 12.4]),
        ("11;12,4", [11, 12.4]),
        ("11, 12, 13", [11, 12, 13]),
        ("1.2 m, 1 200", ["1.2 m", "1 200"]),
        ("7' 6\",8'", ["7' 6\"", "8'"]),
        ("11,2", "11.2 for one figure, or 11; 2 for 2"),
        ("11,12,13", "11; 12; 13 for 3"),
        ("10, 11,12", "11.12 for one figure, or 11; 12 for 2"),
        ("1,200", "1.200 for one figure, or 1; 200 for 2"),
    ],
)
def test_figures_of_a_list(page: Page, typed: str, figures: list[float] | str) -> None:
    read = page.evaluate(READ, [typed, "list", "number"])
    if isinstance(figures, str):
        assert read.startswith("? ") and figures in read
    else:
        assert read == figures


@pytest.mark.parametrize(
    ("typed", "points"),
    [("0, 0; 10,5, 20", [[0, 0], [10.5, 20]]), ("1,2\n3, 4", [[1, 2], [3, 4]]), ("1, 2, 3", "not one point")],
)
def test_points_of_a_list(page: Page, typed: str, points: object) -> None:
    read = page.evaluate(READ, [typed, "list", "point"])
    assert read == points or (isinstance(points, str) and points in read)


def test_a_plain_figure_may_have_a_decimal_comma(page: Page) -> None:
    assert page.evaluate(READ, ["11,2", "number", "words"]) == 11.2
    assert page.evaluate(READ, ["55,5", "length", "words"]) == 55.5
    assert page.evaluate(READ, ["1,200", "length", "words"]) == "1,200"


def test_a_new_job_is_told_all_that_is_wrong_at_its_places(page: Page) -> None:
    page.goto("/jobs")
    page.get_by_label("What is the piece called?").fill("Oak desk")
    page.get_by_label("How long is the finished top").fill("long")
    page.get_by_label("Which wood?").fill("oak")
    page.get_by_role("button", name="Begin the job").click()
    length, wood = (page.locator(f"[data-wrong-at={key}]") for key in ("length", "species"))
    wood.wait_for()
    assert "'long' is not a length" in length.inner_text()
    assert page.get_by_label("How long is the finished top").get_attribute("aria-describedby") == "wrong-length"
    wood.get_by_role("button", name="oak, white", exact=True).click()
    assert page.get_by_label("Which wood?").input_value() == "oak, white"
    assert wood.count() == 0 and length.count() == 1
    page.get_by_label("How long is the finished top").fill("1,6 m")
    page.get_by_role("button", name="Begin the job").click()
    page.wait_for_url("**/jobs/*/brief")


def test_the_page_asks_before_it_saves_one_figure_as_two(page: Page) -> None:
    page.goto("/jobs/1/stated?file=job#slab.moisture")
    core = page.locator('[name="slab.moisture.core"]')
    form = page.locator("form[data-edit]", has=core)
    core.fill("11,2")
    form.get_by_role("button", name="Save").click()
    form.locator(".wrong:not([hidden])").wait_for()
    assert "11.2 for one figure" in form.locator(".wrong").inner_text()
    core.fill("11,2; 11,6")
    form.get_by_role("button", name="Save").click()
    page.wait_for_selector("body[data-revision='2']")
    assert page.locator('[name="slab.moisture.core"]').input_value() == "11.2, 11.6"
