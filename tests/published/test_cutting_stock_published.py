"""Cutting stock: instances of textbooks and libraries at their known optima."""

from __future__ import annotations

import numpy as np
import pytest

from slabwright.base.cutting_patterns import square_piece
from slabwright.base.cutting_results import Stock
from slabwright.base.cutting_stock import cutting_stock


def test_paper_rolls() -> None:
    """Rolls of 5600 mm in 13 widths (Cutting stock problem, encyclopedia's example): 73 rolls, waste 0.401 %, LP 72.9167."""
    widths = (1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200)
    rolls = (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20)
    pieces = [square_piece(str(width), width, many, 0.0) for width, many in zip(widths, rolls, strict=True)]
    plan = cutting_stock(pieces, [Stock("roll", 5600.0, 1.0)], 60.0)
    assert (plan.lengths, plan.lengths_bound, plan.proven) == (73, 73, True)
    assert plan.fractional == pytest.approx(72.91667, abs=1e-4)
    made = np.array([np.array(cut.counts) * cut.times for cut in plan.cuts]).sum(axis=0)
    assert made.tolist() == list(rolls)
    waste = 1.0 - float(np.dot(widths, rolls)) / (plan.lengths * 5600.0)
    assert round(100.0 * waste, 3) == 0.401


def test_four_widths() -> None:
    """GAMS model library CUTSTOCK, after Gilmore and Gomory (1961, 1963): LP 452.25, 453 rolls of 100 in (453 from memory)."""
    pieces = [square_piece(str(w), w, n, 0.0) for w, n in ((45, 97), (36, 610), (31, 395), (14, 211))]
    plan = cutting_stock(pieces, [Stock("roll", 100.0, 1.0)], 60.0)
    assert (plan.lengths, plan.proven) == (453, True)
    assert plan.fractional == pytest.approx(452.25)


def test_sixteen_widths() -> None:
    """Haessler (1988), table 2, as an AMPL example carries it, rolls of 172.

    No optimum was found in print; 33 is sure from both sides: all widths together are longer than 32 rolls.
    """
    widths = (25, 24.75, 18, 17.5, 15.5, 15.375, 13.875, 12.5, 12.25, 12, 10.25, 10.125, 10, 8.75, 8.5, 7.75)
    rolls = (5, 73, 14, 4, 23, 5, 29, 87, 9, 31, 6, 14, 43, 15, 21, 5)
    pieces = [square_piece(str(w), w, n, 0.0) for w, n in zip(widths, rolls, strict=True)]
    plan = cutting_stock(pieces, [Stock("roll", 172.0, 1.0)], 60.0)
    assert (plan.lengths, plan.lengths_bound, plan.proven) == (33, 33, True)
    assert float(np.dot(widths, rolls)) > 32 * 172.0
