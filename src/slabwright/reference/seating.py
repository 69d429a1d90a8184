"""Sizes of people at tables."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType


@dataclass(frozen=True)
class Size:
    """A size of people at tables, by its names [mm], with its source, marked."""

    values: Mapping[str, float]
    source: str

    def __getitem__(self, name: str) -> float:
        """One figure [mm]."""
        return self.values[name]


@cache
def seating() -> Mapping[str, Size]:
    """The table, by what is measured.

    Raises:
        ValueError: a size is not above 0.
    """
    text = resources.files("slabwright.reference").joinpath("seating.toml").read_text(encoding="utf-8")
    found = {}
    for name, row in tomllib.loads(text).items():
        values = {key: float(value) for key, value in row.items() if key not in ("mark", "source")}
        if not all(value > 0.0 for value in values.values()):
            raise ValueError(f"seating.toml: {name}: a size is above 0")
        mark = "" if row["mark"] == "read" else f", {row['mark']}"
        found[name] = Size(MappingProxyType(values), f"{row['source']}{mark}")
    return MappingProxyType(found)
