"""Which lengths to buy and how to cut them: the cheapest, and among those the fewest, with the proof."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace

from slabwright.base.cutting_patterns import SLACK, Piece, needed
from slabwright.base.cutting_results import CuttingPlan, Stock
from slabwright.base.cutting_task import CuttingTask
from slabwright.findings import SlabwrightError


def cutting_stock(pieces: Sequence[Piece], stocks: Sequence[Stock], seconds: float = 3.5) -> CuttingPlan:
    """Cheapest lengths to cut all pieces from, and the fewest among the cheapest.

    Args:
        pieces: with their ends and the saw's cut
        stocks: lengths to be had and offcuts on hand
        seconds: at most to spend on the proof; what was found by then is given with its bound

    Raises:
        SlabwrightError: a piece is longer than any length, or the lengths do not suffice.
    """
    wanted = [piece for piece in pieces if piece.count > 0]
    if not wanted:
        return CuttingPlan((), (0,) * len(stocks), 0.0, 0.0, 0, 0, True, 0.0)
    _check(wanted, stocks)
    task = CuttingTask(wanted, stocks, time.perf_counter() + seconds)
    plan = task.solve()
    place = [
        sum(before.count > 0 for before in pieces[:at]) if piece.count > 0 else None for at, piece in enumerate(pieces)
    ]
    return replace(
        plan,
        cuts=tuple(
            replace(cut, counts=tuple(0 if at is None else cut.counts[at] for at in place)) for cut in plan.cuts
        ),
    )


def _check(pieces: Sequence[Piece], stocks: Sequence[Stock]) -> None:
    longest = max((part for stock in stocks if stock.available != 0 for part in stock.pieces), default=0.0)
    for index, piece in enumerate(pieces):
        if needed(pieces, [int(other == index) for other in range(len(pieces))]) > longest + SLACK:
            raise SlabwrightError(
                f"{piece.name} takes {piece.length:.1f} mm and the longest length to be had is {longest:.1f} mm:"
                " state a longer length, or make it of two with a joint"
            )
