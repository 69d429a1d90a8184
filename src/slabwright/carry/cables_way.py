"""From the stated stretches of a cable to its way in space, against the top's layout and the base as drawn."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import LineString, shortest_line
from shapely import Point as Spot

from slabwright.base.cable_openings import clear_diameter
from slabwright.base.sections import Section
from slabwright.base.weld_joints import hollow, thickness_of
from slabwright.carry.cables_ground import Ground, Steel, stated_channel
from slabwright.carry.cables_path import Place, Point, bend_through, cleaned, turns
from slabwright.findings import SlabwrightError
from slabwright.job.cable_models import Cable, CableStretch
from slabwright.job.top_models import Channel, Outlet, ThroughHole
from slabwright.quantities import format_length
from slabwright.top.channel_path import corners, least_bend, without_repeats
from slabwright.top.layout_results import TopFeature

_SIDE = 1e-6


@dataclass(frozen=True)
class Laid:
    """A stretch as it lies.

    Attributes:
        stated: the stretch
        points: of its way; the first is where the cable comes to it
        number: of the stretch in the way, from 1
    """

    stated: CableStretch
    points: tuple[Point, ...]
    number: int


def start_of(ground: Ground, cable: Cable, number: int) -> TopFeature:
    """The outlet that a cable comes from.

    Raises:
        SlabwrightError: there is no such outlet.
    """
    kinds = {feature.name: feature for feature in ground.layout.top.features}
    outlets = [name for name, feature in kinds.items() if isinstance(feature, Outlet | ThroughHole)]
    _known(
        f"cables[{number}].outlet: '{cable.name}' comes from", cable.outlet, outlets, kinds, "outlet or through hole"
    )
    return ground.layout.named(cable.outlet)


def way_of(ground: Ground, cable: Cable, number: int) -> tuple[list[Point], list[Laid]]:
    """The way of a cable, and its stretches.

    A channel is entered at the place nearest to where the cable comes from, and left at the place nearest to the next
    stretch, or at its farther end where it is the last one.

    Args:
        ground: what it runs in
        cable: as stated
        number: of the cable in the job, from 0

    Raises:
        SlabwrightError: an outlet, channel, plate or piece that there is not; a place beyond a piece's end.
    """
    outlet = start_of(ground, cable, number)
    for which, stretch in enumerate(cable.through):
        _check(ground, cable, stretch, f"cables[{number}].through[{which}]")
    half = cable.diameter / 2.0
    thickness = ground.layout.thickness
    along, across = outlet.along or 0.0, outlet.across or 0.0
    first = cable.through[0] if cable.through else None
    depth = thickness + half
    if first is not None and first.channel is not None:
        depth = _depth(ground.layout.named(first.channel), half)
    points = [Point((along, across, depth), said=f"at the outlet '{outlet.name}'")]
    laid = []
    for which, stretch in enumerate(cable.through):
        onward = cable.through[which + 1] if which + 1 < len(cable.through) else None
        here = points[-1].at
        if stretch.channel is not None:
            found = _in_channel(ground, cable, stretch, here, onward, which + 1)
        elif stretch.plate is not None:
            found = _through_plate(ground, cable, stretch, here, which + 1)
        else:
            found = _on_piece(ground, cable, stretch, here, which + 1)
        laid.append(Laid(stretch, tuple(found), which + 1))
        points += found
    return _joined(ground, cable, cleaned(points)), laid


def _joined(ground: Ground, cable: Cable, points: list[Point]) -> list[Point]:
    """The way with the bends where one channel runs into another: as tight as the narrower of them leaves."""
    channels = {
        number: stated_channel(ground, stretch.name).width
        for number, stretch in enumerate(cable.through, start=1)
        if stretch.channel is not None
    }
    found = list(points)
    for turn in turns(points):
        here, onward = points[turn.number], points[turn.number + 1]
        if here.stretch == onward.stretch or not {here.stretch, onward.stretch} <= channels.keys():
            continue
        legs = np.array([points[turn.number + step].at[:2] for step in (-1, 0, 1)])
        tightest = least_bend(legs, min(channels[here.stretch], channels[onward.stretch]), cable.diameter, 0.0)
        if tightest is not None:
            found[turn.number] = replace(here, bend=tightest[0])
    return found


def _depth(feature: TopFeature, half: float) -> float:
    """Depth below the show face of a cable that lies on a channel's floor [mm]."""
    return feature.upper + half if feature.face == "underside" else feature.lower - half


def _in_channel(
    ground: Ground, cable: Cable, stretch: CableStretch, here: Place, onward: CableStretch | None, which: int
) -> list[Point]:
    channel = stated_channel(ground, stretch.name)
    depth = _depth(ground.layout.named(channel.name), cable.diameter / 2.0)
    path = without_repeats(np.asarray(channel.path, dtype=np.float64))
    line = LineString(path)
    start = float(line.project(Spot(here[0], here[1])))
    end = _leaves_at(ground, line, onward, start)
    stations = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])
    between = [k for k in range(len(path)) if min(start, end) + _SIDE < stations[k] < max(start, end) - _SIDE]
    if end < start:
        between.reverse()
    turning = {corner.number: corner for corner in corners(path)}
    found = [Point((*_on_line(line, start), depth), said=f"into '{channel.name}'")]
    for k in between:
        corner = turning.get(k)
        bend = None
        if corner is not None:
            back, ahead = (_toward(path[k], path[k + step], corner.room) for step in (-1, 1))
            tightest = least_bend(
                np.array([back, path[k], ahead]), channel.width, cable.diameter, channel.corner_radius
            )
            bend = tightest[0] if tightest is not None else None
        found.append(
            Point(
                (float(path[k][0]), float(path[k][1]), depth),
                channel.corner_radius,
                bend,
                f"at corner {k + 1} of '{channel.name}'",
                which,
            )
        )
    found.append(Point((*_on_line(line, end), depth), said=f"out of '{channel.name}'", stretch=which))
    return found


def _toward(place: np.ndarray, other: np.ndarray, far: float) -> np.ndarray:
    way = np.subtract(other, place)
    return np.asarray(place + way / np.hypot(*way) * far)


def _on_line(line: LineString, station: float) -> tuple[float, float]:
    spot = line.interpolate(station)
    return float(spot.x), float(spot.y)


def _leaves_at(ground: Ground, line: LineString, onward: CableStretch | None, start: float) -> float:
    """Where along a channel's path the cable leaves it."""
    if onward is None:
        return float(line.length) if start <= line.length / 2.0 else 0.0
    goal: LineString | Spot
    if onward.channel is not None:
        goal = LineString(stated_channel(ground, onward.name).path)
    elif onward.plate is not None:
        goal = Spot(_plate_place(ground, onward)[:2])
    else:
        steel = ground.pieces[onward.name]
        ends = [steel.at(onward.enters)] * 2 if onward.enters is not None else [steel.first, steel.last]
        level = math.dist(ends[0][:2], ends[1][:2]) > _SIDE
        goal = LineString([end[:2] for end in ends]) if level else Spot(ends[0][:2])
    return float(line.project(Spot(shortest_line(line, goal).coords[0])))


def _plate_place(ground: Ground, stretch: CableStretch) -> Place:
    plate = ground.plates[stretch.name]
    assert ground.drawn is not None
    return ground.place(plate.x + stretch.along, stretch.across, ground.drawn.underside)


def _through_plate(ground: Ground, cable: Cable, stretch: CableStretch, here: Place, which: int) -> list[Point]:
    plate = ground.plates[stretch.name]
    x, y, upper = _plate_place(ground, stretch)
    clear = clear_diameter(cable, stretch)
    room = max(0.0, upper - here[2] + cable.diameter / 2.0)
    bend = bend_through(room, plate.thickness, clear, cable.diameter) if here[2] < upper else None
    return [
        Point((x, y, here[2]), bend=bend, said=f"through '{plate.name}'"),
        Point((x, y, upper + plate.thickness + cable.diameter), said=f"below '{plate.name}'", stretch=which),
    ]


def _on_piece(ground: Ground, cable: Cable, stretch: CableStretch, here: Place, which: int) -> list[Point]:
    """Inside a tube, or along the outside of a piece; on the side that the cable comes from."""
    steel = ground.pieces[stretch.name]
    inside = stretch.tube is not None
    entering = stretch.enters
    if entering is None:
        if inside:
            entering = 0.0 if math.dist(here, steel.first) <= math.dist(here, steel.last) else steel.length
        else:
            entering = _nearest(steel, here)
    leaving = stretch.leaves
    if leaving is None:
        leaving = steel.length if entering < steel.length / 2.0 else 0.0
    came, half = _side(steel, here)
    out = half + cable.diameter / 2.0
    word = "inside" if inside else "along"
    if not inside:
        return [
            Point(_moved(steel.at(entering), came, out), said=f"to '{stretch.name}'"),
            Point(_moved(steel.at(leaving), came, out), said=f"at the end {word} '{stretch.name}'", stretch=which),
        ]
    bend = bend_into(steel.section, clear_diameter(cable, stretch), cable.diameter, 2.0 * half)
    found = []
    if stretch.enters is not None:
        found.append(Point(_moved(steel.at(entering), came, out), said=f"to '{stretch.name}'"))
    said_in = f"in '{stretch.name}' behind its opening" if stretch.enters is not None else f"into '{stretch.name}'"
    found.append(
        Point(
            steel.at(entering),
            bend=bend if stretch.enters is not None else None,
            said=said_in,
            stretch=which if stretch.enters is not None else 0,
        )
    )
    said_out = f"in '{stretch.name}' before its opening" if stretch.leaves is not None else f"out of '{stretch.name}'"
    found.append(
        Point(steel.at(leaving), bend=bend if stretch.leaves is not None else None, said=said_out, stretch=which)
    )
    if stretch.leaves is not None:
        found.append(Point(_moved(steel.at(leaving), came, out), said=f"out of '{stretch.name}'", stretch=which))
    return found


def bend_into(section: Section, opening: float, cable: float, deep: float | None = None) -> float:
    """The widest bend of a cable that turns from a tube through an opening of its wall, to its inside [mm].

    Args:
        section: of the tube
        opening: clear diameter [mm]
        cable: its diameter [mm]
        deep: outside of the tube the way the opening looks [mm]; None: the smaller side
    """
    wall = thickness_of(section)
    return bend_through(
        (deep if deep is not None else min(section.depth, section.width)) - 2.0 * wall, wall, opening, cable
    )


def _nearest(steel: Steel, here: Place) -> float:
    """Of a place on the middle line nearest to another, from the first end."""
    way = np.subtract(steel.last, steel.first) / steel.length
    return float(np.clip(np.dot(np.subtract(here, steel.first), way), 0.0, steel.length))


def _side(steel: Steel, here: Place) -> tuple[Place, float]:
    """The side of a piece that looks to a place: the way out, and half its size that way."""
    way = np.subtract(steel.last, steel.first) / steel.length
    # The depth of the top's frame runs down where the base's height runs up.
    up = np.array([steel.up[0], steel.up[1], -steel.up[2]])
    up = up - np.dot(up, way) * way
    up /= np.linalg.norm(up)
    over = np.cross(way, up)
    toward = np.subtract(here, steel.at(_nearest(steel, here)))
    ways = [(up, steel.section.depth), (over, steel.section.width)]
    reach = [float(np.dot(toward, axis)) for axis, _ in ways]
    which = 0 if abs(reach[0]) - ways[0][1] / 2.0 > abs(reach[1]) - ways[1][1] / 2.0 else 1
    axis = ways[which][0] * (1.0 if reach[which] >= 0.0 else -1.0)
    return (float(axis[0]), float(axis[1]), float(axis[2])), ways[which][1] / 2.0


def _moved(place: Place, way: Place, far: float) -> Place:
    return (place[0] + way[0] * far, place[1] + way[1] * far, place[2] + way[2] * far)


def _check(ground: Ground, cable: Cable, stretch: CableStretch, head: str) -> None:
    """Raise where a stretch names what there is not."""
    kinds = {feature.name: feature for feature in ground.layout.top.features}
    if stretch.channel is not None:
        channels = [name for name, feature in kinds.items() if isinstance(feature, Channel)]
        _known(f"{head}.channel: '{cable.name}' runs in", stretch.name, channels, kinds, "channel")
        return
    key, names, word = {
        "plate": ("plate", list(ground.plates), "plate of the base"),
        "tube": ("tube", [name for name, steel in ground.pieces.items() if hollow(steel.section)], "tube of the base"),
        "outside": ("outside", list(ground.pieces), "piece of the base"),
    }[stretch.kind]
    verb = {"plate": "goes through", "tube": "runs inside", "outside": "is tied to"}[key]
    if ground.drawn is None:
        raise SlabwrightError(
            f"{head}.{key}: '{cable.name}' {verb} '{stretch.name}', and there is no base yet; state [piece] base and height, or "
            "end the way in the top"
        )
    _known(f"{head}.{key}: '{cable.name}' {verb}", stretch.name, names, ground.pieces, word)
    if key != "plate":
        long = ground.pieces[stretch.name].length
        for where, place in (("enters", stretch.enters), ("leaves", stretch.leaves)):
            if place is not None and place > long:
                raise SlabwrightError(
                    f"{head}.{where}: '{stretch.name}' is {format_length(long, ground.units)} long, and "
                    f"{format_length(place, ground.units)} lies beyond its end; "
                    "measure from its first end"
                )


def _known(head: str, name: str, names: Sequence[str], others: Iterable[str], word: str) -> None:
    if name in names:
        return
    near = difflib.get_close_matches(name, names, n=3, cutoff=0.5)
    what = f"which is no {word}" if name in set(others) else f"and there is no such {word}"
    if near:
        meant = "did you mean " + " or ".join(f"'{each}'" for each in near) + "?"
    else:
        meant = f"there are {', '.join(repr(each) for each in names[:12])}" if names else f"there is no {word} at all"
    raise SlabwrightError(f"{head} '{name}', {what}; {meant}")
