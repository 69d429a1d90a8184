"""Fasteners: what they hold in the wood, how deep their holes are, how far from edges they sit, and how long the bolts are."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE, SlabwrightError
from slabwright.job.top_models import Clearances, Feature, Insert, Pocket
from slabwright.quantities import INCH, Units
from slabwright.reference.fasteners import Bolt, Withdrawal, bolt, fasteners
from slabwright.reference.wood import Species
from slabwright.top.slots import Positions, Slot

_INSERT = fasteners().withdrawal["threaded insert"]
_LEAST_THICKNESS = 2.0


@dataclass(frozen=True)
class Fastening:
    """One insert with its bolt."""

    name: str = figure("", "the insert")
    thread: float = figure("mm", "diameter of the bolt", rests_on=["job:top.features"])
    thread_name: str = figure("", "the bolt, as it is sold; its diameter where the table has none")
    hole_diameter: float = figure("mm", "of the hole in the wood", rests_on=["job:top.features"])
    hole_depth: float = figure(
        "mm", "of the hole below its face, or below the pocket's floor", rests_on=["job:top.features"]
    )
    hole_depth_least: float = figure(
        "mm",
        "least depth of the hole",
        how="thread engagement + what the bolt's end keeps from the bottom",
        rests_on=["job:top.features", "job:top.clearances.bolt_end"],
        source=COMMON_PRACTICE,
        rounds="up",
    )
    wood_left: float = figure(
        "mm",
        "wood between the hole's bottom and the other face",
        how="thickness - pocket - hole",
        rests_on=["board.thickness", "job:top.features"],
        change="a shorter insert, a shallower pocket, or a thicker top",
    )
    engagement: float = figure("mm", "thread of the bolt in the insert", rests_on=["job:top.features"])
    engagement_least: float = figure(
        "mm", "least thread", how="the bolt's diameter", source=COMMON_PRACTICE, rounds="up"
    )
    bolt_length_least: float | None = figure(
        "mm",
        "shortest bolt, under its head",
        how="washer + plate + thread engagement",
        rests_on=["job:top.features", "top.slots"],
        rounds="up",
    )
    bolt_length_most: float | None = figure(
        "mm",
        "longest bolt, under its head",
        how="washer + plate + hole - what the bolt's end keeps from the bottom",
        rests_on=["job:top.features", "job:top.clearances.bolt_end", "top.slots"],
        source=COMMON_PRACTICE,
        rounds="down",
    )
    bolt_length: float | None = figure(
        "mm",
        "bolt to take, under its head",
        how="the shortest usual length between the shortest and the longest",
        rests_on=["job:top.features", "top.slots"],
        source="usual lengths: ISO 888 from memory, or as sold in inches",
        change="another washer, or a deeper hole",
    )
    bolt_end: float | None = figure(
        "mm",
        "between that bolt's end and the bottom of the hole",
        how="washer + plate + hole - bolt",
        rests_on=["job:top.features", "top.slots"],
    )
    holds: float | None = figure(
        "N",
        "pull that would draw the insert out of side grain, likely",
        how="125.4 G^1.5 D^0.75 L: counted as a lag screw of the hole's diameter over the thread engagement alone",
        rests_on=["job:slab.species", "job:top.features"],
        sure="40 % either way (from memory); on the safe side, as an insert is longer than the bolt's engagement",
        source=_INSERT.source,
        change="a larger or longer insert, or one more of them",
    )
    safety: float = figure(
        "1", "safety factor on that", how="no test stands behind it, so a large one", source=COMMON_PRACTICE
    )
    allowed: float | None = figure(
        "N", "pull that it may be loaded with", how="likely pull / safety factor", rounds="down"
    )
    edge: float = figure(
        "mm",
        "from the hole's middle to the nearer long edge",
        how="half the top's width where it is narrowest, less the hole's place across",
        rests_on=["job:top.features", "job:piece.width"],
    )
    edge_least: float = figure(
        "mm", "least distance to a long edge", how="4 hole diameters", source=COMMON_PRACTICE, rounds="up"
    )
    end: float = figure(
        "mm", "from the hole's middle to the nearer end", rests_on=["job:top.features", "job:piece.length"]
    )
    end_least: float = figure(
        "mm", "least distance to an end", how="7 hole diameters", source=COMMON_PRACTICE, rounds="up"
    )


def withdrawal(kind: str, gravity: float, diameter: float, length: float, end_grain: bool = False) -> float:
    """Pull that draws a fastener out of seasoned side grain, most likely [N].

    p = factor G^g D^d L, with factor and powers by kind [1]_; three quarters of it in end grain.

    Args:
        kind: `wood screw`, `lag screw` or `threaded insert`
        gravity: ovendry mass over volume at 12 %
        diameter: of the shank (insert: of its hole) [mm]
        length: of the thread in the wood [mm]
        end_grain: true where it is driven along the grain

    References:
        .. [1] Wood Handbook, FPL-GTR-190 (2010), chapter 8.
    """
    row = _kind(kind)
    value = row.factor * math.pow(gravity, row.gravity_power) * math.pow(diameter, row.diameter_power) * length
    return value * (fasteners().end_grain if end_grain else 1.0)


def allowed_withdrawal(kind: str, gravity: float, diameter: float, length: float, end_grain: bool = False) -> float:
    """Pull that a fastener may be loaded with [N]: as the standard says, else the likely pull over the safety factor [1]_.

    Args:
        kind: `wood screw`, `lag screw` or `threaded insert`
        gravity: of the wood
        diameter: of the shank (insert: of its hole) [mm]
        length: of the thread in the wood [mm]
        end_grain: true where it is driven along the grain

    References:
        .. [1] National Design Specification for Wood Construction (2018), 12.2.1 and 12.2.2.
    """
    row = _kind(kind)
    whole = withdrawal(kind, gravity, diameter, length, end_grain)
    if row.allowed_inch is None:
        return whole / row.safety
    return whole * row.allowed_inch / row.factor_inch


def _kind(kind: str) -> Withdrawal:
    table = fasteners().withdrawal
    if kind not in table:
        raise SlabwrightError(f"'{kind}' is not a kind of fastener that is known; say one of {', '.join(table)}")
    return table[kind]


def bolt_length(least: float, most: float, system: Units) -> float | None:
    """The shortest usual bolt of at least `least` and at most `most` [mm]; None where there is none.

    Args:
        least: washer, plate and thread engagement [mm]
        most: the same up to where the bolt's end must stop [mm]
        system: metric or inch lengths
    """
    return next((one for one in fasteners().lengths[system] if least - 1e-6 <= one <= most + 1e-6), None)


def fastenings(
    features: Sequence[Feature],
    positions: Positions,
    slots: Mapping[str, Slot],
    thickness: float,
    size: tuple[float, float],
    wood: Species,
    clearances: Clearances,
    wood_left: Mapping[str, float | None] | None = None,
) -> tuple[Fastening, ...]:
    """Hole, thread, bolt, distances and hold of every insert.

    Args:
        features: of the top
        positions: middle of each, along from the left end and across from the centre line [mm]
        slots: of the inserts, by name: they name the washers; empty where the movement is not known
        thickness: of the top, as promised [mm]
        size: length and least width of the top [mm]
        wood: gives the specific gravity
        clearances: gives what a bolt's end keeps from the bottom
        wood_left: below each insert's hole, as laid out: in whatever pocket or groove it lies; left out: the pocket that it
            names [mm]
    """
    pockets = {feature.name: feature for feature in features if isinstance(feature, Pocket)}
    laid_out = wood_left or {}

    def left(insert: Insert) -> float:
        known = laid_out.get(insert.name)
        return _wood_left(insert, pockets, thickness) if known is None else known

    return tuple(
        _fastening(
            feature,
            positions[feature.name],
            left(feature),
            slots.get(feature.name),
            size,
            wood,
            clearances,
        )
        for feature in features
        if isinstance(feature, Insert)
    )


def _fastening(
    insert: Insert,
    at: tuple[float, float],
    wood_left: float,
    slot: Slot | None,
    size: tuple[float, float],
    wood: Species,
    clearances: Clearances,
) -> Fastening:
    table = fasteners()
    known = bolt(insert.thread)
    washer = _washer(slot, insert)
    least = most = length = gap = None
    if insert.plate_thickness is not None:
        grip = washer + insert.plate_thickness
        least = grip + insert.engagement
        most = grip + insert.depth - clearances.bolt_end
        length = bolt_length(least, most, known.system if known else "metric")
        gap = None if length is None else grip + insert.depth - length
    holds = None
    if wood.specific_gravity is not None:
        holds = withdrawal("threaded insert", wood.specific_gravity, insert.drill, insert.engagement)
    return Fastening(
        name=insert.name,
        thread=insert.thread,
        thread_name=known.name if known else f"{insert.thread:g} mm",
        hole_diameter=insert.drill,
        hole_depth=insert.depth,
        hole_depth_least=insert.engagement + clearances.bolt_end,
        wood_left=wood_left,
        engagement=insert.engagement,
        engagement_least=table.engagement * insert.thread,
        bolt_length_least=least,
        bolt_length_most=most,
        bolt_length=length,
        bolt_end=gap,
        holds=holds,
        safety=_INSERT.safety,
        allowed=None if holds is None else holds / _INSERT.safety,
        edge=size[1] / 2.0 - abs(at[1]),
        edge_least=table.edge * insert.drill,
        end=min(at[0], size[0] - at[0]),
        end_least=table.end * insert.drill,
    )


def _wood_left(insert: Insert, pockets: Mapping[str, Pocket], thickness: float) -> float:
    pocket = pockets.get(insert.plate or "")
    return thickness - (pocket.depth if pocket and pocket.face == insert.face else 0.0) - insert.depth


def _washer(slot: Slot | None, insert: Insert) -> float:
    """Thickness under the bolt's head: the slot's washer, else the thread's smallest, else that of a plate washer."""
    if slot is not None and slot.washer_thickness is not None:
        return slot.washer_thickness
    known = bolt(insert.thread)
    if slot is None and known:
        return known.washers[0].thickness
    return max(_LEAST_THICKNESS, 0.3 * insert.thread)


def deeper_hole(found: Fastening, insert: Insert, clearances: Clearances) -> float | None:
    """Depth of hole that a usual bolt fits, if it leaves the wood that is asked for; else None [mm].

    Args:
        found: the fastening that no bolt fits
        insert: its feature
        clearances: gives least wood and what a bolt's end keeps
    """
    if found.bolt_length_least is None or found.bolt_length_most is None:
        return None
    known = bolt(insert.thread)
    system: Units = known.system if known else "metric"
    longer = bolt_length(found.bolt_length_least, math.inf, system)
    if longer is None:
        return None
    step = 0.5 if system == "metric" else INCH / 64.0
    depth = math.ceil((insert.depth + longer - found.bolt_length_most) / step - 1e-9) * step
    return depth if found.wood_left - (depth - insert.depth) >= clearances.insert else None


def washers_to_add(most: float, longer: float | None, thread: Bolt | None) -> int:
    """How many more washers make the next longer bolt short enough; none where three would not.

    Args:
        most: longest bolt that fits as it is [mm]
        longer: next usual length [mm]
        thread: gives the washers; the largest are the thickest
    """
    if longer is None or thread is None:
        return 0
    count = math.ceil((longer - most) / thread.washers[-1].thickness - 1e-9)
    return count if 0 < count <= 3 else 0
