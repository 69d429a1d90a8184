"""Another base held beside the one that is planned: what it would come to, in a fraction of a second; nothing is saved."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any

from pydantic import Field

from slabwright.base.base_results import BaseStructure
from slabwright.base.cut_list_results import Bought, CutList
from slabwright.base.loads import Loads, loads_of
from slabwright.base.trying import TriedBase, tried_base
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import BaseLoads
from slabwright.job.loaded import Job
from slabwright.plan import Plan
from slabwright.quantities import Units, format_length, format_mass
from slabwright.reference.money import format_money
from slabwright.reference.wood import species
from slabwright.sheets.top_words import tape
from slabwright.sheets.words import Words
from slabwright.top.results import TopPlan
from slabwright.top.trying import tried_top
from slabwright.web.figures import problem_of
from slabwright.web.models import Model, Number, Problem
from slabwright.web.pages.base_changes import Change, as_it_is, change_of, values_of
from slabwright.web.typed import retold, typed

_DENSITY, _MODULUS = 650.0, 11_000.0
_ROOMS = ("base", "top", "piece")


class BaseTry(Model):
    """What is tried; what is left empty stays as it is."""

    revision: Number = Field(description="that was looked at")
    tube: str = Field("", max_length=60, description="of the legs")
    stretcher: str = Field("", max_length=60, description="between the leg frames; none: without one")
    plate_width: str = Field("", max_length=60, description="along the top, as it is typed")
    plate_thickness: str = Field("", max_length=60, description="as it is typed")
    bolt_spacing: str = Field("", max_length=60, description="between the outer rows of bolts, as it is typed")
    values: dict[str, Any] = Field(
        default_factory=dict, max_length=200, description="and keys of base, piece or top, as an edit takes them"
    )


class Compared(Model):
    """A figure of one base."""

    name: str = Field(description="which figure: push_along, push_across, sways, sag, tip, mass, bolt, bought, legs")
    words: str = Field(description="what it is")
    value: float | None = Field(description="in mm, N, kg, times a second; nothing for words")
    shown: str = Field(description="as people read it")
    better: bool | None = Field(None, description="than the base that is planned; nothing where it is alike")


class MadeOf(Model):
    """What a base is made of, as it is typed."""

    tube: str
    stretcher: str
    plate_width: str
    plate_thickness: str
    bolt_spacing: str


def made_of(change: Change, units: Units) -> MadeOf:
    """What a base is made of, as it is typed."""
    return MadeOf(
        tube=change.tube or "",
        stretcher=change.stretcher or "none",
        plate_width=str(typed(change.plate_width or 0.0, units)),
        plate_thickness=str(typed(change.plate_thickness or 0.0, units)),
        bolt_spacing=str(typed(change.bolt_spacing or 0.0, units)),
    )


class BaseTried(Model):
    """What came of it."""

    made_of: MadeOf = Field(description="what was tried: what is not stated follows the steel and the top")
    values: dict[str, Any] = Field(description="all that would be saved")
    figures: list[Compared]
    problems: list[Problem] = Field(description="of this base, worst first")
    clashes: list[str] = Field(description="what the top's features say to it: pairs that are too near to each other")


def wood_of(job: Job) -> tuple[float, float]:
    """Density [kg/m3] and modulus [MPa] of the job's wood, as the plan takes them."""
    assert job.stated.slab is not None
    row = species(job.stated.slab.species)
    density = row.density()
    return density or _DENSITY, row.modulus or _MODULUS


def tried(plan: Plan, files: Mapping[str, bytes], values: Mapping[str, Any]) -> tuple[TriedBase, TopPlan, Job]:
    """Work a base out with values that are not saved, and the top with them.

    Raises:
        SlabwrightError: there is no top to stand under, or a value cannot be used.
    """
    from threadpoolctl import threadpool_limits

    if plan.top is None or plan.board is None or plan.job.stated.slab is None:
        raise SlabwrightError("the base waits for the top: a read slab, and the finished length")
    job = retold(plan.job, files, values, _ROOMS)
    if job.stated.piece.length != plan.job.stated.piece.length or job.stated.piece.width != plan.job.stated.piece.width:
        raise SlabwrightError(
            "piece.length: the length and width of the top are not tried here; change them on the brief"
        )
    density, modulus = wood_of(plan.job)
    with threadpool_limits(limits=1, user_api="blas"):
        top = tried_top(job, plan.top, plan.board)[0] if any(key.startswith("top") for key in values) else plan.top
        return tried_base(job, top, plan.board, density=density, modulus=modulus), top, job


def answer(plan: Plan, files: Mapping[str, bytes], asked: BaseTry) -> BaseTried:
    """What comes of a try.

    Raises:
        SlabwrightError: a value cannot be used, or no base can be made of it.
    """
    values = dict(asked.values)
    lengths = {name: getattr(asked, name) for name in ("plate_width", "plate_thickness", "bolt_spacing")}
    change = change_of(plan.job, asked.tube, asked.stretcher, lengths)
    changed = any(getattr(change, field.name) is not None for field in dataclasses.fields(change))
    if changed:
        if plan.base is None:
            raise SlabwrightError("the base waits for its picture and the finished height")
        values |= values_of(plan, change)
    found, top, job = tried(plan, files, values)
    if changed:
        # A size that is asked for as it was may have followed what was changed: then it is stated.
        followed = values_of(plan, change, as_it_is(found.frame))
        if any(key not in values for key in followed):
            values = followed | values
            found, top, job = tried(plan, files, values)
    problems = sorted((problem_of(one) for one in (*found.frame.findings, *found.cuts.findings)), key=_worst)
    shown = figures_of(found.frame, found.cuts, job)
    if plan.base is not None and plan.base.cut_list is not None:
        shown = compared(shown, figures_of(plan.base, plan.base.cut_list, plan.job))
    clashes = [] if top is plan.top else [_clash(one.first, one.second) for one in top.clearances if not one.holds]
    return BaseTried(
        values=values,
        made_of=made_of(as_it_is(found.frame), job.stated.job.units),
        figures=shown,
        problems=problems,
        clashes=clashes,
    )


def _clash(first: str, second: str | None) -> str:
    return f"{first} and {second}" if second else first


def _worst(problem: Problem) -> int:
    return ("stop", "caution", "note").index(problem.severity)


def figures_of(frame: BaseStructure, cuts: CutList, job: Job) -> list[Compared]:
    """The figures that tell one base from another."""
    words = Words(job.stated.job.units, job.stated.job.currency)
    loads = loads_for(job, frame)
    along, across = (
        push / stiff
        for push, stiff in (
            (loads.push_along.value, frame.sway_stiffness.x),
            (loads.push_across.value, frame.sway_stiffness.y),
        )
    )
    rows = [
        ("push_along", f"Pushed lengthwise, {words.force(loads.push_along.value)}: moves", along, words.finer(along)),
        ("push_across", f"Pushed crosswise, {words.force(loads.push_across.value)}: moves", across, words.finer(across)),
        ("sways", "Sways", frame.sway_frequency, f"{frame.sway_frequency:.1f} times a second"),
        ("sag", "Sags, after years", frame.sag.long_term, words.finer(frame.sag.long_term)),
        ("tip", "Tips under a load at the edge of", frame.tip_load, "none" if frame.tip_load is None else
         words.force_least(frame.tip_load)),
        ("mass", "Steel", frame.mass, format_mass(frame.mass, words.units)),
    ]  # fmt: skip
    if frame.bolt_pull is not None:
        margin = frame.bolt_pull.margin
        rows.append(("bolt", "Bolt that is pulled most bears", margin, f"{margin:.1f} times its load"))
    if frame.stack is not None:
        rows.append(("legs", "Legs", frame.stack.leg, tape(frame.stack.leg, words)))
    found = [Compared(name=name, words=said, value=value, shown=told) for name, said, value, told in rows]
    bought = "; ".join(_bought(one, words) for one in cuts.bought) or "nothing: it is all on the rack"
    return [*found, Compared(name="bought", words="To buy", value=None, shown=bought)]


def _bought(one: Bought, words: Words) -> str:
    price = f", {format_money(one.price, words.currency)}" if one.price is not None else ""
    return f"{one.count} × {one.section}, {format_length(one.length, words.units)}{price}"


def loads_for(job: Job, frame: BaseStructure) -> Loads:
    """What the table has to bear."""
    base = job.stated.base
    return loads_of(base.loads if base is not None else BaseLoads(), frame.structure.top.area)


_MORE_IS_BETTER = {
    "push_along": False,
    "push_across": False,
    "sways": True,
    "sag": False,
    "tip": True,
    "mass": False,
    "bolt": True,
}
_ALIKE = 0.005
"""Figures that differ by less than this share are alike."""


def compared(these: list[Compared], those: list[Compared]) -> list[Compared]:
    """Figures with whether each is better than another base's."""
    before = {one.name: one for one in those}
    found = []
    for one in these:
        there, more = before.get(one.name), _MORE_IS_BETTER.get(one.name)
        old = there.value if there is not None else None
        told_alike = there is not None and there.shown == one.shown
        if more is None or one.value is None or old is None or told_alike or abs(one.value - old) <= _ALIKE * abs(old):
            found.append(one)
        else:
            found.append(one.model_copy(update={"better": (one.value > old) == more}))
    return found
