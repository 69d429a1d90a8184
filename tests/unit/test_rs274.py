from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from tests.unit.surfacing import BLOCK, PLANE, one_pass, program, raster, setting

from slabwright.findings import SlabwrightError
from slabwright.machine.interpreter import interpret
from slabwright.machine.rs274 import ProgramUnits, plain_comment, program_text
from slabwright.machine.toolpath import Toolpath


def body(text: str) -> list[str]:
    return [line for line in text.splitlines() if not line.startswith("(")]


def test_a_program_is_set_out_like_this() -> None:
    path = one_pass([(70.0, 60.0, 60.0), (630.0, 60.0, 60.0)], feed=6000.0)
    assert body(program(path)) == [
        "%",
        "G21",
        "G17 G40 G49 G54 G90 G94",
        "G0 Z70",
        "M3 S16000",
        "X70 Y60",
        "G1 Z35 F1500",
        "X630 F6000",
        "G0 Z70",
        "M5",
        "M2",
        "%",
    ]


def test_inches_carry_four_decimals_and_feeds_are_rounded_down() -> None:
    path = one_pass([(70.0, 60.0, 60.0), (630.0, 60.0, 60.0)], feed=6000.0)
    lines = body(program(path, "in"))
    assert lines[1] == "G20"
    assert "G1 Z1.378 F59" in lines  # 35 mm; 1500 mm are 59.055 in
    assert "X24.8031 F236.2" in lines  # 6000 mm are 236.22 in


def test_z_is_counted_from_the_block() -> None:
    path = raster()
    told = [move.end[2] for move in interpret(program(path))]
    assert min(told) == PLANE - BLOCK
    on_the_bed = replace(setting(), block=0.0)
    assert min(move.end[2] for move in interpret(program(path, clamping=on_the_bed))) == PLANE


@pytest.mark.parametrize("units", ["mm", "in"])
def test_the_text_brings_the_cutter_where_the_path_has_it(units: ProgramUnits) -> None:
    path = raster(0.123)
    moves = interpret(program(path, units))
    # The first two bring the cutter to the path's first row.
    ends = np.add([move.end for move in moves[1:]], (0.0, 0.0, BLOCK))
    assert np.abs(ends - path.points).max() <= (0.0005 if units == "mm" else 0.00127) + 1e-9
    assert np.allclose([move.feed for move in moves[2:]], path.feed, rtol=2e-3)
    assert all(move.feed <= feed for move, feed in zip(moves[2:], path.feed, strict=True))


def test_words_stand_only_where_they_change() -> None:
    lines = body(program())
    for before, line in pairwise(lines):
        for letter in "XYZF":
            here = [word for word in line.split() if word.startswith(letter)]
            assert not here or here[0] not in before.split()
    feeds = [word for line in lines for word in line.split() if word.startswith("F")]
    assert all(one != other for one, other in pairwise(feeds))


def test_moves_too_short_to_write_are_left_out() -> None:
    path = one_pass([(70.0, 60.0, 60.0), (70.0001, 60.0, 60.0), (630.0, 60.0, 60.0)])
    assert body(program(path)) == body(program(one_pass([(70.0, 60.0, 60.0), (630.0, 60.0, 60.0)])))


def test_a_path_that_ends_low_is_lifted() -> None:
    path = Toolpath(np.array([(70.0, 60.0, 95.0), (70.0, 60.0, 60.0), (630.0, 60.0, 60.0)]), np.array([1500.0, 6000.0]))
    assert body(program(path))[-4:] == ["G0 Z70", "M5", "M2", "%"]


def test_the_heading_says_what_it_is() -> None:
    heading = [line for line in program(raster(1.5)).splitlines() if line.startswith("(")]
    told = " ".join(heading)
    for word in (
        "face-a-1.ngc",
        "Reading table, depth 1 of 2",
        "face A up, clamping 1",
        "cuts to 1.5 mm above the finished plane",
        "top of the fixed block, 25 mm above the bed",
        "cutter: 50 mm, 16000 turns per minute",
        "stop and look after this file",
    ):
        assert word in told


def test_the_heading_of_a_pocket_counts_down_from_the_face() -> None:
    one = setting()
    text = program_text(
        Toolpath(np.array([(0.0, 0.0, 70.0), (0.0, 0.0, one.plane - 8.0)]), np.array([900.0])),
        one,
        name="pocket.ngc",
        units="mm",
        cutter_diameter=12.0,
        spindle_speed=16000.0,
        comments=[],
    )
    assert "cuts to 8 mm below the finished plane" in text


def test_any_title_makes_a_plain_short_comment() -> None:
    title = 'Bücherei (Lesetisch; "neu") 100 % #5 [x] ' + "lang " * 100 + "\nM3 S1 \N{SNOWMAN}"
    text = program_text(
        raster(), setting(), name="a.ngc", units="mm", cutter_diameter=50.0, spindle_speed=16000.0, comments=[title, ""]
    )
    assert text.isascii()
    assert all(len(line) <= 256 for line in text.splitlines())
    assert all(
        line[1:-1].isprintable() and not set(line[1:-1]) & set("()%;#[]") for line in text.splitlines() if "(" in line
    )
    assert "Bucherei, Lesetisch" in text
    assert "()" not in text
    interpret(text)


def test_a_comment_never_acts() -> None:
    assert plain_comment("MSG, stop") == "note: MSG, stop"
    assert plain_comment("message of the day") == "message of the day"


@pytest.mark.parametrize(
    ("points", "feed", "told"),
    [
        ([(0.0, 0.0, 90.0), (np.nan, 0.0, 60.0)], [1500.0], "no number"),
        ([(0.0, 0.0, 90.0), (0.0, 0.0, 60.0)], [np.inf], "no number"),
        ([(0.0, 0.0, 90.0), (0.0, 0.0, 60.0)], [-5.0], "feed"),
        ([(0.0, 0.0, 90.0), (0.0, 0.0, 60.0)], [0.05], "feed"),
        ([(0.0, 0.0, 90.0)], [1500.0], "one place more"),
        ([(0.0, 0.0, 90.0)], [], "without a move"),
    ],
)
def test_a_path_that_is_none_is_refused(points: list[tuple[float, ...]], feed: list[float], told: str) -> None:
    with pytest.raises(SlabwrightError, match=told):
        program(Toolpath(np.array(points), np.array(feed)))


def test_a_spindle_that_stands_is_refused() -> None:
    with pytest.raises(SlabwrightError, match="spindle speed"):
        program_text(raster(), setting(), name="a", units="mm", cutter_diameter=50.0, spindle_speed=0.0, comments=[])
