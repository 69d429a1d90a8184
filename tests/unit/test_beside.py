"""Work in a second process: the same result, its words and its faults handed over."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from slabwright import load_job, plan
from slabwright.beside import Beside
from slabwright.findings import SlabwrightError
from slabwright.plan import as_json

EXAMPLES = Path(__file__).parents[2] / "examples"


def quiet(_: str) -> None: ...


@pytest.mark.parametrize("beside", [False, True])
def test_hands_over_result_and_words(beside: bool) -> None:
    said: list[str] = []

    def work(tell: Callable[[str], None]) -> int:
        tell("sawing")
        return 42

    assert Beside(work, said.append, beside=beside).result() == 42
    assert said == ["sawing"]


@pytest.mark.parametrize("beside", [False, True])
@pytest.mark.parametrize("fault", [SlabwrightError("shop.toml:3: no"), ValueError("no")])
def test_hands_over_faults(beside: bool, fault: Exception) -> None:
    def work(_: object) -> int:
        raise fault

    with pytest.raises(type(fault), match="no"):
        Beside(work, quiet, beside=beside).result()


def test_a_second_process_that_dies_is_told() -> None:
    from slabwright.beside import two_at_once

    if not two_at_once():
        pytest.skip("one core, or threads are running: no second process is started here")
    with pytest.raises(RuntimeError, match="before its work was done"):
        Beside(lambda _: os._exit(3), quiet, beside=True).result()


@pytest.mark.parametrize("name", ["reading-table", "hall-desk"])
def test_a_plan_is_the_same_with_and_without(name: str) -> None:
    job = load_job(EXAMPLES / name / "job.toml")
    assert as_json(plan(job, beside=True)) == as_json(plan(job))
