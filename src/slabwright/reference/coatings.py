"""What coatings are reckoned with, and invented example coatings."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any


@dataclass(frozen=True)
class PutOn:
    """A way to put a coating on: share lost, and area coated in an hour [m2/h]."""

    loss: float
    rate: float
    source: str


@dataclass(frozen=True)
class CoatingRules:
    """All of `coatings.toml`.

    Attributes:
        factor: by which times shorten for 10 degrees more
        dew_margin: of steel above the dew point [degrees Celsius]
        dew_dampest: greatest humidity in which steel is painted [%]
        magnus: constants of the Magnus formula
        pot_share: of the pot life in which a batch is used up
        coarser_than: grit whose scratches just do not show under flat paint
        built_up: primer film that covers coarser ones, blocked [micrometres]
        block: grit that it is blocked with
        put_on: by the way it is put on
        sources: by table, marked
    """

    factor: float
    dew_margin: float
    dew_dampest: float
    magnus: tuple[float, float]
    pot_share: float
    coarser_than: int
    built_up: float
    block: int
    put_on: Mapping[str, PutOn]
    sources: Mapping[str, str]


def dew_point(temperature: float, humidity: float) -> float:
    """Dew point of air [degrees Celsius].

    With t the temperature and h the relative humidity as a fraction [1]_:

        g = ln h + a t / (b + t);   dew point = b g / (a - g)

    Args:
        temperature: of the air, -40 to 60 [degrees Celsius]
        humidity: relative, above 0 to 100 [%]

    Raises:
        ValueError: the air lies outside what the formula holds for.

    References:
        .. [1] Magnus formula with the World Meteorological Organization's constants (from memory).
    """
    if not (-40.0 <= temperature <= 60.0 and 0.0 < humidity <= 100.0):
        raise ValueError(
            f"air of {temperature:g} degrees and {humidity:g} % lies outside -40..60 degrees, above 0..100 %"
        )
    a, b = coating_rules().magnus
    g = math.log(humidity / 100.0) + a * temperature / (b + temperature)
    return b * g / (a - g)


def _text(name: str) -> str:
    return resources.files("slabwright.reference").joinpath(name).read_text(encoding="utf-8")


@cache
def coating_rules() -> CoatingRules:
    """The table of coatings.

    Raises:
        ValueError: a figure cannot be.
    """
    table: dict[str, Any] = tomllib.loads(_text("coatings.toml"))
    ways = {
        name: PutOn(float(way["loss"]), float(way["rate"]), _marked(way)) for name, way in table.pop("put_on").items()
    }
    for name, way in ways.items():
        if not (0.0 <= way.loss < 1.0 and way.rate > 0.0):
            raise ValueError(f"coatings.toml: put_on.{name}: loss is a share below 1, and rate is above 0")
    found = CoatingRules(
        factor=float(table["temperature"]["factor"]),
        dew_margin=float(table["dew"]["margin"]),
        dew_dampest=float(table["dew"]["dampest"]),
        magnus=(float(table["dew_point"]["a"]), float(table["dew_point"]["b"])),
        pot_share=float(table["pot"]["share"]),
        coarser_than=int(table["scratches"]["coarser_than"]),
        built_up=float(table["scratches"]["built_up"]),
        block=int(table["scratches"]["block"]),
        put_on=ways,
        sources={name: _marked(entry) for name, entry in table.items()},
    )
    if found.factor < 1.0 or not 0.0 < found.pot_share <= 1.0:
        raise ValueError("coatings.toml: the temperature factor is at least 1, and the pot's share from 0 to 1")
    return found


@cache
def example_coatings() -> tuple[Mapping[str, Any], ...]:
    """The invented example coatings, as a shop file would state them, in metric units."""
    stated: list[Mapping[str, Any]] = tomllib.loads(_text("coating_examples.toml"))["coatings"]
    return tuple(stated)


def _marked(entry: Mapping[str, Any]) -> str:
    mark = str(entry["mark"])
    return str(entry["source"]) + ("" if mark == "read" else f", {mark}")
