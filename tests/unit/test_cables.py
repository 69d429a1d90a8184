"""Cables: way, length, bends, ties, what has to pass, and what is said of a cable that cannot run as it is stated."""

from __future__ import annotations

import dataclasses
import math
import re
from itertools import pairwise
from typing import Any

import pytest
from pydantic import ValidationError
from shapely import box
from tests.unit.carried import worked_out

from slabwright.base.basing import BasePlan
from slabwright.base.cable_openings import openings_through
from slabwright.base.drill_plan import drill_plan
from slabwright.carry.cables import cable_routes, held_at, route_of
from slabwright.carry.cables_findings import radius_for, route_findings, sharing_findings
from slabwright.carry.cables_ground import Ground, ground_of
from slabwright.carry.cables_path import (
    Point,
    bend_through,
    lengths,
    longest_round_corner,
    rectangle_in_rectangle,
)
from slabwright.carry.cables_results import CableRoute
from slabwright.findings import Finding, SlabwrightError
from slabwright.job.brief_models import Brief
from slabwright.job.cable_models import Cable
from slabwright.job.top_models import Channel, Top
from slabwright.plan import Plan
from slabwright.top.layout import layout

OUTLET = {
    "kind": "outlet", "name": "lamp", "along_from": "left end", "along": 300, "across": 100, "diameter": 60,
    "recess_diameter": 80, "recess_depth": 20,
}  # fmt: skip


def channel(name: str = "run", **changes: object) -> dict[str, object]:
    stated: dict[str, object] = {
        "kind": "channel", "name": name, "path": [[300, 100], [300, -100], [900, -100]], "width": 12, "depth": 14,
        "corner_radius": 40,
    }  # fmt: skip
    return stated | changes


def ground(*features: dict[str, object]) -> Ground:
    top = Top.model_validate({"features": [OUTLET, *(features or (channel(),))]})
    return ground_of(layout(top, box(0.0, -400.0, 2000.0, 400.0), 50.0), None)


def cable(**changes: Any) -> Cable:
    stated: dict[str, Any] = {
        "name": "cord", "outlet": "lamp", "diameter": 8, "through": [{"channel": "run"}], "slack": 150, "reach": 1000,
    }  # fmt: skip
    return Cable.model_validate(stated | changes)


def routed(one: Cable, where: Ground | None = None, moved: float | None = None) -> tuple[CableRoute, list[Finding]]:
    where = where or ground()
    route = route_of(where, one, 0, moved)
    return route, route_findings(where, one, route)


def example() -> Plan:
    return worked_out("reading-table")


def base_of() -> BasePlan:
    found = example().base
    assert found is not None
    return found


def on_example(*cables: Cable) -> tuple[tuple[CableRoute, ...], tuple[Finding, ...]]:
    whole = example()
    assert whole.top is not None
    job = dataclasses.replace(whole.job, stated=whole.job.stated.model_copy(update={"cables": list(cables)}))
    return cable_routes(job, whole.top, whole.base)


def down_a_leg(**changes: Any) -> Cable:
    stated: dict[str, Any] = {
        "name": "cord", "outlet": "reading lamp", "diameter": 8, "bend_radius": 32,
        "through": [{"channel": "lamp cable"}, {"outside": "right far upright"}],
        "plug": {"width": 38, "height": 38, "length": 60},
    }  # fmt: skip
    return Cable.model_validate(stated | changes)


def test_length_on_a_known_path_is_exact() -> None:
    route, found = routed(cable())
    legs = 200.0 + 600.0
    rounded = 2.0 * 40.0 - 40.0 * math.pi / 2.0
    assert route.fixed_length == pytest.approx(legs - rounded, abs=1e-9)
    assert route.length == pytest.approx(legs - rounded + 150.0 + 1000.0, abs=1e-9)
    assert sum(run.length for run in route.runs) == pytest.approx(route.fixed_length)
    assert found == []


def test_sharp_corners_save_nothing() -> None:
    route, _ = routed(cable(bend_radius=5), ground(channel(corner_radius=0)))
    assert route.fixed_length == pytest.approx(800.0)


def test_a_channel_is_run_from_the_end_that_is_nearer() -> None:
    turned = channel(path=[[900, -100], [300, -100], [300, 100]])
    assert routed(cable(), ground(turned))[0].fixed_length == pytest.approx(routed(cable())[0].fixed_length)


def test_a_channel_is_left_where_the_next_one_is_nearest() -> None:
    second = channel("branch", path=[[600, -100], [600, -300]], corner_radius=0)
    one = cable(through=[{"channel": "run"}, {"channel": "branch"}], bend_radius=5)
    route, _ = routed(one, ground(channel(), second))
    rounded = 80.0 - 20.0 * math.pi
    assert route.fixed_length == pytest.approx(200.0 + 300.0 - rounded + 200.0)
    junction = next(bend for bend in route.bends if bend.along == pytest.approx(600.0))
    assert junction.radius is not None
    assert junction.turn == pytest.approx(90.0)


def test_a_cable_without_a_way_hangs_from_its_outlet() -> None:
    route, _ = routed(cable(through=[]))
    assert route.fixed_length == 0.0
    assert "lamp" in route.hangs_from
    assert [tie.at for tie in route.ties] == [0.0]
    assert route.ties[0].kind.startswith("strain relief")


def test_ties_stand_near_both_ends_and_no_farther_apart_than_asked_for() -> None:
    route, _ = routed(cable(tie_every=120))
    at = [tie.at for tie in route.ties]
    assert at == sorted(at)
    # The straights: 0 to 160 before the round corner, and the last 560 behind it.
    assert at[0] == pytest.approx(50.0)
    assert at[-1] == pytest.approx(route.fixed_length - 50.0)
    behind = [place for place in at if place > 200.0]
    assert max(b - a for a, b in pairwise(behind)) <= 120.0 + 1e-9
    corner = next(bend for bend in route.bends if bend.turn > 80.0).at
    assert all(abs(place - corner) >= 40.0 * math.pi / 4.0 - 1e-6 for place in at)
    assert route.ties[0].kind.startswith("strain relief")
    assert route.ties[-1].kind.startswith("strain relief")
    assert not any(tie.kind.startswith("strain relief") for tie in route.ties[1:-1])


@pytest.mark.parametrize(
    ("start", "end", "most", "places"),
    [(0.0, 80.0, 300.0, [40.0]), (0.0, 400.0, 300.0, [50.0, 350.0]), (100.0, 800.0, 300.0, [150.0, 450.0, 750.0])],
)
def test_ties_of_a_straight(start: float, end: float, most: float, places: list[float]) -> None:
    assert held_at(start, end, most) == pytest.approx(places)


def test_a_bend_that_is_too_tight_is_a_stop_with_a_radius_that_was_tried() -> None:
    sharp = channel(corner_radius=0)
    one = cable(bend_radius=60)
    route, found = routed(one, ground(sharp))
    stop = next(each for each in found if each.code == "carry/cable-bend")
    assert stop.severity == "stop"
    radius = radius_for(Channel.model_validate(sharp), 8.0, 60.0)
    assert radius is not None
    assert f"{radius:g} mm" in stop.remedy
    mended, rest = routed(one, ground(channel(corner_radius=radius)))
    assert all(bend.holds for bend in mended.bends)
    assert not [each for each in rest if each.code == "carry/cable-bend"]
    assert not [bend for bend in route.bends if bend.holds and bend.radius is not None]


def test_a_radius_that_no_corner_has_room_for_is_not_offered() -> None:
    short = channel(path=[[300, 100], [300, 60], [340, 60]], corner_radius=0)
    assert radius_for(Channel.model_validate(short), 8.0, 200.0) is None
    _, found = routed(cable(bend_radius=200), ground(short))
    stop = next(each for each in found if each.code == "carry/cable-bend")
    assert "thinner" in stop.remedy


def test_the_layout_speaks_of_a_bend_where_the_channel_states_the_cable() -> None:
    known = channel(corner_radius=0, cable_diameter=8, cable_bend=60)
    _, found = routed(cable(bend_radius=60), ground(known))
    assert not [each for each in found if each.code == "carry/cable-bend"]


def test_the_least_bend_is_a_multiple_of_the_diameter_where_none_is_stated() -> None:
    assert cable().least_bend() == pytest.approx(32.0)
    assert cable(bend_radius=25).least_bend() == pytest.approx(25.0)
    assert cable(bend_multiple=6).least_bend() == pytest.approx(48.0)


def test_a_plug_that_does_not_pass_the_outlet() -> None:
    wide = {"width": 50, "height": 40, "length": 60}
    route, found = routed(cable(plug=wide))
    assert route.leads == "plug"
    stop = next(each for each in found if each.code == "carry/plug-does-not-pass")
    assert "connector" in stop.remedy
    assert "licensed" in stop.remedy
    for mended in (
        {"plug": wide | {"fitting": "rewireable"}},
        {"plug": wide, "connector": wide | {"width": 20, "height": 15}},
    ):
        assert not [f for f in routed(cable(**mended))[1] if f.code == "carry/plug-does-not-pass"]


def test_a_rewireable_plug_is_left_to_licensed_practice() -> None:
    route, _ = routed(cable(plug={"width": 50, "height": 40, "length": 60, "fitting": "rewireable"}))
    assert route.leads == "bare end"
    assert any("licensed practice" in step and "never cut" in step for step in route.pull)


def test_a_thick_cable_does_not_go_into_its_channel() -> None:
    _, found = routed(cable(diameter=13, bend_radius=20))
    assert "carry/cable-thick" in [each.code for each in found]


def test_a_cord_that_is_too_short_or_far_too_long() -> None:
    need = routed(cable())[0].length
    short, found = routed(cable(length=need - 100.0))
    assert short.spare == pytest.approx(-100.0)
    assert [f.code for f in found] == ["carry/cable-short"]
    assert "100 mm too short" in found[0].message
    assert [f.code for f in routed(cable(length=need + 1500.0))[1]] == ["carry/cable-spare"]
    assert routed(cable(length=need + 500.0))[1] == []


def test_cables_that_share_a_channel() -> None:
    where = ground()
    two = [cable(), cable(name="data", mains=False, diameter=5)]
    assert [f.code for f in sharing_findings(where, two)] == ["carry/channel-full", "carry/channel-mixed"]
    assert sharing_findings(where, [cable(diameter=5), cable(name="other", diameter=5)]) == []


def test_a_lid_covers_what_lies_below_it() -> None:
    route, _ = routed(cable(through=[{"channel": "run", "lid": True}]))
    assert route.laid_before == ("lid of run",)
    assert "lid of run" in route.pull[1]


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"outlet": "lmap"}, "did you mean 'lamp'"),
        ({"outlet": "run"}, "which is no outlet or through hole"),
        ({"through": [{"channel": "runn"}]}, "did you mean 'run'"),
        ({"through": [{"channel": "lamp"}]}, "which is no channel"),
        ({"through": [{"plate": "left plate"}]}, "there is no base yet"),
    ],
)
def test_a_cable_that_names_what_there_is_not(changes: dict[str, object], told: str) -> None:
    with pytest.raises(SlabwrightError, match=r"^cables\[0\]\.") as error:
        routed(cable(**changes))
    assert told in str(error.value)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"through": [{"channel": "run", "plate": "left plate"}]}, "one of them"),
        ({"through": [{"channel": "run", "enters": 5}]}, "enters does not go with channel"),
        ({"through": [{"tube": "leg", "enters": 5, "leaves": 5}]}, "same place"),
        ({"plug": {"width": 5, "height": 30, "length": 40}}, "narrower than its cable"),
        ({"diameter": 0}, "more than 0"),
        ({"bend_multiple": 0}, "greater than 0"),
    ],
)
def test_what_a_cable_may_not_state(changes: dict[str, object], told: str) -> None:
    with pytest.raises(ValidationError, match=told):
        cable(**changes)


def test_down_the_outside_of_a_leg() -> None:
    (route,), found = on_example(down_a_leg())
    assert not [each for each in found if each.severity == "stop"]
    leg = next(run for run in route.runs if run.kind == "along the outside")
    drawn = base_of().drawn
    high = drawn.nodes["right far upright, top"][2] - drawn.nodes["right far upright, bottom"][2]
    assert leg.length == pytest.approx(high, abs=15.0)
    assert "right far upright" in route.hangs_from
    assert route.moves is not None
    assert 0.0 < route.moves < 20.0
    # It lies beside the steel, not in it.
    half = next(m.section for m in drawn.members if m.name == "right far upright").width / 2.0
    assert example().top is not None
    for point in route.way[-2:]:
        beside = abs(point.at[0] - base_of().structure.top.length / 2.0 - drawn.nodes["right far upright, top"][0])
        across = abs(point.at[1] - drawn.nodes["right far upright, top"][1])
        assert max(beside, across) == pytest.approx(half + 4.0, abs=1e-6)


def test_little_slack_is_told_where_the_wood_moves_more() -> None:
    _, found = on_example(down_a_leg(slack=2))
    assert "carry/cable-slack" in [each.code for each in found]
    assert "carry/cable-slack" not in [each.code for each in on_example(down_a_leg())[1]]


def test_a_plug_that_would_hang_in_the_air() -> None:
    short = down_a_leg(through=[{"channel": "lamp cable"}], reach=300)
    assert "carry/cable-hangs-short" in [each.code for each in on_example(short)[1]]


def test_inside_a_tube_the_bend_and_the_plug_are_looked_at() -> None:
    inside = [{"channel": "lamp cable"}, {"tube": "right far upright", "enters": 600, "leaves": 80, "opening": 20}]
    (route,), found = on_example(down_a_leg(through=inside))
    codes = [each.code for each in found]
    assert "carry/plug-does-not-pass" in codes
    assert "outside" in next(f.remedy for f in found if f.code == "carry/plug-does-not-pass")
    tubes = [bend for bend in route.bends if "opening" in bend.said]
    assert len(tubes) == 2
    steel = next(m.section for m in base_of().drawn.members if m.name == "right far upright")
    assert steel.wall is not None
    room = min(steel.depth, steel.width) - 2.0 * steel.wall
    assert tubes[0].radius == pytest.approx(bend_through(room, steel.wall, 20.0, 8.0))
    tube = next(run for run in route.runs if run.kind == "inside the tube")
    assert not [tie for tie in route.ties if tube.start < tie.at < tube.start + tube.length - 1e-6]
    assert route.ties[-1].at == pytest.approx(route.fixed_length)
    assert "grip" in route.ties[-1].kind


def test_a_tube_whose_ends_are_welded_shut_wants_openings_that_then_hold() -> None:
    bare = {"width": 38, "height": 38, "length": 60, "fitting": "after the pull"}
    through = [{"channel": "lamp cable"}, {"tube": "right far upright"}]
    (route,), found = on_example(down_a_leg(through=through, plug=bare))
    stop = next(each for each in found if each.code == "carry/tube-closed")
    assert stop.severity == "stop" and "both its ends are closed" in stop.message
    assert [each.fits for each in route.passings if "end of 'right far upright'" in each.through] == [False, False]
    enters, leaves = (float(each) for each in re.findall(r"= '([0-9.]+) mm'", stop.remedy)[:2])
    stated = [through[0], {"tube": "right far upright", "enters": enters, "leaves": leaves}]
    (mended,), rest = on_example(down_a_leg(through=stated, plug=bare))
    assert "carry/tube-closed" not in [each.code for each in rest]
    assert not [each for each in mended.passings if "end of" in each.through]
    # A plug that has to pass wants a wider opening than the tube's side bears.
    _, wide = on_example(down_a_leg(through=through))
    assert "It does not go" in next(each.remedy for each in wide if each.code == "carry/tube-closed")


def test_between_mitred_tubes_nothing_is_closed() -> None:
    bare = {"width": 38, "height": 38, "length": 60, "fitting": "after the pull"}
    round_the_corner = [{"tube": "right far upright", "enters": 500}, {"tube": "right bottom rail", "leaves": 100}]
    _, found = on_example(down_a_leg(through=[{"channel": "lamp cable"}, *round_the_corner], plug=bare))
    assert "carry/tube-closed" not in [each.code for each in found]


def test_the_free_end_goes_down_to_the_floor_and_on_to_the_farthest_socket() -> None:
    brief = Brief.model_validate({"sockets": [{"distance": 900}, {"distance": 1400}]})
    one = Cable.model_validate({"name": "cord", "outlet": "reading lamp", "diameter": 8})
    whole = worked_out("reading-table")
    assert whole.top is not None and whole.base is not None
    job = dataclasses.replace(whole.job, stated=whole.job.stated.model_copy(update={"cables": [one], "brief": brief}))
    (route,), _ = cable_routes(job, whole.top, whole.base)
    high = whole.base.height.even - route.way[-1].at[2]
    assert route.reach - 1400.0 - high == pytest.approx(5.0, abs=15.0)
    own = one.model_copy(update={"reach": 700.0})
    job = dataclasses.replace(job, stated=job.stated.model_copy(update={"cables": [own]}))
    assert cable_routes(job, whole.top, whole.base)[0][0].reach == 700.0


def test_in_an_inch_job_what_is_not_stated_is_whole_inches() -> None:
    one = cable(slack=100.0)
    inches = one.in_units("inch")
    assert (inches.slack, inches.reach, inches.tie_every) == (100.0, 1000.0, 12 * 25.4)
    bare = Cable.model_validate({"name": "c", "outlet": "o", "diameter": 8}).in_units("inch")
    assert (bare.slack, bare.reach) == (6 * 25.4, 60 * 25.4)
    assert one.in_units("metric") == one
    assert inches.model_fields_set == one.model_fields_set


def test_ties_of_two_straights_do_not_crowd_at_their_corner() -> None:
    short = channel(path=[[300, 100], [300, 40], [900, 40]], corner_radius=20)
    route, _ = routed(cable(bend_radius=5), ground(short))
    at = [tie.at for tie in route.ties]
    assert min(b - a for a, b in pairwise(at)) >= 50.0 - 1e-6


def test_a_plate_that_no_channel_leads_to() -> None:
    through = [{"channel": "lamp cable"}, {"plate": "right plate", "across": 100}]
    _, found = on_example(down_a_leg(through=through))
    assert "carry/no-way-over-plate" in [each.code for each in found]


def test_a_place_beyond_the_end_of_a_leg() -> None:
    with pytest.raises(SlabwrightError, match="lies beyond its end") as error:
        on_example(down_a_leg(through=[{"outside": "right far upright", "enters": 5000}]))
    assert str(error.value).startswith("cables[0].through[0].enters")


def test_near_names_of_the_steel_are_offered() -> None:
    with pytest.raises(SlabwrightError, match="did you mean 'right far upright'"):
        on_example(down_a_leg(through=[{"outside": "right far uprigt"}]))


def test_openings_for_the_drill_plan() -> None:
    one = down_a_leg(
        through=[
            {"channel": "lamp cable"},
            {"plate": "right plate", "along": 10, "across": 100, "opening": 14},
            {"tube": "right near upright", "enters": 500, "leaves": 60, "opening": 14},
            {"outside": "right bottom rail"},
        ]
    )
    openings = openings_through([one])
    assert [(each.through, each.along, each.across) for each in openings] == [
        ("right plate", 10.0, 100.0),
        ("right near upright", 500.0, 0.0),
        ("right near upright", 60.0, 0.0),
    ]
    assert {each.diameter for each in openings} == {14.0}
    assert len({each.name for each in openings}) == 3
    drilled = drill_plan(base_of().drawn, None, "metric", openings)
    assert [each.through for each in drilled.openings] == ["right near upright"] * 2


def test_an_opening_lets_the_plug_through_where_its_size_is_not_stated() -> None:
    one = down_a_leg(through=[{"plate": "right plate"}])
    assert openings_through([one])[0].diameter == pytest.approx(math.hypot(38.0, 38.0) + 1.0)
    bare = down_a_leg(
        through=[{"plate": "right plate"}],
        plug={"width": 38, "height": 38, "length": 60, "fitting": "after the pull"},
    )
    assert openings_through([bare])[0].diameter == pytest.approx(9.0)


def test_no_cables_say_nothing() -> None:
    assert on_example() == ((), ())


@pytest.mark.parametrize(
    ("one", "other", "fits"),
    [
        ((30.0, 20.0), (30.0, 20.0), True),
        ((20.0, 30.0), (30.0, 20.0), True),
        # A thin one goes in along the diagonal of a square: 100 x 1 in 72 x 72.
        ((100.0, 1.0), (72.0, 72.0), True),
        ((100.0, 3.0), (72.0, 72.0), False),
        ((31.0, 20.0), (30.0, 20.0), False),
    ],
)
def test_rectangle_in_rectangle(one: tuple[float, float], other: tuple[float, float], fits: bool) -> None:
    assert rectangle_in_rectangle(one, other) is fits


def test_a_rod_round_a_corner_is_the_classic_ladder() -> None:
    # The longest ladder round a corner of passages a and b: (a^(2/3) + b^(2/3))^(3/2), a standard exercise in calculus.
    assert longest_round_corner(0.0, 27.0, 64.0) == pytest.approx((9.0 + 16.0) ** 1.5, rel=1e-9)
    assert longest_round_corner(30.0, 27.0, 64.0) == 0.0


def test_a_quarter_turn_within_the_tube_needs_only_the_cable() -> None:
    # Opening as wide as the cable: the whole turn lies inside, so its inside radius is what the cable leaves of the room.
    assert bend_through(54.0, 3.0, 8.0, 8.0) == pytest.approx(46.0, abs=1e-3)
    assert bend_through(54.0, 3.0, 7.0, 8.0) == 0.0
    assert bend_through(7.0, 3.0, 20.0, 8.0) == 0.0


def test_lengths_of_a_straight_way() -> None:
    assert lengths([Point((0.0, 0.0, 0.0)), Point((3.0, 4.0, 0.0)), Point((3.0, 4.0, 12.0))]) == [0.0, 5.0, 17.0]
