"""Money in the smallest unit of its currency: whole numbers that add up, whatever they were divided by.

Amounts that people type are decimals; in between they are exact fractions; what is paid is a whole number of the currency's
smallest unit. Where a sum is shared out, every share is rounded down and the units that are left go to the largest remainders,
so that the shares add up to the sum [1]_.

References:
    .. [1] largest-remainder method (Hamilton, Hare), as in M. Balinski, H. P. Young, Fair Representation (1982), from memory
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from slabwright.findings import SlabwrightError
from slabwright.reference.money import minor_digits

NO_BREAK = "\u00a0"
Exact = int | float | Decimal | Fraction


def exact(amount: Exact) -> Fraction:
    """An amount as it was typed, as an exact fraction: 0.1 is one tenth.

    Raises:
        SlabwrightError: it is no finite number.
    """
    if isinstance(amount, float):
        if not math.isfinite(amount):
            raise SlabwrightError(f"money: {amount} is no amount; state a finite number")
        return Fraction(repr(float(amount)))
    return Fraction(amount)


def half_up(value: Fraction) -> int:
    """The nearest whole number; halves go away from zero, as on an invoice."""
    size = math.floor(abs(value) + Fraction(1, 2))
    return size if value >= 0 else -size


def to_minor(amount: Exact, currency: str) -> int:
    """An amount in the smallest unit of its currency, halves away from zero.

    Args:
        amount: in the currency's own unit
        currency: three letters, ISO 4217

    Raises:
        SlabwrightError: there is no such currency, or the amount is no number.
    """
    return half_up(exact(amount) * 10 ** minor_digits(currency))


def from_minor(minor: int, currency: str) -> Decimal:
    """An amount in the currency's own unit, exactly.

    Raises:
        SlabwrightError: there is no such currency.
    """
    return Decimal(minor).scaleb(-minor_digits(currency))


def plain_amount(minor: int, currency: str) -> float:
    """The same as a plain number, for results."""
    return float(from_minor(minor, currency))


def shared_out(total: int, weights: Sequence[Exact]) -> tuple[int, ...]:
    """Share out a whole amount by weights, so that the shares add up to it.

    Each is less than one unit off its exact share; of equal remainders the earlier one gets the unit.

    Args:
        total: in the smallest unit
        weights: of the shares, none below 0

    Raises:
        ValueError: a weight is below 0, or all are 0 and there is something to share.
    """
    exactly = [exact(weight) for weight in weights]
    whole = sum(exactly, Fraction(0))
    if any(weight < 0 for weight in exactly):
        raise ValueError("weights must be 0 or more")
    if whole == 0:
        if total:
            raise ValueError("there is something to share, and nobody to have it: a weight must be above 0")
        return (0,) * len(exactly)
    return rounded_together([total * weight / whole for weight in exactly], total)


def rounded_together(values: Sequence[Fraction], total: int | None = None) -> tuple[int, ...]:
    """Round amounts to whole ones that add up to their rounded sum (or to `total`, which is less than one each away).

    Args:
        values: in the smallest unit
        total: what they must add up to; None: their sum, halves away from zero

    Raises:
        ValueError: the total is so far from the sum that one of them would be off by a unit or more.
    """
    wanted = half_up(sum(values, Fraction(0))) if total is None else total
    floors = [math.floor(value) for value in values]
    left = wanted - sum(floors)
    if not 0 <= left <= len(values):
        raise ValueError("the amounts cannot be rounded to that total: it is not their sum")
    order = sorted(range(len(values)), key=lambda k: (floors[k] - values[k], k))
    for k in order[:left]:
        floors[k] += 1
    return tuple(floors)


def format_minor(minor: int, currency: str) -> str:
    """An amount as people read it, such as `1 234.50 EUR`, `1 235 JPY`, `1 234.500 KWD`.

    Raises:
        SlabwrightError: there is no such currency.
    """
    digits = minor_digits(currency)
    size = abs(minor)
    whole, rest = divmod(size, 10**digits)
    told = f"{whole:,}".replace(",", NO_BREAK) + (f".{rest:0{digits}d}" if digits else "")
    return f"{'−' if minor < 0 else ''}{told}{NO_BREAK}{currency}"


def format_amount(amount: Exact, currency: str) -> str:
    """An amount in the currency's own unit, as people read it."""
    return format_minor(to_minor(amount, currency), currency)


def format_about(amount: Exact, low: Exact, high: Exact, currency: str) -> str:
    """An amount of a range, no finer than a tenth of the range is wide: 8 687.80 between 5 820 and 9 438 is 8 700.

    Args:
        amount: in the currency's own unit
        low: of the range
        high: of the range
        currency: three letters, ISO 4217
    """
    wide, step = exact(high) - exact(low), Fraction(1)
    if wide < 10:
        return format_amount(amount, currency)
    while 100 * step <= wide:
        step *= 10
    whole = f"{half_up(exact(amount) / step) * int(step):,}".replace(",", NO_BREAK)
    return f"{whole}{NO_BREAK}{currency}"
