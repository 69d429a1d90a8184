"""Lengths and other quantities: parse what a person types, print what a person reads."""

from __future__ import annotations

from typing import Literal

Units = Literal["metric", "inch"]


class QuantityError(ValueError):
    """A text that is not the quantity that was asked for; says what would be right."""


def parse_length(value: object, plain: str = "mm") -> float:
    """Length that a person typed, in mm; `plain` is the unit of a number without one."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise QuantityError(f"{value!r} is not a length")
    return float(value) * {"mm": 1.0, "in": 25.4}[plain]
