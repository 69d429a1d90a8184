"""Drawings for locating: the top where it was found on the machine, and the places that are good to touch."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from shapely import box
from shapely.geometry.base import BaseGeometry

from slabwright.machine.located import DatumKind, FaceUp, Located
from slabwright.machine.registration import Candidate
from slabwright.sheets.colours import CHOSEN, GO, INK, PAPER, SOFT, STOP, WOOD
from slabwright.sheets.context import Context
from slabwright.sheets.machine_labels import Box, Labels, Spot, middles
from slabwright.sheets.picture import GREAT, MIDDLE, TEXT, THICK, THIN, Picture
from slabwright.sheets.plan_view import View, draw_origin, joined_bounds
from slabwright.top.results import TopPlan

TOUCH_WORDS: dict[str, str] = {
    "point": "x and y",
    "edge along": "y only",
    "edge across": "x only",
    "feature": "look",
}
"""What is compared at a place."""
_HEAD = 12.0
_NAMED = 5
"""Up to so many features have their names on the drawing."""


def shapes_of(top: TopPlan, face: str) -> list[tuple[str, BaseGeometry]]:
    """Name and shape in plan of what is cut into a face, in the drawing."""
    return [
        (feature.name, shapely.union_all([solid.shape() for solid in feature.solids]))
        for feature in top.features
        if feature.face == face and feature.solids
    ]


def draw_located(
    context: Context,
    top: TopPlan,
    located: Located,
    width: float,
    height: float,
    run: Mapping[str, str],
    go: bool,
    files: Mapping[str, str] | None = None,
) -> Picture:
    """The top as it lies on the machine: travel, outline, centre line, touched places and features, go or no go.

    Args:
        context: of the job
        top: outline and features
        located: how it lies
        width: of the drawing [mm]
        height: of the drawing [mm]
        run: the numbers of places and features in the list of places to go to
        go: whether it is a go
        files: the numbers of each feature's files, to stand for its name; the touched places are left out then
    """
    drawing, stated = Picture(width, height), context.plan.job.stated.top
    machine = context.plan.job.shop.machine
    labels = Labels(drawing, (0.0, 0.0, width, height))
    shown = run if files is None else files
    head = _HEAD if files is None else 1.0
    if files is None:
        _verdict(labels, go)

    def onto(shape: BaseGeometry) -> BaseGeometry:
        return shapely.transform(shape, located.to_machine)

    outline, travel = onto(top.outline), box(0.0, 0.0, machine.travel_x, machine.travel_y)
    view = View.fit(
        joined_bounds([outline, travel]), (14.0, head + 1.0, width - 18.0, height - head - 8.0), mirrored=False
    )
    drawing.path(view.data(travel), weight=MIDDLE, stroke=SOFT, dash="6 1 1 1")
    drawing.path(view.data(outline), weight=THICK, fill=WOOD)
    ends = view.ring(located.to_machine(np.array([(0.0, 0.0), (top.length, 0.0)])).tolist())
    drawing.polyline(ends, weight=THIN, dash="8 1.5 1.5 1.5")
    features = [(name, onto(shape)) for name, shape in shapes_of(top, located.face_up)]
    for _, shape in features:
        drawing.path(view.data(shape), weight=MIDDLE, fill=PAPER)
        labels.take(view.page_box(shape))
    draw_origin(drawing, view)
    x0, y0 = view.point(0.0, 0.0)
    labels.take((x0 - 1.5, y0 - 16.0, x0 + 4.0, y0 + 1.5), (x0, y0 - 1.8, x0 + 17.0, y0 + 1.8))
    labels.put("x0 y0 of the machine", [Spot(x0 - 3.0, y0 + 5.4), Spot(x0 + 3.0, y0 - 3.0)])
    own = view.point(*(float(v) for v in located.to_machine(np.array((0.0, 0.0)))))
    drawing.circle(*own, 1.2, fill=INK)
    labels.take((own[0] - 1.4, own[1] - 1.4, own[0] + 1.4, own[1] + 1.4))
    datums = stated.datums if stated is not None and files is None else []
    odd = {datum.name for datum in located.datums if datum.odd}
    # Where it was touched; of an edge, on the edge itself, where the drawing has it.
    for datum in datums:
        place = np.array(datum.touched if datum.kind == "point" else located.to_machine(np.array(datum.stated)))
        x, y = view.point(float(place[0]), float(place[1]))
        _mark(drawing, x, y, datum.kind, STOP if datum.name in odd else CHOSEN)
        labels.take((x - 2.2, y - 2.2, x + 2.2, y + 2.2))
    for datum in datums:
        place = np.array(datum.touched if datum.kind == "point" else located.to_machine(np.array(datum.stated)))
        x, y = view.point(float(place[0]), float(place[1]))
        labels.put(f"{shown.get(datum.name, '')} {_short(datum.name)}".strip(), _around(x, y, 2.8))
    for name, shape in features:
        said = shown.get(name, "")
        if len(features) <= _NAMED and files is None:
            said = f"{said} {_short(name)}".strip()
        if said:
            labels.put(said, _beside(view.page_box(shape)))
    _ends(labels, own, view.page_box(outline), up_words(located.face_up))
    return drawing


def _verdict(labels: Labels, go: bool) -> None:
    drawing, (great, ink) = labels.drawing, ("Go", GO) if go else ("No go", STOP)
    if go:
        drawing.polyline([(1.0, 5.6), (3.6, 8.6), (8.2, 2.0)], stroke=ink, weight=4 * THICK)
    else:
        drawing.rectangle(0.5, 1.6, 7.0, 7.0, fill=ink, stroke=ink)
    drawing.text(10.5, 0.82 * GREAT, great, size=GREAT, weight=700, fill=ink)
    labels.take((0.0, 0.0, 42.0, _HEAD))


def _beside(box: Box) -> list[Spot]:
    """Spots for the words of what is drawn in a box."""
    x0, y0, x1, y1 = box
    middle = (y0 + y1) / 2 + 0.35 * TEXT
    return [
        Spot(x1 + 1.2, middle),
        Spot(x0 - 1.2, middle, "end"),
        Spot((x0 + x1) / 2, y0 - 1.2, "middle"),
        Spot((x0 + x1) / 2, y1 + 4.0, "middle"),
        Spot((x0 + x1) / 2, middle, "middle"),
        Spot(x1 + 1.2, middle - 4.4),
        Spot(x1 + 1.2, middle + 4.4),
        Spot(x0 - 1.2, middle - 4.4, "end"),
        Spot(x0 - 1.2, middle + 4.4, "end"),
    ]


def _ends(labels: Labels, own: tuple[float, float], wood: Box, up: str) -> None:
    """Where the drawing's own origin came to lie, and which face is up."""
    x, y = own
    spots = [Spot(x - 1.8, y + dy + 1.3, "end") for dy in (0.0, -5.0, 5.0, -9.0, 9.0)]
    labels.put("0, 0 of the drawing", [*spots, *(Spot(x + 2.0, y + dy + 1.3) for dy in (-5.0, 5.0, -9.0, 9.0, -13.0))])
    labels.put(up, middles(wood, up, (1.4 * TEXT, TEXT)), weight=700)


def up_words(face: FaceUp) -> str:
    """Which face is up."""
    return "Underside up" if face == "underside" else "Show face up"


def _short(name: str) -> str:
    return name if len(name) <= 18 else name[:17].rstrip() + "…"


def _around(x: float, y: float, off: float) -> list[Spot]:
    foot = y + 0.35 * TEXT
    return [
        Spot(x + off, foot),
        Spot(x - off, foot, "end"),
        Spot(x, y - off, "middle"),
        Spot(x, y + off + 2.8, "middle"),
        Spot(x - off, foot - 3.2, "end"),
        Spot(x - off, foot + 3.2, "end"),
        Spot(x + off, foot - 3.2),
        Spot(x + off, foot + 3.2),
    ]


def _mark(drawing: Picture, x: float, y: float, kind: DatumKind, ink: str) -> None:
    """A touched place: a ring with a cross, or a bar along its edge."""
    if kind == "point":
        drawing.circle(x, y, 1.9, stroke=ink, weight=THICK, fill=PAPER)
        drawing.line(x - 2.6, y, x + 2.6, y, stroke=ink)
        drawing.line(x, y - 2.6, x, y + 2.6, stroke=ink)
        return
    along = kind == "edge along"
    dx, dy = (3.0, 0.0) if along else (0.0, 3.0)
    drawing.line(x - dx, y - dy, x + dx, y + dy, stroke=ink, weight=3 * THICK)


def draw_places(top: TopPlan, face: FaceUp, places: Sequence[Candidate], width: float, height: float) -> Picture:
    """The top as seen from above with a face up, and the numbered places that are good to touch.

    Args:
        top: outline and features
        face: that is up
        places: in the order of their numbers
        width: of the drawing [mm]
        height: of the drawing [mm]
    """
    drawing = Picture(width, height)
    view = View.fit(top.outline.bounds, (9.0, 9.0, width - 18.0, height - 18.0), mirrored=face == "underside")
    drawing.path(view.data(top.outline), weight=THICK, fill=WOOD)
    middle = view.ring([(0.0, 0.0), (top.length, 0.0)])
    drawing.polyline(middle, weight=THIN, dash="8 1.5 1.5 1.5")
    labels = Labels(drawing, (0.0, 0.0, width, height))
    for _, shape in shapes_of(top, face):
        drawing.path(view.data(shape), weight=MIDDLE, stroke=SOFT, fill=PAPER)
    at = [view.point(place.x, place.y) for place in places]
    for place, (x, y) in zip(places, at, strict=True):
        _mark(drawing, x, y, place.kind, CHOSEN)
        labels.take((x - 2.6, y - 2.6, x + 2.6, y + 2.6))
    for number, (x, y) in enumerate(at, start=1):
        outward = 1.0 if y > height / 2 else -1.0
        foot = 0.35 * TEXT
        labels.put(
            str(number),
            [
                Spot(x, y + outward * 5.0 + foot, "middle"),
                Spot(x + 3.6, y + foot),
                Spot(x - 3.6, y + foot, "end"),
                Spot(x, y - outward * 5.0 + foot, "middle"),
            ],
            weight=700,
        )
    x, y = view.point(0.0, 0.0)
    drawing.circle(x, y, 1.2, fill=INK)
    spots = [Spot(x + 2.0, y + dy + 0.35 * TEXT) for dy in (-3.2, 3.2, -8.0, 8.0, -12.0, 12.0, -16.0)]
    labels.put("0, 0 of the drawing", spots)
    wood = view.page_box(top.outline)
    labels.put(up_words(face), middles(wood, up_words(face), (1.4 * TEXT, TEXT)), weight=700)
    return drawing


def clear_of(place: tuple[float, float], shapes: Sequence[BaseGeometry], least: float) -> bool:
    """Whether a place of the drawing is so far from all shapes [mm]."""
    point = shapely.Point(place)
    return all(float(shapely.distance(point, shape)) >= least for shape in shapes)
