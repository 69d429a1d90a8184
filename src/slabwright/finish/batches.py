"""Batches that are used up within the pot life, and the cans to buy."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.finish.coating_film import PartAmount, parts_of
from slabwright.job.finish_models import Can, Coating
from slabwright.reference.coatings import coating_rules

_FULL = 1e-9
_CHOICE, _STEPS = 20, 20_000


@dataclass(frozen=True)
class Batches:
    """How one coat is mixed."""

    count: int = figure(
        "1",
        "batches, alike",
        how="minutes that the coat takes / minutes that a batch can be used, rounded up; one where it keeps",
        rests_on=("shop:coatings", "finish.areas"),
        change="a quicker way to put it on, a cooler shop or one with a longer pot life",
    )
    usable: float | None = figure(
        "min",
        "that a batch can be used once induction is over; empty: it keeps",
        how="three quarters of the pot life at the shop's temperature - induction",
        rests_on=("shop:coatings", "job:finish.temperature"),
        source="one quarter of the pot life kept, common practice",
    )
    volume: float = figure("l", "of one batch, before thinner", how="amount of the coat / batches")
    parts: tuple[PartAmount, ...] = figure("", "what is measured out for one batch")


@dataclass(frozen=True)
class CanOrder:
    """Cans of one size to buy."""

    coating: str = figure("", "what it is")
    size: float = figure("l", "that one holds, components together", rests_on=("shop:coatings",))
    count: int = figure(
        "1",
        "how many",
        how="of all sets of cans that hold enough, the cheapest where all prices are stated; else the fewest, and of those the"
        " least left over",
        rests_on=("shop:coatings",),
    )
    price: float | None = figure("money", "of them all; empty where no price is stated")


def batches(coating: Coating, litres: float, minutes: float, pot_life: float | None) -> Batches:
    """The batches of one coat.

    Args:
        coating: with its parts and induction
        litres: of the coat, before thinner [l]
        minutes: that putting it on takes [min]
        pot_life: at the shop's temperature [min]; None: it keeps

    Returns:
        Batches; `usable` is nothing or less where induction eats up the pot life, and one batch is told then.
    """
    if pot_life is None:
        return Batches(1, None, litres, parts_of(coating, litres))
    usable = coating_rules().pot_share * pot_life - coating.more.induction
    count = max(1, math.ceil(minutes / usable - _FULL)) if usable > 0.0 else 1
    return Batches(count, usable, litres / count, parts_of(coating, litres / count))


def cans_to_buy(cans: Sequence[Can], litres: float) -> tuple[tuple[Can, int], ...]:
    """The cans that hold an amount: cheapest where all prices are stated, else the fewest; then the least left over.

    The best set for each amount up to the one wanted, from the best sets for less: counted in millilitres, coarser beyond
    20 litres, cans rounded down and the amount up.

    Args:
        cans: sizes that it is sold in
        litres: wanted [l]

    Returns:
        Cans with how many of each, largest first; nothing where no size is stated or none is wanted.
    """
    if not cans or litres <= _FULL:
        return ()
    sizes = sorted(cans, key=lambda can: -can.size)
    bulk = max(0, math.floor(litres / sizes[0].size) - _CHOICE)
    rest = litres - bulk * sizes[0].size
    step = max(0.001, rest / _STEPS)
    wanted = math.ceil(rest / step - _FULL)
    holds = [max(1, math.floor(can.size / step + _FULL)) for can in sizes]
    priced = all(can.price is not None for can in sizes)
    costs = [(can.price or 0.0) if priced else 0.0 for can in sizes]
    best: list[tuple[float, int, float]] = [(0.0, 0, 0.0)]
    last = [-1]
    for amount in range(1, wanted + 1):
        options = []
        for can, held, cost in zip(sizes, holds, costs, strict=True):
            spent, count, volume = best[max(0, amount - held)]
            options.append((round(spent + cost, 6), count + 1, round(volume + can.size, 6)))
        chosen = min(range(len(sizes)), key=options.__getitem__)
        best.append(options[chosen])
        last.append(chosen)
    counts = [bulk, *([0] * (len(sizes) - 1))]
    left = wanted
    while left > 0:
        counts[last[left]] += 1
        left = max(0, left - holds[last[left]])
    return tuple((can, count) for can, count in zip(sizes, counts, strict=True) if count)
