"""Thickness against fill on any readings: what must hold whatever they are."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from shapely import box

from slabwright.geometry.cells import reading_areas
from slabwright.geometry.faces import Floats, Grid, Scatter
from slabwright.geometry.strip import widest_strip
from slabwright.slab.patches import patch_front

REGION = box(0, 0, 1200, 500)
HEIGHTS = st.floats(-4.0, 4.0, width=32).map(float)


@settings(max_examples=40, deadline=None)
@given(
    top=arrays(np.float64, (7, 5), elements=HEIGHTS),
    under=arrays(np.float64, (7, 5), elements=HEIGHTS),
    slope=st.floats(-0.03, 0.03),
    show_b=st.booleans(),
)
def test_any_grid(top: Floats, under: Floats, slope: float, show_b: bool) -> None:
    x, y = np.linspace(0, 1200, 7), np.linspace(0, 500, 5)
    lean = slope * x[:, None] - 0.5 * slope * y[None, :]
    face_a, face_b = Grid(x, y, 60.0 + top + lean), Grid(x, y, under + lean)
    lie = widest_strip(face_a, face_b).planes
    points = patch_front(face_a, face_b, REGION, lie, show_face="B" if show_b else "A")

    assert points[0].fill_volume == 0.0
    assert points[0].bound - points[0].thickness <= 0.001
    show = face_b if show_b else face_a
    areas = reading_areas(show, REGION)
    for point in points[1:]:
        upper, lower = point.planes.upper(x[:, None], y[None, :]), point.planes.lower(x[:, None], y[None, :])
        depth = face_b.z - lower if show_b else upper - face_a.z
        room = upper - face_a.z if show_b else face_b.z - lower
        assert room.max() <= 1e-6
        assert abs(point.planes.thickness - point.thickness) <= 1e-6
        assert abs((areas * np.maximum(depth, 0.0)).sum() - point.fill_volume) <= 2e-3 * point.fill_volume + 1.0
        assert abs(max(depth.max(), 0.0) - point.deepest) <= 0.01
        assert -1e-9 <= point.bound - point.thickness <= 0.01

    volume = np.array([point.fill_volume for point in points])
    thickness = np.array([point.thickness for point in points])
    assert (np.diff(volume) > 0.0).all()
    assert (np.diff(thickness) >= -0.01).all()
    for middle in range(1, len(points) - 1):
        chord = np.interp(volume[middle], volume[[0, -1]], thickness[[0, -1]])
        near = np.interp(volume[middle], volume[[middle - 1, middle + 1]], thickness[[middle - 1, middle + 1]])
        assert thickness[middle] >= max(chord, near) - 0.01


@settings(max_examples=15, deadline=None)
@given(count=st.integers(0, 200), seed=st.integers(0, 10_000), size=st.sampled_from([0.0, 0.1, 2.0]))
def test_any_scatter(count: int, seed: int, size: float) -> None:
    draw = np.random.default_rng(seed)

    def face(height: float) -> Scatter:
        corners = [(0, 0), (1200, 0), (1200, 500), (0, 500)]
        places = np.concatenate([corners, draw.uniform((0, 0), (1200, 500), (count, 2))])
        return Scatter(places[:, 0], places[:, 1], height + draw.normal(0.0, size, count + 4))

    face_a, face_b = face(60.0), face(0.0)
    lie = widest_strip(face_a, face_b).planes
    points = patch_front(face_a, face_b, REGION, lie)
    for point in points:
        assert -1e-9 <= point.bound - point.thickness <= 0.01
        assert (face_b.z - point.planes.lower(face_b.x, face_b.y)).max() <= 1e-4
    assert (np.diff([point.thickness for point in points]) >= -0.01).all()
