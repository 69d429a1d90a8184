"""The board: the ripest that is known of what the slab becomes. Later rooms start from it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE, FROM_MEMORY, Finding
from slabwright.job.models import PlannedSlab
from slabwright.job.work_models import AsMade, Check
from slabwright.quantities import Units, format_least, format_length

PLANNED_LOSS_EVEN = 8.0
"""What flattening takes off a rough slab, even chance [mm]: from memory."""
PLANNED_LOSS_LOW = 15.0
"""What it takes off one slab in twenty or fewer [mm]: from memory."""
BASIS_WORDS = {"planned": "planned, not read", "measured": "planned from readings", "as made": "as made, measured"}
"""What a board's thickness rests on, in the bench's words."""
_NOTICED = 0.3
"""A gap under a straightedge that is worth a word [mm]: common practice."""


@dataclass(frozen=True)
class Board:
    """The flat board, as well as it is known today."""

    thickness: float = figure(
        "mm",
        "that later work is planned with",
        how="as made where the board is made; else what the cuts are planned for; else what such slabs give",
        rests_on=["job:as_made.thickness", "slab.seat.target", "job:slab.planned.thickness"],
        sure="board.thickness_low",
        change="measure: read the slab, or state [as_made] thickness",
    )
    thickness_low: float = figure(
        "mm",
        "sure 19 times in 20",
        how="promised thickness of the way the faces are worked, less what checks found while working",
        rests_on=["slab.procedures", "job:checks", "job:as_made.thickness"],
        sure="19 times in 20",
        rounds="down",
    )
    thickness_even: float = figure(
        "mm", "even chance", rests_on=["slab.seat.thickness_even_filled", "job:as_made.thickness"]
    )
    found: float = figure(
        "mm",
        "thickness that checks while working found to be lost",
        how="of each face the greater of the last gap and the last wind entered after its skim; both faces added up",
        rests_on=["job:checks"],
        change="skim the face again and check it again",
    )
    basis: Literal["planned", "measured", "as made"] = figure(
        "",
        "the ripest fact that the thickness rests on: planned, a slab that nobody has read; measured, readings of the rough slab,"
        " from which the board is planned; as made, the board itself",
    )

    @property
    def rests_on(self) -> str:
        """What the thickness rests on, in the bench's words."""
        return BASIS_WORDS[self.basis]


def planned_board(planned: PlannedSlab) -> Board:
    """A board from a slab that nobody has read: rough thickness less what flattening usually takes (from memory)."""
    even = max(0.0, planned.thickness - PLANNED_LOSS_EVEN)
    low = max(0.0, planned.thickness - PLANNED_LOSS_LOW)
    return Board(thickness=even, thickness_low=low, thickness_even=even, found=0.0, basis="planned")


def _lost(checks: Sequence[Check]) -> float:
    """Last straightedge or winding-stick figure of each face after its skim, added up."""
    last = {
        (check.face, check.kind): check.value for check in checks if check.after == "skim" and check.kind != "thickness"
    }
    return sum(max((value for (on, _), value in last.items() if on == face), default=0.0) for face in ("A", "B"))


def board(target: float | None, low: float, even: float, checks: Sequence[Check], as_made: AsMade | None) -> Board:
    """The board from the ripest facts.

    Args:
        target: thickness that the job asks for [mm]; None for the most
        low: promised [mm]
        even: even chance [mm]
        checks: found while working
        as_made: what came out, if it has

    Returns:
        As made, where the board or its thickness at places was measured; else measured.
    """
    measured = [check.value for check in checks if check.kind == "thickness" and check.after == "skim"]
    made = as_made.thickness if as_made and as_made.thickness else min(measured, default=None)
    if made is not None:
        return Board(thickness=made, thickness_low=made, thickness_even=made, found=0.0, basis="as made")
    lost = _lost(checks)
    # A board that is cut to a stated thickness does not come out thicker.
    most = math.inf if target is None else target
    sure = max(0.0, min(most, low - lost))
    return Board(
        thickness=sure,
        thickness_low=sure,
        thickness_even=max(0.0, min(most, even - lost)),
        found=lost,
        basis="measured",
    )


def planned_findings(units: Units, made: Board) -> tuple[Finding, ...]:
    """That a planned slab's thickness is a guess until it is read."""
    low, even = format_length(made.thickness_low, units, 0), format_length(made.thickness_even, units, 0)
    return (
        Finding(
            "slab/planned-only",
            "caution",
            f"The slab is not read: expect {even}, count on {low}.",
            "Read it before it is bought, or as soon as it lies in the shop: slabwright read.",
            FROM_MEMORY,
        ),
    )


def check_findings(checks: Sequence[Check], made: Board, units: Units) -> tuple[Finding, ...]:
    """What checks entered while working mean for the board."""
    found = []
    for check in checks:
        if check.kind != "thickness" and check.value > _NOTICED:
            what = "is hollow or crowned" if check.kind == "straightedge" else "winds"
            found.append(
                Finding(
                    "slab/face-not-flat",
                    "caution",
                    f"Face {check.face} {what} by {format_length(check.value, units)} after its {check.after}.",
                    f"Skim it again from this reading; the board is then sure at {format_least(made.thickness_low, units)}.",
                    COMMON_PRACTICE,
                )
            )
    return tuple(found)
