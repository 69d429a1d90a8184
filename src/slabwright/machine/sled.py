"""The router sled: heights of its rails at their supports, and how far the bit is set down for each depth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.geometry.faces import FaceName
from slabwright.job.models import Bed, Sled
from slabwright.machine.lying import middle
from slabwright.machine.setting import Clamping, Stage
from slabwright.quantities import Units, format_length
from slabwright.slab.results import SlabPlan

_SUPPORTS = 5
"""Supports of a rail where none are stated: common practice."""


@dataclass(frozen=True)
class RailSupport:
    """One support of one rail."""

    rail: str = figure("", "near or far")
    x: float = figure("mm", "along the bed", rests_on=["shop:sled.supports"], change="state [sled] supports")
    y: float = figure("mm", "across the bed", rests_on=["shop:sled.near_rail", "shop:sled.far_rail"])
    height: float = figure(
        "mm",
        "of the rail's top above the bed",
        how="the finished plane, and how far the bit is set down for the last depth; on stacks, tilted as the slab really stands",
        rests_on=["slab.shims.standing_tilt_x", "slab.shims.standing_tilt_y", "slab.seat.milled"],
        sure="as well as it is set: each support's error is the plane's error there",
        change="a bit that reaches farther lets the rails stand higher",
    )
    packing: float = figure(
        "mm",
        "to be packed under the rail there",
        how="height less the rail's own",
        rests_on=["shop:sled.rail_height"],
    )


@dataclass(frozen=True)
class SetDown:
    """One depth with the sled."""

    level: float = figure(
        "mm",
        "of the cutter above the finished plane",
        how="a safe first depth, then steps of the greatest depth, and a thin last one",
        rests_on=["shop:machine.first_depth", "shop:machine.greatest_depth", "shop:machine.last_depth"],
    )
    reach: float = figure(
        "mm",
        "how far the cutter's end stands below the rails' tops",
        how="height of the rails above the finished plane less this depth's level",
        rests_on=["shop:sled.bit_reach_least", "shop:sled.bit_reach_most"],
    )
    lower: float = figure(
        "mm",
        "further down than the depth before; for the first one, from the rails' tops",
        how="this reach less the reach before it",
    )


@dataclass(frozen=True)
class RailSetting:
    """The rails at one height, and the depths that are cut from it."""

    setting: int = figure("1", "the clamping, from 1")
    face: FaceName = figure("", "the face that is cut")
    stage: Stage = figure("", "roughing, skim, or all in one go")
    above_plane: float = figure(
        "mm",
        "of the rails' tops above the finished plane",
        how="as low as the highest wood, the packing and the bit's least reach allow",
        rests_on=["shop:sled.clearance", "shop:sled.rail_height"],
        source=COMMON_PRACTICE,
    )
    supports: tuple[RailSupport, ...] = figure("", "near rail, then far rail")
    depths: tuple[SetDown, ...] = figure("", "in the order of the work")


@dataclass(frozen=True)
class SledPlan:
    """What is set on a router sled, in place of programs."""

    settings: tuple[RailSetting, ...] = figure("", "in the order of the work")


def sled_plan(
    clampings: Sequence[Clamping], slab: SlabPlan, sled: Sled, bed: Bed, units: Units = "metric"
) -> tuple[SledPlan | None, tuple[Finding, ...]]:
    """Heights of the rails and set-downs of the bit for every clamping.

    The rails lie parallel to the finished plane. On the stacks they follow the slab as it really stands, so that nothing is
    lost to the steps of the shims. They are set as low as the highest wood, the rail and the bit's least reach allow; where the
    bit does not reach all depths from there, the rails are lowered once wood is off.

    Args:
        clampings: from `settings`
        slab: its shims, for how it stands
        sled: supports and rails, and the bit's reach
        bed: its length and width, where supports are left out
        units: for messages

    Returns:
        The plan, or None where the bit cannot reach a plane; and what there is to say.
    """
    found: list[RailSetting] = []
    places = _places(sled, bed)
    for clamping in clampings:
        tilt = _tilt(clamping, slab, places)
        highest = float(np.nanmax(clamping.stock.top))
        left = clamping.levels
        while left:
            top = max(
                highest + sled.clearance,
                sled.rail_height - min(tilt),
                clamping.plane + left[0] + sled.bit_reach_least,
            )
            above = top - clamping.plane
            reached = tuple(level for level in left if above - level <= sled.bit_reach_most + 1e-9)
            if not reached:
                by_rails = sled.rail_height - min(tilt) - clamping.plane - left[-1]
                return None, (_out_of_reach(above - left[0], by_rails, clamping, sled, units),)
            found.append(
                RailSetting(
                    setting=clamping.number,
                    face=clamping.face,
                    stage=clamping.stage,
                    above_plane=above,
                    supports=tuple(
                        RailSupport(rail, x, y, top + rise, top + rise - sled.rail_height)
                        for (rail, x, y), rise in zip(places, tilt, strict=True)
                    ),
                    depths=_set_downs(above, reached),
                )
            )
            left = left[len(reached) :]
            highest = clamping.plane + reached[-1]
    return SledPlan(tuple(found)), ()


def _places(sled: Sled, bed: Bed) -> list[tuple[str, float, float]]:
    """Rail, x and y of each support [mm]."""
    along = sled.supports if sled.supports is not None else np.linspace(0.0, bed.length, _SUPPORTS).tolist()
    far = bed.width if sled.far_rail is None else sled.far_rail
    return [(rail, float(x), y) for rail, y in (("near", sled.near_rail), ("far", far)) for x in sorted(set(along))]


def _tilt(clamping: Clamping, slab: SlabPlan, places: Sequence[tuple[str, float, float]]) -> list[float]:
    """How much higher each support stands, so that the rails lie parallel to the slab as it stands on its stacks [mm]."""
    if clamping.lies_on != "stacks" or slab.shims is None:
        return [0.0] * len(places)
    a, b, _ = (float(value) for value in slab.shims.standing)
    centre_x, centre_y = middle(slab, clamping.lying.frame)
    shift_x, shift_y = clamping.lying.shift
    return [a * (x - shift_x - centre_x) + b * (y - shift_y - centre_y) for _, x, y in places]


def _set_downs(above: float, levels: Sequence[float]) -> tuple[SetDown, ...]:
    reach = [above - level for level in levels]
    return tuple(
        SetDown(level, at, at - before) for level, at, before in zip(levels, reach, [0.0, *reach[:-1]], strict=True)
    )


def _out_of_reach(reach: float, by_rails: float, clamping: Clamping, sled: Sled, units: Units) -> Finding:
    """Why the bit does not reach: the rails are too high by themselves, or the wood holds the sled up.

    Args:
        reach: that the next depth asks for [mm]
        by_rails: that the last depth asks for with nothing packed under the rails [mm]
        clamping: whose depth it is
        sled: the bit's reach
        units: for messages
    """
    if by_rails > sled.bit_reach_most:
        reach = by_rails
        short = format_length(math.ceil((reach - sled.bit_reach_most) * 10.0) / 10.0, units)
        under = (
            f"blocks {short} higher"
            if clamping.lies_on == "stacks"
            else f"flat boards of one thickness, {short} or more"
        )
        remedy = (
            f"Lay the slab on {under}, take rails {short} lower, or a bit that reaches {format_length(reach, units)}."
        )
    else:
        remedy = f"Take a bit that reaches {format_length(reach, units)}, or plan shallower passes ([machine] greatest_depth)."
    needed = format_length(reach, units)
    return Finding(
        "machine/bit-out-of-reach",
        "stop",
        f"On face {clamping.face} the bit must reach {needed} below the rails' tops; it reaches "
        f"{format_length(sled.bit_reach_most, units)}.",
        remedy,
        COMMON_PRACTICE,
    )
