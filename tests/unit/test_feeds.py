from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from slabwright.findings import Finding
from slabwright.job.models import Machine
from slabwright.machine.feeds import POWER_SHARE, chip_load, engaged, feeds, mean_chip, scallop
from slabwright.machine.machine_findings import feed_findings

STATED: dict[str, Any] = {
    "chip_load_low": 0.1,
    "chip_load_high": 0.2,
    "cutting_energy": 60.0,
    "spindle_power": 2200.0,
    "cutter_speed_most": 18000,
    "spindle_speed_most": 24000,
    "feed_most": 12000.0,
    "depth_most": 5.0,
}


def machine(**changes: Any) -> Machine:
    return Machine(**(STATED | changes))


def told(of: Machine) -> dict[str, Finding]:
    return {finding.code.removeprefix("machine/"): finding for finding in feed_findings(of, "metric")}


def test_a_well_stated_machine_within_its_limits_is_not_spoken_of() -> None:
    assert told(machine()) == {}


def test_figures_of_a_plain_machine() -> None:
    got = feeds(machine())
    assert got.chip_load == pytest.approx(6000 / (16000 * 3))
    assert got.cutting_speed == pytest.approx(math.pi * 0.05 * 16000 / 60)
    assert got.removal_rate == pytest.approx(3.0 * 35.0 * 6000.0)
    assert got.power == pytest.approx(630_000 / 60 * 60 / 1000)
    assert got.power_whole == pytest.approx(630.0 * 50 / 35)
    assert got.power_planned == pytest.approx(POWER_SHARE * 2200)
    assert got.force == pytest.approx(630.0 / got.cutting_speed)
    assert got.flat == 48.0
    assert got.scallop == 0.0


def test_what_is_not_stated_is_not_made_up() -> None:
    got = feeds(Machine())
    assert got.power is got.power_whole is got.power_planned is got.force is None
    assert got.chip_load_low is got.chip_load_high is got.strip_life is None
    found = told(Machine())
    assert {name: finding.severity for name, finding in found.items()} == {
        "chip-load-unknown": "note",
        "power-unknown": "note",
    }
    assert "cutting_energy and spindle_power are not stated" in found["power-unknown"].message
    only = told(machine(spindle_power=None))
    assert "spindle_power is not stated" in only["power-unknown"].message


@pytest.mark.parametrize(
    ("width", "depth", "radius"), [(35.0, 3.0, 1.0), (35.0, 0.8, 1.0), (50.0, 2.0, 4.0), (3.0, 0.4, 2.0)]
)
def test_mean_chip_is_the_mean_over_arc_and_edge(width: float, depth: float, radius: float) -> None:
    # Chip by chip: f_z sin(phi) over the arc, and the area over the length of edge that is in wood.
    arc = math.acos(1 - 2 * width / 50.0)
    phi = (np.arange(20_000) + 0.5) / 20_000 * arc
    over_arc = float(np.mean(0.125 * np.sin(phi)))
    height = np.linspace(0.0, min(depth, radius), 200_001)
    out = np.sqrt(np.maximum(radius**2 - (radius - height) ** 2, 0.0))
    edge = float(np.hypot(np.diff(out), np.diff(height)).sum()) + depth - min(depth, radius)
    assert mean_chip(0.125, width, 50.0, depth, radius) == pytest.approx(over_arc * depth / edge, rel=1e-4)


def test_an_edge_is_in_wood_for_half_a_turn_at_full_width() -> None:
    assert engaged(50.0, 50.0) == pytest.approx(math.pi)
    assert engaged(25.0, 50.0) == pytest.approx(math.pi / 2)


def test_metres_on_each_edge_follow_from_turns_and_arc() -> None:
    got = feeds(machine(insert_life=20_000.0))
    metre_of_strip_turns = 1000.0 / (6000.0 / 16000.0)
    arc = 25.0 * math.acos(1 - 70.0 / 50.0)
    assert got.edge_ratio == pytest.approx(metre_of_strip_turns * arc / 1000.0)
    assert got.strip_life == pytest.approx(20_000_000.0 / got.edge_ratio)


@pytest.mark.parametrize("stepover", [48.0, 48.5, 49.3, 49.9])
def test_ridges_stand_where_two_rounded_corners_meet(stepover: float) -> None:
    # Against the profile of two strips beside each other, drawn finely.
    x = np.linspace(0.0, stepover, 100_001)

    def floor(middle: float) -> np.ndarray:
        out = np.clip(np.abs(x - middle) - 24.0, 0.0, None)
        return np.where(out <= 1.0, 1.0 - np.sqrt(np.clip(1.0 - out**2, 0.0, None)), 9.0)

    profile = np.minimum(floor(0.0), floor(stepover))
    assert scallop(stepover, 50.0, 1.0) == pytest.approx(float(profile.max()), abs=1e-4)


def test_a_stepover_beyond_the_flat_is_told_and_the_remedy_leaves_none() -> None:
    finding = told(machine(stepover=49.0))["ridges"]
    assert finding.severity == "caution"
    assert "0.13 mm" in finding.message
    assert "stepover to 48 mm" in finding.remedy
    assert feeds(machine(stepover=48.0)).scallop == 0.0


def test_a_feed_too_small_for_the_teeth_is_told() -> None:
    finding = told(machine(feed=3000.0))["chip-load-low"]
    assert finding.severity == "caution"
    assert "feed to 4800 mm" in finding.remedy
    assert "spindle_speed to 10000 rpm" in finding.remedy
    assert "chip-load-low" not in told(machine(feed=4800.0))
    assert "chip-load-low" not in told(machine(feed=3000.0, spindle_speed=10000))


def test_more_feed_is_not_offered_where_machine_or_spindle_cannot_carry_it() -> None:
    assert (
        "feed to"
        not in told(machine(feed=3000.0, feed_most=4000.0, plunge_feed=1000.0, rapid=4000.0))["chip-load-low"].remedy
    )
    assert "feed to" not in told(machine(feed=3000.0, spindle_power=450.0))["chip-load-low"].remedy


def test_a_feed_too_great_for_the_teeth_stops_the_work() -> None:
    finding = told(machine(feed=11000.0))["chip-load-high"]
    assert finding.severity == "stop"
    assert "feed to 9600 mm" in finding.remedy
    assert "chip-load-high" not in told(machine(feed=9600.0))
    faster = told(machine(feed=10000.0))["chip-load-high"].remedy
    assert "spindle_speed to 16700 rpm" in faster
    assert told(machine(feed=10000.0, spindle_speed=16700)) == {}


def test_a_spindle_too_weak_stops_the_work_and_each_remedy_mends_it() -> None:
    weak = {"spindle_power": 500.0, "chip_load_low": 0.05}
    finding = told(machine(**weak))["spindle-weak"]
    assert finding.severity == "stop"
    assert "630 W" in finding.message
    assert "greatest_depth to 1.9 mm, or feed to 3800 mm" in finding.remedy
    assert told(machine(**weak, greatest_depth=1.9)) == {}
    assert told(machine(**weak, feed=3800.0)) == {}


def test_a_feed_that_would_rub_is_not_offered_to_a_weak_spindle() -> None:
    remedy = told(machine(spindle_power=500.0))["spindle-weak"].remedy
    assert "greatest_depth" in remedy
    assert "feed to" not in remedy


@pytest.mark.parametrize(
    ("changes", "rule", "remedy", "mended"),
    [
        ({"greatest_depth": 6.0}, "too-deep", "greatest_depth to 5 mm", {"greatest_depth": 5.0}),
        ({"feed": 9000.0, "feed_most": 8000.0, "rapid": 8000.0}, "too-fast", "feed to 8000 mm", {"feed": 8000.0}),
        ({"rapid": 15000.0}, "too-fast", "rapid to 12000 mm", {"rapid": 12000.0}),
        ({"spindle_speed": 19000}, "cutter-speed", "spindle_speed to 18000", {"spindle_speed": 18000}),
        (
            {"spindle_speed": 17000, "spindle_speed_most": 16500},
            "spindle-speed",
            "spindle_speed to 16500",
            {"spindle_speed": 16500},
        ),
    ],
)
def test_a_cutter_deeper_or_faster_than_allowed_stops_the_work(
    changes: dict[str, Any], rule: str, remedy: str, mended: dict[str, Any]
) -> None:
    finding = told(machine(**changes))[rule]
    assert finding.severity == "stop"
    assert remedy in finding.remedy
    assert rule not in told(machine(**(changes | mended)))


def test_a_holder_that_would_rub_stops_the_work() -> None:
    assert told(machine(holder_diameter=60.0, stick_out=2.5))["holder-in-wood"].severity == "stop"
    assert told(machine(holder_diameter=60.0, stick_out=3.5)) == {}
    assert told(machine(holder_diameter=40.0, stick_out=2.5)) == {}
    assert told(machine(holder_diameter=60.0))["stick-out-unknown"].severity == "caution"


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"feed": 0.0}, "more than 0"),
        ({"spindle_speed": 0}, "greater than 0"),
        ({"flutes": 0}, "greater than or equal to 1"),
        ({"corner_radius": 25.0}, "no flat end"),
        ({"chip_load_high": None}, "go together"),
        ({"chip_load_low": 0.3}, "less than chip_load_high"),
        ({"first_depth": 4.0}, "at most greatest_depth"),
    ],
)
def test_figures_that_cannot_be_are_refused(changes: dict[str, Any], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        machine(**changes)


def test_figured_wood_thins_the_last_chip() -> None:
    assert feeds(machine(), figured=True).chip_thickness_last < feeds(machine()).chip_thickness_last


def test_chip_load_is_in_inches_where_the_job_is() -> None:
    (finding,) = [each for each in feed_findings(machine(feed=3000.0), "inch") if each.code.endswith("chip-load-low")]
    assert '0.002"' in finding.message
    assert chip_load(3000.0, 16000.0, 3) == pytest.approx(0.0625)
