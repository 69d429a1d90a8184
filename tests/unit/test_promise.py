"""The promised thickness: is it kept, what does it lose to what, and where would a reading help?"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from bench.promise import case, survey_of
from bench.truths import readings, truth
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

from slabwright.geometry.faces import Floats, Scatter
from slabwright.geometry.gaussian import Posterior, basis
from slabwright.geometry.planes import PlanePair
from slabwright.slab.hidden import Hidden, hidden_surface
from slabwright.slab.promise import between_readings, read_next

LEVEL = PlanePair(0.0, 0.0, 60.0, 0.0)


def stations(spacing: float, border: bool) -> tuple[Floats, Floats]:
    first = 0.0 if border else spacing / 2.0
    x, y = np.arange(first, 1200.1, spacing), np.arange(first, 600.1, spacing)
    across, along = np.meshgrid(y, x)
    return along.ravel(), across.ravel()


def hidden_of(
    spacing: float,
    border: bool = True,
    roughness: float = 0.0,
    shape: Callable[[Floats, Floats], Floats] = lambda x, y: 1e-6 * (x - 600.0) ** 2,
    seed: int = 0,
) -> Hidden:
    x, y = stations(spacing, border)
    generator = np.random.default_rng(seed)
    noise = np.hypot(roughness, 0.1)
    upper = Scatter(x, y, 60.0 + shape(x, y) + generator.normal(0.0, noise, x.size))
    lower = Scatter(x, y, -shape(x, y) + generator.normal(0.0, noise, x.size))
    return hidden_surface(survey_of(upper, lower, 1200.0, 600.0, spacing))


def median_loss(hidden: Hidden) -> float:
    between = between_readings(hidden, LEVEL)
    return float(np.median(between.loss_a + between.loss_b))


def test_promise_is_kept_by_most_slabs_and_not_by_giving_all_away() -> None:
    cases = [case(50_000 + i, i % 2 == 1, (100.0, 200.0)[i // 2 % 2], i // 4 % 2 == 0) for i in range(24)]
    assert sum(c.board >= c.low for c in cases) >= 20
    assert np.median([c.read - c.low for c in cases]) < 3.0 * np.median([c.read - c.board for c in cases])


def test_thickness_of_the_readings_alone_is_seldom_kept() -> None:
    cases = [case(60_000 + i, True, 200.0, False) for i in range(6)]
    assert not any(c.board >= c.read for c in cases)


def test_rough_faces_lose_more_than_smooth_ones() -> None:
    assert median_loss(hidden_of(100.0, roughness=0.6)) > median_loss(hidden_of(100.0)) + 0.5


def test_gauge_noise_is_not_taken_for_roughness() -> None:
    hidden = hidden_of(50.0)
    assert hidden.face_a.roughness < 0.05
    assert hidden_of(50.0, roughness=0.6).face_a.roughness == pytest.approx(0.6, rel=0.15)


def test_unread_border_loses_more_than_a_read_one() -> None:
    def sagging_ends(x: Floats, y: Floats) -> Floats:
        return -8e-6 * (x - 600.0) ** 2 - 8e-6 * (y - 300.0) ** 2

    unread = median_loss(hidden_of(100.0, border=False, shape=sagging_ends))
    assert unread > median_loss(hidden_of(100.0, shape=sagging_ends)) + 0.3


def test_fifteen_stations_still_give_a_promise() -> None:
    x, y = (g.ravel() for g in np.meshgrid(np.linspace(0, 2400, 5), np.linspace(0, 900, 3), indexing="ij"))
    z = np.random.default_rng(4).normal(0.0, 0.5, x.size)
    hidden = hidden_surface(survey_of(Scatter(x, y, 50.0 + z), Scatter(x, y, z[::-1]), 2400.0, 900.0, 450.0))
    loss = between_readings(hidden, LEVEL)
    assert 0.0 < np.median(loss.loss_a + loss.loss_b) < 15.0


def test_a_scan_finer_than_the_roughness_hides_nothing() -> None:
    x, y = (g.ravel() for g in np.meshgrid(np.arange(0.0, 301.0, 5.0), np.arange(0.0, 201.0, 5.0), indexing="ij"))
    face = Scatter(x, y, np.random.default_rng(1).normal(40.0, 0.5, x.size))
    hidden = hidden_surface(survey_of(face, Scatter(x, y, face.z - 40.0), 300.0, 200.0, 5.0))
    between = between_readings(hidden, LEVEL)
    assert not between.loss_a.any()
    assert "finer" in between.note
    assert read_next(hidden, LEVEL, between) == ()


def test_same_seed_same_draws() -> None:
    first, again = (between_readings(hidden_of(100.0), LEVEL) for _ in range(2))
    np.testing.assert_array_equal(first.loss_a, again.loss_a)


def test_a_shorter_stretch_loses_by_its_own_readings() -> None:
    hidden = hidden_of(100.0, roughness=0.5)
    inner = between_readings(hidden, LEVEL, 0.0, 1200.0)
    np.testing.assert_array_equal(inner.loss_a, between_readings(hidden, LEVEL).loss_a)
    with pytest.raises(ValueError, match="no reading"):
        between_readings(hidden, LEVEL, 5000.0, 6000.0)


def test_next_reading_goes_where_nothing_was_read() -> None:
    def falling(x: Floats, y: Floats) -> Floats:
        return -4e-6 * x**2

    x, y = stations(100.0, True)
    kept = x <= 900.0
    upper = Scatter(x[kept], y[kept], 60.0 + falling(x, y)[kept])
    lower = Scatter(x[kept], y[kept], np.zeros(int(kept.sum())))
    hidden = hidden_surface(survey_of(upper, lower, 1200.0, 600.0, 100.0))
    places = read_next(hidden, LEVEL, between_readings(hidden, LEVEL))
    assert len(places) == 3
    assert places[0].face == "A"
    assert places[0].x > 900.0
    assert places[0].narrows > 0.0


def test_a_slab_read_only_in_the_middle_promises_less() -> None:
    slab = truth(5, False)
    upper, lower = readings(slab, 100.0, True, 0.1, 5)

    def loss(kept: NDArray[np.bool_]) -> float:
        above, below = (Scatter(face.x[kept], face.y[kept], face.z[kept]) for face in (upper, lower))
        hidden = hidden_surface(survey_of(above, below, 2400.0, 950.0, 100.0))
        between = between_readings(hidden, LEVEL)
        return float(np.quantile(between.loss_a + between.loss_b, 0.95))

    assert loss(np.abs(upper.x - 1200.0) < 700.0) > loss(np.ones(len(upper), dtype=bool)) + 1.0


def test_mean_surface_is_that_of_the_full_covariance() -> None:
    """Against the textbook equations of a Gaussian process, solved with the full matrix of the readings."""
    generator = np.random.default_rng(8)
    x, y = generator.uniform(0.0, 1200.0, 90), generator.uniform(0.0, 600.0, 90)
    z = np.sin(x / 200.0) + np.cos(y / 150.0) + generator.normal(0.0, 0.1, x.size)
    scale, ratio = 220.0, 30.0
    posterior = Posterior(basis(x, y, 500.0, 80.0, 2000, 6), x, y, z, 0.1)
    fit = posterior.fit(scale, scale, ratio, False)
    trend = posterior.values[:, :6]

    def covariance(at_x: Floats, at_y: Floats, at_trend: Floats) -> Floats:
        apart = (at_x[:, None] - x) ** 2 + (at_y[:, None] - y) ** 2
        return np.asarray(ratio * np.exp(-0.5 * apart / scale**2) + 1e6 * at_trend @ trend.T)

    there_x, there_y = generator.uniform(0.0, 1200.0, 20), generator.uniform(0.0, 600.0, 20)
    there = posterior.functions.at(there_x, there_y)
    matrix = covariance(x, y, trend) + np.eye(x.size)
    expected = covariance(there_x, there_y, there[:, :6]) @ cho_solve(cho_factor(matrix), z)
    mean = there[:, fit.kept] @ (fit.root[fit.kept] * fit.mean)
    np.testing.assert_allclose(mean, expected, atol=0.01)
