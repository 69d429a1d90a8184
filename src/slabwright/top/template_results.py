"""Results of the templates: what a hand-held router follows to cut each opening."""

from __future__ import annotations

from dataclasses import dataclass

from shapely import Polygon

from slabwright.accounts import figure, working
from slabwright.findings import COMMON_PRACTICE

_ROUTER = ("shop:router.bushing_diameter", "shop:router.bearing", "shop:router.bit_diameter")
_OPENING = ("top.pockets", "job:top.features")


@dataclass(frozen=True)
class CheckLength:
    """A length to measure on the template before anything is cut."""

    what: str = figure("", "from where to where")
    length: float = figure("mm", "that it must be", how="from the template's own shape", rests_on=(*_ROUTER, *_OPENING))


@dataclass(frozen=True)
class Template:
    """The template for one opening."""

    name: str = figure("", "the feature that it is for", rests_on=("job:top.features",))
    face: str = figure("", "the face that it lies on; the template is drawn as it is seen lying there")
    guide: str = figure("", "what follows the template", rests_on=_ROUTER)
    guide_diameter: float = figure("mm", "of what follows the template", rests_on=_ROUTER)
    bit_diameter: float = figure("mm", "of the bit", rests_on=_ROUTER)
    offset: float = figure(
        "mm",
        "of the template's edge outside the pocket's wall, all round",
        how="(guide bushing - bit) / 2; nothing for a bearing of the bit's own diameter",
        rests_on=_ROUTER,
        sure="as sure as the bushing is centred on the bit: turn the router and a bushing out of centre shows",
        change="another bushing or another bit",
    )
    middle_along: float = figure("mm", "of the opening's middle from the left end", rests_on=_OPENING)
    middle_across: float = figure(
        "mm", "of the opening's middle from the centre line, towards the far edge positive", rests_on=_OPENING
    )
    cut_length: float = figure("mm", "of the pocket as cut, along the grain", rests_on=_OPENING)
    cut_width: float = figure("mm", "of the pocket as cut, across the grain", rests_on=_OPENING)
    cut_corner_radius: float = figure(
        "mm",
        "of the pocket's tightest inside corner",
        how="a corner comes out no tighter than the bit; a rounder one stays as it was drawn",
        rests_on=_ROUTER,
        change="a smaller bit",
    )
    opening_length: float = figure("mm", "of the template's opening, along the grain", how="pocket + twice the offset")
    opening_width: float = figure("mm", "of the template's opening, across the grain", how="pocket + twice the offset")
    corner_radius: float = figure(
        "mm",
        "of the template's tightest inside corner",
        how="pocket's corner radius + offset; a tighter one does no harm: the guide does not enter it",
        rests_on=_ROUTER,
    )
    plate_enters: bool | None = figure(
        "",
        "whether the plate's corners enter the pocket, in every season; empty where no plate is known",
        how="the plate's shape, moved as far as the wood moves, laid in the pocket as the bit leaves it",
        rests_on=(*_OPENING, "top.pockets", *_ROUTER),
    )
    chisel: float = figure(
        "mm",
        "to be chiselled out of each corner, towards the corner, so that the plate enters",
        how="farthest that the plate's corner reaches beyond the pocket's wall",
        rests_on=(*_OPENING, *_ROUTER),
        change="a smaller bit, a plate with rounder corners, or more room",
    )
    bit_most: float | None = figure(
        "mm",
        "largest bit with which the plate enters without a chisel; empty where none does or no plate is known",
        how="tried, halving the step",
        rests_on=_OPENING,
        rounds="down",
    )
    outer_length: float = figure(
        "mm",
        "of the template itself, along the grain",
        how="opening + at both ends what the base reaches beyond the guide and room for clamps; rounded up",
        rests_on=("shop:router.base_diameter", *_ROUTER),
        source=COMMON_PRACTICE,
    )
    outer_width: float = figure(
        "mm",
        "of the template itself, across the grain",
        how="opening + on both sides what the base reaches beyond the guide and room for clamps; rounded up",
        rests_on=("shop:router.base_diameter", *_ROUTER),
        source=COMMON_PRACTICE,
    )
    clamp_room: float = figure(
        "mm", "along the template's rim, that the base never reaches: clamps go there", source=COMMON_PRACTICE
    )
    base_diameter: float = figure("mm", "of the router's base", rests_on=("shop:router.base_diameter",))
    base_least: float = figure(
        "mm",
        "least base that rests on both sides of the opening, wherever the bit is",
        how="2 x (narrow way through the opening - half the guide + 10 mm of bearing): with the guide at one side it "
        "still reaches the other; rounded up",
        rests_on=("shop:router.base_diameter", *_ROUTER),
        source=COMMON_PRACTICE,
        rounds="up",
    )
    thickness: float = figure("mm", "of the sheet", rests_on=("shop:router.template_thickness",))
    thickness_least: float = figure(
        "mm",
        "least thickness of the sheet",
        how="bushing: 1 mm more than it stands out below the base; bearing: so much that 3 mm of it touch at the first step",
        rests_on=("shop:router.bushing_reach", "shop:router.flute_length"),
        source=COMMON_PRACTICE,
        rounds="up",
    )
    depth: float = figure("mm", "of the pocket", rests_on=("job:top.features",))
    steps: tuple[float, ...] = figure(
        "mm",
        "depth below the face after each step",
        how="equal steps of at most the greatest, then a thin last one",
        rests_on=("shop:router.greatest_depth", "shop:router.last_depth", "job:top.features"),
        source=COMMON_PRACTICE,
    )
    reach: float = figure("mm", "of the bit's end below the base at full depth", how="template + pocket's depth")
    checks: tuple[CheckLength, ...] = figure("", "lengths to measure before anything is cut")
    opening: Polygon = working(None)
    """The template's opening, in the top's frame [mm]."""
    cut: Polygon = working(None)
    """The pocket as the bit leaves it, in the top's frame [mm]."""
    outer: Polygon = working(None)
    """The template's rim, in the top's frame [mm]."""
