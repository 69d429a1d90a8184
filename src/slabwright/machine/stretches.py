"""Parallel lines over the wood of one level, and the stretches of them that have to be fed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats
from slabwright.machine.lattice import Cutter, Lattice

Whole = NDArray[np.intp]
_SMALL = 1e-9


@dataclass(frozen=True)
class Stretches:
    """What has to be fed, stretch by stretch, sorted by line and then by place.

    Each line clears a band of its own, the one above what the line below it cleared; so taken from below upward no cut is wider
    than the band. `patch` tells which patch of wood a stretch belongs to; a patch has lines of its own.

    Attributes:
        patch: shape (n,)
        line: counted within the patch, from below, shape (n,)
        v: of the line, shape (n,) [mm]
        start: where the middle of the cutter has to be at least, shape (n,) [mm]
        end: and up to where, shape (n,) [mm]
        start_up: the same as `start` where the cutter goes on sideways to the next line at this end, shape (n,) [mm]
        end_up: the same as `end` where the cutter goes on sideways to the next line at this end, shape (n,) [mm]
        wood_from: near end of the wood of the band, shape (n,) [mm]
        wood_to: far end of it, shape (n,) [mm]
    """

    patch: Whole
    line: Whole
    v: Floats
    start: Floats
    end: Floats
    start_up: Floats
    end_up: Floats
    wood_from: Floats
    wood_to: Floats

    def __len__(self) -> int:
        return int(self.v.size)


_NONE = np.zeros(0)
EMPTY = Stretches(_NONE.astype(np.intp), _NONE.astype(np.intp), *(_NONE,) * 7)


def stretches(cells: Lattice, cutter: Cutter, labels: NDArray[np.int32], *, gap: float) -> Stretches:
    """Lines over each patch of wood, and what of them has to be fed.

    The lines of a patch share its height evenly, in as few bands as the spacing allows. A cell has to lie within the flat of the
    cutter from somewhere on the line of its band. A run of cells of one row, cut off at the band's borders and up to d from the
    line, wants the middle of the cutter to go from its start + e to its end - e, e = sqrt(flat^2 - d^2); where the run is shorter
    than 2 e, a point between its end - e and its start + e does.

    Args:
        cells: with the wood that is to be cleared
        cutter: flat and spacing
        labels: the patch of each cell, from 1, by `patches`
        gap: up to which what lies between two stretches of a line is fed through [mm]
    """
    row, first, last = _runs(cells.wanted)
    if not row.size:
        return EMPTY
    patch, count = labels[row, first].astype(np.intp) - 1, int(labels.max())
    low, high = np.full(count, cells.wanted.shape[0]), np.zeros(count, dtype=int)
    np.minimum.at(low, patch, row)
    np.maximum.at(high, patch, row + 1)
    base = cells.v_start + cells.dv * low
    tall = cells.dv * (high - low)
    bands = np.ceil(tall / cutter.spacing - 1e-6).astype(int)
    band = tall / bands
    # What the bands are narrower than the spacing lets a line lie nearer to the middle of its band.
    spare = np.minimum(cutter.spacing - band, cutter.flat - band / 2.0)
    first_line = np.concatenate([[0], np.cumsum(bands)])

    bottom = cells.v_start + cells.dv * row
    below = np.floor((bottom - base[patch]) / band[patch] + 1e-6).astype(int)
    above = np.ceil((bottom + cells.dv - base[patch]) / band[patch] - 1e-6).astype(int) - 1
    above = np.minimum(above, bands[patch] - 1)
    times = above - below + 1
    run = np.repeat(np.arange(row.size), times)
    nth = below[run] + np.arange(run.size) - np.repeat(np.cumsum(times) - times, times)
    whose = patch[run]
    floor = base[whose] + nth * band[whose]
    v = floor + band[whose] - cutter.flat + spare[whose]
    piece_low = np.maximum(bottom[run], floor)
    piece_high = np.minimum(bottom[run] + cells.dv, floor + band[whose])
    near: Floats = np.asarray(cells.u_start + cells.du * first[run], dtype=np.float64)
    far: Floats = np.asarray(cells.u_start + cells.du * last[run], dtype=np.float64)
    reach = _reach(np.maximum(v - piece_low, piece_high - v), cutter.flat)
    reach_up = _reach(np.maximum(v - piece_low, 0.0), cutter.flat)

    line = first_line[whose] + nth
    # Lines are laid end to end on one long axis, so that one pass over it serves all.
    width = cells.du * cells.wanted.shape[1] + 4.0 * cutter.radius + gap
    shift = line * width - cells.u_start
    want_from, want_to = near + reach + shift, far - reach + shift
    solid = want_from <= want_to
    begin, end = _union(want_from[solid], want_to[solid], gap)
    points = _points(want_to[~solid], want_from[~solid], begin, end)
    if points.size:
        begin, end = _union(np.concatenate([begin, points]), np.concatenate([end, points]), gap)
    group = np.searchsorted(end, np.minimum(want_from, want_to) - 1e-6)
    size = begin.size
    wood_from, wood_to = np.full(size, np.inf), np.full(size, -np.inf)
    start_up, end_up = np.full(size, np.inf), np.full(size, -np.inf)
    # At a window's end the wood may go on: more of it than the cutter is wide.
    wood = np.pad(cells.wood, ((0, 0), (1, 1)))
    goes_on_near, goes_on_far = wood[row, first][run], wood[row, last + 1][run]
    np.minimum.at(wood_from, group, near - 2.0 * cutter.flat * goes_on_near)
    np.maximum.at(wood_to, group, far + 2.0 * cutter.flat * goes_on_far)
    np.minimum.at(start_up, group, near + reach_up)
    np.maximum.at(end_up, group, far - reach_up)
    on = np.floor(begin / width + 1e-9).astype(int)
    back = cells.u_start - on * width
    begin, end = begin + back, end + back
    owner = np.searchsorted(first_line, on, side="right") - 1
    level = on - first_line[owner]
    return _clipped(
        Stretches(
            patch=owner,
            line=level,
            v=base[owner] + (level + 1) * band[owner] - cutter.flat + spare[owner],
            start=begin,
            end=end,
            start_up=np.clip(start_up, begin, end),
            end_up=np.clip(end_up, begin, end),
            wood_from=wood_from,
            wood_to=wood_to,
        ),
        cells,
        cutter,
    )


def _runs(wanted: NDArray[np.bool_]) -> tuple[Whole, Whole, Whole]:
    """Row, first column and column after the last of each run of cells."""
    padded = np.zeros((wanted.shape[0], wanted.shape[1] + 2), dtype=np.int8)
    padded[:, 1:-1] = wanted
    step = np.diff(padded, axis=1)
    row, first = np.nonzero(step == 1)
    return row, first, np.nonzero(step == -1)[1]


def patches(cells: Lattice, cutter: Cutter, gap: float) -> NDArray[np.int32]:
    """The patch of each cell, from 1: what lies nearer than a cutter's breadth, or than a gap along the strips, hangs together.

    Args:
        cells: with the wood that is to be cleared
        cutter: its radius
        gap: as in `stretches` [mm]

    Returns:
        Shape (rows, columns); of cells that are not to be cleared it tells nothing.
    """
    from scipy import ndimage

    rows = 2 * int(np.ceil(cutter.radius / cells.dv)) + 1
    columns = 2 * int(np.ceil(max(2.0 * cutter.radius, gap) / 2.0 / cells.du)) + 1
    grown = ndimage.maximum_filter1d(cells.wanted.view(np.uint8), rows, axis=0, mode="constant")
    grown = ndimage.maximum_filter1d(grown, columns, axis=1, mode="constant")
    labels, _ = ndimage.label(grown)
    return np.asarray(labels, dtype=np.int32)


def _reach(off: Floats, flat: float) -> Floats:
    """How far along its line the flat covers what lies so far off it."""
    return np.sqrt(np.maximum(flat * flat - off * off, 0.0))


def _union(begin: Floats, end: Floats, gap: float) -> tuple[Floats, Floats]:
    """Stretches joined where less than a gap lies between them, sorted."""
    if not begin.size:
        return begin, end
    order = np.argsort(begin)
    begin, end = begin[order], np.maximum.accumulate(end[order])
    starts = np.flatnonzero(np.append(True, begin[1:] > end[:-1] + gap))
    return begin[starts], end[np.append(starts[1:], begin.size) - 1]


def _points(least: Floats, most: Floats, begin: Floats, end: Floats) -> Floats:
    """Fewest points, one at least in each window from `least` to `most` that no stretch meets yet."""
    if begin.size:
        at = np.minimum(np.searchsorted(end, least - 1e-6), begin.size - 1)
        free = (begin[at] > most + 1e-6) | (end[at] < least - 1e-6)
        least, most = least[free], most[free]
    order = np.argsort(most)
    found: list[float] = []
    for low, high in zip(least[order].tolist(), most[order].tolist(), strict=True):
        if not found or found[-1] < low:
            found.append(high)
    return np.array(found)


def _clipped(all_: Stretches, cells: Lattice, cutter: Cutter) -> Stretches:
    """Stretches within the limits and clear of clamps; one that a clamp stands in is parted."""
    parts: list[tuple[int, float, float]] = []
    least, most = cells.u_limits
    touched = (all_.start < least) | (all_.end > most)
    low, high = cells.v_limits
    touched |= (all_.v < low - 1e-6) | (all_.v > high + 1e-6)
    for box in cells.boxes:
        touched |= (all_.v > box.v_from) & (all_.v < box.v_to) & (all_.end > box.u_from) & (all_.start < box.u_to)
    if not touched.any():
        return all_
    for index in range(len(all_)):
        v, pieces = float(all_.v[index]), [(float(all_.start[index]), float(all_.end[index]))]
        if touched[index]:
            pieces = [(min(max(begin, least), most), max(min(end, most), least)) for begin, end in pieces]
            for box in cells.boxes:
                if box.v_from < v < box.v_to:
                    pieces = [
                        piece
                        for begin, end in pieces
                        for piece in ((begin, min(end, box.u_from)), (max(begin, box.u_to), end))
                        if piece[0] <= piece[1]
                    ]
        parts += [(index, begin, end) for begin, end in pieces]
    index_of = np.array([part[0] for part in parts], dtype=np.intp)
    start, end = (np.array([part[which] for part in parts], dtype=np.float64) for which in (1, 2))
    return Stretches(
        patch=all_.patch[index_of],
        line=all_.line[index_of],
        v=np.clip(all_.v[index_of], low, high),
        start=start,
        end=end,
        start_up=np.clip(all_.start_up[index_of], start, end),
        end_up=np.clip(all_.end_up[index_of], start, end),
        wood_from=np.clip(all_.wood_from[index_of], start - cutter.flat, end),
        wood_to=np.clip(all_.wood_to[index_of], start, end + cutter.flat),
    )
