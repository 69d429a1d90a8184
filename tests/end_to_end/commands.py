"""Run a command as a person would, and jobs small enough to run many."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

import slabwright.cli

EXAMPLES = Path(__file__).parents[2] / "examples"
SLAB = '[slab]\nspecies = "ash, white"\nsurvey = "survey.csv"\n'
JOB = '[job]\ntitle = "Board"\n\n[piece]\nlength = 1800\n\n' + SLAB
ROWS = [
    f"{face},{x},{y},{z}" for face, z in (("A", 50.0), ("B", 0.0)) for x in range(0, 2001, 500) for y in (-300, 0, 300)
]
SURVEY = "\n".join(["face,x,y,z", *ROWS]) + "\n"
OUTLINE = "x,y\n-20,-320\n2020,-320\n2020,320\n-20,320\n"


@dataclass(frozen=True)
class Ran:
    """What a command left behind: its exit status and what it said."""

    status: int
    out: str
    err: str

    def refused(self) -> str:
        """The one line of a refusal."""
        assert (self.status, self.out) == (2, ""), (self.status, self.out, self.err)
        assert self.err.startswith("slabwright: ") and self.err.count("\n") == 1 and self.err.endswith("\n"), self.err
        assert self.err[:-1].isprintable() and "Traceback" not in self.err
        return self.err.removeprefix("slabwright: ").rstrip("\n")


def run(capsys: pytest.CaptureFixture[str], *words: object) -> Ran:
    """Run a command in this process."""
    before = sys.argv
    sys.argv = ["slabwright", *map(str, words)]
    capsys.readouterr()
    try:
        slabwright.cli.main()
        status = 0
    except SystemExit as left:
        status = int(left.code or 0)
    finally:
        sys.argv = before
    out, err = capsys.readouterr()
    return Ran(status, out, err)


def run_apart(*words: object, typed: str = "", folder: Path | None = None) -> Ran:
    """Run a command as a process of its own, nobody at a terminal."""
    done = subprocess.run(
        [sys.executable, "-m", "slabwright", *map(str, words)],
        input=typed,
        capture_output=True,
        text=True,
        cwd=folder,
        env=os.environ | {"PYTHONWARNINGS": "error"},
        check=False,
        timeout=120,
    )
    return Ran(done.returncode, done.stdout, done.stderr)


def put_job(folder: Path, job: str | bytes = JOB, **files: str | bytes | None) -> Path:
    """Write a job's folder; `survey_csv="..."` is survey.csv, and None leaves a file out."""
    folder.mkdir(parents=True, exist_ok=True)
    contents: dict[str, str | bytes | None] = {"job_toml": job, "survey_csv": SURVEY, **files}
    for name, content in contents.items():
        if content is not None:
            path = folder / ".".join(name.rsplit("_", 1))
            path.write_bytes(content.encode() if isinstance(content, str) else content)
    return folder / "job.toml"


def names(folder: Path) -> Sequence[str]:
    """All that lies in a folder, hidden files too."""
    return sorted(path.name for path in folder.iterdir())
