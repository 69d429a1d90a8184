"""The list of sheets and the outline of the PDF: where each says a sheet is, it is."""

from __future__ import annotations

import io
import re
from functools import cache
from pathlib import Path

import pytest
from pypdf import PdfReader
from tests.unit.sheet_prints import by_title, text_of

from slabwright import load_job, plan
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.document import bench_pdf, bench_sheets

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def printed(name: str) -> tuple[list[Sheet], bytes]:
    """An example's sheets and their PDF."""
    context = Context(plan(load_job(EXAMPLES / name / "job.toml")))
    return bench_sheets(context), bench_pdf(context)


def page_of(pdf: bytes, sheets: list[Sheet]) -> dict[str, int]:
    """The page of each sheet by the strips at the feet of the pages, the first page 1."""
    said, whole = by_title(pdf, sheets), text_of(pdf)
    return {title: whole.index(text) + 1 for title, text in said.items()}


@pytest.mark.parametrize("name", ["reading-table", "hall-desk", "window-bench"])
def test_the_list_of_sheets_says_on_which_page_each_is(name: str) -> None:
    sheets, pdf = printed(name)
    pages = page_of(pdf, sheets)
    listed = " ".join(text_of(pdf)[pages["Which sheet when"] - 1].split())
    for title, page in pages.items():
        assert re.search(rf"{re.escape(title)} {page}\b", listed), title
    groups = dict.fromkeys(sheet.group for sheet in sheets)
    for group in groups:
        own = [pages[sheet.title] for sheet in sheets if sheet.group == group]
        told = f"{own[0]} to {own[-1]}" if own[-1] > own[0] else f"{own[0]}"
        assert f"{group} {told} " in listed
        # A group can be printed alone: no page of it is another's too.
        others = {pages[sheet.title] for sheet in sheets if sheet.group != group}
        assert not others & set(range(own[0], own[-1] + 1))


@pytest.mark.parametrize("name", ["reading-table", "hall-desk"])
def test_the_outline_leads_to_each_group_and_in_it_to_each_sheet(name: str) -> None:
    sheets, pdf = printed(name)
    pages, reader = page_of(pdf, sheets), PdfReader(io.BytesIO(pdf))
    outline = reader.outline
    found: list[tuple[str, str, int]] = []
    for head, inside in zip(outline[::2], outline[1::2], strict=True):
        assert not isinstance(head, list) and isinstance(inside, list)
        for each in inside:
            assert not isinstance(each, list)
            number = reader.get_destination_page_number(each)
            assert number is not None
            found.append((str(head.title), str(each.title), number + 1))
    assert found == [(sheet.group, sheet.title, pages[sheet.title]) for sheet in sheets]


def test_a_caution_is_told_once_where_sheets_share_a_page() -> None:
    sheets, pdf = printed("reading-table")
    said = by_title(pdf, sheets)
    wood, steel = said["Getting the wood ready"], said["Getting the steel ready"]
    assert wood == steel
    assert wood.count("Local codes") == 1 and wood.count("Dust drawn off, lungs") == 1 and "Solvents:" in wood
