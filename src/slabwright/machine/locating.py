"""Locating: how the top lies on the machine, what to touch before the first cut, and the features' programs there."""

from __future__ import annotations

from dataclasses import dataclass

from slabwright.accounts import figure
from slabwright.findings import Finding
from slabwright.geometry.faces import other
from slabwright.job.loaded import Job
from slabwright.machine.dry_run import DryRunPoint, candidate_datums, dry_run
from slabwright.machine.feature_paths import bit_for
from slabwright.machine.feature_programs import (
    FeatureProgram,
    cut_of,
    feature_findings,
    feature_places,
    feature_programs,
)
from slabwright.machine.located import FaceUp, Located
from slabwright.machine.locating_findings import locating_findings
from slabwright.machine.registration import locate
from slabwright.machine.setting import keep_outs
from slabwright.quantities import Units, format_length
from slabwright.top.results import TopPlan

_IN_PROGRAMS: dict[str, Units] = {"mm": "metric", "in": "inch"}


@dataclass(frozen=True)
class Locating:
    """How the top lies on the machine, and what follows."""

    located: Located = figure("", "turn and shift of the top, and the error at each feature")
    dry_run: tuple[DryRunPoint, ...] = figure("", "places to go to before the first cut")
    programs: tuple[FeatureProgram, ...] = figure("", "of the features, in the found position; none unless it is a go")


def face_to_cut(top: TopPlan) -> FaceUp:
    """The face that most features are cut into: the one that is up."""
    under = sum(feature.face == "underside" for feature in top.features)
    return "underside" if 2 * under >= len(top.features) else "show"


def locating(job: Job, top: TopPlan, *, as_made: bool) -> tuple[Locating | None, tuple[Finding, ...]]:
    """How the top lies on the machine, from the touched places, and the programs of the features of the face that is up.

    Args:
        job: with `[[top.datums]]`, the machine and the piece's edges
        top: its features and outline
        as_made: whether the board's thickness was measured; until then no program knows where its face is

    Returns:
        None where nothing was touched; and what there is to say.

    Raises:
        SlabwrightError: the touches do not fix how the top lies, or are stated wrongly.
    """
    stated = job.stated.top
    if stated is None or not stated.datums or not top.features:
        return None, ()
    head, face = job.stated.job, face_to_cut(top)
    units, written = head.units, _IN_PROGRAMS[job.shop.machine.program_units]
    shown = top.placement.face_up
    slab_face = shown if face == "show" else other(shown)
    thickness, under = top.layout.thickness, job.shop.bed.waste_board
    cuts = [
        cut_of(
            feature.name,
            feature.kind,
            solid.core,
            solid.radius,
            solid.upper,
            solid.lower,
            thickness=thickness,
            face_up=face,
        )
        for feature in top.features
        if feature.face == face
        for solid in feature.solids
    ]
    places = feature_places(cuts, stated.clearances.placing)
    holes = {
        feature.name: (feature.along, feature.across) for feature in top.features if feature.kind == "through hole"
    }
    candidates = candidate_datums(
        top.length,
        top.width,
        {name: (along, across) for name, (along, across) in holes.items() if along is not None and across is not None},
        live_edges=job.stated.piece.live_edges == "both",
        taken=stated.datums,
    )
    found = locate(stated.datums, places, machine_error=stated.machine_error, face_up=face, candidates=candidates)
    findings = [*locating_findings(found, units)]
    programs: tuple[FeatureProgram, ...] = ()
    if as_made and found.go and not any(finding.severity == "stop" for finding in findings):
        # Holes that were marked through their plate are drilled at the marks.
        programs = feature_programs(
            [cut for cut in cuts if cut.name not in top.by_hand],
            found,
            job.shop.machine,
            thickness,
            bit=bit_for(job.shop.machine, job.shop.machine.bit_diameter),
            outline=top.outline,
            under=under,
            keep_out=keep_outs(job.stated.clamps, slab_face, 1),
            face=slab_face,
            units=units,
            comments=(
                f"{head.title[:80]}, revision {head.revision[:80]}",
                f"waste board {format_length(under, written)} under a top of {format_length(thickness, written)}, {face} up",
                "for the touches of this plan alone",
            ),
        )
        findings += feature_findings(programs, found, under, units)
        if any(finding.severity == "stop" for finding in findings):
            programs = ()
    return Locating(found, dry_run(found, stated.datums, places), programs), tuple(findings)
