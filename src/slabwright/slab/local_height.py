"""Height of a face at a place between its readings, and how sure it is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Face, Floats, Grid, Scatter, as_scatter

NEAREST = 16
"""Readings that a local height rests on."""
_SAME_PLACE = 1.0
_CURVED_FROM = 10
_OFF = 0.05


def local_height(face: Face, x: float, y: float, reading_error: float) -> tuple[float, float]:
    """Height of a face at a place, from the 16 readings nearest to it.

    Two surfaces are tried: the quadratic of least squares, nearer readings weighing more, which smooths the gauge's noise;
    and the thin plate through all the readings over a quadratic [1]_, which follows a rough surface. The one that better
    foretells each reading from the others is taken. Its standard error covers gauge, roughness and sparseness. Both are exact
    on a quadratic. With fewer than ten readings both rest on a plane. A reading at the place itself stands for it.

    Args:
        face: readings
        x: place along the grain [mm]
        y: place across [mm]
        reading_error: standard error of one reading [mm]

    Returns:
        Height [mm] and its variance [mm2].

    Raises:
        SlabwrightError: the place lies off the face, or the readings near it lie in a line

    References:
        .. [1] Duchon, "Splines minimizing rotation-invariant semi-norms in Sobolev spaces", 1977 (from memory).
    """
    _check_on(face, x, y)
    points = _window(face, x, y) if isinstance(face, Grid) else face
    squared = (points.x - x) ** 2 + (points.y - y) ** 2
    count = min(NEAREST, len(points))
    near = np.argpartition(squared, count - 1)[:count]
    near = near[np.argsort(squared[near], kind="stable")]
    u, v, z = points.x[near] - x, points.y[near] - y, points.z[near]
    distance = np.sqrt(squared[near])
    if distance[0] <= min(_SAME_PLACE, 0.05 * distance[min(4, count - 1)]):
        return float(z[0]), reading_error**2
    reach = 1.1 * float(distance[-1])
    u, v = u / reach, v / reach
    terms = _terms(u, v, curved=True)
    if count < _CURVED_FROM or not well_posed(terms):
        terms = _terms(u, v, curved=False)
    if not well_posed(terms):
        raise SlabwrightError("the readings near it lie in a line; read more of that face")
    weight = (1.0 - (distance / reach) ** 3) ** 3
    smoothed = _quadratic(terms, weight, z, reading_error)
    followed = _thin_plate(u, v, terms, z, reading_error)
    if followed is None:
        return smoothed.height, smoothed.variance
    errors = [float(weight @ each.apart**2 / weight.sum()) for each in (smoothed, followed)]
    best = followed if errors[1] < errors[0] else smoothed
    return best.height, best.variance


@dataclass(frozen=True)
class _Local:
    """A local surface: height at the place, its variance, and how it errs in foretelling each reading from the others."""

    height: float
    variance: float
    apart: Floats


def well_posed(design: Floats) -> bool:
    """Whether a fit's columns (of like size) are told apart by its rows."""
    if design.shape[0] < design.shape[1]:
        return False
    size = np.linalg.svd(design, compute_uv=False)
    return bool(size[-1] > 1e-3 * size[0])


def _terms(u: Floats, v: Floats, *, curved: bool) -> Floats:
    plane = [np.ones_like(u), u, v]
    return np.column_stack([*plane, u * u, u * v, v * v] if curved else plane)


def _quadratic(terms: Floats, weight: Floats, z: Floats, reading_error: float) -> _Local:
    root = np.sqrt(weight)[:, None]
    gain = np.linalg.pinv(terms * root) * root.T
    hat = terms @ gain
    residual = z - hat @ z
    free = z.size - terms.shape[1]
    noise = float(weight @ residual**2 / weight.sum()) * z.size / free if free > 0 else 0.0
    noise = max(noise, reading_error**2)
    # What the gauge does not explain is roughness, which the place itself has too.
    variance = noise * float(gain[0] @ gain[0]) + noise - reading_error**2
    return _Local(float(gain[0] @ z), variance, residual / np.maximum(1.0 - np.diag(hat), 1e-9))


def _thin_plate(u: Floats, v: Floats, terms: Floats, z: Floats, reading_error: float) -> _Local | None:
    """None where it can't be had.

    Its variance is that of the random surface whose best guess the thin plate is, as rough as the readings show it.
    """
    count, free = terms.shape
    if count <= free:
        return None
    system = np.zeros((count + free, count + free))
    system[:count, :count] = _kernel((u[:, None] - u) ** 2 + (v[:, None] - v) ** 2)
    system[:count, count:] = terms
    system[count:, :count] = terms.T
    if np.linalg.cond(system) > 1e12:
        return None
    inverse = np.linalg.inv(system)
    wanted = np.concatenate([_kernel(u * u + v * v), np.eye(free)[0]])
    gain = inverse[:count] @ wanted
    rows = inverse[:count, :count]
    own = np.diag(rows)
    told = own > 1e-9 * own.max()
    own = np.where(told, own, 1.0)
    apart = np.where(told, rows @ z / own, 0.0)
    by_noise = reading_error**2 * (rows**2).sum(axis=1) / own**2
    roughness = max(float(np.mean((own * (apart**2 - by_noise))[told])), 0.0)
    variance = roughness * max(float(-wanted @ inverse @ wanted), 0.0) + reading_error**2 * float(gain @ gain)
    return _Local(float(gain @ z), variance, apart)


def _kernel(squared: Floats) -> Floats:
    return np.asarray(squared * np.log(np.where(squared > 0.0, squared, 1.0)))


def _check_on(face: Face, x: float, y: float) -> None:
    if len(face) < 3:
        raise SlabwrightError("three readings of a face are wanted at least")
    low = np.array([face.x.min(), face.y.min()])
    high = np.array([face.x.max(), face.y.max()])
    place = np.array([x, y])
    beyond = np.maximum(np.maximum(low - place, place - high), 0.0)
    if float(np.linalg.norm(beyond)) > _OFF * float(np.linalg.norm(high - low)):
        raise SlabwrightError("it lies off the readings; callipers are placed in face A's frame")


def _window(face: Grid, x: float, y: float) -> Scatter:
    """Readings of a grid near a place, so that a big grid is not spread out for each place."""
    row, column = int(np.argmin(np.abs(face.x - x))), int(np.argmin(np.abs(face.y - y)))
    reach = 4
    while True:
        rows = slice(max(row - reach, 0), row + reach + 1)
        columns = slice(max(column - reach, 0), column + reach + 1)
        near = as_scatter(Grid(face.x[rows], face.y[columns], face.z[rows, columns]))
        if len(near) >= NEAREST or reach > max(face.z.shape):
            return near
        reach *= 2
