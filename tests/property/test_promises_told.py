"""What is promised at least is never told as more, and what is promised at most never as less."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slabwright.accounts import Account, Description
from slabwright.job import load_job
from slabwright.plan import plan
from slabwright.quantities import INCH, POUND, POUND_FORCE, Rounds, Units
from slabwright.web.figures import told
from slabwright.why import all_accounts, shown

EXAMPLES = Path(__file__).parents[2] / "examples"
IN_INCHES = {'"': INCH, "lb": POUND, "oz": POUND / 16.0, "lbf": POUND_FORCE, "hours": 1.0}
METRIC = {"mm": 1.0, "kg": 1.0, "g": 0.001, "N": 1.0, "hours": 1.0}
_NO_MORE = 1e-5
"""Share of a step that is let pass: a figure on the grid is told as it is, whatever a float does to it."""


def said(text: str) -> float:
    """What a text stands for, in mm, kg, N or hours."""
    plain = text.replace("\u00a0", "").replace("\u2212", "-")
    if plain.endswith('"'):
        return float(plain[:-1]) * INCH
    number, unit = plain.split(" ")
    return float(number) * (IN_INCHES | METRIC)[unit]


@pytest.mark.parametrize("rounds", ["down", "up"])
@pytest.mark.parametrize("units", ["metric", "inch"])
@given(
    size=st.floats(1e-3, 1e5), unit=st.sampled_from(["mm", "kg", "N", "hour"]), sign=st.sampled_from([1.0, 1.0, -1.0])
)
def test_a_promise_is_told_so_that_it_stays_true(
    rounds: Rounds, units: Units, size: float, unit: str, sign: float
) -> None:
    value = size * (sign if unit == "mm" else 1.0)
    account = Account("slab.figure", value, Description(unit, "a promise", rounds=rounds))
    for text in (shown(value, unit, units, "EUR", rounds), told(account, units, "EUR")):
        off = said(text) - value
        slack = _NO_MORE * max(1.0, abs(value))
        assert (off <= slack) if rounds == "down" else (off >= -slack), text
        assert abs(off) <= max(0.1, abs(value) * 2e-3) * 1.2, "and no further off"


def test_what_is_on_the_grid_is_told_as_it_is() -> None:
    def length(value: float, rounds: Rounds, units: Units = "metric") -> str:
        return told(Account("slab.figure", value, Description("mm", "a promise", rounds=rounds)), units, "EUR")

    assert [length(55.0, "down"), length(55.0, "up")] == ["55.0 mm", "55.0 mm"]
    assert [length(54.97, "down"), length(54.91, "up")] == ["54.9 mm", "55.0 mm"]
    assert [length(2.786, "down"), length(2.781, "up")] == ["2.78 mm", "2.79 mm"]
    assert [length(-14.15, "down"), length(-5.897, "up")] == ["-14.2 mm", "-5.89 mm"]
    assert length(54.99, "down", "inch") == '2.164"'
    assert shown(1332.84, "N", "metric", "EUR", "down") == "1\u00a0332 N"
    assert shown(120.04, "kg", "metric", "EUR", "up") == "120.1 kg"


def test_the_promises_of_a_plan_are_marked() -> None:
    marked = {
        account.path: account.description.rounds
        for account in all_accounts(plan(load_job(EXAMPLES / "hall-desk" / "job.toml"), scheduled=False))
    }
    least = ["slab.seat.thickness_low", "slab.seat.thickness_low_filled", "slab.ways[0].thickness_low"]
    least += ["top.placement.thickness", "base.tip_load", "carry.mass.low"]
    assert {marked[path] for path in least} == {"down"}
    assert {marked[path] for path in ("slab.seat.bound", "carry.mass.high", "carry.lifts[0].mass_high")} == {"up"}
    assert marked["slab.seat.thickness"] == "", "what is likely is told to the nearest"
