"""Locating as a stage: what the programs' headings say of a job."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from slabwright.geometry.faces import FaceName
from slabwright.job.load import load_job
from slabwright.machine.locating import locating
from slabwright.plan import plan

JOB = Path(__file__).parents[2] / "examples" / "window-bench" / "job.toml"


@pytest.mark.parametrize(("shown", "cut"), [("A", "B"), ("B", "A")])
def test_the_underside_is_the_slab_face_that_is_not_shown(shown: FaceName, cut: FaceName) -> None:
    job = load_job(JOB)
    top = plan(job).top
    assert top is not None
    other_way = replace(top, placement=replace(top.placement, face_up=shown))
    found, _ = locating(job, other_way, as_made=True)
    assert found is not None and found.programs
    for program in found.programs:
        assert f"(face {cut} up" in program.text
        assert "(Window bench, revision 1)" in program.text
