"""Smallest units of the currencies, and what a first price is reckoned with."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from slabwright.findings import SlabwrightError


@dataclass(frozen=True)
class Spread:
    """How far something that is not settled may be off.

    Attributes:
        low: of its likely value, passed downwards once in ten
        high: of its likely value, passed upwards once in ten
        source: whose figure, marked
    """

    low: float
    high: float
    source: str


@dataclass(frozen=True)
class FirstHours:
    """Hours of one kind of work in a first price.

    Attributes:
        kind: of work
        fixed: hours whatever the size
        per_square_metre: of the top
        per_part: of steel
        per_joint: of steel
        per_square_metre_of_steel: that is coated
        factor: either way, passed once in ten
        settled_by: part of the plan that narrows it
    """

    kind: str
    factor: float
    fixed: float = 0.0
    per_square_metre: float = 0.0
    per_part: float = 0.0
    per_joint: float = 0.0
    per_square_metre_of_steel: float = 0.0
    settled_by: str = ""


@dataclass(frozen=True)
class FirstPriceTable:
    """What a first price is reckoned with; lengths in mm, waits in days (low, high)."""

    spare_length: float
    spare_width: float
    planned_width: float
    sold_step: float
    settled: float
    hours: tuple[FirstHours, ...]
    machine_per_square_metre: float
    machine_factor: float
    find_slab: tuple[float, float]
    settle: tuple[float, float]
    sign_offs: tuple[float, float]
    source: str


@dataclass(frozen=True)
class MoneyTable:
    """All of `money.toml`.

    Attributes:
        digits: behind the point of each currency's smallest unit
        source: of the digits
        spreads: by what is bought
        insert_edges: of a cutter's insert
        first_price: what a first price is reckoned with
    """

    digits: Mapping[str, int]
    source: str
    spreads: Mapping[str, Spread]
    insert_edges: int
    first_price: FirstPriceTable


def _marked(entry: Mapping[str, Any]) -> str:
    mark = str(entry["mark"])
    return str(entry["source"]) + ("" if mark == "read" else f", {mark}")


@cache
def money_table() -> MoneyTable:
    """The table.

    Raises:
        ValueError: a currency is listed twice, or a figure cannot be.
    """
    text = resources.files("slabwright.reference").joinpath("money.toml").read_text(encoding="utf-8")
    table: dict[str, Any] = tomllib.loads(text)
    currencies = table["currencies"]
    digits: dict[str, int] = {}
    for count in (0, 2, 3):
        for code in currencies[str(count)]:
            if code in digits:
                raise ValueError(f"money.toml: currencies: {code} is listed twice")
            digits[code] = count
    spreads = {
        name: Spread(float(row["low"]), float(row["high"]), _marked(row)) for name, row in table["spread"].items()
    }
    if not all(0.0 < spread.low <= 1.0 <= spread.high for spread in spreads.values()):
        raise ValueError("money.toml: spread: low is above 0 and at most 1, high at least 1")
    first = table["first_price"]
    hours = tuple(FirstHours(**row) for row in first["hours"])
    if not all(row.factor >= 1.0 for row in hours) or first["machine"]["factor"] < 1.0:
        raise ValueError("money.toml: first_price: a factor is at least 1")
    waits = {name: (float(low), float(high)) for name, (low, high) in first["waits"].items()}
    if not all(0.0 <= low <= high for low, high in waits.values()):
        raise ValueError("money.toml: first_price.waits: least first, then most")
    return MoneyTable(
        digits=digits,
        source=_marked(currencies),
        spreads=spreads,
        insert_edges=int(table["orders"]["insert_edges"]),
        first_price=FirstPriceTable(
            spare_length=float(first["spare_length"]),
            spare_width=float(first["spare_width"]),
            planned_width=float(first["planned_width"]),
            sold_step=float(first["sold_step"]),
            settled=float(first["settled"]),
            hours=hours,
            machine_per_square_metre=float(first["machine"]["per_square_metre"]),
            machine_factor=float(first["machine"]["factor"]),
            find_slab=waits["find_slab"],
            settle=waits["settle"],
            sign_offs=waits["sign_offs"],
            source=_marked(first),
        ),
    )


def minor_digits(currency: str) -> int:
    """Digits behind the point of a currency's smallest unit [1]_.

    Args:
        currency: three letters

    Raises:
        SlabwrightError: there is no such currency.

    References:
        .. [1] ISO 4217, minor unit
    """
    digits = money_table().digits
    if currency in digits:
        return digits[currency]
    near = difflib.get_close_matches(currency, digits, n=3, cutoff=0.6)
    meant = f"did you mean {', '.join(near)}?" if near else "write three letters such as EUR, GBP, USD or JPY"
    raise SlabwrightError(f"job.currency: there is no currency {currency!r} in ISO 4217; {meant}")


def format_money(amount: float, currency: str) -> str:
    """An amount with its currency's three letters and the digits of its smallest unit [1]_.

    Such as `1 234.50 EUR`, `1 235 JPY`, `1 234.500 KWD`; thousands are parted by a no-break space, and of a currency that is not
    known two digits are told.

    References:
        .. [1] ISO 4217, minor unit
    """
    told = f"{amount:,.{money_table().digits.get(currency, 2)}f}".replace(",", "\u00a0")
    if not any(digit in told for digit in "123456789"):
        told = told.removeprefix("-")
    return f"{told} {currency}"
