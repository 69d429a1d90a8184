"""The answers of the base: sway and its shares, frequency, sag, stress, bolts, feet, tipping, height."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from slabwright.base.base_findings import structure_findings
from slabwright.base.base_results import (
    BaseStructure,
    BoltPull,
    FootLoad,
    Sag,
    Stress,
)
from slabwright.base.base_sizes import Sizes, plate_thickness, sizes_of
from slabwright.base.frame import UnstableFrameError, end_forces, greatest_moments, joint_forces
from slabwright.base.height_stack import Height, HeightStack, height_findings, height_stack
from slabwright.base.kinds import Bolt, Drawn, draw, draw_free, plate_bolts
from slabwright.base.loads import Stood, cases, loads_of, need_cases, settle, stand
from slabwright.base.mends import Trial, mends, trials
from slabwright.base.parts import paint_area
from slabwright.base.stated_keys import stated_findings
from slabwright.base.stiffness import Structure, TopOn, build, own_weight, weights
from slabwright.base.sway import frequency, steel_mass, sway, tube_mass
from slabwright.base.tipping import tipping_lines, tipping_push, tips
from slabwright.findings import Finding, SlabwrightError
from slabwright.job.base_models import Base, BaseKind
from slabwright.quantities import Units, format_force
from slabwright.reference.fasteners import STANDARD_GRAVITY
from slabwright.reference.table_loads import table_loads
from slabwright.top.fasteners import allowed_withdrawal

if TYPE_CHECKING:
    from shapely import Polygon


def base_structure(
    base: Base,
    kind: BaseKind | None,
    height: float,
    top: TopOn,
    bolts: Sequence[Bolt] | None = None,
    units: Units = "metric",
    *,
    mending: bool = True,
) -> BaseStructure:
    """Work out the base as a structure.

    Args:
        base: `[base]` as stated
        kind: `[piece] base`; None where a free frame is stated
        height: `[piece] height` [mm]
        top: the top as it is known today
        bolts: from the top's layout, x from the middle of the top; None: in rows on the plates as `[base.plate]` says
        units: of the job
        mending: whether changes that would make it stiffer are tried too, which takes as long as all the rest

    Raises:
        SlabwrightError: no base can be made of what is stated.
    """
    drawn, sizes, stack, stood_height, findings = _drawn(base, kind, height, top, bolts, units)
    structure = build(drawn, top)
    try:
        sliding, held = stand(structure, slides=True), stand(structure, slides=False)
    except UnstableFrameError as error:
        raise SlabwrightError(_unstable(structure, error)) from error
    loads = loads_of(base.loads, top.area)
    every = cases(structure, loads)
    stood = settle(sliding, [case for case in every if case.slides])
    stood += settle(held, [case for case in every if not case.slides])
    names = [case.name for case in (*(c for c in every if c.slides), *(c for c in every if not c.slides))]
    standing = need_cases(stood)
    stiffness, shares = sway(structure, held)
    mass = weights(structure)
    weight = float(mass.sum()) * STANDARD_GRAVITY
    places = structure.assembled.frame.nodes
    middle = (float(mass @ places[:, 0] / mass.sum()), float(mass @ places[:, 1] / mass.sum()))
    lines = tipping_lines([(name, place) for name, _, place in drawn.feet])
    each, least = tips(lines, weight, middle, _outline(top), table_loads().edge_line.value)
    laid = next((one for one in standing if one.case.name == "laid"), standing[0])
    sag = _sag(structure, laid)
    tubes = tube_mass(drawn)
    plates = math.fsum(plate.mass for plate in drawn.plates)
    tried = trials(kind, sizes, drawn.bolts, units) if mending and kind and sizes else ()
    result = BaseStructure(
        kind=drawn.kind,
        mass=tubes + plates,
        top_mass=top.mass,
        tube_mass=tubes,
        plate_mass=plates,
        paint_area=paint_area(drawn),
        stack=stack,
        height=stood_height,
        sway_stiffness=stiffness,
        sway_shares=shares,
        sway_frequency=frequency(structure, held, mass),
        sag=Sag(sag, sag * table_loads().creep.value),
        stress=_stress(structure, standing),
        bolt_pull=_bolt_pull(structure, standing),
        feet=_feet(drawn, laid, standing),
        tip_load=least,
        tips=each,
        tip_push=tipping_push(lines, weight, middle, stood_height.even),
        mends=mends(tried, top, stiffness, tubes + plates),
        rocks=tuple(
            name
            for number, (name, _, _) in enumerate(drawn.feet)
            if any(one.case.low and one.case.low[number] > 0.0 and number in one.lifted for one in standing)
        ),
        tipping_cases=tuple(name for name, one in zip(names, stood, strict=True) if one is None),
        drawn=drawn,
        structure=structure,
        standing=tuple(standing),
    )
    told = structure_findings(result, loads, units, lambda: _bolts_hold(tried, top, base, units))
    return replace(result, findings=(*findings, *told))


def _bolts_hold(tried: Sequence[Trial], top: TopOn, base: Base, units: Units) -> str | None:
    """The change that adds least steel and after which every bolt holds, as it came out in the model."""
    loads = loads_of(base.loads, top.area)
    for trial in sorted(tried, key=lambda trial: steel_mass(trial.drawn)):
        structure = build(trial.drawn, top)
        every = cases(structure, loads)
        stood = settle(stand(structure, slides=True), [case for case in every if case.slides])
        stood += settle(stand(structure, slides=False), [case for case in every if not case.slides])
        pull = _bolt_pull(structure, [one for one in stood if one is not None])
        if pull is None or pull.margin >= 1.0:
            left = format_force(pull.pull if pull is not None else 0.0, units)
            return f"{trial.change[0].upper()}{trial.change[1:]}: at most {left} then."
    return None


def _drawn(
    base: Base, kind: BaseKind | None, height: float, top: TopOn, bolts: Sequence[Bolt] | None, units: Units
) -> tuple[Drawn, Sizes | None, HeightStack | None, Height, list[Finding]]:
    """The base as drawn, with its height stack; a free frame states its own heights."""
    tolerance = base.height_tolerance
    if base.nodes:
        drawn = draw_free(base, units)
        at = [drawn.underside + thickness - top.pocket for thickness in top.thickness]
        return drawn, None, None, Height(*at), []
    if kind is None:
        raise SlabwrightError("piece.base: state the picture of the base, or a free frame in [base]")
    stack, stood = height_stack(
        height,
        top.thickness,
        top.pocket,
        plate_thickness(base, units),
        base.feet.stands(),
        base.feet.travel(),
        tolerance=tolerance,
        known=top.known,
        leg_as_made=base.leg_as_made,
        plate_as_made=base.plate_as_made,
    )
    sizes = sizes_of(base, top.length, top.width, height, stack.leg, units, kind)
    drawn = draw(kind, sizes, plate_bolts(base, sizes) if bolts is None else bolts, units)
    told = height_findings(stack, stood, tolerance, base.leg_as_made is not None, units, top.planned)
    return drawn, sizes, stack, stood, [*stated_findings(base, kind, sizes, units), *told]


def _unstable(structure: Structure, error: UnstableFrameError) -> str:
    """The fault in the maker's own names."""
    names = list(structure.drawn.nodes)
    if error.node < len(names):
        return (
            f"base: the frame would fold up: {names[error.node]!r} can move {error.way} and nothing holds it; weld a joint that"
            " is pinned, or add a member that holds it"
        )
    if error.way == "across" and all(bolt.slides for bolt in structure.bolts):
        return (
            "base: every bolt slides across the grain, so nothing holds the top across: let one on each plate be fixed"
        )
    return (
        f"base: nothing holds the top against moving {error.way}: add bolts, apart from each other, and let one on each plate be"
        " fixed"
    )


def _outline(top: TopOn) -> Polygon:
    """The top in plan, x from its middle."""
    import shapely
    from shapely.affinity import translate

    if top.outline is not None:
        return translate(top.outline, xoff=-top.length / 2.0)
    return shapely.box(-top.length / 2.0, -top.width / 2.0, top.length / 2.0, top.width / 2.0)


def _sag(structure: Structure, laid: Stood) -> float:
    heights = laid.motions[6 * structure.slab.ravel() + 2]
    return float(heights.max() - heights.min())


def _stress(structure: Structure, standing: Sequence[Stood]) -> Stress:
    """Pull and bending both ways added up, wherever greatest in each member; plates also where they reach to a bolt."""
    yields = table_loads().yields.value
    sections = structure.sections
    area = np.array([section.area for section in sections])
    over_y = np.array([section.modulus_y for section in sections])
    over_z = np.array([section.modulus_z for section in sections])
    first = len(structure.feet)
    worst = (-1.0, "", "")
    steel = slice(structure.beams)
    _, short, along = own_weight(structure)
    for one in standing:
        ends = end_forces(structure.assembled, one.motions, short)[steel]
        bent = greatest_moments(ends, structure.assembled.lengths[steel], along[steel])
        stress = np.maximum(np.abs(ends[:, 0]), np.abs(ends[:, 6])) / area + bent[:, 0] / over_y + bent[:, 1] / over_z
        number = int(np.argmax(stress))
        found = [(float(stress[number]), structure.drawn.members[number].name, one.case.name)]
        pulls = joint_forces(structure.assembled, one.motions)[first:, 2]
        for bolt, pull, (reach, wide), thick in zip(
            structure.bolts, pulls.tolist(), structure.arms, structure.plate_thickness, strict=True
        ):
            if reach > 0.0:
                found.append((abs(pull) * reach / (wide * thick**2 / 6.0), f"plate at {bolt.name}", one.case.name))
        worst = max(worst, max(found))
    return Stress(worst[1], worst[2], worst[0], yields, yields / max(worst[0], 1e-9))


def _bolt_pull(structure: Structure, standing: Sequence[Stood]) -> BoltPull | None:
    first = len(structure.feet)
    worst: BoltPull | None = None
    allowed = [
        allowed_withdrawal("threaded insert", structure.top.gravity, bolt.hole, bolt.engagement)
        for bolt in structure.bolts
    ]
    for one in standing:
        forces = joint_forces(structure.assembled, one.motions)[first:]
        pulls = np.maximum(forces[:, 2], 0.0) + np.abs(forces[:, 4]) / np.array(structure.levers)
        for bolt, pull, may in zip(structure.bolts, pulls.tolist(), allowed, strict=True):
            if pull > 1e-6 and (worst is None or may / pull < worst.margin):
                worst = BoltPull(bolt.name, one.case.name, pull, may, may / pull)
    return worst


def _feet(drawn: Drawn, laid: Stood, standing: Sequence[Stood]) -> tuple[FootLoad, ...]:
    found = []
    for number, (name, _, (x, y)) in enumerate(drawn.feet):
        most = max(standing, key=lambda one: float(one.feet[number]))
        found.append(FootLoad(name, x, y, float(laid.feet[number]), float(most.feet[number]), most.case.name))
    return tuple(found)
