"""Lengths to buy and how they are cut: kerf, prices, offcuts on hand, lengths that the yard cuts, and errors."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from slabwright.base.cutting_patterns import End, Piece, best_order, between, needed, square_piece
from slabwright.base.cutting_results import Cut, CuttingPlan, Stock
from slabwright.base.cutting_stock import cutting_stock
from slabwright.findings import SlabwrightError

SIX = Stock("6 m", 6000.0, 60.0)


def check(plan: CuttingPlan, pieces: list[Piece], stocks: list[Stock]) -> None:
    """Every piece is there, every length holds what is cut from it, and no more lengths are cut than taken."""
    made = np.array([np.array(cut.counts) * cut.times for cut in plan.cuts]).sum(axis=0)
    assert made.tolist() == [piece.count for piece in pieces]
    there: dict[float, int] = {}
    for stock, many in zip(stocks, plan.taken, strict=True):
        assert stock.available is None or many <= stock.available
        for part in stock.pieces:
            there[part] = there.get(part, 0) + many
    for cut in plan.cuts:
        assert needed(pieces, cut.counts) <= cut.part + 1e-6
        there[cut.part] -= cut.times
    assert min(there.values()) >= 0
    assert plan.bound <= plan.price + 1e-6


def test_three_pieces_that_fill_a_length_need_two_cuts() -> None:
    piece = square_piece("rail", 1998.0, 3, 3.0)
    assert needed([piece], [3]) == pytest.approx(3 * 1998.0 + 2 * 3.0)
    assert cutting_stock([piece], [Stock("6 m", 6000.0, 60.0)]).lengths == 1
    assert cutting_stock([piece], [Stock("6 m", 5999.9, 60.0)]).lengths == 2


def test_kerf_counts() -> None:
    pieces = [square_piece("leg", 1000.0, 6, 3.0)]
    assert cutting_stock([square_piece("leg", 1000.0, 6, 0.0)], [SIX]).lengths == 1
    assert cutting_stock(pieces, [SIX]).lengths == 2


def test_the_cheapest_mix_of_lengths() -> None:
    stocks = [SIX, Stock("20 ft", 6096.0, 61.0), Stock("24 ft", 7315.2, 90.0)]
    pieces = [square_piece("long", 3040.0, 2, 2.5), square_piece("short", 1990.0, 3, 2.5)]
    plan = cutting_stock(pieces, stocks)
    check(plan, pieces, stocks)
    assert plan.taken == (1, 1, 0)
    assert (plan.price, plan.bound, plan.proven) == (121.0, 121.0, True)


def test_among_plans_of_one_price_the_fewest_lengths() -> None:
    stocks = [Stock("half", 3000.0, 30.0), Stock("whole", 6000.0, 60.0)]
    pieces = [square_piece("leg", 1400.0, 4, 2.5)]
    plan = cutting_stock(pieces, stocks)
    assert (plan.price, plan.lengths, plan.taken) == (60.0, 1, (0, 1))


def test_offcuts_are_used_where_they_save_a_length_and_left_where_not() -> None:
    pieces = [square_piece("leg", 700.0, 9, 2.5)]
    offcut = Stock("offcut", 720.0, 0.0, 1, offcut=True)
    with_it = cutting_stock(pieces, [SIX, offcut])
    assert (with_it.taken, with_it.price) == ((1, 1), 60.0)
    assert cutting_stock(pieces, [SIX]).lengths == 2
    few = cutting_stock([square_piece("leg", 700.0, 3, 2.5)], [SIX, offcut])
    assert few.taken == (1, 0)


def test_a_length_that_the_yard_cuts_comes_with_all_its_parts() -> None:
    halves = Stock("6 m in two", 6000.0, 66.0, parts=(2998.5, 2998.5))
    pieces = [square_piece("rail", 2500.0, 3, 2.5), square_piece("leg", 480.0, 2, 2.5)]
    plan = cutting_stock(pieces, [halves])
    check(plan, pieces, [halves])
    assert plan.taken == (2,)
    assert sum(cut.times for cut in plan.cuts) <= 4


def test_a_limited_supply_is_kept_to() -> None:
    few = [Stock("6 m", 6000.0, 10.0, 1), Stock("5 m", 5000.0, 60.0)]
    pieces = [square_piece("rail", 2400.0, 4, 2.5)]
    plan = cutting_stock(pieces, few)
    check(plan, pieces, few)
    assert plan.taken == (1, 1)


def test_none_wanted_is_an_empty_plan() -> None:
    assert cutting_stock([square_piece("rail", 100.0, 0, 3.0)], [SIX]) == CuttingPlan(
        (), (0,), 0.0, 0.0, 0, 0, True, 0.0
    )


def test_pieces_of_no_count_stay_in_their_place() -> None:
    pieces = [square_piece("a", 100.0, 0, 3.0), square_piece("b", 200.0, 2, 3.0), square_piece("c", 300.0, 0, 3.0)]
    assert cutting_stock(pieces, [SIX]).cuts == (Cut(6000.0, (0, 2, 0), 1),)


def test_errors() -> None:
    with pytest.raises(SlabwrightError, match=r"rail takes 7000\.0 mm and the longest length to be had is 6000\.0 mm"):
        cutting_stock([square_piece("rail", 7000.0, 1, 3.0)], [SIX])
    with pytest.raises(SlabwrightError, match="do not suffice"):
        cutting_stock([square_piece("rail", 4000.0, 3, 3.0)], [Stock("6 m", 6000.0, 60.0, 2)])


@pytest.mark.parametrize("seed", range(4))
def test_many_pieces_of_many_lengths_come_within_one_length_of_what_no_plan_beats(seed: int) -> None:
    random = np.random.default_rng(seed)
    lengths = np.round(random.uniform(150.0, 1800.0, 12))
    counts = random.multinomial(200, np.full(12, 1 / 12))
    pieces = [square_piece(str(at), a, int(n), 3.0) for at, (a, n) in enumerate(zip(lengths, counts, strict=True))]
    plan = cutting_stock(pieces, [SIX], 30.0)
    check(plan, pieces, [SIX])
    assert plan.proven
    assert plan.lengths == math.ceil(plan.fractional / 60.0 - 1e-6)


def test_mitred_pieces_nest_point_to_point() -> None:
    """Side 60, 45 degrees: a lean of 30; the cut takes 2.5 times root 2; only both ends of the length lose a point."""
    cut = 2.5 * math.sqrt(2.0)
    rail = Piece("rail", 800.0 - 60.0, 4, (End(30.0, cut), End(30.0, cut)))
    assert needed([rail], [1]) == pytest.approx(800.0)
    assert needed([rail], [4]) == pytest.approx(4 * 740.0 + 3 * cut + 2 * 30.0)


def test_a_square_end_beside_a_mitre_loses_the_wedge() -> None:
    cut = 2.5 * math.sqrt(2.0)
    foot = Piece("foot", 400.0, 2, (End(0.0, 2.5), End(30.0, cut)))
    rail = Piece("rail", 700.0, 2, (End(0.0, 2.5), End(0.0, 2.5)))
    assert needed([foot], [1]) == pytest.approx(430.0)
    assert needed([foot], [2]) == pytest.approx(800.0 + cut)
    assert needed([foot, rail], [1, 1]) == pytest.approx(1100.0 + 2.5 + 30.0)
    assert between(End(30.0, cut), End(0.0, 2.5)) == pytest.approx(30.0 + (cut - 2.5) / 2.0)


def test_mitres_over_different_sides_do_not_share_a_cut() -> None:
    one, other = End(40.0, 3.0, "depth"), End(20.0, 3.0, "width")
    assert between(one, other) == pytest.approx(60.0)
    assert between(one, one) == 0.0


def test_the_order_is_as_short_as_told() -> None:
    cut = 2.5 * math.sqrt(2.0)
    square, mitre, flat = End(0.0, 2.5), End(30.0, cut), End(10.0, 2.6)
    pieces = [
        Piece("a", 500.0, 3, (square, mitre)),
        Piece("b", 400.0, 3, (mitre, mitre)),
        Piece("c", 300.0, 2, (square, square)),
        Piece("d", 200.0, 2, (flat, mitre)),
    ]
    for counts in ([3, 3, 2, 2], [1, 0, 2, 0], [0, 2, 1, 0], [0, 0, 0, 1], [1, 1, 1, 1], [0, 3, 0, 1]):
        order = best_order(pieces, counts)
        assert [sum(index == at for index, _ in order) for at in range(4)] == counts
        ends = [pieces[index].ends[::-1] if turned else pieces[index].ends for index, turned in order]
        total = sum(pieces[index].length for index, _ in order) + ends[0][0].lean + ends[-1][1].lean
        for (_, left), (right, _) in itertools.pairwise(ends):
            total += abs(left.lean - right.lean) + max(left.kerf, right.kerf)
        assert total == pytest.approx(needed(pieces, counts))
