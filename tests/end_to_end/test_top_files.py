"""Programs of features, templates and locating through the command."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tests.end_to_end.commands import run

EXAMPLES = Path(__file__).parents[2] / "examples"
JOB = (EXAMPLES / "window-bench" / "job.toml").read_text(encoding="utf-8")


def bench(folder: Path, change: str = "", to: str = "") -> Path:
    """The window bench in a folder of its own, a word changed."""
    for file in (EXAMPLES / "window-bench").iterdir():
        if file.is_file():
            (folder / file.name).write_bytes(file.read_bytes())
    if change:
        assert change in JOB
        (folder / "job.toml").write_text(JOB.replace(change, to, 1), encoding="utf-8")
    return folder / "job.toml"


def test_a_located_top_gets_its_features_programs_and_templates(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    ran = run(capsys, "sheets", bench(tmp_path), "--out", out)
    assert (ran.status, ran.err) == (0, "")
    located = json.loads((out / "plan.json").read_text())["machine"]["locating"]["located"]
    assert located["go"] is True and abs(located["turn"]) < 0.2
    assert {path.name for path in (out / "programs").glob("feature-*.ngc")} == {
        "feature-01-left-plate.ngc",
        "feature-02-right-plate.ngc",
        "feature-03-cable.ngc",
    }
    assert (out / "templates" / "template-left-plate.pdf").stat().st_size > 1000
    assert (out / "templates" / "outline-full-size.dxf").exists()


def test_a_touch_that_is_far_off_is_a_no_go_and_old_programs_go(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    run(capsys, "sheets", bench(tmp_path), "--out", out)
    ran = run(
        capsys, "sheets", bench(tmp_path, "touched = [2192.28, 607.24]", "touched = [2194.28, 607.24]"), "--out", out
    )
    assert ran.status == 0 and "STOP" in ran.out
    assert not list((out / "programs").glob("feature-*.ngc"))


@pytest.mark.parametrize(
    ("change", "to", "said"),
    [
        ('name = "right pin hole"', 'name = "left pin hole"', "left pin hole"),
        ("stated = [1740, 0]", "stated = [60, 0]", "same place"),
        ('along_from = "right end"', 'along_from = "right and"', "right end"),
        ('name = "right plate"', 'name = "left plate"', "left plate"),
        ("diameter = 40", "diameter = -40", "diameter"),
        ('kind = "through hole"', 'kind = "hole"', "hole"),
    ],
)
def test_what_is_stated_wrongly_is_one_line_with_its_place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], change: str, to: str, said: str
) -> None:
    ran = run(capsys, "plan", bench(tmp_path, change, to), "--out", tmp_path / "out")
    assert ran.status == 2
    assert ran.err.count("\n") == 1 and "job.toml:" in ran.err and said in ran.err
    assert not (tmp_path / "out" / "plan.json").exists()


@pytest.mark.parametrize(
    ("change", "to", "code"),
    [
        ("depth = 8\n", "depth = 60\n", "top/"),
        ("across = 120\n", "across = 900\n", "top/outside"),
        ("length = 1800", "length = 2500", "top/no-room"),
    ],
)
def test_what_does_not_fit_the_top_is_a_stop_with_a_remedy(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], change: str, to: str, code: str
) -> None:
    ran = run(capsys, "plan", bench(tmp_path, change, to), "--out", tmp_path / "out")
    assert ran.status == 0
    stops = [
        finding
        for finding in json.loads((tmp_path / "out" / "plan.json").read_text())["findings"]
        if finding["severity"] == "stop"
    ]
    assert any(stop["code"].startswith(code) and stop["remedy"] for stop in stops)


def waiting_of(out: Path) -> dict[str, str]:
    return {one["stage"]: one["waits_for"] for one in json.loads((out / "plan.json").read_text())["waiting"]}


@pytest.mark.parametrize(
    ("change", "to", "waits_for"),
    [
        ("thickness = 48.3 ", "length = 1800 ", "[as_made] thickness"),
        ("[[top.datums]]", "[[unused]]", "[[top.datums]]"),
    ],
)
def test_features_programs_wait_for_thickness_and_touches(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], change: str, to: str, waits_for: str
) -> None:
    out = tmp_path / "out"
    path = bench(tmp_path, change, to)
    if to == "[[unused]]":
        path.write_text(JOB.partition("# How the bench lies")[0], encoding="utf-8")
    assert run(capsys, "sheets", path, "--out", out).status == 0
    assert waits_for in waiting_of(out)["features' programs"]
    assert not list((out / "programs").glob("feature-*.ngc"))


def test_no_feature_program_runs_into_a_clamp(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    path = bench(tmp_path)
    clamp = '\n[[clamps]]\nname = "middle clamp"\nat = [720, 560]\nsize = [60, 60]\nheight = 120\nface = "B"\n'
    path.write_text(JOB + clamp, encoding="utf-8")
    ran = run(capsys, "sheets", path, "--out", out)
    assert ran.status == 0
    assert not (out / "programs" / "feature-01-left-plate.ngc").exists()
    assert "middle clamp" in ran.out
