from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import box

from slabwright.geometry.faces import Grid, Scatter
from slabwright.geometry.planes import PlanePair
from slabwright.job.models import ShopFile
from slabwright.slab.passes import levels, passes, procedures
from slabwright.slab.stock import StockMap, stock_map

SHOP = ShopFile()


def flat_stock(depth: float, cells: int = 10) -> StockMap:
    side = np.linspace(0.0, 10.0 * (cells - 1), cells)
    return StockMap(side, side, np.full((cells, cells), depth))


@given(st.floats(0.0, 80.0), st.floats(0.5, 10.0), st.floats(0.1, 3.0), st.floats(0.0, 3.0))
def test_levels_hold_both_limits_with_fewest_passes(highest: float, greatest: float, last: float, rest: float) -> None:
    last = min(last, greatest)
    found = levels(highest, greatest, last, down_to=rest)
    if highest <= rest:
        assert found == ()
        return
    bites = -np.diff([highest, *found])
    assert found[-1] == rest
    assert bites[-1] <= last + 1e-9 and bites.max() <= greatest + 1e-9 and bites.min() > -1e-9
    assert len(found) == 1 + max(0, math.ceil((highest - rest - last) / greatest - 1e-9))


def test_one_go_cuts_the_first_face_to_its_plane_before_the_other() -> None:
    done = passes(flat_stock(7.0), flat_stock(4.0), SHOP.machine, SHOP.allowance, first_face="B", kind="one go")
    assert [item.face for item in done] == ["B"] * 3 + ["A"] * 4
    assert [item.number for item in done] == list(range(1, len(done) + 1))
    for face in "AB":
        of_face = [item for item in done if item.face == face]
        assert of_face[-1].level == 0.0 and of_face[-1].last and of_face[-1].left_volume == 0.0
        assert sum(item.last for item in of_face) == 1


def test_roughing_leaves_the_rest_on_both_faces_before_any_skim() -> None:
    done = passes(
        flat_stock(7.0), flat_stock(4.0), SHOP.machine, SHOP.allowance, first_face="A", kind="rough, rest, skim"
    )
    stages = [item.stage for item in done]
    assert stages == sorted(stages, key=["rough", "skim"].index)
    rough = [item for item in done if item.stage == "rough"]
    assert {item.face for item in rough if item.level == SHOP.allowance.rest} == {"A", "B"}
    assert not any(item.last for item in rough)


def test_volumes_taken_add_up_to_the_wood_above_the_plane() -> None:
    draw = np.random.default_rng(5)
    stock = StockMap(np.linspace(0.0, 190.0, 20), np.linspace(0.0, 140.0, 15), draw.uniform(-1.0, 9.0, (20, 15)))
    done = passes(stock, flat_stock(1.0), SHOP.machine, SHOP.allowance, first_face="A", kind="one go")
    taken = sum(item.volume for item in done if item.face == "A")
    assert taken == pytest.approx(float(np.clip(stock.depth, 0, None).sum()) * 100.0)
    for item in done:
        assert item.left_area >= 0.0 and item.area <= 20 * 15 * 100.0


def test_a_slab_roughed_to_the_rest_is_only_skimmed() -> None:
    done = passes(
        flat_stock(1.5), flat_stock(1.5), SHOP.machine, SHOP.allowance, first_face="A", kind="rough, rest, skim"
    )
    assert {item.stage for item in done} == {"skim"}


def test_rest_takes_up_the_movement() -> None:
    one, rest = procedures(50.0, SHOP.allowance, first_face="A", chosen="one go")
    assert one.thickness_low == pytest.approx(50.0 - SHOP.allowance.movement) and one.chosen
    assert rest.thickness_low == pytest.approx(50.0) and rest.days == SHOP.allowance.rest_days and not rest.chosen


@pytest.mark.parametrize("kind", ["grid", "scatter"])
def test_stock_map_of_a_tilted_plane_is_its_distance(kind: str) -> None:
    planes = PlanePair(0.01, -0.02, 10.0, -30.0)
    x, y = np.meshgrid(np.linspace(0, 1000, 21), np.linspace(0, 400, 9), indexing="ij")
    z = planes.upper(x, y) + 3.0 * planes.slant
    face = Grid(x[:, 0], y[0], z) if kind == "grid" else Scatter(x.ravel(), y.ravel(), z.ravel())
    found = stock_map(face, box(0, 0, 1000, 400), planes, which="A")
    assert np.nanmax(np.abs(found.depth - 3.0)) < 1e-6
    assert found.cell_area * np.count_nonzero(~np.isnan(found.depth)) == pytest.approx(400_000, rel=0.05)


def test_stock_map_misses_no_high_spot() -> None:
    planes = PlanePair(0.0, 0.0, 0.0, -30.0)
    x, y = np.meshgrid(np.linspace(0, 1000, 200), np.linspace(0, 400, 80), indexing="ij")
    z = np.ones_like(x)
    z[77, 33] = 9.0
    found = stock_map(Scatter(x.ravel(), y.ravel(), z.ravel()), box(0, 0, 1000, 400), planes, which="A")
    assert np.nanmax(found.depth) >= 9.0 - 1e-9
