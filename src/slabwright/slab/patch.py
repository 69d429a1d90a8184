"""Thickness against fill, and the separate patches of a chosen point."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shapely import Polygon

from slabwright.accounts import figure, working
from slabwright.geometry.planes import PlanePair


@dataclass(frozen=True)
class FrontPoint:
    """One point of thickness against fill: so much fill, so thick a board."""

    fill_area: float = figure("mm2", "area that is filled on the show face")
    fill_volume: float = figure("mm3", "wood missing below the show plane")
    thickness: float = figure("mm", "board of the readings with that fill")
    bound: float = figure("mm", "no lie gives more with that volume of fill")
    deepest: float = figure("mm", "deepest fill")
    price_area: float = figure("mm2", "area K at which a unit of volume is worth 1/K of thickness; 0 for no fill")
    planes: PlanePair = working()


@dataclass(frozen=True)
class Patch:
    """One filled place."""

    name: str = figure("", "letter on the map")
    x: float = figure("mm", "middle, along the grain")
    y: float = figure("mm", "middle, across")
    area: float = figure("mm2", "seen on the show face")
    volume: float = figure("mm3", "of fill, with the least depth")
    depth: float = figure("mm", "at its deepest")
    meets_edge: bool = figure("", "whether it runs out at an edge or end, so that it wants a dam")
    hole: bool = figure("", "whether it goes through the board")
    pours: int = figure("1", "that the resin's greatest depth asks for")
    resin: float = figure("kg", "of mix, with waste")
    outline: Polygon = working()


@dataclass(frozen=True)
class Way:
    """One way out of a dip, with what it costs."""

    kind: Literal["as it is", "other face up", "dip on the underside", "shorten", "thinner", "let in wood", "fill"] = (
        figure("", "what is done")
    )
    thickness: float = figure("mm", "of the readings, done so")
    thickness_low: float = figure("mm", "promised, done so")
    gain: float = figure("mm", "against leaving it as it is")
    length: float = figure("mm", "of the flat that is left")
    volume: float = figure("mm3", "of fill, or of skip left on the underside")
    area: float = figure("mm2", "that shows on the show face")
    money: float | None = figure("money", "what it costs; empty without prices")
    days: float = figure("day", "of waiting that it adds")
    fits: bool = figure("", "whether it gives what the job asks for")
    note: str = figure("", "what to know about it")
