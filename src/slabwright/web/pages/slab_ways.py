"""The decisions about a slab as options: the ways out of a dip with their costs, and how much fill."""

from __future__ import annotations

import re
from typing import Any

from pydantic import Field

from slabwright.findings import Finding
from slabwright.plan import Plan
from slabwright.quantities import INCH, format_least
from slabwright.sheets.words import Words
from slabwright.slab.results import SlabPlan
from slabwright.slab.ways import Way, fill_money
from slabwright.web.models import Model, Remedy
from slabwright.web.planning import Planned
from slabwright.web.remedies import remedies_for

_STRETCH = re.compile(r"from x = (.+?) to (.+?) \(")
_SAME = 1e-6


class WayView(Model):
    """A way out of a dip."""

    kind: str = Field(description="what is done")
    title: str = Field(description="the same, as people read it")
    sure: str = Field(description="the board that is sure 19 times in 20, done so")
    board: str = Field(description="the board of the readings, done so")
    gain: str = Field(description="of what is sure, against leaving it as it is")
    money: str
    days: str = Field(description="of waiting")
    length: str = Field(description="of the flat that is left")
    shows: str = Field(description="how much of it shows on the show face; nothing where none does")
    fits: bool = Field(description="whether it gives what is asked for, and the job allows it")
    reason: str = Field(description="why it does not fit; nothing where it does")
    note: str
    taken: bool = Field(description="whether the plan goes this way now")
    path: str = Field(description="of what is sure, in plan.json")
    values: dict[str, Any] = Field(description="keys that take this way; none where the job file has no word for it")
    take: str = Field(description="on the button; nothing where there is none")


class FillView(Model):
    """A point of thickness against fill."""

    number: int = Field(description="as [fill] choose counts; 0: no fill")
    volume: float = Field(description="in litres or fluid ounces, as the chart has it")
    board: float = Field(description="of the readings, in the job's unit, as the chart has it")
    volume_shown: str
    board_shown: str
    area_shown: str = Field(description="seen on the show face")
    deepest_shown: str
    money_shown: str
    taken: bool


def fill_views(plan: Plan, slab: SlabPlan, words: Words) -> list[FillView]:
    """Every point of thickness against fill."""
    unit = 1.0 if words.metric else INCH
    return [
        FillView(
            number=number,
            volume=round(words.volume_number(point.fill_volume), 4),
            board=round(point.thickness / unit, 4),
            volume_shown=words.fill(point.fill_volume) if point.fill_volume > 0 else "no fill",
            board_shown=words.fine(point.thickness),
            area_shown=words.area(point.fill_area),
            deepest_shown=words.fine(point.deepest),
            money_shown="nothing" if number == 0 else words.money(fill_money(point, plan.job.stated.fill)),
            taken=number == slab.chosen_fill,
        )
        for number, point in enumerate(slab.patch_front)
    ]


def way_views(plan: Plan, slab: SlabPlan, words: Words) -> list[WayView]:
    """Every way out of a dip, side by side."""
    return [_way_view(plan, slab, words, number, way) for number, way in enumerate(slab.ways)]


def _way_view(plan: Plan, slab: SlabPlan, words: Words, number: int, way: Way) -> WayView:
    values, take = _deed(plan, slab, words, way)
    filled = slab.chosen_fill > 0
    so = filled and abs(way.volume - _volume(slab)) < 1.0
    wood = slab.filled_with == "let in wood"
    taken = {"as it is": not filled, "fill": so and not wood, "let in wood": so and wood}.get(way.kind, False)
    return WayView(
        kind=way.kind,
        title=f"{way.kind[:1].upper()}{way.kind[1:]}",
        sure=words.least(way.thickness_low),
        board=words.fine(way.thickness),
        gain="nothing" if abs(way.gain) < 0.005 else words.signed(way.gain),
        money="nothing" if way.money == 0 else words.money(None if way.money is None else float(way.money)),
        days=words.days(way.days) if way.days > 0 else "none",
        length=words.place(way.length),
        shows=f"{words.area(way.area)}, {words.fill(way.volume)}" if way.area > 0 else "",
        fits=way.fits,
        reason=way.reason,
        note=way.note,
        taken=taken,
        path=f"slab.ways[{number}].thickness_low",
        values={} if taken else values,
        take="" if taken else take,
    )


def _volume(slab: SlabPlan) -> float:
    return slab.patch_front[slab.chosen_fill].fill_volume


def _deed(plan: Plan, slab: SlabPlan, words: Words, way: Way) -> tuple[dict[str, Any], str]:
    """The keys that take a way, and what its button says; none where the job file has no word for it."""
    if way.reason in ("the client said no", "no board") or way.thickness_low <= 0.0:
        return {}, ""
    if way.kind == "as it is":
        return {"fill.choose": 0}, "Leave it as it is"
    if way.kind == "thinner":
        sure = format_least(way.thickness_low, words.units)
        return {"piece.thickness": sure, "fill.choose": 0}, f"Agree on {sure}"
    if way.kind == "other face up":
        face = "B" if slab.show_face == "A" else "A"
        values: dict[str, Any] = {"slab.show_face": face}
        if plan.job.stated.fill.choose is not None:
            values["fill.choose"] = None
        return values, f"Show face {face}"
    if way.kind in ("fill", "let in wood"):
        number = next(
            (
                k
                for k, point in enumerate(slab.patch_front)
                if abs(point.fill_volume - way.volume) < _SAME * max(way.volume, 1.0)
            ),
            None,
        )
        if number is None or (way.kind == "fill" and way.reason == "no price for fill"):
            return {}, ""
        other = plan.job.stated.fill.way == "let in wood"
        if way.kind == "let in wood":
            return {"fill.choose": number, "fill.way": "let in wood"}, "Let in wood"
        return {"fill.choose": number, **({"fill.way": None} if other else {})}, "Fill it"
    if way.kind == "shorten" and (found := _STRETCH.search(way.note)) is not None:
        return {"slab.cut_from": found[1], "slab.cut_to": found[2]}, "Use this stretch"
    return {}, ""


def _thinner(finding: Finding, planned: Planned) -> Remedy | None:
    """Ask for no more than is sure."""
    slab = planned.result.slab if planned.result else None
    if slab is None or slab.seat.thickness_low_filled <= 0.0 or planned.result is None:
        return None
    sure = format_least(slab.seat.thickness_low_filled, planned.result.job.stated.job.units)
    return Remedy(words=f"Agree on {sure}", values={"piece.thickness": sure})


remedies_for("slab/too-thin")(_thinner)
remedies_for("slab/not-sure")(_thinner)


@remedies_for("slab/no-such-fill")
def _last_fill(finding: Finding, planned: Planned) -> Remedy | None:
    """Take the last point that there is."""
    slab = planned.result.slab if planned.result else None
    if slab is None:
        return None
    last = len(slab.patch_front) - 1
    return Remedy(words=f"Take fill {last}, the most there is", values={"fill.choose": last})
