"""What a piece is put together with: heights at which hands work well, spanners, torque, earth."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from slabwright.quantities import INCH

_ALIKE = 0.3
"""A bolt whose diameter differs by no more is that bolt [mm]."""


@dataclass(frozen=True)
class Head:
    """Spanner for a bolt's head: bolt's diameter and width across flats [mm], and its name."""

    diameter: float
    across: float
    name: str


@dataclass(frozen=True)
class Assembling:
    """All of `assembling.toml`; lengths in mm.

    Attributes:
        work: height at which hands work on bolts
        heavy: height from which a heavy piece is lifted off
        held: height at which two people hold a piece that they turn
        below: least room to reach bolts from below
        torque: T = torque x force x diameter
        hold_share: clamping force over what draws the insert out, likely
        slot_share: of that, for a bolt in a slot
        earth: greatest resistance of a bond [ohm]
        heads: spanners
        sources: of each table, by its name
    """

    work: float
    heavy: float
    held: float
    below: float
    torque: float
    hold_share: float
    slot_share: float
    earth: float
    heads: tuple[Head, ...]
    sources: dict[str, str]

    def head(self, thread: float) -> Head | None:
        """The spanner for a bolt's head; None where the table has none."""
        near = min(self.heads, key=lambda each: abs(each.diameter - thread))
        return near if abs(near.diameter - thread) <= _ALIKE else None


@cache
def assembling() -> Assembling:
    """The table."""
    table = tomllib.loads((resources.files("slabwright.reference") / "assembling.toml").read_text("utf-8"))
    heights, earth = table["heights"], table["earth"]
    unit = {"metric": 1.0, "inch": INCH}
    return Assembling(
        work=heights["work"],
        heavy=heights["heavy"],
        held=heights["held"],
        below=heights["below"],
        torque=table["torque"]["factor"],
        hold_share=table["torque"]["hold_share"],
        slot_share=table["torque"]["slot_share"],
        earth=earth["resistance"],
        heads=tuple(
            Head(row["diameter"] * unit[row["system"]], row["across"] * unit[row["system"]], row["name"])
            for row in table["heads"]
        ),
        sources={key: f"{table[key]['source']}, {table[key]['mark']}" for key in ("heights", "torque", "earth")},
    )
