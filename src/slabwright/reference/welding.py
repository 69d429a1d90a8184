"""What welds are sized, weighed and timed with: least fillets, strength, fit-up, deposit."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from slabwright.quantities import INCH, Units


@dataclass(frozen=True)
class Process:
    """A way to weld.

    Attributes:
        efficiency: share of the filler that ends up in the seam
        rate: filler laid per hour of arc [kg/h]
        arc: share of the welding time that the arc burns
        low_hydrogen: whether the thinner part rules the least fillet; else the thicker
    """

    efficiency: float
    rate: float
    arc: float
    low_hydrogen: bool


@dataclass(frozen=True)
class Welding:
    """All of `welding.toml`; lengths in mm.

    Attributes:
        fillets: (thickness up to, least leg, thickness up to [in], least leg [in]); 0: no upper limit
        ultimate: of S235 [MPa]
        correlation: of the weld
        factor: partial factor of welds
        load_factor: by which loads are multiplied
        gap: least and most before welding
        through: wall that is melted through with square edges
        land: left of a bevelled edge
        bevel: of each edge [degrees]
        flare: throat over corner radius: gas-shielded
        flare_stick: the same with stick
        reinforcement: height and width beyond the gap of what is ground off
        convexity: more than a flat fillet, share
        stitch: length and pitch
        tack: length
        thin_wall: below this a tube burns through easily
        grinding: [min/m]
        grommet: its wall
        opening_share: greatest opening over the tube's side
        vent: diameter
        edge: least steel at an edge over the hole's width
        between: least steel between holes over the hole's width
        processes: by name
        sources: by table, marked
    """

    fillets: tuple[tuple[float, float, float, float], ...]
    ultimate: float
    correlation: float
    factor: float
    load_factor: float
    gap: tuple[float, float]
    through: float
    land: float
    bevel: float
    flare: float
    flare_stick: float
    reinforcement: tuple[float, float]
    convexity: float
    stitch: tuple[float, float]
    tack: float
    thin_wall: float
    grinding: float
    grommet: float
    opening_share: float
    vent: float
    edge: float
    between: float
    processes: Mapping[str, Process]
    sources: Mapping[str, str]

    @property
    def strength(self) -> float:
        """Design shear strength of a throat [MPa]."""
        return throat_strength(self.ultimate, self.correlation, self.factor)

    def least_leg(self, thickness: float, units: Units) -> float:
        """Least leg of a fillet by the thickness that rules [mm]."""
        for up_to, leg, _, leg_inch in self.fillets:
            if up_to == 0.0 or thickness <= up_to + 1e-6:
                return leg if units == "metric" else leg_inch * INCH
        raise ValueError("welding.toml: the last row of least fillets has an upper limit")


def throat_strength(ultimate: float, correlation: float, factor: float) -> float:
    """Design shear strength of a fillet's throat, fu / (sqrt 3 beta gamma) [MPa] (EN 1993-1-8, 4.5.3.3, from memory)."""
    return ultimate / (math.sqrt(3.0) * correlation * factor)


@cache
def welding() -> Welding:
    """The table of welding.

    Raises:
        ValueError: a figure cannot be.
    """
    text = resources.files("slabwright.reference").joinpath("welding.toml").read_text(encoding="utf-8")
    table: dict[str, Any] = tomllib.loads(text)
    rows = tuple(tuple(float(value) for value in row) for row in table["minimum_fillet"]["rows"])
    limits = [row[0] for row in rows[:-1]]
    if limits != sorted(limits) or rows[-1][0] != 0.0 or any(len(row) != 4 for row in rows):
        raise ValueError("welding.toml: minimum_fillet: rows stand thinnest first, the last one without limit")
    processes = {name: Process(**entry) for name, entry in table["processes"].items()}
    for name, process in processes.items():
        if not (0.0 < process.efficiency <= 1.0 and process.rate > 0.0 and 0.0 < process.arc <= 1.0):
            raise ValueError(f"welding.toml: process {name!r}: shares are from 0 to 1 and the rate is above 0")
    gap = (table["gap"]["least"], table["gap"]["most"])
    if not 0.0 < gap[0] <= gap[1]:
        raise ValueError("welding.toml: gap: least is above 0 and not more than most")
    return Welding(
        fillets=tuple((row[0], row[1], row[2], row[3]) for row in rows),
        ultimate=table["strength"]["ultimate"],
        correlation=table["strength"]["correlation"],
        factor=table["strength"]["factor"],
        load_factor=table["load_factor"]["value"],
        gap=gap,
        through=table["square_groove"]["through"],
        land=table["square_groove"]["land"],
        bevel=table["square_groove"]["bevel"],
        flare=table["flare"]["gas_shielded"],
        flare_stick=table["flare"]["stick"],
        reinforcement=(table["reinforcement"]["height"], table["reinforcement"]["beyond"]),
        convexity=table["convexity"]["value"],
        stitch=(table["stitch"]["length"], table["stitch"]["pitch"]),
        tack=table["tack"]["length"],
        thin_wall=table["thin_wall"]["value"],
        grinding=table["grinding"]["minutes"],
        grommet=table["opening"]["grommet"],
        opening_share=table["opening"]["share"],
        vent=table["opening"]["vent"],
        edge=table["hole"]["edge"],
        between=table["hole"]["between"],
        processes=processes,
        sources={name: _marked(entry) for name, entry in table.items() if "source" in entry},
    )


def _marked(entry: Mapping[str, str]) -> str:
    return entry["source"] + (f", {entry['mark']}" if entry["mark"] != "read" else "")
