"""What the maker should know about the readings before going on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from slabwright.findings import COMMON_PRACTICE, FROM_MEMORY, Finding
from slabwright.job.loaded import Job
from slabwright.quantities import Units, format_area, format_length
from slabwright.slab.tie import CHECKED_FROM, Tie

if TYPE_CHECKING:
    from slabwright.slab.survey import Survey

FEWEST = 5
"""Readings of a face below which a lie of the slab rests on next to nothing."""
BORDER_THAT_MATTERS = 2.0
"""Unread border below which no caution is worth its line, however fine the readings [mm]."""
SLIP = 0.5
"""Least disagreement of a calliper place that is named; rough-sawn wood disagrees by some tenths [mm]."""
THIN = 5.0
"""Faces that come nearer to each other than this are likely a slip of the readings [mm]."""


def survey_findings(survey: Survey, job: Job) -> tuple[Finding, ...]:
    """The checks of the readings: sag, tie, border, metal, thin places, too few readings, region in pieces.

    Args:
        survey: the readings in one frame
        job: as it was loaded; gives the units of the messages
    """
    units = job.stated.job.units
    found: list[Finding] = []
    found += _few(survey)
    found += _sag(survey, job, units)
    if survey.tie is not None:
        found += _tie(survey.tie, job, units)
    found += _region(survey, job, units)
    found += _defects(survey, units)
    return tuple(found)


def _few(survey: Survey) -> Iterator[Finding]:
    for name, count in (("A", survey.clean_a), ("B", survey.clean_b)):
        if count < FEWEST:
            yield Finding(
                "slab/few-readings",
                "caution",
                f"Only {count} readings of face {name} lie in the part that will be flat: the lie rests on next to nothing.",
                "Read that face at 5 x 3 places or more, the border included.",
            )


def _sag(survey: Survey, job: Job, units: Units) -> Iterator[Finding]:
    error = job.stated.slab.reading_error if job.stated.slab is not None else 0.0
    ends, quarters = format_length(survey.sag_ends, units), format_length(survey.sag_quarters, units)
    if survey.sag is None:
        yield Finding(
            "slab/sag-unknown",
            "caution" if survey.sag_ends >= error else "note",
            f"How the slab lay when it was read is not stated, so its sag is still in the readings: as much as {ends} on two "
            f"bearers at its ends, {quarters} on two at the quarter points.",
            "State slab.lay.supports, the x of each bearer, or slab.lay.full_support = true if it lay all over on a flat bed.",
            "Euler-Bernoulli beam",
        )
        return
    lay = job.stated.slab.lay if job.stated.slab is not None else None
    if lay is None or (lay.supports is None and not lay.full_support):
        yield Finding(
            "slab/sag-from-tie",
            "note",
            f"The slab bows by {format_length(2 * survey.sag, units)} between its two set-ups. Half of that is taken for its "
            "sag: the same bearers both times.",
            "State slab.lay.supports, the x of each bearer, so that its sag is worked out.",
        )
    elif survey.sag > max(2.0 * survey.sag_ends, 1.0):
        yield Finding(
            "slab/sag-large",
            "caution",
            f"On the stated bearers the slab bends by {format_length(survey.sag, units)}: its overhangs are long.",
            "Check slab.lay.supports; read the slab again on bearers spread over its length.",
            "Euler-Bernoulli beam",
        )


def _tie(tie: Tie, job: Job, units: Units) -> Iterator[Finding]:
    error = format_length(tie.standard_error, units)
    if not tie.checked:
        yield Finding(
            "slab/tie-unchecked",
            "caution",
            f"The two set-ups are tied by {len(tie.residuals)} calliper places: nothing checks them. One slip of the callipers "
            f"goes into the thickness unseen; without a slip it is good to {error}, one time in three worse.",
            f"Measure the thickness at {CHECKED_FROM} places or more, two of them near mid-length.",
        )
    elif tie.bending is None:
        yield Finding(
            "slab/tie-bow",
            "caution",
            "The calliper places do not show the bow between the two set-ups (turning the slab over reverses its sag).",
            "Measure the thickness at two places near mid-length too.",
        )
    slab = job.stated.slab
    if tie.slips is not None and job.readings is not None:
        worst = int(np.argmax(np.abs(tie.slips[:, 1])))
        slip, errors = (float(value) for value in tie.slips[worst])
        if abs(errors) > 3.0 and abs(slip) > SLIP:
            x, y, thickness = (float(value) for value in job.readings.callipers[worst])
            yield Finding(
                "slab/tie-disagrees",
                "caution",
                f"The callipers at place {worst + 1} ({_at(x, y, units)}) say {format_length(thickness, units)}, "
                f"{format_length(abs(slip), units)} {'more' if slip > 0 else 'less'} than the other places make it.",
                "Measure that place again, and read both faces there.",
            )
    if slab is not None and len(slab.marks) < 2:
        yield Finding(
            "slab/marks-missing",
            "caution",
            "Fewer than two marks tie the two set-ups in plan: no turn between them is assumed"
            + (", and no shift." if not slab.marks else "."),
            "Read two marks (a through hole, a nail in an edge) with either face up, and state them as [[slab.marks]].",
        )


def _region(survey: Survey, job: Job, units: Units) -> Iterator[Finding]:
    if not survey.outline_given:
        yield Finding(
            "slab/no-outline",
            "note",
            "No outline is given: the outermost readings stand for it, and only margins that the job states are taken off.",
            "Give the outline as slab.outline (x,y), so that bark and checked ends are left out.",
        )
    if survey.left_out > 0:
        yield Finding(
            "slab/region-pieces",
            "note",
            f"Margins and trims cut the flat in pieces; {format_area(survey.left_out, units)} are left out, the largest counts.",
            "Make slab.edge_margin smaller, or use the other piece with slab.cut_from and slab.cut_to.",
        )
    if survey.strip is not None:
        yield Finding(
            "slab/strip",
            "note",
            f"Only a strip {format_length(survey.strip, units)} wide along the middle has to come out flat: the finished width "
            "and a little for shifting the cut lines.",
            "Leave piece.width out if all of the width is to be kept.",
        )
    if survey.unread_border > max(survey.spacing / 2, BORDER_THAT_MATTERS):
        places = "; ".join(_at(x, y, units) for x, y in survey.unread_places)
        yield Finding(
            "slab/unread-border",
            "caution",
            f"The part that will be flat reaches {format_length(survey.unread_border, units)} beyond what was read, and nobody "
            "knows the wood there.",
            f"Read both faces at {places}." if places else "Read both faces along the border.",
        )
    if survey.thickness_least < max(THIN, survey.thickness_most / 3):
        yield Finding(
            "slab/faces-close",
            "caution",
            f"The faces come within {format_length(survey.thickness_least, units)} of each other, where the slab is elsewhere "
            f"up to {format_length(survey.thickness_most, units)} thick.",
            "Look for a slip in the readings at the thinnest place; leave it out with slab.cut_from or slab.cut_to if it is so.",
        )


def _defects(survey: Survey, units: Units) -> Iterator[Finding]:
    for name, defects, region in (
        ("A", survey.defects_a, survey.region_a),
        ("B", survey.defects_b, survey.region_b),
    ):
        for defect in defects:
            if not defect.place.intersects(region):
                continue
            middle = defect.place.centroid
            where = f"on face {name} at {_at(middle.x, middle.y, units)}"
            if defect.kind == "metal":
                yield Finding(
                    "slab/metal",
                    "caution",
                    f"Metal is marked {where}, inside the part that will be cut.",
                    "Find and remove it before any cutter; run the metal detector over both faces again after each depth.",
                    FROM_MEMORY,
                )
            elif defect.through and name == "A":
                yield Finding(
                    "slab/through",
                    "note",
                    f"A {defect.kind} that goes through lies inside the flat, at {_at(middle.x, middle.y, units)}.",
                    "Fill it, let in wood, or leave it out with slab.cut_from or slab.cut_to.",
                    COMMON_PRACTICE,
                )


def _at(x: float, y: float, units: Units) -> str:
    return f"x {format_length(x, units)}, y {format_length(y, units)}"
