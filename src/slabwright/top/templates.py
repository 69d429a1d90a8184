"""Templates for a hand-held router: the opening that its bushing or bearing follows, and what goes with it.

A disc of the bit's radius r, its middle kept along a path, cuts the path grown by r; a guide of radius R that touches the
template keeps the middle R from its edge. So the path is the pocket shrunk by r, and the template is the path grown by R.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import shapely
from shapely import Polygon

from slabwright.findings import COMMON_PRACTICE, Finding, SlabwrightError
from slabwright.geometry.arcs import inside_corner_radii
from slabwright.geometry.faces import Floats
from slabwright.job.shop_models import Router
from slabwright.job.top_models import Bar, Feature, Key, Pocket
from slabwright.quantities import INCH, Units, format_least, format_length
from slabwright.top.feature_shapes import bow_tie, rectangle
from slabwright.top.slots import PocketRoom, Positions
from slabwright.top.template_results import CheckLength, Template

CLAMP_ROOM = 40.0
"""Along the template's rim, beyond the base's reach, for clamps [mm]. Common practice."""
BEARING = 10.0
"""Least that the base rests on the template's far side [mm]. Common practice."""
BUSHING_CLEAR = 1.0
"""A bushing stays so far off the wood [mm]. Common practice."""
BEARING_CONTACT = 3.0
"""Least of a bearing's height that touches the template [mm]. Common practice."""
_SAME = 0.002
"""A plate this near to the wall passes [mm]: as fine as curves are drawn."""
_FINE = 64
"""Sides per quarter of a circle: a radius of 50 mm is drawn within 0.004 mm."""


class NoTemplateError(SlabwrightError):
    """The router cannot cut the opening with a template."""


def depth_steps(depth: float, greatest: float, last: float) -> tuple[float, ...]:
    """Depth below the face after each step: equal steps of at most `greatest`, then one of `last` [mm]."""
    if not (math.isfinite(depth) and depth > 0.0):
        raise NoTemplateError(f"A pocket's depth is more than nothing, not {depth:g} mm.")
    before = depth - last
    if before <= 1e-9:
        return (depth,)
    count = math.ceil(before / greatest - 1e-9)
    return (*(before * k / count for k in range(1, count + 1)), depth)


def as_cut(opening: Polygon, bit_diameter: float) -> Polygon | None:
    """The opening as a round bit leaves it, or None where the bit does not go in or not through a narrow place [mm]."""
    radius = bit_diameter / 2.0
    path = opening.buffer(-radius, quad_segs=_FINE)
    if path.is_empty or not isinstance(path, Polygon):
        return None
    grown = path.buffer(radius, quad_segs=_FINE)
    return grown if isinstance(grown, Polygon) else None


def beyond(plate: Polygon, cut: Polygon) -> float:
    """How far a plate reaches beyond the wall of a cut, at most; nothing where it lies inside [mm]."""
    out = shapely.get_coordinates(plate.difference(cut))
    if not len(out):
        return 0.0
    far = float(shapely.distance(shapely.points(out), cut).max())
    return far if far > _SAME else 0.0


def bit_that_lets_in(plate: Polygon, opening: Polygon, most: float) -> float | None:
    """The largest bit, up to `most`, with which the plate enters the opening; None where it enters with none [mm]."""

    def enters(diameter: float) -> bool:
        cut = as_cut(opening, diameter)
        return cut is not None and beyond(plate, cut) == 0.0

    low, high = 0.2, most
    if not enters(low):
        return None
    if enters(high):
        return high
    for _ in range(14):
        middle = (low + high) / 2.0
        low, high = (middle, high) if enters(middle) else (low, middle)
    return low


def template(
    opening: Polygon,
    router: Router,
    *,
    depth: float,
    name: str = "pocket",
    face: str = "underside",
    plate: Polygon | None = None,
    plate_corner_radius: float | None = None,
    units: Units = "metric",
) -> Template:
    """The template for one opening.

    Args:
        opening: to be cut, in the top's frame [mm]
        router: bit, what follows the template, base, steps
        depth: of the pocket [mm]
        name: of the feature
        face: that it is cut into
        plate: what goes in, everywhere that it comes in the course of a year, in the top's frame [mm]
        plate_corner_radius: of the plate, where `plate` is not known: it is taken to fill the opening [mm]
        units: the rim is rounded up to 5 mm or 1/4 in

    Returns:
        The template.

    Raises:
        NoTemplateError: the bit does not go into the opening, or the opening or a size is none
    """
    if opening.is_empty or not opening.is_valid or len(opening.interiors):
        raise NoTemplateError(
            f"The opening of {name} is not one plain shape; draw its rim without crossings and islands."
        )
    bit, guide = router.bit_diameter, router.guide_diameter
    cut = as_cut(opening, bit)
    if cut is None:
        raise NoTemplateError(
            f"{name}: a bit of {format_length(bit, units)} does not go through all of the opening; take a smaller bit."
        )
    path = opening.buffer(-bit / 2.0, quad_segs=_FINE)
    shape = path.buffer(guide / 2.0, quad_segs=_FINE)
    if plate is None and plate_corner_radius is not None:
        plate = _rounded(opening, plate_corner_radius, name, units)
    chisel = 0.0 if plate is None else beyond(plate, cut)
    steps = depth_steps(depth, router.greatest_depth, router.last_depth)
    x0, y0, x1, y1 = shape.bounds
    step = 5.0 if units == "metric" else INCH / 4.0
    margin = max(router.base_diameter - guide, 0.0) / 2.0 + CLAMP_ROOM
    outer_length, outer_width = (math.ceil((size + 2.0 * margin) / step - 1e-9) * step for size in (x1 - x0, y1 - y0))
    middle = (x0 + x1) / 2.0, (y0 + y1) / 2.0
    outer = shapely.box(
        middle[0] - outer_length / 2.0,
        middle[1] - outer_width / 2.0,
        middle[0] + outer_length / 2.0,
        middle[1] + outer_width / 2.0,
    )
    cut_radii, radii = inside_corner_radii(cut), inside_corner_radii(shape)
    if router.bearing:
        thickness_least = (router.flute_length - steps[0] + BEARING_CONTACT) if router.flute_length else 0.0
    else:
        thickness_least = router.bushing_reach + BUSHING_CLEAR
    return Template(
        name=name,
        face=face,
        guide="bearing bit" if router.bearing else "guide bushing",
        guide_diameter=guide,
        bit_diameter=bit,
        offset=(guide - bit) / 2.0,
        middle_along=middle[0],
        middle_across=middle[1],
        cut_length=cut.bounds[2] - cut.bounds[0],
        cut_width=cut.bounds[3] - cut.bounds[1],
        cut_corner_radius=cut_radii[0] if cut_radii else bit / 2.0,
        opening_length=x1 - x0,
        opening_width=y1 - y0,
        corner_radius=radii[0] if radii else guide / 2.0,
        plate_enters=None if plate is None else chisel == 0.0,
        chisel=chisel,
        bit_most=None if plate is None else bit_that_lets_in(plate, opening, bit),
        outer_length=outer_length,
        outer_width=outer_width,
        clamp_room=CLAMP_ROOM,
        base_diameter=router.base_diameter,
        base_least=math.ceil(2.0 * (_narrow_way(shape) - guide / 2.0 + BEARING) / step - 1e-6) * step,
        thickness=router.template_thickness,
        thickness_least=max(thickness_least, 0.0),
        depth=depth,
        steps=steps,
        reach=router.template_thickness + depth,
        checks=_checks(shape, outer_length, outer_width),
        opening=shape,
        cut=cut,
        outer=outer,
    )


def _rounded(opening: Polygon, radius: float, name: str, units: Units) -> Polygon:
    if not (math.isfinite(radius) and radius >= 0.0):
        raise NoTemplateError(f"{name}: a corner radius is at least nothing, not {radius:g} mm.")
    plate = as_cut(opening, 2.0 * radius) if radius else opening
    if plate is None:
        raise NoTemplateError(f"{name}: corners of {format_length(radius, units)} are rounder than the plate is wide.")
    return plate


def _narrow_way(shape: Polygon) -> float:
    """Width of the narrowest strip that holds a shape [mm]."""
    ring = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shape))
    return min(math.dist(ring[0], ring[1]), math.dist(ring[1], ring[2]))


def _checks(shape: Polygon, outer_length: float, outer_width: float) -> tuple[CheckLength, ...]:
    x0, y0, x1, y1 = shape.bounds
    lengths = [
        CheckLength("opening, end to end", x1 - x0),
        CheckLength("opening, side to side", y1 - y0),
    ]
    diagonal = _clear_diagonal(shape)
    if diagonal is not None:
        lengths.append(CheckLength("opening, corner to corner, both ways", diagonal))
    lengths.append(CheckLength("rim, corner to corner, both ways", math.hypot(outer_length, outer_width)))
    return tuple(lengths)


def _clear_diagonal(shape: Polygon) -> float | None:
    """Of the longest stick that goes into both pairs of opposite corners, where both are alike [mm]."""
    x0, y0, x1, y1 = shape.bounds
    points = shapely.get_coordinates(shape)
    rising, falling = (
        max(
            math.dist(a, b)
            for a in _furthest(points, (x1 - x0, way * (y1 - y0)))
            for b in _furthest(points, (x0 - x1, way * (y0 - y1)))
        )
        for way in (1.0, -1.0)
    )
    return rising if abs(rising - falling) < 0.02 else None


def _furthest(points: Floats, way: tuple[float, float]) -> list[tuple[float, float]]:
    """The fortieth of the vertices that lie furthest some way, and at least eight."""
    ranked = sorted(((p[0] * way[0] + p[1] * way[1]), float(p[0]), float(p[1])) for p in points)
    return [(x, y) for _, x, y in ranked[-max(8, len(ranked) // 40) :]]


def template_findings(made: Template, router: Router, units: Units = "metric") -> tuple[Finding, ...]:
    """What would go wrong with a template, and what mends it."""

    def said(length: float) -> str:
        return format_length(length, units)

    found: list[Finding] = []
    if made.plate_enters is False:
        smaller = (
            f"Or take a bit of at most {format_least(made.bit_most, units)}, tried. "
            if made.bit_most and made.bit_most >= 3.0
            else ""
        )
        found.append(
            Finding(
                "top/template-corners",
                "caution",
                f"{made.name}: the plate's corners do not enter what a bit of {said(made.bit_diameter)} leaves: "
                f"each is {said(made.chisel)} too far out.",
                f"Chisel {said(made.chisel)} out of each corner. {smaller}".strip(),
                COMMON_PRACTICE,
            )
        )
    if made.base_least > made.base_diameter:
        wider = said(made.base_least)
        found.append(
            Finding(
                "top/template-base",
                "caution",
                f"{made.name}: the router's base of {said(made.base_diameter)} does not reach across the opening of "
                f"{said(min(made.opening_length, made.opening_width))}: it can tip into it.",
                f"Screw a wider base under it, at least {wider}, or tape a strip of the template's "
                "thickness into the middle and take that place last.",
                COMMON_PRACTICE,
            )
        )
    if made.thickness < made.thickness_least - 1e-9:
        why = (
            "the bearing stands above it at the first step" if router.bearing else "the bushing would ride on the wood"
        )
        found.append(
            Finding(
                "top/template-thin",
                "stop",
                f"{made.name}: a template of {said(made.thickness)} is too thin: {why}.",
                f"Make it of a sheet of at least {said(made.thickness_least)}.",
                COMMON_PRACTICE,
            )
        )
    if router.bit_reach is not None and router.bit_reach < made.reach - 1e-9:
        short = made.reach - router.bit_reach
        found.append(
            Finding(
                "top/template-reach",
                "stop",
                f"{made.name}: the bit's end must stand {said(made.reach)} below the base; it reaches {said(router.bit_reach)}.",
                f"Take a bit that reaches {said(short)} further, or go on without the template once the walls "
                "guide a bearing.",
                COMMON_PRACTICE,
            )
        )
    return tuple(found)


class Fitting(NamedTuple):
    """An opening with what goes into it, in the top's frame [mm]."""

    opening: Polygon
    plate: Polygon


def pocket_fitting(pocket: Pocket, at: tuple[float, float], room: PocketRoom, *, slack: float = 0.0) -> Fitting:
    """The opening of a pocket, and everywhere that its plate comes in the course of a year.

    Args:
        pocket: states the plate
        at: the plate's middle, as made [mm]
        room: round it
        slack: room across that is left in any season: paint and placing [mm]
    """
    x, y = at
    length, width = pocket.length / 2.0, pocket.width / 2.0
    opening = shapely.box(
        x - length - room.along_each, y - width - room.near, x + length + room.along_each, y + width + room.far
    )
    near, far = max(room.near - slack, 0.0), max(room.far - slack, 0.0)
    swept = shapely.box(x - length, y - width - near, x + length, y + width + far)
    radius = min(pocket.corner_radius, length, width)
    plate = swept.buffer(-radius, join_style="mitre").buffer(radius, quad_segs=_FINE) if radius else swept
    return Fitting(opening, plate)


def templates_for(
    features: Sequence[Feature],
    positions: Positions,
    rooms: Sequence[PocketRoom],
    router: Router,
    *,
    slack: float = 0.0,
    units: Units = "metric",
) -> tuple[tuple[Template, ...], tuple[Finding, ...]]:
    """A template for each pocket whose room is known, each let-in bar and each key, and what would go wrong.

    Args:
        features: of the top
        positions: middle of each, by its name [mm]
        rooms: of the pockets
        router: that follows the templates
        slack: room across that is left in any season: paint and placing [mm]
        units: of the job
    """
    room_of = {room.name: room for room in rooms}
    made: list[Template] = []
    found: list[Finding] = []
    for feature in features:
        if isinstance(feature, Pocket) and feature.name in room_of:
            fitting = pocket_fitting(feature, positions[feature.name], room_of[feature.name], slack=slack)
        elif isinstance(feature, Key):
            shape = bow_tie(feature, positions[feature.name])
            fitting = Fitting(shape, shape)
        elif isinstance(feature, Bar):
            shape = rectangle(*positions[feature.name], feature.width, feature.length)
            fitting = Fitting(shape, shape)
        else:
            continue
        try:
            one = template(
                fitting.opening,
                router,
                depth=feature.depth,
                name=feature.name,
                face=feature.face,
                plate=fitting.plate,
                units=units,
            )
        except NoTemplateError as trouble:
            found.append(
                Finding(
                    "top/no-template",
                    "caution",
                    str(trouble),
                    "Cut it on the machine, or state a smaller bit in [router] of the shop file.",
                    COMMON_PRACTICE,
                )
            )
            continue
        made.append(one)
        found += template_findings(one, router, units)
    return tuple(made), tuple(found)
