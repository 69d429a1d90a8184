"""Holes, threads, bolts, distances and hold of the inserts."""

from __future__ import annotations

from typing import Any

import pytest

from slabwright.findings import Finding, SlabwrightError
from slabwright.job.top_models import Clearances, Feature, Insert, Pocket
from slabwright.quantities import INCH
from slabwright.reference.fasteners import bolt, fasteners
from slabwright.reference.wood import species
from slabwright.top.fasteners import Fastening, allowed_withdrawal, bolt_length, fastenings, withdrawal
from slabwright.top.movement import MoistureRange, movement
from slabwright.top.movement_findings import fastener_findings
from slabwright.top.rings import RingPattern
from slabwright.top.slots import slot_plan

ASH = species("ash, white")
CLEAR = Clearances()
PLATE = Pocket(kind="pocket", name="plate", length=100.0, width=600.0, depth=8.0)
AT = {"plate": (300.0, 0.0), "one": (300.0, 100.0)}


def work(thickness: float = 50.0, at: tuple[float, float] = AT["one"], **more: Any) -> tuple[Fastening, list[Finding]]:
    insert = Insert(
        **{
            "kind": "insert",
            "name": "one",
            "drill": 12.0,
            "depth": 22.0,
            "plate": "plate",
            "plate_thickness": 8.0,
            "engagement": 12.0,
        }
        | more
    )
    features: list[Feature] = [PLATE, insert]
    about = movement(900.0, thickness, ASH, 9.0, MoistureRange(6.5, 11.0), RingPattern(0.0, None, 15.0))
    slots = {one.name: one for one in slot_plan(features, AT | {"one": at}, about, CLEAR).slots}
    found = fastenings(features, AT | {"one": at}, slots, thickness, (2000.0, 900.0), ASH, CLEAR)
    return found[0], list(fastener_findings(found, features, CLEAR, "metric"))


def test_the_bolt_reaches_its_thread_and_stops_short_of_the_bottom() -> None:
    one, told = work()
    assert told == []
    assert one.thread_name == "M8"
    assert one.bolt_length_least == pytest.approx(1.6 + 8.0 + 12.0)
    assert one.bolt_length_most == pytest.approx(1.6 + 8.0 + 22.0 - 3.0)
    assert one.bolt_length == 25.0
    assert one.bolt_end == pytest.approx(1.6 + 8.0 + 22.0 - 25.0)
    assert one.wood_left == pytest.approx(50.0 - 8.0 - 22.0)


def test_inch_bolts_come_in_inch_lengths() -> None:
    one, _ = work(thread=0.375 * INCH, plate_thickness=0.25 * INCH, depth=1.0 * INCH, engagement=0.5 * INCH)
    assert one.thread_name == "3/8 in"
    assert one.bolt_length == pytest.approx(0.875 * INCH)  # 0.083 + 0.25 + 0.5 = 0.833 in at least


def test_hold_is_counted_as_a_lag_screw_over_the_engagement_with_a_larger_safety() -> None:
    one, _ = work()
    assert one.holds == pytest.approx(125.4 * 0.60**1.5 * 12.0**0.75 * 12.0)
    assert one.allowed == pytest.approx(withdrawal("lag screw", 0.60, 12.0, 12.0) / 6.0)
    assert one.allowed is not None
    assert one.allowed < allowed_withdrawal("lag screw", 0.60, 12.0, 12.0)
    with pytest.raises(SlabwrightError, match="lag screw"):
        withdrawal("nail", 0.6, 3.0, 30.0)


def codes(told: list[Finding]) -> list[str]:
    return [one.code for one in told]


def test_where_no_bolt_fits_a_deeper_hole_is_tried() -> None:
    one, told = work(depth=17.0, engagement=14.0)  # between 23.6 and 23.6 mm
    assert one.bolt_length is None
    remedy = next(finding for finding in told if finding.code == "top/no-bolt-fits").remedy
    depth = float(remedy.split("Drill its hole ")[1].split(" mm")[0])
    mended, again = work(depth=depth, engagement=14.0)
    assert mended.bolt_length == 25.0
    assert again == []


def test_where_the_wood_is_too_thin_for_that_washers_are_added() -> None:
    one, told = work(depth=17.0, engagement=14.0, thickness=33.2)
    assert one.wood_left == pytest.approx(8.2)
    finding = next(finding for finding in told if finding.code == "top/no-bolt-fits")
    assert finding.remedy == "Lay 1 more washer under the head of a bolt of 25 mm."
    thickest = fasteners().bolts[2].washers[-1].thickness
    assert one.bolt_length_most is not None
    assert bolt_length(one.bolt_length_least or 0.0, one.bolt_length_most + thickest, "metric") == 25.0


def test_a_plate_of_unknown_thickness_has_no_bolt_yet() -> None:
    one, told = work(plate_thickness=None)
    assert one.bolt_length is None
    assert codes(told) == ["top/bolt-unknown"]


def test_a_hole_too_shallow_is_deepened_while_wood_stays() -> None:
    _, told = work(depth=14.0)
    finding = next(finding for finding in told if finding.code == "top/hole-too-shallow")
    assert finding.severity == "stop"
    assert finding.remedy == "Drill it 15 mm deep: 27 mm of wood stays."
    _, thin = work(depth=14.0, thickness=30.5)
    assert "shorter thread: 11 mm" in next(one for one in thin if one.code == "top/hole-too-shallow").remedy


def test_little_thread_is_told() -> None:
    assert "top/little-thread" in codes(work(engagement=6.0)[1])


@pytest.mark.parametrize(
    ("at", "remedy"), [((300.0, 410.0), "Move it 8 mm inwards."), ((1930.0, 0.0), "Move it 14 mm inwards.")]
)
def test_near_an_edge_or_an_end_the_wood_would_split(at: tuple[float, float], remedy: str) -> None:
    finding = next(one for one in work(at=at)[1] if one.code == "top/insert-near-edge")
    assert finding.remedy == remedy


def test_bolts_are_known_by_their_diameter() -> None:
    metric, inch = bolt(8.0), bolt(5 / 16 * INCH)
    assert metric is not None
    assert inch is not None
    assert (metric.name, inch.name) == ("M8", "5/16 in")
    assert bolt(9.0) is None


def test_the_shortest_usual_length_is_taken() -> None:
    assert bolt_length(25.0, 32.0, "metric") == 25.0
    assert bolt_length(25.1, 32.0, "metric") == 30.0
    assert bolt_length(25.1, 29.9, "metric") is None


def test_wood_below_a_hole_is_what_the_layout_left_in_whatever_groove_it_lies() -> None:
    bolt = Insert(kind="insert", name="one", drill=12.0, depth=22.0)
    [one] = fastenings([PLATE, bolt], AT, {}, 50.0, (2000.0, 900.0), ASH, CLEAR, {"one": 11.0})
    [alone] = fastenings([PLATE, bolt], AT, {}, 50.0, (2000.0, 900.0), ASH, CLEAR)
    assert (one.wood_left, alone.wood_left) == (11.0, 28.0)
