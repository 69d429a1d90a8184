"""Every command as a person runs it: what it writes, what it says, and its exit status."""

from __future__ import annotations

import json
import os
import shutil
import stat
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from tests.end_to_end.commands import EXAMPLES, JOB, SURVEY, names, put_job, run, run_apart

HALL = EXAMPLES / "hall-desk" / "job.toml"


@pytest.fixture(autouse=True)
def _own_config(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))


def test_from_a_new_job_to_the_plan_in_processes_of_their_own(tmp_path: Path) -> None:
    made = run_apart(
        "new", "desk", "--length", "1800", "--species", "ash, white", "--height", "29 1/2 in", folder=tmp_path
    )
    assert (made.status, made.err) == (0, "") and "wrote desk/job.toml" in made.out
    assert tomllib.loads((tmp_path / "desk" / "job.toml").read_text())["piece"]["height"] == "29 1/2 in"
    heights = "".join(f"{height}\n" for height in ["120.5"] * 15 + ["60"] * 15)
    read = run_apart("read", "desk/job.toml", typed=f"2000\n600\n\n\n{heights}", folder=tmp_path)
    assert (read.status, read.err) == (0, "") and "Done" in read.out
    planned = run_apart("plan", "desk/job.toml", "--out", "plan", folder=tmp_path)
    assert (planned.status, planned.err) == (0, "") and planned.out.endswith("wrote plan/plan.json\n")
    result = json.loads((tmp_path / "plan" / "plan.json").read_text(encoding="utf-8"))
    assert result["slab"]["seat"]["thickness"] == pytest.approx(60.5, abs=1e-6)
    assert names(tmp_path / "desk") == ["job.toml", "outline.csv", "shop.toml", "survey.csv"]
    assert names(tmp_path / "plan") == ["plan.json"]


def test_a_wrong_job_is_one_line_and_status_2_in_a_process_of_its_own(tmp_path: Path) -> None:
    put_job(tmp_path, JOB.replace("species", "specie"))
    ran = run_apart("plan", "job.toml", "--out", "plan", folder=tmp_path)
    assert ran.refused().startswith("job.toml:8: slab.specie: there is no such key; did you mean `species`?")
    assert not (tmp_path / "plan").exists()


def test_a_reader_that_stops_early_is_no_fault(tmp_path: Path) -> None:
    done = subprocess.run(
        f"'{sys.executable}' -m slabwright schema | head -1", shell=True, capture_output=True, text=True, check=False
    )
    assert (done.stdout, done.stderr) == ("{\n", "")


def test_new_takes_options_and_overwrites_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--title", "Bench", "--units", "inch", "--length", "7' 6\"", "--width", "live", "--base", "trestles")
    assert run(capsys, "new", tmp_path / "bench", *words).status == 0
    stated = tomllib.loads((tmp_path / "bench" / "job.toml").read_text())
    assert stated["job"] == {"title": "Bench", "units": "inch"}
    assert stated["piece"] == {"length": "7ft 6in", "thickness": "max", "live_edges": "both", "base": "trestles"}
    before = (tmp_path / "bench" / "job.toml").read_bytes()
    again = run(capsys, "new", tmp_path / "bench", "--title", "Other").refused()
    assert "there already" in again
    assert (tmp_path / "bench" / "job.toml").read_bytes() == before
    assert run(capsys, "check", tmp_path / "bench" / "job.toml").status == 0


@pytest.mark.parametrize(
    ("option", "value", "says"),
    [
        ("--length", "about a metre", "write a length such as"),
        ("--length", "0", "not more than nothing"),
        ("--units", "feet", "write metric or inch"),
        ("--base", "chair", "choose 1 U legs"),
        ("--species", "whit ash", "'ash, white'"),
    ],
)
def test_new_refuses_what_it_cannot_use(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], option: str, value: str, says: str
) -> None:
    message = run(capsys, "new", tmp_path / "desk", option, value).refused()
    assert option.removeprefix("--") in message and says in message
    assert not (tmp_path / "desk").exists()


def test_check_says_what_is_missing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran = run(capsys, "check", put_job(tmp_path))
    assert (ran.status, ran.err) == (0, "")
    for key in ("piece.height", "room.kind", "slab.moisture.shell", "slab.outline"):
        assert key in ran.out
    assert names(tmp_path) == ["job.toml", "survey.csv"]


def test_a_second_plan_replaces_the_first_and_nothing_else_is_left(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, out = put_job(tmp_path / "job"), tmp_path / "out"
    assert run(capsys, "plan", job, "--out", out).status == 0
    first = json.loads((out / "plan.json").read_text())
    put_job(tmp_path / "job", survey_csv=SURVEY.replace(",50.0", ",44.0"))
    assert run(capsys, "plan", job, "--out", out).status == 0
    second = json.loads((out / "plan.json").read_text())
    assert first["slab"]["seat"]["thickness"] - second["slab"]["seat"]["thickness"] == pytest.approx(6.0, abs=1e-6)
    assert names(out) == ["plan.json"] and names(tmp_path / "job") == ["job.toml", "survey.csv"]
    (tmp_path / "job" / "survey.csv").write_text("face,x,y\n")
    run(capsys, "plan", job, "--out", out).refused()
    assert json.loads((out / "plan.json").read_text()) == second, "a fault leaves the plan that was there"


def test_sheets_are_there_and_nothing_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job, out = put_job(tmp_path / "job"), tmp_path / "deep" / "out"
    ran = run(capsys, "sheets", job, "--out", out)
    assert (ran.status, ran.err) == (0, "")
    told = [Path(line.removeprefix("wrote ")).name for line in ran.out.splitlines() if line.startswith("wrote ")]
    assert {"plan.json", "bench-sheets.pdf", "bed-layout.dxf", "bed-layout.svg"} <= set(told)
    assert sorted(told) == names(out)
    assert all(path.stat().st_size > 500 for path in out.iterdir())
    assert (out / "bench-sheets.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("command", ["plan", "sheets"])
@pytest.mark.parametrize("place", ["a file", "below a file", "where plan.json is a folder"])
def test_a_folder_that_cannot_be_written_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str, place: str
) -> None:
    job, out = put_job(tmp_path / "job"), tmp_path / "out"
    if place == "where plan.json is a folder":
        (out / "plan.json").mkdir(parents=True)
    else:
        out.write_text("something of the maker's")
    message = run(capsys, command, job, "--out", out / "deep" if place == "below a file" else out).refused()
    assert str(out) in message
    if out.is_file():
        assert out.read_text() == "something of the maker's"
    else:
        assert not [name for name in names(out) if name.endswith(".part")]


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write anywhere; run the tests as another user")
@pytest.mark.parametrize("command", ["plan", "sheets", "new", "read"])
def test_a_read_only_folder_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str) -> None:
    shut = tmp_path / "shut"
    job = put_job(shut, JOB.replace('survey = "survey.csv"\n', ""))
    shut.chmod(stat.S_IRUSR | stat.S_IXUSR)
    try:
        words = {
            "plan": ("plan", job, "--out", shut),
            "sheets": ("sheets", job, "--out", shut),
            "new": ("new", shut / "inner"),
        }
        if command == "read":
            ran = run_apart("read", job, typed="2000\n600\n600\n600\n120\n")
            assert ran.status == 2 and "Traceback" not in ran.err and str(shut) in ran.err
        else:
            assert str(shut) in run(capsys, *words[command]).refused()
        assert names(shut) == ["job.toml", "survey.csv"]
    finally:
        shut.chmod(stat.S_IRWXU)


def test_why_tells_where_a_figure_comes_from(capsys: pytest.CaptureFixture[str]) -> None:
    ran = run(capsys, "why", HALL, "slab.seat.thickness")
    assert (ran.status, ran.err) == (0, "")
    assert ran.out.startswith("slab.seat.thickness = ") and "How" in ran.out and "From" in ran.out
    group = run(capsys, "why", HALL, "board")
    assert "board.thickness_low" in group.out
    assert "near ones: slab.seat.thickness" in run(capsys, "why", HALL, "slab.seat.thicknes").refused()
    for figure in ("", "[", "slab.patch_front[99]"):
        assert "no figure" in run(capsys, "why", HALL, figure).refused()


@pytest.mark.parametrize("which", ["job", "shop"])
def test_schema_is_json_alone(capsys: pytest.CaptureFixture[str], which: str) -> None:
    ran = run(capsys, "schema", which)
    assert (ran.status, ran.err) == (0, "")
    assert json.loads(ran.out)["$id"] == f"urn:slabwright:{which}-file"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["plan"], "Missing argument 'JOB.toml'"),
        (["pla", "x"], "Did you mean 'plan'?"),
        (["plan", "x.toml", "--oot", "y"], "--out"),
        (["read", "x.toml", "--along", "1"], "--along"),
        (["read", "x.toml", "--along", "many"], "--along"),
        (["schema", "jobs"], "'job', 'shop'"),
        (["plan", "x.toml", "y.toml"], "y.toml"),
        (["plan", "x.toml"], "there is no such file"),
        (["plan", ""], "is a folder; name the job file in it"),
    ],
)
def test_words_that_are_no_command_are_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], words: list[str], says: str
) -> None:
    monkeypatch.chdir(tmp_path)
    assert says in run(capsys, *words).refused()
    assert names(tmp_path) == []


def test_checks_and_a_rereading_are_entered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = put_job(tmp_path)
    ran = run(capsys, "read", job, "--check", "A skim straightedge 0.8")
    assert (ran.status, ran.err) == (0, "") and "entered" in ran.out
    assert "face-not-flat" in run(capsys, "plan", job, "--out", tmp_path / "out").out
    before = job.read_bytes()
    assert "write such as" in run(capsys, "read", job, "--check", "A sanded nicely").refused()
    assert "'rough A'" in run(capsys, "read", job, "--after", "rough C").refused()
    assert job.read_bytes() == before
    typed = "2000\n600\n\n\n" + "100\n" * 15 + "58\n" * 15
    again = run_apart("read", job, "--after", "rough A", typed=typed)
    assert (again.status, again.err) == (0, "")
    assert names(tmp_path) == ["job.toml", "out", "outline.csv", "survey-2.csv", "survey.csv"]
    planned = run(capsys, "plan", job, "--out", tmp_path / "out")
    assert planned.status == 0 and "42.0 mm is the most" in planned.out


def test_the_examples_plan_without_stops_and_with_plain_numbers(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(HALL.parent, tmp_path / "hall")
    assert run(capsys, "plan", tmp_path / "hall" / "job.toml", "--out", tmp_path / "out").status == 0
    text = (tmp_path / "out" / "plan.json").read_text()

    def figures(value: object) -> list[float]:
        inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
        return [value] if isinstance(value, float) else [found for item in inner for found in figures(item)]

    for number in figures(json.loads(text)):
        assert len(repr(abs(number)).partition(".")[2]) <= 6 or abs(number) < 1e-4
        assert str(number) != "-0.0"
    assert "NaN" not in text and "Infinity" not in text
