from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from tests.unit.surfacing import BLOCK, LIMITS, PLANE, SAFE, flat, one_pass, program, raster, setting

from slabwright.job.models import Machine
from slabwright.machine.feeds import scallop
from slabwright.machine.frame import KeepOut, Setting
from slabwright.machine.interpreter import Arc, Move
from slabwright.machine.program_check import Limits, limits_of, pieces, segment_to_box
from slabwright.machine.simulator import Simulation, after, reachable, simulate
from slabwright.machine.toolpath import Toolpath

FREE = replace(LIMITS, greatest_depth=50.0, plunge_feed=9000.0)
Places = list[tuple[float, float, float]]


def kinds(simulation: Simulation) -> set[str]:
    return {fault.kind for fault in simulation.faults}


def run(places: Places, limits: Limits = FREE, clamping: Setting | None = None, feed: float = 3000.0) -> Simulation:
    """One pass over flat wood; what it leaves standing does not matter here."""
    clamping = flat() if clamping is None else clamping
    nothing = np.zeros(clamping.stock.top.shape, bool)
    return simulate(program(one_pass(places, feed), clamping=clamping), clamping, limits, must=nothing)


def by_steps(places: Places, clamping: Setting, radius: float, corner: float) -> NDArray[np.float64]:
    """Heights after the cutter was put down at many places of the way, one after another."""
    stock = clamping.stock
    left = stock.top.copy()
    for start, end in pairwise(places):
        for share in np.linspace(0.0, 1.0, 401):
            x, y, z = (1 - share) * np.array(start) + share * np.array(end)
            away = np.hypot(stock.x[:, None] - x, stock.y[None, :] - y)
            out = np.clip(away - (radius - corner), 0.0, corner)
            under = z + corner - np.sqrt(corner**2 - out**2)
            left = np.where(away <= radius, np.minimum(left, under), left)
    return left


@pytest.mark.parametrize("corner", [0.0, 1.0, 8.0])
@pytest.mark.parametrize(
    "places",
    [
        [(150.3, 201.2, 60.0), (300.7, 201.2, 60.0)],
        [(201.4, 280.3, 60.0), (201.4, 150.9, 60.0)],
        [(150.3, 150.7, 60.0), (280.1, 220.2, 60.0)],
        [(150.3, 150.7, 62.5), (280.1, 220.2, 59.0)],
        [(150.3, 201.2, 59.0), (280.1, 201.2, 62.0)],
        [(150.3, 150.7, 60.0), (250.1, 150.7, 60.0), (250.1, 230.6, 61.0)],
        [(201.4, 201.2, 60.0)],
    ],
    ids=["along", "across", "diagonal", "down a slope", "up a slope", "round a corner", "plunge"],
)
def test_the_sweep_is_what_many_small_steps_leave(places: Places, corner: float) -> None:
    clamping = replace(flat(step=3.0), plane=40.0)
    swept = run(places, replace(FREE, corner_radius=corner), clamping).top
    stepped = by_steps(places if len(places) > 1 else places * 2, clamping, 25.0, corner)
    # Small steps always leave as much or more; by how much hangs on their length (0.4 mm at the rim).
    assert (swept <= stepped + 1e-6).all()
    assert np.mean(np.abs(swept - stepped) > 0.02) < 0.003


def test_a_cell_is_cut_if_its_middle_is_under_the_cutter() -> None:
    top = run([(200.0, 200.0, 60.0), (300.0, 200.0, 60.0)], replace(FREE, corner_radius=0.0)).top
    x, y = flat().stock.x, flat().stock.y
    assert set(y[top[x == 250.0][0] == 60.0]) == set(y[np.abs(y - 200.0) <= 25.0])


def test_the_rounded_edge_leaves_its_quarter_circle() -> None:
    clamping = flat(step=1.0)
    top = run([(150.0, 200.0, 60.0), (450.0, 200.0, 60.0)], replace(FREE, corner_radius=2.0), clamping).top
    row = top[clamping.stock.x == 300.0][0]
    at = dict(zip((clamping.stock.y - 200.0).tolist(), row.tolist(), strict=True))
    assert at[23.0] == 60.0
    assert at[24.0] == pytest.approx(60.0 + 2.0 - math.sqrt(3.0))
    assert at[25.0] == pytest.approx(62.0)
    assert at[26.0] == 62.0


def test_two_strips_leave_the_scallop_of_the_formula() -> None:
    # Stepover 48 with a flat of 46: the corners meet 1 mm beyond the flats.
    clamping = flat(step=1.0)
    cutter = replace(FREE, corner_radius=2.0, stepover=48.0)
    ways = [(150.0, 180.0, 60.0), (450.0, 180.0, 60.0), (450.0, 228.0, 60.0), (150.0, 228.0, 60.0)]
    row = run(ways, cutter, clamping).top[clamping.stock.x == 300.0][0]
    between = (clamping.stock.y > 181.0) & (clamping.stock.y < 227.0)
    assert row[between].max() - 60.0 == pytest.approx(cutter.scallop)
    assert cutter.scallop == pytest.approx(2.0 - math.sqrt(3.0))


def test_scallops() -> None:
    assert scallop(35.0, 50.0, 1.0) == 0.0
    assert scallop(50.0, 50.0, 1.0) == pytest.approx(1.0)
    assert scallop(51.0, 50.0, 1.0) == math.inf


def test_a_good_program_passes_and_says_what_it_did() -> None:
    clamping = setting()
    done = simulate(program(), clamping, LIMITS)
    assert done.faults == ()
    wood = ~np.isnan(clamping.stock.top)
    assert (np.isnan(done.top) == ~wood).all()
    assert done.top[wood].max() == pytest.approx(PLANE, abs=1e-9)
    assert done.lowest == pytest.approx(0.0, abs=1e-9)
    assert done.left_area == done.left_volume == 0.0
    assert done.removed_volume == pytest.approx(float((clamping.stock.top[wood] - PLANE).sum()) * 16.0)
    assert done.deepest == pytest.approx(float(clamping.stock.top[wood].max()) - PLANE)


def test_what_is_fed_through_wood_and_air() -> None:
    # From 50 mm before the wood to 50 mm beyond it: the foremost point of the cutter meets it after 25 mm; the last of it is met
    # beside the cutter's middle, at the wood's far end.
    done = run([(50.0, 200.0, 60.0), (550.0, 200.0, 60.0)])
    down = SAFE - 60.0
    assert done.cut_length == pytest.approx(425.0, abs=8.0)
    assert done.cut_length + done.air_length == pytest.approx(500.0 + down)
    again = simulate(
        program(one_pass([(50.0, 200.0, 60.0), (550.0, 200.0, 60.0)]), clamping=flat()),
        after(flat(), done),
        FREE,
        must=np.zeros(done.top.shape, bool),
    )
    assert again.cut_length == 0.0
    assert again.removed_volume == 0.0


def test_what_stands_after_a_roughing_pass() -> None:
    clamping = flat(62.0)
    done = simulate(program(raster(1.5, clamp=False), clamping=clamping), clamping, LIMITS, level=1.5)
    assert done.faults == ()
    assert done.left_area == pytest.approx(done.top.size * 4.0)
    assert done.left_volume == pytest.approx(done.top.size * 4.0 * 1.5)
    finish = simulate(program(raster(clamp=False), clamping=clamping), after(clamping, done), LIMITS)
    assert finish.faults == ()
    assert finish.deepest == pytest.approx(1.5)
    assert finish.left_area == 0.0


def test_a_program_for_another_level_does_not_pass() -> None:
    assert kinds(simulate(program(raster(1.0)), setting(), LIMITS)) == {"left"}
    assert kinds(simulate(program(raster(1.0)), setting(), LIMITS, level=1.5)) == {"below"}


def test_depth_is_that_of_the_wood_taken_off_not_of_the_move() -> None:
    clamping = setting()
    assert kinds(simulate(program(), clamping, replace(LIMITS, greatest_depth=3.01))) == set()
    assert "depth" in kinds(simulate(program(), clamping, replace(LIMITS, greatest_depth=2.5)))


def test_a_rapid_may_pass_over_wood_but_not_through_it() -> None:
    def across(height: float) -> Simulation:
        points = [(70.0, 200.0, SAFE), (70.0, 200.0, height), (530.0, 200.0, height), (530.0, 200.0, SAFE)]
        path = Toolpath(np.array(points), np.array([0.0, 0.0, 0.0]))
        clamping = flat()
        return simulate(
            program(path, clamping=clamping), clamping, LIMITS, must=np.zeros(clamping.stock.top.shape, bool)
        )

    assert kinds(across(61.0)) == {"rapid"}
    assert kinds(across(62.5)) == {"rapid"}
    assert "only 0.5 mm above wood" in across(62.5).faults[0].message
    assert kinds(across(63.1)) == set()


def test_a_rapid_aslant_may_go_any_way_within_its_box() -> None:
    # The straight line misses the wood's corner at (100, 100); x first and then y would not.
    points = [(60.0, 160.0, SAFE), (60.0, 160.0, 60.0), (140.0, 50.0, 60.0), (140.0, 50.0, SAFE)]
    path = Toolpath(np.array(points), np.array([0.0, 0.0, 0.0]))
    clamping = flat()
    done = simulate(program(path, clamping=clamping), clamping, LIMITS, must=np.zeros(clamping.stock.top.shape, bool))
    assert kinds(done) == {"rapid"}


def test_a_rapid_straight_up_out_of_a_cut_is_right_and_down_into_it_is_not() -> None:
    def down_by(feed: float) -> set[str]:
        points = [(200.0, 200.0, SAFE), (200.0, 200.0, 60.0), (200.0, 200.0, SAFE)]
        path = Toolpath(np.array(points), np.array([feed, 0.0]))
        clamping = flat()
        nothing = np.zeros(clamping.stock.top.shape, bool)
        return kinds(simulate(program(path, clamping=clamping), clamping, LIMITS, must=nothing))

    assert down_by(1500.0) == set()
    assert down_by(0.0) == {"rapid"}


@pytest.mark.parametrize(("feed", "wrong"), [(1500.0, set()), (1501.0, {"plunge"})])
def test_plunging_is_slow(feed: float, wrong: set[str]) -> None:
    points = [(200.0, 200.0, SAFE), (200.0, 200.0, 60.0), (200.0, 200.0, SAFE)]
    path = Toolpath(np.array(points), np.array([feed, 0.0]))
    clamping = flat()
    nothing = np.zeros(clamping.stock.top.shape, bool)
    assert kinds(simulate(program(path, clamping=clamping), clamping, LIMITS, must=nothing)) == wrong


def test_a_slope_counts_with_its_downward_part() -> None:
    slope = [(120.0, 200.0, 62.0), (320.0, 200.0, 60.0)]
    assert kinds(run(slope, LIMITS, feed=6000.0)) == set()
    assert kinds(run(slope, replace(LIMITS, plunge_feed=50.0), feed=6000.0)) == {"plunge"}


def test_first_contact_may_be_asked_to_be_slow() -> None:
    way = [(60.0, 200.0, 60.0), (300.0, 200.0, 60.0)]
    assert kinds(run(way, replace(LIMITS, first_contact_feed=2000.0))) == {"plunge"}
    assert kinds(run(way, replace(LIMITS, first_contact_feed=3000.0))) == set()


def test_clamps_are_kept_clear_of_by_the_whole_cutter() -> None:
    def beside(gap: float, height: float = 60.0) -> set[str]:
        clamp = KeepOut("a stop", 520.0, 560.0, 150.0, 250.0, 70.0)
        clamping = replace(flat(), keep_out=(clamp,))
        return kinds(run([(200.0, 200.0, height), (495.0 - gap, 200.0, height)], LIMITS, clamping))

    assert beside(0.0) == set()
    assert "clamp" in beside(-0.1)
    assert beside(-20.0, 71.1) == set()


def test_the_holder_above_the_cutter_is_kept_clear_too() -> None:
    way = [(150.0, 200.0, 60.0), (300.0, 200.0, 60.0)]
    tall = KeepOut("a tall stop", 329.0, 340.0, 150.0, 250.0, 90.0)
    clamping = replace(flat(), keep_out=(tall,))
    assert kinds(run(way, replace(FREE, stick_out=40.0), clamping)) == set()
    assert kinds(run(way, replace(FREE, stick_out=20.0), clamping)) == {"holder"}
    # In wood that stands 2 mm over the cut, a holder that is wider than the cutter needs as much.
    assert kinds(run(way, replace(FREE, stick_out=2.5))) == set()
    assert kinds(run(way, replace(FREE, stick_out=1.5))) == {"holder"}


def test_nothing_goes_beyond_the_travel() -> None:
    assert kinds(simulate(program(), setting(), replace(LIMITS, travel_x=(0.0, 629.0)))) == {"travel"}
    assert kinds(simulate(program(), setting(), replace(LIMITS, travel_y=(61.0, 500.0)))) == {"travel"}
    assert kinds(simulate(program(), setting(), replace(LIMITS, travel_z=(0.0, 94.0)))) == {"travel"}


def test_wood_outside_the_stretch_is_not_cut() -> None:
    far = replace(setting(), window=(100.0, 400.0))
    assert "window" in kinds(simulate(program(clamping=far), far, LIMITS))


def test_wood_that_no_strip_can_reach_need_not_come_down() -> None:
    clamping = setting()
    due = reachable(clamping, LIMITS)
    x, y = clamping.stock.x, clamping.stock.y
    assert not due[np.isnan(clamping.stock.top)].any()
    assert not due[x < 138.0][:, (y > 180.0) & (y < 220.0)].any()
    # 90 mm is the clamp's far side; from there the cutter's radius, the holder's radius and the room beside it.
    assert due[x > 90.0 + 25.0 + 30.0 + 5.0][:, y > 80.0].all()
    split = replace(clamping, window=(100.0, 400.0))
    assert not reachable(split, LIMITS)[x > 376.0].any()
    assert reachable(split, LIMITS)[(x > 150.0) & (x < 374.0)][:, y > 80.0].all()


def test_cells_without_a_reading_count_at_the_height_they_were_given() -> None:
    clamping = setting()
    top = clamping.stock.top.copy()
    top[40:45, 30:35] = PLANE + 9.0
    known = np.ones_like(top)
    known[40:45, 30:35] = 0.0
    unknown = replace(clamping, stock=replace(clamping.stock, top=top, known=known))
    assert "depth" in kinds(simulate(program(clamping=unknown), unknown, LIMITS))


def test_a_program_that_cannot_be_read_leaves_the_wood_as_it_is() -> None:
    clamping = setting()
    done = simulate(program().replace("M5\n", "M55\n"), clamping, LIMITS)
    assert kinds(done) == {"word"}
    assert not done.passed
    assert np.array_equal(done.top, clamping.stock.top, equal_nan=True)


def test_a_program_that_cuts_nothing_leaves_all() -> None:
    text = "G21\nG17 G40 G49 G54 G90 G94\nG0 Z70\nM2\n"
    assert kinds(simulate(text, setting(), LIMITS)) == {"left"}


def test_an_arc_is_swept_as_an_arc() -> None:
    clamping = flat()
    text = program(one_pass([(200.0, 200.0, 60.0), (250.0, 200.0, 60.0)]), clamping=clamping)
    turned = text.replace("X250 F3000", "G3 X300 Y200 I50 J0 F3000").replace("G0 Z70\nM5", "G0 Z70\nM5")
    assert turned != text
    done = simulate(turned, clamping, FREE, must=np.zeros(clamping.stock.top.shape, bool))
    assert done.faults == ()
    x, y = clamping.stock.x[:, None], clamping.stock.y[None, :]
    from_middle = np.hypot(x - 250.0, y - 200.0)
    # Counterclockwise from the near side: below the middle; half rings of 50 mm, with the cutter's half breadth.
    ring = (y <= 200.0) & (np.abs(from_middle - 50.0) <= 23.9)
    assert (done.top[ring] == 60.0).all()
    assert (done.top[(y > 226.0) | (from_middle > 75.1) | (from_middle < 24.9)] == 62.0).all()
    assert done.cut_length == pytest.approx(50.0 * math.pi + 35.0, abs=6.0)


def test_chords_stay_within_a_thousandth_of_their_arc() -> None:
    move = Move(7, (300.0, 200.0, 10.0), (200.0, 300.0, 5.0), 1000.0, 9000.0, Arc(200.0, 200.0, math.pi / 2.0))
    parts = pieces([move], BLOCK)
    middles = (parts.start + parts.end) / 2.0
    assert 100.0 - np.hypot(middles[:, 0] - 200.0, middles[:, 1] - 200.0).min() <= 0.001 + 1e-9
    assert np.allclose(np.hypot(parts.start[:, 0] - 200.0, parts.start[:, 1] - 200.0), 100.0)
    assert parts.start[0].tolist() == [300.0, 200.0, 35.0]
    assert parts.end[-1].tolist() == [200.0, 300.0, 30.0]
    assert (parts.line == 7).all()


def test_distance_of_moves_from_a_clamp() -> None:
    import shapely

    draw = np.random.default_rng(5)
    start, end = draw.uniform(0.0, 100.0, (2, 300, 2))
    start[:30, 0] = end[:30, 0]
    start[30:60, 1] = end[30:60, 1]
    end[60:80] = start[60:80]
    keep = KeepOut("a clamp", 40.0, 55.0, 30.0, 70.0, 10.0)
    lines = shapely.linestrings(np.stack((start, end), axis=1))
    expected = shapely.distance(lines, shapely.box(40.0, 30.0, 55.0, 70.0))
    assert np.allclose(segment_to_box(start, end, keep), expected, atol=1e-9)


def test_limits_follow_the_shop() -> None:
    limits = limits_of(
        Machine(cutter_diameter=80.0, stepover=60.0, travel_x=1800.0, depth_most=2.5, cutter_speed_most=12000.0)
    )
    assert limits.radius == 40.0
    assert limits.travel_x == (0.0, 1800.0)
    assert limits.greatest_depth == 2.5
    assert limits.greatest_speed == 12000.0
    assert limits.stick_out == math.inf
