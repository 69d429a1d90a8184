"""Thickness against fill: for a price of filling, the lie that gives the thickest board, with what no lie could beat.

In a frame close to the lie without fill, the upper plane z = a x + b y + c may pass above readings of face A; what is missing
below it is filled. At a price of 1/K per volume (K is an area) the best c at a tilt is the quantile of face A's heights
above the tilt that has the area K below it, and the value is

    u_K(a, b) = mean of the lowest area K of face A - highest of face B,    heights above the tilt,

an expected shortfall [1]_, concave in (a, b). Any readings of face A of area K and any reading of face B give a plane that u_K
lies nowhere above: cutting planes [2]_ bracket its greatest value, and for a fill of volume V no lie is thicker than the least
of u_K + V / K over the prices.

References:
    .. [1] R. T. Rockafellar, S. Uryasev, Optimization of conditional value-at-risk, Journal of Risk 2 (2000), Theorem 1
    .. [2] J. E. Kelley, The cutting-plane method for solving convex programs, J. SIAM 8 (1960)
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from slabwright.geometry.faces import Floats
from slabwright.geometry.lowest import Tiles, fill_below, lowest

TOLERANCE = 0.0005
"""Between a price's best value found and what no tilt could beat [mm]."""
MOST_EVALUATIONS = 400
GREATEST_LEAN = 0.25
"""Slope against the first lie from which a search is given up."""
FIRST_STEP = 0.5
"""How far the ends of the board are let move at first, up or down [mm]."""
FARTHEST_STEP = 1e5


@dataclass(frozen=True)
class FilledLie:
    """A lie with fill, in the frame of the tiles.

    Attributes:
        a: slope of both planes along x
        b: slope of both planes along y
        c: height of the upper plane at the origin [mm]
        d: height of the lower plane at the origin [mm]
        area: of the fill on face A [mm2]
        volume: of the fill on face A [mm3]
        deepest: of the fill [mm]
        skip_volume: missing above the lower plane on face B [mm3]
        price_area: K [mm2]
        value: u_K of these planes [mm]
        limit: no tilt has a greater u_K [mm]
    """

    a: float
    b: float
    c: float
    d: float
    area: float
    volume: float
    deepest: float
    skip_volume: float
    price_area: float
    value: float
    limit: float

    @property
    def thickness(self) -> float:
        """Normal distance of the planes [mm]."""
        return (self.c - self.d) / float(np.sqrt(1.0 + self.a**2 + self.b**2))


@dataclass
class _Ceiling:
    """The planes that u_K lies nowhere above, and where the lowest of them is highest within a box of tilts.

    The linear program over (a, b, p, q) maximises p - q with p <= v - x a - y b for each cut of face A, q >= v - x a - y b for
    each of face B. A basis of four rows whose multipliers stay positive walks to the optimum (dual simplex).
    """

    scale: Floats
    face_a: list[tuple[float, float, float]] = field(default_factory=list)
    face_b: list[tuple[float, float, float]] = field(default_factory=list)

    def highest(self, centre: Floats, step: float) -> tuple[Floats, float, bool]:
        """Best scaled tilt in the box, the value there, and whether the box binds."""
        cut_a: Floats = np.array(self.face_a)
        cut_b: Floats = np.array(self.face_b)
        n, m = len(cut_a), len(cut_b)
        rows, right = np.zeros((n + m + 4, 4)), np.zeros(n + m + 4)
        rows[:n, :2], rows[:n, 2], right[:n] = cut_a[:, :2] / self.scale, 1.0, cut_a[:, 2]
        rows[n : n + m, :2], rows[n : n + m, 3], right[n : n + m] = -cut_b[:, :2] / self.scale, -1.0, -cut_b[:, 2]
        for index, (axis, sign) in enumerate([(0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0)]):
            rows[n + m + index, axis] = sign
            right[n + m + index] = sign * centre[axis] + step
        goal = np.array([0.0, 0.0, 1.0, -1.0])
        pull = goal - rows[n - 1] - rows[n + m - 1]
        basis = [n - 1, n + m - 1, n + m + (pull[0] < 0), n + m + 2 + (pull[1] < 0)]
        held = np.concatenate([[1.0, 1.0], np.abs(pull[:2])])
        for _ in range(300):
            inverse = np.linalg.inv(rows[basis])
            place = inverse @ right[basis]
            over = rows @ place - right
            enter = int(np.argmax(over))
            if over[enter] <= 1e-10 or enter in basis:
                binds = any(row >= n + m and held[at] > 1e-9 for at, row in enumerate(basis))
                return place[:2], float(place[2] - place[3]), binds
            share = rows[enter] @ inverse
            held = np.maximum(goal @ inverse, 0.0)
            ratio = np.where(share > 1e-11, held / np.where(share > 1e-11, share, 1.0), np.inf)
            leave = int(np.argmin(ratio))
            held = held - ratio[leave] * share
            held[leave] = ratio[leave]
            basis[leave] = enter
        return self._by_library(rows, right, goal, n + m)

    @staticmethod
    def _by_library(rows: Floats, right: Floats, goal: Floats, box: int) -> tuple[Floats, float, bool]:
        """The same program by HiGHS, where the walk goes round in circles."""
        from scipy.optimize import linprog

        answer = linprog(-goal, A_ub=rows, b_ub=right, bounds=(None, None), method="highs")
        place: Floats = np.asarray(answer["x"])
        binds = bool(np.any(np.abs(answer["ineqlin"]["marginals"][box:]) > 1e-9))
        return place[:2], float(goal @ place), binds


def best_at_price(
    face_a: Tiles,
    face_b: Tiles,
    area: float,
    *,
    skip_area: float = 0.0,
    start: tuple[float, float] = (0.0, 0.0),
    contacts: list[tuple[float, float, float]] | None = None,
    tolerance: float = TOLERANCE,
) -> FilledLie:
    """The lie of greatest u_K for one price.

    Args:
        face_a: face A
        face_b: face B with heights turned (-z), so that its highest are its lowest
        area: K, the price is 1/K per volume; 0: nothing is filled [mm2]
        skip_area: the same for what is missing on face B; 0: nothing [mm2]
        start: slopes to begin from
        contacts: cuts of face B at the same `skip_area` from earlier prices; added to
        tolerance: between the value and its limit [mm]

    Returns:
        The lie; `limit` is infinite where the search gave up: where the lowest area K of face A lies beyond all readings of face
        B, u_K grows with the tilt for ever.
    """
    ends = np.maximum(np.abs(face_a.middle) + face_a.reach, 1.0).max(axis=0)
    ceiling = _Ceiling(ends, face_b=contacts if contacts is not None else [])
    place = np.asarray(start) * ends
    best_place, best_value, best_heights, limit = place, -np.inf, (0.0, 0.0), np.inf
    step = FIRST_STEP
    for _ in range(MOST_EVALUATIONS):
        a, b = (float(slope) for slope in place / ends)
        on_a = lowest(face_a, a, b, area)
        on_b = lowest(face_b, -a, -b, skip_area)
        value = on_a.mean + on_b.mean
        if value > best_value:
            if np.abs(place - best_place).max() >= 0.99 * step:
                step *= 4.0
            best_place, best_value, best_heights = place, value, (on_a.height, -on_b.height)
            if max(abs(a), abs(b)) > GREATEST_LEAN:
                limit = np.inf
                break
        ceiling.face_a.append((on_a.x, on_a.y, on_a.z))
        ceiling.face_b.append((on_b.x, on_b.y, -on_b.z))
        place, limit, binds = ceiling.highest(best_place, step)
        while binds and limit - best_value <= tolerance and step < FARTHEST_STEP:
            step *= 4.0
            place, limit, binds = ceiling.highest(best_place, step)
        if limit - best_value <= tolerance:
            break
    else:
        limit = np.inf
    a, b = (float(slope) for slope in best_place / ends)
    return lie_at(face_a, face_b, (a, b, *best_heights), area, skip_area, best_value, max(limit, best_value))


def lie_at(
    face_a: Tiles,
    face_b: Tiles,
    planes: tuple[float, float, float, float],
    area: float,
    skip_area: float,
    value: float,
    limit: float,
) -> FilledLie:
    """Measure the fill of given planes (a, b, c, d)."""
    a, b, c, d = planes
    fill = fill_below(face_a, a, b, c)
    skip = fill_below(face_b, -a, -b, -d).volume if skip_area > 0.0 else 0.0
    return FilledLie(a, b, c, d, fill.area, fill.volume, fill.deepest, skip, area, value, limit)


def front(
    face_a: Tiles,
    face_b: Tiles,
    price_areas: Sequence[float],
    *,
    skip_area: float = 0.0,
    tolerance: float = TOLERANCE,
) -> tuple[FilledLie, ...]:
    """The lies of greatest u_K for rising K, each sought from the one before.

    Args:
        face_a: face A
        face_b: face B with heights turned (-z)
        price_areas: K of each price, rising [mm2]
        skip_area: the price of what is missing on face B, as an area; 0: nothing may be [mm2]
        tolerance: between each value and its limit [mm]
    """
    found: list[FilledLie] = []
    contacts: list[tuple[float, float, float]] = []
    place = (0.0, 0.0)
    for area in price_areas:
        lie = best_at_price(
            face_a, face_b, area, skip_area=skip_area, start=place, contacts=contacts, tolerance=tolerance
        )
        found.append(lie)
        place = (lie.a, lie.b)
    return tuple(found)


def bound_at(lies: Sequence[FilledLie], volume: float, skip_volume: float = 0.0, skip_area: float = 0.0) -> float:
    """No lie with that volume of fill (and of skip) is thicker: the least over the prices of u_K + V / K [mm].

    Args:
        lies: of each price, with their limits
        volume: of the fill on face A [mm3]
        skip_volume: of what is missing on face B [mm3]
        skip_area: that face B's price stands for [mm2]
    """
    skip = skip_volume / skip_area if skip_area > 0.0 else 0.0
    return min(
        lie.limit + (volume / lie.price_area if volume > 0.0 else 0.0) + skip
        for lie in lies
        if lie.price_area > 0.0 or volume <= 0.0
    )


def price_areas(face_a: Tiles, count: int, greatest_share: float) -> tuple[float, ...]:
    """Areas K of rising fill, in equal ratios from the smallest that matters to a share of the face [mm2]."""
    total = face_a.area
    # A price below the smallest cell buys nothing at all.
    least = max(2e-4 * total, float(face_a.w[face_a.w > 0.0].min()))
    most = max(greatest_share * total, least)
    steps = np.geomspace(least, most, count)
    return tuple(float(area) for area, _ in itertools.groupby(steps))
