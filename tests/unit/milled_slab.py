"""A slab of known faces with its plan, for trying how it is set up on the machine."""

from __future__ import annotations

import functools
from typing import Any

import numpy as np

from slabwright.geometry.faces import Floats, Scatter
from slabwright.job.loaded import Job, Readings
from slabwright.job.models import JobFile, ShopFile
from slabwright.plan import plan
from slabwright.slab.results import SlabPlan

BUMP = (1500.0, 150.0)
"""Where face A is highest and face B lowest."""


def top(x: Floats, y: Floats) -> Floats:
    return np.asarray(60.0 + 0.004 * x - 0.003 * y + 4.0 * _bump(x, y))


def under(x: Floats, y: Floats) -> Floats:
    return np.asarray(0.004 * x - 0.003 * y - 3.0 * _bump(x, y))


def _bump(x: Floats, y: Floats) -> Floats:
    return np.exp(-((x - BUMP[0]) ** 2 + (y - BUMP[1]) ** 2) / 2e5)


@functools.cache
def job(
    *,
    length: float = 2000.0,
    width: float = 800.0,
    show: str = "A",
    procedure: str = "one go",
    hole: bool = False,
    sled: bool = False,
) -> Job:
    """A job with readings every 50 mm.

    Args:
        length: of the outline, from x = 0
        width: of the outline, from y = -width / 2
        show: the face that is seen
        procedure: in one go, or with a rest
        hole: leaves a patch of 300 mm of face A unread
        sled: a router sled, and shims so coarse that the slab stands out of level
    """
    x, y = np.meshgrid(np.arange(0.0, length + 1.0, 50.0), np.arange(-width / 2, width / 2 + 1.0, 50.0), indexing="ij")
    x, y = x.ravel(), y.ravel()
    seen = ~((np.abs(x - 600.0) < 149.0) & (np.abs(y) < 149.0)) if hole else np.ones(x.size, dtype=bool)
    corners = np.array([[0.0, -1.0], [1.0, -1.0], [1.0, 1.0], [0.0, 1.0]]) * np.array([length, width / 2])
    wider = corners + np.array([[0.0, -20.0], [0.0, -20.0], [0.0, 20.0], [0.0, 20.0]])
    read = Readings(
        Scatter(x[seen], y[seen], top(x, y)[seen]),
        Scatter(x, y, under(x, y)),
        corners,
        wider,
        np.empty((0, 3)),
        False,
        True,
    )
    slab = {"species": "ash, white", "show_face": show, "survey": "survey.csv", "procedure": procedure}
    stated = JobFile.model_validate({"job": {"title": "Trial"}, "slab": slab}, context={"units": "metric"})
    shims = {"thicknesses": [1.0, 5.0]} if sled else {}
    tables = ShopFile.model_validate(
        {
            "bed": {"length": 3000.0, "width": 1400.0},
            "machine": {"travel_y": 1400.0, "kind": "sled" if sled else "gantry"},
            "shims": shims,
        }
    )
    return Job(stated, tables, read)


@functools.cache
def slab(**about: Any) -> SlabPlan:
    """The plan of such a slab."""
    found = plan(job(**about)).slab
    assert found is not None
    return found


def affine(lying: Any) -> tuple[Floats, Floats]:
    """Matrix and offset of the way from the slab's frame to the machine's."""
    points = np.array([[0.0, 0.0, 0.0], [1000.0, 0.0, 0.0], [0.0, 1000.0, 0.0], [0.0, 0.0, 1000.0]])
    there = lying.to_machine(points)
    return ((there[1:] - there[0]) / 1000.0).T, there[0]
