"""Sag against the closed forms of beam tables (AISC Manual, beam diagrams and formulas; Roark, table of shear, moment, slope and
deflection for elastic straight beams; all from memory)."""

from __future__ import annotations

import numpy as np
import pytest

from slabwright.findings import SlabwrightError
from slabwright.slab.sag import GRAVITY, deflection, reactions

LENGTH, THICKNESS, DENSITY, MODULUS = 2400.0, 60.0, 670.0, 12000.0
LOAD = DENSITY * 1e-9 * GRAVITY * THICKNESS
STIFFNESS = MODULUS * THICKNESS**3 / 12.0


def bent(x: list[float], supports: list[float], length: float = LENGTH) -> np.ndarray:
    return deflection(np.array(x), supports, length, THICKNESS, DENSITY, MODULUS)


def test_simple_beam() -> None:
    # Uniform load, simply supported: 5 w l^4 / (384 E I) at mid-span; w x (l^3 - 2 l x^2 + x^3) / (24 E I) anywhere.
    at = np.array([0.0, 300.0, 700.0, 1200.0, 2400.0])
    form = -LOAD * at * (LENGTH**3 - 2 * LENGTH * at**2 + at**3) / (24 * STIFFNESS)
    assert bent(at.tolist(), [0.0, LENGTH]) == pytest.approx(form, abs=1e-12)
    assert bent([1200.0], [0.0, LENGTH])[0] == pytest.approx(-5 * LOAD * LENGTH**4 / (384 * STIFFNESS), rel=1e-12)


def test_beam_overhanging_one_bearer() -> None:
    # Span l and overhang a: between x (l^4 - 2 l^2 x^2 + l x^3 - 2 a^2 l^2 + 2 a^2 x^2) w / (24 E I l),
    # at the free end w a (4 a^2 l - l^3 + 3 a^3) / (24 E I).
    span, over = 1700.0, 700.0
    at = 600.0
    inside = span**4 - 2 * span**2 * at**2 + span * at**3 - 2 * over**2 * span**2 + 2 * over**2 * at**2
    end = over * (4 * over**2 * span - span**3 + 3 * over**3)
    forms = [-LOAD * at * inside / (24 * STIFFNESS * span), -LOAD * end / (24 * STIFFNESS)]
    assert bent([at, LENGTH], [0.0, span]) == pytest.approx(forms, rel=1e-10)


def test_beam_overhanging_both_bearers() -> None:
    # Equal overhangs a, span l: middle w l^2 (5 l^2 - 24 a^2) / (384 E I), ends w a (3 a^2 (a + 2 l) - l^3) / (24 E I).
    span, over = 1200.0, 600.0
    middle = span**2 * (5 * span**2 - 24 * over**2) / 384
    end = over * (3 * over**2 * (over + 2 * span) - span**3) / 24
    forms = np.array([middle, end]) * -LOAD / STIFFNESS
    assert bent([LENGTH / 2, 0.0], [over, over + span]) == pytest.approx(forms, rel=1e-9)


def test_two_equal_spans() -> None:
    # Three bearers, each span l: reactions 3/8, 5/4, 3/8 w l; greatest sag w l^4 / (185 E I) at 0.4215 l.
    span = LENGTH / 2
    assert reactions([0.0, span, LENGTH], LENGTH) == pytest.approx([0.1875, 0.625, 0.1875], abs=1e-12)
    deepest = bent(np.linspace(0, span, 2001).tolist(), [0.0, span, LENGTH])
    assert -deepest.min() == pytest.approx(LOAD * span**4 / (185 * STIFFNESS), rel=2e-3)
    assert np.linspace(0, 1, 2001)[np.argmin(deepest)] == pytest.approx(0.4215, abs=1e-3)


def test_three_equal_spans() -> None:
    # Four bearers: reactions 0.4, 1.1, 1.1, 0.4 w l; greatest sag 0.0069 w l^4 / (E I).
    span = LENGTH / 3
    assert reactions([0.0, span, 2 * span, LENGTH], LENGTH) == pytest.approx(
        [0.4 / 3, 1.1 / 3, 1.1 / 3, 0.4 / 3], abs=1e-12
    )
    deepest = bent(np.linspace(0, span, 501).tolist(), [0.0, span, 2 * span, LENGTH]).min()
    assert -deepest == pytest.approx(0.0069 * LOAD * span**4 / STIFFNESS, rel=5e-3)


def test_ash_slab_over_two_metres() -> None:
    # A 60 mm ash slab sags some 0.4 mm over 2 m and 0.8 mm over 2.4 m.
    for span, sag in ((2000.0, 0.4), (2400.0, 0.8)):
        assert -bent([span / 2], [0.0, span], span)[0] == pytest.approx(sag, rel=0.15)


def test_slab_lifts_off_a_bearer() -> None:
    # The long overhang beyond the last bearer lifts the slab off the middle one, as if that were not there.
    places = [0.0, 600.0, 1300.0]
    assert reactions(places, LENGTH) == pytest.approx([1 - 1200 / 1300, 0.0, 1200 / 1300])
    heights = bent(places, places)
    assert heights[1] > 0.01
    assert heights == pytest.approx(bent(places, [0.0, 1300.0]))


def test_turned_end_for_end_it_is_the_same() -> None:
    draw = np.random.default_rng(4)
    for _ in range(20):
        supports = np.sort(np.append(draw.uniform(0, 2400, 3), [100.0, 2350.0]))
        x = np.linspace(0, 2400, 9)
        there = deflection(x, supports.tolist(), LENGTH, THICKNESS, DENSITY, MODULUS)
        back = deflection(LENGTH - x, (LENGTH - supports).tolist(), LENGTH, THICKNESS, DENSITY, MODULUS)
        assert there == pytest.approx(back, abs=1e-9)
        assert deflection(supports, supports.tolist(), LENGTH, THICKNESS, DENSITY, MODULUS).min() > -1e-9


@pytest.mark.parametrize(
    ("supports", "said"),
    [([1200.0], "two bearers at least"), ([-50.0, 2000.0], "beyond the slab's end"), ([100.0, 900.0], "tip off")],
)
def test_bearers_that_do_not_carry(supports: list[float], said: str) -> None:
    with pytest.raises(SlabwrightError, match=said):
        bent([0.0], supports)
