"""Gaps that open where ends are boxed or mitred while the top moves."""

from __future__ import annotations

import math
from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE
from slabwright.top.movement import Movement, displacement

_MOVES = (
    "top.movement.moisture_made",
    "top.movement.moisture_dry",
    "top.movement.moisture_damp",
    "top.movement.coefficient",
)


@dataclass(frozen=True)
class BoxedEnd:
    """A boxed (breadboard) end: its length keeps while the top's width changes. Standing proud is positive."""

    near_dry: float = figure("mm", "the top's near edge proud of the end piece in the driest season", rests_on=_MOVES)
    near_damp: float = figure("mm", "the top's near edge proud of the end piece in the dampest season", rests_on=_MOVES)
    far_dry: float = figure("mm", "the top's far edge proud of the end piece in the driest season", rests_on=_MOVES)
    far_damp: float = figure("mm", "the top's far edge proud of the end piece in the dampest season", rests_on=_MOVES)
    pin_slot: float = figure(
        "mm",
        "length of the outermost pins' slots beyond the pin, both ways together",
        how="furthest movement of a pin, both ways; only the fixed one is glued",
        rests_on=_MOVES,
        source=COMMON_PRACTICE,
    )


@dataclass(frozen=True)
class MitreGap:
    """A mitred corner of two members of the top's wood. Open at the inside is positive, at the outside negative."""

    dry: float = figure("mm", "gap at the mitre in the driest season", rests_on=(*_MOVES, "job:top.ends.width"))
    damp: float = figure("mm", "gap at the mitre in the dampest season", rests_on=(*_MOVES, "job:top.ends.width"))


def boxed_end(about: Movement, pin_across: float, fixed_at: float | None = None) -> BoxedEnd:
    """How far the top's edges stand proud of a boxed end that was cut flush, and the slots of its pins.

    Args:
        about: the top's movement
        pin_across: y of the outermost pin, either side [mm]
        fixed_at: y of the glued pin; that of the movement if left out [mm]
    """
    origin = about.fixed_at if fixed_at is None else fixed_at
    near = displacement(about, -about.width / 2.0, origin)
    far = displacement(about, about.width / 2.0, origin)
    pins = [displacement(about, side * abs(pin_across), origin) for side in (-1.0, 1.0)]
    return BoxedEnd(-near.dry, -near.damp, far.dry, far.damp, max(pin.high - pin.low for pin in pins))


def mitre_gap(member_width: float, strain_across: float) -> float:
    """Gap at a mitre of 45 degrees whose two members change across the grain but not along it [mm].

    Each member's cut turns by half the strain, the joint so opens by the strain over its length of member_width times
    the square root of two: at the inside corner when the wood shrinks (positive here), at the outside when it swells
    (negative).

    Args:
        member_width: across the grain of each member [mm]
        strain_across: its change per length; shrinking negative
    """
    return -math.sqrt(2.0) * member_width * strain_across
