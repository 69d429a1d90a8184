"""What a can holds, as it is sold: litres, or gallons, quarts, pints and fluid ounces of the United States."""

from __future__ import annotations

import math

from slabwright.job.coating_fields import LITRE_PER_GALLON
from slabwright.quantities import Units

_UNITED_STATES = (
    (LITRE_PER_GALLON, "gal"),
    (LITRE_PER_GALLON / 4.0, "qt"),
    (LITRE_PER_GALLON / 8.0, "pt"),
    (LITRE_PER_GALLON / 128.0, "fl oz"),
)
_OFF = 1e-3
"""Share by which a size may miss the round one that it is taken for."""


def can_words(litres: float, units: Units) -> str:
    """The size of a can as its data sheet has it; in the other units beside that, where the job is in those.

    A size that is whole in one of the units of the United States, or half or quarter of one, is taken to be sold by that one, and
    any other by the litre: `1 qt`, `2.5 l (85 fl oz)`, in a metric job `1 qt (0.95 l)`.

    Args:
        litres: what it holds
        units: of the job
    """
    sold = _sold_by(litres)
    if sold is None:
        told = f"{litres:.4g} l"
        return told if units == "metric" else f"{told} ({litres / _UNITED_STATES[-1][0]:.3g} fl oz)"
    return sold if units == "inch" else f"{sold} ({litres:.2g} l)"


def _sold_by(litres: float) -> str | None:
    """The size in the largest unit of the United States in which it is whole, or a half or a quarter gallon or quart."""
    for size, name in _UNITED_STATES:
        amount = litres / size
        parts = 4.0 if name == "gal" and amount > 1.0 else 2.0 if name == "fl oz" else 1.0
        whole = round(amount * parts)
        if whole and abs(amount * parts - whole) <= _OFF * whole and not _round_litres(litres):
            return f"{whole / parts:g} {name}"
    return None


def _round_litres(litres: float) -> bool:
    """Whether it is so many whole hundredths of a litre."""
    return abs(litres * 100.0 - round(litres * 100.0)) <= 1e-6


def fluid_words(litres: float, units: Units) -> str:
    """An amount to buy of what is sold by the can, rounded up so that it is enough."""
    if units == "metric":
        return f"{math.ceil(litres * 100.0 - 1e-6) / 100.0:.2f} l"
    gallon, quart, _, ounce = (size for size, _ in _UNITED_STATES)
    if litres >= gallon:
        return f"{math.ceil(litres / gallon * 10.0 - 1e-6) / 10.0:g} gal"
    if litres >= quart:
        return f"{math.ceil(litres / quart * 10.0 - 1e-6) / 10.0:g} qt"
    return f"{math.ceil(litres / ounce - 1e-6):g} fl oz"
