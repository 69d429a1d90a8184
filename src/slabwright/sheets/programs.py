"""The machine's programs, the router's templates and the plates as files: none that did not pass, none of an earlier run left."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

from slabwright.findings import SlabwrightError
from slabwright.plan import Plan
from slabwright.written import written_beside

if TYPE_CHECKING:
    from shapely import Polygon

PROGRAMS = "programs"
TEMPLATES = "templates"
PLATES = "plates"
_OUR_PROGRAM = re.compile(r"(?:[0-9]{2}-clamping-[0-9]+-face-[ab]-[a-z]+-[0-9]+|feature-[0-9]{2}-[a-z0-9-]+)\.ngc")
_OUR_TEMPLATE = re.compile(r"(?:template-[a-z0-9-]+|outline-full-size)\.(?:pdf|dxf)")

_OUR_PLATE = re.compile(r"plate-[a-z0-9-]+\.dxf")


def _swept(folder: Path, ours: re.Pattern[str], wanted: bool) -> None:
    """Take away what an earlier run left in a folder; make the folder where it is wanted, and leave none empty."""
    try:
        if folder.is_dir():
            for old in folder.iterdir():
                if ours.fullmatch(old.name):
                    old.unlink()
            if not wanted and not any(folder.iterdir()):
                folder.rmdir()
        if wanted:
            folder.mkdir(exist_ok=True)
    except OSError as error:
        raise SlabwrightError(f"{folder}: cannot be used ({error.strerror}); name another folder with --out") from None


def write_programs(plan: Plan, out: Path) -> list[Path]:
    """Write the job's programs below a folder, and take away those of an earlier run that this plan does not have.

    Old ones go first: at no moment does a stale program lie beside a new one as if it were of the same plan.

    Args:
        plan: of the job
        out: the folder of the sheets

    Returns:
        The files that were written; none where the plan has no programs.

    Raises:
        SlabwrightError: a file cannot be written or taken away.
    """
    machine = plan.machine
    texts = [(program.name, program.text) for program in machine.programs] if machine else []
    if machine and machine.locating:
        texts += [(program.name, program.text) for program in machine.locating.programs if program.passed]
    folder = out / PROGRAMS
    _swept(folder, _OUR_PROGRAM, bool(texts))
    return [written_beside(folder / name, text.encode("ascii")) for name, text in texts]


def write_router_templates(plan: Plan, out: Path) -> list[Path]:
    """Write the full-scale templates of a hand-held router, and the outline for the client's floor, below a folder.

    The outline goes with templates, and where a brief is stated: of the slab's own top, or before there is one the rectangle
    of the stated sizes, with the feet of the base as it is planned.

    Args:
        plan: of the job
        out: the folder of the sheets

    Returns:
        The files that were written; none where there are neither templates nor a brief.

    Raises:
        SlabwrightError: a file cannot be written or taken away.
    """
    from slabwright.sheets.template_pages import Head, write_templates

    folder = out / TEMPLATES
    top = plan.top
    templates = top.templates if top is not None else ()
    outline = _outline(plan) if templates or plan.job.stated.brief is not None else None
    _swept(folder, _OUR_TEMPLATE, bool(templates) or outline is not None)
    if not templates and outline is None:
        return []
    head = plan.job.stated.job
    try:
        return write_templates(
            templates,
            outline,
            folder,
            paper=head.paper or ("A4" if head.units == "metric" else "Letter"),
            units=head.units,
            head=Head(head.title, head.revision, head.date),
            findings=plan.findings,
            feet=_feet(plan),
        )
    except OSError as error:
        raise SlabwrightError(f"{folder}: cannot be written ({error.strerror}); name another with --out") from None


def _outline(plan: Plan) -> Polygon | None:
    """The outline of the top in its own frame, or of what is planned before there is one; None where sizes are open."""
    from shapely import box

    if plan.top is not None:
        return plan.top.outline
    piece, first = plan.job.stated.piece, plan.shop.first if plan.shop is not None else None
    width = piece.width
    if width is None and first is not None and first.planning is not None and piece.length is not None:
        width = first.planning.top_area / piece.length
    if piece.length is None or width is None:
        return None
    return box(0.0, -width / 2.0, piece.length, width / 2.0)


def _feet(plan: Plan) -> list[tuple[str, float, float]]:
    """Where the base stands: name, along from the middle of the top, across from its centre line [mm]."""
    first = plan.shop.first if plan.shop is not None else None
    base = plan.base or (first.planning.base if first is not None and first.planning is not None else None)
    return [(name, x, y) for name, _, (x, y) in base.drawn.feet] if base is not None else []


def write_plate_drawings(plan: Plan, out: Path) -> list[Path]:
    """Write a DXF of each plate of the base below a folder, and take away those of an earlier run.

    Args:
        plan: of the job
        out: the folder of the sheets

    Returns:
        The files that were written; none where the base has no plates.

    Raises:
        SlabwrightError: a file cannot be written or taken away.
    """
    from slabwright.sheets.plate_drawing import plate_dxf

    drill = plan.base.drill if plan.base is not None else None
    plates = drill.plates if drill is not None else ()
    folder = out / PLATES
    _swept(folder, _OUR_PLATE, bool(plates))
    units = plan.job.stated.job.units
    return [written_beside(folder / f"plate-{slug(plate.name)}.dxf", plate_dxf(plate, units)) for plate in plates]


def slug(name: str) -> str:
    """A plate's name as its file has it: the word that all plates share is left out."""
    return re.sub(r"[^a-z0-9]+", "-", name.lower().removesuffix("plate")).strip("-") or "plate"
