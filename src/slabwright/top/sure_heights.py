"""Heights that are as good as sure: the readings lowered by what may hide between them, so that any piece can be compared."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats, Scatter
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.strip import Strip, widest_strip
from slabwright.slab.hidden import Hidden, HiddenFace

Mask = NDArray[np.bool_]
Inside = Callable[[Floats, Floats], Mask]
_FEWEST_SPREADS, _MOST_SPREADS = -3.0, 13.0
_CLOSE = 1e-3


@dataclass(frozen=True)
class _Level:
    """One face's places with the middle and the spread of what was drawn there; lower means less wood."""

    face: HiddenFace
    middle: Floats
    spread: Floats

    @classmethod
    def of(cls, face: HiddenFace) -> _Level:
        """Middle and standard deviation of the draws, place by place."""
        if face.finer:
            return cls(face, face.read, np.zeros(face.read.size))
        # A few draws at a time: all of them would be copied whole.
        total, squares = np.zeros(face.x.size), np.zeros(face.x.size)
        base = (face.smooth[0] - face.drop[0]).astype(np.float64)
        for begin in range(0, len(face.smooth), 50):
            part = (face.smooth[begin : begin + 50] - face.drop[begin : begin + 50]) - base.astype(np.float32)
            total += part.sum(axis=0, dtype=np.float64)
            squares += np.einsum("ij,ij->j", part, part, dtype=np.float64)
        mean = total / len(face.smooth)
        spread = np.sqrt(np.maximum(squares / len(face.smooth) - mean * mean, 0.0))
        return cls(face, base + mean, spread)

    def lowered(self, spreads: float) -> Floats:
        """Middle less so many spreads; never above what was read."""
        heights = self.middle - spreads * self.spread
        count = self.face.read.size
        heights[:count] = np.minimum(heights[:count], self.face.read)
        return np.asarray(heights, dtype=np.float64)

    def of_piece(self, inside: Inside) -> Mask:
        """Which places lie in a piece."""
        return inside(self.face.x, self.face.y)

    def drawn_low(self, a: float, b: float, inside: Mask) -> Floats:
        """Lowest place at a tilt, draw by draw."""
        tilt = a * self.face.x + b * self.face.y
        if self.face.finer:
            return np.full(1, float((self.face.read - tilt)[inside].min()))
        places = np.flatnonzero(inside)
        heights = self.face.smooth[:, places] - self.face.drop[:, places]
        middle = float(self.middle[places].mean())
        low = (heights - (tilt[places] + middle).astype(np.float32)).min(axis=1)
        return np.asarray(low, dtype=np.float64) + middle


class SureHeights:
    """Both faces lowered by so many spreads of what was drawn at each place.

    The promise of a piece is what 19 of 20 drawn boards keep at its tilt. That is no longer a matter of which places lie inside
    alone, so it cannot be bounded. In its place every reading and every drawn place is lowered (on the underside raised)
    by the same number of its own standard deviations, the number being such that at one placement the strip of the lowered
    places is as wide as the promise drawn there. Then fewer places can only give more, and the bound holds exactly.
    """

    def __init__(self, hidden: Hidden) -> None:
        self._upper, self._lower = _Level.of(hidden.face_a), _Level.of(hidden.face_b)
        self.nothing_hidden = hidden.face_a.finer and hidden.face_b.finer

    def faces(self, spreads: float) -> tuple[Scatter, Scatter]:
        """The lowered upper face and the raised lower one."""
        up, down = self._upper, self._lower
        return (
            Scatter(up.face.x, up.face.y, up.lowered(spreads)),
            Scatter(down.face.x, down.face.y, -down.lowered(spreads)),
        )

    def drawn(self, inside: Inside, planes: PlanePair) -> float:
        """What 19 of 20 drawn boards keep of a piece at a tilt [mm].

        Args:
            inside: tells of places whether they lie in the piece
            planes: the tilt
        """
        low_a = self._upper.drawn_low(planes.a, planes.b, self._upper.of_piece(inside))
        low_b = self._lower.drawn_low(-planes.a, -planes.b, self._lower.of_piece(inside))
        return float(np.quantile(low_a + low_b, 0.05)) / planes.slant

    def spreads(self, inside: Inside, wanted: float) -> float:
        """How many spreads lower the places so that a piece comes out as its drawn promise.

        Args:
            inside: tells of places whether they lie in the piece
            wanted: the promise [mm]
        """
        kept_a, kept_b = self._upper.of_piece(inside), self._lower.of_piece(inside)
        low, high = _FEWEST_SPREADS, _MOST_SPREADS
        while high - low > _CLOSE:
            middle = (low + high) / 2.0
            wide = strip_of(*self.faces(middle), kept_a, kept_b).thickness > wanted
            low, high = (middle, high) if wide else (low, middle)
        return high


def strip_of(
    upper: Scatter,
    lower: Scatter,
    kept_a: Mask,
    kept_b: Mask,
) -> Strip:
    """The widest strip of some places of both faces."""
    first, second = (Scatter(f.x[k], f.y[k], f.z[k]) for f, k in ((upper, kept_a), (lower, kept_b)))
    return widest_strip(first, second)


def spread_out(upper: Scatter, lower: Scatter, kept_a: Mask, kept_b: Mask) -> bool:
    """Whether some places of both faces do not all lie in one line in plan."""
    plan = np.concatenate(
        [np.column_stack([face.x[kept], face.y[kept]]) for face, kept in ((upper, kept_a), (lower, kept_b))]
    )
    sizes = np.linalg.svd(plan - plan.mean(axis=0), compute_uv=False)
    return bool(sizes.size > 1 and sizes[1] > 1e-6 * max(float(sizes[0]), 1e-9))
