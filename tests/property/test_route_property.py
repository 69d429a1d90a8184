"""The way in: what goes through a narrow opening goes through a wider one, and is not told to have less room there."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.carry.route import way_in
from slabwright.carry.route_pieces import Pieces, Solid, block
from slabwright.job.carry_models import Delivery

_PROVED = 0.2
"""A searched way is proved as closely as this [mm]."""
CHEST = block("a chest", 1300.0, 620.0, 480.0, 60.0)
DESK = Solid(
    "a desk",
    (
        (0.0, 0.0, 400.0, 1200.0, 600.0, 430.0),
        (100.0, 0.0, 0.0, 140.0, 600.0, 400.0),
        (1060.0, 0.0, 0.0, 1100.0, 600.0, 400.0),
    ),
    40.0,
)


def room(step: dict[str, Any], part: Solid) -> float:
    """Left on each side of the part at the passage [mm]."""
    stated = Delivery.model_validate({"steps": [step], "hand_room": 20, "padding": 5}, context={"units": "metric"})
    found = way_in(stated, Pieces(part), "metric", helped=False)[0].margin
    assert found is not None
    return found


def steps(width: float) -> list[dict[str, Any]]:
    """Passages of that clear width [mm]."""
    stairs = {"kind": "stairs", "width": width, "headroom": 2050, "rise": 175, "going": 270}
    return [
        {"kind": "door", "width": width, "height": 2000},
        {"kind": "door", "width": width, "height": 1900, "before": 950, "behind": 1100},
        {"kind": "corner", "before": width, "after": width, "height": 2300},
        {"kind": "van", "width": width, "height": 1250, "floor_length": 2400},
        stairs,
        {**stairs, "turn": 90, "landing": width},
    ]


@given(st.integers(0, 5), st.sampled_from([CHEST, DESK]), st.floats(380.0, 1100.0), st.floats(0.0, 120.0))
@settings(max_examples=40, deadline=None)
def test_a_wider_passage_leaves_no_less(kind: int, part: Solid, width: float, more: float) -> None:
    assert room(steps(width + more)[kind], part) >= room(steps(width)[kind], part) - _PROVED


def test_doors_from_narrow_to_wide_leave_more_and_more() -> None:
    told = [room({"kind": "door", "width": width, "height": 2000}, DESK) for width in range(400, 1000, 50)]
    assert all(wider >= narrower - _PROVED for narrower, wider in pairwise(told))
    assert told[0] < told[-1]
