"""The conversations at a terminal: the six questions, readings by hand, a stop and a crash in the middle."""

from __future__ import annotations

import os
import signal
import sys
import tomllib
from pathlib import Path

import pexpect
import pytest
from tests.end_to_end.commands import names, put_job, run

INCH = '[job]\ntitle = "Desk"\nunits = "inch"\n\n[slab]\nspecies = "walnut, black"  # from the yard\n'
SIZES = ["6'", "30 1/2 in", "", ""]
TOP = [f"4 {n}/16" for n in (5, 7, 5, 3, 5, 5, 9, 5, 5, 5, 5, 5, 3, 5, 5)]
UNDER = ["2", "2 1/16", "1 15/16"] * 5


def at_terminal(folder: Path, *words: str) -> pexpect.spawn[str]:
    environment = os.environ | {"XDG_CONFIG_HOME": str(folder / "config"), "TERM": "dumb"}
    return pexpect.spawn(
        sys.executable, ["-m", "slabwright", *words], cwd=str(folder), env=environment, encoding="utf-8", timeout=30
    )


def answer(child: pexpect.spawn[str], *answers: tuple[str, str]) -> None:
    for asked, typed in answers:
        child.expect_exact(asked)
        child.sendline(typed)


def left(child: pexpect.spawn[str]) -> tuple[int, str]:
    child.expect(pexpect.EOF)
    child.close()
    return int(child.exitstatus if child.exitstatus is not None else -1), str(child.before)


def test_six_questions_make_a_job(tmp_path: Path) -> None:
    child = at_terminal(tmp_path, "new", "desk")
    answer(
        child,
        ("Metric or inch?", "inch"),
        ("called?", "Hall desk"),
        ("How long", "about six feet"),
        ("is not a length", ""),
    )
    child.close(force=True)
    assert not (tmp_path / "desk").exists(), "a conversation that is broken off leaves nothing"
    child = at_terminal(tmp_path, "new", "desk")
    answer(
        child,
        ("Metric or inch?", "inch"),
        ("called?", "Hall desk"),
        ("How long", "5' 6\""),
        ("How wide", ""),
        ("How high", "29 1/2"),
        ("Which wood", "walnut, black"),
        ("Which base", "2"),
        ("finished with", "hard-wax oil"),
    )
    status, said = left(child)
    assert status == 0 and "wrote desk/job.toml" in said
    stated = tomllib.loads((tmp_path / "desk" / "job.toml").read_text())
    assert stated["job"] == {"title": "Hall desk", "units": "inch"}
    assert stated["piece"]["length"] == "5ft 6in" and stated["piece"]["base"] == "closed loops"
    assert stated["piece"]["finish"] == "hard-wax oil" and stated["slab"]["species"] == "walnut, black"


def test_readings_in_sixteenths_survive_a_crash_and_a_stop(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = put_job(tmp_path, INCH, survey_csv=None)
    heights = TOP + UNDER
    child = at_terminal(tmp_path, "read", "job.toml")
    answer(child, *zip(("Length", "Width at the end", "half way", "far end"), SIZES, strict=True))
    answer(child, *((f"{number:>3}/30", heights[number - 1]) for number in range(1, 12)))
    child.expect_exact(" 12/30")
    child.kill(signal.SIGKILL)
    child.close(force=True)
    assert names(tmp_path) == ["job.toml", "readings-begun.jsonl"]
    assert job.read_text() == INCH

    child = at_terminal(tmp_path, "read", "job.toml")
    child.expect_exact("11 readings")
    answer(child, (" 12/30", heights[11]), (" 13/30", "stop"))
    assert left(child)[0] == 0

    child = at_terminal(tmp_path, "read", "job.toml")
    child.expect_exact("12 readings")
    answer(child, (" 13/30", "9 9/16"), ("its neighbours", "redo"))
    answer(child, *((f"{number:>3}/30", heights[number - 1]) for number in range(13, 31)))
    status, said = left(child)
    assert status == 0 and "Done" in said
    assert names(tmp_path) == ["job.toml", "outline.csv", "survey.csv"]
    rows = [line.split(",") for line in (tmp_path / "survey.csv").read_text().splitlines()[1:]]
    assert len(rows) == 30
    inches = sorted(float(row[3]) for row in rows if row[0] == "A")
    assert inches == sorted(4 + int(height.split()[1].split("/")[0]) / 16 for height in TOP)
    assert "# from the yard" in job.read_text()
    planned = run(capsys, "plan", job, "--out", tmp_path / "out")
    assert planned.status == 0 and "is the most the readings hold" in planned.out


def test_an_interrupt_keeps_what_was_read(tmp_path: Path) -> None:
    put_job(tmp_path, INCH, survey_csv=None)
    child = at_terminal(tmp_path, "read", "job.toml")
    answer(child, *zip(("Length", "Width at the end", "half way", "far end"), SIZES, strict=True))
    answer(child, ("  1/30", "4 5/16"))
    child.expect_exact("  2/30")
    child.sendintr()
    status, said = left(child)
    assert status in (0, 130) and "Traceback" not in said and "topped" in said
    child = at_terminal(tmp_path, "read", "job.toml")
    child.expect("1 readings? (is|are) kept")
    child.close(force=True)
