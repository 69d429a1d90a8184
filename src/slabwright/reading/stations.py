"""Stations: the places on a slab where a maker takes a height."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from slabwright.geometry.faces import FaceName, Floats


@dataclass(frozen=True)
class Station:
    """One place on one face.

    Attributes:
        face: A or B
        row: from 1, along the grain
        column: from 1, across
        rows: how many rows there are
        columns: how many in a row
        x: along the grain [mm]
        y: across [mm]
    """

    face: FaceName
    row: int
    column: int
    rows: int
    columns: int
    x: float
    y: float

    @property
    def at_edge(self) -> bool:
        """Whether it lies at a long edge."""
        return self.column in (1, self.columns)


def tapered_outline(length: float, widths: Sequence[float]) -> Floats:
    """Outline of a slab from its length and its widths at even places along it, about a straight centre line y = 0.

    Args:
        length: along the grain [mm]
        widths: at least two, from x = 0 to the far end [mm]

    Returns:
        Corners, shape (2 n, 2), counter-clockwise [mm].
    """
    x = np.linspace(0.0, length, len(widths))
    half = np.asarray(widths, dtype=np.float64) / 2.0
    return np.vstack([np.column_stack([x, -half]), np.column_stack([x[::-1], half[::-1]])])


def across_at(outline: Floats, x: float) -> tuple[float, float]:
    """Lowest and highest y of an outline where a line across the grain at `x` meets it [mm].

    Raises:
        ValueError: the line misses the outline.
    """
    closed = np.vstack([outline, outline[:1]])
    meets: list[float] = []
    for (x1, y1), (x2, y2) in pairwise(closed.tolist()):
        if min(x1, x2) <= x <= max(x1, x2):
            meets += [y1, y2] if x1 == x2 else [y1 + (y2 - y1) * (x - x1) / (x2 - x1)]
    if not meets:
        raise ValueError(f"no part of the outline lies at x = {x:g}")
    return min(meets), max(meets)


def stations(
    outline: Floats,
    along: int,
    across: int,
    *,
    end_inset: float,
    edge_inset: float,
    step: float = 1.0,
    faces: Sequence[FaceName] = ("A", "B"),
) -> tuple[Station, ...]:
    """Rows across the slab at even places along it, each with places from edge to edge, snaking so that the hand walks least.

    Args:
        outline: corners, shape (n, 2) [mm]
        along: rows, at least 2
        across: places in a row, at least 2
        end_inset: of the first and last row from the ends [mm]
        edge_inset: of the outer places from the long edges [mm]
        step: that places are rounded to, towards the middle of the slab, so that none falls outside its insets [mm]
        faces: in the order in which they are read

    Returns:
        The stations in the order in which they are read.
    """
    low, high = float(outline[:, 0].min()), float(outline[:, 0].max())
    inset = min(end_inset, (high - low) / 4.0)
    found = []
    for face in faces:
        for row, wanted in enumerate(np.linspace(low + inset, high - inset, along), start=1):
            x = _inward(float(wanted), (low + high) / 2.0, step)
            below, above = across_at(outline, x)
            side = min(edge_inset, (above - below) / 4.0)
            places = list(enumerate(np.linspace(below + side, above - side, across), start=1))
            for column, y in places if row % 2 else reversed(places):
                found.append(
                    Station(face, row, column, along, across, x, _inward(float(y), (below + above) / 2.0, step))
                )
    return tuple(found)


def _inward(value: float, middle: float, step: float) -> float:
    """A place rounded to a step, towards the middle where it does not fall on one."""
    return (math.floor if value > middle else math.ceil)(round(value / step, 6)) * step
