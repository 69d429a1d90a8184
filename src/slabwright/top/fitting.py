"""Where a rectangle goes into an outline, and the longest and widest one that does."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from slabwright.geometry.faces import Floats
from slabwright.top.shapes import Box, Piece

_COLUMNS = 241
_TURNS = 13
_SHORTER_BY = 40


def columns(room: BaseGeometry, turn: float) -> tuple[Floats, Floats, Floats]:
    """An outline turned back by a turn, column by column: x, lowest y, highest y of its longest piece there.

    Args:
        room: the outline [mm]
        turn: of the piece [rad]

    Returns:
        Shapes (n,), in the frame turned about the origin [mm].
    """
    turned = _turned(room, -turn)
    west, south, east, north = turned.bounds
    x = np.unique(np.concatenate([np.linspace(west, east, _COLUMNS), shapely.get_coordinates(turned)[:, 0]]))
    x = np.clip(x, west + 1e-7, east - 1e-7)
    ends = np.empty((x.size, 2, 2))
    ends[:, :, 0] = x[:, None]
    ends[:, 0, 1], ends[:, 1, 1] = south - 1.0, north + 1.0
    parts, column = shapely.get_parts(shapely.intersection(shapely.linestrings(ends), turned), return_index=True)
    limits = shapely.bounds(parts)
    low, high = np.full(x.size, np.nan), np.full(x.size, np.nan)
    order = np.argsort(limits[:, 3] - limits[:, 1], kind="stable")
    low[column[order]], high[column[order]] = limits[order, 1], limits[order, 3]
    known = ~np.isnan(low)
    return x[known], low[known], high[known]


def starts(piece: Piece, limits: Box, turns: int = 5, along: int = 5, across: int = 3) -> list[Box]:
    """Placements on the ground to begin with, spread over shifts and turns.

    Args:
        piece: the finished piece
        limits: all placements
        turns: how many turns
        along: shifts along
        across: shifts across
    """
    found: list[Box] = []
    for turn in np.linspace(-limits.dturn, limits.dturn, turns):
        if piece.width is None:
            shifts = np.linspace(limits.x - limits.dx, limits.x + limits.dx, 2 * along + 1)
            found += [Box(float(x), limits.y, float(turn)) for x in shifts]
            continue
        x, low, high = columns(piece.room, float(turn))
        fits = []
        for k in range(x.size):
            end = int(np.searchsorted(x, x[k] + piece.length - 1e-6))
            if end >= x.size:
                break
            span = slice(k, end + 1)
            bottom, top = float(low[span].max()), float(high[span].min())
            if top - bottom >= piece.width:
                fits.append((float(x[k]) + piece.length / 2, bottom + piece.width / 2, top - piece.width / 2))
        for k in np.unique(np.linspace(0, len(fits) - 1, along).round().astype(int)) if fits else ():
            u, bottom, top = fits[k]
            for v in np.unique(np.linspace(bottom, top, across)):
                at = _turned_point(u, float(v), float(turn))
                found.append(Box(at[0], at[1], float(turn)))
    return [box for box in found if piece.lies(box)]


def longest(piece: Piece, turn_most: float) -> float | None:
    """The greatest length (whole mm) at the piece's width that was found to go into the outlines, or None."""
    best: tuple[float, float, float, float] | None = None
    for turn in np.linspace(-turn_most, turn_most, _TURNS):
        if piece.width is None:
            way = np.array([math.cos(turn), math.sin(turn)])
            start, stop = float((piece.left @ way).max()), float((piece.right @ way).min())
            option = (stop - start, (start + stop) / 2, 0.0, float(turn))
            best = option if best is None or option[0] > best[0] else best
            continue
        x, low, high = columns(piece.room, float(turn))
        for k in range(x.size):
            bottom, top = np.maximum.accumulate(low[k:]), np.minimum.accumulate(high[k:])
            last = int(np.count_nonzero(top - bottom >= piece.width)) - 1
            if last > 0 and (best is None or x[k + last] - x[k] > best[0]):
                best = (
                    float(x[k + last] - x[k]),
                    float(x[k] + x[k + last]) / 2,
                    float(bottom[last] + top[last]) / 2,
                    float(turn),
                )
    return _shrunk(piece, best, "length")


def widest(piece: Piece, turn_most: float) -> float | None:
    """The greatest width (whole mm) at the piece's length that was found to go into the outlines, or None."""
    best: tuple[float, float, float, float] | None = None
    for turn in np.linspace(-turn_most, turn_most, _TURNS):
        x, low, high = columns(piece.room, float(turn))
        for k in range(x.size):
            end = int(np.searchsorted(x, x[k] + piece.length - 1e-6))
            if end >= x.size:
                break
            bottom, top = float(low[k : end + 1].max()), float(high[k : end + 1].min())
            if top > bottom and (best is None or top - bottom > best[0]):
                best = (top - bottom, float(x[k]) + piece.length / 2, (bottom + top) / 2, float(turn))
    return _shrunk(piece, best, "width")


def _shrunk(piece: Piece, best: tuple[float, float, float, float] | None, which: str) -> float | None:
    """The first whole millimetre below a size at which the piece lies on the ground, tried."""
    if best is None:
        return None
    size, u, v, turn = best
    if piece.width is None:
        slack = piece.left[:, 1].mean()
        u, v = u / math.cos(turn) - math.tan(turn) * slack, slack
        at = Box(u, float(v), turn)
    else:
        x, y = _turned_point(u, v, turn)
        at = Box(x, y, turn)
    for less in range(_SHORTER_BY):
        tried = math.floor(size + 1e-6) - less
        if tried <= 0:
            return None
        smaller = replace(piece, length=float(tried)) if which == "length" else replace(piece, width=float(tried))
        if smaller.lies(at):
            return float(tried)
    return None


def _turned(shape: BaseGeometry, turn: float) -> BaseGeometry:
    from shapely import affinity

    return affinity.rotate(shape, turn, origin=(0.0, 0.0), use_radians=True)


def _turned_point(u: float, v: float, turn: float) -> tuple[float, float]:
    return math.cos(turn) * u - math.sin(turn) * v, math.sin(turn) * u + math.cos(turn) * v
