from __future__ import annotations

import numpy as np
import pytest

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Floats
from slabwright.geometry.rigid import RigidFitError, fit_rigid


def turned(angle: float) -> Floats:
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])


def test_plane_exact() -> None:
    points = np.array([(0.0, 0.0), (900.0, 30.0), (2200.0, -80.0)])
    fit = fit_rigid(points, points @ turned(0.02).T + (5.0, -3.0))
    assert fit.turn == pytest.approx(0.02, abs=1e-12)
    assert fit.shift == pytest.approx([5.0, -3.0], abs=1e-9)
    assert fit.rms < 1e-9
    assert not fit.mirrored


def test_space_exact_with_weights() -> None:
    draw = np.random.default_rng(2)
    points = draw.uniform(-500.0, 500.0, (6, 3))
    axis = np.array([0.48, 0.6, 0.64])
    cross = np.cross(np.eye(3), axis)
    rotation = np.eye(3) + np.sin(0.3) * -cross + (1 - np.cos(0.3)) * cross @ cross
    fit = fit_rigid(points, points @ rotation.T + (1.0, 2.0, 3.0), draw.uniform(0.5, 2.0, 6))
    assert fit.rotation == pytest.approx(rotation, abs=1e-12)
    assert fit.turn == pytest.approx(0.3, abs=1e-12)
    assert fit.apply(points[:1]) == pytest.approx(points[:1] @ rotation.T + (1.0, 2.0, 3.0))


def test_weight_of_two_is_the_point_twice() -> None:
    draw = np.random.default_rng(3)
    moving, fixed = draw.normal(0.0, 100.0, (4, 2)), draw.normal(0.0, 100.0, (4, 2))
    once = fit_rigid(moving, fixed, np.array([2.0, 1.0, 1.0, 1.0]))
    twice = fit_rigid(np.vstack([moving, moving[:1]]), np.vstack([fixed, fixed[:1]]))
    assert once.rotation == pytest.approx(twice.rotation)
    assert once.shift == pytest.approx(twice.shift)
    assert once.information == pytest.approx(twice.information)


def test_mirrored_points_are_not_mirrored() -> None:
    points = np.array([(0.0, 0.0), (1000.0, 0.0), (1000.0, 400.0), (100.0, 300.0)])
    fit = fit_rigid(points, points * (1.0, -1.0))
    assert np.linalg.det(fit.rotation) == pytest.approx(1.0)
    assert fit.mirrored


def test_flat_points_in_space_fix_the_turn() -> None:
    points = np.array([(0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)])
    fit = fit_rigid(points, points @ np.diag([1.0, -1.0, -1.0]))
    assert fit.rotation == pytest.approx(np.diag([1.0, -1.0, -1.0]))
    assert not fit.mirrored


def test_covariance_is_what_comes_out() -> None:
    draw = np.random.default_rng(11)
    points = np.array([(0.0, 0.0), (800.0, 100.0), (400.0, 600.0)])
    weights = np.array([1.0, 4.0, 0.25])
    truth = fit_rigid(points, points, weights)
    drawn = []
    for _ in range(1500):
        fit = fit_rigid(points, points + draw.normal(0.0, 0.2, (3, 2)) / np.sqrt(weights)[:, None], weights)
        drawn.append(np.append(fit.turn, fit.apply(truth.centre[None])[0] - truth.centre))
    expected = truth.covariance(0.2)
    deviation = np.sqrt(np.diag(expected))
    scale = np.outer(deviation, deviation)
    assert np.cov(np.array(drawn).T) / scale == pytest.approx(expected / scale, abs=0.12)


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ([(0.0, 0.0)], "1 points do not fix"),
        ([(5.0, 5.0), (5.0, 5.0)], "coincide"),
        ([(0.0, 0.0, 0.0), (1.0, 0.0, 0.0)], "3 or more are wanted"),
        ([(0.0, 0.0, 0.0), (1.0, 1.0, 1.0), (3.0, 3.0, 3.0)], "lie in a line"),
        ([(0.0, 0.0), (np.nan, 1.0)], "not a finite number"),
        ([(0.0,), (1.0,)], "n by 2 or n by 3"),
    ],
)
def test_points_that_fix_nothing(points: list[tuple[float, ...]], said: str) -> None:
    with pytest.raises(RigidFitError, match=said):
        fit_rigid(np.array(points), np.array(points))


def test_bad_weights() -> None:
    points = np.array([(0.0, 0.0), (1.0, 0.0)])
    with pytest.raises(SlabwrightError, match="weight"):
        fit_rigid(points, points, np.array([1.0, 0.0]))
