from __future__ import annotations

import pytest

from slabwright.job.models import PlannedSlab
from slabwright.job.work_models import AsMade, Check
from slabwright.slab.board import board, check_findings, planned_board


def check(face: str, kind: str, value: float, after: str = "skim") -> Check:
    return Check.model_validate({"face": face, "kind": kind, "value": value, "after": after})


def test_planned_slab_promises_less_than_it_is_likely_to_give() -> None:
    made = planned_board(PlannedSlab(length=2400.0, width=900.0, thickness=50.8))
    assert made.basis == "planned"
    assert made.thickness_low < made.thickness_even < 50.8


def test_measured_then_as_made() -> None:
    assert board(None, 40.0, 42.0, [], None).basis == "measured"
    made = board(None, 40.0, 42.0, [], AsMade(thickness=41.3))
    assert (made.basis, made.thickness, made.thickness_low) == ("as made", 41.3, 41.3)


def test_thickness_at_places_is_the_least_of_them() -> None:
    made = board(None, 40.0, 42.0, [check("B", "thickness", 41.0), check("B", "thickness", 40.4)], None)
    assert made.thickness == 40.4 and made.basis == "as made"


def test_gaps_cost_thickness_face_by_face_and_the_last_one_counts() -> None:
    found = [
        check("A", "straightedge", 1.0),
        check("A", "straightedge", 0.4),
        check("A", "winding sticks", 0.6),
        check("B", "straightedge", 0.5),
    ]
    made = board(None, 40.0, 42.0, found, None)
    assert made.found == pytest.approx(1.1)
    assert made.thickness == pytest.approx(38.9)


def test_roughing_checks_cost_nothing_yet_but_are_told() -> None:
    rough = [check("A", "straightedge", 1.0, after="rough")]
    made = board(None, 40.0, 42.0, rough, None)
    assert made.found == 0.0
    assert [finding.code for finding in check_findings(rough, made, "metric")] == ["slab/face-not-flat"]


def test_board_cut_to_a_stated_thickness_is_not_thicker() -> None:
    made = board(35.0, 40.0, 42.0, [], None)
    assert made.thickness == made.thickness_low == made.thickness_even == 35.0
