"""The way in: what goes through, how, what comes off, and what is told where it does not go."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from bench.route import door_case, half_turn_case, landing_case, quarter_turn_case
from pydantic import ValidationError
from shapely import Polygon, box

from slabwright.accounts import as_plain
from slabwright.base.stability import base_structure
from slabwright.base.stiffness import TopOn
from slabwright.carry.route import way_in
from slabwright.carry.route_pieces import Apart, Pieces, Solid, block, table_pieces
from slabwright.carry.route_steps import ways_through
from slabwright.findings import SlabwrightError
from slabwright.geometry.bands import Shape
from slabwright.geometry.passing import widest_way
from slabwright.job.base_models import Base, BaseKind
from slabwright.job.carry_models import Delivery, DoorStep
from slabwright.job.load import load_job

TOP = (-1100.0, -450.0, 685.0, 1100.0, 450.0, 740.0)
LEGS = ((-790.0, -315.0, 0.0, -730.0, 315.0, 685.0), (730.0, -315.0, 0.0, 790.0, 315.0, 685.0))
PARTS = (Solid("the top", (TOP,), 65.0), Solid("leg frame 1", LEGS[:1], 15.0), Solid("leg frame 2", LEGS[1:], 15.0))
TABLE = Pieces(Solid("the table", (TOP, *LEGS), 95.0), (Apart("the top off the leg frames", PARTS),))
VAN = {"kind": "van", "width": 1400, "height": 1350, "floor_length": 2600}
DOOR = {"kind": "door", "width": 880, "height": 2000}
CORNER = {"kind": "corner", "before": 1150, "after": 1250, "height": 2400}
STAIRS = {"kind": "stairs", "width": 1000, "headroom": 2050, "rise": 175, "going": 270}
LIFT = {"kind": "lift", "door_width": 1000, "door_height": 2100, "width": 1200, "depth": 2400, "height": 2200}


def stated(*steps: dict[str, Any], **more: Any) -> Delivery:
    return Delivery.model_validate({"steps": list(steps), **more}, context={"units": "metric"})


def bare(*steps: dict[str, Any], **more: Any) -> Delivery:
    return stated(*steps, hand_room=0, padding=0, **more)


def test_no_step_no_margin() -> None:
    found, told = way_in(stated(), TABLE, "metric")
    assert found.margin is None and found.passages == () and told == ()


def test_a_straight_door_leaves_half_of_what_is_wider() -> None:
    found, _ = way_in(bare(DOOR), Pieces(block("a chest", 1500.0, 600.0, 500.0, 60.0)), "metric")
    # 880 - 500 on its long edge is 380 across, and 2000 - 600 over it.
    assert found.margin == pytest.approx((880.0 - 500.0) / 2)
    way = found.passages[0].ways[0]
    assert way.held == "on its long edge"
    # Flat there is room enough, and it is easier to carry: that is drawn.
    assert way.attitude == "flat" and way.margin == pytest.approx((880.0 - 600.0) / 2)


def test_a_hard_way_is_told_up_to_comfortable_room() -> None:
    narrow, _ = way_in(stated({**DOOR, "width": 730}, hand_room=20), TABLE, "metric")
    (way,) = narrow.passages[0].ways
    assert way.tightest == "turn" and way.or_more and narrow.or_more
    assert narrow.margin == pytest.approx(20.0)
    straight, _ = way_in(stated({**DOOR, "width": 900}, hand_room=20), TABLE, "metric")
    assert not straight.or_more and straight.margin == pytest.approx((900.0 - 740.0) / 2 - 26.0)


def test_hands_and_padding_are_taken_off_each_side() -> None:
    chest = Pieces(block("a chest", 1500.0, 600.0, 500.0, 60.0))
    free, _ = way_in(bare(DOOR), chest, "metric")
    held, _ = way_in(stated(DOOR, hand_room=30, padding=6), chest, "metric")
    assert free.margin is not None and held.margin == pytest.approx(free.margin - 36.0)


def test_the_least_of_the_passages_is_the_margin() -> None:
    found, _ = way_in(stated(VAN, DOOR, CORNER), TABLE, "metric")
    assert found.margin == min(passage.margin for passage in found.passages)
    assert found.tightest == "door" and found.carried == "whole"
    assert [passage.kind for passage in found.passages] == ["van", "door", "corner"]


def test_the_top_comes_off_where_the_whole_does_not_go_through() -> None:
    narrow = {"kind": "corner", "before": 740, "after": 740, "height": 2300, "name": "back passage"}
    found, told = way_in(stated(VAN, narrow), TABLE, "metric")
    assert found.carried == "the top off the leg frames"
    assert found.stops_whole == ("back passage",)
    assert found.margin is not None and found.margin > 0.0
    assert [finding.code for finding in told][:1] == ["carry/taken-apart"]
    # Never: it is told as a stop, and no part comes off.
    kept, refused = way_in(stated(VAN, narrow, apart="never"), TABLE, "metric")
    assert kept.carried == "whole" and refused[-1].severity == "stop"


def test_a_remedy_is_one_that_was_tried() -> None:
    narrow = {"kind": "corner", "before": 740, "after": 740, "height": 2300, "name": "back passage"}
    found, _ = way_in(stated(narrow, apart="always"), TABLE, "metric")
    whole, told = way_in(stated(narrow, apart="never"), TABLE, "metric")
    assert found.margin is not None and found.margin > 0.0 > (whole.margin or 0.0)
    lacking = next(finding for finding in told if finding.severity == "stop")
    told_more = re.search(r"every clear size of it (\d+) mm more", whole.passages[0].helps[-1])
    assert told_more and "on each side" in lacking.message and "clear size" in lacking.remedy
    more = float(told_more[1])
    again, _ = way_in(
        stated({**narrow, "before": 740 + more, "after": 740 + more, "height": 2300 + more}, apart="never"),
        TABLE,
        "metric",
    )
    assert again.margin is not None and again.margin >= 0.0


def test_without_hands_it_may_still_be_slid_through() -> None:
    door = {**DOOR, "width": 780}
    found, told = way_in(stated({**door, "height": 560}), Pieces(block("a chest", 900.0, 720.0, 500.0, 60.0)), "metric")
    assert found.margin is not None and -30.0 < found.margin < 0.0
    assert told[0].code == "carry/no-hand-room" and "slid on blankets" in told[0].remedy


def test_legs_are_hooked_round_the_jamb_of_a_door_that_is_too_narrow_for_a_straight_way() -> None:
    door = {**DOOR, "width": 650, "depth": 120}
    found, _ = way_in(bare(door), TABLE, "metric")
    # On its long edge it is 740 across over all; only turned on its way does it get through.
    way = found.passages[0].ways[0]
    assert found.margin is not None and found.margin > 0.0
    assert way.attitude == "on its long edge" and way.tightest == "turn"
    assert np.ptp([pose.turn for pose in way.poses]) > 20.0


def test_a_long_top_is_leaned_to_get_under_a_lintel() -> None:
    """Out of a narrow corridor, where it can't be turned level, it goes through on end, leaned."""
    door = {**DOOR, "width": 700, "before": 600}
    board = Pieces(block("a board", 2150.0, 620.0, 160.0, 40.0))
    level, _ = way_in(bare(door), board, "metric")
    leaned, _ = way_in(bare({**door, "ceiling": 2500}), board, "metric")
    assert (level.margin or 0.0) < 0.0 < (leaned.margin or 0.0)
    way = leaned.passages[0].ways[0]
    assert way.view == "section" and way.attitude == "tilted"


def test_a_lift_holds_all_of_it() -> None:
    long = Pieces(block("a board", 2300.0, 300.0, 40.0, 20.0))
    deep, _ = way_in(bare(LIFT), long, "metric")
    shallow, told = way_in(bare({**LIFT, "depth": 500, "height": 2150}), long, "metric")
    assert deep.margin is not None and deep.margin > 20.0
    assert (shallow.margin or 0.0) < 0.0 and told[-1].severity == "stop"


def test_stairs_tell_flight_and_landing() -> None:
    found, _ = way_in(stated({**STAIRS, "turn": 90, "landing": 1050, "landing_headroom": 2600}), TABLE, "metric")
    ways = found.passages[0].ways
    assert [way.place for way in ways] == ["flight", "landing"]
    # Of the flight: width less its 740, headroom square to the slope less its 900.
    clear = 2050 * math.cos(math.atan2(175, 270))
    assert ways[0].margin == pytest.approx(min((1000 - 740) / 2, (clear - 900) / 2) - 36.0)


def test_a_half_turn_wants_more_than_a_quarter() -> None:
    turn = {**STAIRS, "landing": 1100, "landing_headroom": 2600}
    quarter, _ = way_in(bare({**turn, "turn": 90}, apart="always"), TABLE, "metric")
    half, _ = way_in(bare({**turn, "turn": 180, "well": 100}, apart="always"), TABLE, "metric")
    assert quarter.margin is not None and half.margin is not None
    assert half.margin <= quarter.margin


@pytest.mark.parametrize("key", ["width", "before", "behind", "height"])
def test_a_wider_door_never_leaves_less(key: str) -> None:
    base = {"width": 700, "height": 1000, "before": 1000, "behind": 1200}
    rooms = []
    for more in (0, 40, 80):
        step = DoorStep.model_validate({"kind": "door", **base, key: base[key] + more}, context={"units": "metric"})
        rooms.append(ways_through(step, block("a chest", 1300.0, 500.0, 900.0, 60.0), 1000.0)[0].margin)
    # Each is told no more than a little too low.
    assert all(b >= a - 3.0 for a, b in pairwise(rooms))


def test_the_drawn_way_of_a_hooked_table_meets_no_wall() -> None:
    """Against polygons of another library, pose by pose and half-way between."""
    door = DoorStep(kind="door", width=700.0, height=2000.0, depth=150.0, before=1500.0)
    way = ways_through(door, TABLE.whole, 0.0)[0]
    assert way.margin > 0.0
    walls = shapely.union_all([
        box(-9e3, 0, 0, 150), box(700, 0, 9e3, 150), box(-9e3, -9e3, 9e3, -1500)
    ])  # fmt: skip
    rows = np.array([(pose.x, pose.y, math.radians(pose.turn)) for pose in way.poses])
    assert len(rows) > 5
    for x, y, turn in rows:
        shown = shapely.union_all([Polygon(c) for c in way.shape.corners(x, y, turn, way.margin)])
        assert shown.intersection(walls).area < 1.0
    assert rows[0, 1] < 0.0 and rows[-1, 1] > 150.0


@pytest.mark.parametrize(
    ("case", "seeds"),
    [
        (door_case, (3, 15, 20)),
        (landing_case, (6,)),
        (half_turn_case, (3, 13)),
        (quarter_turn_case, (4, 24, 29)),
    ],
)
def test_the_search_of_poses_says_the_same(case: Any, seeds: tuple[int, ...]) -> None:
    """A share of the bench: all three freedoms on a grid, found without our bands."""
    for seed in seeds:
        found = case(np.random.default_rng([11, seed]))
        assert found.goes is None or found.goes == (found.room >= 0.0), (seed, found)


def test_room_that_is_told_is_less_than_the_door_is_wide() -> None:
    shape = Shape.of(np.array([[0.0, 0.0, 900.0, 500.0]]))
    step = DoorStep(kind="door", width=560.0, height=2000.0, before=700.0)
    part = block("a chest", 900.0, 500.0, 1900.0, 60.0)
    assert ways_through(step, part, 0.0)[0].margin <= 30.0
    region = ways_through(step, part, 0.0)[0].region
    assert widest_way(region, shape, (-700.0, 0.0), (150.0, 9e3)).room <= 30.0


@pytest.mark.parametrize(
    ("step", "said"),
    [
        ({**DOOR, "width": 0}, "more than 0"),
        ({"kind": "van", "width": 1400, "floor_length": 2600}, "height"),
        ({**STAIRS, "turn": 90}, "landing"),
        ({**STAIRS, "turn": 45}, "0, 90 or 180"),
        ({**LIFT, "door_width": 1300}, "door_width"),
    ],
)
def test_a_passage_that_is_none_is_refused(step: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        stated(step)


def test_a_job_says_which_line_is_wrong(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text('[job]\ntitle = "T"\n\n[[delivery.steps]]\nkind = "door"\nwidth = 0\nheight = 2000\n', "utf-8")
    with pytest.raises(SlabwrightError, match=r"job.toml:6: delivery.steps\[0\].width: must be more than 0"):
        load_job(job)


def test_a_piece_without_a_size_is_refused() -> None:
    with pytest.raises(SlabwrightError, match="has no size"):
        block("nothing", 0.0, 500.0, 500.0, 1.0)


@pytest.mark.parametrize(
    ("kind", "apart"),
    [
        ("U legs", "the top off the leg frames"),
        ("closed loops", "the top off the leg frames"),
        ("four legs", "the top off the base"),
        ("trestles", "the top off the base"),
    ],
)
def test_a_table_comes_apart_where_its_base_is_bolted(kind: BaseKind, apart: str) -> None:
    top = TopOn(2200.0, 900.0, (44.0, 45.0, 46.0), 8.0, 620.0, 11_600.0, 0.55)
    base = base_structure(Base(), kind, 740.0, top)
    found = table_pieces(base)
    assert found.whole.size == pytest.approx((2200.0, 900.0, 740.0), abs=1.0)
    assert [way.how for way in found.apart] == ["the feet off", apart]
    assert found.apart[0].parts[0].size[2] == pytest.approx(740.0 - base.drawn.foot_length, abs=1.0)
    parts = found.apart[1].parts
    assert sum(part.mass for part in parts) == pytest.approx(found.whole.mass)
    assert parts[0].size == pytest.approx((2200.0, 900.0, 46.0), abs=2.0)
    # The steel ends under the top.
    assert all(part.size[2] <= base.height.even - 44.0 + 9.0 for part in parts[1:])


def test_it_can_be_written_to_a_file() -> None:
    found, _ = way_in(stated(VAN, DOOR), TABLE, "metric")
    plain = as_plain(found)
    assert plain["margin"] == pytest.approx(found.margin)
    assert plain["passages"][0]["ways"][0]["poses"][0].keys() == {"x", "y", "turn", "tilt"}


@pytest.mark.parametrize(
    ("units", "width", "said"), [("metric", 0.9, '"0.9 m" if metres'), ("inch", "0.9 in", '"36 in"')]
)
def test_a_door_in_metres_is_a_slip_of_the_unit(units: str, width: object, said: str) -> None:
    stated = {"steps": [{**DOOR, "width": width}]}
    with pytest.raises(ValidationError, match="narrower than any way in") as error:
        Delivery.model_validate(stated, context={"units": units})
    assert said in str(error.value)
