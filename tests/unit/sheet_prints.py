"""The sheets of invented plans as they are printed: their text and their drawings."""

from __future__ import annotations

import dataclasses
import io
from functools import cache
from typing import Any

from pypdf import PdfReader
from tests.unit.sheet_plan import plan

from slabwright.plan import Plan
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


def pictures(result: Plan) -> list[str]:
    """Every drawing of the sheets."""

    def inside(value: Any) -> list[str]:
        if isinstance(value, dict):
            own = [value["svg"]] if "svg" in value else []
            return own + [s for item in value.values() for s in inside(item)]
        return [s for item in value for s in inside(item)] if isinstance(value, list) else []

    return inside(document_data(Context(result))["sheets"])
