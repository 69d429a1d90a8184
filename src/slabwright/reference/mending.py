"""How defects of a slab are mended: sizes, shares and hours of the trade, each with its source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

from slabwright.findings import FROM_MEMORY

_SHARES = ("missing", "pouring.working_share", "pouring.ratio_error", "key.width", "key.waist", "key.depth")


@dataclass(frozen=True)
class MendingFigures:
    """All of `mending.toml`.

    Attributes:
        missing: share of a defect's shape that is empty, by kind; `check_through` for a check that goes through
        order: ways of mending by kind of defect, the first that fits is recommended
        width: `thin_most`, `fill_least` of a check [mm]
        key: shares of a bow tie; `spacing_most` and `from_length` [mm]
        thin: `coats`; `soak` of each [mm]
        cut: `beyond` [mm], `share_most`, `thickness_most` [mm]
        pouring: `working_share`, `ratio_error`, `hot_batch` [kg], `attended` [l], `scale` [g]
        hours: of work by its kind
        days: `glue`
        sources: whose figures each table's are
    """

    missing: Mapping[str, float]
    order: Mapping[str, tuple[str, ...]]
    width: Mapping[str, float]
    key: Mapping[str, float]
    thin: Mapping[str, float]
    cut: Mapping[str, float]
    pouring: Mapping[str, float]
    hours: Mapping[str, float]
    days: Mapping[str, float]
    sources: Mapping[str, str]


@cache
def mending_figures() -> MendingFigures:
    """The table of mending.

    Raises:
        ValueError: a figure is negative, or a share more than the whole.
    """
    text = resources.files("slabwright.reference").joinpath("mending.toml").read_text(encoding="utf-8")
    tables = tomllib.loads(text)
    numbers: dict[str, dict[str, float]] = {}
    for name, rows in tables.items():
        numbers[name] = {key: float(value) for key, value in rows.items() if isinstance(value, int | float)}
        for key, value in numbers[name].items():
            share = name in _SHARES or f"{name}.{key}" in _SHARES
            if value < 0.0 or (share and not 0.0 < value <= 1.0):
                raise ValueError(f"mending.toml: {name}: {key} must be {'a share' if share else '0 or more'}")
    sources = {}
    for name, rows in tables.items():
        marked = rows["mark"] == FROM_MEMORY and FROM_MEMORY not in rows["source"]
        sources[name] = rows["source"] + (f", {FROM_MEMORY}" if marked else "")
    return MendingFigures(
        missing=numbers["missing"],
        order={kind: tuple(ways) for kind, ways in tables["order"].items() if isinstance(ways, list)},
        width=numbers["width"],
        key=numbers["key"],
        thin=numbers["thin"],
        cut=numbers["cut"],
        pouring=numbers["pouring"],
        hours=numbers["hours"],
        days=numbers["days"],
        sources=sources,
    )
