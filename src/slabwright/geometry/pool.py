"""Search of many scattered readings: one pass keeps those that can matter, and later searches prove that they suffice."""

from __future__ import annotations

import numpy as np

from slabwright.geometry.faces import Floats, Scatter
from slabwright.geometry.seeker import AllSeeker, Seeker

_SAMPLED = 15_000
_POOLED = 4e-3
_CHUNK = 1 << 15
_HANDED_ON = 4


class PoolSeeker:
    """Scattered readings, of which a pool is searched.

    At slopes (a0, b0) one pass keeps every reading with z - a0 x - b0 y below a threshold. About the middle of the
    readings, with half-extents X and Y, the others lie at other slopes (a, b) nowhere below the threshold less
    |a - a0| X + |b - b0| Y. As long as the pool's own lowest lies below that, it is the lowest of all; else the pass is
    made again at the new slopes.
    """

    def __init__(self, face: Scatter, *, lowest: bool) -> None:
        self._face = face
        self._lowest = lowest
        self._sign = 1.0 if lowest else -1.0
        step = max(1, len(face) // _SAMPLED)
        part = Scatter(*(np.ascontiguousarray(values[::step]) for values in (face.x, face.y, face.z)))
        self._part = part
        self._sample = AllSeeker(part.x, part.y, part.z, lowest=lowest)
        self.reach = self._sample.reach
        self._pool: Scatter | None = None
        self._slopes = (0.0, 0.0)
        self._threshold = -np.inf
        self._middle, self._half = np.zeros(2), np.zeros(2)

    def sample(self) -> Seeker:
        """A seeker over every so manyeth reading."""
        return self._sample

    def start(self) -> Floats:
        """Ends, corners and the extreme height of the sample."""
        return self._sample.start()

    def seek(self, a: float, b: float) -> tuple[float, Floats]:
        """Extreme of z - a x - b y over all readings, and a few readings that come nearest to it."""
        found = None if self._pool is None else self._in_pool(self._pool, a, b)
        if found is None or not found[2]:
            found = self._in_pool(self._gather(a, b), a, b)
        return found[0], found[1]

    def _in_pool(self, pool: Scatter, a: float, b: float) -> tuple[float, Floats, bool]:
        """The pool's extreme, the readings nearest to it, and whether it is that of all readings."""
        rest = self._sign * (pool.z - a * (pool.x - self._middle[0]) - b * (pool.y - self._middle[1]))
        some = np.argpartition(rest, _HANDED_ON)[:_HANDED_ON] if rest.size > _HANDED_ON else np.arange(rest.size)
        some = some[np.argsort(rest[some])]
        turn = np.abs(np.subtract((a, b), self._slopes))
        proven = bool(rest[some[0]] <= self._threshold - float(turn @ self._half))
        plain = pool.z[some[0]] - a * pool.x[some[0]] - b * pool.y[some[0]]
        return float(plain), np.column_stack([pool.x[some], pool.y[some], pool.z[some]]), proven

    def _gather(self, a: float, b: float) -> Scatter:
        """One pass over all readings: keeps those below a threshold that the sample sets, and finds how far they reach."""
        x, y, z = self._face.x, self._face.y, self._face.z
        rest = self._sign * (self._part.z - a * self._part.x - b * self._part.y)
        rank = min(rest.size - 1, int(_POOLED * rest.size))
        threshold = float(np.partition(rest, rank)[rank])
        first, second = np.empty(_CHUNK), np.empty(_CHUNK)
        kept, ends = [], []
        for begin in range(0, z.size, _CHUNK):
            x_part, y_part, z_part = x[begin : begin + _CHUNK], y[begin : begin + _CHUNK], z[begin : begin + _CHUNK]
            heights, lean = first[: z_part.size], second[: z_part.size]
            np.multiply(x_part, a, out=lean)
            np.subtract(z_part, lean, out=heights)
            np.multiply(y_part, b, out=lean)
            heights -= lean
            low = heights <= threshold if self._sign > 0 else heights >= -threshold
            kept.append(np.flatnonzero(low) + begin)
            ends.append((x_part.min(), x_part.max(), y_part.min(), y_part.max()))
        reach = np.array(ends)
        least, most = reach[:, [0, 2]].min(axis=0), reach[:, [1, 3]].max(axis=0)
        if not bool(np.isfinite(least).all() and np.isfinite(most).all()):
            raise ValueError("a reading is not a finite number")
        chosen = np.concatenate(kept)
        self._pool = Scatter(x[chosen], y[chosen], z[chosen])
        self._middle, self._half = (least + most) / 2.0, (most - least) / 2.0
        self.reach = np.maximum(np.abs(least), np.abs(most))
        self._slopes = (a, b)
        self._threshold = threshold + self._sign * float(np.array([a, b]) @ self._middle)
        return self._pool
