"""The ways out of a dip, side by side: what each gives in millimetres and costs in money and days."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from slabwright.accounts import figure
from slabwright.findings import COMMON_PRACTICE
from slabwright.geometry.faces import Face, Grid, Scatter
from slabwright.job.models import Epoxy, Fill, Prices
from slabwright.quantities import Units, format_length
from slabwright.slab.patch import FrontPoint, Patch

Kind = Literal["as it is", "other face up", "dip on the underside", "shorten", "thinner", "let in wood", "fill"]
_WINDOWS = 7
_SHARES = (0.05, 0.1)
_NOTHING = 1e-9


@dataclass(frozen=True)
class Way:
    """One way out of a dip, with what it costs."""

    kind: Kind = figure("", "what is done")
    thickness: float = figure(
        "mm",
        "of the readings, done so",
        how="the lie of the slab worked out anew for this way: with the fill, without the length cut off, with the other face up",
        rests_on=["slab.seat.thickness", "slab.patch_front"],
        sure="proven to 0.01 mm on the readings",
    )
    thickness_low: float = figure(
        "mm",
        "promised, done so",
        how="thickness done so, less the steps from the readings to the promise, at its own tilt and length",
        rests_on=["slab.seat.terms"],
        sure="19 times in 20",
        rounds="down",
    )
    gain: float = figure("mm", "against leaving it as it is", how="promised done so less promised as it is")
    length: float = figure("mm", "of the flat that is left", rests_on=["slab.survey.length", "job:piece.length"])
    volume: float = figure("mm3", "of fill, or of skip left on the underside", rests_on=["slab.patch_front"])
    area: float = figure("mm2", "that shows on the show face", rests_on=["slab.patch_front"])
    money: float | None = figure(
        "money",
        "what it costs; empty without prices",
        how="fill: volume and visible area at their prices; let-in wood: pieces at their price; shortened: the wood cut off",
        rests_on=[
            "job:fill.price_per_litre",
            "job:fill.price_per_visible_area",
            "shop:prices.insert_per_piece",
            "shop:prices.wood_per_cubic_metre",
        ],
    )
    days: float = figure(
        "day",
        "of waiting that it adds",
        how="fill: pours and the wait before machining; let-in wood: a day for the glue",
        rests_on=["shop:epoxy.hours_between_pours", "shop:epoxy.hours_before_machining"],
        source=COMMON_PRACTICE,
    )
    fits: bool = figure(
        "", "whether it gives what the job asks for and the job allows it", rests_on=["job:piece.thickness", "job:fill"]
    )
    reason: str = figure("", "why it does not fit; empty where it does")
    note: str = figure("", "what to know about it")


def cut_to(face: Face, x_from: float, x_to: float) -> Face:
    """The readings of a face between two places along the grain, both included."""
    if isinstance(face, Grid):
        inside = (face.x >= x_from) & (face.x <= x_to)
        return Grid(face.x[inside], face.y, face.z[inside])
    inside = (face.x >= x_from) & (face.x <= x_to)
    return Scatter(face.x[inside], face.y[inside], face.z[inside])


def knee(front: Sequence[FrontPoint], cost: Sequence[float]) -> int:
    """The point of thickness against cost farthest above its chord: beyond it more money buys little.

    Args:
        front: thickness against fill, from no fill on
        cost: of each point, in any unit, from 0 on
    """
    thickness = np.array([point.thickness for point in front])
    spent = np.asarray(cost, dtype=np.float64)
    if len(front) < 2 or spent[-1] - spent[0] < _NOTHING or thickness[-1] - thickness[0] < _NOTHING:
        return 0
    return int(
        np.argmax(
            (thickness - thickness[0]) / (thickness[-1] - thickness[0]) - (spent - spent[0]) / (spent[-1] - spent[0])
        )
    )


def fill_money(point: FrontPoint, fill: Fill) -> float | None:
    """Price of a fill: its volume in litres and its visible area in square metres, each at its price; None without a price."""
    if fill.price_per_litre is None and fill.price_per_visible_area is None:
        return None
    return point.fill_volume / 1e6 * (fill.price_per_litre or 0.0) + point.fill_area / 1e6 * (
        fill.price_per_visible_area or 0.0
    )


def fill_days(patches: Sequence[Patch], epoxy: Epoxy) -> float:
    """Days that a fill waits: between the pours of the deepest patch, and before it may be machined."""
    if not patches:
        return 0.0
    pours = max(patch.pours for patch in patches)
    return ((pours - 1) * epoxy.hours_between_pours + epoxy.hours_before_machining) / 24.0


def windows(x_from: float, x_to: float, wanted: float | None) -> list[tuple[float, float]]:
    """Stretches that shortening may leave: slid from end to end where the length is known, else a little off either end."""
    length = x_to - x_from
    if wanted is not None:
        spare = length - wanted
        return (
            [(x_from + shift, x_from + shift + wanted) for shift in np.linspace(0.0, spare, _WINDOWS)]
            if spare > 1.0
            else []
        )
    return [ends for share in _SHARES for ends in ((x_from + share * length, x_to), (x_from, x_to - share * length))]


@dataclass(frozen=True)
class WaysInput:
    """What the ways are weighed with.

    Attributes:
        thickness: of the readings as they are [mm]
        thickness_low: promised as it is [mm]
        needed: promised thickness that the job asks for [mm], or None for the most
        length: of the clean region [mm]
        width: of the clean region [mm]
        front: thickness against fill of the show face
        front_other: of the other face
        reference: the point of `front` that fill, let-in wood and dip on the underside are shown for
        promised: thickness of a board with the fill of a point [mm]
        patches: the separate patches of that point
        shortened: promised and read thickness of a stretch from x to x [mm]
        stretches: from `windows`
        units: that notes are written in
    """

    thickness: float
    thickness_low: float
    needed: float | None
    length: float
    width: float
    front: Sequence[FrontPoint]
    front_other: Sequence[FrontPoint]
    reference: int
    promised: Callable[[FrontPoint], float]
    patches: Sequence[Patch]
    shortened: Callable[[float, float], tuple[float, float]]
    stretches: Sequence[tuple[float, float]]
    units: Units


def ways(given: WaysInput, fill: Fill, epoxy: Epoxy, prices: Prices) -> tuple[Way, ...]:
    """Every way out of a dip that this slab has, side by side.

    Args:
        given: the slab's figures
        fill: prices, consent
        epoxy: waiting times
        prices: of let-in wood

    Returns:
        As it is first, then the others; a way that gives nothing is kept, so that it is seen to give nothing.
    """
    point = given.front[given.reference]
    agreed = fill.client_agrees is not False
    unfilled = "the client said no" if not agreed else "no price for fill" if fill.price_per_litre is None else ""

    def way(
        kind: Kind,
        thickness: float,
        note: str,
        *,
        low: float | None = None,
        allowed: bool = True,
        forbidden: str = "",
        **more: float | None,
    ) -> Way:
        promised = given.thickness_low if low is None else low
        figures: dict[str, float | None] = {
            "length": given.length,
            "volume": 0.0,
            "area": 0.0,
            "money": 0.0,
            "days": 0.0,
            **more,
        }
        enough = given.needed is None or promised >= given.needed - 1e-6
        reason = "" if allowed and enough else forbidden if not allowed else "too thin"
        return Way(
            kind=kind,
            thickness=thickness,
            thickness_low=promised,
            gain=promised - given.thickness_low,
            fits=allowed and enough,
            reason=reason,
            note=note,
            length=figures["length"] or 0.0,
            volume=figures["volume"] or 0.0,
            area=figures["area"] or 0.0,
            money=figures["money"],
            days=figures["days"] or 0.0,
        )

    found = [way("as it is", given.thickness, "Nothing filled, nothing cut off.")]
    if given.needed is not None and given.needed > given.thickness_low:
        found.append(
            way("thinner", given.thickness, "Agree on what is sure with the client.", allowed=True)
            if given.thickness_low > 0
            else way("thinner", given.thickness, "There is no board to agree on.", allowed=False, forbidden="no board")
        )
    if point.fill_volume > _NOTHING:
        filled = given.promised(point)
        other = max(
            (candidate for candidate in given.front_other if candidate.fill_volume <= point.fill_volume + _NOTHING),
            key=lambda candidate: candidate.thickness,
        )
        found.append(
            way(
                "other face up",
                other.thickness,
                "Show the other face, with no more fill on it than would be put on this one.",
                low=given.promised(other),
                allowed=not unfilled or other.fill_volume <= _NOTHING,
                forbidden=unfilled,
                volume=other.fill_volume,
                area=other.fill_area,
                money=fill_money(other, fill),
                days=fill_days(given.patches, epoxy) if other.fill_volume > _NOTHING else 0.0,
            )
        )
        found.append(
            way(
                "dip on the underside",
                point.thickness,
                "Turn the dip down and leave it as a skip that nobody sees; allowed once the job prices skips on the underside.",
                low=filled,
                allowed=fill.underside_price_per_litre is not None,
                forbidden="no price for skips",
                volume=point.fill_volume,
            )
        )
        count = len(given.patches)
        found.append(
            way(
                "let in wood",
                point.thickness,
                f"{count} piece{'s' if count != 1 else ''} of the same wood let into the show face.",
                low=filled,
                allowed=agreed,
                forbidden="the client said no",
                volume=point.fill_volume,
                area=point.fill_area,
                money=None if prices.insert_per_piece is None else count * prices.insert_per_piece,
                days=1.0,
            )
        )
        found.append(
            way(
                "fill",
                point.thickness,
                "Wants the client's sign-off."
                if fill.client_agrees is None
                else ("Agreed." if agreed else "The client said no."),
                low=filled,
                allowed=not unfilled,
                forbidden=unfilled,
                volume=point.fill_volume,
                area=point.fill_area,
                money=fill_money(point, fill),
                days=fill_days(given.patches, epoxy),
            )
        )
    best: Way | None = None
    for x_from, x_to in given.stretches:
        thickness, low = given.shortened(x_from, x_to)
        if best is None or low > best.thickness_low:
            stretch = f"{format_length(x_from, given.units)} to {format_length(x_to, given.units)}"
            note = f"Keep the stretch from x = {stretch} ([slab] cut_from, cut_to)."
            lost = None
            if prices.wood_per_cubic_metre is not None:
                lost = (given.length - (x_to - x_from)) * given.width * thickness / 1e9 * prices.wood_per_cubic_metre
            best = way("shorten", thickness, note, low=low, length=x_to - x_from, money=lost)
    return (*found, best) if best is not None else tuple(found)
