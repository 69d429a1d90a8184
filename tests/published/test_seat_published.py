"""The seat and minimum-zone flatness against routes and values from outside the project.

No coordinate list with published minimum-zone values could be read; the sets below have exact values by their geometry.
"""

import numpy as np
import pytest
from scipy.optimize import linprog
from sklearn.svm import SVC

from slabwright.geometry.faces import Face, Floats, Grid, Scatter, as_scatter
from slabwright.geometry.flatness import minimum_zone
from slabwright.geometry.planes import PlanePair
from slabwright.geometry.strip import widest_strip


def survey(seed: int, kind: str, level: float = 62.0) -> tuple[Face, Face]:
    """Readings of a cupped, twisted, wedged slab with a dip in face A."""
    draw = np.random.default_rng(seed)
    cup, twist, bow, lean, wedge = draw.normal(0.0, 3.0, 5)
    at_x, at_y = draw.uniform(200.0, 2200.0), draw.uniform(100.0, 850.0)

    def heights(x: Floats, y: Floats, upper: bool) -> Floats:
        u, v = x / 1200.0 - 1.0, y / 475.0 - 1.0
        z = cup * v * v + twist * u * v + bow * u * u + lean * u + draw.normal(0.0, 0.3, u.shape)
        dip = 6.0 * np.exp(-(((x - at_x) / 150.0) ** 2) - ((y - at_y) / 90.0) ** 2)
        return np.asarray(z + (level + 0.5 * wedge * v - dip if upper else 0.0))

    if kind == "gridded":
        x, y = np.linspace(0.0, 2400.0, 49), np.linspace(0.0, 950.0, 20)
        mesh_x, mesh_y = np.meshgrid(x, y, indexing="ij")
        outside = (mesh_x < 300.0) & (mesh_y > 700.0)
        upper, lower = heights(mesh_x, mesh_y, True), heights(mesh_x, mesh_y, False)
        return Grid(x, y, np.where(outside, np.nan, upper)), Grid(x, y, np.where(outside, np.nan, lower))
    x_a, x_b = draw.uniform(0.0, 2400.0, (2, 900))
    y_a, y_b = draw.uniform(0.0, 950.0, (2, 900))
    return Scatter(x_a, y_a, heights(x_a, y_a, True)), Scatter(x_b, y_b, heights(x_b, y_b, False))


def points(face: Face) -> Floats:
    scatter = as_scatter(face)
    return np.column_stack([scatter.x, scatter.y, scatter.z])


def highs_vertical(upper: Floats, lower: Floats) -> tuple[float, float, float]:
    """HiGHS (through SciPy's linprog), one row for each reading: slopes and the greatest vertical distance."""
    size = 1000.0
    above = np.column_stack([upper[:, :2] / size, np.ones(len(upper)), np.zeros(len(upper))])
    below = np.column_stack([-lower[:, :2] / size, np.zeros(len(lower)), -np.ones(len(lower))])
    solved = linprog(
        [0.0, 0.0, -1.0, 1.0],
        A_ub=np.vstack([above, below]),
        b_ub=np.concatenate([upper[:, 2], -lower[:, 2]]),
        bounds=[(None, None)] * 4,
        method="highs",
    )
    assert solved.x is not None
    assert solved.fun is not None
    return float(solved.x[0] / size), float(solved.x[1] / size), -float(solved.fun)


def highs_thickness(upper: Floats, lower: Floats) -> float:
    """The vertical optimum over sqrt(1 + a^2 + b^2), solved again in its own frame until the tilt is nil."""
    middle = upper.mean(axis=0)
    turn, thickness = np.eye(3), 0.0
    for _ in range(20):
        a, b, gap = highs_vertical((upper - middle) @ turn.T, (lower - middle) @ turn.T)
        thickness = gap / float(np.sqrt(1.0 + a * a + b * b))
        normal = turn.T @ np.array([-a, -b, 1.0])
        turn = PlanePair(float(-normal[0] / normal[2]), float(-normal[1] / normal[2]), 0.0, 0.0).rotation()
        if max(abs(a), abs(b)) < 1e-7:
            return thickness
    raise AssertionError("the general solver did not settle")


@pytest.mark.parametrize("kind", ["gridded", "scattered"])
@pytest.mark.parametrize("seed", range(12))
def test_seat_equals_a_general_solver(seed: int, kind: str) -> None:
    """Source of the reference: HiGHS, https://highs.dev, as shipped with SciPy."""
    face_a, face_b = survey(seed, kind)
    strip = widest_strip(face_a, face_b)
    assert strip.thickness == pytest.approx(highs_thickness(points(face_a), points(face_b)), abs=1e-3)
    assert 0.0 <= strip.bound - strip.thickness <= 1e-3


@pytest.mark.parametrize("seed", range(6))
def test_no_board_equals_a_general_solver(seed: int) -> None:
    """Faces that pass through each other: the signed problem, again against HiGHS."""
    face_a, face_b = survey(seed, "scattered", level=1.0)
    strip = widest_strip(face_a, face_b)
    assert strip.thickness < 0.0
    assert strip.thickness == pytest.approx(highs_thickness(points(face_a), points(face_b)), abs=1e-3)


@pytest.mark.parametrize("kind", ["gridded", "scattered"])
@pytest.mark.parametrize("seed", range(4))
def test_hull_distance_equals_a_support_vector_machine(seed: int, kind: str) -> None:
    """The margin 2 / ||w|| of a hard-margin linear support vector machine is the distance of the two hulls.

    Source of the reference: scikit-learn's SVC, https://scikit-learn.org. For its sake lengths are in 100 mm.
    """
    face_a, face_b = survey(seed, kind)
    upper, lower = points(face_a), points(face_b)
    both = (np.vstack([upper, lower]) - upper.mean(axis=0)) / 100.0
    machine = SVC(kernel="linear", C=1e10, tol=1e-8)
    machine.fit(both, np.repeat([1, -1], [len(upper), len(lower)]))
    margin = 200.0 / float(np.linalg.norm(machine.coef_))
    strip = widest_strip(face_a, face_b)
    assert strip.thickness == pytest.approx(margin, abs=1e-3)
    a, b = -machine.coef_[0, :2] / machine.coef_[0, 2]
    assert (strip.planes.a, strip.planes.b) == pytest.approx((a, b), abs=1e-5)


def test_regular_tetrahedron() -> None:
    """Edge 1: two opposite edges lie 1/sqrt(2) apart, a corner and its facet sqrt(2/3): the lesser is the width.

    Textbook geometry; methods that try facets only answer 0.8165.
    """
    corners = np.array([(0, 0, 0), (1, 0, 0), (0.5, np.sqrt(3) / 2, 0), (0.5, np.sqrt(3) / 6, np.sqrt(2.0 / 3.0))])
    zone = minimum_zone(corners)
    assert zone.width == pytest.approx(1.0 / np.sqrt(2.0), abs=1e-12)
    assert zone.bound == pytest.approx(zone.width, abs=1e-12)


def test_twist_of_four_corners() -> None:
    """Exact by symmetry: the level planes are the only ones that both diagonals leave free to neither side."""
    zone = minimum_zone(np.array([(0.0, 0.0, 0.0), (1000.0, 0.0, 2.0), (0.0, 600.0, 2.0), (1000.0, 600.0, 0.0)]))
    assert zone.width == pytest.approx(2.0, abs=1e-9)
    assert zone.bound == pytest.approx(2.0, abs=1e-4)


def test_twisted_grid_of_nine() -> None:
    """z = 2 x y / (1000 * 600) on 3 x 3 places: half the rise, by 3-1 and 2-2 enumeration; with true normals 0.9999981."""
    grid = np.array([(x, y, 2.0 * x * y / 6e5) for x in (0.0, 500.0, 1000.0) for y in (0.0, 300.0, 600.0)])
    assert minimum_zone(grid).width == pytest.approx(0.9999981, abs=5e-8)


def test_cylindrical_bow() -> None:
    """A bow of 1.5 mm on 5 x 3 places: the planes are level, by symmetry."""
    along, across = np.linspace(0.0, 2000.0, 5), np.linspace(0.0, 600.0, 3)
    bow = 1.5 * (1.0 - ((along - 1000.0) / 1000.0) ** 2)
    assert minimum_zone(Grid(along, across, np.tile(bow[:, None], (1, 3)))).width == pytest.approx(1.5, abs=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_minimum_zone_equals_enumeration_of_facets_and_edge_pairs(seed: int) -> None:
    """The narrowest zone touches a facet and a point (3-1) or two edges (2-2), as the criteria for the minimum zone say.

    Every triple and every two pairs of ten readings are tried; nothing of the project is used.
    """
    draw = np.random.default_rng(seed)
    face = np.column_stack([draw.uniform(0.0, 2400.0, 10), draw.uniform(0.0, 950.0, 10), draw.normal(0.0, 2.0, 10)])
    ways = [face[j] - face[i] for i in range(10) for j in range(i)]
    best = np.inf
    for place, one in enumerate(ways):
        for other in ways[:place]:
            normal = np.cross(one, other)
            if np.linalg.norm(normal) > 1e-6:
                best = min(best, float(np.ptp(face @ normal) / np.linalg.norm(normal)))
    assert minimum_zone(face).width == pytest.approx(best, abs=1e-9)
