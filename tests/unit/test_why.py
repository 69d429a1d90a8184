"""Every figure of plan.json can say why."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from slabwright.accounts import split_path
from slabwright.findings import SlabwrightError
from slabwright.job import load_job
from slabwright.job.models import JobFile, ShopFile
from slabwright.plan import Plan, as_json, plan
from slabwright.why import PARTS, all_accounts, explain, shown

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("reading-table", "hall-desk", "window-bench")


@pytest.fixture(scope="module")
def plans() -> dict[str, Plan]:
    return {name: plan(load_job(EXAMPLES / name / "job.toml")) for name in NAMES}


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict):
        for key, item in value.items():
            yield from leaves(item, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from leaves(item, f"{path}[{index}]")
    else:
        yield path, value


@pytest.mark.parametrize("name", NAMES)
def test_every_number_of_the_plan_has_an_account(plans: dict[str, Plan], name: str) -> None:
    written = json.loads(json.dumps(as_json(plans[name])))
    known = {account.path: account for account in all_accounts(plans[name])}
    numbers = 0
    for part in PARTS:
        for path, value in leaves(written[part], part) if written[part] else ():
            assert path in known, path
            about = known[path].description
            assert about.meaning, path
            if isinstance(value, int | float) and not isinstance(value, bool):
                assert about.unit, path
                numbers += 1
    assert numbers > 200


def test_what_a_figure_rests_on_exists(plans: dict[str, Plan]) -> None:
    """Keys are keys of the models; figures are figures of the plan."""
    figures = {".".join(split_path(account.path)) for result in plans.values() for account in all_accounts(result)}
    groups = {name.rsplit(".", count)[0] for name in figures for count in range(1, 4)}
    for result in plans.values():
        for account in all_accounts(result):
            for name in account.description.rests_on:
                scope, _, path = name.partition(":")
                if scope in ("job", "shop"):
                    assert_key(JobFile if scope == "job" else ShopFile, path)
                else:
                    assert ".".join(split_path(name)) in figures | groups, f"{account.path} rests on {name}"


def assert_key(model: Any, path: str) -> None:
    for part in split_path(path):
        assert model is not None and part in model.model_fields, path
        annotation = model.model_fields[part].annotation
        inside = [annotation, *getattr(annotation, "__args__", ())]
        inside += [deeper for item in inside for deeper in getattr(item, "__args__", ())]
        model = next((item for item in inside if hasattr(item, "model_fields")), None)


def test_account_tells_value_place_and_what_would_change_it(plans: dict[str, Plan]) -> None:
    text = explain(plans["reading-table"], "slab.seat.thickness")
    lines = (EXAMPLES / "reading-table" / "job.toml").read_text().splitlines()
    line = next(number for number, line in enumerate(lines, 1) if line.startswith("edge_margin"))
    assert "slab.seat.thickness = " in text and f"12 mm   (job.toml, line {line})" in text
    assert "Change" in text and "Sure" in text


def test_default_is_told_as_a_default(plans: dict[str, Plan]) -> None:
    assert "default" in explain(plans["window-bench"], "slab.passes[0].level")
    assert "shop.toml, line" in explain(plans["reading-table"], "slab.passes.0.level")


def test_inches_where_the_job_is_in_inches(plans: dict[str, Plan]) -> None:
    assert '"' in explain(plans["hall-desk"], "slab.seat.thickness").splitlines()[0]


@pytest.mark.parametrize(
    ("value", "unit", "told", "in_inches"),
    [
        (630000.0, "mm3/min", "0.63 l a minute", "38 cu in a minute"),
        (403433.2, "N mm", "403\u00a0433 N mm", "403\u00a0433 N mm"),
        (12_500.0, "mm3", "12 ml", "0.8 cu in"),
        (12_500.0, "mm3 modulus", "12.5 cm³", "0.7628 in³"),
        (448_000.0, "mm4", "44.8 cm⁴", "1.076 in⁴"),
        (33.27, "N/mm", "33.3 N/mm", "190 lbf/in"),
        (1333.0, "N", "1\u00a0333 N", "299.7 lbf"),
        (235.0, "MPa", "235 MPa", "34.1 ksi"),
        (3e-23, "1", "less than 0.0001", "less than 0.0001"),
        (0.0, "1", "0", "0"),
        (0.0021, "deg", "0.002°", "0.002°"),
        (140.0, "um", "140 µm", "5.5 mil"),
        (8.915, "degC", "8.9 °C", "48 °F"),
        (62.63, "h", "62.6 h", "62.6 h"),
        (5.04, "min", "5.0 min", "5.0 min"),
        (96.63, "min", "97 min", "97 min"),
        (232.2, "min", "3 h 52 min", "3 h 52 min"),
    ],
)
def test_figures_are_read_without_powers_of_ten(value: float, unit: str, told: str, in_inches: str) -> None:
    assert (shown(value, unit, "metric", "EUR"), shown(value, unit, "inch", "EUR")) == (told, in_inches)


def test_a_stated_length_that_may_be_left_out_is_told_as_a_length(plans: dict[str, Plan]) -> None:
    assert "piece.length = 2200 mm   (job.toml" in explain(plans["reading-table"], "top.placement.thickness")


def test_group_lists_its_figures(plans: dict[str, Plan]) -> None:
    lines = explain(plans["reading-table"], "slab.moisture").splitlines()
    assert len(lines) == 9 and all(line.startswith("slab.moisture.") for line in lines)


@pytest.mark.parametrize(
    "path", ["slab.seat.thicknes", "", "slab.seat.thickness.more", "x" * 5000, "slab.passes[99].level"]
)
def test_no_such_figure(plans: dict[str, Plan], path: str) -> None:
    with pytest.raises(SlabwrightError, match="no figure"):
        explain(plans["reading-table"], path)
