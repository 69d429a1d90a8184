"""Feeds and power: what the stated feed, speed and depths ask of the cutter and the spindle."""

from __future__ import annotations

import math
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.job.models import Machine

POWER_SHARE = 0.8
"""Part of the spindle's rated power that is planned with: common practice."""

_CUT = ("shop:machine.feed", "shop:machine.spindle_speed", "shop:machine.flutes")
_MILLING = (
    "textbook milling formulae, such as H. El-Hofy, Fundamentals of Machining Processes, 2nd ed. 2014, section 6.3"
)


@dataclass(frozen=True)
class Feeds:
    """What the stated feed, speed and depths come to."""

    chip_load: float = figure(
        "mm",
        "feed a tooth",
        how="feed over spindle speed times insert edges",
        rests_on=_CUT,
        source=_MILLING,
        change="another feed or spindle speed",
    )
    chip_load_low: float | None = figure(
        "mm",
        "least feed a tooth that the cutter's maker asks for; empty where it is not stated",
        rests_on=["shop:machine.chip_load_low"],
        source="the cutter's data sheet",
    )
    chip_load_high: float | None = figure(
        "mm",
        "greatest feed a tooth that the cutter's maker allows; empty where it is not stated",
        rests_on=["shop:machine.chip_load_high"],
        source="the cutter's data sheet",
    )
    chip_thickness: float = figure(
        "mm",
        "mean thickness of a chip in the deepest pass",
        how="feed a tooth, averaged over the arc in which an edge is in wood, and over the rounded corner of the insert",
        rests_on=[*_CUT, "shop:machine.stepover", "shop:machine.cutter_diameter", "shop:machine.corner_radius"],
        source=_MILLING,
    )
    chip_thickness_last: float = figure(
        "mm",
        "mean thickness of a chip in the last, thin pass",
        how="as for the deepest pass; below the insert's corner the chip thins out",
        rests_on=[*_CUT, "shop:machine.last_depth", "shop:machine.corner_radius"],
        source=_MILLING,
    )
    cutting_speed: float = figure(
        "m/s",
        "of the insert edges through the wood",
        how="pi times cutter diameter times spindle speed",
        rests_on=["shop:machine.cutter_diameter", "shop:machine.spindle_speed"],
        source=_MILLING,
    )
    removal_rate: float = figure(
        "mm3/min",
        "wood cut in the deepest pass",
        how="greatest depth times stepover times feed",
        rests_on=["shop:machine.greatest_depth", "shop:machine.stepover", "shop:machine.feed"],
        source=_MILLING,
        change="a smaller depth, stepover or feed",
    )
    power: float | None = figure(
        "W",
        "that the deepest pass takes at the cutter; empty where the cutting energy is not stated",
        how="removal rate times the energy to cut a unit of volume",
        rests_on=["shop:machine.cutting_energy", "shop:machine.greatest_depth", "shop:machine.stepover"],
        sure="as the stated cutting energy; woods, grain and dull edges change it by half and more (from memory)",
        source=_MILLING,
        change="a smaller depth or feed, or sharp inserts",
    )
    power_whole: float | None = figure(
        "W",
        "the same where the whole width of the cutter is in wood, as in a first strip",
        how="greatest depth times cutter diameter times feed times cutting energy",
        rests_on=["shop:machine.cutting_energy", "shop:machine.cutter_diameter"],
        source=_MILLING,
    )
    power_planned: float | None = figure(
        "W",
        "of the spindle that is planned with; empty where its power is not stated",
        how=f"{POWER_SHARE:.0%} of its rated power",
        rests_on=["shop:machine.spindle_power"],
        source="common practice",
    )
    force: float | None = figure(
        "N",
        "mean force on the cutter against its turn, in the deepest pass",
        how="power over cutting speed",
        rests_on=["shop:machine.cutting_energy"],
        source=_MILLING,
    )
    flat: float = figure(
        "mm",
        "width of the cutter's flat end",
        how="cutter diameter less twice the corner radius",
        rests_on=["shop:machine.cutter_diameter", "shop:machine.corner_radius"],
    )
    scallop: float = figure(
        "mm",
        "height of the ridges that stay between strips; 0 where the stepover is at most the flat",
        how="where two rounded corners meet: r - sqrt(r^2 - ((stepover - flat) / 2)^2)",
        rests_on=["shop:machine.stepover", "shop:machine.cutter_diameter", "shop:machine.corner_radius"],
        change="a stepover of at most the flat",
    )
    edge_ratio: float = figure(
        "1",
        "metres that each insert edge cuts, on its own circle, in a metre of strip",
        how="turns in a metre, each with the arc in which an edge is in wood",
        rests_on=["shop:machine.feed", "shop:machine.spindle_speed", "shop:machine.stepover"],
    )
    strip_life: float | None = figure(
        "mm",
        "strip that can be cut before the inserts are turned; empty where their life is not stated",
        how="stated life of an edge over what it cuts in a metre of strip",
        rests_on=["shop:machine.insert_life"],
        sure="as the stated life",
        change="a greater feed a tooth cuts more strip with the same edges",
    )


def chip_load(feed: float, speed: float, flutes: int) -> float:
    """Feed a tooth, v_f / (n z) [mm].

    Args:
        feed: [mm/min]
        speed: of the spindle [1/min]
        flutes: edges that cut in one turn
    """
    return feed / (speed * flutes)


def engaged(width: float, diameter: float) -> float:
    """Arc in which an edge is in wood, from the side of the cutter: arccos(1 - 2 a_e / D) [rad].

    Args:
        width: of wood that the cutter meets, a_e [mm]
        diameter: of the cutter, D [mm]
    """
    return math.acos(max(-1.0, 1.0 - 2.0 * min(width, diameter) / diameter))


def mean_chip(load: float, width: float, diameter: float, depth: float = math.inf, radius: float = 0.0) -> float:
    """Mean thickness of a chip [mm].

    Over the arc in which an edge is in wood the thickness f_z sin(phi) has the mean

        f_z (1 - cos(phi)) / phi = f_z (2 a_e / D) / phi,

    for small a_e / D nearly f_z sqrt(a_e / D). A rounded corner spreads the chip over a longer edge: the mean along the edge is
    less by depth over the length of edge in wood, r arccos(1 - depth / r) below the radius.

    Args:
        load: feed a tooth, f_z [mm]
        width: of wood that the cutter meets, a_e [mm]
        diameter: of the cutter, D [mm]
        depth: of the pass [mm]
        radius: of the insert's corner [mm]

    References:
        .. [1] H. El-Hofy, Fundamentals of Machining Processes, 2nd ed. 2014, section 6.3.1
    """
    arc = engaged(width, diameter)
    over_arc = load * 2.0 * min(width, diameter) / diameter / arc
    if radius <= 0.0 or math.isinf(depth):
        return over_arc
    below = min(depth, radius)
    edge = radius * math.acos(1.0 - below / radius) + (depth - below)
    return over_arc * depth / edge


def removal_rate(depth: float, width: float, feed: float) -> float:
    """Wood that is cut in a minute, a_p a_e v_f [mm3/min]."""
    return depth * width * feed


def power(rate: float, energy: float) -> float:
    """Power at the cutter [W].

    Args:
        rate: of removal [mm3/min]
        energy: to cut a unit of volume [J/cm3], the same as [N/mm2]
    """
    return rate / 60.0 * energy / 1000.0


def scallop(stepover: float, diameter: float, radius: float) -> float:
    """Height of the ridge that stays between two strips of a cutter with rounded corners.

    The flat of the end is D - 2 r wide. Beyond it the corner rises as a circle, and two neighbours meet in the middle:

        h = r - sqrt(r^2 - ((s - (D - 2 r)) / 2)^2)

    Args:
        stepover: s [mm]
        diameter: of the cutter, D [mm]
        radius: of the insert's corner, r [mm]

    Returns:
        h; 0 where the flats overlap; infinite where the strips miss each other [mm].
    """
    beyond = (stepover - (diameter - 2.0 * radius)) / 2.0
    if beyond <= 0.0:
        return 0.0
    return math.inf if beyond > radius else radius - math.sqrt(radius**2 - beyond**2)


def edge_ratio(machine: Machine, width: float) -> float:
    """Length that each insert edge cuts, on its own circle, over the length of the strip.

    In a length L the cutter turns L n / v_f times; in each turn an edge is in wood along D phi / 2.
    """
    diameter = machine.cutter_diameter
    return machine.spindle_speed / machine.feed * diameter / 2.0 * engaged(width, diameter)


def feeds(machine: Machine, *, figured: bool = False) -> Feeds:
    """What the stated feed, speed and depths ask of the cutter and the spindle.

    Args:
        machine: its cutter, feed, speed and depths
        figured: figured wood: a shallower last pass
    """
    diameter, radius, width = machine.cutter_diameter, machine.corner_radius, machine.stepover
    load = chip_load(machine.feed, machine.spindle_speed, machine.flutes)
    deep = machine.greatest_depth
    thin = min(machine.last_depth, machine.last_depth_figured) if figured else machine.last_depth
    speed = math.pi * diameter * machine.spindle_speed / 60_000.0
    rate, energy = removal_rate(deep, width, machine.feed), machine.cutting_energy
    taken = None if energy is None else power(rate, energy)
    ratio = edge_ratio(machine, width)
    return Feeds(
        chip_load=load,
        chip_load_low=machine.chip_load_low,
        chip_load_high=machine.chip_load_high,
        chip_thickness=mean_chip(load, width, diameter, deep, radius),
        chip_thickness_last=mean_chip(load, width, diameter, thin, radius),
        cutting_speed=speed,
        removal_rate=rate,
        power=taken,
        power_whole=None if energy is None else power(removal_rate(deep, diameter, machine.feed), energy),
        power_planned=None if machine.spindle_power is None else POWER_SHARE * machine.spindle_power,
        force=None if taken is None else taken / speed,
        flat=diameter - 2.0 * radius,
        scallop=scallop(width, diameter, radius),
        edge_ratio=ratio,
        strip_life=None if machine.insert_life is None else machine.insert_life * 1000.0 / ratio,
    )
