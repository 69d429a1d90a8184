"""Loads on a table, and how its feet stand under them: a foot presses on the floor or lifts off it, it does not pull.

References:
    .. [1] R. W. Cottle, J.-S. Pang, R. E. Stone, The Linear Complementarity Problem, contact of elastic bodies (from memory)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from slabwright.base.frame import Held, hold
from slabwright.base.stiffness import Structure, own_weight
from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Floats
from slabwright.job.base_models import BaseLoads
from slabwright.reference.fasteners import STANDARD_GRAVITY
from slabwright.reference.table_loads import Ruled, table_loads

_STATED = "stated in the job"


@dataclass(frozen=True)
class Loads:
    """What the table has to bear, each with whose figure it is: spread in kg, the rest in N, dropped in mm."""

    spread: Ruled
    edge: Ruled
    push_along: Ruled
    push_across: Ruled
    dropped: Ruled


@dataclass(frozen=True)
class Case:
    """One way of loading.

    Attributes:
        name: in the bench's words
        forces: on all nodes, shape (6 n,) [N]
        slides: whether the feet may slide on the floor; under a push they hold
        low: how far the floor is low under each foot [mm]
    """

    name: str
    forces: Floats
    slides: bool = True
    low: tuple[float, ...] = ()


@dataclass(frozen=True)
class Stood:
    """How the structure stands under one case.

    Attributes:
        case: the case
        motions: of all nodes, shape (6 n,) [mm, rad]
        feet: force of the floor on each foot [N]
        lifted: feet that are off the floor
    """

    case: Case
    motions: Floats
    feet: Floats
    lifted: tuple[int, ...]


def loads_of(stated: BaseLoads, area: float) -> Loads:
    """The loads, as stated or as the table of loads says.

    Args:
        stated: in the job
        area: of the top [mm2]
    """
    table = table_loads()

    def either(value: float | None, rule: Ruled, times: float = 1.0) -> Ruled:
        return Ruled(value, _STATED) if value is not None else Ruled(rule.value * times, rule.source)

    return Loads(
        spread=either(stated.spread, table.spread, area * 1e-6),
        edge=either(stated.edge, table.edge),
        push_along=either(stated.push_along, table.push),
        push_across=either(stated.push_across, table.push),
        dropped=either(stated.dropped, table.dropped),
    )


def cases(structure: Structure, loads: Loads) -> tuple[Case, ...]:
    """All ways of loading, the weight with each of them: standing, laid, a person at edges and corners, pushes, a low floor."""
    weight, _, _ = own_weight(structure)
    slab = structure.slab
    laid = _spread(structure, 2, -loads.spread.value * STANDARD_GRAVITY)
    found = [Case("standing empty", weight), Case("laid", weight + laid)]
    middle_x = int(np.argmin(np.abs(structure.slab_x)))
    middle_y = int(np.argmin(np.abs(structure.slab_y)))
    for name, row, column in (
        ("near edge", middle_x, 0),
        ("far edge", middle_x, -1),
        ("left end", 0, middle_y),
        ("right end", -1, middle_y),
        ("near left corner", 0, 0),
        ("far left corner", 0, -1),
        ("near right corner", -1, 0),
        ("far right corner", -1, -1),
    ):
        node = int(slab[row, column])
        person = np.zeros(weight.size)
        person[6 * node + 2] = -loads.edge.value
        # It stands a little in from the edge: at the edge's node that is the same force and a moment.
        away = table_loads().edge_line.value
        person[6 * node + 3] = loads.edge.value * away * _side(column, middle_y)
        person[6 * node + 4] = -loads.edge.value * away * _side(row, middle_x)
        found.append(Case(f"a person at the {name}", weight + person))
    for way, axis, push in (("lengthwise", 0, loads.push_along), ("crosswise", 1, loads.push_across)):
        for sign, side in ((1.0, "far" if axis else "right"), (-1.0, "near" if axis else "left")):
            forces = weight + _spread(structure, axis, sign * push.value)
            found.append(Case(f"pushed {way} to the {side}", forces, slides=False))
    for number, (foot, _, _) in enumerate(structure.drawn.feet):
        low = tuple(loads.dropped.value if at == number else 0.0 for at in range(len(structure.feet)))
        found.append(Case(f"laid, floor low under the {foot} foot", weight + laid, low=low))
    return tuple(found)


def _side(place: int, middle: int) -> float:
    """Which way an edge lies: -1 the first line, 1 the last one, 0 the middle."""
    return 0.0 if place == middle else (-1.0 if place == 0 else 1.0)


def _spread(structure: Structure, axis: int, force: float) -> Floats:
    """A force spread over the top."""
    forces = np.zeros(6 * len(structure.assembled.frame.nodes))
    forces[6 * structure.slab.ravel() + axis] = force * structure.slab_share.ravel()
    return forces


def push_at_top(structure: Structure, axis: int) -> Floats:
    """One newton along x (0) or y (1), spread over the top."""
    return _spread(structure, axis, 1.0)


@dataclass(frozen=True)
class Standing:
    """A structure on its feet: every foot held upright, and level where `slides` is false."""

    structure: Structure
    held: Held
    upright: tuple[int, ...]
    settled: Floats
    stiffness: Floats

    @property
    def feet(self) -> int:
        """How many."""
        return len(self.upright)


def stand(structure: Structure, slides: bool) -> Standing:
    """Set a structure on its feet.

    Raises:
        UnstableFrameError: something moves freely.
    """
    feet = np.asarray(structure.feet, dtype=np.intp)
    ways = (2, 3, 4, 5) if slides else (0, 1, 2, 3, 4, 5)
    held = hold(structure.assembled, [int(6 * foot + way) for foot in feet for way in ways])
    upright = 6 * feet + 2
    stiffness = structure.assembled.stiffness
    pull = np.zeros((stiffness.shape[0], feet.size))
    pull[:, :] = -stiffness[:, upright]
    settled = held.motions(pull)
    settled[upright, np.arange(feet.size)] = 1.0
    reduced = (stiffness @ settled)[upright]
    return Standing(structure, held, tuple(upright.tolist()), settled, 0.5 * (reduced + reduced.T))


def settle(standing: Standing, given: Sequence[Case]) -> tuple[Stood | None, ...]:
    """How the structure stands under each case; None where it tips over [1]_.

    With S the stiffness of the structure seen at its feet, r the reactions on a level floor, g how low the floor is: find
    lifts v >= 0 and reactions R = r + S (v - g) >= 0 of which one is 0 at every foot.
    """
    if not given:
        return ()
    forces = np.stack([case.forces for case in given], axis=1)
    motions = standing.held.motions(forces)
    upright = np.asarray(standing.upright, dtype=np.intp)
    level = (standing.structure.assembled.stiffness[upright] @ motions) - forces[upright]
    found: list[Stood | None] = []
    for number, case in enumerate(given):
        low = np.asarray(case.low) if case.low else np.zeros(standing.feet)
        contact = _contact(standing.stiffness, level[:, number], low)
        if contact is None:
            found.append(None)
            continue
        lift, feet = contact
        off = tuple(int(foot) for foot in np.flatnonzero(lift > 1e-9))
        found.append(Stood(case, motions[:, number] + standing.settled @ (lift - low), feet, off))
    return tuple(found)


def _contact(stiffness: Floats, level: Floats, low: Floats) -> tuple[Floats, Floats] | None:
    """Lifts and reactions of the feet; None where the table tips."""
    off: set[int] = set()
    slack = 1e-9 * max(1.0, float(np.abs(level).max()))
    for _ in range(4 * level.size + 4):
        lift = np.zeros(level.size)
        on = [foot for foot in range(level.size) if foot not in off]
        free = sorted(off)
        if len(on) < 3 and level.size > 2:
            return None
        if free:
            part = stiffness[np.ix_(free, free)]
            if np.linalg.cond(part) > 1e12:
                return None
            lift[free] = np.linalg.solve(part, (stiffness @ low - level)[free])
        feet = level + stiffness @ (lift - low)
        feet[free] = 0.0
        down = [foot for foot in free if lift[foot] < 0.0]
        if down:
            off.discard(min(down, key=lambda foot: float(lift[foot])))
            continue
        worst = min(on, key=lambda foot: float(feet[foot]))
        if feet[worst] >= -slack:
            return lift, feet
        off.add(worst)
    return None


def need_cases(stood: Sequence[Stood | None]) -> list[Stood]:
    """Those that stand.

    Raises:
        SlabwrightError: not even the empty table does.
    """
    if stood[0] is None:
        raise SlabwrightError(
            "base: the table falls over by itself: set its feet farther out, or closer under the top's middle"
        )
    return [one for one in stood if one is not None]
