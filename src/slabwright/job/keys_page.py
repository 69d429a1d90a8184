"""The page that lists every key of the job file and the shop file, made from the models so that it is never out of date."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from slabwright.job.schema import job_schema, shop_schema

_TAKES = {
    "Length": "length",
    "LengthAboveZero": "length above 0",
    "LengthFromZero": "length from 0",
    "LengthOrMax": "`max`, or length above 0",
    "LengthOrThrough": "`through`, or length above 0",
    "MassAboveZero": "weight above 0",
}
_OPENING = """\
# The job file and the shop file: every key

This page is made from the models; `python -m slabwright.job.publish` writes it anew.

A job is a folder with a `job.toml`; only `[job] title` must be stated. What is left out is left open, or has the default told
here; whatever rests on it waits, and says so. The shop's own figures stand once in `shop.toml`, beside the job or as
`slabwright/shop.toml` in your config folder (`~/.config`).

**Lengths** are typed as you like. A plain number is in the file's own units (`units = "metric"`: mm, `"inch"`: inches); a text
may be `"1.2 m"`, `"120 cm"`, `"2 1/4 in"`, `"7ft 6in"`, or lumber quarters, `"8/4"`. Inch marks want a backslash between double
quotes: `"7' 6 1/2\\""`; between single quotes they don't: `'47.5"'`.

**Files** that a job names stay in the job's folder. **Percent** are plain numbers: `8.5` is 8.5 %.
"""


def keys_page() -> str:
    """The page, in Markdown."""
    parts = [_OPENING, "## The job file, `job.toml`\n", *_tables(job_schema())]
    shop = "A job works without it. An inch job wants it to state its `units`; defaults below are in mm.\n"
    parts += ["## The shop file, `shop.toml`\n", shop, *_tables(shop_schema())]
    return "\n".join(parts)


def _tables(schema: dict[str, Any]) -> Iterator[str]:
    plain = {
        name: part for name, part in schema["properties"].items() if not (table_of(schema, part) or kinds_of(part))
    }
    if plain:
        yield _rows(schema, {"properties": plain, "required": []})
    for name, part in schema["properties"].items():
        found = table_of(schema, part)
        if found:
            yield from _one_table(schema, name, part, *found)


def _one_table(
    schema: dict[str, Any], path: str, part: dict[str, Any], table: dict[str, Any], is_list: bool
) -> Iterator[str]:
    header = f"[[{path}]]" if is_list else f"[{path}]"
    words = table["description"].partition(": ")[2] or f"{part['description']}."
    yield f"### `{header}`\n\n{words[:1].upper()}{words[1:]}\n"
    yield _rows(schema, table)
    for name, inner in table["properties"].items():
        found = table_of(schema, inner)
        if found:
            yield from _one_table(schema, f"{path}.{name}", inner, *found)
        yield from _tables_by_kind(schema, f"{path}.{name}", inner)


def _tables_by_kind(schema: dict[str, Any], path: str, part: dict[str, Any]) -> Iterator[str]:
    """A list whose tables differ by their `kind`: one part of the page for each."""
    kinds = kinds_of(part)
    if kinds:
        what = part["description"]
        yield f"### `[[{path}]]`\n\n{what[:1].upper()}{what[1:]}; each says its `kind`, and what follows from it.\n"
    for option in kinds:
        table = schema["$defs"][option["$ref"].removeprefix("#/$defs/")]
        kind = table["properties"]["kind"]
        names = " or ".join(f'`kind = "{word}"`' for word in kind.get("enum", [kind.get("const")]))
        yield f"#### {names}\n\n{table['description']}\n"
        yield _rows(schema, {**table, "properties": {k: v for k, v in table["properties"].items() if k != "kind"}})


def kinds_of(part: dict[str, Any]) -> list[dict[str, Any]]:
    """The kinds of table that a list may hold."""
    found: list[dict[str, Any]] = part.get("items", {}).get("oneOf", [])
    return found


def table_of(schema: dict[str, Any], part: dict[str, Any]) -> tuple[dict[str, Any], bool] | None:
    """The table, or list of tables, that a key holds."""
    inner = part.get("items", part)
    kind = inner.get("$ref", "").removeprefix("#/$defs/")
    if not kind or kind in _TAKES:
        return None
    return schema["$defs"][kind], "items" in part


def _rows(schema: dict[str, Any], table: dict[str, Any]) -> str:
    lines = ["| key | what it says | takes | if left out |", "|---|---|---|---|"]
    for name, part in table["properties"].items():
        if table_of(schema, part) or kinds_of(part):
            continue
        default = "must be stated" if name in table.get("required", []) else default_of(part)
        lines.append(f"| `{name}` | {part.get('description', '')} | {takes(part)} | {default} |")
    return "\n".join(lines) + "\n" if len(lines) > 2 else ""


def takes(part: dict[str, Any]) -> str:
    """What a key takes, in words."""
    if "$ref" in part:
        return _TAKES[part["$ref"].removeprefix("#/$defs/")]
    if "enum" in part:
        return ", ".join(f"`{word}`" for word in part["enum"])
    if "const" in part:
        return f"`{part['const']}`"
    if "anyOf" in part:
        return "text" if {"type": "string"} in part["anyOf"] else " or ".join(takes(option) for option in part["anyOf"])
    if "prefixItems" in part:
        return "point `[x, y]`"
    if part["type"] == "array":
        return f"list: {takes(part['items'])}"
    limits = {"minimum": "from", "exclusiveMinimum": "above", "maximum": "to", "exclusiveMaximum": "below"}
    bounds = [f"{word} {part[limit]:g}" for limit, word in limits.items() if limit in part]
    kinds = {"number": "number", "integer": "whole number", "boolean": "`true` or `false`", "string": "text"}
    return " ".join([kinds[part["type"]], *bounds])


def default_of(part: dict[str, Any]) -> str:
    """What holds where a key is left out, in words; nothing where nothing does."""
    default = part.get("default")
    if default is None or default == "":
        return ""
    if isinstance(default, bool):
        return f"`{str(default).lower()}`"
    if isinstance(default, list) and all(isinstance(item, str) for item in default):
        return ", ".join(f"`{item}`" for item in default)
    if isinstance(default, list):
        return f"{', '.join(f'{item:g}' for item in default)} mm"
    if isinstance(default, int | float):
        unit = "kg" if part.get("$ref", "").endswith("MassAboveZero") else "mm"
        return f"{default:g} {unit}" if "$ref" in part else f"{default:g}"
    return f"`{default}`"
