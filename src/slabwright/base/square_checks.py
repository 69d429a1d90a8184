"""Squareness of a base, proven: diagonals, opposite sides and rocking on a flat plate, each with how far it may be off.

No one of them is enough: a frame wider below than above has like diagonals, a leaning one has like opposite sides, and a twisted
one may have both. Together they leave nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.base.kinds import Drawn
from slabwright.findings import COMMON_PRACTICE, Finding, SlabwrightError
from slabwright.quantities import Units, format_length

_MEASURED = 0.5
"""What a tape from corner to corner can tell [mm]: common practice."""


@dataclass(frozen=True)
class Allowed:
    """How far the base may be off [mm].

    Attributes:
        room_along: least room between a plate's end and its pocket's wall, along the grain
        room_across: the same across, beyond what the wood moves
        level: by which one foot may stand higher than the others: the levellers' travel that is left, or the floor's
        lean: by which a leg may lean out of plumb from foot to plate
        bow: by which a plate may rock or be bowed
    """

    room_along: float
    room_across: float
    level: float
    lean: float = 1.5
    bow: float = 0.5


@dataclass(frozen=True)
class SquareCheck:
    """One measurement."""

    what: str = figure("", "the frame, plate or plan that is measured")
    check: str = figure("", "diagonals, opposite sides or rocking")
    measure: str = figure("", "from where to where", source=COMMON_PRACTICE)
    nominal: float | None = figure("mm", "as drawn; none: it should not rock at all", rests_on=("job:base.across",))
    may_differ: float = figure(
        "mm",
        "difference of the two, or gap when it rocks, at most",
        how="the frame is leant, tapered or twisted until a plate meets its pocket's wall, a foot leaves the floor, or a leg is"
        " out of plumb",
        rests_on=("top.slots", "job:base.feet"),
        sure="each by itself; where two are near their limits at once, half of each",
        change="more room in the pockets, levellers with more travel",
        rounds="down",
    )
    limited_by: str = figure("", "what sets that limit")


@dataclass(frozen=True)
class SquareChecks:
    """Everything that proves a base square."""

    checks: tuple[SquareCheck, ...] = figure("", "the measurements, in their order")
    findings: tuple[Finding, ...] = working(())


def leant(width: float, height: float, shift: float) -> float:
    """By how much the diagonals differ when the upper side is shifted against the lower one [mm], exactly."""
    return math.hypot(width + shift, height) - math.hypot(width - shift, height)


def square_checks(drawn: Drawn, allowed: Allowed, units: Units, joined: bool = False) -> SquareChecks:
    """What is measured on a base, and how far it may be off.

    Args:
        drawn: the base
        allowed: room in the pockets, travel of the feet, plumb
        units: of the job
        joined: whether the leg frames are welded to each other; else only the top joins them

    Raises:
        SlabwrightError: something allowed is not above 0, or the base is a free frame, whose frames are not known.
    """
    for name, value in vars(allowed).items():
        if not value > 0.0:
            raise SlabwrightError(f"squareness: {name} must be more than 0, or nothing may be off at all")
    if not drawn.plates:
        raise SlabwrightError(
            "squareness: a free frame has no leg frames to measure; check its nodes against their places"
        )
    found: list[SquareCheck] = []
    for plate in drawn.plates:
        found += _frame(drawn, plate.name.split()[0], plate.length, allowed)
        found.append(
            SquareCheck(plate.name, "rocking", "the plate's upper side on the flat plate", None, allowed.bow, "bow")
        )
    if joined:
        found += _plan(drawn, allowed)
    fine = [check for check in found if check.check != "rocking" and check.may_differ < _MEASURED]
    findings = [
        Finding(
            "base/square-too-fine",
            "caution",
            f"{check.what}: its {check.check} may differ by {format_length(check.may_differ, units, 2)}"
            " only; a tape cannot tell that.",
            "Give the pocket more room, or measure with trammels or a square of known make.",
        )
        for check in fine
    ]
    return SquareChecks(tuple(found), tuple(findings))


def _frame(drawn: Drawn, end: str, plate_length: float, allowed: Allowed) -> list[SquareCheck]:
    """One leg frame, measured over its uprights' outer corners."""
    upright = next(m.section for m in drawn.members if m.name == f"{end} near upright")
    low, top = (drawn.nodes[f"{end} far upright, {where}"] for where in ("bottom", "top"))
    # A leaning leg is cut level: its footprint is longer than the tube is deep.
    footprint = upright.depth * math.hypot(1.0, (low[1] - top[1]) / (top[2] - low[2]))
    below, above = 2.0 * low[1] + footprint, 2.0 * top[1] + footprint
    height = drawn.underside - drawn.plates[0].thickness - drawn.foot_length
    middle = (below + above) / 2.0
    lean = min(allowed.lean, allowed.room_across)
    by_lean = "legs out of plumb" if allowed.lean <= allowed.room_across else "room of the pocket across"
    side = math.hypot(height, (below - above) / 2.0)
    what = f"{end} leg frame"
    # Twisted by g at one corner, its upper side is turned by g / width in plan against the lower one: so is the plate.
    turned = allowed.room_along / (plate_length / 2.0) * middle
    rock = min(turned, allowed.level)
    return [
        SquareCheck(
            what,
            "diagonals",
            "outer corner below to the opposite outer corner above",
            math.hypot(middle, height),
            leant(middle, height, lean),
            by_lean,
        ),
        SquareCheck(
            what,
            "opposite sides",
            "width over all, below; above as much"
            + ("" if abs(below - above) < 0.05 else " less what it tapers as drawn"),
            below,
            2.0 * lean,
            by_lean,
        ),
        SquareCheck(what, "opposite sides", "near leg and far leg, end to end", side, allowed.level, "feet or floor"),
        SquareCheck(
            what,
            "rocking",
            "laid on its side on the flat plate: gap at the fourth corner",
            None,
            rock,
            "room of the pocket along" if turned < allowed.level else "feet or floor",
        ),
    ]


def _plan(drawn: Drawn, allowed: Allowed) -> list[SquareCheck]:
    """Both frames together, seen from above: over the outer corners of the plates."""
    left, right = min(drawn.plates, key=lambda p: p.x), max(drawn.plates, key=lambda p: p.x)
    long = right.x - left.x + (left.width + right.width) / 2.0
    wide = (left.length + right.length) / 2.0
    # One plate shifted across against the other: each pocket takes its room, both ways from the middle.
    shift = 2.0 * allowed.room_across
    diagonals = math.hypot(long, wide + shift) - math.hypot(long, wide - shift)
    # One side longer than the other by e turns each plate by e / (2 wide) at its ends: e / 4 along at every corner.
    return [
        SquareCheck(
            "both frames in plan",
            "diagonals",
            "outer corner of one plate to the opposite corner of the other",
            math.hypot(long, wide),
            diagonals,
            "room of the pockets across",
        ),
        SquareCheck(
            "both frames in plan",
            "opposite sides",
            "over both plates, along the near and along the far ends",
            long,
            4.0 * allowed.room_along,
            "room of the pockets along",
        ),
        SquareCheck(
            "the base on its feet",
            "rocking",
            "on a flat floor: gap under the fourth foot",
            None,
            allowed.level,
            "feet or floor",
        ),
    ]
