import numpy as np
import pytest

from slabwright.geometry.faces import Floats, Grid, Scatter, as_scatter
from slabwright.geometry.hull_distance import hull_distance
from slabwright.geometry.pool import PoolSeeker
from slabwright.geometry.seeker import FEW, AllSeeker, seeker
from slabwright.geometry.strip import Strip, widest_strip
from slabwright.geometry.tiles import TileSeeker


def scatter(points: list[tuple[float, float, float]]) -> Scatter:
    x, y, z = np.array(points).T
    return Scatter(x, y, z)


def clears(strip: Strip, face_a: Scatter | Grid, face_b: Scatter | Grid) -> bool:
    upper, lower = as_scatter(face_a), as_scatter(face_b)
    above = bool((upper.z >= strip.planes.upper(upper.x, upper.y)).all())
    return above and bool((lower.z <= strip.planes.lower(lower.x, lower.y)).all())


CORNERS = [(0.0, 0.0), (2400.0, 0.0), (0.0, 950.0), (2400.0, 950.0)]


def test_flat_faces_keep_their_distance() -> None:
    strip = widest_strip(scatter([(x, y, 65.0) for x, y in CORNERS]), scatter([(x, y, 5.0) for x, y in CORNERS]))
    assert strip.thickness == pytest.approx(60.0, abs=1e-9)
    assert (strip.planes.a, strip.planes.b) == pytest.approx((0.0, 0.0), abs=1e-12)


def test_tilted_faces_give_the_normal_distance_not_the_vertical_one() -> None:
    upper = scatter([(x, y, 60.0 + 0.1 * x + 0.05 * y) for x, y in CORNERS])
    lower = scatter([(x, y, 0.1 * x + 0.05 * y) for x, y in CORNERS])
    strip = widest_strip(upper, lower)
    assert strip.thickness == pytest.approx(60.0 / np.sqrt(1.0 + 0.1**2 + 0.05**2), abs=1e-9)
    assert (strip.planes.a, strip.planes.b) == pytest.approx((0.1, 0.05), abs=1e-9)


def test_twist_common_to_both_faces_costs_its_whole_rise() -> None:
    """Faces twisted alike: each is a saddle of +-h at its corners; the planes lie level and each loses h."""
    upper = scatter([(x, y, 60.0 + 4.0 * np.sign(x - 1200) * np.sign(y - 475)) for x, y in CORNERS])
    lower = scatter([(x, y, 4.0 * np.sign(x - 1200) * np.sign(y - 475)) for x, y in CORNERS])
    strip = widest_strip(upper, lower)
    assert strip.thickness == pytest.approx(52.0, abs=1e-9)
    assert (len(strip.contacts_a), len(strip.contacts_b)) == (2, 2)


def test_a_single_high_spot_below_a_triangle_decides() -> None:
    upper = scatter([(0.0, 0.0, 50.0), (1000.0, 0.0, 50.0), (500.0, 800.0, 50.0)])
    lower = scatter([(0.0, 0.0, 0.0), (1000.0, 0.0, 0.0), (500.0, 800.0, 0.0), (500.0, 300.0, 7.0)])
    strip = widest_strip(upper, lower)
    assert strip.thickness == pytest.approx(43.0, abs=1e-9)
    assert strip.contacts_b.tolist() == [[500.0, 300.0, 7.0]]


def test_hulls_that_meet_give_no_board() -> None:
    upper = scatter([(x, y, 10.0) for x, y in CORNERS] + [(1200.0, 475.0, -2.0)])
    lower = scatter([(x, y, 0.0) for x, y in CORNERS])
    strip = widest_strip(upper, lower)
    assert strip.thickness == pytest.approx(-2.0, abs=1e-9)
    assert strip.bound == 0.0
    assert clears(strip, upper, lower)


def test_swapped_faces_give_no_board() -> None:
    high, low = scatter([(x, y, 60.0) for x, y in CORNERS]), scatter([(x, y, 0.0) for x, y in CORNERS])
    assert widest_strip(low, high).thickness == pytest.approx(-60.0, abs=1e-9)


def test_faces_that_touch_give_nothing_above_zero() -> None:
    face = scatter([(x, y, 5.0) for x, y in CORNERS])
    assert widest_strip(face, face).thickness == pytest.approx(0.0, abs=1e-9)


def test_one_reading_above_a_face() -> None:
    strip = widest_strip(scatter([(1200.0, 475.0, 40.0)]), scatter([(x, y, 0.0) for x, y in CORNERS]))
    assert strip.thickness == pytest.approx(40.0, abs=1e-9)


def test_readings_in_a_line_are_refused() -> None:
    line = [(100.0 * i, 50.0 * i, 0.0) for i in range(5)]
    with pytest.raises(ValueError, match="one line"):
        widest_strip(scatter([(x, y, z + 30.0) for x, y, z in line]), scatter(line))


def test_faces_beside_each_other_are_refused() -> None:
    beside = scatter([(x + 5000.0, y, 0.5) for x, y in CORNERS])
    with pytest.raises(ValueError, match="above one another"):
        widest_strip(scatter([(x, y, 0.0) for x, y in CORNERS]), beside)


def test_a_face_without_readings_is_refused() -> None:
    empty = Grid(np.arange(3.0), np.arange(3.0), np.full((3, 3), np.nan))
    with pytest.raises(ValueError, match="no readings"):
        widest_strip(empty, scatter([(x, y, 0.0) for x, y in CORNERS]))


def test_infinite_heights_are_refused() -> None:
    with pytest.raises(ValueError, match="finite"):
        widest_strip(scatter([(0, 0, np.inf), (1, 0, 5), (0, 1, 5)]), scatter([(0, 0, 0), (1, 0, 0), (0, 1, 0)]))


def test_two_facing_domes_settle() -> None:
    x, y = np.linspace(0.0, 2400.0, 241), np.linspace(0.0, 950.0, 96)
    dome = 5.0 * ((x[:, None] / 1200.0 - 1.0) ** 2 + (y / 475.0 - 1.0) ** 2)
    upper, lower = Grid(x, y, 60.0 + dome + 0.001 * x[:, None]), Grid(x, y, 0.001 * x[:, None] - dome)
    strip = widest_strip(upper, lower)
    assert 0.0 <= strip.bound - strip.thickness <= 1e-5
    assert strip.scans < 40
    assert clears(strip, upper, lower)


def rough_grid(seed: int, shape: tuple[int, int] = (250, 163)) -> Grid:
    draw = np.random.default_rng(seed)
    x, y = np.cumsum(draw.uniform(5.0, 15.0, shape[0])), np.cumsum(draw.uniform(3.0, 9.0, shape[1])) - 400.0
    z = 0.01 * x[:, None] - 0.004 * y + 3.0 * np.sin(x[:, None] / 300.0 + y / 200.0) + draw.normal(0.0, 0.3, shape)
    return Grid(x, y, z)


def brute(face: Scatter, a: float, b: float, lowest: bool) -> float:
    rest = face.z - a * face.x - b * face.y
    return float(rest.min() if lowest else rest.max())


SLOPES = [(0.0, 0.0), (0.01, -0.004), (-0.03, 0.02), (0.4, 1.0)]


@pytest.mark.parametrize("lowest", [True, False])
@pytest.mark.parametrize("holes", [0.0, 0.02, 0.9])
def test_tiles_find_the_extreme_of_all_readings(lowest: bool, holes: float) -> None:
    grid = rough_grid(1)
    grid.z[np.random.default_rng(2).random(grid.z.shape) < holes] = np.nan
    grid.z[:40, 100:] = np.nan
    turned = Grid(grid.x, grid.y, np.asfortranarray(grid.z))
    for face in (grid, turned):
        tiles = TileSeeker(face, lowest=lowest)
        for a, b in SLOPES:
            value, points = tiles.seek(a, b)
            assert value == pytest.approx(brute(as_scatter(grid), a, b, lowest), abs=1e-9)
            assert points[0, 2] - a * points[0, 0] - b * points[0, 1] == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize("lowest", [True, False])
@pytest.mark.parametrize("turned", [True, False])
def test_a_flat_face_read_tilted_takes_its_tiles_anew(lowest: bool, turned: bool) -> None:
    draw = np.random.default_rng(6)
    x, y = np.arange(600.0), np.arange(500.0)
    z = 0.05 * x[:, None] - 0.08 * y + draw.normal(0.0, 0.01, (600, 500))
    z[draw.random(z.shape) < 0.01] = np.nan
    grid = Grid(x, y, np.asfortranarray(z) if turned else z)
    tiles = TileSeeker(grid, lowest=lowest)
    before = tiles.opened
    for a, b in [(0.05, -0.08), (0.0501, -0.08), (0.0, 0.0), (0.05, -0.0799)]:
        assert tiles.seek(a, b)[0] == pytest.approx(brute(as_scatter(grid), a, b, lowest), abs=1e-9)
    assert tiles.opened - before < 100


@pytest.mark.parametrize("lowest", [True, False])
def test_a_pool_finds_the_extreme_of_all_readings(lowest: bool) -> None:
    face = as_scatter(rough_grid(3))
    pool = PoolSeeker(face, lowest=lowest)
    for a, b in [*SLOPES, (0.0101, -0.0041), (0.0, 0.0)]:
        assert pool.seek(a, b)[0] == pytest.approx(brute(face, a, b, lowest), abs=1e-9)


def test_a_pool_of_ties_finds_the_extreme() -> None:
    x, y = np.random.default_rng(0).uniform(0.0, 1000.0, (2, FEW + 10))
    face = Scatter(x, y, 3.0 + 0.01 * x - 0.02 * y)
    assert PoolSeeker(face, lowest=True).seek(0.01, -0.02)[0] == pytest.approx(3.0, abs=1e-9)


def test_the_quickest_seeker_is_taken() -> None:
    grid = rough_grid(4)
    assert isinstance(seeker(grid, lowest=True), TileSeeker)
    assert isinstance(seeker(as_scatter(grid), lowest=True), PoolSeeker)
    assert isinstance(seeker(rough_grid(4, (20, 10)), lowest=True), AllSeeker)


@pytest.mark.parametrize("seed", range(3))
def test_large_and_small_ways_agree(seed: int) -> None:
    """A grid by tiles, its readings as a scattered pool, and both by search of all come to the same planes."""
    lower, upper = rough_grid(seed), rough_grid(seed)
    upper.z[:] += 45.0 + np.random.default_rng(seed).normal(0.0, 0.3, upper.z.shape)
    by_tiles = widest_strip(upper, lower)
    by_pool = widest_strip(as_scatter(upper), as_scatter(lower))
    assert by_tiles.thickness == pytest.approx(by_pool.thickness, abs=1e-5)
    for strip in (by_tiles, by_pool):
        assert clears(strip, upper, lower)
        assert strip.bound - strip.thickness <= 1e-5


def test_far_from_the_origin_nothing_changes() -> None:
    lower, upper = rough_grid(7, (30, 20)), rough_grid(8, (30, 20))
    near = widest_strip(Grid(upper.x, upper.y, upper.z + 60.0), lower)
    far = widest_strip(
        Grid(upper.x + 1e6, upper.y - 2e6, upper.z + 3060.0), Grid(lower.x + 1e6, lower.y - 2e6, lower.z + 3000.0)
    )
    assert far.thickness == pytest.approx(near.thickness, abs=1e-6)


def cube(corner: Floats) -> Floats:
    return corner + np.array([(i, j, k) for i in (0, 1) for j in (0, 1) for k in (0, 1)], dtype=np.float64)


@pytest.mark.parametrize(
    ("shift", "distance"),
    [
        ((3.0, 0.0, 0.0), 2.0),  # face to face
        ((3.0, 3.0, 0.5), np.sqrt(8.0)),  # edge to edge
        ((3.0, 4.0, 5.0), np.sqrt(4.0 + 9.0 + 16.0)),  # corner to corner
        ((0.5, 0.5, 0.5), 0.0),  # one inside the other
        ((1.0, 0.0, 0.0), 0.0),  # touching
    ],
)
def test_distance_of_cubes(shift: tuple[float, float, float], distance: float) -> None:
    found = hull_distance(cube(np.zeros(3)), cube(np.array(shift)))
    assert found.distance == pytest.approx(distance, abs=1e-12)
    assert found.weights.sum() == pytest.approx(1.0)
    assert (found.weights >= 0.0).all()
