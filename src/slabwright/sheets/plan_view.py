"""The slab seen from above on a page: how its millimetres become the page's."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from shapely import Polygon, transform
from shapely.geometry.base import BaseGeometry

from slabwright.geometry.faces import Floats
from slabwright.sheets.colours import INK, PAPER, SOFT, STOP, WOOD
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, path_of


@dataclass(frozen=True)
class View:
    """A plan view to one scale.

    Attributes:
        left: page x of the least slab x [mm]
        top: page y of what is uppermost [mm]
        scale: page mm for each mm of slab
        x0: least slab x shown [mm]
        v0: least height on the page, `y` or, seen from below, `-y` [mm]
        v1: greatest [mm]
        mirrored: true where face B is up: the slab was turned over about its length, so y runs down the page
    """

    left: float
    top: float
    scale: float
    x0: float
    v0: float
    v1: float
    mirrored: bool

    @classmethod
    def fit(
        cls, bounds: tuple[float, float, float, float], box: tuple[float, float, float, float], mirrored: bool = False
    ) -> View:
        """The greatest view of `bounds` (x0, y0, x1, y1 of the slab) in the middle of `box` (left, top, width, height)."""
        x0, y0, x1, y1 = bounds
        v0, v1 = (-y1, -y0) if mirrored else (y0, y1)
        left, top, width, height = box
        scale = min(width / max(x1 - x0, 1.0), height / max(v1 - v0, 1.0))
        spare_x, spare_y = width - scale * (x1 - x0), height - scale * (v1 - v0)
        return cls(left + spare_x / 2, top + spare_y / 2, scale, x0, v0, v1, mirrored)

    def to_page(self, x: Floats | float, y: Floats | float) -> tuple[Floats, Floats]:
        """Page positions of slab positions."""
        v = -np.asarray(y, dtype=float) if self.mirrored else np.asarray(y, dtype=float)
        return self.left + self.scale * (np.asarray(x, dtype=float) - self.x0), self.top + self.scale * (self.v1 - v)

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Page position of one place."""
        px, py = self.to_page(x, y)
        return float(px), float(py)

    def ring(self, coordinates: Iterable[tuple[float, ...]]) -> list[tuple[float, float]]:
        """Page positions of a chain of places."""
        points = np.array([c[:2] for c in coordinates])
        px, py = self.to_page(points[:, 0], points[:, 1])
        return list(zip(px.tolist(), py.tolist(), strict=True))

    def drawn(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape in page mm."""
        return transform(shape, lambda corners: np.column_stack(self.to_page(corners[:, 0], corners[:, 1])))

    def page_box(self, shape: BaseGeometry) -> tuple[float, float, float, float]:
        """The least rectangle around a shape on the page: x0, y0, x1, y1 [mm]."""
        x0, y0, x1, y1 = self.drawn(shape).bounds
        return float(x0), float(y0), float(x1), float(y1)

    def data(self, shape: BaseGeometry) -> str:
        """SVG path data of the polygons of a shape."""
        polygons = [
            part for part in getattr(shape, "geoms", [shape]) if isinstance(part, Polygon) and not part.is_empty
        ]
        rings = [ring for polygon in polygons for ring in (polygon.exterior, *polygon.interiors)]
        return "".join(path_of(self.ring(ring.coords), close=True) for ring in rings)


def joined_bounds(shapes: Iterable[BaseGeometry]) -> tuple[float, float, float, float]:
    """The least rectangle around some shapes."""
    boxes = np.array([shape.bounds for shape in shapes])
    return float(boxes[:, 0].min()), float(boxes[:, 1].min()), float(boxes[:, 2].max()), float(boxes[:, 3].max())


def draw_slab(picture: Picture, view: View, outline: Polygon, region: Polygon | None = None, fill: str = WOOD) -> None:
    """The outline (thick) and the region that comes out flat (dashed)."""
    picture.path(view.data(outline), weight=THICK, fill=fill)
    if region is not None:
        picture.path(view.data(region), weight=MIDDLE, stroke=SOFT, dash="3 1.2")


_ARROW = 11.0
_ASIDE = 4.2
_CORNER = 8.0


def origin_places(view: View) -> list[tuple[float, float]]:
    """Page places that the two arrows of `draw_origin` and their letters cover."""
    x, y = view.point(0.0, 0.0)
    up = 1.0 if view.mirrored else -1.0
    return [(x + far, y) for far in (0.0, 5.0, 10.0, 15.0)] + [(x, y + up * far) for far in (5.0, 10.0, 15.0)]


def near_origin(view: View, places: Sequence[tuple[float, float]], outline: BaseGeometry) -> bool:
    """Whether the arrows of `draw_origin` want to stand beside the slab.

    They do where x = 0, y = 0 is at the slab's corner and something is drawn there, at one of some page places.
    """
    x, y = view.point(0.0, 0.0)
    _, upper, _, lower = view.page_box(outline)
    if abs(y - (upper if view.mirrored else lower)) > _CORNER:
        return False
    return any(abs(a - x) < _ARROW + 10.0 and abs(b - y) < _ARROW + 10.0 for a, b in places)


def with_origin(
    left: float, top: float, width: float, height: float, up: Literal["A", "B"]
) -> tuple[float, float, float, float]:
    """What is left of a box (left, top, width, height) when the origin's arrows stand beside the slab [mm]."""
    return left + 5.0, top + (6.0 if up == "B" else 0.0), width - 5.0, height - 6.0


def draw_origin(picture: Picture, view: View, beside: bool = False) -> None:
    """Where x = 0, y = 0 is, with its two arrows.

    Args:
        picture: where to
        view: how
        beside: whether the arrows stand beside the slab's edges, clear of what is drawn at its corner
    """
    x, y = view.point(0.0, 0.0)
    along, up = _ARROW, (_ARROW if view.mirrored else -_ARROW)
    picture.circle(x, y, 1.3, fill=INK)
    if beside:
        x, y = x - _ASIDE, y - _ASIDE * up / _ARROW
    for dx, dy in ((along, 0.0), (0.0, up)):
        start = _ASIDE / _ARROW if beside else 0.0
        picture.line(x + start * dx, y + start * dy, x + dx, y + dy, weight=THICK)
        ux, uy = dx / 11.0, dy / 11.0
        tip = (x + dx + 2.4 * ux, y + dy + 2.4 * uy)
        picture.polygon([tip, (x + dx - uy, y + dy - ux), (x + dx + uy, y + dy + ux)], fill=INK)
    picture.text(x + along + 3.2, y + 1.2, "x", weight=600, halo=True)
    picture.text(x + 1.8, y + 1.25 * up + (0.4 * TEXT if up > 0 else 0.2 * TEXT), "y", weight=600, halo=True)


def draw_defects(picture: Picture, view: View, defects: Iterable[tuple[str, BaseGeometry]]) -> None:
    """Knots, checks, voids, bark and metal, dashed, each with its word; word and place."""
    for kind, place in defects:
        data = view.data(place)
        if not data:
            continue
        picture.path(data, stroke=PAPER, weight=2 * THICK)
        picture.path(data, stroke=STOP, weight=THICK, dash="1.2 0.7")
        _, y0, x1, y1 = place.bounds
        x, y = view.point(x1, (y0 + y1) / 2)
        picture.text(x + 1.0, y + 0.35 * TEXT, kind, fill=STOP, weight=600, halo=True)


def draw_contact(picture: Picture, place: tuple[float, float]) -> None:
    """A reading that decides the thickness: a diamond at a place of the page."""
    px, py = place
    picture.polygon([(px, py - 2.4), (px + 2.0, py), (px, py + 2.4), (px - 2.0, py)], fill=PAPER, weight=THICK)
    picture.circle(px, py, 0.5, fill=INK, weight=THIN)


def draw_highest(picture: Picture, place: tuple[float, float]) -> None:
    """The highest reading: a ring with a cross, and its word on the side where there is room."""
    px, py = place
    picture.circle(px, py, 2.6, stroke=PAPER, weight=3 * THICK)
    picture.circle(px, py, 2.6, weight=THICK)
    for dx, dy in ((3.6, 0.0), (0.0, 3.6)):
        picture.line(px - dx, py - dy, px + dx, py + dy, stroke=PAPER, weight=2 * THICK)
        picture.line(px - dx, py - dy, px + dx, py + dy)
    right = px + 24.0 < picture.width
    picture.text(
        px + (4.4 if right else -4.4),
        py + 0.35 * TEXT,
        "highest",
        anchor="start" if right else "end",
        weight=600,
        halo=True,
    )


def nice_step(span: float, pieces: int) -> float:
    """A round step (1, 2 or 5 times a power of ten) that cuts a span into at most so many pieces."""
    raw = max(span, 1e-9) / pieces
    power = 10.0 ** np.floor(np.log10(raw))
    return float(next(power * k for k in (1.0, 2.0, 5.0, 10.0) if power * k >= raw * (1 - 1e-9)))


def draw_length_bar(picture: Picture, view: View, x: float, y: float, room: float, metric: bool) -> None:
    """A bar of a round length at the map's scale within some room, its label to the right."""
    unit = 1.0 if metric else 304.8
    most = (room - 18.0) / view.scale / unit
    power = 10.0 ** np.floor(np.log10(most))
    length = max(power * k for k in (1.0, 2.0, 5.0) if power * k <= most * (1 + 1e-9))
    page = length * unit * view.scale
    for k in range(2):
        picture.rectangle(x + k * page / 2, y - 1.5, page / 2, 1.5, weight=THIN, fill=INK if k == 0 else PAPER)
    picture.text(x + page + 1.5, y, f"{length:g} {'mm' if metric else 'ft'}")
