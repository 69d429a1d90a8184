"""Operations of the end: putting together, packing, the way to the client and what is done there."""

from __future__ import annotations

from collections.abc import Sequence

from slabwright.shop.operations_draft import DAY, Drafts
from slabwright.shop.operations_results import PlanParts
from slabwright.shop.operations_wood import lift_when

_M2 = 1e6
_IN_THE_ROOM = ("level", "cable")
_LATER = "After the first winter"


def last_operations(d: Drafts, parts: PlanParts, ready: Sequence[str]) -> None:
    """From the finished parts to the piece that is handed over.

    Args:
        d: the list
        parts: what operations are made from
        ready: what the assembly comes after
    """
    carry = parts.carry
    if carry is None or not ready:
        return
    last = list(ready)
    assembly = carry.assembly
    if assembly is not None:
        steps = [s for s in assembly.steps if s.kind not in _IN_THE_ROOM and not s.do.startswith(_LATER)]
        people = max((step.people for step in steps), default=1)
        last = [d.add("Put it together", "put together", max(1, len(steps)), ready, room="both", people=people)]
    if carry.cables:
        last.append(d.add("Draw in the cables", "draw in cable", len(carry.cables), ready, room="both"))
    checked = d.add("Check and photograph the piece", "check and photograph", 1, last, room="both")
    seen = d.wait(
        "Client agrees to the delivery",
        d.table.waits["client"] * DAY,
        (checked,),
        room="both",
        gate="sign-off",
        waits_for="client",
    )
    packed = seen
    apart = carry.way_in is not None and carry.way_in.carried != "whole" and assembly is not None
    if apart:
        packed = d.add("Take it apart for the way", "take apart", 1, (packed,), room="both")
    areas = parts.finish.areas if parts.finish is not None else None
    if areas is not None and areas.wood + areas.steel > 0.0:
        packed = d.add("Wrap the piece", "wrap", (areas.wood + areas.steel) / _M2, (packed,), room="both")
    driven = d.add("Load and drive to the client", "drive", 1, (packed,), room="away")
    # Without a way in that is stated: the lifts of that day, but for the one into the van.
    day = len(lift_when(parts, "on the day of delivery")) - 1
    passages = len(carry.way_in.passages) if carry.way_in is not None else day
    there = d.add("Carry it in", "carry in", max(1, passages), (driven,), room="away")
    if apart and assembly is not None:
        there = d.add(
            "Put it together in the room", "put together", len(assembly.steps), (there,), room="away", people=2
        )
    feet = len(parts.base.feet) if parts.base is not None else 1
    there = d.add("Set it up and level it", "set up in the room", max(1, feet), (there,), room="away")
    d.add("Hand it over with its care sheet", "hand over", 1, (there,), room="away")
