"""Lengths and other quantities: parse what a person types, print what a person reads.

Lengths are parsed by hand: a units library takes longer to start than a whole command may.

References:
    .. [1] International yard and pound agreement, 1959: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, exactly; also in NIST SP 811,
       appendix B.
"""

from __future__ import annotations

import math
import re
import unicodedata
from typing import Literal

Units = Literal["metric", "inch"]
Rounds = Literal["", "down", "up"]

INCH = 25.4
"""One inch [mm], exact [1]_."""
POUND = 0.45359237
"""One avoirdupois pound [kg], exact [1]_."""
POUND_FORCE = POUND * 9.80665
"""One pound-force [N]: a pound under standard gravity, exact."""
LONGEST = 1e6
"""A length beyond this [mm] is a slip of the keyboard: nothing in a shop is a kilometre long."""

_SIZES = {"m": 1000.0, "cm": 10.0, "mm": 1.0, "ft": 12 * INCH, "in": INCH, "thou": INCH / 1000}
_METRIC = ("m", "cm", "mm")
_NAMES = {
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
    **dict.fromkeys(("'", "ft", "ft.", "foot", "feet"), "ft"),
    **dict.fromkeys(('"', "''", "in", "in.", "inch", "inches"), "in"),
    **dict.fromkeys(("thou", "thousandths"), "thou"),
}
_LIKE_PRIMES = str.maketrans({"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "⁄": "/", "∕": "/"})
_LIKE_DASHES = str.maketrans({"−": "-", "–": "-", "‐": "-", "‑": "-"})
_PART = re.compile(
    r"""\s*(?:
        (?P<whole>[0-9]+)(?:\s+|\s*-\s*)(?P<over>[0-9]+)\s*/\s*(?P<under>[0-9]+)   # 2 1/4, 2-1/4
      | (?P<over_only>[0-9]+)\s*/\s*(?P<under_only>[0-9]+)                          # 3/4
      | (?P<grouped>[0-9]{1,3}(?:[ ][0-9]{3})+(?:[.,][0-9]+)?)(?![0-9/])            # 1 200
      | (?P<decimal>[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)                               # 1200, 1.2, 1,2
    )\s*(?P<unit>''|['"]|[a-z]+\.?)?\s*(?P<dash>-(?=\s*[0-9.,]))?""",
    re.VERBOSE,
)
_MOST_QUARTERS = 24
"""Lumber is sold up to some 24/4; a greater one is a slip."""
_QUARTERS = re.compile(r"\s*([0-9]+)\s*/\s*4\s*")
_LIKE_THIS = "write a length such as 1200, 1.2 m, 7' 6 1/2\", 2 1/4 in or 8/4"


class QuantityError(ValueError):
    """A text that is not the quantity that was asked for; says what would be right."""


def parse_length(value: object, plain: str = "mm") -> float:
    """Length that a person typed.

    Takes numbers; texts with a unit (`1.2 m`, `120 cm`, `1,2 m`, `47.5"`, `7' 6 1/2"`, `7ft 6in`, `2-1/4"`, `2¼ in`, `7′ 6″`);
    and lumber quarters: a bare `n/4` from 3/4 up (`4/4`, `5/4`, `8/4`) is quarters of an inch in either system.

    Args:
        value: a number, or a text
        plain: unit of a number that has none: mm, cm, m, in or ft

    Returns:
        The length [mm].

    Raises:
        QuantityError: it is no length, or could be read in two ways.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise QuantityError(f"{_shown(value)} is not a length; {_LIKE_THIS}")
    if isinstance(value, str):
        return _within_reason(_parse_text(value, plain), value)
    if abs(value) > LONGEST or not math.isfinite(value):
        return _within_reason(math.inf if value == value else math.nan, value)
    return _within_reason(float(value) * _SIZES[plain], value)


_MASSES = {
    **dict.fromkeys(("kg", "kilo", "kilos", "kilogram", "kilograms"), 1.0),
    **dict.fromkeys(("g", "gram", "grams"), 0.001),
    **dict.fromkeys(("t", "tonne", "tonnes"), 1000.0),
    **dict.fromkeys(("lb", "lb.", "lbs", "lbs.", "pound", "pounds"), POUND),
    **dict.fromkeys(("oz", "oz.", "ounce", "ounces"), POUND / 16.0),
}
_MASS_LIKE_THIS = "write a weight such as 95, 95 kg or 210 lb"
_MASS = re.compile(r"\s*([+-]?)\s*([0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)\s*([a-z]+\.?)?\s*")
HEAVIEST = 1e5
"""A mass beyond this [kg] is a slip of the keyboard."""


def parse_mass(value: object, plain: str = "kg") -> float:
    """Mass that a person typed: a number, or a text with a unit (`95 kg`, `210 lb`, `1,5 kg`).

    Args:
        value: a number, or a text
        plain: unit of a number that has none: kg or lb

    Returns:
        The mass [kg].

    Raises:
        QuantityError: it is no mass.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise QuantityError(f"{_shown(value)} is not a weight; {_MASS_LIKE_THIS}")
    if isinstance(value, str):
        match = _MASS.fullmatch(value.lower()) if len(value) <= 60 else None
        unit = (match[3] or plain) if match else ""
        if not match or unit not in _MASSES or re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", match[2]):
            raise QuantityError(f"{_shown(value)} is not a weight; {_MASS_LIKE_THIS}")
        mass = float(match[1] + match[2].replace(",", ".")) * _MASSES[unit]
    else:
        mass = float(value) * _MASSES[plain] if abs(value) <= HEAVIEST / POUND else math.inf
    if not abs(mass) <= HEAVIEST:
        raise QuantityError(f"{_shown(value)} is not the weight of anything in a shop; {_MASS_LIKE_THIS}")
    return mass


def _within_reason(length: float, value: object) -> float:
    if not math.isfinite(length) or abs(length) > LONGEST:
        raise QuantityError(f"{_shown(value)} is not a length of anything in a shop; {_LIKE_THIS}")
    return length


def _shown(value: object) -> str:
    """The value as it is quoted in a message: on one line, and short."""
    text = (
        "true or false" if isinstance(value, bool) else "".join(c if c.isprintable() else "?" for c in str(value)[:60])
    )
    return f"'{text}'" if isinstance(value, str) else text


def _spelt_out(text: str) -> str:
    """One spelling for fractions, primes and dashes; lower case."""
    spaced = "".join(
        f" {unicodedata.normalize('NFKC', c)} " if unicodedata.decomposition(c).startswith("<fraction>") else c
        for c in text
    )
    return " ".join(spaced.translate(_LIKE_PRIMES).translate(_LIKE_DASHES).lower().split())


def _parse_text(value: str, plain: str) -> float:
    text = _spelt_out(value) if len(value) <= 60 else ""
    sign = -1.0 if text.startswith("-") else 1.0
    body = text.removeprefix("-").removeprefix("+").strip()
    quarters = _QUARTERS.fullmatch(body)
    if quarters and 3 <= int(quarters[1]) <= _MOST_QUARTERS:
        return sign * int(quarters[1]) * INCH / 4
    parts = _parts(body, value)
    total, smaller_than, system = 0.0, math.inf, ""
    for index, (amount, unit, fraction) in enumerate(parts):
        if not unit and index and parts[index - 1][1] == "ft":
            unit = "in"
        if not unit and len(parts) > 1:
            raise QuantityError(f"{_shown(value)} has a number without a unit; {_LIKE_THIS}")
        if not unit and fraction and plain in _METRIC:
            raise QuantityError(f"{_shown(value)} is a fraction without a unit; say which: {body} in, or {body} mm")
        unit = unit or plain
        of_system = "metric" if unit in _METRIC else "inch"
        if _SIZES[unit] >= smaller_than or system not in ("", of_system):
            raise QuantityError(f"{_shown(value)} mixes units; {_LIKE_THIS}")
        total, smaller_than, system = total + amount * _SIZES[unit], _SIZES[unit], of_system
    return sign * total


def _parts(body: str, value: str) -> list[tuple[float, str, bool]]:
    """Amount, unit (or empty) and whether it is a fraction, of each part of a length such as 7' 6 1/2"."""
    parts: list[tuple[float, str, bool]] = []
    position = 0
    while position < len(body) or not parts:
        match = _PART.match(body, position)
        unit = _NAMES.get(match["unit"] or "", "") if match else ""
        if not match or (match["unit"] and not unit) or (match["dash"] and unit != "ft"):
            raise QuantityError(f"{_shown(value)} is not a length; {_LIKE_THIS}")
        parts.append((_amount(match, value), unit, not (match["decimal"] or match["grouped"])))
        position = match.end()
    return parts


def _amount(match: re.Match[str], value: str) -> float:
    if match["whole"] or match["over_only"]:
        over, under = int(match["over"] or match["over_only"]), int(match["under"] or match["under_only"])
        if under == 0:
            raise QuantityError(f"{_shown(value)} divides by nothing; {_LIKE_THIS}")
        if not match["whole"] and over > under:
            raise QuantityError(
                f"{_shown(value)} is more than a whole; write it with a space, such as {_parted(over, under)}"
            )
        if match["whole"] and over >= under:
            raise QuantityError(f"{_shown(value)}: the fraction after a whole number is less than one, as in 2 1/4")
        return int(match["whole"] or 0) + over / under
    text = (match["grouped"] or match["decimal"]).replace(" ", "")
    if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", text):
        plainly, parted = text.replace(",", ""), text.replace(",", ".")
        raise QuantityError(f"{_shown(value)} can be read in two ways; write {plainly} or {parted}")
    return float(text.replace(",", "."))


def _parted(over: int, under: int) -> str:
    """What a fraction of more than a whole may have been meant as: 41/8 as 4 1/8 or 5 1/8."""
    whole, rest = divmod(over, under)
    meant = f"{whole} {rest}/{under}" if rest else f"{whole}"
    head, last = divmod(over, 10)
    return f"{head} {last}/{under} or {meant}" if head and 0 < last < under else meant


def _decimal(value: float, decimals: int, keep_zeros: bool) -> str:
    text = f"{value:.{decimals}f}"
    if not keep_zeros and "." in text:
        text = text.rstrip("0").rstrip(".")
    return text.removeprefix("-") if float(text) == 0 else text


def _sixteenths(inches: float, parts: int, feet: bool) -> tuple[str, float]:
    """Inches as a whole number and a fraction, and the length that the text stands for [in]."""
    count = round(abs(inches) * parts)
    whole, over = divmod(count, parts)
    under = parts
    while over and over % 2 == 0 and under % 2 == 0:
        over, under = over // 2, under // 2
    in_feet = ""
    if feet:
        in_feet = f"{whole // 12}' "
        whole %= 12
    number = f"{whole} {over}/{under}" if over and (whole or feet) else f"{over}/{under}" if over else f"{whole}"
    sign = "-" if inches < 0 and count else ""
    return f'{sign}{in_feet}{number}"', math.copysign(count / parts, inches)


def nearest_fraction(mm: float, parts: int = 16) -> tuple[str, float]:
    """A length as inches with a fraction, and how far that text is from the length.

    Args:
        mm: the length [mm]
        parts: of an inch: 8, 16, 32 or 64

    Returns:
        The text, such as `1 5/8"`, and its length less the true one [mm].
    """
    text, inches = _sixteenths(mm / INCH, parts, feet=False)
    return text, inches * INCH - mm


def format_length(mm: float, units: Units, decimals: int | None = None) -> str:
    """A length as a person reads it.

    Metric: millimetres to 0.1, below 10 mm to 0.01, below 0.1 mm to 0.001; closing zeros are left out. Inches: from 24 in feet
    and inches to 1/16 (`7' 6 1/2"`), from 6 in to 1/16, below to 1/32, and below 1/8 in in thousandths (`0.031"`).

    Args:
        mm: the length [mm]
        units: the job's units
        decimals: decimals of a millimetre, kept even where they are zero; decimal inches then get two more, which is as fine

    Returns:
        The length with its unit.
    """
    size = abs(mm)
    if decimals is not None:
        if units == "metric":
            return f"{_decimal(mm, decimals, True)} mm"
        return f'{_decimal(mm / INCH, decimals + 2, True)}"'
    if units == "metric":
        places = 1 if round(size, 2) >= 10 else 2 if round(size, 3) >= 0.1 else 3
        return f"{_decimal(mm, places, False)} mm"
    inches = mm / INCH
    if round(abs(inches), 3) < 0.125:
        return f'{_decimal(inches, 3, True)}"' if round(inches, 3) else '0"'
    feet = round(abs(inches) * 16) >= 24 * 16
    return _sixteenths(inches, 16 if abs(inches) >= 6 else 32, feet)[0]


def format_least(mm: float, units: Units) -> str:
    """A length that is promised, as a person reads it: rounded down, to 0.1 mm or 0.001 in, so that it stays true."""
    return format_length(rounded_down(mm, units), units, 1)


def rounded_down(mm: float, units: Units) -> float:
    """A length down to 0.1 mm or 0.001 in [mm]."""
    step = 0.1 if units == "metric" else 0.001 * INCH
    return math.floor(mm / step + 1e-6) * step


def format_bounded(mm: float, units: Units, rounds: Rounds) -> str:
    """A length that is promised at least or at most, as a person reads it: rounded so that it stays true.

    To 0.1 mm, below 10 mm to 0.01 mm; to 0.001 in.

    Args:
        mm: the length [mm]
        units: the job's units
        rounds: `down` or `up`
    """
    small = units == "metric" and abs(mm) < 10.0
    step = 0.01 if small else 0.1 if units == "metric" else 0.001 * INCH
    return format_length(kept_true(mm, step, rounds), units, 2 if small else 1)


def kept_true(value: float, step: float, rounds: Rounds) -> float:
    """A figure on a grid of steps, the way that keeps its promise; as it is where it promises nothing.

    Args:
        value: the figure
        step: what it is told to, in the same unit
        rounds: `down`, `up` or nothing
    """
    if not rounds:
        return value
    return (math.floor(value / step + 1e-6) if rounds == "down" else math.ceil(value / step - 1e-6)) * step


def format_force(newtons: float, units: Units) -> str:
    """A force as a person reads it: newtons, or pounds-force."""
    number, unit = (newtons, "N") if units == "metric" else (newtons / POUND_FORCE, "lbf")
    whole = f"{number:,.0f}".replace(",", "\u00a0")
    return f"{'0' if whole == '-0' else whole} {unit}"


def format_stiffness(newtons_per_mm: float, units: Units) -> str:
    """A push for each unit of movement: newtons per millimetre, or pounds-force per inch."""
    value = newtons_per_mm if units == "metric" else newtons_per_mm * INCH / POUND_FORCE
    return f"{_decimal(value, 0 if abs(value) >= 100 else 1, False)} {'N/mm' if units == 'metric' else 'lbf/in'}"


def format_stress(megapascals: float, units: Units) -> str:
    """A stress: megapascals, or thousands of pounds-force per square inch."""
    if units == "metric":
        return f"{_decimal(megapascals, 0 if abs(megapascals) >= 10 else 1, False)} MPa"
    return f"{_decimal(megapascals * INCH**2 / POUND_FORCE / 1000.0, 1, False)} ksi"


def format_area(mm2: float, units: Units) -> str:
    """An area as a person reads it: cm² or m²; square inches or square feet."""
    if units == "metric":
        return f"{_decimal(mm2 / 100, 0, False)} cm²" if abs(mm2) < 0.1e6 else f"{_decimal(mm2 / 1e6, 2, True)} m²"
    square_inches = mm2 / INCH**2
    if abs(square_inches) < 288:
        return f"{_decimal(square_inches, 1 if abs(square_inches) < 10 else 0, False)} sq in"
    return f"{_decimal(square_inches / 144, 1, False)} sq ft"


def format_volume(mm3: float, units: Units) -> str:
    """A volume as a person reads it: ml or litres; cubic inches or cubic feet."""
    if units == "metric":
        return f"{_decimal(mm3 / 1000, 0, False)} ml" if abs(mm3) < 0.5e6 else f"{_decimal(mm3 / 1e6, 2, True)} l"
    cubic_inches = mm3 / INCH**3
    if abs(cubic_inches) < 1728:
        return f"{_decimal(cubic_inches, 1 if abs(cubic_inches) < 10 else 0, False)} cu in"
    return f"{_decimal(cubic_inches / 1728, 2, True)} cu ft"


def format_mass(kg: float, units: Units) -> str:
    """A mass as a person reads it: g or kg; ounces or pounds."""
    if units == "metric":
        return f"{_decimal(kg * 1000, 0, False)} g" if abs(kg) < 1 else f"{_decimal(kg, 1, False)} kg"
    pounds = kg / POUND
    return f"{_decimal(pounds * 16, 1, False)} oz" if abs(pounds) < 1 else f"{_decimal(pounds, 1, False)} lb"


def format_angle(degrees: float, decimals: int = 2) -> str:
    """An angle as a person reads it, such as `0.31°`."""
    return f"{_decimal(degrees, decimals, True)}°"
