"""Templates for a hand-held router: what the guide follows, and what the bit leaves."""

import math
from typing import Any

import pytest
import shapely
from pydantic import ValidationError
from shapely import Point, Polygon, box

from slabwright.geometry.arcs import inside_corner_radii, sides
from slabwright.job.shop_models import Router
from slabwright.job.top_models import Feature, Insert, Key, Pocket
from slabwright.top.slots import PocketRoom
from slabwright.top.templates import (
    NoTemplateError,
    depth_steps,
    pocket_fitting,
    template,
    template_findings,
    templates_for,
)

ROUTER = Router(bit_diameter=12.0, bushing_diameter=24.0, base_diameter=150.0)


def room(along: float = 3.175, near: float = 1.0, far: float = 3.0) -> PocketRoom:
    return PocketRoom("left", near, far, along, 400.0 + 2 * along, 120.0 + near + far, (far - near) / 2)


def plate_pocket(**changes: Any) -> Pocket:
    return Pocket(**{"kind": "pocket", "name": "left", "length": 400, "width": 120, "depth": 14} | changes)


def test_the_template_is_half_the_difference_of_bushing_and_bit_outside_the_pocket() -> None:
    made = template(box(100.0, -60.0, 500.0, 60.0), ROUTER, depth=14.0)
    assert made.offset == 6.0
    assert (made.opening_length, made.opening_width) == pytest.approx((412.0, 132.0), abs=1e-6)
    assert (made.middle_along, made.middle_across) == pytest.approx((300.0, 0.0), abs=1e-6)
    assert made.corner_radius == pytest.approx(12.0, abs=1e-3)
    assert made.cut_corner_radius == pytest.approx(6.0, abs=1e-3)


def test_a_bearing_bit_follows_the_pocket_itself() -> None:
    made = template(box(0.0, 0.0, 400.0, 120.0), Router(bit_diameter=12.0, bearing=True), depth=14.0)
    assert made.offset == 0.0
    assert made.opening.symmetric_difference(made.cut).area < 0.01
    assert made.corner_radius == pytest.approx(6.0, abs=1e-3)


@pytest.mark.parametrize("radius", [0.0, 6.0, 9.0, 25.0])
def test_a_bushing_that_runs_round_the_template_cuts_the_pocket(radius: float) -> None:
    """Rolled by hand: a guide kept inside the template has its middle where a disc of its size fits; the bit cuts round it."""
    sharp = box(0.0, 0.0, 300.0, 100.0)
    opening = sharp.buffer(-radius, join_style="mitre").buffer(radius, quad_segs=64) if radius else sharp
    made = template(opening, ROUTER, depth=10.0)
    path = made.opening.buffer(-12.0, quad_segs=64)
    assert path.buffer(6.0, quad_segs=64).symmetric_difference(made.cut).area < 0.5
    corners = 4.0 * (1.0 - math.pi / 4.0) * 36.0 if radius < 6.0 else 0.0
    assert opening.area - made.cut.area == pytest.approx(corners, abs=0.5)
    assert made.cut_corner_radius == pytest.approx(max(radius, 6.0), abs=0.01)


def test_a_corner_that_does_not_enter_is_chiselled_by_what_geometry_says() -> None:
    """Two arcs in a square corner: radii 6 and 3 are (sqrt 2 - 1) 3 apart on the diagonal."""
    made = template(box(0.0, 0.0, 400.0, 120.0), ROUTER, depth=14.0, plate_corner_radius=3.0)
    assert made.plate_enters is False
    assert made.chisel == pytest.approx((math.sqrt(2.0) - 1.0) * 3.0, abs=1e-3)
    assert made.bit_most == pytest.approx(6.0, abs=0.05)
    told = [f for f in template_findings(made, ROUTER) if f.code == "top/template-corners"]
    assert "1.24 mm" in told[0].message
    assert "at most 6.0 mm" in told[0].remedy


def test_the_smaller_bit_that_is_offered_lets_the_plate_in() -> None:
    opening = box(0.0, 0.0, 400.0, 120.0)
    most = template(opening, ROUTER, depth=14.0, plate_corner_radius=4.0).bit_most
    assert most is not None
    mended = Router(bit_diameter=math.floor(most * 10.0) / 10.0, bushing_diameter=24.0)
    assert template(opening, mended, depth=14.0, plate_corner_radius=4.0).plate_enters
    assert not template(opening, Router(bit_diameter=most + 0.2), depth=14.0, plate_corner_radius=4.0).plate_enters


def test_a_plate_as_round_as_the_bit_enters() -> None:
    made = template(box(0.0, 0.0, 400.0, 120.0), ROUTER, depth=14.0, plate_corner_radius=6.0)
    assert made.plate_enters
    assert made.chisel == 0.0
    assert not [f for f in template_findings(made, ROUTER) if f.code == "top/template-corners"]


def test_room_round_the_plate_counts_but_not_what_the_wood_takes_in_the_course_of_a_year() -> None:
    """Sharp corner, bit of 12: it stands off the corner's arc by sqrt((6 - gx)^2 + (6 - gy)^2) - 6."""
    open_, plate = pocket_fitting(plate_pocket(), (500.0, 0.0), room(2.0, 2.0, 2.0), slack=2.0)
    made = template(open_, ROUTER, depth=14.0, plate=plate)
    assert made.plate_enters  # 4 sqrt 2 is less than 6
    open_, plate = pocket_fitting(plate_pocket(), (500.0, 0.0), room(2.0, 2.0, 2.0), slack=0.5)
    made = template(open_, ROUTER, depth=14.0, plate=plate)
    assert made.chisel == pytest.approx(math.hypot(4.0, 5.5) - 6.0, abs=1e-3)


def test_a_pocket_reaches_further_where_it_has_more_room() -> None:
    fitting = pocket_fitting(plate_pocket(), (500.0, 10.0), room(3.0, 1.0, 4.0))
    assert fitting.opening.bounds == (297.0, -51.0, 703.0, 74.0)


def test_steps_are_even_at_most_the_greatest_and_the_last_is_thin() -> None:
    assert depth_steps(14.0, 6.0, 1.0) == pytest.approx((13.0 / 3, 26.0 / 3, 13.0, 14.0))
    assert depth_steps(13.0, 6.0, 1.0) == pytest.approx((6.0, 12.0, 13.0))
    assert depth_steps(0.8, 6.0, 1.0) == (0.8,)
    with pytest.raises(NoTemplateError, match="more than nothing"):
        depth_steps(-1.0, 6.0, 1.0)


def test_the_rim_keeps_clamps_out_of_the_bases_reach() -> None:
    made = template(box(0.0, 0.0, 400.0, 120.0), ROUTER, depth=14.0)
    reached = made.opening.buffer(-12.0).buffer(75.0)
    x0, y0, x1, y1 = reached.bounds
    rim = made.outer.bounds
    assert min(x0 - rim[0], y0 - rim[1], rim[2] - x1, rim[3] - y1) >= made.clamp_room - 1e-6
    assert made.outer_length % 5.0 == 0.0


def test_a_base_of_the_least_size_rests_on_both_sides_wherever_the_guide_is() -> None:
    made = template(box(0.0, 0.0, 400.0, 120.0), ROUTER, depth=14.0)
    path = made.opening.buffer(-12.0)
    wood = made.outer.difference(made.opening)
    for x, y in shapely.get_coordinates(path):
        at = Point(x, y)
        under = at.buffer(made.base_least / 2.0).intersection(wood)
        assert under.convex_hull.contains(at)
    assert made.base_least == pytest.approx(2.0 * (132.0 - 12.0 + 10.0))
    assert [f.code for f in template_findings(made, ROUTER)] == ["top/template-base"]


def test_diagonals_are_those_of_the_shape() -> None:
    made = template(box(0.0, 0.0, 400.0, 120.0), ROUTER, depth=14.0)
    lengths = {check.what: check.length for check in made.checks}
    clear = math.hypot(412.0 - 24.0, 132.0 - 24.0) + 24.0
    assert lengths["opening, corner to corner, both ways"] == pytest.approx(clear, abs=0.02)
    assert lengths["rim, corner to corner, both ways"] == math.hypot(made.outer_length, made.outer_width)


def test_thin_sheets_and_short_bits_stop() -> None:
    made = template(box(0, 0, 60, 40), Router(template_thickness=6.0, bit_reach=18.0), depth=14.0)
    told = {f.code: f for f in template_findings(made, Router(template_thickness=6.0, bit_reach=18.0))}
    assert told["top/template-thin"].severity == told["top/template-reach"].severity == "stop"
    assert "9 mm" in told["top/template-thin"].remedy
    assert "20 mm" in told["top/template-reach"].message


def test_a_bearing_must_touch_the_template_at_the_first_step() -> None:
    router = Router(bearing=True, flute_length=25.0, template_thickness=12.0)
    made = template(box(0, 0, 60, 40), router, depth=13.0)
    assert made.steps[0] == 6.0
    assert made.thickness_least == 25.0 - 6.0 + 3.0
    assert "top/template-thin" in {f.code for f in template_findings(made, router)}


@pytest.mark.parametrize(
    "opening",
    [
        box(0, 0, 100, 11),
        box(0, 0, 40, 40).union(box(40, 15, 60, 25)).union(box(60, 0, 100, 40)),
        Polygon(),
        Polygon([(0, 0), (50, 50), (50, 0), (0, 50)]),
        box(0, 0, 100, 100).difference(box(40, 40, 60, 60)),
    ],
    ids=["narrow", "narrow place", "empty", "crosses itself", "island"],
)
def test_what_no_template_cuts_is_refused(opening: Polygon) -> None:
    with pytest.raises(NoTemplateError):
        template(opening, ROUTER, depth=14.0)


@pytest.mark.parametrize("radius", [-1.0, math.nan, 61.0])
def test_impossible_corners_are_refused(radius: float) -> None:
    with pytest.raises(NoTemplateError, match="corner"):
        template(box(0, 0, 400, 120), ROUTER, depth=14.0, plate_corner_radius=radius)


@pytest.mark.parametrize(
    ("stated", "says"),
    [
        ({"bearing": True, "bushing_diameter": 20}, "not both"),
        ({"bit_diameter": 24}, "more than bit_diameter"),
        ({"base_diameter": 20}, "base_diameter"),
        ({"last_depth": 7}, "greatest_depth"),
        ({"bit_diameter": -3}, "more than 0"),
    ],
)
def test_a_router_that_cannot_be_is_refused(stated: dict[str, Any], says: str) -> None:
    with pytest.raises(ValidationError, match=says):
        Router(**stated)


def test_each_pocket_and_key_gets_a_template_and_what_cannot_have_one_is_told() -> None:
    features: list[Feature] = [
        plate_pocket(corner_radius=6.0),
        Key(kind="key", name="bow tie", length=90, width=40, waist=24, depth=12),
        Key(kind="key", name="tiny", length=30, width=12, waist=6, depth=12),
        Insert(kind="insert", name="bolt", drill=10, depth=20),
    ]
    places = {"left": (500.0, 0.0), "bow tie": (900.0, 20.0), "tiny": (1000.0, 0.0), "bolt": (450.0, 0.0)}
    made, found = templates_for(features, places, [room()], ROUTER, slack=0.65)
    assert [one.name for one in made] == ["left", "bow tie"]
    assert made[0].plate_enters
    assert (made[1].cut_length, made[1].cut_width) == pytest.approx((40.0, 90.0), abs=3.0)
    assert made[1].plate_enters is False
    assert made[1].face == "show"
    assert next(f for f in found if f.code == "top/no-template").message.startswith("tiny:")


def test_round_corners_are_found_again_as_arcs() -> None:
    shape = box(0.0, 0.0, 100.0, 50.0).buffer(8.0, quad_segs=64)
    arcs = [side for side in sides(shape) if side.sweep]
    assert [side.radius for side in arcs] == pytest.approx([8.0] * 4, abs=1e-6)
    assert [side.sweep for side in arcs] == pytest.approx([math.pi / 2] * 4, abs=1e-6)
    assert len(sides(shape)) == 8
    assert inside_corner_radii(shape)[0] == pytest.approx(8.0)


def test_a_circle_is_arcs_and_a_live_edge_stays_as_it_was_drawn() -> None:
    circle = sides(Point(3.0, 4.0).buffer(20.0, quad_segs=64))
    assert sum(side.sweep for side in circle) == pytest.approx(2.0 * math.pi)
    ring = [(0.0, 0.0), (500.0, 0.0), *((500.0 - 10.0 * k, 200.0 + 7.0 * math.sin(1.7 * k)) for k in range(51))]
    assert [side.start for side in sides(Polygon(ring))] != []
    assert len(sides(Polygon(ring))) == len(Polygon(ring).exterior.coords) - 1
