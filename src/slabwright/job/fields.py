"""Kinds of value that the job file and the shop file hold: lengths as people type them, numbers, words.

Lengths are millimetres once read; a plain number is in the file's own units (`units = "metric"`: mm, `"inch"`: inches).
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo, WithJsonSchema

from slabwright.quantities import Units, parse_length, parse_mass


def _length(value: object, info: ValidationInfo) -> float:
    units: Units = (info.context or {}).get("units", "metric")
    return parse_length(value, "in" if units == "inch" else "mm")


def _mass(value: object, info: ValidationInfo) -> float:
    units: Units = (info.context or {}).get("units", "metric")
    mass = parse_mass(value, "lb" if units == "inch" else "kg")
    if mass <= 0.0:
        raise ValueError("must weigh more than 0")
    return mass


def _above(least: float, *, itself: bool, word: str = "") -> Callable[[object, ValidationInfo], float | str]:
    """A length of at least, or more than, `least`; or one word that may stand in its place."""

    def check(value: object, info: ValidationInfo) -> float | str:
        if word and value == word:
            return word
        length = _length(value, info)
        if length < least or (length == least and not itself):
            raise ValueError(
                f"must be {'at least' if itself else 'more than'} {least:g}" + f', or "{word}"' * bool(word)
            )
        return length

    return check


def _number(value: object) -> object:
    """A number is a number: neither true nor a text in quotes."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("must be a number, without quotes")
    if isinstance(value, int) and abs(value) > 10**15:
        raise ValueError("must be a number of a reasonable size")
    return value


def _words(value: object) -> object:
    """A date or a whole number that was typed without quotes is meant as it is written."""
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return str(value) if isinstance(value, int) and not isinstance(value, bool) and abs(value) < 10**15 else value


def published(name: str) -> WithJsonSchema:
    """A kind of value that the published schema describes once, by its name."""
    return WithJsonSchema({"published": name})


positive_length = _above(0.0, itself=False)
"""Reads a length of more than nothing [mm]."""
Length = Annotated[float, BeforeValidator(_length), published("Length")]
"""A length as people type it: `1200`, `1.2 m`, `7' 6 1/2"`, `2 1/4 in`, `8/4`; held in mm."""
Positive = Annotated[float, BeforeValidator(_above(0.0, itself=False)), published("LengthAboveZero")]
NotNegative = Annotated[float, BeforeValidator(_above(0.0, itself=True)), published("LengthFromZero")]
PositiveOrMax = Annotated[
    Literal["max"] | float, BeforeValidator(_above(0.0, itself=False, word="max")), published("LengthOrMax")
]
PositiveOrThrough = Annotated[
    Literal["through"] | float,
    BeforeValidator(_above(0.0, itself=False, word="through")),
    published("LengthOrThrough"),
]
Mass = Annotated[float, BeforeValidator(_mass), published("MassAboveZero")]
"""A weight as people type it: `95`, `95 kg`, `210 lb`; held in kg. A plain number is kg, in an inch job lb."""
Number = Annotated[float, BeforeValidator(_number)]
Whole = Annotated[int, BeforeValidator(_number)]
Words = Annotated[str, BeforeValidator(_words, json_schema_input_type=str | int)]
Moistures = list[Annotated[Number, Field(gt=0, lt=150)]]
Point = tuple[Length, Length]
ReadingUnit = Literal["mm", "cm", "m", "in", "ft"]


class MisplacedError(ValueError):
    """What is wrong with one key, found by a rule that looks at more than its table."""

    def __init__(self, key: tuple[str | int, ...], wrong: str) -> None:
        """Keep the key.

        Args:
            key: within the table whose rule it is, such as ("mends", 0, "defect")
            wrong: what is wrong, with what would be right
        """
        super().__init__(wrong)
        self.key = key


class Stated(BaseModel):
    """A table of the job or the shop file: unknown keys are errors, values do not change."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)
