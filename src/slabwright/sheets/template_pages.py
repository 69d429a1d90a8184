"""Templates and the finished outline as full-scale pages (PDF) and drawings (DXF)."""

from __future__ import annotations

import dataclasses
import json
import re
import unicodedata
from collections.abc import Sequence
from importlib.resources import as_file, files
from pathlib import Path

from shapely import Polygon

from slabwright.findings import Finding
from slabwright.quantities import Units
from slabwright.sheets.blocks import (
    Block,
    Sheet,
    caution,
    checks,
    figures,
    heading,
    picture,
    problem,
    steps,
    table,
    text,
)
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT, WOOD
from slabwright.sheets.context import FOOT as SHEET_FOOT
from slabwright.sheets.context import MARGIN, PAPERS, Paper
from slabwright.sheets.fonts import FAMILY, font_folder
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, path_of
from slabwright.sheets.template_drawing import full_scale_dxf, long_checks, outline_drawing, template_drawing
from slabwright.sheets.template_tiles import CUT_PAPERS, FullScale, PaperName, Tiling, chain_points, page, tile
from slabwright.sheets.words import Words, plain
from slabwright.top.template_results import CheckLength, Template

MEASURE = "Measure before you cut"
OUTLINE_NAME = "outline-full-size"


@dataclasses.dataclass(frozen=True)
class Head:
    """What the title strip of every sheet says."""

    title: str = "Templates"
    revision: str = "A"
    date: str = ""


def file_stem(name: str, taken: Sequence[str] = ()) -> str:
    """A file's name, without its ending, for a template: letters, figures and dashes; numbered where it is taken."""
    letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    stem = "template-" + (re.sub(r"[^a-z0-9]+", "-", letters).strip("-")[:40] or "unnamed")
    count = 1
    found = stem
    while found in taken:
        count += 1
        found = f"{stem}-{count}"
    return found


def template_files(
    templates: Sequence[Template],
    outline: Polygon | None,
    *,
    paper: PaperName = "A4",
    roll_width: float = 610.0,
    units: Units = "metric",
    head: Head = Head(),
    findings: Sequence[Finding] = (),
    feet: Sequence[tuple[str, float, float]] = (),
) -> dict[str, bytes]:
    """A PDF and a DXF of each template and of the outline, by the files' names.

    Args:
        templates: of the job
        outline: of the finished top, in its own frame, or None [mm]
        paper: A4, A3, Letter or roll
        roll_width: of the paper on a roll [mm]
        units: of the job
        head: of the title strip
        findings: of the templates; each is printed on the sheet of the template that it begins with the name of
        feet: where the base stands, marked in the outline: name, along from its middle, across from its centre line [mm]

    Raises:
        SlabwrightError: a paper that is none, a drawing that is too large for it, an outline that is no plain shape
    """
    drawn: list[tuple[str, FullScale, Template | None]] = []
    for made in templates:
        stem = file_stem(made.name, [name for name, _, _ in drawn])
        drawn.append((stem, template_drawing(made, units), made))
    if outline is not None:
        drawn.append((OUTLINE_NAME, outline_drawing(outline, units, feet), None))
    laid = [tile(drawing, paper, roll_width) for _, drawing, _ in drawn]  # every page is checked before one is set
    contents: dict[str, bytes] = {}
    for (stem, drawing, of), tiling in zip(drawn, laid, strict=True):
        told = [f for f in findings if of is not None and f.message.startswith(f"{of.name}:")]
        contents[f"{stem}.pdf"] = _pdf(drawing, tiling, of, paper, units, head, told)
        contents[f"{stem}.dxf"] = full_scale_dxf(drawing)
    return contents


def write_templates(
    templates: Sequence[Template],
    outline: Polygon | None,
    out: Path,
    *,
    paper: PaperName = "A4",
    roll_width: float = 610.0,
    units: Units = "metric",
    head: Head = Head(),
    findings: Sequence[Finding] = (),
    feet: Sequence[tuple[str, float, float]] = (),
) -> list[Path]:
    """Write the full-scale pages and drawings of templates and of the outline; see `template_files`.

    Args:
        templates: of the job
        outline: of the finished top, or None [mm]
        out: folder, made if it is missing
        paper: A4, A3, Letter or roll
        roll_width: of the paper on a roll [mm]
        units: of the job
        head: of the title strip
        findings: of the templates
        feet: where the base stands: name, along, across [mm]

    Returns:
        The files.

    Raises:
        SlabwrightError: as `template_files`
        OSError: the folder cannot be written
    """
    from slabwright.sheets.write import replace_files

    contents = template_files(
        templates, outline, paper=paper, roll_width=roll_width, units=units, head=head, findings=findings, feet=feet
    )
    return replace_files(out, contents)


def _pdf(
    drawing: FullScale,
    tiling: Tiling,
    of: Template | None,
    paper: PaperName,
    units: Units,
    head: Head,
    found: Sequence[Finding],
) -> bytes:
    import typst

    words = Words(units)
    sheet_paper = Paper(*CUT_PAPERS[paper]) if paper in CUT_PAPERS else PAPERS["A4" if units == "metric" else "Letter"]
    title = f"Template: {plain(of.name, 40)}" if of else "Full-scale outline"
    sheet = (
        _template_sheet(of, drawing, tiling, sheet_paper, words, title, found)
        if of
        else _outline_sheet(drawing, tiling, sheet_paper, words, title)
    )
    name = f"{plain(head.title, 40)}. {title}"
    data = {
        "paper": {"width": sheet_paper.width, "height": sheet_paper.height},
        "margin": MARGIN,
        "foot": SHEET_FOOT,
        "family": FAMILY,
        "picture-width": _picture_width(sheet_paper) if of else sheet_paper.picture_width,
        "strip": {
            "job": plain(head.title, 64),
            "revision": plain(head.revision, 12),
            "date": plain(head.date, 16) or "not stated",
            "units": "mm" if words.metric else "inches",
            "measure": MEASURE,
            "stop": "Stop: see this sheet" if any(f.severity == "stop" for f in found) else "",
        },
        "sheet": dataclasses.asdict(sheet),
        "pages": [
            {
                "width": tiling.page_width,
                "height": tiling.page_height,
                "svg": page(drawing, tiling, one, name, units).svg(),
            }
            for one in tiling.tiles.values()
        ],
    }
    with as_file(files("slabwright.sheets")) as folder:
        pdf, warnings = typst.compile_with_warnings(
            str(folder / "template.typ"),
            root=str(folder),
            sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
            font_paths=[str(font_folder())],
            ignore_system_fonts=True,
        )
    if warnings:
        raise RuntimeError(f"the typesetter warns: {[str(warning.message) for warning in warnings]}")
    return pdf


def _picture_width(paper: Paper) -> float:
    return round(0.5 * paper.inner_width, 1)


def page_map(drawing: FullScale, tiling: Tiling, width: float, height: float) -> Picture:
    """The whole drawing small, with the pages that it is printed on, their numbers and the check marks."""
    first = min(tiling.tiles.values(), key=lambda one: one.column).x0, max(t.y1 for t in tiling.tiles.values())
    last = max(t.x1 for t in tiling.tiles.values()), min(t.y0 for t in tiling.tiles.values())
    scale = min((width - 4.0) / (last[0] - first[0]), (height - 9.0) / (first[1] - last[1]))
    drawn = Picture(width, round((first[1] - last[1]) * scale + 9.0, 2))

    def place(x: float, y: float) -> tuple[float, float]:
        return 2.0 + (x - first[0]) * scale, 4.5 + (first[1] - y) * scale

    for one in tiling.tiles.values():
        corners = [place(x, y) for x, y in ((one.x0, one.y0), (one.x1, one.y0), (one.x1, one.y1), (one.x0, one.y1))]
        drawn.polygon(corners, stroke=SOFT, weight=THIN, dash="2 1")
    # Filled shapes first, so that none hides a line.
    for chain in sorted(drawing.chains, key=lambda one: one.layer not in ("OUTLINE", "RIM")):
        heavy = chain.weight >= THICK
        fill = WOOD if chain.layer in ("OUTLINE", "RIM") else PAPER if chain.layer == "OPENING" else "none"
        points = [place(*p) for p in chain_points(chain)]
        drawn.path(
            path_of(points, chain.closed),
            stroke=CHOSEN if chain.layer in ("OPENING", "FEET") else INK if heavy or chain.layer == "RIM" else SOFT,
            weight=MIDDLE if heavy else THIN,
            fill="none" if not chain.closed else fill,
        )
    size = min(1.8 * TEXT, 0.5 * scale * min(t.y1 - t.y0 for t in tiling.tiles.values()))
    for one in tiling.tiles.values():
        x, y = place((one.x0 + one.x1) / 2, (one.y0 + one.y1) / 2)
        drawn.text(x, y + size / 3, str(one.number), size=max(size, 0.7 * TEXT), anchor="middle", weight=700, halo=True)
    for name, x, y in drawing.crosses:
        at = place(x, y)
        drawn.circle(*at, 0.8, stroke=CHOSEN, fill=CHOSEN, weight=0.0)
        left, low = name in "PS", name in "PQ"
        drawn.text(
            at[0] + (-1.2 if left else 1.2),
            at[1] + (0.8 * TEXT if low else -0.2),
            name,
            anchor="end" if left else "start",
            weight=700,
            fill=CHOSEN,
            halo=True,
        )
    return drawn


def _joining(tiling: Tiling) -> list[str]:
    count = len(tiling.tiles)
    out = [
        "Print at 100 % (actual size), without fitting to the page. Lay a steel rule along both rulers of each page first."
    ]
    if count > 1:
        out += [
            "Cut along the dashed lines, through the crosses, at the left and the upper side of each page that has a "
            "neighbour there.",
            "Lay that edge on the neighbour's dashed line so that the half crosses of the same name meet; tape it down flat.",
        ]
    return out


def _length_rows(lengths: Sequence[CheckLength], words: Words) -> Block:
    rows = [("[box]", one.what, words.fine(one.length), "[write]") for one in lengths]
    return table(("", "Check length", "must be", "is"), "llrl", rows, wide=(3,), pad=1.6)


def _count(steps_taken: int) -> str:
    return "one step" if steps_taken == 1 else f"{steps_taken} steps"


def _template_sheet(
    made: Template,
    drawing: FullScale,
    tiling: Tiling,
    paper: Paper,
    words: Words,
    title: str,
    found: Sequence[Finding],
) -> Sheet:
    width = _picture_width(paper)
    clamps = words.place(made.clamp_room)
    great = [
        (words.number(made.opening_length), f"opening, {words.unit_word} long", True),
        (words.number(made.opening_width), f"opening, {words.unit_word} wide", True),
        (words.number(made.offset), "outside the pocket", False),
    ]
    sizes = [
        ("Guide", f"{made.guide}, {words.fine(made.guide_diameter)}"),
        ("Bit", words.fine(made.bit_diameter)),
        ("Inside corners of the opening", f"radius {words.fine(made.corner_radius)} or tighter"),
        (
            "Pocket as cut",
            f"{words.fine(made.cut_length)} x {words.fine(made.cut_width)}, corners {words.fine(made.cut_corner_radius)}",
        ),
        (
            "Sheet",
            f"{words.place(made.outer_length)} x {words.place(made.outer_width)}, {words.fine(made.thickness)} thick",
        ),
        ("Clamps", f"within {clamps} of the rim"),
        ("Base of the router", f"{words.place(made.base_least)} or wider reaches across"),
        ("Depth stops", ", ".join(words.fine(step) for step in made.steps)),
    ]
    last = made.depth - (made.steps[-2] if len(made.steps) > 1 else 0.0)
    doing = [
        *_joining(tiling),
        f"Glue the paper on a flat sheet, {words.fine(made.thickness)} thick. Cut the opening on the solid line; inside corners "
        f"of {words.fine(made.corner_radius)} or tighter. Measure the check lengths.",
        f"Lay it on the {made.face} by its centre lines, this side up. Clamp it within {clamps} of its rim.",
        f"Rout in {_count(len(made.steps))}, clockwise round the wall; the last takes {words.fine(last)}.",
    ]
    return Sheet(
        title=title,
        lead=f"Full scale on {len(tiling.tiles)} pages behind this sheet"
        if len(tiling.tiles) > 1
        else "Full scale on the page behind this sheet",
        picture=[
            figures(great),
            picture(page_map(drawing, tiling, width, 0.36 * paper.inner_height)),
            table(("What", "Size"), "ll", sizes, wide=(1,), pad=2.4),
            caution("hand routing"),
        ],
        text=[
            [
                *(problem(f) for f in found),
                heading("What to do"),
                steps(doing),
                _length_rows((*made.checks[:3], *long_checks(drawing)[-2:]), words),
            ]
        ],
    )


def _outline_sheet(drawing: FullScale, tiling: Tiling, paper: Paper, words: Words, title: str) -> Sheet:
    lengths = long_checks(drawing)
    great = [
        (words.number(lengths[0].length), f"{words.unit_word} long over all", True),
        (words.number(lengths[2].length), f"{words.unit_word} wide over all", True),
    ]
    doing = [
        *_joining(tiling),
        "Measure the check lengths from cross to cross with a tape, over all pages.",
        "Lay it where the piece will stand, show face up, with chairs in place and doors open; walk round it.",
        "Have it signed on this sheet; write its length, width, who signed and when into [brief.template].",
    ]
    return Sheet(
        title=title,
        lead=f"The finished top on {len(tiling.tiles)} pages, to lay in the room"
        if len(tiling.tiles) > 1
        else "The finished top, to lay in the room",
        picture=[
            figures(great),
            picture(page_map(drawing, tiling, paper.picture_width, 0.4 * paper.inner_height)),
            *_to_sign(any(chain.layer == "FEET" for chain in drawing.chains)),
        ],
        text=[[heading("What to do"), steps(doing), _length_rows(lengths, words)]],
    )


def _to_sign(stands: bool) -> list[Block]:
    """What the client looks at, signs, and what that stands for; `stands`: whether the feet are marked."""
    looked = [
        "Length and width are right",
        "There is room to pass and to sit",
        "Each edge faces the way that it should",
    ]
    if stands:
        looked.append("The feet, marked by circles, stand clear of rugs' edges and sockets")
    return [
        heading("What the client says"),
        checks(looked),
        heading("Signed before the slab is bought"),
        text(
            f"It stands for length, width{', place of the feet' if stands else ''} and place in the room; not for the wood:"
            " a live edge is the slab's own. A change after this is a change of the order."
        ),
        table(
            ("Place, date", "For the client", "For the shop"),
            "lll",
            [("[write]", "[write]", "[write]")],
            wide=(0, 1, 2),
            pad=8.0,
        ),
    ]
