"""Locating, whatever the layout: the least squares are the least, and what is found does not depend on how it is stated."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from slabwright.geometry.rigid import fit_rigid
from slabwright.geometry.touches import Equations, chance_outside, covariance_at, lies, radius_within
from slabwright.job.top_models import Datum
from slabwright.machine.registration import RegistrationError, locate

KINDS = st.sampled_from(["point", "edge along", "edge across"])
SPOT = st.tuples(KINDS, st.floats(0.0, 2000.0), st.floats(-500.0, 500.0), st.floats(0.02, 0.3))
LAYOUT = st.lists(SPOT, min_size=3, max_size=8)


def made(layout: list[tuple[str, float, float, float]], turn: float, seed: int) -> list[Datum]:
    draw = np.random.default_rng(seed)
    found = []
    for index, (kind, x, y, error) in enumerate(layout):
        at = np.array(
            (
                math.cos(turn) * x - math.sin(turn) * y + 300.0,
                math.sin(turn) * x + math.cos(turn) * y + 600.0,
            )
        )
        at += draw.normal(0.0, error, 2)
        found.append(
            Datum.model_validate(
                {"name": f"place {index}", "kind": kind, "stated": [x, y], "touched": at.tolist(), "error": error}
            )
        )
    return found


def squares(datums: list[Datum], turn: float, shift: tuple[float, float]) -> float:
    """Sum of (off / error)^2, written down anew."""
    total = 0.0
    for datum in datums:
        x, y = datum.touched[0] - shift[0], datum.touched[1] - shift[1]
        back = (math.cos(turn) * x + math.sin(turn) * y, -math.sin(turn) * x + math.cos(turn) * y)
        for axis, kinds in ((0, ("point", "edge across")), (1, ("point", "edge along"))):
            if datum.kind in kinds:
                total += ((back[axis] - datum.stated[axis]) / datum.error) ** 2
    return total


@settings(max_examples=80, deadline=None)
@given(LAYOUT, st.floats(-3.1, 3.1), st.integers(0, 10_000))
def test_nothing_near_it_is_better(layout: list[tuple[str, float, float, float]], turn: float, seed: int) -> None:
    datums = made(layout, turn, seed)
    try:
        located = locate(datums, {})
    except RegistrationError:
        assume(False)
    found = (math.radians(located.turn), located.shift_x, located.shift_y)
    least = squares(datums, found[0], found[1:])
    spread = np.sqrt(np.diag(located.covariance))
    draw = np.random.default_rng(seed + 1)
    for size in (0.01, 0.3, 3.0):
        for step in draw.normal(size=(8, 3)) * size * spread:
            other = squares(datums, found[0] + step[0], (found[1] + step[1], found[2] + step[2]))
            assert other >= least - 1e-6 * (1.0 + least)


@settings(max_examples=60, deadline=None)
@given(st.integers(3, 9), st.integers(0, 10_000), st.floats(-3.1, 3.1))
def test_points_agree_with_the_fit_by_singular_values(count: int, seed: int, turn: float) -> None:
    draw = np.random.default_rng(seed)
    stated = draw.uniform(-800.0, 800.0, (count, 2))
    rotation = np.array([(math.cos(turn), -math.sin(turn)), (math.sin(turn), math.cos(turn))])
    error = draw.uniform(0.02, 0.5, count)
    touched = stated @ rotation.T + (100.0, -50.0) + draw.normal(size=stated.shape) * error[:, None]
    other = fit_rigid(stated, touched, error**-2)
    axis = np.tile(np.array([0, 1], dtype=np.intp), count)
    best, _ = lies(Equations(axis, stated.ravel(), np.repeat(error, 2)), np.repeat(touched, 2, axis=0)[None])
    assert abs(math.remainder(float(best.turn[0]) - other.turn, 2.0 * math.pi)) < 1e-9
    assert np.abs(best.shift[0] - other.shift).max() < 1e-6


@settings(max_examples=60, deadline=None)
@given(LAYOUT, st.integers(0, 10_000), st.randoms())
def test_the_order_of_the_touches_does_not_matter(
    layout: list[tuple[str, float, float, float]], seed: int, shuffle: object
) -> None:
    datums = made(layout, 0.03, seed)
    try:
        one = locate(datums, {"a": (700.0, 100.0, 1.0)})
    except RegistrationError:
        assume(False)
    other = locate(datums[::-1], {"a": (700.0, 100.0, 1.0)})
    assert abs(one.turn - other.turn) < 1e-8
    assert abs(one.features[0].radius - other.features[0].radius) < 1e-6 * one.features[0].radius
    assert {datum.name for datum in one.datums if datum.odd} == {datum.name for datum in other.datums if datum.odd}


@settings(max_examples=60, deadline=None)
@given(LAYOUT, SPOT, st.integers(0, 10_000))
def test_one_more_touch_never_makes_it_less_sure(
    layout: list[tuple[str, float, float, float]], more: tuple[str, float, float, float], seed: int
) -> None:
    try:
        few = locate(made(layout, 0.02, seed), {})
        many = locate(made([*layout, more], 0.02, seed), {})
    except RegistrationError:
        assume(False)
    # A touch that moves the turn by degrees changes the equations themselves: the rule is one of small turns.
    assume(few.turn_error < 0.05 and abs(many.turn - few.turn) < 0.1)
    places = np.array([(0.0, 0.0), (1000.0, 300.0), (2000.0, -500.0)])
    assert (many.radius_at(places) / many.scale <= few.radius_at(places) / few.scale * 1.005).all()


@settings(max_examples=40, deadline=None)
@given(st.floats(0.01, 10.0), st.floats(0.0, 1.0), st.floats(0.0, 3.2), st.integers(0, 1000))
def test_radius_holds_its_share(size: float, ratio: float, way: float, seed: int) -> None:
    axes = np.array([(math.cos(way), -math.sin(way)), (math.sin(way), math.cos(way))])
    covariance = axes @ np.diag([size**2, (ratio * size) ** 2]) @ axes.T
    radius = float(radius_within(covariance[None])[0])
    assert 2.5758 * size <= radius * 1.0001 <= 3.0352 * size * math.sqrt(1.0)
    draw = np.random.default_rng(seed).normal(size=(40_000, 2)) * (size, ratio * size)
    assert abs(float((np.hypot(*draw.T) > radius).mean()) - 0.01) < 0.0025


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000))
def test_chance_of_one_place_agrees_with_its_radius(seed: int) -> None:
    draw = np.random.default_rng(seed)
    root = draw.normal(size=(3, 3)) * np.array([1e-4, 0.05, 0.05])[:, None]
    covariance = root @ root.T
    place = draw.uniform(-1000.0, 1000.0, (1, 2))
    radius = radius_within(covariance_at(covariance, place))
    assert abs(chance_outside(covariance, place, radius) - 0.01) < 2e-4
