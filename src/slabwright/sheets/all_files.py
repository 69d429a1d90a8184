"""Every file that a plan hands to the bench, the machine and the client: the same from the command and from the pages."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from slabwright.plan import Plan, as_json
from slabwright.sheets.programs import write_plate_drawings, write_programs, write_router_templates
from slabwright.sheets.write import write_sheets
from slabwright.written import written_beside

PLAN = "plan.json"


def _quiet(_: str) -> None:
    """Tell nobody."""


def write_plan(plan: Plan, out: Path) -> Path:
    """Write `plan.json`: every figure of a plan.

    Args:
        plan: any
        out: folder, which exists

    Raises:
        SlabwrightError: it cannot be written there.
    """
    text = json.dumps(as_json(plan), indent=1, ensure_ascii=False) + "\n"
    return written_beside(out / PLAN, text.encode())


def write_all(plan: Plan, out: Path, progress: Callable[[str], None] = _quiet) -> list[Path]:
    """Write the plan, every sheet, drawing, template and paper, and the machine's programs.

    Args:
        plan: with its days, if there is to be a calendar
        out: folder, which exists; files of an earlier run that there are none of any more are removed
        progress: told what is being made

    Returns:
        The files.

    Raises:
        SlabwrightError, OSError: the folder cannot be written.
    """
    drawn = write_sheets(plan, out, progress)
    progress("Writing programs and templates")
    written = [write_plan(plan, out)]
    for write in (write_programs, write_router_templates, write_plate_drawings):
        written += write(plan, out)
    return [*written, *drawn]
