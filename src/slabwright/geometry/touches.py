"""How a piece lies on the machine, from touches that each give one coordinate of the piece.

The piece lies at machine = R(turn) piece + shift. A touch at the machine's place m of which the piece's coordinate along axis a
is known gives one equation, (R' (m - shift))_a = stated. It is linear in cos(turn), sin(turn) and R' shift, so that the least
squares under cos^2 + sin^2 = 1 have at most two minima over the turn, and both are found without a first guess.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats

_GRID = 96
_POLISH = 8
_CIRCLE = 256
_SPHERE = 4000


@dataclass(frozen=True)
class Equations:
    """What the touches say, in the same order throughout.

    Attributes:
        axis: the piece's coordinate that is known: 0 for x, 1 for y; shape (n,)
        stated: that coordinate, shape (n,) [mm]
        error: standard error of the touch along it, shape (n,) [mm]
    """

    axis: NDArray[np.intp]
    stated: Floats
    error: Floats


@dataclass(frozen=True)
class Lie:
    """How the piece may lie: one minimum of the weighted squares, for each set of touches.

    Attributes:
        turn: shape (k,); nan where there is no such minimum [rad]
        shift: of the piece's origin on the machine, shape (k, 2) [mm]
        off: what each equation is off by: the piece's coordinate of the touch less the stated one, shape (k, n) [mm]
        squares: sum of (off / error)^2, shape (k,)
    """

    turn: Floats
    shift: Floats
    off: Floats
    squares: Floats


def lies(equations: Equations, touched: Floats) -> tuple[Lie, Lie]:
    """Turns and shifts of least weighted squares: the best one, and the other minimum if there is one.

    With the shift eliminated for each axis, what is left is z' G z - 2 h' z over z = (cos, sin): a trigonometric polynomial of
    degree two. Its minima are bracketed on a grid of turns and polished by Newton's method.

    Args:
        equations: what is known
        touched: places on the machine, one for each equation, shape (k, n, 2) [mm]

    Returns:
        The minimum of least squares, and the second one.
    """
    middle = touched.mean(axis=-2, keepdims=True)
    x, y = np.moveaxis(touched - middle, -1, 0)
    across = equations.axis == 1
    # (R' m)_x = cos mx + sin my, (R' m)_y = cos my - sin mx
    rows = np.stack((np.where(across, y, x), np.where(across, -x, y)), axis=-1)
    weight = equations.error**-2.0
    centred, stated = rows.copy(), equations.stated.copy()
    means: list[tuple[Floats, float]] = []
    for axis in (0, 1):
        mine = equations.axis == axis
        share = weight[mine] / weight[mine].sum()
        row_mean: Floats = np.einsum("n,knz->kz", share, rows[:, mine])
        stated_mean = float(share @ equations.stated[mine])
        centred[:, mine] -= row_mean[:, None]
        stated[mine] -= stated_mean
        means.append((row_mean, stated_mean))
    matrix = np.einsum("n,kny,knz->kyz", weight, centred, centred)
    vector = np.einsum("n,kny,n->ky", weight, centred, stated)
    found = []
    for turn in _minima(matrix, vector):
        z = np.stack((np.cos(turn), np.sin(turn)), axis=-1)
        off = np.einsum("knz,kz->kn", centred, z) - stated
        # What the piece's coordinates of the touches' middle are, then the shift that puts it there.
        at_middle = np.stack([mean_stated - (mean * z).sum(axis=-1) for mean, mean_stated in means], axis=-1)
        shift = middle[:, 0] - _turned(at_middle, turn)
        found.append(Lie(turn, shift, off, np.einsum("n,kn->k", weight, off**2)))
    best, other = found
    swap = other.squares < best.squares
    if swap.any():
        best, other = _either(swap, other, best), _either(swap, best, other)
    return best, other


def _either(first: NDArray[np.bool_], one: Lie, other: Lie) -> Lie:
    wide = first[:, None]
    return Lie(
        np.where(first, one.turn, other.turn),
        np.where(wide, one.shift, other.shift),
        np.where(wide, one.off, other.off),
        np.where(first, one.squares, other.squares),
    )


def _minima(matrix: Floats, vector: Floats) -> tuple[Floats, Floats]:
    """The two least minima of z' G z - 2 h' z on the unit circle; nan for one that there is not."""
    grid: Floats = np.arange(_GRID, dtype=np.float64) * (2.0 * math.pi / _GRID)
    difference = (matrix[:, 0, 0] - matrix[:, 1, 1])[:, None] / 2.0
    mixed, one, two = matrix[:, 0, 1][:, None], vector[:, :1], vector[:, 1:]

    def value(turn: Floats) -> Floats:
        return np.asarray(
            difference * np.cos(2 * turn) + mixed * np.sin(2 * turn) - 2.0 * (one * np.cos(turn) + two * np.sin(turn))
        )

    heights = value(np.asarray(grid[None, :], dtype=np.float64))
    low = (heights < np.roll(heights, 1, axis=1)) & (heights <= np.roll(heights, -1, axis=1))
    order = np.argsort(np.where(low, heights, np.inf), axis=1)[:, :2]
    turn = np.where(np.take_along_axis(low, order, axis=1), grid[order], np.nan)
    for _ in range(_POLISH):
        cos, sin, cos2, sin2 = np.cos(turn), np.sin(turn), np.cos(2 * turn), np.sin(2 * turn)
        slope = -2.0 * difference * sin2 + 2.0 * mixed * cos2 + 2.0 * (one * sin - two * cos)
        bend = -4.0 * difference * cos2 - 4.0 * mixed * sin2 + 2.0 * (one * cos + two * sin)
        step = slope / np.where(np.abs(bend) > 0.0, bend, 1.0)
        # Uphill curvature far from the minimum would send Newton away: go down the slope there.
        step = np.where(bend > 0.0, step, np.sign(slope) * 0.05)
        turn = turn - np.clip(step, -0.1, 0.1)
    turn = (turn + math.pi) % (2.0 * math.pi) - math.pi
    return turn[:, 0], turn[:, 1]


def _turned(points: Floats, turn: Floats) -> Floats:
    cos, sin = np.cos(turn), np.sin(turn)
    x, y = points[..., 0], points[..., 1]
    return np.stack((cos * x - sin * y, sin * x + cos * y), axis=-1)


def design(axis: NDArray[np.intp], at: Floats) -> Floats:
    """Change of what each equation is off by, with a small turn and a shift of the piece along its own axes.

    Args:
        axis: the coordinate that is known, shape (n,)
        at: the piece's places that were touched, shape (n, 2) [mm]

    Returns:
        Shape (n, 3), of (turn [rad], shift x, shift y [mm]).
    """
    rows = np.zeros((len(axis), 3))
    rows[:, 0] = np.where(axis == 0, at[:, 1], -at[:, 0])
    rows[np.arange(len(axis)), 1 + axis] = -1.0
    return rows


def covariance_at(covariance: Floats, points: Floats) -> Floats:
    """Covariance of where places of the piece lie: J C J'.

    Args:
        covariance: C, of (turn [rad], shift x, shift y of the piece's origin [mm]), shape (3, 3)
        points: in the piece's frame, shape (k, 2) [mm]

    Returns:
        Along the piece's axes, shape (k, 2, 2) [mm2].
    """
    jacobian = arms(points)
    return np.asarray(np.einsum("kip,pq,kjq->kij", jacobian, covariance, jacobian))


def arms(points: Floats) -> Floats:
    """J: change of places by a small turn about the origin and a shift, shape (k, 2, 3)."""
    jacobian = np.zeros((len(points), 2, 3))
    jacobian[:, 0, 0], jacobian[:, 1, 0] = -points[:, 1], points[:, 0]
    jacobian[:, :, 1:] = np.eye(2)
    return jacobian


def radius_within(covariance: Floats, share: float = 0.99) -> Floats:
    """Radius that a share of normally distributed errors in the plane stays within.

    With the variances a, b along the principal axes, in polar coordinates of the errors made round,

        P(error > r) = 1 / (2 pi) integral over psi of exp(-r^2 / (2 (a cos^2 psi + b sin^2 psi)))

    which for b = 0 is Craig's form [1]_ of the normal distribution's two tails, for a = b the Rayleigh distribution's tail.

    Args:
        covariance: shape (k, 2, 2) [mm2]
        share: of the errors

    Returns:
        Shape (k,) [mm].

    References:
        .. [1] Craig, "A new, simple and exact result for calculating the probability of error for two-dimensional signal
           constellations", IEEE MILCOM 1991 (from memory).
    """
    variances = np.maximum(np.linalg.eigvalsh(covariance), 0.0)
    largest = variances[:, 1]
    ratio = np.divide(variances[:, 0], largest, out=np.zeros_like(largest), where=largest > 0.0)
    angle = (np.arange(_CIRCLE // 4) + 0.5) * (2.0 * math.pi / _CIRCLE)  # a quarter stands for the whole
    spread = np.cos(angle) ** 2 + ratio[:, None] * np.sin(angle) ** 2
    radius = np.full(len(largest), math.sqrt(-2.0 * math.log(1.0 - share)))
    low = np.zeros_like(radius)
    high = radius.copy()  # round errors reach farthest
    for _ in range(60):
        middle = (low + high) / 2.0
        beyond = np.exp(-(middle[:, None] ** 2) / (2.0 * spread)).mean(axis=1)
        low, high = np.where(beyond > 1.0 - share, middle, low), np.where(beyond > 1.0 - share, high, middle)
    return np.asarray(high * np.sqrt(largest))


def chance_outside(covariance: Floats, points: Floats, limits: Floats) -> float:
    """Chance that any one of several places lies farther off than its limit.

    In coordinates in which turn and shift are round, a direction w has its places at their limits at the distance
    min_k limit_k / |J_k L w|, with L L' = C; the chance is the mean over directions of the tail of the chi distribution with
    three degrees of freedom. Directions are spread evenly over a half sphere.

    Args:
        covariance: C, as for `covariance_at`
        points: in the piece's frame, shape (k, 2) [mm]
        limits: of their errors, shape (k,) [mm]
    """
    if not len(points):
        return 0.0
    if (limits <= 0.0).any():
        return 1.0
    from scipy.special import erfc

    index = np.arange(_SPHERE) + 0.5
    height = index / _SPHERE
    round_ = np.sqrt(1.0 - height**2)
    turn = index * (math.pi * (1.0 + math.sqrt(5.0)))
    directions = np.stack((round_ * np.cos(turn), round_ * np.sin(turn), height))
    # An eigenvalue root, for a covariance that is nearly singular too.
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    reach = np.zeros(_SPHERE)
    for jacobian, limit in zip(arms(points) @ root, limits.tolist(), strict=True):
        np.maximum(reach, np.hypot(*(jacobian @ directions)) / limit, out=reach)
    distance = 1.0 / np.maximum(reach, 1e-12)
    tail = erfc(distance / math.sqrt(2.0)) + math.sqrt(2.0 / math.pi) * distance * np.exp(-(distance**2) / 2.0)
    return float(tail.mean())
