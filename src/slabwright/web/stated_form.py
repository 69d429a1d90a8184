"""Every key of the job file and the shop file as plain questions, made from the published schemas so that none is left out."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, Literal

from pydantic import Field

from slabwright.job.keys_page import default_of, kinds_of, table_of, takes
from slabwright.job.schema import job_schema, shop_schema
from slabwright.web.models import Model
from slabwright.web.plain_words import taken_words

File = Literal["job", "shop"]
_FEW = 12
"""Choices of a list that still stand under the question; longer ones would hide it."""


class StatedField(Model):
    """One question."""

    key: str = Field(description="of the file, such as `machine.cutter_diameter`; in a new row its own name")
    label: str
    words: str = Field(description="what it says")
    kind: Literal["length", "number", "words", "choice", "yes", "list"] = Field(description="how its answer is typed")
    of: Literal["length", "number", "words", "point"] = Field("words", description="what a list holds")
    takes: str = Field(description="what can be typed, in words")
    answer: str = Field("", description="as it is typed now; nothing where it is left out")
    choices: list[str] = Field(default_factory=list)
    otherwise: str = Field("", description="what holds where it is left out")
    must: bool = Field(False, description="whether its table cannot do without it")


class StatedRow(Model):
    """One table of a list."""

    key: str
    title: str
    fields: list[StatedField]
    tables: list[StatedTable]


class StatedFresh(Model):
    """What a new table of a list is asked."""

    kind: str = Field(description="the kind that it would be of; nothing where there is one kind only")
    words: str
    fields: list[StatedField]


class StatedTable(Model):
    """One table of a file, or a list of tables."""

    key: str
    title: str
    words: str = Field(description="what it is about")
    is_list: bool
    stated: int = Field(description="how many keys, or tables of a list, are stated")
    fields: list[StatedField] = Field(default_factory=list)
    tables: list[StatedTable] = Field(default_factory=list)
    rows: list[StatedRow] = Field(default_factory=list)
    fresh: list[StatedFresh] = Field(default_factory=list)


def stated_tables(data: bytes, file: File) -> list[StatedTable]:
    """All tables of a file with what it states of each.

    Args:
        data: the file; nothing where there is none
        file: which of the two
    """
    stated = tomllib.loads(data.decode("utf-8-sig").replace("\r\n", "\n"))
    schema = _schema(file)
    found = list(_tables(schema, schema["properties"], stated, ""))
    plain = list(_fields(schema, schema, stated, ""))
    if plain:
        head = StatedTable(
            key="",
            title="The file",
            words="what holds for all of it",
            is_list=False,
            stated=_count(plain),
            fields=plain,
        )
        found.insert(0, head)
    return found


@cache
def known_tables(file: File) -> frozenset[str]:
    """The names of a file's outermost tables."""
    schema = _schema(file)
    return frozenset(name for name, part in schema["properties"].items() if table_of(schema, part) or kinds_of(part))


@cache
def _schema(file: File) -> dict[str, Any]:
    return job_schema() if file == "job" else shop_schema()


def _tables(schema: dict[str, Any], parts: Mapping[str, Any], stated: Any, above: str) -> Iterator[StatedTable]:
    for name, part in parts.items():
        key = f"{above}.{name}" if above else name
        here = stated.get(name) if isinstance(stated, dict) else None
        found, kinds = table_of(schema, part), kinds_of(part)
        if found and not found[1]:
            table = found[0]
            fields = list(_fields(schema, table, here, key))
            inner = list(_tables(schema, table["properties"], here, key))
            yield StatedTable(
                key=key,
                title=_label(name),
                words=_words(part, table),
                is_list=False,
                stated=_count(fields) + sum(one.stated for one in inner),
                fields=fields,
                tables=inner,
            )
        elif found or kinds:
            options = [found[0]] if found else [_named(schema, option) for option in kinds]
            rows = here if isinstance(here, list) else []
            yield StatedTable(
                key=key,
                title=_label(name),
                words=_words(part, options[0] if found else {}),
                is_list=True,
                stated=len(rows),
                rows=[_row(schema, options, row, f"{key}[{number}]", number) for number, row in enumerate(rows)],
                fresh=[one for option in options for one in _fresh(schema, option, bool(kinds))],
            )


def _row(schema: dict[str, Any], options: list[dict[str, Any]], row: Any, key: str, number: int) -> StatedRow:
    kind = row.get("kind") if isinstance(row, dict) else None
    table = next((one for one in options if kind in _kind_words(one)), options[0])
    plain = [str(value) for value in row.values() if isinstance(value, str | int | float)]
    called = [row[name] for name in ("name", "kind", "what", "operation") if isinstance(row.get(name), str)] or plain
    return StatedRow(
        key=key,
        title=", ".join([str(number + 1), *called[:2]]),
        fields=list(_fields(schema, table, row, key)),
        tables=list(_tables(schema, table["properties"], row, key)),
    )


def _fresh(schema: dict[str, Any], table: dict[str, Any], several: bool) -> Iterator[StatedFresh]:
    fields = sorted(_fields(schema, table, None, ""), key=lambda one: not one.must)
    for kind in _kind_words(table) if several else [""]:
        asked = [one for one in fields if one.key != "kind"] if kind else fields
        yield StatedFresh(kind=kind, words=_words({}, table), fields=asked)


def _kind_words(table: dict[str, Any]) -> list[str]:
    """The kinds that a table of a list of several kinds stands for."""
    kind = table["properties"].get("kind", {})
    return [str(one) for one in kind.get("enum", [kind["const"]] if "const" in kind else [])]


def _fields(schema: dict[str, Any], table: dict[str, Any], stated: Any, above: str) -> Iterator[StatedField]:
    for name, part in table["properties"].items():
        if table_of(schema, part) or kinds_of(part) or "const" in part:
            continue
        answer = stated.get(name) if isinstance(stated, dict) else None
        yield _field(part, name, f"{above}.{name}" if above else name, answer, name in table.get("required", []))


def _field(part: dict[str, Any], name: str, key: str, answer: object, must: bool) -> StatedField:
    kind, of, choices = _kind(part)
    return StatedField(
        key=key,
        label=_label(name),
        words=part.get("description", "").replace("`", ""),
        kind=kind,
        of=of,
        takes="" if kind in ("choice", "yes") else taken_words(takes(part).replace("`", "")),
        answer=_typed(answer, of),
        choices=choices,
        otherwise=default_of(part).replace("`", ""),
        must=must,
    )


def _kind(part: dict[str, Any]) -> tuple[Any, Any, list[str]]:
    """How the answer of a key is typed, what a list holds, and what can be chosen."""
    if "enum" in part:
        return "choice", "words", [str(one) for one in part["enum"]]
    if part.get("type") == "boolean":
        return "yes", "words", []
    if "prefixItems" in part:
        return "list", "length", []
    if part.get("type") == "array":
        items = part["items"]
        if "prefixItems" in items:
            return "list", "point", []
        kind, _, choices = _kind(items)
        return "list", "words" if kind == "choice" else kind, choices if len(choices) <= _FEW else []
    if "$ref" in part:
        return "length", "words", []
    if part.get("type") in ("number", "integer") or any(_kind(one)[0] == "number" for one in part.get("anyOf", [])):
        return "number", "words", []
    return "words", "words", []


def _typed(value: object, of: str) -> str:
    """A value as it is typed: words one in a line, points between semicolons, figures between commas."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        between = {"words": "\n", "point": "; "}.get(of, ", ")
        return between.join(_typed(one, "length") for one in value)
    return f"{value:.12g}" if isinstance(value, float) else str(value)


def _count(fields: list[StatedField]) -> int:
    return sum(bool(field.answer) for field in fields)


def _named(schema: dict[str, Any], option: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = schema["$defs"][option["$ref"].removeprefix("#/$defs/")]
    return found


def _label(name: str) -> str:
    words = name.replace("_", " ")
    return words[:1].upper() + words[1:]


def _words(part: dict[str, Any], table: dict[str, Any]) -> str:
    """What a table is about: its description without the table's own name before it."""
    own = re.sub(r"^`[^`]*`: ", "", table.get("description", ""))
    return (own or part.get("description", "")).replace("`", "")
