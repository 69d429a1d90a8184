"""Thickness against fill, and the separate patches of a chosen point."""

from __future__ import annotations

from dataclasses import dataclass

from shapely import Polygon

from slabwright.accounts import figure, working
from slabwright.geometry.planes import PlanePair

_FRONT = ("job:slab.survey", "job:slab.show_face", "slab.seat.thickness")
_PATCH = ("slab.chosen_fill", "slab.patch_front", "job:fill.least_depth")


@dataclass(frozen=True)
class FrontPoint:
    """One point of thickness against fill: so much fill, so thick a board."""

    fill_area: float = figure(
        "mm2",
        "area that is filled on the show face",
        how="the cells of the readings that lie below the show plane, added up",
        rests_on=_FRONT,
        sure="each reading stands for its cell; between readings the true border of a fill is not known",
    )
    fill_volume: float = figure(
        "mm3",
        "wood missing below the show plane",
        how="each reading's depth below the show plane times its cell, added up; without waste and without the least depth",
        rests_on=_FRONT,
        sure="each reading stands for its cell; closer readings make it surer",
    )
    thickness: float = figure(
        "mm",
        "board of the readings with that fill",
        how="distance of the two planes; at a price of fill, the two tilts and the height that pay best",
        rests_on=_FRONT,
        sure="proven: the most that any lie with that volume of fill gives stands beside it, as bound",
        change="choose another point of thickness against fill ([fill] choose)",
    )
    bound: float = figure(
        "mm",
        "no lie gives more with that volume of fill",
        how="over all prices the least of: the best value at the price, plus the volume at the price",
        rests_on=_FRONT,
        source="expected shortfall: Rockafellar and Uryasev, Journal of Risk 2 (2000), theorem 1",
        rounds="up",
    )
    deepest: float = figure(
        "mm",
        "deepest fill",
        how="the lowest reading of the show face below the show plane",
        rests_on=_FRONT,
        sure="of the readings; between them it may be deeper",
    )
    price_area: float = figure(
        "mm2",
        "area K at which a unit of volume is worth 1/K of thickness; 0 for no fill",
        how="from no fill to 60 % of the show face, in equal ratios",
    )
    planes: PlanePair = working()
    skip_volume: float = figure(
        "mm3",
        "of skips left on the underside",
        how="each reading of the underside above the lower plane, times its cell, added up",
        rests_on=("job:fill.underside_price_per_litre",),
        change="skips are left only where the job prices them",
        default=0.0,
    )


@dataclass(frozen=True)
class Patch:
    """One filled place. `x`, `y` and `outline` are in the seat's frame of the chosen point."""

    name: str = figure("", "letter on the map", how="A is the largest")
    x: float = figure("mm", "middle, along the grain", how="centre of its area, on the finished face", rests_on=_PATCH)
    y: float = figure("mm", "middle, across", how="centre of its area, on the finished face", rests_on=_PATCH)
    area: float = figure(
        "mm2", "seen on the show face", how="where the show plane passes above the wood, in one piece", rests_on=_PATCH
    )
    volume: float = figure(
        "mm3",
        "of fill, with the least depth",
        how="depth times area, where it is shallower than the least depth undercut to that",
        rests_on=_PATCH,
        sure="the wood between readings is taken as straight",
        change="[fill] least_depth, or another point of thickness against fill",
    )
    missing: float = figure(
        "mm3", "of wood below the show plane, before any undercut", how="depth times area", rests_on=_PATCH
    )
    depth: float = figure(
        "mm", "at its deepest", how="the deepest place, or the least depth where that is more", rests_on=_PATCH
    )
    meets_edge: bool = figure(
        "",
        "whether it runs out at an edge or end, so that it wants a dam",
        how="whether it reaches the border of the finished top",
        rests_on=_PATCH,
    )
    hole: bool = figure("", "whether it goes through the board", how="deeper than the board is thick", rests_on=_PATCH)
    pours: int = figure(
        "1",
        "that the epoxy's greatest depth asks for",
        how="depth over the greatest depth of one pour, rounded up",
        rests_on=("shop:epoxy.greatest_pour", *_PATCH),
        source="the epoxy's data sheet",
    )
    resin: float = figure(
        "kg",
        "of mix, with waste",
        how="volume times density, plus the share of waste",
        rests_on=("shop:epoxy.density", "shop:epoxy.waste", *_PATCH),
    )
    outline: Polygon = working()
