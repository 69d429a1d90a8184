from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely
from shapely import Polygon

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Face, Floats, Grid, Scatter
from slabwright.job.models import Piece, Slab
from slabwright.slab.region import Regions, defect_places, grid_inside, hull, inside, points_inside, regions

RECTANGLE = np.array([(0.0, 0.0), (2000.0, 0.0), (2000.0, 800.0), (0.0, 800.0)])


def slab(**stated: Any) -> Slab:
    return Slab.model_validate({"species": "ash, white", **stated})


def stations(x0: float = 0, x1: float = 2000, y0: float = 0, y1: float = 800, n: int = 21, m: int = 9) -> Scatter:
    x, y = np.meshgrid(np.linspace(x0, x1, n), np.linspace(y0, y1, m), indexing="ij")
    return Scatter(x.ravel(), y.ravel(), np.zeros(x.size))


def found(
    stated: Slab, piece: Piece | None = None, outline: Floats | None = RECTANGLE, below: Floats | None = None
) -> Regions:
    return regions(stated, piece or Piece(), stations(), stations(), outline, below)


def test_margin_along_edges_and_trim_at_ends() -> None:
    region = found(slab(edge_margin=12, end_trim=30)).region_a
    assert region.bounds == pytest.approx((30.0, 12.0, 1970.0, 788.0))
    assert region.area == pytest.approx(1940.0 * 776.0)


def test_ends_keep_their_place_whatever_the_margin() -> None:
    region = found(slab(edge_margin=40, end_trim=0)).region_a
    assert region.bounds == pytest.approx((0.0, 40.0, 2000.0, 760.0))
    assert region.area == pytest.approx(2000.0 * 720.0)


def test_sawn_edges_have_no_margin() -> None:
    region = found(slab(), Piece(live_edges="none")).region_a
    assert region.bounds == pytest.approx((25.0, 0.0, 1975.0, 800.0))


def test_margin_is_kept_along_a_wavy_edge() -> None:
    x = np.linspace(0, 2000, 81)
    edge = 40 * np.sin(x / 130.0)
    outline = np.vstack([np.column_stack([x, edge]), np.column_stack([x[::-1], 800 + edge[::-1]])])
    region = found(slab(edge_margin=15, end_trim=25), outline=outline).region_a
    edges = shapely.multilinestrings([np.column_stack([x, edge + rise]).tolist() for rise in (0.0, 800.0)])
    assert region.distance(edges) == pytest.approx(15.0, abs=0.01)
    expected = Polygon(outline).buffer(-15, quad_segs=64).intersection(shapely.box(25, -100, 1975, 900))
    assert region.symmetric_difference(expected).area < 5.0


def test_notch_in_mid_length_counts_as_edge() -> None:
    outline = np.vstack([[(0, 0), (900, 0), (900, 100), (1000, 100), (1000, 0)], RECTANGLE[1:]])
    region = found(slab(edge_margin=20, end_trim=0), outline=outline).region_a
    assert not region.contains(shapely.Point(885, 60))
    assert not region.contains(shapely.Point(950, 115))
    assert region.contains(shapely.Point(875, 60))


def test_cuts() -> None:
    region = found(slab(cut_from=300, cut_to=1900)).region_a
    assert region.bounds[::2] == pytest.approx((300.0, 1900.0))
    assert found(slab(cut_from=10, cut_to=5000)).region_a.bounds[::2] == pytest.approx((25.0, 1975.0))


def test_one_outline_serves_both_faces_and_ends_are_cut_through_both() -> None:
    assert found(slab()).region_b.equals(found(slab()).region_a)
    wider = RECTANGLE * (1.02, 1.05) - (20.0, 20.0)
    both = found(slab(), below=wider)
    assert both.region_b.bounds[::2] == both.region_a.bounds[::2]
    assert both.region_b.bounds[3] > both.region_a.bounds[3]


def test_without_outline_only_stated_margins_are_taken_off() -> None:
    whole = found(slab(), outline=None)
    assert not whole.given
    assert whole.region_a.bounds == pytest.approx((0.0, 0.0, 2000.0, 800.0))
    less = found(slab(edge_margin=10, end_trim=40), outline=None)
    assert less.region_a.bounds == pytest.approx((40.0, 10.0, 1960.0, 790.0))


def test_strip_of_the_finished_width() -> None:
    narrow = found(slab(), Piece(live_edges="none", width=500))
    assert narrow.strip == 510.0
    assert narrow.region_a.bounds[1::2] == pytest.approx((145.0, 655.0))
    assert narrow.region_b.bounds[1::2] == pytest.approx((145.0, 655.0))
    for piece in (Piece(live_edges="none", width=795), Piece(live_edges="both", width=500)):
        wide = found(slab(), piece)
        assert wide.strip is None
        assert wide.region_a.area > 1900 * 700


def test_largest_piece_is_kept() -> None:
    waist = np.array([(0, 0), (1200, 0), (1300, 390), (1400, 0), (2000, 0), (2000, 800), (1400, 800), (1300, 410)])
    outline = np.vstack([waist, [(1200, 800), (0, 800)]]).astype(float)
    cut = found(slab(edge_margin=15), outline=outline)
    assert isinstance(cut.region_a, Polygon)
    assert cut.region_a.bounds[2] < 1310
    assert cut.left_out > 2 * 500 * 700


@pytest.mark.parametrize(
    ("outline", "stated", "said"),
    [
        ([(0, 0), (2000, 800), (2000, 0), (0, 800)], {}, "crosses itself near"),
        ([(0, 0), (2000, 0)], {}, "2 corners"),
        ([(0, 0), (1000, 0), (2000, 0)], {}, "slab.outline"),
        ([(0, 0), (78, 0), (78, 31), (0, 31)], {}, "lie outside it"),
        (RECTANGLE.tolist(), {"edge_margin": 450}, "nothing of face A is left"),
        (RECTANGLE.tolist(), {"end_trim": 1100}, "nothing of the slab is left"),
        (RECTANGLE.tolist(), {"cut_from": 2100}, "cut_from"),
    ],
)
def test_outlines_that_leave_nothing(outline: list[tuple[float, float]], stated: dict[str, Any], said: str) -> None:
    with pytest.raises(SlabwrightError, match=said):
        found(slab(**stated), outline=np.array(outline, float))


def test_messages_are_in_the_jobs_units() -> None:
    everything = stations()
    with pytest.raises(SlabwrightError, match=r"x = 3' 7 5/16\" and x = 2' 11 7/16\"; trim less"):
        regions(slab(end_trim=1100), Piece(), everything, everything, RECTANGLE, None, "inch")


def test_readings_in_a_line() -> None:
    line = Scatter(np.arange(5.0), np.arange(5.0), np.zeros(5))
    with pytest.raises(SlabwrightError, match="in a line"):
        hull(line)


def test_hull_of_a_grid_is_that_of_its_readings() -> None:
    z = np.zeros((6, 5))
    z[0, :2] = z[5, 3:] = z[2] = np.nan
    grid = Grid(np.arange(6.0), np.arange(5.0), z)
    assert hull(grid).equals(hull(Scatter(*_spread(grid))))


def _spread(grid: Grid) -> tuple[Floats, Floats, Floats]:
    row, column = np.nonzero(~np.isnan(grid.z))
    return grid.x[row], grid.y[column], grid.z[row, column]


def test_border_counts_as_inside() -> None:
    region = found(slab(edge_margin=0, end_trim=100)).region_a
    face = stations()
    kept = inside(face, region)
    assert len(kept) == 19 * 9
    assert kept.x.min() == 100.0
    assert kept.y.max() == 800.0


ODD = Polygon([(0, 50), (700, 0), (1300, 200), (2000, 100), (1900, 500), (2000, 790), (1000, 600), (100, 800)])


def test_grid_mask_is_that_of_its_points() -> None:
    draw = np.random.default_rng(1)
    x, y = np.sort(draw.uniform(-100, 2100, 150)), np.sort(draw.uniform(-100, 900, 90))
    gx, gy = np.meshgrid(x, y, indexing="ij")
    assert np.array_equal(grid_inside(x, y, ODD), shapely.contains_xy(ODD, gx, gy))


def test_many_points_are_told_apart_as_few_are() -> None:
    draw = np.random.default_rng(2)
    x, y = draw.uniform(-300, 2300, 60_000), draw.uniform(-300, 1100, 60_000)
    assert np.array_equal(points_inside(x, y, ODD), shapely.contains_xy(ODD, x, y))


def test_border_counts_among_many_points() -> None:
    region = shapely.box(100, 100, 1900, 700)
    face = stations(n=401, m=161)
    assert len(inside(face, region)) == 361 * 121


@pytest.mark.parametrize("shape", [ODD, shapely.box(100, 100, 1900, 700)])
def test_grid_and_scatter_agree(shape: Polygon) -> None:
    x, y = np.linspace(0, 2000, 81), np.linspace(0, 800, 33)
    gx, gy = np.meshgrid(x, y, indexing="ij")
    z = np.sin(gx) + gy
    z[40, 20] = np.nan
    masked: Face = inside(Grid(x, y, z), shape)
    assert isinstance(masked, Grid)
    scattered = Scatter(*_spread(Grid(x, y, z)))
    kept = inside(scattered, shape)
    assert len(masked) == len(kept)
    assert sorted(_spread(masked)[2]) == sorted(kept.z)


def test_rectangle_of_a_grid_is_not_copied() -> None:
    grid = Grid(np.arange(10.0), np.arange(8.0), np.zeros((10, 8)))
    masked = inside(grid, shapely.box(2, 2, 7, 6))
    assert isinstance(masked, Grid)
    assert masked.z.shape == (6, 5)
    assert np.shares_memory(masked.z, grid.z)


def test_region_beside_a_grid_holds_nothing() -> None:
    grid = Grid(np.arange(10.0), np.arange(8.0), np.zeros((10, 8)))
    assert len(inside(grid, shapely.box(20, 20, 30, 30))) == 0


def test_defects_of_each_face() -> None:
    stated = slab(
        defects=[
            {"kind": "knot", "face": "A", "at": [500, 300], "diameter": 40, "depth": 12},
            {"kind": "check", "face": "both", "outline": [[0, 400], [300, 400]], "width": 6},
            {"kind": "void", "face": "B", "outline": [[0, 0], [100, 0], [0, 100]], "depth": "through"},
            {"kind": "bark", "face": "B", "at": [900, 700], "diameter": 80},
        ]
    )
    above, below = defect_places(stated.defects, "A"), defect_places(stated.defects, "B")
    assert [place.kind for place in above] == ["knot", "check", "void"]
    assert [place.kind for place in below] == ["check", "void", "bark"]
    assert above[0].place.area == pytest.approx(np.pi * 400, rel=0.01)
    assert above[0].depth == 12.0
    assert above[1].place.bounds == pytest.approx((0.0, 397.0, 300.0, 403.0))
    assert above[2].through
    assert above[2].depth is None


def test_defect_that_crosses_itself() -> None:
    stated = slab(defects=[{"kind": "void", "outline": [[0, 0], [10, 10], [10, 0], [0, 10]]}])
    with pytest.raises(SlabwrightError, match=r"defects\[0\]\.outline: crosses itself"):
        defect_places(stated.defects, "A")
