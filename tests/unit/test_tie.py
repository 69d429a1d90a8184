from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Face, Floats, Grid, Scatter, as_scatter
from slabwright.job.loaded import Readings
from slabwright.job.models import Slab
from slabwright.slab.local_height import local_height
from slabwright.slab.tie import Tie, tie

LENGTH = 2000.0
EXTENT = (0.0, LENGTH)
TURN, SHIFT = 0.003, np.array([14.0, -6.0])
OFFSET, SLOPE_X, SLOPE_Y, BENDING = 140.0, 0.004, -0.006, -0.7
PLACES = np.array(
    [(150, -300), (200, 310), (700, -250), (950, 40), (1050, -300), (1300, 280), (1850, -290), (1900, 300)], float
)


def upper(x: Floats, y: Floats) -> Floats:
    return np.asarray(62.0 + 1e-6 * (x - 900.0) ** 2 - 6e-6 * y**2 + 2e-6 * x * y)


def lower(x: Floats, y: Floats) -> Floats:
    return np.asarray(3.0 + 7e-7 * (x - 1000.0) ** 2 - 8e-6 * y**2 + 1e-3 * y)


def slab(**stated: Any) -> Slab:
    return Slab.model_validate({"species": "ash, white", **stated})


def own_frame(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Where places of face A's frame lie with face B up."""
    rotation = np.array([[np.cos(TURN), -np.sin(TURN)], [np.sin(TURN), np.cos(TURN)]])
    back = rotation.T @ (np.vstack([x, y]) - SHIFT[:, None])
    return back[0], -back[1]


def marks() -> list[dict[str, Any]]:
    a = np.array([(60.0, 0.0), (1940.0, 20.0)])
    b = np.column_stack(own_frame(*a.T))
    return [{"a": tuple(one), "b": tuple(two)} for one, two in zip(a.tolist(), b.tolist(), strict=True)]


def stations(step: float = 90.0) -> tuple[Floats, Floats]:
    x, y = np.meshgrid(np.arange(20.0, LENGTH, step), np.arange(-340.0, 341.0, step), indexing="ij")
    return x.ravel(), y.ravel()


def readings(places: Floats = PLACES, noise: float = 0.0, seed: int = 0) -> Readings:
    draw = np.random.default_rng(seed)
    x, y = stations()
    u = x / LENGTH
    own = OFFSET + SLOPE_X * x + SLOPE_Y * y + BENDING * 4 * u * (1 - u) - lower(x, y)
    bx, by = own_frame(x, y)
    thickness = upper(places[:, 0], places[:, 1]) - lower(places[:, 0], places[:, 1])
    return Readings(
        face_a=Scatter(x, y, upper(x, y) + draw.normal(0, noise, x.size)),
        face_b=Scatter(bx, by, own + draw.normal(0, noise, x.size)),
        outline_a=None,
        outline_b=None,
        callipers=np.column_stack([places, thickness + draw.normal(0, noise, len(places))]),
        two_setups=True,
        scanned=False,
    )


def tied(read: Readings, stated: Slab) -> tuple[Tie, Face]:
    return tie(read, stated, 12000.0, 670.0, EXTENT)


def test_exact_truth_comes_back() -> None:
    found, face_b = tied(readings(), slab(marks=marks(), reading_error=0.0))
    assert found.offset == pytest.approx(OFFSET, abs=1e-6)
    assert np.tan(np.radians(found.tilt_y)) == pytest.approx(SLOPE_X, abs=1e-9)
    assert np.tan(np.radians(found.tilt_x)) == pytest.approx(SLOPE_Y, abs=1e-9)
    assert found.bending == pytest.approx(BENDING, abs=1e-6)
    assert np.radians(found.turn) == pytest.approx(TURN, abs=1e-12)
    assert (found.shift_x, found.shift_y) == pytest.approx(tuple(SHIFT), abs=1e-9)
    assert np.abs(found.residuals).max() < 1e-6
    assert found.standard_error < 1e-5
    assert found.checked
    b = as_scatter(face_b)
    assert b.z == pytest.approx(lower(b.x, b.y), abs=1e-6)
    assert b.x == pytest.approx(stations()[0], abs=1e-9)


def test_grid_stays_a_grid_without_a_turn() -> None:
    x, y = np.linspace(0, LENGTH, 21), np.linspace(-300, 300, 7)
    gx, gy = np.meshgrid(x, y, indexing="ij")
    places = PLACES * (1.0, 0.9)
    read = Readings(
        face_a=Grid(x, y, upper(gx, gy)),
        face_b=Grid(x, y, 90.0 - lower(gx, -gy)),
        outline_a=None,
        outline_b=None,
        callipers=np.column_stack([places, upper(*places.T) - lower(*places.T)]),
        two_setups=True,
        scanned=False,
    )
    found, face_b = tied(read, slab(reading_error=0.0))
    assert isinstance(face_b, Grid)
    assert face_b.y == pytest.approx(y)
    assert face_b.z == pytest.approx(lower(gx, gy), abs=1e-6)
    assert found.offset == pytest.approx(90.0, abs=1e-6)


def test_covariance_is_what_comes_out() -> None:
    noise = 0.1
    # Places that were read on both faces: what is left is the gauge's and the callipers' noise alone.
    x, y = stations()
    places = np.column_stack([x, y])[[5, 3, 50, 66, 92, 100, 131, 139, 173, 170]]
    stated = slab(marks=marks(), reading_error=noise)
    found = [tied(readings(places, noise, seed), stated)[0] for seed in range(300)]
    values = np.array(
        [
            (one.offset, np.tan(np.radians(one.tilt_y)), np.tan(np.radians(one.tilt_x)), one.bending or 0.0)
            for one in found
        ]
    )
    expected = np.median([one.covariance for one in found], axis=0)
    deviation = np.sqrt(np.diag(expected))
    # Four standard errors of a standard deviation from 300 draws are 16 %.
    assert values.std(axis=0) / deviation == pytest.approx(np.ones(4), abs=0.17)
    pulls = (values - (OFFSET, SLOPE_X, SLOPE_Y, BENDING)) / deviation
    assert np.abs(pulls.mean(axis=0)).max() < 4 / np.sqrt(300)
    middle = values @ np.array([1.0, LENGTH / 2, float(places[:, 1].mean()), 1.0])
    assert middle.std() == pytest.approx(np.median([one.standard_error for one in found]), rel=0.17)


@pytest.mark.parametrize("count", [3, 4, 5])
def test_few_places_answer_unchecked(count: int) -> None:
    places = PLACES[[0, 7, 1, 6, 3][:count]]
    found, _ = tied(readings(places), slab(marks=marks()))
    assert not found.checked
    assert found.bending is None
    if count == 3:
        assert found.slips is not None
        assert not found.slips.any()
    # What the bow may be is in the error, so the truth stays within three of it.
    assert abs(BENDING) < 3.0 * np.sqrt(found.covariance[3, 3])
    many, _ = tied(readings(), slab(marks=marks()))
    assert found.standard_error > many.standard_error


def test_no_bow_without_places_near_the_middle() -> None:
    ends = np.array([(50, -300), (60, 300), (400, 0), (1600, 10), (1950, -300), (1960, 300), (300, 200)], float)
    found, _ = tied(readings(ends), slab(marks=marks()))
    assert found.bending is None
    assert found.checked


def test_stated_bed_leaves_no_doubt_about_a_bow() -> None:
    unknown, _ = tied(readings(PLACES[:4]), slab(marks=marks()))
    bearers, _ = tied(readings(PLACES[:4]), slab(marks=marks(), lay={"supports": [100, 1900]}))
    bed, _ = tied(readings(PLACES[:4]), slab(marks=marks(), lay={"full_support": True}))
    assert unknown.standard_error > bearers.standard_error > bed.standard_error
    assert bed.covariance[3, 3] == 0.0


def test_a_slip_shows_at_its_place() -> None:
    read = readings()
    read.callipers[4, 2] += 3.0
    found, _ = tied(read, slab(marks=marks()))
    assert found.slips is not None
    assert int(np.argmax(np.abs(found.slips[:, 1]))) == 4
    assert found.slips[4, 0] == pytest.approx(3.0, abs=1e-5)
    good, _ = tied(readings(), slab(marks=marks()))
    assert found.standard_error > 3.0 * good.standard_error


def test_one_mark_gives_the_shift_alone() -> None:
    found, _ = tied(readings(), slab(marks=marks()[:1]))
    assert found.turn == 0.0
    assert found.shift_x == pytest.approx(SHIFT[0], abs=1.0)


@pytest.mark.parametrize(
    ("places", "said"),
    [
        (PLACES[:2], "2 places"),
        (np.array([(100, 0), (900, 0), (1800, 0)], float), "in a line"),
        (np.array([(100, 100)] * 4, float), "in a line"),
        (np.array([(100, -300), (900, 300), (4800, 0)], float), r"place 3 .* off the readings"),
    ],
)
def test_places_that_tie_nothing(places: Floats, said: str) -> None:
    with pytest.raises(SlabwrightError, match=said):
        tied(readings(places), slab(marks=marks()))


def test_thickness_must_be_a_number_above_nothing() -> None:
    read = readings()
    read.callipers[2, 2] = -4.0
    with pytest.raises(SlabwrightError, match="greater than zero"):
        tied(read, slab(marks=marks()))


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ([((60, 0), (1940, 0)), ((1940, 0), (60, 0))], "turned 180 degrees"),
        ([((0, 0), (0, 0)), ((1900, 0), (1900, 0)), ((1000, 300), (1000, 300))], "mirrored"),
        ([((60, 0), (60, 0)), ((1940, 0), (1840, 0))], "miss each other"),
        ([((60, 0), (60, 0)), ((60, 0), (60, 0))], "coincide"),
    ],
)
def test_marks_that_do_not_fit(changed: list[tuple[tuple[float, float], tuple[float, float]]], said: str) -> None:
    with pytest.raises(SlabwrightError, match=said):
        tied(readings(), slab(marks=[{"a": a, "b": b} for a, b in changed]))


@pytest.mark.parametrize("step", [30.0, 120.0])
def test_local_height_errs_as_it_says(step: float) -> None:
    draw = np.random.default_rng(6)
    pulls = []
    for _ in range(200):
        ahead = draw.uniform(0, 2 * np.pi, (2, 6))
        number = draw.uniform(0.005, 0.02, (2, 6))

        def rough(x: Floats, y: Floats, ahead: Floats = ahead, number: Floats = number) -> Floats:
            waves = np.cos(np.multiply.outer(x, number[0]) + ahead[0]) * np.cos(
                np.multiply.outer(y, number[1]) + ahead[1]
            )
            return np.asarray(0.4 * waves.sum(axis=-1))

        x, y = np.meshgrid(np.arange(8) * step, np.arange(8) * step, indexing="ij")
        face = Scatter(x.ravel(), y.ravel(), rough(x.ravel(), y.ravel()) + draw.normal(0, 0.1, 64))
        at = draw.uniform(1.5 * step, 5.5 * step, 2)
        height, variance = local_height(face, at[0], at[1], 0.1)
        pulls.append((height - rough(at[:1], at[1:])[0]) / np.sqrt(variance))
    assert 0.5 < np.std(pulls) < 1.2


def test_local_height_of_a_reading_is_the_reading() -> None:
    x, y = stations()
    face = Scatter(x, y, upper(x, y))
    height, variance = local_height(face, x[40], y[40], 0.2)
    assert height == face.z[40]
    assert variance == pytest.approx(0.04)


def test_local_height_wants_more_than_a_line() -> None:
    face = Scatter(np.arange(5.0) * 100, np.zeros(5), np.zeros(5))
    with pytest.raises(SlabwrightError, match="in a line"):
        local_height(face, 250.0, 0.0, 0.1)
