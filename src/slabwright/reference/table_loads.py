"""What a table is loaded with where the job states nothing, and what its joints and wood are counted with."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from slabwright.findings import FROM_MEMORY


@dataclass(frozen=True)
class Ruled:
    """A figure and whose it is, marked where it was recalled."""

    value: float
    source: str


@dataclass(frozen=True)
class TableLoads:
    """All of `table_loads.toml`.

    Attributes:
        spread: laid on the whole top for good [kg/m2]
        edge: a person on an edge [N]
        push: at the top [N]
        dropped: how far the floor is low under one foot [mm]
        edge_line: how far in from the edge a tipping load stands [mm]
        creep: deflection after years over that at once
        shear_share: G over E along the grain
        slip: factor of density^1.5 d, per bolt [N/mm]
        pressed: width of pressed wood as a multiple of the insert's hole
        yields: stress at which the steel yields [MPa]
        margin: least yield stress over stress
        sway: stiffness at the top under which a table is felt to wobble [N/mm]
        sway_frequency: lowest that it should sway with [Hz]
    """

    spread: Ruled
    edge: Ruled
    push: Ruled
    dropped: Ruled
    edge_line: Ruled
    creep: Ruled
    shear_share: Ruled
    slip: Ruled
    pressed: Ruled
    yields: Ruled
    margin: Ruled
    sway: Ruled
    sway_frequency: Ruled


@cache
def table_loads() -> TableLoads:
    """The table of loads.

    Raises:
        ValueError: a figure is not above zero.
    """
    text = resources.files("slabwright.reference").joinpath("table_loads.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)

    def ruled(key: str, column: str = "value", divisor: float = 1.0) -> Ruled:
        row = table[key]
        if not row[column] > 0.0:
            raise ValueError(f"table_loads.toml: {key}: {column} must be more than 0")
        marked = row["mark"] == FROM_MEMORY and FROM_MEMORY not in row["source"]
        return Ruled(row[column] / divisor, row["source"] + (f", {FROM_MEMORY}" if marked else ""))

    return TableLoads(
        spread=ruled("spread"),
        edge=ruled("edge"),
        push=ruled("push"),
        dropped=ruled("dropped"),
        edge_line=ruled("edge_line"),
        creep=ruled("creep"),
        shear_share=ruled("shear_share"),
        slip=ruled("slip", divisor=table["slip"]["divisor"]),
        pressed=ruled("pressed"),
        yields=ruled("yield"),
        margin=ruled("margin"),
        sway=ruled("sway"),
        sway_frequency=ruled("sway", "frequency"),
    )
