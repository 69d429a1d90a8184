"""What fits one length: pieces side by side with the saw's cut between them, mitred ends nested point to point.

A piece takes its length on the middle line. Between two ends of the same slant one cut serves both. Between different slants a
wedge is lost, and at a square end of the stock the slant itself. So the wood that a set of pieces needs is a sum over the pieces
plus what its best order loses, and that depends only on which slants meet: an Euler path through the slants, the pieces being its
edges.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

SLACK = 1e-6
"""Lengths that differ by less are equal [mm]."""


@dataclass(frozen=True, order=True)
class End:
    """How a piece ends.

    Attributes:
        lean: from the middle line to the long point, along the length [mm]; 0: square
        kerf: of the cut, along the length [mm]
        side: sides of a section that are not alike nest only with themselves: its name
    """

    lean: float
    kerf: float
    side: str = ""


@dataclass(frozen=True)
class Piece:
    """Pieces of one kind.

    Attributes:
        name: of the part
        length: on the middle line [mm]
        count: how many are wanted
        ends: both ends
    """

    name: str
    length: float
    count: int
    ends: tuple[End, End]

    @property
    def taken(self) -> float:
        """Of a length, with half of the cut at either end [mm]."""
        return self.length + (self.ends[0].kerf + self.ends[1].kerf) / 2.0


def square_piece(name: str, length: float, count: int, kerf: float) -> Piece:
    """Pieces cut square at both ends."""
    return Piece(name, length, count, (End(0.0, kerf), End(0.0, kerf)))


def between(left: End, right: End) -> float:
    """What is lost between two ends beyond half of either cut [mm]: nothing where one cut serves both."""
    cut = abs(left.kerf - right.kerf) / 2.0
    if _cross(left, right):
        return cut + left.lean + right.lean
    return cut + abs(left.lean - right.lean)


def at_stock_end(end: End) -> float:
    """What is lost at the square end of a length beyond half of a cut [mm]: a square end needs no cut, so less than nothing."""
    return end.lean - end.kerf / 2.0


def least_lost(ends: Sequence[End]) -> float:
    """What no order of any pieces with these ends loses less than [mm]."""
    return 2.0 * min((-end.kerf / 2.0 for end in ends), default=0.0)


def needed(pieces: Sequence[Piece], counts: Sequence[int]) -> float:
    """Shortest length that holds so many of each piece, in their best order [mm]."""
    taken = math.fsum(piece.taken * count for piece, count in zip(pieces, counts, strict=True) if count)
    used = [(piece.ends, count) for piece, count in zip(pieces, counts, strict=True) if count]
    return taken + _lost(*_signature(used)) if used else 0.0


def best_order(pieces: Sequence[Piece], counts: Sequence[int]) -> list[tuple[int, bool]]:
    """Pieces in an order that needs the least, from one end of the length to the other.

    Returns:
        Index of each piece, and whether it lies the other way round.
    """
    used = [(piece.ends, count) for piece, count in zip(pieces, counts, strict=True) if count]
    if not used:
        return []
    nodes, _ = _signature(used)
    classes = sorted({end for pair in nodes for end in pair})
    start, added = _plan(*_signature(used))
    edges: list[tuple[End, End, int]] = [
        (*piece.ends, index)
        for index, (piece, count) in enumerate(zip(pieces, counts, strict=True))
        for _ in range(count)
    ]
    edges += [(classes[a], classes[b], -1) for a, b in added]
    return _walk(edges, classes[start])


def _signature(
    used: Sequence[tuple[tuple[End, End], int]],
) -> tuple[tuple[tuple[End, End], ...], tuple[End, ...]]:
    """All that the loss depends on: which pairs of ends there are, and which ends stand an odd number of times."""
    pairs = tuple(sorted({(min(ends), max(ends)) for ends, _ in used}))
    odd: set[End] = set()
    for ends, count in used:
        if count % 2:
            odd ^= {ends[0]}
            odd ^= {ends[1]}
    return pairs, tuple(sorted(odd))


def _lost(pairs: tuple[tuple[End, End], ...], odd: tuple[End, ...]) -> float:
    return _best(pairs, odd)[0]


def _plan(pairs: tuple[tuple[End, End], ...], odd: tuple[End, ...]) -> tuple[int, tuple[tuple[int, int], ...]]:
    return _best(pairs, odd)[1:]


@lru_cache(maxsize=4096)
def _best(pairs: tuple[tuple[End, End], ...], odd: tuple[End, ...]) -> tuple[float, int, tuple[tuple[int, int], ...]]:
    """Least loss, the end to begin with, and the joints of unlike ends: every such set is tried that makes one path.

    Doubling a joint keeps every parity, so none need stand more than twice; and two of a kind are only there to connect.
    """
    classes = sorted({end for pair in pairs for end in pair})
    index = {end: number for number, end in enumerate(classes)}
    links = [(index[a], index[b]) for a, b in pairs]
    joints = _joints(classes)
    cost = {(a, b): between(classes[a], classes[b]) for a, b in joints}
    best: tuple[float, int, tuple[tuple[int, int], ...]] = (math.inf, 0, ())
    for times in itertools.product(range(3), repeat=len(joints)):
        added = tuple(joint for joint, many in zip(joints, times, strict=True) for _ in range(many))
        base = sum(cost[joint] for joint in added)
        if base + least_lost(classes) >= best[0] or not _connected(len(classes), [*links, *added]):
            continue
        free = {index[end] for end in odd}
        for a, b in added:
            free ^= {a}
            free ^= {b}
        if len(free) == 2:
            starts = [tuple(sorted(free))]
        elif not free:
            starts = [(node, node) for node in range(len(classes))]
        else:
            continue
        for start, end in starts:
            total = base + at_stock_end(classes[start]) + at_stock_end(classes[end])
            if total < best[0]:
                best = (total, start, added)
    return best


def _joints(classes: Sequence[End]) -> list[tuple[int, int]]:
    """Joints of unlike ends that are worth trying: on one side a far one is the sum of the near ones between."""
    return [
        (a, b)
        for a, b in itertools.combinations(range(len(classes)), 2)
        if _cross(classes[a], classes[b])
        or not any(
            min(classes[a].lean, classes[b].lean) < mid.lean < max(classes[a].lean, classes[b].lean)
            and not _cross(mid, classes[a])
            and not _cross(mid, classes[b])
            for mid in classes
        )
    ]


def _cross(one: End, other: End) -> bool:
    """Whether both are mitred over different sides."""
    return one.side != other.side and one.lean > 0.0 and other.lean > 0.0


def _connected(count: int, links: Sequence[tuple[int, int]]) -> bool:
    group = list(range(count))
    for a, b in links:
        if group[a] != group[b]:
            old, new = group[a], group[b]
            group = [new if of == old else of for of in group]
    return len(set(group)) == 1


def _walk(edges: Sequence[tuple[End, End, int]], start: End) -> list[tuple[int, bool]]:
    """An Euler path through all edges (Hierholzer), joints left out."""
    at: dict[End, list[int]] = {}
    for number, (a, b, _) in enumerate(edges):
        at.setdefault(a, []).append(number)
        if b != a:
            at.setdefault(b, []).append(number)
    gone = [False] * len(edges)
    path: list[tuple[int, bool]] = []
    stack: list[tuple[End, tuple[int, bool] | None]] = [(start, None)]
    while stack:
        node, _ = stack[-1]
        while at.get(node) and gone[at[node][-1]]:
            at[node].pop()
        if at.get(node):
            number = at[node].pop()
            gone[number] = True
            a, b, piece = edges[number]
            turned = node != a
            stack.append((a if turned else b, (piece, turned)))
        else:
            _, came = stack.pop()
            if came is not None:
                path.append(came)
    return [(piece, turned) for piece, turned in reversed(path) if piece >= 0]
