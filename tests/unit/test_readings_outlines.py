"""Outlines from lists and drawings."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import Polygon
from tests.unit.readings_files import BOTH, load, put

from slabwright.findings import SlabwrightError
from slabwright.geometry.faces import Floats
from slabwright.geometry.outlines import corners_of, crossing, outline_of_points, signed_area, without_repeats
from slabwright.job.models import ReadingUnit
from slabwright.job.readings.outline import read_outline
from slabwright.job.readings.source import Source

SQUARE = [(0.0, 0.0), (1000.0, 0.0), (1000.0, 400.0), (0.0, 400.0)]


def outline(folder: Path, name: str, content: str | bytes, unit: ReadingUnit = "mm") -> Floats:
    put(folder, name, content)
    return read_outline(Source(folder / name, name, "slab.outline, job.toml:7", unit))


def svg(body: str, head: str = 'width="240cm" height="100cm" viewBox="0 0 240 100"') -> str:
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'


def dxf(draw: Callable[[Any], object], units: int = 4) -> str:
    import ezdxf

    document = ezdxf.new("R2010", units=units)
    draw(document.modelspace())
    text = io.StringIO()
    document.write(text)
    return text.getvalue()


@pytest.mark.parametrize(
    "written",
    [
        "x,y\n0,0\n1000,0\n1000,400\n0,400\n",
        "x,y\n0,0\n1000,0\n1000,400\n0,400\n0,0\n",
        "X;Y\n0;0\n0;400\n1000;400\n1000;400\n1000,0;0\n",
    ],
)
def test_a_list_of_corners_closed_or_not_either_way_round(tmp_path: Path, written: str) -> None:
    corners = outline(tmp_path, "o.csv", written)
    assert len(corners) == 4
    assert signed_area(corners) == pytest.approx(400_000)


@pytest.mark.parametrize(
    ("body", "area", "low", "high"),
    [
        ('<rect x="10" y="10" width="200" height="80"/>', 1.6e6, (100, 100), (2100, 900)),
        ('<polygon points="10,10 210,10 210,90 10,90"/>', 1.6e6, (100, 100), (2100, 900)),
        ('<path d="m10 10h200v80H10Z"/>', 1.6e6, (100, 100), (2100, 900)),
        ('<path d="M10,10 210,10 210,90 10,90 10,10"/>', 1.6e6, (100, 100), (2100, 900)),
        ('<path d="M10-0 l0 0 1e1.5"/><path d="M0 0H5V5Zm5 5h100v40h-100z"/>', 4e5, (50, 550), (1050, 950)),
        ('<circle cx="120" cy="50" r="40"/>', math.pi * 400**2, (800, 100), (1600, 900)),
        ('<path d="M80,50a40,40 0 1180,0 40,40 0 11-80 0z"/>', math.pi * 400**2, (800, 100), (1600, 900)),
        (
            '<g transform="translate(5,5) rotate(90 20 20)"><ellipse cx="120" cy="50" rx="40" ry="20"/></g>',
            math.pi * 400 * 200,
            (-250, -650),
            (150, 150),
        ),
        ('<rect transform="matrix(0 1 -1 0 100 0) scale(2)" width="20" height="40"/>', 3.2e5, (200, 600), (1000, 1000)),
        # Below y = 50 + f(x) and above y = 100: the two halves of the wave cancel.
        ('<path d="M0 50 Q 60 0 120 50 T 240 50 V100 H0z"/>', 1.2e6, (0, 0), (2400, 750)),
        # Under a cubic, about the corner: 1/20 of (6 P0xP1 + 3 P0xP2 + P0xP3 + 3 P1xP2 + 3 P1xP3 + 6 P2xP3), Green's theorem.
        ('<path d="M0 100 L0 0 C 55 0 100 45 100 100z"/>', 784_625.0, (0, 0), (1000, 1000)),
        ('<defs><rect width="240" height="100"/></defs><rect width="20" height="10"/>', 2e4, (0, 900), (200, 1000)),
    ],
)
def test_closed_shapes_of_an_svg(
    tmp_path: Path, body: str, area: float, low: tuple[float, float], high: tuple[float, float]
) -> None:
    corners = outline(tmp_path, "o.svg", svg(body))
    assert signed_area(corners) == pytest.approx(area, rel=5e-4)
    assert corners.min(axis=0) == pytest.approx(low, abs=0.1)
    assert corners.max(axis=0) == pytest.approx(high, abs=0.1)


@pytest.mark.parametrize(
    ("head", "scale"),
    [
        ('width="100mm" viewBox="0 0 100 100"', 1.0),
        ('width="10in" height="10in" viewBox="0 0 100 100"', 2.54),
        ('width="720pt" viewBox="0 0 100 100"', 2.54),
        ('width="60pc" viewBox="0 0 100 100"', 2.54),
        ('width="100%" viewBox="0 0 100 100"', 10.0),
        ('viewBox="0 0 100 100"', 10.0),
        ("", 10.0),
        ('width="300" height="300"', 10.0),
        ('width="200mm" height="100mm" viewBox="0 0 100 100"', 1.0),
        ('width="200mm" height="100mm"', 25.4 / 96),
    ],
)
def test_the_scale_of_an_svg(tmp_path: Path, head: str, scale: float) -> None:
    corners = outline(tmp_path, "o.svg", svg('<rect x="10" y="20" width="80" height="50"/>', head), "cm")
    assert np.ptp(corners, axis=0) == pytest.approx([80 * scale, 50 * scale])


@pytest.mark.parametrize(
    ("draw", "units", "area"),
    [
        (lambda space: space.add_lwpolyline(SQUARE, close=True), 4, 400_000),
        (lambda space: space.add_lwpolyline([*SQUARE, SQUARE[0]]), 4, 400_000),
        (lambda space: space.add_lwpolyline([(x / 100, y / 100) for x, y in SQUARE], close=True), 1, 40 * 25.4**2),
        (lambda space: space.add_lwpolyline([(x / 100, y / 100) for x, y in SQUARE], close=True), 0, 40 * 10**2),
        (lambda space: space.add_polyline2d([(x / 1000, y / 1000) for x, y in SQUARE], close=True), 6, 400_000),
        (lambda space: space.add_circle((50, 50), 400), 4, math.pi * 400**2),
        (lambda space: space.add_ellipse((0, 0), (400, 0), 0.5), 4, math.pi * 400 * 200),
        (lambda space: space.add_lwpolyline([(0, 0, 1), (800, 0, 1)], format="xyb", close=True), 4, math.pi * 400**2),
        (
            # The spline through 24 points of a circle is that circle within 1 in 1,000.
            lambda space: space.add_spline(
                [(400 * math.cos(at), 400 * math.sin(at)) for at in np.linspace(0, math.tau, 25)]
            ),
            4,
            math.pi * 400**2,
        ),
        (lambda space: (space.add_circle((0, 0), 30), space.add_lwpolyline(SQUARE, close=True)), 4, 400_000),
    ],
)
def test_closed_loops_of_a_dxf(tmp_path: Path, draw: Callable[[Any], object], units: int, area: float) -> None:
    assert signed_area(outline(tmp_path, "o.dxf", dxf(draw, units), "cm")) == pytest.approx(area, rel=1e-3)


@pytest.mark.parametrize(
    ("name", "written", "wrong"),
    [
        (
            "o.csv",
            "x,y\n0,0\n1000,400\n1000,0\n0,400\n",
            "o.csv: the outline crosses or touches itself at x = 500, y = 200 mm",
        ),
        ("o.csv", "x,y\n0,0\n1000,0\n0,0\n", "o.csv: the outline has 2 different corners; at least 3"),
        ("o.csv", "x,y\n0,0\n", "o.csv: the outline has 1 different corners"),
        ("o.csv", "x,y\n0,0\n500,1\n1000,2\n", "o.csv: the corners of the outline lie in a line"),
        ("o.csv", "x,y\n0,0\n5,0\n5,5\n", "o.csv: the outline holds 12.5 mm2, no slab is so small"),
        ("o.csv", "x,z\n0,0\n", "o.csv:1: the first line is 'x,z'; x,y is wanted"),
        ("o.csv", "x,y\n0,0,1\n", "o.csv:2: the row has 3 cells; 2 are wanted"),
        ("o.csv", "", "o.csv: the file is empty"),
        ("o.svg", svg('<path d="M10 10 L 20 20 30 10"/>'), "o.svg: the drawing holds no closed polyline"),
        ("o.svg", svg(""), "o.svg: the drawing holds no closed polyline"),
        ("o.svg", svg('<path d="M10 10 L 20 x"/>'), "a path of the drawing can't be read: L has too few numbers"),
        ("o.svg", svg('<path d="M10 10 K 20"/>'), "can't be read: K is no path command"),
        ("o.svg", svg('<path d="10 10"/>'), "can't be read: a path command is missing"),
        ("o.svg", svg('<rect transform="spin(3)" width="9" height="9"/>'), "the transform 'spin(3)' can't be read"),
        ("o.svg", svg("", 'viewBox="0 0 0 5"'), "the drawing's viewBox is '0 0 0 5'"),
        ("o.svg", "<svg><rect></svg>", "o.svg: the file can't be read as SVG (mismatched tag"),
        ("o.svg", "<html/>", "o.svg: the file holds 'html', not a drawing"),
        ("o.svg", '<!DOCTYPE svg [<!ENTITY a "b">]>' + svg("").split("\n")[1], "declares a document type or entities"),
        ("o.svg", ("<!DOCTYPE svg>" + svg("").split("\n")[1]).encode("utf-16"), "declares a document type or entities"),
        ("o.svg", b"<svg>\xe9</svg>", "holds characters that are not UTF-8"),
        ("o.dxf", "rubbish", "o.dxf: the file can't be read as DXF"),
        ("o.dxf", b"\x00\x01\x02" * 50, "o.dxf: the file can't be read as DXF"),
        ("o.dxf", dxf(lambda space: space.add_lwpolyline(SQUARE)), "o.dxf: the drawing holds no closed polyline"),
        ("o.dxf", dxf(lambda space: space.add_circle((0, 0), 1e30)), "o.dxf: the drawing holds no closed polyline"),
        (
            "o.dxf",
            dxf(lambda space: space.add_circle((0, 0), 1), units=3),
            "the drawing's unit ($INSUNITS 3) is no shop's",
        ),
    ],
)
def test_what_is_no_outline_is_named(tmp_path: Path, name: str, written: str | bytes, wrong: str) -> None:
    with pytest.raises(SlabwrightError) as caught:
        outline(tmp_path, name, written)
    message = str(caught.value)
    assert wrong in message
    assert message.endswith("(slab.outline, job.toml:7)")
    assert "\n" not in message


def test_outlines_of_both_faces_or_of_each(tmp_path: Path) -> None:
    one = put(tmp_path, "one.csv", "x,y\n-1,-1\n101,-1\n101,51\n-1,51\n")
    other = put(tmp_path, "other.csv", "x,y\n-2,-2\n102,-2\n102,52\n-2,52\n")
    survey = put(tmp_path, "s.csv", BOTH)
    both = load(tmp_path, survey=survey, outline=one, outline_units="cm")
    assert both.outline_a is not None and both.outline_b is not None
    assert both.outline_a.min() == both.outline_b.min() == -10
    each = load(tmp_path, survey=survey, outline_a=one, outline_b=other, outline_units="cm")
    assert each.outline_a is not None and each.outline_b is not None
    assert (each.outline_a.min(), each.outline_b.min()) == (-10, -20)


def test_an_outline_that_misses_the_readings_is_refused(tmp_path: Path) -> None:
    survey = put(tmp_path, "s.csv", BOTH)
    away = put(tmp_path, "o.csv", "x,y\n2000,0\n3000,0\n3000,500\n2000,500\n")
    with pytest.raises(
        SlabwrightError, match=r"o\.csv: the outline misses the readings: 100 % of face A's lie outside"
    ):
        load(tmp_path, survey=survey, outline=away)
    with pytest.raises(SlabwrightError, match=r"100 % of face B's lie outside .*slab\.outline_b, job\.toml:7"):
        load(tmp_path, survey=survey, outline_b=away)
    one = put(tmp_path, "one.csv", BOTH.replace("face,", "").replace("A,", "").split("B")[0])
    two = put(tmp_path, "two.csv", "x,y,z\n2100,100,0\n2900,100,0\n2500,400,0\n")
    # Face B of a second set-up has a frame of its own; only face A can be held against an outline.
    read = load(
        tmp_path, survey_a=one, survey_b=two, outline=put(tmp_path, "p.csv", "x,y\n-9,-9\n1009,-9\n1009,509\n-9,509\n")
    )
    assert read.outline_b is not None


def test_corners_that_repeat_are_one() -> None:
    loop = np.array([[0, 0], [0, 0], [4, 0], [4, 3], [4, 3], [0, 0], [0, 0]], dtype=float)
    assert without_repeats(loop).tolist() == [[0, 0], [4, 0], [4, 3]]
    assert len(without_repeats(loop[:2])) == 1


def test_a_loop_that_only_touches_itself_is_told() -> None:
    assert crossing(np.array([[0, 0], [4, 0], [2, 2], [4, 4], [0, 4], [2, 2]], dtype=float)) == (2, 2)
    assert crossing(np.array(SQUARE)) is None


def test_area_is_kept_far_from_the_origin() -> None:
    assert signed_area(np.array(SQUARE) + 1e7) == pytest.approx(400_000, rel=1e-9)


@pytest.mark.parametrize("strewn", [True, False])
def test_the_outline_of_points_is_that_of_their_area(strewn: bool) -> None:
    true = Polygon([(0, 0), (900, 0), (900, 300), (500, 300), (500, 600), (0, 600)])
    if strewn:
        x, y = np.random.default_rng(4).uniform(0, [900, 600], (540 * 60, 2)).T
    else:
        x, y = (axis.ravel().astype(float) for axis in np.meshgrid(np.arange(0, 901, 4), np.arange(0, 601, 4)))
    there = (x <= 500) | (y <= 300)
    found = outline_of_points(x[there], y[there], 4.0)
    assert found is not None
    # On average the outline runs within 0.4 of a spacing of the true one, nowhere beyond four.
    assert abs(found.area - true.area) < 0.4 * 4.0 * true.length
    assert found.hausdorff_distance(true) < 16
    assert Polygon(corners_of(found)).hausdorff_distance(found) < 0.51
