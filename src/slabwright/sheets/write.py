"""The files that `sheets` hands to the bench."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from pathlib import Path

from slabwright.plan import Plan
from slabwright.sheets.bed_layout import as_dxf, as_svg, bed_drawing
from slabwright.sheets.context import Context
from slabwright.sheets.document import bench_pdf
from slabwright.sheets.shop_files import is_shop_file, shop_files
from slabwright.sheets.top_drawing_file import every_name, top_files

BENCH_SHEETS = "bench-sheets.pdf"
BED_DXF = "bed-layout.dxf"
BED_SVG = "bed-layout.svg"


def _quiet(_: str) -> None:
    """Tell nobody."""


def replace_files(out: Path, contents: Mapping[str, bytes]) -> list[Path]:
    """Write files so that each is either as it was or whole: beside its place first, then renamed.

    Args:
        out: folder, made if it is missing
        contents: of each file by its name

    Raises:
        OSError: the folder cannot be written; what was there is still there
    """
    out.mkdir(parents=True, exist_ok=True)
    beside = {name: out / f".{name}.{os.getpid()}.part" for name in contents}
    try:
        for name, content in contents.items():
            beside[name].write_bytes(content)
        return [beside[name].replace(out / name) for name in contents]
    finally:
        for path in beside.values():
            path.unlink(missing_ok=True)


def write_sheets(plan: Plan, out: Path, progress: Callable[[str], None] = _quiet) -> list[Path]:
    """Write the bench sheets (PDF), the bed layout and the drawings of the top's faces (DXF, SVG) of a plan, and its papers.

    Papers are the quote, an invoice for each payment and the days as an iCalendar file. All are made before the first is
    written, so that a fault leaves what an earlier run wrote; then each replaces its forerunner. A plan without a slab has no
    bed layout: one of an earlier run is removed, and so is a drawing of a face that has no features any more, and a quote,
    an invoice or a calendar that there is none of any more.

    Args:
        plan: with a slab, or with what it waits for
        out: folder
        progress: told what is being made

    Returns:
        The files.

    Raises:
        OSError: the folder cannot be written
    """
    context = Context(plan)
    progress("Drawing the bench sheets")
    contents = {BENCH_SHEETS: bench_pdf(context)}
    if plan.slab is not None:
        progress("Drawing the bed layout")
        drawing = bed_drawing(context)
        contents |= {BED_DXF: as_dxf(drawing), BED_SVG: as_svg(drawing).encode("utf-8")}
    if plan.top is not None:
        progress("Drawing the top")
        contents |= top_files(context)
    progress("Writing quote, invoices and calendar")
    contents |= shop_files(context)
    progress("Writing")
    written = replace_files(out, contents)
    papers = {path.name for path in out.iterdir() if is_shop_file(path.name)}
    for stale in ({BENCH_SHEETS, BED_DXF, BED_SVG} | every_name() | papers) - contents.keys():
        (out / stale).unlink(missing_ok=True)
    return written
