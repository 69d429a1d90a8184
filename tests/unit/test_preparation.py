"""Surface preparation: grits, minutes, what shows through, sign-off."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from tests.unit.finish_job import areas, finish_job, paint

from slabwright.finish.preparation import preparation
from slabwright.reference.preparation import grit_sequence, preparation_rules

PRIMER = paint(name="primer", more={"film": 60})
FLAT = paint(name="flat paint", more={"film": 40})


def test_grits_step_by_half_as_fine_again_at_most() -> None:
    assert grit_sequence(80, 180) == (80, 120, 180)
    assert grit_sequence(80, 220) == (80, 120, 180, 220)
    assert grit_sequence(120, 120) == (120,)
    assert grit_sequence(180, 120) == (120,)
    for first in preparation_rules().ladder:
        for finest in preparation_rules().ladder:
            steps = grit_sequence(first, finest)
            assert steps[-1] == finest
            assert all(coarse < fine <= 1.5 * coarse for coarse, fine in pairwise(steps))


def test_oiled_wood_stops_coarser_and_the_job_may_say() -> None:
    def finest(finish: dict[str, Any]) -> tuple[int, ...]:
        steps = preparation(finish_job(finish, [PRIMER]), areas(steel=0.0)).steps
        return next(step.grits for step in steps if step.name == "sand the faces")

    assert finest({"wood": [{"coating": "hard-wax oil"}]}) == (80, 120, 180)
    assert finest({"wood": [{"coating": "primer"}]}) == (80, 120, 180, 220)
    assert finest({"wood": [{"coating": "hard-wax oil"}], "wood_grit": 120}) == (80, 120)


def test_minutes_follow_area_and_grits() -> None:
    job = finish_job({"wood": [{"coating": "hard-wax oil"}]})
    one, two = ({step.name: step for step in preparation(job, areas(wood=wood, end=0.1)).steps} for wood in (2.1, 4.1))
    rule = next(rule for rule in preparation_rules().steps if rule.name == "sand the faces")
    assert one["sand the faces"].minutes == pytest.approx(rule.minutes * 2.0 * 3)
    assert two["sand the faces"].minutes == pytest.approx(2 * one["sand the faces"].minutes)
    assert two["sand the ends"].minutes == one["sand the ends"].minutes
    assert two["finish board"].minutes == one["finish board"].minutes


def test_the_client_signs_the_finish_board_first_and_minutes_add_up() -> None:
    plan = preparation(finish_job({"wood": [{"coating": "hard-wax oil"}]}), areas())
    assert plan.steps[0].name == "finish board" and plan.steps[0].sign_off
    assert sum(step.sign_off for step in plan.steps) == 1
    assert plan.minutes_wood + plan.minutes_steel == pytest.approx(sum(step.minutes for step in plan.steps))
    assert all("{" not in step.how for step in plan.steps)
    assert [step.of for step in plan.steps] == sorted((step.of for step in plan.steps), reverse=True)


def test_wood_alone_and_steel_alone() -> None:
    assert {step.of for step in preparation(finish_job(), areas(steel=0.0)).steps} == {"wood"}
    assert {step.of for step in preparation(finish_job(), areas(wood=0.0, end=0.0)).steps} == {"steel"}


def test_edges_are_eased_even_where_none_is_drawn() -> None:
    ease = next(step for step in preparation(finish_job(), areas()).steps if step.name == "ease the edges")
    assert ease.length == pytest.approx(2 * 1800.0) and ease.minutes > 0.0 and "None is drawn" in ease.how


def test_what_is_done_between_coats_is_a_step() -> None:
    steel = [{"coating": "primer", "coats": 2, "then": "sand"}, {"coating": "flat paint", "coats": 2, "then": "scuff"}]
    steps = preparation(finish_job({"steel": steel}, [PRIMER, FLAT]), areas()).steps
    between = [step for step in steps if "coat " in step.name]
    assert [(step.name, step.grits) for step in between] == [
        ("sand coat 1", (240, 320)), ("sand coat 2", (240, 320)), ("scuff coat 3", (320,)),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("finish", "shows"),
    [
        ({"steel": [{"coating": "primer"}, {"coating": "flat paint"}]}, True),
        ({"steel": [{"coating": "primer"}, {"coating": "flat paint"}], "steel_grit": 180}, False),
        ({"steel": [{"coating": "primer", "coats": 2, "then": "sand"}, {"coating": "flat paint"}]}, False),
        ({"steel": [{"coating": "primer", "coats": 2}, {"coating": "flat paint"}]}, True),
        ({"steel": [{"coating": "primer", "then": "sand"}, {"coating": "flat paint"}]}, True),
        ({"steel": [{"coating": "flat paint"}]}, True),
        ({}, False),
    ],
)
def test_coarse_scratches_show_unless_the_primer_is_built_up_and_blocked(finish: dict[str, Any], shows: bool) -> None:
    found = preparation(finish_job(finish, [PRIMER, FLAT]), areas()).findings
    assert bool(found) == shows
    if shows:
        assert found[0].code == "finish/scratches-show" and "steel_grit = 180" in found[0].remedy


def test_a_primer_of_unknown_film_is_not_said_to_make_nothing() -> None:
    by_coverage = {**PRIMER, "coverage": 8.0, "more": {}}
    stated = {"steel": [{"coating": "primer"}, {"coating": "flat paint"}]}
    (found,) = preparation(finish_job(stated, [by_coverage, FLAT]), areas()).findings
    assert "not stated" in found.message and "makes" not in found.message


def test_the_remedy_for_scratches_mends_it() -> None:
    (found,) = preparation(
        finish_job({"steel": [{"coating": "primer"}, {"coating": "flat paint"}]}, [PRIMER, FLAT]), areas()
    ).findings
    assert 'coats = 2, then = "sand"' in found.remedy
