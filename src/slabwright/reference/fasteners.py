"""Fasteners and stiffeners: withdrawal equations, bolts with their washers, lengths and steel sections as sold."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from slabwright.findings import FROM_MEMORY
from slabwright.quantities import INCH, POUND, Units

STANDARD_GRAVITY = 9.80665
"""m/s2, exact (CGPM 1901): makes pounds into newtons."""
_SAME_THREAD = 0.03


@dataclass(frozen=True)
class Withdrawal:
    """One kind of fastener's withdrawal equation, p = factor G^g D^d L in newtons and millimetres.

    Attributes:
        safety: the most that it holds over what it may be loaded with
        factor_inch: the same factor for pounds and inches
        allowed_inch: of what may be loaded, pounds and inches, where a standard says it
        source: whose equation, marked where it was recalled
    """

    kind: str
    factor: float
    gravity_power: float
    diameter_power: float
    safety: float
    factor_inch: float
    allowed_inch: float | None
    source: str


@dataclass(frozen=True)
class Washer:
    """A washer [mm]."""

    name: str
    outer: float
    thickness: float


@dataclass(frozen=True)
class Bolt:
    """A bolt's thread [mm] and the washers that go with it, smallest first."""

    name: str
    system: Units
    diameter: float
    washers: tuple[Washer, ...]
    source: str


@dataclass(frozen=True)
class Section:
    """A steel section that lies across the grain [mm]: a plate, a let-in channel or an angle."""

    name: str
    system: Units
    kind: str
    width: float
    height: float
    wall: float | None


@dataclass(frozen=True)
class Fasteners:
    """All of `fasteners.toml`, lengths in mm."""

    withdrawal: Mapping[str, Withdrawal]
    end_grain: float
    edge: float
    end: float
    between_along: float
    engagement: float
    spread: float
    lengths: Mapping[Units, tuple[float, ...]]
    length_sources: Mapping[Units, str]
    bolts: tuple[Bolt, ...]
    steel_modulus: float
    steel_yield: float
    steel_safety: float
    steel_source: str
    across_tangential: tuple[float, float, float]
    across_radial: tuple[float, float, float]
    across_source: str
    sections: tuple[Section, ...]
    section_source: str


@cache
def fasteners() -> Fasteners:
    """The table of fasteners.

    Raises:
        ValueError: the table contradicts itself.
    """
    table = tomllib.loads(
        resources.files("slabwright.reference").joinpath("fasteners.toml").read_text(encoding="utf-8")
    )
    scale: dict[Units, float] = {"metric": 1.0, "inch": INCH}
    kinds = {kind: _withdrawal(kind, row) for kind, row in table["withdrawal"].items()}
    bolts = tuple(
        Bolt(
            name=row["name"],
            system=row["system"],
            diameter=row["diameter"] * scale[row["system"]],
            washers=tuple(
                Washer(name, outer * scale[row["system"]], thick * scale[row["system"]])
                for name, outer, thick in row["washers"]
            ),
            source=table["washer_sources"][row["system"]],
        )
        for row in table["bolts"]
    )
    for bolt in bolts:
        if list(bolt.washers) != sorted(bolt.washers, key=lambda washer: washer.outer):
            raise ValueError(f"fasteners.toml: the washers of {bolt.name} do not stand smallest first")
    lengths: dict[Units, tuple[float, ...]] = {
        system: tuple(value * scale[system] for value in table["lengths"][system]) for system in scale
    }
    for system, values in lengths.items():
        if list(values) != sorted(set(values)):
            raise ValueError(f"fasteners.toml: the {system} lengths do not rise")
    tangential, radial = (tuple(table["across_the_grain"][way]) for way in ("tangential", "radial"))
    for share in (tangential, radial):
        if not share[1] <= share[0] <= share[2]:
            raise ValueError("fasteners.toml: across_the_grain stands as likely, least, most")
    return Fasteners(
        withdrawal=kinds,
        end_grain=table["end_grain"]["share"],
        edge=table["distances"]["edge"],
        end=table["distances"]["end"],
        between_along=table["distances"]["between_along"],
        engagement=table["engagement"]["least"],
        spread=table["spread"]["share"],
        lengths=lengths,
        length_sources={"metric": table["lengths"]["metric_source"], "inch": table["lengths"]["inch_source"]},
        bolts=bolts,
        steel_modulus=table["steel"]["modulus"],
        steel_yield=table["steel"]["yield_strength"],
        steel_safety=table["steel"]["safety"],
        steel_source=table["steel"]["source"],
        across_tangential=tangential,
        across_radial=radial,
        across_source=table["across_the_grain"]["source"],
        sections=tuple(
            Section(
                name=row["name"],
                system=row["system"],
                kind=row["kind"],
                width=row["width"] * scale[row["system"]],
                height=row["height"] * scale[row["system"]],
                wall=row["wall"] * scale[row["system"]] if "wall" in row else None,
            )
            for row in table["stiffeners"]
        ),
        section_source=table["stiffener_source"]["source"],
    )


def _withdrawal(kind: str, row: Mapping[str, Any]) -> Withdrawal:
    """One equation; its factor in newtons must be that in pounds, and the allowed one the most over the safety factor."""
    per_inch = row["factor_inch"] * POUND * STANDARD_GRAVITY / INCH ** (row["diameter_power"] + 1.0)
    if abs(per_inch / row["factor"] - 1.0) > 5e-4:
        raise ValueError(
            f"fasteners.toml: {kind}: factor {row['factor']} is not factor_inch in newtons ({per_inch:.2f})"
        )
    allowed = row.get("allowed_inch")
    if allowed is not None and abs(row["factor_inch"] / row["safety"] / allowed - 1.0) > 5e-3:
        raise ValueError(f"fasteners.toml: {kind}: allowed_inch is not factor_inch over safety")
    return Withdrawal(
        kind=kind,
        factor=row["factor"],
        gravity_power=row["gravity_power"],
        diameter_power=row["diameter_power"],
        safety=row["safety"],
        factor_inch=row["factor_inch"],
        allowed_inch=allowed,
        source=row["source"] + (f", {FROM_MEMORY}" if row["mark"] == FROM_MEMORY else ""),
    )


def bolt(diameter: float) -> Bolt | None:
    """The bolt of a diameter [mm], to 0.03 mm; None where the table has none."""
    near = min(fasteners().bolts, key=lambda known: abs(known.diameter - diameter))
    return near if abs(near.diameter - diameter) <= _SAME_THREAD else None
