"""The front page is today; an empty shop is told how a first job is made; the list of jobs has a page of its own."""

from __future__ import annotations

from pathlib import Path

from tests.unit.web_bench import bench


def test_an_empty_shop_is_told_how_its_first_job_is_made(tmp_path: Path) -> None:
    with bench(tmp_path, jobs=0) as desk:
        page = desk.device.get("/").text
        assert "Begin the first job" in page
        assert 'href="/jobs#begin"' in page
        assert 'id="begin"' in desk.device.get("/jobs").text
        assert "being worked out" not in page, "there is nothing to work out"
        assert desk.device.get("/api/today").json()["begun"] == 0


def test_the_front_page_is_today_and_its_old_name_leads_there(tmp_path: Path) -> None:
    with bench(tmp_path) as desk:
        page = desk.device.get("/").text
        assert "data-body" in page and "Begin the first job" not in page
        old = desk.device.get("/today")
        assert (old.status_code, old.headers["location"]) == (308, "/")
        assert "Hall desk" in desk.device.get("/jobs").text


def test_the_two_pages_of_the_shop_lead_to_each_other_and_say_where_one_is(tmp_path: Path) -> None:
    with bench(tmp_path) as desk:
        for here, there in (("/", "/jobs"), ("/jobs", "/")):
            page = desk.device.get(here).text
            assert f'<a href="{here}" aria-current="page">' in page
            assert f'<a href="{there}">' in page
