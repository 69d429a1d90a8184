"""The lifting equation against its manual.

Applications manual for the revised NIOSH lifting equation, DHHS (NIOSH) Publication No. 94-110 (Revised 9/2021). Example 4's
factors and limits (Figure 14, p. 46), the tables' misprints and Table 5 (p. 15) were read in a transcription; the tasks of
examples 1 to 3 and of example 4's reach and load are from memory, and give the printed limits.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

import pytest

from slabwright.carry.niosh import (
    Conditions,
    Grip,
    WeightLimit,
    frequency_multiplier,
    lifting_index,
    reach,
    weight_limit,
    why_not,
)
from slabwright.reference.niosh import Coupling, Duration


def printed(
    horizontal: float,
    vertical: float,
    origin: float,
    travel: float,
    coupling: Coupling,
    *,
    asymmetry: float = 0.0,
    lifts: float = 0.0,
    duration: Duration = "short",
) -> WeightLimit:
    at = Grip(horizontal, vertical, asymmetry, coupling)
    return weight_limit(at, origin=origin, travel=travel, lifts=lifts, duration=duration, units="inch", as_printed=True)


def one_place(value: float | None) -> str:
    """Rounded half up, as the manual rounds limits and indices (p. 29)."""
    assert value is not None
    return str(Decimal(f"{value:.9f}").quantize(Decimal("0.1"), ROUND_HALF_UP))


def test_example_1_loading_punch_press_stock() -> None:
    """Pages 33 to 37: 44 lb, H 23 in, V 15 to 64 in; the origin's and the destination's limits and indices."""
    origin = printed(23.0, 15.0, 15.0, 49.0, "fair")
    destination = printed(23.0, 64.0, 15.0, 49.0, "fair")
    assert [round(each, 2) for each in (origin.horizontal, origin.vertical, origin.distance, origin.coupling)] == [
        0.44,
        0.89,
        0.86,
        0.95,
    ]
    assert one_place(origin.limit) == "16.3" and one_place(lifting_index(44.0, [origin])) == "2.7"
    assert one_place(destination.limit) == "14.5" and one_place(lifting_index(44.0, [destination])) == "3.0"
    assert one_place(lifting_index(44.0, [origin, destination])) == "3.0"


def test_example_2_loading_supply_rolls() -> None:
    """Pages 37 to 41: 35 lb, H 15 in, V 27 to 10 in, poor hold."""
    origin = printed(15.0, 27.0, 27.0, 17.0, "poor")
    assert one_place(origin.limit) == "28.0" and one_place(lifting_index(35.0, [origin])) == "1.3"


def test_example_3_loading_bags_into_a_hopper() -> None:
    """Pages 41 to 43: 40 lb, H 18 in, V 15 to 36 in, turned by 45 degrees."""
    origin = printed(18.0, 15.0, 15.0, 21.0, "fair", asymmetry=45.0)
    assert one_place(origin.limit) == "18.9" and one_place(lifting_index(40.0, [origin])) == "2.1"


def test_example_4_package_inspection() -> None:
    """Pages 44 to 46, Figure 14: 51 x 1.0 x .94 x .87 x 1.0 x .88 x .95 = 34.9 lb; destination 15.2 lb; 26 lb, three a minute."""
    origin = printed(10.0, 22.0, 22.0, 37.0, "fair", lifts=3.0)
    destination = printed(20.0, 59.0, 22.0, 37.0, "fair", lifts=3.0)
    assert [round(origin.__dict__[name], 2) for name in ("horizontal", "vertical", "distance", "frequency", "coupling")] == [
        1.0, 0.94, 0.87, 0.88, 0.95,
    ]  # fmt: skip
    assert one_place(origin.limit) == "34.9" and one_place(lifting_index(26.0, [origin])) == "0.7"
    assert one_place(destination.limit) == "15.2" and one_place(lifting_index(26.0, [destination])) == "1.7"
    # At full precision, as a program has it: 34.8 and 15.3 lb.
    exact = [
        weight_limit(grip, origin=22.0, travel=37.0, lifts=3.0, units="inch").limit
        for grip in (Grip(10.0, 22.0), Grip(20.0, 59.0))
    ]
    assert [one_place(each) for each in exact] == ["34.8", "15.3"]


@pytest.mark.parametrize(
    ("table", "argument", "value"),
    [
        ("horizontal", 10.0, 1.0), ("horizontal", 15.0, 0.67), ("horizontal", 20.0, 0.5), ("horizontal", 22.0, 0.46),
        ("horizontal", 23.0, 0.44), ("horizontal", 25.0, 0.4), ("horizontal", 25.5, 0.0),
        ("vertical", 30.0, 1.0), ("vertical", 20.0, 0.93), ("vertical", 70.0, 0.7), ("vertical", 70.5, 0.0),
        ("distance", 5.0, 1.0), ("distance", 70.0, 0.85), ("distance", 71.0, 0.0),
        ("asymmetry", 45.0, 0.86), ("asymmetry", 135.0, 0.57), ("asymmetry", 136.0, 0.0),
    ],
)  # fmt: skip
def test_cells_of_tables_1_to_4(table: str, argument: float, value: float) -> None:
    """Tables 1 to 4 in inches, misprints included (H = 22 and 23 in); 20 in of Table 2 rounds up from .925."""
    at = {"horizontal": 10.0, "vertical": 30.0, "asymmetry": 0.0}
    travel = argument if table == "distance" else 10.0
    if table != "distance":
        at[table] = argument
    grip = Grip(at["horizontal"], at["vertical"], at["asymmetry"])
    found = weight_limit(grip, origin=30.0, travel=travel, units="inch", as_printed=True)
    assert getattr(found, table) == pytest.approx(value, abs=1e-9)


def test_misprint_of_table_3_in_centimetres() -> None:
    at = Grip(25.0, 75.0)
    assert weight_limit(at, origin=75.0, travel=130.0, as_printed=True).distance == 0.86
    assert weight_limit(at, origin=75.0, travel=130.0).distance == pytest.approx(0.82 + 4.5 / 130.0)


def test_frequency_between_rows_and_beyond_them() -> None:
    """Table 5; p. 7 asks for straight lines between rows, p. 14 for 0.2 below that and nothing above the last row."""
    assert frequency_multiplier(0.01, "long", low=True) == 0.85
    assert frequency_multiplier(2.4, "short", low=True) == pytest.approx(0.91 + 0.4 * (0.88 - 0.91))
    assert frequency_multiplier(9.0, "long", low=True) == 0.0 and frequency_multiplier(9.0, "long", low=False) == 0.15
    assert (
        frequency_multiplier(15.0, "short", low=False) == 0.28 and frequency_multiplier(15.1, "short", low=False) == 0.0
    )


def test_reach_where_it_cannot_be_measured() -> None:
    """Page 8: H = 20 + W/2 from 25 cm up, 25 + W/2 below; 8 + W/2 and 10 + W/2 in inches, 10 in the border."""
    assert reach(30.0, 25.0, "metric") == 35.0 and reach(30.0, 24.9, "metric") == 40.0
    assert reach(12.0, 10.0, "inch") == 14.0 and reach(12.0, 9.9, "inch") == 16.0


def test_conditions_of_section_1_2() -> None:
    """Section 1.2, p. 5 and 6: each condition alone keeps the equation from applying; two steps do not."""
    assert why_not(Conditions()) is None and why_not(Conditions(steps=2, hours=8.0)) is None
    failing = [
        Conditions(hands=1), Conditions(hours=8.5), Conditions(standing=False), Conditions(room=False), Conditions(steady=False),
        Conditions(steps=3), Conditions(slow=False), Conditions(foothold=False), Conditions(fair_air=False), Conditions(people=2),
        Conditions(unaided=False),
    ]  # fmt: skip
    reasons = [why_not(each) for each in failing]
    assert None not in reasons and len(set(reasons)) == len(failing)
