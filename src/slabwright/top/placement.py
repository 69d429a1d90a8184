"""Placing the piece: where in the slab the finished length and width lie, with the proof that nowhere else is better."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import Polygon

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import FaceName, Scatter
from slabwright.geometry.strip import Strip
from slabwright.slab.hidden import Hidden
from slabwright.slab.survey import Survey
from slabwright.top.fitting import longest, starts, widest
from slabwright.top.ground import Ground, ground
from slabwright.top.placement_results import FaceUp, NoRoom, Placement, RunnerUp
from slabwright.top.placement_search import Found, Search, Spoilt, Tried
from slabwright.top.rough_cuts import CentreLine, centre_line, rough_cuts, wood_along
from slabwright.top.shapes import Box, Piece
from slabwright.top.sure_heights import SureHeights, spread_out, strip_of

SQUARE_DECIMETRE = 1e4
_APART_SHARE = 0.05
_APART_TURN = math.radians(1.0)
_RUNNERS_UP = 3
_POLISHED = 4
_HALVED = 4
_MOST_ROUNDS = 4
_AT_FIRST = 2.0
"""Spreads that the heights are lowered by before the promise is drawn anywhere."""
_SEEKING = 1.5
"""So long a placement is sought where none was found to begin with [s]."""
_OTHER_SHARE = 0.1
"""Part of the time that the other face gets at the least."""
_AGREES = 0.01
"""How near the lowered heights must come to what is drawn [mm]."""


@dataclass(frozen=True)
class Sapwood:
    """Sapwood on a face.

    Attributes:
        face: on which it is seen
        place: where, in the frame of the readings [mm]
        cost: of a square decimetre in the piece [mm of thickness]
    """

    face: FaceName
    place: Polygon
    cost: float


def place(
    survey: Survey,
    piece_length: float,
    piece_width: float | None,
    *,
    hidden: Hidden | None = None,
    taken: float = 0.0,
    show_face: FaceName | None = "A",
    edge_margin: float = 0.0,
    end_trim: float = 0.0,
    cut_from: float | None = None,
    cut_to: float | None = None,
    turn_most: float = 1.5,
    defect_cost: float = 0.0,
    sapwood: Sequence[Sapwood] = (),
    time_limit: float = 5.0,
    gap: float = 0.05,
) -> Placement | NoRoom:
    """Where in the slab the finished piece lies best.

    Of all shifts and turns that keep the piece on the ground (the outlines of both faces less margin and trim), the one of the
    greatest value: promised thickness less what the defects and the sapwood inside it count as on the face that is shown.

        value = strip(places inside the piece) - taken - sum over spoilt places of cost * area inside the piece

    The places are the readings, and with `hidden` the drawn ones too, each lowered by the same number of its own standard
    deviations (`SureHeights`); the number is such that the best placement comes out as its promise, the least that 19 of 20
    drawn boards keep at its tilt. Branch and bound over boxes of two shifts and a turn: a box's bound is the strip of the
    places that all of its placements share.

    Args:
        survey: readings and outlines
        piece_length: finished, along the grain [mm]
        piece_width: finished, across; None where both long edges stay live, then shift along and turn of the cuts are free [mm]
        hidden: draws of what lies between the readings, on all of the ground (`on_ground`); without them the value is the
            thickness of the readings
        taken: what else the promise takes, the same wherever the piece lies: marks, sanding, shims [mm]
        show_face: the face that is seen; None: the better one
        edge_margin: kept from live long edges; 0 where they are sawn off [mm]
        end_trim: kept from the slab's ends [mm]
        cut_from: the slab is used from this x [mm]
        cut_to: and up to this x [mm]
        turn_most: greatest turn against the x axis, either way: grain run-out [deg]
        defect_cost: what a square decimetre of defect in the piece counts as [mm of thickness]
        sapwood: where it is and what it counts as
        time_limit: the search ends then, and says so [s]
        gap: the search ends where no other placement can be worth more than this [mm]

    Returns:
        The placement, or what goes in where the piece does not.

    Raises:
        ValueError: a length, a width or a limit that is not above nought.
        SlabwrightError: no reading on the ground, or too few in the piece.
    """
    if piece_length <= 0.0 or (piece_width is not None and piece_width <= 0.0) or time_limit <= 0.0 or gap <= 0.0:
        raise ValueError("length, width, time limit and gap must be above nought")
    if not 0.0 <= turn_most <= 10.0 or defect_cost < 0.0:
        raise ValueError("the greatest turn lies from 0 to 10 degrees, and a defect costs nothing or something")
    begun = time.perf_counter()
    until = begun + time_limit
    floor = ground(survey, edge_margin=edge_margin, end_trim=end_trim, cut_from=cut_from, cut_to=cut_to)
    piece = Piece.on(floor, piece_length, piece_width)
    line = centre_line(survey.outline_a, survey.outline_b)
    turn = math.radians(turn_most)
    limits = piece.limits(turn, line.y)
    if limits is None:
        return _no_room(piece, turn)
    first = starts(piece, limits)
    order: tuple[FaceName, FaceName] = ("B", "A") if show_face == "B" else ("A", "B")
    spoilt = {face: _spoilt(face, survey, floor, defect_cost, sapwood) for face in order}
    heights = _Heights(floor, piece, None if hidden is None else SureHeights(hidden))
    search, found = _searched(heights, limits, first, spoilt[order[0]], gap, until)
    if found.best is None:
        return _no_room(piece, turn)
    if not math.isfinite(found.bound):
        raise SlabwrightError("slab.survey: the piece may lie where a face was not read at all; read closer together")
    by_face: dict[FaceName, Found] = {order[0]: found, order[1]: found}
    if any(spoilt.values()):
        search.price(spoilt[order[1]])
        by_face[order[1]] = search.run(gap, max(until, time.perf_counter() + _OTHER_SHARE * time_limit))
    better: FaceName = max(order, key=lambda face: _value(by_face[face].best))
    up = show_face or better
    search.price(spoilt[up])
    return _result(survey, heights, line, search, by_face, up, taken)


def _value(tried: Tried | None) -> float:
    return -math.inf if tried is None else tried.value


def _no_room(piece: Piece, turn: float) -> NoRoom:
    wide = None if piece.width is None else widest(piece, turn)
    return NoRoom(piece.length, piece.width, longest(piece, turn), wide)


def _spoilt(
    face: FaceName, survey: Survey, floor: Ground, defect_cost: float, sapwood: Sequence[Sapwood]
) -> tuple[Spoilt, ...]:
    """What counts against a piece with a face shown: the defects and the sapwood that are seen on it."""
    defects, region = (survey.defects_a, floor.region_a) if face == "A" else (survey.defects_b, floor.region_b)
    places = [(defect.place, defect_cost) for defect in defects]
    places += [(wood.place, wood.cost) for wood in sapwood if wood.face == face]
    found = [Spoilt(area.intersection(region), cost / SQUARE_DECIMETRE) for area, cost in places if cost > 0.0]
    return tuple(one for one in found if one.area.area > 0.0)


class _Heights:
    """The heights that a placement is valued by: the readings, or both faces lowered by so many spreads."""

    def __init__(self, floor: Ground, piece: Piece, sure: SureHeights | None) -> None:
        self.floor = floor
        self.piece = piece
        self.sure = None if sure is None or sure.nothing_hidden else sure
        self.faces = (floor.readings_a, floor.readings_b) if self.sure is None else self.sure.faces(_AT_FIRST)
        for face, name in ((floor.readings_a, "A"), (floor.readings_b, "B")):
            if len(face) == 0:
                raise SlabwrightError(
                    f"slab.survey: no reading of face {name} lies inside the outlines less margin and trim; read further in"
                )

    def strip(self, at: Box, faces: tuple[Scatter, Scatter]) -> Strip | None:
        """The widest strip of heights at a placement, all of them; None where they are too few or lie in a line."""
        upper, lower = faces
        inside = self.piece.sort(at, upper.x, upper.y)[0], self.piece.sort(at, lower.x, lower.y)[0]
        if not (inside[0].any() and inside[1].any()) or not spread_out(upper, lower, *inside):
            return None
        return strip_of(upper, lower, *inside)

    def read(self, at: Box) -> Strip:
        """The widest strip of the readings at a placement; where they are too few, that of the drawn heights."""
        found = self.strip(at, (self.floor.readings_a, self.floor.readings_b)) or self.strip(at, self.faces)
        if found is None:
            raise SlabwrightError(
                "slab.survey: where the piece may lie the readings inside it are too few, or in a line; read closer together"
            )
        return found

    def drawn(self, at: Box) -> float:
        """What 19 of 20 drawn boards keep of a placement at the tilt of its readings; without draws its strip [mm]."""
        strip = self.read(at)
        if self.sure is None:
            return strip.thickness
        return self.sure.drawn(lambda x, y: self.piece.sort(at, x, y)[0], strip.planes)

    def lower(self, at: Box) -> None:
        """Lower both faces so that a placement comes out as what is drawn there."""
        if self.sure is not None:
            spreads = self.sure.spreads(lambda x, y: self.piece.sort(at, x, y)[0], self.drawn(at))
            self.faces = self.sure.faces(spreads)


def _searched(
    heights: _Heights, limits: Box, first: list[Box], spoilt: tuple[Spoilt, ...], gap: float, until: float
) -> tuple[Search, Found]:
    """The best placement by heights that agree, at it, with what is drawn there."""
    if heights.sure is not None and first:
        rough = Search(*heights.faces, heights.piece, limits)
        tried = [one for one in map(rough.value, first) if one is not None]
        heights.lower(max(tried, key=_value).at)
    starting = first
    for _ in range(_MOST_ROUNDS):
        search = Search(*heights.faces, heights.piece, limits)
        search.price(spoilt)
        _begin(search, starting, until)
        found = search.run(gap, until if first else min(until, time.perf_counter() + _SEEKING))
        if heights.sure is None or found.best is None or found.ended:
            break
        if abs(heights.drawn(found.best.at) - found.best.thickness) <= _AGREES:
            break
        heights.lower(found.best.at)
        starting = [found.best.at, *first]
    return search, found


def _begin(search: Search, first: list[Box], until: float) -> None:
    """Try the first placements, and make a few of the best, apart from each other, better by small steps."""
    for box in first:
        search.value(box)
        if time.perf_counter() >= until:
            return
    for one in apart(search.tried, search.piece.length, _POLISHED):
        _polish(search, one, until)


def _polish(search: Search, best: Tried, until: float) -> None:
    shift, turn = 0.01 * search.piece.length, search.limits.dturn / 6
    for _ in range(_HALVED):
        moved = True
        while moved and time.perf_counter() < until:
            moved = False
            for dx, dy, dturn in (
                (shift, 0, 0),
                (-shift, 0, 0),
                (0, shift, 0),
                (0, -shift, 0),
                (0, 0, turn),
                (0, 0, -turn),
            ):
                if (dy and search.piece.width is None) or abs(best.at.turn + dturn) > search.limits.dturn:
                    continue
                tried = search.value(Box(best.at.x + dx, best.at.y + dy, best.at.turn + dturn))
                if tried is not None and tried.value > best.value + 1e-6:
                    best, moved = tried, True
        shift, turn = shift / 3, turn / 3


def apart(tried: Sequence[Tried], length: float, count: int, taken: Sequence[Box] = ()) -> list[Tried]:
    """The best few placements that lie apart from each other: by a twentieth of the length, or by a degree.

    Args:
        tried: placements
        length: of the piece [mm]
        count: how many
        taken: placements that they lie apart from, too
    """
    kept = list(taken)
    chosen: list[Tried] = []
    for one in sorted(tried, key=lambda one: -one.value):
        if len(chosen) == count:
            break
        if all(
            math.hypot(one.at.x - box.x, one.at.y - box.y) > _APART_SHARE * length
            or abs(one.at.turn - box.turn) > _APART_TURN
            for box in kept
        ):
            chosen.append(one)
            kept.append(one.at)
    return chosen


def _result(
    survey: Survey,
    heights: _Heights,
    line: CentreLine,
    search: Search,
    by_face: dict[FaceName, Found],
    up: FaceName,
    taken: float,
) -> Placement:
    piece, floor = heights.piece, heights.floor
    found = by_face[up]
    best = found.best
    if best is None:
        raise ValueError("nothing was placed")
    at, strip = best.at, heights.read(best.at)
    all_of_them = heights.strip(at, heights.faces) or strip
    # All heights inside, solved anew: what the search left out as hidden behind others must not matter.
    thickness = min(best.thickness, max(all_of_them.thickness, 0.0))
    bound = max(found.bound + best.cost, thickness)
    x, y = _on_line(at, line, piece)
    degrees = math.degrees(at.turn)
    faces: tuple[FaceName, FaceName] = ("A", "B")
    return Placement(
        x=x,
        y=y,
        turn=degrees,
        face_up=up,
        length=piece.length,
        width=piece.width,
        thickness=thickness - taken,
        bound=bound - taken,
        gap=bound - thickness,
        proven=not found.ended,
        thickness_read=strip.thickness,
        thickness_drawn=heights.drawn(at) - taken,
        cost=best.cost,
        corners=_corners(piece, x, y, at.turn, survey.outline_a if up == "A" else survey.outline_b),
        runners_up=tuple(
            RunnerUp(*_on_line(one.at, line, piece), math.degrees(one.at.turn), one.thickness - taken, one.cost)
            for one in apart(search.tried, piece.length, _RUNNERS_UP, (at,))
        ),
        faces=tuple(
            FaceUp(
                face,
                *_on_line(one.best.at, line, piece),
                math.degrees(one.best.at.turn),
                one.best.thickness - taken,
                one.best.cost,
                max(one.bound + one.best.cost, one.best.thickness) - taken,
                not one.ended,
            )
            for face, one in ((face, by_face[face]) for face in faces)
            if one.best is not None
        ),
        centre_line=line,
        off_centre_line=degrees - line.angle,
        rough_cuts=rough_cuts(
            line,
            survey.outline_a,
            survey.outline_b,
            x=x,
            y=y,
            turn=degrees,
            length=piece.length,
            width=piece.width,
        ),
        looked_at=found.boxes,
        planes=strip.planes,
        area_a=piece.area(at, floor.region_a),
        area_b=piece.area(at, floor.region_b),
    )


def _on_line(at: Box, line: CentreLine, piece: Piece) -> tuple[float, float]:
    """The centre of a placement; of a live-edged piece, moved along its cuts onto the centre line."""
    if piece.width is not None:
        return at.x, at.y
    slope = math.tan(math.radians(line.angle))
    sine, cosine = math.sin(at.turn), math.cos(at.turn)
    move = (line.at(at.x) - at.y) / (cosine + slope * sine)
    return at.x - move * sine, at.y + move * cosine


def _corners(piece: Piece, x: float, y: float, turn: float, outline: Polygon) -> tuple[tuple[float, float], ...]:
    sine, cosine = math.sin(turn), math.cos(turn)
    found = []
    for way in (-1.0, 1.0):
        end = np.array([x + way * cosine * piece.length / 2, y + way * sine * piece.length / 2])
        across = np.array([-sine, cosine])
        if piece.width is None:
            low, high = wood_along(outline, end, across)
        else:
            low, high = -piece.width / 2, piece.width / 2
        found.append((end + low * across, end + high * across))
    (near_left, far_left), (near_right, far_right) = found
    return tuple((float(p[0]), float(p[1])) for p in (near_left, near_right, far_right, far_left))
