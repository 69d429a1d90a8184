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
_PATCHES = 2.2
"""Independent patches per squared correlation length: the crossings of a smooth normal field at 3.5 to 4 standard deviations,
per squared length u^2 / (2 pi) (Adler, The Geometry of Random Fields, 1981; from memory)."""


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
        nodes_x, nodes_y = _nodes(region, spacing)
        generator = np.random.default_rng(own)
        x, y = np.concatenate([points.x, nodes_x]), np.concatenate([points.y, nodes_y])
        smooth, drop, roughness = _draw(x, y, sign * points.z, area, spacing, reading_error, length, generator)
        faces.append(
            HiddenFace(face, x, y, sign * points.z, smooth, drop, roughness, reading_error, spacing)  # type: ignore[arg-type]
        )
    fine = [f.face for f in faces if f.finer]
    note = f"face {' and '.join(fine)}: read finer than its roughness, nothing is hidden" if fine else ""
    return Hidden(faces[0], faces[1], draws, note)


def _nodes(region: object, spacing: float) -> tuple[Floats, Floats]:
    """A fine grid in the region, and points along its border."""
    import shapely

    assert isinstance(region, shapely.Polygon)
    west, south, east, north = region.bounds
    step = min(max(spacing / 2.0, 12.0), 60.0, max(east - west, north - south) / 8.0)
    step = max(step, math.sqrt(float(region.area) / 5000.0))
    columns = np.linspace(west, east, max(round((east - west) / step), 1) + 1)[:-1]
    rows = np.linspace(south, north, max(round((north - south) / step), 1) + 1)[:-1]
    x, y = (g.ravel() for g in np.meshgrid(columns + step / 2.0, rows + step / 2.0, indexing="ij"))
    inside = shapely.contains_xy(region, x, y)
    border = shapely.get_coordinates(shapely.segmentize(region.exterior, step))[:-1]
    return np.concatenate([x[inside], border[:, 0]]), np.concatenate([y[inside], border[:, 1]])


def _draw(
    x: Floats,
    y: Floats,
    read: Floats,
    area: float,
    spacing: float,
    gauge: float,
    length: Floats,
    generator: np.random.Generator,
) -> tuple[Singles, Singles, float]:
    """Smooth heights and the roughness' drop at the nodes, of which the first are the readings."""
    from scipy.special import ndtri

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

    rough = np.maximum(noises - gauge * gauge, 0.0)
    share = (rough / noises).astype(np.float32)[:, None]
    error = generator.standard_normal((draws, count), dtype=np.float32)
    at_readings = smooth[:, :count]
    wanted = (read - middle).astype(np.float32)
    truth_there = at_readings + share * (wanted - at_readings) + np.sqrt(share) * np.float32(gauge) * error

    longest = max(0.7 * spacing, 2.0 * _SHORTEST_ROUGHNESS)
    correlation = _SHORTEST_ROUGHNESS * (longest / _SHORTEST_ROUGHNESS) ** length
    patches = np.maximum(_PATCHES * area / correlation**2 - count, 0.01)
    each = (patches / (x.size - count)).astype(np.float32)[:, None]
    tail = -np.expm1(-generator.standard_exponential((draws, x.size - count), dtype=np.float32) / each)
    drop = np.empty_like(smooth)
    drop[:, count:] = -ndtri(np.clip(tail, 1e-30, 1.0 - 6e-8)) * np.sqrt(rough).astype(np.float32)[:, None]
    drop[:, :count] = at_readings - truth_there
    return smooth + np.float32(middle), drop, float(np.sqrt(np.median(rough)))
