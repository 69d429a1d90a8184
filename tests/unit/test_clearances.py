"""Distances worked out by hand, each rule with its clash, and remedies that hold once they are done."""

from __future__ import annotations

import math
from typing import Any

import pytest
from shapely import Polygon, box

from slabwright.findings import Finding
from slabwright.job.top_models import Top
from slabwright.quantities import Units
from slabwright.top import clearance_rules as rule
from slabwright.top.clearances import chamfer_gap, clearances, round_gap
from slabwright.top.layout import layout
from slabwright.top.layout_findings import layout_findings
from slabwright.top.layout_results import Clearance
from slabwright.top.moving import DIRECTIONS, Trial, step_of

OUTLINE = box(0.0, -400.0, 2000.0, 400.0)
PLATE = {
    "kind": "pocket",
    "name": "plate",
    "length": 100,
    "width": 500,
    "depth": 8,
    "along_from": "left end",
    "along": 300,
}
BOLT = {"kind": "insert", "name": "bolt", "drill": 12, "depth": 25, "along_from": "plate", "across_from": "plate"}
BOLT |= {"plate": "plate", "across": -200}
OUT = {"kind": "outlet", "name": "out", "diameter": 60, "recess_diameter": 80, "recess_depth": 20}
OUT |= {"along_from": "right end", "along": 500, "across_from": "far edge", "across": 100, "nut_diameter": 110}
CABLE = {"kind": "channel", "name": "cable", "path": [[600, 0], [900, 0], [900, 200]], "width": 20, "depth": 15}
KEY = {"kind": "key", "name": "key", "length": 80, "width": 30, "waist": 18, "depth": 12}
HOLE = {"kind": "through hole", "name": "hole", "diameter": 30}


def trial(
    *features: dict[str, Any], thickness: float = 50.0, units: Units = "metric", outline: Polygon = OUTLINE, **more: Any
) -> Trial:
    placed = layout(Top.model_validate({"features": list(features), **more}), outline, thickness)
    return Trial(placed, clearances(placed), units)


def told(*features: dict[str, Any], **more: Any) -> dict[str, Finding]:
    tried = trial(*features, **more)
    found = layout_findings(tried.layout, clearances(tried.layout), tried.units)
    return {one.code: one for one in found}


def measured(kind: str, *features: dict[str, Any], **more: Any) -> Clearance:
    return next(one for one in clearances(trial(*features, **more).layout) if one.rule == kind)


def test_a_sound_layout_has_nothing_to_say() -> None:
    assert told(PLATE, BOLT, OUT, CABLE, KEY | {"across": -200}, HOLE | {"along": 300}) == {}


@pytest.mark.parametrize(
    ("features", "distance"),
    [
        ([HOLE, HOLE | {"name": "b", "along": 50, "across": 0}], 50 - 30),
        ([HOLE, HOLE | {"name": "b", "along": 30, "across": 40}], 50 - 30),
        ([OUT | {"along": 980, "across": 380}, PLATE | {"along": 1000, "width": 100, "length": 93.65}], 0.0),
        # A key 12 deep over a pocket 8 deep in 50 of wood; and beside it by 30 along: the slant of 30 and 30.
        ([KEY, PLATE | {"along": 1000}], 30.0),
        (
            [KEY | {"along": 15 + 30}, PLATE | {"along": 1000 - 3.175, "length": 0.001 + 6.35 - 0.001}],
            math.hypot(30 - 3.175, 30),
        ),
    ],
)
def test_wood_between_two_features(features: list[dict[str, Any]], distance: float) -> None:
    assert measured(rule.BETWEEN, *features).distance == pytest.approx(distance, abs=0.02)


def test_wood_to_a_slanting_edge() -> None:
    slant = Polygon([(0, -400), (2000, -400), (2000, 400), (0, 100)])
    gap = measured(rule.EDGE, HOLE, outline=slant).distance
    assert gap == pytest.approx(250 * 2000 / math.hypot(2000, 300) - 15)


@pytest.mark.parametrize(
    ("gap", "below", "size", "chamfer", "round_"),
    [
        (20.0, 0.0, 6.0, 14.0, 14.0),
        (0.0, 20.0, 6.0, 14.0, 14.0),
        (6.0, 6.0, 6.0, 6 / math.sqrt(2), 6.0),
        (2.0, 2.0, 6.0, -2 / math.sqrt(2), 6 - 4 * math.sqrt(2)),
        (16.0, 1.0, 6.0, math.hypot(10, 1), math.hypot(10, 1)),
    ],
)
def test_wood_to_a_worked_edge(gap: float, below: float, size: float, chamfer: float, round_: float) -> None:
    assert chamfer_gap(gap, below, size) == pytest.approx(chamfer)
    assert round_gap(gap, below, size) == pytest.approx(round_)


@pytest.mark.parametrize(
    ("code", "features", "more"),
    [
        ("top/pocket-floor", [PLATE | {"depth": 20}], {"thickness": 40.0}),
        ("top/pocket-floor", [PLATE | {"depth": 8}], {"thickness": 31.0}),
        ("top/insert-cover", [PLATE, BOLT | {"depth": 35}], {"thickness": 45.0}),
        ("top/channel-floor", [CABLE | {"depth": 20}], {"thickness": 30.0}),
        ("top/key-floor", [KEY | {"depth": 20}], {"thickness": 30.0}),
        ("top/recess-floor", [OUT | {"recess_depth": 35}], {"thickness": 40.0}),
        (
            "top/bar-floor",
            [{"kind": "bar", "name": "b", "length": 500, "width": 40, "height": 8, "depth": 30}],
            {"thickness": 40.0},
        ),
        ("top/deeper-than-wood", [PLATE | {"depth": 60}], {}),
        ("top/deeper-than-wood", [{"kind": "round", "name": "r", "size": 55}], {}),
        ("top/outside", [OUT | {"across": 10}], {}),
        ("top/outside", [OUT | {"along": -300}], {}),
        ("top/near-edge", [OUT | {"across": 60}], {}),
        ("top/too-close", [OUT, OUT | {"name": "b", "along": 585, "nut_diameter": 80}], {}),
        ("top/nut-room", [OUT, HOLE | {"along": 500, "across": 235}], {}),
        ("top/outside-plate", [PLATE, BOLT | {"across": -260}], {}),
        (
            "top/keep-clear",
            [OUT],
            {"keep_clear": [{"name": "k", "what": "knees", "outline": [(1300, 100), (1700, 100), (1500, 400)]}]},
        ),
        (
            "top/keep-clear",
            [HOLE],
            {"keep_clear": [{"name": "k", "what": "base", "outline": [(900, -9), (1100, -9), (1000, 90)]}]},
        ),
        (
            "top/worked-edge",
            [
                {"kind": "chamfer", "name": "a", "size": 30},
                {"kind": "round", "name": "b", "size": 25, "face": "underside"},
            ],
            {},
        ),
        (
            "top/worked-edge",
            [
                {"kind": "chamfer", "name": "a", "size": 5},
                {"kind": "round", "name": "b", "size": 5, "edges": ["left end"]},
            ],
            {},
        ),
        ("top/worked-edge", [HOLE | {"across": 355}, {"kind": "chamfer", "name": "a", "size": 20}], {}),
        (
            "top/channel-crosses-itself",
            [CABLE | {"path": [[100, 0], [600, 0], [600, 200], [300, 200], [300, -200]]}],
            {},
        ),
        ("top/corner-too-tight", [CABLE | {"corner_radius": 300}], {}),
        ("top/cable-too-thick", [CABLE | {"cable_diameter": 22}], {}),
        ("top/cable-bend", [CABLE | {"cable_diameter": 8, "cable_bend": 60}], {}),
        ("top/cable-bend", [CABLE | {"cable_bend": 60}], {}),
        (
            "top/cable-bend",
            [CABLE | {"path": [[600, 0], [640, 0], [640, 30]], "cable_diameter": 8, "cable_bend": 90}],
            {},
        ),
    ],
)
def test_each_clash_is_told_with_its_remedy(code: str, features: list[dict[str, Any]], more: dict[str, Any]) -> None:
    for units in ("metric", "inch"):
        found = told(*features, units=units, **more)
        assert code in found, list(found)
        one = found[code]
        assert one.remedy and one.source and "None" not in one.message + one.remedy
        assert '"' not in one.message + one.remedy if units == "metric" else " mm" not in one.message + one.remedy


LOOP = CABLE | {"path": [[100, 0], [600, 0], [600, 200], [300, 200], [300, -200]]}
THICK = CABLE | {"cable_diameter": 18}
MENDED: list[tuple[str, list[dict[str, Any]], float, str, dict[str, Any]]] = [
    ("top/pocket-floor", [PLATE | {"depth": 20}], 40.0, "Make it 13 mm deep: 27 mm stays.", {"depth": 13}),
    ("top/insert-cover", [BOLT | {"depth": 35}, PLATE], 45.0, "Drill it 29 mm deep: 8 mm stays.", {"depth": 29}),
    (
        "top/insert-cover",
        [BOLT | {"outer_length": 34, "depth": 35}, PLATE],
        45.0,
        "Use an insert of at most 29 mm and drill it as deep: 8 mm stays.",
        {"depth": 29, "outer_length": 29},
    ),
    (
        "top/near-edge",
        [HOLE | {"across": 370}],
        50.0,
        "Move 'hole' 10 mm towards the near edge: across = 360 mm from the centre line.",
        {"across": 360},
    ),
    (
        "top/outside",
        [OUT | {"across": 10}],
        50.0,
        "Move 'out' 55 mm towards the near edge: 65 mm from the far edge.",
        {"across": 65},
    ),
    (
        "top/channel-crosses-itself",
        [LOOP],
        50.0,
        "Leave out corners 2 and 3 and 4 of its path: it then runs clear.",
        {"path": [(100, 0), (300, -200)]},
    ),
    ("top/cable-too-thick", [THICK], 50.0, "Make the channel 20 mm wide and 18 mm deep.", {"depth": 18}),
    (
        "top/outside-plate",
        [BOLT | {"across": -260}, PLATE],
        50.0,
        "Move 'bolt' under its plate: across = -244 mm from 'plate'.",
        {"across": -244},
    ),
]


@pytest.mark.parametrize(("code", "features", "thickness", "remedy", "mended"), MENDED)
def test_doing_what_the_remedy_says_mends_it(
    code: str, features: list[dict[str, Any]], thickness: float, remedy: str, mended: dict[str, Any]
) -> None:
    assert told(*features, thickness=thickness)[code].remedy == remedy
    assert code not in told(features[0] | mended, *features[1:], thickness=thickness)


def test_a_hole_that_can_be_no_shallower_wants_a_shallower_pocket_or_a_thicker_top() -> None:
    shallow = BOLT | {"depth": 12, "engagement": 9}
    found = told(PLATE | {"depth": 10}, shallow, thickness=28.0)["top/insert-cover"]
    assert found.remedy == "Make the pocket 'plate' 8 mm deep: 8 mm stays."
    assert "top/insert-cover" not in told(PLATE | {"depth": 8}, shallow, thickness=28.0)
    thin = told(KEY | {"depth": 4}, thickness=12.0)["top/key-floor"]
    assert thin.remedy.startswith("As stated it wants a top of 19 mm")
    assert told(KEY | {"depth": 4}, thickness=19.0) == {}


def test_a_wider_radius_mends_the_bend_and_half_a_millimetre_less_would_not() -> None:
    features = CABLE | {"cable_diameter": 8, "cable_bend": 60}
    remedy = told(features)["top/cable-bend"].remedy
    assert remedy == "Round the channel's corners: corner_radius = 30 mm."
    assert "top/cable-bend" not in told(features | {"corner_radius": 30})
    assert "top/cable-bend" in told(features | {"corner_radius": 29})


def test_a_plate_moves_with_what_lies_in_it() -> None:
    loose = BOLT | {"along_from": "left end", "along": 300, "across_from": "centre line"}
    features = [PLATE, loose, HOLE | {"along_from": "left end", "along": 245, "across": 100}]
    tried = trial(*features)
    move = tried.free_place("plate")
    assert move is not None and move.changes["plate"]["along"] == 326 and move.changes["bolt"]["along"] == 326
    assert "(bolt)" in move.words and "326 mm from the left end" in move.words
    assert tried.changed(move.changes).named("bolt").lies_in == "plate"


def test_what_is_joined_stays_joined() -> None:
    tried = trial(
        OUT | {"along": 1000}, CABLE | {"path": [[600, 300], [1000, 300]]}, HOLE | {"along": 0, "across": 250}
    )
    assert ("cable", "out") in tried.layout.meant
    move = tried.free_place("out")
    assert move is None or ("cable", "out") in tried.changed(move.changes).meant


@pytest.mark.parametrize("units", ["metric", "inch"])
@pytest.mark.parametrize("origin", ["left end", "right end", "middle"])
def test_no_nearer_place_in_any_direction_is_free(units: Units, origin: str) -> None:
    along = {"left end": 1030.3, "right end": 969.7, "middle": 30.3}[origin]
    moved = HOLE | {"name": "a", "along_from": origin, "along": along, "across": 8.2}
    tried = trial(moved, HOLE | {"name": "b"}, HOLE | {"name": "c", "along": 90}, units=units)
    move = tried.free_place("a")
    assert move is not None
    step = step_of(units)
    key, value = next(iter(move.changes["a"].items()))
    assert value / step == pytest.approx(round(value / step))
    sign = -1 if origin == "right end" else 1
    for dx, dy in DIRECTIONS:
        for length in [step / 3 * count for count in range(1, int((move.distance - step) * 3 / step))]:
            change = {"along": along + sign * dx * length} if dx else {"across": 8.2 + dy * length}
            assert not tried.holds({"a": change}, None, frozenset({"a"})), (key, change)


def test_a_shallower_cut_is_offered_where_faces_are_opposite() -> None:
    found = told(KEY | {"along": -700, "depth": 14}, PLATE, BOLT | {"depth": 24, "across": 0})
    assert "14.5 mm deep" not in found["top/too-close"].remedy
    assert "'bolt' 16 mm deep" in found["top/too-close"].remedy
    assert "top/too-close" not in told(KEY | {"along": -700, "depth": 14}, PLATE, BOLT | {"depth": 16, "across": 0})


def test_no_free_place_is_told_as_such() -> None:
    crowd = [
        HOLE | {"name": f"h{x}-{y}", "along": x, "across": y} for x in range(-60, 61, 30) for y in range(-60, 61, 30)
    ]
    found = told(*crowd, outline=Polygon([(0, -90), (180, -90), (180, 90), (0, 90)]), clearances={"edge": 5})
    assert "No free place was found" in found["top/too-close"].remedy


def test_a_hopeless_crowd_is_answered_soon() -> None:
    crowd = [HOLE | {"name": f"h{number}", "along": number % 12, "across": number // 12} for number in range(120)]
    tried = trial(*crowd)
    found = clearances(tried.layout)
    remedies = [one.remedy for one in layout_findings(tried.layout, found, "metric")]
    assert len(remedies) == len([one for one in found if not one.holds])
    assert remedies[-1].startswith("Mend the problems above first") and not remedies[0].startswith("Mend")


def test_the_job_may_state_its_own_rules() -> None:
    near = HOLE | {"across": 370}
    assert told(near)["top/near-edge"].source == "common practice"
    assert told(near, clearances={"edge": 15}) == {}
    assert told(near, clearances={"edge": 20})["top/near-edge"].source == "as the job states it"
    assert [told(near, clearances={"edge": edge})["top/near-edge"].severity for edge in (20, 40)] == ["caution", "stop"]


def test_bolt_ends_are_measured_and_told_elsewhere() -> None:
    short = BOLT | {"depth": 12}
    assert measured(rule.BOLT_END, PLATE, short).distance == 2.0
    assert not measured(rule.BOLT_END, PLATE, short).holds
    assert told(PLATE, short) == {}
