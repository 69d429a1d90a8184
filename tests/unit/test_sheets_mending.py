"""The mending sheets: each on its page, with the figures of the plan."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import replace

import pytest
from pypdf import PdfReader
from tests.unit.mended_slab import job, mended, planned

from slabwright.finish.resin_results import Resin
from slabwright.sheets import document
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.mending_sheet import mending_sheets, steps_of

SHOP = {
    "epoxy": {
        "mix_by": "volume",
        "resin_parts_volume": 100,
        "hardener_parts_volume": 54,
        "resin_density": 1.16,
        "hardener_density": 0.97,
        "resin_parts": 100,
        "hardener_parts": 45,
        "tint": "black",
        "tint_share": 0.02,
    }
}
DEFECTS: tuple[Mapping[str, object], ...] = (
    {"kind": "void", "at": [1000, 0], "diameter": 80, "depth": "through"},
    {"kind": "check", "outline": [[0, 50], [400, 70]], "width": 2, "depth": "through"},
    {"kind": "bark", "outline": [[1500, -200], [1700, -190], [1700, -160], [1500, -170]], "depth": 18, "face": "B"},
    {"kind": "knot", "at": [700, 200], "diameter": 40},
    {"kind": "metal", "at": [1200, 250], "diameter": 12, "depth": 15},
)
MANY = tuple(
    {"kind": "knot" if k % 3 else "void", "at": [90 + 78 * k, -250 + 97 * (k % 6)], "diameter": 18 + k, "depth": 20}
    for k in range(23)
)


def sheets_of(
    defects: Sequence[Mapping[str, object]], show: str = "A", **head: object
) -> tuple[Context, list[Sheet], Resin]:
    mending, said, resin, told = mended(defects, show=show, shop=SHOP)
    stated = job(defects, shop=SHOP, slab={"show_face": show})
    changed = stated.stated.model_copy(update={"job": stated.stated.job.model_copy(update=head)})
    base = planned(show=show)
    context = Context(replace(base, job=replace(stated, stated=changed), findings=(*base.findings, *said, *told)))
    return context, mending_sheets(context, mending, resin), resin


@pytest.mark.parametrize(
    ("defects", "show", "head"),
    [
        (DEFECTS, "A", {}),
        (DEFECTS, "B", {"units": "inch"}),
        (MANY, "A", {"paper": "Letter"}),
        (MANY, "A", {"units": "inch"}),
    ],
)
def test_each_sheet_stays_on_its_page(
    monkeypatch: pytest.MonkeyPatch, defects: Sequence[Mapping[str, object]], show: str, head: dict[str, object]
) -> None:
    context, sheets, resin = sheets_of(defects, show, **head)
    monkeypatch.setattr(document, "bench_sheets", lambda _: sheets)
    pages = PdfReader(io.BytesIO(document.bench_pdf(context))).pages
    assert len(pages) == len(sheets)
    text = "\n".join(page.extract_text() for page in pages)
    for number in range(1, len(defects) + 1):
        assert f"D{number} " in text or f"D{number}\n" in text
    for batch in resin.batches:
        assert f"{batch.resin} g" in text
        assert f"{batch.hardener} g" in text
        assert f"Together {batch.grams} g" in text
    assert "Skin sensitises" in text
    assert "Underside up" in text or not any(pour.up == "underside" for pour in resin.pours)


def test_the_steps_follow_the_work() -> None:
    context, _, _ = sheets_of(DEFECTS)
    mending, _, resin, _ = mended(DEFECTS, shop=SHOP)
    steps = steps_of(context, mending, resin)
    said = " ".join(steps)
    order = ["Metal out of D5", "Dig out D3, D5", "Tape underneath D1, D2, D4", "Dam at the edge of D2", "Pour D1"]
    places = [said.index(each) for each in order]
    assert places == sorted(places)
    assert steps[-1].startswith("Then skim face")
    assert "keys of D2" in said


def test_nothing_to_mend_prints_nothing() -> None:
    context, sheets, _ = sheets_of(())
    assert sheets == []
    assert mending_sheets(context, None, None) == []
