"""Plain numbers read in other units from now on: every size that is stated stays as it was."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from tests.unit.web_bench import JOB, bench

from slabwright.findings import SlabwrightError
from slabwright.job.load import job_from, toml_from
from slabwright.job.switched_units import switched
from slabwright.quantities import Units

EXAMPLES = Path(__file__).parents[2] / "examples"


def _files(example: str) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (EXAMPLES / example).iterdir() if path.is_file()}


def _dumped(data: bytes) -> dict[str, Any]:
    return job_from(toml_from(data, "job.toml")).model_dump(exclude_unset=True, exclude={"job": {"units"}})


@pytest.mark.parametrize(
    ("example", "units"), [("reading-table", "inch"), ("hall-desk", "metric"), ("window-bench", "inch")]
)
def test_every_size_of_the_examples_stays(example: str, units: Units) -> None:
    files = _files(example)
    changed = switched(files, units)
    assert tomllib.loads(changed["job.toml"].decode())["job"]["units"] == units
    before, after = _dumped(files["job.toml"]), _dumped(changed["job.toml"])
    after["slab"].pop("survey_units"), before["slab"].pop("survey_units", None)
    assert repr(after) == repr(before)
    # What was written beside the figures is still there.
    remarks = [line.partition("#")[2] for line in files["job.toml"].decode().splitlines() if "#" in line]
    assert all(remark in changed["job.toml"].decode() for remark in remarks)
    assert switched(changed, units) == changed
    assert switched(files, "metric" if units == "inch" else "inch") == files


def test_texts_without_a_unit_and_weights_get_theirs() -> None:
    job = JOB.replace("length = 1600 ", 'length = "1 600"').replace('species = "ash', 'weighed = 95\nspecies = "ash')
    text = switched({"job.toml": job.encode()}, "inch")["job.toml"].decode()
    stated = tomllib.loads(text)
    assert stated["piece"]["length"] == "1 600 mm"
    assert stated["slab"]["weighed"] == "95 kg"
    inches = (
        JOB.replace('title = "Hall desk"', 'title = "x"\nunits = "inch"')
        .replace("1600 ", '"7\' 6 1/2"')
        .replace("740", '"29 1/2"')
    )
    inches = inches.replace("1900", "75").replace("800", "31").replace("54", '"8/4"')
    stated = tomllib.loads(switched({"job.toml": inches.encode()}, "metric")["job.toml"].decode())
    assert stated["piece"] == {"length": "7' 6 1/2", "height": "29 1/2 in", "base": "U legs"}
    assert stated["slab"]["planned"] == {"length": "75 in", "width": "31 in", "thickness": "8/4"}


def test_a_job_that_cannot_be_read_is_refused() -> None:
    with pytest.raises(SlabwrightError, match=r"job\.title"):
        switched({"job.toml": b"[job]\ntitle = 3\n"}, "inch")


def test_the_page_changes_the_units_and_nothing_else(tmp_path: Path) -> None:
    with bench(tmp_path) as pages:
        sent = {"based_on": 1, "values": {"prices.hour": 52.5}, "why": "", "file": "shop"}
        assert pages.post("/api/jobs/1/edits", json=sent).status_code == 200
        files = dict(pages.book.revision(1).files)
        files["shop.toml"] = files["shop.toml"].replace(b'units = "metric"', b"")
        pages.book.save(1, files, 2, "test", "a shop file that says no units")
        plan = pages.app.state.desk.store.planned(1).result
        answer = pages.edit({"job.units": "inch", "piece.height": "29 1/2"}, 3)
        assert answer.status_code == 200, answer.text
        after = pages.app.state.desk.store.planned(1).result
        assert after.board.thickness == plan.board.thickness
        stated = tomllib.loads(pages.text())
        assert stated["piece"]["height"] == "29 1/2"
        assert stated["piece"]["length"] == "1600 mm"
        assert tomllib.loads(pages.book.revision(1).files["shop.toml"].decode())["units"] == "metric"
        assert pages.edit({"job.units": "metric"}, 4).status_code == 200
