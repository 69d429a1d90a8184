"""Welds against published figures: least fillets, deposit weights, design strength of fillets."""

from __future__ import annotations

import math

import pytest

from slabwright.base.square_checks import leant
from slabwright.base.weld_plan import deposit
from slabwright.quantities import INCH, POUND
from slabwright.reference.welding import throat_strength, welding


@pytest.mark.parametrize(
    ("thickness", "metric", "sixteenths"),
    [(3.0, 3.0, 2), (6.0, 3.0, 2), (6.35, 3.0, 2), (8.0, 5.0, 3), (12.7, 5.0, 3), (16.0, 6.0, 4), (25.0, 8.0, 5)],
)
def test_least_fillets(thickness: float, metric: float, sixteenths: int) -> None:
    """AWS D1.1:2025, table 7.7: to 1/4 in 1/8 (3 mm), to 1/2 in 3/16 (5 mm), to 3/4 in 1/4 (6 mm), above 5/16 (8 mm)."""
    assert welding().least_leg(thickness, "metric") == metric
    assert welding().least_leg(thickness, "inch") == pytest.approx(sixteenths * INCH / 16)


@pytest.mark.parametrize(
    ("leg", "pounds"), [(0.5, 0.424), (0.375, 0.239), (0.25, 0.106), (0.1875, 0.060), (0.125, 0.027)]
)
def test_weight_of_fillets(leg: float, pounds: float) -> None:
    """A filler maker's handbook, pounds per foot of equal-leg fillets (0.283 lb/in3), flat."""
    density = 0.283 * POUND / INCH**3 * 1e9
    assert deposit((leg * INCH) ** 2 / 2, 12 * INCH, density) / POUND == pytest.approx(pounds, abs=6e-4)


def test_weight_with_convexity() -> None:
    """A table of fillet weld weights: 8 mm leg, convexity 10 %, one metre: 35.2 mm2 and 0.276 kg."""
    area = 8.0**2 / 2 * (1 + welding().convexity)
    assert area == pytest.approx(35.2)
    assert deposit(area, 1000.0, 7850.0) == pytest.approx(0.276, abs=5e-4)


@pytest.mark.parametrize(("throat", "lengthwise", "square"), [(3.5, 0.84, 1.03), (2.8, 0.68, 0.83), (2.1, 0.51, 0.62)])
def test_strength_of_fillets_s355(throat: float, lengthwise: float, square: float) -> None:
    """Steel Building Design: Design Data (the Blue Book), S355 fillets, kN/mm along and square to the weld (K = 1.225)."""
    each = throat_strength(470.0, 0.9, 1.25) * throat / 1000.0
    assert each == pytest.approx(lengthwise, abs=6e-3)
    assert math.sqrt(1.5) * each == pytest.approx(square, abs=6e-3)


def test_ours_is_s235() -> None:
    """EN 1993-1-8, 4.5.3.3 and table 4.1 (from memory): fu 360, beta 0.8, gamma 1.25: 207.8 MPa."""
    assert welding().strength == pytest.approx(207.8, abs=0.05)


def test_diagonals_of_a_parallelogram() -> None:
    """Parallelogram law (Euclid, any geometry): the squares of both diagonals add up to twice those of both sides."""
    width, height, shift = 640.0, 675.0, 12.0
    difference = leant(width, height, shift)
    total = math.sqrt(2 * (2 * (width**2 + height**2 + shift**2)) - difference**2)
    assert (total + difference) / 2 == pytest.approx(math.hypot(width + shift, height))
