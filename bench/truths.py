"""Invented slabs whose whole surface is known, and readings of them.

The shapes are not those of the model that makes the promise: cup that changes along the slab, bow, twist, dips of several
outlines, waves of fixed direction, steps of a saw that wandered, and roughness with skewed heights.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter

from slabwright.geometry.faces import Floats, Scatter

LENGTH, WIDTH, STEP = 2400.0, 950.0, 5.0


@dataclass(frozen=True)
class Truth:
    """A slab's two faces, known everywhere.

    Attributes:
        x: shape (nx,) [mm]
        y: shape (ny,) [mm]
        a: face A, shape (nx, ny) [mm]
        b: face B
    """

    x: Floats
    y: Floats
    a: Floats
    b: Floats

    def thickness(self, slope_x: float, slope_y: float) -> float:
        """Flat board at a tilt: least of A less greatest of B, square to the planes [mm]."""
        tilted = slope_x * self.x[:, None] + slope_y * self.y
        slant = float(np.sqrt(1.0 + slope_x**2 + slope_y**2))
        return float((self.a - tilted).min() - (self.b - tilted).max()) / slant


def truth(seed: int, rough: bool, length: float = LENGTH, width: float = WIDTH) -> Truth:
    """A slab about 60 mm thick.

    Args:
        seed: of the draw
        rough: as sawn with a chain, else as planed by a bandsaw's band
        length: along the grain [mm]
        width: across [mm]
    """
    generator = np.random.default_rng([seed, int(rough)])
    x, y = np.arange(0.0, length + STEP / 2, STEP), np.arange(0.0, width + STEP / 2, STEP)
    u, v = 2.0 * x[:, None] / length - 1.0, 2.0 * y / width - 1.0
    cup = generator.normal(0.0, 2.5) * (v - generator.normal(0.0, 0.2)) ** 2 * (1.0 + generator.uniform(-0.4, 0.4) * u)
    bow = generator.normal(0.0, 2.0) * u * u + generator.normal(0.0, 0.6) * np.sin(np.pi * (u + generator.uniform()))
    twist = generator.normal(0.0, 2.0) * u * v
    shared = cup + bow + twist + generator.normal(0.0, 1.0) * u + 0.0 * v
    return Truth(
        x,
        y,
        60.0 + shared + _face(x, y, rough, generator),
        shared - _face(x, y, rough, generator),
    )


def _face(x: Floats, y: Floats, rough: bool, generator: np.random.Generator) -> Floats:
    """What one face has of its own, positive towards more wood."""
    grid_x, grid_y = x[:, None], y[None, :]
    own = np.zeros((x.size, y.size))
    for _ in range(generator.integers(0, 3)):
        at_x, at_y = generator.uniform(x[0], x[-1]), generator.uniform(y[0], y[-1])
        across = generator.uniform(120.0, 320.0)
        away = np.hypot((grid_x - at_x) / generator.uniform(1.0, 2.5), grid_y - at_y) / across
        shape = np.where(away < 1.0, (1.0 - away**2) ** 2, 0.0) if generator.random() < 0.5 else 1.0 / (1.0 + away**4)
        own -= generator.gamma(2.0, 0.8) * shape
    for _ in range(3):
        wave, turn = np.exp(generator.uniform(np.log(250.0), np.log(900.0))), generator.uniform(0.0, np.pi)
        phase = 2.0 * np.pi * (grid_x * np.cos(turn) + grid_y * np.sin(turn)) / wave + generator.uniform(0.0, 6.3)
        own += 0.25 * generator.gamma(2.0, 0.5) * np.sin(phase) * (wave / 900.0)
    result: Floats
    if not rough:
        fine = gaussian_filter(generator.standard_normal(own.shape), 4.0, mode="wrap")
        result = own + 0.05 * fine / fine.std()
        return result
    kerf = np.interp(grid_x + 0.3 * grid_y, np.sort(generator.uniform(0.0, 2800.0, 12)), generator.normal(0.0, 0.4, 12))
    correlation = generator.uniform(1.5, 6.0)
    fine = gaussian_filter(generator.standard_normal(own.shape), (correlation, correlation), mode="wrap")
    fine /= fine.std()
    medium = gaussian_filter(generator.standard_normal(own.shape), generator.uniform(8.0, 20.0), mode="wrap")
    skew = generator.uniform(0.0, 0.12)
    texture = fine - skew * (fine * fine - 1.0)
    result = own + kerf + generator.uniform(0.3, 0.7) * texture + generator.uniform(0.1, 0.4) * medium / medium.std()
    return result


def stations(size: float, spacing: float, border: bool) -> Floats:
    """Where readings are taken along one side: from border to border, or from half a spacing inside [mm]."""
    count = max(round(size / spacing), 1)
    places = np.linspace(0.0, size, count + 1) if border else (np.arange(count) + 0.5) * size / count
    rounded: Floats = np.round(places / STEP) * STEP
    return rounded


def readings(slab: Truth, spacing: float, border: bool, error: float, seed: int) -> tuple[Scatter, Scatter]:
    """Both faces read at stations by a gauge with normal errors.

    Args:
        slab: the truth
        spacing: of the stations [mm]
        border: whether the outermost stations are on the border
        error: standard error of the gauge [mm]
        seed: of the errors
    """
    generator = np.random.default_rng([seed, 77])
    i = np.round(stations(slab.x[-1], spacing, border) / STEP).astype(int)
    j = np.round(stations(slab.y[-1], spacing, border) / STEP).astype(int)
    x, y = (grid.ravel() for grid in np.meshgrid(slab.x[i], slab.y[j], indexing="ij"))
    faces = []
    for z in (slab.a, slab.b):
        read = z[np.ix_(i, j)].ravel()
        faces.append(Scatter(x, y, read + generator.normal(0.0, error, read.size)))
    return faces[0], faces[1]
