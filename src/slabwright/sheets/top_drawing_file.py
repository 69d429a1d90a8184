"""The drawings of the top's faces as files: DXF and SVG, in millimetres, full size, dimensioned."""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from shapely import Point, Polygon, affinity
from shapely.geometry.base import BaseGeometry

from slabwright.geometry.arcs import sides
from slabwright.sheets.colours import CHOSEN, INK, SOFT
from slabwright.sheets.context import Context
from slabwright.sheets.drawing_library import drawing_library
from slabwright.sheets.fonts import FAMILY, REGULAR
from slabwright.sheets.machine_drawings import spread
from slabwright.sheets.picture import path_of
from slabwright.sheets.top_drawing import FaceDrawing, face_drawing
from slabwright.sheets.top_words import FACE_WORDS, SIDES, called, faces_with_features, mark, size_of
from slabwright.sheets.words import Words, plain
from slabwright.top.results import TopPlan

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.entities import DXFGraphic
    from ezdxf.layouts import Modelspace

FILES = {side: f"top-{FACE_WORDS[side].replace(' ', '-')}" for side in SIDES}
_LAYERS = {
    "OUTLINE": (7, 50, INK),
    "FEATURES": (5, 50, CHOSEN),
    "FROM BELOW": (8, 25, SOFT),
    "CENTRE": (8, 18, SOFT),
    "DIMENSIONS": (8, 18, SOFT),
    "TEXT": (7, 18, INK),
}
"""Colour and line weight (1/100 mm) in the DXF, ink in the SVG."""
_BOLDER = 3
"""Lines of the SVG are so much bolder than the DXF's: a top is looked at whole, on a screen."""
_CAPITALS = 0.66
_HIGH = 16.0
"""Of the figures [mm]."""
_APART = 1.45 * _HIGH
_ASIDE = 60.0
_NAMED = 16
"""Among more features than these names would cover each other: numbers alone, as in the feature table."""
_FLAT = 0.02
"""How far the straight pieces of a round corner may lie off it in the SVG [mm]."""


def top_files(context: Context) -> dict[str, bytes]:
    """The drawings of the faces that have features, by file name; nothing where there is no top."""
    plan = context.plan.top
    contents: dict[str, bytes] = {}
    if plan is None:
        return contents
    for side in faces_with_features(plan):
        drawing = top_drawing(context, plan, face_drawing(context, plan, side))
        contents[f"{FILES[side]}.dxf"] = as_dxf(drawing)
        contents[f"{FILES[side]}.svg"] = as_svg(drawing).encode("utf-8")
    return contents


def every_name() -> set[str]:
    """The names that such files can have."""
    return {f"{stem}.{kind}" for stem in FILES.values() for kind in ("dxf", "svg")}


@drawing_library()
def top_drawing(context: Context, plan: TopPlan, face: FaceDrawing) -> Drawing:
    """One face, as it is seen from above with that face up.

    x runs along the grain from the left end, y across from the centre line: to the far edge on the show face, to the near
    edge on the underside, which was turned over about its length.
    """
    import ezdxf

    words, way = context.words, -1.0 if face.turned else 1.0
    with drawing_library():
        drawing = ezdxf.new("R2010", setup=False, units=4)
    drawing.header["$MEASUREMENT"] = 1
    drawing.styles.add("SHEETS", font=REGULAR)
    for name, (colour, weight, _) in _LAYERS.items():
        drawing.layers.add(name, color=colour, lineweight=weight)
    space = drawing.modelspace()
    outline = _turned(plan.outline, way)
    x0, y0, x1, y1 = outline.bounds
    _add(space, outline, "OUTLINE")
    space.add_line((x0 - _ASIDE, 0.0), (x1 + _ASIDE, 0.0), dxfattribs={"layer": "CENTRE"})
    for seen in face.features:
        layer = "FEATURES" if seen.own else "FROM BELOW"
        for solid in seen.feature.solids if seen.own else seen.feature.solids[:1]:
            _add(space, _turned(solid.core if solid.radius and isinstance(solid.core, Point) else solid.shape(), way),
                 layer, solid.radius if isinstance(solid.core, Point) else 0.0)  # fmt: skip
        _, low, right, high = seen.bounds
        high = high if way > 0.0 else -low
        name = f" {called(seen.feature.name)}, {size_of(seen.feature, seen.asked, words)}"
        told = f"{seen.number}{name if len(face.features) <= _NAMED else ''}"
        _write(space, told, right + 6.0, high + 4.0, _HIGH)
    _dimensions(space, face, words, way, (x0, y0, x1, y1))
    told = (
        f"Top, {FACE_WORDS[face.side]} up. Revision {plain(context.plan.job.stated.job.revision, 12)}. Full size, mm. "
    )
    unit = "figures in mm" if words.metric else "figures in inches"
    _write(space, f"{told}Along from the left end, across from the centre line; {unit}. Measure before you cut.",
           x0, y1 + 3 * _ASIDE, 1.5 * _HIGH)  # fmt: skip
    upper = "near edge" if face.turned else "far edge"
    _write(space, upper, x0 + (x1 - x0) / 2, y1 + 10.0, _HIGH)
    for k, edge in enumerate(face.edges):
        _write(space, f"{called(edge.name)}: {mark(edge.size, words)} {edge.kind} along {', '.join(edge.edges)}",
               x0, y1 + 2 * _ASIDE - k * _APART, _HIGH)  # fmt: skip
    return drawing


def _turned(shape: BaseGeometry, way: float) -> BaseGeometry:
    return affinity.scale(shape, 1.0, way, origin=(0.0, 0.0))


def _add(space: Modelspace, shape: BaseGeometry, layer: str, radius: float = 0.0) -> None:
    """A circle, or the rims of polygons with their round corners as arcs."""
    if isinstance(shape, Point):
        space.add_circle((shape.x, shape.y), radius, dxfattribs={"layer": layer})
        return
    for part in getattr(shape, "geoms", [shape]):
        for ring in (part.exterior, *part.interiors):
            points = [(*side.start, side.bulge) for side in sides(Polygon(ring))]
            space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": layer})


def _write(space: Modelspace, said: str, x: float, y: float, high: float, turn: float = 0.0, end: bool = False) -> None:
    from ezdxf.enums import TextEntityAlignment

    entity = space.add_text(said, height=high, rotation=turn, dxfattribs={"layer": "TEXT", "style": "SHEETS"})
    entity.set_placement((x, y), align=TextEntityAlignment.RIGHT if end else TextEntityAlignment.LEFT)


def _dimensions(
    space: Modelspace, face: FaceDrawing, words: Words, way: float, bounds: tuple[float, float, float, float]
) -> None:
    """Running dimensions: along below the drawing, across at its left."""
    x0, y0, x1, y1 = bounds
    ends = [(0.0, (0.0,)), (x1 - x0, (0.0,))]
    along = sorted([*((each.value, each.others) for each in face.along), *ends])
    foot, label = y0 - _ASIDE, y0 - 2 * _ASIDE
    places = spread([value for value, _ in along], _APART, x0 - 4 * _APART, x1 + 4 * _APART * (1 + len(along) / 60))
    for (value, others), place in zip(along, places, strict=True):
        start = min(way * other for other in others) if (value, others) not in ends else y0
        for a, b in (((value, start), (value, foot)), ((value, foot), (place, label))):
            space.add_line(a, b, dxfattribs={"layer": "DIMENSIONS"})
        _write(space, mark(value, words), place + 0.4 * _HIGH, label - 5.0, _HIGH, turn=90.0, end=True)
    across = sorted(
        [(0.0, (x0,)), *((way * each.value, each.others) for each in face.across if abs(each.value) > 0.05)]
    )
    side, label = x0 - _ASIDE, x0 - 2 * _ASIDE
    reach = (y1 - y0) * 0.1 + _APART * len(across) / 2
    places = spread([value for value, _ in across], _APART, y0 - reach, y1 + reach)
    for (value, others), place in zip(across, places, strict=True):
        for a, b in (((min(others), value), (side, value)), ((side, value), (label, place))):
            space.add_line(a, b, dxfattribs={"layer": "DIMENSIONS"})
        _write(space, mark(abs(value), words), label - 5.0, place - 0.4 * _HIGH, _HIGH, end=True)


def as_dxf(drawing: Drawing) -> bytes:
    """The drawing as the text of a DXF file, the same each time.

    Raises:
        RuntimeError: the drawing has faults (a fault of this program)
    """
    auditor = drawing.audit()
    if auditor.has_errors or auditor.has_fixes:
        raise RuntimeError(f"a drawing of the top has faults: {[e.message for e in (*auditor.errors, *auditor.fixes)]}")
    out = io.StringIO()
    with drawing_library():
        drawing.write(out)
    return bytes(drawing.encode(out.getvalue()))


@drawing_library()
def as_svg(drawing: Drawing) -> str:
    """The drawing as SVG, full size in mm: the same entities on the same layers, each layer a group."""
    from ezdxf import bbox

    space = drawing.modelspace()
    box = bbox.extents(space, fast=True)
    rim = 30.0
    left, top = box.extmin.x - rim, -(box.extmax.y + rim)
    wide, high = box.size.x + 2 * rim, box.size.y + 2 * rim
    groups: dict[str, list[str]] = {layer: [] for layer in _LAYERS}
    for entity in space:
        groups[entity.dxf.layer].append(_as_svg_element(entity))
    body = "".join(
        f'<g id="{layer}" fill="none" stroke="{_LAYERS[layer][2]}" stroke-width="{_LAYERS[layer][1] * _BOLDER / 100:g}">'
        f"{''.join(elements)}</g>"
        for layer, elements in groups.items()
        if elements
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.2f}mm" height="{high:.2f}mm" '
        f'viewBox="{left:.2f} {top:.2f} {wide:.2f} {high:.2f}">{body}</svg>\n'
    )


def _as_svg_element(entity: DXFGraphic) -> str:
    kind, dxf = entity.dxftype(), entity.dxf
    if kind == "CIRCLE":
        return f'<circle cx="{dxf.center.x:.2f}" cy="{-dxf.center.y:.2f}" r="{dxf.radius:.2f}"/>'
    if kind == "TEXT":
        ends = dxf.halign == 2
        x, y = (dxf.align_point.x, dxf.align_point.y) if ends else (dxf.insert.x, dxf.insert.y)
        turn = f' transform="rotate({-dxf.rotation:g} {x:.2f} {-y:.2f})"' if dxf.rotation else ""
        return (
            f'<text x="{x:.2f}" y="{-y:.2f}"{turn} font-family="{FAMILY}, sans-serif" text-anchor="{"end" if ends else "start"}" '
            f'font-size="{dxf.height / _CAPITALS:.2f}" fill="{INK}" stroke="none">{escape(dxf.text)}</text>'
        )
    from ezdxf.path import make_path

    points = [(p.x, -p.y) for p in make_path(entity).flattening(_FLAT)]
    closed = len(points) > 2 and math.dist(points[0], points[-1]) < 1e-9
    return f'<path d="{path_of(points[:-1] if closed else points, close=closed)}"/>'
