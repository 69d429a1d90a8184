"""Operations: made from the plan, linked in the order of the work, changed by the maker, told to the schedule."""

from __future__ import annotations

import datetime
from dataclasses import replace
from itertools import pairwise

import pytest
from tests.unit.shop_job import named, parts, planned, shop_job

from slabwright.accounts import accounts
from slabwright.findings import SlabwrightError
from slabwright.job.hours_models import Hours, OperationChange
from slabwright.reference.hours import hours_table
from slabwright.shop.calendar import WorkingCalendar
from slabwright.shop.operations import PlanParts, WorkOperation, operations_of, shop_table, to_schedule
from slabwright.shop.operations_edits import changed
from slabwright.shop.scheduling import schedule
from slabwright.shop.scheduling_models import Shop, Task

DAY = 1440.0


def before(operations: tuple[WorkOperation, ...], name: str) -> set[str]:
    """Everything that an operation comes after, near and far."""
    links = {each.name: [link.operation for link in each.after] for each in operations}
    found: set[str] = set()
    left = [name]
    while left:
        new = [other for other in links[left.pop()] if other not in found]
        found.update(new)
        left += new
    return found


def test_amounts_are_the_plans_own() -> None:
    plan, p = planned(), parts()
    assert p.base is not None and p.base.cut_list is not None and p.base.welds is not None and p.machine is not None
    assert p.top is not None and p.finish is not None and p.slab is not None
    assert named(plan, "Cut the steel").amount == p.base.cut_list.cuts
    assert named(plan, "Tack the base").amount == len(p.base.welds.joints)
    assert named(plan, "Weld the base").amount == pytest.approx(p.base.welds.welding_time)
    assert named(plan, "Cut the top to length").amount == pytest.approx(2 * p.top.width / 1000)
    assert named(plan, "Set the inserts").amount == sum(feature.kind == "insert" for feature in p.top.features)
    surfaced = [each for each in plan.operations if each.kind == "surface"]
    assert sum(each.amount for each in surfaced) == pytest.approx(p.machine.time)
    pours = [each for each in plan.operations if each.kind == "pour epoxy"]
    assert len(pours) == len(p.finish.resin.pours)
    assert sum(each.amount for each in pours) == pytest.approx(sum(pour.minutes for pour in p.finish.resin.pours))
    sanded = named(plan, "Sand the faces")
    step = next(step for step in p.finish.preparation.steps if step.name == "sand the faces")
    assert sanded.usual == pytest.approx(step.minutes) and sanded.amount == pytest.approx(
        step.area / 1e6 * len(step.grits)
    )


def test_usual_minutes_of_preparation_are_those_of_the_finish_room() -> None:
    finish = parts().finish
    assert finish is not None
    for step in finish.preparation.steps:
        kind = "sand between coats" if step.name.startswith("sand coat") else step.name
        of = [each for each in planned().operations if each.kind == kind]
        assert of, step.name
        assert any(each.usual == pytest.approx(step.minutes + hours_table().kinds[kind].set_up) for each in of), (
            step.name
        )


def test_everything_comes_in_the_order_of_the_work() -> None:
    operations = planned().operations
    last = operations[-1]
    assert last.name == "Hand it over with its care sheet"
    assert before(operations, last.name) == {each.name for each in operations[:-1]}
    order = [each.name for each in operations]
    for each in operations:
        assert all(order.index(link.operation) < order.index(each.name) for link in each.after)
    assert "Client signs the mock-up" in before(operations, "Weld the base")
    assert "Set the inserts" in before(operations, "Mock up the base with the top")
    assert "Slab rests" in before(operations, "Skim face A") and "Pour 1: thin epoxy into D1" in before(
        operations, "Skim face A"
    )
    assert "Client signs the finish board" in before(operations, "Coat 1 on the wood: hard-wax oil")
    assert "Weld the base" not in before(operations, "Coat 1 on the wood: hard-wax oil")
    assert {"Coats on the wood harden", "Coats on the steel harden"} <= before(operations, "Put it together")


def test_windows_of_coats_hold_from_the_end_of_the_coat() -> None:
    operations, finish = planned().operations, parts().finish
    assert finish is not None
    for system in finish.systems:
        for coat, following in pairwise(system.coats):
            first = next(each for each in operations if each.name.startswith(f"Coat {coat.number} on the {system.on}"))
            then = next(
                each for each in operations if each.name.startswith(f"Coat {following.number} on the {system.on}")
            )
            link = next(link for link in then.after if link.operation == first.name)
            assert coat.next is not None
            # The link counts from when the coat's waiting ends, the window from when the coat is on.
            assert link.least_lag + first.unattended == pytest.approx(60 * coat.next.least)
            assert first.coat_open == first.unattended > 0
            if coat.next.greatest is None:
                assert link.greatest_lag is None
            else:
                assert link.greatest_lag is not None
                assert link.greatest_lag + first.unattended == pytest.approx(60 * coat.next.greatest)


def test_pours_wait_as_the_resin_plan_says() -> None:
    operations, finish = planned().operations, parts().finish
    assert finish is not None
    pours = [each for each in operations if each.kind == "pour epoxy"]
    for (one, two), each in zip(pairwise(finish.resin.pours), pours, strict=False):
        assert one.minutes + each.unattended == pytest.approx(60 * (two.start - one.start))
    assert pours[-1].unattended == pytest.approx(60 * finish.resin.before_machining)


def test_cutting_welding_and_large_pours_are_never_left_alone() -> None:
    operations = planned().operations
    alone = [
        each for each in operations if each.attended_only and each.kind not in ("pour epoxy",) and not each.coat_open
    ]
    assert {"surface", "weld", "saw steel", "cut to length", "grind"} <= {each.kind for each in alone}
    assert all(each.attended > 0 and each.unattended == 0 and "maker" in each.needs for each in alone)
    finish = parts().finish
    assert finish is not None
    small, table = finish.resin.pours[-1], hours_table()
    large = replace(small, mass=table.watched_mass)
    resin = replace(finish.resin, pours=(*finish.resin.pours[:-1], large))
    watched = operations_of(shop_job(), replace(parts(), finish=replace(finish, resin=resin)))
    name = next(each.name for each in operations if each.name.startswith(f"Pour {small.number}:"))
    usual = {each.name: each.usual for each in operations}[name]
    assert {each.name: each.usual for each in watched}[name] == pytest.approx(usual + table.watched_minutes)


def test_a_job_of_which_little_is_known_has_few_operations() -> None:
    known = parts()
    assert [each.name for each in operations_of(shop_job(), PlanParts())] == ["Slab comes in"]
    steel = operations_of(shop_job(), PlanParts(base=known.base))
    assert "Weld the base" in [each.name for each in steel] and "Mock up the base with the top" not in [
        e.name for e in steel
    ]
    wood = [each.name for each in operations_of(shop_job(), PlanParts(slab=known.slab))]
    assert "Skim face B" in wood and "Cut the pockets" not in wood
    by_area = operations_of(shop_job(), PlanParts(slab=known.slab))
    with_programs = operations_of(shop_job(), PlanParts(slab=known.slab, machine=known.machine))
    told, run = (sum(e.amount for e in ops if e.kind == "surface") for ops in (by_area, with_programs))
    assert told == pytest.approx(run, rel=0.5)


def test_leads_are_what_the_suppliers_say() -> None:
    leads = {"steel": 12.0}
    found = {each.name: each for each in operations_of(shop_job(), parts(), leads)}
    assert found["Steel comes in"].unattended == 12 * DAY and found["Steel comes in"].gate == "delivery"
    with pytest.raises(SlabwrightError, match="lead of -1 days"):
        operations_of(shop_job(), parts(), {"steel": -1.0})


def test_the_maker_adds_drops_splits_and_pins() -> None:
    pin = datetime.datetime(2026, 12, 1, 8)
    plan = planned(
        operations=[
            {"name": "Burn the mark", "minutes": 20, "after": ["Work the edges"], "before": ["Set the inserts"]},
            {"name": "Tack a jig", "kind": "tack", "amount": 4, "before": ["Tack the base"]},
            {"name": "Dry run", "wait": 600, "after": ["Put it together"]},
            {"name": "Raise the grain", "drop": True},
            {"name": "Sand the faces", "split": 3},
            {"name": "Weld the base", "pin": pin},
        ]
    )
    assert named(plan, "Burn the mark").attended == pytest.approx(20) and named(plan, "Burn the mark").own
    assert "Burn the mark" in [link.operation for link in named(plan, "Set the inserts").after]
    jig = named(plan, "Tack a jig")
    assert (
        jig.hot
        and jig.attended == pytest.approx(hours_table().kinds["tack"].usual(4))
        and jig.needs == ("maker", "welding table")
    )
    assert named(plan, "Dry run").unattended == 600 and named(plan, "Dry run").attended == 0
    assert "Raise the grain" not in [each.name for each in plan.operations]
    assert [link.operation for link in named(plan, "Dust off the wood").after] == ["Ease the bores"]
    third = [named(plan, f"Sand the faces, part {part} of 3") for part in (1, 2, 3)]
    whole = named(planned(), "Sand the faces")
    assert sum(each.attended for each in third) == pytest.approx(whole.attended)
    assert sum(each.amount for each in third) == pytest.approx(whole.amount)
    assert [link.operation for link in named(plan, "Sand the ends").after] == [third[-1].name]
    assert third[0].after == whole.after and [link.operation for link in third[1].after] == [third[0].name]
    assert named(plan, "Weld the base").pinned == pin


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ([{"name": "Weld the bas", "drop": True}], r"operations\[0\].name: .*did you mean \"Weld the base\""),
        ([{"name": "Weld the base", "after": ["Grind the weld"]}], r"operations\[0\].after: .*\"Grind the welds\""),
        ([{"name": "Sweep", "kind": "swep", "amount": 1}], r"operations\[0\].kind: there is no kind \"swep\""),
        ([{"name": "Coat 1 on the wood: hard-wax oil", "split": 2}], "is done in one go"),
        ([{"name": "Slab rests", "split": 2}], "only waits"),
        ([{"name": "Slab rests", "minutes": 2}], "only waits: state wait"),
        ([{"name": "Sweep", "minutes": 5}, {"name": "Sweep", "minutes": 6}], "changed twice"),
        ([{"name": "Sweep", "minutes": 5, "needs": []}], "somebody has to do it"),
        ([{"name": "Sweep", "minutes": 5, "needs": ["makr"]}], r'no "makr"; did you mean "maker"'),
        ([{"name": "Weld the base", "needs": ["maker", "kiln"]}], r'no "kiln".*\[hours\] places of the shop file'),
        ([{"name": "Sweep", "amount": 5}], "of which kind"),
    ],
)
def test_changes_that_cannot_be_are_told_with_their_key(changes: list[dict[str, object]], told: str) -> None:
    with pytest.raises(SlabwrightError, match=told):
        planned(operations=changes)


def test_a_ring_of_operations_is_named() -> None:
    with pytest.raises(SlabwrightError) as error:
        planned(operations=[{"name": "Cut the steel", "after": ["Deburr the steel"]}])
    assert '"Cut the steel" after' in str(error.value) and '"Deburr the steel"' in str(error.value)
    assert "Drill the plates and vents" in str(error.value) and "ring" in str(error.value)
    with pytest.raises(SlabwrightError, match=r'ring: "Sweep" after "Sweep"'):
        planned(operations=[{"name": "Sweep", "minutes": 5, "after": ["Sweep"]}])


def test_what_is_shown_to_be_done_is_not_planned_again() -> None:
    plan = planned()
    assert named(plan, "Slab comes in").state == named(plan, "Read both faces").state == "done"
    told = to_schedule(plan.operations, "table")
    assert "Read both faces" not in [each.name for each in told]
    assert not [link for each in told for link in each.after if link.operation == "Read both faces"]


def test_the_schedule_takes_them() -> None:
    plan = planned()
    week = ((480, 720), (750, 1020))
    told = to_schedule(plan.operations, "table", prefix="T: ")
    assert all(each.name.startswith("T: ") for each in told)
    done = schedule(
        Task(told, (), Shop(WorkingCalendar((week,) * 5 + ((), ()))), datetime.datetime(2026, 11, 25, 8)), seconds=20.0
    )
    at = done.by_name()
    by_name = {each.name: each for each in told}
    for each in told:
        for link in each.after:
            gap = at[each.name].start - at[link.operation].finish
            assert gap >= link.least_lag - 1
            assert link.greatest_lag is None or gap <= link.greatest_lag
    welded = at["T: Weld the base"]
    assert by_name["T: Weld the base"].hot and welded.pieces[-1][1].time() <= datetime.time(16)


def test_long_hot_work_is_given_in_parts() -> None:
    operations = planned(operations=[{"name": "Weld the base", "minutes": 400}]).operations
    told = {each.name: each for each in to_schedule(operations, "table")}
    assert told["Weld the base, part 1 of 3"].attended == pytest.approx(400 / 3)
    assert told["Base cools in its clamps"].after[0].operation == "Weld the base, part 3 of 3"
    assert told["Weld the base, part 2 of 3"].after[0].operation == "Weld the base, part 1 of 3"


def test_every_figure_can_say_what_it_is() -> None:
    for account in accounts(planned(), "shop"):
        assert account.description.meaning, account.path


def test_a_place_of_the_shop_s_own_is_no_person() -> None:
    table = shop_table(Hours.model_validate({"places": ["kiln"]}))
    change = OperationChange.model_validate({"name": "Dry it", "minutes": 30, "needs": ["maker", "kiln"]})
    (draft,) = changed((), (change,), table)
    assert draft.needs == ("maker", "kiln") and "kiln" in table.places


def test_what_two_carry_or_try_is_not_left_over_a_night() -> None:
    plan = planned()
    for each in plan.operations:
        if each.kind in ("lift", "mock up"):
            assert not each.splittable, each.name
