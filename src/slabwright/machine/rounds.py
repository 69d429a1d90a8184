"""Rounds close by clamps and along a window's end in the wood.

They clear what the strips leave there, so that the next depth finds no more than its own.
"""

from __future__ import annotations

import numpy as np

from slabwright.geometry.faces import Floats
from slabwright.machine.lattice import Bools, Cutter, Lattice

Point = tuple[float, float]
_SMALL = 1e-6


def rounds(cells: Lattice, left: Bools, cutter: Cutter) -> list[tuple[Point, ...]]:
    """Moves along the borders of where the middle of the cutter may be, as far as it reaches wood there.

    What lies farther than the flat from every border is cleared by the strips: no border keeps them from it. So strips and rounds
    together clear all that can be reached.

    Args:
        cells: with clamps and limits
        left: cells that the strips have not cleared, shape (rows, columns)
        cutter: its sizes

    Returns:
        Lines of points u, v that hang together.
    """
    row, column = np.nonzero(left)
    v = np.asarray(cells.v_start + cells.dv * (row + 0.5), dtype=np.float64)
    u = np.asarray(cells.u_start + cells.du * (column + 0.5), dtype=np.float64)
    found: list[tuple[Point, ...]] = []
    for border in _borders(cells):
        joined: list[Point] = []
        for one, two in border:
            for begin, end in _needed(cells, one, two, u, v, cutter):
                if joined and joined[-1] == begin:
                    joined.append(end)
                    continue
                if joined:
                    found.append(tuple(joined))
                joined = [begin, end]
        if joined:
            found.append(tuple(joined))
    return found


def _borders(cells: Lattice) -> list[list[tuple[Point, Point]]]:
    """Sides of each clamp's room in turn, and the window's ends in the wood."""
    least_u, most_u = cells.u_limits
    least_v, most_v = cells.v_limits
    found = []
    for box in cells.boxes:
        corners = ((box.u_from, box.v_from), (box.u_to, box.v_from), (box.u_to, box.v_to), (box.u_from, box.v_to))
        found.append([(corners[index], corners[(index + 1) % 4]) for index in range(4)])
    near_u, far_u, near_v, far_v = cells.in_wood
    if near_u:
        found.append([((least_u, least_v), (least_u, most_v))])
    if far_u:
        found.append([((most_u, least_v), (most_u, most_v))])
    if near_v:
        found.append([((least_u, least_v), (most_u, least_v))])
    if far_v:
        found.append([((least_u, most_v), (most_u, most_v))])
    return found


def _needed(cells: Lattice, one: Point, two: Point, u: Floats, v: Floats, cutter: Cutter) -> list[tuple[Point, Point]]:
    """Parts of a side from which the cutter, corners too, reaches wood, and the cutter's breadth more at both ends."""
    upright = one[0] == two[0]
    at, begin, end = (one[0], one[1], two[1]) if upright else (one[1], one[0], two[0])
    off, along = (u - at, v) if upright else (v - at, u)
    limits, across = (cells.v_limits, cells.u_limits) if upright else (cells.u_limits, cells.v_limits)
    low, high = max(min(begin, end), limits[0]), min(max(begin, end), limits[1])
    if low > high or not across[0] - _SMALL <= at <= across[1] + _SMALL:
        return []
    beyond = along - np.clip(along, low, high)
    met = np.sort(along[off**2 + beyond**2 <= cutter.radius**2])
    if not met.size:
        return []
    parted = np.flatnonzero(np.diff(met) > 4.0 * cutter.radius)
    margin = cutter.radius + 1.0
    spans = [
        (max(float(first) - margin, low), min(float(last) + margin, high))
        for first, last in zip(met[np.append(0, parted + 1)], met[np.append(parted, met.size - 1)], strict=True)
    ]
    for box in cells.boxes:
        sides = (box.u_from, box.u_to, box.v_from, box.v_to)
        from_, to, across_from, across_to = sides if not upright else (sides[2], sides[3], sides[0], sides[1])
        if across_from + _SMALL < at < across_to - _SMALL:
            spans = [
                span
                for low, high in spans
                for span in ((low, min(high, from_)), (max(low, to), high))
                if span[0] < span[1]
            ]
    if begin > end:
        spans = [(high, low) for low, high in reversed(spans)]
    return [((at, low), (at, high)) if upright else ((low, at), (high, at)) for low, high in spans]
