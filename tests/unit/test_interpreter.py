from __future__ import annotations

import math

import pytest

from slabwright.findings import SlabwrightError
from slabwright.machine.interpreter import interpret, read_program

START = "G21\nG17 G40 G49 G54 G90 G94\nG0 Z50\nM3 S12000\nG0 X0 Y0\n"
END = "G0 Z50\nM5\nM2\n"


def fault(lines: str, start: str = START, end: str = END) -> tuple[str, int, str]:
    """Kind, line within `lines`, message of the first fault."""
    reading = read_program(start + lines + end)
    assert reading.faults, "nothing was found wrong"
    first = reading.faults[0]
    return first.kind, first.line - start.count("\n"), first.message


def test_modes_stay_until_they_are_changed() -> None:
    moves = interpret(START + "G1 X10 F600\nY5\nG0 Z60\nX0\nG1 X1\n" + END)
    assert [(m.end, m.feed) for m in moves[2:7]] == [
        ((10.0, 0.0, 50.0), 600.0),
        ((10.0, 5.0, 50.0), 600.0),
        ((10.0, 5.0, 60.0), 0.0),
        ((0.0, 5.0, 60.0), 0.0),
        ((1.0, 5.0, 60.0), 600.0),
    ]
    assert [m.line for m in moves[2:7]] == [6, 7, 8, 9, 10]


def test_what_was_not_stated_is_not_known() -> None:
    first, second = interpret(START + END)[:2]
    assert all(math.isnan(value) for value in first.start)
    assert math.isnan(first.end[0]) and first.end[2] == 50.0
    assert second.end == (0.0, 0.0, 50.0)


def test_inches_become_millimetres() -> None:
    moves = interpret(START.replace("G21", "G20") + "G1 X1 F10\n" + END)
    assert moves[2].end[0] == pytest.approx(25.4)
    assert moves[2].feed == pytest.approx(254.0)


def test_the_spindle_is_told_for_each_move() -> None:
    moves = interpret(START + "G1 X1 F100\nM5\nX2\nM3\nX3 S9000\n" + END)
    assert [m.speed for m in moves] == [0.0, 12000.0, 12000.0, 0.0, 9000.0, 9000.0]
    assert read_program(START + END).speed_at_end == 0.0
    assert read_program(START + END.replace("M5\n", "")).speed_at_end == 12000.0


def test_blanks_case_comments_and_line_numbers_do_not_matter() -> None:
    plain = interpret(START + "G1 X10.5 Y-2 F600\n" + END)
    odd = interpret(START + "n10 g01 (to the far) x 1 0 . 5 y -2. (end) F6 00\n" + END)
    assert plain == odd
    assert interpret((START + END).replace("\n", "\r\n")) == interpret(START + END)


@pytest.mark.parametrize(
    ("lines", "kind", "told"),
    [
        ("G1 X10 F600 X20\n", "group", "X stands twice"),
        ("G0 G1 X10 F600\n", "group", "modal group"),
        ("M3 M5\n", "group", "modal group"),
        ("G5 X1\n", "word", "no word of RS-274"),
        ("G91\n", "word", "no place"),
        ("G53 G0 Z0\n", "word", "no place"),
        ("G55\n", "word", "no place"),
        ("G64\n", "word", "no place"),
        ("G43 H1\n", "word", "no place"),
        ("M6 T1\n", "word", "no place"),
        ("M0\n", "word", "no place"),
        ("G-1 X1\n", "word", "no word"),
        ("E5\n", "word", "no word"),
        ("A5\n", "word", "no place"),
        ("#1=5\n", "word", "parameters"),
        ("G1 X[1+2] F5\n", "word", "parameters"),
        ("/G1 X5 F5\n", "word", "switch"),
        ("X\n", "form", "not made of words"),
        ("hello\n", "form", "not made of words"),
        ("G1 X1e5 F5\n", "word", "no word of RS-274"),
        ("G1 X1..5 F5\n", "form", "not made of words"),
        ("G1 X1(a)2 F5\n", "form", "not made of words"),
        ("; stop\n", "form", "not made of words"),
        ("(open\n", "form", "comment"),
        ("(a (b) c)\n", "form", "comment"),
        ("(caf\u00e9)\n", "form", "ASCII"),
        ("G1 X1 F5 N5\n", "form", "number"),
        ("N100000 G1 X1 F5\n", "form", "number"),
        ("G1 X" + "0" * 260 + " F5\n", "form", "256"),
        ("G1 X5\n", "feed", "no feed"),
        ("G1 X5 F0\n", "feed", "no feed"),
        ("G1 X5 F-10\n", "feed", "below nothing"),
        ("M5\nM3 S0\n", "spindle", "without a speed"),
        ("S-5\n", "spindle", "below nothing"),
        ("G20\n", "units", "mixed"),
        ("G80\nX5\n", "axes", "no motion word"),
        ("G1 F5\n", "axes", "moves nothing"),
        ("G1 X5 I3 F5\n", "axes", "straight move"),
        ("I5 J5\n", "axes", "ends nowhere"),
        ("M2\nG1 X5 F5\n", "end", "after the end"),
        ("G2 X10 F5\n", "arc", "middle"),
        ("G2 X10 I5 R5 F5\n", "arc", "one of them"),
        ("G2 Z10 I5 F5\n", "arc", "X or Y"),
        ("G2 X10 I5 K1 F5\n", "arc", "K on an arc"),
        ("G2 X10 R4 F5\n", "arc", "does not reach"),
        ("G2 X0 Y0 R4 F5\n", "arc", "ends where it starts"),
        ("G2 X0 Y0 I0 J0 F5\n", "arc", "without a radius"),
        ("%\n", "form", "none opened"),
        ("%%\n", "form", "line of its own"),
    ],
)
def test_a_wrong_line_is_told_with_its_number(lines: str, kind: str, told: str) -> None:
    found = fault(lines)
    assert found[:2] == (kind, lines.count("\n"))
    assert told in found[2]


@pytest.mark.parametrize("word", ["G17", "G40", "G49", "G54", "G90", "G94"])
def test_every_state_is_stated_before_the_first_move(word: str) -> None:
    kind, _, message = fault("", start=START.replace(word, ""))
    assert kind == "state"
    assert word in message


def test_units_are_stated_before_a_feed_or_a_move() -> None:
    assert fault("", start=START.replace("G21\n", "\n"))[0] == "units"
    assert fault("", start="F600\n" + START)[0] == "units"
    # Table 8: F counts in the units in force before the line's own units word.
    assert fault("", start="F600 " + START)[0] == "units"


@pytest.mark.parametrize(
    "text",
    [START, "%\n" + START, "%\n" + START + END, "%\n" + START + "%\n", "", "\n\n"],
    ids=["no end", "no end, opened", "not closed", "closed without M2", "empty", "blank"],
)
def test_a_program_that_may_be_cut_off_is_told(text: str) -> None:
    assert "end" in [f.kind for f in read_program(text).faults]


def test_what_follows_the_closing_percent_sign_is_ignored() -> None:
    assert not read_program("%\n" + START + END + "%\nanything at all (\n").faults


def test_the_first_fault_is_raised_with_its_line() -> None:
    with pytest.raises(SlabwrightError, match=r"program, line 6: .*no feed"):
        interpret(START + "G1 X5\n" + END)
    with pytest.raises(SlabwrightError, match="program, the program has no end"):
        interpret(START)


def test_arcs_in_both_forms_turn_the_right_way() -> None:
    def angle(line: str) -> float:
        arc = interpret(START + line + "\n" + END)[2].arc
        assert arc is not None
        return math.degrees(arc.angle)

    assert angle("G3 X10 Y10 I0 J10 F5") == pytest.approx(90.0)
    assert angle("G2 X10 Y10 I10 J0 F5") == pytest.approx(-90.0)
    assert angle("G2 X10 Y10 I0 J10 F5") == pytest.approx(-270.0)
    assert angle("G3 X10 Y10 R10 F5") == pytest.approx(90.0)
    assert angle("G3 X10 Y10 R-10 F5") == pytest.approx(270.0)
    assert angle("G2 X10 Y10 R-10 F5") == pytest.approx(-270.0)
    assert angle("G2 X10 Y0 R5 F5") == pytest.approx(-180.0)
    assert angle("G2 X0 I10 F5") == pytest.approx(-360.0)
