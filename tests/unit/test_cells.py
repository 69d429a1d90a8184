"""The area that a reading stands for."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Polygon, box

from slabwright.geometry.cells import MOST_CELLS, reading_areas, rectangle_areas
from slabwright.geometry.faces import Grid, Scatter

CROOKED = Polygon(
    [(0, 0), (100, 10), (120, 70), (60, 50), (5, 80)],
    [[(30, 20), (40, 20), (40, 30), (30, 30)], [(60, 20), (70, 30), (60, 35)]],
)


def scatter(count: int, region: Polygon, seed: int = 1) -> Scatter:
    places = np.random.default_rng(seed).uniform((0, 0), (120, 80), (count, 2))
    places = places[shapely.contains_xy(region, places)]
    return Scatter(places[:, 0], places[:, 1], np.zeros(len(places)))


def test_on_a_grid_the_cell_is_halved_at_the_border_and_quartered_at_the_corner() -> None:
    grid = Grid(np.array([0.0, 10.0, 20.0]), np.array([0.0, 4.0, 8.0]), np.zeros((3, 3)))
    assert reading_areas(grid, box(0, 0, 20, 8)) == pytest.approx(np.array([[10, 20, 10], [20, 40, 20], [10, 20, 10]]))


def test_a_region_that_reaches_past_the_outermost_readings_is_theirs() -> None:
    grid = Grid(np.array([0.0, 10.0]), np.array([0.0, 4.0]), np.zeros((2, 2)))
    assert reading_areas(grid, box(-5, 0, 10, 4)) == pytest.approx(np.array([[20, 20], [10, 10]]))


def test_the_area_of_a_missing_reading_goes_to_its_neighbours() -> None:
    z = np.zeros((5, 5))
    z[2, 2] = np.nan
    grid = Grid(np.arange(5.0), np.arange(5.0), z)
    areas = reading_areas(grid, box(0, 0, 4, 4))
    assert areas[2, 2] == 0.0
    assert areas.sum() == pytest.approx(16.0)
    assert areas.max() == pytest.approx(2.0)


def test_the_area_of_a_wide_gap_is_not_lost() -> None:
    z = np.zeros((30, 30))
    z[5:25, 5:25] = np.nan
    grid = Grid(np.arange(30.0), np.arange(30.0), z)
    areas = reading_areas(grid, box(0, 0, 29, 29))
    assert areas.sum() == pytest.approx(29.0 * 29.0)
    assert not areas[np.isnan(z)].any()


@pytest.mark.parametrize("region", [CROOKED, MultiPolygon([CROOKED, box(105, 0, 119, 8)])])
def test_rectangles_against_clipping_one_by_one(region: Polygon | MultiPolygon) -> None:
    draw = np.random.default_rng(3)
    x, y = np.sort(draw.uniform(-10, 130, 15)), np.sort(draw.uniform(-5, 90, 11))
    clipped = [[region.intersection(box(x[i], y[j], x[i + 1], y[j + 1])).area for j in range(10)] for i in range(14)]
    assert rectangle_areas(x, y, region) == pytest.approx(np.array(clipped), abs=1e-9)


def test_scattered_readings_against_another_voronoi_diagram() -> None:
    points = scatter(300, CROOKED)
    places = shapely.MultiPoint(np.column_stack([points.x, points.y]))
    cells = shapely.get_parts(shapely.voronoi_polygons(places, extend_to=box(-500, -500, 600, 600), ordered=True))
    expected = shapely.area(shapely.intersection(cells, CROOKED))
    assert reading_areas(points, CROOKED) == pytest.approx(expected, rel=1e-6, abs=1e-6)


def test_readings_at_one_place_share_a_cell() -> None:
    points = Scatter(np.array([0.0, 10.0, 10.0, 0.0, 10.0]), np.array([0.0, 0.0, 10.0, 10.0, 10.0]), np.zeros(5))
    assert reading_areas(points, box(0, 0, 10, 10)) == pytest.approx([25.0, 25.0, 12.5, 25.0, 12.5])


def test_one_reading_stands_for_all_and_readings_in_a_line_for_strips() -> None:
    region = box(0, 0, 30, 10)
    assert reading_areas(Scatter(np.array([3.0]), np.array([2.0]), np.zeros(1)), region) == pytest.approx([300.0])
    line = Scatter(np.array([5.0, 15.0, 25.0]), np.full(3, 5.0), np.zeros(3))
    assert reading_areas(line, region) == pytest.approx([100.0, 100.0, 100.0])


def test_bins_stand_in_for_very_many_readings() -> None:
    points = scatter(320_000, CROOKED)
    assert len(points) > MOST_CELLS
    areas = reading_areas(points, CROOKED)
    assert areas.sum() == pytest.approx(CROOKED.area)
    left = points.x < 50.0
    assert areas[left].sum() == pytest.approx(CROOKED.intersection(box(0, 0, 50, 80)).area, rel=0.01)
