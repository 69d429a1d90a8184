"""What differs between two sets of files: TOML by its keys, everything else by its size."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from slabwright.book.rows import Change
from slabwright.job.places import Key, written

ONLY_REMARKS = "the same values, other remarks or layout"


def changes(old: Mapping[str, bytes], new: Mapping[str, bytes]) -> tuple[Change, ...]:
    """Every difference, file by file and key by key.

    Args:
        old: files by name
        new: files by name
    """
    found: list[Change] = []
    for name in sorted(old.keys() | new.keys()):
        before, after = old.get(name), new.get(name)
        if before == after:
            continue
        is_toml = name.endswith(".toml")
        stated, states = _toml(before) if is_toml else None, _toml(after) if is_toml else None
        if stated is not None and states is not None:
            by_key = list(_by_key(name, stated, states))
            found += by_key or [Change(name, "", ONLY_REMARKS, ONLY_REMARKS)]
        else:
            found.append(Change(name, "", *_sizes(before, after)))
    return tuple(found)


def _toml(data: bytes | None) -> dict[Key, str] | None:
    """Each value of a TOML file as it would be typed, by its key; None where it cannot be read."""
    if data is None:
        return None
    try:
        return dict(_flat(tomllib.loads(data.decode("utf-8-sig").replace("\r\n", "\n")), ()))
    except (ValueError, RecursionError):
        return None


def _flat(value: Any, key: Key) -> Iterator[tuple[Key, str]]:
    """Values below tables and lists of tables."""
    if isinstance(value, dict) and (value or not key):
        for name, inner in value.items():
            yield from _flat(inner, (*key, name))
    elif isinstance(value, list) and value and all(isinstance(inner, dict) for inner in value):
        for number, inner in enumerate(value):
            yield from _flat(inner, (*key, number))
    else:
        yield key, _typed(value)


def _typed(value: Any) -> str:
    import tomlkit

    return str(tomlkit.item(value).as_string())


def _by_key(name: str, old: Mapping[Key, str], new: Mapping[Key, str]) -> Iterator[Change]:
    keys = [*old, *(key for key in new if key not in old)]
    for key in keys:
        if old.get(key) != new.get(key):
            yield Change(name, written(key), old.get(key), new.get(key))


def _sizes(old: bytes | None, new: bytes | None) -> tuple[str | None, str | None]:
    """How much a file held and holds, in words; of two texts also how many lines are in one alone."""
    lines = [None if data is None else _lines(data) for data in (old, new)]
    if lines[0] is None or lines[1] is None:
        return _size(old), _size(new)
    gone, came = (lines[0] - lines[1]).total(), (lines[1] - lines[0]).total()
    return f"{_size(old)}, {gone} of them gone", f"{_size(new)}, {came} of them new"


def _lines(data: bytes) -> Counter[str] | None:
    try:
        return Counter(data.decode("utf-8").splitlines())
    except UnicodeDecodeError:
        return None


def _size(data: bytes | None) -> str | None:
    if data is None:
        return None
    lines = _lines(data)
    count, what = (len(data), "byte") if lines is None else (lines.total(), "line")
    return f"{count} {what}" if count == 1 else f"{count} {what}s"
