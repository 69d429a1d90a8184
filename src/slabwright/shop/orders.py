"""Orders: what the plan takes less what is on the shelf, from whom and by when, and what of it has come."""

from __future__ import annotations

import datetime
import difflib
import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.job.loaded import Job
from slabwright.job.money_models import Received, Supplier
from slabwright.job.selling import dated, named, price_of_one, seller, sold_by
from slabwright.quantities import Units
from slabwright.reference.money import money_table
from slabwright.shop.can_words import fluid_words
from slabwright.shop.lead_times import OrderDays
from slabwright.shop.orders_items import BEFORE, Item, OrderParts, items
from slabwright.shop.orders_results import Order, Orders, SupplierOrder
from slabwright.shop.price_lines import CostLine

_FULL = 1e-6


def orders(
    job: Job, parts: OrderParts, needed: Mapping[str, datetime.date] | None
) -> tuple[Orders, tuple[Finding, ...]]:
    """Everything that is bought for a job, grouped by supplier.

    Args:
        job: what is stated, with the shop's suppliers and stock, and what has come
        parts: of the plan
        needed: day on which each kind of thing must be there; None: no schedule yet

    Returns:
        The orders; and what there is to say.
    """
    found, missed = [], []
    days = OrderDays(job.shop.calendar)
    shelf = {named(held.what): held.amount for held in job.shop.stock}
    come = _come(job.stated.received)
    for item in _together(items(job, parts)):
        found.append(_order(job, item, shelf, come, needed, days))
        if seller(job.shop.suppliers, item.what, item.kind) is None:
            missed.append(item)
    to_buy = [order for order in found if order.amount > _FULL]
    made = Orders(
        suppliers=_grouped(job, to_buy),
        from_stock=tuple(order for order in found if order.amount <= _FULL),
        next_order=min(
            (order.order_by for order in to_buy if order.order_by is not None and not arrived(order)), default=None
        ),
    )
    return made, (*_lacking(missed, job), *_late(job, to_buy), *_unknown(job.stated.received, found), *_over(found))


def arrived(order: Order) -> bool:
    """Whether all of it has come."""
    return order.received >= order.amount - _FULL


def _together(wanted: Sequence[Item]) -> list[Item]:
    """One item for each thing, where several parts of the plan take it."""
    found: dict[tuple[str, str], Item] = {}
    for item in wanted:
        key = (named(item.what), item.unit)
        if key not in found:
            found[key] = item
            continue
        one = found[key]
        price = None if one.price is None or item.price is None else one.price + item.price
        places = one.for_what if item.for_what in one.for_what.split(", ") else f"{one.for_what}, {item.for_what}"
        found[key] = replace(one, wanted=one.wanted + item.wanted, price=price, for_what=places)
    return list(found.values())


def _come(received: Sequence[Received]) -> dict[str, float]:
    """What has come, by name; all of it where no amount is stated."""
    found: dict[str, float] = {}
    for each in received:
        amount = math.inf if each.amount is None else each.amount
        found[named(each.what)] = found.get(named(each.what), 0.0) + amount
    return found


def _price(job: Job, item: Item, supplier: Supplier | None) -> float | None:
    """Price of one [currency]."""
    if item.price is not None:
        return item.price / item.wanted
    sold = sold_by(supplier, item.what, item.kind, job_date(job))
    if sold is not None:
        return price_of_one(item.measured, sold)
    by_volume = job.shop.prices.wood_per_cubic_metre
    if item.kind == "slab" and by_volume is not None and item.cubic_metres is not None:
        return by_volume * item.cubic_metres
    return None


def _order(
    job: Job,
    item: Item,
    shelf: dict[str, float],
    come: Mapping[str, float],
    needed: Mapping[str, datetime.date] | None,
    days: OrderDays,
) -> Order:
    key = named(item.what)
    taken = min(shelf.get(key, 0.0), item.wanted)
    if item.whole:
        taken = float(math.floor(taken + _FULL))
    shelf[key] = shelf.get(key, 0.0) - taken
    rest = max(item.wanted - taken, 0.0)
    supplier = seller(job.shop.suppliers, item.what, item.kind)
    there_for = item.there_for or item.kind
    day = needed.get(there_for) if needed is not None else None
    lead = supplier.lead_days if supplier is not None else None
    lead_in = supplier.lead_in if supplier is not None else "days"
    one = _price(job, item, supplier)
    by = None
    if day is not None and lead is not None:
        by = days.order_by(day, lead, working=lead_in == "working days")
    return Order(
        kind=item.kind,
        what=item.what,
        for_what=item.for_what,
        unit=item.unit,
        wanted=item.wanted,
        in_stock=taken,
        amount=rest if rest > _FULL else 0.0,
        received=min(come.get(key, 0.0), rest),
        needed=day,
        order_by=by,
        before=BEFORE[there_for],
        lead_days=lead,
        lead_in=lead_in,
        price=None if one is None else one * rest,
        price_of_wanted=None if one is None else one * item.wanted,
    )


def _urgency(order: Order) -> tuple[datetime.date, str]:
    return (order.order_by or order.needed or datetime.date.max, order.what)


def _grouped(job: Job, to_buy: Sequence[Order]) -> tuple[SupplierOrder, ...]:
    by: dict[str, list[Order]] = {}
    for order in to_buy:
        item = Item(order.kind, order.what, order.for_what, order.unit, order.wanted)
        supplier = seller(job.shop.suppliers, item.what, item.kind)
        by.setdefault(supplier.name if supplier is not None else "", []).append(order)
    groups = []
    for name, group in by.items():
        open_days = [order.order_by for order in group if order.order_by is not None and not arrived(order)]
        prices = [order.price for order in group if order.price is not None]
        groups.append(
            SupplierOrder(
                supplier=name,
                items=tuple(sorted(group, key=_urgency)),
                order_by=min(open_days, default=None),
                price=math.fsum(prices) if prices else None,
            )
        )
    return tuple(
        sorted(groups, key=lambda group: (not group.supplier, group.order_by or datetime.date.max, group.supplier))
    )


def _lacking(missed: Sequence[Item], job: Job) -> tuple[Finding, ...]:
    found = []
    if missed:
        kinds = list(dict.fromkeys(item.kind for item in missed))
        found.append(
            Finding(
                "orders/no-supplier",
                "note",
                f"No supplier is stated for {', '.join(kinds)}: how long it takes is not known, and a day to order by that the"
                " days tell rests on the usual wait.",
                "State [[suppliers]] in shop.toml: name, what, lead_days.",
            )
        )
    slow = [supplier.name for supplier in job.shop.suppliers if supplier.lead_days is None]
    if slow:
        found.append(
            Finding(
                "orders/no-lead-days",
                "note",
                f"How long {', '.join(slow[:3])} takes is not stated: a day to order by that the days tell rests on the usual"
                " wait.",
                "State lead_days of [[suppliers]], and ask when you order.",
            )
        )
    return tuple(found)


def job_date(job: Job) -> datetime.date | None:
    """The job's date, where it is one."""
    return dated(job.stated)


def _late(job: Job, to_buy: Sequence[Order]) -> tuple[Finding, ...]:
    today = job_date(job)
    if today is None:
        return ()
    late = [each for each in to_buy if each.order_by is not None and each.order_by < today and not arrived(each)]
    if not late:
        return ()
    first = min(late, key=_urgency)
    days = (today - first.order_by).days if first.order_by is not None else 0
    more = f" ({len(late) - 1} more are late too)" if len(late) > 1 else ""
    return (
        Finding(
            "orders/late",
            "caution",
            f"{first.what}: it had to be ordered by {first.order_by}, {days} days before this revision's date{more}.",
            f"Order it today and ask for the day of delivery; what waits for it begins {days} days later otherwise.",
            COMMON_PRACTICE,
        ),
    )


def _unknown(received: Sequence[Received], found: Sequence[Order]) -> tuple[Finding, ...]:
    names = {named(order.what): order.what for order in found}
    told = []
    for number, each in enumerate(received):
        if named(each.what) in names:
            continue
        near = difflib.get_close_matches(named(each.what), names, n=1, cutoff=0.5)
        meant = f"Did you mean {names[near[0]]!r}?" if near else "Write it as the order sheet names it."
        told.append(
            Finding(
                "orders/received-unknown",
                "caution",
                f"[[received]] {number + 1} says {each.what!r} has come; no order is called so.",
                meant,
            )
        )
    return tuple(told)


def _over(found: Sequence[Order]) -> tuple[Finding, ...]:
    short = [order for order in found if 0.0 < order.received < order.amount - _FULL]
    if not short:
        return ()
    first = short[0]
    return (
        Finding(
            "orders/part-come",
            "note",
            f"{first.what}: {first.received:g} of {first.amount:g} {plural(first.unit, first.amount)} have come.",
            "Ask for the rest.",
        ),
    )


def plural(unit: str, amount: float) -> str:
    """A unit as it is said of an amount."""
    return unit if amount == 1 or unit in ("kg", "l", "m") else f"{unit}s"


def amount_words(amount: float, unit: str, units: Units) -> str:
    """An amount to order, as people read it; rounded up so that it is enough.

    Args:
        amount: in the unit in which it is counted
        unit: that unit
        units: of the job
    """
    if unit == "kg":
        if units == "inch":
            return f"{math.ceil(amount / 0.45359237 * 100.0 - _FULL) / 100.0:.2f} lb"
        return (
            f"{math.ceil(amount * 1000.0 - _FULL):g} g"
            if amount < 1.0
            else f"{math.ceil(amount * 100.0 - _FULL) / 100.0:.2f} kg"
        )
    if unit == "l":
        return fluid_words(amount, units)
    return f"{amount:g} {plural(unit, amount)}"


def orders_costs(job: Job, made: Orders, parts: OrderParts) -> tuple[CostLine, ...]:
    """What the job is charged for material: all that the plan takes, from the shelf or not; see `price`.

    What has no price is a line without a cost, so that the price says that it is left out.

    Args:
        job: with its units, and what the slab cost
        made: from `orders`
        parts: of the plan; the slab in the shop is charged by its rough size where its own price is not stated
    """
    spreads = money_table().spreads
    units = job.stated.job.units
    found = []
    for order in made.items:
        settled = order.kind == "slab" and job.stated.quote is not None and job.stated.quote.slab_price is not None
        spread = spreads.get(order.kind, spreads["other"])
        cost = order.price_of_wanted
        low, high = (None, None) if cost is None or settled else (cost * spread.low, cost * spread.high)
        found.append(CostLine("material", order.what, cost, low, high, amount_words(order.wanted, order.unit, units)))
    if not any(order.kind == "slab" for order in made.items):
        found = [*_slab_in_the_shop(job, parts), *found]
    return tuple(found)


def _slab_in_the_shop(job: Job, parts: OrderParts) -> list[CostLine]:
    """The slab that is there already: what it cost, or its rough size at the price of wood."""
    slab, quote, by_volume = job.stated.slab, job.stated.quote, job.shop.prices.wood_per_cubic_metre
    if slab is None:
        return []
    name = f"slab, {slab.species}"
    if quote is not None and quote.slab_price is not None:
        return [CostLine("material", name, quote.slab_price, amount="1 piece")]
    if parts.slab is None:
        return []
    read = parts.slab.survey
    volume = read.length * read.width * read.thickness_most / 1e9
    cost = None if by_volume is None else by_volume * volume
    return [CostLine("material", name, cost, amount=f"{volume:.3f} m³ as sold")]
