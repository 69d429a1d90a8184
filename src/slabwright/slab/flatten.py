"""From the survey to the plan of the slab: lie, fill, promise, planes, shims and passes, in the order in which they follow."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from slabwright.findings import Finding
from slabwright.geometry.faces import FaceName, other
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.strip import Strip, widest_strip
from slabwright.job.loaded import Job
from slabwright.job.models import Bed, Slab
from slabwright.slab.fill_checks import front_findings
from slabwright.slab.hidden import Hidden, hidden_surface
from slabwright.slab.lie import above, below, cut_planes, opposing_point, widest_at
from slabwright.slab.moisture import MoistureGate
from slabwright.slab.passes import passes, procedures
from slabwright.slab.patch import FrontPoint, Patch
from slabwright.slab.patches import Specks, find_patches, patch_front
from slabwright.slab.promise import Promise, between_readings, promise
from slabwright.slab.results import SlabPlan
from slabwright.slab.sampling import spans
from slabwright.slab.seat import seat
from slabwright.slab.shim_findings import shim_findings
from slabwright.slab.shim_results import ShimPlan
from slabwright.slab.shims import shims
from slabwright.slab.stock import stock_map
from slabwright.slab.survey import Survey
from slabwright.slab.thickness_checks import faces_apart, no_board, reading_findings, thickness_findings
from slabwright.slab.ways import WaysInput, cut_to, fill_money, knee, ways, windows

Progress = Callable[[str], None]

_SKIP_SHARE = 0.05
"""Part of the underside that may stay rough where the job prices it: common practice."""


@dataclass(frozen=True)
class _Bench:
    """What the steps of `flatten` share: the job, the survey, the widest strip of the readings, and what lies hidden."""

    job: Job
    slab: Slab
    survey: Survey
    density: float
    modulus: float
    strip: Strip
    hidden: Hidden
    point: tuple[float, float]

    def shim_plan(self, planes: PlanePair, down_face: FaceName, bed: Bed | None = None) -> ShimPlan:
        """Stacks for a lie."""
        shop = self.job.shop
        return shims(
            self.survey,
            planes,
            down_face=down_face,
            bed=bed or shop.bed,
            stock=shop.shims,
            down_force=shop.machine.down_force,
            density=self.density,
            modulus=self.modulus,
        )

    def promised(
        self,
        planes: PlanePair,
        shim_plan: ShimPlan,
        *,
        thickness: float | None = None,
        stretch: tuple[float, float] | None = None,
    ) -> Promise:
        """What is promised of a board between planes that touch the readings."""
        shop, where = self.job.shop, self.job.where
        x_from, x_to = stretch or (None, None)

        def stated(key: str) -> str:
            return "shop file" if f"shop:{key}" in where else "default"

        return promise(
            planes.thickness if thickness is None else thickness,
            between_readings(self.hidden, planes, x_from, x_to),
            tie=self.survey.tie,
            tie_point=self.point,
            # Stacks that do not reach the wood have no loss of their own; their problem is told apart.
            shim_loss=shim_plan.loss if math.isfinite(shim_plan.loss) else 0.0,
            shim_error=shim_plan.loss_error if math.isfinite(shim_plan.loss_error) else 0.0,
            z_zero_error=shop.machine.z_zero_error,
            marks_and_sanding=shop.allowance.marks_and_sanding,
            basis={
                "between readings": self.hidden.note or "readings",
                "tie": "callipers" if self.survey.tie else "one set-up: nothing to tie",
                "shims": stated("shims.thicknesses"),
                "z zero": stated("machine.z_zero_error"),
                "marks and sanding": stated("allowance.marks_and_sanding"),
            },
        )

    def front(self, face: FaceName) -> tuple[FrontPoint, ...]:
        """Thickness against fill with a face shown."""
        survey, price = self.survey, self.job.stated.fill.underside_price_per_litre
        return patch_front(
            survey.face_a,
            survey.face_b,
            survey.region_a,
            self.strip.planes,
            show_face=face,
            region_b=survey.region_b,
            underside_area=survey.area * _SKIP_SHARE if price else None,
        )


def show_face_of(slab: Slab, fronts: dict[FaceName, tuple[FrontPoint, ...]]) -> FaceName:
    """The face that will be seen: as stated, or the better one.

    The better one needs less fill for the thickness that both can reach; of two alike the one with fewer stated defects.
    """
    if slab.show_face != "either":
        return slab.show_face

    def defects(face: FaceName) -> int:
        return sum(defect.face in (face, "both") for defect in slab.defects)

    reach = min(front[-1].thickness for front in fronts.values())

    def fill_needed(face: FaceName) -> float:
        return min(point.fill_volume for point in fronts[face] if point.thickness >= reach - 1e-6)

    return min(("A", "B"), key=lambda face: (round(fill_needed(face) / 1e4), defects(face), face))


def chosen_point(job: Job, front: tuple[FrontPoint, ...], promised: Callable[[FrontPoint], float]) -> int:
    """The point of thickness against fill that the sheets follow.

    As stated; else no fill without a price and the client's consent; else the least fill that reaches the stated thickness.
    For the most thickness nothing is filled unless the maker chooses it: how much fill may show is not for us to say.

    Args:
        job: prices, consent, wanted thickness
        front: thickness against fill of the show face
        promised: thickness of a board with the fill of a point [mm]
    """
    fill, wanted = job.stated.fill, job.stated.piece.thickness
    if fill.choose is not None:
        return min(fill.choose, len(front) - 1)
    if wanted == "max" or fill.price_per_litre is None or not fill.client_agrees:
        return 0
    return next((index for index, point in enumerate(front) if promised(point) >= wanted), 0)


@dataclass(frozen=True)
class Lain:
    """The slab as it lies, is filled, shimmed and cut: all but the ways out of a dip.

    Attributes:
        plan: of the slab, its ways out still empty
        findings: what there is to say of readings, fill and shims
        promised: thickness of a board with the fill of a point [mm]
        shortened: thickness and what is promised of a stretch from x to x [mm]
        reference: the point of thickness against fill that a fill is judged by
        patches: of that point
        front_other: thickness against fill of the face that is not seen
    """

    plan: SlabPlan
    findings: tuple[Finding, ...]
    promised: Callable[[FrontPoint], float]
    shortened: Callable[[float, float], tuple[float, float]]
    reference: int
    patches: tuple[Patch, ...]
    front_other: tuple[FrontPoint, ...]


def flatten(
    job: Job, survey: Survey, moisture: MoistureGate, *, density: float, modulus: float, progress: Progress
) -> tuple[SlabPlan | None, tuple[Finding, ...]]:
    """The plan of the slab from its survey.

    Args:
        job: what is stated; it has a slab
        survey: the readings in one frame
        moisture: the gate's verdict
        density: of the wood [kg/m3]
        modulus: of elasticity along the grain [MPa]
        progress: told each step

    Returns:
        The plan, or None where no flat board exists; and what there is to say.

    Raises:
        ValueError: the job has no slab.
    """
    lain, found = lay(job, survey, moisture, density=density, modulus=modulus, progress=progress)
    return (None, found) if lain is None else with_ways(job, lain, progress)


def with_ways(job: Job, lain: Lain, progress: Progress) -> tuple[SlabPlan, tuple[Finding, ...]]:
    """The plan of the slab with the ways out of a dip; of the job only lengths, fill and prices are read.

    Args:
        job: what is stated
        lain: from `lay`, for this job with any finished length and any prices
        progress: told the step
    """
    progress("Ways out of a dip")
    piece, fill, shop = job.stated.piece, job.stated.fill, job.shop
    plan, units = lain.plan, job.stated.job.units
    survey = plan.survey
    region = survey.region_a if plan.show_face == "A" else survey.region_b
    x_least, _, x_most, _ = region.bounds
    found = ways(
        WaysInput(
            thickness=plan.seat.thickness,
            thickness_low=plan.seat.thickness_low,
            needed=None if piece.thickness == "max" else piece.thickness,
            length=survey.length,
            width=survey.width,
            front=plan.patch_front,
            front_other=lain.front_other,
            reference=lain.reference,
            promised=lain.promised,
            patches=lain.patches,
            shortened=lain.shortened,
            stretches=[
                (x_from, x_to)
                for x_from, x_to in windows(x_least, x_most, piece.length)
                if all(spans(cut_to(face, x_from, x_to)) for face in (survey.face_a, survey.face_b))
            ],
            units=units,
        ),
        fill,
        shop.epoxy,
        shop.prices,
    )
    result = replace(plan, ways=found)
    return result, (*thickness_findings(result, piece.thickness, units), *lain.findings)


def lay(
    job: Job, survey: Survey, moisture: MoistureGate, *, density: float, modulus: float, progress: Progress
) -> tuple[Lain | None, tuple[Finding, ...]]:
    """The plan of the slab without the ways out of a dip; neither finished length nor prices of work are read.

    Args:
        job: what is stated; it has a slab
        survey: the readings in one frame
        moisture: the gate's verdict
        density: of the wood [kg/m3]
        modulus: of elasticity along the grain [MPa]
        progress: told each step

    Returns:
        The slab as it lies, or None where no flat board exists, and why.

    Raises:
        ValueError: the job has no slab.
    """
    slab, shop, piece, fill = job.stated.slab, job.shop, job.stated.piece, job.stated.fill
    if slab is None:
        raise ValueError("the job states no slab")
    units = job.stated.job.units
    progress("Lie of the slab")
    try:
        strip = widest_strip(survey.face_a, survey.face_b)
    except ValueError:
        return None, (faces_apart(),)
    if strip.thickness <= 0.0:
        return None, (no_board(-strip.thickness, units),)
    point = opposing_point(strip.contacts_a, strip.contacts_b, strip.planes)
    progress("What lies between the readings")
    hidden = hidden_surface(survey, reading_error=slab.reading_error)
    bench = _Bench(job, slab, survey, density, modulus, strip, hidden, point)

    progress("Thickness against fill")
    fronts: dict[FaceName, tuple[FrontPoint, ...]] = {"A": bench.front("A"), "B": bench.front("B")}
    show = show_face_of(slab, fronts)
    front = fronts[show]
    # Read again after both faces were roughed, what is left of the work is a skim of each.
    again = job.stated.rereadings[-1].after if job.stated.rereadings else ""
    kind = "one go" if again in (f"rough {other(show)}", "skim A") else slab.procedure

    progress("Shims")
    stacks_of_the_most = stacks = bench.shim_plan(strip.planes, other(show))

    def promised(point: FrontPoint) -> float:
        return bench.promised(point.planes, stacks_of_the_most).low

    as_it_is = bench.promised(strip.planes, stacks)
    chosen = chosen_point(job, front, promised)
    lie = front[chosen].planes if chosen else strip.planes
    filled = bench.promised(lie, stacks) if chosen else as_it_is

    allowance = 2.0 * shop.allowance.marks_and_sanding
    most = max(filled.low, 0.0)
    target = most if piece.thickness == "max" else min(piece.thickness, most)
    # What binds is what stands clear of the planes of the chosen fill: the rest is filled, or left as a skip.
    bind_a = above(survey.face_a, lie) if chosen else survey.face_a
    bind_b = below(survey.face_b, lie) if chosen else survey.face_b
    planes = cut_planes(
        lie,
        bind_a,
        bind_b,
        milled=target + allowance,
        most=most + allowance,
        losses=(filled.loss_a, filled.loss_b),
        kept=lambda tilted: bench.promised(widest_at(tilted, bind_a, bind_b), stacks).low + allowance,
    )
    if (planes.a, planes.b) != (strip.planes.a, strip.planes.b):
        stacks = bench.shim_plan(planes, other(show))

    progress("Passes")
    stock_a = stock_map(survey.all_a, survey.outline_a, planes, which="A")
    stock_b = stock_map(survey.all_b, survey.outline_b, planes, which="B")

    face, region = (survey.face_a, survey.region_a) if show == "A" else (survey.face_b, survey.region_b)
    reference = chosen or knee(front, [fill_money(point, fill) or point.fill_volume for point in front])
    found, _ = find_patches(face, region, front[reference], show, fill.least_depth, shop.epoxy)

    # The chosen fill is poured up to the planes that are cut, which lie lower than those of the most thickness.
    chosen_patches, specks = (
        find_patches(face, region, replace(front[chosen], planes=planes), show, fill.least_depth, shop.epoxy)
        if chosen
        else ((), Specks(0, 0.0, 0.0))
    )

    def shortened(x_from: float, x_to: float) -> tuple[float, float]:
        part = widest_strip(cut_to(survey.face_a, x_from, x_to), cut_to(survey.face_b, x_from, x_to))
        return part.thickness, bench.promised(part.planes, stacks_of_the_most, stretch=(x_from, x_to)).low

    result = SlabPlan(
        survey=survey,
        moisture=moisture,
        seat=seat(
            strip,
            planes,
            thickness_low=as_it_is.low,
            thickness_even=as_it_is.even,
            thickness_low_filled=filled.low,
            thickness_even_filled=filled.even,
            target=target,
            terms=as_it_is.terms,
            stock_a=stock_a,
            stock_b=stock_b,
        ),
        show_face=show,
        first_face=show,
        patch_front=front,
        chosen_fill=chosen,
        filled_with=fill.way,
        patches=chosen_patches,
        ways=(),
        shims=stacks,
        passes=passes(stock_a, stock_b, shop.machine, shop.allowance, first_face=show, kind=kind),
        procedures=procedures(filled.low, shop.allowance, first_face=show, chosen=kind),
        stock_a=stock_a,
        stock_b=stock_b,
        hidden=hidden,
    )
    findings = (
        *reading_findings(hidden, strip.planes, between_readings(hidden, strip.planes), as_it_is, units),
        *front_findings(front, chosen, result.patches, specks, fill, units),
        *shim_findings(
            stacks,
            shop.bed,
            stock=shop.shims,
            down_force=shop.machine.down_force,
            units=units,
            again=lambda bed: bench.shim_plan(planes, other(show), bed),
        ),
    )
    return Lain(result, findings, promised, shortened, reference, found, fronts[other(show)]), ()
