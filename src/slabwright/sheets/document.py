"""The bench sheets as one PDF."""

from __future__ import annotations

import dataclasses
import json
from importlib.resources import as_file, files
from typing import Any

from slabwright.sheets import blocks
from slabwright.sheets.base_sheets import base_sheets
from slabwright.sheets.bed_sheets import set_up, shim_sheets
from slabwright.sheets.blocks import LONGEST_LEAD, Sheet
from slabwright.sheets.carrying_sheets import carrying_sheets
from slabwright.sheets.check_sheet import check_sheet
from slabwright.sheets.context import FOOT, MARGIN, Context
from slabwright.sheets.face_sheets import face_map, wood_left_sheets
from slabwright.sheets.fill_sheets import fill_choice, patch_sheet
from slabwright.sheets.finishing_sheets import finishing_first, finishing_last
from slabwright.sheets.fonts import FAMILY, font_folder
from slabwright.sheets.locating_sheet import locating_sheets
from slabwright.sheets.machine_sheets import machine_sheets
from slabwright.sheets.overview import no_board, overview
from slabwright.sheets.shop_sheets import money_sheets, shop_sheets
from slabwright.sheets.top_sheets import top_sheets
from slabwright.sheets.words import plain

MEASURE = "Measure before you cut"
STOPPED = "Stop: see the first sheet"
_LONGEST = 64
_FEW_SHEETS = 16
"""So many are found without a list of them."""


def bench_sheets(context: Context) -> list[Sheet]:
    """All sheets in the order of the work; what is known of one that has no board yet."""
    if context.plan.slab is None:
        # A first price is what an enquiry is printed for; what stands in the way of the bench comes after it.
        return [*shop_sheets(context), no_board(context)]
    first, second = context.faces
    what, *more = overview(context)
    groups: list[tuple[str, list[Sheet | None]]] = [
        ("Before the work", [what, *more]),
        ("The slab on the bed", [set_up(context), *shim_sheets(context)]),
        (
            "At the machine",
            [
                *machine_sheets(context),
                face_map(context, first, 1),
                *wood_left_sheets(context, first),
                face_map(context, second, 2),
                *wood_left_sheets(context, second),
                check_sheet(context),
            ],
        ),
        ("Filling and mending", [fill_choice(context), patch_sheet(context), *finishing_first(context)]),
        ("The top", [*top_sheets(context), *locating_sheets(context)]),
        ("The base", [*base_sheets(context)]),
        ("The finish", [*finishing_last(context)]),
        ("Carrying in and assembly", [*carrying_sheets(context)]),
        ("Days, hours and orders", [dataclasses.replace(each, joins=True) for each in shop_sheets(context)]),
        ("Price: not for the client", [dataclasses.replace(each, joins=True) for each in money_sheets(context)]),
    ]
    sheets = [dataclasses.replace(sheet, group=name) for name, some in groups for sheet in some if sheet is not None]
    if len(sheets) > _FEW_SHEETS:
        sheets.insert(1, dataclasses.replace(contents_sheet(), group=groups[0][0]))
    return sheets


def contents_sheet() -> Sheet:
    """Which sheet is for which step, and which pages to print for a group of them."""
    lead = "In the order of the work. A group can be printed alone: give the printer its pages."
    return Sheet("Which sheet when", lead, [blocks.contents()], [[]], "wide")


def document_data(context: Context) -> dict[str, Any]:
    """What the page templates read: nothing but words, figures and drawings."""
    head = context.plan.job.stated.job
    sheets = bench_sheets(context)
    return {
        "paper": {"width": context.paper.width, "height": context.paper.height},
        "margin": MARGIN,
        "foot": FOOT,
        "family": FAMILY,
        "picture-width": context.paper.picture_width,
        "strip": {
            "job": plain(head.title, _LONGEST),
            "revision": plain(head.revision, 12),
            "date": plain(head.date, 16) or "not stated",
            "units": "mm" if context.words.metric else "inches",
            "measure": MEASURE,
            "stop": STOPPED if any(f.severity == "stop" for f in context.plan.findings) else "",
        },
        "sheets": [dataclasses.asdict(sheet) | {"lead": plain(sheet.lead, LONGEST_LEAD)} for sheet in sheets],
    }


def bench_pdf(context: Context) -> bytes:
    """The bench sheets, the same bytes each time.

    Raises:
        RuntimeError: the typesetter warns, of a font that is missing for one (a fault of this program)
    """
    import typst

    with as_file(files("slabwright.sheets")) as folder:
        pdf, warnings = typst.compile_with_warnings(
            str(folder / "bench.typ"),
            root=str(folder),
            sys_inputs={"data": json.dumps(document_data(context), ensure_ascii=False)},
            font_paths=[str(font_folder())],
            ignore_system_fonts=True,
        )
    if warnings:
        raise RuntimeError(f"the typesetter warns: {[str(warning.message) for warning in warnings]}")
    return pdf
