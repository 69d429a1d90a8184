"""A passage of the way in, in plan or in section, with the piece drawn along its way."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import Polygon, box
from shapely.geometry.base import BaseGeometry

from slabwright.carry.route_results import Way
from slabwright.geometry.bands import FAR, Band, Shape
from slabwright.geometry.faces import Floats
from slabwright.sheets.colours import CHOSEN, WOOD
from slabwright.sheets.picture import MIDDLE, TEXT, THICK, THIN, Picture, text_width
from slabwright.sheets.plan_view import View
from slabwright.sheets.words import Words

_HEAD = 15.5
_WALL = 160.0
"""Of a wall that is drawn [mm]."""
_POSES = 5
_MOST_OUT = 900.0
"""Of a wall beyond what the piece reaches, left out of the drawing [mm]."""
_OPEN = FAR / 2.0
_ALONG = (0.5, 0.25, 0.75, 0.12, 0.88)
"""Where on its line a figure may stand."""
_SHARES = (0.8, 0.92, 0.65, 0.5, 0.35, 0.2, 0.08)
"""Where along a band its width may be measured."""
Place = tuple[float, float]


def route_drawing(found: Way, head: str, said: str, width: float, high: float, words: Words) -> Picture:
    """One way through one passage, to scale.

    Args:
        found: the way
        head: its heading
        said: the line below it
        width: of the drawing [mm]
        high: of the drawing [mm]
        words: how figures are written
    """
    drawing = Picture(width, high)
    drawing.text(0.0, 4.0, head, weight=600)
    drawing.text(0.0, 8.6, said)
    drawing.text(0.0, 13.2, f"{'Section' if found.view == 'section' else 'Plan'}, {_margin(found, words)}", weight=600)
    shown = chosen_poses(found)
    frame = _frame(found, shown)
    turned = found.view == "section"
    free = shapely.union_all([_free(band, frame) for band in found.region.bands])
    walls = box(*frame).difference(free)
    x0, y0, x1, y1 = (frame[1], frame[0], frame[3], frame[2]) if turned else frame
    view = View.fit((x0, y0, x1, y1), (0.5, _HEAD, width - 1.0, high - _HEAD - 0.5))

    def placed(shape: BaseGeometry) -> BaseGeometry:
        return shapely.transform(shape, lambda p: p[:, ::-1]) if turned else shape

    around = view.data(box(x0, y0, x1, y1))
    drawing.clip(around)
    drawing.hatch(view.data(placed(walls)), view.page_box(placed(walls)) if not walls.is_empty else (0, 0, 0, 0))
    drawing.path(view.data(placed(walls)), weight=THICK, rule="evenodd")
    middles = [view.point(*((pose.y, pose.x) if turned else (pose.x, pose.y))) for pose in found.poses]
    for number, pose in enumerate(shown):
        last, first = number == len(shown) - 1, number == 0
        outline = placed(_outline(found.shape, pose))
        drawing.path(
            view.data(outline), weight=THICK if last else MIDDLE, fill=WOOD if last else "none",
            dash="1.6 1" if first and not last else "",
        )  # fmt: skip
    if len(middles) > 1:
        drawing.polyline(middles, stroke=CHOSEN, weight=MIDDLE, dash="2 0.8")
        drawing.circle(*middles[0], 0.7, stroke=CHOSEN, fill=CHOSEN)
        _arrow(drawing, middles)
    drawing.unclip()
    outlines = shapely.union_all([placed(_outline(found.shape, pose)) for pose in shown])
    figures = _Figures(drawing, shapely.transform(outlines, lambda p: np.array([view.point(x, y) for x, y in p])))
    for band in found.region.bands:
        if band.clear:
            _dimension(figures, view, band, frame, turned, words)
        if band.sized:
            _length(figures, view, band, frame, turned, words)
    return drawing


def _margin(found: Way, words: Words) -> str:
    if found.margin < 0.0:
        return f"{words.place(math.ceil(-found.margin))} lacking on each side"
    return f"{words.place(math.floor(found.margin))} {'or more ' if found.or_more else ''}left on each side"


def chosen_poses(found: Way) -> Floats:
    """A few of its poses, evenly along the way, as x, y, turn [mm, mm, rad]."""
    rows = np.array([(pose.x, pose.y, math.radians(pose.turn)) for pose in found.poses]).reshape(-1, 3)
    if len(rows) < 2:
        return rows
    steps = np.abs(np.diff(rows[:, :2], axis=0)).sum(axis=1) + found.shape.reach * np.abs(np.diff(rows[:, 2]))
    gone = np.concatenate([[0.0], np.cumsum(steps)])
    chosen = np.interp(np.linspace(0.0, gone[-1], _POSES), gone, np.arange(len(rows))).round().astype(int)
    picked: Floats = rows[np.unique(chosen)]
    return picked


def _outline(shape: Shape, pose: Floats) -> BaseGeometry:
    return shapely.union_all(
        [Polygon(corners) for corners in shape.corners(float(pose[0]), float(pose[1]), float(pose[2]))]
    )


def _frame(found: Way, shown: Floats) -> tuple[float, float, float, float]:
    """What is shown: x0, y0, x1, y1 in the passage's own frame [mm]."""
    bands = found.region.bands
    edges = [edge for band in bands for edge in (band.begin, band.end) if abs(edge) < _OPEN]
    walls = [wall for band in bands for wall in (*band.low, *band.high) if abs(wall) < _OPEN]
    corners = (
        np.concatenate([found.shape.corners(*map(float, pose)).reshape(-1, 2) for pose in shown])
        if len(shown)
        else None
    )
    x, y = list(walls), list(edges)
    if corners is not None:
        x += [float(corners[:, 0].min()), float(corners[:, 0].max())]
        y += [float(corners[:, 1].min()), float(corners[:, 1].max())]
        # A flight or a corridor is drawn as far as the piece is.
        near, far = y[-2] - _WALL, y[-1] + _WALL
        y = [value for value in y if near - _WALL <= value <= far + _WALL]
        x = [value for value in x if x[-2] - _MOST_OUT <= value <= x[-1] + _MOST_OUT]
    y += [edge for band in bands if band.sized for edge in (band.begin, band.end)]
    # A sloping wall is shown beside the piece.
    for band in bands:
        if band.low[0] != band.low[1]:
            for place in (max(min(y), band.begin), min(max(y), band.end)):
                share = (place - band.begin) / (band.end - band.begin)
                if 0.0 <= share <= 1.0:
                    x += [wall[0] + share * (wall[1] - wall[0]) for wall in (band.low, band.high)]
    return min(x) - _WALL, min(y) - _WALL, max(x) + _WALL, max(y) + _WALL


def _free(band: Band, frame: tuple[float, float, float, float]) -> BaseGeometry:
    """The free part of a band within the frame."""
    begin, end = max(band.begin, frame[1]), min(band.end, frame[3])
    if begin >= end:
        return Polygon()

    def at(wall: tuple[float, float], place: float) -> float:
        if abs(wall[0]) > _OPEN:
            return min(max(wall[0], frame[0]), frame[2])
        return wall[0] + (wall[1] - wall[0]) * (place - band.begin) / max(band.end - band.begin, 1e-9)

    corners = [
        (at(band.low, begin), begin),
        (at(band.high, begin), begin),
        (at(band.high, end), end),
        (at(band.low, end), end),
    ]
    return Polygon(corners).intersection(box(*frame))


def _arrow(drawing: Picture, middles: list[tuple[float, float]]) -> None:
    (x1, y1) = middles[-1]
    x0, y0 = next((p for p in reversed(middles[:-1]) if math.dist(p, middles[-1]) > 1.0), middles[0])
    far = math.hypot(x1 - x0, y1 - y0)
    if far < 0.5:
        return
    ux, uy = (x1 - x0) / far, (y1 - y0) / far
    drawing.polygon(
        [
            (x1, y1),
            (x1 - 2.4 * ux + 0.9 * uy, y1 - 2.4 * uy - 0.9 * ux),
            (x1 - 2.4 * ux - 0.9 * uy, y1 - 2.4 * uy + 0.9 * ux),
        ],
        fill=CHOSEN,
        stroke=CHOSEN,
    )


class _Figures:
    """Writes sizes where they cover neither the piece nor one another, as far as there is room."""

    def __init__(self, drawing: Picture, piece: BaseGeometry) -> None:
        self.drawing = drawing
        self._taken = [piece]
        self._said: set[tuple[str, bool]] = set()

    def write(self, said: str, lines: Sequence[tuple[Place, Place]]) -> None:
        """A size with its line and its ticks, on the first of some lines that leaves it most room.

        Args:
            said: the figure
            lines: where it may be measured, on the page, each level or upright
        """
        (x0, y0), (x1, y1) = lines[0]
        key = (said, abs(x1 - x0) >= abs(y1 - y0))
        if key in self._said:  # the same height on both sides of a door is told once
            return
        self._said.add(key)
        wide, high = text_width(said) + 1.0, 1.2 * TEXT
        spots = []
        for order, ((x0, y0), (x1, y1)) in enumerate(lines):
            level = abs(x1 - x0) >= abs(y1 - y0)
            for share in _ALONG:
                x, y = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
                for side in (-1.0, 1.0):
                    at = (x, y + side * (high / 2 + 0.4)) if level else (x + side * (wide / 2 + 0.6), y)
                    plate = box(at[0] - wide / 2, at[1] - high / 2, at[0] + wide / 2, at[1] + high / 2)
                    out = plate.difference(box(0.5, _HEAD, self.drawing.width - 0.5, self.drawing.height - 0.5)).area
                    covered = sum(plate.intersection(each).area for each in self._taken)
                    spots.append((covered + 10.0 * out + 0.02 * order + 0.01 * abs(share - 0.5), order, at, plate))
        _, order, at, plate = min(spots, key=lambda spot: spot[0])
        (x0, y0), (x1, y1) = lines[order]
        self.drawing.line(x0, y0, x1, y1, weight=THIN)
        for x, y in ((x0, y0), (x1, y1)):
            self.drawing.line(x - 0.9, y + 0.9, x + 0.9, y - 0.9)
        self.drawing.text(at[0], at[1] + 0.35 * TEXT, said, anchor="middle", halo=True)
        self._taken.append(plate)


def _dimension(
    figures: _Figures,
    view: View,
    band: Band,
    frame: tuple[float, float, float, float],
    turned: bool,
    words: Words,
) -> None:
    """The clear size across a band, at the place where its figure is clear of the piece and of the others."""
    if min(band.high) > _OPEN or max(band.low) < -_OPEN:
        return
    begin, end = max(band.begin, frame[1]), min(band.end, frame[3])
    if begin >= end:
        return
    lines = []
    slopes = abs(band.low[1] - band.low[0]) > 1.0
    for share in (0.4,) if slopes else (0.5,) if band.end - band.begin < 1.5 * _WALL else _SHARES:
        place = begin + share * (end - begin)
        along = (place - band.begin) / max(band.end - band.begin, 1e-9)
        low = band.low[0] + along * (band.low[1] - band.low[0])
        high = band.high[0] + along * (band.high[1] - band.high[0])
        ends = ((place, low), (place, high)) if turned else ((low, place), (high, place))
        lines.append((view.point(*ends[0]), view.point(*ends[1])))
        said = words.place(high - low)
    figures.write(said, lines)


def _length(
    figures: _Figures,
    view: View,
    band: Band,
    frame: tuple[float, float, float, float],
    turned: bool,
    words: Words,
) -> None:
    """The clear size along a band."""
    low, high = max(band.low[0], frame[0]), min(band.high[0], frame[2])
    lines = []
    for share in (0.93, 0.07, 0.8, 0.2):
        at = low + share * (high - low)
        ends = ((band.begin, at), (band.end, at)) if turned else ((at, band.begin), (at, band.end))
        lines.append((view.point(*ends[0]), view.point(*ends[1])))
    figures.write(words.place(band.end - band.begin), lines)
