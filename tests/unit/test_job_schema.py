from __future__ import annotations

import datetime
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from slabwright.job.publish import published
from slabwright.job.schema import job_schema, shop_schema

ROOT = Path(__file__).parents[2]


def _as_json(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _as_json(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_as_json(item) for item in value]
    return value.isoformat() if isinstance(value, datetime.date) else value


def _valid(schema: dict[str, Any], text: str) -> bool:
    return bool(jsonschema.Draft202012Validator(schema).is_valid(_as_json(tomllib.loads(text))))


@pytest.mark.parametrize("name", sorted(published()))
def test_published_files_are_up_to_date(name: str) -> None:
    wanted = published()[name]
    assert (ROOT / name).read_text(encoding="utf-8") == wanted, "write them anew: python -m slabwright.job.publish"


@pytest.mark.parametrize("schema", [job_schema(), shop_schema()], ids=["job", "shop"])
def test_schemas_are_schemas_and_every_key_says_what_it_is(schema: dict[str, Any]) -> None:
    jsonschema.Draft202012Validator.check_schema(schema)
    tables = [schema, *(table for table in schema["$defs"].values() if "properties" in table)]
    keys = [(table["title"], name, key) for table in tables for name, key in table["properties"].items()]
    assert [(table, name) for table, name, key in keys if not (key.get("title") and key.get("description"))] == []
    assert "null" not in str(schema) and "'published'" not in str(schema)


@pytest.mark.parametrize(
    "file", sorted(ROOT.glob("examples/*/*.toml")), ids=lambda file: f"{file.parent.name}/{file.name}"
)
def test_example_files_fit_the_schema(file: Path) -> None:
    schema = shop_schema() if file.name == "shop.toml" else job_schema()
    assert _valid(schema, file.read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    ("text", "valid"),
    [
        ("", True),
        ("[piece]\nlength = 2200\nheight = \"29 1/2 in\"\nthickness = 'max'\n", True),
        ("[piece]\nthickness = '8/4'\n", True),
        ("[piece]\nlength = 'long'\n", False),
        ("[piece]\nlength = 0\n", False),
        ("[piece]\nlengths = 1\n", False),
        ("[slab]\n", False),
        ("[slab]\nspecies = 'ash'\ncut_from = -50\n[slab.lay]\nsupports = [1, '2 in']\n", True),
        ("[slab]\nspecies = 'ash'\n[[slab.defects]]\nkind = 'knot'\nat = [1]\n", False),
        ("[slab]\nspecies = 'ash'\n[[slab.defects]]\nkind = 'knot'\ndepth = 'through'\n", True),
        ("[fill]\nprice_per_litre = -1\n", False),
        ("[slab]\nspecies = 'ash'\n[slab.moisture]\ncore = [150]\n", False),
    ],
)
def test_the_job_schema_takes_what_the_job_file_takes(text: str, valid: bool) -> None:
    assert _valid(job_schema(), f'job = {{ title = "x", date = 2026-11-25, revision = 2 }}\n{text}') is valid


@pytest.mark.parametrize("text", ["[bed]\npads_along = 1\n", "[machine]\ndown_force = -1\n", "[epoxy]\nwaste = 5\n"])
def test_limits_are_in_the_shop_schema(text: str) -> None:
    assert not _valid(shop_schema(), text)
