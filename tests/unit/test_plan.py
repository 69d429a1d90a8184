from __future__ import annotations

import dataclasses
import json
from pathlib import Path

import pytest

from slabwright.findings import SlabwrightError
from slabwright.job import load_job
from slabwright.job.models import Fill
from slabwright.plan import Plan, as_json, plan
from slabwright.spoken import spoken

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def table() -> Plan:
    return plan(load_job(EXAMPLES / "reading-table" / "job.toml"))


def write_job(folder: Path, text: str) -> Path:
    path = folder / "job.toml"
    path.write_text('[job]\ntitle = "Board"\n' + text)
    return path


def slab_of(folder: Path, thickness: float, more: str = "", slab: str = "") -> Plan:
    """A flat slab, read at 5 x 4 places a face."""
    rows = [
        f"{face},{x},{y},{z}"
        for face, z in (("A", thickness), ("B", 0.0))
        for x in range(0, 2001, 500)
        for y in range(0, 601, 200)
    ]
    (folder / "survey.csv").write_text("face,x,y,z\n" + "\n".join(rows) + "\n")
    text = f'{more}\n[slab]\nspecies = "ash, white"\nsurvey = "survey.csv"\n{slab}\n'
    return plan(load_job(write_job(folder, text)))


def codes(result: Plan) -> dict[str, str]:
    return {finding.code: finding.severity for finding in result.findings}


def test_promise_stands_below_the_proven_thickness_and_its_steps_add_up(table: Plan) -> None:
    assert table.slab is not None
    seat = table.slab.seat
    assert seat.thickness_low < seat.thickness <= seat.bound + 1e-9
    assert seat.bound - seat.thickness < 1e-3
    assert seat.thickness - sum(term.loss for term in seat.terms) == pytest.approx(seat.thickness_low, abs=1e-9)
    assert seat.thickness - sum(term.median for term in seat.terms) == pytest.approx(seat.thickness_even, abs=1e-9)


def test_cuts_leave_the_target_and_the_allowance(table: Plan) -> None:
    assert table.slab is not None
    seat, job = table.slab.seat, table.job
    assert seat.target == 55.0 <= seat.thickness_low_filled
    assert seat.planes.thickness == pytest.approx(seat.target + 2 * job.shop.allowance.marks_and_sanding, abs=1e-9)
    assert seat.milled == pytest.approx(seat.planes.thickness)


def test_least_fill_that_reaches_the_target_is_taken(table: Plan) -> None:
    assert table.slab is not None
    front, chosen = table.slab.patch_front, table.slab.chosen_fill
    assert chosen > 0
    assert table.slab.seat.thickness_low_filled >= 55.0
    fewer = dataclasses.replace(
        table.job, stated=table.job.stated.model_copy(update={"fill": Fill.model_validate({"choose": chosen - 1})})
    )
    less = plan(fewer).slab
    assert less is not None and less.seat.thickness_low_filled < 55.0
    assert front[chosen - 1].fill_volume < front[chosen].fill_volume
    fill = next(way for way in table.slab.ways if way.kind == "fill")
    assert fill.thickness_low == pytest.approx(table.slab.seat.thickness_low_filled)
    assert table.slab.patches


def test_plan_as_json_is_plain_and_whole(table: Plan) -> None:
    written = json.loads(json.dumps(as_json(table), allow_nan=False))
    slab = written["slab"]
    assert {"thickness", "bound", "thickness_low", "tilt_x", "tilt_y"} <= slab["seat"].keys()
    assert {"fill_area", "fill_volume", "thickness", "bound"} <= slab["patch_front"][0].keys()
    assert slab["shims"]["stacks"] and slab["passes"]
    assert all({"code", "severity", "message", "remedy", "source"} == finding.keys() for finding in written["findings"])
    assert {finding["severity"] for finding in written["findings"]} <= {"note", "caution", "stop"}
    assert written["job"]["title"] == "Reading table"


def test_same_job_same_plan() -> None:
    first, second = (as_json(plan(load_job(EXAMPLES / "hall-desk" / "job.toml"))) for _ in range(2))
    assert first == second


def test_partial_jobs_say_what_they_wait_for(tmp_path: Path) -> None:
    bare = plan(load_job(write_job(tmp_path, "")))
    assert bare.slab is None and bare.board is None and "[slab]" in bare.waiting[0].waits_for
    unread = plan(load_job(write_job(tmp_path, '[slab]\nspecies = "ash, white"\n')))
    assert unread.slab is None and "readings" in unread.waiting[0].waits_for
    assert "waits for" in spoken(unread)


def test_facts_ripen(tmp_path: Path) -> None:
    planned = '[slab]\nspecies = "ash, white"\n[slab.planned]\nlength = 2400\nwidth = 900\nthickness = "8/4"\n'
    first = plan(load_job(write_job(tmp_path, planned))).board
    assert first is not None and first.basis == "planned" and first.thickness_low < 50.8
    measured = slab_of(tmp_path, 50.0).board
    assert measured is not None and measured.basis == "measured"
    made = slab_of(tmp_path, 50.0, "[as_made]\nthickness = 47.5\n").board
    assert made is not None and (made.basis, made.thickness) == ("as made", 47.5)


def test_thickness_that_cannot_be_had_stops_with_a_remedy(tmp_path: Path) -> None:
    result = slab_of(tmp_path, 50.0, "[piece]\nthickness = 60\n")
    stop = next(finding for finding in result.findings if finding.code == "slab/too-thin")
    assert stop.severity == "stop" and "60 mm" in stop.message and stop.remedy


def test_faces_that_meet_leave_no_board(tmp_path: Path) -> None:
    """A slab cupped by more than it is thick: no flat board lies in it."""
    rows = []
    for x in range(0, 2001, 250):
        for y in range(-300, 301, 100):
            cup = 60.0 * (y / 300.0) ** 2
            rows += [f"A,{x},{y},{cup + 20.0}", f"B,{x},{y},{cup}"]
    (tmp_path / "survey.csv").write_text("face,x,y,z\n" + "\n".join(rows) + "\n")
    result = plan(load_job(write_job(tmp_path, '[slab]\nspecies = "ash, white"\nsurvey = "survey.csv"\n')))
    assert codes(result)["slab/no-blank"] == "stop"
    assert result.slab is None and "slab" in [waiting.stage for waiting in result.waiting]


def test_wet_slab_stops_and_unknown_moisture_is_a_caution(tmp_path: Path) -> None:
    room = '[room]\nkind = "heated house"\n'
    assert codes(slab_of(tmp_path, 50.0, room))["slab/moisture-unknown"] == "caution"
    assert codes(slab_of(tmp_path, 50.0, room, "moisture = { core = [22] }"))["slab/too-wet"] == "stop"


def test_unknown_species_names_the_line(tmp_path: Path) -> None:
    with pytest.raises(SlabwrightError, match=r"job\.toml:4: slab\.species.*'ash, white'"):
        plan(load_job(write_job(tmp_path, '[slab]\nspecies = "ash, wight"\n')))


def test_species_without_density_is_told(tmp_path: Path) -> None:
    result = slab_of(tmp_path, 50.0)
    assert "slab/density-unknown" not in codes(result)
    job = load_job(write_job(tmp_path, '[slab]\nspecies = "hackberry"\nsurvey = "survey.csv"\n'))
    assert codes(plan(job))["slab/density-unknown"] == "caution"


def test_less_than_the_most_cuts_both_faces_alike(tmp_path: Path) -> None:
    """A wedge-shaped slab, 10 mm thinner wanted than it holds: the depths of the two faces come out equal."""
    rows = []
    for x in range(0, 2001, 200):
        for y in range(0, 601, 100):
            rows += [f"A,{x},{y},{60.0 + 4.0 * (x / 2000.0)}", f"B,{x},{y},{2.0 * (y / 600.0) ** 2}"]
    (tmp_path / "survey.csv").write_text("face,x,y,z\n" + "\n".join(rows) + "\n")
    text = '[piece]\nthickness = 45\n[slab]\nspecies = "ash, white"\nsurvey = "survey.csv"\n'
    result = plan(load_job(write_job(tmp_path, text)))
    assert result.slab is not None
    seat = result.slab.seat
    assert seat.target == 45.0
    assert seat.cut_a == pytest.approx(seat.cut_b, abs=0.05)


def test_progress_names_the_steps() -> None:
    steps: list[str] = []
    plan(load_job(EXAMPLES / "hall-desk" / "job.toml"), steps.append)
    assert steps[0] == "Readings" and "Shims" in steps and len(steps) == len(set(steps))


def test_results_are_frozen(table: Plan) -> None:
    assert table.slab is not None
    with pytest.raises(dataclasses.FrozenInstanceError):
        table.slab.seat.thickness = 1.0  # type: ignore[misc]
