"""The way in as it is typed: passages with their sizes, and what is left at each, worked out without the rest of the plan."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Literal

from pydantic import Field

from slabwright.base.basing import BasePlan
from slabwright.carry.route import way_in
from slabwright.carry.route_pieces import Pieces, Solid, table_pieces
from slabwright.carry.route_results import Passage, WayIn
from slabwright.findings import Finding, SlabwrightError
from slabwright.job.carry_models import Delivery
from slabwright.job.folder import JOB_FILE
from slabwright.plan import Plan
from slabwright.quantities import Units
from slabwright.sheets.fonts import FAMILY
from slabwright.sheets.route_drawing import route_drawing
from slabwright.sheets.words import Words, plain
from slabwright.web.figures import problem_of
from slabwright.web.models import Model, Number, Problem
from slabwright.web.typed import retold, typed

Kind = Literal["van", "door", "corner", "stairs", "lift"]
Voice = Literal["go", "care", "stop"]
_WIDE, _HIGH = 92.0, 92.0
_TIGHT = 10.0


class SizeField(Model):
    """One size of a passage."""

    name: str = Field(description="as the job file has it")
    question: str
    answer: str = Field(description="as it is typed; nothing where it is left out")
    example: str = Field("", description="a usual size, to show what is meant; it is not stated by it")
    kind: Literal["length", "words", "choice"]
    needed: bool
    choices: list[str] = Field(default_factory=list)


class KindForm(Model):
    """A kind of passage that can be added: nothing is stated yet, usual sizes are examples."""

    kind: Kind
    words: str
    fields: list[SizeField]


class Drawn(Model):
    """A way through a passage, drawn."""

    svg: str
    words: str = Field(description="the drawing in words")


class PassageView(Model):
    """One passage and how the piece goes through it."""

    name: str
    kind: Kind
    margin: float = Field(description="left on each side beyond hands and padding [mm]; less than nothing: lacking")
    great: str = Field(description="the same as people read it")
    voice: Voice
    goes: str = Field(description="what is carried through, and how")
    helps: list[str]
    drawings: list[Drawn]


class PassageForm(Model):
    """One passage as it is typed."""

    kind: Kind
    words: str
    fields: list[SizeField]


class CarriedOption(Model):
    """One way to carry it, over all passages."""

    title: str
    great: str = Field(description="left on each side at the tightest passage")
    voice: Voice
    tightest: str
    heaviest: str = Field(description="of its parts")
    stops: list[str] = Field(description="passages that it does not go through")
    taken: bool
    values: dict[str, Any] = Field(description="keys that take it; none where it is taken, or follows by itself")
    take: str


class WayView(Model):
    """The way in."""

    margin: float | None = Field(description="least over the passages [mm]; nothing where no passage is stated")
    great: str
    voice: Voice
    carried: str
    said: str
    passages: list[PassageView]
    options: list[CarriedOption]


class DeliveryTry(Model):
    """A way in that is tried."""

    revision: Number = Field(description="that was looked at")
    values: dict[str, Any] = Field(
        default_factory=dict,
        max_length=8,
        description="as an edit takes them; keys of delivery",
        examples=[{"delivery.steps": [{"kind": "door", "width": 830, "height": 2000}]}],
    )
    remedies: bool = Field(False, description="work out what would help at each tight passage too, which takes longer")


class DeliveryTried(Model):
    """What came of it."""

    way: WayView
    problems: list[Problem]


_FORMS: dict[Kind, tuple[str, tuple[tuple[str, str, float | None, bool], ...]]] = {
    "van": (
        "Van",
        (
            ("width", "Rear opening, width", 1300.0, True),
            ("height", "Rear opening, height", 1300.0, True),
            ("floor_length", "Floor, door closed", 2500.0, True),
            ("inside_width", "Between wheel arches", None, False),
            ("inside_height", "Floor to roof", None, False),
        ),
    ),
    "door": (
        "Door",
        (
            ("width", "Clear width", 830.0, True),
            ("height", "Clear height", 2000.0, True),
            ("depth", "Depth of the wall", None, False),
            ("before", "Corridor in front, width", None, False),
            ("behind", "Corridor behind, width", None, False),
            ("ceiling", "Ceiling over the corridor", None, False),
        ),
    ),
    "corner": (
        "Corner",
        (
            ("before", "Corridor before it, width", 1200.0, True),
            ("after", "Corridor after it, width", 1200.0, True),
            ("height", "To the ceiling", 2400.0, True),
        ),
    ),
    "stairs": (
        "Stairs",
        (
            ("width", "Between wall and rail", 950.0, True),
            ("headroom", "Headroom over the nosings", 2000.0, True),
            ("rise", "Rise of one step", 175.0, True),
            ("going", "Going of one step", 280.0, True),
            ("turn", "Turns on the landing", 0.0, False),
            ("landing", "Depth of the landing", None, False),
            ("landing_headroom", "Headroom over the landing", None, False),
            ("well", "Between the two flights", None, False),
        ),
    ),
    "lift": (
        "Lift",
        (
            ("door_width", "Door, clear width", 900.0, True),
            ("door_height", "Door, clear height", 2000.0, True),
            ("width", "Car, width", 1100.0, True),
            ("depth", "Car, depth", 1400.0, True),
            ("height", "Car, height", 2200.0, True),
            ("wall", "Depth of the doorway", None, False),
        ),
    ),
}
"""Questions of each kind, with a usual size in millimetres as an example: common practice."""
KINDS: tuple[Kind, ...] = ("van", "door", "corner", "stairs", "lift")


def kind_forms(units: Units) -> list[KindForm]:
    """Each kind of passage, to be added: its questions, with usual sizes as examples."""
    return [KindForm(kind=kind, words=_FORMS[kind][0], fields=_fields(kind, None, units)) for kind in KINDS]


def _fields(kind: Kind, stated: Mapping[str, Any] | None, units: Units) -> list[SizeField]:
    asked = _FORMS[kind][1]
    name = "" if stated is None else str(stated.get("name", ""))
    found = [SizeField(name="name", question="What it is called", answer=name, kind="words", needed=False)]
    for key, question, usual, needed in asked:
        if key == "turn":
            answer = "0" if stated is None else str(stated.get("turn", 0))
            choices = ["0", "90", "180"]
            found.append(
                SizeField(name=key, question=question, answer=answer, kind="choice", needed=False, choices=choices)
            )
            continue
        value = None if stated is None else stated.get(key)
        answer = "" if value is None else str(value)
        example = "" if usual is None else str(_rounded(usual, units))
        found.append(
            SizeField(name=key, question=question, answer=answer, example=example, kind="length", needed=needed)
        )
    return found


def _rounded(mm: float, units: Units) -> Any:
    return typed(mm if units == "metric" else round(mm / 6.35) * 6.35, units)


def passage_forms(files: Mapping[str, bytes], units: Units) -> list[PassageForm]:
    """The passages as they are typed in the job file."""
    stated: Any = tomllib.loads(files[JOB_FILE].decode("utf-8-sig").replace("\r\n", "\n"))
    steps = stated.get("delivery", {}).get("steps", [])
    return [
        PassageForm(kind=step["kind"], words=_FORMS[step["kind"]][0], fields=_fields(step["kind"], step, units))
        for step in steps
        if step.get("kind") in _FORMS
    ]


def general_of(files: Mapping[str, bytes], delivery: Delivery, words: Words) -> dict[str, str]:
    """Hand room, padding and apart as they are typed in the job file, and what holds where nothing is."""
    stated: Any = tomllib.loads(files[JOB_FILE].decode("utf-8-sig").replace("\r\n", "\n")).get("delivery", {})
    return {
        "hand_room": str(stated.get("hand_room", "")),
        "hand_room_usual": words.place(Delivery().hand_room),
        "padding": str(stated.get("padding", "")),
        "padding_usual": words.place(Delivery().padding),
        "apart": delivery.apart,
    }


def answered(plan: Plan, files: Mapping[str, bytes], asked: DeliveryTry, words: Words) -> DeliveryTried:
    """What comes of a way in that is tried.

    Raises:
        SlabwrightError: a size cannot be used, or the base is not known yet.
    """
    if plan.base is None or plan.top is None:
        raise SlabwrightError("the way in waits for top and base: see those pages first")
    job = retold(plan.job, files, asked.values, ("delivery",))
    delivery = job.stated.delivery or Delivery()
    way, found = way_in(delivery, table_pieces(plan.base), words.units, helped=asked.remedies)
    return DeliveryTried(
        way=way_view(plan.base, delivery, way, words),
        problems=[problem_of(one) for one in _sorted(found)] if asked.remedies else [],
    )


def _sorted(found: tuple[Finding, ...]) -> list[Finding]:
    rank = {"stop": 0, "caution": 1, "note": 2}
    return sorted(found, key=lambda one: rank[one.severity])


def way_view(base: BasePlan, delivery: Delivery, way: WayIn, words: Words) -> WayView:
    """The way in as it is shown."""
    whole = way.carried == "whole"
    passages = [_passage(number, passage, whole, words) for number, passage in enumerate(way.passages, 1)]
    margin = way.margin
    return WayView(
        margin=margin,
        great=margin_words(margin, words, way.or_more) if margin is not None else "no way is stated",
        voice=_voice(margin) if margin is not None else "care",
        carried=way.carried,
        said=_said(way, delivery, words),
        passages=passages,
        options=_options(table_pieces(base), delivery, way, words) if delivery.steps else [],
    )


def margin_words(margin: float, words: Words, or_more: bool = False) -> str:
    """What is left on each side, or lacking."""
    if margin < 0.0:
        return f"{words.place(math.ceil(-margin))} lacking"
    return f"{words.place(math.floor(margin))} {'or more left' if or_more else 'left'}"


def _voice(margin: float) -> Voice:
    return "stop" if margin < 0.0 else "care" if margin < _TIGHT else "go"


def _said(way: WayIn, delivery: Delivery, words: Words) -> str:
    if way.margin is None:
        return "Add the passages in the order in which they are gone: van, doors, corners, stairs, lifts."
    beyond = f"beyond {words.place(delivery.hand_room)} for hands and {words.place(delivery.padding)} of padding"
    return f"On each side at the tightest passage, {way.tightest}, {beyond}."


def _passage(number: int, passage: Passage, whole: bool, words: Words) -> PassageView:
    tight = passage.tight
    shown = [found for found in passage.ways if found.part == tight.part]
    drawings = []
    for found in shown:
        place = f", {found.place}" if found.place else ""
        head = plain(f"{number} {passage.name[:1].upper()}{passage.name[1:]}{place}", 40)
        tilt = found.poses[0].tilt if found.poses else 0.0
        lean = f"leaned {tilt:.0f}° out of level" if found.attitude == "tilted" and tilt else found.attitude
        said = plain(f"{found.part[:1].upper()}{found.part[1:]}, {lean}", 40)
        picture = route_drawing(found, head, said, _WIDE, _HIGH, words)
        told = f"{'Section' if found.view == 'section' else 'Plan'} of {passage.name}{place}: {said}, "
        drawings.append(
            Drawn(
                svg=for_screens(picture.svg()),
                words=told + margin_words(found.margin, words, found.or_more) + " on each side",
            )
        )
    goes = tight.held if whole else f"{tight.part}, {tight.held}"
    if tight.most is not None:
        goes += f"; as it is drawn, {tight.attitude}, which is easier to carry: {margin_words(tight.margin, words)}"
    return PassageView(
        name=passage.name,
        kind=passage.kind,
        margin=passage.margin,
        great=margin_words(passage.margin, words, passage.or_more),
        voice=_voice(passage.margin),
        goes=goes,
        helps=list(passage.helps),
        drawings=drawings,
    )


def for_screens(svg: str) -> str:
    """A drawing that is shown as a picture cannot load the page's own font: it takes the machine's plain one."""
    return svg.replace(f'font-family="{FAMILY}"', f'font-family="{FAMILY}, sans-serif"')


def _options(pieces: Pieces, delivery: Delivery, way: WayIn, words: Words) -> list[CarriedOption]:
    """Whole, and with each thing that may come off, side by side."""
    units = words.units
    worked: list[tuple[str, WayIn, tuple[Solid, ...]]] = [
        (
            "whole",
            way_in(delivery.model_copy(update={"apart": "never"}), pieces, units, helped=False)[0],
            (pieces.whole,),
        )
    ]
    for apart in pieces.apart:
        alone = replace(pieces, apart=(apart,))
        found, _ = way_in(delivery.model_copy(update={"apart": "always"}), alone, units, helped=False)
        worked.append((apart.how, found, apart.parts))
    always, _ = way_in(delivery.model_copy(update={"apart": "always"}), pieces, units, helped=False)
    found_options = []
    for how, found, parts in worked:
        taken = how == way.carried
        key, take = ("never", "Carry it whole") if how == "whole" else ("always", "Carry it so")
        values: dict[str, Any] = {}
        if (how == "whole" and delivery.apart != "never") or (how == always.carried and delivery.apart != "always"):
            values = {"delivery.apart": key}
        heavy = max(parts, key=lambda part: part.mass)
        margin = found.margin or 0.0
        found_options.append(
            CarriedOption(
                title=f"{how[:1].upper()}{how[1:]}",
                great=margin_words(margin, words, found.or_more),
                voice=_voice(margin),
                tightest=found.tightest,
                heaviest=f"{heavy.name}, {words.weight(heavy.mass)}",
                stops=[one.name for one in found.passages if one.margin < 0.0],
                taken=taken,
                values=values if not taken else {},
                take=take,
            )
        )
    return found_options
