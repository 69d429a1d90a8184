"""The published JSON Schemas of the job file and the shop file (draft 2020-12), for editors and other programs."""

from __future__ import annotations

import json
import re
from typing import Any

from pydantic import BaseModel

from slabwright.job.models import JobFile, ShopFile

DRAFT = "https://json-schema.org/draft/2020-12/schema"
_TYPED = {
    "type": "string",
    "pattern": "[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞]",
    "examples": ["1200", "1.2 m", "120 cm", "7' 6 1/2\"", "2 1/4 in", "8/4"],
}
_LENGTH = "A number in the file's own units, or a text with a unit, feet and inches, or lumber quarters."
_KINDS: dict[str, dict[str, Any]] = {
    "Length": {"title": "Length", "description": _LENGTH, "anyOf": [{"type": "number"}, _TYPED]},
    "LengthAboveZero": {
        "title": "Length above zero",
        "description": _LENGTH,
        "anyOf": [{"type": "number", "exclusiveMinimum": 0}, _TYPED],
    },
    "LengthFromZero": {
        "title": "Length from zero",
        "description": _LENGTH,
        "anyOf": [{"type": "number", "minimum": 0}, _TYPED],
    },
    "LengthOrMax": {
        "title": "Length, or max",
        "description": "A length above zero, or max: the most that can be had.",
        "anyOf": [{"const": "max"}, {"type": "number", "exclusiveMinimum": 0}, _TYPED],
    },
    "LengthOrThrough": {
        "title": "Length, or through",
        "description": "A length above zero, or through: from face to face.",
        "anyOf": [{"const": "through"}, {"type": "number", "exclusiveMinimum": 0}, _TYPED],
    },
    "MassAboveZero": {
        "title": "Weight above zero",
        "description": "A number in the file's own units (kg, or lb in an inch job), or a text with a unit.",
        "anyOf": [
            {"type": "number", "exclusiveMinimum": 0},
            {"type": "string", "pattern": "[0-9]", "examples": ["95 kg", "210 lb"]},
        ],
    },
}
_LIMITS = {"ge": "minimum", "gt": "exclusiveMinimum", "le": "maximum", "lt": "exclusiveMaximum"}
_LIMITS |= {"min_length": "minLength", "max_length": "maxLength"}


def job_schema() -> dict[str, Any]:
    """The JSON Schema of `job.toml`: every key with its title, description, default and what it takes."""
    return _published(JobFile, "Slabwright job file", "urn:slabwright:job-file")


def shop_schema() -> dict[str, Any]:
    """The JSON Schema of `shop.toml`."""
    return _published(ShopFile, "Slabwright shop file", "urn:slabwright:shop-file")


def schema_text(schema: dict[str, Any]) -> str:
    """A schema as it is written to its file."""
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def _published(model: type[BaseModel], title: str, name: str) -> dict[str, Any]:
    used: set[str] = set()
    body = _plain(model.model_json_schema(mode="validation"), used)
    for kind, table in body["$defs"].items():
        table["title"] = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", kind.replace("JobHead", "Job")).capitalize()
    tables = {key.replace("JobHead", "Job"): table for key, table in body.pop("$defs").items()}
    defs = dict(sorted((tables | {kind: _KINDS[kind] for kind in used}).items()))
    text = json.dumps({"$schema": DRAFT, "$id": name, **body, "title": title, "$defs": defs})
    published: dict[str, Any] = json.loads(text.replace("#/$defs/JobHead", "#/$defs/Job"))
    return published


def _plain(part: Any, used: set[str]) -> Any:
    """One part of a schema without what a TOML file cannot hold, and with each kind of length named."""
    if isinstance(part, list):
        return [_plain(item, used) for item in part]
    if not isinstance(part, dict):
        return part
    part = {_LIMITS.get(key, key): value for key, value in part.items()}
    if "published" in part:
        kind = part.pop("published")
        used.add(kind)
        part["$ref"] = f"#/$defs/{kind}"
    if isinstance(part.get("default"), dict) or ("default" in part and part["default"] is None):
        del part["default"]
    part.pop("discriminator", None)
    if "anyOf" in part:
        kept = [option for option in part["anyOf"] if option != {"type": "null"}]
        if len(kept) == 1:
            del part["anyOf"]
            part = {**kept[0], **part}
            return _plain(part, used)
        part["anyOf"] = kept
    if isinstance(part.get("properties"), dict):
        part["properties"] = {
            name: {"title": name.replace("_", " "), **{k: v for k, v in inner.items() if k != "title"}}
            for name, inner in ((name, _plain(inner, used)) for name, inner in part["properties"].items())
        }
        return {key: value if key == "properties" else _plain(value, used) for key, value in part.items()}
    return {key: _plain(value, used) for key, value in part.items()}
