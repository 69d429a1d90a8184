from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import box

from slabwright.geometry.faces import Floats
from slabwright.job.models import Machine
from slabwright.machine.engagement import engagement
from slabwright.machine.frame import KeepOut, Setting, Stock
from slabwright.machine.strips import strips, whole_rectangle
from slabwright.machine.timing import path_time
from slabwright.machine.toolpath import Toolpath

MACHINE = Machine(cutter_diameter=50.0, corner_radius=1.0, stepover=35.0, direction="along")
PLANE = 40.0


def setting(top: Floats, cell: float = 5.0, *keep_out: KeepOut) -> Setting:
    """Heights above the plane on cells whose first corner lies at x 100, y 100."""
    x, y = (np.asarray(100.0 + cell * (np.arange(count) + 0.5), dtype=np.float64) for count in top.shape)
    outline = box(100.0, 100.0, 100.0 + cell * top.shape[0], 100.0 + cell * top.shape[1])
    stock = Stock(x, y, top + PLANE, np.ones_like(top), outline)
    return Setting("A", 1, stock, PLANE, 0.0, (100.0, 100.0 + cell * top.shape[0]), None, keep_out)


def at_level(path: Toolpath, level: float) -> list[tuple[Floats, Floats, float]]:
    height = PLANE + level
    return [
        (one, two, float(feed))
        for one, two, feed in zip(path.points, path.points[1:], path.feed, strict=False)
        if feed > 0 and one[2] == pytest.approx(height) and two[2] == pytest.approx(height)
    ]


def minutes(path: Toolpath) -> float:
    return path_time(path, rapid=MACHINE.rapid, acceleration=MACHINE.acceleration).minutes


def test_a_full_face_is_cut_in_the_fewest_strips_without_a_lift() -> None:
    # 350 mm wide: ten strips of 35 mm.
    path = strips(setting(np.full((200, 70), 2.0)), 0.0, None, machine=MACHINE)
    long = [move for move in at_level(path, 0.0) if abs(move[1][0] - move[0][0]) > 500.0]
    assert len(long) == 10
    assert path_time(path, rapid=MACHINE.rapid, acceleration=MACHINE.acceleration).lifts == 0
    # The first one takes no more than the stepover: its middle is 24 - 35 mm outside its band's border.
    assert min(long[0][0][1] - 100.0, 450.0 - long[0][0][1]) == pytest.approx(11.0)
    # No plan is faster than 350 * 1000 mm2 at 35 mm * 6 m/min.
    assert 1.0 < minutes(path) / (350.0 * 1000.0 / 35.0 / 6000.0) < 1.1


def test_no_wood_no_moves() -> None:
    path = strips(setting(np.full((40, 40), 1.0)), 2.0, None, machine=MACHINE)
    assert path.feed.size == 0
    assert path.points.shape == (1, 3)


def test_only_where_wood_stands() -> None:
    top = np.full((200, 70), -1.0)
    top[20:40, 10:20] = 1.0
    top[150:170, 50:60] = 1.0
    path = strips(setting(top), 0.0, None, machine=MACHINE)
    for one, two, _ in at_level(path, 0.0):
        for x, y in (one[:2], two[:2]):
            assert 100 + 100 - 80 <= x <= 100 + 200 + 80 or 100 + 750 - 80 <= x <= 100 + 850 + 80
            assert 100 + 50 - 80 <= y <= 100 + 100 + 80 or 100 + 250 - 80 <= y <= 100 + 300 + 80
    assert path_time(path, rapid=MACHINE.rapid, acceleration=MACHINE.acceleration).lifts == 1


def test_a_short_gap_is_fed_through_and_a_long_one_is_not() -> None:
    top = np.full((400, 7), 1.0)
    top[195:205] = -1.0
    path = strips(setting(top), 0.0, None, machine=MACHINE)
    assert path_time(path, rapid=MACHINE.rapid, acceleration=MACHINE.acceleration).lifts == 0
    top[50:350] = -1.0
    path = strips(setting(top), 0.0, None, machine=MACHINE)
    assert path_time(path, rapid=MACHINE.rapid, acceleration=MACHINE.acceleration).lifts == 1


def test_it_comes_down_beside_the_wood() -> None:
    top = np.full((100, 40), 3.0)
    path = strips(setting(top), 0.0, None, machine=MACHINE)
    plunges = [two for one, two in zip(path.points, path.points[1:], strict=False) if two[2] < one[2]]
    for x, y, _ in plunges:
        assert x < 100 - 25 + 1e-9 or x > 600 + 25 - 1e-9 or y < 100 - 25 + 1e-9 or y > 300 + 25 - 1e-9


def test_lifts_clear_what_the_pass_before_left() -> None:
    top = np.full((400, 7), 9.0)
    top[50:350] = -1.0
    first = strips(setting(top), 6.0, None, machine=MACHINE)
    second = strips(setting(top), 3.0, 6.0, machine=MACHINE)
    over = [sorted({float(z) for z in path.points[:, 2]})[2:] for path in (first, second)]
    assert over[0] == [pytest.approx(PLANE + 9.0 + 15.0)]
    assert over[1] == [pytest.approx(PLANE + 6.0 + 15.0)]


def test_across_where_that_is_quicker() -> None:
    top = np.full((200, 100), -1.0)
    top[80:94] = 1.0
    quicker = strips(setting(top), 0.0, None, machine=MACHINE, direction="quicker")
    along = strips(setting(top), 0.0, None, machine=MACHINE, direction="along")
    across = strips(setting(top), 0.0, None, machine=MACHINE, direction="across")
    assert minutes(quicker) == pytest.approx(minutes(across))
    assert minutes(across) < 0.7 * minutes(along)


def test_clamps_are_kept_clear_of() -> None:
    clamp = KeepOut("clamp", 300.0, 340.0, 90.0, 130.0, PLANE + 20.0)
    top = np.full((120, 80), 2.0)
    path = strips(setting(top, 5.0, clamp), 0.0, None, machine=MACHINE)
    steps = np.linspace(0.0, 1.0, 200)
    for one, two in zip(path.points, path.points[1:], strict=False):
        line = one + steps[:, None] * (two - one)
        off_x = np.maximum(np.maximum(300.0 - line[:, 0], line[:, 0] - 340.0), 0.0)
        off_y = np.maximum(np.maximum(90.0 - line[:, 1], line[:, 1] - 130.0), 0.0)
        near = np.maximum(off_x, off_y) < 30.0 - 1e-6
        assert (line[near, 2] >= clamp.top + 15.0 - 1e-9).all()
    left = engagement(path, setting(top).stock, PLANE, radius=24.0).left
    x, y = setting(top).stock.x[:, None], setting(top).stock.y[None, :]
    away = np.hypot(np.maximum(np.maximum(300 - x, x - 340), 0), np.maximum(np.maximum(90 - y, y - 130), 0))
    assert not left[away > 51.0].any()


def test_a_clamp_below_the_cut_is_passed_over() -> None:
    low = KeepOut("wedge", 300.0, 340.0, 90.0, 130.0, PLANE - 5.0)
    top = np.full((120, 80), 2.0)
    path = strips(setting(top, 5.0, low), 0.0, None, machine=MACHINE)
    assert not engagement(path, setting(top).stock, PLANE, radius=24.0).left.any()


def test_a_window_that_ends_in_the_wood() -> None:
    top = np.full((200, 70), 2.0)
    whole = setting(top)
    part = replace(whole, window=(100.0, 700.0), overlap=(600.0, 700.0))
    path = strips(part, 0.0, None, machine=MACHINE)
    assert path.points[:, 0].max() <= 700.0 + 1e-9
    slow = [feed for _, _, feed in at_level(path, 0.0) if feed < MACHINE.feed]
    # It turns in full wood there, as much slower as the cut is wider.
    assert slow
    assert min(slow) == pytest.approx(MACHINE.feed * 35.0 / 48.0)
    left = engagement(path, whole.stock, PLANE, radius=24.0).left
    assert not left[whole.stock.x < 700.0 - 25.0].any()


def test_the_whole_rectangle_takes_every_level_alike() -> None:
    top = np.full((200, 70), -1.0)
    top[20:60, 10:20] = 4.0
    paths = whole_rectangle(setting(top), (3.0, 0.0), machine=MACHINE)
    assert len(paths) == 2
    for path, level in zip(paths, (3.0, 0.0), strict=True):
        assert sum(abs(move[1][0] - move[0][0]) > 900.0 for move in at_level(path, level)) == 10
        assert minutes(path) > 3.0 * minutes(strips(setting(top), level, None, machine=MACHINE))
