"""Live answers for the top: a feature is moved, measured otherwise or set free, and every clearance is told; nothing is saved."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import Field

from slabwright.findings import SlabwrightError
from slabwright.job.loaded import Job
from slabwright.job.top_models import Channel, Placed
from slabwright.plan import Plan
from slabwright.quantities import Units, format_length
from slabwright.sheets.context import Context
from slabwright.top import clearance_rules as rule
from slabwright.top.layout_findings import layout_findings
from slabwright.top.layout_results import Clearance
from slabwright.top.moving import Trial
from slabwright.top.results import TopPlan
from slabwright.top.trying import tried_top
from slabwright.web.figures import problem_of
from slabwright.web.models import Model, Number, Problem
from slabwright.web.pages.top_fields import FeatureKind, another, new_feature
from slabwright.web.pages.top_picture import crossing_edges, plan_picture
from slabwright.web.store import NotThere
from slabwright.web.typed import retold, typed

_PLACE = (rule.EDGE, rule.BETWEEN, rule.WORKED_EDGE, rule.NUT, rule.KEPT_CLEAR, rule.PLATE)
_WAYS = ("right end", "far edge")
"""From these a distance is typed against the way that the place is counted."""
Millimetres = Annotated[float, Field(ge=-20_000, le=20_000, allow_inf_nan=False)]


class Shift(Model):
    """A move of the chosen feature."""

    along: Millimetres = Field(0.0, description="towards the right end [mm]")
    across: Millimetres = Field(0.0, description="towards the far edge [mm]")


class TopTry(Model):
    """What is tried."""

    revision: Number = Field(description="that was looked at")
    values: dict[str, Any] = Field(
        default_factory=dict,
        max_length=400,
        description="as an edit takes them; keys of top",
        examples=[{"top.features[0].along": 430}],
    )
    chosen: str = Field("", max_length=60, description="name of a feature, or nothing")
    side: Literal["show", "underside"] = Field("underside", description="the face that is up in the picture")
    narrow: bool = Field(False, description="whether the picture is for a phone")
    shift: Shift | None = Field(None, description="move the chosen feature by this")
    hold: tuple[Millimetres, Millimetres] | None = Field(
        None, description="type the chosen feature's distances anew, so that it lies here: along, across [mm]"
    )
    nearest: bool = Field(False, description="move the chosen feature to the nearest free place")
    remedies: bool = Field(False, description="work out what mends each clash too, which takes longer")


class ClearanceView(Model):
    """A distance that has a rule."""

    rule: str
    first: str = Field(description="the feature")
    second: str = Field(description="the other one, or nothing")
    distance: float = Field(description="mm")
    least: float = Field(description="asked for [mm]")
    holds: bool
    words: str = Field(description="the distance as people read it")
    asked: str = Field(description="what is asked for, as people read it")
    source: str = Field(description="whose rule it is")


class TopTried(Model):
    """What came of it."""

    values: dict[str, Any] = Field(description="all that would be saved: what was tried, and what was filled in")
    filled: dict[str, Any] = Field(description="what was filled in for a move, by key")
    said: str = Field(description="what was done, in words; nothing where figures were only tried")
    place: tuple[float, float] | None = Field(description="of the chosen feature: along, across [mm]")
    season: str = Field(description="how the chosen feature moves over the year, in words")
    clashes: int = Field(description="how many distances do not hold")
    clearances: list[ClearanceView] = Field(
        description="those that do not hold, then the chosen feature's, nearest first"
    )
    problems: list[Problem] = Field(description="the clashes as the plan tells them, where remedies are asked for")
    picture: str = Field(description="SVG of the face")


class TopNew(Model):
    """A feature that is to be added."""

    revision: Number = Field(description="that was looked at")
    kind: FeatureKind | None = Field(None, description="a new one of this kind")
    like: str = Field("", max_length=60, description="or one more of this name")


class TopAdded(Model):
    """What an edit adds the feature with."""

    values: dict[str, Any] = Field(description="as an edit takes them")
    name: str
    number: int = Field(description="among the features, from 0")
    words: str = Field(description="where it was put")


@dataclasses.dataclass(frozen=True)
class Tried:
    """A top that was tried: the job, the plan with it, and every clearance."""

    job: Job
    plan: Plan
    top: TopPlan
    near: tuple[Clearance, ...]


def tried(plan: Plan, files: Mapping[str, bytes], values: Mapping[str, Any]) -> Tried:
    """Lay the top out with values that are not saved.

    Raises:
        SlabwrightError: there is no top to lay out, or a value cannot be used.
    """
    if plan.top is None or plan.board is None:
        raise SlabwrightError("the top is not worked out yet: " + _waits(plan))
    job = retold(plan.job, files, values, ("top",))
    top, near = tried_top(job, plan.top, plan.board)
    return Tried(job, dataclasses.replace(plan, job=job, top=top), top, near)


def _waits(plan: Plan) -> str:
    return next((one.waits_for for one in plan.waiting if one.stage in ("slab", "top")), "see the brief")


def answer(plan: Plan, files: Mapping[str, bytes], asked: TopTry) -> TopTried:
    """What comes of a try.

    Raises:
        SlabwrightError: a value cannot be used.
    """
    units = plan.job.stated.job.units
    values = dict(asked.values)
    filled: dict[str, Any] = {}
    said = ""
    found = tried(plan, files, values)
    if asked.chosen and (asked.shift or asked.hold or asked.nearest):
        if asked.nearest:
            filled, said = _freed(found, asked.chosen, units)
        else:
            filled = _moved(found, asked, units)
        if filled:
            values |= filled
            found = tried(plan, files, values)
    clashes = [one for one in found.near if not one.holds]
    chosen = next((one for one in found.top.features if one.name == asked.chosen), None)
    context = Context(found.plan)
    problems: list[Problem] = []
    if asked.remedies and clashes:
        problems = [problem_of(each) for each in layout_findings(found.top.layout, found.near, units)]
    place = None
    if chosen is not None and chosen.along is not None and chosen.across is not None:
        place = (chosen.along, chosen.across)
    return TopTried(
        values=values,
        filled=filled,
        said=said,
        place=place,
        season=season_words(found.top, asked.chosen, units),
        clashes=len(clashes),
        clearances=clearances_of(found.near, asked.chosen, units),
        problems=problems,
        picture=plan_picture(context, found.top, asked.side, asked.chosen, asked.narrow, clashes),
    )


def _freed(found: Tried, name: str, units: Units) -> tuple[dict[str, Any], str]:
    """The nearest free place of a feature, as it is typed; and what was done."""
    if all(one.name != name for one in found.top.features):
        raise NotThere(f"the top has no feature {name!r}")
    broken = [one for one in found.near if not one.holds and one.rule in _PLACE and name in (one.first, one.second)]
    if not broken:
        return {}, "It is free where it is."
    asked = next(one for one in found.top.layout.top.features if one.name == name)
    move = None
    if isinstance(asked, Placed | Channel):
        move = Trial(found.top.layout, found.near, units).free_place(name)
    if move is None:
        return {}, "No free place was found by moving this one alone: move the other, or make one smaller."
    return typed_changes(found, move.changes, units), move.words


def typed_changes(found: Tried, changes: Mapping[str, Mapping[str, Any]], units: Units) -> dict[str, Any]:
    """New figures of features as an edit takes them."""
    numbers = {one.name: number for number, one in enumerate(found.top.layout.top.features)}
    told: dict[str, Any] = {}
    for name, changed in changes.items():
        for key, value in changed.items():
            path = f"top.features[{numbers[name]}].{key}"
            if key == "path":
                told[path] = [[typed(x, units), typed(y, units)] for x, y in value]
            else:
                told[path] = typed(value, units)
    return told


def _moved(found: Tried, asked: TopTry, units: Units) -> dict[str, Any]:
    """The chosen feature's distances for a place or a move."""
    stated = next((one for one in found.top.layout.top.features if one.name == asked.chosen), None)
    placed = next((one for one in found.top.features if one.name == asked.chosen), None)
    if stated is None or placed is None:
        raise NotThere(f"the top has no feature {asked.chosen!r}")
    shift = asked.shift or Shift()
    if isinstance(stated, Channel):
        moved = [(x + shift.along, y + shift.across) for x, y in stated.path]
        return typed_changes(found, {stated.name: {"path": moved}}, units)
    if not isinstance(stated, Placed) or placed.along is None or placed.across is None:
        return {}
    dx, dy = shift.along, shift.across
    if asked.hold is not None:
        dx, dy = asked.hold[0] - placed.along, asked.hold[1] - placed.across
    changed: dict[str, float] = {}
    if abs(dx) > 1e-6:
        changed["along"] = stated.along + (-dx if stated.along_from in _WAYS else dx)
    if abs(dy) > 1e-6 or (abs(dx) > 1e-6 and asked.hold is None and stated.across_from in ("near edge", "far edge")):
        # A live edge lies elsewhere where the feature goes: what is typed from it changes, its place across does not.
        here = crossing_edges(found.top.outline, placed.along)
        there = crossing_edges(found.top.outline, placed.along + dx)
        drift = {"near edge": here[0] - there[0], "far edge": there[1] - here[1]}.get(stated.across_from, 0.0)
        changed["across"] = stated.across + (-dy if stated.across_from in _WAYS else dy) + drift
    return typed_changes(found, {stated.name: changed}, units)


def clearances_of(near: tuple[Clearance, ...], chosen: str, units: Units) -> list[ClearanceView]:
    """Those that do not hold, then the chosen feature's, the least to spare first."""
    broken = [one for one in near if not one.holds]
    own = [one for one in near if one.holds and chosen and chosen in (one.first, one.second)]
    own.sort(key=lambda one: one.distance - one.least)
    return [_view(one, units) for one in (*broken, *own[:12])]


def _view(one: Clearance, units: Units) -> ClearanceView:
    cut = one.rule in (rule.BETWEEN, rule.WORKED_EDGE) and one.distance <= 0.0
    words = "cut into each other" if cut else format_length(one.distance, units)
    return ClearanceView(
        rule=one.rule,
        first=one.first,
        second=one.second or "",
        distance=one.distance,
        least=one.least,
        holds=one.holds,
        words=words,
        asked=format_length(one.least, units),
        source=one.source,
    )


def season_words(top: TopPlan, name: str, units: Units) -> str:
    """How a feature goes across over the year, from the bolt that does not slide."""
    for slot in top.slots:
        if slot.name == name:
            if slot.fixed:
                return "The wood moves from this bolt: it does not slide."
            return (
                f"Over the year its bolt goes {_way(slot.movement_dry, units)} in the driest season and "
                f"{_way(slot.movement_damp, units)} in the dampest; slot {format_length(slot.length, units)} long."
            )
    for room in top.pockets:
        if room.name == name:
            return (
                f"Room for the wood round the plate: {format_length(room.near, units)} towards the near edge, "
                f"{format_length(room.far, units)} towards the far edge."
            )
    for place in top.places:
        if place.name == name:
            return f"Over the year it goes {_way(place.dry, units)} (driest) and {_way(place.damp, units)} (dampest)."
    return ""


def _way(mm: float, units: Units) -> str:
    if abs(mm) < 0.005:
        return "nowhere"
    return f"{format_length(abs(mm), units)} towards the {'far' if mm > 0 else 'near'} edge"


def added(plan: Plan, files: Mapping[str, bytes], asked: TopNew) -> TopAdded:
    """A feature to add, where it is free.

    Raises:
        NotThere: there is none of that name.
        SlabwrightError: neither or both of kind and name are given, or there is no top yet.
    """
    if (asked.kind is None) == (not asked.like):
        raise SlabwrightError("say kind, or like: one of them")
    found = tried(plan, files, {})
    units, top = plan.job.stated.job.units, found.top.layout.top
    number = len(top.features)
    if asked.kind is not None:
        table = new_feature(top, asked.kind, found.top.length, units)
    else:
        model = next((k for k, one in enumerate(top.features) if one.name == asked.like), None)
        if model is None:
            raise NotThere(f"the top has no feature {asked.like!r}")
        table = another(top, model, files)
    words = _settled(plan, files, found, number, table)
    return TopAdded(values={f"top.features[{number}]": table}, name=table["name"], number=number, words=words)


def _settled(plan: Plan, files: Mapping[str, bytes], before: Tried, number: int, table: dict[str, Any]) -> str:
    """Put a new feature at the free place nearest to where it would lie; what was done, in words."""
    name, units = str(table["name"]), plan.job.stated.job.units
    key = f"top.features[{number}]"
    first = tried(plan, files, {key: table})
    if _lies_free(first, name):
        return "It is free where it is."
    stated = first.top.layout.top.features[number]
    if not isinstance(stated, Placed | Channel):
        return ""
    (x, y), length, width = _middle_of(first, name), before.top.length, before.top.width
    steps = [(dx / 12.0 * length, dy / 10.0 * width) for dx in range(-11, 12) for dy in range(-4, 5)]
    for dx, dy in sorted(steps, key=lambda step: step[0] ** 2 + step[1] ** 2)[1:_PLACES]:
        asked = TopTry(revision=1, chosen=name, shift=Shift(along=round(dx), across=round(dy)))
        if not (0.0 < x + dx < length and abs(y + dy) < width / 2.0):
            continue
        filled = _moved(first, asked, units)
        there = {**table, **{path.removeprefix(f"{key}."): value for path, value in filled.items()}}
        if _lies_free(tried(plan, files, {key: there}), name):
            table.update(there)
            return "It was put where it is free."
    return "No free place was found for it: move it, or make it smaller."


_PLACES = 90
"""Places that are tried for a new feature: each takes some milliseconds."""


def _lies_free(found: Tried, name: str) -> bool:
    """Whether a feature breaks no rule of place, and is cut into nothing but its own plate."""
    if any(not one.holds and one.rule in _PLACE and name in (one.first, one.second) for one in found.near):
        return False
    stated = next(one for one in found.top.layout.top.features if one.name == name)
    own = getattr(stated, "plate", None)
    return all(first != name or second == own for first, second in found.top.layout.meant)


def _middle_of(found: Tried, name: str) -> tuple[float, float]:
    placed = found.top.layout.named(name)
    if placed.along is not None and placed.across is not None:
        return placed.along, placed.across
    middle = placed.shape().centroid
    return float(middle.x), float(middle.y)
