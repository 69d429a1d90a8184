"""The height stack: what adds up, and when the legs can be cut."""

from __future__ import annotations

import pytest

from slabwright.base.height_stack import Height, HeightStack, height_findings, height_stack
from slabwright.findings import SlabwrightError


def stack(
    top: tuple[float, float, float] = (44.0, 45.0, 46.0),
    travel: tuple[float, float] = (8.0, 8.0),
    tolerance: float = 2.0,
    known: bool = True,
    leg: float | None = None,
    plate: float | None = None,
) -> tuple[HeightStack, Height]:
    return height_stack(
        750.0, top, 8.0, 8.0, 20.0, travel, tolerance=tolerance, known=known, leg_as_made=leg, plate_as_made=plate
    )


def test_parts_add_up_to_the_wanted_height() -> None:
    done, height = stack()
    assert done.leg == pytest.approx(750 - 20 - 8 - 45 + 8)
    assert done.foot + done.leg + done.plate + done.top - done.pocket == pytest.approx(750.0)
    assert (height.low, height.even, height.high) == pytest.approx((749.0, 750.0, 751.0))


@pytest.mark.parametrize(
    ("top", "travel", "tolerance", "safe", "long"),
    [
        ((44.0, 45.0, 46.0), (8.0, 8.0), 0.0, "yes", 0.0),
        ((37.0, 45.0, 53.0), (8.0, 8.0), 0.0, "yes", 0.0),
        ((36.9, 45.0, 46.0), (8.0, 8.0), 0.0, "cut long", 0.1),
        ((40.0, 45.0, 46.0), (0.0, 0.0), 2.0, "cut long", 3.0),
        ((43.0, 45.0, 47.0), (0.0, 0.0), 2.0, "yes", 0.0),
        ((45.0, 45.0, 56.0), (8.0, 8.0), 2.0, "cut long", 0.0),
    ],
)
def test_legs_are_cut_once_the_feet_take_up_every_thickness(
    top: tuple[float, float, float], travel: tuple[float, float], tolerance: float, safe: str, long: float
) -> None:
    done, height = stack(top, travel, tolerance)
    assert done.safe_to_cut == safe
    assert done.cut_long == pytest.approx(long)
    assert bool(height_findings(done, height, tolerance, made=False, units="metric")) == (safe != "yes")


def test_legs_cut_long_reach_the_height_with_the_thinnest_top() -> None:
    done, height = stack((33.0, 45.0, 46.0))
    assert height.low + done.cut_long + done.travel_up == pytest.approx(750.0 - 2.0)


def test_an_unread_slab_keeps_the_legs_uncut() -> None:
    done, height = stack(known=False)
    assert done.safe_to_cut == "no"
    (finding,) = height_findings(done, height, 2.0, made=False, units="metric")
    assert finding.code == "base/legs-not-yet"


def test_what_was_made_goes_before_what_was_drawn() -> None:
    done, height = stack(leg=690.0, plate=8.4)
    assert (done.leg, done.plate) == (690.0, 8.4)
    assert height.even == pytest.approx(20 + 690 + 8.4 + 45 - 8)
    assert done.safe_to_cut == "yes"
    assert not height_findings(done, height, 2.0, made=True, units="metric")
    (finding,) = height_findings(*stack(leg=705.0), 2.0, made=True, units="metric")
    assert finding.code == "base/height-off"


def test_a_height_without_room_for_legs() -> None:
    with pytest.raises(SlabwrightError, match=r"piece\.height"):
        height_stack(60.0, (44.0, 45.0, 46.0), 0.0, 8.0, 20.0, (8.0, 8.0))
