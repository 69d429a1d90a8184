"""From the readings to the flat slab: first all that holds whatever length is cut from it, then the ways out of a dip."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from slabwright.findings import Finding
from slabwright.job.loaded import Job
from slabwright.slab.board import Board, board, check_findings
from slabwright.slab.flatten import Lain, lay, with_ways
from slabwright.slab.moisture import moisture_findings, moisture_gate
from slabwright.slab.odd_readings import odd_reading_findings
from slabwright.slab.results import SlabPlan
from slabwright.slab.stated_sizes import choice_findings, defect_findings, size_findings
from slabwright.slab.survey import Survey, survey, survey_findings

Progress = Callable[[str], None]


def _defaults(job: Job) -> tuple[Finding, ...]:
    """Which of the shop's own figures are not stated, so that the usual ones are taken."""
    tables = ("machine", "bed", "shims", "allowance")
    missing = [table for table in tables if not any(key.startswith(f"shop:{table}.") for key in job.where)]
    if not missing:
        return ()
    told = missing[0] if len(missing) == 1 else f"{', '.join(missing[:-1])} and {missing[-1]}"
    finding = Finding(
        "shop/defaults",
        "note",
        f"The shop file does not state {told}: the usual figures are taken.",
        "State your own once, in shop.toml beside the job or in your config folder.",
    )
    return (finding,)


@dataclass(frozen=True)
class SlabLies:
    """The slab as it lies, whatever length is cut from it; None where there is no board in it.

    Attributes:
        read: the readings
        lain: but for the ways out of a dip
        made: the board
        wood: what there is to say of the species
        readings: of the readings
        board: of the board, or why there is none
    """

    read: Survey
    lain: Lain | None
    made: Board | None
    wood: tuple[Finding, ...]
    readings: tuple[Finding, ...]
    board: tuple[Finding, ...]


@dataclass(frozen=True)
class FlatSlab:
    """The slab as it will be flattened; None where there is no board in it."""

    slab: SlabPlan | None
    made: Board | None
    findings: tuple[Finding, ...]


def lie_of_slab(
    job: Job, density: float, modulus: float, findings: tuple[Finding, ...], progress: Progress
) -> SlabLies:
    """From the readings to the board."""
    stated = job.stated
    units = stated.job.units
    assert stated.slab is not None
    progress("Readings")
    read = survey(job, density, modulus)
    gate = moisture_gate(stated.slab.moisture, stated.room, read.thickness_most)
    found = (
        *defect_findings(read, stated.slab.defects, units),
        *odd_reading_findings(read, units),
        *survey_findings(read, job),
        *moisture_findings(gate),
        *_defaults(job),
    )
    lain, none = lay(job, read, gate, density=density, modulus=modulus, progress=progress)
    if lain is None:
        return SlabLies(read, None, None, findings, found, none)
    slab = lain.plan
    low = next(procedure.thickness_low for procedure in slab.procedures if procedure.chosen)
    wanted = stated.piece.thickness
    made = board(
        None if wanted == "max" else wanted, low, slab.seat.thickness_even_filled, stated.checks, stated.as_made
    )
    more = *choice_findings(stated.fill.choose, len(slab.patch_front)), *check_findings(stated.checks, made, units)
    return SlabLies(read, lain, made, findings, found, more)


def flat_slab(job: Job, lies: SlabLies, progress: Progress) -> FlatSlab:
    """The slab with the ways out of a dip, and whether it gives the sizes that are wanted."""
    sizes = size_findings(lies.read, job.stated.piece, job.stated.job.units)
    found = (*lies.wood, *sizes, *lies.readings)
    if lies.lain is None:
        return FlatSlab(None, None, (*found, *lies.board))
    slab, more = with_ways(job, lies.lain, progress)
    return FlatSlab(slab, lies.made, (*found, *more, *lies.board))
