"""From the slab's plan to clampings on the machine: what lies where, the plane above the bed, and the depths."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np
import shapely

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import FaceName, other
from slabwright.job.models import Allowance, Bed, Machine
from slabwright.job.work_models import Clamp
from slabwright.machine.frame import KeepOut, Setting, Stock
from slabwright.machine.lying import (
    CELL,
    UNREAD_MARGIN,
    Field,
    Lying,
    field,
    first_plane,
    lying_on_stacks,
    whole_outline,
)
from slabwright.quantities import Units, format_length
from slabwright.slab.passes import levels
from slabwright.slab.results import SlabPlan

Stage = Literal["rough", "skim", "only"]

OVERLAP = 1.5
"""Least overlap of two clampings of one face, in cutter diameters: common practice."""
_SPARE = 1.0
"""Wood may stand this much higher in a cell than the slab's own map shows [mm]."""


@dataclass(frozen=True)
class Clamping(Setting):
    """A setting with what is cut in it.

    Attributes:
        stage: roughing that leaves a rest, the skim after it, or all in one go
        levels: heights of the cutter above the finished plane, falling; empty where no wood stands above the last one [mm]
        lies_on: what carries the slab
        lying: from the slab's frame to the machine's
        moved: how far the slab lies from where the first clamping of this face had it along the bed [mm]
        region: the clean region of the face that is cut, in the machine's frame
        step_back: by how much each depth ends earlier than the one before; 0 where the window ends with the slab [mm]
    """

    stage: Stage
    levels: tuple[float, ...]
    lies_on: Literal["stacks", "face A", "face B"]
    lying: Lying
    moved: float
    region: shapely.Polygon
    step_back: float = 0.0

    def at_depth(self, index: int) -> Clamping:
        """This clamping as one of its depths cuts it.

        Where the window ends in the middle of the wood, the cutter reaches past it by its radius, into wood that the depth
        before has not met. So each depth ends a little earlier, like stairs; the next clamping cuts them off.

        Args:
            index: of the depth in `levels`, from 0
        """
        start, end = self.window
        return replace(self, window=(start, end - index * self.step_back))


class Part(NamedTuple):
    """A stretch of the slab that one clamping cuts.

    Attributes:
        start: x of the slab's near end on the bed [mm]
        window: x on the bed from and to that is cut [mm]
        overlap: x on the bed from and to that the next clamping cuts again [mm]
    """

    start: float
    window: tuple[float, float]
    overlap: tuple[float, float] | None


def step_back(machine: Machine) -> float:
    """By how much a depth must end earlier than the one before, so that the cutter meets only wood that was cut to that [mm].

    The depth before has cleared what stands up to its own end, and the cutter reaches a radius past the end of this one.
    """
    return machine.cutter_diameter / 2.0 + CELL


def shared(slab: SlabPlan, machine: Machine) -> float:
    """Overlap of two clampings of one face [mm]: what joins them, and the stairs at the end of the first one."""
    highest = max(slab.seat.cut_a, slab.seat.cut_b) + UNREAD_MARGIN + _SPARE
    most_depths = math.ceil(highest / machine.greatest_depth) + 2
    return OVERLAP * machine.cutter_diameter + (most_depths - 1) * step_back(machine)


def parts_along(length: float, machine: Machine, bed: Bed, overlap: float) -> tuple[Part, ...]:
    """How a slab is shared out between clampings: one, two with an overlap, or none where two do not do.

    The cutter's middle stays within the travel and enters from beside the wood, so that a stretch is at most the travel less
    the cutter's diameter.

    Args:
        length: of the box round the slab [mm]
        machine: its travel and cutter
        bed: its length, and where the slab is to lie
        overlap: of two clampings [mm]
    """
    radius = machine.cutter_diameter / 2.0
    stated = None if bed.origin is None else bed.origin[0]
    if machine.kind == "sled":
        start = (bed.length - length) / 2.0 if stated is None else stated
        return (Part(start, (start, start + length), None),)
    reach = machine.travel_x - machine.cutter_diameter
    if length <= reach + 1e-9:
        centred = (bed.length - length) / 2.0 if stated is None else stated
        # In the middle of the bed, or as near to it as the travel lets it be.
        start = min(max(centred, radius), machine.travel_x - radius - length)
        return (Part(start, (start, start + length), None),)
    part = (length + overlap) / 2.0
    if part > reach + 1e-9:
        return ()
    start = radius + (reach - part) / 2.0
    if stated is not None:
        start = min(max(stated, radius), machine.travel_x - radius - part)
    end = start + part
    return (
        Part(start, (start, end), (end - overlap, end)),
        Part(start - (part - overlap), (start, end), None),
    )


def placed_across(width: float, machine: Machine, bed: Bed) -> float | None:
    """Where the slab's near side lies on the bed, its y; None where it is too wide for the travel."""
    radius = machine.cutter_diameter / 2.0
    start = (bed.width - width) / 2.0 if bed.origin is None else bed.origin[1]
    if machine.kind == "sled":
        return start
    if width > machine.travel_y - machine.cutter_diameter + 1e-9:
        return None
    return min(max(start, radius), machine.travel_y - radius - width)


def depths(
    highest: float, machine: Machine, *, down_to: float = 0.0, rough: bool = False, fresh: bool = False, last: float
) -> tuple[float, ...]:
    """Heights of the cutter above the finished plane, from the first pass to the last.

    As `slab.passes.levels`; a face that was never cut begins with a pass no deeper than the safe first one.

    Args:
        highest: wood above the finished plane [mm]
        machine: how deep a pass may go
        down_to: level of the last pass [mm]
        rough: whether a rest is left, so that no thin last pass is wanted
        fresh: whether the face was never cut
        last: depth of the thin last pass [mm]
    """
    greatest = machine.greatest_depth
    thin = greatest if rough else min(last, greatest)
    found = levels(highest, greatest, thin, down_to=down_to)
    safe = machine.first_depth if machine.first_depth is not None else greatest / 2.0
    if fresh and found and highest - found[0] > safe + 1e-9:
        start = highest - safe
        return (start, *levels(start, greatest, thin, down_to=down_to))
    return found


def settings(
    slab: SlabPlan,
    machine: Machine,
    bed: Bed,
    clamps: Sequence[Clamp] = (),
    *,
    allowance: Allowance,
    figured: bool = False,
    units: Units = "metric",
) -> tuple[Clamping, ...]:
    """All clampings of both faces, in the order of the work.

    The first one lies on the stacks, the others on the machined face, without shims. In one go: the first face, then the
    second. With a rest: rough the first face, rough the second lying on it, then skim both the same way. Lying on a roughed
    face, that face's rest is under the slab, and the plane stands higher by it.

    Args:
        slab: the slab's plan
        machine: travel, cutter and depths
        bed: where the slab lies
        clamps: in the machine's frame
        allowance: the rest that roughing leaves
        figured: figured wood: a shallower last pass
        units: for messages

    Returns:
        Clampings, numbered from 1.

    Raises:
        SlabwrightError: there are no stacks, or the slab does not fit the travel even in two clampings
    """
    trouble = no_setting(slab, machine, bed, units)
    if trouble is not None:
        raise SlabwrightError(f"{trouble[0]} {trouble[1]}")
    on_stacks = lying_on_stacks(slab, rails_follow=machine.kind == "sled")
    first: FaceName = slab.first_face
    second: FaceName = other(first)
    plane, milled = first_plane(slab, on_stacks), slab.seat.milled
    raw = {
        first: field(slab, on_stacks),
        # As if it lay on the first face, cut to its finished plane.
        second: field(slab, replace(on_stacks, turned=True, rise=plane)),
    }
    zero = {first: plane, second: milled}
    last = min(machine.last_depth, machine.last_depth_figured) if figured else machine.last_depth
    one_go = next((way.kind for way in slab.procedures if way.chosen), "one go") == "one go"
    left = {face: 0.0 if one_go else _left(raw[face], zero[face], allowance.rest, last) for face in (first, second)}

    def clampings(face: FaceName, stage: Stage, on: Literal["stacks", "face A", "face B"]) -> list[Clamping]:
        under = 0.0 if stage != "rough" or on == "stacks" else left[first]
        on_second = 0.0 if on == "stacks" else left[second] + milled - plane
        rise = plane + under if face == second else on_second
        lying = replace(on_stacks, turned=face == second, rise=rise)
        # The raw field was taken at a rise of its own; only heights differ.
        offset = rise - (0.0 if face == first else plane)
        level = zero[face] + offset
        top = raw[face].top + offset
        if stage == "skim":
            top = np.minimum(top, level + left[face])
        return _along(
            slab,
            machine,
            bed,
            clamps,
            replace(raw[face], top=top),
            lying=lying,
            plane=level,
            stage=stage,
            lies_on=on,
            down_to=left[face] if stage == "rough" else 0.0,
            last=last,
        )

    found: list[Clamping] = []
    lies_on: dict[FaceName, Literal["face A", "face B"]] = {"A": "face A", "B": "face B"}
    if one_go:
        found += clampings(first, "only", "stacks") + clampings(second, "only", lies_on[first])
    else:
        found += clampings(first, "rough", "stacks") + clampings(second, "rough", lies_on[first])
        found += clampings(first, "skim", lies_on[second]) + clampings(second, "skim", lies_on[first])
    cut = (clamping for clamping in found if clamping.levels)
    return tuple(replace(clamping, number=number) for number, clamping in enumerate(cut, start=1))


def _left(raw: Field, plane: float, rest: float, last: float) -> float:
    """What roughing leaves on a face [mm]: the rest, or less where wood stands no higher: a flat to lie on must come of it."""
    highest = float(np.nanmax(raw.top)) - plane
    return min(rest, max(highest - last, 0.0))


def _along(
    slab: SlabPlan,
    machine: Machine,
    bed: Bed,
    clamps: Sequence[Clamp],
    raw: Field,
    *,
    lying: Lying,
    plane: float,
    stage: Stage,
    lies_on: Literal["stacks", "face A", "face B"],
    down_to: float,
    last: float,
) -> list[Clamping]:
    """The one or two clampings of a face in one stage, their numbers still open."""
    face = lying.up
    outline = whole_outline(slab, lying)
    x_least, y_least, x_most, y_most = outline.bounds
    across = placed_across(y_most - y_least, machine, bed)
    assert across is not None
    region = lying.outline(slab.survey.region_a if face == "A" else slab.survey.region_b, face)
    parts = parts_along(x_most - x_least, machine, bed, shared(slab, machine))
    top, radius = raw.top, machine.cutter_diameter / 2.0
    found = []
    for index, part in enumerate(parts):
        shift = (part.start - x_least, across - y_least)
        x, y = raw.x + shift[0], raw.y + shift[1]
        cut = (x >= part.window[0] - 1e-9) & (x <= part.window[1] + 1e-9)
        # At a window's end in the middle of the wood the cutter reaches past it by its radius.
        met = (x >= part.window[0] - radius) & (x <= part.window[1] + radius)
        highest = float(np.nanmax(top[met])) - plane
        tops = depths(highest, machine, down_to=down_to, rough=stage == "rough", fresh=stage != "skim", last=last)
        found.append(
            Clamping(
                face=face,
                number=0,
                stock=Stock(x, y, top, raw.known.astype(np.float64), _moved(outline, shift)),
                plane=plane,
                block=machine.block_height,
                window=part.window,
                overlap=part.overlap,
                keep_out=keep_outs(clamps, face, index + 1),
                stage=stage,
                levels=tops,
                lies_on=lies_on,
                lying=replace(lying, shift=shift),
                moved=part.start - parts[0].start,
                region=_moved(region, shift),
                step_back=step_back(machine) if part.overlap else 0.0,
            )
        )
        # Beside the window's end the stairs and the cutter's round leave wood standing.
        end = part.window[1] - (len(tops) - 1) * step_back(machine)
        sure = cut & (x <= end - radius)
        top = top.copy()
        top[sure] = np.minimum(top[sure], plane + down_to)
    return found


def _moved(outline: shapely.Polygon, shift: tuple[float, float]) -> shapely.Polygon:
    return shapely.transform(outline, lambda at: at + np.array(shift))


def keep_outs(clamps: Sequence[Clamp], face: FaceName, setting: int) -> tuple[KeepOut, ...]:
    """What stands on the bed in one clamping.

    Args:
        clamps: as stated
        face: the face that is up
        setting: 1 or 2, of the clampings of this face
    """
    return tuple(
        KeepOut(
            clamp.name or f"{clamp.kind} {number}",
            clamp.at[0],
            clamp.at[0] + clamp.size[0],
            clamp.at[1],
            clamp.at[1] + clamp.size[1],
            clamp.height,
        )
        for number, clamp in enumerate(clamps, start=1)
        if clamp.face in (face, "both") and clamp.setting in (setting, None)
    )


def no_setting(slab: SlabPlan, machine: Machine, bed: Bed, units: Units) -> tuple[str, str, str] | None:
    """Why the slab cannot be set up on the machine: what is wrong, what would mend it, and the rule's name; None where it can.

    Args:
        slab: the slab's plan
        machine: travel and cutter
        bed: where the slab lies
        units: for the words
    """
    if slab.shims is None or math.isnan(slab.shims.loss):
        what = "There are no stacks that hold the slab for its first cut."
        return what, "Set the stacks right first: other places ([bed] pads) or taller shims ([shims]).", "no-stacks"
    lying = lying_on_stacks(slab)
    x_least, y_least, x_most, y_most = whole_outline(slab, lying).bounds
    length, width = x_most - x_least, y_most - y_least
    if placed_across(width, machine, bed) is None:
        needed = format_length(math.ceil(width + machine.cutter_diameter), units)
        have = format_length(machine.travel_y, units)
        narrower = format_length(math.floor(machine.travel_y - machine.cutter_diameter), units)
        return (
            f"The slab is {format_length(width, units)} wide and wants {needed} of travel across; the machine has {have}.",
            f"Saw the slab to {narrower} or less, or use a router sled.",
            "travel-across",
        )
    overlap = shared(slab, machine)
    if not parts_along(length, machine, bed, overlap):
        most = 2.0 * (machine.travel_x - machine.cutter_diameter) - overlap
        remedy = "Use a router sled, or a longer machine."
        if most > 0.0:
            shorter = format_length(math.floor(most), units)
            remedy = f"Crosscut the slab to {shorter} or less, use a router sled, or a longer machine."
        return (
            f"The slab is {format_length(length, units)} long: too long for a travel of "
            f"{format_length(machine.travel_x, units)}, even in two clampings that overlap by {format_length(overlap, units)}.",
            remedy,
            "travel-along",
        )
    return None
