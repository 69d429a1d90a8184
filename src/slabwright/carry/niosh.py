"""The lifting index of one person's two-handed lift, and what keeps the equation from applying."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise

from slabwright.accounts import figure
from slabwright.findings import SlabwrightError
from slabwright.quantities import Units
from slabwright.reference.niosh import Coupling, Duration, lifting_tables

_MANUAL = "NIOSH applications manual, DHHS 94-110 (Revised 9/2021)"


@dataclass(frozen=True)
class Grip:
    """Where the hands are at one end of a lift; lengths in cm or in.

    Attributes:
        horizontal: from between the ankles to between the hands
        vertical: of the hands above the floor
        asymmetry: turn of the load against straight ahead [deg]
        coupling: how well it is held
    """

    horizontal: float
    vertical: float
    asymmetry: float = 0.0
    coupling: Coupling = "fair"


@dataclass(frozen=True)
class Conditions:
    """How a lift is done, as far as it decides whether the equation applies.

    Attributes:
        people: who lift together
        hands: of one person on the load
        hours: of lifting in a day
        standing: neither seated nor kneeling
        room: whether there is room to stand freely
        steady: whether the load keeps its shape and its centre
        steps: walked with it
        slow: lifted without a jerk
        foothold: whether shoes hold on the floor
        fair_air: neither far too hot, cold nor damp
        unaided: whether nothing else takes a part of the weight
    """

    people: int = 1
    hands: int = 2
    hours: float = 1.0
    standing: bool = True
    room: bool = True
    steady: bool = True
    steps: int = 0
    slow: bool = True
    foothold: bool = True
    fair_air: bool = True
    unaided: bool = True


@dataclass(frozen=True)
class WeightLimit:
    """The recommended limit at one end of a lift, with what it is made of."""

    limit: float = figure(
        "", "recommended weight limit, kg or lb", how="load constant x all six multipliers", source=_MANUAL
    )
    horizontal: float = figure("1", "of the reach", source=_MANUAL)
    vertical: float = figure("1", "of the height of the hands", source=_MANUAL)
    distance: float = figure("1", "of how far up or down", source=_MANUAL)
    asymmetry: float = figure("1", "of turning", source=_MANUAL)
    frequency: float = figure("1", "of how often and for how long", source=_MANUAL)
    coupling: float = figure("1", "of the hold", source=_MANUAL)


_STEPS_MOST = 2
"""Carrying of one or two steps is still a lift (manual, p. 5)."""
_HOURS_MOST = 8.0


def why_not(conditions: Conditions) -> str | None:
    """The first condition that keeps the equation from applying, in words; None where it applies [1]_.

    Raises:
        SlabwrightError: fewer than one person or hand, or negative hours or steps.

    References:
        .. [1] Applications manual for the revised NIOSH lifting equation, DHHS (NIOSH) 94-110 (Revised 9/2021), section 1.2.
    """
    if conditions.people < 1:
        raise SlabwrightError("hands.people: a lift wants one person at least")
    if conditions.hands < 1 or conditions.hours < 0.0 or conditions.steps < 0:
        raise SlabwrightError("hands: a lift wants one hand at least, and neither hours nor steps below zero")
    words = lifting_tables().not_for
    fails = (
        ("team", conditions.people > 1),
        ("helped", not conditions.unaided),
        ("walking", conditions.steps > _STEPS_MOST),
        ("one_hand", conditions.hands < 2),
        ("seated", not conditions.standing),
        ("restricted", not conditions.room),
        ("unsteady", not conditions.steady),
        ("fast", not conditions.slow),
        ("slippery", not conditions.foothold),
        ("climate", not conditions.fair_air),
        ("long", conditions.hours > _HOURS_MOST),
    )
    return next((words[key] for key, found in fails if found), None)


def reach(width: float, vertical: float, units: Units) -> float:
    """H where it cannot be measured, from the load's size away from the body: room + W / 2 (manual, p. 8).

    Args:
        width: of the load, away from the body [cm or in]
        vertical: height of the hands [cm or in]
        units: cm, or in
    """
    low, high, low_below = lifting_tables().width[units]
    return (low if vertical < low_below else high) + width / 2.0


def frequency_multiplier(lifts: float, duration: Duration, low: bool) -> float:
    """FM of Table 5, straight between its rows; nothing above its last one.

    Args:
        lifts: a minute, as the mean of 15 minutes
        duration: of the work
        low: whether the hands start low
    """
    table = lifting_tables()
    column = table.frequency[duration][0 if low else 1]
    if lifts > table.lifts[-1]:
        return 0.0
    lifts = max(lifts, table.lifts[0])
    for (first, one), (last, other) in pairwise(zip(table.lifts, column, strict=True)):
        if lifts <= last:
            return one + (other - one) * (lifts - first) / (last - first)
    raise AssertionError("the last row was passed above")


def weight_limit(
    at: Grip,
    *,
    origin: float,
    travel: float,
    lifts: float = 0.0,
    duration: Duration = "short",
    units: Units = "metric",
    as_printed: bool = False,
) -> WeightLimit:
    """The recommended weight limit at one end of a lift [1]_.

        RWL = LC * HM * VM * DM * AM * FM * CM

    HM = 25 / H, VM = 1 - 0.003 |V - 75|, DM = 0.82 + 4.5 / D, AM = 1 - 0.0032 A in cm and degrees; FM and CM from Tables 5 and 7,
    FM by the hands' height at the origin, CM by that of the end that is looked at.

    Args:
        at: the hands at this end
        origin: height of the hands where the lift begins [cm or in]
        travel: up or down, from origin to destination [cm or in]
        lifts: a minute; rarer than one in five minutes counts as 0.2
        duration: short: an hour at most with as long a rest; moderate: two hours; long: eight
        units: metric (cm, kg) or inch (in, lb)
        as_printed: the tables' own cells, multipliers rounded to two places and the limit to one, as the manual's worked
            examples have them (p. 29)

    Raises:
        SlabwrightError: a length, an angle or a frequency is below zero.

    References:
        .. [1] Applications manual for the revised NIOSH lifting equation, DHHS (NIOSH) 94-110 (Revised 9/2021), section 1.3.
    """
    if min(at.horizontal, at.vertical, at.asymmetry, origin, travel, lifts) < 0.0:
        raise SlabwrightError("hands: reach, height, travel, turn and lifts a minute cannot be below zero")
    tables = lifting_tables()
    one = tables.sets[units]
    far = max(at.horizontal, one.horizontal)
    way = max(travel, one.distance_least)
    found = {
        "horizontal": one.horizontal / far if far <= one.horizontal_most else 0.0,
        "vertical": 1.0 - one.vertical_factor * abs(at.vertical - one.vertical_best)
        if at.vertical <= one.vertical_most
        else 0.0,
        "distance": one.distance_fixed + one.distance_share / way if way <= one.distance_most else 0.0,
        "asymmetry": 1.0 - tables.asymmetry * at.asymmetry if at.asymmetry <= tables.asymmetry_most else 0.0,
        "frequency": frequency_multiplier(lifts, duration, origin < one.low),
        "coupling": tables.coupling[at.coupling][0 if at.vertical < one.low else 1],
    }
    if as_printed:
        printed = {"horizontal": far, "distance": way}
        found = {
            name: tables.printed.get((name, units, printed.get(name, -1.0)), float(_rounded(value, "0.01")))
            for name, value in found.items()
        }
        whole = one.load_constant * math.prod(found.values())
        return WeightLimit(limit=float(_rounded(whole, "0.1")), **found)
    return WeightLimit(limit=one.load_constant * math.prod(found.values()), **found)


def _rounded(value: float, to: str) -> Decimal:
    """Rounded half up, as the manual's tables are."""
    return Decimal(f"{value:.9f}").quantize(Decimal(to), ROUND_HALF_UP)


def lifting_index(load: float, limits: list[WeightLimit]) -> float | None:
    """The load over the lower of the limits; None where nothing may be lifted so.

    Args:
        load: kg or lb, as the limits are
        limits: at the origin, and at the destination where the load is placed with care

    Raises:
        SlabwrightError: the load is below zero.
    """
    if load < 0.0:
        raise SlabwrightError("hands: a load cannot weigh less than nothing")
    least = min(limit.limit for limit in limits)
    return load / least if least > 0.0 else None
