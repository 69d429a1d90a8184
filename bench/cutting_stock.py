"""Cutting lengths: known optima, 200 pieces of 12 lengths in time, and what nesting mitres saves."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator, Sequence

import numpy as np

from bench.row import Row
from slabwright.base.cut_list import cut_list
from slabwright.base.cut_list_results import Part, Saw, Supply
from slabwright.base.cutting_patterns import Piece, square_piece
from slabwright.base.cutting_results import CuttingPlan, Stock
from slabwright.base.cutting_stock import cutting_stock
from slabwright.base.sections import section

TASKS = 8
KNOWN = (
    (
        "paper rolls of 5600 mm, 13 widths",
        5600.0,
        (1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200),
        (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20),
        73,
    ),
    ("rolls of 100 in, 4 widths (GAMS CUTSTOCK)", 100.0, (45, 36, 31, 14), (97, 610, 395, 211), 453),
)


def rows() -> Iterator[Row]:
    """Each claim about cutting lengths, measured."""
    for name, length, widths, counts, best in KNOWN:
        pieces = [square_piece(str(w), w, n, 0.0) for w, n in zip(widths, counts, strict=True)]
        plan, seconds = _timed(pieces, [Stock("roll", length, 1.0)])
        yield Row(
            name,
            f"{plan.lengths}, {'proven' if plan.proven else 'not proven'} in {seconds:.2f} s",
            f"{best}, published",
            plan.lengths / best,
            "the same, proven",
            plan.lengths == best and plan.proven,
        )
    yield from _many()
    yield _nested()


def _many() -> Iterator[Row]:
    """200 pieces of 12 lengths, from one length and from three with prices."""
    kinds: dict[str, Sequence[Stock]] = {
        "6 m": [Stock("6 m", 6000.0, 1.0)],
        "6 m, 20 ft and 24 ft with prices": [
            Stock("6 m", 6000.0, 60.0),
            Stock("20 ft", 6096.0, 62.0),
            Stock("24 ft", 7315.2, 73.0),
        ],
    }
    for name, stocks in kinds.items():
        seconds, over, proven = [], [], 0
        for seed in range(TASKS):
            random = np.random.default_rng(seed)
            lengths = np.round(random.uniform(150.0, 1800.0, 12))
            counts = random.multinomial(200, np.full(12, 1 / 12))
            pieces = [
                square_piece(str(at), a, int(n), 3.0) for at, (a, n) in enumerate(zip(lengths, counts, strict=True))
            ]
            plan, took = _timed(pieces, stocks)
            seconds.append(took)
            over.append((plan.price - plan.bound) / min(stock.price for stock in stocks))
            proven += plan.proven
        yield Row(
            f"200 pieces of 12 lengths from {name}",
            f"{max(over):.2f} lengths over what no plan beats, worst of {TASKS}; {proven} proven",
            "price of the cheapest length",
            max(over),
            "proven, or within one length",
            max(over) < 1.0,
        )
        yield Row(
            f"200 pieces of 12 lengths from {name}: time",
            f"{np.median(seconds):.2f} s median, {max(seconds):.2f} s worst",
            "5 s",
            max(seconds) / 5.0,
            "under 5 s",
            max(seconds) < 5.0,
        )


def _nested() -> Row:
    """Two mitred loops of 60 mm tube: nested against each part sawn to its own long points."""
    tube = section("60x60x4")
    parts = [Part("rail", tube, 900.0, (45.0, 45.0), 4), Part("upright", tube, 720.0, (45.0, 45.0), 4)]
    saw = Saw(kerf=2.5)
    begin = time.perf_counter()
    done = cut_list(parts, saw=saw, supplies=[Supply(7315.2, 1.0)])
    seconds = time.perf_counter() - begin
    nested = math.fsum(length.used * length.times for length in done.lengths)
    apart = math.fsum(part.count * part.length for part in parts) + 7 * saw.kerf * math.sqrt(2.0)
    return Row(
        "two mitred loops, parts nested point to point",
        f"{nested:.0f} mm of tube, {done.cuts} cuts",
        f"{apart:.0f} mm, each sawn to its own long points",
        nested / apart,
        "told",
        None,
        f"the whole cut list in {seconds * 1000.0:.0f} ms",
    )


def _timed(pieces: Sequence[Piece], stocks: Sequence[Stock]) -> tuple[CuttingPlan, float]:
    begin = time.perf_counter()
    plan = cutting_stock(pieces, stocks)
    return plan, time.perf_counter() - begin
