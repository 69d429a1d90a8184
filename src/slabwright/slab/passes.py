"""Passes: depth by depth, what each takes and what wood is left above the plane."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np

from slabwright.accounts import figure
from slabwright.geometry.faces import FaceName, other
from slabwright.job.models import Allowance, Machine
from slabwright.slab.stock import StockMap

Kind = Literal["one go", "rough, rest, skim"]

_MAP = "the map of wood above the plane: linear between readings"


@dataclass(frozen=True)
class Pass:
    """One depth of one face."""

    face: Literal["A", "B"] = figure("", "the face that is cut", rests_on=["slab.first_face"])
    number: int = figure("1", "from 1, in the order of the work")
    stage: Literal["rough", "skim", "only"] = figure(
        "", "roughing that leaves a rest, the skim after it, or all in one go"
    )
    level: float = figure(
        "mm",
        "height of the cutter above the finished plane of this face",
        how="the last pass takes the thin last depth; above it, steps of the greatest depth up to the highest wood",
        rests_on=["shop:machine.greatest_depth", "shop:machine.last_depth", "shop:allowance.rest"],
        source="common practice",
        change="a greater depth a pass, if the cutter's maker allows it",
    )
    depth: float = figure(
        "mm", "taken by this pass at most", how="level before less level now, or the highest wood", rounds="up"
    )
    area: float = figure("mm2", "where it meets wood", how=f"cells that stand above this level in {_MAP}")
    volume: float = figure("mm3", "of wood that it takes", how=f"summed over {_MAP}")
    left_area: float = figure(
        "mm2", "where wood still stands above the finished plane afterwards", how=f"counted in {_MAP}"
    )
    left_volume: float = figure("mm3", "of wood still above the finished plane afterwards", how=f"summed over {_MAP}")
    last: bool = figure("", "the thin last pass")


@dataclass(frozen=True)
class Procedure:
    """One way of working through the two faces: in one go, or rough, rest and skim."""

    kind: Kind = figure("", "how the two faces are worked")
    thickness_low: float = figure(
        "mm",
        "promised thickness once the board lies flat after it has moved",
        how="promised thickness less the movement that the skim does not take up",
        rests_on=["slab.seat.thickness_low", "shop:allowance.movement", "shop:allowance.rest"],
        source="common practice",
        change="a longer rest before the skim, or wood nearer to the room's moisture",
        rounds="down",
    )
    movement: float = figure(
        "mm",
        "that the wood is allowed to move when it is opened",
        rests_on=["shop:allowance.movement"],
        source="from memory",
        change="log what your slabs did and state it in the shop file",
    )
    days: float = figure("day", "that it takes with its rests", rests_on=["shop:allowance.rest_days"])
    chosen: bool = figure("", "whether the sheets follow this one")
    steps: tuple[str, ...] = figure("", "in the order of the work")


def levels(highest: float, greatest_depth: float, last_depth: float, *, down_to: float = 0.0) -> tuple[float, ...]:
    """Heights of the cutter above the finished plane, from the first pass to the last.

    The last pass takes `last_depth`; those above it `greatest_depth`; the first what is left at the top. No sequence under
    these two limits has fewer passes: ceil((highest - down_to - last) / greatest) + 1.

    Args:
        highest: wood above the finished plane [mm]
        greatest_depth: that one pass may take [mm]
        last_depth: of the thin last pass [mm]
        down_to: level of the last pass: 0, or the rest that roughing leaves [mm]

    Returns:
        Levels, falling, the last equal to `down_to`; empty where nothing stands above it.
    """
    above = highest - down_to
    if above <= 0.0:
        return ()
    thin = min(last_depth, greatest_depth)
    thick = max(0, math.ceil((above - thin) / greatest_depth - 1e-9))
    return (*(down_to + thin + greatest_depth * step for step in range(thick - 1, -1, -1)), down_to)


def _face_passes(
    stock: StockMap, face: FaceName, stage: Literal["rough", "skim", "only"], tops: Sequence[float], start: float
) -> list[Pass]:
    area = stock.cell_area
    result = []
    above = start
    for index, level in enumerate(tops):
        meets = stock.depth > level
        left = stock.left(level)
        result.append(
            Pass(
                face=face,
                number=0,
                stage=stage,
                level=level,
                depth=above - level,
                area=float(np.count_nonzero(meets)) * area,
                volume=float(np.sum(np.clip(stock.depth[meets], None, above) - level)) * area,
                left_area=float(np.count_nonzero(left > 0.0)) * area,
                left_volume=float(np.nansum(left)) * area,
                last=index == len(tops) - 1 and stage != "rough",
            )
        )
        above = level
    return result


def passes(
    stock_a: StockMap, stock_b: StockMap, machine: Machine, allowance: Allowance, *, first_face: FaceName, kind: Kind
) -> tuple[Pass, ...]:
    """Every depth of both faces, in the order of the work.

    Args:
        stock_a: wood above the upper plane
        stock_b: wood below the lower plane
        machine: how deep a pass may go
        allowance: the rest that roughing leaves
        first_face: the face that is cut first
        kind: in one go, or roughing both faces, resting, and skimming both

    Returns:
        The passes; a face on which no wood stands above its plane has none.
    """
    stocks = {"A": stock_a, "B": stock_b}
    order: tuple[FaceName, FaceName] = ("A", "B") if first_face == "A" else ("B", "A")
    highest = {face: float(np.nanmax(stocks[face].depth)) for face in order}
    done: list[Pass] = []
    if kind == "one go":
        for face in order:
            tops = levels(highest[face], machine.greatest_depth, machine.last_depth)
            done += _face_passes(stocks[face], face, "only", tops, highest[face])
    else:
        for face in order:
            rough = levels(highest[face], machine.greatest_depth, machine.greatest_depth, down_to=allowance.rest)
            done += _face_passes(stocks[face], face, "rough", rough, highest[face])
        for face in order:
            start = min(highest[face], allowance.rest)
            tops = levels(start, machine.greatest_depth, machine.last_depth)
            done += _face_passes(stocks[face], face, "skim", tops, start)
    return _numbered(done)


def _numbered(done: Sequence[Pass]) -> tuple[Pass, ...]:
    return tuple(replace(item, number=number) for number, item in enumerate(done, start=1))


class Run(NamedTuple):
    """One face cut from its highest wood down to the last of its levels, heights above its finished plane [mm]."""

    face: FaceName
    stage: Literal["rough", "skim", "only"]
    levels: tuple[float, ...]
    highest: float


def passes_of(stock_a: StockMap, stock_b: StockMap, runs: Sequence[Run]) -> tuple[Pass, ...]:
    """The passes of levels that are already settled, as the machine's programs have them.

    Args:
        stock_a: wood above the upper plane
        stock_b: wood below the lower plane
        runs: in the order of the work
    """
    stocks = {"A": stock_a, "B": stock_b}
    done: list[Pass] = []
    for run in runs:
        done += _face_passes(stocks[run.face], run.face, run.stage, run.levels, run.highest)
    return _numbered(done)


def procedures(
    thickness_low: float, allowance: Allowance, *, first_face: FaceName, chosen: Kind
) -> tuple[Procedure, ...]:
    """The two ways of working through the faces, side by side.

    Args:
        thickness_low: promised thickness of a board that does not move [mm]
        allowance: rest, days and movement
        first_face: the face that is cut first
        chosen: the one that the sheets follow

    Returns:
        One go, then rough, rest and skim.
    """
    second = other(first_face)
    skim_loss = max(0.0, allowance.movement - allowance.rest)
    return (
        Procedure(
            kind="one go",
            thickness_low=thickness_low - allowance.movement,
            movement=allowance.movement,
            days=0.0,
            chosen=chosen == "one go",
            steps=(
                f"Cut face {first_face} to its plane.",
                f"Turn the slab over and cut face {second} to thickness.",
                "Lay it on stickers; what it bows afterwards stays, or costs thickness to take out.",
            ),
        ),
        Procedure(
            kind="rough, rest, skim",
            thickness_low=thickness_low - skim_loss,
            movement=allowance.movement,
            days=allowance.rest_days,
            chosen=chosen == "rough, rest, skim",
            steps=(
                f"Rough face {first_face}, leaving the rest.",
                f"Turn the slab over and rough face {second}, leaving the rest.",
                "Lay it on stickers, air on both faces, for the days of the rest.",
                "Read both faces again, lying free, and enter them: the plan goes on from there.",
                f"Skim face {first_face}, turn it over, skim face {second} to thickness.",
            ),
        ),
    )
