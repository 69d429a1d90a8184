import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from slabwright.geometry.faces import Floats, Scatter
from slabwright.geometry.strip import Strip, widest_strip

Readings = list[tuple[float, float, float]]

along = st.integers(0, 48).map(lambda step: 50.0 * step)
across = st.integers(0, 19).map(lambda step: 50.0 * step)
height = st.floats(-6.0, 6.0).map(lambda value: round(value, 3))
reading = st.tuples(along, across, height)
readings = st.lists(reading, min_size=3, max_size=40)

ROUNDING = 1e-7


def face(chosen: Readings, level: float) -> Scatter:
    x, y, z = np.array(chosen).T
    return Scatter(x, y, z + level)


def points(one: Scatter) -> Floats:
    return np.column_stack([one.x, one.y, one.z])


def spread(*faces: Scatter) -> bool:
    """Whether the readings span the plan widely enough to be told from a line."""
    for one in faces:
        plan = points(one)[:, :2]
        if len(plan) < 3 or np.linalg.svd(plan - plan.mean(axis=0), compute_uv=False)[1] < 30.0:
            return False
    return True


def overlapping(chosen_a: Readings, chosen_b: Readings, level: float = 60.0) -> tuple[Scatter, Scatter]:
    """Two faces with readings at the same four corners, so that they lie above one another."""
    corners = [(0.0, 0.0, 0.0), (2400.0, 0.0, 1.0), (0.0, 950.0, -1.0), (2400.0, 950.0, 0.5)]
    return face(corners + chosen_a, level), face(corners + chosen_b, 0.0)


def turned(one: Scatter, turn: Floats, shift: Floats) -> Scatter:
    moved = points(one) @ turn.T + shift
    return Scatter(moved[:, 0], moved[:, 1], moved[:, 2])


def solved(one: Scatter, other: Scatter) -> Strip:
    return widest_strip(one, other)


@given(readings, readings, st.sampled_from([60.0, 14.0, 8.0, 0.0]))
@settings(max_examples=120, deadline=None)
def test_every_reading_clears_its_plane_and_the_bound_is_met(
    chosen_a: Readings, chosen_b: Readings, level: float
) -> None:
    face_a, face_b = overlapping(chosen_a, chosen_b, level)
    strip = solved(face_a, face_b)
    assert (face_a.z >= strip.planes.upper(face_a.x, face_a.y)).all()
    assert (face_b.z <= strip.planes.lower(face_b.x, face_b.y)).all()
    assert strip.thickness == strip.planes.thickness
    assert strip.thickness <= strip.bound
    if strip.thickness > 1e-4:
        assert strip.bound - strip.thickness <= 1.1e-5
    else:
        assert strip.bound <= 1e-4


@given(readings, readings, st.floats(-0.05, 0.05), st.floats(-0.05, 0.05))
@settings(max_examples=80, deadline=None)
def test_no_other_slopes_give_more(chosen_a: Readings, chosen_b: Readings, a: float, b: float) -> None:
    face_a, face_b = overlapping(chosen_a, chosen_b)
    gap = (face_a.z - a * face_a.x - b * face_a.y).min() - (face_b.z - a * face_b.x - b * face_b.y).max()
    assert gap / np.sqrt(1.0 + a * a + b * b) <= solved(face_a, face_b).bound + ROUNDING


@given(
    readings, readings, st.floats(-1e5, 1e5), st.floats(-1e5, 1e5), st.floats(-1e3, 1e3), st.floats(0.0, 2.0 * np.pi)
)
@settings(max_examples=80, deadline=None)
def test_moving_and_turning_the_slab_in_plan_changes_no_thickness(
    chosen_a: Readings, chosen_b: Readings, east: float, north: float, up: float, turn: float
) -> None:
    face_a, face_b = overlapping(chosen_a, chosen_b)
    rotation = np.array([[np.cos(turn), -np.sin(turn), 0.0], [np.sin(turn), np.cos(turn), 0.0], [0.0, 0.0, 1.0]])
    shift = np.array([east, north, up])
    moved = solved(turned(face_a, rotation, shift), turned(face_b, rotation, shift))
    assert moved.thickness == pytest.approx(solved(face_a, face_b).thickness, abs=2e-5)


@given(readings, readings, reading, st.booleans())
@settings(max_examples=80, deadline=None)
def test_another_reading_never_adds_thickness(
    chosen_a: Readings, chosen_b: Readings, more: tuple[float, float, float], on_a: bool
) -> None:
    before = solved(*overlapping(chosen_a, chosen_b)).thickness
    after = solved(
        *overlapping([*chosen_a, more] if on_a else chosen_a, chosen_b if on_a else [*chosen_b, more])
    ).thickness
    assert after <= before + 1.1e-5


@given(readings, readings)
@settings(max_examples=60, deadline=None)
def test_turning_the_slab_over_changes_no_thickness(chosen_a: Readings, chosen_b: Readings) -> None:
    face_a, face_b = overlapping(chosen_a, chosen_b)
    over = np.diag([1.0, -1.0, -1.0])
    zero = np.zeros(3)
    flipped = solved(turned(face_b, over, zero), turned(face_a, over, zero))
    assert flipped.thickness == pytest.approx(solved(face_a, face_b).thickness, abs=2e-5)


@given(readings, readings)
@settings(max_examples=80, deadline=None)
def test_any_two_faces_end_in_planes_or_in_a_plain_refusal(chosen_a: Readings, chosen_b: Readings) -> None:
    """Faces that may lie beside each other, in a line, or through each other."""
    face_a, face_b = face(chosen_a, 3.0), face(chosen_b, 0.0)
    assume(spread(face_a, face_b))
    try:
        strip = solved(face_a, face_b)
    except ValueError as refusal:
        assert "above one another" in str(refusal)
        return
    assert (face_a.z >= strip.planes.upper(face_a.x, face_a.y)).all()
    assert (face_b.z <= strip.planes.lower(face_b.x, face_b.y)).all()
