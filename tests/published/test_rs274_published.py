"""Rules of RS-274 as NISTIR 6556 (The NIST RS274NGC Interpreter, Version 3, 17 August 2000) states them.

Each rule is put to both readers: the project's, and a second one that shares nothing with it. The surfaces that a program
leaves are compared between the two as well.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from tests.published.second_reader import ProgramWrongError, read, surface
from tests.unit.surfacing import BLOCK, LIMITS, program, raster, setting

from slabwright.machine.interpreter import Move, interpret, read_program
from slabwright.machine.rs274 import ProgramUnits
from slabwright.machine.simulator import simulate
from slabwright.reference.rs274 import language

START = "G21\nG17 G40 G49 G54 G90 G94\nG0 Z50\nM3 S12000\nX0 Y0\n"
END = "G0 Z50\nM5\nM2\n"


def both_refuse(lines: str, start: str = START, end: str = END) -> None:
    assert read_program(start + lines + end).faults
    with pytest.raises(ProgramWrongError):
        read(start + lines + end)


def both_take(lines: str, start: str = START, end: str = END) -> list[Move]:
    """The moves after the start, which the second reader sees at the same ends."""
    moves = interpret(start + lines + end)
    cuts = read(start + lines + end)
    fed = [move for move in moves if move.feed > 0.0]
    assert len(fed) == len(cuts.fed)
    for move, track in zip(fed, cuts.fed, strict=True):
        assert np.allclose(move.start, track[0], atol=1e-9)
        # The ends of an arc may differ by its tolerance.
        assert np.allclose(move.end, track[-1], rtol=0.0, atol=0.0052)
    assert np.allclose([move.feed for move in fed], cuts.feeds)
    assert [move.speed > 0 for move in fed] == cuts.turning
    return moves[2:]


# Table 4: modal groups.
TABLE_4 = {
    "motion": "G0 G1 G2 G3 G38.2 G80 G81 G82 G83 G84 G85 G86 G87 G88 G89",
    "plane": "G17 G18 G19",
    "distance": "G90 G91",
    "feed_mode": "G93 G94",
    "units": "G20 G21",
    "cutter_compensation": "G40 G41 G42",
    "length_offset": "G43 G49",
    "canned_return": "G98 G99",
    "coordinate_system": "G54 G55 G56 G57 G58 G59 G59.1 G59.2 G59.3",
    "path_control": "G61 G61.1 G64",
    "non_modal": "G4 G10 G28 G30 G53 G92 G92.1 G92.2 G92.3",
    "stopping": "M0 M1 M2 M30 M60",
    "tool_change": "M6",
    "spindle": "M3 M4 M5",
    "coolant": "M7 M8 M9",
    "overrides": "M48 M49",
}


def test_table_4_holds_these_words_and_no_others() -> None:
    expected = {word: group for group, words in TABLE_4.items() for word in words.split()}
    assert dict(language().groups) == expected


@pytest.mark.parametrize("group", [group for group, words in TABLE_4.items() if " " in words])
def test_two_words_of_a_modal_group_on_one_line_are_an_error(group: str) -> None:
    for one, other in itertools.pairwise(TABLE_4[group].split()):
        both_refuse(f"{one} {other}\n")


def test_words_of_different_groups_share_a_line() -> None:
    moves = both_take("", start="G21 G17 G40 G49 G54 G90 G94\nG0 Z50 M3 S12000\nX0 Y0\n")
    assert moves[-1].end == (0.0, 0.0, 50.0)


# Section 3.3: format of a line.
def test_section_3_3_blanks_and_case_change_nothing() -> None:
    # The report's own example: "g0x +0. 12 34y 7" is the same as "g0 x+0.1234 y7".
    odd, plain = both_take("g0x +0. 12 34y 7\n"), both_take("G0 X+0.1234 Y7\n")
    assert odd[0].end == plain[0].end == (0.1234, 7.0, 50.0)


def test_section_3_3_1_line_numbers() -> None:
    both_take("N0 G1 X1 F5\nN99999 X2\nN5 X3\n")
    assert read_program(START + "N100000 G1 X1 F5\n" + END).faults
    assert read_program(START + "N000009 G1 X1 F5\n" + END).faults


@pytest.mark.parametrize("number", ["7", "7.", "+7", "07.0", "7.000"])
def test_section_3_3_2_ways_to_write_a_number(number: str) -> None:
    assert both_take(f"G1 X{number} F5\n")[0].end[0] == 7.0


@pytest.mark.parametrize("number", ["", ".", "+", "-.", "1.2.3", "--1"])
def test_section_3_3_2_what_is_no_number(number: str) -> None:
    both_refuse(f"G1 X{number} F5\n")


def test_section_3_3_2_a_point_may_come_first() -> None:
    assert both_take("G1 X.5 F5\n")[0].end[0] == 0.5


def test_section_3_3_4_repeats() -> None:
    both_refuse("G1 X1 X2 F5\n")
    both_refuse("G1 X1 F5 F6\n")
    # Several comments are allowed, and several G words of different groups.
    both_take("(one) G1 (two) X1 F5 (three)\n")


def test_section_3_3_3_comments_may_not_be_nested_or_left_open() -> None:
    both_refuse("(a (b) c)\n")
    both_refuse("(a\n")


# Table 8: order of execution.
def test_table_8_feed_and_speed_come_before_the_motion_of_their_line() -> None:
    moves = both_take("X5 G1 F300\nX6 F400\n")
    assert [move.feed for move in moves[:2]] == [300.0, 400.0]


def test_table_8_the_spindle_changes_before_the_motion_of_its_line() -> None:
    moves = both_take("G1 X5 F300 M5\nX6 M3\n")
    assert [move.speed for move in moves[:2]] == [0.0, 12000.0]


def test_table_8_units_change_before_the_motion_of_their_line() -> None:
    text = "G17 G40 G49 G54 G90 G94\nG0 Z2 G20\nX1 Y0\nM2\n"
    assert interpret(text)[0].end[2] == pytest.approx(50.8)


def test_table_8_the_stop_comes_after_the_motion_of_its_line() -> None:
    moves = both_take("G1 X5 F300 M2\n", end="")
    assert moves[0].end[0] == 5.0


# Section 3.5.3: arcs.
def test_section_3_5_3_the_arc_of_the_report() -> None:
    """G17 G2 X10 Y16 I3 J4 Z9 from X7 Y7: a helix about (10, 11) with a radius of 5."""
    text = START + "G1 X7 Y7 F100\nG17 G2 X10 Y16 I3 J4 Z9\n" + END
    move = interpret(text)[3]
    assert move.arc is not None
    assert (move.arc.x, move.arc.y) == (10.0, 11.0)
    assert math.hypot(7.0 - move.arc.x, 7.0 - move.arc.y) == 5.0
    assert move.arc.angle < 0.0
    assert move.end == (10.0, 16.0, 9.0)
    track = np.array(read(text).fed[1])
    assert np.allclose(np.hypot(track[:, 0] - 10.0, track[:, 1] - 11.0), 5.0)
    # Clockwise from (7, 7), left below the middle, to (10, 16), above it: by way of the left, x = 5.
    assert track[:, 0].min() == pytest.approx(5.0, abs=1e-3)
    # atan2 of the two ends about the middle: 233.13 degrees to 90 degrees, clockwise.
    assert math.degrees(move.arc.angle) == pytest.approx(-(math.degrees(math.atan2(-4.0, -3.0)) % 360.0 - 90.0))


@pytest.mark.parametrize(
    ("units", "off", "taken"),
    [("G21", 0.002, True), ("G21", 0.0021, False), ("G20", 0.0002, True), ("G20", 0.00021, False)],
)
def test_section_3_5_3_ends_may_differ_by_two_thousandths_of_a_millimetre(units: str, off: float, taken: bool) -> None:
    start = START.replace("G21", units)
    line = f"G3 X{10.0 + off:.6f} Y10 I0 J10 F5\n"
    if taken:
        both_take(line, start)
    else:
        both_refuse(line, start)


def test_section_3_5_3_a_whole_circle_ends_where_it_starts() -> None:
    moves = both_take("G2 X0 Y0 I10 J0 F5\n")
    assert moves[0].arc is not None
    assert moves[0].arc.angle == pytest.approx(-math.tau)


def test_section_3_5_3_radius_form() -> None:
    short, long = both_take("G3 X10 Y10 R10 F5\n")[0], both_take("G3 X10 Y10 R-10 F5\n")[0]
    assert short.arc is not None and long.arc is not None
    # Positive: up to half a turn; negative: half to a whole turn.
    assert math.degrees(short.arc.angle) == pytest.approx(90.0)
    assert math.degrees(long.arc.angle) == pytest.approx(270.0)
    both_refuse("G3 X0 Y0 R10 F5\n")
    both_refuse("G3 X30 R10 F5\n")


# Sections 3.5.1, 3.5.2 and 3.6.1.
def test_section_3_5_2_a_move_at_feed_needs_a_feed() -> None:
    both_refuse("G1 X5\n")
    both_refuse("G1 X5 F0\n")


def test_section_3_6_1_nothing_is_done_after_m2() -> None:
    both_refuse("M2\nG1 X5 F5\n")


def test_a_file_ends_with_m2_or_stands_between_percent_signs() -> None:
    both_take("", start="%\n" + START, end=END + "%\n")
    both_refuse("", end="")
    both_refuse("", start="%\n" + START, end=END)
    # What stands after the second percent sign is not part of the program.
    both_take("", start="%\n" + START, end=END + "%\nanything (\n")


# What the two make of whole programs.
@pytest.mark.parametrize("units", ["mm", "in"])
def test_both_readers_leave_the_same_surface(units: ProgramUnits) -> None:
    clamping = setting()
    text = program(raster(), units)
    stock = clamping.stock
    first = simulate(text, clamping, LIMITS).top
    second = surface(read(text), stock.x, stock.y, stock.top, block=BLOCK, diameter=50.0, corner=1.0)
    assert np.array_equal(np.isnan(first), np.isnan(second))
    assert np.nanmax(np.abs(first - second)) <= 1e-6
    assert np.nanmax(np.abs(second - clamping.plane)) <= 0.002
