"""Withdrawal of screws from wood, against the NDS and the Wood Handbook; bending sections against a steel table's value."""

from __future__ import annotations

import pytest

from slabwright.quantities import INCH, POUND
from slabwright.reference.fasteners import STANDARD_GRAVITY, Section
from slabwright.top.fasteners import allowed_withdrawal, withdrawal
from slabwright.top.staying_flat import second_moment

POUNDS_PER_INCH = POUND * STANDARD_GRAVITY

# NDS for Wood Construction (2018), Table 12.2A: pounds per inch of thread, by specific gravity and diameter in inches.
DIAMETERS = (1 / 4, 5 / 16, 3 / 8, 7 / 16, 1 / 2, 5 / 8, 3 / 4, 7 / 8, 1, 9 / 8, 5 / 4)
TABLE = {
    0.73: (397, 469, 538, 604, 668, 789, 905, 1016, 1123, 1226, 1327),
    0.71: (381, 450, 516, 579, 640, 757, 868, 974, 1077, 1176, 1273),
    0.68: (357, 422, 484, 543, 600, 709, 813, 913, 1009, 1103, 1193),
    0.67: (349, 413, 473, 531, 587, 694, 796, 893, 987, 1078, 1167),
    0.58: (281, 332, 381, 428, 473, 559, 641, 719, 795, 869, 940),
    0.55: (260, 307, 352, 395, 437, 516, 592, 664, 734, 802, 868),
    0.51: (232, 274, 314, 353, 390, 461, 528, 593, 656, 716, 775),
    0.50: (225, 266, 305, 342, 378, 447, 513, 576, 636, 695, 752),
    0.42: (173, 205, 235, 264, 291, 344, 395, 443, 490, 535, 579),
    0.36: (137, 163, 186, 209, 231, 273, 313, 352, 389, 425, 460),
    0.31: (110, 130, 149, 167, 185, 218, 250, 281, 311, 339, 367),
}


def test_lag_screws_are_the_standards_table() -> None:
    """NDS (2018), Table 12.2A, 121 cells, each printed to a pound per inch; metric factors are rounded to 4 digits."""
    for gravity, row in TABLE.items():
        for diameter, printed in zip(DIAMETERS, row, strict=True):
            pounds = allowed_withdrawal("lag screw", gravity, diameter * INCH, INCH) / POUNDS_PER_INCH
            assert pounds == pytest.approx(printed, abs=0.51 + 3e-4 * printed)


def test_wood_screw_example() -> None:
    """NDS equation 2850 G^2 D, worked example: G = 0.45, number 10 screw of 0.190 in holds 109 lb per inch (109.65)."""
    pounds = allowed_withdrawal("wood screw", 0.45, 0.190 * INCH, INCH) / POUNDS_PER_INCH
    assert pounds == pytest.approx(109.65, abs=0.05)


@pytest.mark.parametrize(
    ("kind", "pounds"), [("wood screw", 15700 * 0.6**2 * 0.25 * 2.0), ("lag screw", 8100 * 0.6**1.5 * 0.25**0.75 * 2.0)]
)
def test_both_unit_systems_of_the_handbook_agree(kind: str, pounds: float) -> None:
    """Wood Handbook, chapter 8, prints each equation for N and mm and for pounds and inches; G = 0.6, 1/4 in, 2 in deep."""
    assert withdrawal(kind, 0.6, 0.25 * INCH, 2.0 * INCH) == pytest.approx(pounds * POUNDS_PER_INCH, rel=3e-4)


def test_end_grain_holds_three_quarters() -> None:
    """NDS end grain factor of lag screws, 0.75."""
    side, end = (allowed_withdrawal("lag screw", 0.5, 10.0, 50.0, end_grain) for end_grain in (False, True))
    assert end == pytest.approx(0.75 * side)


def test_angle_section_against_the_steel_table() -> None:
    """EN 10056-1 equal angle 50 x 50 x 5 (from memory): I = 11.0 cm4, W = 3.05 cm3; its rounded corners make some percent."""
    inertia, modulus = second_moment(Section("angle", "metric", "angle", 50.0, 50.0, 5.0))
    assert inertia / 1e4 == pytest.approx(11.0, rel=0.04)
    assert modulus / 1e3 == pytest.approx(3.05, rel=0.05)
