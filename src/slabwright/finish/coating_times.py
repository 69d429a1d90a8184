"""A data sheet's times at the shop's temperature."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from slabwright.job.finish_models import Coating, CoatWindow
from slabwright.reference.coatings import coating_rules

Basis = Literal["as the sheet says", "between the sheet's temperatures", "by the temperature rule"]
_RANK: tuple[Basis, ...] = ("as the sheet says", "between the sheet's temperatures", "by the temperature rule")
_SAME = 1e-9


@dataclass(frozen=True)
class SheetTimes:
    """A coating's times at one temperature.

    Attributes:
        without_sanding: to the next coat, least and greatest [h]; None: no greatest
        after_scuffing: the same after scuffing [h]
        time_to_sand: until it can be sanded [h]
        pot_life: [min]; None: it keeps
        touch_dry: [min]; None: not stated
        cure: until the piece may be used [h]
        basis: what the windows rest on
    """

    without_sanding: tuple[float, float | None]
    after_scuffing: tuple[float, float | None]
    time_to_sand: float
    pot_life: float | None
    touch_dry: float | None
    cure: float
    basis: Basis


def time_at(points: Sequence[tuple[float, float]], temperature: float, factor: float) -> tuple[float, Basis]:
    """A time at a temperature.

    At a temperature of the sheet its own figure; between two of them even in the logarithm of the time; beyond them, or with
    one alone, shortened by the factor for each 10 degrees more [1]_:

        time = time_0 * factor ** ((temperature_0 - temperature) / 10)

    Args:
        points: temperature [degrees Celsius] and time, one or more, no temperature twice
        temperature: asked for [degrees Celsius]
        factor: for 10 degrees; 2: halved

    Returns:
        The time, in the points' unit, and what it rests on.

    References:
        .. [1] the usual rule of pot life, see `reference/coatings.toml`.
    """
    known = sorted(points)
    for at, time in known:
        if abs(at - temperature) < _SAME:
            return time, "as the sheet says"
    for (low, slow), (high, quick) in pairwise(known):
        if low < temperature < high:
            share = (temperature - low) / (high - low)
            if slow <= 0.0 or quick <= 0.0:
                return slow + share * (quick - slow), "between the sheet's temperatures"
            return math.exp(math.log(slow) + share * math.log(quick / slow)), "between the sheet's temperatures"
    at, time = known[0] if temperature < known[0][0] else known[-1]
    return float(time * factor ** ((at - temperature) / 10.0)), "by the temperature rule"


def times_at(coating: Coating, temperature: float) -> SheetTimes:
    """A coating's times at the shop's temperature [degrees Celsius]."""
    more = coating.more
    factor = more.temperature_factor or coating_rules().factor
    bases: list[Basis] = []

    def read(own: float | None, name: str) -> float | None:
        points = [(more.stated_at, own)] if own is not None else []
        points += [(p.temperature, value) for p in more.at if (value := getattr(p, name)) is not None]
        return time_at(points, temperature, factor)[0] if points else None

    def window(own: CoatWindow, name: str) -> tuple[float, float | None]:
        stated = [(more.stated_at, own), *((p.temperature, w) for p in more.at if (w := getattr(p, name)) is not None)]
        least, basis = time_at([(at, w.least) for at, w in stated], temperature, factor)
        bases.append(basis)
        # The model holds that either all of them have a greatest or none has.
        ends = [(at, w.greatest) for at, w in stated if w.greatest is not None]
        return least, time_at(ends, temperature, factor)[0] if ends else None

    without = window(coating.without_sanding, "without_sanding")
    scuffed = (
        window(coating.after_scuffing, "after_scuffing") if coating.after_scuffing is not None else (without[0], None)
    )
    sand = read(more.time_to_sand, "time_to_sand")
    cure = read(coating.cure, "cure")
    assert cure is not None
    return SheetTimes(
        without_sanding=without,
        after_scuffing=scuffed,
        time_to_sand=scuffed[0] if sand is None else sand,
        pot_life=read(coating.pot_life, "pot_life"),
        touch_dry=read(more.touch_dry, "touch_dry"),
        cure=cure,
        basis=max(bases, key=_RANK.index),
    )
