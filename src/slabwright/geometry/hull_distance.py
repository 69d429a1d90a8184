"""Distance between the convex hulls of two small point sets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slabwright.geometry.faces import Floats

_MOST_ROUNDS = 2000


@dataclass(frozen=True)
class HullDistance:
    """The nearest points of two hulls.

    Attributes:
        apart: from the nearest point of the second hull to that of the first, shape (3,) [mm]
        distance: its length [mm]; 0 where the hulls meet
        rows: of the first set, the points that carry it, one for each difference of the corral
        columns: of the second set, likewise
        weights: convex weights of the differences
    """

    apart: Floats
    distance: float
    rows: tuple[int, ...]
    columns: tuple[int, ...]
    weights: Floats


def hull_distance(first: Floats, second: Floats, before: HullDistance | None = None) -> HullDistance:
    """Distance between the hulls of two point sets, as the point nearest to zero of the hull of their differences.

    Wolfe's finite method [1]_: a corral of at most four differences whose nearest affine point lies inside their hull;
    the difference that lies farthest behind it is taken in, and those whose weight would turn negative are dropped.
    The differences are never listed: the farthest one is found face by face.

    Args:
        first: shape (n, 3) [mm]
        second: shape (m, 3) [mm]
        before: the answer for sets that these have grown from, their new points added at the end; a start only

    Returns:
        The nearest points with their weights; `distance` is that of two points of the hulls, so never less than the true one.

    References:
        .. [1] P. Wolfe, "Finding the nearest point in a polytope", Mathematical Programming 11 (1976) 128-149
    """
    scale = max(float(np.ptp(first, axis=0).max()), float(np.ptp(second, axis=0).max()), 1e-9)
    middle = first.mean(axis=0) - second.mean(axis=0)
    scale = max(scale, float(np.abs(middle).max()))
    if before is None:
        rows, columns = [int(np.argmin(first @ middle))], [int(np.argmax(second @ middle))]
        weights = np.ones(1)
    else:
        rows, columns, weights = list(before.rows), list(before.columns), before.weights
    corral = first[rows] - second[columns]
    nearest = weights @ corral
    for _ in range(_MOST_ROUNDS):
        length = float(np.sqrt(nearest @ nearest))
        if length <= 1e-12 * scale:
            break
        row, column = int(np.argmin(first @ nearest)), int(np.argmax(second @ nearest))
        difference = first[row] - second[column]
        if float(nearest @ (nearest - difference)) <= 4e-15 * scale * length or (row, column) in zip(
            rows, columns, strict=True
        ):
            break
        kept = (rows, columns, weights)
        rows, columns = [*rows, row], [*columns, column]
        corral = np.vstack([corral, difference])
        weights = np.append(weights, 0.0)
        weights, rows, columns, corral = _settle(weights, rows, columns, corral)
        moved = weights @ corral
        # Two contacts that face two others form a parallelogram: the same corral may come back with a gain of rounding alone.
        same = sorted(zip(rows, columns, strict=True)) == sorted(zip(*kept[:2], strict=True))
        if same or float(moved @ moved) >= length * length:
            rows, columns, weights = kept
            break
        nearest = moved
    return HullDistance(nearest, float(np.sqrt(nearest @ nearest)), tuple(rows), tuple(columns), weights)


def _settle(
    weights: Floats, rows: list[int], columns: list[int], corral: Floats
) -> tuple[Floats, list[int], list[int], Floats]:
    """Moves to the nearest affine point of the corral, dropping points until it lies inside their hull."""
    while True:
        spread = (corral[1:] - corral[0]).T
        tail = np.linalg.lstsq(spread, -corral[0], rcond=1e-14)[0]
        affine = np.concatenate([[1.0 - tail.sum()], tail])
        if bool((affine > 1e-14).all()):
            return affine, rows, columns, corral
        falling = affine <= 1e-14
        drop = weights[falling] - affine[falling]
        step = float(np.min(np.where(drop > 0.0, weights[falling] / np.where(drop > 0.0, drop, 1.0), 1.0)))
        weights = (1.0 - step) * weights + step * affine
        stays = weights > 1e-14
        stays[np.argmax(weights)] = True
        if bool(stays.all()):
            stays[np.flatnonzero(falling)[np.argmin(weights[falling])]] = False
        weights = weights[stays] / weights[stays].sum()
        corral = corral[stays]
        rows = [row for row, stay in zip(rows, stays, strict=True) if stay]
        columns = [column for column, stay in zip(columns, stays, strict=True) if stay]
        if len(rows) == 1:
            return np.ones(1), rows, columns, corral
