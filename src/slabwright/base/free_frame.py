"""Whether the nodes and members of a free frame make a frame: every one meets another, and the top is held."""

from __future__ import annotations

import difflib
import math

import numpy as np

from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base
from slabwright.quantities import Units, format_length

_CLOSE = 60.0
"""A node as close to a member that it does not end is taken for a joint that was meant [mm]."""
_LEVEL = 1.0
"""By which bolts may lie higher than one another: what the top bends to [mm]."""


def free_frame(base: Base, units: Units) -> None:
    """Check a free frame.

    Raises:
        SlabwrightError: members that do not meet, a node that is not there or not used, no bolt for the top.
    """
    places = {node.name: node.at for node in base.nodes}
    used: set[str] = set()
    for number, member in enumerate(base.members):
        key = f"base.members[{number}]"
        for end in (member.first, member.last):
            if end not in places:
                near = difflib.get_close_matches(end, places, n=3, cutoff=0.5)
                hint = f"; near ones: {', '.join(near)}" if near else f"; there are {', '.join(list(places)[:6])}"
                raise SlabwrightError(f"{key}: there is no node {end!r}{hint}")
            used.add(end)
        if math.dist(places[member.first], places[member.last]) < 1.0:
            raise SlabwrightError(
                f"{key}: {member.first!r} and {member.last!r} lie at the same place: a member needs a length"
            )
    for number, node in enumerate(base.nodes):
        if node.name not in used:
            raise SlabwrightError(
                f"base.nodes[{number}]: no member ends at {node.name!r}{_beside(base, node.name, units)}"
            )
    if not any(node.bolt for node in base.nodes):
        raise SlabwrightError("base.nodes: no node holds the top; state bolt = true where one does")
    _whole(base, units)
    _stands(base, units)


def _stands(base: Base, units: Units) -> None:
    """Feet on one floor that hold it up; a top that lies on one level.

    Raises:
        SlabwrightError: nodes below the floor, too few feet or feet in a line, feet or bolts at different heights.
    """
    for number, node in enumerate(base.nodes):
        if node.at[2] < 0.0:
            raise SlabwrightError(
                f"base.nodes[{number}].at: {node.name!r} lies {format_length(-node.at[2], units)} below the floor; heights"
                " are counted from the floor up"
            )
    feet = np.array([node.at for node in base.nodes if node.stands])
    spread = np.linalg.svd(feet[:, :2] - feet[:, :2].mean(axis=0), compute_uv=False) if len(feet) > 2 else np.zeros(2)
    if spread[-1] < _CLOSE / 2.0:
        line = "" if len(feet) < 3 else " in a line"
        raise SlabwrightError(
            f"base.nodes: the frame stands on {len(feet)} {'foot' if len(feet) == 1 else 'feet'}{line} and falls over; state"
            " stands = true at three nodes at least that do not lie in a line"
        )
    for what, chosen, most in (
        ("stands", [(n, node) for n, node in enumerate(base.nodes) if node.stands], max(sum(base.feet.travel()), 1.0)),
        ("holds the top", [(n, node) for n, node in enumerate(base.nodes) if node.bolt], _LEVEL),
    ):
        heights = [node.at[2] for _, node in chosen]
        usual = sorted(heights)[len(heights) // 2]
        number, node = max(chosen, key=lambda one: abs(one[1].at[2] - usual))
        if abs(node.at[2] - usual) > most:
            raise SlabwrightError(
                f"base.nodes[{number}].at: {node.name!r} {what} at {format_length(node.at[2], units)}, others at"
                f" {format_length(usual, units)}; bring them to one height"
            )


def _beside(base: Base, name: str, units: Units) -> str:
    """The member that a node lies beside, if there is one."""
    places = {node.name: node.at for node in base.nodes}
    near = []
    for member in base.members:
        if name not in (member.first, member.last):
            away = _distance(places[name], places[member.first], places[member.last])
            near.append((away, f"{member.first} to {member.last}"))
    if near and min(near)[0] <= _CLOSE:
        away, which = min(near)
        gap = "on it" if away < 0.05 else f"{format_length(away, units)} from it"
        return f"; it lies beside the member {which}, {gap}: end that member at the node and begin another there"
    return "; leave it out, or let a member end there"


def _distance(point: tuple[float, float, float], first: tuple[float, ...], last: tuple[float, ...]) -> float:
    along = [b - a for a, b in zip(first, last, strict=True)]
    reach = sum(v * v for v in along)
    share = sum((p - a) * v for p, a, v in zip(point, first, along, strict=True)) / reach if reach else 0.0
    share = min(1.0, max(0.0, share))
    return math.dist(point, [a + share * v for a, v in zip(first, along, strict=True)])


def _whole(base: Base, units: Units) -> None:
    """Every node of one piece with a bolted node must reach another piece through the top; one without a bolt is loose."""
    group = {node.name: node.name for node in base.nodes}

    def root(name: str) -> str:
        while group[name] != name:
            name = group[name]
        return name

    for member in base.members:
        group[root(member.first)] = root(member.last)
    holding = {root(node.name) for node in base.nodes if node.bolt}
    for number, node in enumerate(base.nodes):
        if root(node.name) not in holding:
            raise SlabwrightError(
                f"base.nodes[{number}]: {node.name!r} and what is joined to it meet neither the top nor the rest of the"
                f" frame{_beside(base, node.name, units)}"
            )
