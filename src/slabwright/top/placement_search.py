"""The best placement with proof: branch and bound over boxes of placements."""

from __future__ import annotations

import heapq
import itertools
import math
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats, Scatter
from slabwright.geometry.hull_distance import HullDistance, hull_distance
from slabwright.geometry.seeker import COMPASS
from slabwright.top.placement_choice import Cutting, aimed, certain, deciding
from slabwright.top.shapes import Box, Piece

Places = NDArray[np.intp]
_EXACT = 1e-6
_MOST_SCANS = 200
_FEW = 400
_TELLING = 0.4
"""A point that cuts less off the strip than so much of the gap is not worth a choice."""
_TO_BE_FINITE = 1000
"""So many boxes are looked into whatever the clock shows, so that there is a bound at all."""
_WORST = 24
"""So many points of a face are looked at for a choice."""


@dataclass(frozen=True)
class Spoilt:
    """A place that counts against a piece that has it.

    Attributes:
        area: where, one geometry or several [mm]
        cost: what a square millimetre of it counts as [mm of thickness]
    """

    area: shapely.geometry.base.BaseGeometry
    cost: float


@dataclass(frozen=True)
class Tried:
    """A placement that was worked out.

    Attributes:
        at: where
        thickness: of the readings inside [mm]
        cost: of what is spoilt inside [mm]
    """

    at: Box
    thickness: float
    cost: float

    @property
    def value(self) -> float:
        """Thickness less cost [mm]."""
        return self.thickness - self.cost


@dataclass(frozen=True)
class Found:
    """What the search came to.

    Attributes:
        best: the placement of the greatest value, or None where none lies on the ground
        bound: no placement has a greater value [mm]
        boxes: how many boxes were bounded
        ended: whether the time ended first
    """

    best: Tried | None
    bound: float
    boxes: int
    ended: bool


@dataclass
class _Working:
    """A few points of both faces and the distance of their hulls."""

    first: Floats
    second: Floats
    near: HullDistance | None = None


_Place = tuple[int, int]
"""A point: which face, and its number."""


@dataclass(order=True)
class _Open:
    """A box that is still to be looked into; the greatest bound comes first."""

    rank: tuple[float, int]
    box: Box = field(compare=False)
    inner: tuple[Places, Places] = field(compare=False)
    """Points that all placements have, as far as they can matter."""
    border: tuple[Places, Places] = field(compare=False)
    """Points that some have."""
    working: _Working | None = field(compare=False)
    has: tuple[_Place, ...] = field(compare=False, default=())
    """Points that the placements of the box have: others are dealt with apart."""
    lacks: tuple[_Place, ...] = field(compare=False, default=())
    """Points that they lack."""

    @property
    def bound(self) -> float:
        return -self.rank[0]


class Search:
    """Placements of one piece on two faces.

    The value of a placement is the width of the widest strip between the points that it has, less what is spoilt in it. A box
    of placements is bounded by the strip of the points that all of them have (fewer can only be wider) and by what is spoilt
    in all of them. Of the points that all have, only those on the lower hull of face A and the upper hull of face B matter.
    """

    def __init__(self, upper: Scatter, lower: Scatter, piece: Piece, limits: Box) -> None:
        self.piece = piece
        self.limits = limits
        both = np.array([(face.x.mean(), face.y.mean(), face.z.mean()) for face in (upper, lower)])
        self._origin = both.mean(axis=0)
        self._points = tuple(np.column_stack([f.x, f.y, f.z]) - self._origin for f in (upper, lower))
        self._order = itertools.count()
        self.tried: list[Tried] = []
        self._spoilt: tuple[Spoilt, ...] = ()
        self._telling = 0.0
        everything = tuple(np.arange(len(points)) for points in self._points)
        none = tuple(np.empty(0, np.intp) for _ in self._points)
        self._root = self._opened(limits, none, everything, None)

    # The strip of a few points ------------------------------------------------------------------------------------------

    def _strip(
        self, inner: tuple[Places, Places], working: _Working | None, enough: float = -math.inf
    ) -> tuple[float, float, _Working | None]:
        """The widest strip of points: an upper bound, a strip that is had, and the points that carry it.

        Args:
            inner: of both faces
            working: to start from
            enough: a bound below this is not made sharper
        """
        if inner[0].size == 0 or inner[1].size == 0:
            return math.inf, 0.0, None
        above, below = self._points[0][inner[0]], self._points[1][inner[1]]
        if working is None:
            working = _Working(_start(above, 1.0), _start(below, -1.0))
        first, second = working.first, working.second
        near = hull_distance(first, second, working.near)
        best = -math.inf
        for scan in range(_MOST_SCANS):
            if scan:
                near = hull_distance(first, second, near)
            if near.distance <= _EXACT or near.apart[2] <= 0.0:
                return 0.0, 0.0, _Working(first, second, near)
            if near.distance <= enough:
                break
            a, b = float(-near.apart[0] / near.apart[2]), float(-near.apart[1] / near.apart[2])
            slopes = np.array([-a, -b, 1.0])
            high, low = above @ slopes, below @ slopes
            c, d = int(np.argmin(high)), int(np.argmax(low))
            best = max(best, float(high[c] - low[d]) / math.sqrt(1.0 + a * a + b * b))
            if near.distance - best <= _EXACT:
                break
            grown = False
            if high[c] < (first @ slopes).min() - 1e-9:
                first, grown = np.vstack([first, above[c]]), True
            if low[d] > (second @ slopes).max() + 1e-9:
                second, grown = np.vstack([second, below[d]]), True
            if not grown:
                break
        return near.distance, max(best, 0.0), _Working(first, second, near)

    # Boxes --------------------------------------------------------------------------------------------------------------

    def _opened(
        self,
        box: Box,
        inner: tuple[Places, ...],
        border: tuple[Places, ...],
        working: _Working | None,
        enough: float = -math.inf,
        has: tuple[_Place, ...] = (),
        lacks: tuple[_Place, ...] = (),
    ) -> _Open:
        """A box with its points sorted and its bound."""
        have, may = [], []
        for face, (sure, open_, points) in enumerate(zip(inner, border, self._points, strict=True)):
            x, y = points[open_, 0] + self._origin[0], points[open_, 1] + self._origin[1]
            shared, some = self.piece.sort(box, x, y)
            sure = np.concatenate([sure, open_[shared]])
            if sure.size > _FEW and sure.size > 2 * inner[face].size:
                sure = _hull(points, sure, lowest=face == 0)
            have.append(sure)
            may.append(open_[some & ~shared])
        cost = self._cost(box)
        bound, _, working = self._strip((have[0], have[1]), working, enough + cost)
        return _Open(
            (-(bound - cost), next(self._order)), box, (have[0], have[1]), (may[0], may[1]), working, has, lacks
        )

    def _empty(self, box: Box, has: tuple[_Place, ...], lacks: tuple[_Place, ...]) -> bool:
        """Whether no placement of a box can have the one points and lack the others."""
        if not has and not lacks:
            return False
        places = self._at((*has, *lacks))
        shared, some = self.piece.sort(box, places[:, 0], places[:, 1])
        if not bool(some[: len(has)].all()) or bool(shared[len(has) :].any()):
            return True
        gone = places[len(has) :]
        return bool(certain(self.piece, box, gone, self.piece.sides(box, gone[:, 0], gone[:, 1]), gone).any())

    def _cutting(self, node: _Open) -> Cutting | None:
        """The worst of the points that some placements of a box have, or None where none cuts into its strip."""
        working = node.working
        if working is None or working.near is None or working.near.apart[2] <= 0.0:
            return None
        slopes = working.near.apart / working.near.apart[2]
        levels = float((working.first @ slopes).min()), float((working.second @ slopes).max())
        faces, numbers, cuts = [], [], []
        for face, (open_, level, sign) in enumerate(zip(node.border, levels, (1.0, -1.0), strict=True)):
            cut = sign * (level - self._points[face][open_] @ slopes)
            kept = np.flatnonzero(cut > self._telling)
            if kept.size > _WORST:
                kept = kept[np.argpartition(-cut[kept], _WORST)[:_WORST]]
            faces.append(np.full(kept.size, face))
            numbers.append(open_[kept])
            cuts.append(cut[kept])
        if not sum(map(len, numbers)):
            return None
        at = np.concatenate([self._points[face][number, :2] for face, number in enumerate(numbers)]) + self._origin[:2]
        sides = self.piece.sides(node.box, at[:, 0], at[:, 1])
        return Cutting(np.concatenate(faces), np.concatenate(numbers), at, np.concatenate(cuts), sides)

    def _at(self, places: Sequence[_Place]) -> Floats:
        """Where points lie, shape (n, 2) [mm]."""
        found = np.array([self._points[face][number, :2] for face, number in places]).reshape(-1, 2)
        return np.asarray(found + self._origin[:2])

    def _parts(self, node: _Open, cutting: Cutting | None, enough: float) -> Iterator[_Open]:
        """A box in two: by a point that decides where there is one, else by shift or turn."""
        if cutting is not None:
            sure = certain(self.piece, node.box, cutting.at, cutting.side, self._at(node.lacks))
            if sure.any():
                yield self._with(node, cutting.by_face(sure), cutting.by_face(sure), enough, node.has, node.lacks)
                return
            choice = deciding(self.piece, node.box, cutting)
            if choice is not None:
                k, joined = choice
                point = (int(cutting.face[k]), int(cutting.number[k]))
                itself = cutting.by_face(np.arange(len(cutting.number)) == k)
                yield self._with(node, itself, itself, enough, (*node.has, point), node.lacks)
                gone = [np.concatenate(pair) for pair in zip(itself, cutting.by_face(joined), strict=True)]
                yield self._with(node, cutting.by_face(joined), gone, enough, node.has, (*node.lacks, point))
                return
        for half in node.box.halves(self.piece.length / 2):
            if not self.piece.impossible(half) and not self._empty(half, node.has, node.lacks):
                yield self._opened(half, node.inner, node.border, node.working, enough, node.has, node.lacks)

    def _with(
        self,
        node: _Open,
        more: list[Places],
        gone: list[Places],
        enough: float,
        has: tuple[_Place, ...],
        lacks: tuple[_Place, ...],
    ) -> _Open:
        """The same box, of whose placements more is known: points that all have, and points that are settled."""
        inner = tuple(np.concatenate(pair) for pair in zip(node.inner, more, strict=True))
        border = tuple(np.setdiff1d(old, new) for old, new in zip(node.border, gone, strict=True))
        return self._opened(node.box, inner, border, node.working, enough, has, lacks)

    def _cost(self, box: Box) -> float:
        if not self._spoilt:
            return 0.0
        area = self.piece.shared(box)
        if area is None:
            return 0.0
        parts = shapely.area(shapely.intersection([place.area for place in self._spoilt], area))
        return float(parts @ np.array([place.cost for place in self._spoilt]))

    def _try(self, at: Box, node: _Open) -> Tried:
        """The value of a placement in a box."""
        points = []
        for sure, open_, face in zip(node.inner, node.border, self._points, strict=True):
            x, y = face[open_, 0] + self._origin[0], face[open_, 1] + self._origin[1]
            points.append(np.concatenate([sure, open_[self.piece.sort(at, x, y)[0]]]))
        _, width, _ = self._strip((points[0], points[1]), node.working)
        found = Tried(at, width, self._cost(at))
        self.tried.append(found)
        return found

    def value(self, at: Box) -> Tried | None:
        """A placement's value, or None where it does not lie on the ground."""
        return self._try(at, self._root) if self.piece.lies(at) else None

    def price(self, spoilt: Sequence[Spoilt]) -> None:
        """Take other places as spoilt; what was tried is priced anew."""
        self._spoilt = tuple(spoilt)
        self.tried = [Tried(one.at, one.thickness, self._cost(one.at)) for one in self.tried]

    def best(self) -> Tried | None:
        """The best placement tried so far; of equals the first."""
        return max(self.tried, key=lambda one: one.value, default=None)

    def run(self, gap: float, until: float) -> Found:
        """Look for the best placement until no other can be better by more than `gap`, or the clock shows `until`.

        Args:
            gap: [mm]
            until: by `time.perf_counter` [s]
        """
        best = self.best()
        self._telling = _TELLING * gap
        reached = -math.inf if best is None else best.value
        passed_over = -math.inf
        boxes = 1
        root = self._root
        root = _Open((root.rank[0], next(self._order)), root.box, root.inner, root.border, root.working)
        queue = [] if self.piece.impossible(root.box) else [root]
        ended = False
        while queue:
            node = heapq.heappop(queue)
            if node.bound <= reached + gap:
                passed_over = max(passed_over, node.bound)
                break
            if time.perf_counter() >= until and (math.isfinite(node.bound) or boxes > _TO_BE_FINITE):
                heapq.heappush(queue, node)
                ended = True
                break
            if not self._empty(node.box.middle, node.has, node.lacks) and self.piece.lies(node.box):
                tried = self._try(node.box.middle, node)
                if tried.value > reached:
                    best, reached = tried, tried.value
            cutting = self._cutting(node)
            if cutting is not None and node.bound > reached + gap:
                for at in aimed(self.piece, node.box, cutting, self._at(node.has), self._at(node.lacks)):
                    aim = self.value(at)
                    if aim is not None and aim.value > reached:
                        best, reached = aim, aim.value
            for child in self._parts(node, cutting, reached + gap):
                boxes += 1
                if child.bound <= reached + gap:
                    passed_over = max(passed_over, child.bound)
                else:
                    heapq.heappush(queue, child)
        still_open = queue[0].bound if ended else -math.inf
        return Found(best, max(reached, passed_over, still_open), boxes, ended)


def _start(points: Floats, sign: float) -> Floats:
    """A few of many points: outermost in plan, and the lowest (highest)."""
    places = [int(np.argmax(points[:, :2] @ way)) for way in COMPASS]
    places.append(int(np.argmin(sign * points[:, 2])))
    return points[np.unique(places)]


def _hull(points: Floats, places: Places, *, lowest: bool) -> Places:
    """Those of some points that lie on their lower (upper) hull: no plane meets another one first."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        around = ConvexHull(points[places])
    except QhullError:
        return places
    facing = around.equations[:, 2] < 1e-12 if lowest else around.equations[:, 2] > -1e-12
    return places[np.unique(around.simplices[facing])]
