"""The words of RS-274: modal groups, tolerances and limits of a line, and the few words that surfacing needs."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources


@dataclass(frozen=True)
class Language:
    """What RS-274 allows, and what of it a surfacing program uses.

    Attributes:
        groups: modal group of each word, such as `G17` -> `plane`; G words and M words never share a group
        letters: that may begin a word
        arc_tolerance: by which the ends of an arc may differ in radius, by units word: `G21` [mm], `G20` [in]
        longest_line: characters
        highest_number: of a line
        most_m_words: on one line
        surfacing: words that a surfacing program may use
        surfacing_letters: letters that a surfacing program may use
    """

    groups: Mapping[str, str]
    letters: frozenset[str]
    arc_tolerance: Mapping[str, float]
    longest_line: int
    highest_number: int
    most_m_words: int
    surfacing: frozenset[str]
    surfacing_letters: frozenset[str]


@cache
def language() -> Language:
    """RS-274 by NISTIR 6556 (2000); each table's source stands in `rs274.toml`.

    Raises:
        ValueError: the table contradicts itself.
    """
    table = tomllib.loads(resources.files("slabwright.reference").joinpath("rs274.toml").read_text(encoding="utf-8"))
    groups: dict[str, str] = {}
    for letter in "GM":
        for group, numbers in table["modal_groups"][letter].items():
            for number in numbers:
                if letter + number in groups:
                    raise ValueError(f"rs274.toml: {letter}{number} stands in two modal groups")
                groups[letter + number] = group
    surfacing = frozenset(letter + number for letter in "GM" for number in table["surfacing"][letter])
    if not surfacing <= groups.keys():
        raise ValueError(f"rs274.toml: surfacing names {sorted(surfacing - groups.keys())}, which no modal group holds")
    return Language(
        groups=groups,
        letters=frozenset(table["letters"]["known"]),
        arc_tolerance={"G21": table["arcs"]["tolerance_mm"], "G20": table["arcs"]["tolerance_inch"]},
        longest_line=table["lines"]["longest"],
        highest_number=table["lines"]["highest_number"],
        most_m_words=table["lines"]["most_m_words"],
        surfacing=surfacing,
        surfacing_letters=frozenset(table["surfacing"]["letters"]),
    )
