"""Properties of steel sections from their sizes: rectangular tube by the standard's annex, the rest by closed forms.

References:
    .. [1] EN 10219-2, Cold formed welded structural hollow sections, annex B (from memory; checked against published tables)
    .. [2] EN 10056-1, equal and unequal leg angles: root radius, and a toe radius of half of it
    .. [3] S. P. Timoshenko and J. N. Goodier, Theory of Elasticity, torsion of rectangular bars (from memory)
    .. [4] EN 1993-1-1, 6.2.6 (3), shear areas (from memory)
    .. [5] I. A. El Darwish and B. G. Johnston, Torsion of structural shapes, J. Struct. Div. ASCE 91 (1965) (from memory; checked
       against published tables)
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

_SPANDREL = 1.0 - math.pi / 4.0
"""Area between two sides of a square corner and the arc that rounds it, over radius squared [1]_."""
_SPANDREL_MIDDLE = (10.0 - 3.0 * math.pi) / (12.0 - 3.0 * math.pi)
"""Its middle, from either side, over the radius [1]_."""
_SPANDREL_OWN = 1.0 / 3.0 - math.pi / 16.0 - 1.0 / (3.0 * (12.0 - 3.0 * math.pi))
"""Its second moment about its own middle, over radius to the fourth [1]_."""


@dataclass(frozen=True)
class Shape:
    """What a section's sizes give [mm2, mm3, mm4, mm]; y: bent over its depth, z: over its width.

    Attributes:
        area: of the steel
        second_moment_y: about the axis across its depth
        second_moment_z: about the axis across its width
        second_moment_least: about the weakest axis of all
        modulus_y: elastic
        modulus_z: elastic
        plastic_modulus_y: plastic
        plastic_modulus_z: plastic
        torsion_constant: St Venant's
        shear_area_y: for a force along the width [4]_
        shear_area_z: for a force along the depth [4]_
        perimeter: of the outside, for paint
    """

    area: float
    second_moment_y: float
    second_moment_z: float
    second_moment_least: float
    modulus_y: float
    modulus_z: float
    plastic_modulus_y: float
    plastic_modulus_z: float
    torsion_constant: float
    shear_area_y: float
    shear_area_z: float
    perimeter: float


def rectangular_tube(depth: float, width: float, wall: float, outer_radius: float) -> Shape:
    """Square or rectangular tube with rounded corners, by the annex's formulae [1]_.

    Where the sides are shorter than two outer radii the corners are taken as round as the sides allow.

    Args:
        depth: outside [mm]
        width: outside [mm]
        wall: [mm], less than half of either side
        outer_radius: of the corners [mm]
    """
    outer = min(outer_radius, depth / 2.0, width / 2.0)
    inner = max(outer - wall, 0.0)
    area = 2.0 * wall * (width + depth - 2.0 * wall) - (4.0 - math.pi) * (outer**2 - inner**2)

    def bent(over: float, across: float) -> tuple[float, float, float]:
        inside, hollow = over - 2.0 * wall, across - 2.0 * wall
        out_area, in_area = _SPANDREL * outer**2, _SPANDREL * inner**2
        out_at, in_at = over / 2.0 - _SPANDREL_MIDDLE * outer, inside / 2.0 - _SPANDREL_MIDDLE * inner
        second = (across * over**3 - hollow * inside**3) / 12.0
        second -= 4.0 * (_SPANDREL_OWN * outer**4 + out_area * out_at**2)
        second += 4.0 * (_SPANDREL_OWN * inner**4 + in_area * in_at**2)
        plastic = (across * over**2 - hollow * inside**2) / 4.0 - 4.0 * out_area * out_at + 4.0 * in_area * in_at
        return second, 2.0 * second / over, plastic

    second_y, elastic_y, plastic_y = bent(depth, width)
    second_z, elastic_z, plastic_z = bent(width, depth)
    middle = (outer + inner) / 2.0
    around = 2.0 * (width + depth - 2.0 * wall) - 2.0 * middle * (4.0 - math.pi)
    enclosed = (width - wall) * (depth - wall) - middle**2 * (4.0 - math.pi)
    return Shape(
        area=area,
        second_moment_y=second_y,
        second_moment_z=second_z,
        second_moment_least=min(second_y, second_z),
        modulus_y=elastic_y,
        modulus_z=elastic_z,
        plastic_modulus_y=plastic_y,
        plastic_modulus_z=plastic_z,
        torsion_constant=wall**3 * around / 3.0 + 4.0 * enclosed**2 * wall / around,
        shear_area_y=area * width / (width + depth),
        shear_area_z=area * depth / (width + depth),
        perimeter=2.0 * (width + depth) - 2.0 * outer * (4.0 - math.pi),
    )


def round_tube(diameter: float, wall: float) -> Shape:
    """Round tube; with a wall of half its diameter a round bar.

    Args:
        diameter: outside [mm]
        wall: [mm], at most half of the diameter
    """
    inside = diameter - 2.0 * wall
    area = math.pi / 4.0 * (diameter**2 - inside**2)
    second = math.pi / 64.0 * (diameter**4 - inside**4)
    shear = area if inside <= 0.0 else 2.0 * area / math.pi
    elastic, plastic = 2.0 * second / diameter, (diameter**3 - inside**3) / 6.0
    return Shape(
        area=area,
        second_moment_y=second,
        second_moment_z=second,
        second_moment_least=second,
        modulus_y=elastic,
        modulus_z=elastic,
        plastic_modulus_y=plastic,
        plastic_modulus_z=plastic,
        torsion_constant=2.0 * second,
        shear_area_y=shear,
        shear_area_z=shear,
        perimeter=math.pi * diameter,
    )


def rectangle(depth: float, width: float) -> Shape:
    """Flat or square bar; its torsion by the series for rectangles [3]_.

    Args:
        depth: [mm]
        width: [mm]
    """
    area = depth * width
    second_y, second_z = width * depth**3 / 12.0, depth * width**3 / 12.0
    return Shape(
        area=area,
        second_moment_y=second_y,
        second_moment_z=second_z,
        second_moment_least=min(second_y, second_z),
        modulus_y=width * depth**2 / 6.0,
        modulus_z=depth * width**2 / 6.0,
        plastic_modulus_y=width * depth**2 / 4.0,
        plastic_modulus_z=depth * width**2 / 4.0,
        torsion_constant=_torsion_of_rectangle(max(depth, width), min(depth, width)),
        shear_area_y=area,
        shear_area_z=area,
        perimeter=2.0 * (depth + width),
    )


def _torsion_of_rectangle(long: float, short: float) -> float:
    ratio = long / short
    series = sum(math.tanh(n * math.pi * ratio / 2.0) / n**5 for n in range(1, 20, 2))
    return long * short**3 * (1.0 / 3.0 - 64.0 / (math.pi**5 * ratio) * series)


def angle(depth: float, width: float, wall: float, root_radius: float) -> Shape:
    """Angle with a rounded root and toes of half that radius [2]_, bent about axes along its legs.

    Its moduli are for the toes. Plastic moduli are those of its sharp-cornered legs, which is some percent off; torsion is that
    of its two legs and of the disc that fits into the root [5]_.

    Args:
        depth: upright leg [mm]
        width: lying leg [mm]
        wall: of both legs [mm]
        root_radius: between the legs [mm]
    """
    toe = min(root_radius / 2.0, wall)
    pieces = [
        _block(0.0, wall, 0.0, depth),
        _block(wall, width, 0.0, wall),
        _spandrel(wall, wall, root_radius, +1.0, +1.0, +1.0),
        _spandrel(wall, depth, toe, -1.0, -1.0, -1.0),
        _spandrel(width, wall, toe, -1.0, -1.0, -1.0),
    ]
    area = sum(piece.area for piece in pieces)
    at_x = sum(piece.area * piece.x for piece in pieces) / area
    at_y = sum(piece.area * piece.y for piece in pieces) / area
    second_y = sum(piece.own_y + piece.area * (piece.y - at_y) ** 2 for piece in pieces)
    second_z = sum(piece.own_x + piece.area * (piece.x - at_x) ** 2 for piece in pieces)
    product = sum(piece.product + piece.area * (piece.x - at_x) * (piece.y - at_y) for piece in pieces)
    least = (second_y + second_z) / 2.0 - math.hypot((second_y - second_z) / 2.0, product)
    return Shape(
        area=area,
        second_moment_y=second_y,
        second_moment_z=second_z,
        second_moment_least=least,
        modulus_y=second_y / (depth - at_y),
        modulus_z=second_z / (width - at_x),
        plastic_modulus_y=_plastic([(0.0, wall, width), (wall, depth, wall)]),
        plastic_modulus_z=_plastic([(0.0, wall, depth), (wall, width, wall)]),
        torsion_constant=_torsion_of_angle(depth, width, wall, root_radius),
        shear_area_y=width * wall,
        shear_area_z=depth * wall,
        perimeter=2.0 * (depth + width) - (2.0 - math.pi / 2.0) * (root_radius + 2.0 * toe),
    )


def _torsion_of_angle(depth: float, width: float, wall: float, root_radius: float) -> float:
    leg = depth - wall
    lying = width * wall**3 * (1.0 / 3.0 - 0.21 * wall / width * (1.0 - wall**4 / (12.0 * width**4)))
    upright = leg * wall**3 * (1.0 / 3.0 - 0.105 * wall / leg * (1.0 - wall**4 / (192.0 * leg**4)))
    disc = 2.0 * (3.0 * root_radius + 2.0 * wall - math.sqrt(2.0) * (2.0 * root_radius + wall))
    return lying + upright + (0.0768 + 0.0479 * root_radius / wall) * disc**4


@dataclass(frozen=True)
class _Piece:
    """A piece of a section, signed: its area, middle, own second moments and product."""

    area: float
    x: float
    y: float
    own_x: float
    own_y: float
    product: float


def _block(west: float, east: float, low: float, high: float) -> _Piece:
    across, up = east - west, high - low
    return _Piece(
        across * up, (west + east) / 2.0, (low + high) / 2.0, up * across**3 / 12.0, across * up**3 / 12.0, 0.0
    )


def _spandrel(x: float, y: float, radius: float, sign: float, to_x: float, to_y: float) -> _Piece:
    """The corner at (x, y) between its sides, which run towards `to_x` and `to_y`, and the arc that rounds it."""
    own = sign * _SPANDREL_OWN * radius**4
    # Product about the corner: of the square less that of the quarter disc, whose middle lies at (radius, radius).
    disc = radius**4 * (math.pi / 4.0 - 2.0 / 3.0 + 1.0 / 8.0)
    about_middle = radius**4 / 4.0 - disc - _SPANDREL * radius**2 * (_SPANDREL_MIDDLE * radius) ** 2
    return _Piece(
        area=sign * _SPANDREL * radius**2,
        x=x + to_x * _SPANDREL_MIDDLE * radius,
        y=y + to_y * _SPANDREL_MIDDLE * radius,
        own_x=own,
        own_y=own,
        product=sign * to_x * to_y * about_middle,
    )


def _plastic(strips: Sequence[tuple[float, float, float]]) -> float:
    """Plastic modulus of strips (from, to, width) stacked upward: both halves' first moments about the line of equal areas."""
    half = sum((high - low) * width for low, high, width in strips) / 2.0
    below = line = 0.0
    for low, high, width in strips:
        piece = (high - low) * width
        if below + piece >= half:
            line = low + (half - below) / width
            break
        below += piece
    total = 0.0
    for low, high, width in strips:
        for start, end in ((low, min(high, line)), (max(low, line), high)):
            if end > start:
                total += width * abs((start + end) / 2.0 - line) * (end - start)
    return total
