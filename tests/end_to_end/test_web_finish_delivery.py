"""Finish and delivery in a real browser, phone and laptop: options taken, coats typed and logged, a way in tried and saved."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect
from tests.end_to_end.web_browser import bring_in, chromium, device, needs_chromium, served

if TYPE_CHECKING:
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


@pytest.fixture(scope="module")
def job(browser: Browser, address: str) -> int:
    with device(browser, address) as page:
        return bring_in(page, "hall-desk")


def test_coats_are_typed_tried_and_saved(browser: Browser, address: str, job: int) -> None:
    with device(browser, address) as page:
        page.goto(f"/jobs/{job}/finish")
        steel = page.locator("section", has=page.locator("#system-steel"))
        steel.locator("summary").click()
        steel.get_by_label("Coats", exact=True).fill("3")
        expect(steel.locator("[data-answer]")).to_contain_text("3 coats")
        steel.get_by_role("button", name="Add a line").click()
        expect(steel.locator("[data-line]")).to_have_count(2)
        steel.locator("[data-line]").nth(1).get_by_role("button", name="Remove").click()
        expect(steel.locator("[data-line]")).to_have_count(1)
        steel.get_by_role("button", name="Save").click()
        expect(page.locator("#moved")).to_contain_text("figures moved")
        expect(page.locator('[aria-label="Number of coats on the steel"] .taken h4')).to_contain_text("3 ×")


def test_a_coat_is_logged_and_a_card_is_ticked_on_a_phone(browser: Browser, address: str, job: int) -> None:
    with device(browser, address, 390, "dark") as page:
        page.goto(f"/jobs/{job}/finish")
        # Nothing tells yet that the slab is flat: a coat can be logged all the same.
        expect(page.locator('[data-next] [data-on="wood"]')).to_contain_text("Not yet")
        page.get_by_text("Wood: the slab is not flat. It is coated all the same?").click()
        form = page.locator("[data-on-now]", has_text="on the wood")
        form.locator("input").fill("2026-12-08T09:30")
        form.get_by_role("button", name="It is on").click()
        expect(page.locator('[data-next] [data-on="wood"] h2')).to_contain_text("coat 2")
        card = page.locator(".mixing").first
        card.get_by_role("checkbox").check()
        page.reload()
        expect(page.locator(".mixing").first.get_by_role("checkbox")).to_be_checked()
        assert page.evaluate("document.documentElement.scrollWidth") <= 390
        small = page.evaluate(
            "[...document.querySelectorAll('main button, main summary, main select, main input:not([type=checkbox])')]"
            ".filter((one) => one.offsetParent && one.getBoundingClientRect().height < 44).map((one) => one.outerHTML)"
        )
        assert small == []


@pytest.mark.parametrize("width", [1280, 390])
def test_a_passage_is_added_answered_moved_and_saved(browser: Browser, address: str, job: int, width: int) -> None:
    with device(browser, address, width) as page:
        page.goto(f"/jobs/{job}/delivery")
        passages = page.locator(".passage")
        count = passages.count()
        page.get_by_role("button", name="+ Corner").click()
        expect(passages).to_have_count(count + 1)
        new = passages.nth(count)
        new.get_by_label("What it is called").fill(f"turn {width}")
        expect(new.locator("[data-left]")).to_contain_text("To measure corridor before it, width")
        expect(page.locator("[data-great]")).to_have_text("Not known yet")
        new.get_by_label("Corridor before it").fill("60")
        page.locator("[data-passages]").get_by_role("button", name="Save").click()
        expect(page.locator("[data-passages] .wrong")).to_contain_text("corridor after it, width, to the ceiling")
        new.get_by_label("Corridor after it").fill("1200")
        new.get_by_label("To the ceiling").fill("2400")
        expect(new.locator("[data-left]")).to_contain_text("on each side")
        expect(page.locator("[data-routes] img")).not_to_have_count(0)
        new.get_by_role("button", name="Earlier").press("Enter")
        expect(passages.nth(count - 1).get_by_label("What it is called")).to_have_value(f"turn {width}")
        page.reload()  # what was typed and not saved is here again
        expect(passages.nth(count - 1).get_by_label("What it is called")).to_have_value(f"turn {width}")
        page.locator("[data-passages]").get_by_role("button", name="Save").click()
        expect(page.locator("#moved")).to_contain_text("figures moved")
        expect(page.locator(f"[data-routes] img[alt*='turn {width}']")).to_have_count(1)
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_what_is_shown_is_the_answer_to_what_is_typed(browser: Browser, address: str, job: int) -> None:
    with device(browser, address) as page:
        page.goto(f"/jobs/{job}/delivery")
        page.wait_for_load_state("networkidle")
        great = page.locator("[data-great]")
        before = great.text_content()
        page.route("**/delivery/try", lambda _: None)  # the answer is awaited
        room = page.get_by_label("Room for hands, each side")
        room.fill("55")
        expect(page.locator("[data-voice]")).to_have_text("Working")
        expect(page.locator("[data-way]")).to_have_class("awaited")
        page.unroute("**/delivery/try")
        page.reload()
        expect(great).not_to_have_text(before or "")
        expect(page.locator("[data-way]")).not_to_have_class("awaited")
        page.get_by_label("Room for hands, each side").fill("banana")
        expect(great).to_have_text("Not worked out")
        expect(page.locator(".wrong").get_by_text("banana")).to_be_visible()
        page.locator("[data-passages]").get_by_role("button", name="As it was").click()
        expect(great).to_have_text(before or "")


def test_alone_is_asked_and_steps_are_ticked(browser: Browser, address: str, job: int) -> None:
    with device(browser, address, 390) as page:
        page.goto(f"/jobs/{job}/delivery")
        lift = page.locator(".lift").first
        page.get_by_label("Yes, alone").check()
        expect(lift.locator(".alone")).to_be_visible()
        expect(lift.locator(".who")).to_be_hidden()
        page.get_by_label("No", exact=True).check()
        expect(lift.locator(".who")).to_be_visible()
        expect(lift.locator(".alone")).to_be_hidden()
        page.locator(".steps-list input").first.check()
        page.reload()
        expect(page.locator(".steps-list input").first).to_be_checked()
        expect(lift.locator(".alone")).to_be_hidden()
