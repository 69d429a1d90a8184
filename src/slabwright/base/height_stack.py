"""The height stack: foot, leg, plate, and the top less what the plates are let in, and whether the legs can be cut now."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE, Finding, SlabwrightError
from slabwright.quantities import Units, format_length

_FAR_OFF = 20.0
"""A leg that misses by more was measured from elsewhere, or cut for another table [mm]: common practice."""
_BOARD = ("board.thickness_low", "board.thickness", "board.thickness_even")


@dataclass(frozen=True)
class Height:
    """The finished height, from the floor to the top's show face, levellers in their middle."""

    low: float = figure(
        "mm",
        "with the thinnest top that is likely",
        how="foot + leg + plate + thinnest top - pocket",
        rests_on=_BOARD,
        rounds="down",
    )
    even: float = figure(
        "mm",
        "with the top as it is planned",
        how="foot + leg + plate + top - pocket; the top is as planned from readings until [as_made] states it",
        rests_on=("board.thickness", "base.stack"),
        sure="base.height.low, base.height.high",
        change="[piece] height, or the leg as made",
    )
    high: float = figure(
        "mm",
        "with the thickest top that is likely",
        how="foot + leg + plate + thickest top - pocket",
        rests_on=_BOARD,
        rounds="up",
    )


@dataclass(frozen=True)
class HeightStack:
    """What adds up to the finished height."""

    wanted: float = figure("mm", "finished height that is asked for", rests_on=("job:piece.height",))
    foot: float = figure(
        "mm", "floor to steel, levellers in their middle", rests_on=("job:base.feet",), source=COMMON_PRACTICE
    )
    leg: float = figure(
        "mm",
        "foot's seat to the plate's underside",
        how="wanted height - foot - plate - top + pocket; as made where it is measured",
        rests_on=("job:piece.height", "job:base.leg_as_made", "board.thickness", "base.stack.plate"),
        change="[piece] height, or a thicker foot or plate",
    )
    plate: float = figure(
        "mm", "thickness of the plates", rests_on=("job:base.plate.thickness", "job:base.plate_as_made")
    )
    pocket: float = figure("mm", "how deep the plates are let into the top", rests_on=("top.features",))
    top_low: float = figure("mm", "thinnest top that is likely", rests_on=_BOARD, rounds="down")
    top: float = figure("mm", "thickness that the legs are worked out with", rests_on=("board.thickness",))
    top_high: float = figure("mm", "thickest top that is likely", rests_on=_BOARD, rounds="up")
    travel_up_needed: float = figure(
        "mm",
        "how far the levellers have to be screwed out for the thinnest top",
        how="wanted height - lowest height",
        rounds="up",
    )
    travel_down_needed: float = figure(
        "mm",
        "how far they have to be screwed in for the thickest top",
        how="highest height - wanted height",
        rounds="up",
    )
    travel_up: float = figure("mm", "how far they can be screwed out", rests_on=("job:base.feet.travel_up",))
    travel_down: float = figure("mm", "how far they can be screwed in", rests_on=("job:base.feet.travel_down",))
    safe_to_cut: Literal["yes", "no", "cut long"] = figure(
        "",
        "whether the legs can be cut now",
        how="yes: the levellers (or what the height may be off) take up every thickness that is likely; cut long: cut"
        " longer by base.stack.cut_long, then to length when the top is made; no: its thickness is not read yet",
        rests_on=("job:base.feet", "job:base.height_tolerance", *_BOARD),
        change="longer levellers, or skim the top first",
    )
    cut_long: float = figure(
        "mm", "what to leave on the legs until the top is made", how="needed way out - levellers' way out - tolerance"
    )


def height_stack(
    wanted: float,
    top: tuple[float, float, float],
    pocket: float,
    plate: float,
    foot: float,
    travel: tuple[float, float],
    *,
    tolerance: float = 2.0,
    known: bool = True,
    leg_as_made: float | None = None,
    plate_as_made: float | None = None,
) -> tuple[HeightStack, Height]:
    """Add up the finished height and say whether the legs can be cut now.

    Args:
        wanted: finished height [mm]
        top: thickness of the top, thinnest likely, planned, thickest likely [mm]
        pocket: depth that the plates are let in [mm]
        plate: thickness as drawn [mm]
        foot: floor to steel, levellers in their middle [mm]
        travel: how far they can be screwed in and out from there [mm]
        tolerance: by which the height may be off [mm]
        known: whether the slab was read or made; a planned one is not
        leg_as_made: measured, goes before the drawn one [mm]
        plate_as_made: measured [mm]

    Raises:
        SlabwrightError: nothing is left for the legs.
    """
    low, even, high = top
    plate = plate_as_made if plate_as_made is not None else plate
    leg = leg_as_made if leg_as_made is not None else wanted - foot - plate - even + pocket
    if leg <= 0.0:
        raise SlabwrightError(
            f"piece.height: the top, its plates and the feet alone are {wanted - leg:.0f} mm high; state more than that"
        )
    at = [foot + leg + plate + thickness - pocket for thickness in (low, even, high)]
    out, into = max(wanted - at[0], 0.0), max(at[2] - wanted, 0.0)
    down, up = travel
    short = max(out - up - tolerance, 0.0)
    tall = max(into - down - tolerance, 0.0)
    safe: Literal["yes", "no", "cut long"] = "yes"
    if leg_as_made is None and not known:
        safe = "no"
    elif leg_as_made is None and (short > 0.0 or tall > 0.0):
        safe = "cut long"
    stack = HeightStack(
        wanted=wanted,
        foot=foot,
        leg=leg,
        plate=plate,
        pocket=pocket,
        top_low=low,
        top=even,
        top_high=high,
        travel_up_needed=out,
        travel_down_needed=into,
        travel_up=up,
        travel_down=down,
        safe_to_cut=safe,
        cut_long=short if safe == "cut long" else 0.0,
    )
    return stack, Height(*at)


def height_findings(
    stack: HeightStack, height: Height, tolerance: float, made: bool, units: Units, planned: bool = False
) -> list[Finding]:
    """What the maker should know before the legs are cut, or after they were.

    Args:
        stack: from `height_stack`
        height: from `height_stack`
        tolerance: by which the height may be off [mm]
        made: whether the legs are cut and measured
        units: of the job
        planned: whether the top's thickness is planned from readings, not measured on the board
    """

    def shown(mm: float) -> str:
        return format_length(mm, units)

    off = max(stack.travel_up_needed - stack.travel_up, stack.travel_down_needed - stack.travel_down) - tolerance
    if made:
        if off <= 0.0:
            return []
        return [
            Finding(
                "base/height-off",
                "stop" if off > _FAR_OFF else "caution",
                f"With the legs as made the table stands {shown(height.low)} to {shown(height.high)} high; "
                f"{shown(stack.wanted)} is asked for, and the levellers take up {shown(stack.travel_down)} down and "
                f"{shown(stack.travel_up)} up.",
                "Measure [base] leg_as_made again: from the foot's seat to the plate's underside, foot and plate not counted."
                if off > _FAR_OFF
                else f"Take levellers with {shown(off)} more travel, or shim or trim the legs.",
            )
        ]
    if stack.safe_to_cut == "no":
        return [
            Finding(
                "base/legs-not-yet",
                "note",
                "Do not cut the legs yet: the slab is not read, so nobody knows how thick the top comes out.",
                "Read the slab first; the other steel can be cut.",
            )
        ]
    if stack.safe_to_cut == "yes" and planned:
        return [
            Finding(
                "base/legs-on-plan",
                "note",
                f"The legs rest on a top of {shown(stack.top)} that is planned from readings, not measured: it is sure 19 times"
                " in 20, where the board is worked as planned.",
                f"Skim the board first and state [as_made] thickness; or cut now: levellers take up"
                f" {shown(stack.travel_up)} out, {shown(stack.travel_down)} in.",
                COMMON_PRACTICE,
            )
        ]
    if stack.safe_to_cut == "cut long":
        extra = f"{shown(stack.cut_long)} long" if stack.cut_long > 0.0 else "as drawn"
        return [
            Finding(
                "base/legs-long",
                "caution",
                f"The top may come out {shown(stack.top_low)} to {shown(stack.top_high)} thick; the feet take up "
                f"{shown(stack.travel_down)} to {shown(stack.travel_up)} of that, and the height may be off by "
                f"{shown(tolerance)}.",
                f"Cut the legs {extra} and trim them when the top is made, or take levellers with {shown(off)} more travel.",
            )
        ]
    return []
