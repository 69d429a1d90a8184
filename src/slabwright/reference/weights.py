"""How sure a weight is, and what small steel weighs."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from functools import cache
from importlib import resources

from slabwright.findings import FROM_MEMORY


@dataclass(frozen=True)
class Weighed:
    """A figure and whose it is, marked where it was recalled."""

    value: float
    source: str


@dataclass(frozen=True)
class Weights:
    """All of `weights.toml`; spreads are standard deviations as a share of the weight unless said.

    Attributes:
        density: of one species
        density_unknown: where the species has none in the table
        moisture_read: of meter readings [% moisture content]
        moisture_unknown: where none was taken [% moisture content]
        readings: of a volume from readings
        planned: of a volume from sizes as sold
        scales: of a slab weighed
        steel: of tubes and plates
        epoxy: of a fill
        steel_density: [kg/m3]
        leveller: one [kg]
    """

    density: Weighed
    density_unknown: Weighed
    moisture_read: Weighed
    moisture_unknown: Weighed
    readings: Weighed
    planned: Weighed
    scales: Weighed
    steel: Weighed
    epoxy: Weighed
    steel_density: Weighed
    leveller: Weighed


@cache
def weights() -> Weights:
    """The table.

    Raises:
        ValueError: a figure is not above zero.
    """
    text = resources.files("slabwright.reference").joinpath("weights.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)

    def row(name: str) -> Weighed:
        found = table[name]
        if not found["value"] > 0.0:
            raise ValueError(f"weights.toml: {name}: value must be more than 0")
        return Weighed(found["value"], found["source"] + (f", {FROM_MEMORY}" if found["mark"] == FROM_MEMORY else ""))

    return Weights(**{field.name: row(field.name) for field in fields(Weights)})
