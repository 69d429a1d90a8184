"""The surface between the readings, as it may be: draws of both faces on a fine grid.

Each face is a quadratic trend, a smooth process whose length scales are drawn, and roughness shorter than the readings'
spacing. What the smooth process leaves of neighbouring readings, less the gauge's share, is the roughness; between the nodes of
the fine grid its lowest point is drawn from the distribution of the least of so many independent patches.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon

from slabwright.geometry.faces import Floats, as_scatter
from slabwright.geometry.gaussian import Posterior, basis
from slabwright.slab.survey import Survey

Singles = NDArray[np.float32]

_MOST_WAVES = 320
_FINE_SCAN = 8.0
"""Readings closer than this [mm] see the roughness itself."""
_MOST_READINGS = 20_000
_SHORTEST_ROUGHNESS = 8.0
"""Shortest correlation length that roughness is thought to have [mm]: a chain's tooth marks."""
_TYPICAL_SCALE = 350.0
"""Length scale thought likely for a slab's shape beforehand [mm]."""
_NEAR = 12
"""Readings that tell how wild a face is about a node."""
_BELIEVED_ALIKE = 10.0
"""Readings' worth of belief that it is as wild as elsewhere."""
_SKEW_BEFOREHAND = 0.03
"""Standard deviation of the roughness' skew over 6, as thought likely beforehand."""
_PINNED = 1.0
"""Area over its squared correlation length in which one reading shows the roughness."""


@dataclass(frozen=True)
class HiddenFace:
    """Draws of one face, turned so that lower means less wood.

    Attributes:
        face: A, or B with its heights' sign changed
        x: nodes, the readings first, shape (m,) [mm]
        y: nodes [mm]
        read: heights as read, the first nodes, shape (n,) [mm]
        smooth: heights at the nodes, shape (draws, m); empty (0, m) where the scan is finer than the roughness [mm]
        drop: by how much the roughness about a node goes below `smooth`, shape (draws, m) [mm]
        roughness: its standard deviation, median of the draws [mm]
        gauge: standard error of a reading [mm]
        spacing: of the readings [mm]
    """

    face: Literal["A", "B"]
    x: Floats
    y: Floats
    read: Floats
    smooth: Singles
    drop: Singles
    roughness: float
    gauge: float
    spacing: float

    @property
    def finer(self) -> bool:
        """Whether the readings are finer than the roughness, so that nothing is hidden between them."""
        return len(self.smooth) == 0


@dataclass(frozen=True)
class Hidden:
    """Draws of both faces.

    Attributes:
        face_a: face A
        face_b: face B, its heights' sign changed
        draws: how many
        note: what to know, in the bench's words
    """

    face_a: HiddenFace
    face_b: HiddenFace
    draws: int
    note: str


def hidden_surface(survey: Survey, *, draws: int = 400, seed: int = 20, reading_error: float = 0.1) -> Hidden:
    """Draw what both faces may be like in the clean region, between the readings and out to its border.

    Args:
        survey: readings and clean regions
        draws: how many surfaces
        seed: of the draws; the same seed gives the same surfaces
        reading_error: standard error of one reading of the gauge [mm]
    """
    seeds = np.random.SeedSequence(seed).spawn(3)
    length = np.random.default_rng(seeds[2]).random(draws)
    faces = []
    for face, readings, region, own in (
        ("A", survey.face_a, survey.region_a, seeds[0]),
        ("B", survey.face_b, survey.region_b, seeds[1]),
    ):
        points = as_scatter(readings)
        sign = 1.0 if face == "A" else -1.0
        area = max(float(region.area), 1.0)
        spacing = math.sqrt(area / max(len(points), 1))
        if spacing < _FINE_SCAN or len(points) > _MOST_READINGS:
            none = np.empty((0, len(points)), np.float32)
            nothing = HiddenFace(face, points.x, points.y, sign * points.z, none, none, 0.0, reading_error, spacing)  # type: ignore[arg-type]
            faces.append(nothing)
            continue
        nodes = _nodes(region, spacing)
        generator = np.random.default_rng(own)
        x, y = np.concatenate([points.x, nodes.x]), np.concatenate([points.y, nodes.y])
        smooth, drop, roughness = _draw(x, y, sign * points.z, nodes, spacing, reading_error, length, generator)
        faces.append(
            HiddenFace(face, x, y, sign * points.z, smooth, drop, roughness, reading_error, spacing)  # type: ignore[arg-type]
        )
    fine = [f.face for f in faces if f.finer]
    note = f"face {' and '.join(fine)}: read finer than its roughness, nothing is hidden" if fine else ""
    return Hidden(faces[0], faces[1], draws, note)


@dataclass(frozen=True)
class _Nodes:
    """The fine grid, then points along the border; each stands for an area or for a length of border."""

    x: Floats
    y: Floats
    area: Floats
    border: Floats


def _nodes(region: Polygon, spacing: float) -> _Nodes:
    """A fine grid in the region, and points along its border."""
    import shapely

    west, south, east, north = region.bounds
    step = min(max(spacing / 2.0, 12.0), 60.0, max(east - west, north - south) / 8.0)
    step = max(step, math.sqrt(float(region.area) / 5000.0))
    across, along = max(round((east - west) / step), 1), max(round((north - south) / step), 1)
    columns = west + (np.arange(across) + 0.5) * (east - west) / across
    rows = south + (np.arange(along) + 0.5) * (north - south) / along
    x, y = (g.ravel() for g in np.meshgrid(columns, rows, indexing="ij"))
    inside = shapely.contains_xy(region, x, y)
    border = shapely.get_coordinates(shapely.segmentize(region.exterior, step))[:-1]
    grid, edge = int(np.count_nonzero(inside)), len(border)
    return _Nodes(
        np.concatenate([x[inside], border[:, 0]]),
        np.concatenate([y[inside], border[:, 1]]),
        np.concatenate([np.full(grid, float(region.area) / max(grid, 1)), np.zeros(edge)]),
        np.concatenate([np.zeros(grid), np.full(edge, float(region.length) / edge)]),
    )


def _draw(
    x: Floats,
    y: Floats,
    read: Floats,
    nodes: _Nodes,
    spacing: float,
    gauge: float,
    length: Floats,
    generator: np.random.Generator,
) -> tuple[Singles, Singles, float]:
    """Smooth heights and the roughness' drop at the nodes, of which the first are the readings."""
    count, draws = read.size, length.size
    shortest = max(1.2 * spacing, 25.0)
    trend = 6 if count >= 10 else 3 if count >= 5 else 1
    functions = basis(x, y, max(2.5 * spacing, 120.0), shortest, _MOST_WAVES, trend)
    middle = float(read.mean())
    posterior = Posterior(functions, x[:count], y[:count], read - middle, gauge)
    choices = posterior.explore(shortest, max(_TYPICAL_SCALE, shortest))
    coefficients, noises = posterior.draw(choices, draws, generator)
    values = np.vstack([posterior.values, functions.at(x[count:], y[count:])]).astype(np.float32)
    smooth = coefficients.astype(np.float32) @ values.T

    surprise = posterior.surprise(max(choices, key=lambda choice: choice.weight))
    local = _local_scale(x, y, surprise).astype(np.float32)
    middling = smooth.mean(axis=0)
    smooth = middling + (smooth - middling) * local

    rough = np.maximum(noises - gauge * gauge, 0.0)
    share = (rough / noises).astype(np.float32)[:, None]
    error = generator.standard_normal((draws, count), dtype=np.float32)
    at_readings = smooth[:, :count]
    wanted = (read - middle).astype(np.float32)
    truth_there = at_readings + share * (wanted - at_readings) + np.sqrt(share) * np.float32(gauge) * error

    longest = max(0.7 * spacing, 2.0 * _SHORTEST_ROUGHNESS)
    correlation = _SHORTEST_ROUGHNESS * (longest / _SHORTEST_ROUGHNESS) ** length
    drop = np.empty_like(smooth)
    deepest = _deepest(nodes, correlation, spacing, generator)
    deepest += _skew(surprise, generator.standard_normal(draws)) * (deepest * deepest - 1.0)
    drop[:, count:] = deepest * np.sqrt(rough).astype(np.float32)[:, None]
    drop[:, :count] = at_readings - truth_there
    return smooth + np.float32(middle), drop, float(np.sqrt(np.median(rough)))


def _local_scale(x: Floats, y: Floats, surprise: Floats) -> Floats:
    """How much wilder than elsewhere the face is about each node: the readings near it against what the others foretold.

    A narrow dip is no part of a process that is alike everywhere; the readings on its flanks tell of it.
    """
    from scipy.spatial import cKDTree

    count = surprise.size
    near = min(_NEAR, count)
    places = np.column_stack([x, y])
    _, index = cKDTree(places[:count]).query(places, k=near)
    square = (surprise**2)[np.reshape(index, (x.size, near))].sum(axis=1)
    scale: Floats = np.sqrt((_BELIEVED_ALIKE + square) / (_BELIEVED_ALIKE + near))
    return np.maximum(scale, 1.0)


def _skew(surprise: Floats, normal: Floats) -> Singles:
    """Skew of the roughness towards the deep side over 6, drawn, shape (draws, 1).

    What the readings show, drawn towards none; the deepest place is then u + skew (u^2 - 1) [1]_.

    References:
        .. [1] E. A. Cornish, R. A. Fisher, Moments and cumulants in the specification of distributions, 1938 (from memory)
    """
    shown, error = -float(np.mean(surprise**3)) / 6.0, math.sqrt(6.0 / surprise.size) / 6.0
    weight = 1.0 / (1.0 + (error / _SKEW_BEFOREHAND) ** 2)
    spread = _SKEW_BEFOREHAND * math.sqrt(1.0 - weight)
    return np.clip(weight * shown + spread * normal, -0.08, 0.25).astype(np.float32)[:, None]


def _deepest(nodes: _Nodes, correlation: Floats, spacing: float, generator: np.random.Generator) -> Singles:
    """By how many standard deviations roughness goes below the smooth surface about each node, drawn.

    The number of places where a smooth normal field of correlation length l goes beyond u standard deviations is near
    Poisson, of mean (area / l^2 u / sqrt(2 pi) + border / (2 l)) exp(-u^2 / 2) / (2 pi), by its Euler characteristic [1]_.
    Where readings stand close, part of the roughness is known. Below u = 1 nothing is lost: 1 is drawn.

    Args:
        nodes: areas and lengths of border that they stand for, shape (m,)
        correlation: lengths, shape (draws,) [mm]
        spacing: of the readings [mm]
        generator: of the draws

    References:
        .. [1] R. J. Adler, J. E. Taylor, Random Fields and Geometry, Springer 2007, section 11.8 (from memory)
    """
    hidden = np.maximum(1.0 - _PINNED * (correlation / spacing) ** 2, 0.1)
    # At the heights that matter u is 3 to 4; the border's share is put in as an area at u = 3.
    share = np.outer(hidden / correlation**2, nodes.area)
    share += np.outer(hidden / correlation, nodes.border * (math.sqrt(2.0 * math.pi) / (2.0 * 3.0)))
    share /= (2.0 * math.pi) ** 1.5
    wanted = np.log(share, out=share, where=share > 0.0).astype(np.float32)
    wanted -= np.log(np.maximum(generator.standard_exponential(wanted.shape, dtype=np.float32), 1e-30))
    heights = np.linspace(1.0, 9.0, 1601)
    rates = 0.5 * heights**2 - np.log(heights)
    return np.interp(wanted, rates, heights).astype(np.float32)
