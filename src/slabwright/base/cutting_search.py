"""Searching patterns: the one that is worth most, and all that are worth at least so much."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from slabwright.base.cutting_patterns import SLACK, Piece, needed

Floats = NDArray[np.float64]
_STEPS = 40
"""Steps that a search may take for each pattern that it may give."""


class TooManyError(Exception):
    """More patterns than were asked for."""


@dataclass
class Columns:
    """Patterns in play: of which part, and how many of each piece."""

    parts: list[float]
    of_part: list[int] = field(default_factory=list)
    counts: list[tuple[int, ...]] = field(default_factory=list)
    known: set[tuple[int, tuple[int, ...]]] = field(default_factory=set)

    def add(self, part: int, counts: tuple[int, ...]) -> bool:
        """Bring in a pattern; whether it is a new one."""
        if (part, counts) in self.known:
            return False
        self.known.add((part, counts))
        self.of_part.append(part)
        self.counts.append(counts)
        return True


class Task(Protocol):
    """What a search needs to know."""

    pieces: Sequence[Piece]
    spare: float
    columns: Columns


def best_pattern(task: Task, part: int, worth: Floats) -> tuple[float, float, tuple[int, ...]]:
    """The pattern that is worth most, by the list of undominated (taken, worth) pairs [1]_.

    While searching, what a pattern loses at its ends and joints is taken as the least possible; the pattern that is given is one
    that fits, which may be worth less where ends are mitred.

    Args:
        task: pieces and lengths
        part: which length
        worth: of each piece

    Returns:
        What no pattern is worth more than; the pattern's worth; how many of each piece.

    References:
        .. [1] G. L. Nemhauser and Z. Ullmann, Discrete dynamic programming and capital allocation, Management Science 15 (1969)
           (from memory)
    """
    room = task.columns.parts[part] + task.spare + SLACK
    taken, value = np.zeros(1), np.zeros(1)
    steps: list[tuple[int, int, NDArray[np.intp], NDArray[np.bool_]]] = []
    for index in np.argsort(-worth / np.array([piece.taken for piece in task.pieces])):
        piece = task.pieces[index]
        if worth[index] <= 0.0:
            continue
        for many in _doubled(min(piece.count, int(room / piece.taken))):
            taken, value, source, added = _merged(taken, value, many * piece.taken, many * float(worth[index]), room)
            steps.append((int(index), many, source, added))
    for at in range(taken.size - 1, -1, -1):
        counts = [0] * len(task.pieces)
        state = at
        for index, many, source, added in reversed(steps):
            if added[state]:
                counts[index] += many
            state = int(source[state])
        if not any(counts) or needed(task.pieces, counts) <= task.columns.parts[part] + SLACK:
            return float(value[-1]), float(value[at]), tuple(counts)
    return float(value[-1]), 0.0, (0,) * len(task.pieces)


def all_patterns(task: Task, part: int, *, limit: int) -> Iterator[tuple[int, ...]]:
    """All patterns to which no piece can be added.

    Raises:
        TooManyError: there are more than `limit`.
    """
    length, pieces = task.columns.parts[part], task.pieces
    taken = [piece.taken for piece in pieces]
    order = sorted(range(len(pieces)), key=lambda index: -taken[index])
    counts = [0] * len(pieces)
    steps = given = 0

    def room_for(extra: int) -> bool:
        if counts[extra] >= pieces[extra].count:
            return False
        more = list(counts)
        more[extra] += 1
        return needed(pieces, more) <= length + SLACK

    def go(at: int, left: float) -> Iterator[tuple[int, ...]]:
        nonlocal given, steps
        steps += 1
        if steps > _STEPS * limit:
            raise TooManyError
        if at == len(order):
            if any(counts) and needed(pieces, counts) <= length + SLACK and not any(map(room_for, order)):
                given += 1
                if given > limit:
                    raise TooManyError
                yield tuple(counts)
            return
        index = order[at]
        for count in range(min(pieces[index].count, int(left / taken[index])), -1, -1):
            counts[index] = count
            yield from go(at + 1, left - count * taken[index])
        counts[index] = 0

    yield from go(0, length + task.spare + SLACK)


def patterns_worth(
    task: Task,
    part: int,
    *,
    limit: int,
    worth: Floats,
    least: float,
    order: Sequence[int] | None = None,
    all_of_them: bool = True,
) -> Iterator[tuple[int, ...]]:
    """All patterns of a length that are worth at least so much.

    Before a piece is put down, the most that the rest of the length can still be worth is looked up, so that hardly any way is
    gone in vain.

    Args:
        task: pieces and lengths
        part: which length
        limit: of patterns
        worth: of each piece
        least: that a pattern must be worth
        order: in which pieces are put down; left out: longest first
        all_of_them: whether to fail where there are more than `limit`, rather than stop

    Raises:
        TooManyError: there are more than `limit`.
    """
    length, pieces = task.columns.parts[part], task.pieces
    taken = [piece.taken for piece in pieces]
    room = length + task.spare + SLACK
    order = sorted(range(len(pieces)), key=lambda index: -taken[index]) if order is None else order
    best_after: list[tuple[list[float], list[float]]] = [([0.0], [0.0])]
    states = (np.zeros(1), np.zeros(1))
    for index in reversed(order):
        for many in _doubled(min(pieces[index].count, int(room / taken[index]))):
            states = _merged(*states, many * taken[index], many * float(worth[index]), room)[:2]
        best_after.append((states[0].tolist(), states[1].tolist()))
    best_after.reverse()
    counts = [0] * len(pieces)
    steps = given = 0

    def go(at: int, left: float, value: float) -> Iterator[tuple[int, ...]]:
        nonlocal given, steps
        steps += 1
        if steps > _STEPS * limit:
            raise TooManyError
        if at == len(order):
            if any(counts) and needed(pieces, counts) <= length + SLACK:
                given += 1
                if given > limit:
                    raise TooManyError
                yield tuple(counts)
            return
        reached, most = best_after[at]
        if value + most[bisect_right(reached, left) - 1] < least:
            return
        index = order[at]
        for count in range(min(pieces[index].count, int(left / taken[index])), -1, -1):
            counts[index] = count
            yield from go(at + 1, left - count * taken[index], value + count * float(worth[index]))
        counts[index] = 0

    try:
        yield from go(0, room, 0.0)
    except TooManyError:
        if all_of_them:
            raise


def _doubled(count: int) -> Iterator[int]:
    """1, 2, 4 ... and a rest, of which every number up to `count` is a sum."""
    many = 1
    while count > 0:
        many = min(many, count)
        yield many
        count -= many
        many *= 2


def _merged(
    taken: Floats, value: Floats, more: float, worth: float, room: float
) -> tuple[Floats, Floats, NDArray[np.intp], NDArray[np.bool_]]:
    """States with and without a lot of pieces, the dominated ones left out; where each came from and whether the lot is in."""
    fits = taken + more <= room
    both = np.concatenate([taken, taken[fits] + more])
    worths = np.concatenate([value, value[fits] + worth])
    source = np.concatenate([np.arange(taken.size), np.flatnonzero(fits)])
    added = np.arange(both.size) >= taken.size
    order = np.lexsort((-worths, both))
    best = np.maximum.accumulate(worths[order])
    order = order[np.concatenate([[True], worths[order][1:] > best[:-1] + 1e-12])]
    return both[order], worths[order], source[order], added[order]
