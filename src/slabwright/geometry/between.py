"""Heights between scattered readings: linear in their triangles, or the nearest one."""

from __future__ import annotations

from typing import Any

import numpy as np

from slabwright.geometry.faces import Floats


def in_triangles(points: Floats, values: Floats, places: Floats, mesh: Any = None) -> Floats:
    """Values between points, linear in the triangles of their Delaunay mesh; `nan` outside it.

    Args:
        points: shape (n, 2), not all in one line [mm]
        values: at the points, shape (n,)
        places: shape (m, 2) [mm]
        mesh: a `scipy.spatial.Delaunay` of the points, if there is one

    Returns:
        Shape (m,).
    """
    from scipy.spatial import Delaunay

    mesh = Delaunay(points) if mesh is None else mesh
    at = mesh.find_simplex(places)
    turn = mesh.transform[at]
    first = np.einsum("mij,mj->mi", turn[:, :2], places - turn[:, 2])
    weights = np.column_stack([first, 1.0 - first.sum(axis=1)])
    between = np.einsum("mi,mi->m", values[mesh.simplices[at]], weights)
    return np.where(at >= 0, between, np.nan)


def at_nearest(points: Floats, values: Floats, places: Floats) -> Floats:
    """The value of the nearest point, shape (m,).

    Args:
        points: shape (n, 2) [mm]
        values: at the points, shape (n,)
        places: shape (m, 2) [mm]
    """
    from scipy.spatial import cKDTree

    return np.asarray(values[cKDTree(points).query(places)[1]], dtype=np.float64)
