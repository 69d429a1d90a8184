"""Stiffness against the spacing of the bolts: the same as the base's own, and the points that are read off it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any, get_args

import pytest

from slabwright.base.base_sizes import Sizes, sizes_of
from slabwright.base.kinds import Bolt, plate_bolts
from slabwright.base.spacing_curve import (
    PLATE_EDGE,
    SpacingPoint,
    frame_governs_from,
    needless_from,
    spacing_curve,
    stiffest,
)
from slabwright.base.stability import base_structure
from slabwright.base.stiffness import TopOn
from slabwright.job.base_models import Base, BaseKind

KINDS = get_args(BaseKind)
TOP = TopOn(2200.0, 900.0, (45.0, 45.0, 45.0), 8.0, 620.0, 11_600.0, 0.55)


def stated(**keys: Any) -> Base:
    return Base.model_validate(keys, context={"units": "metric"})


def sized(base: Base, kind: BaseKind = "U legs") -> tuple[Sizes, tuple[Bolt, ...]]:
    found = base_structure(base, kind, 740.0, TOP)
    assert found.stack is not None
    sizes = sizes_of(base, TOP.length, TOP.width, 740.0, found.stack.leg, "metric", kind)
    return sizes, plate_bolts(base, sizes)


@pytest.mark.parametrize("kind", KINDS)
def test_a_point_is_the_stiffness_of_the_base_with_such_plates(kind: BaseKind) -> None:
    width = 120.0 + 2 * PLATE_EDGE
    base = stated(plate={"width": width, "bolt_spacing": 120})
    [point] = spacing_curve(kind, *sized(base, kind), TOP, spacings=[120.0])
    assert point.plate_width == width
    found = base_structure(base, kind, 740.0, TOP)
    assert point.stiffness == pytest.approx(found.sway_stiffness.x)
    assert point.joint == pytest.approx(found.sway_shares.x.plates + found.sway_shares.x.bolts)
    if kind == "trestles":
        assert point.stretched is None
        return
    tube = sized(base, kind)[0].tube.name
    stretched = base_structure(base.model_copy(update={"stretcher": tube}), kind, 740.0, TOP)
    assert point.stretched == pytest.approx(stretched.sway_stiffness.x)


def test_one_row_of_bolts_becomes_two_and_two_stay_two() -> None:
    one = stated(plate={"width": 100, "bolt_rows": 1})
    two = stated(plate={"width": 100, "bolt_rows": 2, "bolt_spacing": 60})
    assert spacing_curve("U legs", *sized(one), TOP) == spacing_curve("U legs", *sized(two), TOP)


def test_a_stretcher_that_is_stated_is_left_out_of_the_one_and_tried_in_the_other() -> None:
    with_one = spacing_curve("U legs", *sized(stated(stretcher="60x60x3")), TOP, spacings=[60.0])
    assert with_one == spacing_curve("U legs", *sized(stated()), TOP, spacings=[60.0])


def test_thick_plates_make_a_stretcher_needless() -> None:
    """The trade's rule: as bolts go apart the joint's share falls, until the frame governs (common practice)."""
    curve = spacing_curve("U legs", *sized(stated(plate={"thickness": 16})), TOP)
    assert all(a.stiffness < b.stiffness and a.joint > b.joint for a, b in pairwise(curve))
    gains = [(point.stretched or 0.0) / point.stiffness for point in curve]
    assert gains == sorted(gains, reverse=True) and gains[-1] > 1.0
    governs = frame_governs_from(curve)
    assert governs is not None and curve[0].spacing < governs < curve[-1].spacing
    # There, plates and bolts that gave nothing would make it just twice as stiff.
    sizes, bolts = sized(stated(plate={"thickness": 16}))
    [there] = spacing_curve("U legs", sizes, bolts, TOP, spacings=[governs])
    assert there.rest / there.stiffness == pytest.approx(2.0, rel=0.03)
    assert stiffest(curve) is None


def test_thin_plates_bend_more_than_far_bolts_gain() -> None:
    thin = spacing_curve("U legs", *sized(stated(plate={"thickness": 6})), TOP)
    best = stiffest(thin)
    assert best is not None and best.spacing < thin[-1].spacing
    assert thin[-1].joint > best.joint


def test_plates_that_reach_beyond_the_top_are_left_out() -> None:
    sizes, bolts = sized(stated(spread=1900))
    curve = spacing_curve("U legs", sizes, bolts, TOP)
    assert 60.0 < curve[-1].spacing < 320.0
    assert all(1900.0 + point.plate_width < TOP.length for point in curve)


def point(spacing: float, stiffness: float, joint: float) -> SpacingPoint:
    return SpacingPoint(spacing, spacing + 30.0, stiffness, None, joint, 1.0 - joint)


def test_points_between_are_read_off_straight_lines() -> None:
    curve = [point(40.0, 20.0, 0.8), point(80.0, 40.0, 0.6), point(120.0, 50.0, 0.4)]
    assert frame_governs_from(curve) == pytest.approx(100.0)
    assert needless_from(curve, 30.0) == pytest.approx(60.0)
    assert needless_from(curve, 10.0) == 40.0 and needless_from(curve, 60.0) is None
    assert frame_governs_from(curve[:2]) is None and frame_governs_from(curve[2:]) == 120.0
    assert frame_governs_from([]) is None and needless_from([], 1.0) is None and stiffest([]) is None
    assert stiffest(curve) is None
    assert stiffest([*curve, replace(curve[0], spacing=160.0)]) == curve[2]
