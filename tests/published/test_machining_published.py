"""Feed, chip load and power against worked figures of textbooks."""

from __future__ import annotations

import math

import pytest

from slabwright.machine.feeds import chip_load, engaged, mean_chip, power, removal_rate


def test_face_milling_with_a_whole_cutter() -> None:
    # H. El-Hofy, Fundamentals of Machining Processes, 2nd ed. (CRC Press 2014), section 6.3, worked example of face milling:
    # cutter 30 mm with 8 teeth, depth 4 mm, 0.1 mm a tooth, feed 120 mm/min, 1000 N/mm2: 150 rpm, 14.13 m/min, 0.24 kW.
    assert chip_load(120.0, 150.0, 8) == pytest.approx(0.1)
    assert math.pi * 30.0 * 150.0 / 1000.0 == pytest.approx(14.13, abs=0.01)
    taken = power(removal_rate(4.0, 30.0, 120.0), 1000.0)
    assert taken / 1000.0 == pytest.approx(0.24, abs=0.005)
    # Its mean tangential force, 1019 N, times the cutting speed is the same power.
    assert taken == pytest.approx(1019.0 * 14.13 / 60.0, rel=0.005)


def test_slab_milling_power_and_torque() -> None:
    # S. Kalpakjian and S. R. Schmid, Manufacturing Engineering and Technology, example on power and torque in slab milling
    # (from memory): 100 mm wide, 3 mm deep, 0.25 mm a tooth, 20 teeth, 100 rpm, 3 W s/mm3: 500 mm/min, 150 000 mm3/min, 7.5 kW,
    # 716 N m.
    feed = 0.25 * 20 * 100.0
    assert feed == 500.0
    assert chip_load(feed, 100.0, 20) == 0.25
    rate = removal_rate(3.0, 100.0, feed)
    assert rate == 150_000.0
    taken = power(rate, 3000.0)
    assert taken == pytest.approx(7500.0)
    assert taken * 60.0 / (2.0 * math.pi * 100.0) == pytest.approx(716.0, abs=0.5)


def test_face_milling_with_ten_inserts() -> None:
    # The same book, example on face milling (from memory): 60 mm wide, 3 mm deep, 600 mm/min, 100 rpm, 10 inserts, 1.1 W s/mm3:
    # 0.6 mm a tooth, 108 000 mm3/min, 1.98 kW.
    assert chip_load(600.0, 100.0, 10) == pytest.approx(0.6)
    rate = removal_rate(3.0, 60.0, 600.0)
    assert rate == 108_000.0
    assert power(rate, 1100.0) == pytest.approx(1980.0)


def test_peripheral_milling_removal_rate() -> None:
    # M. P. Groover, Fundamentals of Modern Manufacturing, problem on peripheral milling (its answer from memory): cutter 70 mm,
    # 5 teeth, 60 m/min, 0.25 mm a tooth, 6.5 mm deep, 50 mm wide: 273 rpm, 341 mm/min, 110 800 mm3/min.
    speed = 60_000.0 / (math.pi * 70.0)
    assert speed == pytest.approx(272.8, abs=0.1)
    feed = 0.25 * 5 * speed
    assert feed == pytest.approx(341.0, abs=0.1)
    assert chip_load(feed, speed, 5) == pytest.approx(0.25)
    assert removal_rate(6.5, 50.0, feed) == pytest.approx(110_800.0, rel=0.001)


@pytest.mark.parametrize("share", [0.01, 0.05, 0.1])
def test_mean_chip_of_a_shallow_cut(share: float) -> None:
    # El-Hofy, section 6.3.1: h_m = f_z sqrt(a_e / D) where a_e / D is small.
    assert mean_chip(0.1, share * 50.0, 50.0) == pytest.approx(0.1 * math.sqrt(share), rel=share)


def test_arc_of_contact() -> None:
    # El-Hofy, section 6.3.1: cos(phi) = 1 - 2 a_e / D, and the greatest chip f_z sin(phi).
    assert math.cos(engaged(10.0, 50.0)) == pytest.approx(1.0 - 20.0 / 50.0)
