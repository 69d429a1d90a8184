"""What the maker should know of a placement."""

from __future__ import annotations

import math

from slabwright.findings import Finding
from slabwright.quantities import INCH, Units, format_angle, format_length
from slabwright.top.placement_results import NoRoom, Placement

_TELLS = 0.05
"""A lesser gain of the other face is not worth telling [mm]."""


def placement_findings(found: Placement | NoRoom, units: Units) -> tuple[Finding, ...]:
    """What the maker should know of a placement.

    Args:
        found: from `place`
        units: that the job is written in
    """

    def said(length: float, decimals: int | None = None) -> str:
        return format_length(length, units, decimals)

    def said_down(length: float) -> str:
        """A length that still goes in as it is printed: inches down to a sixteenth."""
        step = INCH / 16 if units == "inch" else 1.0
        return said(math.floor(length / step + 1e-9) * step)

    if isinstance(found, NoRoom):
        size = said(found.length) + ("" if found.width is None else f" by {said(found.width)}")
        ways = []
        if found.longest is not None:
            ways.append(
                f"{said_down(found.longest)} is the longest that was found to go in"
                + " at that width" * (found.width is not None)
            )
        if found.widest is not None:
            ways.append(
                f"{said_down(found.widest)} the widest at that length"
                if ways
                else f"{said_down(found.widest)} is the widest that was found to go in at that length"
            )
        remedy = (
            "; ".join(ways) + ". Or take less off the ends, or another slab."
            if ways
            else "Take another slab, or a smaller piece."
        )
        return (
            Finding(
                "top/no-room",
                "stop",
                f"A piece of {size} does not go into the outlines of both faces, however it is shifted and turned.",
                remedy[0].upper() + remedy[1:],
                "the outlines as read",
            ),
        )
    findings = []
    if found.thickness <= 0.0:
        findings.append(
            Finding(
                "top/no-board",
                "stop",
                "Wherever the piece lies in the slab, no flat board of any thickness is left of it.",
                "Make the piece shorter or narrower, or take another slab.",
                "the readings",
            )
        )
    if not found.proven:
        findings.append(
            Finding(
                "top/placement-time",
                "note",
                f"The time ended before every placement was ruled out: another may be worth up to {said(found.gap, 2)} more.",
                "Keep this placement: it is worked out in full. Or choose a runner-up.",
                "what the search had not yet ruled out",
            )
        )
    other = next((one for one in found.faces if one.face != found.face_up), None)
    if other is not None:
        more = (other.thickness - other.cost) - (found.thickness - found.cost)
        if more > max(_TELLS, found.gap):
            findings.append(
                Finding(
                    "top/other-face",
                    "note",
                    f"With face {other.face} shown the piece is worth {said(more, 1)} more: less that counts against it is seen.",
                    f'State show_face = "{other.face}": {said(other.thickness, 1)} thick, its centre at {said(other.x)}, '
                    f"{said(other.y)}, turned {format_angle(other.turn)}.",
                    "the defects as stated",
                )
            )
    return tuple(findings)
