"""Ring angles, and how much of the movement across is tangential."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slabwright.job.top_models import Rings
from slabwright.top.rings import (
    RingPattern,
    coefficients,
    holds_pith,
    mean_angle,
    ring_angle,
    ring_pattern,
    tangential_run,
)


def one(value: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.array([value])


def test_over_the_pith_rings_lie_flat_and_beside_it_they_stand() -> None:
    pattern = RingPattern(None, (100.0, 80.0), 0.0)
    assert ring_angle(pattern, one(100.0), one(0.0))[0] == pytest.approx(0.0)
    assert ring_angle(pattern, one(900.0), one(80.0))[0] == pytest.approx(90.0)
    assert ring_angle(pattern, one(180.0), one(0.0))[0] == pytest.approx(45.0)


@pytest.mark.parametrize(("picture", "angle"), [("flat-sawn", 0.0), ("rift", 45.0), ("quarter-sawn", 90.0)])
def test_pictures_are_straight_rings(picture: str, angle: float) -> None:
    pattern = ring_pattern(Rings.model_validate({"picture": picture}), 50.0)
    assert pattern.angle == angle
    along, through = coefficients(pattern, 0.003, 0.001, one(10.0), one(5.0))
    share = np.cos(np.radians(angle)) ** 2
    assert along[0] == pytest.approx(0.003 * share + 0.001 * (1 - share))
    assert along[0] + through[0] == pytest.approx(0.004)  # the trace of a strain does not turn


def test_a_picture_may_miss_by_some_degrees_and_nothing_stated_may_be_anything() -> None:
    rift = ring_pattern(Rings.model_validate({"picture": "rift"}), 50.0)
    assert [p.angle for p in rift.spread()] == [45.0, 30.0, 60.0]
    unknown = ring_pattern(None, 50.0)
    assert not unknown.stated
    assert [p.angle for p in unknown.spread()] == [0.0, 90.0]


def test_through_the_pith_puts_it_in_the_middle_of_the_slab() -> None:
    pattern = ring_pattern(Rings.model_validate({"picture": "through the pith"}), 60.0)
    assert pattern.pith == (0.0, 30.0)
    assert holds_pith(pattern, 500.0, 60.0)
    assert mean_angle(pattern, 1000.0, 60.0) > 75.0  # nearly quarter-sawn but for the middle
    assert not holds_pith(RingPattern(None, (0.0, 90.0), 0.0), 500.0, 60.0)


@given(
    st.floats(-600, 600),
    st.floats(-400, 400).filter(lambda depth: min(abs(depth), abs(depth - 55.0)) > 2.0),
    st.floats(-450, 450),
)
def test_the_closed_form_is_the_integral_of_the_angles(beside: float, below: float, to: float) -> None:
    pattern = RingPattern(None, (beside, below), 0.0)
    depths = (np.arange(200) + 0.5) / 200 * 55.0
    ways = (np.arange(400) + 0.5) / 400 * to
    angles = ring_angle(pattern, ways[:, None], depths[None, :])
    summed = float(np.mean(np.cos(np.radians(angles)) ** 2)) * to
    assert float(tangential_run(pattern, one(to), 55.0)[0]) == pytest.approx(summed, abs=0.6)


def test_a_far_pith_is_straight_rings() -> None:
    assert float(tangential_run(RingPattern(None, (0.0, 1e6), 0.0), one(400.0), 50.0)[0]) == pytest.approx(400.0)
    turned = RingPattern(None, (-1e6, 1e6), 0.0)
    assert float(tangential_run(turned, one(400.0), 50.0)[0]) == pytest.approx(200.0, abs=0.1)
    assert mean_angle(turned, 800.0, 50.0) == pytest.approx(45.0, abs=0.01)
