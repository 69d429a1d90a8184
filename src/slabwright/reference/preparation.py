"""How surfaces are got ready: grits, steps and their minutes."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any, Literal

Driver = Literal["area", "grit", "length", "piece"]
_DRIVERS = ("area", "grit", "length", "piece")


@dataclass(frozen=True)
class StepRule:
    """A step of `preparation.toml`; minutes a square metre (area), a square metre and grit (grit), a metre, or in all (piece)."""

    name: str
    of: Literal["wood", "steel"]
    surface: str
    driven_by: Driver
    minutes: float
    how: str
    wait: float = 0.0
    sign_off: bool = False


@dataclass(frozen=True)
class PreparationRules:
    """All of `preparation.toml`: the ladder of grits, first and finest ones, and the steps."""

    ladder: tuple[int, ...]
    step: float
    wood_first: int
    finest_oil: int
    finest_paint: int
    ends_finer: int
    pockets: int
    steel_first: int
    scuff: int
    steps: tuple[StepRule, ...]
    source: str


@cache
def preparation_rules() -> PreparationRules:
    """The table of preparation.

    Raises:
        ValueError: a figure cannot be.
    """
    text = resources.files("slabwright.reference").joinpath("preparation.toml").read_text(encoding="utf-8")
    table: dict[str, Any] = tomllib.loads(text)
    ladder = tuple(int(grit) for grit in table["ladder"]["grits"])
    if list(ladder) != sorted(set(ladder)) or table["ladder"]["step"] <= 1.0:
        raise ValueError("preparation.toml: grits stand coarsest first, and a step is finer by a factor above 1")
    steps = tuple(StepRule(**step) for step in table["steps"])
    for step in steps:
        if step.driven_by not in _DRIVERS or step.minutes <= 0.0 or step.of not in ("wood", "steel"):
            raise ValueError(f"preparation.toml: step {step.name!r}: a known driver, and minutes above 0")
    wood, steel = table["wood"], table["steel"]
    return PreparationRules(
        ladder=ladder,
        step=float(table["ladder"]["step"]),
        wood_first=int(wood["first"]),
        finest_oil=int(wood["finest_oil"]),
        finest_paint=int(wood["finest_paint"]),
        ends_finer=int(wood["ends_finer"]),
        pockets=int(wood["pockets"]),
        steel_first=int(steel["first"]),
        scuff=int(steel["scuff"]),
        steps=steps,
        source=str(wood["mark"]),
    )


def grit_sequence(first: int, finest: int) -> tuple[int, ...]:
    """Grits from the first to the finest, as few as can be, none more than half as fine again as the one before.

    Args:
        first: the grit that takes out what was there before
        finest: the last grit

    Returns:
        The grits, coarsest first; the finest alone where it is no finer than the first.
    """
    rules = preparation_rules()
    if finest <= first:
        return (finest,)
    found = [first]
    while found[-1] * rules.step < finest - 1e-9:
        finer = [grit for grit in rules.ladder if found[-1] < grit <= found[-1] * rules.step + 1e-9]
        found.append(max(finer) if finer else min(grit for grit in (*rules.ladder, finest) if grit > found[-1]))
    return (*found, finest)
