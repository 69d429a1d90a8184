"""How coatings' figures and the shop's hours are read: coverage, film, cans, parts of a mix, moments, temperatures of the air.

Coverage is held in square metres per litre, film in micrometres, cans in litres; plain numbers of a file in inches are square
feet per gallon, mils and gallons of the United States.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo, WithJsonSchema

from slabwright.job.fields import Number
from slabwright.quantities import INCH

LITRE_PER_GALLON = 231.0 * INCH**3 / 1e6
"""One gallon of the United States, 231 cubic inches [l] (NIST SP 811, appendix B)."""
SQUARE_METRE_PER_SQUARE_FOOT = (12.0 * INCH / 1000.0) ** 2
"""One square foot [m2], exact."""
M2_PER_LITRE = SQUARE_METRE_PER_SQUARE_FOOT / LITRE_PER_GALLON
"""One square foot per gallon [m2/l]."""

_AMOUNT = re.compile(r"\s*([0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)\s*([^0-9\s].*?)?\s*")
_HOTTEST = 45.0
"""Above this nobody works in a shop [degrees Celsius]: common practice."""
_CLOCK = re.compile(r"([01]?[0-9]|2[0-4]):([0-5][0-9])")
_SQUARES = {
    "m2/l": 1.0,
    "m²/l": 1.0,
    "sq ft/gal": M2_PER_LITRE,
    "ft2/gal": M2_PER_LITRE,
    "ft²/gal": M2_PER_LITRE,
}
_FILMS = {"um": 1.0, "µm": 1.0, "μm": 1.0, "mil": 25.4, "mils": 25.4, "thou": 25.4, "mm": 1000.0}
_CANS = {
    "l": 1.0,
    "ml": 0.001,
    "gal": LITRE_PER_GALLON,
    "qt": LITRE_PER_GALLON / 4.0,
    "pt": LITRE_PER_GALLON / 8.0,
    "fl oz": LITRE_PER_GALLON / 128.0,
}


def _quantity(units: dict[str, float], metric: str, inch: str, like: str) -> Callable[[object, ValidationInfo], float]:
    """A number with one of some units, or a plain one in the file's own; more than nothing."""

    def read(value: object, info: ValidationInfo) -> float:
        plain = inch if (info.context or {}).get("units") == "inch" else metric
        if isinstance(value, bool) or not isinstance(value, int | float | str):
            raise ValueError(f"must be a number ({plain}), or a text such as {like}")
        if isinstance(value, str):
            negative = value.strip().startswith(("-", "−"))
            match = _AMOUNT.fullmatch(value.strip().lstrip("-−"))
            unit = (match[2] or plain).lower().replace("litre", "l") if match else ""
            if match is None or unit not in units:
                raise ValueError(f"must be a number ({plain}), or a text such as {like}")
            amount = float(match[1].replace(",", ".")) * units[unit] * (-1.0 if negative else 1.0)
        else:
            amount = float(value) * units[plain]
        if not 0.0 < amount < 1e6:
            raise ValueError(f"must be more than 0 and of a reasonable size; it says {str(value)[:30]}")
        return amount

    return read


def _published(examples: list[str]) -> WithJsonSchema:
    text = {"type": "string", "pattern": "[0-9]", "examples": examples}
    return WithJsonSchema({"anyOf": [{"type": "number", "exclusiveMinimum": 0}, text]})


Coverage = Annotated[
    float,
    BeforeValidator(_quantity(_SQUARES, "m2/l", "sq ft/gal", "'9.5 m2/l' or '390 sq ft/gal'")),
    _published(["9.5 m2/l", "390 sq ft/gal"]),
]
"""Area that a litre covers: `9.5`, `"9.5 m2/l"`, `"390 sq ft/gal"`; held in m2/l."""
Film = Annotated[
    float,
    BeforeValidator(_quantity(_FILMS, "um", "mil", "'60 um' or '2.5 mil'")),
    _published(["60 um", "2.5 mil"]),
]
"""Thickness of a film: `60`, `"60 um"`, `"2.5 mil"`; held in micrometres."""
CanSize = Annotated[
    float,
    BeforeValidator(_quantity(_CANS, "l", "gal", "'750 ml', '2.5 l' or '1 qt'")),
    _published(["750 ml", "2.5 l", "1 qt"]),
]
"""What a can holds: `2.5`, `"750 ml"`, `"1 qt"`; held in litres."""


def _parts(value: object) -> object:
    """Parts of a mix: [4, 1], "4:1", or shares in percent, which have to sum."""
    if isinstance(value, str):
        value = value.split(":") if ":" in value else [value]
    if not isinstance(value, list | tuple) or not 1 <= len(value) <= 2:
        raise ValueError('must be the parts of one or two components: [4, 1], "4:1" or ["80 %", "20 %"]')
    shares = [str(part).strip() for part in value]
    percent = [share.endswith("%") for share in shares]
    try:
        amounts = [float(share.rstrip("%").replace(",", ".")) for share in shares]
    except ValueError:
        amounts = []
    if not amounts or any(isinstance(part, bool) for part in value):
        raise ValueError('must be the parts of one or two components: [4, 1], "4:1" or ["80 %", "20 %"]')
    if any(not 0.0 < amount < 1e6 for amount in amounts):
        raise ValueError("every part of the mix must be more than 0: [4, 1] is four parts A to one part B")
    if any(percent) and not all(percent):
        raise ValueError("parts are all percent or none is: write [4, 1], or ['80 %', '20 %']")
    if all(percent) and abs(sum(amounts) - 100.0) > 0.05:
        raise ValueError(
            f"{' and '.join(shares)} make {sum(amounts):g} %, and shares have to make 100 %; or write parts, such as [4, 1]"
        )
    return amounts


def _when(value: object) -> object:
    """A day and an hour of the shop's own clock."""
    like = 'write the day and the hour, such as start = "2026-12-01T09:00"'
    if isinstance(value, str):
        typed = value.strip()
        try:
            value = datetime.datetime.fromisoformat(typed)
        except ValueError:
            raise ValueError(f"{typed[:40]!r} is no time; {like}") from None
    if not isinstance(value, datetime.datetime):
        raise ValueError(f"must be a time; {like}")
    if value.tzinfo is not None:
        raise ValueError(f"is the shop's own clock, without a time zone; {like}")
    if not 1990 <= value.year <= 2200:
        raise ValueError(f"the year {value.year} is a slip; {like}")
    return value


def _clock(value: object) -> object:
    """An hour of the day as hours and a fraction."""
    if isinstance(value, datetime.time):
        return value.hour + value.minute / 60.0
    match = _CLOCK.fullmatch(value.strip()) if isinstance(value, str) else None
    hours = int(match[1]) + int(match[2]) / 60.0 if match else value
    if isinstance(hours, bool) or not isinstance(hours, int | float) or not 0.0 <= hours <= 24.0:
        raise ValueError('must be an hour of the day, such as "08:00"')
    return hours


Moment = Annotated[datetime.datetime, BeforeValidator(_when), WithJsonSchema({"type": "string"})]
Clock = Annotated[
    float, BeforeValidator(_clock), WithJsonSchema({"type": "string", "pattern": "^[0-9]{1,2}:[0-9]{2}$"})
]
Parts = Annotated[
    list[float],
    BeforeValidator(_parts),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "array", "items": {"type": "number", "exclusiveMinimum": 0}, "minItems": 1, "maxItems": 2},
                {"type": "array", "items": {"type": "string", "pattern": "%"}, "minItems": 2, "maxItems": 2},
                {"type": "string", "pattern": ":"},
            ]
        }
    ),
]
Hours = Annotated[Number, Field(ge=0, le=10_000)]
Celsius = Annotated[Number, Field(ge=-30, le=80)]
Humidity = Annotated[Number, Field(ge=0, le=100)]


def in_celsius(value: float) -> float:
    """A temperature of a shop that people work in [degrees Celsius]; refuses what was meant as Fahrenheit.

    Raises:
        ValueError: nobody works in such heat.
    """
    if value > _HOTTEST:
        raise ValueError(
            f"is in degrees Celsius, and {value:g} is no shop's; if {value:g} °F was meant, state {(value - 32.0) / 1.8:.0f}"
        )
    return value


Air = Annotated[Celsius, AfterValidator(in_celsius)]
