"""The five sizes of a base with their defaults, and the tubes that they want cut."""

from __future__ import annotations

import math
from dataclasses import dataclass

from slabwright.base.cut_list_results import Part
from slabwright.base.sections import Section, section
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base, BaseKind
from slabwright.quantities import Units, format_length

_SLACK = 0.5
_WIDEST = 1.1
"""Of the mean width: a top with live edges is wider in places."""


@dataclass(frozen=True)
class Sizes:
    """The sizes of a base with the defaults filled in [mm].

    Attributes:
        leg: foot's seat to the plate's underside
        others: as `Base` states them
    """

    tube: Section
    rail: Section
    stretcher: Section | None
    leg: float
    foot: float
    stud: float | None
    spread: float
    across: float
    top_across: float
    rail_height: float
    plate_width: float
    plate_length: float
    plate_thickness: float
    mitred: bool
    inset: float | None = None

    def lean(self) -> float:
        """Of a trestle's legs from upright [rad]."""
        return math.atan2((self.across - self.top_across) / 2, self.leg - self.rail.depth / 2)


def default_tube(units: Units) -> str:
    """The tube of a base that states none: common practice."""
    return "60x60x3" if units == "metric" else "HSS 2x2x1/4"


def keyed_section(key: str, name: str, units: Units) -> Section:
    """A section by its name.

    Raises:
        SlabwrightError: there is none; names the key that states it.
    """
    try:
        return section(name, units)
    except SlabwrightError as error:
        raise SlabwrightError(f"{key}: {error}") from None


def plate_thickness(base: Base, units: Units) -> float:
    """As stated; else 8 mm or 3/8 in: common practice."""
    return base.plate.thickness if base.plate.thickness is not None else (8.0 if units == "metric" else 9.525)


def sizes_of(base: Base, length: float, width: float, height: float, leg: float, units: Units, kind: BaseKind) -> Sizes:
    """The sizes of a base; what is not stated follows common practice.

    Args:
        base: as stated
        length: of the top [mm]
        width: of the top [mm]
        height: finished [mm]
        leg: foot's seat to the plate's underside, from the height stack [mm]
        units: of the job
        kind: the picture

    Raises:
        SlabwrightError: sizes that make no base.
    """
    tube = keyed_section("base.tube", base.tube or default_tube(units), units)
    rail = keyed_section("base.rail", base.rail, units) if base.rail else tube
    across = base.across if base.across is not None else 0.7 * width
    plate = base.plate
    found = Sizes(
        tube=tube,
        rail=rail,
        stretcher=keyed_section("base.stretcher", base.stretcher, units) if base.stretcher else None,
        leg=leg,
        foot=base.feet.stands(),
        stud=base.feet.stud if base.feet.kind == "levellers" and base.feet.stands() > 0.0 else None,
        spread=base.spread if base.spread is not None else 0.7 * length,
        across=across,
        top_across=base.top_across if base.top_across is not None else 0.7 * across,
        rail_height=base.rail_height if base.rail_height is not None else height / 3.0,
        plate_width=plate.width if plate.width is not None else 4.0 * tube.width,
        plate_length=plate.length if plate.length is not None else across,
        plate_thickness=plate_thickness(base, units),
        mitred=base.corners == "mitred",
        inset=base.feet.inset,
    )
    least = 2.0 * tube.depth + 20.0
    for value, name in ((found.across, "across"), (found.spread, "spread")):
        if value < least:
            raise SlabwrightError(
                f"base.{name}: {format_length(value, units)} leaves no room between two uprights of {tube.name}; at least"
                f" {format_length(least, units)} is needed"
            )
    _on_the_top(base, found, length, width, units, kind)
    if leg < rail.depth * 2.0 + 20.0:
        raise SlabwrightError(
            f"base.tube: legs of {format_length(leg, units)} are too short for rails of {rail.name}: the top, its plates and the"
            " feet take up the height; state a greater [piece] height"
        )
    if found.inset is not None and found.inset > across / 2.0 - 20.0:
        raise SlabwrightError(
            f"base.feet.inset: {format_length(found.inset, units)} from either end of a rail of"
            f" {format_length(across, units)} brings the feet together; at most {format_length(across / 2.0 - 20.0, units)} goes"
        )
    railed = kind == "trestles" or found.stretcher is not None
    if railed and not found.foot + rail.depth / 2.0 < found.rail_height < found.foot + leg - rail.depth:
        raise SlabwrightError(
            f"base.rail_height: {format_length(found.rail_height, units)} is not between foot and top of the legs"
        )
    return found


def _on_the_top(base: Base, sizes: Sizes, length: float, width: float, units: Units, kind: BaseKind) -> None:
    """Whether the plates lie under the top, and reach what they are welded to.

    Raises:
        SlabwrightError: they do not.
    """
    ends = sizes.spread + sizes.plate_width
    if ends > length + _SLACK:
        key, most = ("base.spread", length - sizes.plate_width)
        if base.spread is None or most <= 2.0 * sizes.tube.depth:
            key, most = "base.plate.width", length - sizes.spread
        raise SlabwrightError(
            f"{key}: plates of {format_length(sizes.plate_width, units)} whose middles are"
            f" {format_length(sizes.spread, units)} apart stand out beyond the ends of a top that is"
            f" {format_length(length, units)} long; at most {format_length(max(most, 0.0), units)} goes"
        )
    if sizes.plate_length > _WIDEST * width:
        key = "base.plate.length" if base.plate.length is not None else "base.across"
        raise SlabwrightError(
            f"{key}: plates {format_length(sizes.plate_length, units)} long stand out beyond the edges of a top that is"
            f" {format_length(width, units)} wide; at most {format_length(width, units)} goes"
        )
    if kind == "U legs" and sizes.plate_length < sizes.across - sizes.tube.depth:
        raise SlabwrightError(
            f"base.plate.length: {format_length(sizes.plate_length, units)} does not reach the uprights, which stand"
            f" {format_length(sizes.across, units)} apart, outside to outside; state"
            f" {format_length(sizes.across, units)}, or bring them closer with base.across"
        )


def tubes_to_cut(kind: BaseKind, sizes: Sizes) -> list[Part]:
    """The tubes to cut, both leg frames together; a leg's length is to its foot's seat."""
    tube, rail = sizes.tube, sizes.rail
    parts = []
    mitre = (45.0, 45.0) if sizes.mitred and tube.depth == rail.depth else (0.0, 0.0)
    cut = mitre[0] > 0.0
    if kind == "U legs":
        upright = sizes.leg if cut else sizes.leg - rail.depth
        parts = [
            Part("upright", tube, upright, (mitre[0], 0.0), 4),
            Part("bottom rail", rail, sizes.across, mitre, 2),
        ]
    elif kind == "closed loops":
        upright = sizes.leg if cut else sizes.leg - 2 * rail.depth
        parts = [Part("upright", tube, upright, mitre, 4), Part("rail", rail, sizes.across, mitre, 4)]
    elif kind == "inverted U":
        upright = sizes.leg if cut else sizes.leg - rail.depth
        parts = [Part("upright", tube, upright, (mitre[0], 0.0), 4), Part("top rail", rail, sizes.across, mitre, 2)]
    elif kind == "four legs":
        parts = [
            Part("leg", tube, sizes.leg, count=4),
            Part("end rail", rail, sizes.across - 2 * tube.depth, count=2),
            Part("long rail", rail, sizes.spread - tube.width, count=2),
        ]
    else:
        lean = sizes.lean()
        tall = sizes.leg - rail.depth
        degrees = abs(math.degrees(lean))
        share = (sizes.rail_height - sizes.foot) / (sizes.leg - rail.depth / 2)
        between = sizes.across + share * (sizes.top_across - sizes.across) - 2 * tube.depth / math.cos(lean)
        middle = between + rail.depth * math.tan(abs(lean))
        parts = [
            Part(
                "leg",
                tube,
                tall / math.cos(lean) + tube.depth * math.tan(abs(lean)),
                (degrees, degrees),
                4,
                opposite=True,
            ),
            Part("top rail", rail, sizes.top_across, count=2),
            Part("middle rail", rail, middle, (degrees, degrees), 2),
            Part("stretcher", sizes.stretcher or rail, sizes.spread - rail.width),
        ]
    if kind != "trestles" and sizes.stretcher is not None:
        parts.append(Part("stretcher", sizes.stretcher, sizes.spread - tube.width, count=2))
    return parts
