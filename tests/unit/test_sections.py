"""Sections by name: what is read, what is turned down, and what near ones are told."""

from __future__ import annotations

import math

import pytest

from slabwright.base.sections import near_sections, section
from slabwright.findings import SlabwrightError
from slabwright.quantities import Units
from slabwright.reference.steel import steel


@pytest.mark.parametrize(
    ("typed", "name", "kind"),
    [
        ("60x60x4", "60x60x4", "square tube"),
        ("60 X 60 × 4 mm", "60x60x4", "square tube"),
        ("steel tube 60x60x4", "60x60x4", "square tube"),
        ("square tube 60x4", "60x60x4", "square tube"),
        ("80x40x3", "80x40x3", "rectangular tube"),
        ("2 in x 2 in x 1/4", "HSS 2x2x1/4", "square tube"),
        ('2" x 2" x 1/4"', "HSS 2x2x1/4", "square tube"),
        ("HSS 2x2x1/4", "HSS 2x2x1/4", "square tube"),
        ("2x2x1/4", "HSS 2x2x1/4", "square tube"),
        ("2-1/2 x 2-1/2 x 1/4 tube", "HSS 2 1/2x2 1/2x1/4", "square tube"),
        ("square tube 2 in x 1/4 in", "HSS 2x2x1/4", "square tube"),
        ("round tube 48.3x3", "round tube 48.3x3", "round tube"),
        ("Ø48.3x3", "round tube 48.3x3", "round tube"),
        ("CHS 48,3 x 3", "round tube 48.3x3", "round tube"),
        ("flat 60x6", "flat 60x6", "flat"),
        ("bar 60x6", "flat 60x6", "flat"),
        ("L50x50x5", "angle 50x50x5", "angle"),
        ("angle 50x5", "angle 50x50x5", "angle"),
        ("L2x2x1/4", "angle 2x2x1/4", "angle"),
        ("square bar 20", "square bar 20", "square bar"),
        ("bar 20x20", "square bar 20", "square bar"),
        ("round bar 16", "round bar 16", "round bar"),
        ("rod 16", "round bar 16", "round bar"),
    ],
)
def test_names_as_people_type_them(typed: str, name: str, kind: str) -> None:
    found = section(typed)
    assert (found.name, found.kind) == (name, kind)


@pytest.mark.parametrize("name", steel().rows)
@pytest.mark.parametrize("units", ["metric", "inch"])
def test_every_listed_name_reads_back_as_itself(name: str, units: Units) -> None:
    found = section(name, units)
    assert found.name == name
    assert found.listed


@pytest.mark.parametrize(
    "name",
    ["55x55x3", "45x45x2.5", "angle 45x30x4", "flat 60x6", "round tube 50x2", "1 1/2 x 1 1/2 x 11 ga", "40x60x3"],
)
def test_a_computed_section_reads_back_as_itself(name: str) -> None:
    found = section(name)
    assert not found.listed or name == "40x60x3"
    assert section(found.name) == found


def test_plain_numbers_follow_the_job_but_a_listed_metric_size_is_one_in_either() -> None:
    assert section("1.5x1.5x0.12", "inch").depth == pytest.approx(38.1)
    assert section("60x60x4", "inch") == section("60x60x4", "metric")


def test_the_other_way_round_swaps_what_it_bends_over() -> None:
    upright, lying = section("80x40x4"), section("40x80x4")
    assert lying.listed
    assert (lying.depth, lying.width) == (40.0, 80.0)
    assert (lying.second_moment_y, lying.second_moment_z) == (upright.second_moment_z, upright.second_moment_y)
    assert (lying.modulus_y, lying.plastic_modulus_y) == (upright.modulus_z, upright.plastic_modulus_z)
    assert (lying.shear_area_y, lying.shear_area_z) == (upright.shear_area_z, upright.shear_area_y)


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("60x60x40", "nothing is left inside"),
        ("60x60x30", "nothing is left inside"),
        ("round tube 40x20", "nothing is left inside"),
        ("60x4", "square tube, a round tube or a flat"),
        ("900x900x4", "a side of 900 mm is not made"),
        ("60x60x0", "a wall of 0 mm is not made"),
        ("-60x60x4", "is not made"),
        ("60x60x4x5", "two sides and a wall"),
        ("angle 50", "two legs and a wall"),
        ("flat 60", "a width and a thickness"),
        ("bar 16", "square or round"),
        ("tube 2 in x 99 ga", "gauge 99"),
        ("banana 60x60x4", "'banana' is no kind of section"),
        ("60xsixtyx4", "no kind of section"),
        ("", "no size"),
        ("x" * 200, "no size"),
    ],
)
def test_what_is_no_section_is_told_in_one_line(name: str, says: str) -> None:
    with pytest.raises(SlabwrightError, match="there is no steel section") as raised:
        section(name)
    assert says in str(raised.value)
    assert "\n" not in str(raised.value)


def test_near_ones_are_named() -> None:
    with pytest.raises(SlabwrightError, match=r"near ones: 60x60x5, 60x60x4"):
        section("60x60x35")
    assert near_sections("58x58x4")[0] == "60x60x4"
    assert near_sections("2x2x.25")[0] == "HSS 2x2x1/4"
    assert near_sections("round tube 50x3")[0] == "round tube 48.3x3"


def test_a_square_tube_whose_corners_meet_is_still_computed() -> None:
    """A wall of more than a quarter of the side: outer radii of two walls would overlap."""
    thick = section("20x20x8")
    assert 0.0 < thick.area < 400.0 - 16.0
    assert thick.second_moment_y == pytest.approx(thick.second_moment_z)
    assert thick.second_moment_y < 20.0**4 / 12.0


def test_inch_tube_weighs_its_nominal_wall_and_is_as_stiff_as_its_design_wall() -> None:
    tube = section("1.5 in x 1.5 in x 1/8 in")
    nominal = tube.mass_per_metre / 7.85e-3
    assert nominal == pytest.approx(4 * (38.1 - 3.175) * 3.175, rel=0.06)
    assert 0.93 < tube.area / nominal < 0.945


def test_gauge_walls() -> None:
    assert section("square tube 1.5 in x 11 ga").wall == pytest.approx(0.120 * 25.4)


def test_solid_sections_by_hand() -> None:
    flat = section("flat 60x6")
    assert flat.area == 360.0
    assert flat.second_moment_y == pytest.approx(6 * 60**3 / 12)
    assert flat.second_moment_least == pytest.approx(60 * 6**3 / 12)
    assert flat.plastic_modulus_z == pytest.approx(60 * 6**2 / 4)
    bar = section("round bar 20")
    assert bar.second_moment_y == pytest.approx(math.pi * 20**4 / 64)
    assert bar.torsion_constant == pytest.approx(math.pi * 20**4 / 32)
    assert bar.plastic_modulus_y == pytest.approx(20**3 / 6)
    assert section("square bar 20").perimeter == 80.0
