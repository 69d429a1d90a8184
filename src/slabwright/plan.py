"""The one place that says which stage follows which."""

from __future__ import annotations

import dataclasses
import functools
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from slabwright import __version__
from slabwright.accounts import as_plain, figure, working
from slabwright.base.basing import BasePlan
from slabwright.beside import Beside
from slabwright.carry.carrying import CarryPlan
from slabwright.findings import FROM_MEMORY, Finding, SlabwrightError
from slabwright.finish.finishing import FinishPlan
from slabwright.job.load import SHOP_FILE
from slabwright.job.loaded import Job
from slabwright.kept import Kept, read_by
from slabwright.machine.results import MachinePlan
from slabwright.shop.shop_plan import ShopPlan
from slabwright.slab.board import Board
from slabwright.slab.results import SlabPlan
from slabwright.top.results import TopPlan

if TYPE_CHECKING:
    from threadpoolctl import ThreadpoolController

Progress = Callable[[str], None]

_UNKNOWN_DENSITY = 650.0
_UNKNOWN_MODULUS = 11_000.0


@dataclass(frozen=True)
class Waiting:
    """A stage that was left out, and what it waits for."""

    stage: str = figure("", "what is left out")
    waits_for: str = figure("", "what it waits for")


@dataclass(frozen=True)
class Plan:
    """All that follows from a job as it stands today."""

    board: Board | None = figure("", "the flat board, as well as it is known today")
    slab: SlabPlan | None = figure("", "the slab's plan; empty where there are no readings yet")
    top: TopPlan | None = figure(
        "", "the machined top; empty where the piece has no length yet, or no room in the slab"
    )
    base: BasePlan | None = figure("", "the welded steel base; empty where its picture or the height is not stated")
    finish: FinishPlan | None = figure("", "mending, epoxy, surfaces and coats; empty where there is no board yet")
    carry: CarryPlan | None = figure(
        "", "weight, hands, the way in, assembly and cables; empty before a slab is stated"
    )
    machine: MachinePlan | None = figure(
        "", "what the machine or the sled does; empty where none is stated, or a stop keeps it"
    )
    shop: ShopPlan | None = figure("", "operations, hours, days, orders and price; empty before a slab is stated")
    waiting: tuple[Waiting, ...] = figure("", "stages left out, and what they wait for")
    findings: tuple[Finding, ...] = figure("", "checks and problems")
    job: Job = working()


def _quiet(_: str) -> None:
    """Tell nobody."""


def ripest(job: Job) -> Job:
    """The job with its last re-reading in place of the first survey: the slab as it lies now."""
    return dataclasses.replace(job, readings=job.rereadings[-1]) if job.rereadings else job


def _wood(name: str, place: str) -> tuple[float, float, tuple[Finding, ...]]:
    """Density and modulus of a species, and a word where the table has none."""
    from slabwright.reference.wood import species

    try:
        row = species(name)
    except SlabwrightError as error:
        raise SlabwrightError(f"{place}: slab.species: {error}") from None
    density = row.density()
    if density is not None and row.modulus is not None:
        return density, row.modulus, ()
    finding = Finding(
        "slab/density-unknown",
        "caution",
        f"The table lacks density or stiffness of {row.name}: {_UNKNOWN_DENSITY:.0f} kg/m3 and {_UNKNOWN_MODULUS:.0f} MPa are "
        "taken in their place.",
        "Take sag and tipping as rough until the slab is weighed.",
        FROM_MEMORY,
    )
    return density or _UNKNOWN_DENSITY, row.modulus or _UNKNOWN_MODULUS, (finding,)


@contextmanager
def _placed(job: Job) -> Iterator[None]:
    """Where a stage refuses what a key states, name the file and the line of that key, or of the table that holds it."""
    try:
        yield
    except SlabwrightError as error:
        message = str(error)
        head = message.partition(": ")[0].replace("[bed] ", "shop:bed.")
        keys = re.findall(r"(?:shop:)?[a-z]+(?:\.[a-z_]+|\[[0-9]+\])+", head)
        keys += [keys[0].rpartition(".")[0]] if keys else [head if head.isidentifier() else "slab"]
        stated = (
            key for wanted in keys for key in job.where if key == wanted or key.startswith((f"{wanted}.", f"{wanted}["))
        )
        place = next((job.where[key] for key in keys if key in job.where), None) or job.where.get(next(stated, ""))
        other = SHOP_FILE if keys[0].startswith("shop:") else job.file
        raise SlabwrightError(f"{place.file}:{place.line}: {message}" if place else f"{other}: {message}") from error


def plan(
    job: Job,
    progress: Progress = _quiet,
    *,
    beside: bool = False,
    scheduled: bool = True,
    kept: Kept | None = None,
) -> Plan:
    """Work out all that follows from a job.

    Args:
        job: from `load_job`
        progress: told each step in a few words
        beside: work out the machine's programs in a second process, where that can be done and helps
        scheduled: whether the shop's days are worked out too
        kept: results of earlier plans, which are taken over where nothing that they rest on has changed; and these go there

    Returns:
        The plan: what could be worked out, what waits for what, and the problems.

    Raises:
        SlabwrightError: what is stated cannot be used.
    """
    # The matrices are small: threads for them only wait for each other.
    with _linear_algebra().limit(limits=1, user_api="blas"):
        return _plan(ripest(job), progress, beside, scheduled, kept if kept is not None else Kept(1))


@functools.cache
def _linear_algebra() -> ThreadpoolController:
    """What says how many threads linear algebra takes; to find its libraries takes as long as a small plan's stage."""
    import scipy.linalg  # noqa: F401  (brings its own linear algebra, which is to be held to one thread too)
    from threadpoolctl import ThreadpoolController

    return ThreadpoolController()


def _plan(job: Job, progress: Progress, beside: bool, scheduled: bool, kept: Kept) -> Plan:
    from slabwright.carry.carrying import carry_plan
    from slabwright.carry.mass import rough_solid
    from slabwright.finish.finishing import finish_plan
    from slabwright.finish.mending import mending_plan
    from slabwright.machine.locating import locating
    from slabwright.machine.machining import runs, title_of, titled
    from slabwright.shop.job_schedule import shop_now
    from slabwright.shop.operations import PlanParts
    from slabwright.shop.shop_plan import shop_plan
    from slabwright.slab.board import planned_board, planned_findings
    from slabwright.slab.from_readings import flat_slab, lie_of_slab
    from slabwright.slab.passes import passes_of

    stated = job.stated
    units = stated.job.units
    if stated.slab is None:
        return _nothing_yet(job, Waiting("slab", "a [slab] in the job file: its species, and readings"))
    where = job.where.get("slab.species")
    density, modulus, findings = _wood(stated.slab.species, f"{where.file}:{where.line}" if where else job.file)
    if job.readings is None:
        unread = Waiting("slab", "readings of both faces: slabwright read, or [slab] survey")
        if stated.slab.planned is None:
            with _placed(job):
                shop, told = shop_plan(job, PlanParts())
            return _nothing_yet(job, unread, (*findings, *told), shop=shop)
        guess = planned_board(stated.slab.planned)
        carried, more = carry_plan(job, None, guess, None, None)
        with _placed(job):
            shop, told = shop_plan(job, PlanParts(carry=carried))
        findings = (*findings, *planned_findings(units, guess), *more, *told)
        return _nothing_yet(job, unread, findings, guess, carried, shop)

    lie_of = read_by(job, "lie")
    with _placed(job):
        lies = kept.of("lie", lie_of, partial(lie_of_slab, job, density, modulus, findings, progress))
        flat = kept.of("slab", read_by(job, "slab"), partial(flat_slab, job, lies, progress))
    slab = flat.slab
    if slab is None or flat.made is None:
        return _nothing_yet(job, Waiting("slab", "a region of the slab that holds a board"), flat.findings)
    made, found = flat.made, [*flat.findings]
    stops = _stops(flat.findings)
    named, machined = kept.known("machine", (lie_of, stops)) or (title_of(stated.job), None)
    machining = Beside(partial(_machined, job, slab, stops), progress, beside=beside and machined is None)
    after: list[Finding] = []
    top, base, waiting = _topped(job, slab, made, after, progress, kept, density=density, modulus=modulus)
    progress("Finishing")
    with _placed(job):
        mended = kept.of("mending", read_by(job, "mending"), partial(mending_plan, job, slab, made, top))
        finish, more = kept.of(
            "finish", read_by(job, "finish"), partial(finish_plan, job, slab, made, top, base, mended=mended)
        )
    after += more
    progress("Carrying in")
    with _placed(job):
        solid = kept.of("rough slab", lie_of, partial(rough_solid, slab))
        carry, more = kept.of("carry", read_by(job, "carry"), partial(carry_plan, job, slab, made, top, base, solid))
    after += more
    if machined is None:
        machined = machining.result()
        kept.keep("machine", (lie_of, stops), (named, machined))
    machine, machine_waits, more = machined
    if machine is not None and named != title_of(stated.job):
        machine = titled(machine, named, title_of(stated.job))
    found += more
    waiting = (*machine_waits, *waiting)
    if machine is not None:
        slab = dataclasses.replace(slab, passes=passes_of(slab.stock_a, slab.stock_b, runs(machine.settings)))
        if top is not None:
            progress("Locating")
            with _placed(job):
                lying, more = kept.of(
                    "locating", read_by(job, "locating"), partial(locating, job, top, as_made=made.basis == "as made")
                )
            after += more
            machine = dataclasses.replace(machine, locating=lying)
            # A sled follows a template by hand: there are no programs that wait.
            if machine.kind == "gantry":
                waiting = (*waiting, *_features_wait(top, lying is not None, made))
    progress("Hours, days and money")
    with _placed(job):
        shop, more = shop_plan(job, PlanParts(slab, top, base, machine, finish, carry), scheduled=scheduled)
    if shop.schedule is None and scheduled and shop_now(job) is None:
        waiting = (*waiting, Waiting("schedule", "today's date: [job] date, such as 2026-11-25"))
    return Plan(made, slab, top, base, finish, carry, machine, shop, waiting, (*found, *after, *more), job)


def _stops(found: tuple[Finding, ...]) -> tuple[str, ...]:
    """What of all that was found keeps the slab off the machine."""
    return tuple(finding.code for finding in found if finding.severity == "stop")


def _nothing_yet(
    job: Job,
    waiting: Waiting,
    findings: tuple[Finding, ...] = (),
    guess: Board | None = None,
    carry: CarryPlan | None = None,
    shop: ShopPlan | None = None,
) -> Plan:
    """The plan of a job that has no slab to plan with."""
    return Plan(guess, None, None, None, None, carry, None, shop, (waiting,), findings, job)


def _topped(
    job: Job,
    slab: SlabPlan,
    made: Board,
    found: list[Finding],
    progress: Progress,
    kept: Kept,
    *,
    density: float,
    modulus: float,
) -> tuple[TopPlan | None, BasePlan | None, tuple[Waiting, ...]]:
    """The top and the base, as far as they can be worked out; what they have to say goes to `found`."""
    from slabwright.base.basing import base_plan
    from slabwright.base.stability import base_structure
    from slabwright.top.topping import placing, top_plan

    top, base = None, None
    waiting: tuple[Waiting, ...] = ()
    if job.stated.piece.length is None:
        waiting = (Waiting("top", "the finished length: [piece] length"),)
    elif made.thickness <= 0.0:
        waiting = (Waiting("top", "a board that is sure of some thickness"),)
    else:
        with _placed(job):
            placed = kept.of("placing", read_by(job, "placing"), partial(placing, job, slab, progress))
            top, more = kept.of("top", read_by(job, "top"), partial(top_plan, job, slab, made, progress, placed))
        found += more
        if top is None:
            waiting = (Waiting("top", "room for the piece in the slab"),)
    if top is not None:
        with _placed(job):
            base, more = kept.of(
                "base",
                read_by(job, "base"),
                partial(
                    base_plan,
                    job,
                    top,
                    made,
                    density=density,
                    modulus=modulus,
                    progress=progress,
                    structured=lambda *given: kept.of("structure", given, partial(base_structure, *given)),
                ),
            )
        found += more
    if base is None:
        waiting = (*waiting, Waiting("base", _base_waits(job, top is not None)))
    return top, base, waiting


def _base_waits(job: Job, placed: bool) -> str:
    """What the base waits for."""
    if not placed:
        return "the top"
    return "the finished height: [piece] height" if job.stated.piece.height is None else "its picture: [piece] base"


def _features_wait(top: TopPlan, touched: bool, made: Board) -> tuple[Waiting, ...]:
    """What the programs of the top's features wait for."""
    if not any(feature.solids for feature in top.features):
        return ()
    lacking = []
    if made.basis != "as made":
        lacking.append("the board's measured thickness: [as_made] thickness")
    if not touched:
        lacking.append("touched-off places: [[top.datums]]")
    return (Waiting("features' programs", "; ".join(lacking)),) if lacking else ()


def _machined(
    job: Job, slab: SlabPlan, stops: tuple[str, ...], progress: Progress
) -> tuple[MachinePlan | None, tuple[Waiting, ...], tuple[Finding, ...]]:
    """The machine's part, where a machine is stated and nothing of what was found says stop; and what it has to say."""
    from slabwright.machine.machining import machining

    if not any(key.startswith("shop:machine.") for key in job.where):
        wanted = Waiting("machine", "your own [machine] in the shop file: no program is written for a guessed one")
        return None, (wanted,), ()
    if stops:
        return None, (Waiting("machine", f"the stop to be mended: {stops[0]}"),), ()
    machine, more = machining(job, slab, progress)
    if machine is None or (machine.kind == "gantry" and not machine.programs):
        return machine, (Waiting("machine", "the stop to be mended: no program is written"),), more
    return machine, (), more


def as_json(result: Plan) -> dict[str, Any]:
    """The plan as `plan.json` holds it: lengths in mm, angles in degrees, masses in kg, times in minutes or days as named."""
    return {
        "slabwright": __version__,
        "job": result.job.stated.job.model_dump(mode="json"),
        **as_plain(result),
    }
