"""What comes out of the top's underside where the base lies: outlets, holes, and ends of channels against plates and rails."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LineString, Point, affinity, box
from shapely.geometry.base import BaseGeometry

from slabwright.base.kinds import Drawn
from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.job.cable_models import Cable
from slabwright.job.top_models import Channel, Outlet, ThroughHole
from slabwright.quantities import Units, format_length
from slabwright.top.layout_results import Layout

_BELOW = 60.0
"""How far under the top a rail is in the way of a plug and a hand [mm]: common practice."""
_ROOM = 3.0
"""Left beside the steel [mm]: common practice."""
_LEVEL = 0.1


def top_clashes(drawn: Drawn, layout: Layout, cables: Sequence[Cable], units: Units) -> list[Finding]:
    """Openings of the underside that a plate or a rail lies under, each with the nearest move that frees it.

    An opening whose cable goes through the plate there is meant to lie over it.

    Args:
        drawn: the base
        layout: of the top
        cables: of the job
        units: of the job
    """
    steel = _steel(drawn)
    found = []
    for name, kind, shape, hangs in _openings(layout):
        led = {s.plate for c in cables if name in (c.outlet, *(t.channel for t in c.through)) for s in c.through}
        led |= {s.tube for c in cables if name in (c.outlet, *(t.channel for t in c.through)) for s in c.through}
        near = {
            piece: area
            for piece, (area, plate) in steel.items()
            if piece not in led and (plate or hangs) and kind != "edge"
        }
        hit = [piece for piece, area in near.items() if area.intersects(shape)]
        if not hit:
            continue
        move = _free(shape, shapely.union_all(list(near.values())), layout)
        told = (
            f"Move it {format_length(abs(move[1]), units, 0)} {move[0]}: it is free there."
            if move is not None
            else "No move along or across frees it: move the leg frames with base.spread, or take narrower plates."
        )
        also = " Or lead its cable through an opening of the plate: [[cables]] through." if "plate" in hit[0] else ""
        found.append(
            Finding(
                "base/under-opening",
                "stop",
                f"{name} ({kind}) comes out where the {' and the '.join(hit)} of the base lies.",
                told + also,
                COMMON_PRACTICE,
            )
        )
    return found


def _steel(drawn: Drawn) -> dict[str, tuple[BaseGeometry, bool]]:
    """Plates and the level pieces close under the top, from above, about the middle of the top; and whether it is a plate."""
    found: dict[str, tuple[BaseGeometry, bool]] = {
        plate.name: (
            box(plate.x - plate.width / 2, -plate.length / 2, plate.x + plate.width / 2, plate.length / 2),
            True,
        )
        for plate in drawn.plates
    }
    for member in drawn.members:
        (x1, y1, z1), (x2, y2, z2) = drawn.nodes[member.first], drawn.nodes[member.last]
        top = max(z1, z2) + member.section.depth / 2
        if member.part != "frame" or abs(z1 - z2) > _LEVEL * math.dist((x1, y1), (x2, y2)):
            continue
        if top < drawn.underside - _BELOW:
            continue
        area = LineString([(x1, y1), (x2, y2)]).buffer(member.section.width / 2, cap_style="square")
        before = found.get(member.name)
        found[member.name] = (area if before is None else before[0].union(area), False)
    return found


def _openings(layout: Layout) -> list[tuple[str, str, BaseGeometry, bool]]:
    """Name, kind and shape about the middle of the top; and whether something hangs down or comes out there."""
    found: list[tuple[str, str, BaseGeometry, bool]] = []
    middle = layout.length / 2
    holes = []
    for feature in layout.top.features:
        if isinstance(feature, Outlet | ThroughHole):
            placed = layout.named(feature.name)
            wide = feature.diameter
            if isinstance(feature, Outlet):
                wide = max(feature.recess_diameter, feature.nut_diameter or 0.0)
            shape = Point((placed.along or 0.0) - middle, placed.across or 0.0).buffer(wide / 2, 32)
            holes.append(shape)
            found.append((feature.name, feature.kind, shape, True))
    for feature in layout.top.features:
        if isinstance(feature, Channel) and feature.face == "underside":
            for place in (feature.path[0], feature.path[-1]):
                shape = Point(place[0] - middle, place[1]).buffer(feature.width / 2, 16)
                if not any(hole.intersects(shape) for hole in holes):
                    found.append((feature.name, "the end of a channel", shape, True))
    return found


def _free(shape: BaseGeometry, steel: BaseGeometry, layout: Layout) -> tuple[str, float] | None:
    """The shortest move along or across that frees a shape and keeps it on the top: which way, and how far [mm]."""
    inside = affinity.translate(layout.outline, -layout.length / 2.0)
    reach = max(layout.length, 2.0 * max(abs(v) for v in layout.outline.bounds[1::2]))
    ways = {
        "along, to the right": (1.0, 0.0),
        "along, to the left": (-1.0, 0.0),
        "across, to the far edge": (0.0, 1.0),
        "across, to the near edge": (0.0, -1.0),
    }
    grown = steel.buffer(_ROOM, join_style="mitre")
    for by in np.arange(1.0, reach, 1.0):
        for way, (x, y) in ways.items():
            moved = affinity.translate(shape, x * by, y * by)
            if not grown.intersects(moved) and inside.contains(moved):
                return way, float(by)
    return None
