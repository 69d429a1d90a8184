"""A slab on its stacks: where its weight is, what tips it, and how far it sags between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon

from slabwright.geometry.faces import Face, Floats, Scatter
from slabwright.slab.bed_frame import BedFrame
from slabwright.slab.resting import Threes
from slabwright.slab.sag import GRAVITY
from slabwright.slab.sampling import heights_at, thinned

_ALONG, _ACROSS = 120, 48


@dataclass(frozen=True)
class Load:
    """The slab's weight and bending stiffness, strip by strip along the grain, in the bed's frame.

    Attributes:
        x: middle of each strip, rising, shape (n,) [mm]
        step: width of a strip [mm]
        weight: of each strip, shape (n,) [N]
        stiffness: sum of width * thickness^3 / 12 of each strip, shape (n,) [mm4]
        centre: x, y of the centre of mass, shape (2,) [mm]
    """

    x: Floats
    step: float
    weight: Floats
    stiffness: Floats
    centre: Floats

    @property
    def total(self) -> float:
        """Weight of the slab [N]."""
        return float(self.weight.sum())


def load(face_a: Face, face_b: Face, outline_a: Polygon, outline_b: Polygon, frame: BedFrame, density: float) -> Load:
    """Weight of the slab from its readings: thickness over a raster, where an edge slopes the mean of both outlines.

    Args:
        face_a: all readings of face A
        face_b: all readings of face B
        outline_a: of face A, in the slab's frame
        outline_b: of face B, in the slab's frame
        frame: the bed's frame
        density: at its moisture content [kg/m3]
    """
    west, south, east, north = shapely.union(outline_a, outline_b).bounds
    step_x, step_y = (east - west) / _ALONG, (north - south) / _ACROSS
    grid_x, grid_y = np.meshgrid(
        west + (np.arange(_ALONG) + 0.5) * step_x, south + (np.arange(_ACROSS) + 0.5) * step_y, indexing="ij"
    )
    x, y = grid_x.ravel(), grid_y.ravel()
    share = 0.5 * (shapely.contains_xy(outline_a, x, y).astype(float) + shapely.contains_xy(outline_b, x, y))
    top, under = _heights(face_a, x, y), _heights(face_b, x, y)
    thickness = np.maximum(top - under, 0.0).reshape(grid_x.shape)
    covered = share.reshape(grid_x.shape)
    weight = covered * thickness * step_x * step_y * density * 1e-9 * GRAVITY
    middles = frame.to_bed(np.column_stack([x, y, (top + under) / 2.0]))[:, :2]
    centre = (middles * weight.reshape(-1, 1)).sum(axis=0) / weight.sum()
    strips = weight.sum(axis=1)
    stiffness = (covered * thickness**3).sum(axis=1) * step_y / 12.0
    # The strips keep the slab's x; shifted so that their weight balances about the very centre of mass.
    along = grid_x[:, 0]
    along = along + (centre[0] - (along * strips).sum() / strips.sum())
    return Load(along, step_x, strips, stiffness, centre)


def _heights(face: Face, x: Floats, y: Floats) -> Floats:
    """Heights between the readings; outside them the nearest reading's difference from the mean plane is kept."""
    sample = thinned(face)
    height = heights_at(sample, x, y)
    return np.where(np.isnan(height), _beyond(sample, x, y), height)


def _beyond(sample: Scatter, x: Floats, y: Floats) -> Floats:
    from scipy.spatial import cKDTree

    middle = np.array([sample.x.mean(), sample.y.mean()])
    columns = np.column_stack([sample.x - middle[0], sample.y - middle[1], np.ones(len(sample))])
    plane = np.linalg.lstsq(columns, sample.z, rcond=None)[0]
    rest = sample.z - columns @ plane
    _, nearest = cKDTree(np.column_stack([sample.x, sample.y])).query(np.column_stack([x, y]))
    return np.asarray(np.column_stack([x - middle[0], y - middle[1], np.ones(x.size)]) @ plane + rest[nearest])


def tipping_force(support: Floats, centre: Floats, weight: float, reached: Floats) -> float:
    """Down-force that just tips the slab, at the worst place that the cutter reaches.

    About each edge of the support polygon the weight holds with its distance inside, the force turns with its distance
    outside:

        force = weight * distance inside / distance outside

    Args:
        support: corners of the convex support polygon, either way round, shape (n, 2) [mm]
        centre: centre of mass, shape (2,) [mm]
        weight: of the slab [N]
        reached: corners of the convex region that the cutter reaches, shape (m, 2) [mm]

    Returns:
        The force [N]; infinite where the cutter never leaves the support polygon, negative where the slab tips by itself.
    """
    least = np.inf
    for first, second in zip(support, np.roll(support, -1, axis=0), strict=True):
        along = second - first
        inward = np.array([-along[1], along[0]])
        inward = inward * np.sign(((support - first) @ inward).sum())
        outside = float(-((reached - first) @ inward).min())
        if outside > 0.0:
            least = min(least, weight * float((centre - first) @ inward) / outside)
    return least


def tipping_forces(three: Threes, centre: Floats, weight: float, reached: Floats) -> Floats:
    """`tipping_force` of every three, shape (t,) [N]."""
    corners = three.places[three.triples]
    least = np.full(len(three), np.inf)
    for near in range(3):
        first, second, third = corners[:, near], corners[:, (near + 1) % 3], corners[:, (near + 2) % 3]
        along = second - first
        inward = np.column_stack([-along[:, 1], along[:, 0]])
        inward *= np.sign(((third - first) * inward).sum(axis=1))[:, None]
        base = (first * inward).sum(axis=1)
        outside = base - (inward @ reached.T).min(axis=1)
        inside = inward @ centre - base
        force = np.where(outside > 0.0, weight * inside / np.where(outside > 0.0, outside, 1.0), np.inf)
        least = np.minimum(least, force)
    return least


def sags(three: Threes, borne: Load, modulus: float) -> Floats:
    """How far the slab bends under its own weight on each three, shape (t,) [mm].

    A beam along the grain: the weight strip by strip, each stack pressing up with its share, curvature = moment /
    (modulus * I) summed up twice [1]_. The sag is the greatest distance of the bent line, overhangs too, from the chord
    over the outermost two of the three; where all three stand nearly in one row, from the line about their middle.

    Args:
        three: the threes that can carry
        borne: the slab's weight and stiffness
        modulus: of elasticity along the grain [MPa]

    References:
        .. [1] Euler-Bernoulli beam, as in any text on strength of materials.
    """
    edges = np.append(borne.x - borne.step / 2.0, borne.x[-1] + borne.step / 2.0)
    at = three.places[three.triples][..., 0]
    up = (np.maximum(edges - at[..., None], 0.0) * (borne.total * three.shares)[..., None]).sum(axis=1)
    down = (np.maximum(edges[:, None] - borne.x, 0.0) * borne.weight).sum(axis=1)
    moment = up - down
    middle = (moment[:, 1:] + moment[:, :-1]) / 2.0
    floor = max(float(np.median(borne.stiffness)) * 1e-3, 1e-9)
    curvature = middle / (modulus * np.maximum(borne.stiffness, floor))
    # A bend of one strip turns all that follows about the strip's middle.
    line = (np.maximum(edges[:, None] - borne.x, 0.0) @ (curvature * borne.step).T).T
    west, east = at.min(axis=1), at.max(axis=1)
    short = east - west < 0.05 * (edges[-1] - edges[0])
    centre = (east + west) / 2.0
    west = np.where(short, centre - borne.step, west)
    east = np.where(short, centre + borne.step, east)
    low, high = _read(line, edges, west), _read(line, edges, east)
    chord = low[:, None] + (high - low)[:, None] * (edges - west[:, None]) / (east - west)[:, None]
    return np.asarray(np.abs(line - chord).max(axis=1))


def _read(line: Floats, edges: Floats, at: Floats) -> Floats:
    """Each row of `line` at its own place, linearly between the strips' edges."""
    step = edges[1] - edges[0]
    place = np.clip((at - edges[0]) / step, 0.0, edges.size - 1.000001)
    left = place.astype(np.int64)
    part = place - left
    row = np.arange(len(line))
    return np.asarray(line[row, left] * (1.0 - part) + line[row, left + 1] * part)
