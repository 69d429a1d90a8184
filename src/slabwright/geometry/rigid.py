"""The turn and shift that bring one set of points onto another, without scale and without mirroring."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Floats

_IN_LINE = 1e-6


class RigidFitError(SlabwrightError):
    """Points that do not fix a turn and a shift."""


@dataclass(frozen=True)
class RigidFit:
    """A fitted turn and shift: fixed = rotation @ moving + shift.

    Attributes:
        rotation: proper rotation, shape (d, d), d = 2 or 3
        shift: shape (d,) [mm]
        residuals: mapped moving points less fixed ones, shape (n, d) [mm]
        rms: root of the weighted mean of the squared distances [mm]
        centre: weighted centroid of the fixed points; the turn of `covariance` is about it, shape (d,) [mm]
        mirrored: true where mirroring would fit better: an axis may have been read the wrong way round
        information: inverse covariance for a standard error of 1 per axis, of (turns [rad], shift at the centre [mm]),
            shape (3, 3) in 2D, (6, 6) in 3D
    """

    rotation: Floats
    shift: Floats
    residuals: Floats
    rms: float
    centre: Floats
    mirrored: bool
    information: Floats

    def apply(self, points: Floats) -> Floats:
        """Moving points, shape (n, d), brought onto the fixed ones [mm]."""
        return np.asarray(points @ self.rotation.T + self.shift)

    @property
    def turn(self) -> float:
        """Turn in the plane, counter-clockwise, of a 2D fit; the angle of the turn of a 3D fit [rad]."""
        if len(self.shift) == 2:
            return float(np.arctan2(self.rotation[1, 0], self.rotation[0, 0]))
        off = self.rotation - self.rotation.T
        sine = np.sqrt((off**2).sum() / 8.0)
        return float(np.arctan2(sine, (np.trace(self.rotation) - 1.0) / 2.0))

    def covariance(self, standard_error: float) -> Floats:
        """Covariance of (turns about the centre [rad], shift at the centre [mm]).

        Args:
            standard_error: of each coordinate of a point of weight 1 [mm]

        Returns:
            Shape (3, 3) in 2D, (6, 6) in 3D.
        """
        return np.asarray(standard_error**2 * np.linalg.inv(self.information))

    def covariance_at(self, point: Floats, standard_error: float) -> Floats:
        """Covariance of where a fixed-frame place really lies: J C J' of the fit alone.

        With equal weights in 2D its trace is s^2 (2 / N + r^2 / sum(rho_i^2)); in 3D it is the target registration error of
        Fitzpatrick, West and Maurer [1]_.

        Args:
            point: place in the fixed frame, shape (d,) [mm]
            standard_error: of each coordinate of a point of weight 1 [mm]

        Returns:
            Shape (d, d) [mm2].

        References:
            .. [1] Fitzpatrick, West, Maurer, "Predicting error in rigid-body point-based registration", IEEE Transactions on
               Medical Imaging 17(5), 1998, equation 46.
        """
        jacobian = _jacobian(np.asarray(point, dtype=np.float64)[None, :] - self.centre)[0]
        return np.asarray(jacobian @ self.covariance(standard_error) @ jacobian.T)


def fit_rigid(moving: Floats, fixed: Floats, weights: Floats | None = None) -> RigidFit:
    """Turn and shift of least weighted squared distances, fixed = R moving + t, with det R = +1.

    By the singular values of the cross covariance [1]_, the last one's sign flipped where mirroring would fit better [2]_.

    Args:
        moving: shape (n, 2) or (n, 3) [mm]
        fixed: the same points in the other frame, same shape [mm]
        weights: shape (n,), in proportion to 1 / variance; equal if left out

    Raises:
        RigidFitError: shapes that differ, numbers that are not finite, weights that are not positive, fewer than two points (2D)
            or three (3D), points that coincide (2D) or lie in a line (3D)

    References:
        .. [1] Kabsch, "A solution for the best rotation to relate two sets of vectors", Acta Crystallographica A32, 1976.
        .. [2] Umeyama, "Least-squares estimation of transformation parameters between two point patterns", IEEE Transactions on
           Pattern Analysis and Machine Intelligence 13(4), 1991.
    """
    moving = np.asarray(moving, dtype=np.float64)
    fixed = np.asarray(fixed, dtype=np.float64)
    if moving.ndim != 2 or moving.shape[1] not in (2, 3) or moving.shape != fixed.shape:
        raise RigidFitError(
            f"points of both frames must be alike, n by 2 or n by 3; these are {moving.shape} and {fixed.shape}"
        )
    count, axes = moving.shape
    weight = np.ones(count) if weights is None else np.asarray(weights, dtype=np.float64)
    if weight.shape != (count,) or not (np.isfinite(weight).all() and (weight > 0).all()):
        raise RigidFitError("each point wants one weight, finite and greater than zero")
    if not (np.isfinite(moving).all() and np.isfinite(fixed).all()):
        raise RigidFitError("a coordinate is not a finite number")
    if count < axes:
        raise RigidFitError(f"{count} points do not fix a turn and a shift; {axes} or more are wanted, well apart")
    share = weight / weight.sum()
    centre_moving, centre_fixed = share @ moving, share @ fixed
    from_moving, from_fixed = moving - centre_moving, fixed - centre_fixed
    for spread, name in ((from_moving, "first"), (from_fixed, "second")):
        sizes = np.linalg.svd(spread, compute_uv=False)
        largest = float(np.abs(spread).max())
        if largest == 0.0 or (axes == 3 and sizes[1] <= _IN_LINE * sizes[0]):
            fault = "coincide" if axes == 2 or largest == 0.0 else "lie in a line"
            raise RigidFitError(f"the points of the {name} frame {fault}; take them well apart")
    left, size, right = np.linalg.svd((from_fixed * share[:, None]).T @ from_moving)
    proper = np.linalg.det(left) * np.linalg.det(right) > 0
    flip = np.ones(axes)
    flip[-1] = 1.0 if proper else -1.0
    rotation = (left * flip) @ right
    shift = centre_fixed - rotation @ centre_moving
    residuals = moving @ rotation.T + shift - fixed
    jacobian = _jacobian(from_moving @ rotation.T)
    information = np.einsum("n,nij,nik->jk", weight, jacobian, jacobian)
    return RigidFit(
        rotation=rotation,
        shift=shift,
        residuals=residuals,
        rms=float(np.sqrt(share @ (residuals**2).sum(axis=1))),
        centre=centre_fixed,
        mirrored=bool(not proper and size[-1] > _IN_LINE * size[0]),
        information=information,
    )


def _jacobian(arms: Floats) -> Floats:
    """Change of points by small turns about the centre and a shift, shape (n, d, parameters)."""
    count, axes = arms.shape
    turns = 1 if axes == 2 else 3
    jacobian = np.zeros((count, axes, turns + axes))
    jacobian[:, :, turns:] = np.eye(axes)
    if axes == 2:
        jacobian[:, 0, 0], jacobian[:, 1, 0] = -arms[:, 1], arms[:, 0]
    else:
        x, y, z = arms.T
        jacobian[:, 0, 1], jacobian[:, 0, 2] = z, -y
        jacobian[:, 1, 0], jacobian[:, 1, 2] = -z, x
        jacobian[:, 2, 0], jacobian[:, 2, 1] = y, -x
    return jacobian
