from __future__ import annotations

import dataclasses
from itertools import pairwise
from pathlib import Path

import pytest

from slabwright.job import load_job
from slabwright.job.loaded import Job
from slabwright.job.models import JobFile, ShopFile
from slabwright.plan import Plan, plan
from slabwright.sheets.programs import write_programs

EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture(scope="module")
def job() -> Job:
    return load_job(EXAMPLES / "reading-table" / "job.toml")


@pytest.fixture(scope="module")
def demo(job: Job) -> Plan:
    return plan(job)


def with_machine(job: Job, **changes: object) -> Job:
    stated = job.shop.model_dump()
    stated["machine"] |= changes
    return dataclasses.replace(job, shop=ShopFile.model_validate(stated))


def with_job(job: Job, **changes: object) -> Job:
    return dataclasses.replace(job, stated=JobFile.model_validate(job.stated.model_dump() | changes))


def test_each_depth_is_a_file_of_its_own_in_the_order_of_the_work(demo: Plan) -> None:
    assert demo.machine is not None
    programs = demo.machine.programs
    assert [program.number for program in programs] == list(range(1, len(programs) + 1))
    assert len({program.name for program in programs}) == len(programs)
    assert [program.clamping for program in programs] == sorted(program.clamping for program in programs)
    for one, following in pairwise(programs):
        if one.clamping == following.clamping:
            assert following.level < one.level
    assert all(program.passed and program.text.isascii() for program in programs)
    assert demo.machine.time == pytest.approx(sum(program.time for program in programs))


def test_no_bite_is_deeper_than_the_machine_may_take(demo: Plan) -> None:
    assert demo.machine is not None
    assert max(program.deepest for program in demo.machine.programs) <= demo.job.shop.machine.greatest_depth + 1e-6


def test_time_is_never_below_its_bound(demo: Plan) -> None:
    assert demo.machine is not None
    bounds = [program for program in demo.machine.programs if program.time_bound is not None]
    assert bounds and all(program.time >= (program.time_bound or 0.0) for program in bounds)


def test_passes_of_the_slab_follow_the_machines_depths(demo: Plan) -> None:
    assert demo.machine is not None and demo.slab is not None
    from_programs = {(program.face, program.stage, round(program.level, 6)) for program in demo.machine.programs}
    from_passes = {(item.face, item.stage, round(item.level, 6)) for item in demo.slab.passes}
    assert from_programs <= from_passes


def test_no_program_for_a_machine_that_nobody_stated(job: Job) -> None:
    guessed = dataclasses.replace(
        job, where={key: place for key, place in job.where.items() if not key.startswith("shop:")}
    )
    result = plan(guessed)
    assert result.machine is None
    assert [waiting.stage for waiting in result.waiting] == ["machine"]


@pytest.mark.parametrize(
    "changes",
    [
        {"travel_x": 600.0},
        {"travel_y": 500.0},
        {"depth_most": 1.0},
        {"feed_most": 1000.0},
        {"spindle_power": 50.0, "cutting_energy": 80.0},
    ],
)
def test_a_machine_that_cannot_do_it_gets_no_program_and_a_remedy(job: Job, changes: dict[str, object]) -> None:
    result = plan(with_machine(job, **changes))
    assert result.machine is None or not result.machine.programs
    stops = [finding for finding in result.findings if finding.severity == "stop"]
    assert stops and all(finding.remedy for finding in stops)
    assert "machine" in [waiting.stage for waiting in result.waiting]


def test_a_stop_of_the_slab_keeps_it_off_the_machine(job: Job) -> None:
    moisture = job.stated.model_dump()["slab"] | {"moisture": {"shell": [30.0], "core": [40.0]}}
    result = plan(with_job(job, slab=moisture))
    assert result.machine is None


def test_two_clampings_where_the_travel_is_short(job: Job) -> None:
    result = plan(with_machine(job, travel_x=1700.0))
    assert result.machine is not None and result.machine.programs
    faces = [(clamping.face, clamping.stage) for clamping in result.machine.clampings]
    assert faces.count(("A", "rough")) == 2
    first, second = result.machine.clampings[:2]
    assert first.window_to > first.window_from and second.number == 2


def test_a_clamp_is_kept_clear_of(job: Job) -> None:
    clamp = {"name": "near clamp", "kind": "clamp", "at": [1200.0, 60.0], "size": [60.0, 90.0], "height": 90.0}
    result = plan(with_job(job, clamps=[clamp]))
    assert result.machine is not None
    if result.machine.programs:
        assert all(program.time_bound is None for program in result.machine.programs)
    else:
        assert any(finding.severity == "stop" for finding in result.findings)


def test_programs_of_an_earlier_run_are_not_left_standing(demo: Plan, tmp_path: Path) -> None:
    assert demo.machine is not None
    written = write_programs(demo, tmp_path)
    assert [path.name for path in written] == [program.name for program in demo.machine.programs]
    (tmp_path / "programs" / "my-own.ngc").write_text("M2\n")
    fewer = dataclasses.replace(demo, machine=dataclasses.replace(demo.machine, programs=demo.machine.programs[:2]))
    write_programs(fewer, tmp_path)
    left = sorted(path.name for path in (tmp_path / "programs").iterdir())
    assert left == [*(program.name for program in demo.machine.programs[:2]), "my-own.ngc"]
    write_programs(dataclasses.replace(demo, machine=None), tmp_path)
    assert [path.name for path in (tmp_path / "programs").iterdir()] == ["my-own.ngc"]


def test_a_sled_has_rails_and_depths_but_no_programs() -> None:
    result = plan(load_job(EXAMPLES / "hall-desk" / "job.toml"))
    assert result.machine is not None and result.machine.kind == "sled"
    assert result.machine.sled is not None and not result.machine.programs
    assert result.waiting == ()


def test_a_clamp_that_holds_nothing_is_told(job: Job) -> None:
    clamp = {"name": "far clamp", "kind": "clamp", "at": [10.0, 10.0], "size": [60.0, 60.0], "height": 60.0}
    found = [
        finding
        for finding in plan(with_job(job, clamps=[clamp])).findings
        if finding.code == "machine/clamp-holds-nothing"
    ]
    assert found and "far clamp" in found[0].message


def test_stacks_that_come_to_stand_off_the_bed_are_told(job: Job) -> None:
    codes = [finding.code for finding in plan(with_machine(job, travel_x=1500.0)).findings]
    assert "machine/stack-off-bed" in codes


def test_files_of_two_clampings_tell_them_apart(job: Job) -> None:
    result = plan(with_machine(job, travel_x=1700.0))
    assert result.machine is not None
    assert {f"clamping-{number}-" for number in (1, 2)} <= {program.name[3:14] for program in result.machine.programs}
