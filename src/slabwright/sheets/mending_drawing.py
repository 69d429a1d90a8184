"""A plan of the slab with its defects, filled places, keys and dams, each by its name."""

from __future__ import annotations

from shapely import LineString
from shapely.geometry.base import BaseGeometry

from slabwright.finish.mending_results import Mending
from slabwright.sheets.colours import CHOSEN, PAPER, SOFT, STOP
from slabwright.sheets.context import Context
from slabwright.sheets.fill_sheets import draw_patches, with_mending
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, path_of, text_width
from slabwright.sheets.plan_view import View, draw_origin, draw_slab, origin_places

Box = tuple[float, float, float, float]

_NAME = 1.4 * TEXT
_DAM = 15.0
"""How far a dam reaches beyond a defect along the edge [mm]: common practice."""


def plan_picture(context: Context, mending: Mending, width: float, height: float) -> Picture:
    """Slab, piece, defects and keys, seen from the show face.

    Args:
        context: gives the slab
        mending: what is drawn
        width: of the picture [mm]
        height: of the picture [mm]
    """
    face = context.slab.show_face
    outline = context.outline(face)
    drawing = Picture(width, height)
    view = View.fit(outline.bounds, (4.0, 4.0, width - 8.0, height - 12.0), mirrored=face == "B")
    draw_slab(drawing, view, outline)
    if with_mending(context):
        draw_patches(drawing, view, context.slab.patches, outline)
    drawing.path(view.data(mending.outline), weight=MIDDLE, stroke=SOFT, dash="3 1.2")
    for mend in mending.mends:
        shape = mend.outline
        # A hairline is drawn as wide as a line of the page, so that it is seen.
        data = view.data(shape.buffer(max(0.0, 0.6 / view.scale - mend.width) / 2.0))
        under = mend.side == "underside"
        drawing.path(data, stroke=STOP, weight=MIDDLE, fill=PAPER if under else STOP, dash="1.2 0.7" if under else "")
        if mend.dam and mend.chosen in ("fill", "key and fill", "thin epoxy"):
            for line in _dam(shape, mending.outline):
                drawing.path(path_of(view.ring(line.coords)), stroke=STOP, weight=4 * THICK)
        for place in mend.keys.places if mend.keys is not None else ():
            under_key = mend.keys is not None and mend.keys.face == "underside"
            drawing.path(
                view.data(place.outline), stroke=CHOSEN, weight=THICK, fill=PAPER, dash="1.2 0.7" if under_key else ""
            )
    draw_origin(drawing, view)
    _label(context, drawing, view, mending)
    _legend(drawing, mending, height)
    return drawing


def _label(context: Context, drawing: Picture, view: View, mending: Mending) -> None:
    """The name of each defect and filled place beside it, clear of defects, keys and other names where there is room."""
    named = [(mend.name, mend.x, mend.y) for mend in mending.mends]
    taken: list[Box] = [view.page_box(mend.outline) for mend in mending.mends]
    if with_mending(context):
        named += [(patch.name, patch.x, patch.y) for patch in context.slab.patches]
        taken += [view.page_box(patch.outline) for patch in context.slab.patches]
    taken += [view.page_box(place.outline) for mend in mending.mends if mend.keys for place in mend.keys.places]
    taken += [(x - 1.0, y - 1.0, x + 1.0, y + 1.0) for x, y in origin_places(view)]
    for name, along, across in named:
        x, y = view.point(along, across)
        wide, high = 1.2 * text_width(name, _NAME), 0.75 * _NAME
        spots = [
            (x + far * dx, y + far * dy)
            for far in (4.0, 6.0, 8.0, 11.0, 14.0, 18.0, 23.0)
            for dx, dy in (
                (0.6, -0.8),
                (-0.6, -0.8),
                (0.6, 0.8),
                (-0.6, 0.8),
                (0.0, -1.0),
                (0.0, 1.0),
                (1.0, 0.0),
                (-1.0, 0.0),
            )
        ]
        boxes = [(a - wide / 2, b - high / 2, a + wide / 2, b + high / 2) for a, b in spots]
        inside = [
            box
            for box in boxes
            if box[0] > 0.5 and box[1] > 0.5 and box[2] < drawing.width and box[3] < drawing.height - 6.0
        ]
        clear = [box for box in inside if not any(_meet(box, other) for other in taken)]
        box = (clear or inside or boxes)[0]
        taken.append(box)
        a, b = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
        drawing.line(x, y, a, b, weight=THIN)
        drawing.text(a, b + high / 2, name, size=_NAME, weight=700, anchor="middle", halo=True)


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] + 0.6 and other[0] < one[2] + 0.6 and one[1] < other[3] + 0.6 and other[1] < one[3] + 0.6


def _dam(shape: BaseGeometry, piece: BaseGeometry) -> list[LineString]:
    from shapely import line_merge

    line = piece.boundary.intersection(shape.buffer(_DAM))
    line = line_merge(line) if line.geom_type == "MultiLineString" else line
    return [part for part in getattr(line, "geoms", [line]) if isinstance(part, LineString) and part.length > 0]


def _legend(drawing: Picture, mending: Mending, height: float) -> None:
    foot, x = height - 1.5, 1.0
    entries: list[tuple[str, str]] = [("piece", "piece")]
    if any(mend.side == "underside" for mend in mending.mends):
        entries.append(("under", "on the underside"))
    if any(mend.keys for mend in mending.mends):
        entries.append(("key", "key (bow tie)"))
    if any(mend.dam for mend in mending.mends):
        entries.append(("dam", "dam here"))
    for kind, said in entries:
        y = foot - 0.35 * TEXT
        if kind == "dam":
            drawing.line(x, y, x + 8.0, y, stroke=STOP, weight=4 * THICK)
        elif kind == "key":
            drawing.polygon(
                [(x, y - 1.6), (x + 4, y - 0.7), (x + 8, y - 1.6), (x + 8, y + 1.6), (x + 4, y + 0.7), (x, y + 1.6)],
                stroke=CHOSEN,
                weight=THICK,
            )
        else:
            dash, ink = ("3 1.2", SOFT) if kind == "piece" else ("1.2 0.7", STOP)
            drawing.line(x, y, x + 8.0, y, stroke=ink, dash=dash, weight=MIDDLE)
        drawing.text(x + 9.5, foot, said)
        x += 14.0 + 1.1 * text_width(said)
