"""Mass and centre: exact on shapes whose integrals are known, and each state of an example."""

from __future__ import annotations

import dataclasses
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from slabwright.base.basing import BasePlan
from slabwright.carry.mass import masses, mean_moisture
from slabwright.carry.mass_parts import cut_away, eased
from slabwright.carry.mass_results import Masses, State
from slabwright.carry.mass_solids import Body, prism, slab_volume, sloping_prism, together
from slabwright.geometry.faces import Grid, Scatter
from slabwright.job.load import load_job
from slabwright.job.loaded import Job
from slabwright.job.models import Moisture
from slabwright.job.top_models import Edge
from slabwright.plan import Plan, plan
from slabwright.top.layout_results import Solid, TopFeature

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def worked_out(name: str) -> Plan:
    return plan(load_job(EXAMPLES / name / "job.toml"))


def found(whole: Plan, job: Job | None = None) -> Masses:
    result, _ = masses(job or whole.job, whole.slab, whole.top, whole.base, whole.board)
    assert result is not None
    return result


def state(result: Masses, name: str) -> State:
    there = result.state(name)
    assert there is not None
    return there


def scattered(height: object, seed: int, wide: bool = True) -> Scatter:
    rng = np.random.default_rng(seed)
    x, y = rng.uniform(0, 1000, 300), rng.uniform(0, 400, 300)
    if wide:
        x, y = np.append(x, [0, 1000, 0, 1000]), np.append(y, [0, 0, 400, 400])
    return Scatter(x, y, height(x, y))  # type: ignore[operator]


def test_a_wedge_between_scattered_readings_is_integrated_exactly() -> None:
    """Thickness 50 + x/100 + y/50 over a rectangle: volume and centre by the polynomials' own integrals."""
    body = slab_volume(
        scattered(lambda x, y: 50 + 0.01 * x + 0.02 * y, 1), scattered(lambda x, y: 0 * x, 2),
        box(100, 50, 900, 350), box(100, 50, 900, 350),
    )  # fmt: skip
    mean = 50 + 0.01 * 500 + 0.02 * 200
    assert body.mass == pytest.approx(800 * 300 * mean, rel=1e-12)
    assert body.x == pytest.approx(500 + 0.01 * 800**2 / 12 / mean, rel=1e-12)
    assert body.y == pytest.approx(200 + 0.02 * 300**2 / 12 / mean, rel=1e-12)
    square = mean**2 + (0.01 * 800) ** 2 / 12 + (0.02 * 300) ** 2 / 12
    assert body.z == pytest.approx(square / 2 / mean, rel=1e-12)


def test_an_outline_that_is_no_rectangle_and_has_a_hollow_side() -> None:
    """An L of two rectangles, 40 thick, read on grids of different steps: the parts' own sums."""
    shape = Polygon([(0, 0), (1000, 0), (1000, 200), (300, 200), (300, 400), (0, 400)])
    upper = Grid(np.linspace(0, 1000, 31), np.linspace(0, 400, 17), np.full((31, 17), 60.0))
    lower = Grid(np.linspace(0, 1000, 11), np.linspace(0, 400, 9), np.full((11, 9), 20.0))
    body = slab_volume(upper, lower, shape, shape)
    parts = [(1000 * 200, 500.0, 100.0), (300 * 200, 150.0, 300.0)]
    area = sum(part[0] for part in parts)
    assert body.mass == pytest.approx(40.0 * area, rel=1e-12)
    assert body.x == pytest.approx(sum(a * x for a, x, _ in parts) / area, rel=1e-12)
    assert body.y == pytest.approx(sum(a * y for a, _, y in parts) / area, rel=1e-12)
    assert body.z == pytest.approx(40.0, rel=1e-12)


def test_readings_that_stop_short_of_the_outline_are_carried_on() -> None:
    flat = scattered(lambda x, y: 50 + 0 * x, 3, wide=False)
    body = slab_volume(
        flat, scattered(lambda x, y: 0 * x, 4, wide=False), box(-50, -50, 1050, 450), box(-50, -50, 1050, 450)
    )
    assert body.mass == pytest.approx(1100 * 500 * 50, rel=1e-12)
    assert (body.x, body.y, body.z) == pytest.approx((500, 200, 25), rel=1e-9)


def test_sloping_edges_are_wedges() -> None:
    """A trapezoid bar, 100 wide on top and 160 below, 60 high: area and centre height of a trapezoid."""
    upper, lower = box(0, 30, 1000, 130), box(0, 0, 1000, 160)
    wanted = (100 + 160) / 2 * 60 * 1000
    height = 60 / 3 * (160 + 2 * 100) / (160 + 100)
    bar = sloping_prism(upper, lower, 0.0, 60.0)
    assert bar.mass == pytest.approx(wanted, rel=1e-12) and bar.z == pytest.approx(height, rel=1e-12)
    over, under = (scattered(lambda x, y, h=h: h + 0 * x, seed) for h, seed in ((60.0, 5), (0.0, 6)))
    read = slab_volume(over, under, upper, lower)
    assert read.mass == pytest.approx(wanted, rel=1e-9) and read.z == pytest.approx(height, rel=1e-9)
    assert (read.x, read.y) == pytest.approx((500, 80), rel=1e-9)


def test_a_face_crowned_like_a_roof() -> None:
    """A ridge that readings lie along: triangles hold it exactly; the centre of a triangle lies a third up."""
    x, y = np.meshgrid(np.linspace(0, 1000, 21), np.linspace(0, 400, 9), indexing="ij")
    roof = Grid(x[:, 0], y[0], 100.0 - np.abs(y - 200.0) / 2.0)
    flat = Grid(x[:, 0], y[0], np.zeros_like(x))
    body = slab_volume(roof, flat, box(0, 0, 1000, 400), box(0, 0, 1000, 400))
    assert body.mass == pytest.approx(1000 * 400 * 50, rel=1e-12)
    assert body.z == pytest.approx(100.0 / 3.0, rel=1e-12)


def feature(*solids: Solid) -> TopFeature:
    return TopFeature("f", "pocket", "underside", None, None, None, None, 0.0, 0.0, 0.0, None, None, None, solids)


def test_what_two_features_share_is_cut_once() -> None:
    outline = box(0, -200, 1000, 200)
    pocket = Solid(box(100, -50, 300, 50), 0.0, 40.0, 50.0)
    deeper = Solid(box(150, -20, 200, 20), 0.0, 20.0, 50.0)
    holes = together(cut_away([feature(pocket), feature(deeper)], outline, 50.0))
    assert -holes.mass == pytest.approx(200 * 100 * 10 + 50 * 40 * 20)
    assert holes.z == pytest.approx((200 * 100 * 10 * 5 + 50 * 40 * 20 * 20) / (200 * 100 * 10 + 50 * 40 * 20))
    half_out = Solid(Point(1000.0, 0.0), 30.0, 0.0, 50.0)
    (hole,) = cut_away([feature(half_out)], outline, 50.0)
    assert -hole.mass == pytest.approx(np.pi * 30**2 / 2 * 50, rel=1e-3)


def test_chamfers_and_rounds() -> None:
    outline = box(0, -200, 1000, 200)
    chamfer = Edge(kind="chamfer", name="c", size=4.0)
    assert -together(eased([chamfer], outline, 50.0)).mass == pytest.approx(8.0 * 2800)
    rounded = Edge(kind="round", name="r", size=4.0, edges=["left end"])
    (cut,) = eased([rounded], outline, 50.0)
    assert -cut.mass == pytest.approx((1 - np.pi / 4) * 16 * 400) and cut.x == pytest.approx(0.0)


@pytest.mark.parametrize("name", ["reading-table", "window-bench", "hall-desk"])
def test_states_of_an_example_hang_together(name: str) -> None:
    whole = worked_out(name)
    result = found(whole)
    slab, blank, top, base, piece = (
        state(result, each) for each in ("rough slab", "blank", "top", "base", "finished piece")
    )
    assert slab.mass > blank.mass > top.mass
    assert isinstance(whole.base, BasePlan)
    feet = 0.12 * len(whole.base.drawn.feet)
    assert base.mass == pytest.approx(whole.base.mass + feet, rel=0.01)
    frames = [each for each in result.states if each.name.endswith("leg frame")]
    assert sum(each.mass for each in frames) == pytest.approx(base.mass)
    bolts = piece.mass - top.mass - base.mass
    assert 0.0 < bolts < 1.5
    assert (result.mass.value, result.mass.low, result.mass.high) == (piece.mass, piece.low, piece.high)
    assert result.centre == piece.centre
    assert piece.height == pytest.approx(whole.base.height.even)
    assert base.centre.z < piece.centre.z < piece.height
    for each in result.states:
        assert each.low < each.mass < each.high
        assert each.start[0] < each.centre.x < each.start[0] + each.length
        assert each.start[2] < each.centre.z < each.start[2] + each.height


def test_the_raster_of_the_shims_weighs_the_same_slab() -> None:
    """Another way to the same figure: a raster of strips, at the density of 12 % moisture."""
    whole = worked_out("reading-table")
    assert whole.slab is not None and whole.slab.shims is not None
    result = found(whole)
    at_twelve = state(result, "rough slab").mass * 672.0 / result.density
    assert at_twelve == pytest.approx(whole.slab.shims.weight / 9.80665, rel=3e-3)


def test_a_weighed_slab_rules_and_narrows() -> None:
    whole = worked_out("reading-table")
    stated = whole.job.stated
    assert stated.slab is not None
    before = found(whole)

    def weighing(kg: float) -> Job:
        changed = stated.model_copy(update={"slab": stated.slab.model_copy(update={"weighed": kg})})  # type: ignore[union-attr]
        return dataclasses.replace(whole.job, stated=changed)

    after = found(whole, weighing(90.0))
    slab = state(after, "rough slab")
    assert after.basis == "weighed" and slab.mass == pytest.approx(90.0)
    assert slab.high - slab.mass == pytest.approx(1.96 * 0.01 * 90.0)
    wood = 90.0 / state(before, "rough slab").mass
    assert state(after, "blank").mass == pytest.approx(wood * state(before, "blank").mass, rel=1e-2)
    assert after.mass.high - after.mass.low < (before.mass.high - before.mass.low) / 3
    _, told = masses(weighing(90.0), whole.slab, whole.top, whole.base, whole.board)
    assert told == ()
    usual = state(before, "rough slab").mass
    _, told = masses(weighing(1.35 * usual), whole.slab, whole.top, whole.base, whole.board)
    assert [(each.code, each.severity) for each in told] == [("carry/weighed-odd", "caution")]


@pytest.mark.parametrize("share", [0.03, 0.55, 1.45, 4.0])
def test_a_weight_that_cannot_be_is_a_stop_and_is_not_used(share: float) -> None:
    whole = worked_out("reading-table")
    before = found(whole)
    stated = whole.job.stated
    assert stated.slab is not None
    slab = stated.slab.model_copy(update={"weighed": share * state(before, "rough slab").mass})
    job = dataclasses.replace(whole.job, stated=stated.model_copy(update={"slab": slab}))
    after, told = masses(job, whole.slab, whole.top, whole.base, whole.board)
    assert [(each.code, each.severity) for each in told] == [("carry/weighed-odd", "stop")]
    assert "not used" in told[0].message
    assert after == before and before.basis == "table"


def test_a_planned_slab_is_a_block_and_no_slab_is_nothing() -> None:
    whole = worked_out("reading-table")
    planned = load_job_text(
        '[job]\ntitle = "t"\n[slab]\nspecies = "ash, white"\nplanned = { length = 2000, width = 800, thickness = 60 }\n'
    )
    result, told = masses(planned, None, None, None, None)
    assert result is not None and result.of == "rough slab"
    assert result.mass.value == pytest.approx(2.0 * 0.8 * 0.06 * 672.0)
    assert [each.code for each in told] == ["carry/not-weighed"]
    assert masses(load_job_text('[job]\ntitle = "t"\n'), None, None, None, None) == (None, ())
    assert whole.slab is not None
    only, _ = masses(whole.job, whole.slab, None, None, whole.board)
    assert only is not None and [each.name for each in only.states] == ["rough slab", "blank"]
    assert abs(only.centre.x) < 30 and abs(only.centre.y) < 15


def load_job_text(text: str) -> Job:
    from tempfile import TemporaryDirectory

    with TemporaryDirectory() as folder:
        file = Path(folder) / "job.toml"
        file.write_text(text, "utf-8")
        return load_job(file)


def test_mean_moisture() -> None:
    assert mean_moisture(None) is None and mean_moisture(Moisture()) is None
    assert mean_moisture(Moisture(shell=[8.0])) == 8.0
    assert mean_moisture(Moisture(shell=[8.0], core=[14.0])) == pytest.approx(12.0)


def test_together_and_moved() -> None:
    one, other = Body(2.0, 0.0, 0.0, 0.0), Body(1.0, 3.0, 6.0, 9.0)
    assert together([one, other]) == Body(3.0, 1.0, 2.0, 3.0)
    assert together([]) == Body(0.0, 0.0, 0.0, 0.0)
    assert prism(shapely.Polygon(), 0.0, 1.0).mass == 0.0
    assert other.moved(dz=1.0).times(2.0) == Body(2.0, 3.0, 6.0, 10.0)
