"""The full-scale drawing of a template, and of the finished outline; the same drawing as DXF."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from shapely import Point, Polygon, affinity

from slabwright.findings import SlabwrightError
from slabwright.geometry.arcs import sides
from slabwright.quantities import Units, format_length
from slabwright.sheets.colours import CHOSEN, INK
from slabwright.sheets.drawing_library import drawing_library
from slabwright.sheets.fonts import REGULAR
from slabwright.sheets.picture import MIDDLE, TEXT, THICK
from slabwright.sheets.template_tiles import Chain, FullScale, Label
from slabwright.top.template_results import CheckLength, Template

if TYPE_CHECKING:
    from ezdxf.document import Drawing

_LAYERS = {
    "OPENING": (5, 50),
    "POCKET": (8, 25),
    "RIM": (7, 25),
    "OUTLINE": (7, 50),
    "OVER ALL": (8, 18),
    "FEET": (5, 35),
    "CENTRE": (8, 18),
    "MARKS": (7, 18),
    "TEXT": (7, 18),
}
"""Colour and line weight (1/100 mm) of each layer of the DXF."""
_CENTRE = "8 2 1 2"
_FOOT_MARK = 50.0
"""Across the circle that marks where a foot stands [mm]."""


def _ring(shape: Polygon, layer: str, *, weight: float, dash: str = "", stroke: str = INK) -> Chain:
    return Chain(tuple(sides(shape)), True, layer, weight, dash, stroke)


def as_it_lies(shape: Polygon, face: str) -> Polygon:
    """A shape of the top's frame as it is seen on its face: on the underside, the top turned over its long edge."""
    return affinity.scale(shape, 1.0, -1.0, origin=(0.0, 0.0)) if face == "underside" else shape


def template_drawing(made: Template, units: Units) -> FullScale:
    """A template at full scale, as it lies on its face; x = 0, y = 0 in the opening's middle."""
    drawing = FullScale()

    def placed(shape: Polygon) -> Polygon:
        return as_it_lies(affinity.translate(shape, -made.middle_along, -made.middle_across), made.face)

    opening, cut, rim = (placed(shape) for shape in (made.opening, made.cut, made.outer))
    drawing.chains.append(_ring(opening, "OPENING", weight=THICK, stroke=CHOSEN))
    if made.offset:
        drawing.chains.append(_ring(cut, "POCKET", weight=MIDDLE, dash="3 1.5"))
    drawing.chains.append(_ring(rim, "RIM", weight=MIDDLE))
    x0, y0, x1, y1 = rim.bounds
    drawing.line([(x0, 0.0), (x1, 0.0)], "CENTRE", dash=_CENTRE)
    drawing.line([(0.0, y0), (0.0, y1)], "CENTRE", dash=_CENTRE)
    turn = -1.0 if made.face == "underside" else 1.0
    own = -turn * made.middle_across
    if y0 + 3 * TEXT < own < y1 - 3 * TEXT and abs(own) > 1.0:
        drawing.line([(x0, own), (x1, own)], "CENTRE", dash="12 3")
        drawing.labels.append(Label(x0 + 8.0, own + 1.5, "centre line of the top"))
    drawing.crosses += [("P", x0, y0), ("Q", x1, y0), ("R", x1, y1), ("S", x0, y1)]
    opening_y1 = opening.bounds[3]

    def said(length: float) -> str:
        return format_length(length, units)

    if abs(made.middle_across) < 0.05:
        across = "on the centre line"
    else:
        across = f"{said(abs(made.middle_across))} off the centre line to the {'far' if made.middle_across > 0 else 'near'} edge"
    told = [
        (f"{made.name}: cut out", 1.3),
        (f"middle {said(made.middle_along)} from the left end,", 1.0),
        (across, 1.0),
        ("solid: template" + (", dashed: pocket" if made.offset else ""), 1.0),
    ]
    top = min(opening_y1 - 2 * made.offset - 3 * TEXT, 6 * TEXT)
    drawing.labels += [Label(3.0, top - 1.5 * k * TEXT, text, TEXT * size) for k, (text, size) in enumerate(told)]
    drawing.labels += [
        Label(x0 + 12.0, 1.5, "to the left end"),
        Label(3.0, y0 + 3.0, f"to the {'far' if turn < 0 else 'near'} edge"),
        Label(3.0, y1 - 2 * TEXT, f"this side up, on the {'underside' if turn < 0 else 'show face'}"),
    ]
    return drawing


def outline_drawing(outline: Polygon, units: Units, feet: Sequence[tuple[str, float, float]] = ()) -> FullScale:
    """The finished outline at full scale, seen from the show face, in the top's frame.

    Args:
        outline: of the finished top [mm]
        units: of the job
        feet: where the base stands: name, along from the middle of the top, across from its centre line [mm]

    Raises:
        SlabwrightError: the outline is no plain shape
    """
    if outline.is_empty or not outline.is_valid or not math.isfinite(outline.area):
        raise SlabwrightError("The finished outline is not one plain shape; draw its rim without crossings.")
    drawing = FullScale()
    drawing.chains.append(_ring(Polygon(outline.exterior), "OUTLINE", weight=THICK))
    drawing.chains += [_ring(Polygon(hole), "OUTLINE", weight=MIDDLE) for hole in outline.interiors]
    x0, y0, x1, y1 = outline.bounds
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
        drawing.line([a, b], "OVER ALL", dash="14 2 2 2")
    drawing.crosses += [(name, x, y) for name, (x, y) in zip(["P", "Q", "R", "S"], corners, strict=True)]
    for name, along, y in feet:
        x, half = (x0 + x1) / 2 + along, _FOOT_MARK / 2
        drawing.chains.append(_ring(Point(x, y).buffer(half, 32), "FEET", weight=MIDDLE, stroke=CHOSEN))
        drawing.line([(x - 1.4 * half, y), (x + 1.4 * half, y)], "FEET")
        drawing.line([(x, y - 1.4 * half), (x, y + 1.4 * half)], "FEET")
        drawing.labels.append(Label(x, y + 1.6 * half, name, anchor="middle"))
    long, wide = format_length(x1 - x0, units), format_length(y1 - y0, units)
    middle_x, middle_y = (x0 + x1) / 2, (y0 + y1) / 2
    drawing.labels += [
        Label(middle_x, y0 + 4.0, f"near edge: P to Q {long}", anchor="middle"),
        Label(middle_x, y1 - 2 * TEXT, f"far edge: S to R {long}", anchor="middle"),
        Label(x0 + 4.0, middle_y, f"left end: P to S {wide}"),
        Label(x1 - 4.0, middle_y, f"right end: Q to R {wide}", anchor="end"),
    ]
    return drawing


def long_checks(drawing: FullScale) -> tuple[CheckLength, ...]:
    """What the check marks are apart, along the sides and from corner to corner."""
    at = {name: (x, y) for name, x, y in drawing.crosses}
    pairs = (("P", "Q"), ("S", "R"), ("P", "S"), ("Q", "R"), ("P", "R"), ("Q", "S"))
    return tuple(CheckLength(f"{a} to {b}", math.dist(at[a], at[b])) for a, b in pairs)


def full_scale_dxf(drawing: FullScale) -> bytes:
    """A full-scale drawing as the text of a DXF file in millimetres, round corners as arcs; the same each time.

    Raises:
        RuntimeError: the drawing has faults (a fault of this program)
    """
    import ezdxf
    from ezdxf.enums import TextEntityAlignment

    with drawing_library():
        document: Drawing = ezdxf.new("R2010", setup=False, units=4)
        document.header["$MEASUREMENT"] = 1
        style = document.styles.add("SHEETS", font=REGULAR)
        used = {chain.layer for chain in drawing.chains} | {"MARKS", "TEXT"}
        for name, (colour, weight) in _LAYERS.items():
            if name in used:
                document.layers.add(name, color=colour, lineweight=weight)
        space = document.modelspace()
        for chain in drawing.chains:
            points = [(*side.start, side.bulge) for side in chain.sides]
            space.add_lwpolyline(points, format="xyb", close=chain.closed, dxfattribs={"layer": chain.layer})
        for name, x, y in drawing.crosses:
            for dx, dy in ((4.0, 0.0), (0.0, 4.0)):
                space.add_line((x - dx, y - dy), (x + dx, y + dy), dxfattribs={"layer": "MARKS"})
            _write(space, name, x + 1.5, y + 1.5, 4.0, style.dxf.name, TextEntityAlignment.LEFT)
        for label in drawing.labels:
            align = {
                "start": TextEntityAlignment.LEFT,
                "middle": TextEntityAlignment.CENTER,
                "end": TextEntityAlignment.RIGHT,
            }[label.anchor]
            _write(space, label.text, label.x, label.y, label.size, style.dxf.name, align)
        auditor = document.audit()
        if auditor.has_errors or auditor.has_fixes:
            raise RuntimeError(
                f"a template drawing has faults: {[e.message for e in (*auditor.errors, *auditor.fixes)]}"
            )
        out = io.StringIO()
        document.write(out)
        return bytes(document.encode(out.getvalue()))


def _write(space: object, text: str, x: float, y: float, height: float, style: str, align: object) -> None:
    entity = space.add_text(text, height=height, dxfattribs={"layer": "TEXT", "style": style})  # type: ignore[attr-defined]
    entity.set_placement((x, y), align=align)
