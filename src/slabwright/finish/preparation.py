"""How each surface is got ready for its coats, with the minutes that it takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure, working
from slabwright.findings import Finding
from slabwright.finish.areas import Areas
from slabwright.finish.coating_findings import film_words
from slabwright.finish.coating_systems import AskedCoat, asked_coats, wood_listed
from slabwright.job.finish_models import Finish
from slabwright.job.loaded import Job
from slabwright.quantities import Units
from slabwright.reference.coatings import coating_rules
from slabwright.reference.preparation import StepRule, grit_sequence, preparation_rules

_M2, _M = 1e6, 1e3
_FACES = ("show face", "underside")
_EASED_BY_HAND = "eased edges"


@dataclass(frozen=True)
class PreparationStep:
    """One step, in the order of the work."""

    name: str = figure("", "what is done")
    of: Literal["wood", "steel"] = figure("", "what it is done to")
    surface: str = figure("", "which surface")
    area: float = figure("mm2", "that it is done to; 0 where its length drives it", rests_on=("finish.areas",))
    length: float = figure("mm", "of the edges that it is done to; 0 where its area drives it")
    driven_by: str = figure("", "what its time follows: area, grit (area and number of grits), length, piece")
    grits: tuple[int, ...] = figure("1", "P grades, in order; none where nothing is sanded", rests_on=("job:finish",))
    minutes: float = figure(
        "min",
        "hands on it",
        how="area, length or piece times the minutes of the table",
        rests_on=("finish.areas",),
        sure="half as much again, or two thirds of it (from memory): log your own",
        source="reference/preparation.toml, common practice",
    )
    wait: float = figure("hour", "that nothing can be done to it afterwards", source="common practice")
    how: str = figure("", "how it is done")
    sign_off: bool = figure("", "whether the client signs before the work goes on")


@dataclass(frozen=True)
class Preparation:
    """All steps from machined wood and welded steel to the first coat, and between coats."""

    steps: tuple[PreparationStep, ...] = figure("", "in the order of the work")
    minutes_wood: float = figure("min", "hands on the wood", how="sum of its steps")
    minutes_steel: float = figure("min", "hands on the steel", how="sum of its steps")
    findings: tuple[Finding, ...] = working(())


def preparation(job: Job, areas: Areas) -> Preparation:
    """The steps of surface preparation.

    Args:
        job: with its finish
        areas: what is coated

    Raises:
        SlabwrightError: a coating is not known.
    """
    finish = job.stated.finish or Finish()
    listed, _ = wood_listed(job)
    wood = asked_coats(listed, job.shop.coatings, "finish.wood")
    steel = asked_coats(finish.steel, job.shop.coatings, "finish.steel")
    steps: list[PreparationStep] = []
    for rule in preparation_rules().steps:
        if (areas.wood if rule.of == "wood" else areas.steel) > 0.0:
            step = _step(rule, areas, _grits(rule, finish, wood))
            steps += [step] if step is not None else []
    if areas.wood > 0.0:
        steps += between_coats("wood", wood, areas.wood)
    if areas.steel > 0.0:
        steps += between_coats("steel", steel, areas.steel)
    steps.sort(key=lambda step: step.of == "steel")
    units = job.stated.job.units
    found = scratch_findings(steel, finish.steel_grit, units) if areas.steel > 0.0 else ()
    return Preparation(
        steps=tuple(steps),
        minutes_wood=math.fsum(step.minutes for step in steps if step.of == "wood"),
        minutes_steel=math.fsum(step.minutes for step in steps if step.of == "steel"),
        findings=found,
    )


def _grits(rule: StepRule, finish: Finish, wood: Sequence[AskedCoat]) -> tuple[int, ...]:
    """The grits of a step; none where its words name none."""
    rules = preparation_rules()
    if "{grits}" not in rule.how:
        return ()
    if rule.of == "steel":
        if rule.name == "fill the steel":
            return grit_sequence(120, max(180, finish.steel_grit))
        return grit_sequence(rules.steel_first, finish.steel_grit)
    oiled = not wood or wood[0].sheet.kind == "oil"
    finest = finish.wood_grit or (rules.finest_oil if oiled else rules.finest_paint)
    if rule.surface == "ends":
        return grit_sequence(rules.wood_first, max(finest, rules.ends_finer))
    if rule.surface == "pockets and channels":
        return (rules.pockets,)
    if rule.surface == "faces":
        return grit_sequence(rules.wood_first, finest)
    return grit_sequence(rules.pockets, finest)


def _step(rule: StepRule, areas: Areas, grits: tuple[int, ...]) -> PreparationStep | None:
    """A step on this piece; None where the piece has no such surface."""
    if rule.surface == "faces":
        area = sum(s.area for s in areas.surfaces if s.name in _FACES)
        length = 0.0
    elif rule.surface == "all of the wood":
        area, length = areas.wood, 0.0
    elif rule.driven_by == "piece":
        area, length = 0.0, 0.0
    else:
        surface = areas.named(rule.surface)
        if surface is None and rule.surface == _EASED_BY_HAND:
            # No worked edge is drawn: the sharp ones are eased by hand all the same, on both faces.
            length, area = 2.0 * sum(s.length for s in areas.surfaces if s.of == "wood"), 0.0
        elif surface is None:
            return None
        else:
            area, length = surface.area, surface.length
    if rule.driven_by == "length":
        minutes, area = rule.minutes * length / _M, 0.0
    elif rule.driven_by == "piece":
        minutes = rule.minutes
    else:
        minutes = rule.minutes * area / _M2 * (max(1, len(grits)) if rule.driven_by == "grit" else 1)
        length = 0.0
    said = rule.how.replace("{grits}", grit_words(grits))
    if rule.surface == _EASED_BY_HAND and areas.named(_EASED_BY_HAND) is None:
        said = said.replace("As drawn", "None is drawn: 1 mm (1/32 in) by hand on both faces")
    return PreparationStep(
        name=rule.name,
        of=rule.of,
        surface=rule.surface,
        area=area,
        length=length,
        driven_by=rule.driven_by,
        grits=grits,
        minutes=minutes,
        wait=rule.wait,
        how=said,
        sign_off=rule.sign_off,
    )


def between_coats(of: Literal["wood", "steel"], asked: Sequence[AskedCoat], area: float) -> list[PreparationStep]:
    """What is done to each coat before the next, as the job states it.

    Args:
        of: what is coated
        asked: its coats
        area: of it [mm2]
    """
    scuff = preparation_rules().scuff
    found = []
    for number, coat in enumerate(asked[:-1], start=1):
        if coat.then == "coat":
            continue
        sand = coat.then == "sand"
        grits = grit_sequence(240, scuff) if sand else (scuff,)
        how = (
            f"Block flat with {grit_words(grits)} once it sands to powder; no rubbing through at edges. Dust off, wipe."
            if sand
            else f"Dull all of it with {grit_words(grits)} or a grey pad, no gloss left. Dust off, wipe."
        )
        found.append(
            PreparationStep(
                name=f"{'sand' if sand else 'scuff'} coat {number}",
                of=of,
                surface="all of the wood" if of == "wood" else "steel base",
                area=area,
                length=0.0,
                driven_by="grit",
                grits=grits,
                minutes=(8.0 if sand else 5.0) * len(grits) * area / _M2,
                wait=0.0,
                how=how,
                sign_off=False,
            )
        )
    return found


def scratch_findings(steel: Sequence[AskedCoat], grit: int, units: Units) -> tuple[Finding, ...]:
    """Coarse scratches show under thin flat paint unless the primer is built up and blocked.

    Args:
        steel: the coats on the steel
        grit: finest grit on the steel
        units: of the job
    """
    rules = coating_rules()
    if not steel or grit >= rules.coarser_than:
        return ()
    last = steel[-1].sheet.name
    primer = [coat for coat in steel if coat.sheet.name != last]
    built = sum(coat.sheet.more.film or 0.0 for coat in primer)
    unknown = any(coat.sheet.more.film is None for coat in primer)
    blocked = bool(primer) and primer[-1].then == "sand"
    if built >= rules.built_up and blocked:
        return ()
    remedy = f"Finish the steel at P{rules.coarser_than}: [finish] steel_grit = {rules.coarser_than}."
    film = primer[-1].sheet.more.film if primer else None
    if primer and film:
        # Of the last primer as many coats as make up the film.
        lacking = max(0.0, rules.built_up - built)
        coats = sum(coat.sheet.name == primer[-1].sheet.name for coat in primer) + math.ceil(lacking / film - 1e-9)
        remedy += f' Or build the primer up and block it with P{rules.block}: coats = {coats}, then = "sand".'
    return (
        Finding(
            "finish/scratches-show",
            "caution",
            f"Scratches of P{grit} show under thin flat paint: {_primed(primer, built, unknown, units)}"
            f"{'' if blocked or not primer else ', not blocked'}; {film_words(rules.built_up, units)} of primer, blocked, covers "
            "them.",
            remedy,
            rules.sources["scratches"],
        ),
    )


def _primed(primer: Sequence[AskedCoat], built: float, unknown: bool, units: Units) -> str:
    """How thick the primer is, as far as its sheets say."""
    if not primer:
        return "there is no primer"
    if unknown:
        return "how thick the primer comes out is not stated ([coatings.more] film)"
    return f"the primer makes {film_words(built, units)}"


def grit_words(grits: Sequence[int]) -> str:
    """Grits as they are said: P80, P120, P180."""
    return ", ".join(f"P{grit}" for grit in grits)
