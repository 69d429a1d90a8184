from __future__ import annotations

import dataclasses
import io
import json
import re
from itertools import pairwise
from pathlib import Path
from typing import Any, cast
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader
from tests.unit.sheet_plan import plan
from tests.unit.sheet_prints import bare, pictures, printed, said_by, text_of

from slabwright.sheets.cautions import cautions
from slabwright.sheets.context import Context
from slabwright.sheets.document import MEASURE, STOPPED, bench_pdf, bench_sheets, document_data
from slabwright.sheets.stack_card import card_width
from slabwright.sheets.words import Words, plain
from slabwright.sheets.write import BED_DXF, BED_SVG, BENCH_SHEETS, replace_files, write_sheets

POINT = 25.4 / 72.0
HOSTILE = [
    '#panic("x") *bold* _it_ $x$ <label> @ref [a](b)',
    'quotes " and \' and \\ and {"json": 1} </text><svg onload="x">',
    "line\nbreak\ttab\x00nul\x1b[31m",
    "Lesetisch für die Bücherei, 3 m², ő ß ¾ “so”",
    "漢字 🙂 עברית",
    "long " * 300,
]


VARIANTS: dict[str, dict[str, Any]] = {
    "metric": {},
    "inches": {"units": "inch"},
    "twelve stacks of five kinds": {"along": 6, "kinds": 5, "units": "inch", "first_face": "B"},
    "twenty-four stacks": {"along": 12, "kinds": 6, "paper": "Letter"},
    "no fill": {"fill": False, "along": 2},
    "stopped": {"stop": True},
    "long title": {"title": HOSTILE[-1], "client": HOSTILE[-1]},
}


@pytest.mark.parametrize("changes", VARIANTS.values(), ids=VARIANTS.keys())
def test_every_sheet_is_one_page_with_its_title_strip(changes: dict[str, Any]) -> None:
    titles = [sheet.title for sheet in bench_sheets(Context(printed(**changes)[0]))]
    said = said_by(**changes)
    assert len(said) == len(titles)
    for number, (text, title) in enumerate(zip(said, titles, strict=True), start=1):
        assert MEASURE in text
        assert f"Page {number} of {len(said)}" in text
        assert f"Sheet {title}" in text
        assert f"Units {'inches' if changes.get('units') == 'inch' else 'mm'}" in text
        assert "Rev. 3" in text and "Date 2031-03-14" in text


def test_paper_follows_the_units_unless_it_is_stated() -> None:
    def size(**changes: Any) -> tuple[float, float]:
        page = PdfReader(io.BytesIO(printed(**changes)[1])).pages[0]
        return round(float(page.mediabox.width) * POINT, 1), round(float(page.mediabox.height) * POINT, 1)

    assert size() == (297.0, 210.0)  # ISO 216, A4
    assert size(units="inch") == (279.4, 215.9)  # ANSI/ASME Y14.1, size A: 8.5 x 11 in
    assert size(units="inch", paper="A4") == (297.0, 210.0)


def test_the_sheets_say_the_figures() -> None:
    said = said_by()
    for figure in ("44.4 mm", "41.2 mm", "−0.90 mm", "−1.60 mm", "11.2 %", "8.6 %", "20 to 45 days", "12 days"):
        assert figure in said[0]
    whole = "\n".join(said)
    for figure in (
        "10.75",
        "15.25",
        "+6.8",
        "+0.8",
        "12 hours",
        "61.50 EUR",
        "0.37 mm",
    ):
        assert figure in whole
    assert "needs the room's winter humidity" in said[0]


def test_no_fill_leaves_out_the_filled_places_and_no_stacks_the_shim_map() -> None:
    titles = [sheet.title for sheet in bench_sheets(Context(plan(fill=False, stop=True)))]
    assert "Filled places" not in titles and "Shim map" not in titles and "Thickness against fill" in titles
    titles = [sheet.title for sheet in bench_sheets(Context(plan()))]
    assert "Filled places" in titles and "Shim map" in titles


def test_what_stops_the_work_is_said_on_every_sheet_with_its_remedy_on_the_first() -> None:
    said = said_by(stop=True)
    assert all(STOPPED in text for text in said)
    assert "shorten the flat to 2080 mm" in said[0].replace("\n", " ")
    assert not any(STOPPED in text for text in said_by())


@pytest.mark.parametrize("title", HOSTILE)
def test_a_job_s_words_are_never_read_as_markup(title: str) -> None:
    said = said_by(title=title, client=title, revision=title, date=title)
    assert plain(title, 20).rstrip("…").strip().split(" ")[0].strip("漢字🙂") in said[0]
    assert all(MEASURE in text for text in said)


def test_markup_is_printed_as_it_was_typed() -> None:
    assert '#panic("x") *bold* _it_ $x$ <label>' in said_by(title=HOSTILE[0])[1]


def test_only_the_sheets_own_family_is_used() -> None:
    reader = PdfReader(io.BytesIO(printed()[1]))
    fonts = set()
    for page in reader.pages:
        for font in cast("dict[str, Any]", page["/Resources"])["/Font"].values():
            fonts.add(str(font["/BaseFont"]))
    assert fonts and all("SourceSansPro" in font for font in fonts)


def test_the_same_plan_gives_the_same_bytes(tmp_path: Path) -> None:
    once, again = ([path.read_bytes() for path in write_sheets(plan(), tmp_path / name)] for name in ("one", "two"))
    assert once == again


@pytest.mark.parametrize("changes", VARIANTS.values(), ids=VARIANTS.keys())
def test_text_is_large_enough_and_lies_inside_its_drawing(changes: dict[str, Any]) -> None:
    for svg in pictures(printed(**changes)[0]):
        root = ElementTree.fromstring(svg)
        wide, high = (float(root.attrib[side].removesuffix("mm")) for side in ("width", "height"))
        assert root.attrib["viewBox"] == f"0 0 {root.attrib['width'][:-2]} {root.attrib['height'][:-2]}"
        for text in root.iter("{http://www.w3.org/2000/svg}text"):
            size = float(text.attrib["font-size"])
            assert size >= 10.49 * POINT
            x, about = float(text.attrib["x"]), 0.43 * size * len(text.text or "")
            start = x - about * {"start": 0.0, "middle": 0.5, "end": 1.0}[text.attrib["text-anchor"]]
            assert start >= -0.6 and start + about <= wide + 0.6, text.text
            assert 0.5 * size <= float(text.attrib["y"]) <= high


def test_figures_of_a_stack_are_drawn_28_points_high_and_to_scale() -> None:
    result = plan()
    assert result.slab is not None and result.slab.shims is not None
    svgs = [svg for svg in pictures(result) if "Carries the slab" in svg or "do not lift" in svg or "Unread" in svg]
    assert len(svgs) == len(result.slab.shims.stacks)
    scales = set()
    for svg, stack in zip(svgs, result.slab.shims.stacks, strict=True):
        root = ElementTree.fromstring(svg)
        great = [
            text.text
            for text in root.iter("{http://www.w3.org/2000/svg}text")
            if float(text.attrib["font-size"]) >= 27.9 * POINT
        ]
        shown = [f"{piece:g}" for piece in sorted(stack.pieces)]
        assert great == [stack.name, f"{stack.height:g}", *shown]
        boxes = [
            path.attrib["d"]
            for path in root.iter("{http://www.w3.org/2000/svg}path")
            if path.attrib["fill"] == "#F3EADA"
        ]
        heights = []
        for box in boxes:
            corners = [tuple(float(v) for v in pair.split()) for pair in box.strip("MZ").split("L")]
            heights.append(corners[2][1] - corners[0][1])
        scales.add(round(sum(heights) / stack.height, 1))
        assert heights == pytest.approx(
            [piece * sum(heights) / stack.height for piece in sorted(stack.pieces)], abs=0.02
        )
    assert len(scales) == 1


def test_each_caution_stands_on_some_sheet_with_its_source() -> None:
    whole = " ".join("\n".join(said_by()).split())
    for caution in cautions("surfacing", "machine", "handling", "epoxy", "attended"):
        assert caution.text in whole
        # Of cautions that share a source it stands after the last.
        behind = whole[whole.index(caution.text) :]
        assert behind[behind.index("[") :].startswith(f"[{caution.source}]")
    assert "Local codes, the maker's data sheets and licensed practice come first." in whole
    with pytest.raises(ValueError, match="no cautions for"):
        cautions("welding shop")


def test_why_lines_come_from_the_figures_own_accounts() -> None:
    context = Context(plan())
    told = context.because("slab.seat.thickness_low")
    assert told.endswith(".") and told.split()[0] in said_by()[0]
    assert context.because("slab.seat.nothing_of_the_kind") == ""


def test_data_goes_to_the_page_as_json_that_reads_back_the_same() -> None:
    data = document_data(Context(plan(title=HOSTILE[0])))
    assert json.loads(json.dumps(data)) == data
    assert data["strip"]["job"] == plain(HOSTILE[0], 64)


@pytest.mark.parametrize(
    ("text", "most", "told"), [("a  b\n c", 9, "a b c"), ("abcdef", 4, "abc…"), ("a\x00b", 9, "a b"), ("", 3, "")]
)
def test_plain(text: str, most: int, told: str) -> None:
    assert plain(text, most) == told


def test_a_plan_without_a_slab_has_one_sheet_and_no_stale_layout(tmp_path: Path) -> None:
    whole = plan()
    names = {path.name for path in write_sheets(whole, tmp_path)}
    assert names == {BENCH_SHEETS, BED_DXF, BED_SVG} == {path.name for path in tmp_path.iterdir()}
    written = write_sheets(dataclasses.replace(whole, slab=None), tmp_path)
    assert [path.name for path in written] == [BENCH_SHEETS] == [path.name for path in tmp_path.iterdir()]
    reader = PdfReader(tmp_path / BENCH_SHEETS)
    assert len(reader.pages) == 1
    assert (
        "winter humidity" in reader.pages[0].extract_text()
        and "wait 20 to 45 days" in reader.pages[0].extract_text().lower()
    )


def test_a_plan_with_little_in_it_still_has_its_sheets() -> None:
    context = Context(bare(plan()))
    titles = [sheet.title for sheet in bench_sheets(context)]
    assert titles == [
        "What board comes",
        "Set-up",
        "Face A before cutting",
        "Face B before cutting",
        "Checks while working",
    ]
    assert len(text_of(bench_pdf(context))) == len(titles)


def test_progress_is_told(tmp_path: Path) -> None:
    said: list[str] = []
    write_sheets(plan(), tmp_path, said.append)
    assert len(said) >= 2


def test_a_fault_while_writing_leaves_what_was_there(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("old")
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / "keep").write_text("old")
    with pytest.raises(OSError):
        replace_files(tmp_path, {"b": b"new", "a": b"new"})
    assert (tmp_path / "a").read_text() == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a", "b"]


def test_the_falling_bars_meet() -> None:
    svg = next(svg for svg in pictures(plan()) if "Readings as measured" in svg)
    drawn = re.findall(r'<path d="M([\d.]+) ([\d.]+)L([\d.]+) [\d.]+L[\d. ]+L[\d. ]+Z" fill="#FFFFFF"', svg)
    steps = [(float(left), float(right)) for left, _, right in drawn]
    assert len(steps) == 6
    down, fill, spare = steps[:4], steps[4], steps[5]
    for (left, _), (_, right) in pairwise(down):
        assert right == pytest.approx(left, abs=0.02)
    assert fill[0] == pytest.approx(down[-1][0], abs=0.02)  # the fill's whole gain, up from the promise
    assert spare[1] == pytest.approx(fill[1], abs=0.02)  # and down from there what nobody asked for
    scale = (down[0][1] - down[0][0]) / 0.9
    assert [(right - left) / scale for left, right in (fill, spare)] == pytest.approx([3.1, 1.3], abs=0.01)
    assert "+3.10 mm" in svg and "−1.30 mm" in svg and "More than asked for" in svg


def test_figures_of_small_maps_fit_inches_and_every_stack_s_figures_fit_its_card() -> None:
    for changes in VARIANTS.values():
        shims = plan(**changes).slab.shims if not changes.get("stop") else None  # type: ignore[union-attr]
        if shims is None:
            continue
        words = Words(changes.get("units", "metric"))
        wide = card_width(shims.stacks, words)
        cards = [svg for svg in pictures(plan(**changes)) if "do not lift" in svg or "Carries the slab" in svg]
        assert all(float(ElementTree.fromstring(svg).attrib["width"][:-2]) >= wide for svg in cards)
