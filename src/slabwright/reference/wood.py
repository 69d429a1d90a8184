"""Species of wood: density, stiffness and shrinkage, from a published table."""

from __future__ import annotations

import csv
import difflib
from dataclasses import dataclass
from functools import cache
from importlib import resources

from slabwright.findings import SlabwrightError

HANDBOOK = "Wood Handbook, FPL-GTR-190 (2010)"
_COMMON = ("white", "sugar", "red", "black")
_TABLES = {"specific_gravity": "Table 5-3", "modulus": "Table 5-3", "shrinkage": "Table 4-3", "change": "Table 13-5"}


@dataclass(frozen=True)
class Species:
    """One row of the table; None where the table has no value.

    Attributes:
        name: as the table names it
        specific_gravity: ovendry mass over volume at 12 % moisture content
        modulus: of elasticity in bending at 12 % [MPa]
        shrinkage: radial, tangential, volumetric, green to ovendry [%]
        change: radial and tangential dimensional change coefficients [1/%]
        marks: for each group of values, `read` or `from memory`
    """

    name: str
    specific_gravity: float | None
    modulus: float | None
    shrinkage: tuple[float, float, float] | None
    change: tuple[float, float] | None
    marks: tuple[tuple[str, str], ...]

    def density(self, moisture: float = 12.0) -> float | None:
        """Density at a moisture content [kg/m3], 1000 G (1 + M/100), G taken at 12 % [1]_.

        Args:
            moisture: content [%]

        References:
            .. [1] Wood Handbook, FPL-GTR-190 (2010), chapter 4, density from specific gravity.
        """
        return None if self.specific_gravity is None else 1000.0 * self.specific_gravity * (1.0 + moisture / 100.0)

    def source(self, group: str) -> str:
        """The table a group of values comes from, marked where it was recalled rather than read."""
        mark = dict(self.marks).get(group, "")
        return f"{HANDBOOK}, {_TABLES[group]}" + (", from memory" if mark == "from memory" else "")


def _number(text: str) -> float | None:
    return float(text) if text else None


@cache
def all_species() -> dict[str, Species]:
    """Every species of the table by its name."""
    text = resources.files("slabwright.reference").joinpath("species.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    table: dict[str, Species] = {}
    for row in rows:
        shrinkage = [_number(row[f"shrinkage_{way}"]) for way in ("radial", "tangential", "volumetric")]
        change = [_number(row[f"change_{way}"]) for way in ("radial", "tangential")]
        table[row["species"]] = Species(
            name=row["species"],
            specific_gravity=_number(row["specific_gravity"]),
            modulus=_number(row["modulus"]),
            shrinkage=(shrinkage[0], shrinkage[1], shrinkage[2])
            if shrinkage[0] is not None and shrinkage[1] is not None and shrinkage[2] is not None
            else None,
            change=(change[0], change[1]) if change[0] is not None and change[1] is not None else None,
            marks=tuple((group, row[f"{group}_mark"]) for group in _TABLES if row[f"{group}_mark"]),
        )
    return table


def _words(name: str) -> frozenset[str]:
    return frozenset(name.lower().replace(",", " ").split())


def _usual(name: str) -> int:
    """Rank of a species among those of its kind: the white, red and black one of a sawmill's list first."""
    return next((rank for rank, word in enumerate(_COMMON) if word in _words(name)), len(_COMMON))


def species(name: str) -> Species:
    """The row of a species; word order, commas and capitals do not matter ("White ash" is "ash, white").

    Raises:
        SlabwrightError: it is not in the table; near names are told.
    """
    table = all_species()
    by_words = {_words(known): known for known in table}
    wanted = _words(name)
    if wanted in by_words:
        return table[by_words[wanted]]
    near = near_species(name)[:5]
    hint = "; near ones: " + ", ".join(f"'{known}'" for known in near) if near else "; names look like 'ash, white'"
    raise SlabwrightError(f"species {name!r} is not in the table{hint}")


def near_species(name: str) -> list[str]:
    """Names in the table near to one that is not: of its kind first, then those that are spelt alike, then any with such a word.

    Args:
        name: as it was typed, such as `oak` or `wite ash`
    """
    table, wanted = all_species(), _words(name)
    by_sorted_words = {" ".join(sorted(_words(known))): known for known in table}
    close = difflib.get_close_matches(" ".join(sorted(wanted)), by_sorted_words, n=3, cutoff=0.6)
    every_word = sorted({word for known in table for word in _words(known)})
    alike = {near for word in wanted for near in difflib.get_close_matches(word, every_word, n=2, cutoff=0.75)}
    sharing = sorted(known for known in table if alike & _words(known))
    # The kind that was typed comes first: of oak the oaks, those with more of its words before the others.
    kind = [known for known in sharing if known.lower().split(",")[0] in wanted]
    kind.sort(key=lambda known: (-len(wanted & _words(known)), _usual(known), known))
    return list(dict.fromkeys([*kind, *(by_sorted_words[words] for words in close), *sharing]))
