"""What people hand to the book: checked before any of it is kept."""

from __future__ import annotations

import math
import unicodedata
from datetime import UTC, datetime

from slabwright.findings import SlabwrightError
from slabwright.job.paths import shown

_MOST = 10_000
"""Letters of a note."""
_YEARS = (1970, 2200)
"""First and last of a shop's times."""


def now() -> datetime:
    """This moment, in UTC."""
    return datetime.now(UTC)


def is_control(character: str) -> bool:
    """Whether a sign steers a machine and is no writing; joiners and fixed spaces are writing."""
    return unicodedata.category(character) in ("Cc", "Cs")


def words(text: str, what: str, *, most: int = _MOST, wanted: bool = True) -> str:
    """A text without space around it.

    Args:
        text: as it was typed
        what: the message calls it
        most: letters
        wanted: whether it must not be empty

    Raises:
        SlabwrightError: it is empty, too long or holds signs that cannot be printed.
    """
    stripped = text.strip()
    if wanted and not stripped:
        raise SlabwrightError(f"{what} is empty; say it in a few words")
    if len(stripped) > most:
        raise SlabwrightError(f"{what} has {len(stripped)} letters; at most {most} are kept")
    if any(is_control(c) and c not in "\n\t\r" for c in stripped):
        raise SlabwrightError(f"{what} {shown(stripped)} holds signs that cannot be printed; leave them out")
    return stripped


def moment(at: datetime | None, what: str) -> datetime:
    """A time with its zone, or this moment.

    Raises:
        SlabwrightError: it has no zone, or lies ages away.
    """
    if at is None:
        return now()
    if at.tzinfo is None:
        raise SlabwrightError(f"{what} {at.isoformat(sep=' ')} has no time zone; say it like 2026-11-25T14:30+01:00")
    if not _YEARS[0] <= at.year <= _YEARS[1]:
        raise SlabwrightError(f"{what} {at.isoformat(sep=' ')} lies outside {_YEARS[0]} to {_YEARS[1]}; check the year")
    return at


def one_of(text: str, choices: tuple[str, ...], what: str) -> str:
    """A word out of a few.

    Raises:
        SlabwrightError: it is none of them.
    """
    if text not in choices:
        raise SlabwrightError(f"{what} {shown(str(text))}: write one of {', '.join(choices)}")
    return text


def number(value: float, what: str, *, least: float = 0.0, above: bool = False, most: float = 1e9) -> float:
    """A number within its limits.

    Raises:
        SlabwrightError: it lies outside, or is none.
    """
    if not math.isfinite(value) or value < least or value > most or (above and value == least):
        raise SlabwrightError(f"{what} {value:g}: write {'more than' if above else 'at least'} {least:g}")
    return float(value)
