"""Invented slabs as files, for the tests of reading them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from shapely import Polygon

from slabwright.geometry.faces import Floats
from slabwright.job.loaded import Place, Readings
from slabwright.job.models import Slab
from slabwright.job.readings import load_readings

BOTH = "face,x,y,z\nA,0,0,50\nA,1000,0,50.5\nA,1000,500,51\nB,0,0,0\nB,1000,0,0.5\nB,1000,500,1\n"


def load(folder: Path, **stated: object) -> Readings:
    """Load the files of a slab whose keys stand on line 7 of its job file."""
    where = {f"slab.{key}": Place("job.toml", 7) for key in stated}
    return load_readings(Slab.model_validate({"species": "ash, white", **stated}), folder, "job.toml", where)


def put(folder: Path, name: str, content: str | bytes) -> str:
    """Write a file; its name."""
    data = content.encode() if isinstance(content, str) else content
    (folder / name).write_bytes(data)
    return name


def live_slab(step: float, slant: float, roughness: float) -> tuple[Floats, np.ndarray, Polygon, Polygon]:
    """A slab with wavy live edges that slope, as a closed tube of triangles without ends.

    Args:
        step: distance of its points [mm]
        slant: how far face A's long edges lie within face B's (negative: beyond) [mm]
        roughness: standard deviation of its heights [mm]

    Returns:
        Points (n, 3), triangles (m, 3), and the true outlines of face A and face B.
    """
    length, width, thickness = 1600.0, 700.0, 60.0
    x = np.arange(0.0, length + step / 2, step)
    low, high = (20 * np.sin(x / 300 + p) + 8 * np.sin(x / 90 + 2 * p) for p in (0.0, 1.0))
    b_low, b_high = low, width + high
    a_low, a_high = b_low + slant, b_high - slant
    across = np.linspace(0.0, 1.0, int(width / step) + 1)
    wall = np.linspace(0.0, 1.0, int(thickness / step) + 1)[1:-1]
    noise = np.random.default_rng(1)

    def height(y: Floats, base: float) -> Floats:
        cup, twist = 6 * (2 * (y - width / 2) / width) ** 2, 16 * (x[:, None] / length - 0.5) * (y / width - 0.5)
        return np.asarray(base + cup + twist + noise.normal(0.0, roughness, y.shape))

    def between(start: Floats, end: Floats) -> Floats:
        return np.asarray(start + (end - start) * wall)

    y_a = a_low[:, None] + (a_high - a_low)[:, None] * across
    y_b = b_high[:, None] + (b_low - b_high)[:, None] * across
    z_a, z_b = height(y_a, thickness), height(y_b, 0.0)
    y = np.hstack([y_a, between(y_a[:, -1:], y_b[:, :1]), y_b, between(y_b[:, -1:], y_a[:, :1])])
    z = np.hstack([z_a, between(z_a[:, -1:], z_b[:, :1]), z_b, between(z_b[:, -1:], z_a[:, :1])])
    points = np.column_stack([np.repeat(x, y.shape[1]), y.ravel(), z.ravel()])
    at = np.arange(y.size).reshape(y.shape)
    next_ = np.roll(at, -1, axis=1)
    a, b, c, d = at[:-1].ravel(), at[1:].ravel(), next_[1:].ravel(), next_[:-1].ravel()
    triangles = np.vstack([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    outlines = [
        Polygon(np.vstack([np.column_stack([x, one]), np.column_stack([x, other])[::-1]]))
        for one, other in ((a_low, a_high), (b_low, b_high))
    ]
    return points, triangles, outlines[0], outlines[1]
