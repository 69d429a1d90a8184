from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from tests.unit.milled_slab import affine, job, slab

from slabwright.job.models import Bed, Machine, Sled
from slabwright.machine.setting import Clamping, settings
from slabwright.machine.sled import SledPlan, sled_plan


def clampings(**about: Any) -> tuple[Clamping, ...]:
    shop = job(**about).shop
    return settings(slab(**about), shop.machine, shop.bed, allowance=shop.allowance)


def planned(rails: Sled, **about: Any) -> tuple[SledPlan, tuple[Clamping, ...]]:
    found = clampings(**about)
    plan, told = sled_plan(found, slab(**about), rails, job(**about).shop.bed)
    assert plan is not None
    assert told == ()
    return plan, found


def test_a_sled_has_no_travel() -> None:
    machine = Machine(kind="sled", travel_x=500.0, travel_y=300.0)
    found = settings(slab(), machine, job().shop.bed, allowance=job().shop.allowance)
    assert len(found) == 2
    assert all(clamping.overlap is None for clamping in found)


def test_rails_stand_on_their_supports_above_plane_and_wood() -> None:
    plan, found = planned(Sled(supports=[100.0, 1500.0, 2900.0], near_rail=40.0, far_rail=1360.0), sled=True)
    assert [setting.setting for setting in plan.settings] == [1, 2]
    for setting, clamping in zip(plan.settings, found, strict=True):
        assert [(each.rail, each.x, each.y) for each in setting.supports] == [
            *(("near", x, 40.0) for x in (100.0, 1500.0, 2900.0)),
            *(("far", x, 1360.0) for x in (100.0, 1500.0, 2900.0)),
        ]
        assert setting.above_plane + clamping.plane >= float(np.nanmax(clamping.stock.top)) + 3.0 - 1e-9
        for each in setting.supports:
            assert each.packing == pytest.approx(each.height - 50.0)
            assert each.packing >= -1e-9
        assert [depth.level for depth in setting.depths] == list(clamping.levels)
        assert setting.depths[-1].reach == pytest.approx(setting.above_plane)
        assert sum(depth.lower for depth in setting.depths) == pytest.approx(setting.above_plane)
        assert all(5.0 - 1e-9 <= depth.reach <= 60.0 for depth in setting.depths)


@pytest.mark.parametrize("show", ["A", "B"])
def test_rails_follow_the_slab_as_it_stands_so_that_the_planned_plane_is_cut(show: str) -> None:
    plan, found = planned(Sled(), show=show, sled=True)
    whole = slab(show=show, sled=True)
    assert whole.shims is not None
    a, b, c = whole.shims.standing
    assert abs(a) + abs(b) > 1e-6
    height = whole.seat.planes.upper if show == "A" else whole.seat.planes.lower
    lying = found[0].lying
    for each in plan.settings[0].supports:
        # Down from the rail is the plane of the slab as it really stands there.
        bed = np.array([each.x - lying.shift[0], each.y - lying.shift[1]])
        place = lying.frame.place_from_bed(*bed)
        x, y = np.array([place[0]]), np.array([place[1]])
        at = lying.frame.to_bed(np.column_stack([x, y, height(x, y)]))[0]
        really = at[2] + a * at[0] + b * at[1] + c
        assert each.height - plan.settings[0].above_plane == pytest.approx(really, abs=2e-3)


def test_a_gantry_cuts_level_where_a_sled_follows() -> None:
    level, _ = affine(settings(slab(), Machine(travel_y=1400.0), Bed(), allowance=job().shop.allowance)[0].lying)
    shims = slab().shims
    assert shims is not None
    standing = shims.standing
    matrix, _ = affine(clampings(sled=True)[0].lying)
    assert np.linalg.norm(matrix @ matrix.T - np.eye(3)) < 1e-12
    assert np.linalg.norm(level @ level.T - np.eye(3)) == pytest.approx(np.sqrt(2) * np.hypot(*standing[:2]), rel=0.1)


def test_rails_are_lowered_once_wood_is_off_where_the_bit_is_short() -> None:
    first = clampings(sled=True)[0]
    highest = float(np.nanmax(first.stock.top)) - first.plane
    most = highest + 3.0 - 0.7
    plan, found = planned(Sled(bit_reach_least=0.0, bit_reach_most=most, clearance=3.0, rail_height=20.0), sled=True)
    of_first = [setting for setting in plan.settings if setting.setting == 1]
    assert [tuple(depth.level for depth in setting.depths) for setting in of_first] == [found[0].levels[:-1], (0.0,)]
    # Over the wood that the depth before left.
    assert of_first[1].above_plane == pytest.approx(found[0].levels[-2] + 3.0)
    for setting in plan.settings:
        assert all(depth.reach <= most + 1e-9 for depth in setting.depths)


def test_rails_too_high_for_the_bit_stop_the_work_and_blocks_mend_it() -> None:
    found, whole, bed = clampings(sled=True), slab(sled=True), job(sled=True).shop.bed
    plan, (finding,) = sled_plan(found, whole, Sled(rail_height=200.0), bed)
    assert plan is None
    assert (finding.code, finding.severity) == ("machine/bit-out-of-reach", "stop")
    short = float(finding.remedy.split("rails ")[1].split(" mm lower")[0])
    assert sled_plan(found[:1], whole, Sled(rail_height=200.0 - short), bed)[0] is not None
    assert sled_plan(found[:1], whole, Sled(rail_height=200.0 - short + 0.2), bed)[0] is None


def test_a_bit_too_short_for_a_depth_is_told_so() -> None:
    found, whole, bed = clampings(sled=True), slab(sled=True), job(sled=True).shop.bed
    short = Sled(bit_reach_least=0.0, bit_reach_most=5.5, clearance=3.0, rail_height=20.0)
    plan, (finding,) = sled_plan(found, whole, short, bed)
    assert plan is None
    assert "a bit that reaches 6 mm, or plan shallower passes" in finding.remedy
    longer = short.model_copy(update={"bit_reach_most": 6.0})
    assert sled_plan(found, whole, longer, bed)[0] is not None


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"supports": [100.0, 100.0]}, "two different x"),
        ({"bit_reach_least": 60.0}, "less than bit_reach_most"),
        ({"near_rail": 100.0, "far_rail": 90.0}, "more than near_rail"),
    ],
)
def test_a_sled_that_cannot_be_is_refused(changes: dict[str, Any], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        Sled(**changes)
