"""What is put together: the base's pieces of steel, the bolts, what the piece sweeps when it is turned."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np

from slabwright.base.basing import BasePlan
from slabwright.base.kinds import Drawn, Plate
from slabwright.base.weld_joints import piece_name
from slabwright.carry.assembly_results import BoltTask, PartMasses, SteelFrame
from slabwright.job.top_models import Insert
from slabwright.reference.assembling import assembling
from slabwright.top.results import TopPlan

_IN_LINE = 1e3
"""Twice the area of three feet below which they stand in a line [mm2]."""
_STEP = 0.5
_SOCKET = 0.75
"""Half of a socket's outside over the width across flats, about; common practice."""


def steel_frames(base: BasePlan, top: TopPlan, mass: float) -> tuple[SteelFrame, ...]:
    """The pieces of steel that are not joined but through the wood.

    Args:
        base: the base
        top: with the pockets of its plates
        mass: of all the steel [kg]
    """
    drawn = base.drawn
    group = _groups(drawn)
    order = list(dict.fromkeys(group.values()))
    raw = dict.fromkeys(order, 0.0)
    pieces: dict[str, list[str]] = {each: [] for each in order}
    for member in drawn.members:
        which = group[member.first]
        if member.part == "frame":
            raw[which] += math.dist(drawn.nodes[member.first], drawn.nodes[member.last]) * member.section.mass_per_metre
            pieces[which].append(piece_name(drawn, member))
    for plate in drawn.plates:
        which = group[plate.spine[0]]
        raw[which] += plate.mass * 1000.0
        pieces[which].append(plate.name)
    pocket = {f.name: f.plate for f in top.layout.top.features if isinstance(f, Insert) and f.plate}
    whole = math.fsum(raw.values())
    found = []
    for number, which in enumerate(order, start=1):
        held = [bolt.name for plate in drawn.plates if group[plate.spine[0]] == which for bolt in plate.bolts]
        held += [bolt.name for bolt, node in drawn.bolted if group[node] == which]
        feet = [(name, at) for name, node, at in drawn.feet if group.get(node) == which]
        found.append(
            SteelFrame(
                name=_name(pieces[which], len(order), number),
                mass=mass * raw[which] / whole if whole else 0.0,
                pieces=tuple(dict.fromkeys(pieces[which])),
                bolts=tuple(held),
                covers=tuple(dict.fromkeys(pocket[bolt] for bolt in held if bolt in pocket)),
                feet=tuple(name for name, _ in feet),
                stands=_stands([at for _, at in feet]),
            )
        )
    return tuple(found)


def _groups(drawn: Drawn) -> dict[str, str]:
    """For each node that a member ends at, the first node of the piece of steel that it is part of."""
    root: dict[str, str] = {}

    def top_of(node: str) -> str:
        root.setdefault(node, node)
        while root[node] != node:
            root[node] = root[root[node]]
            node = root[node]
        return node

    for member in drawn.members:
        first, last = top_of(member.first), top_of(member.last)
        if first != last:
            root[last] = first
    for plate in drawn.plates:
        for node in plate.spine[1:]:
            first, last = top_of(plate.spine[0]), top_of(node)
            if first != last:
                root[last] = first
    return {node: top_of(node) for node in list(root)}


def _name(pieces: Iterable[str], count: int, number: int) -> str:
    if count == 1:
        return "base"
    heads = {piece.split()[0] for piece in pieces}
    head = next(iter(heads)) if len(heads) == 1 else ""
    return f"{head} leg frame" if head in ("left", "right") else f"frame {number}"


def _stands(feet: list[tuple[float, float]]) -> bool:
    if len(feet) < 3:
        return False
    x, y = np.array(feet).T
    spread = np.array([x - x.mean(), y - y.mean()])
    return bool(np.sqrt(np.linalg.det(spread @ spread.T).clip(0.0)) > _IN_LINE)


def bolt_tasks(base: BasePlan, top: TopPlan, frames: Iterable[SteelFrame]) -> tuple[BoltTask, ...]:
    """Every bolt, in the order in which it is tightened: fixed ones first, then those in slots from the middle outwards.

    Args:
        base: the base
        top: with slots and fastenings
        frames: the pieces of steel
    """
    table = assembling()
    slots = {slot.name: slot for slot in top.slots}
    fastenings = {each.name: each for each in top.fastenings}
    of = {bolt: frame.name for frame in frames for bolt in frame.bolts}
    beside = {
        bolt.name: _beside(plate, number) for plate in base.drawn.plates for number, bolt in enumerate(plate.bolts)
    }
    found = []
    for bolt in base.drawn.bolts:
        slot, held = slots.get(bolt.name), fastenings.get(bolt.name)
        fixed = not bolt.slides
        room = beside.get(bolt.name)
        head = table.head(bolt.thread)
        torque = None
        if held is not None and held.holds is not None:
            share = table.hold_share * (1.0 if fixed else table.slot_share)
            torque = max(_STEP, math.floor(share * table.torque * held.holds * bolt.thread / 1000.0 / _STEP) * _STEP)
        spanner = "spanner that fits"
        if head is not None:
            tight = room is not None and room < _SOCKET * head.across
            spanner = f"{head.name} {'open spanner: a tube is beside it' if tight else 'socket'}"
        found.append(
            BoltTask(
                name=bolt.name,
                frame=of.get(bolt.name, "base"),
                fixed=fixed,
                thread=bolt.thread,
                length=held.bolt_length if held is not None else None,
                torque=torque,
                tighten="firmly, first of its frame"
                if fixed
                else "snug, not tight: finger-tight and an eighth of a turn; the washer still slides; thread locker",
                sits=slot.bolt_sits if slot is not None and bolt.slides else "in the middle",
                tool=spanner,
                room=room,
            )
        )
    middle = {bolt.name: abs(bolt.y) for bolt in base.drawn.bolts}
    return tuple(sorted(found, key=lambda each: (not each.fixed, round(middle[each.name], 3))))


def _beside(plate: Plate, number: int) -> float | None:
    half = plate.beneath[number]
    return abs(plate.bolts[number].x - plate.x) - half if half > 0.0 else None


def sweep_of_top(top: TopPlan) -> float:
    """Farthest corner of the top's end view from its middle [mm]."""
    return math.hypot(top.layout.width / 2.0, top.layout.thickness / 2.0)


def sweep_of_all(base: BasePlan, top: TopPlan, masses: PartMasses) -> float:
    """Farthest corner of the end view of the whole piece from its centre of gravity [mm]."""
    drawn, high, thick = base.drawn, base.height.even, top.layout.thickness
    z, weights = [], []
    for member in drawn.members:
        if member.part == "frame":
            first, last = drawn.nodes[member.first], drawn.nodes[member.last]
            z.append((first[2] + last[2]) / 2.0)
            weights.append(math.dist(first, last) * member.section.mass_per_metre)
    for plate in drawn.plates:
        z.append(drawn.underside - plate.thickness / 2.0)
        weights.append(plate.mass * 1000.0)
    steel = float(np.average(z, weights=weights)) if weights else high / 2.0
    centre = (masses.top * (high - thick / 2.0) + masses.base * steel) / max(masses.top + masses.base, 1e-9)
    _, low, _, far = top.outline.bounds
    corners = [(y, level) for y in (low, far) for level in (high, high - thick)]
    corners += [(y + side * (drawn.stud or 20.0) / 2.0, 0.0) for _, _, (_, y) in drawn.feet for side in (-1.0, 1.0)]
    return max(math.hypot(y, level - centre) for y, level in corners)
