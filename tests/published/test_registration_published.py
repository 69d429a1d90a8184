"""Locating against published formulae and figures worked out separately."""

from __future__ import annotations

import math

import numpy as np
import pytest

from slabwright.geometry.touches import covariance_at, radius_within
from slabwright.job.top_models import Datum
from slabwright.machine.registration import locate


def points(places: list[tuple[float, float]], error: float) -> list[Datum]:
    return [
        Datum(name=f"hole {index}", kind="point", stated=place, touched=place, error=error)
        for index, place in enumerate(places)
    ]


def test_four_corners() -> None:
    # The plane's case of Fitzpatrick, West and Maurer, IEEE TMI 17(5), 1998, equation 46 (derived):
    # s^2 (2 / N + r^2 / sum(rho_i^2)); 1.24265 s^2 was worked out separately, with 1.234 by 40,000 simulated fits.
    located = locate(
        points([(0.0, 0.0), (1000.0, 0.0), (1000.0, 600.0), (0.0, 600.0)], 1.0), {"a": (1500.0, 200.0, 9.0)}
    )
    feature = located.features[0]
    assert feature.error_along**2 + feature.error_across**2 == pytest.approx(1.24265, abs=1e-5)


@pytest.mark.parametrize("seed", range(5))
def test_any_points_of_equal_error(seed: int) -> None:
    # The same formula: 2 s^2 / N + s^2 r^2 / sum(r_i^2) about the centroid.
    draw = np.random.default_rng(seed)
    places = draw.uniform(0.0, 1500.0, (3 + seed, 2))
    s, target = 0.07, np.array((400.0, -900.0))
    located = locate(points([(float(x), float(y)) for x, y in places], s), {"a": (400.0, -900.0, 9.0)})
    centre = places.mean(axis=0)
    wanted = 2.0 * s**2 / len(places) + s**2 * ((target - centre) ** 2).sum() / ((places - centre) ** 2).sum()
    feature = located.features[0]
    assert feature.error_along**2 + feature.error_across**2 == pytest.approx(wanted, rel=1e-9)


def test_edges_do_not_follow_the_formula_of_points() -> None:
    places = [(200.0, -300.0), (1400.0, -300.0), (0.0, 100.0)]
    kinds = ("edge along", "edge along", "edge across")
    edges = [
        Datum.model_validate({"name": f"edge {i}", "kind": kind, "stated": place, "touched": place, "error": 0.05})
        for i, (kind, place) in enumerate(zip(kinds, places, strict=True))
    ]
    one = locate(edges, {"a": (800.0, 0.0, 9.0)}).features[0]
    other = locate(points(places, 0.05), {"a": (800.0, 0.0, 9.0)}).features[0]
    assert math.hypot(one.error_along, one.error_across) > 1.2 * math.hypot(other.error_along, other.error_across)


def test_radius_of_round_and_flat_errors() -> None:
    # Round errors: the Rayleigh distribution, sqrt(-2 ln 0.01) = 3.0349 standard errors. Errors along one line: the normal
    # distribution's 0.995 quantile, 2.5758 (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1).
    radii = radius_within(np.array([np.diag([1.0, 1.0]), np.diag([1.0, 0.0])]))
    assert radii == pytest.approx([3.0348543, 2.5758293], abs=1e-6)


def test_root_mean_square_is_exceeded_a_third_of_the_time() -> None:
    # For round errors the chance of more than the root mean square (sqrt 2 standard errors) is exp(-1) = 0.368.
    located = locate(points([(0.0, 0.0), (1000.0, 0.0), (1000.0, 600.0), (0.0, 600.0)], 0.05), {})
    around = covariance_at(located.covariance, np.array([(500.0, 300.0)]))
    root_mean_square = math.sqrt(float(np.trace(around[0])))
    assert radius_within(around, 1.0 - math.exp(-1.0))[0] == pytest.approx(root_mean_square, rel=1e-6)
