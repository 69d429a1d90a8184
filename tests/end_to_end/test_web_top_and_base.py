"""The top and the base in a real browser: a feature is moved clear of a clash by hand and by keys, another base is taken."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect
from tests.end_to_end.web_browser import chromium, device, needs_chromium, served
from tests.unit import web_slab

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


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("job")
    for name, data in web_slab.files().items():
        (home / name).write_bytes(data)
    return home


def brought_in(page: Page, folder: Path) -> int:
    page.goto("/jobs")
    page.set_input_files("#import-files", [str(path) for path in folder.iterdir()])
    page.get_by_role("button", name="Bring it in").click()
    page.wait_for_url("**/jobs/*/brief")
    return int(page.url.split("/")[-2])


@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (390, "dark")])
def test_a_hole_is_moved_clear_of_a_clash(
    browser: Browser, address: str, folder: Path, width: int, scheme: str
) -> None:
    with device(browser, address, width, scheme) as page:
        job = brought_in(page, folder)
        page.goto(f"/jobs/{job}/top")
        assert page.evaluate("document.documentElement.scrollWidth") == width
        page.locator(".features [data-pick='lamp']").click()
        verdict = page.locator("[data-verdict]")
        expect(page.locator("[data-feature]")).to_have_attribute("data-name", "lamp")
        along = page.get_by_label("Along: distance")
        along.fill("-400")
        expect(verdict).to_contain_text("Stop")
        expect(page.locator(".plan .clash").first).to_be_attached()
        expect(page.locator("[data-mends]")).to_contain_text("What mends it")
        page.get_by_role("button", name="Nearest free place").click()
        expect(verdict).to_contain_text("Every distance holds")
        freed = along.input_value()
        assert freed != "-400"
        page.get_by_text("1 mm", exact=True).click()
        page.get_by_role("button", name="right end").click()
        expect(along).to_have_value(str(int(freed) + 1))
        page.get_by_label("Along: measured from").select_option("left end")
        expect(along).to_have_value(str(750 + int(freed) + 1))
        page.get_by_role("button", name="Save", exact=True).click()
        page.wait_for_selector("#moved .panel")
        assert "along" in page.locator("#moved").text_content().lower()  # type: ignore[union-attr]
        expect(along).to_have_value(str(750 + int(freed) + 1))
        assert page.locator("body").get_attribute("data-revision") == "2"


def test_the_plan_is_worked_by_keys_alone(browser: Browser, address: str, folder: Path) -> None:
    with device(browser, address) as page:
        job = brought_in(page, folder)
        page.goto(f"/jobs/{job}/top?feature=0")
        page.locator(".plan [role=listbox]").focus()
        page.keyboard.press("ArrowRight")
        about = page.locator("[data-feature]")
        expect(about).not_to_have_attribute("data-name", "left plate")
        walked = str(about.get_attribute("data-name"))
        expect(page.locator(".plan .chosen")).to_have_attribute("data-pick", walked)
        expect(page.locator(".plan [role=listbox]")).to_be_focused()
        place = page.get_by_label("Along: distance")
        before = float(place.input_value())
        page.keyboard.press("Shift+ArrowRight")
        page.keyboard.press("Shift+ArrowRight")  # quicker than the answers: none is lost
        page.keyboard.press("Shift+ArrowRight")
        expect(place).to_have_value(f"{before + 15:g}")
        page.keyboard.press("Shift+ArrowUp")  # the underside is up: upwards is the near edge
        expect(page.get_by_label("Across: distance")).not_to_have_value("0")
        page.get_by_role("button", name="Show face up").click()
        expect(page.locator(".plan")).to_have_attribute("data-side", "show")


def test_features_come_and_go_and_a_place_is_kept_clear(browser: Browser, address: str, folder: Path) -> None:
    with device(browser, address) as page:
        job = brought_in(page, folder)
        page.goto(f"/jobs/{job}/top")
        count = page.locator(".features li").count()
        page.get_by_label("Add", exact=True).select_option("through hole")
        page.get_by_role("button", name="Add it").click()
        expect(page.locator(".features li")).to_have_count(count + 1)
        expect(page.locator("[data-feature]")).to_have_attribute("data-name", "through hole")
        expect(page.locator("[data-verdict]")).to_contain_text("Every distance holds")
        page.get_by_role("button", name="Remove through hole").click()
        expect(page.locator(".features li")).to_have_count(count)
        page.get_by_label("What it is called").fill("knees")
        corners = {"Along, from the left end": ("600", "900"), "Across, from the centre line": ("-80", "80")}
        for label, (low, high) in corners.items():
            page.get_by_label(f"{label}: from").fill(low)
            page.get_by_label(f"{label}: to").fill(high)
        page.get_by_role("button", name="Keep it clear").click()
        page.wait_for_selector("#moved .panel")
        assert "lamp" in page.locator("#moved").inner_text()
        page.locator("[data-seen]").click()
        page.get_by_role("button", name="Remove knees").click()
        page.wait_for_selector("#moved .panel")
        assert "Mended" in page.locator("#moved").inner_text()


@pytest.mark.parametrize(("width", "scheme"), [(1280, "dark"), (390, "light")])
def test_another_base_is_held_beside_it_and_taken(
    browser: Browser, address: str, folder: Path, width: int, scheme: str
) -> None:
    with device(browser, address, width, scheme) as page:
        job = brought_in(page, folder)
        page.goto(f"/jobs/{job}/base")
        assert page.evaluate("document.documentElement.scrollWidth") == width
        column = page.locator("form[data-column='B']")
        expect(column.locator("[data-told]")).to_contain_text("To buy")
        column.get_by_label("Plates, thickness").fill("none at all")
        expect(column.locator(".wrong")).to_contain_text("plate thickness")
        expect(column.locator("[data-told]")).to_be_empty()  # what was before is no answer to it
        column.get_by_label("Plates, thickness").fill("12")
        column.get_by_label("Tube").fill("60x60x4")
        expect(column.locator("[data-told]")).to_contain_text("60x60x4")
        expect(column.locator("[data-told] .voice.go").first).to_have_text("better")
        column.get_by_role("button", name="Take B").click()
        page.wait_for_selector("#moved .panel")
        assert "Weight of the steel" in page.locator("#moved").inner_text()
        expect(page.get_by_label("Tube of the legs")).to_have_value("60x60x4")
        page.locator("[data-seen]").click()
        page.get_by_label("Leg as made").fill("676")
        page.get_by_role("button", name="Save what was measured").click()
        page.wait_for_selector("#moved .panel")
        assert "Yes: 676" in page.locator(".legs").inner_text()


def test_what_is_typed_for_the_base_is_answered_before_it_is_saved(
    browser: Browser, address: str, folder: Path
) -> None:
    with device(browser, address) as page:
        job = brought_in(page, folder)
        page.goto(f"/jobs/{job}/base")
        page.get_by_role("radio", name="closed loops").check()
        live = page.locator("[data-live]")
        expect(live).to_contain_text("Pushed lengthwise")
        assert page.locator("body").get_attribute("data-revision") == "1"
        page.get_by_role("button", name="As it was").click()
        expect(live).to_be_hidden()
        page.locator(".open button").first.click()
        page.wait_for_selector("#moved .panel")
        assert page.locator("body").get_attribute("data-revision") == "2"


def test_a_plate_is_entered_as_it_was_made(browser: Browser, address: str, folder: Path) -> None:
    with device(browser, address, 390) as page:
        job = brought_in(page, folder)
        page.goto(f"/jobs/{job}/top")
        page.locator("summary", has_text="left plate").click()
        form = page.locator("form[data-plate='left plate']")
        form.get_by_label("Along the grain, at its longest").fill("121,5")
        form.locator("[data-part='along']").first.fill("-44")
        form.get_by_role("button", name="Save left plate as made").click()
        expect(form.locator(".wrong")).to_contain_text("wants both figures")
        form.locator("[data-part='along']").first.fill("")
        form.get_by_role("button", name="Save left plate as made").click()
        page.wait_for_selector("body[data-revision='2']")
        expect(form.get_by_label("Along the grain, at its longest")).to_have_value("121.5")
