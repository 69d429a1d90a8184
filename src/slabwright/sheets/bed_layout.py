"""The bed layout as one drawing model, written as DXF and as SVG, in millimetres, full size."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from slabwright.sheets.colours import CHOSEN, INK, SOFT
from slabwright.sheets.context import Context
from slabwright.sheets.drawing_library import drawing_library
from slabwright.sheets.fonts import FAMILY, REGULAR
from slabwright.sheets.picture import path_of
from slabwright.sheets.words import plain

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.entities import DXFGraphic

_MARGIN = 120.0
_INK = {"BED": SOFT, "SLAB": INK, "STACKS": CHOSEN, "TEXT": INK}
_BOLDER = 4
"""Lines of the SVG are so much bolder than the DXF's: a bed is looked at whole, on a screen."""
_CAPITALS = 0.66
"""Height of the family's capitals over its size: DXF states the one, SVG the other."""


def bed_rectangle(context: Context) -> tuple[float, float, float, float]:
    """The bed around the slab's middle, as `Context.place` counts: x0, y0, x1, y1 [mm]."""
    bed = context.plan.job.shop.bed
    x0, y0, x1, y1 = context.lying_outline.bounds
    middle_x, middle_y = (x0 + x1) / 2, (y0 + y1) / 2
    return middle_x - bed.length / 2, middle_y - bed.width / 2, middle_x + bed.length / 2, middle_y + bed.width / 2


@drawing_library()
def bed_drawing(context: Context) -> Drawing:
    """The slab, its stacks and the bed, seen from above as the slab lies for its first cut.

    x runs along the grain from the slab's zero; where face B is up, y is turned round. Layers: BED, SLAB, STACKS, TEXT.
    """
    import ezdxf
    from ezdxf.enums import TextEntityAlignment

    plan, slab, words = context.plan, context.slab, context.words
    turn = context.turn
    with drawing_library():
        drawing = ezdxf.new("R2010", setup=False, units=4)
    drawing.header["$MEASUREMENT"] = 1
    style = drawing.styles.add("SHEETS", font=REGULAR)
    for name, colour, weight in (("BED", 8, 25), ("SLAB", 7, 50), ("STACKS", 5, 25), ("TEXT", 7, 18)):
        drawing.layers.add(name, color=colour, lineweight=weight)
    space = drawing.modelspace()

    def words_at(x: float, y: float, said: str, height: float) -> None:
        entity = space.add_text(said, height=height, dxfattribs={"layer": "TEXT", "style": style.dxf.name})
        entity.set_placement((x, y), align=TextEntityAlignment.LEFT)

    x0, y0, x1, y1 = bed_rectangle(context)
    low, high = sorted((turn * y0, turn * y1))
    space.add_lwpolyline([(x0, low), (x1, low), (x1, high), (x0, high)], close=True, dxfattribs={"layer": "BED"})
    ring = list(context.lying_outline.exterior.coords)[:-1]
    space.add_lwpolyline([(p[0], turn * p[1]) for p in ring], close=True, dxfattribs={"layer": "SLAB"})
    region = list(context.lying_region.exterior.coords)[:-1]
    space.add_lwpolyline([(p[0], turn * p[1]) for p in region], close=True, dxfattribs={"layer": "SLAB", "color": 8})
    radius = plan.job.shop.bed.pad_diameter / 2
    for stack in slab.shims.stacks if slab.shims else ():
        x, y = stack.bed_x, stack.bed_y
        space.add_circle((x, y), radius, dxfattribs={"layer": "STACKS"})
        for dx, dy in ((1.0, 0.0), (0.0, 1.0)):
            reach = 1.3 * radius
            space.add_line(
                (x - dx * reach, y - dy * reach),
                (x + dx * reach, y + dy * reach),
                dxfattribs={"layer": "STACKS"},
            )
        kind = "carries" if stack.carries else "wedge"
        words_at(x + 1.5 * radius, y + 4.0, f"{stack.name} {words.shim(stack.height)} {words.unit}", 28.0)
        words_at(x + 1.5 * radius, y - 26.0, kind, 20.0)
    for end in ((100.0, 0.0), (0.0, turn * 100.0)):
        space.add_line((0.0, 0.0), end, dxfattribs={"layer": "TEXT"})
    words_at(8.0, 8.0, "x = 0, y = 0", 20.0)
    job = plan.job.stated.job
    told = f"Bed layout. Face {slab.first_face} up. Revision {plain(job.revision, 12)}. Full size, mm. Measure before you cut."
    words_at(x0, high + 20.0, told, 24.0)
    return drawing


def as_dxf(drawing: Drawing) -> bytes:
    """The drawing as the text of a DXF file, the same each time.

    Raises:
        RuntimeError: the drawing has faults (a fault of this program)
    """
    auditor = drawing.audit()
    if auditor.has_errors:
        raise RuntimeError(f"the bed layout has faults: {[error.message for error in auditor.errors]}")
    out = io.StringIO()
    with drawing_library():
        drawing.write(out)
    return bytes(drawing.encode(out.getvalue()))


@drawing_library()
def as_svg(drawing: Drawing) -> str:
    """The drawing as SVG, full size in mm: the same entities on the same layers, each layer a group.

    Raises:
        ValueError: an entity that has no form here (a fault of this program)
    """
    from ezdxf import bbox

    space = drawing.modelspace()
    box = bbox.extents(space, fast=True)
    left, top = box.extmin.x - _MARGIN / 4, -(box.extmax.y + _MARGIN / 4)
    wide, high = box.size.x + _MARGIN / 2, box.size.y + _MARGIN / 2
    groups: dict[str, list[str]] = {layer: [] for layer in _INK}
    for entity in space:
        groups[entity.dxf.layer].append(_as_svg_element(entity))
    weights = {layer: drawing.layers.get(layer).dxf.lineweight * _BOLDER / 100 for layer in groups}
    body = "".join(
        f'<g id="{layer}" fill="none" stroke="{_INK[layer]}" stroke-width="{weights[layer]:g}">{"".join(elements)}</g>'
        for layer, elements in groups.items()
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.2f}mm" height="{high:.2f}mm" '
        f'viewBox="{left:.2f} {top:.2f} {wide:.2f} {high:.2f}">{body}</svg>\n'
    )


def _as_svg_element(entity: DXFGraphic) -> str:
    kind, dxf = entity.dxftype(), entity.dxf
    if kind == "LWPOLYLINE":
        return f'<path d="{path_of([(x, -y) for x, y in entity.get_points("xy")], close=entity.closed)}"/>'
    if kind == "LINE":
        return f'<path d="{path_of([(dxf.start.x, -dxf.start.y), (dxf.end.x, -dxf.end.y)])}"/>'
    if kind == "CIRCLE":
        return f'<circle cx="{dxf.center.x:.2f}" cy="{-dxf.center.y:.2f}" r="{dxf.radius:.2f}"/>'
    if kind == "TEXT":
        return (
            f'<text x="{dxf.insert.x:.2f}" y="{-dxf.insert.y:.2f}" font-family="{FAMILY}, sans-serif" '
            f'font-size="{dxf.height / _CAPITALS:.2f}" fill="{INK}" stroke="none">{escape(dxf.text)}</text>'
        )
    raise ValueError(f"no form for {kind} in the bed layout")
