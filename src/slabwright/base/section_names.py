"""Names of steel sections as people type them: `60x60x4`, `2 in x 2 in x 1/4`, `HSS 2x2x1/4`, `round tube 48.3 x 3`."""

from __future__ import annotations

import re
from dataclasses import dataclass

from slabwright.quantities import QuantityError, Units, nearest_fraction, parse_length
from slabwright.reference.steel import SectionKind, steel

EXAMPLES = (
    "60x60x4, 80x40x3, round tube 48.3x3, flat 60x6, angle 50x50x5, square bar 20, 2 in x 2 in x 1/4 in, HSS 2x2x1/4"
)
_UNITS = frozenset({"mm", "cm", "m", "in", "inch", "inches", "ft", "x", "by", "ga", "gauge"})
_ROUND = frozenset({"round", "chs", "pipe", "ø", "od"})
_SQUARE = frozenset({"square", "shs"})
_TUBE = frozenset({"tube", "tubing", "tubes", "hollow", "box", "hss", "rhs", "shs", "chs", "pipe", "rectangular"})
_BAR = frozenset({"bar", "bars", "rod", "solid"})
_FLAT = frozenset({"flat", "flats", "plate", "strip"})
_ANGLE = frozenset({"angle", "angles", "l"})
_IDLE = frozenset({"steel", "section", "iron", "wall", "a"})
_WORDS = _ROUND | _SQUARE | _TUBE | _BAR | _FLAT | _ANGLE | _IDLE
_WORD = re.compile(r"[^\W\d_]+")
_GAUGE = re.compile(r"([0-9]{1,2})\s*(?:ga|gauge)\.?")
_INCHES = re.compile(r"\d\s*/\s*\d|[\"″”]|''|\b\d*\s*in(?:ch(?:es)?)?\b|[¼½¾⅛⅜⅝⅞]")


class NoSectionError(ValueError):
    """A text that names no section; says what would be right."""


@dataclass(frozen=True)
class Sizes:
    """What a name says.

    Attributes:
        kind: its shape
        depth: first size [mm]
        width: second size [mm]; the depth again for round ones
        wall: [mm]; None for what is solid
        system: the units it was typed in
    """

    kind: SectionKind
    depth: float
    width: float
    wall: float | None
    system: Units


def parse_section(name: str, units: Units = "metric") -> Sizes:
    """Read a section's name.

    A fraction, an inch mark or `HSS` makes all of its plain numbers inches; otherwise they are in the job's units, except that
    the name of a listed metric size is that size in either.

    Args:
        name: as typed
        units: of the job

    Raises:
        NoSectionError: it names none, or could be read in two ways.
    """
    text = " ".join(name.lower().replace("×", "x").replace("*", "x").replace("⌀", "ø").split())
    if not text or len(text) > 80:
        raise NoSectionError("it names no size")
    words = {word for word in _split_words(text) if word not in _UNITS}
    unknown = sorted(words - _WORDS)
    if unknown:
        raise NoSectionError(f"'{unknown[0]}' is no kind of section")
    inch = bool("hss" in words or _INCHES.search(text)) or (units == "inch" and not _is_metric(text))
    sizes = [_size(part, inch) for part in _sizes_of(text)]
    kind, depth, width, wall = _shape(words, sizes)
    return Sizes(kind, depth, width, wall, "inch" if inch else "metric")


def _split_words(text: str) -> list[str]:
    """Letters as words; `lx`, `xmm` and their like do not arise, for sizes part them."""
    return [word for found in _WORD.findall(text) for word in ([found] if found != "øx" else ["ø"])]


def _is_metric(text: str) -> bool:
    """Whether plain numbers are millimetres though the job is in inches: a unit says so, or a size is listed so."""
    if re.search(r"\d\s*(?:mm|cm|m)\b", text):
        return True
    numbers = re.findall(r"\d+(?:\.\d+)?", text)
    return any(
        row.system == "metric"
        and [float(n) for n in re.findall(r"\d+(?:\.\d+)?", row.name)] == [float(n) for n in numbers]
        for row in steel().rows.values()
    )


def _sizes_of(text: str) -> list[str]:
    """The texts of the sizes, the words of its kind taken out."""
    bare = _WORD.sub(lambda found: found[0] if found[0] in _UNITS else " ", text)
    parts = [part.strip(" ,") for part in re.split(r"x|\bby\b", bare)]
    return [part for part in parts if part]


def _size(text: str, inch: bool) -> float:
    gauge = _GAUGE.fullmatch(text)
    if gauge:
        walls = steel().gauge
        if int(gauge[1]) not in walls:
            raise NoSectionError(f"gauge {gauge[1]} is not known; {min(walls)} to {max(walls)} are")
        return walls[int(gauge[1])]
    try:
        return parse_length(text, "in" if inch else "mm")
    except QuantityError as error:
        raise NoSectionError(str(error)) from error


def _shape(words: set[str], sizes: list[float]) -> tuple[SectionKind, float, float, float | None]:
    count = len(sizes)
    if words & _ANGLE:
        if count == 2:
            return "angle", sizes[0], sizes[0], sizes[1]
        if count == 3:
            return "angle", sizes[0], sizes[1], sizes[2]
        raise NoSectionError("an angle has two legs and a wall, such as angle 50x50x5")
    if words & _FLAT or (words & _BAR and not words & (_ROUND | _SQUARE) and count == 2 and sizes[0] != sizes[1]):
        if count != 2:
            raise NoSectionError("a flat has a width and a thickness, such as flat 60x6")
        return "flat", sizes[0], sizes[1], None
    if words & (_ROUND | _SQUARE) and count == 1 and not words & _BAR:
        shape = "round" if words & _ROUND else "square"
        raise NoSectionError(
            f"it states no wall: a solid {shape} bar, or a tube? Write {shape} bar {sizes[0]:g}, or {shape} tube {sizes[0]:g}x3"
        )
    if words & _BAR:
        return _bar(words, sizes)
    if words & _ROUND:
        if count != 2:
            raise NoSectionError("a round tube has a diameter and a wall, such as round tube 48.3x3")
        return "round tube", sizes[0], sizes[0], sizes[1]
    if words & _SQUARE and count == 2:
        return "square tube", sizes[0], sizes[0], sizes[1]
    if count == 3:
        kind: SectionKind = "square tube" if sizes[0] == sizes[1] else "rectangular tube"
        return kind, sizes[0], sizes[1], sizes[2]
    if count == 2:
        raise NoSectionError(
            "two sizes can be a square tube, a round tube or a flat; say which, such as square tube 60x4"
        )
    raise NoSectionError("a tube has two sides and a wall, such as 60x60x4")


def _bar(words: set[str], sizes: list[float]) -> tuple[SectionKind, float, float, float | None]:
    round_one = bool(words & _ROUND or "rod" in words)
    if len(sizes) == 1 and (round_one or words & _SQUARE):
        return ("round bar" if round_one else "square bar"), sizes[0], sizes[0], None
    if len(sizes) == 2 and sizes[0] == sizes[1] and not round_one:
        return "square bar", sizes[0], sizes[0], None
    raise NoSectionError("a bar is square or round and has one size, such as square bar 20 or round bar 16")


def section_name(sizes: Sizes) -> str:
    """The name a section goes by: what `parse_section` reads back as the same sizes."""
    show = _inches if sizes.system == "inch" else _millimetres
    if sizes.kind in ("square tube", "rectangular tube"):
        assert sizes.wall is not None
        return "x".join(show(size) for size in (sizes.depth, sizes.width, sizes.wall))
    shown = [sizes.depth]
    if sizes.kind in ("flat", "angle"):
        shown.append(sizes.width)
    if sizes.wall is not None:
        shown.append(sizes.wall)
    return f"{sizes.kind} " + "x".join(show(size) for size in shown)


def _millimetres(size: float) -> str:
    return f"{round(size, 3):g}"


def _inches(size: float) -> str:
    text, off = nearest_fraction(size, 32)
    return text if abs(off) < 0.005 else f'{round(size / 25.4, 4):g}"'
