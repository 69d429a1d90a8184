"""Cup from the rings, and the steel that holds it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from slabwright.quantities import INCH
from slabwright.reference.fasteners import Section, fasteners
from slabwright.reference.wood import species
from slabwright.top.movement import MoistureRange, Movement, movement
from slabwright.top.movement_findings import flatness_findings
from slabwright.top.rings import RingPattern, tangential_run
from slabwright.top.staying_flat import ALLOWED, cup, face_rise, hold, second_moment, staying_flat

ASH = species("ash, white")
FLAT, QUARTER = RingPattern(0.0, None, 15.0), RingPattern(90.0, None, 0.0)
BELOW = RingPattern(None, (0.0, 250.0), 0.0)
DRIES = (-0.02, -0.012)


def top(pattern: RingPattern, width: float = 900.0, thickness: float = 50.0) -> Movement:
    return movement(width, thickness, ASH, 9.0, MoistureRange(6.0, 11.5), pattern)


def test_the_free_shape_strains_as_the_rings_ask() -> None:
    """The moved section itself, by finite differences: e_T along the rings, e_R square to them, no shear between.

    Small strains: u_y is the sum of the strains along the width, the rise is `face_rise`.
    """
    pith, step = (40.0, 300.0), 0.01
    pattern = RingPattern(None, pith, 0.0)

    def moved(y: float, d: float) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        side, height = y - pith[0], pith[1] - d
        along = DRIES[1] * side + (DRIES[0] - DRIES[1]) * height * math.atan(side / height)
        return np.array([along, float(face_rise(pattern, DRIES, np.array([y]), d)[0])])

    for y, d in ((-200.0, 10.0), (40.0, 0.0), (150.0, 30.0)):
        by_y = (moved(y + step, d) - moved(y - step, d)) / (2 * step)
        by_z = (moved(y, d - step) - moved(y, d + step)) / (2 * step)
        strain = np.array([[by_y[0], (by_y[1] + by_z[0]) / 2], [(by_y[1] + by_z[0]) / 2, by_z[1]]])
        outward = np.array([y - pith[0], pith[1] - d])
        outward /= np.linalg.norm(outward)
        along = np.array([outward[1], -outward[0]])
        assert along @ strain @ along == pytest.approx(DRIES[0], abs=1e-7)
        assert outward @ strain @ outward == pytest.approx(DRIES[1], abs=1e-7)
        assert along @ strain @ outward == pytest.approx(0.0, abs=1e-7)


def test_the_width_of_that_shape_is_the_movement_of_the_width() -> None:
    run = float(tangential_run(BELOW, np.array([300.0]), 1e-6)[0])
    assert run == pytest.approx(250.0 * math.atan(300.0 / 250.0), rel=1e-6)


def test_a_drying_board_cups_away_from_the_heart() -> None:
    """Pith below the show face: its edges rise, the show face goes hollow; damp, the other way; pith above, mirrored."""
    assert cup(BELOW, DRIES, 500.0, 50.0) > 0
    assert cup(BELOW, (0.02, 0.012), 500.0, 50.0) < 0
    above = RingPattern(None, (0.0, -200.0), 0.0)
    assert cup(above, DRIES, 500.0, 50.0) == pytest.approx(-cup(BELOW, DRIES, 500.0, 50.0))


def test_the_cup_by_hand() -> None:
    """225 mm over the pith, 250 mm half width: 0.008 x 250 x atan(250 / 225) = 1.676 mm."""
    assert cup(BELOW, DRIES, 500.0, 50.0) == pytest.approx(0.008 * 250.0 * math.atan(250.0 / 225.0), rel=1e-3)


def test_quarter_sawn_and_pith_centred_slabs_hardly_cup() -> None:
    assert cup(RingPattern(None, (-800.0, 25.0), 0.0), DRIES, 500.0, 50.0) == pytest.approx(0.0, abs=1e-9)
    assert cup(RingPattern(None, (0.0, 25.0), 0.0), DRIES, 500.0, 50.0) == pytest.approx(0.0, abs=1e-9)
    flat, quarter = staying_flat(2000.0, ASH, top(FLAT), FLAT), staying_flat(2000.0, ASH, top(QUARTER), QUARTER)
    assert quarter.cup_most < 0.2 < flat.cup_least < abs(flat.cup_dry) < flat.cup_most
    assert not flat.side_known
    assert staying_flat(2000.0, ASH, top(BELOW), BELOW).side_known


def test_sections_by_hand() -> None:
    plate, plate_modulus = second_moment(Section("", "metric", "plate", 100.0, 10.0, None))
    assert plate == pytest.approx(100.0 * 10.0**3 / 12.0)
    assert plate_modulus == pytest.approx(100.0 * 10.0**2 / 6.0)
    # Two strips 4 x 11 on a web 38 x 4: middle at (152 x 2 + 88 x 9.5) / 240 = 4.75 mm.
    channel, modulus = second_moment(Section("", "metric", "let-in channel", 38.0, 15.0, 4.0))
    by_hand = 38 * 4**3 / 12 + 152 * 2.75**2 + 8 * 11**3 / 12 + 88 * 4.75**2
    assert channel == pytest.approx(by_hand)
    assert modulus == pytest.approx(by_hand / 10.25)


def test_steel_shares_the_bending_with_the_wood() -> None:
    steel = Section("", "metric", "plate", 100.0, 10.0, None)
    stiffness = fasteners().steel_modulus * 100.0 * 10.0**3 / 12.0
    half = hold(steel, 800.0, 800.0, 2.0, wood=stiffness)
    assert half.cup_left == pytest.approx(1.0)
    assert half.moment == pytest.approx(stiffness * 8.0 * 2.0 / 800.0**2 / 2.0)
    assert half.stress == pytest.approx(half.moment / half.section_modulus)
    short = hold(steel, 400.0, 800.0, 2.0, wood=stiffness)
    assert 1.0 < short.cup_left < 2.0  # beyond the steel's ends the wood cups as it likes
    assert hold(steel, 800.0, 800.0, 2.0, wood=stiffness * 1e6).cup_left == pytest.approx(2.0, rel=1e-4)


@pytest.mark.parametrize("units", ["metric", "inch"])
def test_the_steel_that_is_named_holds_and_nothing_lighter_does(units: str) -> None:
    found = staying_flat(2400.0, ASH, top(FLAT), FLAT, units="inch" if units == "inch" else "metric")
    names = [one.name for one in found.choices]
    assert found.take in names
    place = names.index(found.take)
    assert found.choices[place].holds
    assert found.choices[place].cup_left <= ALLOWED
    assert not any(one.holds for one in found.choices[:place])
    told = {one.code: one for one in flatness_findings(found, "metric")}
    assert str(found.take) in told["top/cups"].remedy
    assert "Finish both faces alike" in told["top/finish-both-faces"].remedy


def test_stated_steel_that_holds_is_enough_and_a_thin_plate_is_not() -> None:
    angle = Section("angle", "metric", "angle", 50.0, 50.0, 5.0)
    strong = staying_flat(2400.0, ASH, top(FLAT), FLAT, stated=[(angle, 850.0), (angle, 850.0)])
    assert strong.take is None
    assert {one.code for one in flatness_findings(strong, "metric")} == {"top/cup-held", "top/finish-both-faces"}
    thin = Section("plate", "metric", "plate", 100.0, 6.0, None)
    weak = staying_flat(2400.0, ASH, top(FLAT), FLAT, stated=[(thin, 400.0), (thin, 400.0)])
    assert weak.take is not None
    told = next(one for one in flatness_findings(weak, "metric") if one.code == "top/cups")
    assert "what is stated leaves" in told.message


def test_where_no_usual_steel_holds_it_is_said() -> None:
    wide = staying_flat(3000.0, ASH, top(FLAT, 1500.0, 110.0), FLAT, pieces=1)
    assert wide.take is None
    assert (
        "lay in more pieces" in next(one for one in flatness_findings(wide, "metric") if one.code == "top/cups").remedy
    )


def test_a_narrow_board_needs_nothing() -> None:
    found = staying_flat(1000.0, ASH, top(FLAT, 200.0), FLAT)
    assert found.take is None
    assert [one.code for one in flatness_findings(found, "inch")] == ["top/finish-both-faces"]


def test_one_bare_face_bends_the_top_as_a_strip() -> None:
    """A circle whose inner face is 1 % of moisture shorter: radius = thickness / strain, rise = width^2 / (8 radius)."""
    found = staying_flat(1000.0, ASH, top(FLAT, 36.0 * INCH), FLAT)
    radius = 50.0 / 0.00274
    assert found.cup_one_face == pytest.approx((36.0 * INCH) ** 2 / (8.0 * radius))


def test_the_pith_in_the_slab_is_warned_of() -> None:
    pith = RingPattern(None, (0.0, 25.0), 0.0)
    codes = [one.code for one in flatness_findings(staying_flat(1000.0, ASH, top(pith), pith), "metric")]
    assert "top/pith-inside" in codes
