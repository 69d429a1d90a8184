"""One part at the saw: its points, whether the saw can cut it, and the two-pass cut of a wide plate."""

from __future__ import annotations

import math

from slabwright.base.cut_list_results import Cuts, Part, Saw, TwoPass
from slabwright.base.cutting_patterns import SLACK
from slabwright.findings import Finding, SlabwrightError
from slabwright.quantities import Units, format_angle, format_length

_ALIKE = 0.01
"""Mitres that differ by less are equal [degrees]."""
_OVERLAP = 10.0
"""By which two cuts from both edges run past each other, at most [mm]: common practice."""


def side(part: Part) -> float:
    """Of the section, that the mitres run across [mm]."""
    return part.section.depth if part.over == "depth" else part.section.width


def leans(part: Part) -> tuple[float, float]:
    """From the middle line to the long point at either end [mm]."""
    first, last = (side(part) / 2.0 * math.tan(math.radians(mitre)) for mitre in part.mitres)
    return first, last


def middle(part: Part) -> float:
    """Sawn length on the middle line [mm]."""
    return part.length + part.extra - sum(leans(part))


def short_points(part: Part) -> float:
    """Finished length between the short points; of opposite long points the shorter face [mm]."""
    first, last = leans(part)
    return part.length - (2.0 * max(first, last) if part.opposite else 2.0 * (first + last))


def cuts_of(part: Part) -> Cuts:
    """How its two cuts lie: parallel ones lean alike, opposed ones towards each other."""
    low, high = sorted(part.mitres)
    if high == 0.0:
        return "square"
    if low == 0.0:
        return "one end"
    return "parallel" if part.opposite and high - low < _ALIKE else "opposed"


def stop_length(part: Part) -> float:
    """Sawn length as the saw's stop takes it [mm]: between parallel cuts every face is as long, and that is what lies there."""
    whole = part.length + part.extra
    return whole - 2.0 * max(leans(part)) if cuts_of(part) == "parallel" else whole


def check_part(part: Part, units: Units) -> None:
    """Whether the figures make a part.

    Raises:
        SlabwrightError: they do not.
    """
    if not (part.length > 0.0 and part.count >= 1 and part.extra >= 0.0):
        raise SlabwrightError(f"part '{part.name}' needs a length above 0, a count of 1 or more and no negative extra")
    if not all(0.0 <= mitre < 90.0 for mitre in part.mitres):
        raise SlabwrightError(f"part '{part.name}': a mitre is from 0 (square) to less than 90 degrees")
    if short_points(part) <= 0.0:
        raise SlabwrightError(
            f"part '{part.name}' is {format_length(part.length, units)} to the long points and its mitres meet before that:"
            f" it needs more than {format_length(part.length - short_points(part), units)}"
        )


def saw_findings(part: Part, saw: Saw, units: Units) -> list[Finding]:
    """What the saw cannot do."""
    steepest = max(part.mitres)
    found = []
    if steepest > saw.greatest_mitre + 1e-9:
        found.append(
            Finding(
                "base/mitre-beyond-saw",
                "stop",
                f"{part.name[:1].upper()}{part.name[1:]}: its mitre of {format_angle(steepest, 1)} is beyond the saw's"
                f" {format_angle(saw.greatest_mitre, 1)}.",
                f"Butt this joint, change the shape until the mitre is {format_angle(saw.greatest_mitre, 1)} or less,"
                " or state a saw that swings further.",
            )
        )
    if passes(part, saw) == 0:
        across = side(part) / math.cos(math.radians(steepest))
        flat = part.section.kind == "flat" and steepest == 0.0
        most = 2.0 * saw.reach if flat else saw.reach * math.cos(math.radians(steepest))
        found.append(
            Finding(
                "base/wider-than-saw",
                "stop",
                f"{part.name[:1].upper()}{part.name[1:]}: the cut is {format_length(across, units)} wide and the saw reaches"
                f" {format_length(saw.reach, units)}" + (" from either edge." if flat else "."),
                f"Take a section of at most {format_length(most, units)} across, or have the yard cut it.",
            )
        )
    return found


def passes(part: Part, saw: Saw) -> int:
    """Passes of the saw through each cut; 0: it cannot."""
    across = side(part) / math.cos(math.radians(max(part.mitres)))
    if across <= saw.reach + SLACK:
        return 1
    flat = part.section.kind == "flat" and max(part.mitres) == 0.0
    return 2 if flat and across < 2.0 * saw.reach - SLACK else 0


def two_pass(part: Part, saw: Saw, units: Units) -> TwoPass:
    """How a plate that is wider than the saw reaches is cut from both edges."""
    width = side(part)
    depth = min(saw.reach, width / 2.0 + _OVERLAP / 2.0)
    ridge = width / 2.0 * math.tan(math.radians(saw.out_of_square))
    return TwoPass(
        part=part.name,
        width=width,
        first_depth=depth,
        overlap=2.0 * depth - width,
        ridge=ridge,
        how=(
            f"Set the stop. Cut {format_length(depth, units)} in from the first edge. Turn the plate over about its length, so"
            " that the same end stays on the stop and the other edge comes to the fence. Cut the rest."
            f" Dress the middle: up to {format_length(ridge, units)} may stand proud or hollow."
        ),
    )
