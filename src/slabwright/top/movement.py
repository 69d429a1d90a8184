"""Wood movement: how the top's width and thickness change towards the driest and the dampest season."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import fmean

import numpy as np

from slabwright.accounts import figure, working
from slabwright.findings import FROM_MEMORY, SlabwrightError
from slabwright.job.models import Moisture, Room
from slabwright.reference.air import EQUATION, equilibrium_moisture
from slabwright.reference.wood import HANDBOOK, Species
from slabwright.slab.moisture import room_air
from slabwright.top.rings import RingPattern, mean_angle, tangential_run

LINEAR = f"{HANDBOOK}, equation 13-2 and Table 13-5 (6 to 14 %)"
BEYOND = f"{HANDBOOK}, equation 13-3 and Table 4-3 (up to 30 %; its form from memory)"
LINEAR_RANGE = (6.0, 14.0)
"""Moisture between which equation 13-2 holds [%] [1]_ of `strain`."""
SATURATION = 30.0
"""Moisture at which shrinkage begins in equation 13-3 [%]."""
SPECIES_SPREAD = 0.30
"""Share by which one tree's shrinkage may miss its species' mean, 95 %: twice a coefficient of variation of 15 %. From memory."""
MOISTURE_ERROR = 1.0
"""Error of the change of moisture, meter and room together, 95 % [%]. Common practice."""
ALONG_SHRINKAGE = 0.2
"""Shrinkage along the grain, green to ovendry, at most, of normal wood [%]: Wood Handbook, chapter 4."""
_STATIONS = 11


class OutOfRange(SlabwrightError):  # noqa: N818 - a range, not a fault of the program
    """A moisture content lies outside what the coefficients hold for."""


@dataclass(frozen=True)
class MoistureRange:
    """Moisture that the wood comes to in the room's driest and dampest season [%]."""

    dry: float
    damp: float


@dataclass(frozen=True)
class Strains:
    """What the movement of any place follows from.

    Attributes:
        thickness: of the top [mm]
        patterns: the rings as stated, then as they may be as well
        dry: strain along and square to the rings towards the driest season
        damp: the same towards the dampest
        rates: the same per percent of moisture, where it is made
    """

    thickness: float
    patterns: tuple[RingPattern, ...]
    dry: tuple[float, float]
    damp: tuple[float, float]
    rates: tuple[float, float]


@dataclass(frozen=True)
class Displacement:
    """How far one place across the width moves, seen from the bolt that is fixed; towards the far edge positive."""

    across: float = figure("mm", "from the centre line, as made")
    dry: float = figure("mm", "movement in the driest season")
    damp: float = figure("mm", "movement in the dampest season")
    low: float = figure("mm", "furthest that it may move towards the near edge", rounds="down")
    high: float = figure("mm", "furthest that it may move towards the far edge", rounds="up")


_MOVES = [
    "job:slab.species",
    "job:top.rings",
    "top.movement.moisture_made",
    "top.movement.moisture_dry",
    "top.movement.moisture_damp",
]
_SOURCE = f"{LINEAR}; outside it {BEYOND}"
_SURE = "a tree may shrink 30 % more or less than its species (95 %, from memory); moisture is known to 1 %; rings as stated"
_CHANGE = "make it at the moisture of the room's middle; quarter-sawn wood; a room whose air is kept steadier"


@dataclass(frozen=True)
class Movement:
    """Change of the top's width and thickness from the day it is made; shrinking is negative."""

    width_change_dry: float = figure(
        "mm",
        "change of the width in the driest season; shrinking negative",
        how="width x coefficient (tangential and radial by the ring angle, over the width) x change of moisture",
        rests_on=[*_MOVES, "job:piece.width"],
        sure="width_change_dry_low to width_change_dry_high",
        source=_SOURCE,
        change=_CHANGE,
    )
    width_change_damp: float = figure(
        "mm",
        "change of the width in the dampest season; shrinking negative",
        how="width x coefficient (tangential and radial by the ring angle, over the width) x change of moisture",
        rests_on=[*_MOVES, "job:piece.width"],
        sure="width_change_damp_low to width_change_damp_high",
        source=_SOURCE,
        change=_CHANGE,
    )
    width_change_dry_low: float = figure(
        "mm",
        "lowest likely change of the width in the driest season",
        rests_on=_MOVES,
        sure=_SURE,
        rounds="down",
    )
    width_change_dry_high: float = figure(
        "mm",
        "highest likely change of the width in the driest season",
        rests_on=_MOVES,
        sure=_SURE,
        rounds="up",
    )
    width_change_damp_low: float = figure(
        "mm",
        "lowest likely change of the width in the dampest season",
        rests_on=_MOVES,
        sure=_SURE,
        rounds="down",
    )
    width_change_damp_high: float = figure(
        "mm",
        "highest likely change of the width in the dampest season",
        rests_on=_MOVES,
        sure=_SURE,
        rounds="up",
    )
    thickness_change_dry: float = figure(
        "mm",
        "change of the thickness in the driest season, mean over the width",
        how="thickness x coefficient through the thickness (rings turned by a right angle) x change of moisture",
        rests_on=[*_MOVES, "board.thickness"],
        sure=_SURE,
        source=_SOURCE,
        change=_CHANGE,
    )
    thickness_change_damp: float = figure(
        "mm",
        "change of the thickness in the dampest season, mean over the width",
        how="thickness x coefficient through the thickness (rings turned by a right angle) x change of moisture",
        rests_on=[*_MOVES, "board.thickness"],
        sure=_SURE,
        source=_SOURCE,
        change=_CHANGE,
    )
    moisture_made: float = figure(
        "%",
        "moisture when the top is machined",
        how="as stated; else the mean of the meter's core readings, else of its shell readings",
        rests_on=["job:top.moisture_made", "job:slab.moisture.core", "job:slab.moisture.shell"],
        sure="a meter reads to 1 % or so",
        change="read it on the day it is machined, and state top.moisture_made",
    )
    moisture_dry: float = figure(
        "%",
        "moisture in the room's driest season",
        how="equilibrium moisture of the season's air",
        rests_on=["job:room.kind", "job:room.dry"],
        source=EQUATION,
        change="state the room's own air, from a hygrometer",
    )
    moisture_damp: float = figure(
        "%",
        "moisture in the room's dampest season",
        how="equilibrium moisture of the season's air",
        rests_on=["job:room.kind", "job:room.damp"],
        source=EQUATION,
        change="state the room's own air, from a hygrometer",
    )
    coefficient: float = figure(
        "1/%",
        "change of the width per millimetre of width and percent of moisture",
        how="tangential x cos^2 of the ring angle + radial x sin^2, mean over width and thickness",
        rests_on=["job:slab.species", "top.movement.ring_angle"],
        sure="30 % either way between trees (from memory)",
        source=_SOURCE,
    )
    ring_angle: float = figure(
        "deg",
        "angle of straight rings that would move as much: 0 flat-sawn, 90 quarter-sawn",
        how="from the picture, the angle or circles about the pith; flat-sawn, which moves most, where nothing is stated",
        rests_on=["job:top.rings"],
        change="look at the end grain and state [top.rings]",
    )
    fixed_at: float = figure(
        "mm",
        "place across, from the centre line, that the wood moves from",
        how="the bolt that is stated as fixed; else the one nearest the centre line",
        rests_on=["job:top.features"],
    )
    displacements: tuple[Displacement, ...] = figure(
        "mm",
        "movement of places across the width from the fixed one",
        how="tangential and radial movement added up from the fixed place to this one",
        rests_on=[*_MOVES, "top.movement.fixed_at"],
        sure=_SURE,
        source=_SOURCE,
    )
    rests_on_source: str = figure("", "where the coefficient comes from")
    width: float = working(0.0)
    thickness: float = working(0.0)
    strains: Strains | None = working(None)


def strain(coefficient: float | None, shrinkage: float | None, made_at: float, to: float) -> float:
    """Change per length between two moistures.

    Between 6 % and 14 % [1]_, with the coefficient C:

        change = C (M2 - M1)

    and outside, up to 30 %, with the shrinkage S from green to ovendry [%] [2]_:

        change = (M2 - M1) / (30 (100) / S - 30 + M1)

    Args:
        coefficient: C [1/%], or None where the table has none
        shrinkage: S [%], or None
        made_at: M1 [%]
        to: M2 [%]

    Raises:
        OutOfRange: a moisture lies outside what the species' values hold for.

    References:
        .. [1] Wood Handbook, FPL-GTR-190 (2010), equation 13-2.
        .. [2] the same, equation 13-3; its form from memory.
    """
    low, high = LINEAR_RANGE
    within = all(low <= moisture <= high for moisture in (made_at, to))
    if coefficient is not None and within:
        return coefficient * (to - made_at)
    for moisture in (made_at, to):
        if not 0.0 <= moisture <= SATURATION:
            raise OutOfRange(
                f"moisture of {moisture:.1f} % lies outside 0 to 30 %, where wood movement can be told: above that wood "
                "does not shrink; dry it first, or state top.moisture_made as it will be"
            )
    if shrinkage is None:
        raise OutOfRange(
            f"between {made_at:.1f} and {to:.1f} % the table has no shrinkage for this species (its coefficient holds for "
            "6 to 14 % only): state top.moisture_made and a room within that, or a species that is near it"
            if coefficient is not None
            else "the table has no shrinkage for this species: name one that is near it"
        )
    return (to - made_at) / (SATURATION * 100.0 / shrinkage - SATURATION + made_at)


def moisture_made(stated: float | None, readings: Moisture | None) -> float | None:
    """Moisture when the top is machined [%]: as stated, else the meter's core, else its shell; None if not known."""
    if stated is not None:
        return stated
    if readings is not None and readings.core:
        return fmean(readings.core)
    return fmean(readings.shell) if readings is not None and readings.shell else None


def moisture_range(room: Room | None) -> MoistureRange | None:
    """Moisture of the wood in the room's driest and dampest season; None where the room is not known."""
    air = room_air(room)
    if air is None:
        return None
    dry, damp = sorted(equilibrium_moisture(season.temperature, season.humidity) for season in air)
    return MoistureRange(dry, damp)


def movement(
    width: float,
    thickness: float,
    wood: Species,
    made_at: float,
    seasons: MoistureRange,
    pattern: RingPattern,
    fixed_at: float = 0.0,
) -> Movement:
    """Seasonal change of a top's width and thickness, and of every place across it.

    The strains along and square to the rings (see `strain`) are turned by the ring angle (see `rings.coefficients`) and
    added up over the width, so that a slab whose rings stand steeper at its edges moves less there.

    Args:
        width: across the grain at `made_at`, between -width/2 and width/2 from the centre line [mm]
        thickness: at `made_at` [mm]
        wood: gives the coefficients, or the shrinkage where they do not reach
        made_at: moisture when the top is machined [%]
        seasons: what the room brings it to [%]
        pattern: how the rings lie
        fixed_at: y of the place that does not move [mm]

    Raises:
        OutOfRange: a moisture lies outside what the coefficients hold for.
        SlabwrightError: the table has no value for this species.

    References:
        .. [1] Wood Handbook, FPL-GTR-190 (2010), chapter 13, equations 13-2 and 13-3.
    """
    if width <= 0 or thickness <= 0:
        raise SlabwrightError(f"a top of {width:g} x {thickness:g} mm has no wood: width and thickness are above zero")
    if wood.change is None and wood.shrinkage is None:
        raise SlabwrightError(
            f"the table has neither movement nor shrinkage of '{wood.name}': name a species that is near it"
        )
    c_r, c_t = wood.change or (None, None)
    s_r, s_t = (wood.shrinkage[0], wood.shrinkage[1]) if wood.shrinkage else (None, None)
    dry = (strain(c_t, s_t, made_at, seasons.dry), strain(c_r, s_r, made_at, seasons.dry))
    damp = (strain(c_t, s_t, made_at, seasons.damp), strain(c_r, s_r, made_at, seasons.damp))
    rates = (_rate(c_t, s_t, made_at), _rate(c_r, s_r, made_at))
    low, high = LINEAR_RANGE
    linear = wood.change is not None and all(low <= m <= high for m in (made_at, seasons.dry, seasons.damp))
    group, rule = ("change", LINEAR) if linear else ("shrinkage", BEYOND)
    memory = f"; values {FROM_MEMORY}" if FROM_MEMORY in wood.source(group) else ""
    strains = Strains(thickness, pattern.spread(), dry, damp, rates)
    near, far = -width / 2.0, width / 2.0
    runs = tangential_run(pattern, np.array([near, far]), thickness)
    flat = float(runs[1] - runs[0]) / width
    dry_low, dry_high = _reach(strains, dry, near, far)
    damp_low, damp_high = _reach(strains, damp, near, far)
    return Movement(
        width_change_dry=_moved(strains, dry, pattern, near, far),
        width_change_damp=_moved(strains, damp, pattern, near, far),
        width_change_dry_low=dry_low,
        width_change_dry_high=dry_high,
        width_change_damp_low=damp_low,
        width_change_damp_high=damp_high,
        thickness_change_dry=thickness * (dry[0] * (1.0 - flat) + dry[1] * flat),
        thickness_change_damp=thickness * (damp[0] * (1.0 - flat) + damp[1] * flat),
        moisture_made=made_at,
        moisture_dry=seasons.dry,
        moisture_damp=seasons.damp,
        coefficient=rates[0] * flat + rates[1] * (1.0 - flat),
        ring_angle=mean_angle(pattern, width, thickness),
        fixed_at=fixed_at,
        displacements=tuple(
            _displacement(strains, float(y), fixed_at) for y in np.linspace(near, far, _STATIONS).tolist()
        ),
        rests_on_source=rule + memory,
        width=width,
        thickness=thickness,
        strains=strains,
    )


def _rate(coefficient: float | None, shrinkage: float | None, made_at: float) -> float:
    """Strain per percent about the moisture when made; by equation 13-3 outside the range of 13-2."""
    if coefficient is not None and (shrinkage is None or LINEAR_RANGE[0] <= made_at <= LINEAR_RANGE[1]):
        return coefficient
    return 1.0 / (SATURATION * 100.0 / (shrinkage or math.inf) - SATURATION + made_at)


def _moved(strains: Strains, by: tuple[float, float], pattern: RingPattern, start: float, end: float) -> float:
    runs = tangential_run(pattern, np.array([start, end]), strains.thickness)
    flat = float(runs[1] - runs[0])
    return by[0] * flat + by[1] * (end - start - flat) + 0.0  # never minus nothing


def _reach(strains: Strains, by: tuple[float, float], start: float, end: float) -> tuple[float, float]:
    """Lowest and highest likely movement of `end` seen from `start`, over the patterns that the rings may have."""
    lows, highs = [], []
    for pattern in strains.patterns:
        value = _moved(strains, by, pattern, start, end)
        by_moisture = _moved(strains, strains.rates, pattern, start, end) * MOISTURE_ERROR
        half = math.hypot(SPECIES_SPREAD * value, by_moisture)
        lows.append(value - half)
        highs.append(value + half)
    return min(lows), max(highs)


def _displacement(strains: Strains, across: float, origin: float) -> Displacement:
    likely = strains.patterns[0]
    reaches = [_reach(strains, by, origin, across) for by in (strains.dry, strains.damp)]
    return Displacement(
        across=across,
        dry=_moved(strains, strains.dry, likely, origin, across),
        damp=_moved(strains, strains.damp, likely, origin, across),
        low=min(0.0, *(low for low, _ in reaches)),
        high=max(0.0, *(high for _, high in reaches)),
    )


def displacement(about: Movement, across: float, fixed_at: float | None = None) -> Displacement:
    """How far a place moves, seen from the fixed one; towards the far edge positive.

    Args:
        about: the top's movement
        across: y of the place, as made [mm]
        fixed_at: y of the fixed place; that of the movement if left out [mm]

    Returns:
        The movement in both seasons, and the furthest either way over both seasons and the day it is made (never less
        than nothing either way).
    """
    assert about.strains is not None
    return _displacement(about.strains, across, about.fixed_at if fixed_at is None else fixed_at)


def along_movement(about: Movement, distance: float) -> float:
    """The most that a distance along the grain changes from the day it is made [mm]: 0.2 % from green to ovendry.

    Args:
        about: the top's movement
        distance: along the grain [mm]
    """
    change = max(abs(about.moisture_dry - about.moisture_made), abs(about.moisture_damp - about.moisture_made))
    return abs(distance) * ALONG_SHRINKAGE / 100.0 / SATURATION * (change + MOISTURE_ERROR)
