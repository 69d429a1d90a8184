"""A smooth random surface on a rectangle, its length scales drawn rather than fixed.

The surface is a quadratic trend, free to take any size, plus a Gaussian process written as a sum of cosines whose variances
are the process's spectral density [1]_. Readings see it with independent noise. With the cosines fixed, one choice of length
scales costs a factorisation of the size of the basis, whatever the number of readings.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cholesky, solve_triangular

from slabwright.geometry.faces import Floats

_TREND_VARIANCE = 1e6
"""Prior variance of the trend's terms over the noise's: so large that the readings alone decide."""


_TOLD = 0.01
"""Share of a wave's prior precision that readings must add before it is fitted."""
_SCALE_STEP = 1.25
_MOST_LOOKS = 120
_MOVES = (
    *((i, 0, k, 0) for i in (-1, 0, 1) for k in (-1, 0, 1) if i or k),
    (0, 1, 0, 0),
    (0, -1, 0, 0),
    (0, 0, 0, 1),
)
"""Steps of the search; scale and noise's share move together too, as the readings tie them."""


@dataclass(frozen=True)
class Basis:
    """Quadratic trend and cosines on a rectangle.

    Attributes:
        x0: least x of the rectangle [mm]
        y0: least y [mm]
        length: of the rectangle along x [mm]
        width: along y [mm]
        kx: whole number of half waves along x, shape (m,)
        ky: the same along y
        trend: how many trend terms: 6 quadratic, 3 linear, 1 constant
    """

    x0: float
    y0: float
    length: float
    width: float
    kx: Floats
    ky: Floats
    trend: int

    def __len__(self) -> int:
        return self.trend + int(self.kx.size)

    def at(self, x: Floats, y: Floats) -> Floats:
        """Value of every function at points, shape (n, trend + m)."""
        u, v = (x - self.x0) / self.length, (y - self.y0) / self.width
        s, t = 2.0 * u - 1.0, 2.0 * v - 1.0
        along = np.cos(np.outer(u, np.pi * np.arange(self.kx.max() + 1)))
        across = np.cos(np.outer(v, np.pi * np.arange(self.ky.max() + 1)))
        double = np.where(self.kx > 0, 2.0, 1.0) * np.where(self.ky > 0, 2.0, 1.0)
        columns = np.stack([np.ones_like(s), s, t, s * s, s * t, t * t], axis=1)[:, : self.trend]
        waves = along[:, self.kx.astype(int)] * across[:, self.ky.astype(int)]
        return np.hstack([columns, waves * np.sqrt(double / (self.length * self.width))])

    def variances(self, scale_x: float, scale_y: float, heavy: bool) -> Floats:
        """Prior variances of the functions for a process of variance 1.

        Args:
            scale_x: length scale along x [mm]
            scale_y: length scale along y [mm]
            heavy: spectral density of a Matern process of order 3/2 (rougher), else squared exponential
        """
        squared = (np.pi * self.kx * scale_x / self.length) ** 2 + (np.pi * self.ky * scale_y / self.width) ** 2
        matern, exponential = (
            4.0 * np.pi * 1.5 * 3.0**1.5 * (3.0 + squared) ** -2.5,
            2.0 * np.pi * np.exp(-0.5 * squared),
        )
        density: Floats = scale_x * scale_y * (matern if heavy else exponential)
        return density


def basis(x: Floats, y: Floats, reach: float, shortest: float, most: int, trend: int) -> Basis:
    """The trend and the longest waves that a rectangle about some points needs.

    Args:
        x: points to be covered [mm]
        y: points to be covered [mm]
        reach: by how much the rectangle is larger on each side; waves end level at its border [mm]
        shortest: shortest length scale wanted [mm]
        most: greatest number of waves
        trend: trend terms
    """
    x0, y0 = float(x.min()) - reach, float(y.min()) - reach
    length, width = float(x.max()) + reach - x0, float(y.max()) + reach - y0
    greatest = 2.6 / shortest
    top_x, top_y = int(greatest * length / math.pi), int(greatest * width / math.pi)
    kx, ky = (k.ravel().astype(float) for k in np.mgrid[0 : top_x + 1, 0 : top_y + 1])
    rate = np.hypot(kx * math.pi / length, ky * math.pi / width)
    order = np.argsort(rate, kind="stable")[:most]
    order = order[rate[order] <= greatest]
    return Basis(x0, y0, length, width, kx[order], ky[order], trend)


@dataclass(frozen=True)
class Fit:
    """The posterior of the basis' coefficients for one choice of length scales.

    Attributes:
        kept: functions that the readings tell something of, shape (k,); the others keep their prior
        root: square roots of the prior variances over the noise's, shape (m,)
        factor: lower factor of the kept functions' precision, in units of the noise and of `root`, shape (k, k)
        mean: mean of the kept functions' coefficients over `root`, shape (k,)
        misfit: sum of squares left, with the prior's [mm2]
        evidence: logarithm of the readings' probability, but for a constant
    """

    kept: NDArray[np.intp]
    root: Floats
    factor: Floats
    mean: Floats
    misfit: float
    evidence: float


@dataclass(frozen=True)
class Choice:
    """One point of the grid of length scales: steps from the middle, and what they stand for."""

    scale_x: float
    scale_y: float
    ratio: float
    heavy: bool
    fit: Fit
    weight: float


class Posterior:
    """Readings on a basis: evidence of length scales, and draws of surfaces.

    Args:
        functions: the basis
        x: readings [mm]
        y: readings [mm]
        z: readings, their mean taken out [mm]
        noise: least standard error of a reading: the gauge's [mm]
    """

    def __init__(self, functions: Basis, x: Floats, y: Floats, z: Floats, noise: float) -> None:
        self.functions = functions
        self.values = functions.at(x, y)
        self.gram = self.values.T @ self.values
        self.weight: Floats = np.diagonal(self.gram).copy()
        self.moment = self.values.T @ z
        self.read = z
        self.square = float(z @ z)
        self.count = int(z.size)
        self.shape = 1.0 + 0.5 * max(self.count - functions.trend, 1)
        self.prior = max(noise, 0.02) ** 2

    def fit(self, scale_x: float, scale_y: float, ratio: float, heavy: bool) -> Fit:
        """The posterior for one choice; `ratio` is the process's variance over the noise's."""
        trend = self.functions.trend
        root = np.empty(len(self.functions))
        root[:trend] = math.sqrt(_TREND_VARIANCE)
        root[trend:] = np.sqrt(ratio * self.functions.variances(scale_x, scale_y, heavy))
        # Waves that the readings cannot tell from nothing are left to their prior, which keeps the factor small.
        told = root * root * self.weight
        kept = np.flatnonzero(told > _TOLD)
        scale = root[kept]
        precision = self.gram[np.ix_(kept, kept)] * scale[:, None] * scale
        precision[np.diag_indices_from(precision)] += 1.0
        factor = cholesky(precision, lower=True, overwrite_a=True, check_finite=False)
        half = solve_triangular(factor, scale * self.moment[kept], lower=True, check_finite=False)
        mean = solve_triangular(factor, half, lower=True, trans=1, check_finite=False)
        misfit = max(self.square - float(half @ half), 0.0)
        evidence = -float(np.log(np.diagonal(factor)).sum()) - 0.5 * float(np.log1p(told[told <= _TOLD]).sum())
        evidence -= self.shape * math.log(self.prior + 0.5 * misfit)
        return Fit(kept, root, factor, mean, misfit, evidence)

    def explore(self, shortest: float, typical: float) -> list[Choice]:
        """The length scales that the readings leave likely, each with its probability.

        On a grid (length scale, its ratio along to across, share of the noise, kind) the search climbs to the likeliest point
        and from there goes on wherever the probability is within e^-4 of that.

        Args:
            shortest: shortest length scale [mm]
            typical: length scale thought likely beforehand [mm]
        """
        steps = max(int(math.log(5.0 * typical / shortest) / math.log(_SCALE_STEP)), 3)
        tops, bottoms = (steps, 2, 18, 1), (0, -1, -4, 0)
        seen: dict[tuple[int, int, int, int], tuple[float, Choice]] = {}

        def look(key: tuple[int, int, int, int]) -> float:
            if key not in seen:
                scale, aspect, ratio = shortest * _SCALE_STEP ** key[0], 2.0 ** (0.5 * key[1]), 2.0 ** key[2]
                fit = self.fit(scale * aspect, scale / aspect, ratio, bool(key[3]))
                belief = -0.5 * (math.log(scale / typical) / 0.8) ** 2
                choice = Choice(scale * aspect, scale / aspect, ratio, bool(key[3]), fit, 0.0)
                seen[key] = (fit.evidence + belief, choice)
            return seen[key][0]

        def near(key: tuple[int, int, int, int], stride: int) -> Iterator[tuple[int, int, int, int]]:
            for i, j, k, kind in _MOVES:
                moved = (key[0] + stride * i, key[1] + j, key[2] + stride * k, key[3] ^ kind)
                if all(low <= at <= top for low, at, top in zip(bottoms, moved, tops, strict=True)):
                    yield moved

        best = (min(max(round(math.log(typical / shortest) / math.log(_SCALE_STEP)), 0), steps), 0, 4, 0)
        look(best)
        for stride in (3, 1):
            while True:
                top = max(near(best, stride), key=look)
                if look(top) <= look(best):
                    break
                best = top
        queue, done = [best], {best}
        while queue and len(seen) < _MOST_LOOKS:
            for key in near(queue.pop(0), 1):
                if key not in done and look(key) > look(best) - 4.0:
                    done.add(key)
                    queue.append(key)
        values = np.array([value for value, _ in seen.values()])
        weights = np.exp(values - values.max())
        weights /= weights.sum()
        return [
            Choice(c.scale_x, c.scale_y, c.ratio, c.heavy, c.fit, float(weight))
            for (_, c), weight in zip(seen.values(), weights, strict=True)
        ]

    def draw(self, choices: list[Choice], draws: int, generator: np.random.Generator) -> tuple[Floats, Floats]:
        """Coefficients of surfaces and the noise's variance, both drawn.

        Returns:
            Coefficients, shape (draws, trend + m), and noise variances, shape (draws,) [mm2].
        """
        counts = generator.multinomial(draws, [choice.weight for choice in choices])
        normal = generator.standard_normal((draws, len(self.functions)))
        gamma = generator.standard_gamma(self.shape, draws)
        coefficients, noises = np.empty_like(normal), np.empty(draws)
        first = 0
        for choice, count in zip(choices, counts, strict=True):
            if count:
                here = slice(first, first + count)
                noises[here] = (self.prior + 0.5 * choice.fit.misfit) / gamma[here]
                own, kept = normal[here], choice.fit.kept
                spread = solve_triangular(choice.fit.factor, own[:, kept].T, lower=True, trans=1, check_finite=False)
                size = np.sqrt(noises[here])[:, None]
                scaled = own * size
                scaled[:, kept] = choice.fit.mean + spread.T * size
                coefficients[here] = scaled * choice.fit.root
                first += count
        order = generator.permutation(draws)
        return coefficients[order], noises[order]

    def surprise(self, choice: Choice) -> Floats:
        """What each reading differs from what the others foretell, over its standard error, shape (n,)."""
        fit = choice.fit
        scaled = (self.values[:, fit.kept] * fit.root[fit.kept]).T
        half = solve_triangular(fit.factor, scaled, lower=True, check_finite=False)
        left = np.maximum(1.0 - np.einsum("ij,ij->j", half, half), 1e-3)
        noise = (self.prior + 0.5 * fit.misfit) / self.shape
        surprise: Floats = (self.read - scaled.T @ fit.mean) / np.sqrt(noise * left)
        return surprise
