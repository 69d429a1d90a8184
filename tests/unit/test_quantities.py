from __future__ import annotations

import math

import pytest

from slabwright.quantities import (
    QuantityError,
    Units,
    format_angle,
    format_area,
    format_force,
    format_least,
    format_length,
    format_mass,
    format_stiffness,
    format_stress,
    format_volume,
    nearest_fraction,
    parse_length,
)


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        (1200, 1200.0),
        (41.5, 41.5),
        ("1200", 1200.0),
        ("1.2 m", 1200.0),
        ("1,2 m", 1200.0),
        ("120 cm", 1200.0),
        ("1 m 20 cm", 1200.0),
        ("1 200 mm", 1200.0),
        ("0,125 in", 3.175),
        ('47.5"', 1206.5),
        ("47.5''", 1206.5),
        ("7' 6 1/2\"", 2298.7),
        ("7' 6 1/2 in", 2298.7),
        ("7'-6 1/2\"", 2298.7),
        ("7′ 6½″", 2298.7),
        ("7’ 6”", 2286.0),
        ("7'6", 2286.0),
        ("7ft 6in", 2286.0),
        ("7 feet 6 inches", 2286.0),
        ("2 1/4 in", 57.15),
        ('2-1/4"', 57.15),
        ("2¼ in", 57.15),
        ("1⁄2 in", 12.7),
        ("30 thou", 0.762),
        ("-3 mm", -3.0),
        ("−7' 6\"", -2286.0),
        ("+1/2 in", 12.7),
        # lumber quarters: the rough thickness of hardwood in quarters of an inch (common practice)
        ("3/4", 19.05),
        ("4/4", 25.4),
        ("5/4", 31.75),
        ("8/4", 50.8),
        ("16/4", 101.6),
    ],
)
def test_reads_what_people_type(typed: object, mm: float) -> None:
    assert parse_length(typed) == pytest.approx(mm, abs=1e-9)


def test_plain_numbers_are_in_the_jobs_units() -> None:
    assert parse_length("2 1/4", "in") == pytest.approx(57.15)
    assert parse_length(2.25, "in") == pytest.approx(57.15)
    assert parse_length("1/2", "in") == pytest.approx(12.7)
    assert parse_length("8/4", "in") == parse_length("8/4", "mm") == pytest.approx(50.8)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "7' 6 1/2"),
        ("abc", "1.2 m"),
        ("nan", "not a length"),
        ("inf", "not a length"),
        ("1e3", "not a length"),
        ("7 apples", "not a length"),
        ("2-3 mm", "not a length"),
        ("7\" 6'", "mixes units"),
        ("1 m 6 in", "mixes units"),
        ("1 m 2", "without a unit"),
        ("1,200", "two ways"),
        ("1/2", "1/2 in, or 1/2 mm"),
        ("2 5/4 in", "less than one"),
        ("1/0 in", "nothing"),
        ("9" * 61, "not a length"),
        ("9" * 30, "shop"),
        (True, "not a length"),
        (None, "not a length"),
        ([1], "not a length"),
        (math.nan, "shop"),
        (math.inf, "shop"),
        (10**400, "shop"),
        (2e6, "shop"),
    ],
)
def test_says_what_would_be_right(typed: object, says: str) -> None:
    with pytest.raises(QuantityError, match=says) as caught:
        parse_length(typed)
    assert "\n" not in str(caught.value) and len(str(caught.value)) < 220


@pytest.mark.parametrize(
    ("mm", "units", "text"),
    [
        (1200.0, "metric", "1200 mm"),
        (41.2, "metric", "41.2 mm"),
        (41.0, "metric", "41 mm"),
        (0.25, "metric", "0.25 mm"),
        (0.004, "metric", "0.004 mm"),
        (-0.0001, "metric", "0 mm"),
        (-41.26, "metric", "-41.3 mm"),
        (2298.7, "inch", "7' 6 1/2\""),
        (2286.0, "inch", "7' 6\""),
        (609.5, "inch", "2' 0\""),
        (41.275, "inch", '1 5/8"'),
        (-41.275, "inch", '-1 5/8"'),
        (0.79375, "inch", '0.031"'),
        (0.25, "inch", '0.010"'),
        (3.175, "inch", '1/8"'),
        (0.0, "inch", '0"'),
    ],
)
def test_prints_what_people_read(mm: float, units: Units, text: str) -> None:
    assert format_length(mm, units) == text


def test_asked_for_decimals_stay_and_inches_are_as_fine() -> None:
    assert format_length(41.0, "metric", 1) == "41.0 mm"
    assert format_length(41.2, "inch", 1) == '1.622"'


def test_nearest_fraction_tells_how_far_it_is_off() -> None:
    text, error = nearest_fraction(41.2, 16)
    assert text == '1 5/8"'
    assert error == pytest.approx(1.625 * 25.4 - 41.2)
    assert nearest_fraction(25.4 * 3 / 32, 32)[0] == '3/32"'


# Exact factors: NIST SP 811 (2008), appendix B: pound 0.453 592 37 kg, US gallon 3.785 412 l, square foot 0.092 903 04 m2.
def test_other_quantities() -> None:
    assert format_mass(0.45359237 * 27.1, "inch") == "27.1 lb"
    assert format_mass(0.45359237 / 2, "inch") == "8 oz"
    assert (format_mass(12.34, "metric"), format_mass(0.35, "metric")) == ("12.3 kg", "350 g")
    assert format_volume(25.4**3 * 3456, "inch") == "2.00 cu ft"
    assert format_volume(25.4**3 * 14.4, "inch") == "14 cu in"
    assert (format_volume(2.5e5, "metric"), format_volume(1.25e6, "metric")) == ("250 ml", "1.25 l")
    assert format_area(92903.04 * 5, "inch") == "5 sq ft"
    assert format_area(645.16 * 30, "inch") == "30 sq in"
    assert (format_area(5.2e5, "metric"), format_area(1250.0, "metric")) == ("0.52 m²", "12 cm²")
    assert format_angle(0.314) == "0.31°"


@pytest.mark.parametrize("typed", ["41/8", "17/16", "41/4", "100/4 "])
def test_a_fraction_of_more_than_a_whole_is_a_lost_space(typed: str) -> None:
    with pytest.raises(QuantityError):
        parse_length(typed, "in")


def test_a_promised_length_is_never_rounded_up() -> None:
    assert format_least(37.149, "metric") == "37.1 mm"
    assert format_least(1.4629 * 25.4, "inch") == '1.462"'
    assert format_least(38.1, "inch") == '1.500"'


def test_forces() -> None:
    assert (format_force(43.2, "metric"), format_force(44.5, "inch")) == ("43 N", "10 lbf")
    assert (format_force(2504.4, "metric"), format_force(-0.2, "metric")) == ("2\u00a0504 N", "0 N")
    # 1 lbf/in = 0.1751268 N/mm and 1 ksi = 6.894757 MPa (NIST SP 811, appendix B.8).
    assert (format_stiffness(30.0, "metric"), format_stiffness(0.1751268 * 250, "inch")) == ("30 N/mm", "250 lbf/in")
    assert (format_stress(235.4, "metric"), format_stress(6.894757 * 36, "inch")) == ("235 MPa", "36 ksi")
