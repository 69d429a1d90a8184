"""What there is to say about the cables: bends too tight, plugs that do not pass, cords too short."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely import Point

from slabwright.base.cable_openings import clear_diameter, round_of
from slabwright.carry.cables_fit import CLOSED, closed_ends, inside_of
from slabwright.carry.cables_ground import Ground, Steel, plates_over, stated_channel
from slabwright.carry.cables_results import Bend, CableRoute, Passing
from slabwright.findings import COMMON_PRACTICE, FROM_MEMORY, Finding
from slabwright.job.cable_models import Cable, CableStretch
from slabwright.job.top_models import Channel
from slabwright.quantities import INCH, Units, format_length
from slabwright.reference.welding import welding
from slabwright.top.channel_path import corners, least_bend, most_radius, without_repeats

_MUCH_SPARE = 1000.0
_ROUNDS = 2000
_STEP = 0.5
_MAKER = "the cable's data sheet"


def route_findings(ground: Ground, cable: Cable, route: CableRoute) -> list[Finding]:
    """What there is to say about one cable.

    Args:
        ground: what it runs in
        cable: as stated
        route: its route
    """
    units = ground.units
    found = [_tight(ground, cable, bend) for bend in route.bends if not bend.holds and not _told(ground, cable, bend)]
    found += [_blocked(ground, cable, route, each) for each in route.passings if not each.fits and each.has != CLOSED]
    found += _closed(ground, cable)
    found += _no_way_over(ground, cable)
    if route.spare is not None and route.spare < 0.0:
        found.append(
            Finding(
                "carry/cable-short",
                "stop",
                f"'{cable.name}' is {format_length(-route.spare, units)} too short: it needs "
                f"{format_length(route.length, units)}.",
                f"Order the assembly with a cord of {format_length(route.length, units)} or more as its maker lists it; no cord "
                "is spliced, no extension goes inside the piece.",
            )
        )
    elif route.spare is not None and route.spare > _MUCH_SPARE:
        found.append(
            Finding(
                "carry/cable-spare",
                "note",
                f"'{cable.name}' is {_about(route.spare, units)} longer than it needs to be.",
                "Tie the rest in long loops, not in a tight coil, which runs warm; or order a shorter cord.",
            )
        )
    if route.moves is not None and route.slack < route.moves:
        found.append(
            Finding(
                "carry/cable-slack",
                "caution",
                f"'{cable.name}' has a loop of {format_length(route.slack, units)}; the wood may carry its outlet "
                f"{format_length(route.moves, units)} away from the steel over the year.",
                f"Leave at least {format_length(math.ceil(route.moves / 10.0) * 10.0 + 20.0, units)} of slack.",
            )
        )
    if ground.drawn is not None:
        high = ground.show - route.way[-1].at[2]
        if 0.0 < route.reach < high:
            found.append(
                Finding(
                    "carry/cable-hangs-short",
                    "caution",
                    f"'{cable.name}' leaves the piece {format_length(high, units)} above the floor, and only "
                    f"{format_length(route.reach, units)} of it hangs free: its plug hangs in the air.",
                    f"State reach as at least {format_length(high, units)}, or lead it down along a leg: outside.",
                )
            )
    return found


def _no_way_over(ground: Ground, cable: Cable) -> list[Finding]:
    """Openings of plates that no channel leads to: the plate lies against the wood there."""
    found = []
    for number, stretch in enumerate(cable.through):
        if stretch.plate is None:
            continue
        plate = ground.plates[stretch.name]
        before = cable.through[number - 1] if number else None
        spot = Point(plate.x + stretch.along + ground.layout.length / 2.0, stretch.across)
        short = math.inf
        if before is not None and before.channel is not None:
            short = float(ground.layout.named(before.name).shape().distance(spot))
        elif before is None:
            short = max(0.0, float(ground.layout.named(cable.outlet).shape().distance(spot)))
        if short > 0.0:
            told = (
                "no channel leads there"
                if math.isinf(short)
                else f"the way ends {format_length(short, ground.units)} short"
            )
            found.append(
                Finding(
                    "carry/no-way-over-plate",
                    "stop",
                    f"'{cable.name}' cannot come to its opening in '{stretch.name}': the plate lies against the wood, and "
                    f"{told}.",
                    "Lead a channel up to the opening, deeper than the plate's pocket by the cable, and state it before the "
                    "plate.",
                )
            )
    return found


def sharing_findings(ground: Ground, cables: Sequence[Cable]) -> list[Finding]:
    """Channels that several cables share and that are too narrow for them side by side."""
    units = ground.units
    found = []
    for name in dict.fromkeys(s.name for cable in cables for s in cable.through if s.channel is not None):
        held = [cable for cable in cables if any(s.channel == name for s in cable.through)]
        channel = stated_channel(ground, name)
        wide = math.fsum(cable.diameter for cable in held)
        if len(held) > 1 and wide > channel.width:
            found.append(
                Finding(
                    "carry/channel-full",
                    "caution",
                    f"{len(held)} cables lie in '{name}': side by side they are {format_length(wide, units)} wide, the channel "
                    f"{format_length(channel.width, units)}.",
                    f"Make it {format_length(wide, units)} wide or more: cables on top of each other cannot be drawn out.",
                )
            )
        kinds = {cable.mains for cable in held}
        if len(kinds) > 1:
            found.append(
                Finding(
                    "carry/channel-mixed",
                    "caution",
                    f"Mains and extra-low voltage lie together in '{name}'.",
                    "Give each a channel of its own, or ask licensed practice whether their insulation may lie together.",
                    FROM_MEMORY,
                )
            )
    return found


def _told(ground: Ground, cable: Cable, bend: Bend) -> bool:
    """Whether the layout says it already: the channel states this cable and this bend."""
    for stretch in cable.through:
        if stretch.channel is not None and f"of '{stretch.name}'" in bend.said and bend.said.startswith("at corner"):
            channel = stated_channel(ground, stretch.name)
            return (
                channel.cable_bend is not None
                and channel.cable_diameter is not None
                and channel.cable_bend >= cable.least_bend()
                and channel.cable_diameter >= cable.diameter
            )
    return False


def _tight(ground: Ground, cable: Cable, bend: Bend) -> Finding:
    units = ground.units
    source = _MAKER if cable.bend_radius is not None else f"{cable.bend_multiple:g} times the diameter, {FROM_MEMORY}"
    return Finding(
        "carry/cable-bend",
        "stop",
        f"'{cable.name}' must bend to {format_length(bend.radius or 0.0, units)} {bend.said}; "
        f"{format_length(bend.least, units)} is its least.",
        _rounder(ground, cable, bend, units),
        source,
    )


def _rounder(ground: Ground, cable: Cable, bend: Bend, units: Units) -> str:
    """A remedy, tried on the channel's path."""
    for stretch in cable.through:
        if stretch.channel is None or f"of '{stretch.name}'" not in bend.said:
            continue
        channel = stated_channel(ground, stretch.name)
        radius = radius_for(channel, cable.diameter, bend.least)
        if radius is not None:
            return f"Round the corners of '{channel.name}' to {format_length(radius, units)}: corner_radius."
        return f"Longer legs, or two flatter corners in place of one, in '{channel.name}'; or a thinner cable."
    if " '" in bend.said and any(s.tube is not None and f"'{s.name}'" in bend.said for s in cable.through):
        return "Run it along the outside of the tube (outside), or make the openings longer along the tube (opening)."
    if any(s.plate is not None and f"'{s.name}'" in bend.said for s in cable.through):
        return "A wider opening in the plate (opening), or a deeper channel above it."
    return "Let the two channels meet at a flatter corner, or make one channel of both, with rounded corners."


def radius_for(channel: Channel, cable: float, bend: float) -> float | None:
    """The least radius for a channel's corners that lets a cable bend as it must; None where no radius does [mm].

    Args:
        channel: as stated
        cable: diameter [mm]
        bend: least radius to the inside of the bend [mm]
    """
    path = without_repeats(np.asarray(channel.path, dtype=np.float64))
    most = min((most_radius(corner) for corner in corners(path)), default=0.0)
    start = math.ceil(max(channel.corner_radius, bend - channel.width) / _STEP)
    for number in range(max(start, 0), start + _ROUNDS):
        radius = number * _STEP
        if radius > most:
            return None
        tightest = least_bend(path, channel.width, cable, radius)
        if tightest is None or tightest[0] >= bend - 1e-9:
            return radius
    return None


def _about(length: float, units: Units) -> str:
    """A length of cord: to 10 mm, or to the inch."""
    step = 10.0 if units == "metric" else INCH
    return format_length(round(length / step) * step, units, 0 if units == "metric" else None)


def _closed(ground: Ground, cable: Cable) -> list[Finding]:
    """Tubes whose ends are closed, with the place of an opening that was tried, or that none goes there."""
    found = []
    for which, stretch in enumerate(cable.through):
        shut = closed_ends(ground, cable, which) if stretch.tube is not None else []
        if not shut:
            continue
        units, steel = ground.units, ground.pieces[stretch.name]
        ends = "both its ends are" if len(shut) > 1 else f"its {'last' if shut[0] > 0.0 else 'first'} end is"
        found.append(
            Finding(
                "carry/tube-closed",
                "stop",
                f"'{cable.name}' cannot run inside '{stretch.name}' as it is stated: {ends} closed by weld or cap, and no "
                "opening is stated.",
                _openings(steel, cable, stretch, shut, units),
                COMMON_PRACTICE,
            )
        )
    return found


def _openings(steel: Steel, cable: Cable, stretch: CableStretch, shut: Sequence[float], units: Units) -> str:
    """Openings near the closed ends, where the tube's side has room for them; else the way outside."""
    clear = clear_diameter(cable, stretch)
    side = min(steel.section.depth, steel.section.width)
    round_it = f"run it along the outside: outside = {stretch.name!r}"
    within = clear + 2.0 * welding().grommet
    if within > welding().opening_share * side or clear > min(inside_of(steel)):
        return (
            f"It does not go: an opening of {format_length(clear, units)} and its grommet is more than the side of "
            f"{format_length(side, units)} bears. So {round_it}."
        )
    inset = side + within
    places = [inset if at == 0.0 else steel.length - inset for at in shut]
    if len(places) == 1:
        key = "leaves" if stretch.enters is not None else "enters"
        told = f"{key} = {format_length(places[0], units)!r}"
    else:
        told = f"enters = {format_length(places[1], units)!r} and leaves = {format_length(places[0], units)!r}"
        told += ", from its first end, or the other way about"
    return f"State {told}: openings of {format_length(clear, units)} stand on the drill plan then. Or {round_it}."


def _blocked(ground: Ground, cable: Cable, route: CableRoute, passing: Passing) -> Finding:
    units = ground.units
    if passing.what == "cable" and "over the plate" in passing.through:
        channel = next(s.name for s in cable.through if s.channel is not None and f"'{s.name}'" in passing.through)
        deep = max(p.depth for p in plates_over(ground, channel)) + cable.diameter
        return Finding(
            "carry/cable-pinched",
            "stop",
            f"'{cable.name}' is pinched in {passing.through}: it needs {passing.needs}, there is {passing.has}.",
            f"Cut '{channel}' {format_length(deep, units)} deep, or lead it round the plate.",
        )
    if passing.what == "cable":
        return Finding(
            "carry/cable-thick",
            "stop",
            f"'{cable.name}' does not go into {passing.through}: it needs {passing.needs}, there is {passing.has}.",
            f"Make it {format_length(cable.diameter + 1.0, units)} or more, or take a thinner cable.",
        )
    return Finding(
        "carry/plug-does-not-pass",
        "stop",
        f"The {passing.what} of '{cable.name}' does not pass: {passing.through}, {passing.needs}; there is {passing.has}.",
        _way_round(ground, cable, passing),
        COMMON_PRACTICE,
    )


def _way_round(ground: Ground, cable: Cable, passing: Passing) -> str:
    """A remedy that was tried: a larger hole where there is room for it, the outside of the tube, or the plug put on last."""
    units = ground.units
    last = "pass the cable before its plug is on: only an assembly that its maker lists as rewireable, and licensed practice"
    led = cable.passes()
    assert led is not None
    for stretch in cable.through:
        if stretch.tube is None or f"'{stretch.name}'" not in passing.through:
            continue
        steel = ground.pieces[stretch.name]
        side = min(steel.section.depth, steel.section.width)
        wanted = math.ceil(round_of(led[1]) + 1.0)
        if passing.through.startswith("opening") and wanted <= welding().opening_share * side <= min(inside_of(steel)):
            return f"State opening = {format_length(wanted, units)!r}; or {last}."
        return f"Run it along the outside of '{stretch.name}' (outside); or {last}."
    if passing.through.startswith("outlet"):
        return f"Order the unit with a connector at its end of the cord ([cables.connector]); or {last}."
    wanted = math.ceil(round_of(led[1]) + 1.0)
    return f"State opening = {format_length(wanted, units)!r} for that plate; or {last}."
