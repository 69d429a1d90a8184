"""How far a welded base may be off: what the pockets, the levellers and the floor leave."""

from __future__ import annotations

from slabwright.base.height_stack import HeightStack
from slabwright.base.square_checks import Allowed
from slabwright.job.base_models import Base
from slabwright.job.top_models import PAINT, Clearances
from slabwright.top.results import TopPlan

_FLOOR = 1.0
"""By which a foot without a leveller may stand off a flat floor before a table is felt to rock [mm]: common practice."""
_JOINED = 2.0
"""By which legs may be unlike at most: levellers are for the floor, not for a base that is not true [mm]: common practice."""
_LEAST = 0.25
"""No joiner's check is asked to be finer than this [mm]: common practice."""


def allowed_off(
    top: TopPlan,
    stack: HeightStack,
    base: Base,
    clearances: Clearances,
    paint: float = PAINT,
    floor: float = 0.0,
) -> Allowed:
    """How far the base may be off [mm].

    A pocket's room across is taken by the wood's movement and the paint, but for what placing was given.

    Args:
        top: its pockets
        stack: travel of the levellers, and how much of it the top's thickness wants
        base: as stated
        clearances: of the top
        paint: on each edge of a plate [mm]
        floor: how far it may be low under one foot, which the levellers have to take up too [mm]
    """
    along = min((pocket.along_each - paint for pocket in top.pockets), default=clearances.placing)
    down, up = base.feet.travel()
    left = min(up - stack.travel_up_needed, down - stack.travel_down_needed) - floor
    level = min(left, _JOINED) if base.feet.kind == "levellers" else _FLOOR
    return Allowed(room_along=max(along, _LEAST), room_across=max(clearances.placing, _LEAST), level=max(level, _LEAST))
