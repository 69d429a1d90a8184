"""Steel sections as published: rows of sizes and properties, and what unlisted sizes are computed with."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal, cast, get_args

from slabwright.findings import FROM_MEMORY
from slabwright.quantities import INCH, POUND, Units

SectionKind = Literal["square tube", "rectangular tube", "round tube", "flat", "angle", "square bar", "round bar"]
_POWERS = {
    "area": 2,
    "second_moment_y": 4,
    "second_moment_z": 4,
    "second_moment_least": 4,
    "modulus_y": 3,
    "modulus_z": 3,
    "plastic_modulus_y": 3,
    "plastic_modulus_z": 3,
    "torsion_constant": 4,
}
_FOOT = 12 * INCH


@dataclass(frozen=True)
class SteelRow:
    """One listed section, in mm and kg/m; None where the table has no such value.

    Attributes:
        name: as it is called here
        kind: its shape
        system: that it is sold in
        depth: first size, along which it is bent about y [mm]
        width: second size [mm]
        wall: nominal [mm]
        design_wall: that the table's area and stiffness are for [mm]
        root_radius: of an angle, between its legs [mm]
        mass: [kg/m]
        values: the other columns in mm2, mm3, mm4, by name
        printed: every column as it is printed, in the table's own units
        source: whose table, marked where a row was recalled
    """

    name: str
    kind: SectionKind
    system: Units
    depth: float
    width: float
    wall: float
    design_wall: float
    root_radius: float | None
    mass: float
    values: Mapping[str, float | None]
    printed: Mapping[str, str]
    source: str


@dataclass(frozen=True)
class Steel:
    """All of `steel_sections.csv` and `steel_sections.toml`.

    Attributes:
        rows: by name
        density: [kg/m3]
        modulus: E [MPa]
        shear_modulus: G [MPa]
        modulus_source: whose
        corners: outer radius of tube as a multiple of the wall: (wall up to [mm], multiple)
        inch_design_wall: share of the nominal wall that inch tube is counted with
        side: least and most of a tube's or angle's side [mm]
        wall: least and most wall [mm]
        solid: least and most size of flats and bars [mm]
        gauge: walls by gauge number [mm]
        supply: lengths that steel is sold in [mm], by system
        sources: title of each source, marked
    """

    rows: Mapping[str, SteelRow]
    density: float
    modulus: float
    shear_modulus: float
    modulus_source: str
    corners: tuple[tuple[float, float], ...]
    inch_design_wall: float
    side: tuple[float, float]
    wall: tuple[float, float]
    solid: tuple[float, float]
    gauge: Mapping[int, float]
    supply: Mapping[Units, tuple[float, ...]]
    sources: Mapping[str, str]


@cache
def steel() -> Steel:
    """The table of steel sections.

    Raises:
        ValueError: the table contradicts itself.
    """
    home = resources.files("slabwright.reference")
    table = tomllib.loads(home.joinpath("steel_sections.toml").read_text(encoding="utf-8"))
    sources = {key: _marked(entry["title"], entry["mark"]) for key, entry in table["sources"].items()}
    rows: dict[str, SteelRow] = {}
    for line in csv.DictReader(home.joinpath("steel_sections.csv").read_text(encoding="utf-8").splitlines()):
        row = _row(line, table["sources"])
        if row.name in rows:
            raise ValueError(f"steel_sections.csv: {row.name} stands twice")
        rows[row.name] = row
    corners = tuple((float(up_to), float(times)) for up_to, times in table["corners"]["outer"])
    if [up_to for up_to, _ in corners] != sorted(up_to for up_to, _ in corners):
        raise ValueError("steel_sections.toml: corners stand thinnest wall first")
    least_most = {
        key: (float(table["range"][key][0]), float(table["range"][key][1])) for key in ("side", "wall", "solid")
    }
    return Steel(
        rows=rows,
        density=table["steel"]["density"],
        modulus=table["steel"]["modulus"],
        shear_modulus=table["steel"]["shear_modulus"],
        modulus_source=_marked(table["steel"]["modulus_source"], table["steel"]["modulus_mark"]),
        corners=corners,
        inch_design_wall=table["design_wall"]["inch"],
        side=least_most["side"],
        wall=least_most["wall"],
        solid=least_most["solid"],
        gauge={int(number): wall * INCH for number, wall in table["gauge"].items() if number.isdigit()},
        supply={"metric": tuple(table["supply"]["metric"]), "inch": tuple(table["supply"]["inch"])},
        sources=sources,
    )


def _marked(title: str, mark: str) -> str:
    return title + (f", {FROM_MEMORY}" if mark == FROM_MEMORY else "")


def _row(line: Mapping[str, str], sources: Mapping[str, Any]) -> SteelRow:
    """One row; its mass must be that of its nominal area within some percent, or a figure was mistyped."""
    name, kind, system = line["name"], line["kind"], line["system"]
    if kind not in get_args(SectionKind) or system not in get_args(Units):
        raise ValueError(f"steel_sections.csv: {name}: kind {kind!r} or system {system!r} is unknown")
    inch = system == "inch"
    size = INCH if inch else 1.0
    values = {
        column: float(line[column]) * (INCH**power if inch else 10.0**power) if line[column] else None
        for column, power in _POWERS.items()
    }
    mass = float(line["mass"]) * (POUND / (_FOOT / 1000.0) if inch else 1.0)
    wall = float(line["wall"]) * size
    design_wall = float(line["design_wall"]) * size if line["design_wall"] else wall
    area = values["area"]
    if area is None or not 0.98 < mass / (area * wall / design_wall * 7.85e-3) < 1.03:
        raise ValueError(f"steel_sections.csv: {name}: mass and area do not belong together")
    return SteelRow(
        name=name,
        kind=cast(SectionKind, kind),
        system="inch" if inch else "metric",
        depth=float(line["depth"]) * size,
        width=float(line["width"]) * size,
        wall=wall,
        design_wall=design_wall,
        root_radius=float(line["root_radius"]) * size if line["root_radius"] else None,
        mass=mass,
        values=values,
        printed=dict(line),
        source=_marked(sources[line["source"]]["title"], line["mark"]),
    )
