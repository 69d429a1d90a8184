"""The whole base drawn aslant with its joints numbered, and a leg frame with what is measured on it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import LineString, MultiPoint, Point
from shapely.geometry.base import BaseGeometry

from slabwright.base.basing import BasePlan
from slabwright.base.kinds import Drawn, Member
from slabwright.base.weld_joints import Meeting, piece_name
from slabwright.geometry.faces import Floats
from slabwright.sheets.base_drawing import seen_from
from slabwright.sheets.colours import CHOSEN, INK, PAPER, SOFT
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, path_of, text_width
from slabwright.sheets.plan_view import View

_AZIMUTH, _ELEVATION = math.radians(32.0), math.radians(22.0)
_LONGEST = 1.15
"""Of the drawing, over its width and height: what is longer is drawn shorter."""
_PIECE = 40.0
_BALLOON = 3.1
_EDGE = 9.0
OnPage = Callable[[Floats], Floats]
_Face = tuple[Floats, list[int]]
_SIDE_INK = ("#FFFFFF", "#E4E8EB", "#CBD2D7")


@dataclass(frozen=True)
class _Box:
    """A straight piece with slanted ends: four corners at each end, shape (4, 3)."""

    name: str
    first: Floats
    last: Floats


def _axes() -> Floats:
    """Right, up and away from the eye, rows."""
    a, e = _AZIMUTH, _ELEVATION
    return np.array(
        [
            [math.cos(a), math.sin(a), 0.0],
            [-math.sin(a) * math.sin(e), math.cos(a) * math.sin(e), math.cos(e)],
            [-math.sin(a) * math.cos(e), math.cos(a) * math.cos(e), -math.sin(e)],
        ]
    )


class _Shortened:
    """A base whose length along the top is drawn shorter; its tubes keep their size."""

    def __init__(self, drawn: Drawn) -> None:
        places = np.array(list(drawn.nodes.values()))
        spans = places.max(axis=0) - places.min(axis=0)
        self.share = min(1.0, _LONGEST * float(max(spans[1], spans[2], 1.0)) / max(float(spans[0]), 1.0))
        self.drawn = drawn
        self.nodes = {name: np.array([x * self.share, y, z]) for name, (x, y, z) in drawn.nodes.items()}

    def way(self, member: Member, node: str) -> Floats:
        """Along a member, away from a node."""
        other = member.last if member.first == node else member.first
        found = self.nodes[other] - self.nodes[node]
        return np.asarray(found / np.linalg.norm(found))

    def cross(self, member: Member) -> tuple[Floats, Floats]:
        """Half of a section up and over."""
        along = self.way(member, member.first)
        up = np.array(member.up) - np.dot(member.up, along) * along
        up = up / np.linalg.norm(up)
        over = np.cross(along, up)
        return up * member.section.depth / 2, over * member.section.width / 2

    def reach(self, member: Member, way: Floats) -> float:
        """How far a member's steel stands out of its middle line in a direction."""
        up, over = self.cross(member)
        return float(abs(up @ way) + abs(over @ way))


def _boxes(base: _Shortened, met: Sequence[Meeting]) -> list[_Box]:
    """Every tube cut at its joints, and every plate."""
    drawn = base.drawn
    by_piece: dict[tuple[str, str], Member] = {}
    for member in drawn.members:
        if member.part == "frame":
            for node in (member.first, member.last):
                by_piece.setdefault((piece_name(drawn, member), node), member)
    found = []
    for member in drawn.members:
        if member.part != "frame":
            continue
        up, over = base.cross(member)
        ring = np.array([up + over, up - over, -up - over, -up + over])
        first, last = (
            base.nodes[node] + _end(base, member, node, ring, met, by_piece) for node in (member.first, member.last)
        )
        found.append(_Box(piece_name(drawn, member), first, last))
    for plate in drawn.plates:
        x, half = plate.x * base.share, plate.width / 2
        high = drawn.underside
        low = high - plate.thickness
        corners = [(x - half, high), (x + half, high), (x + half, low), (x - half, low)]
        near, far = (np.array([(a, y, b) for a, b in corners]) for y in (-plate.length / 2, plate.length / 2))
        found.append(_Box(plate.name, near, far))
    return found


def _end(
    base: _Shortened,
    member: Member,
    node: str,
    ring: Floats,
    met: Sequence[Meeting],
    by_piece: dict[tuple[str, str], Member],
) -> Floats:
    """The corners of a member's end from its node, cut as its joint there has it."""
    name, way = piece_name(base.drawn, member), base.way(member, node)
    shift = np.zeros(4)
    for meeting in met:
        if meeting.node != node or name not in (meeting.branch, meeting.chord):
            continue
        other = by_piece.get((meeting.chord if name == meeting.branch else meeting.branch, node))
        if meeting.kind == "plate on an end":
            shift = np.full(4, base.drawn.plates[0].thickness / 2)
        elif other is None or other is member:
            continue
        elif meeting.kind == "mitre":
            normal = way - base.way(other, node)
            shift = -(ring @ normal) / float(way @ normal)
        elif meeting.kind in ("corner, butted", "end on a side"):
            if name == meeting.branch:
                shift = np.full(4, max(float(shift[0]), base.reach(other, way)))
            elif meeting.kind == "corner, butted":
                shift = np.full(4, min(float(shift[0]), -base.reach(other, way)))
    return np.asarray(ring + shift[:, None] * way)


def _place(base: _Shortened, meeting: Meeting, boxes: dict[str, list[_Box]]) -> Floats:
    """Where a joint's number points."""
    node = base.nodes[meeting.node]
    if meeting.kind == "plate on a rail":
        plate = next(plate for plate in base.drawn.plates if plate.name == meeting.chord)
        return np.array(
            [plate.x * base.share + plate.width / 2, -0.25 * plate.length, base.drawn.underside - plate.thickness]
        )
    if meeting.kind in ("mitre", "end to end"):
        return node
    ends = [end.mean(axis=0) for box in boxes[meeting.branch] for end in (box.first, box.last)]
    return min(ends, key=lambda end: float(np.linalg.norm(end - node)))


def frame_drawing(
    drawn: Drawn, met: Sequence[Meeting], labels: Sequence[str], width: float, high: float, *, square: bool = False
) -> Picture:
    """The base seen aslant from its near side and right end, each joint with its label.

    Args:
        drawn: the base
        met: its joints
        labels: of each joint, in a ring; empty: none
        width: of the drawing [mm]
        high: its height [mm]
        square: whether labels stand in squares rather than in rings
    """
    base = _Shortened(drawn)
    boxes = _boxes(base, met)
    axes = _axes()
    everything = np.vstack([np.vstack([box.first, box.last]) for box in boxes]) @ axes.T
    low, up = everything[:, :2].min(axis=0), everything[:, :2].max(axis=0)
    spare = 2 * _EDGE
    scale = float(min((width - spare) / (up[0] - low[0]), (high - spare - 5.0) / (up[1] - low[1])))
    left = (width - scale * (up[0] - low[0])) / 2
    top = _EDGE + (high - spare - 5.0 - scale * (up[1] - low[1])) / 2

    def on_page(points: Floats) -> Floats:
        seen = np.atleast_2d(points) @ axes.T
        return np.column_stack([left + scale * (seen[:, 0] - low[0]), top + scale * (up[1] - seen[:, 1]), seen[:, 2]])

    picture = Picture(width, high)
    _draw_boxes(picture, boxes, on_page, axes, {plate.name for plate in drawn.plates})
    steel = shapely.union_all([MultiPoint(on_page(np.vstack([b.first, b.last]))[:, :2]).convex_hull for b in boxes])
    by_name: dict[str, list[_Box]] = {}
    for box in boxes:
        by_name.setdefault(box.name, []).append(box)
    points = [on_page(_place(base, meeting, by_name))[0, :2] for meeting in met]
    _balloons(picture, points, labels, steel, square)
    said = "From the near side and the right end"
    picture.text(0.0, high - 1.2, said + (", drawn shorter lengthwise" if base.share < 1.0 else ""), fill=SOFT)
    return picture


def _draw_boxes(picture: Picture, boxes: Sequence[_Box], on_page: OnPage, axes: Floats, last_names: set[str]) -> None:
    """Stretches of pieces, the farthest first, so that each is before what lies behind it; plates, which lie on all, last."""
    stretches: list[tuple[bool, float, list[_Face]]] = []
    for box in boxes:
        span = np.stack([box.first[1] - box.first[0], box.first[3] - box.first[0], box.last[0] - box.first[0]])
        order = [3, 2, 1, 0] if float(np.linalg.det(span)) < 0 else [0, 1, 2, 3]
        first, last = box.first[order], box.last[order]
        count = max(1, int(float(np.linalg.norm(last.mean(axis=0) - first.mean(axis=0))) / _PIECE))
        cuts = [first + (last - first) * k / count for k in range(count + 1)]
        for k, (here, there) in enumerate(pairwise(cuts)):
            ends = [0] * (k == 0) + [2] * (k == count - 1)
            sides = [
                (np.array([here[a], here[(a + 1) % 4], there[(a + 1) % 4], there[a]]), [1, 3, *ends]) for a in range(4)
            ]
            sides += [(first[::-1], [0, 1, 2, 3])] * (k == 0) + [(last, [0, 1, 2, 3])] * (k == count - 1)
            away = float(on_page(np.vstack([here, there]))[:, 2].mean())
            stretches.append((box.name in last_names, -away, sides))
    for _, _, sides in sorted(stretches, key=lambda each: each[:2]):
        seen = [(on_page(corners)[:, :2], ink, edges) for corners, edges in sides if (ink := _ink(corners, axes))]
        for ring, ink, _ in seen:
            picture.path(path_of(ring.tolist(), close=True), fill=ink, stroke=ink, weight=0.12)
        for ring, _, edges in seen:
            for edge in edges:
                picture.line(*ring[edge].tolist(), *ring[(edge + 1) % 4].tolist(), weight=MIDDLE)


def _ink(corners: Floats, axes: Floats) -> str:
    """Of a face by which way it looks; empty: away from the eye."""
    normal = np.cross(corners[1] - corners[0], corners[-1] - corners[0])
    size = float(np.linalg.norm(normal))
    if size < 1e-9 or float(normal @ axes[2]) >= -1e-9 * size:
        return ""
    if abs(float(normal[2])) > 0.7 * size:
        return _SIDE_INK[0]
    return _SIDE_INK[1] if abs(float(normal[1])) > 0.7 * size else _SIDE_INK[2]


def _balloons(
    picture: Picture, points: Sequence[Floats], labels: Sequence[str], steel: BaseGeometry, square: bool
) -> None:
    """Each label where it covers least, with a line to its joint."""
    middle = np.array([picture.width / 2, picture.height / 2])
    taken: list[Point] = []
    leaders: list[LineString] = []
    for point, label in zip(points, labels, strict=True):
        if not label:
            continue
        outward = math.atan2(point[1] - middle[1], point[0] - middle[0])
        best, least = None, math.inf
        for radius in (6.5, 9.0, 12.0, 16.0, 21.0, 27.0):
            for turn in range(24):
                angle = outward + turn * math.pi / 12
                at = Point(point[0] + radius * math.cos(angle), point[1] + radius * math.sin(angle))
                x, y = at.x, at.y
                if not (_BALLOON < x < picture.width - _BALLOON and _BALLOON < y < picture.height - 5.0 - _BALLOON):
                    continue
                cost = 0.35 * radius + 0.5 * abs(math.remainder(angle - outward, math.tau))
                if cost >= least:
                    continue
                line = LineString([tuple(point), (x, y)])
                cost += 30.0 * sum(at.distance(each) < 2 * _BALLOON + 0.9 for each in taken)
                cost += 12.0 * sum(line.crosses(each) or each.distance(at) < _BALLOON + 0.3 for each in leaders)
                cost += 12.0 * sum(line.distance(each) < _BALLOON for each in taken)
                cost += 7.0 * float(steel.distance(at) < _BALLOON + 0.2)
                if cost < least:
                    best, least = (at, line), cost
        if best is None:
            continue
        taken.append(best[0])
        leaders.append(best[1])
        x, y = best[0].x, best[0].y
        picture.line(float(point[0]), float(point[1]), x, y, weight=THIN)
        picture.circle(float(point[0]), float(point[1]), 0.7, fill=INK, weight=THIN)
        if square:
            picture.rectangle(x - 2.9, y - 2.9, 5.8, 5.8, weight=MIDDLE, fill=PAPER)
        else:
            picture.circle(x, y, _BALLOON, weight=MIDDLE, fill=PAPER)
        picture.text(x, y + 0.35 * TEXT, label, anchor="middle", weight=600)


def measured_frame(plan: BasePlan, width: float, high: float) -> Picture:
    """One leg frame from its end, with its diagonals D1 and D2 and its opposite sides A, B, N and F."""
    drawn = plan.drawn
    plate = drawn.plates[0]
    end = plate.name.split()[0]
    one = replace(
        drawn,
        members=tuple(m for m in drawn.members if m.name.startswith(end)),
        plates=(plate,),
        feet=tuple(foot for foot in drawn.feet if foot[0].startswith(end)),
    )
    seen = seen_from(replace(plan, drawn=one), "right")
    shape = shapely.union_all([seen.steel, seen.plates, seen.feet])
    head, side, foot = 13.0, 24.0, 15.0
    x0, y0, x1, y1 = shape.bounds
    scale = min((width - 2 * side) / (x1 - x0), (high - head - foot) / (y1 - y0))
    left = (width - scale * (x1 - x0)) / 2
    view = View(left, head, scale, x0, y0, y1, False)
    picture = Picture(width, head + foot + scale * (y1 - y0))
    picture.path(view.data(seen.steel), weight=MIDDLE, fill="#E4E8EB", rule="evenodd")
    for block in (seen.plates, seen.feet):
        if not block.is_empty:
            picture.path(view.data(block), weight=MIDDLE, fill=SOFT, rule="evenodd")
    upright = next(m.section for m in drawn.members if m.name == f"{end} near upright")
    low, top = (drawn.nodes[f"{end} far upright, {where}"] for where in ("bottom", "top"))
    below, above = low[1] + upright.depth / 2, top[1] + upright.depth / 2
    floor, roof = drawn.foot_length, drawn.underside - plate.thickness
    corners = {
        "near low": view.point(-below, floor),
        "far low": view.point(below, floor),
        "near top": view.point(-above, roof),
        "far top": view.point(above, roof),
    }
    for name, (start, stop) in {"D1": ("near low", "far top"), "D2": ("far low", "near top")}.items():
        (ax, ay), (bx, by) = corners[start], corners[stop]
        picture.line(ax, ay, bx, by, stroke=CHOSEN, weight=THICK, dash="2.4 1.2")
        _tag(picture, ax + 0.27 * (bx - ax), ay + 0.27 * (by - ay), name)
    for x, y in corners.values():
        picture.circle(x, y, 1.0, fill=PAPER, weight=THICK)
    (lx, ly), (rx, _) = corners["near low"], corners["far low"]
    (tx, ty), (ux, _) = corners["near top"], corners["far top"]
    bottom = max(view.point(0.0, y0)[1], ly)
    _measure(picture, (lx, bottom + 6.0), (rx, bottom + 6.0), "A")
    _measure(picture, (tx, view.point(0.0, y1)[1] - 6.0), (ux, view.point(0.0, y1)[1] - 6.0), "B")
    out = min(view.point(x0, 0.0)[0], lx, tx) - 8.0
    _measure(picture, (out + lx - min(lx, tx), ly), (out + tx - min(lx, tx), ty), "N")
    out = max(view.point(x1, 0.0)[0], rx, ux) + 8.0
    _measure(picture, (out + rx - max(rx, ux), ly), (out + ux - max(rx, ux), ty), "F")
    picture.text(min(out - 8.0, width - 24.0), picture.height - 1.5, "far")
    picture.text(max(lx, 8.0), picture.height - 1.5, "near", anchor="end")
    return picture


def _measure(picture: Picture, start: tuple[float, float], stop: tuple[float, float], name: str) -> None:
    picture.line(*start, *stop, weight=MIDDLE, stroke=CHOSEN)
    for x, y in (start, stop):
        picture.line(x - 0.9, y + 0.9, x + 0.9, y - 0.9, stroke=CHOSEN)
    _tag(picture, (start[0] + stop[0]) / 2, (start[1] + stop[1]) / 2, name)


def _tag(picture: Picture, x: float, y: float, name: str) -> None:
    wide = text_width(name) + 2.4
    picture.rectangle(x - wide / 2, y - 2.7, wide, 5.4, weight=MIDDLE, fill=PAPER, stroke=CHOSEN)
    picture.text(x, y + 0.35 * TEXT, name, anchor="middle", weight=700, fill=CHOSEN)
