"""A plate of the base as DXF: outline, holes, slots and openings, seen from above, for a laser or a plasma cutter."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from slabwright.base.drill_plan import PlateDrill
from slabwright.quantities import Units, format_length
from slabwright.sheets.drawing_library import drawing_library
from slabwright.sheets.fonts import REGULAR

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts import Modelspace

_LAYERS = {"OUTLINE": (7, 50), "HOLES": (5, 35), "OPENINGS": (3, 35), "CENTRE": (8, 18), "TEXT": (7, 18)}
"""Colour and line weight (1/100 mm) of each layer."""
_CROSS = 4.0
_TEXT = 5.0


def plate_dxf(plate: PlateDrill, units: Units) -> bytes:
    """A plate as the text of a DXF file in millimetres, slots with true round ends; the same each time.

    Only `OUTLINE`, `HOLES` and `OPENINGS` are cut. x = 0, y = 0 is the plate's middle; x along the grain, y to the far edge.

    Args:
        plate: from the drill plan
        units: of the words on it

    Raises:
        RuntimeError: the drawing has faults (a fault of this program)
    """
    import ezdxf

    with drawing_library():
        document: Drawing = ezdxf.new("R2010", setup=False, units=4)
        document.header["$MEASUREMENT"] = 1
        style = document.styles.add("SHEETS", font=REGULAR)
        for name, (colour, weight) in _LAYERS.items():
            document.layers.add(name, color=colour, lineweight=weight)
        space = document.modelspace()
        half_x, half_y = plate.width / 2.0, plate.length / 2.0
        corners = [(-half_x, -half_y), (half_x, -half_y), (half_x, half_y), (-half_x, half_y)]
        space.add_lwpolyline(corners, close=True, dxfattribs={"layer": "OUTLINE"})
        for hole in plate.holes:
            _slot(space, hole.along, hole.across, hole.length, hole.width)
        for opening in plate.openings:
            space.add_circle((opening.along, opening.across), opening.diameter / 2.0, dxfattribs={"layer": "OPENINGS"})
        said = [
            f"{plate.name}: {format_length(plate.width, units)} x {format_length(plate.length, units)}"
            f" x {format_length(plate.thickness, units)}",
            "seen from above; up: to the far edge; right: to the right end",
        ]
        for line, text in enumerate(said):
            words = space.add_text(text, height=_TEXT, dxfattribs={"layer": "TEXT", "style": style.dxf.name})
            words.set_placement((-half_x, half_y + _TEXT * (2.0 * (len(said) - line) - 1.0)))
        auditor = document.audit()
        if auditor.has_errors or auditor.has_fixes:
            raise RuntimeError(f"a plate drawing has faults: {[e.message for e in (*auditor.errors, *auditor.fixes)]}")
        out = io.StringIO()
        document.write(out)
        return bytes(document.encode(out.getvalue()))


def _slot(space: Modelspace, along: float, across: float, length: float, width: float) -> None:
    """A hole, or a slot that is longest across, with the cross of its middle."""
    radius, reach = width / 2.0, (length - width) / 2.0
    if reach < 1e-6:
        space.add_circle((along, across), radius, dxfattribs={"layer": "HOLES"})
    else:
        points = [
            (along + radius, across - reach, 0.0),
            (along + radius, across + reach, 1.0),
            (along - radius, across + reach, 0.0),
            (along - radius, across - reach, 1.0),
        ]
        space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": "HOLES"})
    for dx, dy in ((_CROSS, 0.0), (0.0, _CROSS)):
        space.add_line((along - dx, across - dy), (along + dx, across + dy), dxfattribs={"layer": "CENTRE"})
