import numpy as np
import pytest

from slabwright.geometry.faces import Grid, Scatter
from slabwright.geometry.flatness import minimum_zone


def test_a_tilted_plane_is_flat() -> None:
    x, y = np.linspace(0.0, 2400.0, 9), np.linspace(0.0, 950.0, 5)
    zone = minimum_zone(Grid(x, y, 7.0 + 0.02 * x[:, None] - 0.1 * y))
    assert zone.width == pytest.approx(0.0, abs=1e-9)
    assert (zone.a, zone.b, zone.c) == pytest.approx((0.02, -0.1, 7.0), abs=1e-9)


def test_the_plane_given_lies_midway() -> None:
    face = Scatter(
        np.array([0.0, 100.0, 0.0, 100.0]), np.array([0.0, 0.0, 100.0, 100.0]), np.array([0.0, 1.0, 1.0, 0.0])
    )
    zone = minimum_zone(face)
    rest = face.z - zone.a * face.x - zone.b * face.y - zone.c
    assert rest.max() == pytest.approx(-rest.min(), abs=1e-9)
    assert rest.max() - rest.min() == pytest.approx(zone.width * np.sqrt(1.0 + zone.a**2 + zone.b**2), abs=1e-9)


def test_tilting_the_face_changes_no_width() -> None:
    draw = np.random.default_rng(3)
    points = np.column_stack([draw.uniform(-500.0, 500.0, (60, 2)), draw.normal(0.0, 1.0, 60)])
    flat = minimum_zone(points)
    turn = 0.3
    rotation = np.array([[np.cos(turn), 0.0, np.sin(turn)], [0.0, 1.0, 0.0], [-np.sin(turn), 0.0, np.cos(turn)]])
    assert minimum_zone(points @ rotation.T).width == pytest.approx(flat.width, abs=1e-8)


def test_the_bound_is_told_and_holds_for_many_directions() -> None:
    draw = np.random.default_rng(4)
    points = np.column_stack(
        [draw.uniform(0.0, 2400.0, 400), draw.uniform(0.0, 950.0, 400), draw.normal(0.0, 2.0, 400)]
    )
    zone = minimum_zone(points)
    ways = draw.normal(size=(2000, 3)) * np.array([0.02, 0.02, 1.0])
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    assert zone.bound <= zone.width <= zone.bound + 1e-3
    assert np.ptp(ways @ points.T, axis=1).min() >= zone.bound


@pytest.mark.parametrize("seed", range(4))
def test_compact_bodies_too(seed: int) -> None:
    """Against every direction of a fine half-sphere, none of which may be narrower than the zone."""
    points = np.random.default_rng(seed).normal(size=(25, 3))
    zone = minimum_zone(points)
    ways = np.random.default_rng(99).normal(size=(200_000, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    tried = float(np.ptp(ways @ points.T, axis=1).min())
    assert zone.width <= tried + 1e-12
    assert tried <= zone.width + 0.02


def test_readings_in_a_line_are_refused() -> None:
    with pytest.raises(ValueError, match="one line"):
        minimum_zone(np.array([(float(i), 2.0 * i, 0.1 * i * i) for i in range(5)]))


def test_two_readings_are_refused() -> None:
    with pytest.raises(ValueError, match="three"):
        minimum_zone(np.array([(0.0, 0.0, 0.0), (1.0, 0.0, 0.0)]))
