"""Cables from their outlets to their plugs: way, length, bends, ties, and what has to pass where."""

from __future__ import annotations

import math
from collections.abc import Sequence

from slabwright.base.basing import BasePlan
from slabwright.carry.cables_findings import route_findings, sharing_findings
from slabwright.carry.cables_fit import passings
from slabwright.carry.cables_ground import Ground, ground_of, plates_over
from slabwright.carry.cables_path import Place, Point, fitted_radius, lengths, turns
from slabwright.carry.cables_results import Bend, CableRoute, Run, Tie
from slabwright.carry.cables_way import way_of
from slabwright.findings import Finding
from slabwright.job.cable_models import Cable
from slabwright.job.loaded import Job
from slabwright.top.results import TopPlan

_NEAR = 50.0
"""From the end of a straight to its first tie [mm]: common practice."""
_ROUND = 10.0
_KINDS = {
    "channel": "in the channel",
    "plate": "through the plate",
    "tube": "inside the tube",
    "outside": "along the outside",
}


def cable_routes(job: Job, top: TopPlan, base: BasePlan | None) -> tuple[tuple[CableRoute, ...], tuple[Finding, ...]]:
    """The cables of a job, from their outlets to their plugs.

    Args:
        job: with its cables
        top: with the outlets and the channels
        base: that they run down; None where there is none yet

    Returns:
        Their routes, in the job's order, and what there is to say.

    Raises:
        SlabwrightError: a cable names an outlet, a channel or a piece that there is not.
    """
    units = job.stated.job.units
    ground = ground_of(top.layout, base, units)
    moved = {place.name: max(abs(place.low), abs(place.high)) for place in top.places}
    routes, found = [], list[Finding]()
    sockets = job.stated.brief.sockets if job.stated.brief is not None else []
    farthest = max((socket.distance for socket in sockets), default=None)
    for number, stated in enumerate(job.stated.cables):
        cable = stated.in_units(units)
        route = route_of(ground, cable, number, moved.get(cable.outlet), farthest)
        routes.append(route)
        found += route_findings(ground, cable, route)
    found += sharing_findings(ground, job.stated.cables)
    return tuple(routes), tuple(found)


def route_of(ground: Ground, cable: Cable, number: int, moved: float | None, socket: float | None = None) -> CableRoute:
    """The route of one cable.

    Args:
        ground: what it runs in
        cable: as stated
        number: of the cable in the job, from 0
        moved: how far the wood may carry its outlet over the year [mm]; None: not known
        socket: from the base to the farthest socket, along floor and wall [mm]; None: none is stated
    """
    way, _ = way_of(ground, cable, number)
    stations = lengths(way)
    fixed = stations[-1]
    reach = cable.reach
    if socket is not None and cable.mains and "reach" not in cable.model_fields_set:
        down = max(0.0, ground.show - way[-1].at[2]) if ground.drawn is not None else 0.0
        reach = math.ceil((down + socket) / _ROUND) * _ROUND
    needed = fixed + cable.slack + reach
    steel = any(stretch.channel is None for stretch in cable.through)
    led = cable.passes()
    covered = _covered(ground, cable)
    return CableRoute(
        name=cable.name,
        outlet=cable.outlet,
        mains=cable.mains,
        diameter=cable.diameter,
        runs=tuple(_runs(cable, way, stations)),
        fixed_length=fixed,
        slack=cable.slack,
        reach=reach,
        length=needed,
        spare=cable.length - needed if cable.length is not None else None,
        moves=moved if steel else None,
        hangs_from=_hangs_from(cable),
        bends=tuple(bends(cable, way, stations)),
        ties=tuple(ties(cable, way, stations)),
        passings=tuple(passings(ground, cable)),
        protect=tuple(_protect(ground, cable)),
        laid_before=covered,
        pull=tuple(_pull(cable, covered)),
        leads=led[0] if led is not None else "bare end",
        way=tuple(way),
    )


def _runs(cable: Cable, way: Sequence[Point], stations: Sequence[float]) -> list[Run]:
    found: list[Run] = []
    last = -1
    for number in range(1, len(way)):
        here, long = way[number], stations[number] - stations[number - 1]
        if here.stretch == last and found:
            found[-1] = Run(found[-1].kind, found[-1].name, found[-1].start, found[-1].length + long)
        elif here.stretch == 0:
            found.append(Run("free", here.said, stations[number - 1], long))
        else:
            stretch = cable.through[here.stretch - 1]
            found.append(Run(_KINDS[stretch.kind], stretch.name, stations[number - 1], long))
        last = here.stretch
    return found


def bends(cable: Cable, way: Sequence[Point], stations: Sequence[float]) -> list[Bend]:
    """Every bend of a way.

    Args:
        cable: as stated
        way: its corners
        stations: from the outlet to each of them [mm]
    """
    least = cable.least_bend()
    return [
        Bend(
            said=way[turn.number].said,
            along=way[turn.number].at[0],
            across=way[turn.number].at[1],
            depth=way[turn.number].at[2],
            at=stations[turn.number],
            turn=math.degrees(turn.turn),
            radius=(bend := way[turn.number].bend),
            least=least,
            holds=bend is None or bend >= least - 1e-6,
        )
        for turn in turns(way)
    ]


def ties(cable: Cable, way: Sequence[Point], stations: Sequence[float]) -> list[Tie]:
    """Where a cable is held: near both ends of every straight, and evenly between, but not inside tubes and plates.

    A cable that comes out of a tube or a plate last is gripped there, so that a pull at it goes into the steel.

    Args:
        cable: as stated
        way: its corners
        stations: from the outlet to each of them [mm]
    """
    rounds = [0.0] * len(way)
    back = [0.0] * len(way)
    for turn in turns(way):
        radius = fitted_radius(way[turn.number].radius, turn)
        rounds[turn.number] = radius * turn.turn / 2.0
        back[turn.number] = radius * math.tan(turn.turn / 2.0) if radius > 0.0 else 0.0
    places: list[tuple[float, Place, str]] = []
    for number in range(1, len(way)):
        kind = cable.through[way[number].stretch - 1].kind if way[number].stretch else "free"
        start, end = stations[number - 1] + rounds[number - 1], stations[number] - rounds[number]
        if kind in ("plate", "tube") or end - start < _NEAR:
            continue
        word = "tie round the steel" if kind == "outside" else "clip in the channel" if kind == "channel" else "clip"
        first, last = way[number - 1].at, way[number].at
        long = math.dist(first, last)
        for at in held_at(start, end, cable.tie_every):
            share = (back[number - 1] + at - start) / long
            x, y, z = (a + share * (b - a) for a, b in zip(first, last, strict=True))
            places.append((at, (x, y, z), word))
    if cable.through and cable.through[-1].kind in ("plate", "tube"):
        places.append((stations[-1], way[-1].at, "cord grip where it comes out"))
    places = _apart(places, cable.tie_every)
    if not places:
        places = [(0.0, way[0].at, "clip")]
    return [
        Tie(
            number=k,
            kind=f"strain relief: {word}" if k in (1, len(places)) else word,
            along=place[0],
            across=place[1],
            depth=place[2],
            at=at,
        )
        for k, (at, place, word) in enumerate(places, start=1)
    ]


def _apart(places: list[tuple[float, Place, str]], most: float) -> list[tuple[float, Place, str]]:
    """Without ties that stand within a hand's breadth of another, where those beside it stay no farther apart than asked for."""
    kept: list[tuple[float, Place, str]] = []
    for number, place in enumerate(places):
        if kept and place[0] - kept[-1][0] < _NEAR:
            last = number == len(places) - 1
            if not last and places[number + 1][0] - kept[-1][0] <= most:
                continue
            if len(kept) > 1 and place[0] - kept[-2][0] <= most:
                kept.pop()
        kept.append(place)
    return kept


def held_at(start: float, end: float, most: float) -> list[float]:
    """Places of ties on a straight: 50 mm from its ends and no farther apart than asked for; in its middle where it is short.

    Args:
        start: of the straight [mm]
        end: of the straight [mm]
        most: between two ties [mm]
    """
    if end - start <= 2.0 * _NEAR:
        return [(start + end) / 2.0]
    gaps = max(1, math.ceil((end - start - 2.0 * _NEAR) / most - 1e-9))
    return [start + _NEAR + k * (end - start - 2.0 * _NEAR) / gaps for k in range(gaps + 1)]


def _covered(ground: Ground, cable: Cable) -> tuple[str, ...]:
    """What covers it once it lies in its channels."""
    found = []
    for stretch in cable.through:
        if stretch.channel is not None:
            found += [pocket.name for pocket in plates_over(ground, stretch.channel)]
            if stretch.lid:
                found.append(f"lid of {stretch.channel}")
    return tuple(dict.fromkeys(found))


def _hangs_from(cable: Cable) -> str:
    if not cable.through:
        return f"the outlet '{cable.outlet}'"
    last = cable.through[-1]
    return {
        "channel": f"the end of '{last.name}', under the top",
        "plate": f"the opening in '{last.name}'",
        "tube": f"'{last.name}', where it comes out",
        "outside": f"'{last.name}', at its last tie",
    }[last.kind]


def _protect(ground: Ground, cable: Cable) -> list[str]:
    found = [f"outlet '{cable.outlet}': rim of the hole rounded on the underside"]
    for stretch in cable.through:
        if stretch.kind == "channel":
            found.append(f"'{stretch.name}': both ends and every inner corner rounded and sanded")
        elif stretch.kind == "plate":
            found.append(f"'{stretch.name}': rim rounded on both faces, then a grommet")
        elif stretch.kind == "tube":
            ends = "openings" if stretch.enters is not None or stretch.leaves is not None else "ends"
            found.append(f"'{stretch.name}': {ends} rounded, a grommet in each; no weld bead inside on the way")
        else:
            found.append(f"'{stretch.name}': no burr under a tie")
    return found


def _pull(cable: Cable, covered: tuple[str, ...]) -> list[str]:
    """How it is drawn in."""
    found = ["Unplugged at both ends, and kept so until everything is closed."]
    ends = [end for end in (cable.plug, cable.connector) if end is not None]
    if any(end.fitting == "rewireable" for end in ends):
        found.append(
            "Its maker lists the plug as one that may be taken off and put on: licensed practice does that. A moulded plug is "
            "never cut."
        )
    drawn_in = any(stretch.kind in ("plate", "tube") for stretch in cable.through)
    led = cable.passes()
    first = f"the {led[0]} first" if led is not None else "its bare end first"
    if cable.connector is None:
        found.append(f"From the show face down through '{cable.outlet}', {first}.")
    for stretch in cable.through:
        if stretch.kind == "channel":
            found.append(f"Lay it into '{stretch.name}', on the channel's floor, and clip it.")
        elif stretch.kind == "plate":
            found.append(f"Through '{stretch.name}', {first}, the grommet in place.")
        elif stretch.kind == "tube":
            found.append(f"Draw it through '{stretch.name}' on a cord, {first}; one feeds, one pulls; no jerk.")
        else:
            found.append(f"Tie it to '{stretch.name}', snug, not biting.")
    if covered:
        found.insert(1, f"Before this goes on: {', '.join(covered)}.")
    if drawn_in and any(end.fitting != "fitted" for end in ends):
        found.append("Then the plug goes on, as its maker says.")
    return found
