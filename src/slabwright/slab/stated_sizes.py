"""Whether what is stated fits the slab: the piece's sizes, the defects' places, the chosen fill."""

from __future__ import annotations

from collections.abc import Sequence

from shapely import Point

from slabwright.findings import COMMON_PRACTICE, Finding
from slabwright.job.models import Defect, Piece
from slabwright.quantities import Units, format_length
from slabwright.slab.survey import Survey

_NEAR = 5.0
_SMALL = 1.0
"""Less than this is not worth a word [mm]."""


def defect_findings(survey: Survey, defects: Sequence[Defect], units: Units) -> tuple[Finding, ...]:
    """Stated defects that do not lie on the slab: a slip of place or unit.

    Args:
        survey: with the outlines
        defects: as stated
        units: that lengths are shown in
    """
    found = []
    for defect in defects:
        points = [defect.at] if defect.at else list(defect.outline or [])
        outline = survey.outline_b if defect.face == "B" else survey.outline_a
        if points and not any(outline.buffer(_NEAR).covers(Point(x, y)) for x, y in points):
            x, y = points[0]
            found.append(
                Finding(
                    "slab/defect-beside-slab",
                    "caution",
                    f"The {defect.kind} at x = {format_length(x, units)}, y = {format_length(y, units)} lies beside the slab.",
                    "Check its place and unit in [[slab.defects]].",
                    COMMON_PRACTICE,
                )
            )
    return tuple(found)


def choice_findings(choose: int | None, points: int) -> tuple[Finding, ...]:
    """That a fill was chosen that there is not.

    Args:
        choose: as stated
        points: of thickness against fill, from 0
    """
    if choose is None or choose < points:
        return ()
    return (
        Finding(
            "slab/no-such-fill",
            "caution",
            f"Fill {choose} is chosen, but there are only 0 to {points - 1}; {points - 1} is taken.",
            f"State [fill] choose = 0 to {points - 1}.",
            COMMON_PRACTICE,
        ),
    )


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
