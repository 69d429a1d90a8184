"""Whether what is stated to hold the slab really touches it, and whether its stacks stand on the bed, clamping by clamping."""

from __future__ import annotations

from collections.abc import Sequence

from shapely import box

from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.job.models import Bed
from slabwright.machine.setting import Clamping
from slabwright.quantities import Units, format_length
from slabwright.slab.results import SlabPlan

_TOUCHES = 3.0
"""A clamp nearer to the wood than this is taken to touch it [mm]."""
_DEEP = 80.0
"""A clamp that reaches farther than this over the wood stands in it [mm]."""


def holding_findings(clampings: Sequence[Clamping], units: Units) -> tuple[Finding, ...]:
    """Clamps, stops and wedges that hold nothing in a clamping, or that stand in the wood.

    Args:
        clampings: in the order of the work, with what stands on the bed
        units: that lengths are shown in
    """
    found: list[Finding] = []
    for clamping in clampings:
        outline = clamping.stock.outline
        start, _, end, _ = outline.bounds
        for keep in clamping.keep_out:
            stands = box(keep.x_from, keep.y_from, keep.x_to, keep.y_to)
            away = outline.distance(stands)
            over = stands.intersection(outline)
            reach = f"x = {format_length(start, units)} to {format_length(end, units)}"
            told = f"In clamping {clamping.number} (face {clamping.face} up) the slab lies from {reach}"
            if away > _TOUCHES:
                found.append(
                    Finding(
                        "machine/clamp-holds-nothing",
                        "caution",
                        f"{told}: {keep.name} stands {format_length(away, units)} off it and holds nothing.",
                        "Move it to the slab, or state for which face and clamping it stands there ([[clamps]] face, setting).",
                        COMMON_PRACTICE,
                    )
                )
            elif not over.is_empty and min(over.bounds[2] - over.bounds[0], over.bounds[3] - over.bounds[1]) > _DEEP:
                found.append(
                    Finding(
                        "machine/clamp-in-the-wood",
                        "caution",
                        f"{told}: {keep.name} stands in the wood.",
                        "Check its place: x and y are of its lower left corner, from the bed's near left corner.",
                        COMMON_PRACTICE,
                    )
                )
    return tuple(found)


def stack_findings(clampings: Sequence[Clamping], slab: SlabPlan, bed: Bed, units: Units) -> tuple[Finding, ...]:
    """Stacks that come to stand off the bed once the slab is slid for its second clamping.

    Args:
        clampings: in the order of the work
        slab: with its stacks
        bed: its length and pads
        units: that lengths are shown in
    """
    if slab.shims is None:
        return ()
    found: list[Finding] = []
    for clamping in clampings:
        if clamping.lies_on != "stacks" or clamping.moved == 0.0:
            continue
        at = [(stack, stack.bed_x + clamping.lying.shift[0]) for stack in slab.shims.stacks]
        half = bed.pad_diameter / 2
        off = [(stack, x) for stack, x in at if not half <= x <= bed.length - half]
        if off:
            names = ", ".join(stack.name for stack, _ in off)
            carries = [stack.name for stack, _ in off if stack.carries]
            found.append(
                Finding(
                    "machine/stack-off-bed",
                    "caution",
                    f"In clamping {clamping.number} the stacks {names} come to stand off the bed"
                    + (f", and the slab stands on {' and '.join(carries)}." if carries else "."),
                    f"Set stands there as high as the bed ({format_length(bed.length, units)} long), level, beforehand; "
                    "or crosscut the slab first ([slab] cut_from, cut_to).",
                    COMMON_PRACTICE,
                )
            )
    return tuple(found)
