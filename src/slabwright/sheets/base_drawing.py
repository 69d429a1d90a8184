"""The base seen from the front, from one end and from above: what is drawn on its sheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np
import shapely
from shapely import MultiPoint, Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from slabwright.base.basing import BasePlan
from slabwright.base.kinds import Drawn, Member
from slabwright.geometry.faces import Floats
from slabwright.sheets.colours import INK, PAPER, SOFT, WOOD
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture
from slabwright.sheets.plan_view import View

Side = Literal["front", "left", "right", "above"]
SIDE_WORDS: dict[Side, str] = {
    "front": "From the near side",
    "left": "From the left end",
    "right": "From the right end",
    "above": "From above",
}
_ALONG_ITS_LINE = 0.999


@dataclass(frozen=True)
class Seen:
    """A base as it is seen from one side; right and up on the page [mm].

    Attributes:
        steel: tubes
        plates: of steel under the top
        top: the slab
        feet: levellers or glides
        bolts: places of the bolts, seen from above
        above: whether it is seen from above
    """

    steel: BaseGeometry
    plates: BaseGeometry
    top: BaseGeometry
    feet: BaseGeometry
    bolts: tuple[tuple[float, float], ...] = ()
    above: bool = False

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """The least rectangle round all of it [mm]."""
        x0, y0, x1, y1 = shapely.union_all([self.steel, self.plates, self.top, self.feet]).bounds
        return float(x0), float(y0), float(x1), float(y1)


def flat(points: Floats, side: Side) -> Floats:
    """Places of the base's frame as one side shows them: shape (n, 3) to (n, 2) [mm]."""
    x, y, z = points[:, 0], points[:, 1], points[:, 2]
    across = {"front": x, "left": -y, "right": y, "above": x}[side]
    return np.column_stack([across, y if side == "above" else z])


def seen_from(plan: BasePlan, side: Side) -> Seen:
    """What one side shows."""
    drawn = plan.drawn
    steel = shapely.union_all([_tube(drawn, member, side) for member in drawn.members if member.part == "frame"])
    plates = [
        _block((p.x - p.width / 2, -p.length / 2, drawn.underside - p.thickness),
               (p.x + p.width / 2, p.length / 2, drawn.underside), side)
        for p in drawn.plates
    ]  # fmt: skip
    radius = (drawn.stud or 20.0) / 2
    feet = [
        _block((x - radius, y - radius, 0.0), (x + radius, y + radius, max(drawn.foot_length, 1.0)), side)
        for _, _, (x, y) in drawn.feet
    ]
    bolts = tuple((bolt.x, bolt.y) for bolt in drawn.bolts) if side == "above" else ()
    return Seen(steel, shapely.union_all(plates), _top(plan, side), shapely.union_all(feet), bolts, side == "above")


def outline_of(plan: BasePlan) -> Polygon:
    """The top's outline, along from its middle and across from its centre line [mm]."""
    top = plan.structure.top
    if top.outline is None:
        return box(-top.length / 2, -top.width / 2, top.length / 2, top.width / 2)
    return affinity.translate(top.outline, -top.length / 2)


def _top(plan: BasePlan, side: Side) -> BaseGeometry:
    outline = outline_of(plan)
    if side == "above":
        return outline
    x0, y0, x1, y1 = outline.bounds
    high = plan.height.even
    return _block((x0, y0, high - plan.structure.top.thickness[1]), (x1, y1, high), side)


def _block(low: Sequence[float], high: Sequence[float], side: Side) -> Polygon:
    corners = flat(np.array([low, high], dtype=float), side)
    (a, b), (c, d) = corners.tolist()
    corner: Polygon = box(min(a, c), min(b, d), max(a, c), max(b, d))
    return corner


def _tube(drawn: Drawn, member: Member, side: Side) -> BaseGeometry:
    """A tube's shadow, run on to the outside of what it meets."""
    first, last = np.array(drawn.nodes[member.first]), np.array(drawn.nodes[member.last])
    along = (last - first) / np.linalg.norm(last - first)
    up = np.array(member.up) - np.dot(member.up, along) * along
    up /= np.linalg.norm(up)
    over = np.cross(along, up)
    first = first - along * run_on(drawn, member, member.first, along)
    last = last + along * run_on(drawn, member, member.last, along)
    half_deep, half_wide = member.section.depth / 2, member.section.width / 2
    sight = {"front": 1, "left": 0, "right": 0, "above": 2}[side]
    if member.section.kind == "round tube" and abs(along[sight]) > _ALONG_ITS_LINE:
        return Point(flat(first[None, :], side)[0]).buffer(half_deep)
    corners = [
        end + s * half_deep * up + t * half_wide * over for end in (first, last) for s in (-1, 1) for t in (-1, 1)
    ]
    return MultiPoint(flat(np.array(corners), side)).convex_hull


def run_on(drawn: Drawn, member: Member, node: str, along: Floats) -> float:
    """Half of the thickest tube that it meets at a node and that does not go on in its line; where one goes through: 0 [mm]."""
    if not _ends_at(drawn, member, node, along):
        return 0.0
    met: list[tuple[float, Floats]] = []
    for other in drawn.members:
        if other.part != "frame" or other is member or node not in (other.first, other.last):
            continue
        ends = np.subtract(drawn.nodes[other.last], drawn.nodes[other.first])
        met.append((other.section.depth / 2, ends / np.linalg.norm(ends)))
    if any(abs(np.dot(one, another)) >= _ALONG_ITS_LINE for (_, one), (_, another) in combinations(met, 2)):
        return 0.0
    return max((half for half, way in met if abs(np.dot(way, along)) < _ALONG_ITS_LINE), default=0.0)


def _ends_at(drawn: Drawn, member: Member, node: str, along: Floats) -> bool:
    """Whether no other tube goes on in its line there, and the node is at a corner of the frame."""
    for other in drawn.members:
        if other is member or node not in (other.first, other.last):
            continue
        ends = np.subtract(drawn.nodes[other.last], drawn.nodes[other.first])
        if other.part == "frame" and abs(np.dot(ends / np.linalg.norm(ends), along)) >= _ALONG_ITS_LINE:
            return False
    return True


def draw_seen(picture: Picture, view: View, seen: Seen) -> None:
    """Draw a view: solid steel, hatched wood; from above the top is a dashed line over the steel."""
    above = seen.above
    if above:
        picture.path(view.data(seen.top), weight=MIDDLE, stroke=SOFT, dash="4 1 1 1")
    else:
        picture.path(view.data(seen.top), weight=THICK, fill=WOOD)
        picture.hatch(view.data(seen.top), view.page_box(seen.top), step=1.8, stroke=SOFT)
    for shape, fill in ((seen.plates, "none" if above else INK), (seen.steel, SOFT), (seen.feet, INK)):
        if not shape.is_empty:
            picture.path(view.data(shape), weight=MIDDLE, fill=fill, rule="evenodd")
    if above and not seen.plates.is_empty:
        picture.path(view.data(seen.plates), weight=THICK)
    for place in seen.bolts:
        x, y = view.point(*place)
        picture.circle(x, y, 0.7, fill=PAPER, weight=MIDDLE)


def upright(
    picture: Picture, y1: float, y2: float, x: float, text: str, *, left: bool = True, share: float = 0.5
) -> None:
    """A vertical dimension with slanting ticks, its figure beside the line, at a share of it from `y1`."""
    picture.line(x, y1, x, y2, weight=THIN)
    for y in (y1, y2):
        picture.line(x - 0.9, y + 0.9, x + 0.9, y - 0.9)
    picture.text(
        x + (-1.2 if left else 1.2),
        y1 + share * (y2 - y1) + 0.35 * TEXT,
        text,
        anchor="end" if left else "start",
        halo=True,
    )


def projection_mark(picture: Picture, x: float, y: float, first_angle: bool) -> None:
    """The symbol of the projection, a cone's two views; 18 mm wide, 7 mm high, from its upper left corner."""
    # The view at a side is seen from that side in third angle, from the other in first: both see the small end.
    cone_at, rings_at = (x, x + 14.5) if first_angle else (x + 9.0, x + 3.5)
    middle, small, large = y + 3.5, cone_at, cone_at + 8.0
    picture.polygon([(small, middle - 1.75), (large, middle - 3.5), (large, middle + 3.5), (small, middle + 1.75)])
    for radius in (1.75, 3.5):
        picture.circle(rings_at, middle, radius)
    picture.line(x - 1.0, middle, x + 19.0, middle, weight=THIN, dash="3 0.6 0.6 0.6")
