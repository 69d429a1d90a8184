"""Threads that are cut in steel: the drill before the tap, foot plates and weld-in bushes for levellers."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType

from slabwright.quantities import Units

_SAME = 0.02


@dataclass(frozen=True)
class Thread:
    """A thread [mm]: its diameter, pitch, and the drill before the tap."""

    name: str
    system: Units
    diameter: float
    pitch: float
    drill: float
    source: str


@dataclass(frozen=True)
class Tapping:
    """All of `tapping.toml`, lengths in mm.

    Attributes:
        threads: as sold
        plates: thicknesses of flats for foot plates, by the units of the job
        engagement: least thread in steel, as a share of the diameter
        bush_outside: of a weld-in bush, over the diameter
        bush_length: of a weld-in bush, over the diameter
    """

    threads: tuple[Thread, ...]
    plates: Mapping[Units, tuple[float, ...]]
    engagement: float
    bush_outside: float
    bush_length: float

    def thread(self, diameter: float) -> Thread | None:
        """The thread of a diameter; None where the table has none."""
        return next((row for row in self.threads if abs(row.diameter - diameter) < _SAME), None)

    def plate(self, diameter: float, units: Units) -> float:
        """The thinnest flat that holds a thread, or the thickest that there is [mm]."""
        wanted = self.engagement * diameter
        return next((thick for thick in self.plates[units] if thick >= wanted), self.plates[units][-1])


@cache
def tapping() -> Tapping:
    """The table.

    Raises:
        ValueError: a drill is not smaller than its thread, or leaves no thread.
    """
    table = tomllib.loads(resources.files("slabwright.reference").joinpath("tapping.toml").read_text(encoding="utf-8"))
    threads = []
    for row in table["thread"]:
        if not row["diameter"] - 1.3 * row["pitch"] < row["drill"] < row["diameter"]:
            raise ValueError(f"tapping.toml: {row['name']}: its drill leaves no thread")
        threads.append(
            Thread(
                row["name"],
                row["system"],
                row["diameter"],
                row["pitch"],
                row["drill"],
                f"{row['source']}, {row['mark']}",
            )
        )
    plates: dict[Units, tuple[float, ...]] = {
        "metric": tuple(table["foot_plate"]["metric"]),
        "inch": tuple(table["foot_plate"]["inch"]),
    }
    return Tapping(
        tuple(threads),
        MappingProxyType(plates),
        table["foot_plate"]["engagement"],
        table["bush"]["outside"],
        table["bush"]["length"],
    )
