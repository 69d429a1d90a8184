"""Against SciPy's own interpolators."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator

from slabwright.geometry.between import at_nearest, in_triangles


def test_as_the_librarys_own_interpolators() -> None:
    draw = np.random.default_rng(4)
    points, values = draw.uniform(0.0, 1000.0, (200, 2)), draw.normal(0.0, 5.0, 200)
    places = draw.uniform(-100.0, 1100.0, (3000, 2))
    ours, theirs = in_triangles(points, values, places), LinearNDInterpolator(points, values)(places)
    assert np.array_equal(np.isnan(ours), np.isnan(theirs))
    assert np.nanmax(np.abs(ours - theirs)) < 1e-9
    assert np.array_equal(at_nearest(points, values, places), NearestNDInterpolator(points, values)(places))
