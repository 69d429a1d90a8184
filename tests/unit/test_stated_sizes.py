from __future__ import annotations

from pathlib import Path

import pytest

from slabwright.job import load_job
from slabwright.plan import plan


def codes(folder: Path, more: str, slab: str = "") -> dict[str, str]:
    """A flat slab of 2000 x 600 mm, read at 5 x 4 places a face."""
    rows = [
        f"{face},{x},{y},{z}"
        for face, z in (("A", 50), ("B", 0))
        for x in range(0, 2001, 500)
        for y in range(0, 601, 200)
    ]
    (folder / "survey.csv").write_text("face,x,y,z\n" + "\n".join(rows) + "\n")
    job = folder / "job.toml"
    job.write_text(f'[job]\ntitle = "Board"\n{more}\n[slab]\nspecies = "ash, white"\nsurvey = "survey.csv"\n{slab}\n')
    return {finding.code: finding.severity for finding in plan(load_job(job)).findings}


@pytest.mark.parametrize(
    ("piece", "code"),
    [('length = "3 m"', "slab/not-long-enough"), ('width = 900\nlive_edges = "none"', "slab/not-wide-enough")],
)
def test_a_piece_larger_than_the_slab_stops(tmp_path: Path, piece: str, code: str) -> None:
    assert codes(tmp_path, f"[piece]\n{piece}").get(code) == "stop"


def test_a_piece_that_fits_says_nothing(tmp_path: Path) -> None:
    found = codes(tmp_path, "[piece]\nlength = 1900\nwidth = 500")
    assert not {code for code in found if code.startswith("slab/not-")}


def test_a_defect_beside_the_slab_is_told(tmp_path: Path) -> None:
    there = '[[slab.defects]]\nkind = "knot"\nat = [500, 300]\ndiameter = 30'
    beside = there.replace("[500, 300]", "[5000, 300]")
    assert "slab/defect-beside-slab" not in codes(tmp_path, "", there)
    assert codes(tmp_path, "", beside)["slab/defect-beside-slab"] == "caution"


def test_a_fill_that_there_is_not_is_told(tmp_path: Path) -> None:
    assert codes(tmp_path, "[fill]\nchoose = 99")["slab/no-such-fill"] == "caution"
