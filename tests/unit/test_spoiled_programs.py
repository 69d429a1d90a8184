"""Each deliberately spoiled program is caught, for the reason that it was spoiled for; the one that it came from passes."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from tests.unit.surfacing import LIMITS, SAFE, program, raster, setting

from slabwright.machine.simulator import simulate
from slabwright.machine.toolpath import Toolpath

GOOD = program()


def swap(old: str, new: str, count: int = 1) -> Callable[[], str]:
    def spoil() -> str:
        assert old in GOOD
        return GOOD.replace(old, new, count)

    return spoil


def numbers(letter: str, change: Callable[[float], float]) -> Callable[[], str]:
    """Every word of a letter changed, comments left alone."""

    def spoil() -> str:
        return "\n".join(
            line
            if line.startswith("(")
            else re.sub(rf"{letter}(-?[0-9.]+)", lambda m: f"{letter}{change(float(m[1])):g}", line)
            for line in GOOD.splitlines()
        )

    return spoil


def without(wanted: Callable[[str], bool], which: int = 0) -> Callable[[], str]:
    """One of the lines that are like this left out."""

    def spoil() -> str:
        lines = GOOD.splitlines()
        found = [index for index, line in enumerate(lines) if wanted(line)]
        del lines[found[which]]
        return "\n".join(lines)

    return spoil


def mirrored() -> str:
    path = raster()
    points = path.points.copy()
    points[:, 0] = 660.0 - points[:, 0]
    return program(Toolpath(points, path.feed))


def strip_left_out() -> str:
    path = raster()
    # The four moves of the fifth strip.
    keep = [i for i in range(len(path.feed)) if not 16 <= i < 20]
    return program(Toolpath(path.points[[0, *[i + 1 for i in keep]]], path.feed[keep]))


def low_over_the_clamp() -> str:
    path = raster()
    points = path.points.copy()
    points[points[:, 2] == SAFE, 2] = 70.0
    points[0, 2] = points[-1, 2] = SAFE
    return program(Toolpath(points, path.feed))


SPOILED: dict[str, tuple[Callable[[], str], str]] = {
    "z one millimetre low": (swap("Z35", "Z34", -1), "below"),
    "z one millimetre low in one strip": (swap("Z35", "Z34"), "below"),
    "z one tenth high": (swap("Z35", "Z35.1", -1), "left"),
    "millimetres read as inches": (swap("G21", "G20"), "travel"),
    "inches read as millimetres": (lambda: program(units="in").replace("G20", "G21"), "start"),
    "units word left out": (swap("G21\n", ""), "units"),
    "units changed on the way": (swap("X630 F6000", "G20 X630 F6000"), "units"),
    "feed turned into a rapid": (swap("X630 F6000", "G0 X630"), "rapid"),
    "plunge turned into a rapid": (
        lambda: program(Toolpath(raster().points, np.where(raster().feed == 1500.0, 0.0, raster().feed))).replace(
            "X70 Y130", "X150 Y130"
        ),
        "rapid",
    ),
    "spindle never started": (swap("M3 S16000\n", ""), "spindle"),
    "spindle without a speed": (swap("M3 S16000", "M3"), "spindle"),
    "spindle stopped on the way": (swap("X630 F6000", "M5 X630 F6000"), "spindle"),
    "spindle too slow": (swap("S16000", "S1600"), "spindle"),
    "spindle too fast": (swap("S16000", "S36000"), "spindle"),
    "spindle backwards": (swap("M3", "M4"), "word"),
    "spindle left turning": (swap("M5\n", ""), "finish"),
    "feed left out": (numbers("F", lambda f: 0.0), "feed"),
    "feed word missing": (lambda: re.sub(r" F[0-9.]+", "", GOOD), "feed"),
    "feed ten times too fast": (numbers("F", lambda f: 10.0 * f), "feed"),
    "plunge at the cutting feed": (
        lambda: GOOD.replace("F1500", "F6000").replace("X70 Y60", "X150 Y60"),
        "plunge",
    ),
    "a strip left out": (strip_left_out, "left"),
    "a line dropped: no way across": (without(lambda line: line.startswith("X630")), "left"),
    "a lift left out": (swap("G0 Z70\nY200", "G0 Y200"), "rapid"),
    "a line dropped: the states": (without(lambda line: line.startswith("G17")), "state"),
    "x mirrored": (mirrored, "clamp"),
    "x turned about zero": (numbers("X", lambda x: -x), "travel"),
    "y shifted by a strip": (numbers("Y", lambda y: y + 35.0), "left"),
    "lifted too low over the clamp": (low_over_the_clamp, "clamp"),
    "depth too great": (numbers("Z", lambda z: z - 3.0), "depth"),
    "out of travel": (swap("X630", "X730"), "travel"),
    "z counted from the bed": (numbers("Z", lambda z: z + 25.0), "left"),
    "block counted twice": (numbers("Z", lambda z: z - 25.0), "below"),
    "an arc's middle off": (swap("X630 F6000", "G2 X630 Y60 I280.01 J0 F6000"), "arc"),
    "an arc into the clamp": (swap("X70 F6000", "X70 F6000\nG3 X70 Y165 I0 J35"), "clamp"),
    "increments": (swap("G90", "G91"), "word"),
    "another zero": (swap("G54", "G55"), "word"),
    "a tool length": (swap("G49", "G43 H1"), "word"),
    "the end missing": (swap("M2\n", ""), "end"),
    "the end cut off": (lambda: GOOD[: len(GOOD) // 2], "end"),
    "two programs in one": (lambda: GOOD.replace("%\n", "") + GOOD.replace("%\n", ""), "end"),
    "ends down in the wood": (lambda: GOOD.replace("G0 Z70\nM5", "M5"), "finish"),
    "sideways before it is lifted": (swap("G0 Z70\nM3 S16000\nX30 Y70", "M3 S16000\nG0 X30 Y70\nZ70"), "start"),
    "a digit lost": (swap("X630 F6000", "X63 F6000"), "left"),
    "a sign lost in the text": (swap("X630 F6000", "X63O F6000"), "form"),
    "a wrong letter": (swap("X630 F6000", "U630 F6000"), "word"),
}


def test_the_program_that_they_came_from_passes() -> None:
    assert simulate(GOOD, setting(), LIMITS).faults == ()


@pytest.mark.parametrize("spoiled", SPOILED)
def test_a_spoiled_program_is_caught(spoiled: str) -> None:
    text, kind = SPOILED[spoiled][0](), SPOILED[spoiled][1]
    assert text != GOOD
    found = simulate(text, setting(), LIMITS)
    assert not found.passed
    assert kind in {fault.kind for fault in found.faults}, found.faults


def test_a_fault_names_the_line_of_the_text() -> None:
    text = GOOD.replace("X630 F6000", "G0 X630", 1)
    line = next(number for number, words in enumerate(text.splitlines(), 1) if words == "G0 X630")
    assert line in {fault.line for fault in simulate(text, setting(), LIMITS).faults if fault.kind == "rapid"}


def test_every_single_move_left_out_is_caught_or_changes_nothing_that_matters() -> None:
    """Dropping any one line of the moves either fails, or leaves the very same surface within the tolerance."""
    clamping = setting()
    whole = simulate(GOOD, clamping, LIMITS)
    lines = GOOD.splitlines()
    moves = [index for index, line in enumerate(lines) if line[:1] in "GXYZ" and not line.startswith("G17")]
    passed = 0
    for index in moves:
        found = simulate("\n".join(lines[:index] + lines[index + 1 :]), clamping, LIMITS)
        if found.passed:
            passed += 1
            assert np.nanmax(np.abs(found.top - whole.top)) <= 0.01
    assert passed < len(moves) / 3


def test_a_program_passes_on_its_own_clamping_only() -> None:
    other = replace(setting(), plane=setting().plane + 0.5)
    assert not simulate(GOOD, other, LIMITS).passed
