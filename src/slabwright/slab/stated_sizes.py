"""Whether the slab is as large as the piece that is asked for."""

from __future__ import annotations

from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.job.models import Piece
from slabwright.quantities import Units, format_length
from slabwright.slab.survey import Survey

_SMALL = 1.0
"""Less than this is not worth a word [mm]."""


def size_findings(survey: Survey, piece: Piece, units: Units) -> tuple[Finding, ...]:
    """That the finished length or width is more than the slab gives, with what it gives.

    Args:
        survey: with the clean region
        piece: the stated sizes
        units: that lengths are shown in
    """
    found = []
    for what, wanted, given, key in (
        ("long", piece.length, survey.length, "length"),
        ("wide", piece.width, survey.width, "width"),
    ):
        if wanted is not None and wanted > given + _SMALL:
            found.append(
                Finding(
                    f"slab/not-{what}-enough",
                    "stop",
                    f"The top is to be {format_length(wanted, units)} {what}; the slab gives {format_length(given, units)} "
                    "inside its margins.",
                    f"Check [piece] {key} and its unit; trim less ([slab] edge_margin, end_trim), or agree on less.",
                    COMMON_PRACTICE,
                )
            )
    return tuple(found)
