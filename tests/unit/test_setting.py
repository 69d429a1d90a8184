from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pytest
import shapely
from tests.unit.milled_slab import BUMP, affine, job, slab, top

from slabwright.findings import SlabwrightError
from slabwright.job.models import Allowance, Bed, JobFile, Machine
from slabwright.job.work_models import Clamp
from slabwright.machine.lying import UNREAD_MARGIN, heights
from slabwright.machine.machine_findings import setting_findings, travel_findings
from slabwright.machine.setting import OVERLAP, Clamping, depths, keep_outs, parts_along, settings, shared
from slabwright.slab.results import SlabPlan

ALLOWANCE = Allowance()


def clampings(clamps: tuple[Clamp, ...] = (), machine: Machine | None = None, **about: Any) -> tuple[Clamping, ...]:
    shop = job(**about).shop
    return settings(slab(**about), machine or shop.machine, shop.bed, clamps, allowance=shop.allowance)


def between(one: Clamping, two: Clamping) -> tuple[np.ndarray, np.ndarray]:
    """Matrix and offset of the way from one clamping's machine frame to another's."""
    (m1, t1), (m2, t2) = affine(one.lying), affine(two.lying)
    turn = m2 @ np.linalg.inv(m1)
    return turn, t2 - turn @ t1


CORNERS = np.array([[300.0, 300.0], [1900.0, 300.0], [1900.0, 900.0], [300.0, 900.0]])


@pytest.mark.parametrize("show", ["A", "B"])
def test_in_one_go_the_second_face_lies_on_the_first_one_cut_to_its_plane(show: str) -> None:
    first, second = clampings(show=show)
    assert (first.face, second.face) == (show, "B" if show == "A" else "A")
    assert (first.lies_on, second.lies_on) == ("stacks", f"face {show}")
    assert (first.number, second.number) == (1, 2)
    turn, move = between(first, second)
    surface = np.column_stack([CORNERS, np.full(4, first.plane)])
    assert (surface @ turn.T + move)[:, 2] == pytest.approx(0.0, abs=1e-9)
    assert second.plane == pytest.approx(slab(show=show).seat.milled)


@pytest.mark.parametrize("show", ["A", "B"])
def test_turning_over_is_about_the_grain_and_no_reflection(show: str) -> None:
    first, second = clampings(show=show)
    turn, _ = between(first, second)
    assert np.linalg.det(turn) == pytest.approx(1.0, abs=1e-6)
    assert turn == pytest.approx(np.diag([1.0, -1.0, -1.0]), abs=2e-3)
    matrix, _ = affine(first.lying)
    assert np.linalg.det(matrix) == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("show", ["A", "B"])
def test_the_plane_that_is_cut_is_the_planned_one(show: str) -> None:
    plan = slab(show=show)
    first = clampings(show=show)[0]
    height = plan.seat.planes.upper if show == "A" else plan.seat.planes.lower
    region = plan.survey.region_a if show == "A" else plan.survey.region_b
    x, y = np.array([region.centroid.x]), np.array([region.centroid.y])
    at = first.lying.to_machine(np.column_stack([x, y, height(x, y)]))[0]
    assert at[2] == pytest.approx(first.plane, abs=1e-6)
    # At the ends it stands off by no more than the stacks' own tilt.
    ends = np.array([[50.0, 0.0], [1950.0, 0.0]])
    off = first.lying.to_machine(np.column_stack([ends, height(*ends.T)]))[:, 2] - first.plane
    assert plan.shims is not None
    tilt = math.radians(max(abs(plan.shims.standing_tilt_x), abs(plan.shims.standing_tilt_y)))
    assert np.abs(off).max() <= tilt * 1400.0 + 1e-6


@pytest.mark.parametrize("show", ["A", "B"])
def test_with_a_rest_each_clamping_lies_on_the_surface_that_was_cut_before(show: str) -> None:
    plan = slab(show=show, procedure="rough, rest, skim")
    rough_one, rough_two, skim_one, skim_two = clampings(show=show, procedure="rough, rest, skim")
    second = "B" if show == "A" else "A"
    assert [c.face for c in (rough_one, rough_two, skim_one, skim_two)] == [show, second, show, second]
    assert [c.stage for c in (rough_one, rough_two, skim_one, skim_two)] == ["rough", "rough", "skim", "skim"]
    below = [(rough_two, rough_one, "rough"), (skim_one, rough_two, "rough"), (skim_two, skim_one, "skim")]
    for lying, cut, stage in below:
        turn, move = between(cut, lying)
        surface = np.column_stack([CORNERS, np.full(4, cut.plane + (cut.levels[-1] if stage == "rough" else 0.0))])
        assert (surface @ turn.T + move)[:, 2] == pytest.approx(0.0, abs=1e-9)
    milled = plan.seat.milled
    assert rough_one.levels[-1] == rough_two.levels[-1] == 2.0
    assert (rough_two.plane, skim_one.plane, skim_two.plane) == pytest.approx((milled + 2.0, milled + 2.0, milled))
    assert np.nanmax(skim_one.stock.top) == pytest.approx(skim_one.plane + 2.0)
    assert skim_one.levels == skim_two.levels == (0.8, 0.0)


def test_a_face_that_hardly_needs_cutting_still_gets_a_flat_to_lie_on() -> None:
    plan = slab(procedure="rough, rest, skim")
    shop = job(procedure="rough, rest, skim").shop
    rested = settings(plan, shop.machine, shop.bed, allowance=Allowance(rest=6.5))
    first, second = rested[:2]
    assert first.stage == second.stage == "rough"
    highest = float(np.nanmax(first.stock.top)) - first.plane
    assert first.levels[-1] == pytest.approx(min(6.5, highest - 0.8))


def test_the_stock_is_the_whole_slab_as_it_was_read() -> None:
    first, second = clampings()
    plan = slab()
    for clamping in (first, second):
        assert clamping.stock.outline.area == pytest.approx(2000.0 * 840.0, rel=1e-3)
        wood = ~np.isnan(clamping.stock.top)
        assert wood.sum() * 25.0 == pytest.approx(2000.0 * 840.0, rel=0.02)
        assert np.diff(clamping.stock.x) == pytest.approx(5.0)
    x, y = np.array([250.0, 1000.0, 1800.0]), np.array([-300.0, 50.0, 250.0])
    at = first.lying.to_machine(np.column_stack([x, y, top(x, y)]))
    cell = (np.searchsorted(first.stock.x, at[:, 0] - 2.5), np.searchsorted(first.stock.y, at[:, 1] - 2.5))
    assert first.stock.top[cell] == pytest.approx(at[:, 2], abs=0.08)
    assert plan.survey.outline_b.area > plan.survey.outline_a.area


def test_the_second_map_is_mirrored_across_the_grain() -> None:
    first, second = clampings()
    spots = []
    for clamping in (first, second):
        rise = np.where(clamping.stock.known > 0.0, clamping.stock.top, -np.inf)
        row, column = np.unravel_index(int(np.argmax(rise)), rise.shape)
        box = clamping.stock.outline.bounds
        spots.append((clamping.stock.x[row] - box[0], clamping.stock.y[column] - box[1]))
    assert spots[0] == pytest.approx((BUMP[0], BUMP[1] + 420.0), abs=40.0)
    assert spots[1] == pytest.approx((BUMP[0], 420.0 - BUMP[1]), abs=40.0)


def test_what_was_not_read_counts_as_the_highest_reading_and_a_margin() -> None:
    first = clampings(hole=True)[0]
    matrix, offset = affine(first.lying)
    middle = matrix @ np.array([600.0, 0.0, 62.4]) + offset
    cell = int(np.searchsorted(first.stock.x, middle[0])), int(np.searchsorted(first.stock.y, middle[1]))
    readings = np.nanmax(np.where(first.stock.known > 0.0, first.stock.top, np.nan))
    assert first.stock.known[cell] == 0.0
    assert first.stock.top[cell] == pytest.approx(readings + UNREAD_MARGIN, abs=0.02)
    whole = clampings()[0]
    assert whole.stock.known[cell] == 1.0
    assert whole.stock.known[~np.isnan(whole.stock.top)].mean() > 0.97


def test_near_follows_the_readings_own_spacing() -> None:
    x, y = np.meshgrid(np.arange(0.0, 2001.0, 200.0), np.arange(0.0, 801.0, 40.0), indexing="ij")
    points = np.column_stack([x.ravel(), y.ravel(), 50.0 + 0.01 * x.ravel()])
    places = np.array([[700.0, 420.0], [2040.0, 400.0], [2150.0, 400.0]])
    height, known = heights(points, places)
    assert height[0] == pytest.approx(57.0)
    assert known.tolist() == [True, True, False]


def test_a_dense_scan_is_thinned_to_its_highest_readings() -> None:
    x, y = np.meshgrid(np.arange(0.0, 1000.0, 4.0), np.arange(0.0, 600.0, 4.0), indexing="ij")
    z = 50.0 + np.where((np.abs(x - 500.0) < 3.0) & (np.abs(y - 300.0) < 3.0), 5.0, 0.0)
    height, known = heights(
        np.column_stack([x.ravel(), y.ravel(), z.ravel()]), np.array([[500.0, 300.0], [800.0, 100.0]])
    )
    assert known.all()
    assert height[0] > 54.0
    assert height[1] == pytest.approx(50.0)


def test_the_slab_lies_in_the_middle_of_the_bed_or_where_it_is_said_to() -> None:
    first, second = clampings()
    for clamping in (first, second):
        x_from, y_from, x_to, y_to = clamping.stock.outline.bounds
        assert (x_from + x_to) / 2 == pytest.approx(1500.0, abs=0.1)
        assert (y_from + y_to) / 2 == pytest.approx(700.0, abs=0.1)
    shop = job().shop
    bed = shop.bed.model_copy(update={"origin": (120.0, 90.0)})
    for clamping in settings(slab(), shop.machine, bed, allowance=shop.allowance):
        assert clamping.stock.outline.bounds[:2] == pytest.approx((120.0, 90.0), abs=1e-6)
        assert clamping.window[0] == pytest.approx(120.0)
        assert not setting_findings([clamping], shop.machine, bed, "metric")


def test_an_origin_out_of_reach_is_moved_and_told() -> None:
    shop = job().shop
    bed = shop.bed.model_copy(update={"origin": (0.0, 90.0)})
    found = settings(slab(), shop.machine, bed, allowance=shop.allowance)
    assert found[0].stock.outline.bounds[0] == pytest.approx(25.0)
    (finding,) = setting_findings(found, shop.machine, bed, "metric")
    assert (finding.code, finding.severity) == ("machine/origin-moved", "caution")
    assert 'origin = ["25 mm", "90 mm"]' in finding.remedy


@pytest.mark.parametrize("travel", [1300.0, 1500.0, 2000.0])
def test_a_slab_longer_than_the_travel_is_cut_in_two_clampings(travel: float) -> None:
    machine = Machine(travel_x=travel, travel_y=1400.0)
    found = clampings(machine=machine)
    assert [clamping.face for clamping in found] == ["A", "A", "B", "B"]
    for one, two in (found[:2], found[2:]):
        assert one.overlap is not None
        assert two.overlap is None
        assert one.overlap[1] - one.overlap[0] >= OVERLAP * machine.cutter_diameter - 1e-9
        # In the slab's own place the windows cover it, and share the overlap.
        start, end = one.stock.outline.bounds[0], one.stock.outline.bounds[2]
        slid = one.moved - two.moved
        assert one.window[0] == pytest.approx(start)
        assert two.window[1] + slid == pytest.approx(end)
        assert two.window[0] + slid == pytest.approx(one.overlap[0])
        assert one.window[1] == pytest.approx(one.overlap[1])
        for clamping in (one, two):
            assert clamping.window[0] >= 25.0 - 1e-9
            assert clamping.window[1] <= travel - 25.0 + 1e-9
        last = one.at_depth(len(one.levels) - 1).window[1]
        assert one.window[1] - last == pytest.approx((len(one.levels) - 1) * one.step_back)
        # Where the second clamping's cutter reaches back to, the first one has cut to the plane.
        assert two.window[0] + slid <= last - 25.0
        assert (two.step_back, two.at_depth(3)) == (0.0, two)
        cut = two.stock.x + slid <= last - 25.0
        assert np.nanmax(two.stock.top[cut]) == pytest.approx(one.plane)
        assert np.nanmax(two.stock.top[~cut]) > one.plane + 1.0
    told = setting_findings(found, machine, job().shop.bed, "metric")
    assert "machine/two-clampings" in {finding.code for finding in told}


def test_a_travel_too_small_even_for_two_clampings_is_refused_with_the_way_out() -> None:
    machine = Machine(travel_x=1000.0, travel_y=1400.0)
    with pytest.raises(SlabwrightError, match=r"even in two clampings.*Crosscut the slab to \d+ mm"):
        clampings(machine=machine)
    (finding,) = travel_findings(slab(), machine, job().shop.bed, "metric")
    assert (finding.code, finding.severity) == ("machine/travel-along", "stop")
    # The remedy holds: a slab of that length goes, and no longer one.
    most = float(finding.remedy.split("slab to ")[1].split(" mm")[0])
    overlap = shared(slab(), machine)
    assert len(parts_along(most, machine, Bed(), overlap)) == 2
    assert len(parts_along(most + 1.0, machine, Bed(), overlap)) == 0


def test_a_slab_wider_than_the_travel_is_refused() -> None:
    machine = Machine(travel_y=850.0)
    with pytest.raises(SlabwrightError, match=r"wants 891 mm of travel across.*Saw the slab to 800 mm"):
        clampings(machine=machine)
    assert clampings(machine=Machine(travel_y=890.5))


@pytest.mark.parametrize("loss", [None, math.nan])
def test_without_stacks_nothing_is_set_up(loss: float | None) -> None:
    plan = slab()
    assert plan.shims is not None
    shims = None if loss is None else dataclasses.replace(plan.shims, loss=loss)
    broken: SlabPlan = dataclasses.replace(plan, shims=shims)
    with pytest.raises(SlabwrightError, match="no stacks"):
        settings(broken, Machine(), Bed(), allowance=ALLOWANCE)
    assert travel_findings(broken, Machine(), Bed(), "metric")[0].code == "machine/no-stacks"


@pytest.mark.parametrize("highest", [0.3, 1.49, 1.51, 3.0, 4.2, 9.77, 31.0])
@pytest.mark.parametrize("rough", [False, True])
@pytest.mark.parametrize("fresh", [False, True])
def test_no_depth_takes_more_than_it_may(highest: float, rough: bool, fresh: bool) -> None:
    machine = Machine(greatest_depth=3.0, last_depth=0.8)
    found = depths(highest, machine, rough=rough, fresh=fresh, last=0.8)
    bites = -np.diff([highest, *found])
    assert found[-1] == 0.0
    assert np.all(bites > 0.0)
    assert np.all(bites <= 3.0 + 1e-9)
    if fresh:
        assert bites[0] <= 1.5 + 1e-9
    if not rough:
        assert bites[-1] <= 0.8 + 1e-9
    last = 3.0 if rough else 0.8
    least = math.ceil(max(highest - last, 0.0) / 3.0 - 1e-9) + 1
    assert len(found) <= least + fresh


def test_the_safe_first_depth_can_be_stated() -> None:
    machine = Machine(first_depth=0.5)
    assert depths(9.0, machine, fresh=True, last=0.8)[0] == pytest.approx(8.5)
    assert depths(9.0, machine, fresh=False, last=0.8)[0] == pytest.approx(6.8)


def test_figured_wood_gets_a_shallower_last_pass() -> None:
    shop = job().shop
    plain = settings(slab(), shop.machine, shop.bed, allowance=shop.allowance)
    figured = settings(slab(), shop.machine, shop.bed, allowance=shop.allowance, figured=True)
    assert plain[0].levels[-2] == pytest.approx(0.8)
    assert figured[0].levels[-2] == pytest.approx(0.4)


def test_the_first_pass_starts_from_the_highest_wood_that_may_be_there() -> None:
    first = clampings(hole=True)[0]
    highest = float(np.nanmax(first.stock.top)) - first.plane
    assert highest - first.levels[0] == pytest.approx(1.5)


CLAMP = {"at": (480.0, 300.0), "size": (60.0, 40.0), "height": 80.0}


def test_clamps_belong_to_a_face_and_a_clamping() -> None:
    clamps = (
        Clamp(**CLAMP),
        Clamp(**CLAMP, kind="stop", face="B"),
        Clamp(**CLAMP, name="End stop", setting=2),
    )
    assert [thing.name for thing in keep_outs(clamps, "A", 1)] == ["clamp 1"]
    assert [thing.name for thing in keep_outs(clamps, "A", 2)] == ["clamp 1", "End stop"]
    assert [thing.name for thing in keep_outs(clamps, "B", 1)] == ["clamp 1", "stop 2"]
    thing = keep_outs(clamps, "A", 1)[0]
    assert (thing.x_from, thing.x_to, thing.y_from, thing.y_to, thing.top) == (480.0, 540.0, 300.0, 340.0, 80.0)


def test_a_clamp_inside_the_only_way_stops_the_work_and_the_remedy_clears_it() -> None:
    shop = job().shop
    inside = Clamp(at=(480.0, 500.0), size=(80.0, 60.0), height=90.0, face="A")
    found = settings(slab(), shop.machine, shop.bed, [inside], allowance=shop.allowance)
    stops = [each for each in setting_findings(found, shop.machine, shop.bed, "metric") if each.severity == "stop"]
    assert [each.code for each in stops] == ["machine/clamp-in-the-way"]
    assert "face A" in stops[0].message
    assert stops[0].remedy.startswith("Move it 60 mm towards the near end")
    moved = inside.model_copy(update={"at": (420.0, 500.0)})
    found = settings(slab(), shop.machine, shop.bed, [moved], allowance=shop.allowance)
    assert not setting_findings(found, shop.machine, shop.bed, "metric")


def test_a_clamp_beside_the_slab_or_below_the_plane_is_no_trouble() -> None:
    shop = job().shop
    beside = Clamp(at=(1000.0, 100.0), size=(100.0, 100.0), height=120.0)
    low = Clamp(at=(1000.0, 500.0), size=(100.0, 100.0), height=10.0, kind="wedge")
    found = settings(slab(), shop.machine, shop.bed, [beside, low], allowance=shop.allowance)
    assert len(found[0].keep_out) == 2
    assert not setting_findings(found, shop.machine, shop.bed, "metric")


def test_a_gantry_too_low_for_the_slab_stops_the_work() -> None:
    shop = job().shop
    machine = shop.machine.model_copy(update={"travel_z": 80.0})
    found = settings(slab(), machine, shop.bed, allowance=shop.allowance)
    highest = float(np.nanmax(found[0].stock.top))
    told = [each for each in setting_findings(found, machine, shop.bed, "metric") if each.code == "machine/travel-up"]
    assert told
    assert told[0].severity == "stop"
    lower = machine.model_copy(update={"safe_height": float(math.floor(80.0 - highest))})
    assert f"Set safe_height to {lower.safe_height:.0f} mm" in told[0].remedy
    again = setting_findings(found[:1], lower, shop.bed, "metric")
    assert not again


def test_a_slab_that_hangs_over_the_bed_is_told() -> None:
    shop = job().shop
    bed = Bed(length=1800.0, width=1400.0)
    found = settings(slab(), shop.machine, bed, allowance=shop.allowance)
    assert "machine/over-the-bed" in {each.code for each in setting_findings(found, shop.machine, bed, "metric")}


def test_the_clean_region_lies_inside_the_slab() -> None:
    for clamping in clampings():
        assert shapely.contains(clamping.stock.outline.buffer(1.0), clamping.region)
        assert clamping.region.area > 0.8 * clamping.stock.outline.area


def test_clamps_are_typed_in_the_units_of_the_job() -> None:
    stated = {
        "job": {"title": "Trial", "units": "inch"},
        "clamps": [
            {"kind": "stop", "at": [4, "100 mm"], "size": ["2 1/2 in", 1], "height": 3, "face": "B", "setting": 2}
        ],
    }
    (clamp,) = JobFile.model_validate(stated, context={"units": "inch"}).clamps
    assert clamp.at == pytest.approx((101.6, 100.0))
    assert clamp.size == pytest.approx((63.5, 25.4))
    (thing,) = keep_outs([clamp], "B", 2)
    assert (thing.x_to, thing.y_to, thing.top) == pytest.approx((165.1, 125.4, 76.2))


@pytest.mark.parametrize("wrong", [{"size": [0, 10]}, {"height": 0}, {"setting": 3}, {"face": "C"}])
def test_a_clamp_that_cannot_be_is_refused(wrong: dict[str, Any]) -> None:
    clamp = {"at": [1, 2], "size": [10, 10], "height": 20} | wrong
    with pytest.raises(ValueError, match=next(iter(wrong))):
        JobFile.model_validate({"job": {"title": "Trial"}, "clamps": [clamp]}, context={"units": "metric"})
