"""Assembly: which way up, on what stands, which bolts when, and an order that keeps to what rests on what."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.unit.carried import worked_out

from slabwright.base.basing import BasePlan
from slabwright.carry.assembly import assembly
from slabwright.carry.assembly_order import Task, as_steps, in_order
from slabwright.carry.assembly_parts import steel_frames, sweep_of_all, sweep_of_top
from slabwright.carry.assembly_results import Assembly, PartMasses
from slabwright.carry.assembly_tasks import format_torque
from slabwright.carry.assembly_ways import BASE_FIRST, UPSIDE_DOWN
from slabwright.carry.lifts import lifts
from slabwright.carry.lifts_results import Lift
from slabwright.findings import Finding, SlabwrightError
from slabwright.job.cable_models import Cable
from slabwright.job.hands_models import Hands
from slabwright.job.top_models import Channel
from slabwright.plan import Plan
from slabwright.reference.assembling import assembling
from slabwright.top.layout import layout
from slabwright.top.results import TopPlan

MASSES = PartMasses(top=60.0, base=28.0)
STRONG = Hands(alone_most=50.0, aids=[])
"""Of two with 50 kg each, two thirds count: 33.3 kg at each end of the top. Of four half: 50 kg at each side of the whole."""
CORD: dict[str, Any] = {
    "name": "cord", "outlet": "reading lamp", "diameter": 8, "bend_radius": 32,
    "through": [{"channel": "lamp cable"}, {"outside": "right far upright"}],
    "plug": {"width": 38, "height": 38, "length": 60},
}  # fmt: skip


def top_of(whole: Plan) -> TopPlan:
    assert whole.top is not None
    return whole.top


def base_of(whole: Plan) -> BasePlan:
    assert whole.base is not None
    return whole.base


def put_together(
    people: int = 4,
    masses: PartMasses = MASSES,
    name: str = "reading-table",
    cables: Sequence[dict[str, Any]] = (),
    hands: Hands | None = None,
    top: TopPlan | None = None,
    cards: Sequence[Lift] = (),
) -> tuple[Assembly, tuple[Finding, ...]]:
    whole = worked_out(name)
    update: dict[str, object] = {"cables": [Cable.model_validate(each) for each in cables], "hands": hands or STRONG}
    job = dataclasses.replace(whole.job, stated=whole.job.stated.model_copy(update=update))
    found, told = assembly(job, top or top_of(whole), base_of(whole), masses, people, cards)
    assert found is not None
    return found, told


def number(plan: Assembly, start: str) -> int:
    return next(step.number for step in plan.steps if step.do.startswith(start))


@pytest.mark.parametrize("name", ["reading-table", "window-bench", "hall-desk"])
@pytest.mark.parametrize("people", [1, 2, 6])
def test_every_step_comes_after_what_it_waits_for(name: str, people: int) -> None:
    made, _ = put_together(people, name=name)
    assert [step.number for step in made.steps] == list(range(1, len(made.steps) + 1))
    assert all(before < step.number for step in made.steps for before in step.after)
    assert all(step.people >= 1 and step.do and step.tool for step in made.steps)


def test_the_whole_is_turned_over_where_there_are_hands_for_it() -> None:
    made, told = put_together(4)
    assert made.way == UPSIDE_DOWN
    assert made.ways[0].heaviest == pytest.approx(88.0)
    assert made.ways[0].people == 4
    assert not [each for each in told if each.code == "carry/assembly-hands"]
    assert [turn.what for turn in made.turning] == ["top", "whole piece"]


def test_the_top_is_let_down_where_there_are_hands_for_the_top_alone() -> None:
    made, told = put_together(3)
    assert made.way == BASE_FIRST
    assert [way.possible for way in made.ways] == [False, True]
    # Leg frames of U legs have two feet each: they do not stand by themselves.
    assert "carry/frames-braced" in [each.code for each in told]
    assert number(made, "Stand the base") < number(made, "Let the top down") < number(made, "All ")


def test_too_few_hands_are_told_with_how_many_it_takes() -> None:
    _, told = put_together(1)
    finding = next(each for each in told if each.code == "carry/assembly-hands")
    assert "by hand 2 people, and 1 is at hand" in finding.message
    assert finding.remedy == "Call 1 more: 2 in all; or borrow a hoist that may lift 60 kg: with it one person does."
    # Both remedies hold.
    lone = Hands(alone_most=50.0, aids=["hoist"], hoist_most=65.0)
    for made in (put_together(2), put_together(1, hands=lone)):
        assert not [f for f in made[1] if f.code == "carry/assembly-hands"]


def test_what_four_cannot_lift_is_not_asked_of_more() -> None:
    _, told = put_together(2, masses=PartMasses(top=75.5, base=35.8), hands=Hands(aids=[]))
    finding = next(each for each in told if each.code == "carry/assembly-hands")
    assert "by hand more than four people" in finding.message
    assert finding.remedy.startswith("Borrow a hoist") and "Call" not in finding.remedy


def test_people_and_aids_are_those_of_the_lift_cards() -> None:
    whole = worked_out("reading-table")
    assert whole.carry is not None
    for hands, people in ((Hands(alone_most=50.0, aids=[]), 2), (Hands(aids=["hoist"]), 1), (Hands(aids=["dolly"]), 3)):
        job = dataclasses.replace(whole.job, stated=whole.job.stated.model_copy(update={"hands": hands}))
        cards, _ = lifts(job, whole.carry)
        made, _ = put_together(people, hands=hands, cards=cards)
        top = next(card for card in cards if card.state == "top")
        frame = next(card for card in cards if card.state.endswith("leg frame"))
        laid = next(step for step in made.steps if step.do.startswith(("Lay the top", "Let the top")))
        assert laid.people == top.people
        assert laid.tool.startswith(top.aid or "hands")
        stood = next(step for step in made.steps if step.do.startswith(("Set the left", "Stand the base")))
        assert stood.people == frame.people


def test_a_hoist_with_a_plate_takes_the_whole_piece() -> None:
    hoist = Hands(aids=["hoist"], hoist_most=150.0)
    made, _ = put_together(2, hands=hoist)
    assert made.way == UPSIDE_DOWN
    assert "hoist" in made.ways[0].told
    weak, _ = put_together(2, hands=Hands(aids=["hoist"], hoist_most=70.0))
    assert [way.possible for way in weak.ways] == [False, True]


def test_no_room_below_keeps_the_top_from_being_let_down() -> None:
    whole = worked_out("reading-table")
    base = base_of(whole)
    low = dataclasses.replace(base, drawn=dataclasses.replace(base.drawn, underside=300.0))
    made, _ = assembly(whole.job, top_of(whole), low, MASSES, 3)
    assert made is not None
    assert "no room for hands below" in made.ways[1].told
    assert made.way == UPSIDE_DOWN


def test_the_fixed_bolt_comes_first_and_slots_are_snug() -> None:
    made, _ = put_together()
    drawn = base_of(worked_out("reading-table")).drawn
    assert sorted(bolt.name for bolt in made.bolts) == sorted(bolt.name for bolt in drawn.bolts)
    for frame in made.frames:
        steps = [step for step in made.steps if step.kind == "bolt" and frame.name in step.do]
        assert [step.do.startswith("The bolt") for step in steps] == [True, False]
        assert "snug, not tight" in steps[1].do
        assert steps[0].number in steps[1].after
    turned = {name for step in made.steps if step.kind == "bolt" and "leg frame" in step.do for name in step.parts}
    assert turned == {bolt.name for bolt in drawn.bolts}
    assert all(bolt.tighten.startswith("snug") != bolt.fixed for bolt in made.bolts)


def test_torque_follows_from_what_the_insert_holds() -> None:
    made, _ = put_together()
    table, held = assembling(), {each.name: each for each in top_of(worked_out("reading-table")).fastenings}
    for bolt in made.bolts:
        holds = held[bolt.name].holds
        assert holds is not None
        assert bolt.torque is not None
        exact = (
            table.torque * table.hold_share * holds * bolt.thread / 1000.0 * (1.0 if bolt.fixed else table.slot_share)
        )
        assert bolt.torque <= max(exact, 0.5)
        assert exact - bolt.torque < 0.5
    assert format_torque(2.5, "metric") == "2.5 N m"
    # 1 in lbf = 0.112985 N m: NIST SP 811, appendix B.8.
    assert format_torque(10.0, "inch") == f"{10.0 / 0.1129848:.0f} in lb"


def test_levellers_are_last_but_for_what_is_tried_and_looked_at_again() -> None:
    made, _ = put_together(cables=[CORD])
    level = number(made, "Where it will stand")
    assert {step.kind for step in made.steps[level:]} <= {"cable", "bolt"}
    assert [step.do.split()[0] for step in made.steps[level:]] == ["Plug", "After"]


def test_cables_and_earth_come_in_their_turn() -> None:
    made, told = put_together(cables=[CORD])
    assert made.cables == ("cord",)
    laid, led = number(made, "Lay 'cord'"), number(made, "Lead 'cord'")
    bonds = [step.number for step in made.steps if step.kind == "earth"]
    assert number(made, "The unit of") < laid < led < min(bonds)
    assert max(bonds) < number(made, "Turn the whole piece")
    # Two leg frames that only wood joins: each is bonded.
    assert [bond.frame for bond in made.bonds] == [frame.name for frame in made.frames]
    assert len(made.bonds) == 2
    assert "carry/steel-in-parts" in [each.code for each in told]
    quiet, _ = put_together(cables=[CORD | {"mains": False}])
    assert quiet.bonds == ()


def test_what_is_covered_is_laid_before_its_cover() -> None:
    whole = worked_out("reading-table")
    top = top_of(whole)
    longer = [
        f.model_copy(update={"path": [*f.path[:-1], (1780.0, f.path[-1][1])], "depth": 20.0})
        if isinstance(f, Channel) and f.name == "lamp cable"
        else f
        for f in top.layout.top.features
    ]
    stated = top.layout.top.model_copy(update={"features": longer})
    under = dataclasses.replace(top, layout=layout(stated, top.layout.outline, top.layout.thickness))
    through = [{"channel": "lamp cable"}, {"plate": "right plate", "across": 150, "opening": 30}]
    made, _ = put_together(cables=[CORD | {"through": through}], top=under)
    covering = next(frame for frame in made.frames if "right plate" in frame.covers)
    assert "before this goes on: right plate" in next(s.do for s in made.steps if s.do.startswith("Lay 'cord'"))
    setting = next(step for step in made.steps if step.do.startswith(f"Set the {covering.name}"))
    other = next(step for step in made.steps if step.do.startswith("Set the ") and covering.name not in step.do)
    assert number(made, "Lay 'cord'") in setting.after
    assert number(made, "Lay 'cord'") not in other.after


def test_stands_are_at_a_height_for_hands_and_under_the_plates() -> None:
    made, _ = put_together(cables=[CORD])
    assert made.stands is not None
    thick = top_of(worked_out("reading-table")).layout.thickness
    assert made.stands.work == pytest.approx(made.stands.height + thick)
    assert assembling().heavy - 10.0 <= made.stands.work <= assembling().work
    long = top_of(worked_out("reading-table")).layout.length
    plates = [plate.x + long / 2.0 for plate in base_of(worked_out("reading-table")).drawn.plates]
    assert made.stands.places == pytest.approx(tuple(plates))


def test_stands_keep_clear_of_holes() -> None:
    whole = worked_out("reading-table")
    top = top_of(whole)
    plate = base_of(whole).drawn.plates[0].x + top.layout.length / 2.0
    moved = [
        f.model_copy(update={"along_from": "left end", "along": plate}) if f.name == "reading lamp" else f
        for f in top.layout.top.features
    ]
    stated = top.layout.top.model_copy(update={"features": moved})
    under = dataclasses.replace(top, layout=layout(stated, top.layout.outline, top.layout.thickness))
    made, _ = put_together(top=under)
    assert made.stands is not None
    assert abs(made.stands.places[0] - plate) >= 60.0


def test_frames_are_the_pieces_of_steel() -> None:
    whole = worked_out("reading-table")
    base = base_of(whole)
    frames = steel_frames(base, top_of(whole), 30.0)
    assert [frame.name for frame in frames] == ["left leg frame", "right leg frame"]
    assert sum(frame.mass for frame in frames) == pytest.approx(30.0)
    assert [frame.stands for frame in frames] == [False, False]
    assert {bolt for frame in frames for bolt in frame.bolts} == {bolt.name for bolt in base.drawn.bolts}
    assert {foot for frame in frames for foot in frame.feet} == {name for name, _, _ in base.drawn.feet}


def test_what_a_piece_sweeps_when_it_is_turned() -> None:
    whole = worked_out("reading-table")
    top, base = top_of(whole), base_of(whole)
    half = top.layout.width / 2.0
    assert sweep_of_top(top) == pytest.approx((half**2 + (top.layout.thickness / 2.0) ** 2) ** 0.5)
    # All its weight in the top: the sweep is that of the farthest foot or edge about the top's middle.
    heavy = sweep_of_all(base, top, PartMasses(1e9, 1e-9))
    centre = base.height.even - top.layout.thickness / 2.0
    stud = (base.drawn.stud or 20.0) / 2.0
    foot = max(((abs(y) + stud) ** 2 + centre**2) ** 0.5 for _, _, (_, y) in base.drawn.feet)
    assert heavy >= foot - 1e-6
    assert heavy == pytest.approx(max(foot, heavy))
    assert sweep_of_all(base, top, MASSES) < heavy


def test_without_a_base_nothing_is_put_together() -> None:
    whole = worked_out("reading-table")
    assert assembly(whole.job, top_of(whole), None, MASSES, 2) == (None, ())


@pytest.mark.parametrize(("masses", "people"), [(PartMasses(0.0, 20.0), 2), (PartMasses(20.0, -1.0), 2), (MASSES, 0)])
def test_nothing_to_lift_or_nobody_to_lift_it(masses: PartMasses, people: int) -> None:
    whole = worked_out("reading-table")
    with pytest.raises(SlabwrightError, match=r"^assembly: "):
        assembly(whole.job, top_of(whole), base_of(whole), masses, people)


def task(key: str, *after: str) -> Task:
    return Task(key, key, "prepare", after)


@given(st.data())
def test_any_tasks_come_in_an_order_that_keeps_to_what_they_wait_for(data: st.DataObject) -> None:
    count = data.draw(st.integers(1, 12))
    before = {k: data.draw(st.sets(st.integers(0, k - 1))) if k else set() for k in range(count)}
    tasks = [task(str(k), *(str(b) for b in before[k])) for k in data.draw(st.permutations(range(count)))]
    ordered = in_order(tasks)
    place = {each.key: k for k, each in enumerate(ordered)}
    assert sorted(place) == sorted(each.key for each in tasks)
    assert all(place[b] < place[each.key] for each in tasks for b in each.after)
    # What the steps still name leads back to all that they wait for.
    steps = as_steps(ordered)
    reached: dict[int, set[int]] = {}
    for step in steps:
        reached[step.number] = {other for b in step.after for other in (b, *reached[b])}
        assert {place[b] + 1 for b in ordered[step.number - 1].after} <= reached[step.number]
        assert not any(b in reached[other] for b in step.after for other in step.after if other != b)


def test_tasks_that_wait_for_each_other_are_refused() -> None:
    with pytest.raises(ValueError, match="a, b"):
        in_order([task("a", "b"), task("b", "a"), task("c")])


def test_what_waits_for_nothing_known_may_start() -> None:
    assert [each.key for each in in_order([task("a", "unknown"), task("b")])] == ["a", "b"]
