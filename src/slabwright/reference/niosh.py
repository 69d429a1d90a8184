"""The revised NIOSH lifting equation: its constants, limits and tables, as the manual prints them."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Literal

from slabwright.quantities import Units

Duration = Literal["short", "moderate", "long"]
Coupling = Literal["good", "fair", "poor"]
DURATIONS: tuple[Duration, ...] = ("short", "moderate", "long")
COUPLINGS: tuple[Coupling, ...] = ("good", "fair", "poor")


@dataclass(frozen=True)
class Constants:
    """One of the manual's two sets: cm and kg, or in and lb.

    Attributes:
        load_constant: the limit where every multiplier is 1 [kg or lb]
        horizontal: least H; HM = horizontal / H
        horizontal_most: beyond it nothing may be lifted
        vertical_best: height of the hands at which VM is 1
        vertical_factor: VM = 1 - vertical_factor |V - vertical_best|
        vertical_most: beyond it nothing may be lifted
        distance_fixed: DM = distance_fixed + distance_share / D
        distance_share: of the same
        distance_least: a shorter travel counts as this
        distance_most: beyond it nothing may be lifted
        low: height below which the tables have their first column
    """

    load_constant: float
    horizontal: float
    horizontal_most: float
    vertical_best: float
    vertical_factor: float
    vertical_most: float
    distance_fixed: float
    distance_share: float
    distance_least: float
    distance_most: float
    low: float


@dataclass(frozen=True)
class LiftingTables:
    """All of `niosh.toml`.

    Attributes:
        source: the manual
        sets: the constants of each system of units
        asymmetry: AM = 1 - asymmetry A [1/deg]
        asymmetry_most: beyond it nothing may be lifted [deg]
        lifts: rows of Table 5 [1/min]
        frequency: its columns by duration: origin low, origin high
        coupling: Table 7 by coupling: grip low, grip high
        width: room between ankles and load where H is estimated, by units: low grip, high grip, what counts as low
        printed: cells of Tables 1 and 3 that differ from the formulas, by table, units and argument
        not_for: words of each condition under which the equation does not apply
    """

    source: str
    sets: dict[Units, Constants]
    asymmetry: float
    asymmetry_most: float
    lifts: tuple[float, ...]
    frequency: dict[Duration, tuple[tuple[float, ...], tuple[float, ...]]]
    coupling: dict[Coupling, tuple[float, float]]
    width: dict[Units, tuple[float, float, float]]
    printed: dict[tuple[str, Units, float], float]
    not_for: dict[str, str]


@cache
def lifting_tables() -> LiftingTables:
    """The tables.

    Raises:
        ValueError: a row is missing, a column has another length than Table 5's rows, or a multiplier is not within 0 and 1.
    """
    text = resources.files("slabwright.reference").joinpath("niosh.toml").read_text(encoding="utf-8")
    table = tomllib.loads(text)
    units: tuple[Units, Units] = ("metric", "inch")
    sets = {each: Constants(**{k: v for k, v in table[each].items() if k != "mark"}) for each in units}
    lifts = tuple(float(each) for each in table["frequency"]["lifts"])
    frequency = {
        each: (tuple(table["frequency"][each]["low"]), tuple(table["frequency"][each]["high"])) for each in DURATIONS
    }
    coupling = {each: (table["coupling"][each][0], table["coupling"][each][1]) for each in COUPLINGS}
    if list(lifts) != sorted(set(lifts)) or any(
        len(column) != len(lifts) for pair in frequency.values() for column in pair
    ):
        raise ValueError("niosh.toml: frequency: each column wants one multiplier for each row, and rows rise")
    shares = [
        *(m for pair in frequency.values() for column in pair for m in column),
        *(m for c in coupling.values() for m in c),
    ]
    if not all(0.0 <= each <= 1.0 for each in shares):
        raise ValueError("niosh.toml: a multiplier must lie within 0 and 1")
    return LiftingTables(
        source=table["source"],
        sets=sets,
        asymmetry=table["asymmetry"]["factor"],
        asymmetry_most=table["asymmetry"]["most"],
        lifts=lifts,
        frequency=frequency,
        coupling=coupling,
        width={
            each: (table["width"][each]["low"], table["width"][each]["high"], table["width"][each]["low_below"])
            for each in units
        },
        printed={(row["table"], row["units"], row["at"]): row["value"] for row in table["printed"]},
        not_for={row["when"]: row["words"] for row in table["not_for"]},
    )
