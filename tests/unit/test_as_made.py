"""Pockets, slots and bolts follow the plates as they were made."""

from __future__ import annotations

import math
from typing import Any

import pytest
from pydantic import ValidationError
from shapely import Polygon, affinity, box

from slabwright.findings import SlabwrightError
from slabwright.job.plate_models import HoleAsMade, PlateAsMade
from slabwright.job.top_models import Clearances, Feature, Insert, Pocket
from slabwright.reference.wood import species
from slabwright.top.as_made import (
    as_made_features,
    as_made_findings,
    follow_as_made,
    outgrown_by_skew,
    plate_as_pocket,
)
from slabwright.top.movement import MoistureRange, movement
from slabwright.top.rings import RingPattern
from slabwright.top.slots import pocket_room, slot_plan

POCKET = Pocket(kind="pocket", name="plate", length=100.0, width=600.0, depth=8.0)
ABOUT = movement(900.0, 50.0, species("ash, white"), 9.0, MoistureRange(6.5, 11.0), RingPattern(0.0, None, 15.0))
CLEAR = Clearances()
AT = {"plate": (300.0, 0.0), "near": (300.0, -250.0), "middle": (300.0, 0.0), "far": (300.0, 250.0)}


def insert(name: str, **more: Any) -> Insert:
    return Insert(
        **{"kind": "insert", "name": name, "drill": 12.0, "depth": 25.0, "plate": "plate", "plate_thickness": 8.0}
        | more
    )


FEATURES: list[Feature] = [POCKET, insert("near"), insert("middle", fixed=True), insert("far")]


def made(**stated: Any) -> PlateAsMade:
    return PlateAsMade(**{"plate": "plate", "error": 0.0, "painted": False} | stated)


def test_a_larger_plate_gets_a_larger_opening_by_just_as_much() -> None:
    planned = pocket_room(POCKET, AT["plate"], AT["middle"], ABOUT, CLEAR)
    plate = made(length=102.0, width=604.0, thickness=8.5, bow=0.4)
    grown = pocket_room(plate_as_pocket(POCKET, plate), AT["plate"], AT["middle"], ABOUT, CLEAR)
    followed = follow_as_made(POCKET, plate, AT["plate"], grown, planned_thickness=8.0)
    x0, y0, x1, y1 = followed.opening.bounds
    assert x1 - x0 == pytest.approx(planned.opening_length + 2.0, abs=0.01)
    assert y1 - y0 == pytest.approx(planned.opening_width + 4.0, abs=0.1)
    assert followed.depth == pytest.approx(8.0 + 0.5 + 0.4)
    assert followed.longer_bolts == pytest.approx(0.5)


def test_the_error_of_measuring_is_room_on_every_side() -> None:
    grown = plate_as_pocket(POCKET, made(error=0.3))
    assert (grown.length, grown.width) == pytest.approx((100.6, 600.6))


@pytest.mark.parametrize("degrees", [0.05, 0.3, 1.0])
def test_a_plate_out_of_square_fits_the_box_that_it_is_given(degrees: float) -> None:
    """A parallelogram with its diagonals measured, turned by half of what it is out of square."""
    skew = math.radians(degrees)
    corners = [(0.0, 0.0), (600.0, 0.0), (600.0 + 100.0 * math.sin(skew), 100.0 * math.cos(skew))]
    corners.append((100.0 * math.sin(skew), 100.0 * math.cos(skew)))
    shape = Polygon(corners)
    differ = abs(math.dist(corners[0], corners[2]) - math.dist(corners[1], corners[3]))
    longer, wider = outgrown_by_skew(600.0, 100.0, differ)
    x0, y0, x1, y1 = affinity.rotate(shape, degrees / 2.0).bounds
    assert 600.0 + longer == pytest.approx(x1 - x0, abs=0.03)
    assert 100.0 + wider == pytest.approx(y1 - y0, abs=0.03)
    assert wider > 0.0


def test_a_bolt_stands_where_the_slot_that_was_made_wants_it() -> None:
    planned = slot_plan(FEATURES, AT, ABOUT, CLEAR)
    plate = made(thickness=9.0, holes=[HoleAsMade(insert="far", along=1.5, across=252.0)])
    followed = as_made_features(FEATURES, AT, planned, [plate])
    shift = next(slot.shift for slot in planned.slots if slot.name == "far")
    assert shift != 0.0
    assert followed.positions["far"] == pytest.approx((301.5, 252.0 - shift))
    assert followed.positions["near"] == AT["near"]
    asked = slot_plan(followed.features, followed.positions, ABOUT, CLEAR)
    far = next(slot for slot in asked.slots if slot.name == "far")
    assert far.across + far.shift == pytest.approx(252.0, abs=0.3)
    thick = [f.plate_thickness for f in followed.features if isinstance(f, Insert)]
    assert thick == [9.0, 9.0, 9.0]
    depth = next(f.depth for f in followed.features if isinstance(f, Pocket))
    assert depth == pytest.approx(9.0)


def test_a_plate_marked_through_leaves_its_holes_to_the_hand() -> None:
    planned = slot_plan(FEATURES, AT, ABOUT, CLEAR)
    plate = made(way="marked through", holes=[HoleAsMade(insert="middle", along=0.5, across=0.0)])
    followed = as_made_features(FEATURES, AT, planned, [plate])
    assert followed.by_hand == ("near", "far")
    assert followed.positions["middle"] == (300.5, 0.0)
    measured = as_made_features(FEATURES, AT, planned, [made()])
    assert measured.by_hand == ()


def test_what_was_not_measured_stays_as_planned() -> None:
    followed = as_made_features(FEATURES, AT, slot_plan(FEATURES, AT, ABOUT, CLEAR), [made()])
    assert list(followed.features) == FEATURES
    assert followed.positions == AT


def test_a_slot_that_came_out_short_stops_with_what_to_file() -> None:
    asked = slot_plan(FEATURES, AT, ABOUT, CLEAR)
    far = next(slot for slot in asked.slots if slot.name == "far")
    hole = HoleAsMade(insert="far", along=0, across=250, length=far.length - 2.0, width=far.width)
    told = as_made_findings([made(holes=[hole])], asked)
    assert [(f.code, f.severity) for f in told] == [("top/slot-as-made", "stop")]
    assert "File it 2 mm more" in told[0].remedy
    fits = hole.model_copy(update={"length": far.length})
    assert not as_made_findings([made(holes=[fits])], asked)


def test_a_bowed_plate_is_told() -> None:
    told = as_made_findings([made(bow=1.6)], slot_plan(FEATURES, AT, ABOUT, CLEAR))
    assert [f.code for f in told] == ["top/plate-bowed"]
    assert "1.6 mm" in told[0].message


@pytest.mark.parametrize(
    ("plates", "says"),
    [
        ([made(plate="nowhere")], "no pocket 'nowhere'"),
        ([made(), made()], "twice"),
        ([made(holes=[HoleAsMade(insert="x", along=0, across=0)])], "'x'"),
        ([made(length=10.0)], "measure it again"),
    ],
)
def test_slips_are_refused_with_their_place(plates: list[PlateAsMade], says: str) -> None:
    with pytest.raises(SlabwrightError, match=says):
        as_made_features(FEATURES, AT, slot_plan(FEATURES, AT, ABOUT, CLEAR), plates)


def test_a_hole_is_stated_once() -> None:
    hole = HoleAsMade(insert="far", along=0, across=0)
    with pytest.raises(ValidationError, match="state each once"):
        made(holes=[hole, hole])


def test_another_pockets_plate_is_refused() -> None:
    room = pocket_room(POCKET, AT["plate"], AT["middle"], ABOUT, CLEAR)
    with pytest.raises(SlabwrightError, match="not for the pocket"):
        follow_as_made(POCKET, made(plate="other"), AT["plate"], room)
    assert box(0, 0, 1, 1).within(follow_as_made(POCKET, made(), (0.0, 0.0), room).opening)


def test_paint_that_was_measured_with_the_plate_is_not_counted_twice() -> None:
    bare = plate_as_pocket(POCKET, made(length=101.0, width=601.0))
    over_paint = plate_as_pocket(POCKET, made(length=101.3, width=601.3, painted=True), paint=0.15)
    assert (over_paint.length, over_paint.width) == pytest.approx((bare.length, bare.width))
    asked = slot_plan(FEATURES, AT, ABOUT, CLEAR)
    far = next(slot for slot in asked.slots if slot.name == "far")
    hole = HoleAsMade(insert="far", along=0, across=250, length=far.length - 0.3, width=far.width - 0.3)
    assert not as_made_findings([made(holes=[hole], painted=True)], asked, paint=0.15)
    assert as_made_findings([made(holes=[hole])], asked, paint=0.15)
