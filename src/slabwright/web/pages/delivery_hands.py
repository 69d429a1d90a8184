"""Lift cards, assembly steps and cables as a page shows them."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from slabwright.carry.lifts_results import Lift
from slabwright.job.hands_models import AIDS, hands_of
from slabwright.plan import Plan
from slabwright.sheets.cable_sheet import underside
from slabwright.sheets.context import Context
from slabwright.sheets.lift_sheets import card, seen_of
from slabwright.sheets.top_words import tape
from slabwright.sheets.words import Words
from slabwright.web.drawings import Drawing, add_drawing
from slabwright.web.models import Model
from slabwright.web.pages.delivery_way import for_screens

_CARD = 78.0
_CABLES = 12
"""Cables of one piece that drawings are named for."""
_CABLE_WIDE, _CABLE_HIGH = 150.0, 90.0


class LiftView(Model):
    """One lift of the work."""

    name: str
    when: str
    svg: str
    words: str = Field(description="the drawing in words")
    alone: Literal["yes", "with an aid", "no"]
    alone_words: str
    people: str = Field(description="how many, and with what")
    ready: bool = Field(description="whether the people and aids at hand do")
    ends: list[tuple[str, str]] = Field(description="what each end is called, and its weight")
    most: str = Field(description="it weighs no more than this, 19 times in 20")
    index: str = Field(description="of the lifting equation, or why there is none")
    heavy: bool = Field(description="whether that index is above 1")
    steps: list[str]
    caution: str
    instead: str
    path: str = Field(description="of its mass, in plan.json")


class HandsView(Model):
    """Who and what lifts."""

    people: int
    people_on_delivery: int
    aids: list[AidView]


class AidView(Model):
    """An aid."""

    name: str
    here: bool
    values: dict[str, Any] = Field(description="keys that say that it is there, or is not")


class AssemblyStepView(Model):
    """One step of putting it together."""

    number: int
    key: str = Field(description="the tick's name: it changes when the step changes")
    do: str
    kind: str
    people: int
    tool: str
    caution: str
    after: list[int]


class AssemblyWayView(Model):
    """One way of putting it together with what it wants."""

    name: str
    taken: bool
    possible: bool
    people: str
    heaviest: str
    told: str


class CableView(Model):
    """One cable."""

    name: str
    drawing: str = Field(description="its drawing's address, or nothing")
    length: str
    path: str
    runs: list[tuple[str, str]] = Field(description="stretch by stretch, how long")
    bends: list[str] = Field(description="bends for which there is no room")
    passes: list[tuple[str, bool]] = Field(description="what has to pass where, and whether it does")
    pull: list[str]
    ties: int
    said: str


def lift_views(plan: Plan, words: Words) -> list[LiftView]:
    """Every lift, in the order of the work."""
    if plan.carry is None:
        return []
    return [_lift(plan, number, words) for number in range(len(plan.carry.lifts))]


def _people(number: int) -> str:
    return "One person" if number == 1 else f"{number} people"


def _who(lift: Lift) -> str:
    """Who lifts, and with what."""
    if lift.people is None:
        return "Four people are not enough, and no aid serves: take it apart, or ask a carrier."
    here = f"{'one is' if lift.people_here == 1 else f'{lift.people_here} are'} at hand"
    if lift.aid is None:
        return f"{_people(lift.people)} by hand" + ("." if lift.ready else f"; {here}.")
    if lift.ready:
        return f"{_people(lift.people)} with the {lift.aid}: {lift.aid_words}."
    by_hand = "" if lift.hand_people is None else f" By hand it takes {lift.hand_people}."
    return f"{_people(lift.people)} with a {lift.aid} that may carry it; {here}.{by_hand}"


def _lift(plan: Plan, number: int, words: Words) -> LiftView:
    assert plan.carry is not None
    lift = plan.carry.lifts[number]
    ends = [(name, words.weight(weight)) for name, weight in zip(lift.ends, lift.per_end, strict=True)]
    index, heavy = f"No lifting index: {lift.why_not}.", False
    if lift.lifting_index is not None and lift.weight_limit is not None:
        heavy = lift.lifting_index > 1.0
        limit = words.weight(lift.weight_limit)
        index = f"Lifting index {lift.lifting_index:.1f}: recommended limit {limit} (NIOSH equation)."
    return LiftView(
        name=lift.name,
        when=lift.when,
        svg=for_screens(card(lift, _CARD, words, seen_of(plan.base, lift)).svg()),
        words=f"{lift.name}: {ends[0][0]} {ends[0][1]}, {ends[1][0]} {ends[1][1]}",
        alone=lift.alone,
        alone_words=lift.alone_words,
        people=_who(lift),
        ready=lift.ready,
        ends=ends,
        most=words.weight_most(lift.mass_high),
        index=index,
        heavy=heavy,
        steps=list(lift.steps),
        caution=lift.caution,
        instead=lift.instead,
        path=f"carry.lifts[{number}].mass",
    )


def hands_view(plan: Plan) -> HandsView:
    """Who and what lifts, as shop and job state it."""
    hands = hands_of(plan.job.shop.hands, plan.job.stated.hands)
    aids = []
    for aid in AIDS:
        here = aid in hands.aids
        new = [one for one in AIDS if (one in hands.aids) != (one == aid)]
        aids.append(AidView(name=aid, here=here, values={"hands.aids": new}))
    return HandsView(people=hands.people, people_on_delivery=hands.delivering(), aids=aids)


def assembly_steps(plan: Plan) -> list[AssemblyStepView]:
    """The steps in their order."""
    put = plan.carry.assembly if plan.carry is not None else None
    if put is None:
        return []
    return [
        AssemblyStepView(
            number=step.number,
            key=f"{step.number}: {step.do}",
            do=step.do,
            kind=step.kind,
            people=step.people,
            tool=step.tool,
            caution=step.caution,
            after=list(step.after),
        )
        for step in put.steps
    ]


def assembly_ways(plan: Plan, words: Words) -> list[AssemblyWayView]:
    """Both ways to put it together, side by side."""
    put = plan.carry.assembly if plan.carry is not None else None
    if put is None:
        return []
    return [
        AssemblyWayView(
            name=f"{way.name[:1].upper()}{way.name[1:]}",
            taken=way.name == put.way,
            possible=way.possible,
            people=_people(way.people),
            heaviest=f"{way.what}, {words.weight(way.heaviest)}",
            told=way.told,
        )
        for way in put.ways
    ]


def cable_views(plan: Plan, job: int, revision: int, words: Words) -> list[CableView]:
    """Every cable with its way."""
    if plan.carry is None:
        return []
    found = []
    for number, route in enumerate(plan.carry.cables):
        runs = [
            (f"free, {run.name}" if run.kind == "free" else f"{run.kind} {run.name}", words.place(run.length))
            for run in route.runs
        ]
        runs += [("loop at the outlet", words.place(route.slack)), ("free to the socket", words.place(route.reach))]
        bends = [
            f"{bend.said}: room for {tape(bend.radius, words)}, wants {tape(bend.least, words)}"
            for bend in route.bends
            if not bend.holds and bend.radius is not None
        ]
        spare = "" if route.spare is None else f" {words.place(abs(route.spare))} {_over(route.spare)}."
        address = f"/api/jobs/{job}/drawings/cable-{number + 1}?revision={revision}" if number < _CABLES else ""
        found.append(
            CableView(
                name=route.name,
                drawing=address,
                length=words.place(route.length),
                path=f"carry.cables[{number}].length",
                runs=runs,
                bends=bends,
                passes=[(f"{one.what} through {one.through}", one.fits) for one in route.passings],
                pull=list(route.pull),
                ties=len(route.ties),
                said=f"From {route.outlet}; hangs from {route.hangs_from}. {route.leads[:1].upper()}{route.leads[1:]}"
                f" goes first.{spare}",
            )
        )
    return found


def _over(spare: float) -> str:
    return "to spare" if spare >= 0.0 else "too short"


def _cable(number: int) -> Any:
    def draw(plan: Plan) -> str:
        assert plan.carry is not None
        context = Context(plan)
        return underside(context, plan.carry.cables, number, _CABLE_WIDE, _CABLE_HIGH).svg()

    return draw


def _has_cable(number: int) -> Any:
    return lambda plan: plan.carry is not None and plan.top is not None and len(plan.carry.cables) > number


for _number in range(_CABLES):
    add_drawing(Drawing(f"cable-{_number + 1}", f"Cable {_number + 1}", _has_cable(_number), _cable(_number)))
HandsView.model_rebuild()
