from __future__ import annotations

import os
from pathlib import Path

import pytest

from slabwright.findings import SlabwrightError
from slabwright.job import Job, Place, load_job

HEAD = '[job]\ntitle = "Reading table"\n'
SLAB = HEAD + '[slab]\nspecies = "ash, white"\n'


@pytest.fixture(autouse=True)
def _own_config(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


def load(folder: Path, text: str | bytes, shop: str | None = None) -> Job:
    home = folder / "job"
    home.mkdir(exist_ok=True)
    (home / "job.toml").write_bytes(text if isinstance(text, bytes) else text.encode())
    if shop is not None:
        (home / "shop.toml").write_text(shop, encoding="utf-8")
    return load_job(home / "job.toml")


def refused(folder: Path, text: str | bytes, shop: str | None = None) -> str:
    with pytest.raises(SlabwrightError) as caught:
        load(folder, text, shop)
    message = str(caught.value)
    assert message.isprintable()
    return message


def test_the_smallest_job_loads_without_a_shop_file(tmp_path: Path) -> None:
    job = load(tmp_path, HEAD)
    assert job.stated.job.title == "Reading table"
    assert job.shop.machine.cutter_diameter == 50.0
    assert job.readings is None
    assert not any(key.startswith("shop:") for key in job.where)


def test_lengths_are_millimetres_whatever_was_typed(tmp_path: Path) -> None:
    piece = '[piece]\nlength = 90.5\nheight = "740 mm"\nthickness = "8/4"\n'
    stated = load(tmp_path, '[job]\ntitle = "x"\nunits = "inch"\n' + piece).stated
    assert stated.piece.length == pytest.approx(2298.7)
    assert stated.piece.height == 740.0
    assert stated.piece.thickness == pytest.approx(50.8)


def test_every_key_knows_its_place(tmp_path: Path) -> None:
    job = load(
        tmp_path, SLAB + "\n[[slab.defects]]\nkind = 'knot'\nat = [1, 2]\ndiameter = 3\n", "\n[machine]\nfeed = 5000\n"
    )
    assert job.where["slab.species"] == Place("job.toml", 4)
    assert job.where["slab.defects[0].diameter"] == Place("job.toml", 9)
    assert job.where["shop:machine.feed"] == Place("shop.toml", 3)
    assert "slab.end_trim" not in job.where


def test_a_mark_at_the_files_start_and_windows_lines_are_borne(tmp_path: Path) -> None:
    assert load(tmp_path, b"\xef\xbb\xbf" + SLAB.replace("\n", "\r\n").encode()).where["slab.species"].line == 4


def test_dates_and_revisions_may_stand_without_quotes(tmp_path: Path) -> None:
    head = load(tmp_path, HEAD + "date = 2026-11-25\nrevision = 3\n").stated.job
    assert (head.date, head.revision) == ("2026-11-25", "3")


def test_the_shop_file_beside_the_job_goes_before_the_general_one(tmp_path: Path) -> None:
    general = tmp_path / "config" / "slabwright"
    general.mkdir(parents=True)
    (general / "shop.toml").write_text("[machine]\nfeed = 1000\n", encoding="utf-8")
    job = load(tmp_path, HEAD)
    assert job.shop.machine.feed == 1000.0
    assert job.where["shop:machine.feed"].file == str(general / "shop.toml")
    assert load(tmp_path, HEAD, "[machine]\nfeed = 2000\n").shop.machine.feed == 2000.0


def test_the_shop_files_numbers_are_in_its_own_units(tmp_path: Path) -> None:
    assert load(tmp_path, HEAD, 'units = "inch"\n[machine]\ncutter_diameter = 2\n').shop.machine.cutter_diameter == 50.8
    inch_job = '[job]\ntitle = "x"\nunits = "inch"\n'
    assert "units is missing" in refused(tmp_path, inch_job, "[machine]\ncutter_diameter = 2\n")
    assert load(tmp_path, inch_job, 'units = "metric"\n[machine]\nfeed = 5\n').shop.machine.feed == 5.0


def test_readings_and_rereadings_are_loaded(tmp_path: Path) -> None:
    (tmp_path / "job").mkdir()
    rows = [f"{face},{x},{y},{z}" for face, z in (("A", 60), ("B", 0)) for x in (0, 500, 1000) for y in (-200, 0, 200)]
    table = "\n".join(["face,x,y,z", *rows]) + "\n"
    (tmp_path / "job" / "one.csv").write_text(table, encoding="utf-8")
    (tmp_path / "job" / "two.csv").write_text(table.replace(",60", ",58"), encoding="utf-8")
    job = load(tmp_path, SLAB + 'survey = "one.csv"\n[[rereadings]]\nsurvey = "two.csv"\nafter = "rough B"\n')
    assert job.readings is not None
    assert set(job.readings.face_a.z) == {60.0}
    assert [set(again.face_a.z) for again in job.rereadings] == [{58.0}]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "job.toml: is empty"),
        ("# only a remark\n", "job.toml:1: job: the table [job] is missing"),
        ("[job]\n", "job.toml:1: job.title: is missing"),
        (HEAD + 'x = "a\n', "job.toml:3: is not TOML"),
        (
            HEAD + "pin = 2026-12-03T10:00\n",
            'job.toml:3: a moment without seconds stands in quotes: "2026-12-03T10:00"',
        ),
        (HEAD + "promised = 2027-02-30 # a day\n", "job.toml:3: there is no such day as 2027-02-30"),
        (HEAD + "a = " + "[" * 100_000, "brackets"),
        (HEAD + "a = " + "9" * 5000, "thousands of digits"),
        (b"\x00\xff\xfe", "job.toml:1: is not text in UTF-8"),
        (b"\x00\x01\x02", "job.toml:1: is not TOML"),
        (b"[job]\n#\xff\n", "job.toml:2: is not text in UTF-8"),
        (b"#" * (4 * 1024 * 1024 + 1), "4 MB"),
        (HEAD + '[slab]\nspecis = "ash"\n', "job.toml:4: slab.specis: there is no such key; did you mean `species`?"),
        (HEAD + "[slabs]\n", "job.toml:3: slabs: there is no such key; did you mean `slab`?"),
        (SLAB + "length = 3\n", "it belongs in [piece]"),
        (HEAD + "slab = 3\n", "it is a table of its own: [slab]"),
        ("slab = 3\n" + HEAD, "job.toml:1: slab: must be a table"),
        ('[[job]]\ntitle = "x"\n', "job.toml:1: job: must be a table"),
        (SLAB + "end_trim = nan\n", "job.toml:5: slab.end_trim: nan is not a length of anything"),
        (SLAB + "end_trim = true\n", "job.toml:5: slab.end_trim: true or false is not a length"),
        (SLAB + "end_trim = -1\n", "must be at least 0"),
        (HEAD + "[piece]\nlength = 0\n", "job.toml:4: piece.length: must be more than 0"),
        (HEAD + '[piece]\nlength = "7 apples"\nheight = -1\n', "'7 apples' is not a length; write"),
        (HEAD + '[piece]\nlength = "7 apples"\nheight = -1\n', "(and 1 more)"),
        (HEAD + '[piece]\nthickness = "min"\n', "'min' is not a length"),
        (HEAD + "[piece]\nthickness = 0\n", 'must be more than 0, or "max"'),
        (HEAD + "[room.dry]\ntemperature = 20\nhumidity = nan\n", "not nan or infinity"),
        (HEAD + '[room.dry]\ntemperature = "20"\nhumidity = 30\n', "must be a number, without quotes"),
        (HEAD + "[room]\ndry = { temperature = 20, humidity = 30 }\n", "dry and damp go together"),
        (HEAD + '[room]\nkind = "attic"\n', 'must be "heated house", "air-conditioned" or "church"; it says "attic"'),
        (HEAD + 'currency = "euro"\n', "job.currency"),
        (HEAD + 'currency = "eur"\n', "three capital letters"),
        (SLAB + 'survey_a = "a.csv"\n', "survey_a and survey_b go together"),
        (SLAB + 'survey = "a.csv"\nsurvey_a = "a.csv"\nsurvey_b = "b.csv"\n', "not both"),
        (SLAB + "cut_from = 3\ncut_to = 3\n", "cut_from must be less"),
        (HEAD + "[[rereadings]]\nsurvey = 'a.csv'\nafter = 'rough B'\n", "[[rereadings]] want a [slab]"),
        (SLAB + "lay = { supports = [1, 1] }\n", "two different x"),
        (SLAB + "lay = { supports = [1, 2], full_support = true }\n", "not both"),
        (SLAB + "[[slab.defects]]\nkind = 'knot'\n", "slab.defects[0]: needs at and diameter"),
        (SLAB + "[[slab.defects]]\nkind = 'check'\noutline = [[0, 1], [2, 3]]\n", "state its width too"),
        (SLAB + "[[slab.defects]]\nkind = 'knot'\nat = [1]\ndiameter = 3\n", "a point is [x, y]"),
        (SLAB + "[slab.moisture]\ncore = [9,\n 'x']\n", "job.toml:7: slab.moisture.core[1]: must be a number"),
    ],
    ids=lambda value: repr(value)[-50:],
)
def test_wrong_input_is_one_line_that_says_what_would_be_right(tmp_path: Path, text: str | bytes, says: str) -> None:
    assert says in refused(tmp_path, text)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("machin.x = 3\n", "shop.toml:1: machin: there is no such key; did you mean `machine`?"),
        ("[machine]\nstepover = 60\n", "stepover must be less than cutter_diameter"),
        ("[machine]\nlast_depth = 5\n", "last_depth can be at most greatest_depth"),
        ("[machine]\ncorner_radius = 30\n", "half of cutter_diameter"),
        ("[bed]\npads_along = 2.5\n", "shop.toml:2: bed.pads_along: must be a whole number"),
        ("[bed]\npads_along = 1\n", "must be at least 2; it says 1"),
        ("[bed]\npads = [[1, 2]]\n", "has 1, and must have at least 3"),
        ("[shims]\nthicknesses = []\n", "at least 1"),
        ("[shims]\nthicknesses = 3\n", "must be a list in brackets"),
        ('units = "inches"\n', 'must be "metric" or "inch"'),
    ],
)
def test_a_wrong_shop_file_is_named(tmp_path: Path, text: str, says: str) -> None:
    assert says in refused(tmp_path, HEAD, text)


@pytest.mark.parametrize("key", ["survey", "outline", "callipers"])
@pytest.mark.parametrize("name", ["../outside.csv", "link.csv", "inner/../../outside.csv", "{absolute}"])
def test_files_stay_in_the_jobs_folder(tmp_path: Path, key: str, name: str) -> None:
    outside = tmp_path / "outside.csv"
    outside.write_text("face,x,y,z\n", encoding="utf-8")
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "link.csv").symlink_to(outside)
    message = refused(tmp_path, SLAB + f"{key} = '{name.format(absolute=outside)}'\n")
    assert message.startswith(f"job.toml:5: slab.{key}: ")
    assert "outside the job's folder" in message


@pytest.mark.parametrize("name", ["missing.csv", ".", "", "a\\u0000b", "x" * 5000])
def test_a_file_that_is_not_there_is_said(tmp_path: Path, name: str) -> None:
    assert refused(tmp_path, SLAB + f'survey = "{name}"\n').startswith("job.toml:5: slab.survey: ")


def test_a_reread_survey_stays_in_the_folder_too(tmp_path: Path) -> None:
    text = SLAB + '[[rereadings]]\nsurvey = "../x.csv"\nafter = "rough B"\n'
    assert refused(tmp_path, text).startswith("job.toml:6: rereadings[0].survey: ")


@pytest.mark.parametrize("name", ["none.toml", "", "a\0b", "x" * 400])
def test_a_job_file_that_cannot_be_read_is_named(tmp_path: Path, name: str) -> None:
    with pytest.raises(SlabwrightError) as caught:
        load_job(f"{tmp_path}/{name}")
    assert str(caught.value).isprintable()


def test_a_job_file_that_never_ends_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "job.toml")
    with pytest.raises(SlabwrightError, match="no plain file"):
        load_job(tmp_path / "job.toml")


@pytest.mark.parametrize(("defects", "said"), [((1, 9), "[[slab.defects]] has 1"), ((1, 1), "defect = 1 twice")])
def test_a_mend_of_what_there_is_not_is_told_at_its_line(defects: tuple[int, int], said: str, tmp_path: Path) -> None:
    mends = "".join(f"[[mends]]\ndefect = {number}\n" for number in defects)
    file = tmp_path / "job.toml"
    file.write_text(
        '[job]\ntitle = "t"\n[slab]\nspecies = "ash, white"\n'
        f'[[slab.defects]]\nkind = "knot"\nat = [100, 0]\ndiameter = 20\n{mends}',
        "utf-8",
    )
    with pytest.raises(SlabwrightError) as error:
        load_job(file)
    assert "job.toml:12: mends[1].defect: " in str(error.value) and said in str(error.value)
