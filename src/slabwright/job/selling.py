"""Who sells a thing, and the price that holds for it on a day."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.job.models import JobFile
from slabwright.job.money_models import Kind, Sells, Supplier


@dataclass(frozen=True)
class Measured:
    """What of a thing a price may go by.

    Attributes:
        unit: in which it is counted
        whole: whether it comes in whole pieces
        metres: of one, for a price by the metre
        kilograms: that one weighs, for a price by weight
        cubic_metres: that one has, for a price by volume
    """

    unit: str
    whole: bool = True
    metres: float | None = None
    kilograms: float | None = None
    cubic_metres: float | None = None


def named(text: str) -> str:
    """A name as it is compared: small letters, single spaces, x for the sign of times."""
    return " ".join(text.lower().replace("×", "x").split())


def dated(stated: JobFile) -> datetime.date | None:
    """The job's date, where it is one."""
    try:
        return datetime.date.fromisoformat(stated.job.date)
    except ValueError:
        return None


def seller(suppliers: Sequence[Supplier], what: str, kind: Kind) -> Supplier | None:
    """Who sells it: first whoever has a price for the thing itself, then whoever sells its kind."""
    for supplier in suppliers:
        if any(named(each.what) == named(what) for each in supplier.sells):
            return supplier
    return next((supplier for supplier in suppliers if kind in supplier.what), None)


def sold_by(supplier: Supplier | None, what: str, kind: Kind, day: datetime.date | None) -> Sells | None:
    """The price that holds for it: of the thing itself, of its first word or section, of its kind.

    Args:
        supplier: who sells it
        what: as the order names it
        kind: of thing
        day: on which it is bought; None: not known, and the price that began last is taken

    Returns:
        Of the prices of one name the one that began last by that day; one without a day holds from ever.
    """
    if supplier is None:
        return None
    name = named(what)
    for key in (name, name.partition(",")[0], kind):
        holding = [
            each
            for each in supplier.sells
            if named(each.what) == key and (each.since is None or day is None or each.since <= day)
        ]
        if holding:
            return max(holding, key=lambda each: each.since or datetime.date.min)
    return None


def price_of_one(thing: Measured, sold: Sells) -> float | None:
    """What one costs by a stated price; None where the price goes by something that is not known of it."""
    if sold.per == thing.unit or (sold.per == "piece" and thing.whole):
        return sold.price
    by = {"m": thing.metres, "kg": thing.kilograms, "m3": thing.cubic_metres}
    size = by.get(sold.per)
    return None if size is None else sold.price * size
