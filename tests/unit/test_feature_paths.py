"""Features of the top: paths that clear just their shape, programs in the found position, spoiled programs that are caught."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from slabwright.accounts import accounts
from slabwright.job.models import Machine
from slabwright.job.top_models import Datum
from slabwright.machine.feature_check import Lying, check_feature, stock_around
from slabwright.machine.feature_paths import (
    Bit,
    bit_for,
    clearing_path,
    depth_steps,
    flowing_time,
)
from slabwright.machine.feature_programs import (
    FeatureProgram,
    cut_of,
    feature_findings,
    feature_places,
    feature_programs,
    limits_for,
)
from slabwright.machine.frame import KeepOut
from slabwright.machine.interpreter import interpret
from slabwright.machine.located import FaceUp, Located
from slabwright.machine.pockets import Cut, grown, perimeter, ring_sets
from slabwright.machine.registration import locate
from slabwright.machine.timing import path_time
from slabwright.machine.toolpath import Toolpath

MACHINE = Machine(greatest_depth=3.0, feed=6000.0, plunge_feed=1500.0)
THICK = 40.0
BOW_TIE = translate(shapely.Polygon([(0, -30), (40, -12), (80, -30), (80, 30), (40, 12), (0, 30)]), 300.0, 200.0)
CUTS = {
    "pocket with round corners": Cut("plate", "pocket", shapely.box(106, 106, 224, 164), 6.0, THICK, 29.0),
    "pocket with sharp corners": Cut("plate", "pocket", shapely.box(100, 100, 230, 170), 0.0, THICK, 29.0),
    "hole": Cut("grommet", "through hole", shapely.Point(150.0, 150.0), 31.0, THICK, 30.0),
    "bore hardly wider than the bit": Cut("insert", "insert", shapely.Point(150.0, 150.0), 6.4, THICK, 22.0),
    "slot as wide as the bit": Cut(
        "cable", "channel", shapely.LineString([(100, 100), (180, 100), (240, 180)]), 6.0, THICK, 30.0
    ),
    "wide channel": Cut(
        "cable", "channel", shapely.LineString([(100, 100), (180, 100), (120, 180)]), 11.0, THICK, 32.0
    ),
    "key": Cut("bow tie", "key", BOW_TIE, 0.0, THICK, 28.0),
    "two rooms and a narrow way": Cut(
        "odd",
        "pocket",
        shapely.union_all([shapely.box(0, 0, 60, 60), shapely.box(60, 22, 100, 38), shapely.box(100, 0, 160, 60)]),
        0.0,
        THICK,
        34.0,
    ),
}


def located(turn: float = 1.3, face_up: FaceUp = "show", room: float = 5.0) -> Located:
    """A top found by four corners, touched without error."""
    angle = math.radians(turn)
    side = -1.0 if face_up == "underside" else 1.0
    datums = []
    for index, (x, y) in enumerate([(0.0, -300.0), (1400.0, -300.0), (1400.0, 300.0), (0.0, 300.0)]):
        at = (
            math.cos(angle) * x - math.sin(angle) * side * y + 260.0,
            math.sin(angle) * x + math.cos(angle) * side * y + 560.0,
        )
        datums.append(Datum(name=f"corner {index}", kind="point", stated=(x, y), touched=at))
    return locate(datums, {"all": (700.0, 0.0, room)}, face_up=face_up)


def swept(path: Toolpath, height: float, radius: float) -> BaseGeometry:
    """What the cutter covers at a height, from the path alone."""
    at = (
        (path.feed > 0.0) & (np.abs(path.points[1:, 2] - height) < 1e-9) & (np.abs(path.points[:-1, 2] - height) < 1e-9)
    )
    ways = [
        shapely.LineString([one, two])
        for one, two in zip(path.points[:-1][at, :2], path.points[1:][at, :2], strict=True)
    ]
    return shapely.union_all([way.buffer(radius, quad_segs=32) for way in ways])


@pytest.mark.parametrize("name", CUTS)
def test_every_depth_clears_the_shape_and_nothing_else(name: str) -> None:
    cut, bit = CUTS[name], bit_for(MACHINE)
    path = clearing_path(cut, bit, safe=70.0)
    assert path is not None
    for level in depth_steps(cut.top, cut.floor, bit.depth_step):
        cleared = swept(path, level, bit.radius)
        assert cleared.difference(cut.shape().buffer(0.006)).area < 1e-6
        assert cut.opened(bit.radius).buffer(-0.02).difference(cleared).area < 0.05
    assert path.points[:, 2].min() == cut.floor
    sideways = (path.feed == 0.0) & (np.abs(np.diff(path.points[:, :2], axis=0)).max(axis=1) > 0.0)
    assert (path.points[1:][sideways, 2] == 70.0).all()
    assert path.points[0, 2] == path.points[-1, 2] == 70.0


@pytest.mark.parametrize("name", CUTS)
def test_no_depth_is_entered_straight_down(name: str) -> None:
    cut, bit = CUTS[name], bit_for(MACHINE)
    path = clearing_path(cut, bit, safe=70.0)
    assert path is not None
    run = np.diff(path.points, axis=0)
    # A fall straight down at feed ends on top of what the depth before left.
    straight = (path.feed > 0.0) & (run[:, 2] < 0.0) & (np.abs(run[:, :2]).max(axis=1) == 0.0)
    tops = {cut.top, *depth_steps(cut.top, cut.floor, bit.depth_step)[:-1]}
    assert {round(float(z), 6) for z in path.points[1:][straight, 2]} <= {round(z, 6) for z in tops}
    falling = (path.feed > 0.0) & (run[:, 2] < 0.0) & ~straight
    down = path.feed[falling] * -run[falling, 2] / np.linalg.norm(run[falling], axis=1)
    assert down.max() <= bit.plunge_feed


def test_rings_go_round_so_that_the_cutter_climbs() -> None:
    shape = shapely.box(0, 0, 200, 200).difference(shapely.box(80, 80, 120, 120))
    wall = ring_sets(Cut("a", "pocket", shape, 0.0, 10.0, 5.0), 6.0, 4.8, 0.3)[-1]
    ways = {bool(shapely.LinearRing(ring).is_ccw): perimeter(ring) for ring in wall}
    assert ways[True] == pytest.approx(4 * 188.0)
    assert ways[False] > 4 * 40.0


def test_a_stepover_that_may_leave_wood_is_refused() -> None:
    with pytest.raises(ValueError, match="may leave wood"):
        ring_sets(CUTS["key"], 6.0, 6.0, 0.3)


def test_depth_steps_are_even() -> None:
    assert depth_steps(40.0, 29.0, 3.0) == pytest.approx((37.25, 34.5, 31.75, 29.0))
    assert depth_steps(40.0, 37.0, 3.0) == (37.0,)


def test_a_bit_too_wide_gives_no_path() -> None:
    bit = replace(bit_for(MACHINE, 20.0))
    assert clearing_path(CUTS["slot as wide as the bit"], bit, safe=70.0) is None
    program = feature_programs([CUTS["slot as wide as the bit"]], located(), MACHINE, THICK, bit=bit)[0]
    assert not program.passed
    assert program.text == ""
    finding = feature_findings([program], located(), 18.0, "metric")[0]
    assert (finding.code, finding.severity) == ("machine/feature-bit", "stop")
    assert "20 mm wide" in finding.message


def test_time_of_a_straight_path_is_that_of_the_other_model() -> None:
    path = Toolpath(
        np.array([(0.0, 0.0, 50.0), (100.0, 0.0, 50.0), (100.0, 0.0, 10.0), (400.0, 0.0, 10.0), (400.0, 2.0, 10.0)]),
        np.array([0.0, 1000.0, 3000.0, 3000.0]),
    )
    other = path_time(path, rapid=10000.0, acceleration=400.0).minutes
    assert flowing_time(path, rapid=10000.0, acceleration=400.0) == pytest.approx(other, rel=1e-12)


def test_time_of_an_arc_is_that_of_its_radius() -> None:
    # Round a circle of radius R no faster than sqrt(a R), as long as the chords are short.
    angle = np.linspace(0.0, 2.0 * np.pi, 721)
    radius, acceleration = 4.0, 400.0
    circle = np.column_stack((radius * np.cos(angle), radius * np.sin(angle), np.zeros(721)))
    speed = min(6000.0 / 60.0, math.sqrt(acceleration * radius))
    wanted = (2.0 * math.pi * radius / speed + speed / acceleration) / 60.0
    found = flowing_time(Toolpath(circle, np.full(720, 6000.0)), rapid=1e4, acceleration=acceleration)
    assert found == pytest.approx(wanted, rel=1e-3)


def a_day_of_features() -> list[Cut]:
    return [
        Cut("left plate", "pocket", shapely.box(206, -94, 294, 94), 6.0, THICK, 30.0),
        Cut("bolt", "insert", shapely.Point(250.0, 60.0), 6.5, 30.0, 14.0),
        Cut("small bolt", "insert", shapely.Point(250.0, -60.0), 4.0, 30.0, 14.0),
        Cut("outlet", "outlet", shapely.Point(500.0, 20.0), 20.0, THICK, 34.0),
        Cut("outlet", "outlet", shapely.Point(500.0, 20.0), 14.0, 34.0, 0.0),
        Cut("cable", "channel", shapely.LineString([(294, 0), (380, 0), (500, 20)]), 6.0, THICK, 31.0),
    ]


@pytest.mark.parametrize("face_up", ["show", "underside"])
@pytest.mark.parametrize("units", ["mm", "in"])
def test_programs_pass_where_the_top_lies(face_up: FaceUp, units: str) -> None:
    machine = MACHINE.model_copy(update={"program_units": units, "block_height": 20.0})
    where = located(face_up=face_up)
    programs = feature_programs(
        a_day_of_features(), where, machine, THICK, outline=shapely.box(0, -300, 1400, 300), under=18.0
    )
    assert [program.check.faults for program in programs if program.check] == [()] * 6
    assert all(program.passed for program in programs)
    for program in programs:
        assert program.check is not None
        assert program.check.beyond_wall <= 0.006
        assert program.check.outside == 0.0
        assert program.check.above_floor <= 0.01
        assert program.check.below_floor <= 0.01
        assert program.check.deepest <= 3.0 + 0.01
    # The pocket comes before the holes in its floor, the recess before the hole in it.
    order = [program.feature for program in programs]
    assert order.index("left plate") < order.index("bolt")
    assert [program.diameter for program in programs if program.feature == "outlet"] == [12.0, 12.0]
    drilled = next(program for program in programs if program.feature == "small bolt")
    assert (drilled.tool, drilled.diameter) == ("drill", 8.0)
    # The program goes where the drawing's places are on the machine.
    ends = np.array([move.end for move in interpret(drilled.text) if not math.isnan(move.end[0])])
    assert ends[:, :2] == pytest.approx(np.tile(where.to_machine(np.array((250.0, -60.0))), (len(ends), 1)), abs=0.0015)
    # z counts from the block: the hole ends 14 mm above the face that is down, on 18 mm of waste wood.
    assert ends[:, 2].min() == pytest.approx(18.0 + 14.0 - 20.0, abs=0.0015)
    assert all(account.description.meaning for account in accounts(programs, "machine.features"))


def test_a_through_cut_ends_in_the_waste_wood() -> None:
    hole = Cut("grommet", "through hole", shapely.Point(300.0, 0.0), 20.0, THICK, 0.0)
    on_board = feature_programs([hole], located(), MACHINE, THICK, under=18.0)[0]
    assert on_board.passed
    assert on_board.floor == pytest.approx(-0.5)
    assert not feature_findings([on_board], located(), 18.0, "metric")
    on_bed = feature_programs([hole], located(), MACHINE, THICK)[0]
    assert [finding.code for finding in feature_findings([on_bed], located(), 0.0, "metric")] == [
        "machine/no-board-under"
    ]


def test_drilling_is_straight_and_lifts_out() -> None:
    hole = Cut("pilot", "insert", shapely.Point(300.0, 0.0), 2.5, THICK, 20.0)
    program = feature_programs([hole], located(), MACHINE, THICK, under=18.0)[0]
    assert program.passed
    words = set(re.findall(r"G\d+", program.text))
    assert words <= {"G0", "G1", "G17", "G21", "G40", "G49", "G54", "G90", "G94"}
    assert len(program.depths) == 7
    assert program.text.count("G1 Z") == 7


def test_corners_that_stay_are_told() -> None:
    sharp = replace(CUTS["pocket with sharp corners"], core=shapely.box(300, -50, 430, 50))
    program = feature_programs([sharp], located(), MACHINE, THICK)[0]
    assert program.passed
    # Four corners, each (1 - pi / 4) r^2.
    assert program.corner_area == pytest.approx(4.0 * (1.0 - math.pi / 4.0) * 36.0, rel=0.01)
    assert [finding.code for finding in feature_findings([program], located(), 0.0, "metric")] == [
        "machine/feature-corners"
    ]


def test_a_clamp_in_the_way_keeps_the_program_back() -> None:
    where = located()
    x, y = where.to_machine(np.array((500.0, 20.0))).tolist()
    clamp = KeepOut("clamp 1", x - 60.0, x + 5.0, y - 10.0, y + 10.0, 80.0)
    programs = feature_programs(a_day_of_features(), where, MACHINE, THICK, under=18.0, keep_out=[clamp])
    stopped = {program.feature for program in programs if not program.passed}
    assert "outlet" in stopped
    assert "left plate" not in stopped
    codes = [finding.code for finding in feature_findings(programs, where, 18.0, "metric")]
    assert "machine/feature-program" in codes


def test_a_feature_outside_the_wood_or_the_travel_does_not_pass() -> None:
    pocket = Cut("far", "pocket", shapely.box(1450, -50, 1550, 50), 6.0, THICK, 30.0)
    off = feature_programs([pocket], located(), MACHINE, THICK, outline=shapely.box(0, -300, 1400, 300))[0]
    assert not off.passed
    short = MACHINE.model_copy(update={"travel_x": 1000.0})
    beyond = feature_programs([replace(pocket, core=shapely.box(1200, -50, 1300, 50))], located(), short, THICK)[0]
    assert not beyond.passed
    assert beyond.check is not None
    assert "travels" in beyond.check.faults[0]


def test_a_bit_too_short_is_told() -> None:
    bit = bit_for(MACHINE, cutting_length=8.0)
    program = feature_programs([CUTS["key"]], located(), MACHINE, THICK, bit=bit)[0]
    assert program.refusal
    assert not program.passed


def test_nothing_is_cut_before_the_place_is_sure() -> None:
    where = located(room=0.01)
    programs = feature_programs([CUTS["key"]], where, MACHINE, THICK)
    assert "machine/feature-hold" in [finding.code for finding in feature_findings(programs, where, 0.0, "metric")]


def test_depths_from_either_face() -> None:
    # 10 mm into the underside of a 40 mm top: from 30 to 40 mm below the show face.
    point = shapely.Point(0.0, 0.0)
    under = cut_of("a", "insert", point, 5.0, 30.0, 40.0, thickness=40.0, face_up="underside")
    assert (under.top, under.floor) == (40.0, 30.0)
    show = cut_of("a", "key", point, 5.0, 0.0, 12.0, thickness=40.0, face_up="show")
    assert (show.top, show.floor) == (40.0, 28.0)


def test_places_for_locating() -> None:
    places = feature_places(
        a_day_of_features(), dict.fromkeys(("left plate", "bolt", "small bolt", "outlet", "cable"), 0.5)
    )
    plate = places["left plate"]
    assert (plate.x, plate.y, plate.clearance) == pytest.approx((250.0, 0.0, 0.5))
    assert plate.corners[2] == pytest.approx((300.0, 100.0))
    assert set(places) == {"left plate", "bolt", "small bolt", "outlet", "cable"}


# Spoiled programs: what the check must catch.


def passed_program(cut: Cut) -> tuple[FeatureProgram, Cut, Bit]:
    """A program that passes, with its cut on the machine (a top that lies straight at the origin)."""
    where = replace(located(), turn=0.0, shift_x=0.0, shift_y=0.0)
    bit = bit_for(MACHINE)
    program = feature_programs([cut], where, MACHINE, THICK, bit=bit)[0]
    assert program.passed
    return program, cut, bit


def faults(text: str, cut: Cut, bit: Bit) -> tuple[str, ...]:
    setting = stock_around(cut, bit.radius, Lying(None, 0.0, THICK, 0.0), [])
    return check_feature(text, cut, setting, limits_for(MACHINE, bit), "metric").faults


def test_the_check_lets_the_sound_one_through() -> None:
    program, cut, bit = passed_program(CUTS["pocket with round corners"])
    assert faults(program.text, cut, bit) == ()


@pytest.mark.parametrize("shift", [(0.05, 0.0), (0.0, -0.05), (3.0, 0.0), (200.0, 0.0)])
def test_a_shifted_program_is_caught(shift: tuple[float, float]) -> None:
    program, cut, bit = passed_program(CUTS["pocket with round corners"])

    def moved(match: re.Match[str]) -> str:
        return f"{match[1]}{float(match[2]) + shift['XY'.index(match[1])]:.3f}"

    body = re.sub(r"\b([XY])(-?[\d.]+)", moved, re.sub(r"\(.*?\)", "", program.text))
    assert any("beyond the wall" in fault for fault in faults(body, cut, bit))


def test_a_depth_left_out_is_caught() -> None:
    program, cut, bit = passed_program(CUTS["pocket with round corners"])
    lines = program.text.split("\n")
    first = next(index for index, line in enumerate(lines) if "Z37.25" in line and "X" in line)
    lines[first] = lines[first].replace("Z37.25", "Z36")
    assert faults("\n".join(lines), cut, bit)


def test_a_floor_too_deep_or_too_high_is_caught() -> None:
    program, cut, bit = passed_program(CUTS["pocket with round corners"])
    deep = program.text.replace("Z29", "Z28.9")
    assert any("below" in fault for fault in faults(deep, cut, bit))
    high = program.text.replace("Z29", "Z29.1")
    assert any("leaves wood" in fault for fault in faults(high, cut, bit))


def test_a_ring_left_out_is_caught() -> None:
    _, cut, bit = passed_program(CUTS["pocket with sharp corners"])
    # The same wall without the inner rings leaves an island.
    hollow = Cut(
        cut.name, cut.kind, cut.core.difference(grown(cut.core, -2.0 * bit.radius - 0.5)), 0.0, cut.top, cut.floor
    )
    program, _, _ = passed_program(hollow)
    assert any("leaves wood" in fault for fault in faults(program.text, cut, bit))
