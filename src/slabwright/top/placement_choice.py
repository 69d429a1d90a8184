"""What decides a box of placements: the points that would make the piece thinner, and past which side each may be left out.

Readings in rows as far apart as the piece is wide can't both be left out; but every box of shifts about the place where one
enters as the other leaves shares neither, however small it is. There a box is not cut by shift or turn, but by whether a
placement has the point.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats
from slabwright.slab.region import BORDER
from slabwright.top.shapes import FAR, LEFT, NEAR, NONE, RIGHT, Box, Mask, Piece

_CLEAR = 2.0 * BORDER


@dataclass(frozen=True)
class Cutting:
    """Points that some placements of a box have and that cut into the strip of those that all have.

    Attributes:
        face: 0 for the upper face, 1 for the lower one, shape (n,)
        number: of the point on its face, shape (n,)
        at: x and y, shape (n, 2) [mm]
        cut: by how much the strip would be cut into [mm]
        side: past which side of the piece the point may lie; NONE where that is no side or several
    """

    face: NDArray[np.intp]
    number: NDArray[np.intp]
    at: Floats
    cut: Floats
    side: NDArray[np.int8]

    def by_face(self, mask: Mask) -> list[NDArray[np.intp]]:
        """Numbers of some of the points, face by face."""
        return [self.number[mask & (self.face == face)] for face in (0, 1)]


def certain(piece: Piece, box: Box, places: Floats, sides: NDArray[np.int8], lacks: Floats) -> Mask:
    """Which places every placement has: one that lacked it would stick out, or have what it has to lack.

    Args:
        piece: the finished piece
        box: placements
        places: shape (n, 2) [mm]
        sides: past which side of the piece each may lie
        lacks: places that the placements lack, shape (k, 2) [mm]
    """
    found = np.zeros(len(places), np.bool_)
    rim_side = piece.sides(box, piece.rim[:, 0], piece.rim[:, 1])
    lacks_side = piece.sides(box, lacks[:, 0], lacks[:, 1])
    for k, (side, at) in enumerate(zip(sides.tolist(), places, strict=True)):
        if side == NONE:
            continue
        others = np.concatenate([piece.rim[rim_side == (side ^ 1)], lacks[lacks_side == (side ^ 1)]])
        found[k] = bool(piece.one_is_in(box, side, at, others).any())
    return found


def deciding(piece: Piece, box: Box, cutting: Cutting) -> tuple[int, Mask] | None:
    """The point by which to part the placements of a box, and the points that all have which lack it.

    Of all points that may be left out past one side, with those past the opposite side that can't be left out with them, the
    one that makes both parts thinnest.

    Args:
        piece: the finished piece
        box: placements
        cutting: points
    """
    best: tuple[float, int, Mask] | None = None
    for side in (LEFT, RIGHT, NEAR, FAR):
        opposite = np.flatnonzero(cutting.side == (side ^ 1))
        if not opposite.size:
            continue
        for k in np.flatnonzero(cutting.side == side).tolist():
            joined = opposite[piece.one_is_in(box, side, cutting.at[k], cutting.at[opposite])]
            if joined.size:
                gain = min(float(cutting.cut[k]), float(cutting.cut[joined].max()))
                if best is None or gain > best[0]:
                    chosen = np.zeros(len(cutting.number), np.bool_)
                    chosen[joined] = True
                    best = (gain, k, chosen)
    return None if best is None else (best[1], best[2])


def aimed(piece: Piece, box: Box, cutting: Cutting, has: Floats, lacks: Floats) -> list[Box]:
    """Placements that lack every point that cuts, where shifts for it are found: they would reach the box's bound.

    At one turn each point to be left out is a limit of the shift along or across; the middle between the limits is taken.

    Args:
        piece: the finished piece
        box: placements
        cutting: points to be left out
        has: places that the placements have, shape (j, 2) [mm]
        lacks: places that they lack, shape (k, 2) [mm]
    """
    out = np.concatenate([cutting.at, lacks])
    out_side = np.concatenate([cutting.side, piece.sides(box, lacks[:, 0], lacks[:, 1])])
    in_side = piece.sides(box, has[:, 0], has[:, 1])
    found = []
    for turn in {box.turn, box.turn - box.dturn, box.turn + box.dturn}:
        cosine, sine = math.cos(turn), math.sin(turn)
        middle = (cosine * box.x + sine * box.y, cosine * box.y - sine * box.x)
        reach = (cosine * box.dx + abs(sine) * box.dy, cosine * box.dy + abs(sine) * box.dx)
        shift = []
        for axis, (before, after), size in ((0, (LEFT, RIGHT), piece.length), (1, (NEAR, FAR), piece.width)):
            low, high = middle[axis] - reach[axis], middle[axis] + reach[axis]
            if size is not None:
                rows = np.array([(cosine, sine), (-sine, cosine)])[axis]
                over, within = out @ rows, has @ rows
                # Left out before the piece: its centre lies farther on than half the piece beyond the point.
                low = max(
                    [low, *(over[out_side == before] + size / 2 + _CLEAR), *(within[in_side == after] - size / 2)]
                )
                high = min(
                    [high, *(over[out_side == after] - size / 2 - _CLEAR), *(within[in_side == before] + size / 2)]
                )
            shift.append((low, high))
        if all(low <= high for low, high in shift):
            u, v = ((low + high) / 2 for low, high in shift)
            y = box.y if piece.width is None else sine * u + cosine * v
            x = (u - sine * y) / cosine if piece.width is None else cosine * u - sine * v
            found.append(Box(float(x), float(y), turn))
    return found
