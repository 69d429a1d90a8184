"""How a stiff slab rests on more than three stacks: on three of them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from slabwright.geometry.faces import Floats

Triples = NDArray[np.intp]


@dataclass(frozen=True)
class Threes:
    """All threes of places whose triangle holds the centre of mass.

    Attributes:
        places: x, y of every place, shape (n, 2) [mm]
        triples: indices of the places, shape (t, 3)
        shares: share of the weight that each of the three carries, shape (t, 3); each row adds up to 1
    """

    places: Floats
    triples: Triples
    shares: Floats

    def __len__(self) -> int:
        return len(self.triples)


@dataclass(frozen=True)
class Rest:
    """The three stacks that carry, and the plane through their contacts.

    Attributes:
        triple: row of `Threes.triples`
        carrying: the three places
        plane: (a, b, c) of z = a x + b y + c through the contacts: how far the slab is turned and raised
    """

    triple: int
    carrying: tuple[int, int, int]
    plane: tuple[float, float, float]


def threes(places: Floats, centre: Floats, slack: float = 1e-9) -> Threes:
    """The threes of places that can carry a weight at `centre`.

    Args:
        places: x, y of the places, shape (n, 2) [mm]
        centre: x, y of the centre of mass, shape (2,) [mm]
        slack: a share may be negative by so much, for a centre on an edge

    Returns:
        Every triangle that holds the centre, with the weight's shares (its barycentric coordinates).
    """
    triples = np.array(list(combinations(range(len(places)), 3)), dtype=np.intp).reshape(-1, 3)
    p, q, r = (places[triples[:, corner]] for corner in range(3))
    doubled = _cross(q - p, r - p)
    size = np.abs(places - centre).max(initial=1.0)
    solid = np.abs(doubled) > 1e-6 * size * size
    triples, p, q, r, doubled = triples[solid], p[solid], q[solid], r[solid], doubled[solid]
    shares = np.column_stack(
        [_cross(q - centre, r - centre), _cross(r - centre, p - centre), _cross(p - centre, q - centre)]
    ) / doubled.reshape(-1, 1)
    holds = (shares >= -slack).all(axis=1)
    return Threes(places, triples[holds], shares[holds])


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], dtype=np.float64)


def plane_through(places: Floats, heights: Floats) -> tuple[float, float, float]:
    """The plane z = a x + b y + c through three points; shapes (3, 2) and (3,)."""
    middle = places.mean(axis=0)
    a, b, c = np.linalg.solve(np.column_stack([places - middle, np.ones(3)]), heights)
    return float(a), float(b), float(c - a * middle[0] - b * middle[1])


def resting(three: Threes, elevation: Floats) -> Rest:
    """The facet of contacts under the centre of mass: what a rigid slab rests on.

    The slab sinks as far as the stacks let it: the least height of its centre of mass with no stack inside the wood is a
    linear program, whose dual is the greatest height at which a weighted mean of contacts can hold the centre. That
    is reached on three of them: the three whose tops carry the centre highest.

    Args:
        three: the threes that can carry, from `threes`; at least one
        elevation: height of each stack less that of the underside above it in any lie, shape (n,) [mm]

    Returns:
        The three that carry, and the plane by which the slab leaves that lie.
    """
    height = (three.shares * elevation[three.triples]).sum(axis=1)
    best = height.max()
    rests: list[tuple[float, Rest]] = []
    for row in np.flatnonzero(height >= best - 1e-9 * max(1.0, abs(best))):
        corners = three.triples[row]
        plane = plane_through(three.places[corners], elevation[corners])
        above = float((elevation - three.places @ np.array(plane[:2]) - plane[2]).max())
        rests.append((above, Rest(int(row), (int(corners[0]), int(corners[1]), int(corners[2])), plane)))
    # Equal heights: the centre lies over the line of two contacts, and the third is the one that leaves no stack in the wood.
    return min(rests, key=lambda item: item[0])[1]
