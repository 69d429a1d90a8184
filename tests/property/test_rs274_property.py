from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.published.second_reader import read, surface
from tests.unit.surfacing import BLOCK, LIMITS, SAFE, flat, program, setting

from slabwright.machine.interpreter import interpret, read_program
from slabwright.machine.rs274 import plain_comment
from slabwright.machine.simulator import simulate
from slabwright.machine.toolpath import Toolpath

GOOD = program()
LINES = GOOD.splitlines()
x_values, y_values = st.floats(60.0, 540.0), st.floats(60.0, 340.0)
z_values = st.sampled_from([59.0, 60.0, 60.5, 61.25])


@st.composite
def level_paths(draw: st.DrawFn) -> Toolpath:
    """A few passes, each straight down, along some level ways, and straight up."""
    points, feed = [(0.0, 0.0, SAFE)], []
    for _ in range(draw(st.integers(1, 3))):
        z = draw(z_values)
        ways = draw(st.lists(st.tuples(x_values, y_values), min_size=1, max_size=4))
        first, last = ways[0], ways[-1]
        points += [(*first, SAFE), *((x, y, z) for x, y in ways), (*last, SAFE)]
        feed += [0.0, 1000.0, *[draw(st.floats(3.0, 6000.0))] * (len(ways) - 1), 0.0]
    return Toolpath(np.array(points), np.array(feed))


@given(level_paths(), st.sampled_from(["mm", "in"]))
@settings(max_examples=40)
def test_what_is_written_is_read_back(path: Toolpath, units: str) -> None:
    text = program(path, "mm" if units == "mm" else "in")
    tolerance = 0.0005 if units == "mm" else 0.00127
    assert all(len(line) <= 256 for line in text.splitlines())
    reached = [np.add(move.end, (0.0, 0.0, BLOCK)) for move in interpret(text)]
    # Moves too short to write are left out; every place of the path is still come by, in order.
    at = 0
    for place in path.points:
        while np.abs(reached[at] - place).max() > tolerance + 1e-9:
            at += 1
            assert at < len(reached), place


@given(level_paths(), st.sampled_from([0.0, 0.5, 2.0, 10.0]))
@settings(max_examples=40)
def test_two_ways_lead_to_the_same_surface(path: Toolpath, corner: float) -> None:
    clamping = flat(step=5.0)
    text = program(path, clamping=clamping)
    limits = replace(LIMITS, corner_radius=corner, greatest_depth=50.0)
    stock = clamping.stock
    first = simulate(text, clamping, limits).top
    second = surface(read(text), stock.x, stock.y, stock.top, block=BLOCK, diameter=50.0, corner=corner)
    # A cell within a rounding of the cutter's outer edge may fall to either side of it.
    differs = np.abs(first - second) > 1e-5
    assert differs.sum() <= 2


@given(st.text(max_size=200))
@settings(max_examples=150)
def test_any_text_is_read_or_refused(text: str) -> None:
    reading = read_program(text)
    assert reading.faults or reading.moves == () or reading.units


@given(st.binary(max_size=200))
@settings(max_examples=80)
def test_any_bytes_are_refused_or_move_nothing(data: bytes) -> None:
    reading = read_program(data.decode("latin-1"))
    assert reading.faults or not reading.moves


@given(
    st.integers(0, len(LINES) - 1),
    st.sampled_from(["drop", "twice", "swap"]) | st.tuples(st.integers(0, 12), st.characters(max_codepoint=126)),
)
@settings(max_examples=120)
def test_an_edited_program_fails_or_leaves_the_same_surface(index: int, edit: str | tuple[int, str]) -> None:
    lines = list(LINES)
    if edit == "drop":
        del lines[index]
    elif edit == "twice":
        lines.insert(index, lines[index])
    elif edit == "swap":
        lines[index - 1], lines[index] = lines[index], lines[index - 1]
    else:
        at, character = int(edit[0]), str(edit[1])
        lines[index] = lines[index][:at] + character + lines[index][at + 1 :]
    clamping = setting()
    done = simulate("\n".join(lines), clamping, LIMITS)
    if done.passed:
        assert np.nanmax(done.top) <= clamping.plane + 0.01
        assert np.nanmin(done.top) >= clamping.plane - 0.01


@given(st.text(max_size=120))
@settings(max_examples=150)
def test_any_comment_is_plain(text: str) -> None:
    plain = plain_comment(text)
    assert plain.isascii() and plain.isprintable()
    assert not set(plain) & set("()%;#[]{}!?~$&*<>=|\\^`@") - {"="}
    assert plain_comment(plain) == plain or plain.startswith("note: ")
