"""Which way up a piece is put together, what it is turned over with, and what stands are under it."""

from __future__ import annotations

import math

from slabwright.base.basing import BasePlan
from slabwright.carry.assembly_crew import Crew, Crews
from slabwright.carry.assembly_parts import sweep_of_all, sweep_of_top
from slabwright.carry.assembly_results import AssemblyWay, Stands, SteelFrame, Turning
from slabwright.findings import Finding
from slabwright.job.hands_models import Hands
from slabwright.job.top_models import Outlet, ThroughHole
from slabwright.quantities import format_length
from slabwright.reference.assembling import assembling
from slabwright.reference.lifting import lifting
from slabwright.top.results import TopPlan

UPSIDE_DOWN = "top face down on stands"
BASE_FIRST = "base first, top let down on it"
_STEP_ASIDE = 600.0
_STAND_IN = 0.22
_STAND_MOST_IN = 0.35
_CLEAR = 60.0
_ROUND = 10.0
_FLOOR = 100.0
_BEAM = 0.8
_HEAVY_SHARE = 0.6
_LEAST_STAND = 300.0


def ways(base: BasePlan, top: TopPlan, frames: tuple[SteelFrame, ...], crews: Crews) -> tuple[AssemblyWay, AssemblyWay]:
    """Both ways to put a piece together, and whether they can be done.

    Args:
        base: the base
        top: the top
        frames: pieces of steel
        crews: who does each lift
    """
    masses = crews.masses
    whole = crews.whole_mass()
    found = []
    for name, mass, what, crew in (
        (UPSIDE_DOWN, whole, "the whole piece, turned over", crews.whole()),
        (BASE_FIRST, masses.top, "the top", crews.top()),
    ):
        told = f"{crews.weight(mass)}: {crew.told()}"
        possible = crew.ready
        if name == BASE_FIRST:
            clear = base.drawn.underside - max((plate.thickness for plate in base.drawn.plates), default=0.0)
            if clear < assembling().below:
                possible = False
                told = f"no room for hands below: {format_length(clear, crews.units)} to the floor"
            elif any(not frame.stands for frame in frames):
                told = f"{told}; the leg frames must be braced until the top is on"
        found.append(AssemblyWay(name, mass, what, crew.people, possible, told))
    return found[0], found[1]


def chosen_way(both: tuple[AssemblyWay, AssemblyWay]) -> AssemblyWay:
    """The way that is taken.

    Face down where it can be done, as bolts and cables lie open to the hands; else base first; where neither can, the one
    that wants fewer hands and has room for them.
    """
    down, up = both
    if down.possible:
        return down
    if up.possible:
        return up
    return up if up.people < down.people and "no room" not in up.told else down


def way_findings(both: tuple[AssemblyWay, AssemblyWay], way: AssemblyWay, crews: Crews) -> list[Finding]:
    """What there is to say about the way."""
    if way.possible:
        return []
    crew = crews.whole() if way.name == UPSIDE_DOWN else crews.top()
    here = f"{crews.here} {'is' if crews.here == 1 else 'are'} at hand"
    if crew.ready:
        said, remedies = way.told, ["Stand the base on blocks that leave room for hands"]
    else:
        by_hand = "more than four people" if crew.by_hand is None else f"{crew.by_hand} people"
        said = f"by hand {by_hand}, and {here}: {way.what} weighs {crews.weight(way.heaviest)}"
        remedies = [f"Call {crew.by_hand - crews.here} more: {crew.by_hand} in all"] if crew.by_hand is not None else []
        if crew.aid:
            with_it = "one person does" if crew.people == 1 else f"{crew.people} people do"
            remedies.append(f"borrow a {crew.aid} that may lift {crews.weight(way.heaviest)}: with it {with_it}")
    remedy = "; or ".join(remedies)
    return [
        Finding(
            "carry/assembly-hands",
            "caution",
            f"Putting it together wants {said}.",
            f"{remedy[:1].upper()}{remedy[1:]}.",
            f"{lifting().team_source}; weight that one lifts: [hands] alone_most",
        )
    ]


def turnings(way: AssemblyWay, base: BasePlan, top: TopPlan, crews: Crews, prepared: bool) -> tuple[Turning, ...]:
    """What is turned over, in order.

    Args:
        way: that was taken
        base: the base
        top: the top
        crews: who does each lift
        prepared: whether anything is done to the underside before the base is on it
    """
    masses = crews.masses
    found = [_turning("top", sweep_of_top(top), masses.top, crews.top())]
    if way.name == UPSIDE_DOWN:
        radius = sweep_of_all(base, top, masses)
        found.append(_turning("whole piece", radius, crews.whole_mass(), crews.whole()))
    elif prepared:
        found.append(found[0])
    else:
        found = []
    return tuple(found)


def _turning(what: str, radius: float, mass: float, crew: Crew) -> Turning:
    aloft = radius <= assembling().held and crew.people <= 2 and not crew.aid
    return Turning(
        what=what,
        how="in the hands, about its length" if aloft else "over a long edge, on a padded floor",
        radius=radius,
        room=math.ceil(2.0 * (radius + _STEP_ASIDE) / _FLOOR) * _FLOOR,
        mass=mass,
        people=crew.people,
        tool=crew.tool,
    )


def stands_for(
    way: AssemblyWay, base: BasePlan, top: TopPlan, turned: tuple[Turning, ...], hands: Hands
) -> tuple[Stands | None, list[Finding]]:
    """The stands under the top, and what there is to say about them."""
    if not turned:
        return None, []
    table, thick = assembling(), top.layout.thickness
    heavy = any("edge" in each.how or each.mass / each.people > _HEAVY_SHARE * hands.alone_most for each in turned)
    work = table.heavy if heavy else table.work
    height = max(_LEAST_STAND, math.floor((work - thick) / _ROUND) * _ROUND)
    places, missed = stand_places(base, top, way)
    found = []
    if missed:
        found.append(
            Finding(
                "carry/stand-under-hole",
                "caution",
                f"No place for a stand keeps clear of {', '.join(repr(name) for name in missed)}.",
                "Pad beside the hole, and let the stand bear on both sides of it.",
            )
        )
    return Stands(height, height + thick, places, _BEAM * top.layout.width), found


def stand_places(base: BasePlan, top: TopPlan, way: AssemblyWay) -> tuple[tuple[float, float], list[str]]:
    """Where the two stands go, from the left end [mm], and the holes that they cannot keep clear of."""
    long = top.layout.length
    holes = [
        (feature.name, float(placed.along or 0.0), (placed.length or 0.0) / 2.0 + _CLEAR)
        for feature in top.layout.top.features
        if isinstance(feature, Outlet | ThroughHole)
        for placed in [top.layout.named(feature.name)]
    ]
    wanted = [_STAND_IN * long, (1.0 - _STAND_IN) * long]
    if way.name == UPSIDE_DOWN:
        for plate in base.drawn.plates:
            at = plate.x + long / 2.0
            if min(at, long - at) <= _STAND_MOST_IN * long:
                wanted[0 if at < long / 2.0 else 1] = at
    missed: list[str] = []
    places = []
    for at in wanted:
        tried = [at] + [at + side * step for step in range(10, int(0.15 * long), 10) for side in (1.0, -1.0)]
        free = next(
            (
                place
                for place in tried
                if 0.05 * long <= place <= 0.95 * long
                and all(abs(place - middle) >= reach for _, middle, reach in holes)
            ),
            None,
        )
        if free is None:
            missed += [name for name, middle, reach in holes if abs(at - middle) < reach]
            free = at
        places.append(free)
    return (places[0], places[1]), missed
