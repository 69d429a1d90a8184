"""Operations of the steel: from the lengths that come in to the ground base."""

from __future__ import annotations

from slabwright.base.basing import BasePlan
from slabwright.shop.operations_draft import DAY, Drafts
from slabwright.shop.operations_results import PlanParts


def steel_operations(d: Drafts, parts: PlanParts, inserts: str | None) -> tuple[str | None, str | None, str | None]:
    """From the steel's delivery to the ground base.

    Args:
        d: the list
        parts: what operations are made from
        inserts: the operation after which bolts can be tried in the top

    Returns:
        The last operation, the mock-up's signature, and the drilling of the plates; each None where there is none.
    """
    base = parts.base
    if base is None:
        return None, None, None
    waits = d.table.waits
    last = d.wait("Steel comes in", waits["steel"] * DAY, room="steel", gate="delivery", waits_for="steel")
    if base.cut_list is not None and base.cut_list.cuts:
        last = d.add("Cut the steel", "saw steel", base.cut_list.cuts, (last,), room="steel")
    drilled = None
    holes = _holes(base)
    if holes:
        drilled = last = d.add("Drill the plates and vents", "drill steel", holes, (last,), room="steel")
    pieces = sum(part.count for part in base.parts)
    if pieces:
        last = d.add("Deburr the steel", "deburr", pieces, (last,), room="steel")
    if base.welds is None or not base.welds.joints:
        return last, None, drilled
    joints, frames = len(base.welds.joints), _frames(parts)
    tacked = d.add("Tack the base", "tack", joints, (last,), room="steel")
    last = d.add("Check the tacked base", "check square", frames, (tacked,), room="steel")
    signed = None
    if inserts is not None:
        plates = max(1, len(base.drill.plates) if base.drill is not None else 1)
        tried = d.add("Mock up the base with the top", "mock up", plates, (last, inserts), room="both", people=2)
        signed = last = d.wait(
            "Client signs the mock-up",
            waits["client"] * DAY,
            (tried,),
            room="both",
            gate="sign-off",
            waits_for="client",
        )
    last = d.add("Weld the base", "weld", base.welds.welding_time, (last,), room="steel")
    last = d.wait("Base cools in its clamps", waits["cooling"], (last,), room="steel")
    last = d.add("Check the welded base", "check square", frames, (last,), room="steel")
    if base.welds.grinding_time > 0.0:
        last = d.add("Grind the welds", "grind", base.welds.grinding_time, (last,), room="steel")
    return last, signed, drilled


def _holes(base: BasePlan) -> int:
    """Holes, slots, openings and vents."""
    if base.drill is None:
        return 0
    in_plates = sum(len(plate.holes) + len(plate.openings) for plate in base.drill.plates)
    return in_plates + len(base.drill.openings) + len(base.drill.vents)


def _frames(parts: PlanParts) -> int:
    """Pieces of steel that are checked one by one."""
    assembly = parts.carry.assembly if parts.carry is not None else None
    return max(1, len(assembly.frames)) if assembly is not None else 1
