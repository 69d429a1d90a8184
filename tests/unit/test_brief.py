"""The brief against the piece."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.unit.priced_job import priced_job
from tests.unit.test_orders import worked_out

from slabwright.findings import Finding
from slabwright.job.brief_models import Brief
from slabwright.sheets.first_price_sheet import open_brief
from slabwright.shop.brief import brief_checks
from slabwright.shop.brief_places import Piece, places
from slabwright.shop.operations import PlanParts
from slabwright.shop.shop_plan import shop_plan


def told(brief: dict[str, Any], base: bool = False, thickness: float | None = None, **more: Any) -> dict[str, Finding]:
    _, said = brief_checks(priced_job(brief=brief, **more), thickness, worked_out().base if base else None)
    assert len({each.code for each in said}) == len(said)
    return {each.code: each for each in said}


def seats(length: float, width: float, between: float | None = None, **brief: Any) -> tuple[int, int]:
    found = places(Brief.model_validate(brief), Piece(length, width, 740.0, 45.0, between))
    assert found is not None
    return found.on_a_side, found.at_ends


@pytest.mark.parametrize(
    ("length", "width", "between", "brief", "expected"),
    [
        (1800.0, 900.0, None, {}, (3, 2)),
        (1799.0, 900.0, None, {}, (2, 2)),
        (1800.0, 700.0, None, {}, (3, 0)),
        (1800.0, 900.0, None, {"at_ends": False}, (3, 0)),
        (2400.0, 900.0, 1900.0, {}, (3, 2)),
        (3200.0, 900.0, 1900.0, {}, (5, 2)),  # one beyond each leg
        (2100.0, 900.0, None, {"chair_arms": 650}, (3, 2)),  # 700 mm each
        (2100.0, 900.0, None, {"chair_width": 720}, (2, 2)),
    ],
)
def test_places(
    length: float, width: float, between: float | None, brief: dict[str, Any], expected: tuple[int, int]
) -> None:
    assert seats(length, width, between, **brief) == expected


@given(st.floats(600, 6000), st.floats(400, 1500), st.floats(0, 1), st.floats(0, 900))
def test_a_longer_table_never_seats_fewer(length: float, width: float, share: float, more: float) -> None:
    between = share * length
    assert seats(length, width, between)[0] * 600 <= length + 1e-6
    assert seats(length + more, width, between + more)[0] >= seats(length, width, between)[0]


def test_too_few_places_and_what_gives_more() -> None:
    found = told({"seats": 12})
    assert "12 are to sit at it, and 8 find a place" in found["brief/seats"].message
    assert "3000 mm long gives 5" in found["brief/seats"].remedy
    assert "brief/seats" not in told({"seats": 8})


def test_legs_in_the_way() -> None:
    found = told({"seats": 8}, base=True)["brief/seats"]
    assert "Legs 1800 mm apart, clear, give 3 places" in found.remedy or "long gives" in found.remedy


def test_knees_thighs_arms() -> None:
    assert told({"knees": "650 mm", "chair_seat": "450 mm", "chair_arms": "660 mm"}, base=True) == {}
    found = told({"knees": "700 mm", "chair_seat": "500 mm", "chair_arms": "680 mm"}, base=True)
    assert "685 mm over the floor; 700 mm" in found["brief/knees"].message
    assert "185 mm" in found["brief/thighs"].message
    assert "knock against it" in found["brief/chair-arms"].message
    assert "at most 670 mm" in found["brief/chair-arms"].remedy


def test_a_thicker_board_takes_room() -> None:
    made, _ = brief_checks(priced_job(brief={"chair_arms": "660 mm"}), 60.0, None)
    assert made is not None and made.knee_room == 680.0 and made.arms_room == 20.0
    assert brief_checks(priced_job()) == (None, ())


def test_room_behind() -> None:
    assert "brief/room-behind" not in told({"behind": "800 mm"})
    found = told({"behind": "800 mm", "passage": True})["brief/room-behind"]
    assert "800 mm behind the edge; 1120 mm" in found.message
    assert "320 mm narrower" in found.remedy


def test_floor() -> None:
    assert "foot on a pad of 4 mm" in told({"floor_off": "12 mm"})["brief/floor"].remedy
    assert told({"floor_off": "6 mm"}) == {}
    assert told({"floor": "rug"})["brief/rug"].severity == "note"
    glides = {"feet": {"kind": "glides"}}
    _, said = brief_checks(priced_job(brief={"floor": "uneven"}, base=glides), None, worked_out().base)
    assert [each.code for each in said] == ["brief/floor"]


def test_sun_sockets_arms() -> None:
    assert told({"sun": "some"}) == {}
    assert "brief/sun" in told({"sun": "strong"})
    assert "900 mm longer" in told({"sockets": [{"distance": "2400 mm"}]})["brief/socket"].remedy
    assert told({"sockets": [{"distance": "1400 mm"}]}) == {}
    cable = {"name": "lamp", "outlet": "lamp", "diameter": "8 mm", "reach": "3 m"}
    assert told({"sockets": [{"distance": "2400 mm"}]}, cables=[cable]) == {}
    assert "brief/no-socket" in told({}, cables=[cable])
    straight: dict[str, Any] = {
        "piece": {"length": "2 m", "width": "90 cm", "thickness": "45 mm", "live_edges": "none"}
    }
    arm = {"thickness_most": "40 mm", "thickness_least": "10 mm"}
    assert (
        "takes at most 40 mm, and the top is 45 mm"
        in told({"monitor_arms": [arm]}, **straight)["brief/monitor-arm"].message
    )
    assert told({"monitor_arms": [arm | {"thickness_most": "50 mm"}]}, **straight) == {}
    assert "brief/live-edge-clamp" in told({"monitor_arms": [{}]})
    thick = {"thickness_least": "50 mm"}
    assert "50 mm at least" in told({"monitor_arms": [thick]}, **straight)["brief/monitor-arm"].message


def test_doors() -> None:
    assert told({"doors": [{"width": "800 mm"}]}) == {
        "brief/way-in": told({"doors": [{"width": "800 mm"}]})["brief/way-in"]
    }
    found = told({"doors": [{"name": "hatch", "width": "150 mm", "height": "900 mm"}]})
    assert found["brief/door"].severity == "stop"
    assert "hatch: 150 mm x 900 mm" in found["brief/door"].message


def test_the_outline_on_the_floor() -> None:
    laid = {"length": "2200 mm", "width": "900 mm"}
    assert "brief/template-unsigned" in told({"template": laid})
    assert told({"template": laid | {"signed_by": "A. Client", "date": "2026-11-20"}}) == {}
    found = told({"template": laid | {"width": "880 mm", "signed_by": "A. Client"}})["brief/template-differs"]
    assert found.severity == "stop"
    assert "wide 880 mm on the floor, 900 mm in the job" in found.message


def test_in_inches() -> None:
    job = priced_job(
        {"units": "inch"},
        brief={"behind": "20 in"},
        piece={"length": "7 ft", "width": "36 in", "height": "29 in", "thickness": "2 in"},
    )
    _, said = brief_checks(job)
    assert '20"' in said[0].message
    assert "mm" not in said[0].message


def test_an_enquiry_is_judged_by_the_board_that_is_reckoned_with() -> None:
    piece = {"length": "2200 mm", "height": "750 mm", "thickness": "max", "base": "U legs"}
    brief = {"chair_arms": 740, "chair_seat": 650, "doors": [{"name": "Gate", "width": 130, "height": 2000}]}
    _, said = shop_plan(priced_job(piece=piece, brief=brief), PlanParts(None, None, None))
    found = {each.code: each for each in said}
    for code in ("brief/chair-arms", "brief/thighs", "brief/door"):
        assert "before there is a slab" in found[code].message
        assert "with a board of 5" in found[code].message
    assert "do not go under it" in found["brief/chair-arms"].message
    _, unpriced = shop_plan(
        priced_job(piece=piece, brief=brief, shop={"prices": {"hour": None}}), PlanParts(None, None, None)
    )
    assert "brief/chair-arms" in {each.code for each in unpriced}


def test_chairs_whose_arms_are_told_are_not_asked_for_their_arms() -> None:
    stated = priced_job(brief={"chair_arms": 640}).stated
    assert "How high are the chairs' seats?" in open_brief(stated)
    assert "How high are the chairs' seats, and their arms?" in open_brief(priced_job(brief={"seats": 4}).stated)
    assert not any("chairs" in each for each in open_brief(priced_job(brief={"chair_seat": 450}).stated))
