from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import box

from slabwright.machine.engagement import edge_length, engagement
from slabwright.machine.frame import Stock
from slabwright.machine.timing import move_seconds, path_time, time_bound
from slabwright.machine.toolpath import Toolpath


def path(*points: tuple[float, float, float], feed: list[float]) -> Toolpath:
    return Toolpath(np.array(points), np.array(feed))


def block(length: float, width: float, height: float, cell: float = 1.0) -> Stock:
    x, y = (np.asarray(cell * (np.arange(round(side / cell)) + 0.5), dtype=np.float64) for side in (length, width))
    top = np.full((x.size, y.size), height)
    return Stock(x, y, top, np.ones_like(top), box(0.0, 0.0, length, width))


@pytest.mark.parametrize("length", [0.5, 10.0, 24.9, 25.1, 1000.0])
def test_a_move_takes_what_its_speed_over_time_adds_up_to(length: float) -> None:
    speed, acceleration = 100.0, 400.0
    seconds = move_seconds(length, speed, acceleration)
    # The speed rises evenly, is held, and falls evenly: the area under it is the length.
    t = np.linspace(0.0, seconds, 200_001)
    at = np.minimum(np.minimum(acceleration * t, acceleration * (seconds - t)), speed)
    assert np.trapezoid(at, t) == pytest.approx(length, rel=1e-6)


def test_it_stops_at_a_corner_and_not_on_the_straight() -> None:
    straight = path((0, 0, 0), (300, 0, 0), (1000, 0, 0), feed=[6000.0, 6000.0])
    corner = path((0, 0, 0), (300, 0, 0), (300, 700, 0), feed=[6000.0, 6000.0])
    assert path_time(straight, rapid=10000.0, acceleration=400.0).minutes * 60 == pytest.approx(10.0 + 0.25)
    assert path_time(corner, rapid=10000.0, acceleration=400.0).minutes * 60 == pytest.approx(10.0 + 0.5)


def test_another_feed_or_turning_back_is_a_stop() -> None:
    slower = path((0, 0, 0), (500, 0, 0), (1000, 0, 0), feed=[6000.0, 3000.0])
    back = path((0, 0, 0), (500, 0, 0), (0, 0, 0), feed=[6000.0, 6000.0])
    assert path_time(slower, rapid=10000.0, acceleration=400.0).minutes * 60 == pytest.approx(5.25 + 10.125)
    assert path_time(back, rapid=10000.0, acceleration=400.0).minutes * 60 == pytest.approx(10.5)


def test_lengths_and_lifts_are_counted() -> None:
    two = path(
        (0, 0, 20), (0, 0, 0), (100, 0, 0), (100, 0, 20), (200, 0, 20), (200, 0, 2), (200, 0, 0), (300, 0, 0), (300, 0, 20),
        feed=[1500.0, 6000.0, 0.0, 0.0, 0.0, 1500.0, 6000.0, 0.0],
    )  # fmt: skip
    found = path_time(two, rapid=10000.0, acceleration=400.0)
    assert found.lifts == 1
    assert found.fed == pytest.approx(20 + 100 + 2 + 100)
    assert found.rapid == pytest.approx(20 + 100 + 18 + 20)


def test_a_path_without_moves_takes_no_time() -> None:
    none = path((0, 0, 0), feed=[])
    assert path_time(none, rapid=10000.0, acceleration=400.0).minutes == 0.0


@pytest.mark.parametrize(("rapid", "acceleration"), [(0.0, 400.0), (10000.0, 0.0)])
def test_no_speed_is_refused(rapid: float, acceleration: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        path_time(path((0, 0, 0), (1, 0, 0), feed=[100.0]), rapid=rapid, acceleration=acceleration)


def test_the_time_that_no_plan_beats_counts_each_level() -> None:
    stock = block(1000.0, 700.0, 54.0, cell=10.0)
    stock.top[:50] = 51.0
    # Half stands above 2 mm, all of it above 0: 1.5 * 0.7 m2 at 35 mm * 6 m/min.
    assert time_bound(stock, (2.0, 0.0), 50.0, stepover=35.0, feed=6000.0) == pytest.approx(1.05e6 / (35.0 * 6000.0))
    half = time_bound(stock, (2.0,), 50.0, stepover=35.0, feed=6000.0, window=(0.0, 750.0))
    assert half == pytest.approx(0.25 * 0.7e6 / (35.0 * 6000.0))


def test_width_of_a_straight_cut() -> None:
    stock = block(400.0, 100.0, 1.0)
    along = path((-40, 10, 0), (440, 10, 0), feed=[6000.0])
    met = engagement(along, stock, 0.0, radius=25.0, piece=10.0)
    # The middle runs 10 mm inside the edge: 35 mm of wood.
    inside = (met.width > 0.0) & (met.width < 34.0)
    assert met.width.max() == pytest.approx(35.0, abs=1.5)
    assert met.length[inside].sum() <= 60.0
    # From where its front meets the wood, 25 mm before its middle does.
    assert met.cut_length == pytest.approx(425.0, abs=10.0)
    assert met.left.sum() == 400 * 65


def test_what_an_edge_cuts_is_turns_times_arc() -> None:
    stock = block(2000.0, 100.0, 1.0)
    along = path((-40, 0, 0), (2040, 0, 0), feed=[6000.0])
    # Half the cutter in the wood: a quarter of its circle each turn, 2000 mm at 0.375 mm a turn.
    expected = 2000.0 / (6000.0 / 16000.0) * 25.0 * math.pi / 2.0
    found = edge_length(along, stock, 0.0, diameter=50.0, spindle_speed=16000.0)
    assert found == pytest.approx(expected, rel=0.01)
