"""The words of the base's sheets."""

from __future__ import annotations

from collections.abc import Iterable

from slabwright.quantities import format_angle
from slabwright.sheets import blocks
from slabwright.sheets.blocks import Block
from slabwright.sheets.context import Context
from slabwright.sheets.top_words import tape
from slabwright.sheets.words import Words, plain

_POUND_FORCE = 4.4482216152605
_INCH = 25.4


def problems(context: Context, codes: Iterable[str], most: int = 3) -> list[Block]:
    """What the plan says that belongs on a sheet of the base, the weightiest first; the rest by where it stands."""
    wanted = {f"base/{code}" for code in codes}
    rank = {"stop": 0, "caution": 1, "note": 2}
    found = sorted((f for f in context.plan.findings if f.code in wanted), key=lambda f: rank[f.severity])
    said = [blocks.problem(each) for each in found[:most]]
    if len(found) > most:
        said.append(blocks.text(f"{len(found) - most} more: see slabwright check."))
    return said


def stiffness(newtons_per_mm: float, words: Words) -> str:
    """Push for a unit of movement."""
    if words.metric:
        return f"{newtons_per_mm:.0f} N/mm"
    return f"{newtons_per_mm * _INCH / _POUND_FORCE:.0f} lbf/in"


def mitre_words(mitres: tuple[float, float], cuts: str = "") -> str:
    """Both ends of a part, and whether its cuts are parallel or opposed."""
    first, last = (format_angle(each, 1).replace(".0°", "°") for each in mitres)
    if max(mitres) == 0.0:
        return "square"
    said = f"{first} both ends" if first == last else f"{first}, {last}"
    return f"{said}, {cuts}" if cuts in ("parallel", "opposed") else said


def steel_name(section: str, words: Words, most: int = 24) -> str:
    """A section on one line; flats of an inch job in inches."""
    sizes = section.removeprefix("flat ").split("x")
    if section.startswith("flat ") and not words.metric and len(sizes) == 2:
        bare = all(size.replace(".", "").isdigit() for size in sizes)
        section = f"flat {' x '.join(tape(float(size), words) if bare else size for size in sizes)}"
    return plain(section, most)


def cut_length(mm: float, words: Words) -> str:
    """A length as the saw's tape reads it."""
    return tape(mm, words)
