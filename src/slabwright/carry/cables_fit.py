"""What has to pass through what: plugs, connectors and cables against holes, plates, tubes and channels."""

from __future__ import annotations

import math

from slabwright.base.cable_openings import clear_diameter, round_of
from slabwright.base.weld_joints import thickness_of
from slabwright.carry.cables_ground import Ground, Steel, plates_over, stated_channel
from slabwright.carry.cables_path import longest_round_corner, rectangle_in_rectangle
from slabwright.carry.cables_results import Passing
from slabwright.job.cable_models import Cable, CableEnd, CableStretch
from slabwright.job.top_models import Outlet, ThroughHole
from slabwright.quantities import format_length

_NEARLY = 1e-6
_SAME_PLACE = 0.5
CLOSED = "none: it is closed by its weld or its cap"


def passings(ground: Ground, cable: Cable) -> list[Passing]:
    """Everything that has to pass, along the cable.

    Args:
        ground: what it runs in
        cable: as stated
    """
    units = ground.units
    led = cable.passes()
    found = []
    hole = next(f for f in ground.layout.top.features if f.name == cable.outlet)
    assert isinstance(hole, Outlet | ThroughHole)
    if cable.connector is None:
        found.append(_round(ground, cable, led, f"outlet '{hole.name}'", hole.diameter))
    for which, stretch in enumerate(cable.through):
        if stretch.channel is not None:
            channel = stated_channel(ground, stretch.name)
            found.append(
                Passing(
                    "cable",
                    f"channel '{channel.name}'",
                    f"{format_length(cable.diameter, units)} each way",
                    f"{format_length(channel.width, units)} wide, {format_length(channel.depth, units)} deep",
                    cable.diameter <= min(channel.width, channel.depth) + _NEARLY,
                )
            )
            for pocket in plates_over(ground, channel.name):
                room = channel.depth - pocket.depth
                found.append(
                    Passing(
                        "cable",
                        f"channel '{channel.name}' over the plate of '{pocket.name}'",
                        f"{format_length(cable.diameter, units)} over the plate",
                        f"{format_length(max(0.0, room), units)}",
                        cable.diameter <= room + _NEARLY,
                    )
                )
        elif stretch.plate is not None:
            found.append(_round(ground, cable, led, f"plate '{stretch.name}'", clear_diameter(cable, stretch)))
        elif stretch.tube is not None:
            found += [
                Passing("cable", f"{_end(at)} end of '{stretch.name}'", "an opening", CLOSED, False)
                for at in closed_ends(ground, cable, which)
            ]
            found += _tube(ground, cable, led, stretch)
    return found


def closed_ends(ground: Ground, cable: Cable, which: int) -> list[float]:
    """Ends of a tube that a cable is to go through and that are closed: places from its first end [mm].

    Two tubes that are mitred are one hollow: between them nothing is closed.

    Args:
        ground: what it runs in
        cable: as stated
        which: of its stretches, from 0; one inside a tube
    """
    stretch = cable.through[which]
    steel = ground.pieces[stretch.name]
    used = {0.0: steel.first, steel.length: steel.last}
    if stretch.enters is not None and stretch.leaves is not None:
        return []
    if stretch.enters is not None or stretch.leaves is not None:
        stated = stretch.enters if stretch.enters is not None else stretch.leaves
        assert stated is not None
        used.pop(0.0 if stated < steel.length / 2.0 else steel.length)
    beside = [cable.through[k] for k in (which - 1, which + 1) if 0 <= k < len(cable.through)]
    others = [ground.pieces[each.name] for each in beside if each.tube is not None]
    joined = [end for other in others for end in (other.first, other.last)]
    shut = {0.0: steel.closed[0], steel.length: steel.closed[1]}
    return [
        at for at, end in used.items() if shut[at] and not any(math.dist(end, each) <= _SAME_PLACE for each in joined)
    ]


def _end(at: float) -> str:
    return "last" if at > 0.0 else "first"


def _round(ground: Ground, cable: Cable, led: tuple[str, CableEnd] | None, through: str, diameter: float) -> Passing:
    units = ground.units
    has = f"{format_length(diameter, units)} hole"
    if led is None:
        said = f"{format_length(cable.diameter, units)} thick"
        return Passing("cable", through, said, has, cable.diameter <= diameter + _NEARLY)
    word, end = led
    corner = round_of(end)
    said = (
        f"{format_length(end.width, units)} x {format_length(end.height, units)}, {format_length(corner, units)} corner "
        "to corner"
    )
    return Passing(word, through, said, has, max(corner, cable.diameter) <= diameter + _NEARLY)


def _tube(ground: Ground, cable: Cable, led: tuple[str, CableEnd] | None, stretch: CableStretch) -> list[Passing]:
    steel, units = ground.pieces[stretch.name], ground.units
    clear = clear_diameter(cable, stretch)
    found = []
    openings = stretch.enters is not None or stretch.leaves is not None
    if openings:
        found.append(_round(ground, cable, led, f"opening of '{stretch.name}'", clear))
    deep, wide = inside_of(steel)
    inside = f"{format_length(deep, units)} x {format_length(wide, units)} inside"
    if steel.section.kind == "round tube":
        inside = f"{format_length(deep, units)} round inside"
    if led is None:
        said = f"{format_length(cable.diameter, units)} thick"
        found.append(
            Passing("cable", f"tube '{stretch.name}'", said, inside, cable.diameter <= min(deep, wide) + _NEARLY)
        )
        return found
    word, end = led
    if steel.section.kind == "round tube":
        goes = round_of(end) <= deep + _NEARLY
    else:
        goes = rectangle_in_rectangle((end.width, end.height), (deep, wide))
    said = f"{format_length(end.width, units)} x {format_length(end.height, units)}"
    found.append(Passing(word, f"tube '{stretch.name}'", said, inside, goes))
    if openings and goes:
        longest = longest_round_corner(min(end.width, end.height), clear, min(deep, wide))
        found.append(
            Passing(
                word,
                f"corner from the opening into '{stretch.name}'",
                f"{format_length(end.length, units)} long",
                f"{format_length(longest, units)} at most",
                end.length <= longest + _NEARLY,
            )
        )
    return found


def inside_of(steel: Steel) -> tuple[float, float]:
    """Clear inside of a tube, both ways [mm]."""
    wall = thickness_of(steel.section)
    return steel.section.depth - 2.0 * wall, steel.section.width - 2.0 * wall
