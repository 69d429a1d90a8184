"""Wide grids of heights."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.unit.readings_files import load, put

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Grid, Scatter

BLOCKS = "face A\ny\\x,0,50,100\n0,60,61,62\n100,63,,65\n\nface B\n,0,50,100\n100,4,5,6\n0,1,2,3\n"


@pytest.mark.parametrize(
    "written",
    [
        BLOCKS,
        BLOCKS.replace(",", ";"),
        BLOCKS.replace(",", "\t").replace("\n", "\r\n"),
        BLOCKS.replace("face A\n", "# read on the bench\nFace A,,,\n"),
        BLOCKS.replace("y\\x,0,50,100\n0,60,61,62\n100,63,,65", "y\\x,100,0,50\n100,65,63,\n0,62,60,61"),
        BLOCKS.replace("y\\x,0,50,100\n0,60,61,62\n100,63,,65", "x\\y,0,100\n0,60,63\n50,61,\n100,62,65"),
    ],
)
def test_two_blocks_hold_both_faces(tmp_path: Path, written: str) -> None:
    read = load(tmp_path, survey=put(tmp_path, "s.csv", written))
    assert isinstance(read.face_a, Scatter) and isinstance(read.face_b, Scatter)
    a = set(zip(read.face_a.x.tolist(), read.face_a.y.tolist(), read.face_a.z.tolist(), strict=True))
    assert a == {(0, 0, 60), (50, 0, 61), (100, 0, 62), (0, 100, 63), (100, 100, 65)}
    b = set(zip(read.face_b.x.tolist(), read.face_b.y.tolist(), read.face_b.z.tolist(), strict=True))
    assert b == {(0, 0, 1), (50, 0, 2), (100, 0, 3), (0, 100, 4), (50, 100, 5), (100, 100, 6)}


def test_a_file_for_each_face_of_two_set_ups(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    heights = rng.normal(50, 1, (30, 20)).round(2)
    x, y = np.arange(20) * 50.0, np.arange(30) * 20.0
    lines = ["," + ",".join(f"{v:g}" for v in x)]
    lines += [f"{at:g}," + ",".join(map(str, row)) for at, row in zip(y, heights.tolist(), strict=True)]
    name = put(tmp_path, "a.csv", "\n".join(lines))
    read = load(tmp_path, survey_a=name, survey_b=name, survey_units="cm")
    assert isinstance(read.face_a, Grid)
    assert np.array_equal(read.face_a.x, x * 10)
    assert np.allclose(read.face_a.z, heights.T * 10, rtol=0, atol=1e-9)
    assert read.two_setups


@pytest.mark.parametrize(
    ("written", "wrong"),
    [
        (BLOCKS.replace("100,63,,65", "100,63,65"), "s.csv:4: the row has 2 heights, line 2 has 3 positions"),
        (BLOCKS.replace("100,63,,65", "100,63,,65,7"), "s.csv:4: the row has 4 heights, line 2 has 3 positions"),
        (BLOCKS.replace("100,63,,65", "100,63,x,65"), "s.csv:4: a height is 'x', not a number"),
        (BLOCKS.replace("100,63,,65", ",63,,65"), "s.csv:4: y position is missing"),
        (BLOCKS.replace("100,63,,65", "0,63,,65"), "s.csv:4: the row of 0 mm stands on line 3 too"),
        (BLOCKS.replace("x,0,50,100", "x,0,50,50"), "s.csv:2: the x position 50 mm stands twice"),
        (BLOCKS.replace("x,0,50,100", "x,0,,100"), "s.csv:2: x position is missing"),
        (BLOCKS.replace("face B", "face A"), "s.csv:6: face A is headed a second time"),
        (BLOCKS.replace("face A\n", ""), "s.csv:5: a line that names a face stands where a grid is wanted"),
        (BLOCKS[: BLOCKS.index("face B")], "s.csv: only face A was read"),
        (BLOCKS[7 : BLOCKS.index("face B")], "s.csv:1: the grid does not say its face"),
        (BLOCKS[: BLOCKS.index("face B") + 7], "s.csv: no grid follows the line face B"),
        ("face A\ny\\x,0,1\nface B\ny\\x,0,1\n0,1,2\n", "s.csv:2: there are no rows below the positions"),
        ("face A\n1,2,3\n", "s.csv:2: the line is '1,2,3'; a grid's first line is"),
    ],
)
def test_what_cannot_be_read_is_named(tmp_path: Path, written: str, wrong: str) -> None:
    with pytest.raises(SlabwrightError) as caught:
        load(tmp_path, survey=put(tmp_path, "s.csv", written))
    assert wrong in str(caught.value)


def test_a_grid_of_the_other_face_is_refused(tmp_path: Path) -> None:
    name = put(tmp_path, "s.csv", BLOCKS)
    with pytest.raises(SlabwrightError, match="survey_a is for face A alone"):
        load(tmp_path, survey_a=name, survey_b=name)
