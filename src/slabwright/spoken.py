"""The plan in a few lines of plain words, for the terminal."""

from __future__ import annotations

from slabwright.findings import Finding
from slabwright.plan import Plan
from slabwright.quantities import format_least, format_length

_WORDS = {"stop": "STOP", "caution": "Care", "note": "Note"}
_ORDER = ("stop", "caution", "note")


def finding_line(finding: Finding) -> str:
    """A problem in one paragraph: voice, what, remedy, whose rule."""
    return f"{_WORDS[finding.severity]}  {finding.message}\n      {finding.remedy}  [{finding.code}; {finding.source}]"


def spoken(result: Plan) -> str:
    """Title, board, what waits, and the problems, worst first."""
    head, units = result.job.stated.job, result.job.stated.job.units
    lines = [head.title]
    if result.slab is not None:
        seat = result.slab.seat
        low = format_length(seat.thickness_low, units, 1) if seat.thickness_low > 0.0 else "nothing of it"
        lines.append(
            f"  {format_length(seat.thickness, units, 1)} is the most the readings hold, proven; {low} is sure 19 times in 20."
        )
        if result.slab.chosen_fill and seat.thickness_low_filled > 0.0:
            lines.append(
                f"  With fill {result.slab.chosen_fill}: {format_least(seat.thickness_low_filled, units)} is sure."
            )
        if seat.target > 0.0:
            lines.append(
                f"  Cuts are planned for {format_length(seat.target, units, 1)}, face {result.slab.show_face} shown."
            )
    if result.board is not None and result.board.thickness > 0.0:
        lines.append(f"  Board ({result.board.rests_on}): {format_least(result.board.thickness, units)}.")
    lines += [f"  Not worked out: {waiting.stage}; waits for {waiting.waits_for}." for waiting in result.waiting]
    for severity in _ORDER:
        lines += [finding_line(finding) for finding in result.findings if finding.severity == severity]
    return "\n".join(lines)
