"""Sag of a slab under its own weight on bearers across the grain."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Floats

GRAVITY = 9.80665
"""Standard acceleration of free fall, 3rd CGPM 1901 [m/s2]."""


def deflection(
    x: Floats, supports: Sequence[float], length: float, thickness: float, density: float, modulus: float
) -> Floats:
    """Heights of a slab that bends under its own weight, against the straight line that its bearers hold.

    A beam of uniform depth [1]_ under q = density g thickness per area, with I = thickness^3 / 12 per width:

        E I w = -q x^4 / 24 + sum R_i <x - s_i>^3 / 6 + (c_1 x + c_0) E I,   w(s_i) = 0

    The reactions R_i and the two constants follow from the bearers and the balance of forces and moments: exact, without a
    mesh. A bearer that would have to pull is left out: the slab lifts off it.

    Args:
        x: places from the slab's end, any shape [mm]
        supports: two or more bearers from the same end [mm]
        length: of the slab [mm]
        thickness: mean thickness [mm]
        density: at its moisture content [kg/m3]
        modulus: of elasticity along the grain [MPa]

    Returns:
        Heights, sagging negative, in the shape of `x` [mm].

    Raises:
        SlabwrightError: fewer than two bearers, bearers off the slab, or a slab that would tip off them

    References:
        .. [1] Euler-Bernoulli beam with Macaulay's brackets, as in any text on strength of materials.
    """
    places = np.unique(np.asarray(supports, dtype=np.float64)) / length
    if places.size < 2:
        raise SlabwrightError("slab.lay.supports: a slab lies on two bearers at least; state the x of each")
    if places[0] < -1e-9 or places[-1] > 1 + 1e-9:
        raise SlabwrightError("slab.lay.supports: a bearer lies beyond the slab's end; state x in the slab's own frame")
    if places[0] > 0.5 or places[-1] < 0.5:
        raise SlabwrightError(
            "slab.lay.supports: the slab would tip off these bearers; one on each side of its middle is wanted"
        )
    reactions, line = _rest(places)
    unit = 12.0 * density * 1e-9 * GRAVITY / (modulus * thickness**2) * length**4
    return unit * _shape(np.asarray(x, dtype=np.float64) / length, places, reactions, line)


def reactions(supports: Sequence[float], length: float) -> Floats:
    """Share of the weight that each bearer carries, in the order of rising x; zero where the slab lifts off.

    Args:
        supports: two or more bearers from the slab's end, see `deflection` [mm]
        length: of the slab [mm]

    Returns:
        Shares that add up to 1.
    """
    return _rest(np.unique(np.asarray(supports, dtype=np.float64)) / length)[0]


def _shape(x: Floats, places: Floats, carried: Floats, line: Floats) -> Floats:
    over = np.maximum(x[..., None] - places, 0.0)
    return np.asarray(-(x**4) / 24.0 + over**3 @ carried / 6.0 + line[0] + line[1] * x)


def _rest(places: Floats) -> tuple[Floats, Floats]:
    """Reactions (of unit weight) and the line (c_0, c_1) of a beam of unit length, stiffness and load."""
    used = np.ones(places.size, dtype=bool)
    carried: Floats = np.zeros(places.size)
    for _ in range(4 * places.size):
        count = int(used.sum())
        at = places[used]
        matrix = np.zeros((count + 2, count + 2))
        right = np.empty(count + 2)
        matrix[:count, :count] = np.maximum(at[:, None] - at, 0.0) ** 3 / 6.0
        matrix[:count, count] = 1.0
        matrix[:count, count + 1] = at
        right[:count] = at**4 / 24.0
        matrix[count, :count], right[count] = 1.0, 1.0
        matrix[count + 1, :count], right[count + 1] = at, 0.5
        solved: Floats = np.asarray(np.linalg.solve(matrix, right), dtype=np.float64)
        carried = np.zeros(places.size)
        carried[used] = solved[:count]
        line = solved[count:]
        if carried.min() < -1e-12:
            used[int(np.argmin(carried))] = False
            continue
        below = np.where(used, 0.0, _shape(places, places, carried, line))
        if below.min() >= -1e-12:
            break
        used[int(np.argmin(below))] = True
    return carried, line
