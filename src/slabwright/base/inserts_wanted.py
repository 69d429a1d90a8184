"""Inserts that a base's bolts want where the top states none: their slots from the wood's movement, and what to paste."""

from __future__ import annotations

from collections.abc import Sequence

from slabwright.base.kinds import Drawn
from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.job.top_models import Clearances, Insert
from slabwright.quantities import INCH, Units, format_length
from slabwright.top.movement import Movement
from slabwright.top.slots import SlotPlan, slot_plan

_HOLE_BEYOND = 5.0
"""Of the hole beyond the bolt's engagement [mm]: common practice."""


def wanted_inserts(drawn: Drawn, thickness: float, least_wood: float) -> tuple[Insert, ...]:
    """An insert for each bolt of the plates, straight above it.

    Args:
        drawn: the base
        thickness: of the top [mm]
        least_wood: that is left over a hole [mm]
    """
    bolts = [(plate, bolt) for plate in drawn.plates for bolt in plate.bolts]
    fixed = next((bolt.name for _, bolt in bolts if not bolt.slides), None)
    return tuple(
        Insert(
            kind="insert",
            name=bolt.name,
            along=bolt.x,
            across=bolt.y,
            drill=bolt.hole,
            depth=max(min(bolt.engagement + _HOLE_BEYOND, thickness - least_wood), bolt.thread),
            thread=bolt.thread,
            engagement=min(bolt.engagement, max(thickness - least_wood - _HOLE_BEYOND, bolt.thread)),
            fixed=bolt.name == fixed,
            plate_thickness=plate.thickness,
        )
        for plate, bolt in bolts
    )


def wanted_slots(
    inserts: Sequence[Insert], length: float, about: Movement, clearances: Clearances, units: Units, paint: float
) -> SlotPlan:
    """Their slots, as they come out once the inserts are stated.

    Args:
        inserts: from `wanted_inserts`
        length: of the top [mm]
        about: its movement
        clearances: least wood and placing
        units: of the job
        paint: thickness on each wall [mm]
    """
    positions = {insert.name: (insert.along + length / 2.0, insert.across) for insert in inserts}
    return slot_plan(inserts, positions, about, clearances, units, paint)


def as_tables(inserts: Sequence[Insert], units: Units) -> str:
    """The inserts as tables of the job file, ready to paste."""

    def shown(mm: float) -> str:
        return f"{round(mm, 2):g}" if units == "metric" else f"{round(mm / INCH, 4):g}"

    told = []
    for insert in inserts:
        sizes = ("along", "across", "drill", "depth", "thread", "engagement", "plate_thickness")
        lines = ["[[top.features]]", 'kind = "insert"', f'name = "{insert.name}"']
        lines += [f"{key} = {shown(getattr(insert, key))}" for key in sizes]
        lines += ["fixed = true"] if insert.fixed else []
        told.append("\n".join(lines))
    return "\n\n".join(told)


def unstated_finding(inserts: Sequence[Insert], moves: bool, units: Units) -> Finding:
    """That nothing in the top holds the base's bolts yet.

    Args:
        inserts: from `wanted_inserts`
        moves: whether the top's movement is known, so that there are slots
        units: of the job
    """
    slots = (
        "their slots come from the wood's movement all the same"
        if moves
        else "and as the wood's movement is not known either, their holes are round: drill no plate yet"
    )
    first = inserts[0]
    at = f"along {format_length(first.along, units)}, across {format_length(first.across, units)}"
    room = "" if moves else "State [room] kind and the moisture. "
    return Finding(
        "base/inserts-unstated",
        "caution",
        f"The top states no insert for the {len(inserts)} bolts of the base: nothing is drawn in the wood; {slots}.",
        f"{room}Paste the {len(inserts)} [[top.features]] of `slabwright why JOB.toml base.inserts_to_paste` into the job"
        f" file, with name, along, across and bolt ('{first.name}': {at}, from the middle of the top); or let plates into"
        " pockets and name them as plate.",
        COMMON_PRACTICE,
    )
