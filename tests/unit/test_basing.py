"""The base's plan as a whole: what stands at which name, and what hangs together."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from slabwright import load_job, plan
from slabwright.plan import as_json

READING_TABLE = Path(__file__).parents[2] / "examples" / "reading-table" / "job.toml"


@pytest.fixture(scope="module")
def base() -> dict[str, Any]:
    found: dict[str, Any] = as_json(plan(load_job(READING_TABLE)))["base"]
    return found


def test_names_that_scripts_rely_on(base: dict[str, Any]) -> None:
    assert {"low", "high"} <= base["height"].keys()
    assert {"x", "y"} == base["sway_stiffness"].keys()
    assert {"now", "long_term"} == base["sag"].keys()
    for name in ("mass", "sway_frequency", "tip_load", "paint_area"):
        assert base[name] > 0.0
    for name in ("parts", "bars", "welds"):
        assert base[name]


def test_every_part_is_cut_from_some_length(base: dict[str, Any]) -> None:
    cut: dict[str, int] = {}
    for bar in base["bars"]:
        for piece in bar["pieces"]:
            cut[piece["part"]] = cut.get(piece["part"], 0) + bar["times"]
    assert cut == {part["name"]: part["count"] for part in base["parts"]}


def test_every_welded_joint_bears_its_load(base: dict[str, Any]) -> None:
    loaded = [joint for joint in base["welds"]["joints"] if joint["used"] is not None]
    assert loaded
    assert all(0.0 < joint["used"] < 1.0 for joint in loaded)


def test_plates_have_a_hole_for_each_bolt_of_the_top(base: dict[str, Any]) -> None:
    held = {hole["name"] for plate in base["drill"]["plates"] for hole in plate["holes"]}
    stated = load_job(READING_TABLE).stated.top
    assert stated is not None
    assert held == {feature.name for feature in stated.features if feature.kind == "insert"}


def test_squareness_is_proven_three_ways(base: dict[str, Any]) -> None:
    assert {check["check"] for check in base["squareness"]["checks"]} == {"diagonals", "opposite sides", "rocking"}
