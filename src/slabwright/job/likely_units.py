"""What unit was likely meant where a size is far too small or too large."""

from __future__ import annotations

from slabwright.quantities import INCH, Units, format_length

_FOOT = 12.0 * INCH
_UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": INCH, "ft": _FOOT}
_WORDS = {"mm": "millimetres", "cm": "centimetres", "m": "metres", "in": "inches", "ft": "feet"}


def meant_otherwise(mm: float, least: float, most: float, units: Units) -> str | None:
    """A question after the unit that was likely meant; None where a size lies between the least and the most.

    The number is taken in each unit that it may have been typed in, and the first other unit with which it is a usual size is
    asked for; else a slipped decimal point is.

    Args:
        mm: the size as it was read [mm]
        least: usual one [mm]
        most: usual one [mm]
        units: of the file
    """
    if least <= mm <= most:
        return None
    shown = f"{mm / 1000.0:g} m" if units == "metric" and mm >= 1000.0 else format_length(mm, units)
    slipped = (0.1, 0.01, 10.0, 100.0)
    if units == "metric" and mm > most:  # "40 m": a decimal point, rather than a number of millimetres
        for times in slipped:
            if least <= mm * times <= most:
                return f"{shown}, or is {mm * times / 1000.0:g} m meant?"
    own = ("mm", "cm", "m") if units == "metric" else ("in", "ft", "mm", "cm", "m")
    for typed in own:
        number = mm / _UNITS[typed]
        if abs(number - round(number, 3)) > 1e-6 or number > 10_000.0:
            continue
        for unit in own:
            if unit != typed and least <= number * _UNITS[unit] <= most:
                return f'{shown}, or are {_WORDS[unit]} meant? Then write "{number:g} {unit}"'
    for times in slipped:
        if least <= mm * times <= most:
            return f"{shown}, or is {format_length(mm * times, units)} meant?"
    return f"{shown}; from {format_length(least, units)} to {format_length(most, units)} goes"
