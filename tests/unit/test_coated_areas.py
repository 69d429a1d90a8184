"""What is coated: against areas counted by hand."""

from __future__ import annotations

import math
from dataclasses import astuple, replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from shapely import LineString, Point, Polygon, box
from tests.unit.sheet_plan import invented

from slabwright.finish.areas import Areas, coated_areas, hidden_steel, hollow, sloping, under_outline, wood_surfaces
from slabwright.job.load import load_job
from slabwright.job.top_models import Top
from slabwright.plan import Plan, plan
from slabwright.top.layout_results import Layout, Solid, TopFeature
from slabwright.top.placement_results import Placement
from slabwright.top.results import TopPlan

EXAMPLES = Path(__file__).parents[2] / "examples"
LONG, WIDE, THICK = 2000.0, 900.0, 50.0
OUTLINE = box(0.0, -WIDE / 2, LONG, WIDE / 2)


@cache
def worked_out(name: str) -> Plan:
    return plan(load_job(EXAMPLES / name / "job.toml"))


def feature(kind: str, *solids: Solid) -> TopFeature:
    return replace(invented(TopFeature, name=kind, solids=solids), kind=kind)


def top(*features: TopFeature, edges: list[dict[str, Any]] | None = None, width: float | None = WIDE) -> TopPlan:
    stated = Top.model_validate({"features": edges or []})
    return invented(
        TopPlan,
        outline=OUTLINE,
        features=features,
        placement=invented(Placement, width=width, length=LONG),
        layout=invented(Layout, top=stated),
        length=LONG,
        width=WIDE,
    )


def found(plan_of: TopPlan, under: Polygon = OUTLINE) -> dict[str, float]:
    return {surface.name: surface.area for surface in wood_surfaces(plan_of, THICK, under)}


def test_a_plain_board_has_two_faces_two_edges_two_ends() -> None:
    assert found(top()) == pytest.approx(
        {"show face": LONG * WIDE, "underside": LONG * WIDE, "long edges": 2 * LONG * THICK, "ends": 2 * WIDE * THICK}
    )


def test_a_pocket_gives_its_walls_and_keeps_its_floor() -> None:
    pocket = feature("pocket", Solid(box(500.0, -100.0, 600.0, 100.0), 0.0, THICK - 10.0, THICK))
    areas = found(top(pocket))
    assert areas["underside"] == pytest.approx(LONG * WIDE - 100.0 * 200.0)
    assert areas["pockets and channels"] == pytest.approx(100.0 * 200.0 + 2 * 300.0 * 10.0)
    assert areas["show face"] == pytest.approx(LONG * WIDE)


def test_a_through_hole_is_a_bore_of_end_grain_and_an_outlet_has_its_recess() -> None:
    hole = feature("through hole", Solid(Point(300.0, 0.0), 20.0, 0.0, THICK))
    outlet = feature(
        "outlet", Solid(Point(900.0, 0.0), 30.0, 0.0, THICK), Solid(Point(900.0, 0.0), 39.0, THICK - 20.0, THICK)
    )
    areas = found(top(hole, outlet))
    circle = math.pi * 20.0**2
    assert areas["show face"] == pytest.approx(LONG * WIDE - circle - math.pi * 30.0**2, rel=1e-5)
    assert areas["underside"] == pytest.approx(LONG * WIDE - circle - math.pi * 39.0**2, rel=1e-5)
    bores = 2 * math.pi * (20.0 * THICK + 30.0 * 30.0 + 39.0 * 20.0) + math.pi * (39.0**2 - 30.0**2)
    assert areas["bores"] == pytest.approx(bores, rel=3e-3)
    ends = {surface.name for surface in wood_surfaces(top(hole), THICK, OUTLINE) if surface.end_grain}
    assert ends == {"ends", "bores"}


def test_a_let_in_key_and_an_insert_leave_the_faces_as_they_are() -> None:
    key = feature("key", Solid(box(500.0, -50.0, 560.0, 50.0), 0.0, 0.0, 12.0))
    insert = feature("insert", Solid(Point(300.0, 0.0), 6.0, THICK - 24.0, THICK))
    assert found(top(key, insert)) == found(top())


def test_cuts_that_run_into_each_other_count_once() -> None:
    channel = Solid(LineString([(100.0, 0.0), (500.0, 0.0)]), 6.0, 35.0, 50.0)
    whole = hollow(OUTLINE, [channel, channel], THICK)
    assert astuple(whole) == pytest.approx(astuple(hollow(OUTLINE, [channel], THICK)))
    hole = Solid(Point(500.0, 0.0), 30.0, 0.0, 50.0)
    both = hollow(OUTLINE, [channel, hole], THICK)
    apart = hollow(OUTLINE, [channel], THICK).walls + hollow(OUTLINE, [hole], THICK).walls
    # The hole takes off the channel's rounded end and what of its sides lies inside; the channel opens the hole's wall.
    assert apart - 15.0 * (math.pi * 6.0 + 2 * 30.0 + 13.0) < both.walls < apart


def test_a_channel_that_leaves_at_an_edge_has_no_wall_there() -> None:
    channel = Solid(LineString([(300.0, 0.0), (300.0, 600.0)]), 5.0, 40.0, 50.0)
    open_at_edge = hollow(OUTLINE, [channel], THICK)
    assert open_at_edge.walls == pytest.approx(10.0 * (2 * 450.0 + math.pi * 5.0), rel=1e-3)


def test_worked_edges_take_off_faces_and_walls_and_give_their_own() -> None:
    chamfer = {"kind": "chamfer", "name": "c", "face": "show", "edges": ["near edge", "far edge"], "size": 3.0}
    areas = found(top(edges=[chamfer]))
    assert areas["show face"] == pytest.approx(LONG * WIDE - 2 * 3.0 * LONG)
    assert areas["long edges"] == pytest.approx(2 * LONG * (THICK - 3.0))
    assert areas["eased edges"] == pytest.approx(2 * LONG * 3.0 * math.sqrt(2.0))
    rounded = found(top(edges=[chamfer | {"kind": "round"}]))
    assert rounded["eased edges"] == pytest.approx(2 * LONG * 3.0 * math.pi / 2.0)


def test_sloping_edges_are_as_long_as_their_slope() -> None:
    show, under = LineString([(0, 0), (1000, 0)]), LineString([(0, 40), (1000, 40)])
    assert sloping(show, under, 30.0) == pytest.approx(1000.0 * 50.0)
    wider = box(0.0, -WIDE / 2 - 40.0, LONG, WIDE / 2 + 40.0)
    areas = found(top(width=None), wider)
    assert areas["live edges"] == pytest.approx(2 * LONG * math.hypot(THICK, 40.0))
    assert areas["ends"] == pytest.approx(2 * (WIDE + 40.0) * THICK)


def test_the_demo_adds_up_and_its_underside_is_wider() -> None:
    whole = worked_out("reading-table")
    areas = coated_areas(whole.top, whole.board, whole.base, whole.slab)
    assert sum(surface.area for surface in areas.surfaces) == pytest.approx(areas.wood + areas.steel)
    assert areas.wood == areas.wood_long + areas.wood_end
    assert whole.top is not None and whole.slab is not None
    assert under_outline(whole.slab, whole.top).area > whole.top.outline.area
    upright = coated_areas(whole.top, whole.board, whole.base)
    assert upright.named("underside") != areas.named("underside")


def test_hidden_steel_of_legs_under_plates() -> None:
    whole = worked_out("reading-table")
    assert whole.base is not None
    drawn = whole.base.drawn
    tube = next(member.section for member in drawn.members if "upright" in member.name)
    hidden = {each.name: each.area for each in hidden_steel(drawn)}
    assert hidden == pytest.approx(
        {
            "plates against the wood": sum(plate.width * plate.length for plate in drawn.plates),
            "ends of tubes on plates": 4 * tube.depth * tube.width,
        }
    )
    areas = coated_areas(None, None, whole.base)
    assert areas.steel == pytest.approx(whole.base.paint_area - sum(hidden.values()))
    assert areas.wood == 0.0


def test_a_plate_on_a_rail_hides_both_and_caps_add_their_faces() -> None:
    whole = worked_out("hall-desk")
    assert whole.base is not None
    hidden = {each.name: each.area for each in hidden_steel(whole.base.drawn)}
    plates = whole.base.drawn.plates
    rail = next(member.section for member in whole.base.drawn.members if "top rail" in member.name)
    assert hidden["plates on rails, both faces"] <= sum(2 * plate.length * rail.width for plate in plates) + 1e-6
    assert hidden["caps, added"] < 0.0


def test_nothing_is_coated_of_what_is_not_there() -> None:
    nothing = coated_areas(None, None, None)
    assert isinstance(nothing, Areas) and nothing.surfaces == () and nothing.wood == nothing.steel == 0.0
