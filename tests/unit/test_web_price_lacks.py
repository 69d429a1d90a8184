"""A price that lacks what has no price says so at its figure, and before a quote of it is handed out."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.unit.web_bench import Bench, bench


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Bench]:
    with bench(tmp_path) as made:
        sent = {"based_on": 1, "values": {"prices.hour": 52.5}, "why": "", "file": "shop"}
        assert made.post("/api/jobs/1/edits", json=sent).status_code == 200
        yield made


def test_what_has_no_price_is_told_at_the_figure_and_before_the_quote(pages: Bench) -> None:
    view = pages.device.get("/api/jobs/1/price").json()
    count = len(view["not_priced"])
    assert count > 1
    page = pages.device.get("/jobs/1/price").text
    figure, _, rest = page.partition("What moves it most")
    assert f"Not the whole price: {count} things have no price and are not in it." in figure
    assert view["not_priced"][0] in figure
    before_quote = rest.partition("/api/jobs/1/quote.pdf")[0].rpartition("<details")[2]
    assert f"Quote for the client: {count} prices are missing" in before_quote
    assert "Take the quote all the same" in rest
    assert 'class="button main" href="/api/jobs/1/quote.pdf"' not in page


def test_a_whole_price_says_nothing_of_it(pages: Bench) -> None:
    example = Path(__file__).parents[2] / "examples" / "reading-table"
    files = {path.name: path.read_bytes() for path in example.iterdir() if path.is_file()}
    job = pages.book.add(files, "test", "brought in").job
    view = pages.device.get(f"/api/jobs/{job}/price").json()
    page = pages.device.get(f"/jobs/{job}/price").text
    assert view["not_priced"] == []
    assert "Not the whole price" not in page
    assert f'class="button main" href="/api/jobs/{job}/quote.pdf"' in page
