"""How the piece is put together: which way up, on what stands, in which order, with how many hands."""

from __future__ import annotations

from collections.abc import Sequence

from slabwright.base.basing import BasePlan
from slabwright.carry.assembly_crew import Crews
from slabwright.carry.assembly_order import as_steps, in_order
from slabwright.carry.assembly_parts import bolt_tasks, steel_frames
from slabwright.carry.assembly_results import Assembly, Bond, PartMasses
from slabwright.carry.assembly_tasks import laying_order, tasks_of
from slabwright.carry.assembly_ways import BASE_FIRST, chosen_way, stands_for, turnings, way_findings, ways
from slabwright.carry.cables import cable_routes
from slabwright.carry.lifts_results import Lift
from slabwright.findings import Finding, SlabwrightError
from slabwright.job.hands_models import hands_of
from slabwright.job.loaded import Job
from slabwright.job.top_models import Bar
from slabwright.reference.assembling import assembling
from slabwright.top.results import TopPlan


def assembly(
    job: Job, top: TopPlan, base: BasePlan | None, masses_kg: PartMasses, people: int, lifts: Sequence[Lift] = ()
) -> tuple[Assembly | None, tuple[Finding, ...]]:
    """How the piece is put together.

    Args:
        job: with its cables and hands
        top: the machined top
        base: None where there is none yet: then nothing is put together
        masses_kg: what top and base weigh
        people: at hand
        lifts: the lift cards, whose people and aids count here too

    Returns:
        The assembly, or None without a base; and what there is to say.

    Raises:
        SlabwrightError: a weight that is none, nobody at hand, or a cable that names what there is not.
    """
    if base is None:
        return None, ()
    if not (masses_kg.top > 0.0 and masses_kg.base > 0.0):
        raise SlabwrightError(
            f"assembly: the top weighs {masses_kg.top:g} kg and the base {masses_kg.base:g} kg; both must be more than nothing"
        )
    if people < 1:
        raise SlabwrightError(f"assembly: {people} people; state how many are at hand: [hands] people")
    units = job.stated.job.units
    hands = hands_of(job.shop.hands, job.stated.hands)
    frames = steel_frames(base, top, masses_kg.base)
    crews = Crews(lifts, masses_kg, top.length, hands, people, units)
    both = ways(base, top, frames, crews)
    way = chosen_way(both)
    routes, _ = cable_routes(job, top, base)
    prepared = bool(routes) or any(isinstance(feature, Bar) for feature in top.layout.top.features)
    turned = turnings(way, base, top, crews, prepared)
    stands, found = stands_for(way, base, top, turned, hands)
    bolts = bolt_tasks(base, top, frames)
    bonds: tuple[Bond, ...] = ()
    if any(route.mains for route in routes):
        bonds = tuple(
            Bond(frame.name, "toothed washer on bright steel, stud, ring lug", assembling().earth) for frame in frames
        )
        found += _bond_findings(bonds)
    tasks = tasks_of(
        way=way, base=base, top=top, frames=frames, crews=crews, stands=stands, turned=turned, bolts=bolts,
        routes=routes, bonds=bonds, units=units,
    )  # fmt: skip
    found = way_findings(both, way, crews) + found
    if way.name == BASE_FIRST and any(not frame.stands for frame in frames):
        found.append(
            Finding(
                "carry/frames-braced",
                "caution",
                "The leg frames do not stand by themselves, and the top is let down on them.",
                "Brace them with battens clamped to both, near the floor and near the plates, until the bolts hold.",
            )
        )
    return (
        Assembly(
            way=way.name,
            ways=both,
            frames=frames,
            stands=stands,
            turning=turned,
            bolts=bolts,
            cables=tuple(route.name for route in laying_order(routes)),
            bonds=bonds,
            steps=as_steps(in_order(tasks)),
        ),
        tuple(found),
    )


def _bond_findings(bonds: tuple[Bond, ...]) -> list[Finding]:
    if len(bonds) < 2:
        return []
    names = ", ".join(bond.frame for bond in bonds)
    return [
        Finding(
            "carry/steel-in-parts",
            "caution",
            f"The base is {len(bonds)} pieces of steel that only wood joins ({names}): earth at one does not reach the other.",
            "Bond each by itself, or run an earth wire from one to the other in the channel; licensed practice does it.",
        )
    ]
