"""Cutting stock against trying everything: pieces laid by geometry in every order, shared out over lengths in every way."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.base.cutting_patterns import End, Piece, needed, square_piece
from slabwright.base.cutting_results import Stock
from slabwright.base.cutting_stock import cutting_stock
from slabwright.base.cutting_task import CuttingTask

SIDE = 60.0


def shortest_by_hand(pieces: list[tuple[float, float, float]], kerf: float) -> float:
    """Shortest length that holds trapezoids (middle length, both mitres): every order, end for end, either face up.

    Each cut is a straight line from the top edge to the bottom edge; a piece may begin where every point of the gap to the last
    one is at least as wide, along the length, as either cut.
    """
    best = math.inf
    for order in itertools.permutations(range(len(pieces))):
        for ways in itertools.product(itertools.product((False, True), (1.0, -1.0)), repeat=len(order)):
            top = bottom = taken = before = 0.0
            for number, (index, (turned, up)) in enumerate(zip(order, ways, strict=True)):
                length, first, last = pieces[index]
                if turned:
                    first, last = last, first
                lean_in, lean_out = (up * SIDE / 2.0 * math.tan(math.radians(mitre)) for mitre in (first, last))
                # With its long face up, a piece begins further left at the top and ends further right there.
                start_top, start_bottom = -lean_in, lean_in
                if number == 0:
                    middle = max(-start_top, -start_bottom)
                else:
                    cut = kerf / min(math.cos(math.radians(first)), math.cos(math.radians(before)))
                    middle = max(top + cut - start_top, bottom + cut - start_bottom)
                top, bottom = middle + length + lean_out, middle + length - lean_out
                before = last
                taken = max(top, bottom)
            best = min(best, taken)
    return best


def cheapest_by_hand(lengths: list[float], kerf: float, stocks: list[Stock]) -> float:
    """Least price: every way to share pieces out over lengths, each share in the cheapest length that holds it."""
    best = math.inf
    for shares in _partitions(lengths):
        price = 0.0
        for share in shares:
            long = sum(share) + kerf * (len(share) - 1)
            price += min((stock.price for stock in stocks if stock.length >= long - 1e-9), default=math.inf)
        best = min(best, price)
    return best


def _partitions(items: list[float]) -> list[list[list[float]]]:
    if not items:
        return [[]]
    first, rest = items[0], items[1:]
    found = []
    for shares in _partitions(rest):
        found.append([[first], *shares])
        found += [[*shares[:at], [first, *share], *shares[at + 1 :]] for at, share in enumerate(shares)]
    return found


def mitred(name: str, middle: float, first: float, last: float, kerf: float, count: int = 1) -> Piece:
    ends = [End(SIDE / 2.0 * math.tan(math.radians(a)), kerf / math.cos(math.radians(a))) for a in (first, last)]
    return Piece(name, middle, count, (ends[0], ends[1]))


mitres = st.sampled_from([0.0, 30.0, 45.0])


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.integers(200, 900).map(float), mitres, mitres), min_size=1, max_size=4),
    st.sampled_from([0.0, 2.5, 3.0]),
)
def test_nesting_is_as_short_as_any_order(pieces: list[tuple[float, float, float]], kerf: float) -> None:
    made = [mitred(str(at), *piece, kerf) for at, piece in enumerate(pieces)]
    assert needed(made, [1] * len(made)) == pytest.approx(shortest_by_hand(pieces, kerf))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(150, 1400).map(float), min_size=1, max_size=7),
    st.sampled_from([0.0, 2.0, 3.0]),
    st.lists(st.tuples(st.integers(1400, 3000).map(float), st.integers(10, 40).map(float)), min_size=1, max_size=3),
)
def test_plans_cost_as_little_as_any(lengths: list[float], kerf: float, sold: list[tuple[float, float]]) -> None:
    stocks = [Stock(str(at), length, price) for at, (length, price) in enumerate(sold)]
    kinds = sorted(set(lengths))
    plan = cutting_stock([square_piece(str(a), a, lengths.count(a), kerf) for a in kinds], stocks)
    assert plan.proven
    assert plan.price == pytest.approx(cheapest_by_hand(lengths, kerf, stocks))


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(st.integers(200, 700).map(float), mitres, mitres), min_size=2, max_size=4))
def test_mitred_plans_use_as_few_lengths_as_any(pieces: list[tuple[float, float, float]]) -> None:
    kerf, length = 2.5, 1300.0
    fewest = min(
        len(shares)
        for shares in _partitions([float(at) for at in range(len(pieces))])
        if all(shortest_by_hand([pieces[int(at)] for at in share], kerf) <= length + 1e-9 for share in shares)
    )
    made = [mitred(str(at), *piece, kerf) for at, piece in enumerate(pieces)]
    plan = cutting_stock(made, [Stock("length", length, 1.0)])
    assert plan.proven
    assert plan.lengths == fewest


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_both_ways_of_proof_agree(seed: int) -> None:
    """Patterns brought in one by one, against all of them listed."""
    random = np.random.default_rng(seed)
    made = [
        mitred(
            str(at),
            float(random.integers(300, 900)),
            float(random.choice([0.0, 45.0])),
            float(random.choice([0.0, 45.0])),
            2.5,
            int(random.integers(1, 5)),
        )
        for at in range(5)
    ]
    stocks = [Stock("a", 2500.0, 25.0), Stock("b", 3100.0, 30.0), Stock("left", 950.0, 0.0, 1, offcut=True)]
    listed = cutting_stock(made, stocks, 20.0)
    task = CuttingTask(made, stocks, math.inf)
    brought = task.bring_in()
    assert listed.proven
    assert brought.bound <= listed.price + 1e-6 <= brought.price + 2e-6
    if brought.proven:
        assert brought.price == pytest.approx(listed.price)
