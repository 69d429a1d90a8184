"""What the maker should know before the slab is laid on its stacks."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from slabwright.findings import COMMON_PRACTICE, Finding, SlabwrightError
from slabwright.job.models import Bed, Point, Shims
from slabwright.quantities import Units, format_length
from slabwright.slab.shim_results import ShimPlan

_BEAM = "Euler-Bernoulli beam"


def shim_findings(
    plan: ShimPlan,
    bed: Bed,
    *,
    stock: Shims,
    down_force: float,
    units: Units,
    again: Callable[[Bed], ShimPlan] | None = None,
) -> tuple[Finding, ...]:
    """Checks and problems of the stacks, each with a remedy that was tried where it could be.

    Args:
        plan: the stacks
        bed: that they stand on
        stock: the shims
        down_force: of the cutter [N]
        units: that lengths are shown in
        again: works the stacks out for another bed, to try a remedy; without it remedies are told untried
    """

    def length(mm: float) -> str:
        return format_length(mm, units)

    found = [*_reach(plan, stock, length)]
    if any(stack.carries for stack in plan.stacks):
        found += [*_tipping(plan, bed, down_force, length, again), *_sagging(plan, bed, length, again)]
    found += [*_unread(plan, length), *_wood(plan, bed, length)]
    return tuple(found)


def _listed(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def _reach(plan: ShimPlan, stock: Shims, length: Callable[[float], str]) -> Iterator[Finding]:
    if not plan.short:
        return
    low = [stack for stack in plan.stacks if stack.name in plan.short]
    greatest = max(low, key=lambda stack: stack.wedge)
    tallest = max(stock.thicknesses) * stock.most_pieces
    carried = any(stack.carries for stack in plan.stacks)
    standing = carried and plan.tip_margin >= 0.0
    block = np.ceil(greatest.wedge)
    yield Finding(
        "slab/stack-out-of-reach",
        "caution" if standing else "stop",
        f"The gap at {_listed([stack.name for stack in low])} is up to {length(greatest.wedge + greatest.height)};"
        f" {stock.most_pieces} of the thickest shims make {length(tallest)}."
        + ("" if carried else " No three stacks reach the wood, so the slab would lie on its own belly."),
        f"Set a block of {length(block)} under {_listed([stack.name for stack in low])},"
        " or put more or thicker shims into [shims].",
    )


def _tipping(
    plan: ShimPlan, bed: Bed, down_force: float, length: Callable[[float], str], again: Callable[[Bed], ShimPlan] | None
) -> Iterator[Finding]:
    if plan.tip_margin >= 0.0:
        return
    holds = plan.tip_margin + down_force
    wedged = plan.tip_margin_wedged + down_force
    carrying = _listed([stack.name for stack in plan.stacks if stack.carries])
    others = _listed([stack.name for stack in plan.stacks if not stack.carries] or ["more places"])
    outward = _outward(plan, bed, length, again)
    if plan.tip_margin_wedged < 0.0:
        own = "The slab tips by its own weight: its centre of mass lies beyond the places"
        pressed = f"Even with every stack wedged the slab tips under {wedged:.0f} N at its worst corner"
        yield Finding(
            "slab/would-tip",
            "stop",
            f"{own if wedged <= 0.0 else pressed}; the cutter may push {down_force:.0f} N.",
            outward
            or "Clamp the slab down outside the cut, or stand it on places farther out: state them as [bed] pads.",
            "rigid-body balance",
        )
        return
    yield Finding(
        "slab/wedge-first",
        "caution",
        f"On its three stacks {carrying} alone the slab tips under {max(holds, 0.0):.0f} N at its worst corner;"
        f" the cutter may push {down_force:.0f} N.",
        f"Wedge {others} before the first cut: then it takes {wedged:.0f} N." + (f" Or: {outward}" if outward else ""),
        "rigid-body balance",
    )


def _outward(plan: ShimPlan, bed: Bed, length: Callable[[float], str], again: Callable[[Bed], ShimPlan] | None) -> str:
    """Places farther out that hold the slab, tried; empty where none was found."""
    if again is None:
        return ""
    at = np.array([(stack.x, stack.y) for stack in plan.stacks])
    middle = (at.min(axis=0) + at.max(axis=0)) / 2.0
    wedged: ShimPlan | None = None
    alone: ShimPlan | None = None
    for part in (1.1, 1.2, 1.3, 1.45, 1.6, 1.8, 2.1, 2.5, 3.0, 4.0):
        moved = middle + part * (at - middle)
        pads: list[Point] = [(float(x), float(y)) for x, y in moved]
        try:
            tried = again(bed.model_copy(update={"pads": pads}))
        except SlabwrightError:
            break
        if tried.left_out or not all(stack.on_wood for stack in tried.stacks):
            break
        if tried.tip_margin >= 0.0:
            alone = tried
            break
        if tried.tip_margin_wedged >= 0.0 and plan.tip_margin_wedged < 0.0 and wedged is None:
            wedged = tried
    best = alone or wedged
    if best is None:
        return ""
    places = "; ".join(f"{stack.name} {length(stack.x)}, {length(stack.y)}" for stack in best.stacks)
    holds = "three stacks then hold" if best is alone else "stacks, once wedged, then hold"
    margin = best.tip_margin if best is alone else best.tip_margin_wedged
    return f"move the places outward, to x, y: {places}; its {holds} {margin:.0f} N more than the cutter pushes."


def _sagging(
    plan: ShimPlan, bed: Bed, length: Callable[[float], str], again: Callable[[Bed], ShimPlan] | None
) -> Iterator[Finding]:
    if plan.sag <= bed.greatest_sag:
        return
    remedy = "Add a row of places nearer the middle, or support the slab all over."
    for rows in range(bed.pads_along + 1, min(bed.pads_along + 4, 13)) if again is not None else ():
        assert again is not None
        tried = again(bed.model_copy(update={"pads": None, "pads_along": rows}))
        if tried.sag <= bed.greatest_sag and tried.tip_margin >= min(plan.tip_margin, 0.0):
            remedy = f"Use {rows} rows of places: it then sags {length(tried.sag)} and loses {length(tried.loss)} to its stacks."
            break
    yield Finding(
        "slab/sags-on-stacks",
        "caution",
        f"Between its three stacks the slab sags {length(plan.sag)}; {length(bed.greatest_sag)} is allowed."
        " What is cut flat springs back by that.",
        remedy,
        _BEAM,
    )


def _unread(plan: ShimPlan, length: Callable[[float], str]) -> Iterator[Finding]:
    blind = [stack for stack in plan.stacks if not stack.read]
    if blind:
        worst = max(stack.gap_error for stack in blind)
        yield Finding(
            "slab/pad-unread",
            "caution",
            f"No reading lies over {_listed([stack.name for stack in blind])}: the gap there is worked out from its neighbours"
            f" and may well be {length(2.0 * worst)} off.",
            "Measure the gap there with a feeler once the slab lies on its three stacks, or read the underside at these places.",
        )


def _wood(plan: ShimPlan, bed: Bed, length: Callable[[float], str]) -> Iterator[Finding]:
    partly = [stack.name for stack in plan.stacks if not stack.on_wood]
    if partly:
        yield Finding(
            "slab/pad-off-wood",
            "caution",
            f"The pad at {_listed(partly)} stands partly beyond the underside's outline.",
            "Move it in by half its diameter, or use a smaller pad: [bed] pads, pad_diameter.",
        )
    if plan.left_out:
        places = "; ".join(f"{length(x)}, {length(y)}" for x, y in plan.left_out)
        yield Finding(
            "slab/pad-beside-slab",
            "caution",
            f"No wood lies over the stated places {places}: they were left out.",
            "Check them against the outline: [bed] pads are in the slab's own frame.",
        )
    radius = bed.pad_diameter / 2.0
    along = max(stack.bed_x for stack in plan.stacks) - min(stack.bed_x for stack in plan.stacks) + 2.0 * radius
    across = max(stack.bed_y for stack in plan.stacks) - min(stack.bed_y for stack in plan.stacks) + 2.0 * radius
    if along > bed.length or across > bed.width:
        yield Finding(
            "slab/pads-off-bed",
            "stop",
            f"The places take {length(along)} by {length(across)}; the bed is {length(bed.length)} by {length(bed.width)}.",
            "State places that stand on the bed ([bed] pads), or the bed's true size.",
            COMMON_PRACTICE,
        )
