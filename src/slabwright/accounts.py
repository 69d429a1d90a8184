"""Figures that can say why: the description each result field carries, and the account made from it.

A result is a frozen dataclass. Each field is declared with `figure(...)`, which states its unit, its meaning, the formula in
words, what it rests on, its source and what it would take to change it. `plan.json`, `slabwright why`, the pages and the
sheets' footnotes all read the same declaration.
"""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

_DESCRIPTION = "figure"
Rounds = Literal["", "down", "up"]


@dataclass(frozen=True)
class Description:
    """What a figure is, apart from its value.

    Attributes:
        unit: `mm`, `mm2`, `mm3` (a volume), `mm3 modulus` (of a section), `mm4`, `deg`, `kg`, `N`, `N/mm`, `MPa`, `min`, `day`,
            `%`, `money`, `1` (a number without unit) or nothing (words, lists)
        meaning: one line in the bench's words
        how: the formula in words, or the method
        rests_on: paths of other figures in `plan.json`, and keys of the job file (`job:slab.species`) or of the shop file
            (`shop:machine.feed`)
        sure: how sure: the sibling field that bounds it, or words
        source: publication, `common practice`, `from memory`, or empty for plain arithmetic
        change: what it would take to change it
        rounds: `down` where the figure is promised at least, `up` where it is promised at most: it is told so that it stays
            true; nothing: to the nearest
    """

    unit: str
    meaning: str
    how: str = ""
    rests_on: tuple[str, ...] = ()
    sure: str = ""
    source: str = ""
    change: str = ""
    rounds: Rounds = ""


def figure(
    unit: str,
    meaning: str,
    *,
    how: str = "",
    rests_on: Sequence[str] = (),
    sure: str = "",
    source: str = "",
    change: str = "",
    rounds: Rounds = "",
    default: Any = dataclasses.MISSING,
) -> Any:
    """Declare a field of a result: a dataclass field that knows its unit, its meaning and its account.

    Args:
        unit: see `Description.unit`
        meaning: one line in the bench's words
        how: the formula in words
        rests_on: figures and stated keys it follows from
        sure: bound or uncertainty
        source: whose rule or table
        change: what it would take to change it
        rounds: see `Description.rounds`
        default: the field's default, if it may be left out
    """
    description = Description(unit, meaning, how, tuple(rests_on), sure, source, change, rounds)
    return dataclasses.field(default=default, metadata={_DESCRIPTION: description})


def working(default: Any = dataclasses.MISSING) -> Any:
    """Declare a field that later stages need (arrays, polygons) but that is not written to `plan.json`."""
    return dataclasses.field(default=default, metadata={"working": True}, compare=False, repr=False)


@dataclass(frozen=True)
class Account:
    """The account of one figure: its value and all that its description says."""

    path: str
    value: Any
    description: Description


def as_plain(value: Any) -> Any:
    """Turn a result into what JSON can hold: dicts, lists, numbers (finite, 6 significant decimals), strings and null."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {
            field.name: as_plain(getattr(value, field.name))
            for field in dataclasses.fields(value)
            if not field.metadata.get("working")
        }
    if isinstance(value, Mapping):
        return {str(key): as_plain(item) for key, item in value.items()}
    if isinstance(value, np.ndarray):
        return as_plain(value.tolist())
    if isinstance(value, list | tuple):
        return [as_plain(item) for item in value]
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, float | np.floating):
        return round(float(value), 6) + 0.0 if math.isfinite(value) else None  # no negative zero
    if isinstance(value, int | np.integer):
        return int(value)
    return value if value is None or isinstance(value, str) else str(value)


def split_path(path: str) -> list[str]:
    """Split `slab.patch_front[3].thickness` (or `slab.patch_front.3.thickness`) into its parts."""
    return [part for part in re.split(r"[.\[\]]+", path) if part]


def accounts(value: Any, path: str = "", inherited: Description | None = None) -> Iterator[Account]:
    """Yield the account of every leaf figure below a result, in the order of `plan.json`.

    Args:
        value: a result, or a mapping or sequence of results
        path: the path of `value` in `plan.json`
        inherited: the description of the field that holds `value`
    """
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        for field in dataclasses.fields(value):
            if not field.metadata.get("working"):
                here = f"{path}.{field.name}" if path else field.name
                yield from accounts(getattr(value, field.name), here, field.metadata.get(_DESCRIPTION, inherited))
    elif isinstance(value, Mapping):
        for key, item in value.items():
            yield from accounts(item, f"{path}.{key}" if path else str(key), inherited)
    elif isinstance(value, list | tuple | np.ndarray):
        for index, item in enumerate(value):
            yield from accounts(item, f"{path}[{index}]", inherited)
    else:
        yield Account(path, value, inherited or Description("", ""))
