"""Placing the piece: where it lies, with what proof, and what is said where it does not go in."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import LineString, Polygon

from slabwright.accounts import accounts, as_plain
from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Floats, Scatter
from slabwright.geometry.strip import widest_strip
from slabwright.job.loaded import Job, Readings
from slabwright.job.models import JobFile, ShopFile
from slabwright.quantities import parse_length
from slabwright.slab.hidden import hidden_surface
from slabwright.slab.survey import Survey, survey
from slabwright.top.ground import ground, on_ground
from slabwright.top.placement import Sapwood, place
from slabwright.top.placement_findings import placement_findings
from slabwright.top.placement_results import NoRoom, Placement
from slabwright.top.rough_cuts import centre_line, rough_cuts

LENGTH, WIDTH, THICK = 1200.0, 500.0, 50.0
RECTANGLE = np.array([(0.0, 0.0), (LENGTH, 0.0), (LENGTH, WIDTH), (0.0, WIDTH)])


def stations(step: float = 25.0) -> tuple[Floats, Floats]:
    x, y = np.meshgrid(np.arange(0, LENGTH + 1, step), np.arange(0, WIDTH + 1, step), indexing="ij")
    return x.ravel(), y.ravel()


def surveyed(
    face_a: Scatter,
    face_b: Scatter,
    outline_a: Floats = RECTANGLE,
    outline_b: Floats | None = None,
    defects: list[dict[str, Any]] | None = None,
) -> Survey:
    stated = JobFile.model_validate(
        {"job": {"title": "t"}, "slab": {"species": "ash, white", "edge_margin": 0, "defects": defects or []}}
    )
    below = outline_a if outline_b is None else outline_b
    return survey(Job(stated, ShopFile(), Readings(face_a, face_b, outline_a, below, np.empty((0, 3)), False, False)))


def flat(dips: list[tuple[float, float, float]] = [], step: float = 25.0, **more: Any) -> Survey:  # noqa: B006
    """A flat slab, 50 mm thick, with single low readings on face A: x, y, depth."""
    x, y = stations(step)
    z = np.full(x.size, THICK)
    for at_x, at_y, depth in dips:
        z[(x == at_x) & (y == at_y)] -= depth
    return surveyed(Scatter(x, y, z), Scatter(x, y, np.zeros(x.size)), **more)


def rough(seed: int, step: float = 25.0, **more: Any) -> Survey:
    draw = np.random.default_rng(seed)
    x, y = stations(step)
    faces = []
    for level, way in ((THICK, -1.0), (0.0, 1.0)):
        z = level + draw.normal(0.0, 0.4, x.size) + 1.5 * (x / LENGTH - 0.5) ** 2 + draw.normal() * (y / WIDTH)
        for _ in range(3):
            at_x, at_y = draw.uniform(0, LENGTH), draw.uniform(0, WIDTH)
            z += way * draw.uniform(1, 5) * np.exp(-((x - at_x) ** 2 + (y - at_y) ** 2) / 60.0**2)
        faces.append(Scatter(x, y, z))
    return surveyed(faces[0], faces[1], **more)


def placed(survey_: Survey, length: float, width: float | None, **more: Any) -> Placement:
    found = place(survey_, length, width, **more)
    assert isinstance(found, Placement)
    return found


def holds(found: Placement, x: float, y: float) -> bool:
    return bool(shapely.intersects_xy(Polygon(found.corners).buffer(1e-6), x, y))


def test_a_dip_that_can_be_left_out_is_left_out() -> None:
    slab = flat([(100.0, 250.0, 6.0)])
    found = placed(slab, 1000.0, 450.0)
    assert not holds(found, 100.0, 250.0)
    assert found.thickness == pytest.approx(THICK, abs=1e-6)
    assert found.bound == pytest.approx(THICK, abs=0.05)
    assert found.proven


def test_a_dip_that_lies_in_every_placement_is_paid_for() -> None:
    # In the middle of face A, with readings all round it on either side: the board is thinner by just its depth.
    found = placed(flat([(600.0, 250.0, 6.0)]), 1000.0, 450.0)
    assert found.thickness == pytest.approx(THICK - 6.0, abs=1e-6)
    assert found.bound == pytest.approx(found.thickness, abs=0.05)


def test_live_edges_shift_along_only() -> None:
    found = placed(flat([(100.0, 250.0, 6.0)]), 1000.0, None, edge_margin=10.0, turn_most=1.0)
    assert found.width is None
    assert found.thickness == pytest.approx(THICK, abs=1e-6)
    assert found.x - 500.0 > 90.0
    assert found.y == pytest.approx(WIDTH / 2, abs=1e-6)
    assert abs(found.turn) <= 1.0 + 1e-9


def test_rows_of_readings_as_far_apart_as_the_piece_is_wide_are_proven_quickly() -> None:
    # Both rows y = 25 and y = 425 are low; a piece of just their distance has one of them at least wherever it lies.
    x, y = stations()
    z = np.where((y == 25.0) | (y == 425.0), THICK - 2.0, THICK)
    slab = surveyed(Scatter(x, y, z), Scatter(x, y, np.zeros(x.size)))
    found = placed(slab, 1000.0, 400.0, turn_most=0.0, time_limit=60.0)
    assert found.proven
    assert found.bound - found.thickness <= 0.05
    grid = max(
        widest_strip(*cut_out(slab, shapely.box(100, low, 1100, low + 400).buffer(1e-6))).thickness
        for low in np.linspace(0.0, 100.0, 41)
    )
    assert found.thickness >= grid - 0.05


def cut_out(slab: Survey, area: shapely.Geometry) -> tuple[Scatter, Scatter]:
    cut = []
    for face in (slab.all_a, slab.all_b):
        assert isinstance(face, Scatter)
        kept = shapely.intersects_xy(area, face.x, face.y)
        cut.append(Scatter(face.x[kept], face.y[kept], face.z[kept]))
    return cut[0], cut[1]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_thickness_is_that_of_the_readings_inside(seed: int) -> None:
    slab = rough(seed)
    found = placed(slab, 1000.0, 420.0, end_trim=15.0)
    area = Polygon(found.corners)
    again = widest_strip(*cut_out(slab, area.buffer(1e-6, join_style="mitre")))
    assert found.thickness == pytest.approx(again.thickness, abs=1e-5)
    assert found.thickness_read == pytest.approx(again.thickness, abs=1e-5)
    assert shapely.box(15, 0, LENGTH - 15, WIDTH).buffer(1e-5).covers(area)
    assert area.area == pytest.approx(1000.0 * 420.0)


def test_the_piece_lies_in_the_outlines_of_both_faces() -> None:
    below = np.array([(30.0, 40.0), (LENGTH, 0.0), (LENGTH, WIDTH), (0.0, WIDTH - 30.0)])
    slab = rough(4, outline_b=below)
    found = placed(slab, 1000.0, 400.0)
    area = Polygon(found.corners)
    for outline in (slab.outline_a, slab.outline_b):
        assert outline.buffer(1e-5).covers(area)


def test_a_piece_that_just_goes_in_is_placed() -> None:
    found = placed(flat(), LENGTH, WIDTH)
    assert (found.x, found.y, found.turn) == pytest.approx((LENGTH / 2, WIDTH / 2, 0.0), abs=1e-4)
    assert found.runners_up == ()


def test_cuts_that_are_stated_are_kept_to() -> None:
    found = placed(rough(5), 700.0, 400.0, cut_from=200.0, cut_to=1000.0)
    x = [corner[0] for corner in found.corners]
    assert min(x) >= 200.0 - 1e-5
    assert max(x) <= 1000.0 + 1e-5
    live = placed(rough(5), 700.0, None, cut_from=200.0, cut_to=1000.0)
    x = [corner[0] for corner in live.corners]
    assert min(x) >= 200.0 - 1e-5
    assert max(x) <= 1000.0 + 1e-5


def test_what_does_not_go_in_is_told_with_what_does() -> None:
    slab = flat()
    found = place(slab, 1300.0, 450.0, end_trim=20.0)
    assert isinstance(found, NoRoom)
    assert found.longest == pytest.approx(LENGTH - 40.0, abs=2.0)
    assert found.widest is None
    assert isinstance(place(slab, found.longest or 0.0, 450.0, end_trim=20.0), Placement)
    (finding,) = placement_findings(found, "metric")
    assert finding.severity == "stop"
    assert "1300" in finding.message.replace(" ", "").replace(",", "")
    assert "1160" in finding.remedy.replace(" ", "").replace(",", "")

    (in_inches,) = placement_findings(found, "inch")
    printed = parse_length(in_inches.remedy.split(" is the longest")[0])
    assert isinstance(place(slab, printed, 450.0, end_trim=20.0), Placement)

    wide = place(slab, 1000.0, 520.0)
    assert isinstance(wide, NoRoom)
    assert wide.widest == pytest.approx(WIDTH, abs=1.0)
    assert isinstance(place(slab, 1000.0, wide.widest or 0.0), Placement)
    live = place(slab, 1250.0, None)
    assert isinstance(live, NoRoom)
    assert live.longest == pytest.approx(LENGTH, abs=1.0)
    assert isinstance(place(slab, live.longest or 0.0, None), Placement)


def test_no_flat_board_anywhere_is_a_stop() -> None:
    x, y = stations()
    slab = surveyed(
        Scatter(x, y, 20.0 + 15.0 * np.cos(x / 20.0) * np.cos(y / 20.0)),
        Scatter(x, y, 15.0 * np.cos(x / 20.0) * np.cos(y / 20.0)),
    )
    found = placed(slab, 1000.0, 400.0)
    assert found.thickness <= 0.0
    assert "top/no-board" in {one.code for one in placement_findings(found, "metric")}


def test_time_that_ends_first_is_told_and_the_bound_holds() -> None:
    slab = rough(6, step=12.5)
    short = placed(slab, 900.0, 380.0, time_limit=1e-6)
    full = placed(slab, 900.0, 380.0, time_limit=60.0)
    assert not short.proven
    assert full.proven
    assert full.thickness <= short.bound + 1e-9
    assert short.thickness <= full.bound + 1e-9
    assert [one.code for one in placement_findings(short, "metric")] == ["top/placement-time"]
    assert placement_findings(full, "metric") == ()


def test_the_same_input_gives_the_same_placement() -> None:
    slab = rough(7)
    assert placed(slab, 900.0, 400.0, time_limit=60.0) == placed(slab, 900.0, 400.0, time_limit=60.0)


KNOT = {"kind": "knot", "face": "A", "at": [150.0, 250.0], "diameter": 80.0}


def test_a_defect_counts_by_its_area_on_the_show_face() -> None:
    slab = flat(defects=[KNOT])
    free = placed(slab, 1150.0, 450.0, defect_cost=0.0)
    assert free.cost == 0.0
    must = placed(slab, 1150.0, 450.0, defect_cost=2.0)
    # A piece of this length has all of the knot wherever it lies: pi 40^2 mm2 are half a square decimetre.
    assert must.cost == pytest.approx(2.0 * math.pi * 40.0**2 / 1e4, rel=0.01)
    can = placed(slab, 950.0, 450.0, defect_cost=2.0)
    assert can.cost == pytest.approx(0.0, abs=0.05)
    assert not holds(can, 150.0, 250.0)


def test_face_a_up_against_face_b_up() -> None:
    slab = flat(defects=[KNOT])
    found = placed(slab, 1150.0, 450.0, defect_cost=2.0, show_face="A")
    by_face = {one.face: one for one in found.faces}
    assert found.face_up == "A"
    assert by_face["A"].cost == pytest.approx(1.0, abs=0.02)
    assert by_face["B"].cost == 0.0
    assert "top/other-face" in {one.code for one in placement_findings(found, "metric")}
    either = placed(slab, 1150.0, 450.0, defect_cost=2.0, show_face=None)
    assert either.face_up == "B"
    assert "top/other-face" not in {one.code for one in placement_findings(either, "metric")}


def test_a_defect_that_goes_through_counts_on_both_faces() -> None:
    slab = flat(defects=[{**KNOT, "kind": "void", "depth": "through"}])
    found = placed(slab, 1150.0, 450.0, defect_cost=2.0)
    assert [one.cost for one in found.faces] == pytest.approx([1.0, 1.0], abs=0.02)


def test_sapwood_is_left_out_where_it_costs() -> None:
    strip = Sapwood("A", shapely.box(0.0, 0.0, LENGTH, 45.0), 1.0)
    found = placed(flat(), 1000.0, 400.0, sapwood=[strip])
    # A square decimetre counts as 1 mm: the gap of 0.05 mm leaves 500 mm2 of it at the most.
    assert found.cost <= 0.05
    assert found.y - 200.0 >= 44.0
    assert found.bound >= found.thickness


def test_cost_and_thickness_are_weighed_together() -> None:
    # The dip at the left takes 3 mm; the knot at the right may count less or more: a piece has to have some of one.
    right = {**KNOT, "at": [1140.0, 250.0]}
    slab = flat([(100.0, 250.0, 3.0)], defects=[right])
    found = placed(slab, 1050.0, 450.0, defect_cost=2.0)
    assert found.thickness == pytest.approx(THICK, abs=1e-6)
    assert 0.5 < found.cost < 0.9
    dear = placed(slab, 1050.0, 450.0, defect_cost=20.0)
    assert dear.thickness == pytest.approx(THICK - 3.0, abs=1e-6)
    assert dear.cost == pytest.approx(0.0, abs=0.05)


def test_runners_up_lie_apart() -> None:
    found = placed(rough(8), 700.0, 300.0)
    assert len(found.runners_up) == 3
    spots = [(found.x, found.y, found.turn), *((one.x, one.y, one.turn) for one in found.runners_up)]
    for k, first in enumerate(spots):
        for second in spots[:k]:
            apart = math.hypot(first[0] - second[0], first[1] - second[1])
            assert apart > 0.05 * 700.0 or abs(first[2] - second[2]) > 1.0
    for one in found.runners_up:
        assert one.thickness - one.cost <= found.bound + 1e-9


def test_the_turn_keeps_to_its_limit() -> None:
    slab = rough(9)
    assert placed(slab, 900.0, 350.0, turn_most=0.0).turn == 0.0
    assert abs(placed(slab, 900.0, 350.0, turn_most=0.4).turn) <= 0.4 + 1e-9


def test_the_promise_is_what_is_drawn_at_the_placement() -> None:
    slab = rough(10, step=50.0)
    hidden = hidden_surface(on_ground(slab, ground(slab)), draws=200)
    found = placed(slab, 800.0, 350.0, hidden=hidden, time_limit=60.0)
    assert found.proven
    assert found.thickness == pytest.approx(found.thickness_drawn, abs=0.011)
    assert found.thickness < found.thickness_read
    less = placed(slab, 800.0, 350.0, hidden=hidden, taken=1.6, time_limit=60.0)
    assert less.thickness == pytest.approx(found.thickness - 1.6)
    assert less.bound == pytest.approx(found.bound - 1.6)
    assert (less.x, less.y, less.turn) == (found.x, found.y, found.turn)


def test_by_the_promise_the_piece_keeps_away_from_what_was_not_read() -> None:
    # The right third was hardly read. By the readings it looks as good as the rest; by the promise it does not.
    draw = np.random.default_rng(11)
    x, y = stations(step=50.0)
    kept = (x < 750.0) | (x == LENGTH)
    x, y = x[kept], y[kept]
    faces = [
        Scatter(x, y, level + draw.normal(0.0, 0.3, x.size) + 2.0 * np.sin(x / 110.0) * np.cos(y / 90.0))
        for level in (THICK, 0.0)
    ]
    slab = surveyed(faces[0], faces[1])
    hidden = hidden_surface(on_ground(slab, ground(slab)), draws=200)
    promised = placed(slab, 600.0, 350.0, hidden=hidden)
    assert promised.x + 300.0 < 900.0


@pytest.mark.parametrize("size", [(150.0, 60.0), (90.0, 90.0)])
def test_readings_too_far_apart_for_the_piece_are_an_error(size: tuple[float, float]) -> None:
    with pytest.raises(SlabwrightError, match="read closer together"):
        place(flat(step=100.0), *size, time_limit=0.2)


@pytest.mark.parametrize(
    "wrong",
    [
        {"piece_length": 0.0},
        {"piece_width": -1.0},
        {"turn_most": 11.0},
        {"defect_cost": -1.0},
        {"gap": 0.0},
        {"time_limit": 0.0},
    ],
)
def test_sizes_that_make_no_sense_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"nought|degrees"):
        place(**{"survey": flat(), "piece_length": 1000.0, "piece_width": 400.0, **wrong})  # type: ignore[arg-type]


def test_no_reading_on_the_ground_is_an_error() -> None:
    with pytest.raises(SlabwrightError, match="no reading of face A"):
        place(flat(step=100.0), 20.0, 20.0, cut_from=310.0, cut_to=390.0)


def test_every_figure_of_a_placement_has_its_account() -> None:
    found = placed(rough(12), 900.0, 380.0, defect_cost=1.0)
    for account in accounts(found, "top.placement"):
        assert account.description.meaning, account.path
    plain = as_plain(found)
    assert set(plain) >= {"x", "y", "turn", "face_up", "thickness", "bound", "gap", "proven", "runners_up"}


def test_centre_line_of_sloping_edges() -> None:
    outline = np.array([(0.0, 10.0), (2000.0, 50.0), (2000.0, 850.0), (0.0, 790.0)])
    line = centre_line(Polygon(outline), Polygon(outline))
    assert math.tan(math.radians(line.angle)) == pytest.approx((450.0 - 400.0) / 2000.0, abs=1e-9)
    assert line.at(0.0) == pytest.approx(400.0)
    assert line.wander == pytest.approx(0.0, abs=1e-6)


def test_a_notch_hardly_moves_the_centre_line() -> None:
    plain = np.array([(0.0, 0.0), (2000.0, 0.0), (2000.0, 800.0), (0.0, 800.0)])
    notch = np.array([(0.0, 0.0), (1500.0, 0.0), (1500.0, 200.0), (1700.0, 200.0), (1700.0, 0.0), *plain[1:]])
    wavy = Polygon(np.vstack([notch + np.array([0.0, 3.0]) * np.sin(np.arange(len(notch)))[:, None]]))
    line = centre_line(wavy, wavy)
    assert line.at(1000.0) == pytest.approx(400.0, abs=4.0)
    assert abs(line.angle) < 0.3


@pytest.mark.parametrize("turn", [-1.4, 0.0, 0.9])
@pytest.mark.parametrize("width", [450.0, None])
def test_a_first_cut_out_of_square_by_so_much_leaves_the_final_one(turn: float, width: float | None) -> None:
    outline = Polygon([(0.0, 0.0), (2000.0, 30.0), (2000.0, 630.0), (0.0, 600.0)])
    line = centre_line(outline, outline)
    x, y, length = 1000.0, line.at(1000.0), 1800.0
    cuts = rough_cuts(line, outline, outline, x=x, y=y, turn=turn, length=length, width=width)
    theta = math.radians(turn)
    along, across = np.array([math.cos(theta), math.sin(theta)]), np.array([-math.sin(theta), math.cos(theta)])
    for cut, way in zip(cuts, (-1.0, 1.0), strict=True):
        assert cut.needed
        half = 5000.0 if width is None else width / 2
        end = np.array([x, y]) + way * along * length / 2
        final = LineString([end - half * across, end + half * across]).intersection(outline)

        def crosses(degrees: float, cut: Any = cut, final: Any = final) -> bool:
            square = math.radians(line.angle + 90.0 + degrees)
            step = 5000.0 * np.array([math.cos(square), math.sin(square)])
            at = np.array([cut.x, cut.y])
            return bool(LineString([at - step, at + step]).intersects(final))

        assert not crosses(0.98 * cut.out_of_square)
        assert not crosses(-0.98 * cut.out_of_square)
        assert crosses(1.03 * cut.out_of_square) or crosses(-1.03 * cut.out_of_square)
        assert cut.out_over_width == pytest.approx(math.tan(math.radians(cut.out_of_square)) * cut.width)
        assert cut.y == pytest.approx(line.at(cut.x), abs=1e-6)


def test_no_first_cut_where_there_is_no_wood_for_it() -> None:
    outline = Polygon([(0.0, 0.0), (2000.0, 0.0), (2000.0, 600.0), (0.0, 600.0)])
    line = centre_line(outline, outline)
    left, right = rough_cuts(line, outline, outline, x=1005.0, y=300.0, turn=0.0, length=1990.0, width=None)
    assert not left.needed
    assert left.spare == pytest.approx(10.0)
    assert not right.needed
    assert right.spare == pytest.approx(0.0, abs=1e-9)
    assert right.out_of_square == pytest.approx(0.0, abs=1e-9)
