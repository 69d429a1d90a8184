"""Rigid fits against published examples and formulae."""

from __future__ import annotations

import numpy as np
import pytest

from slabwright.geometry.rigid import fit_rigid


def test_umeyama_example_without_scale() -> None:
    # Points of the example in Umeyama, IEEE PAMI 13(4), 1991, mirrored but for noise; the proper rotation is the published
    # one, [[0.832, 0.555], [-0.555, 0.832]]. Shift and squares for scale 1 were worked out separately.
    fit = fit_rigid(np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 2.0)]), np.array([(0.0, 0.0), (-1.0, 0.0), (0.0, 2.0)]))
    assert fit.rotation == pytest.approx(np.array([[0.83205029, 0.5547002], [-0.5547002, 0.83205029]]), abs=1e-7)
    assert fit.shift == pytest.approx([-0.9804836, 0.2968665], abs=1e-7)
    assert float((fit.residuals**2).sum()) == pytest.approx(1.8592650, abs=1e-7)
    assert fit.rms == pytest.approx(0.7872452, abs=1e-7)
    assert np.linalg.det(fit.rotation) == pytest.approx(1.0)
    assert fit.mirrored


def test_procrustes_example_in_space() -> None:
    # Data and rotation of scikit-surgerycore, tests/algorithms/test_procrustes.py (BSD 3-clause), to its four decimals.
    moving = np.array(
        [
            (192.833, 290.286, 155.423),
            (295.688, 287.97, 71.5776),
            (301.155, 183.623, -131.876),
            (102.167, 66.2676, -150.349),
            (15.3302, 48.0055, -47.9328),
        ]
    )
    fixed = np.array(
        [
            (39.3047, 71.7057, 372.72),
            (171.844, 65.8063, 376.325),
            (312.044, 77.5614, 196.0),
            (176.528, 78.7922, 8.0),
            (43.4659, 53.2688, 10.5),
        ]
    )
    fit = fit_rigid(moving, fixed)
    published = np.array([[0.7431, 0.0, -0.6691], [-0.4211, 0.7771, -0.4677], [0.52, 0.6293, 0.5775]])
    assert fit.rotation == pytest.approx(published, abs=1e-4)
    assert fit.shift == pytest.approx(np.zeros(3), abs=2e-3)
    assert fit.rms == pytest.approx(0.00034, abs=5e-5)
    assert not fit.mirrored


FIDUCIALS = np.array([(1.0, 1.0, 0.0), (-0.5, 0.5, 0.0), (-1.0, -1.0, 0.0), (0.5, -0.5, 0.0)])


def test_target_error_in_space() -> None:
    # Fitzpatrick, West and Maurer, IEEE TMI 17(5), 1998, equation 46; total variance of a fiducial 1, so 1/3 per axis.
    fit = fit_rigid(FIDUCIALS, FIDUCIALS)
    per_axis = np.sqrt(1.0 / 3.0)
    assert np.trace(fit.covariance_at(np.zeros(3), per_axis)) == pytest.approx(0.25, abs=1e-12)
    assert np.trace(fit.covariance_at(np.array([2.0, 0.0, 0.0]), per_axis)) == pytest.approx(1.35, abs=1e-12)


def test_fiducial_error_in_space() -> None:
    # The same paper: the mean squared residual is (1 - 2/N) of the fiducials' variance: 0.5 for four of them.
    draw = np.random.default_rng(5)
    squares = [
        fit_rigid(FIDUCIALS, FIDUCIALS + draw.normal(0.0, 1e-3 / np.sqrt(3.0), (4, 3))).rms ** 2 / 1e-6
        for _ in range(1500)
    ]
    assert np.mean(squares) == pytest.approx(0.5, abs=4.0 * np.std(squares) / np.sqrt(len(squares)))


def test_target_error_in_the_plane() -> None:
    # The same in the plane: s^2 (2 / N + r^2 / sum(rho_i^2)), derived; 1.24265 s^2 was worked out separately.
    corners = np.array([(0.0, 0.0), (1000.0, 0.0), (1000.0, 600.0), (0.0, 600.0)])
    target = np.array([1500.0, 200.0])
    fit = fit_rigid(corners, corners)
    assert np.trace(fit.covariance_at(target, 1.0)) == pytest.approx(1.24265, abs=1e-5)
    draw = np.random.default_rng(8)
    missed = [
        float(((fit_rigid(corners + draw.normal(0.0, 0.1, (4, 2)), corners).apply(target[None]) - target) ** 2).sum())
        for _ in range(1500)
    ]
    assert np.mean(missed) / 0.01 == pytest.approx(1.24265, abs=4.0 * np.std(missed) / 0.01 / np.sqrt(len(missed)))
