"""Usual times of each kind of operation, with their spread: where a shop's own log starts from."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from slabwright.findings import FROM_MEMORY
from slabwright.reference.preparation import StepRule, preparation_rules

OWN_WORK = "own work"
"""Kind of what a maker adds without naming a kind."""
_UNITS = {"area": "m2", "grit": "m2 and grit", "length": "m", "piece": "piece"}
_DRIVEN = {"area": "area", "grit": "area times grits", "length": "metres of edge", "piece": "pieces"}
_NO_DUST = ("degrease", "dust off", "raise the grain", "fill small holes")


@dataclass(frozen=True)
class KindOfWork:
    """A kind of operation: minutes = set_up + minutes x amount.

    Attributes:
        name: as operations and logs call it
        unit: of the amount
        driver: what the amount is, in words
        minutes: for each unit
        set_up: however much it is [min]
        within: standard deviation of the logarithm of the time, from job to job of one maker
        between: the same of the usual time between makers
        needs: persons and places
        how: what it takes in, in words
        attended_only: whether it is never left to itself
        hot: sparks or flame
        dusty: not while a coat is open
        splittable: whether it may go on the next day
        source: whose figures
    """

    name: str
    unit: str
    driver: str
    minutes: float
    set_up: float
    within: float
    between: float
    needs: tuple[str, ...] = ("maker",)
    how: str = ""
    attended_only: bool = False
    hot: bool = False
    dusty: bool = False
    splittable: bool = True
    source: str = FROM_MEMORY

    def usual(self, amount: float) -> float:
        """Usual minutes of an amount."""
        return self.set_up + self.minutes * amount


@dataclass(frozen=True)
class SpreadRules:
    """How spreads go together; see `hours.toml`."""

    together: float
    behind_spread: float
    far_off: float
    stated_within: float
    stated_between: float
    wait_others: float
    wait_hardens: float


@dataclass(frozen=True)
class HoursTable:
    """All of `hours.toml`, and the steps of surface preparation as kinds.

    Attributes:
        kinds: by name
        spread: how spreads go together
        waits: days for which others are waited for (slab, steel, finish, hardware, client), minutes that things need (the rest)
        watched_mass: mix in one pour from which it is watched [kg]
        watched_minutes: for how long [min]
        places: what operations need that is no person
        air: running time of the surfacing over area / (stepover x feed)
    """

    kinds: Mapping[str, KindOfWork]
    spread: SpreadRules
    waits: Mapping[str, float]
    watched_mass: float
    watched_minutes: float
    places: frozenset[str]
    air: float


@cache
def hours_table() -> HoursTable:
    """The table.

    Raises:
        ValueError: a figure cannot be.
    """
    text = resources.files("slabwright.reference").joinpath("hours.toml").read_text(encoding="utf-8")
    table: dict[str, Any] = tomllib.loads(text)
    spread = dict(table["spread"])
    within, between = spread.pop("preparation_within"), spread.pop("preparation_between")
    kinds = [KindOfWork(**{**row, "needs": tuple(row["needs"])}) for row in table["kinds"]]
    kinds += [_of_preparation(rule, within, between) for rule in preparation_rules().steps]
    for kind in kinds:
        if not (kind.minutes >= 0.0 and kind.set_up >= 0.0 and kind.usual(1.0) > 0.0):
            raise ValueError(f"hours.toml: {kind.name}: minutes and set_up are at least 0, and not both 0")
        if not (0.0 < kind.within < 2.0 and 0.0 < kind.between < 2.0):
            raise ValueError(f"hours.toml: {kind.name}: spreads lie between 0 and 2")
    named = {kind.name: kind for kind in kinds}
    rules = SpreadRules(**{key: value for key, value in spread.items() if key != "mark"})
    named[OWN_WORK] = KindOfWork(
        OWN_WORK, "min", "minutes that are stated", 1.0, 0.0, rules.stated_within, rules.stated_between
    )
    if len(named) <= len(kinds):
        raise ValueError("hours.toml: two kinds have one name")
    waits = {key: float(value) for key, value in table["waits"].items() if key != "mark"}
    watched = table["watched_pour"]
    return HoursTable(
        named,
        rules,
        waits,
        float(watched["mass"]),
        float(watched["minutes"]),
        frozenset(table["places"]["names"]),
        float(table["surfacing"]["air"]),
    )


def _of_preparation(rule: StepRule, within: float, between: float) -> KindOfWork:
    """A step of surface preparation as a kind of operation."""
    return KindOfWork(
        name=rule.name,
        unit=_UNITS[rule.driven_by],
        driver=_DRIVEN[rule.driven_by],
        minutes=rule.minutes,
        set_up=0.0,
        within=within,
        between=between,
        how=rule.surface,
        hot=rule.name == "welds and scale",
        dusty=not rule.name.startswith(_NO_DUST),
        source="reference/preparation.toml, common practice",
    )
