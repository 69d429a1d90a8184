"""Input that cannot be used: one line that names the place and what would be right, status 2, and nothing written."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from tests.end_to_end.commands import JOB, OUTLINE, ROWS, SURVEY, put_job, run

WITH_OUTLINE = JOB + 'outline = "outline.csv"\n'
AT = "A,500,0,50.0"
TWO = """\
[job]
title = "Board"
[slab]
species = "ash, white"
survey_a = "a.csv"
survey_b = "b.csv"
callipers = "c.csv"
[[slab.marks]]
a = [60, 0]
b = [60, 0]
[[slab.marks]]
a = [1900, 0]
b = [1900, 0]
"""
FACE = "x,y,z\n" + "".join(row[2:].replace("50.0", "100.0") + "\n" for row in ROWS if row.startswith("A"))
CALLIPERS = "x,y,thickness\n" + "".join(f"{x},{y},50\n" for x in (100, 1000, 1900) for y in (-250, 250))
SURVEYED = "(slab.survey, job.toml:9)"
DRAWN = "(slab.outline, job.toml:10)"


def list_of(rows: list[str]) -> str:
    return "\n".join(["face,x,y,z", *rows]) + "\n"


def two(callipers: str = CALLIPERS, job: str = TWO) -> dict[str, str | bytes | None]:
    return {"job": job, "a_csv": FACE, "b_csv": FACE, "c_csv": callipers, "survey_csv": None}


CASES: dict[str, tuple[dict[str, str | bytes | None], list[str]]] = {
    "broken TOML": ({"job": JOB + 'x = "a\n'}, ["job.toml:10: is not TOML", "key = value"]),
    "unknown key": (
        {"job": JOB + 'surveyunits = "mm"\n'},
        ["job.toml:10: slab.surveyunits", "did you mean `survey_units`?"],
    ),
    "unknown table": ({"job": JOB + "[fil]\n"}, ["job.toml:10: fil", "did you mean `fill`?"]),
    "unknown species": ({"job": JOB.replace("ash, white", "whit ash")}, ["job.toml:8: slab.species", "'ash, white'"]),
    "part of a species": (
        {"job": JOB.replace("ash, white", "walnut")},
        ["job.toml:8: slab.species", "'walnut, black'"],
    ),
    "no species like it": ({"job": JOB.replace("ash, white", "xqz")}, ["job.toml:8: slab.species", "names look like"]),
    "unknown key of the shop": (
        {"shop_toml": "[machine]\nfeeed = 3\n"},
        ["shop.toml:2: machine.feeed", "did you mean `feed`?"],
    ),
    "wrong header": (
        {"survey_csv": SURVEY.replace("face,", "side,")},
        ["survey.csv:1:", "face,x,y,z is wanted", SURVEYED],
    ),
    "no header": ({"survey_csv": list_of(ROWS)[11:]}, ["survey.csv:1:", "face,x,y,z is wanted", SURVEYED]),
    "a face that is none": (
        {"survey_csv": SURVEY.replace(AT, "C,500,0,50")},
        ["survey.csv:6:", "it is A or B", SURVEYED],
    ),
    "ragged, short": (
        {"survey_csv": SURVEY.replace(AT, "A,500,0")},
        ["survey.csv:6: the row has 3 cells; 4 are wanted"],
    ),
    "ragged, long": (
        {"survey_csv": SURVEY.replace(AT, AT + ",7")},
        ["survey.csv:6: the row has 5 cells; 4 are wanted"],
    ),
    "one face only": (
        {"survey_csv": list_of([row for row in ROWS if row[0] == "A"])},
        ["survey.csv: only face A was read", "read face B", SURVEYED],
    ),
    "faces swapped": (
        {"survey_csv": SURVEY.replace(",50.0", ",-50.0")},
        ["survey.csv: face B lies above face A", "swap", SURVEYED],
    ),
    "all in a line": (
        {"survey_csv": list_of([row for row in ROWS if row.split(",")[2] == "0"])},
        ["survey.csv: all readings of face A lie in a line", "across", SURVEYED],
    ),
    "the same place twice": (
        {"survey_csv": SURVEY + "A,500,0,55\n"},
        ["survey.csv:32:", "lines 6 and 32", "5 mm apart"],
    ),
    "a survey in another unit": (
        {"job": JOB + 'survey_units = "m"\n'},
        ["survey.csv:2:", "the unit of the file", SURVEYED],
    ),
    "readings in millimetres taken for inches": (
        {"job": JOB + 'survey_units = "in"\n'},
        ["job.toml:9: slab.survey: these readings make a slab 50800 mm long", "check survey_units"],
    ),
    "an outline that crosses itself": (
        {"job": WITH_OUTLINE, "outline_csv": "x,y\n-20,-320\n2020,320\n2020,-320\n-20,320\n"},
        ["outline.csv: the outline crosses", "x = 1000, y = 0 mm", DRAWN],
    ),
    "an outline that misses the readings": (
        {"job": WITH_OUTLINE, "outline_csv": OUTLINE.replace("20,", "99,").replace("-99,", "7000,")},
        ["outline.csv: the outline", DRAWN],
    ),
    "an outline far off": (
        {"job": WITH_OUTLINE, "outline_csv": "x,y\n5000,-320\n7020,-320\n7020,320\n5000,320\n"},
        ["outline.csv: the outline misses the readings", DRAWN],
    ),
    "an outline of two corners": (
        {"job": WITH_OUTLINE, "outline_csv": "x,y\n-20,-320\n2020,320\n"},
        ["outline.csv: the outline has 2 different corners; at least 3", DRAWN],
    ),
    "an outline that leaves too few readings": (
        {
            "job": WITH_OUTLINE + "cut_to = 520\ncut_from = 480\n",
            "outline_csv": OUTLINE,
        },
        ["job.toml:9: slab.survey: all readings of face A lie in a line", "cut_from"],
    ),
    "cuts beyond the slab": (
        {"job": JOB + "cut_from = 5000\n"},
        ["job.toml:10: slab.end_trim, slab.cut_from", "trim less"],
    ),
    "a margin that leaves nothing": (
        {"job": JOB + "edge_margin = 400\n"},
        ["job.toml:10: slab.edge_margin", "smaller"],
    ),
    "bearers beyond the slab": (
        {"job": JOB + "[slab.lay]\nsupports = [5000, 9000]\n"},
        ["job.toml:11: slab.lay.supports", "beyond the slab's end"],
    ),
    "a defect that crosses itself": (
        {"job": JOB + '[[slab.defects]]\nkind = "void"\noutline = [[0, 0], [9, 9], [9, 0], [0, 9]]\n'},
        ["job.toml:12: slab.defects[0].outline", "in order"],
    ),
    "calliper places in a line": (
        two("x,y,thickness\n" + "".join(f"{x},0,50\n" for x in range(0, 2000, 200))),
        ["job.toml:7: slab.callipers: the places lie in a line", "both long edges"],
    ),
    "two calliper places": (
        two("x,y,thickness\n10,0,50\n500,100,50\n"),
        ["job.toml:7: slab.callipers: 2 places", "three at least"],
    ),
    "no callipers": (two(job=TWO.replace('callipers = "c.csv"\n', "")), ["slab.callipers", "measure the thickness"]),
    "callipers off the slab": (
        two(CALLIPERS.replace("1900,", "9900,")),
        ["job.toml:7: slab.callipers, place 5", "off the readings"],
    ),
    "callipers below nothing": (two(CALLIPERS.replace(",50", ",-50")), ["c.csv:2:", "not above zero"]),
    "marks that are one place": (two(job=TWO.replace("1900", "60")), ["job.toml:8: slab.marks", "well apart"]),
    "marks that miss each other": (
        two(job=TWO.replace("b = [1900", "b = [1500")),
        ["job.toml:8: slab.marks", "200 mm"],
    ),
    "a survey above the folder": (
        {"job": JOB.replace("survey.csv", "../survey.csv")},
        ["job.toml:9: slab.survey", "outside the job's folder; copy the file into it"],
    ),
    "a survey from the root": (
        {"job": JOB.replace("survey.csv", "/etc/hostname")},
        ["job.toml:9: slab.survey", "outside the job's folder"],
    ),
    "a survey by a link": ({"job": JOB.replace("survey.csv", "link.csv")}, ["job.toml:9: slab.survey", "outside"]),
    "a survey that is a folder": (
        {"job": JOB.replace("survey.csv", ".")},
        ["job.toml:9: slab.survey", "name the file"],
    ),
    "a survey that is not there": ({"survey_csv": None}, ["job.toml:9: slab.survey: there is no file 'survey.csv'"]),
    "binary rubbish for a survey": ({"survey_csv": bytes(range(256))}, ["survey.csv: the file holds bytes", SURVEYED]),
    "binary rubbish for a job": ({"job": bytes(range(256))}, ["job.toml:2: is not text"]),
    "an empty survey": ({"survey_csv": ""}, ["survey.csv: the file is empty", SURVEYED]),
    "a header alone": ({"survey_csv": "face,x,y,z\n"}, ["survey.csv:2: there are no rows below the header", SURVEYED]),
    "an empty outline": ({"job": WITH_OUTLINE, "outline_csv": ""}, ["outline.csv: the file is empty", DRAWN]),
    "an empty job": ({"job": ""}, ["job.toml: is empty; `slabwright new`"]),
    "a re-reading that is not there": (
        {"job": JOB + '[[rereadings]]\nsurvey = "x.csv"\nafter = "rough A"\n'},
        ["job.toml:11: rereadings[0].survey: there is no file"],
    ),
}
for cell, says in {
    "about 50": "'about 50', not a number",
    "nan": "'nan', not a number",
    "inf": "'inf', not a number",
    "-infinity": "not a number",
    "1e999": "more than 100 m away",
    "": "is missing; write a number in mm",
    "5O": "'5O', not a number",
    "50 mm": "'50 mm', not a number",
}.items():
    CASES[f"{cell or 'nothing'} for a height"] = (
        {"survey_csv": SURVEY.replace(AT, f"A,500,0,{cell}")},
        ["survey.csv:6: z is", says, SURVEYED],
    )


@pytest.mark.parametrize("name", CASES)
def test_one_line_says_where_and_what_would_be_right(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    (tmp_path / "outside.csv").write_text(SURVEY)
    files, says = CASES[name]
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "link.csv").symlink_to(tmp_path / "outside.csv")
    job = put_job(folder, **files)  # type: ignore[arg-type]
    message = run(capsys, "plan", job, "--out", tmp_path / "out").refused()
    for part in says:
        assert part in message
    assert len(message) < 420
    assert not (tmp_path / "out").exists()


def planned(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], job: str, survey: str = SURVEY
) -> tuple[dict[str, object], dict[str, dict[str, str]], str]:
    """The plan, its stops by their code, and what was said."""
    ran = run(capsys, "plan", put_job(tmp_path, job, survey_csv=survey), "--out", tmp_path / "out")
    assert (ran.status, ran.err) == (0, "")
    plan = json.loads((tmp_path / "out" / "plan.json").read_text())
    return plan, {found["code"]: found for found in plan["findings"] if found["severity"] == "stop"}, ran.out


def test_a_thickness_that_cannot_be_had_stops_with_a_remedy(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    _, stops, said = planned(tmp_path, capsys, JOB.replace("length = 1800", "thickness = 80"))
    assert "80 mm is asked for" in stops["slab/too-thin"]["message"]
    assert "47." in stops["slab/too-thin"]["remedy"]
    assert "STOP  80 mm is asked for" in said


def test_faces_that_meet_stop(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cupped = [
        f"{face},{x},{y},{z + y * y / 1500}"
        for face, z in (("A", 20), ("B", 0))
        for x in (0, 900, 1800)
        for y in (-300, 0, 300)
    ]
    plan, stops, said = planned(tmp_path, capsys, JOB, list_of(cupped))
    assert "40 mm" in stops["slab/no-blank"]["message"] and stops["slab/no-blank"]["remedy"]
    assert plan["slab"] is None and "nan" not in said


def test_nothing_sure_is_not_told_as_a_thickness_below_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    _, stops, said = planned(tmp_path, capsys, JOB, SURVEY.replace(",50.0", ",1.0"))
    assert next(iter(stops)) == "slab/nothing-sure"
    head = said.partition("STOP")[0]
    assert "nothing of it is sure" in head and not re.search(r"(?<!\d)-\d", head)


def test_one_wild_reading_is_planned_or_refused_in_good_time(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A slip of the finger leaves the slab 80 mm off its stacks: the search among them must not go on for minutes."""
    rows = [row.replace("B,2000,300,0.0", "B,2000,300,-80") for row in ROWS]
    _, stops, _ = planned(tmp_path, capsys, JOB, list_of(rows))
    assert all(stop["remedy"] for stop in stops.values())
