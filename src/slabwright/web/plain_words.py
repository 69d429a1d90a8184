"""Words of the files in the words of the pages: keys by their questions, errors without file and line."""

from __future__ import annotations

import re
from functools import cache
from typing import Any, Literal

from slabwright.job.keys_page import kinds_of, table_of
from slabwright.job.schema import job_schema, shop_schema

File = Literal["job", "shop"]
FILES: tuple[File, ...] = ("job", "shop")
_PLACE = re.compile(
    r"^(?:(?P<file>job|shop)\.toml(?::\d+)?: )?(?P<key>[a-z_]+(?:\[\d+\]|\.[a-z_]+)*): (?P<wrong>.+)$", re.DOTALL
)
_INDEX = re.compile(r"\[(\d+)\]")
_TYPED = (
    (", without quotes", ""),
    ("true or false", "yes or no"),
    ("must be text in quotes, such as", "must be words, such as"),
    ("must be a point: [x, y]", "must be a point: x, y"),
    ("; add it", "; state it"),
)
"""How something is written in a file, and how the same is typed on a page."""


@cache
def labels(file: File) -> dict[str, str]:
    """What each key and table of a file is called on the pages, by its path without numbers."""
    schema = job_schema() if file == "job" else shop_schema()
    found: dict[str, str] = {}

    def walk(parts: dict[str, Any], above: str, titles: tuple[str, ...]) -> None:
        for name, part in parts.items():
            path = f"{above}.{name}" if above else name
            told = name.replace("_", " ")
            inner = table_of(schema, part)
            tables = (
                [inner[0]]
                if inner
                else [schema["$defs"][one["$ref"].removeprefix("#/$defs/")] for one in kinds_of(part)]
            )
            if tables:
                found[path] = _called(titles, told)
                for table in tables:
                    walk(table["properties"], path, (*titles, told))
            else:
                found[path] = f"{_called((), ', '.join(titles))}: {told}" if titles else _called((), told)

    walk(schema["properties"], "", ())
    return found


def _called(titles: tuple[str, ...], name: str) -> str:
    told = ", ".join((*titles, name))
    return told[:1].upper() + told[1:]


def label_of(key: str) -> tuple[File, str] | None:
    """Which file a key belongs to, and what it is called; None where it is none.

    Args:
        key: such as `slab.lay.supports` or `delivery.steps[1].width`
    """
    plain = _INDEX.sub("", key)
    for file in FILES:
        if plain in labels(file):
            table, colon, name = labels(file)[plain].partition(": ")
            numbers = ".".join(str(int(one) + 1) for one in _INDEX.findall(key))
            return file, f"{table} {numbers}{colon}{name}" if numbers else labels(file)[plain]
    return None


_BOUNDS = {"from": "at least", "above": "more than", "to": "at most", "below": "less than"}
_BOUND = re.compile(r"\b(from|above|to|below) (-?[0-9.]+(?:e[+-]?[0-9]+)?)")


_ENDLESS = 1e5
"""A bound that nobody comes near needs no words."""


def taken_words(takes: str) -> str:
    """What a question takes, as it is said beside it.

    Args:
        takes: as the list of all keys has it, such as `number above 0 below 150`
    """
    if takes.startswith("list: "):
        inner = "" if " or " in takes else taken_words(takes.removeprefix("list: "))
        return f"one or more, each {inner}" if inner else "one or more"
    said = takes.replace("length above 0", "a length").replace("weight above 0", "a weight")
    said = said.replace("length from 0", "a length, or 0").replace("point [x, y]", "x, y")
    if " or text" in said:
        return ""  # its own words say how it is written
    bounds = [f"{_BOUNDS[found[1]]} {found[2]}" for found in _BOUND.finditer(said) if float(found[2]) < _ENDLESS]
    said = _BOUND.sub("", said).strip()
    if said in ("number", "whole number"):
        said = f"a {said}"
    elif said in ("length", "text"):
        said = "a length" if said == "length" else ""
    return ", ".join([said, " and ".join(bounds)]) if said and bounds else said or " and ".join(bounds)


def called(key: str) -> str:
    """What a key is called on the pages; the key itself where it is none that is known."""
    known = label_of(key)
    return known[1] if known else key


def key_in(error: str) -> str | None:
    """The key that an error is about; None where it names none."""
    found = _PLACE.match(error)
    return found["key"] if found and label_of(found["key"]) else None


def told_plainly(error: str) -> str:
    """An error of a file as it is told on a page: what the question is called, and its key for those who write files."""
    found = _PLACE.match(error)
    known = label_of(found["key"]) if found else None
    if found is None or known is None:
        return error
    wrong = found["wrong"]
    for written, typed in _TYPED:
        wrong = wrong.replace(written, typed)
    return f"{known[1]} ({found['key']}): {wrong}"
