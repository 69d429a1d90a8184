"""The piece's shape as it may be shifted and turned: which places every placement of a box shares, and which none has."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from slabwright.geometry.faces import Floats
from slabwright.slab.region import BORDER
from slabwright.top.ground import Ground

Mask = NDArray[np.bool_]
_TINY = 1e-6
_WIDE = 1e7
_RIM_STEP = 6.0
OVER = BORDER / 4
"""By so much a piece may stick out of its room [mm]: less than what a reading beyond its border may and still count, so that a
piece that just fits has the readings that it just meets."""
LEFT, RIGHT, NEAR, FAR, NONE = 0, 1, 2, 3, 4


@dataclass(frozen=True)
class Box:
    """Placements whose centre and turn lie within limits.

    Attributes:
        x: middle of the centres, along the grain [mm]
        y: and across [mm]
        turn: middle of the turns [rad]
        dx: greatest shift along from the middle [mm]
        dy: and across [mm]
        dturn: and greatest turn from the middle [rad]
    """

    x: float
    y: float
    turn: float
    dx: float = 0.0
    dy: float = 0.0
    dturn: float = 0.0

    @property
    def middle(self) -> Box:
        """The placement in its middle."""
        return Box(self.x, self.y, self.turn)

    def halves(self, lever: float) -> tuple[Box, Box]:
        """Both halves, cut where the piece's border moves most; the turn moves it by `lever` times itself."""
        moves = (self.dx, self.dy, math.sin(self.dturn) * lever)
        if moves[2] >= max(moves[:2]):
            half = self.dturn / 2
            return (
                Box(self.x, self.y, self.turn - half, self.dx, self.dy, half),
                Box(self.x, self.y, self.turn + half, self.dx, self.dy, half),
            )
        if moves[0] >= moves[1]:
            half = self.dx / 2
            return (
                Box(self.x - half, self.y, self.turn, half, self.dy, self.dturn),
                Box(self.x + half, self.y, self.turn, half, self.dy, self.dturn),
            )
        half = self.dy / 2
        return (
            Box(self.x, self.y - half, self.turn, self.dx, half, self.dturn),
            Box(self.x, self.y + half, self.turn, self.dx, half, self.dturn),
        )


@dataclass(frozen=True)
class Reach:
    """A box's limits, worked out once.

    A place lies at (u, v) along and across the middle placement. A turn by up to h moves it along by at most sin(h) |v|, the
    shifts by at most `along`. So all placements have it where |u| + sin(h) |v| + along <= L / 2 (and the like across), and none
    has it where cos(h) |u| - sin(h) |v| - along > L / 2.
    """

    box: Box
    cos: float
    sin: float
    cos_most: float
    sin_most: float
    along: float
    across: float

    @classmethod
    def of(cls, box: Box) -> Reach:
        """The limits of a box."""
        low, high = abs(box.turn) - box.dturn, abs(box.turn) + box.dturn
        cos_most, sin_most = (1.0 if low <= 0.0 else math.cos(low)), math.sin(high)
        return cls(
            box,
            math.cos(box.turn),
            math.sin(box.turn),
            math.cos(box.dturn),
            math.sin(box.dturn),
            cos_most * box.dx + sin_most * box.dy,
            cos_most * box.dy + sin_most * box.dx,
        )

    def across_along(self, x: Floats, y: Floats) -> tuple[Floats, Floats]:
        """|u| and |v| of places."""
        east, north = x - self.box.x, y - self.box.y
        return np.abs(self.cos * east + self.sin * north), np.abs(self.cos * north - self.sin * east)


@dataclass(frozen=True)
class Piece:
    """The finished piece: a rectangle, or with both long edges live all that lies between two cuts.

    Attributes:
        length: along [mm]
        width: across, or None where both long edges stay live [mm]
        room: that a rectangle lies in
        left: places that lie left of a live-edged piece, shape (n, 2) [mm]
        right: places that lie right of it, shape (m, 2) [mm]
        rim: places that may not lie inside the piece: along the border of the room, or those left and right, shape (k, 2) [mm]
    """

    length: float
    width: float | None
    room: BaseGeometry
    left: Floats
    right: Floats
    rim: Floats

    @classmethod
    def on(cls, floor: Ground, length: float, width: float | None) -> Piece:
        """A piece of a length and a width on the ground."""
        if width is None:
            rim = np.concatenate([floor.left, floor.right])
        else:
            rim = shapely.get_coordinates(shapely.segmentize(floor.room, _RIM_STEP))
        shared = floor.room.buffer(OVER, join_style="mitre")
        shapely.prepare(shared)
        return cls(length, width, shared, floor.left, floor.right, rim)

    def sort(self, box: Box, x: Floats, y: Floats) -> tuple[Mask, Mask]:
        """Which places all placements of a box have, and which some of them may have."""
        reach = Reach.of(box)
        u, v = reach.across_along(x, y)
        lean = reach.sin_most * v
        edge = self.length / 2 + BORDER
        shared = u + lean <= edge - reach.along
        some = reach.cos_most * u - lean <= edge + reach.along
        if self.width is not None:
            lean = reach.sin_most * u
            edge = self.width / 2 + BORDER
            shared &= v + lean <= edge - reach.across
            some &= reach.cos_most * v - lean <= edge + reach.across
        return shared, some

    def sides(self, box: Box, x: Floats, y: Floats) -> NDArray[np.int8]:
        """Past which side of the piece places may lie: LEFT, RIGHT, NEAR or FAR; NONE where that is no side or several."""
        reach = Reach.of(box)
        east, north = x - box.x, y - box.y
        u, v = reach.cos * east + reach.sin * north, reach.cos * north - reach.sin * east
        spread_u = reach.sin_most * np.abs(v) + (1.0 - reach.cos_most) * np.abs(u) + reach.along
        past = [u - spread_u < -self.length / 2 - BORDER, u + spread_u > self.length / 2 + BORDER]
        if self.width is not None:
            spread_v = reach.sin_most * np.abs(u) + (1.0 - reach.cos_most) * np.abs(v) + reach.across
            past += [v - spread_v < -self.width / 2 - BORDER, v + spread_v > self.width / 2 + BORDER]
        flags = np.stack(past)
        return np.where(flags.sum(axis=0) == 1, flags.argmax(axis=0), NONE).astype(np.int8)

    def one_is_in(self, box: Box, side: int, at: Floats, others: Floats) -> Mask:
        """Which places every placement has that leaves a place out past a side.

        The distance of two places across the piece, cos(turn) dy - sin(turn) dx, does not depend on the shifts: where it is
        not above the width at any turn of the box, the piece is too wide to leave out both.

        Args:
            box: placements
            side: that the place may lie past
            at: the place, shape (2,)
            others: places that may lie past the opposite side only, shape (n, 2)
        """
        size = self.length if side in (LEFT, RIGHT) else self.width
        if size is None:
            return np.zeros(len(others), np.bool_)
        step = (others - at) * (1.0 if side in (LEFT, NEAR) else -1.0)
        apart = np.hypot(step[:, 0], step[:, 1])
        # The distance is `apart` times the cosine of the turn less the turn at which it is greatest.
        greatest = np.arctan2(step[:, 1], step[:, 0]) if side in (LEFT, RIGHT) else np.arctan2(-step[:, 0], step[:, 1])
        off = np.maximum(np.abs(greatest - box.turn) - box.dturn, 0.0)
        return np.asarray(apart * np.cos(off) <= size + BORDER / 2)

    def shared(self, box: Box) -> Polygon | None:
        """The area that all placements of a box have, or None where there is none; exact at a single placement."""
        reach = Reach.of(box)
        long, wide = self.length / 2 - reach.along, _WIDE
        if self.width is not None:
            wide = self.width / 2 - reach.across
        if long <= 0.0 or wide <= 0.0:
            return None
        s = reach.sin_most
        if self.width is None:
            # A diamond-like band, cut off far outside the slab.
            wide = min(wide, long / s if s > 0.0 else wide, 1e5)
            corner_u, corner_v = long - s * wide, wide
            tip_u, tip_v = long, wide
        else:
            corner_u, corner_v = (long - s * wide) / (1 - s * s), (wide - s * long) / (1 - s * s)
            tip_u, tip_v = long, wide
            if corner_u < 0.0 or corner_v < 0.0:
                # One pair of limits alone decides: a diamond.
                tip_u, tip_v = (min(long, wide / s), min(wide, long / s)) if s > 0.0 else (long, wide)
                corner_u, corner_v = 0.0, tip_v
        u = np.array([corner_u, tip_u, corner_u, 0.0, -corner_u, -tip_u, -corner_u, 0.0])
        v = np.array([corner_v, 0.0, -corner_v, -tip_v, -corner_v, 0.0, corner_v, tip_v])
        if s == 0.0:
            u, v = u[[0, 2, 4, 6]], v[[0, 2, 4, 6]]
        elif corner_u < _TINY or corner_v < _TINY:
            # Corners that fall on tips leave a diamond; told twice they would cross by rounding.
            u, v = u[[1, 3, 5, 7]], v[[1, 3, 5, 7]]
        x, y = box.x + reach.cos * u - reach.sin * v, box.y + reach.sin * u + reach.cos * v
        return Polygon(np.column_stack([x, y]))

    def impossible(self, box: Box) -> bool:
        """Whether no placement of a box lies on the ground: even what they share sticks out."""
        if self.width is not None:
            area = self.shared(box)
            return area is not None and not self.room.covers(area)
        reach = Reach.of(box)
        edge = self.length / 2 - OVER
        for places, way in ((self.left, -1.0), (self.right, 1.0)):
            east, north = places[:, 0] - box.x, places[:, 1] - box.y
            u = way * (reach.cos * east + reach.sin * north)
            v = np.abs(reach.cos * north - reach.sin * east)
            # The farthest out that any placement of the box sees the place.
            if bool((np.maximum(u, reach.cos_most * u) + reach.sin_most * v + reach.along < edge).any()):
                return True
        return False

    def lies(self, box: Box) -> bool:
        """Whether the placement in the middle of a box lies on the ground."""
        return not self.impossible(box.middle)

    def area(self, box: Box, region: BaseGeometry) -> BaseGeometry:
        """What a placement has of a face's region."""
        piece = self.shared(box.middle)
        return region.intersection(piece) if piece is not None else Polygon()

    def limits(self, turn_most: float, middle: float) -> Box | None:
        """A box that holds every placement on the ground, or None where there is none.

        Args:
            turn_most: greatest turn either way [rad]
            middle: y of the centre of a live-edged piece [mm]
        """
        shrink = math.cos(turn_most)
        if self.width is None:
            both = np.concatenate([self.left, self.right])
            slope = math.tan(turn_most) * float(np.abs(both[:, 1] - middle).max(initial=0.0))
            half = self.length / 2
            low = float(self.left[:, 0].max()) - slope + half
            high = float(self.right[:, 0].min()) + slope - half
            low, high = low - BORDER, high + BORDER
            return None if low > high else Box((low + high) / 2, middle, 0.0, (high - low) / 2, 0.0, turn_most)
        if self.room.is_empty:
            return None
        west, south, east, north = self.room.bounds
        dx, dy = (east - west - shrink * self.length) / 2, (north - south - shrink * self.width) / 2
        if dx < 0.0 or dy < 0.0:
            return None
        return Box((west + east) / 2, (south + north) / 2, 0.0, dx, dy, turn_most)
