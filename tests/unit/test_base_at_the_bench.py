"""What a maker at the bench needs of a base: parallel cuts, feet with threads, slots without inserts, clashes, likely units."""

from __future__ import annotations

import math
import tomllib
from typing import Any

import pytest
from shapely import box

from slabwright.base.cut_list import cut_list
from slabwright.base.cut_list_results import Part, Saw
from slabwright.base.cut_parts import cuts_of, stop_length
from slabwright.base.drill_plan import drill_plan
from slabwright.base.foot_threads import foot_threads
from slabwright.base.from_top import bolts_of
from slabwright.base.inserts_wanted import as_tables, unstated_finding, wanted_inserts, wanted_slots
from slabwright.base.kinds import Drawn
from slabwright.base.parts import parts_to_cut
from slabwright.base.sections import section
from slabwright.base.stability import base_structure
from slabwright.base.stiffness import TopOn
from slabwright.base.top_clashes import top_clashes
from slabwright.base.weld_joints import inside_of, meetings
from slabwright.base.weld_loads import joint_loads
from slabwright.base.weld_order import weld_order
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base, BaseKind
from slabwright.job.cable_models import Cable
from slabwright.job.likely_units import meant_otherwise
from slabwright.job.models import Piece
from slabwright.job.top_models import Clearances, Top
from slabwright.quantities import Units
from slabwright.reference.tapping import tapping
from slabwright.reference.wood import species
from slabwright.top.layout import layout
from slabwright.top.layout_results import Layout
from slabwright.top.movement import MoistureRange, movement
from slabwright.top.rings import ring_pattern

TOP = TopOn(2100.0, 900.0, (54.0, 54.0, 54.0), 0.0, 700.0, 12_000.0, 0.6, planned=True)
TRESTLE = {
    "tube": "60x60x3", "across": 640, "top_across": 460, "spread": 1300, "rail_height": 230,
    "plate": {"width": 120, "length": 520, "thickness": 8},
}  # fmt: skip


def stated(**keys: Any) -> Base:
    return Base.model_validate({**TRESTLE, **keys}, context={"units": "metric"})


def drawn(kind: BaseKind = "trestles", **keys: Any) -> Drawn:
    return base_structure(stated(**keys), kind, 750.0, TOP, mending=False).drawn


def laid(features: list[dict[str, Any]]) -> Layout:
    top = Top.model_validate({"features": features}, context={"units": "metric"})
    return layout(top, box(0.0, -450.0, 2100.0, 450.0), 54.0, ())


def test_a_leaning_leg_is_cut_parallel_and_stopped_along_its_face() -> None:
    found = base_structure(stated(feet={"height": 22}), "trestles", 750.0, TOP, mending=False)
    leg = next(part for part in found.drawn.parts if part.name == "leg")
    middle = next(part for part in found.drawn.parts if part.name == "middle rail")
    assert (cuts_of(leg), cuts_of(middle)) == ("parallel", "opposed")
    lean = math.atan2(90.0, 636.0)
    assert stop_length(leg) == pytest.approx(606.0 / math.cos(lean))
    assert leg.length == pytest.approx(606.0 / math.cos(lean) + 60.0 * math.tan(lean))
    cuts = cut_list([leg, middle], saw=Saw())
    stops = {stop.parts[0]: stop for stop in cuts.stops}
    assert stops["leg"].stop == pytest.approx(612.0, abs=0.1) and stops["leg"].cuts == "parallel"
    assert stops["middle rail"].cuts == "opposed" and stops["middle rail"].stop == pytest.approx(middle.length)


def test_parallel_parts_of_one_face_and_opposed_ones_do_not_share_a_stop() -> None:
    steel = section("60x60x3", "metric")
    frame = Part("frame", steel, 600.0, (10.0, 10.0), 2)
    leg = Part("leg", steel, 600.0 + 60.0 * math.tan(math.radians(10.0)), (10.0, 10.0), 2, opposite=True)
    assert [(stop.stop, stop.cuts) for stop in cut_list([frame, leg], saw=Saw()).stops] == [
        (600.0, "opposed"),
        (600.0, "parallel"),
    ]


def test_the_leg_stands_with_its_outside_where_it_is_stated() -> None:
    base = drawn()
    low = base.nodes["left far upright, bottom"]
    top = base.nodes["left far upright, top"]
    lean = math.atan2(low[1] - top[1], top[2] - low[2])
    assert 2.0 * low[1] + 60.0 / math.cos(lean) == pytest.approx(640.0)


@pytest.mark.parametrize("kind", ["trestles", "inverted U", "four legs"])
def test_a_leg_gets_a_tapped_foot_plate_that_adds_no_height(kind: BaseKind) -> None:
    base = drawn(kind)
    feet = foot_threads(base)
    assert len(feet) == 4 and all(foot.into.startswith("foot plate in ") for foot in feet)
    assert {(foot.thread, foot.hole, foot.thickness) for foot in feet} == {("M10", 8.5, 10.0)}
    plates = [part for part in parts_to_cut(base, None) if part.name == "foot plate"]
    assert sum(part.count for part in plates) == 4
    # Set into a tube of 60 mm with a wall of 3 mm: it has to go in.
    assert all(part.section.depth <= 53.0 and part.section.width == 10.0 for part in plates)
    joined = [meeting for meeting in meetings(base) if meeting.chord == "foot plate"]
    assert len(joined) == 4 and len({meeting.name for meeting in meetings(base)}) == len(meetings(base))


@pytest.mark.parametrize("kind", ["U legs", "closed loops"])
def test_a_bottom_rail_gets_a_bush_where_its_leveller_stands(kind: BaseKind) -> None:
    keys = {"plate": {"width": 120, "length": 640, "thickness": 8}, "feet": {"inset": 80}}
    feet = foot_threads(drawn(kind, **keys))
    assert {(foot.into, foot.from_end, foot.hole) for foot in feet} == {
        ("weld-in bush in left bottom rail", 80.0, 20.0),
        ("weld-in bush in right bottom rail", 80.0, 20.0),
    }


def test_glides_want_no_thread() -> None:
    base = drawn(feet={"kind": "glides"})
    assert foot_threads(base) == ()
    assert not any(meeting.chord == "foot plate" for meeting in meetings(base))


def test_every_joint_has_a_name_of_its_own_and_a_turn() -> None:
    base = drawn(corners="butted")
    joints = [(meeting.name, meeting.kind, base.nodes[meeting.node]) for meeting in meetings(base)]
    steps = weld_order(joints, 10.0, "metric", joined=True, plates=2)
    closing = next(step for step in steps if step.title == "Close the ends")
    assert sorted(closing.joints) == sorted(name for name, kind, _ in joints if kind == "cap")
    assert len(set(closing.joints)) == len(closing.joints)


def test_a_cap_goes_into_its_tube() -> None:
    for meeting in meetings(drawn()):
        if meeting.kind == "cap":
            assert inside_of(meeting.section) == (54.0, 54.0)
    caps = [part for part in parts_to_cut(drawn(), None) if part.name == "cap"]
    assert caps and all(part.length == 53.0 and part.section.depth == 53.0 for part in caps)


def test_a_plate_on_a_rail_bears_what_its_bolts_do() -> None:
    found = base_structure(stated(), "trestles", 750.0, TOP, mending=False)
    loads = joint_loads(found.structure, found.standing)
    plates = {name: load for name, load in loads.items() if "plate" in name}
    assert len(plates) == 2
    # Half of the top at least presses on each plate.
    assert all(abs(load.pull) > 0.4 * TOP.mass * 9.8 for load in plates.values())


def test_slots_come_from_the_movement_where_no_insert_is_stated() -> None:
    base = drawn()
    inserts = wanted_inserts(base, 54.0, 8.0)
    about = movement(
        900.0, 54.0, species("oak, white"), 10.0, MoistureRange(6.0, 11.0), ring_pattern(None, 54.0)
    )  # fmt: skip
    slots = wanted_slots(inserts, 2100.0, about, Clearances(), "metric", 0.15)
    plan = drill_plan(base, slots, "metric")
    outer = [hole for plate in plan.plates for hole in plate.holes if abs(hole.across - hole.shift) > 200.0]
    middle = [hole for plate in plan.plates for hole in plate.holes if abs(hole.across - hole.shift) < 1.0]
    assert len(outer) == 8 and len(middle) == 4
    for hole in outer:
        moved = 230.0 / 900.0 * (about.width_change_damp - about.width_change_dry)
        assert hole.length > hole.width + moved
    assert all(hole.length < hole.width + 1.0 for hole in middle)
    assert any("slots' sides" in said for said in plan.deburr)
    assert not any("slots' sides" in said for said in drill_plan(base, None, "metric").deburr)


@pytest.mark.parametrize("units", ["metric", "inch"])
def test_what_is_to_be_pasted_makes_the_same_bolts(units: Units) -> None:
    base = drawn()
    inserts = wanted_inserts(base, 54.0, 8.0)
    read = tomllib.loads(as_tables(inserts, units))
    top = Top.model_validate(read["top"], context={"units": units})
    bolts = bolts_of(layout(top, box(0.0, -450.0, 2100.0, 450.0), 54.0, ()))
    assert bolts is not None and len(bolts) == len(base.bolts)
    wanted = {bolt.name: bolt for bolt in base.bolts}
    for bolt in bolts:
        assert (bolt.x, bolt.y) == pytest.approx((wanted[bolt.name].x, wanted[bolt.name].y), abs=0.01)
        assert bolt.slides == wanted[bolt.name].slides
    told = unstated_finding(inserts, False, units)
    assert "drill no plate yet" in told.message and "base.inserts_to_paste" in told.remedy


OUTLET = {
    "kind": "outlet",
    "name": "power",
    "diameter": 60,
    "recess_diameter": 80,
    "recess_depth": 18,
    "nut_diameter": 95,
}


def test_an_outlet_over_a_plate_is_a_stop_with_the_nearest_move() -> None:
    base = drawn()
    assert top_clashes(base, laid([{**OUTLET, "along": 0}]), (), "metric") == []
    found = top_clashes(base, laid([{**OUTLET, "along": -600}]), (), "metric")
    assert [(one.code, one.severity) for one in found] == [("base/under-opening", "stop")]
    # Plate from -710 to -590, nut 95 mm, 3 mm left: free from -539.5 on.
    assert "61 mm along, to the right" in found[0].remedy
    assert top_clashes(base, laid([{**OUTLET, "along": -539}]), (), "metric") == []


def test_an_opening_whose_cable_goes_through_the_plate_is_meant_to_lie_there() -> None:
    cable = Cable.model_validate(
        {
            "name": "cord",
            "outlet": "power",
            "diameter": 8,
            "through": [{"plate": "left plate", "along": 0, "across": 0}],
        },
        context={"units": "metric"},
    )
    bare = drawn("U legs", plate={"width": 120, "length": 640, "thickness": 8})
    held = laid([{**OUTLET, "along": -650}])
    assert top_clashes(bare, held, (), "metric") != []
    assert top_clashes(bare, held, (cable,), "metric") == []


@pytest.mark.parametrize(
    ("name", "value", "units", "asked"),
    [
        ("length", 2.1, "metric", '"2.1 m"'),
        ("length", "40 m", "metric", "4 m meant?"),
        ("height", "7.5 m", "metric", "0.75 m meant?"),
        ("height", 75, "metric", '"75 cm"'),
        ("length", 7, "inch", '"7 ft"'),
    ],
)
def test_a_size_that_no_table_has_is_asked_after(name: str, value: object, units: str, asked: str) -> None:
    with pytest.raises(ValueError, match="meant") as told:
        Piece.model_validate({name: value}, context={"units": units})
    assert asked in str(told.value)


def test_usual_sizes_are_not_asked_after() -> None:
    assert meant_otherwise(2100.0, 200.0, 8000.0, "metric") is None
    assert meant_otherwise(200.0, 200.0, 8000.0, "metric") is None


def test_a_round_one_without_a_wall_is_asked_after() -> None:
    with pytest.raises(SlabwrightError, match="round bar 48, or round tube 48x3"):
        section("round 48", "metric")
    assert section("round bar 48", "metric").kind == "round bar"


@pytest.mark.parametrize(
    ("keys", "kind", "code", "severity"),
    [
        ({"corners": "butted"}, "trestles", "base/key-not-used", "caution"),
        ({"top_across": 900}, "trestles", "base/trestle-wider-above", "caution"),
        ({"leg_as_made": 600}, "trestles", "base/height-off", "stop"),
        ({"leg_as_made": 680}, "trestles", "base/height-off", "caution"),
        ({}, "trestles", "base/legs-on-plan", "note"),
    ],
)
def test_what_is_seldom_meant_is_said(keys: dict[str, Any], kind: BaseKind, code: str, severity: str) -> None:
    base = stated(**{"feet": {"height": 22}, **keys})
    found = {one.code: one for one in base_structure(base, kind, 750.0, TOP, mending=False).findings}
    assert found[code].severity == severity


def test_tap_drills_leave_three_quarters_of_a_thread() -> None:
    """ISO 68-1: a basic thread is 1.0825 of the pitch deep, both sides; the drill leaves 70 to 96 % of it (common practice)."""
    for row in tapping().threads:
        assert 0.7 <= (row.diameter - row.drill) / (1.0825 * row.pitch) <= 0.96, row.name
        if row.system == "metric":
            assert row.drill == pytest.approx(row.diameter - row.pitch, abs=0.06)
