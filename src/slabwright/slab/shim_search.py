"""Which stacks lose the least thickness: an exact search over the three that carry."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats
from slabwright.slab.resting import Threes
from slabwright.slab.stacks import GRAIN, Integers, StackHeights

_STEEPEST = 0.5
"""No slab on a bed is tilted against its lie by more than this slope."""
_LOOKED_AT = 1000
"""Lies whose height above the bed is worked out in one go."""
_CLOSE = 1e-9
_AT_ONCE = 4_000_000
_TRIED = 20_000


@dataclass(frozen=True)
class Ground:
    """What a tilt costs: readings about the centre of mass, in the bed's frame at the wanted lie.

    Attributes:
        top: readings of the upper face that bind, shape (n, 3) [mm]
        under: readings of the underside that bind, shape (m, 3) [mm]
        clear: wood of the underside, the bed's height at the lowest of it being 0, shape (k, 3) [mm]
        needed: thickness at the wanted lie [mm]
    """

    top: Floats
    under: Floats
    clear: Floats
    needed: float

    def thickness(self, slopes: Floats) -> Floats:
        """Thickest level board when the slab is tilted by slopes, shape (k, 2) -> (k,) [mm]."""
        slant = np.sqrt(1.0 + (slopes**2).sum(axis=1))
        return np.asarray((_least(self.top, slopes) + _least(-self.under, slopes)) / slant)

    def loss(self, slopes: Floats) -> Floats:
        """Thickness lost against what is needed, never below 0; shape (k, 2) -> (k,) [mm]."""
        return np.maximum(self.needed - self.thickness(slopes), 0.0)

    def least_raise(self, slopes: Floats) -> Floats:
        """How far the centre of mass must be raised so that no wood touches the bed, shape (k, 2) -> (k,) [mm]."""
        return -_least(self.clear, slopes)

    def binding(self, slope: Floats) -> tuple[int, int, int]:
        """Which reading of the top, of the underside and of the wood next to the bed decides at one tilt."""
        return (
            int(np.argmin(self.top[:, 2] + self.top[:, :2] @ slope)),
            int(np.argmax(self.under[:, 2] + self.under[:, :2] @ slope)),
            int(np.argmin(self.clear[:, 2] + self.clear[:, :2] @ slope)),
        )


def _least(points: Floats, slopes: Floats) -> Floats:
    """Least of z + x a + y b over points for each slope, shape (k, 2) -> (k,)."""
    plan = points[:, :2]
    step = max(1, _AT_ONCE // max(len(points), 1))
    parts = [
        (points[:, 2] + slopes[start : start + step] @ plan.T).min(axis=1) for start in range(0, len(slopes), step)
    ]
    return np.concatenate(parts) if parts else np.zeros(0)


@dataclass(frozen=True)
class Choice:
    """Stacks for the three that carry.

    Attributes:
        triple: row of the threes
        slope: by which the slab stands off its lie, shape (2,)
        loss: thickness that this costs [mm]
        raises: heights of the centre of mass at which the three have their stacks, rising, shape (r,) [mm]
    """

    triple: int
    slope: Floats
    loss: float
    raises: Floats


@dataclass(frozen=True)
class _Tilts:
    """A convex polygon of slopes: corners, and its sides as normals . slope <= limits."""

    corners: Floats
    normals: Floats
    limits: Floats


def search(
    ground: Ground, table: StackHeights, three: Threes, allowed: NDArray[np.intp], height: Floats, corners: Floats
) -> Choice | None:
    """The carrying stacks that lose the least thickness; nothing better exists among the allowed threes.

    The loss depends on two differences of heights only. A first good answer sets a limit; tilts that lose no more than
    the limit fill a convex polygon (the loss is the greatest of linear functions), found by cutting off its corners
    until none loses more. So for each three only the differences of heights whose tilt lies in the polygon are left,
    and all of them are tried, best first, until one can be stacked.

    Args:
        ground: what a tilt costs
        table: heights that can be stacked
        three: threes that can carry, places about the centre of mass
        allowed: rows of `three` that may be used
        height: of the wood above each place at the lie, the lowest wood being 0, shape (n,) [mm]
        corners: of the slab about the centre of mass; of equal losses the lie that moves them least is taken, shape (c, 2) [mm]

    Returns:
        The choice, or None where no allowed three can be stacked.
    """
    first = _first(ground, table, three, allowed, height)
    # Where the nearest stacks leave no room above the bed, ever worse tilts are let in, until no board would be left.
    for limit in (first,) if np.isfinite(first) else (0.5, 2.0, 8.0, ground.needed):
        best = _best_within(ground, table, three, allowed, height, corners, limit)
        if best is not None:
            return best
    return None


def _best_within(
    ground: Ground,
    table: StackHeights,
    three: Threes,
    allowed: NDArray[np.intp],
    height: Floats,
    corners: Floats,
    limit: float,
) -> Choice | None:
    """The best choice that loses no more than a limit, or None."""
    tilts = _within(ground, limit + 1e-7)
    known: dict[tuple[int, int], Integers] = {}
    best: Choice | None = None
    key = (limit + 1e-7, np.inf)
    for row in allowed:
        at, turn = _basis(three, int(row))
        i, j, k = (int(corner) for corner in three.triples[row])
        first = _differences(table, tilts.corners @ (three.places[j] - at) + height[j] - height[i], (i, j), known)
        second = _differences(table, tilts.corners @ (three.places[k] - at) + height[k] - height[i], (i, k), known)
        steps = np.stack(np.meshgrid(first, second, indexing="ij"), axis=-1).reshape(-1, 2)
        slopes = (steps * GRAIN - np.array([height[j] - height[i], height[k] - height[i]])) @ turn.T
        inside = (slopes @ tilts.normals.T <= tilts.limits + _CLOSE).all(axis=1)
        steps, slopes = steps[inside], slopes[inside]
        if not len(steps):
            continue
        if not len(steps):
            continue
        loss = ground.loss(slopes)
        moved = np.abs(slopes @ corners.T).max(axis=1)
        order = np.lexsort((moved, np.round(loss, 9)))
        for begin in range(0, order.size, _LOOKED_AT):
            some = order[begin : begin + _LOOKED_AT]
            if (float(np.round(loss[some[0]], 9)), float(moved[some[0]])) >= key:
                break
            # Of a lie that must be raised farther than the tallest stacks reach, there is nothing to try.
            tallest = table.heights[-1] - np.maximum(steps[some].max(axis=1), 0) * GRAIN
            reached = tallest - float(height[i]) - slopes[some] @ at >= ground.least_raise(slopes[some]) - _CLOSE
            for index in some[reached]:
                mine = (float(np.round(loss[index], 9)), float(moved[index]))
                if mine >= key:
                    break
                raises = _stackable(ground, table, steps[index], slopes[index], at, float(height[i]))
                if raises.size:
                    best, key = Choice(int(row), slopes[index], float(loss[index]), raises), mine
                    break
    return best


def _basis(three: Threes, row: int) -> tuple[Floats, Floats]:
    """First place of a three, and the matrix from its two differences of elevation to the slopes."""
    i, j, k = three.triples[row]
    at = three.places[i]
    return at, np.linalg.inv(np.vstack([three.places[j] - at, three.places[k] - at]))


def _stackable(
    ground: Ground, table: StackHeights, steps: Integers, slope: Floats, at: Floats, height: float
) -> Floats:
    """Heights of the centre of mass at which all three stacks exist and no wood touches the bed."""
    there = np.isin(table.steps + steps[0], table.steps) & np.isin(table.steps + steps[1], table.steps)
    raises = table.heights[there] - height - float(slope @ at)
    return np.asarray(raises[raises >= ground.least_raise(slope[None, :])[0] - _CLOSE])


def _first(ground: Ground, table: StackHeights, three: Threes, allowed: NDArray[np.intp], height: Floats) -> float:
    """A loss that can be had: for each three and each first stack, the nearest stacks for the other two."""
    if not len(allowed):
        return np.inf
    every = max(1, int(np.ceil(len(table) * len(allowed) / _TRIED)))
    lowest = table.heights[::every] if every < len(table) else table.heights[-1:]
    least = np.inf
    for row in allowed:
        at, turn = _basis(three, int(row))
        i, j, k = three.triples[row]
        rise = np.array([height[j] - height[i], height[k] - height[i]])
        found = np.column_stack([table.heights[table.nearest(lowest + step)] - lowest - step for step in rise])
        slopes = found @ turn.T
        fits = lowest - height[i] - slopes @ at >= ground.least_raise(slopes) - _CLOSE
        if fits.any():
            least = min(least, float(ground.loss(slopes[fits]).min()))
    return least


def _differences(
    table: StackHeights, span: Floats, pair: tuple[int, int], known: dict[tuple[int, int], Integers]
) -> Integers:
    """Differences between two stacks' heights that lie within a span, in whole grains; each once."""
    if pair not in known:
        low, high = int(np.floor(span.min() / GRAIN)) - 1, int(np.ceil(span.max() / GRAIN)) + 1
        start = np.searchsorted(table.steps, table.steps + low)
        count = np.searchsorted(table.steps, table.steps + high, side="right") - start
        ends = np.cumsum(count)
        other = np.arange(ends[-1]) - np.repeat(ends - count, count) + np.repeat(start, count)
        known[pair] = np.unique(table.steps[other] - np.repeat(table.steps, count))
    return known[pair]


def _within(ground: Ground, limit: float) -> _Tilts:
    """All tilts that lose no more than a limit, or a little more than all: a convex polygon, cut out of a great square."""
    corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * _STEEPEST
    normals: list[Floats] = []
    limits: list[float] = []
    tried: dict[tuple[float, float], float] = {}
    for _ in range(400):
        fresh = np.array([corner for corner in corners if (corner[0], corner[1]) not in tried])
        if len(fresh):
            # Without the slant's divisor: no more than the true loss, and linear, so that the cut keeps all that may count.
            lost = ground.needed - _least(ground.top, fresh) - _least(-ground.under, fresh)
            tried.update({(float(x), float(y)): float(value) for (x, y), value in zip(fresh, lost, strict=True)})
        lost = np.array([tried[(float(x), float(y))] for x, y in corners])
        worst = int(np.argmax(lost))
        if lost[worst] <= limit + _CLOSE:
            break
        top, under, _ = ground.binding(corners[worst])
        normal = ground.under[under, :2] - ground.top[top, :2]
        size = float(np.hypot(*normal))
        if size < _CLOSE:
            break
        bound = (limit - ground.needed + float(ground.top[top, 2] - ground.under[under, 2])) / size
        cut = _cut(corners, normal / size, bound)
        if len(cut) < 3:
            break
        corners = cut
        normals.append(normal / size)
        limits.append(bound)
    return _Tilts(corners, np.array(normals).reshape(-1, 2), np.array(limits))


def _cut(corners: Floats, normal: Floats, limit: float) -> Floats:
    """The part of a convex polygon on or below a line."""
    beyond = corners @ normal - limit
    kept: list[Floats] = []
    for index in range(len(corners)):
        after = (index + 1) % len(corners)
        if beyond[index] <= 0.0:
            kept.append(corners[index])
        if beyond[index] * beyond[after] < 0.0:
            part = beyond[index] / (beyond[index] - beyond[after])
            kept.append(corners[index] + part * (corners[after] - corners[index]))
    return np.array(kept).reshape(-1, 2)
