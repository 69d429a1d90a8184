import numpy as np
import pytest
from scipy.optimize import linprog

from slabwright.geometry.faces import Face, Floats, Grid, Scatter, as_scatter
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.strip import widest_strip
from slabwright.slab.balance import Infeasible, balance


def slab(seed: int, shape: tuple[int, int] = (17, 8)) -> tuple[Grid, Grid]:
    draw = np.random.default_rng(seed)
    x, y = np.linspace(0.0, 2400.0, shape[0]), np.linspace(0.0, 950.0, shape[1])
    u, v = x[:, None] / 1200.0 - 1.0, y / 475.0 - 1.0
    middle = draw.normal(0, 3) * u * v + draw.normal(0, 3) * v * v + draw.normal(0, 2) * u * u + draw.normal(0, 4) * u
    upper = middle + 33.0 + draw.normal(0, 1) * v + draw.normal(0, 0.3, shape)
    lower = middle - 33.0 + draw.normal(0, 0.3, shape)
    return Grid(x, y, upper), Grid(x, y, lower)


def points(face: Face) -> Floats:
    scatter = as_scatter(face)
    return np.column_stack([scatter.x, scatter.y, scatter.z])


def cuts(face_a: Face, face_b: Face, planes: PlanePair) -> tuple[Floats, Floats]:
    upper, lower = as_scatter(face_a), as_scatter(face_b)
    above = (upper.z - planes.upper(upper.x, upper.y)) / planes.slant
    return above, (planes.lower(lower.x, lower.y) - lower.z) / planes.slant


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("less", [0.0, 1e-6, 0.01, 1.0, 12.0])
def test_thickness_and_margins_are_kept_by_every_reading(seed: int, less: float) -> None:
    face_a, face_b = slab(seed)
    thickness = widest_strip(face_a, face_b).thickness - less - 1.2
    planes = balance(face_a, face_b, thickness, 0.8, 0.4)
    above, below = cuts(face_a, face_b, planes)
    assert planes.thickness == pytest.approx(thickness, abs=1e-9)
    assert above.min() >= 0.8 - 1e-9
    assert below.min() >= 0.4 - 1e-9


@pytest.mark.parametrize("seed", range(4))
def test_equal_to_the_whole_linear_programs(seed: int) -> None:
    """Least greatest depth, then least sum of differences: every reading in one program, solved in the frame of the answer."""
    face_a, face_b = slab(seed)
    thickness = widest_strip(face_a, face_b).thickness - 2.0
    planes = balance(face_a, face_b, thickness)
    above, below = cuts(face_a, face_b, planes)
    depth, least_sum = whole_programs(planes, points(face_a), points(face_b), thickness)
    assert max(above.max(), below.max()) == pytest.approx(depth, abs=1e-5)
    assert np.abs(above - below).sum() == pytest.approx(least_sum, rel=1e-3)


def whole_programs(planes: PlanePair, upper: Floats, lower: Floats, thickness: float) -> tuple[float, float]:
    middle = (upper.mean(axis=0) + lower.mean(axis=0)) / 2.0
    upper, lower = planes.to_seat(upper - middle), planes.to_seat(lower - middle)
    count, size = len(upper), 1200.0
    one, none = np.ones((count, 1)), np.zeros((count, 1))
    row_a = np.hstack([upper[:, :2] / size, one])
    row_b = np.hstack([lower[:, :2] / size, one])
    rows = np.vstack(
        [np.hstack([row_a, none]), np.hstack([-row_a, -one]), np.hstack([-row_b, none]), np.hstack([row_b, -one])]
    )
    right = np.concatenate([upper[:, 2], -upper[:, 2], -lower[:, 2] - thickness, lower[:, 2] + thickness])
    first = linprog([0, 0, 0, 1], A_ub=rows, b_ub=right, bounds=[(None, None)] * 4)
    assert first.x is not None
    depth = float(first.x[3])
    pair = np.hstack([row_a[:, :2] + row_b[:, :2], 2.0 * one])
    level = upper[:, 2] + lower[:, 2] + thickness
    slack = np.eye(count)
    second = linprog(
        np.concatenate([np.zeros(3), np.ones(count)]),
        A_ub=np.vstack(
            [
                np.hstack([rows[:, :3], np.zeros((4 * count, count))]),
                np.hstack([pair, -slack]),
                np.hstack([-pair, -slack]),
            ]
        ),
        b_ub=np.concatenate([right - depth * rows[:, 3], level, -level]),
        bounds=[(None, None)] * 3 + [(0, None)] * count,
    )
    assert second.fun is not None
    return depth, float(second.fun)


def test_both_faces_of_an_even_slab_lose_alike() -> None:
    """A slab whose faces are flat, parallel and tilted: the board lies halfway and takes the slab's tilt."""
    x, y = np.linspace(0.0, 2400.0, 13), np.linspace(0.0, 950.0, 6)
    lean = 0.01 * x[:, None] - 0.02 * y
    face_a, face_b = Grid(x, y, 60.0 + lean), Grid(x, y, lean)
    planes = balance(face_a, face_b, 50.0)
    above, below = cuts(face_a, face_b, planes)
    assert (planes.a, planes.b) == pytest.approx((0.01, -0.02), abs=1e-8)
    assert above == pytest.approx(below, abs=1e-5)


def test_the_greatest_depth_goes_before_the_balance() -> None:
    """One spike on face A: the planes rise towards it though the other readings would then be cut unevenly."""
    x, y = np.linspace(0.0, 2400.0, 13), np.linspace(0.0, 950.0, 6)
    spiked = np.full((13, 6), 60.0)
    spiked[6, 3] = 68.0
    planes = balance(Grid(x, y, spiked), Grid(x, y, np.zeros((13, 6))), 50.0)
    above, below = cuts(Grid(x, y, spiked), Grid(x, y, np.zeros((13, 6))), planes)
    assert max(above.max(), below.max()) == pytest.approx(9.0, abs=1e-4)


def test_scattered_readings_at_other_places_on_each_face() -> None:
    draw = np.random.default_rng(5)
    x_a, x_b = draw.uniform(0.0, 2400.0, (2, 3000))
    y_a, y_b = draw.uniform(0.0, 950.0, (2, 3000))
    face_a = Scatter(x_a, y_a, 60.0 + 0.002 * x_a + 1e-6 * (y_a - 475.0) ** 2)
    face_b = Scatter(x_b, y_b, 0.002 * x_b + 1e-6 * (y_b - 475.0) ** 2)
    planes = balance(face_a, face_b, 55.0)
    above, below = cuts(face_a, face_b, planes)
    assert min(above.min(), below.min()) >= -1e-9
    assert above.max() == pytest.approx(below.max(), abs=1e-4)
    assert (planes.a, planes.b) == pytest.approx((0.002, 0.0), abs=2e-4)


def test_large_grids_keep_every_reading() -> None:
    face_a, face_b = slab(3, (230, 140))
    face_a.z[:20, :9] = np.nan
    thickness = widest_strip(face_a, face_b).thickness - 1.0
    above, below = cuts(face_a, face_b, balance(face_a, face_b, thickness))
    assert min(above.min(), below.min()) >= -1e-9


def test_more_than_the_most_is_refused() -> None:
    face_a, face_b = slab(1)
    most = widest_strip(face_a, face_b).thickness
    with pytest.raises(Infeasible):
        balance(face_a, face_b, most + 1e-3)
    with pytest.raises(Infeasible):
        balance(face_a, face_b, most - 1.0, 0.8, 0.8)


def test_no_thickness_is_refused() -> None:
    face_a, face_b = slab(1)
    with pytest.raises(ValueError, match="greater than 0"):
        balance(face_a, face_b, 0.0)
