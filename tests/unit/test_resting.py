import numpy as np
import pytest
from scipy.optimize import linprog

from slabwright.geometry.faces import Floats
from slabwright.slab.resting import plane_through, resting, threes


def lowest(places: Floats, elevation: Floats) -> tuple[float, float, float]:
    """The pose of least height of the centre of mass (the origin) with no stack in the wood, by a general solver."""
    rows = -np.column_stack([places, np.ones(len(places))])
    solved = linprog([0.0, 0.0, 1.0], A_ub=rows, b_ub=-elevation, bounds=[(None, None)] * 3)
    assert solved.status == 0 and solved.x is not None
    return float(solved.x[0]), float(solved.x[1]), float(solved.x[2])


def test_a_slab_stands_on_the_facet_that_a_rigid_body_sinks_to() -> None:
    draw = np.random.default_rng(5)
    tried = 0
    while tried < 100:
        places = draw.uniform(-1000.0, 1000.0, (int(draw.integers(4, 13)), 2)) * [1.0, 0.4]
        three = threes(places, np.zeros(2))
        if not len(three):
            continue
        tried += 1
        elevation = draw.normal(0.0, 1.0, len(places))
        rest = resting(three, elevation)
        assert rest.plane == pytest.approx(lowest(places, elevation), abs=1e-6)
        assert (elevation - places @ np.array(rest.plane[:2]) - rest.plane[2] <= 1e-9).all()


def test_shares_balance_the_weight() -> None:
    draw = np.random.default_rng(6)
    places, centre = draw.uniform(-1.0, 1.0, (8, 2)) * [900.0, 300.0], np.array([20.0, -15.0])
    three = threes(places, centre)
    assert len(three) > 0
    assert three.shares.sum(axis=1) == pytest.approx(1.0)
    assert np.einsum("ti,tij->tj", three.shares, places[three.triples]) == pytest.approx(
        np.tile(centre, (len(three), 1))
    )


@pytest.mark.parametrize("low", [0, 3])
def test_centre_over_a_diagonal_rocks_but_stands_on_no_stack_that_would_be_in_the_wood(low: int) -> None:
    places = np.array([[-1.0, -1.0], [1.0, 1.0], [-1.0, 1.0], [1.0, -1.0]]) * 400.0
    elevation = np.array([0.0, 0.0, 0.0, 0.0])
    elevation[2 if low == 0 else 3] = -1.0
    rest = resting(threes(places, np.zeros(2)), elevation)
    above = elevation - places @ np.array(rest.plane[:2]) - rest.plane[2]
    assert above.max() <= 1e-9
    assert set(rest.carrying) >= {0, 1}


def test_places_in_one_line_or_all_on_one_side_carry_nothing() -> None:
    line = np.array([[-5.0, 0.0], [0.0, 0.0], [5.0, 0.0], [9.0, 0.0]])
    assert len(threes(line, np.zeros(2))) == 0
    assert len(threes(np.array([[1.0, 1.0], [2.0, 1.0], [1.0, 3.0]]), np.zeros(2))) == 0


def test_plane_through_three_points() -> None:
    places = np.array([[0.0, 0.0], [10.0, 0.0], [0.0, 20.0]])
    assert plane_through(places, np.array([1.0, 2.0, 5.0])) == pytest.approx((0.1, 0.2, 1.0))
