"""Thickness against fill: the pieces and plain cases."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog
from shapely import Polygon, box

from slabwright.geometry.cells import reading_areas
from slabwright.geometry.faces import Face, Floats, Grid, Scatter, as_scatter
from slabwright.geometry.front import _Ceiling, best_at_price, bound_at, front, price_areas
from slabwright.geometry.lowest import Tiles, fill_below, lowest, tiles
from slabwright.geometry.planes import PlanePair
from slabwright.slab.patches import patch_front

REGION = box(0, 0, 1200, 500)
FRAME = np.eye(3)
MIDDLE = np.array([600.0, 250.0, 0.0])


def rough(seed: int, shape: tuple[int, int] = (61, 43)) -> tuple[Grid, Grid]:
    draw = np.random.default_rng(seed)
    x, y = np.linspace(0, 1200, shape[0]), np.linspace(0, 500, shape[1])
    u, v = x[:, None] / 600 - 1, y[None, :] / 250 - 1
    bend = 2.0 * v * v + 1.5 * u * v
    dip = 5.0 * np.exp(-(((x[:, None] - 900) / 90) ** 2) - ((y[None, :] - 150) / 60) ** 2)
    top = 60 + bend - dip + draw.normal(0, 0.3, shape)
    return Grid(x, y, top), Grid(x, y, 0.8 * bend + draw.normal(0, 0.2, shape))


def tiled(face: Face, region: Polygon = REGION, turned: bool = False) -> Tiles:
    frame = np.diag([1.0, 1.0, -1.0]) if turned else FRAME
    return tiles(face, reading_areas(face, region), frame, MIDDLE)


def plainly_lowest(face: Face, weights: Floats, a: float, b: float, area: float) -> tuple[float, float]:
    """Mean of the lowest area and its quantile, by sorting everything."""
    points = as_scatter(face)
    above = points.z - a * (points.x - 600) - b * (points.y - 250)
    order = np.argsort(above)
    before = np.concatenate([[0.0], np.cumsum(weights[order])[:-1]])
    taken = np.clip(area - before, 0.0, weights[order])
    return float(taken @ above[order] / area), float(above[order][np.flatnonzero(taken)[-1]])


@pytest.mark.parametrize("tilt", [(0.0, 0.0), (0.004, -0.003), (-0.3, 0.2)])
@pytest.mark.parametrize("share", [1e-5, 0.003, 0.2, 0.70007, 1.0])
@pytest.mark.parametrize("kind", ["grid", "holed grid", "scattered"])
def test_the_lowest_area_against_sorting_everything(tilt: tuple[float, float], share: float, kind: str) -> None:
    face: Face = rough(1)[0]
    if kind == "holed grid":
        assert isinstance(face, Grid)
        z = face.z.copy()
        z[20:45, 10:30] = np.nan
        z[3, 7] = np.nan
        face = Grid(face.x, face.y, z)
    if kind == "scattered":
        face = as_scatter(face)
    areas = reading_areas(face, REGION)
    weights = areas[~np.isnan(face.z)] if isinstance(face, Grid) else areas
    found = lowest(tiled(face), *tilt, share * REGION.area)
    mean, height = plainly_lowest(face, weights.ravel(), *tilt, share * REGION.area)
    assert found.mean == pytest.approx(mean, abs=1e-9)
    assert found.height == pytest.approx(height, abs=1e-9)


def test_the_fill_below_a_plane_against_adding_everything() -> None:
    face = rough(2)[0]
    areas = reading_areas(face, REGION)
    for a, b, height in [(0.0, 0.0, 58.0), (0.002, 0.001, 60.0), (0.0, 0.0, 50.0), (0.0, 0.0, 70.0)]:
        depth = a * (face.x[:, None] - 600) + b * (face.y[None, :] - 250) + height - face.z
        fill = fill_below(tiled(face), a, b, height)
        assert fill.volume == pytest.approx((areas * np.maximum(depth, 0)).sum(), rel=1e-9, abs=1e-6)
        assert fill.area == pytest.approx(areas[depth > 0].sum(), rel=1e-9, abs=1e-6)
        assert fill.deepest == pytest.approx(max(depth.max(), 0.0), abs=1e-9)


def test_a_pit_in_a_flat_board_buys_its_depth_at_its_volume() -> None:
    x, y = np.linspace(0, 1200, 121), np.linspace(0, 500, 51)
    top = np.full((121, 51), 50.0)
    top[60:65, 20:25] = 46.0
    pit = 25 * 100.0
    points = patch_front(Grid(x, y, top), Grid(x, y, np.zeros_like(top)), REGION, PlanePair(0, 0, 46, 0))
    assert points[0].thickness == points[0].bound == 46.0
    assert len(points) == 2
    assert points[1].fill_volume == pytest.approx(4.0 * pit)
    assert points[1].fill_area == pytest.approx(pit)
    assert points[1].thickness == pytest.approx(50.0)
    assert points[1].bound == pytest.approx(50.0, abs=1e-3)
    assert points[1].deepest == pytest.approx(4.0)


def test_the_same_slab_turned_over_with_the_other_face_shown_gives_the_same() -> None:
    face_a, face_b = rough(3)
    lie = PlanePair(0.001, -0.002, 56.0, 5.0)

    def over(face: Grid) -> Grid:
        return Grid(face.x, 500 - face.y[::-1], -face.z[:, ::-1])

    turned = PlanePair(-0.001, -0.002, -5.0 + 1.0, -56.0 + 1.0)
    plain = patch_front(face_a, face_b, REGION, lie)
    other = patch_front(over(face_b), over(face_a), REGION, turned, show_face="B")
    assert len(plain) == len(other)
    for one, two in zip(plain[1:], other[1:], strict=True):
        assert two.thickness == pytest.approx(one.thickness, abs=1.5e-3)
        assert two.thickness - two.fill_volume / two.price_area == pytest.approx(
            one.thickness - one.fill_volume / one.price_area, abs=1e-3
        )


def test_grid_and_scattered_readings_of_the_same_places_agree() -> None:
    face_a, face_b = rough(4)
    lie = PlanePair(0, 0, 55.0, 3.0)
    gridded = patch_front(face_a, face_b, REGION, lie)
    scattered = patch_front(as_scatter(face_a), as_scatter(face_b), REGION, lie)
    for one, two in zip(gridded[1:], scattered[1:], strict=True):
        assert two.thickness - two.fill_volume / two.price_area == pytest.approx(
            one.thickness - one.fill_volume / one.price_area, abs=1e-3
        )


def test_skips_on_the_underside_only_where_they_have_a_price() -> None:
    face_a, face_b = rough(5)
    lie = PlanePair(0, 0, 55.0, 3.0)
    without = patch_front(face_a, face_b, REGION, lie)
    priced = patch_front(face_a, face_b, REGION, lie, underside_area=20_000.0)
    assert all(point.skip_volume == 0.0 for point in without)
    assert all(point.skip_volume > 0.0 for point in priced[1:])
    assert priced[5].thickness > without[5].thickness
    areas = reading_areas(face_b, REGION)
    for point in priced[1::7]:
        above = face_b.z - point.planes.lower(face_b.x[:, None], face_b.y[None, :])
        assert (areas * np.maximum(above, 0)).sum() == pytest.approx(point.skip_volume, rel=1e-3)
        assert point.thickness <= point.bound + 1e-9
        assert point.bound - point.thickness <= 0.01


def test_the_bound_holds_for_planes_that_the_search_never_saw() -> None:
    face_a, face_b = rough(6)
    show, under = tiled(face_a), tiled(face_b, turned=True)
    lies = front(show, under, price_areas(show, 12, 0.6))
    draw = np.random.default_rng(0)
    for _ in range(200):
        a, b = draw.normal(0, 0.002, 2)
        height = draw.uniform(50, 63)
        low = -lowest(under, -a, -b, 0.0).mean
        volume = fill_below(show, a, b, height).volume
        if volume > 0.0:
            assert (height - low) / np.sqrt(1 + a * a + b * b) <= bound_at(lies, volume) + 1e-9


def test_the_search_finds_its_way_from_a_far_tilt() -> None:
    face_a, face_b = rough(7)
    show, under = tiled(face_a), tiled(face_b, turned=True)
    near = best_at_price(show, under, 20_000.0)
    far = best_at_price(show, under, 20_000.0, start=(0.08, -0.05))
    assert far.value == pytest.approx(near.value, abs=1e-3)
    assert far.limit - far.value <= 1e-3


def test_three_readings_a_face_are_enough() -> None:
    x, y = np.array([0.0, 1200.0, 600.0]), np.array([0.0, 0.0, 500.0])
    lie = PlanePair(0, 0, 50.0, 0.0)
    points = patch_front(Scatter(x, y, np.array([50.0, 50.0, 50.0])), Scatter(x, y, np.zeros(3)), REGION, lie)
    assert points[0].thickness == pytest.approx(50.0)
    assert all(point.bound - point.thickness <= 0.01 for point in points)


@pytest.mark.parametrize("seed", range(40))
def test_the_walk_to_the_highest_tilt_against_a_general_solver(seed: int) -> None:
    draw = np.random.default_rng(seed)
    count_a, count_b = draw.integers(1, 25, 2)
    ceiling = _Ceiling(np.array([1200.0, 450.0]))
    # Every other time whole numbers, so that many cuts meet in one place.
    for cuts, count in ((ceiling.face_a, count_a), (ceiling.face_b, count_b)):
        values = draw.uniform(-1, 1, (int(count), 3)) * [4, 3, 5]
        values = np.round(values) if seed % 2 else values
        cuts.extend((float(x) * 300, float(y) * 150, float(z)) for x, y, z in values)
    centre, step = draw.normal(0, 1, 2), float(10 ** draw.uniform(-1, 4))
    value = ceiling.highest(centre, step)[1]
    cut_a, cut_b = np.array(ceiling.face_a), np.array(ceiling.face_b)
    rows_a = np.column_stack([cut_a[:, :2] / ceiling.scale, np.ones(len(cut_a)), np.zeros(len(cut_a))])
    rows_b = np.column_stack([-cut_b[:, :2] / ceiling.scale, np.zeros(len(cut_b)), -np.ones(len(cut_b))])
    answer = linprog(
        [0.0, 0.0, -1.0, 1.0],
        A_ub=np.vstack([rows_a, rows_b]),
        b_ub=np.concatenate([cut_a[:, 2], -cut_b[:, 2]]),
        bounds=[(centre[0] - step, centre[0] + step), (centre[1] - step, centre[1] + step), (None, None), (None, None)],
    )
    assert value == pytest.approx(-answer["fun"], rel=1e-7, abs=1e-7)
