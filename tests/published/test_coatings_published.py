"""Coatings against published worked examples and a data sheet's own figures."""

from __future__ import annotations

import pytest

from slabwright.finish.coating_film import coverage, coverage_us, practical, wet_film
from slabwright.finish.coating_systems import examples
from slabwright.finish.coating_times import time_at, times_at
from slabwright.job.coating_fields import M2_PER_LITRE
from slabwright.job.finish_models import Coating
from slabwright.reference.coatings import dew_point


def test_theoretical_coverage_of_the_united_states() -> None:
    # 231 cubic inches, a thousandth of an inch thick: 231 x 1000 / 144 sq ft. Estimating books print 1604.
    assert coverage_us(100.0, 1.0) == pytest.approx(231_000.0 / 144.0, rel=1e-13)
    assert round(coverage_us(100.0, 1.0)) == 1604
    for solids in (12.5, 40.0, 52.0, 65.0, 100.0):
        for mils in (0.5, 1.0, 2.5, 5.0, 16.0):
            assert coverage_us(solids, mils) == pytest.approx(231_000.0 / 144.0 * solids / 100.0 / mils, rel=1e-13)


def test_theoretical_coverage_in_metric_units() -> None:
    # 10 x volume solids in percent / dry film in micrometres.
    for solids in (12.5, 40.0, 52.0, 65.0, 100.0):
        for film in (15.0, 40.0, 60.0, 125.0, 400.0):
            assert coverage(solids, film) == 10.0 * solids / film
            assert coverage(solids, film) == pytest.approx(coverage_us(solids, film / 25.4) * M2_PER_LITRE, rel=1e-13)


def test_worked_examples_of_spreading_rates() -> None:
    # "Spreading Rate", a coatings inspector's training sheet: 65 % solids at 5.0 mils: 208.52 sq ft per gallon (with 1604 for
    # 1604.17); 65 % at 125 micrometres: 5.2 square metres per litre.
    assert round(coverage_us(65.0, 5.0) * 1604.0 / (231_000.0 / 144.0), 2) == 208.52
    assert coverage_us(65.0, 5.0) == pytest.approx(208.52, rel=1.1e-4)
    assert round(coverage(65.0, 125.0), 10) == 5.2


def test_worked_example_with_transfer_efficiency() -> None:
    # An estimating column of a paint trade site, October 2003: 1604 x 0.52 x 0.30 / 1.5 mils = 167 sq ft per gallon.
    assert round(practical(coverage_us(52.0, 1.5), 0.70)) == 167
    # A corrosion dictionary, "practical spreading rate": 100 less 30 % is 70.
    assert practical(100.0, 0.30) == pytest.approx(70.0)


def test_a_gallon_over_a_hundred_square_feet_is_sixteen_mils_wet() -> None:
    # A coating supplier's data sheet: 16 mils (16.04).
    assert round(wet_film(16.0417, 100.0), 2) == 16.04
    assert coverage_us(100.0, 16.0417) == pytest.approx(100.0, rel=1e-4)


def test_pot_life_by_the_temperature_rule() -> None:
    # A trade article on the 18 F rule: 4 h at 23 degrees: 8 h at 13, 2 h at 33, 1 h at 43.
    for temperature, hours in ((13.0, 8.0), (23.0, 4.0), (33.0, 2.0), (43.0, 1.0)):
        assert time_at([(23.0, 4.0)], temperature, 2.0)[0] == pytest.approx(hours)


def test_dew_points() -> None:
    # Dew points of a psychrometric table, to 0.1 degree, from memory.
    for temperature, humidity, dew in ((20.0, 50.0, 9.3), (25.0, 60.0, 16.7), (15.0, 80.0, 11.6), (20.0, 100.0, 20.0)):
        assert dew_point(temperature, humidity) == pytest.approx(dew, abs=0.06)


WINDOWS = {10.0: (16.0, 96.0), 20.0: (7.0, 48.0), 30.0: (4.0, 30.0)}
SCUFFED = {10.0: (30.0, 400.0), 20.0: (14.0, 240.0), 30.0: (8.0, 150.0)}


def sheet() -> Coating:
    def window(pair: tuple[float, float]) -> dict[str, float]:
        return {"least": pair[0], "greatest": pair[1]}

    return Coating.model_validate(
        {
            "name": "an invented paint",
            "coverage": 9.0,
            "without_sanding": window(WINDOWS[20.0]),
            "after_scuffing": window(SCUFFED[20.0]),
            "cure": 168,
            "more": {
                "at": [
                    {
                        "temperature": at,
                        "without_sanding": window(WINDOWS[at]),
                        "after_scuffing": window(SCUFFED[at]),
                    }
                    for at in (30.0, 10.0)
                ]
            },
        }
    )


@pytest.mark.parametrize("temperature", sorted(WINDOWS))
def test_windows_are_the_sheets_own_at_its_own_temperatures(temperature: float) -> None:
    times = times_at(sheet(), temperature)
    assert times.without_sanding == WINDOWS[temperature]
    assert times.after_scuffing == SCUFFED[temperature]
    assert times.basis == "as the sheet says"


def test_between_two_temperatures_of_the_sheet_the_window_is_their_geometric_mean() -> None:
    times = times_at(sheet(), 15.0)
    assert times.without_sanding[0] == pytest.approx((16.0 * 7.0) ** 0.5)
    assert times.without_sanding[1] == pytest.approx((96.0 * 48.0) ** 0.5)
    assert times.basis == "between the sheet's temperatures"


@pytest.mark.parametrize("coating", [each for each in examples() if each.more.at], ids=lambda coating: coating.name)
def test_windows_of_the_examples_at_10_20_and_30_degrees(coating: Coating) -> None:
    stated = {20.0: (coating.without_sanding, coating.pot_life)}
    for point in coating.more.at:
        assert point.without_sanding is not None
        stated[point.temperature] = (point.without_sanding, point.pot_life)
    assert sorted(stated) == [10.0, 20.0, 30.0]
    for temperature, (window, pot_life) in stated.items():
        times = times_at(coating, temperature)
        assert times.without_sanding == (window.least, window.greatest)
        assert times.pot_life == pot_life
