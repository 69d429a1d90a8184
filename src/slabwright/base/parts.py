"""What a base is made of, as the saw and the paint see it: parts to cut, and the area to coat."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

from slabwright.base.cut_list_results import Part
from slabwright.base.height_stack import HeightStack
from slabwright.base.kinds import Drawn
from slabwright.base.sections import Section, section
from slabwright.base.weld_joints import inside_of, meetings
from slabwright.quantities import INCH, Units

_LEGS = ("upright", "leg")
_PLAY = 1.0
"""By which a cap is smaller than the tube is inside, both ways [mm]: common practice."""


def parts_to_cut(drawn: Drawn, stack: HeightStack | None) -> tuple[Part, ...]:
    """Tubes and plates for the cut list; legs that are not safe to cut yet carry what is left on them.

    Args:
        drawn: the base
        stack: its height stack; None for a free frame
    """
    extra = stack.cut_long if stack is not None else 0.0
    parts = [replace(part, extra=extra) if part.name in _LEGS else part for part in drawn.parts]
    kinds: dict[tuple[float, float, float], int] = {}
    for plate in drawn.plates:
        size = (plate.width, plate.thickness, plate.length)
        kinds[size] = kinds.get(size, 0) + 1
    for (width, thickness, length), count in kinds.items():
        parts.append(Part("plate", flat(width, thickness, drawn.units), length, count=count))
    return (*parts, *_caps(drawn))


def flat(width: float, thickness: float, units: Units) -> Section:
    """A flat, called in the units of the job [mm]."""
    if units == "inch":
        return section(f"flat {width / INCH:.6g} in x {thickness / INCH:.6g} in", units)
    return section(f"flat {width:.6g} mm x {thickness:.6g} mm", units)


def _caps(drawn: Drawn) -> list[Part]:
    """Flats that are set into open tube ends, flush: caps as thick as the wall at least, foot plates as their thread wants.

    What goes into a round tube is sawn round from its piece of flat, and is called so. In a leg that leans the level plate is
    longer than the tube is deep inside.
    """
    many: Counter[tuple[str, float, float, float]] = Counter()
    for meeting in meetings(drawn):
        if meeting.kind == "cap":
            depth, width = inside_of(meeting.section)
            longer = 1.0 / math.sin(math.radians(meeting.angle))
            across, along = _cap_side(width, drawn.units), _cap_side(depth * longer, drawn.units)
            round_one = meeting.section.kind == "round tube"
            many[f"{'round ' if round_one else ''}{meeting.chord}", meeting.thickness, across, along] += 1
    return [
        Part(name, flat(width, thick, drawn.units), depth, count=count)
        for (name, thick, width, depth), count in many.items()
    ]


def _cap_side(inside: float, units: Units) -> float:
    """Side of a cap that goes into a tube, down to whole millimetres or 1/16 in [mm]."""
    step = 1.0 if units == "metric" else INCH / 16.0
    return math.floor((inside - _PLAY) / step + 1e-9) * step


def middle_length(part: Part) -> float:
    """Finished length on the middle line [mm]."""
    side = part.section.depth if part.over == "depth" else part.section.width
    return part.length - math.fsum(side / 2.0 * math.tan(math.radians(mitre)) for mitre in part.mitres)


def paint_area(drawn: Drawn) -> float:
    """Outside of the tubes and all sides of the plates; what lies hidden in joints is counted too [mm2]."""
    tubes = math.fsum(part.count * part.section.perimeter * middle_length(part) for part in drawn.parts)
    plates = math.fsum(
        2.0 * (p.width * p.length + p.width * p.thickness + p.length * p.thickness) for p in drawn.plates
    )
    return tubes + plates
