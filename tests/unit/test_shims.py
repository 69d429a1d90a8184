import math
from dataclasses import fields
from functools import partial
from typing import Any, Literal

import numpy as np
import pytest
from shapely import Polygon

from slabwright.accounts import accounts
from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Floats, Scatter
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.strip import widest_strip
from slabwright.job.models import Bed, Shims
from slabwright.slab.pads import laid_out, rooms
from slabwright.slab.resting import threes
from slabwright.slab.sag import GRAVITY
from slabwright.slab.shim_findings import shim_findings
from slabwright.slab.shim_results import ShimPlan
from slabwright.slab.shims import shims
from slabwright.slab.standing import Load, sags, tipping_force, tipping_forces
from slabwright.slab.survey import Survey

LENGTH, WIDTH, THICK = 2000.0, 800.0, 60.0


def survey_of(face_a: Scatter, face_b: Scatter, length: float = LENGTH, width: float = WIDTH) -> Survey:
    outline = Polygon([(0, 0), (length, 0), (length, width), (0, width)])
    told: dict[str, Any] = {field.name: None for field in fields(Survey)}
    for face, readings in (("a", face_a), ("b", face_b)):
        told |= {f"face_{face}": readings, f"all_{face}": readings}
        told |= {f"outline_{face}": outline, f"region_{face}": outline}
    return Survey(**told)


def grid(step: float = 50.0, length: float = LENGTH, width: float = WIDTH) -> tuple[Floats, Floats]:
    along, across = np.arange(0.0, length + 1e-6, step), np.arange(0.0, width + 1e-6, step)
    x, y = np.meshgrid(along, across, indexing="ij")
    return x.ravel(), y.ravel()


def warped(seed: int, step: float = 50.0) -> Survey:
    draw = np.random.default_rng(seed)
    x, y = grid(step)
    u, v = 2.0 * x / LENGTH - 1.0, 2.0 * y / WIDTH - 1.0
    cup, twist, bow, tilt = draw.normal(0.0, 2.0, 4)
    middle = cup * v * v + twist * u * v + bow * u * u + tilt * u
    wander = draw.normal(0.0, 0.1, (2, x.size))
    wave = 0.5 * np.sin(3.0 * u + draw.uniform(0.0, 6.0))
    return survey_of(Scatter(x, y, middle + THICK + wave + wander[0]), Scatter(x, y, middle - wave + wander[1]))


def flat() -> Survey:
    x, y = grid()
    return survey_of(Scatter(x, y, np.full(x.size, THICK)), Scatter(x, y, np.zeros(x.size)))


LEVEL = PlanePair(0.0, 0.0, THICK, 0.0)


def plan_of(
    survey: Survey,
    planes: PlanePair,
    bed: Bed | None = None,
    stock: Shims | None = None,
    down_face: Literal["A", "B"] = "B",
    down_force: float = 60.0,
) -> ShimPlan:
    return shims(
        survey,
        planes,
        down_face=down_face,
        bed=bed or Bed(),
        stock=stock or Shims(),
        down_force=down_force,
        density=680.0,
        modulus=12_000.0,
    )


def test_a_flat_slab_asks_for_nothing() -> None:
    plan = plan_of(flat(), LEVEL)
    assert plan.loss == plan.bound == 0.0
    assert plan.raised == 0.0
    assert plan.standing_tilt_x == pytest.approx(0.0, abs=1e-9)
    assert all(stack.height == 0.0 and stack.gap == pytest.approx(0.0, abs=1e-9) for stack in plan.stacks)
    assert plan.weight == pytest.approx(LENGTH * WIDTH * THICK * 680e-9 * GRAVITY, rel=1e-6)


@pytest.mark.parametrize("down_face", ["A", "B"])
def test_a_wedge_is_levelled_and_turned_over_right(down_face: Literal["A", "B"]) -> None:
    x, y = grid()
    slope = 0.01 * x + 0.02 * y
    planes = PlanePair(0.01, 0.02, THICK, 0.0)
    plan = plan_of(survey_of(Scatter(x, y, slope + THICK), Scatter(x, y, slope)), planes, down_face=down_face)
    assert plan.loss == pytest.approx(0.0, abs=1e-5)
    assert [stack.gap for stack in plan.stacks] == pytest.approx([0.0] * 8, abs=1e-5)
    assert all(0.0 < stack.x < LENGTH and 0.0 < stack.y < WIDTH for stack in plan.stacks)
    # Turned over about its length: what was at greater y lies at smaller.
    turned = -1.0 if down_face == "A" else 1.0
    spread = np.corrcoef([s.y for s in plan.stacks], [s.bed_y for s in plan.stacks])[0, 1]
    assert spread == pytest.approx(turned)


@pytest.mark.parametrize("down_face", ["A", "B"])
def test_the_standing_plane_lays_the_readings_as_the_plan_says(down_face: Literal["A", "B"]) -> None:
    survey = warped(3)
    planes = widest_strip(survey.face_a, survey.face_b).planes
    plan = plan_of(survey, planes, down_face=down_face)

    def stood(face: object) -> Floats:
        assert isinstance(face, Scatter)
        points = planes.to_seat(np.column_stack([face.x, face.y, face.z]))
        if down_face == "A":
            points = points * [1.0, -1.0, -1.0]
        a, b, c = plan.standing
        return np.column_stack([points[:, :2], points[:, 2] + points[:, :2] @ [a, b] + c])

    down, up = (survey.all_b, survey.all_a) if down_face == "B" else (survey.all_a, survey.all_b)
    below, above = stood(down), stood(up)
    slant = math.sqrt(1.0 + plan.standing[0] ** 2 + plan.standing[1] ** 2)
    thickness = (above[:, 2].min() - below[:, 2].max()) / slant
    assert planes.thickness - thickness == pytest.approx(plan.loss, abs=2e-5)
    assert below[:, 2].min() >= -1e-9
    for stack in plan.stacks:
        near = np.hypot(below[:, 0] - stack.bed_x, below[:, 1] - stack.bed_y) <= 30.0
        # The plan stands on each pad's middle; the tilt over half a pad is what may differ.
        assert below[near, 2].min() - plan.roughness - stack.height == pytest.approx(stack.wedge, abs=0.02)
    # The turn is told in the slab's own frame: positive where the side of greater y (or x) stands lower.
    y_slope = plan.standing[1] * (1.0 if down_face == "B" else -1.0)
    assert plan.standing_tilt_x == pytest.approx(-math.degrees(math.atan(y_slope)))
    assert plan.standing_tilt_y == pytest.approx(-math.degrees(math.atan(plan.standing[0])))


def test_three_carry_and_the_others_are_free_to_be_wedged() -> None:
    survey = warped(11)
    plan = plan_of(survey, widest_strip(survey.face_a, survey.face_b).planes)
    assert sum(stack.carries for stack in plan.stacks) == 3
    for stack in plan.stacks:
        assert len(stack.pieces) <= 5
        assert sum(stack.pieces) == stack.height
        assert stack.wedge == 0.0 if stack.carries else stack.wedge > 0.0
        if not stack.carries and stack.height > 0.0:
            assert stack.wedge >= 0.2 - 1e-9
    assert plan.tip_margin >= 0.0
    assert plan.tip_margin_wedged > plan.tip_margin
    assert plan.loss_error > 0.0


def test_too_much_and_too_little_are_told_apart() -> None:
    survey = warped(11)
    planes = widest_strip(survey.face_a, survey.face_b).planes
    plan = plan_of(survey, planes)
    carrying = [stack for stack in plan.stacks if stack.carries]
    free = [stack for stack in plan.stacks if not stack.carries and stack.wedge > 0.1]
    assert any(abs(stack.loss_too_high - stack.loss_too_low) > 1e-3 for stack in carrying)
    assert all(abs(stack.loss_too_high) + abs(stack.loss_too_low) < 1e-9 for stack in free)
    assert max(max(stack.loss_too_high, stack.loss_too_low) for stack in carrying) > 0.01


def test_a_filled_dip_does_not_bind() -> None:
    survey = warped(4)
    assert isinstance(survey.face_a, Scatter)
    planes = widest_strip(survey.face_a, survey.face_b).planes
    dipped = Scatter(survey.face_a.x, survey.face_a.y, survey.face_a.z.copy())
    dipped.z[400] -= 15.0
    with_dip = survey_of(dipped, survey.face_b) if isinstance(survey.face_b, Scatter) else survey
    keep = np.arange(len(dipped)) != 400
    filled = Scatter(dipped.x[keep], dipped.y[keep], dipped.z[keep])
    given = {"bed": Bed(), "stock": Shims(), "down_force": 60.0, "density": 680.0, "modulus": 12_000.0}
    plan = shims(with_dip, planes, down_face="B", face_a=filled, **given)  # type: ignore[arg-type]
    assert plan.loss == pytest.approx(plan_of(survey, planes).loss, abs=1e-6)


def test_less_than_the_most_leaves_slack_that_shims_may_use() -> None:
    survey = warped(9)
    most = widest_strip(survey.face_a, survey.face_b).planes
    less = PlanePair(most.a, most.b, most.c - 2.0, most.d + 2.0)
    plan = plan_of(survey, less)
    assert plan.loss == plan.bound == 0.0
    assert math.hypot(plan.standing_tilt_x, plan.standing_tilt_y) < 0.02


def test_gap_is_the_lowest_reading_over_the_pad_less_the_roughness() -> None:
    draw = np.random.default_rng(8)
    x, y = draw.uniform(0.0, 600.0, (2, 4000))
    z = draw.normal(0.0, 0.2, x.size)
    at = np.array([[200.0, 200.0], [430.0, 300.0]])
    found = rooms(np.column_stack([x, y, z]), at, 60.0)
    assert found.roughness == pytest.approx(0.2, rel=0.15)
    for place, height in zip(at, found.height, strict=True):
        under = np.hypot(x - place[0], y - place[1]) <= 30.0
        assert height == pytest.approx(z[under].min() - found.roughness)
    assert found.read.all()


def test_a_dense_scan_gives_the_same_gaps_whether_searched_whole_or_near_the_pads() -> None:
    draw = np.random.default_rng(9)
    x, y = draw.uniform(0.0, 1000.0, 25_000), draw.uniform(0.0, 500.0, 25_000)
    scan = np.column_stack([x, y, draw.normal(0.0, 0.2, x.size)])
    at = np.array([[200.0, 200.0], [700.0, 400.0]])
    whole, fewer = rooms(scan, at, 60.0), rooms(scan[np.abs(y - 300.0) < 195.0], at, 60.0)
    assert whole.height == pytest.approx(fewer.height)
    assert whole.roughness == pytest.approx(fewer.roughness)


def test_where_nothing_was_read_the_local_plane_stands_in_with_a_larger_error() -> None:
    x, y = (axis.ravel() for axis in np.meshgrid(np.arange(0.0, 2001, 400), np.arange(0.0, 801, 200), indexing="ij"))
    z = 0.01 * x - 0.02 * y
    found = rooms(np.column_stack([x, y, z]), np.array([[400.0, 400.0], [580.0, 310.0]]), 60.0)
    assert found.read.tolist() == [True, False]
    assert found.height[0] == pytest.approx(-4.0)
    assert found.height[1] == pytest.approx(5.8 - 6.2 - 30.0 * math.hypot(0.01, 0.02))
    bowed = rooms(np.column_stack([x, y, z + 3e-6 * (x - 1000) ** 2]), np.array([[400.0, 400.0], [580.0, 310.0]]), 60.0)
    assert bowed.error[1] > bowed.error[0]


def test_places_stand_wholly_under_wood_and_move_to_readings() -> None:
    live = Polygon([(0, 80), (600, 0), (1500, 120), (2000, 60), (2000, 700), (1200, 640), (500, 800), (0, 720)])
    x, y = grid(40.0)
    places = laid_out(live, 4, 2, 60.0, np.column_stack([x, y]))
    assert places.on_wood.all()
    assert len(places.at) == 8
    hand = np.array([(px, py) for px in (60.0, 500.0, 1000.0, 1500.0, 1940.0) for py in (60.0, 400.0, 740.0)])
    slab = Polygon([(0, 0), (2000, 0), (2000, 800), (0, 800)])
    moved = laid_out(slab, 5, 2, 60.0, hand)
    nearest = np.hypot(*(moved.at[:, None, :] - hand).transpose(2, 0, 1)).min(axis=1)
    assert (nearest == 0.0).all()


def test_tipping_is_the_balance_about_the_worst_side() -> None:
    support = np.array([[-300.0, -200.0], [300.0, -200.0], [300.0, 200.0], [-300.0, 200.0]])
    slab = np.array([[-500.0, -400.0], [500.0, -400.0], [500.0, 400.0], [-500.0, 400.0]])
    # 200 mm inside and 200 mm outside across; 300 and 200 along: across decides, weight for weight.
    assert tipping_force(support, np.zeros(2), 800.0, slab) == pytest.approx(800.0)
    assert tipping_force(support[::-1], np.zeros(2), 800.0, slab) == pytest.approx(800.0)
    assert tipping_force(support, np.array([0.0, 250.0]), 800.0, slab) < 0.0
    assert tipping_force(support, np.zeros(2), 800.0, 0.3 * slab) == math.inf
    three = threes(support + np.array([30.0, 10.0]), np.zeros(2))
    each = [tipping_force(three.places[corners], np.zeros(2), 800.0, slab) for corners in three.triples]
    assert tipping_forces(three, np.zeros(2), 800.0, slab) == pytest.approx(each)


def even_bar(length: float, weight: float, stiffness: float) -> Load:
    count = 400
    x = (np.arange(count) + 0.5) * length / count
    share = np.full(count, weight / count)
    return Load(x, length / count, share, np.full(count, stiffness), np.array([length / 2.0, 0.0]))


def test_sag_of_an_even_bar_is_the_handbooks() -> None:
    # Simply supported, even load: 5 w L^4 / (384 E I), as in any table of beams.
    length, weight, inertia, modulus = 2000.0, 700.0, 1.2e7, 12_000.0
    places = np.array([[0.0, -300.0], [0.0, 300.0], [length, 0.0]])
    three = threes(places, np.array([length / 2.0, 0.0]))
    expected = 5.0 * (weight / length) * length**4 / (384.0 * modulus * inertia)
    assert sags(three, even_bar(length, weight, inertia), modulus) == pytest.approx([expected], rel=1e-4)
    # On supports 0.2232 of the length from the ends, ends and middle sag alike: least of all (from memory).
    inset = 0.2232 * length
    best = np.array([[inset, -300.0], [inset, 300.0], [length - inset, 0.0]])
    least = sags(threes(best, np.array([length / 2.0, 0.0])), even_bar(length, weight, inertia), modulus)[0]
    for part in (0.19, 0.26):
        other = np.array([[part * length, -300.0], [part * length, 300.0], [(1 - part) * length, 0.0]])
        assert sags(threes(other, np.array([length / 2.0, 0.0])), even_bar(length, weight, inertia), modulus)[0] > least


def codes(
    plan: ShimPlan, bed: Bed, survey: Survey, planes: PlanePair, stock: Shims, force: float
) -> dict[str, tuple[str, str]]:
    again = partial(_again, survey, planes, stock, force)
    found = shim_findings(plan, bed, stock=stock, down_force=force, units="metric", again=again)
    return {finding.code: (finding.severity, finding.remedy) for finding in found}


def _again(survey: Survey, planes: PlanePair, stock: Shims, force: float, bed: Bed) -> ShimPlan:
    return plan_of(survey, planes, bed, stock, down_force=force)


def test_a_good_set_up_has_nothing_to_say() -> None:
    plan = plan_of(flat(), LEVEL)
    assert codes(plan, Bed(), flat(), LEVEL, Shims(), 60.0) == {}


def test_places_too_far_in_tip_and_the_remedy_was_tried() -> None:
    survey = flat()
    near: list[tuple[float, float]] = [(760, 330), (1240, 330), (760, 470), (1240, 470), (1000, 300), (1000, 510)]
    bed = Bed(pads=near)
    plan = plan_of(survey, LEVEL, bed, down_force=180.0)
    assert plan.tip_margin_wedged < 0.0
    told = codes(plan, bed, survey, LEVEL, Shims(), 180.0)
    assert told["slab/would-tip"][0] == "stop"
    assert "outward" in told["slab/would-tip"][1]


def test_centre_of_mass_beyond_all_places_is_a_stop() -> None:
    bed = Bed(pads=[(100, 100), (500, 100), (100, 700), (500, 700)])
    plan = plan_of(flat(), LEVEL, bed)
    assert plan.tip_margin_wedged < -60.0
    assert codes(plan, bed, flat(), LEVEL, Shims(), 60.0)["slab/would-tip"][0] == "stop"


def test_four_places_rock_on_a_diagonal_until_wedged() -> None:
    bed = Bed(pads_along=2)
    plan = plan_of(flat(), LEVEL, bed)
    assert plan.tip_margin == pytest.approx(-60.0, abs=1.0)
    assert plan.tip_margin_wedged > 0.0
    assert codes(plan, bed, flat(), LEVEL, Shims(), 60.0)["slab/wedge-first"][0] == "caution"


def test_sag_is_told_with_rows_that_mend_it() -> None:
    bed = Bed(pads=[(20, 60), (20, 740), (1980, 60), (1980, 740), (10, 400)], greatest_sag=0.1)
    plan = plan_of(flat(), LEVEL, bed)
    assert plan.sag > 0.1
    severity, remedy = codes(plan, bed, flat(), LEVEL, Shims(), 60.0)["slab/sags-on-stacks"]
    assert severity == "caution"
    assert "rows of places" in remedy


def test_a_gap_that_no_stack_reaches() -> None:
    x, y = grid()
    hollow = np.where(np.abs(x - 1000.0) > 150.0, 12.0, 0.0)
    survey = survey_of(Scatter(x, y, np.full(x.size, 80.0)), Scatter(x, y, hollow))
    stock = Shims(thicknesses=[0.5, 1.0], most_pieces=2)
    plan = plan_of(survey, PlanePair(0.0, 0.0, 80.0, 12.0), stock=stock)
    assert not any(stack.carries for stack in plan.stacks)
    assert math.isnan(plan.loss)
    severity, remedy = codes(plan, Bed(), survey, LEVEL, stock, 60.0)["slab/stack-out-of-reach"]
    assert severity == "stop"
    assert "block of 10 mm" in remedy


def test_a_place_without_a_reading_asks_for_a_feeler() -> None:
    x, y = grid(400.0)
    survey = survey_of(Scatter(x, y, np.full(x.size, THICK)), Scatter(x, y, 0.002 * np.abs(x - 1000.0)))
    bed = Bed(pads=[(300, 100), (300, 700), (1650, 90), (1650, 710), (1000, 250)])
    plan = plan_of(survey, PlanePair(0.0, 0.0, THICK, 2.0), bed)
    assert plan.gap_loss_error > 0.0
    assert plan_of(warped(2), LEVEL).gap_loss_error == 0.0
    told = codes(plan, bed, survey, LEVEL, Shims(), 60.0)
    assert told["slab/pad-unread"][0] == "caution"
    assert "feeler" in told["slab/pad-unread"][1]


def test_stated_places_beside_the_wood_are_left_out_and_told() -> None:
    bed = Bed(pads=[(100, 20), (300, 700), (1800, 100), (1800, 700), (2500, 400)])
    plan = plan_of(flat(), LEVEL, bed)
    assert plan.left_out == ((2500.0, 400.0),)
    assert len(plan.stacks) == 4
    told = codes(plan, bed, flat(), LEVEL, Shims(), 60.0)
    assert {"slab/pad-beside-slab", "slab/pad-off-wood"} <= set(told)


def test_places_wider_than_the_bed_are_a_stop() -> None:
    plan = plan_of(flat(), LEVEL)
    assert codes(plan, Bed(length=900.0), flat(), LEVEL, Shims(), 60.0)["slab/pads-off-bed"][0] == "stop"


@pytest.mark.parametrize("pads", [[(100, 100), (1800, 700), (2400, 100)], [(100, 400), (900, 400), (1800, 400)]])
def test_too_few_places_or_all_in_line_is_an_error_that_says_what_would_do(pads: list[tuple[float, float]]) -> None:
    with pytest.raises(SlabwrightError, match=r"\[bed\] pads"):
        plan_of(flat(), LEVEL, Bed(pads=pads))


def test_every_figure_says_what_it_is() -> None:
    for account in accounts(plan_of(warped(1), LEVEL), "slab.shims"):
        assert account.description.meaning, account.path
