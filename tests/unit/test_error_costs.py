from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
from tests.unit.milled_slab import job, slab

from slabwright.job.models import Allowance, Machine
from slabwright.machine.error_costs import ErrorCost, error_costs, tram_hollow, tram_ridge
from slabwright.machine.machine_findings import cost_findings
from slabwright.slab.results import SlabPlan
from slabwright.slab.stock import StockMap


def with_wood(a: float, b: float, **about: Any) -> SlabPlan:
    """A plan with as much wood above each plane all over."""
    plan = slab(**about)

    def even(stock: StockMap, depth: float) -> StockMap:
        return StockMap(stock.x, stock.y, np.where(np.isnan(stock.depth), np.nan, depth))

    return dataclasses.replace(plan, stock_a=even(plan.stock_a, a), stock_b=even(plan.stock_b, b))


def costs(plan: SlabPlan, what: str, **more: Any) -> list[ErrorCost]:
    machine, allowance = more.pop("machine", Machine()), more.pop("allowance", Allowance())
    return [cost for cost in error_costs(plan, machine, allowance, **more) if cost.what == what]


def test_too_high_leaves_skips_on_the_first_face_and_too_low_costs_the_second() -> None:
    high, low = costs(with_wood(0.03, 0.5), "z zero")
    assert (high.face, low.face) == ("A", "B")
    assert high.skip_depth == pytest.approx(0.07)
    assert high.loss == pytest.approx(0.07)
    assert high.skip_area == pytest.approx(slab().survey.region_a.area, rel=0.03)
    assert (low.skip_area, low.loss) == (0.0, 0.0)
    high, low = costs(with_wood(0.5, 0.04), "z zero")
    assert (high.loss, low.loss) == pytest.approx((0.0, 0.06))


def test_the_faces_change_places_with_the_face_that_is_cut_first() -> None:
    high, low = costs(with_wood(0.03, 0.5, show="B"), "z zero")
    assert (high.face, low.face) == ("B", "A")
    assert (high.loss, low.loss) == pytest.approx((0.0, 0.07))


def test_a_greater_error_costs_as_much_more() -> None:
    plan = with_wood(0.0, 0.0)
    for trial in (0.1, 0.25):
        assert [cost.loss for cost in costs(plan, "z zero", trial=trial)] == pytest.approx([trial, trial])


def test_low_spots_that_are_missed_anyway_do_not_count() -> None:
    high, low = costs(with_wood(-0.4, -0.4), "z zero")
    assert (high.skip_area, high.loss, low.loss) == (0.0, 0.0, 0.0)


def test_the_real_slab_has_its_skips_where_its_map_is_thin() -> None:
    plan = slab()
    high = costs(plan, "z zero", trial=1.0)[0]
    inside = plan.stock_a.depth[~np.isnan(plan.stock_a.depth)]
    assert 0.0 < high.skip_area <= np.count_nonzero(inside < 1.0) * plan.stock_a.cell_area
    assert high.loss <= 1.0


def test_a_leaning_spindle_leaves_steps_and_hollows() -> None:
    assert tram_ridge(35.0, 0.1) == pytest.approx(35.0 * math.tan(math.radians(0.1)))
    # Against the tilted circle itself: the lowest point over each place of the strip.
    turn = np.linspace(0.0, 2 * math.pi, 400_001)
    x, z = 25.0 * np.cos(turn), 25.0 * np.sin(turn) * math.sin(math.radians(0.1))
    near = np.abs(x) <= 17.5
    across = np.interp(np.linspace(-17.5, 17.5, 401), x[(z <= 0) & near][::1], z[(z <= 0) & near][::1])
    assert tram_hollow(35.0, 50.0, 0.1) == pytest.approx(float(np.ptp(across)), rel=1e-3)


def test_ridges_cost_thickness_only_beyond_what_is_sanded_off_anyway() -> None:
    plan = with_wood(1.0, 1.0)
    within = costs(plan, "tram", machine=Machine(tram=0.02))
    assert [cost.loss for cost in within] == [0.0, 0.0]
    ridge = 35.0 * math.tan(math.radians(0.1))
    bare = costs(plan, "tram", machine=Machine(tram=0.1), allowance=Allowance(marks_and_sanding=0.0))
    assert bare[0].loss == pytest.approx(2 * ridge)
    assert bare[0].size == pytest.approx(ridge)


def test_movement_is_taken_up_by_the_rest() -> None:
    plan = with_wood(5.0, 5.0, procedure="rough, rest, skim")
    assert [cost.loss for cost in costs(plan, "movement", allowance=Allowance(rest=2.0, movement=1.0))] == [0.0, 0.0]
    over = costs(plan, "movement", allowance=Allowance(rest=1.0, movement=1.6))
    assert [cost.face for cost in over] == ["A", "B"]
    for cost in over:
        assert cost.loss == pytest.approx(0.6, abs=0.01)
        # A bow of 1.6 mm stands more than 1.0 mm off along sqrt(1 - 1.0 / 1.6) of the length.
        assert cost.skip_area == pytest.approx(plan.survey.region_a.area * math.sqrt(0.6 / 1.6), rel=0.05)


def test_movement_costs_all_of_it_in_one_go() -> None:
    assert [cost.loss for cost in costs(with_wood(0.0, 0.0), "movement", allowance=Allowance(movement=0.7))] == (
        pytest.approx([0.7, 0.7])
    )


def test_only_errors_that_cost_something_are_told() -> None:
    found = cost_findings(costs(with_wood(0.0, 9.0), "z zero"), "metric")
    assert [finding.code for finding in found] == ["machine/error-costs"]
    assert "face A" in found[0].message
    assert "0.1 mm of thickness" in found[0].message
    assert job().shop.machine.z_zero_error == 0.1
