from __future__ import annotations

import io
import math
from itertools import pairwise
from typing import Literal
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
from shapely import Point, Polygon
from tests.unit.sheet_plan import outline, plan

from slabwright.plan import Plan
from slabwright.sheets import colours
from slabwright.sheets.bed_layout import as_dxf, as_svg, bed_drawing
from slabwright.sheets.bed_sheets import height_places
from slabwright.sheets.context import Context
from slabwright.sheets.face_sheets import fitted
from slabwright.sheets.fill_sheets import dam_lines, draw_names
from slabwright.sheets.height_map import UNREAD, bands_for, draw_height_map, draw_scale_bar, wood_left
from slabwright.sheets.picture import GREAT, Picture, text_width
from slabwright.sheets.plan_view import View, nice_step
from slabwright.sheets.words import Words
from slabwright.slab.patch import Patch
from slabwright.slab.stock import StockMap

SVG = "{http://www.w3.org/2000/svg}"


def test_contrast_of_black_white_and_the_sheets_inks() -> None:
    assert colours.contrast("#000000", "#FFFFFF") == pytest.approx(21.0)  # WCAG 2.2, "contrast ratio": from memory
    assert colours.contrast("#777777", "#FFFFFF") == pytest.approx(
        4.48, abs=0.01
    )  # the well-known near miss of 4.5: from memory
    for ink in (colours.INK, colours.SOFT, colours.CHOSEN, colours.STOP, colours.CARE, colours.GO):
        assert colours.contrast(ink, colours.PAPER) >= 5.5
    assert colours.contrast(colours.INK, colours.WOOD) >= 5.5


@pytest.mark.parametrize("steps", [1, 2, 7, 14])
def test_the_ramp_darkens_evenly(steps: int) -> None:
    lightness = [colours.lightness(colour) for colour in colours.ramp(steps)]
    assert len(lightness) == steps and lightness[0] == pytest.approx(95.0, abs=1.0)
    if steps > 1:
        falls = [a - b for a, b in pairwise(lightness)]
        assert min(falls) > 0 and max(falls) - min(falls) < 1.5


def test_the_ramp_is_told_apart_without_red_and_green() -> None:
    # Dichromats see lightness and the blue-yellow axis: steps of lightness alone must part neighbours (even in grey) by what
    # printing in grey resolves.
    lightness = [colours.lightness(colour) for colour in colours.ramp(10)]
    assert min(a - b for a, b in pairwise(lightness)) > 5.0


@pytest.mark.parametrize(
    ("span", "pieces", "step"), [(9.3, 10, 1.0), (9.3, 4, 5.0), (0.4, 10, 0.05), (100.0, 10, 10.0)]
)
def test_nice_step(span: float, pieces: int, step: float) -> None:
    assert nice_step(span, pieces) == pytest.approx(step)


def test_bands_are_round_in_the_job_s_own_unit_and_cover_all() -> None:
    metric, inch = bands_for(9.27, Words("metric")), bands_for(9.27, Words("inch"))
    assert metric.levels[0] == 0.0 and metric.levels[-1] >= 9.27
    assert np.diff(metric.levels) == pytest.approx(1.0)
    assert np.diff(inch.levels) / 25.4 == pytest.approx(0.05)
    assert len(metric.colours) == len(metric.levels) - 1


def test_wood_left_after_a_depth() -> None:
    before = np.array([-0.4, 0.0, 1.5, 5.0])
    assert wood_left(before, 2.0).tolist() == [-0.4, 0.0, 1.5, 2.0]
    assert wood_left(before, 0.0).tolist() == [-0.4, 0.0, 0.0, 0.0]


def _sloping(slope: float, shift: float) -> tuple[StockMap, Polygon]:
    x, y = np.arange(5.0, 1000.0, 10.0), np.arange(5.0, 400.0, 10.0)
    return StockMap(x, y, np.tile(slope * x[:, None] + shift, (1, y.size))), Polygon(
        [(0, 0), (1000, 0), (1000, 400), (0, 400)]
    )


def test_contours_of_a_sloping_face_lie_where_its_height_is_round() -> None:
    stock, border = _sloping(0.01, 0.0)
    picture, words = Picture(200.0, 80.0), Words("metric")
    view = View.fit(border.bounds, (0.0, 0.0, 200.0, 80.0))
    draw_height_map(picture, view, stock, bands_for(10.0, words), words, outline=border, labelled=False)
    lines = [
        path.attrib["d"]
        for path in ElementTree.fromstring(picture.svg()).iter(f"{SVG}path")
        if path.attrib.get("fill") == "none" and "clip-path" not in path.attrib
    ]
    found = sorted({round(float(pair.split()[0]), 1) for line in lines for pair in line.strip("MZ").split("L")})
    assert found == pytest.approx([20.0 * k for k in range(1, 10)], abs=0.1)


def test_low_spots_are_hatched_and_only_they() -> None:
    words = Words("metric")
    for shift, low in ((-2.0, True), (0.5, False)):
        stock, border = _sloping(0.01, shift)
        picture = Picture(200.0, 80.0)
        view = View.fit(border.bounds, (0.0, 0.0, 200.0, 80.0))
        draw_height_map(picture, view, stock, bands_for(10.0, words), words, outline=border, level=0.0)
        root = ElementTree.fromstring(picture.svg())
        hatched = [path for path in root.iter(f"{SVG}path") if path.attrib.get("clip-path", "").startswith("url(#h")]
        assert bool(hatched) is low
        if low:
            clip = next(c for c in root.iter(f"{SVG}clipPath") if c.attrib["id"].startswith("h"))
            data = clip.find(f"{SVG}path")
            assert data is not None
            xs = [
                float(pair.split()[0])
                for ring in data.attrib["d"].split("Z")
                if ring
                for pair in ring.strip("M").split("L")
            ]
            assert max(xs) == pytest.approx(40.0, abs=0.1)  # 200 mm of slab, where the slope reaches 0


def test_a_view_of_face_b_has_y_run_down_the_page() -> None:
    for mirrored, sign in ((False, -1.0), (True, 1.0)):
        view = View.fit((0.0, -100.0, 1000.0, 300.0), (0.0, 0.0, 100.0, 40.0), mirrored)
        x0, y0 = view.point(0.0, 0.0)
        x1, y1 = view.point(100.0, 100.0)
        assert [x1 - x0, y1 - y0] == pytest.approx([10.0, sign * 10.0])


def test_text_of_a_drawing_is_escaped() -> None:
    picture = Picture(10.0, 10.0)
    picture.text(1.0, 5.0, '<a href="x">&', halo=True)
    said = [text.text for text in ElementTree.fromstring(picture.svg()).iter(f"{SVG}text")]
    assert said == ['<a href="x">&'] * 2


def _patch(shape: Polygon, edge: bool, pours: int = 2) -> Patch:
    return Patch(
        name="A", x=0.0, y=0.0, area=1.0, volume=1.0, missing=1.0, depth=1.0, meets_edge=edge, hole=False, pours=pours,
        resin=0.6, outline=shape,
    )  # fmt: skip


def test_a_dam_runs_along_the_edge_past_the_fill() -> None:
    slab = Polygon([(0, 0), (1000, 0), (1000, 400), (0, 400)])
    fill = Point(1000, 200).buffer(50).intersection(slab)
    assert isinstance(fill, Polygon)
    (dam,) = dam_lines(_patch(fill, True), slab)
    assert dam.length == pytest.approx(2 * (50 + 30), abs=0.5)
    assert all(x == pytest.approx(1000.0) for x, _ in dam.coords)
    corner = Point(0, 0).buffer(60).intersection(slab)
    assert isinstance(corner, Polygon)
    assert sum(line.length for line in dam_lines(_patch(corner, True), slab)) == pytest.approx(2 * 90, abs=1.0)
    assert dam_lines(_patch(fill, False), slab) == []


def test_names_of_near_places_do_not_cover_one_another() -> None:
    picture = Picture(160.0, 80.0)
    draw_names(picture, (80.0, 40.0), [(name, 100.0 + 3.0 * k, 40.0 + k) for k, name in enumerate("ABCDEF")])
    great = [t for t in ElementTree.fromstring(picture.svg()).iter(f"{SVG}text") if t.attrib["fill"] != "#FFFFFF"]
    places = [(float(t.attrib["x"]), float(t.attrib["y"])) for t in great]
    assert len(places) == 6
    for k, a in enumerate(places):
        for b in places[:k]:
            assert abs(a[0] - b[0]) > 0.5 * GREAT or abs(a[1] - b[1]) > 0.7 * GREAT


@pytest.fixture(scope="module", params=["A", "B"])
def layout(request: pytest.FixtureRequest) -> tuple[Plan, bytes, str]:
    result = plan(first_face=request.param)
    drawing = bed_drawing(Context(result))
    return result, as_dxf(drawing), as_svg(drawing)


def test_the_bed_layout_opens_without_faults_in_millimetres_full_size(layout: tuple[Plan, bytes, str]) -> None:
    result, dxf, _ = layout
    drawing = ezdxf.read(io.StringIO(dxf.decode("utf-8")))
    assert not drawing.audit().has_errors and not drawing.audit().has_fixes
    assert drawing.header["$INSUNITS"] == 4  # AutoCAD DXF reference, $INSUNITS: 4 = millimetres
    assert {entity.dxf.layer for entity in drawing.modelspace()} == {"BED", "SLAB", "STACKS", "TEXT"}
    assert result.slab is not None and result.slab.shims is not None
    circles = [(c.dxf.center.x, c.dxf.center.y, c.dxf.radius) for c in drawing.modelspace().query("CIRCLE")]
    assert np.array(circles) == pytest.approx(np.array([(s.bed_x, s.bed_y, 30.0) for s in result.slab.shims.stacks]))
    for stack in result.slab.shims.stacks:
        assert any(f"{stack.name} {stack.height:g} mm" == text.dxf.text for text in drawing.modelspace().query("TEXT"))
    bed = next(iter(drawing.modelspace().query('LWPOLYLINE[layer=="BED"]')))
    corners = np.array(list(bed.get_points("xy")))
    assert np.ptp(corners, axis=0) == pytest.approx([2600.0, 1250.0])
    slab = next(iter(drawing.modelspace().query('LWPOLYLINE[layer=="SLAB"]')))
    shape = Polygon(list(slab.get_points("xy")))
    # A plane's own area is smaller in plan by the cosine of its tilt; laid level it is whole.
    assert shape.area == pytest.approx(
        outline().buffer(0 if result.slab.first_face == "A" else -4).area * math.sqrt(1 + 0.004**2 + 0.006**2), rel=1e-6
    )
    assert all(shape.contains(Point(x, y)) for x, y, _ in circles)


def test_the_svg_is_the_same_drawing_full_size(layout: tuple[Plan, bytes, str]) -> None:
    _, dxf, svg = layout
    root = ElementTree.fromstring(svg)
    box = [float(v) for v in root.attrib["viewBox"].split()]
    assert root.attrib["width"] == f"{box[2]:.2f}mm" and root.attrib["height"] == f"{box[3]:.2f}mm"
    assert {group.attrib["id"] for group in root.iter(f"{SVG}g")} == {"BED", "SLAB", "STACKS", "TEXT"}
    drawing = ezdxf.read(io.StringIO(dxf.decode("utf-8")))
    circles = [(float(c.attrib["cx"]), -float(c.attrib["cy"]), float(c.attrib["r"])) for c in root.iter(f"{SVG}circle")]
    stated = [(c.dxf.center.x, c.dxf.center.y, c.dxf.radius) for c in drawing.modelspace().query("CIRCLE")]
    assert np.array(circles) == pytest.approx(np.array(stated), abs=0.01)
    for path in root.iter(f"{SVG}path"):
        for pair in path.attrib["d"].strip("MZ").split("L"):
            x, y = (float(v) for v in pair.split())
            assert box[0] <= x <= box[0] + box[2] and box[1] <= y <= box[1] + box[3]


def test_a_revision_that_is_no_plain_text_does_not_break_the_drawing() -> None:
    drawing = bed_drawing(Context(plan(revision='2\n  0\nEOF\x00<&"')))
    ElementTree.fromstring(as_svg(drawing))
    assert not ezdxf.read(io.StringIO(as_dxf(drawing).decode("utf-8"))).audit().has_errors


def _fills(picture: Picture) -> set[str]:
    return {path.attrib.get("fill", "") for path in ElementTree.fromstring(picture.svg()).iter(f"{SVG}path")}


@pytest.mark.parametrize("height", [1.0, 2.0, 3.5, 0.0])
def test_a_level_map_is_filled_even_where_its_height_is_that_of_a_contour(height: float) -> None:
    words = Words("metric")
    x, y = np.arange(5.0, 1000.0, 10.0), np.arange(5.0, 400.0, 10.0)
    border = Polygon([(0, 0), (1000, 0), (1000, 400), (0, 400)])
    bands = bands_for(10.0, words)
    picture = Picture(200.0, 80.0)
    view = View.fit(border.bounds, (0.0, 0.0, 200.0, 80.0))
    level = StockMap(x, y, np.full((x.size, y.size), height))
    draw_height_map(picture, view, level, bands, words, outline=border, labelled=False)
    below = max(int(np.ceil(height)) - 1, 0)
    assert bands.colours[below] in _fills(picture)


def test_what_was_not_read_is_grey_and_has_no_contours() -> None:
    stock, border = _sloping(0.01, 0.0)
    words = Words("metric")
    view = View.fit(border.bounds, (0.0, 0.0, 200.0, 80.0))
    bands = bands_for(10.0, words)
    whole, part = Picture(200.0, 80.0), Picture(200.0, 80.0)
    draw_height_map(whole, view, stock, bands, words, outline=border, read=border)
    read = Polygon([(0, 0), (500, 0), (500, 400), (0, 400)])
    draw_height_map(part, view, stock, bands, words, outline=border, read=read)
    assert UNREAD not in _fills(whole) and UNREAD in _fills(part)
    clips = [
        path.attrib["d"]
        for clip in ElementTree.fromstring(part.svg()).iter(f"{SVG}clipPath")
        for path in clip
        if clip.attrib["id"].startswith("c")
    ]
    xs = [float(pair.split()[0]) for data in clips for pair in data.strip("MZ").split("L")]
    assert max(xs) == pytest.approx(100.0)  # bands and contours end where the readings do
    labels = [float(text.attrib["x"]) for text in ElementTree.fromstring(part.svg()).iter(f"{SVG}text")]
    assert labels and max(labels) < 100.0


@pytest.mark.parametrize(("most", "units"), [(16.8, "inch"), (9.3, "metric"), (13.9, "metric"), (0.7, "inch")])
def test_labels_of_the_scale_stand_apart(most: float, units: Literal["metric", "inch"]) -> None:
    words = Words(units)
    for low, unread in ((False, False), (True, True)):
        picture = Picture(200.0, 12.0)
        draw_scale_bar(picture, bands_for(most, words), words, 0.0, 1.0, 187.0, low=low, unread=unread)
        said = [
            (float(text.attrib["x"]), text_width(text.text or ""), text.attrib["text-anchor"])
            for text in ElementTree.fromstring(picture.svg()).iter(f"{SVG}text")
        ]
        ends = [(x - wide / 2, x + wide / 2) if anchor == "middle" else (x, x + wide) for x, wide, anchor in said]
        for (_, end), (start, _) in pairwise(ends[:-1]):
            assert start >= end + 1.0
        assert ends[0][0] >= -0.01 and ends[-1][1] <= 200.0


def test_heights_on_the_shim_map_stay_on_the_slab_and_clear_of_all() -> None:
    edges = (10.0, 5.0, 250.0, 95.0)
    names = [(22.0, 12.0), (100.0, 14.0), (180.0, 14.0), (243.0, 12.0), (22.0, 88.0), (243.0, 88.0)]
    wide = [24.0, 24.0, 24.0, 24.0, 24.0, 30.0]
    spots = height_places(names, wide, edges)
    assert all(spot is not None for spot in spots)
    boxes = [(x, y, w) for (x, y), w in zip((s for s in spots if s), wide, strict=True)]
    for x, _, w in boxes:
        assert x - w / 2 > edges[0] and x + w / 2 < edges[2]
    for k, (x, y, w) in enumerate(boxes):
        for a, b, v in boxes[:k]:
            assert abs(x - a) >= (w + v) / 2 or abs(y - b) >= 0.75 * GREAT
    assert height_places([(30.0, 50.0), (44.0, 50.0), (58.0, 50.0)], [60.0] * 3, (10.0, 44.0, 80.0, 56.0)) == [None] * 3


@pytest.mark.parametrize(("count", "shape"), [(1, 0.4), (2, 0.3), (4, 0.4), (5, 0.42), (7, 0.42), (14, 0.5), (3, 1.2)])
def test_small_maps_fill_their_sheet(count: int, shape: float) -> None:
    wide, high = 275.0, 124.0
    fit = fitted(count, shape, wide, high)
    rows = -(-fit.each // fit.columns)
    below = 0.0 if fit.beside else 32.0
    assert fit.height >= 18.0 and rows * (fit.height + below) + (rows - 1) * 3.5 <= high + 1e-6
    assert fit.columns * fit.width + (fit.columns - 1) * 4.0 <= wide + 1e-6
    if count > 1:
        fewer = fitted(count - 1, shape, wide, high)
        assert fewer.each < fit.each or fewer.height >= fit.height - 1e-6  # fewer maps are never smaller


def test_a_map_alone_is_as_large_as_the_sheet_lets_it_be() -> None:
    assert fitted(1, 0.4, 275.0, 124.0).height > 80.0
