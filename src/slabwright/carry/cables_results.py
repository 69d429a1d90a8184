"""Results of the cables: the way of each, its length, bends and ties, and what has to pass where."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure, working
from slabwright.carry.cables_path import Point
from slabwright.findings import COMMON_PRACTICE, FROM_MEMORY

_STATED = ("job:cables",)
_WAY = ("job:cables", "top.features", "base.drill")


@dataclass(frozen=True)
class Run:
    """One stretch of a cable's way."""

    kind: str = figure(
        "", "in the channel, through the plate, inside the tube, along the outside, or free", rests_on=_WAY
    )
    name: str = figure("", "of the channel, the plate or the piece of steel", rests_on=_STATED)
    start: float = figure("mm", "from the outlet to where the stretch begins, along the cable", rests_on=_WAY)
    length: float = figure(
        "mm",
        "of the stretch",
        how="on the cable's middle line; a rounded corner saves 2 r tan(turn / 2) - r turn",
        rests_on=_WAY,
        sure="a cable that lies against one side of its channel is a few mm longer or shorter",
    )


@dataclass(frozen=True)
class Bend:
    """One bend of the cable."""

    said: str = figure("", "where it is")
    along: float = figure("mm", "of its corner from the left end", rests_on=_WAY)
    across: float = figure("mm", "of its corner from the centre line", rests_on=_WAY)
    depth: float = figure("mm", "of its corner below the show face", rests_on=_WAY)
    at: float = figure("mm", "from the outlet, along the cable", rests_on=_WAY)
    turn: float = figure("deg", "by which it turns")
    radius: float | None = figure(
        "mm",
        "widest bend that there is room for, to its inside; empty where nothing narrows it",
        how="channel: what its corner and its width leave; opening: what goes slantwise through the hole; else what the legs "
        "beside it allow",
        rests_on=_WAY,
        change="a rounder corner, a wider channel, a longer opening, or a thinner cable",
    )
    least: float = figure(
        "mm",
        "asked for",
        how="as the cable's maker states; else a multiple of its diameter",
        rests_on=("job:cables",),
        source=f"the cable's data sheet; 4 diameters, {FROM_MEMORY}",
        rounds="up",
    )
    holds: bool = figure("", "whether there is room for that")


@dataclass(frozen=True)
class Tie:
    """One place where the cable is held."""

    number: int = figure("1", "from the outlet on")
    kind: str = figure("", "strain relief, clip in the channel, or tie round the steel", source=COMMON_PRACTICE)
    along: float = figure("mm", "from the left end", rests_on=_WAY)
    across: float = figure("mm", "from the centre line", rests_on=_WAY)
    depth: float = figure("mm", "below the show face", rests_on=_WAY)
    at: float = figure(
        "mm",
        "from the outlet, along the cable",
        how="near both ends of every straight, and between them no farther apart than asked for; none in a bend",
        rests_on=("job:cables",),
        source=COMMON_PRACTICE,
        change="tie_every",
    )


@dataclass(frozen=True)
class Passing:
    """Something that has to pass through something."""

    what: str = figure("", "plug, connector or cable", rests_on=_STATED)
    through: str = figure("", "the hole, the plate, the tube or the channel", rests_on=_WAY)
    needs: str = figure("", "what it needs, in words")
    has: str = figure("", "what is there, in words")
    fits: bool = figure(
        "",
        "whether it goes through",
        how="cross-section against the opening: diagonal against a diameter, rectangle turned in a rectangle; a rigid body "
        "round the corner from an opening into a tube",
        rests_on=_WAY,
        change="a larger opening, or the cable passed before its plug is on",
    )


@dataclass(frozen=True)
class CableRoute:
    """One cable, from its outlet to its plug."""

    name: str = figure("", "as the drawing calls it", rests_on=_STATED)
    outlet: str = figure("", "that it comes from", rests_on=_STATED)
    mains: bool = figure("", "whether it carries mains", rests_on=_STATED)
    diameter: float = figure("mm", "of the cable", rests_on=_STATED)
    runs: tuple[Run, ...] = figure("", "its way, stretch by stretch")
    fixed_length: float = figure(
        "mm", "from the outlet to the last tie", how="its stretches added up", rests_on=("carry.cables",)
    )
    slack: float = figure("mm", "loop at the outlet", rests_on=_STATED, source=COMMON_PRACTICE)
    reach: float = figure(
        "mm",
        "free, from the last tie to the plug",
        how="as stated; else down to the floor and on to the farthest socket; else the usual one",
        rests_on=(*_STATED, "job:brief.sockets"),
        source=COMMON_PRACTICE,
        change="reach, or [[brief.sockets]] distance",
    )
    length: float = figure(
        "mm",
        "of the cable that is needed",
        how="outlet to last tie + loop at the outlet + free end",
        rests_on=("carry.cables", "job:cables"),
        change="a shorter way, or a socket nearer by",
    )
    spare: float | None = figure(
        "mm", "of the cable as sold less what is needed; empty where its length is not stated", rests_on=_STATED
    )
    moves: float | None = figure(
        "mm",
        "how far the wood may carry the outlet away from the steel over the year; empty where nothing of it is steel, or the "
        "movement is not known",
        rests_on=("top.places",),
        sure="95 of 100 trees",
    )
    hangs_from: str = figure("", "where it leaves the piece", rests_on=_STATED)
    bends: tuple[Bend, ...] = figure("", "its bends")
    ties: tuple[Tie, ...] = figure("", "where it is held")
    passings: tuple[Passing, ...] = figure("", "what has to pass where")
    protect: tuple[str, ...] = figure("", "edges that are kept off the cable", source=COMMON_PRACTICE)
    laid_before: tuple[str, ...] = figure(
        "", "what covers it, so that it is laid first", how="channel under a plate, or a lid", rests_on=_WAY
    )
    pull: tuple[str, ...] = figure("", "how it is drawn in, step by step", source=COMMON_PRACTICE)
    leads: str = figure("", "what goes first when it is drawn in: plug, connector or the bare end", rests_on=_STATED)
    way: tuple[Point, ...] = working(())
