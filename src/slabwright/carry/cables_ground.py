"""What cables run in: the top's channels, and the steel of the base in the top's frame."""

from __future__ import annotations

import math
from dataclasses import dataclass

from slabwright.base.basing import BasePlan
from slabwright.base.kinds import Drawn, Plate
from slabwright.base.sections import Section
from slabwright.base.weld_joints import piece_name
from slabwright.carry.cables_path import Place
from slabwright.job.top_models import Channel, Pocket
from slabwright.quantities import Units
from slabwright.top.layout_results import Layout

_BESIDE = 0.5


@dataclass(frozen=True)
class Steel:
    """A straight piece of the base.

    Attributes:
        first: its first end
        last: its last end
        section: of its steel
        up: the way its depth lies
        closed: whether its first and its last end are closed, by a weld or a cap
    """

    first: Place
    last: Place
    section: Section
    up: Place
    closed: tuple[bool, bool] = (False, False)

    @property
    def length(self) -> float:
        """End to end on its middle line [mm]."""
        return math.dist(self.first, self.last)

    def at(self, along: float) -> Place:
        """A place on its middle line, from its first end."""
        share = along / self.length
        return _between(self.first, self.last, share)


@dataclass(frozen=True)
class Ground:
    """What cables run in: the top, and the base where there is one.

    Attributes:
        layout: of the top
        drawn: the base; None: there is none yet
        show: height of the show face above the floor [mm]; without a base the top's thickness
        pieces: tubes and bars by name
        plates: by name
        units: of the job
    """

    layout: Layout
    drawn: Drawn | None
    show: float
    pieces: dict[str, Steel]
    plates: dict[str, Plate]
    units: Units = "metric"

    def place(self, x: float, y: float, z: float) -> Place:
        """A place of the base's frame in the top's: along from the left end, across, depth below the show face."""
        return (x + self.layout.length / 2.0, y, self.show - z)


def ground_of(layout: Layout, base: BasePlan | None, units: Units = "metric") -> Ground:
    """What cables run in.

    Args:
        layout: of the top
        base: None where there is none yet
        units: of the job
    """
    if base is None:
        return Ground(layout, None, layout.thickness, {}, {}, units)
    drawn = base.drawn
    show = drawn.underside - base.structure.top.pocket + layout.thickness
    ground = Ground(layout, drawn, show, {}, {plate.name: plate for plate in drawn.plates}, units)
    ends: dict[str, list[Place]] = {}
    # What is bolted stays open; any other end is closed by what it meets, or by its cap.
    bolted = [
        ground.place(*drawn.nodes[node])
        for member in drawn.members
        for node, pinned in zip((member.first, member.last), member.pinned, strict=True)
        if pinned and member.part == "frame"
    ]
    steels: dict[str, tuple[Section, Place]] = {}
    for member in drawn.members:
        if member.part == "frame":
            name = piece_name(drawn, member)
            ends.setdefault(name, []).extend(ground.place(*drawn.nodes[node]) for node in (member.first, member.last))
            steels[name] = (member.section, member.up)
    for name, places in ends.items():
        first = places[0]
        last = max(places, key=lambda place: math.dist(first, place))
        first = max(places, key=lambda place: math.dist(last, place))
        if math.dist(places[0], first) > math.dist(places[0], last):
            first, last = last, first
        shut = (first not in bolted, last not in bolted)
        ground.pieces[name] = Steel(first, last, *steels[name], shut)
    return ground


def stated_channel(ground: Ground, name: str) -> Channel:
    """A channel as the job states it."""
    return next(f for f in ground.layout.top.features if isinstance(f, Channel) and f.name == name)


def plates_over(ground: Ground, channel: str) -> list[Pocket]:
    """Pockets on the same face that a channel runs under: their plates cover it."""
    stated = stated_channel(ground, channel)
    cut = ground.layout.named(channel).shape()
    return [
        feature
        for feature in ground.layout.top.features
        if isinstance(feature, Pocket)
        and feature.face == stated.face
        and ground.layout.named(feature.name).shape().intersection(cut).area > _BESIDE * stated.width
    ]


def _between(first: Place, last: Place, share: float) -> Place:
    a, b, c = (one + share * (other - one) for one, other in zip(first, last, strict=True))
    return (a, b, c)
