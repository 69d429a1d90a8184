"""Heights of shim stacks: every height that a few pieces of the stock add up to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats

Integers = NDArray[np.int64]

GRAIN = 1e-4
"""Heights closer than this are one height [mm]."""


@dataclass(frozen=True)
class StackHeights:
    """Every height that can be stacked, rising from 0 (no shim at all).

    Attributes:
        thicknesses: the kinds of shim, thickest first, shape (k,) [mm]
        steps: the heights in whole `GRAIN`s, shape (n,)
        heights: the heights, shape (n,) [mm]
        pieces: fewest pieces for each height, shape (n,)
        last: index of the kind laid last on the way to each height, -1 for no shim, shape (n,)
    """

    thicknesses: Floats
    steps: Integers
    heights: Floats
    pieces: Integers
    last: Integers

    def __len__(self) -> int:
        return int(self.steps.size)

    def parts(self, index: int) -> tuple[float, ...]:
        """The pieces of one height, thickest first [mm]."""
        kinds = np.rint(self.thicknesses / GRAIN).astype(np.int64)
        parts: list[float] = []
        while self.last[index] >= 0:
            kind = int(self.last[index])
            parts.append(float(self.thicknesses[kind]))
            index = int(np.searchsorted(self.steps, self.steps[index] - kinds[kind]))
        return tuple(sorted(parts, reverse=True))

    def floor(self, room: Floats) -> Integers:
        """Index of the tallest stack that is no taller than the room; 0 (no shim) where none is."""
        return np.maximum(np.searchsorted(self.heights, room + GRAIN / 2, side="right") - 1, 0)

    def nearest(self, height: Floats) -> Integers:
        """Index of the stack whose height is nearest."""
        above = np.clip(np.searchsorted(self.heights, height), 1, max(len(self) - 1, 1))
        above = np.minimum(above, len(self) - 1)
        below = np.maximum(above - 1, 0)
        return np.where(height - self.heights[below] <= self.heights[above] - height, below, above)


def stack_heights(thicknesses: Sequence[float], most_pieces: int) -> StackHeights:
    """All heights of at most so many pieces, each kind in any number, and for each the fewest pieces.

    Level by level: what n + 1 pieces reach is what n pieces reach and one more; a height keeps the level at which it
    was first reached, so its pieces are the fewest, and of equals the one whose last piece is the thickest.

    Args:
        thicknesses: the kinds of shim [mm]
        most_pieces: in one stack

    Returns:
        The heights, rising, 0 first.
    """
    kinds = np.array(sorted(set(thicknesses), reverse=True), dtype=np.float64)
    grains = np.rint(kinds / GRAIN).astype(np.int64)
    steps = np.zeros(1, dtype=np.int64)
    pieces = np.zeros(1, dtype=np.int64)
    last = np.full(1, -1, dtype=np.int64)
    edge = steps
    for level in range(1, most_pieces + 1):
        reached = (grains[:, None] + edge[None, :]).ravel()
        by = np.repeat(np.arange(kinds.size), edge.size)
        new, first = np.unique(reached, return_index=True)
        fresh = ~np.isin(new, steps)
        edge, by = new[fresh], by[first[fresh]]
        steps = np.concatenate([steps, edge])
        pieces = np.concatenate([pieces, np.full(edge.size, level, dtype=np.int64)])
        last = np.concatenate([last, by])
    order = np.argsort(steps)
    steps = steps[order]
    return StackHeights(kinds, steps, np.asarray(steps * GRAIN, dtype=np.float64), pieces[order], last[order])
