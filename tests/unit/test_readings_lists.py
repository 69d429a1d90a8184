"""Lists of readings, callipers and two set-ups: what is read, and the errors of what can't be."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.unit.readings_files import BOTH, load, put

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Grid, Scatter
from slabwright.job.paths import inside


def test_both_faces_are_read_in_millimetres(tmp_path: Path) -> None:
    read = load(tmp_path, survey=put(tmp_path, "s.csv", BOTH), survey_units="cm")
    assert isinstance(read.face_a, Scatter)
    assert read.face_a.z.tolist() == [500, 505, 510]
    assert read.face_b.x.tolist() == [0, 10000, 10000]
    assert (read.two_setups, read.scanned, read.callipers.shape, read.outline_a) == (False, False, (0, 3), None)


@pytest.mark.parametrize(
    "written",
    [
        BOTH.replace("\n", "\r\n"),
        "\ufeff" + BOTH,
        BOTH.encode("utf-16"),
        "# by hand, Länge längs\n\n" + BOTH.replace("B,0", "# face B\n\nB,0"),
        BOTH.replace(",", " , ").replace("A", "a").replace("face", "Face"),
        BOTH.replace(",", ";").replace(".", ","),
        BOTH.replace(",", "\t").replace(".", ","),
        BOTH.replace("A,0,0,50\n", '"A","0","0","50"\n'),
        BOTH.replace("A,0,0,50\n", "A,0,0,50,,\n,,,\n"),
        BOTH.replace(",50\n", ",+5.0e1\n"),
        BOTH.replace("B,0,0,0\n", "B,0,0,\u22120\n"),
        BOTH.rstrip(),
        BOTH.replace("\n", "\r"),
    ],
)
def test_habits_of_typing_do_not_matter(tmp_path: Path, written: str | bytes) -> None:
    read = load(tmp_path, survey=put(tmp_path, "s.csv", written))
    assert isinstance(read.face_a, Scatter) and isinstance(read.face_b, Scatter)
    assert read.face_a.z.tolist() == [50, 50.5, 51]
    assert read.face_b.z.tolist() == [0, 0.5, 1]


def test_inches_take_fractions(tmp_path: Path) -> None:
    text = BOTH.replace("A,0,0,50", "A,0,0,3 5/16").replace("B,0,0,0", "B,0,0,-1/16").replace("50.5", "2 1/2")
    read = load(tmp_path, survey=put(tmp_path, "s.csv", text), survey_units="in")
    assert read.face_a.z[:2] == pytest.approx([3.3125 * 25.4, 63.5], abs=1e-9)
    assert read.face_b.z[0] == pytest.approx(-25.4 / 16, abs=1e-9)


def test_quick_and_careful_reading_agree_to_the_last_bit(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    rows = [
        f"{'AB'[i % 2]},{x:.4f},{y:.3f},{z + 60 * (1 - i % 2):.6g}"
        for i, (x, y, z) in enumerate(rng.uniform(0, [2000, 900, 5], (5000, 3)))
    ]
    plain = load(tmp_path, survey=put(tmp_path, "plain.csv", "face,x,y,z\n" + "\n".join(rows)))
    rows[77] = '"' + '","'.join(rows[77].split(",")) + '"'
    careful = load(tmp_path, survey=put(tmp_path, "quoted.csv", "face,x,y,z\n" + "\n".join(rows)))
    for one, other in ((plain.face_a, careful.face_a), (plain.face_b, careful.face_b)):
        assert np.array_equal(one.z, other.z) and np.array_equal(one.x, other.x)


def grid_rows(skip: float) -> str:
    rng = np.random.default_rng(2)
    rows = [
        f"{face},{x},{y},{base + rng.normal():.3f}"
        for face, base in (("A", 60), ("B", 0))
        for x in range(0, 1000, 25)
        for y in range(0, 500, 25)
        if rng.random() >= skip
    ]
    rng.shuffle(rows)
    return "face,x,y,z\n" + "\n".join(rows)


def test_readings_that_fill_a_grid_are_held_as_one(tmp_path: Path) -> None:
    read = load(tmp_path, survey=put(tmp_path, "s.csv", grid_rows(0.2)))
    assert isinstance(read.face_a, Grid)
    assert read.face_a.z.shape == (40, 20)
    assert np.all(np.diff(read.face_a.x) == 25)
    text = (tmp_path / "s.csv").read_text().splitlines()
    a_rows = {tuple(map(float, row.split(",")[1:3])): float(row.split(",")[3]) for row in text if row[0] == "A"}
    assert len(read.face_a) == len(a_rows)
    for (x, y), z in a_rows.items():
        assert read.face_a.z[round(x / 25), round(y / 25)] == z


def test_readings_that_fill_little_of_a_grid_stay_scattered(tmp_path: Path) -> None:
    assert isinstance(load(tmp_path, survey=put(tmp_path, "s.csv", grid_rows(0.45))).face_a, Scatter)


def test_a_place_read_twice_is_its_mean_or_an_error(tmp_path: Path) -> None:
    read = load(tmp_path, survey=put(tmp_path, "s.csv", BOTH + "A,0,0,50.8\n"))
    assert len(read.face_a) == 3
    assert read.face_a.z.min() == pytest.approx(50.4)
    with pytest.raises(SlabwrightError, match=r"s\.csv:9: face A .* lines 2 and 9 .* 5 mm apart"):
        load(tmp_path, survey=put(tmp_path, "s.csv", BOTH.replace("\nB,0,0", "\n\nB,0,0", 1) + "A,0,0,55\n"))


@pytest.mark.parametrize(
    ("written", "wrong"),
    [
        (BOTH.replace("face,x,y,z", "side,x,y,z"), "s.csv:1: the first line is 'side,x,y,z'; face,x,y,z is wanted"),
        (BOTH.replace("face,x,y,z", "x,y,z"), "s.csv:1: the first line is 'x,y,z'; face,x,y,z is wanted"),
        (BOTH.replace("face,x,y,z\n", ""), "s.csv:1: the first line is 'A,0,0,50'; face,x,y,z is wanted"),
        (BOTH.replace("A,1000,0,50.5", "A,1000,0,high"), "s.csv:3: z is 'high', not a number; write a number in mm"),
        (BOTH.replace("A,1000,0,50.5", "A,1000,nan,50"), "s.csv:3: y is 'nan', not a number"),
        (BOTH.replace("A,1000,0,50.5", "A,1000,0,inf"), "s.csv:3: z is 'inf', not a number"),
        (BOTH.replace("A,1000,0,50.5", "A,1000,0,1e400"), "s.csv:3: z is '1e400' mm, more than 100 m away"),
        (BOTH.replace("A,1000,0,50.5", "A,1000,0,200000"), "s.csv:3: z is '200000' mm, more than 100 m away"),
        (BOTH.replace("A,1000,0,50.5", "A,1000,0"), "s.csv:3: the row has 3 cells; 4 are wanted: face,x,y,z"),
        (BOTH.replace("A,1000,0,50.5", "A,1000,0,50,5"), "s.csv:3: the row has 5 cells; 4 are wanted"),
        (BOTH.replace("A,1000,0,50.5", "A,1000,,50"), "s.csv:3: y is missing"),
        (BOTH.replace("A,1000,0,50.5", "C,1000,0,50"), "s.csv:3: the face is 'C'; it is A or B"),
        (BOTH.replace("A,1000,0,50.5", "A,1000,0,5-1"), "s.csv:3: z is '5-1', not a number"),
        (BOTH.replace("A,1000,0,50.5", "A,1000,0,3 5/16"), "s.csv:3: z is '3 5/16', not a number"),
        (BOTH.replace("A,1000,0,50.5", "A,1000,0,5A0"), "s.csv:3: z is '5A0', not a number"),
        (BOTH[: BOTH.index("B,")], "s.csv: only face A was read; read face B as well"),
        ("face,x,y,z\n" + BOTH[BOTH.index("B,") :], "s.csv: only face B was read; read face A as well"),
        (BOTH.translate(str.maketrans("AB", "BA")), "s.csv: face B lies above face A; the faces are swapped"),
        (
            BOTH.replace(",500,", ",0,").replace("1000,0,51", "500,0,51"),
            "face A lie in a line; read it at places across",
        ),
        (BOTH.replace("A,1000,500,51\n", ""), "face A has 2 readings; at least 3"),
        ("", "s.csv: the file is empty; export it again"),
        ("\n \n", "s.csv: the file is empty"),
        ("\ufeff", "s.csv: the file is empty"),
        ("# nothing\n", "s.csv: the file holds nothing but comments"),
        ("face,x,y,z\n", "s.csv:2: there are no rows below the header"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "s.csv: the file holds bytes that are not text"),
        (b"\xff\xfe\x00\xd8", "s.csv: the file's text can't be read as UTF-16-LE"),
        (BOTH.encode() + b"A,0,0,\xe9\n", "s.csv:8: the line holds characters that are not UTF-8"),
        (b"face,x,y,z,h\xf6he\n", "s.csv:1: the line holds characters that are not UTF-8"),
    ],
)
def test_what_cannot_be_read_is_named(tmp_path: Path, written: str | bytes, wrong: str) -> None:
    with pytest.raises(SlabwrightError) as caught:
        load(tmp_path, survey=put(tmp_path, "s.csv", written))
    message = str(caught.value)
    assert wrong in message
    assert message.endswith("(slab.survey, job.toml:7)")
    assert "\n" not in message


def test_a_fraction_of_nothing_is_named(tmp_path: Path) -> None:
    with pytest.raises(SlabwrightError, match=r"s\.csv:2: z is '3 5/0', not a number of inches"):
        load(tmp_path, survey=put(tmp_path, "s.csv", BOTH.replace("0,0,50", "0,0,3 5/0")), survey_units="in")


def test_two_set_ups_stay_in_their_own_frames(tmp_path: Path) -> None:
    up = "x,y,z\n0,0,10\n900,0,11\n900,400,12\n"
    read = load(
        tmp_path,
        survey_a=put(tmp_path, "a.csv", up),
        survey_b=put(tmp_path, "b.csv", up.replace("10", "70")),
        callipers=put(tmp_path, "c.csv", "x,y,thickness\n10,10,52\n500,200,51.5\n"),
    )
    assert read.two_setups
    assert read.face_b.z[0] == 70
    assert read.callipers.tolist() == [[10, 10, 52], [500, 200, 51.5]]


def test_a_slab_without_readings_is_named(tmp_path: Path) -> None:
    with pytest.raises(SlabwrightError, match=r"job\.toml: slab: no readings are named; give survey"):
        load(tmp_path)


@pytest.mark.parametrize(
    ("written", "wrong"),
    [
        ("x,y,t\n1,2,3\n", "c.csv:1: the first line is 'x,y,t'; x,y,thickness is wanted"),
        ("x,y,thickness\n1,2,30\n1,9,0\n", "c.csv:3: the thickness is not above zero"),
        ("x,y,thickness\n1,2\n", "c.csv:2: the row has 2 cells"),
    ],
)
def test_callipers_that_cannot_be_read(tmp_path: Path, written: str, wrong: str) -> None:
    with pytest.raises(SlabwrightError) as caught:
        load(tmp_path, survey=put(tmp_path, "s.csv", BOTH), callipers=put(tmp_path, "c.csv", written))
    assert wrong in str(caught.value)
    assert "(slab.callipers, job.toml:7)" in str(caught.value)


@pytest.mark.parametrize("name", ["../out.csv", "/etc/hostname", "link.csv", "sub/../../out.csv"])
def test_files_outside_the_jobs_folder_are_refused(tmp_path: Path, name: str) -> None:
    job = tmp_path / "job"
    job.mkdir()
    (job / "link.csv").symlink_to(put(tmp_path, "out.csv", BOTH) and tmp_path / "out.csv")
    with pytest.raises(SlabwrightError, match="lies outside the job's folder; copy the file into it"):
        load(job, survey=name)


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ("none.csv", "there is no file 'none.csv'"),
        (".", "'.' is not a file"),
        ("", "the file name is empty"),
        ("a\0b", "can't be used as a file name"),
        ("x" * 5000, "can't be used as a file name"),
    ],
)
def test_names_that_are_no_file(tmp_path: Path, name: str, wrong: str) -> None:
    with pytest.raises(SlabwrightError) as caught:
        inside(tmp_path, name, "job.toml:7: slab.survey")
    assert str(caught.value).startswith("job.toml:7: slab.survey: ")
    assert wrong in str(caught.value)


def test_files_of_more_than_300_megabytes_are_refused(tmp_path: Path) -> None:
    with (tmp_path / "large.csv").open("wb") as large:
        large.truncate(300_000_001)
    with pytest.raises(SlabwrightError, match=r"holds 300 MB, at most 300 MB are read; thin"):
        inside(tmp_path, "large.csv", "k")


def test_a_survey_that_is_read_again_is_named_by_its_own_key(tmp_path: Path) -> None:
    from slabwright.job.loaded import Place
    from slabwright.job.models import Slab
    from slabwright.job.readings import load_readings

    put(tmp_path, "again.csv", "nonsense")
    with pytest.raises(SlabwrightError, match=r"\(rereadings\[0\]\.survey, job\.toml:31\)"):
        load_readings(
            Slab(species="ash, white", survey="again.csv"),
            tmp_path,
            "job.toml",
            {"rereadings[0].survey": Place("job.toml", 31)},
            keys={"survey": "rereadings[0].survey"},
        )
