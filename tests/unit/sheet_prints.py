"""The sheets of invented plans as they are printed: their text and their drawings."""

from __future__ import annotations

import dataclasses
import io
import re
from collections.abc import Sequence
from functools import cache
from typing import Any

from pypdf import PdfReader
from tests.unit.sheet_plan import plan

from slabwright.plan import Plan
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.document import bench_pdf, document_data


@cache
def printed(**changes: Any) -> tuple[Plan, bytes]:
    """An invented plan and its sheets."""
    result = plan(**changes)
    return result, bench_pdf(Context(result))


@cache
def said_by(**changes: Any) -> list[str]:
    """The text of each page of an invented plan."""
    return text_of(printed(**changes)[1])


def bare(whole: Plan) -> Plan:
    """A plan with little in it: no fill, no stacks, no passes."""
    assert whole.slab is not None
    slab = dataclasses.replace(
        whole.slab, patch_front=(), chosen_fill=0, patches=(), ways=(), shims=None, passes=(), procedures=()
    )
    return dataclasses.replace(whole, slab=slab)


def text_of(pdf: bytes) -> list[str]:
    """The text of each page."""
    reader = PdfReader(io.BytesIO(pdf))
    return [page.extract_text().replace("\u00a0", " ") for page in reader.pages]


def by_title(pdf: bytes, sheets: Sequence[Sheet]) -> dict[str, str]:
    """The text of the page of each sheet; every sheet is on one page, whole, some with others of their group."""
    found: dict[str, str] = {}
    listed: list[str] = []
    for text in text_of(pdf):
        strip = re.findall(r"Sheet (.+?) Rev\. ", " ".join(text.split()))[-1]
        listed += strip.split(" \u00b7 ")
        found |= dict.fromkeys(strip.split(" \u00b7 "), text)
    assert listed == [sheet.title for sheet in sheets]
    return found


def pictures(result: Plan) -> list[str]:
    """Every drawing of the sheets."""

    def inside(value: Any) -> list[str]:
        if isinstance(value, dict):
            own = [value["svg"]] if "svg" in value else []
            return own + [s for item in value.values() for s in inside(item)]
        return [s for item in value for s in inside(item)] if isinstance(value, list) else []

    return inside(document_data(Context(result))["sheets"])
