"""Whatever goes into the promise, its steps add up and more to fear never promises more."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slabwright.slab.promise import Between, Promise, promise, tie_error
from slabwright.slab.survey import Tie

errors = st.floats(0.0, 2.0)


def between(seed: int, size: float) -> Between:
    generator = np.random.default_rng(seed)
    return Between(size * generator.gamma(3.0, 0.3, 400), size * generator.gamma(3.0, 0.2, 400))


def a_tie(offset: float, slope: float, bending: float) -> Tie:
    covariance = np.diag([offset**2, slope**2, slope**2, bending**2])
    return Tie(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, bending or None, (), offset, True, covariance)


def promised(
    thickness: float, lost: Between, *, tie: Tie | None = None, shim: float = 0.0, z: float = 0.0, marks: float = 0.0
) -> Promise:
    return promise(
        thickness,
        lost,
        tie=tie,
        tie_point=(800.0, 300.0),
        shim_loss=shim / 2.0,
        shim_error=shim,
        z_zero_error=z,
        marks_and_sanding=marks,
    )


@settings(max_examples=60, deadline=None)
@given(st.floats(5.0, 120.0), st.integers(0, 2**31), errors, errors, errors, errors, errors)
def test_steps_add_up(
    thickness: float, seed: int, size: float, offset: float, shim: float, z: float, marks: float
) -> None:
    result = promised(thickness, between(seed, size), tie=a_tie(offset, 1e-4, 0.1), shim=shim, z=z, marks=marks)
    assert thickness - sum(term.loss for term in result.terms) == pytest.approx(result.low, abs=1e-9)
    assert thickness - sum(term.median for term in result.terms) == pytest.approx(result.even, abs=1e-9)
    assert result.low <= result.even
    assert [term.name for term in result.terms] == ["between readings", "tie", "shims", "z zero", "marks and sanding"]


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**31), errors, errors, errors)
def test_more_allowance_promises_less(seed: int, z: float, more: float, marks: float) -> None:
    lost = between(seed, 0.5)
    plain = promised(50.0, lost, z=z, marks=marks)
    assert promised(50.0, lost, z=z + more, marks=marks).low <= plain.low + 1e-9
    assert promised(50.0, lost, z=z, marks=marks + more).low == pytest.approx(plain.low - 2.0 * more, abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.0, 1e-3), st.floats(0.0, 3000.0), st.floats(0.0, 1000.0))
def test_tie_error_is_the_propagated_covariance(offset: float, slope: float, x: float, y: float) -> None:
    assert tie_error(a_tie(offset, slope, 0.0), x, y) == pytest.approx(
        np.sqrt(offset**2 + slope**2 * (x * x + y * y)), abs=1e-9
    )


def test_a_normal_error_alone_costs_its_own_quantile() -> None:
    """One error of 1 mm, nothing else: 1.645 mm (the normal distribution's tables) at 95 %, nothing in an even-chance case."""
    none = Between(np.zeros(4000), np.zeros(4000))
    result = promised(50.0, none, tie=a_tie(1.0, 0.0, 0.0))
    assert 50.0 - result.low == pytest.approx(1.645, abs=0.01)
    assert result.even == pytest.approx(50.0, abs=1e-3)
