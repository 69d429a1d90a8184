"""Full-scale pages, measured by a reader of the PDF's own geometry, and their drawings by a reader of DXF."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pypdf
import pytest
import shapely
from ezdxf.document import Drawing
from ezdxf.path import make_path
from pypdf.generic import ContentStream
from shapely import Polygon, box
from tests.unit.priced_job import priced_job

from slabwright.findings import SlabwrightError
from slabwright.job.shop_models import Router
from slabwright.plan import plan
from slabwright.sheets import template_pages
from slabwright.sheets.programs import write_router_templates
from slabwright.sheets.template_drawing import full_scale_dxf, long_checks, outline_drawing, template_drawing
from slabwright.sheets.template_pages import Head, file_stem, template_files, write_templates
from slabwright.sheets.template_tiles import CUT_PAPERS, Tiling, tile
from slabwright.top.template_results import Template
from slabwright.top.templates import template, template_findings

ROUTER = Router()
MM = 25.4 / 72.0
"""One unit of a PDF page [mm] (ISO 32000-1, 8.3.2.3)."""

Matrix = tuple[float, float, float, float, float, float]


def plate(name: str = "Left plate", face: str = "underside", length: float = 406.0) -> Template:
    return template(box(300, -20, 300 + length, 106), ROUTER, depth=14.0, name=name, face=face, plate_corner_radius=3.0)


def live(length: float = 2100.0) -> Polygon:
    x = np.linspace(0.0, length, 300)
    near, far = -450.0 + 25.0 * np.sin(x / 200.0), 430.0 + 30.0 * np.cos(x / 300.0)
    return Polygon([*zip(x, near, strict=True), *zip(x[::-1], far[::-1], strict=True)])


def times(inner: Matrix, outer: Matrix) -> Matrix:
    a, b, c, d, e, f = inner
    p, q, r, s, t, u = outer
    return (a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u)


def strokes(page: pypdf.PageObject) -> Iterator[tuple[float, np.ndarray[Any, Any]]]:
    """Width and points of each path that is stroked, in millimetres from the page's lower left corner."""
    matrix: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    kept: list[tuple[Matrix, float]] = []
    points: list[tuple[float, float]] = []
    width = 1.0
    for operands, operator in ContentStream(page.get_contents(), page.pdf).operations:
        numbers = [float(n) for n in operands if isinstance(n, int | float)]
        if operator == b"q":
            kept.append((matrix, width))
        elif operator == b"Q":
            matrix, width = kept.pop()
        elif operator == b"cm":
            matrix = times(tuple(numbers), matrix)  # type: ignore[arg-type]
        elif operator == b"w":
            width = numbers[0]
        elif operator in (b"m", b"l", b"c"):
            a, b, c, d, e, f = matrix
            x, y = numbers[-2:]
            points.append(((a * x + c * y + e) * MM, (b * x + d * y + f) * MM))
        elif operator == b"S":
            yield width * abs(matrix[0]) * MM, np.array(points)
            points = []
        elif operator in (b"n", b"f", b"f*", b"s", b"B"):
            points = []


def full_scale_pages(pdf: bytes) -> list[list[tuple[float, np.ndarray[Any, Any]]]]:
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    return [list(strokes(page)) for page in reader.pages][1:]


def size(points: np.ndarray[Any, Any]) -> tuple[float, float]:
    wide, high = np.ptp(points, axis=0)
    return float(wide), float(high)


def crosses(page: list[tuple[float, np.ndarray[Any, Any]]]) -> list[tuple[float, float]]:
    """Middles of all level arms of 8 mm."""
    return [
        (float(p[:, 0].mean()), float(p[:, 1].mean()))
        for _, p in page
        if len(p) == 2 and size(p) == pytest.approx((8.0, 0.0), abs=0.002)
    ]


def test_over_one_metre_the_page_is_to_scale() -> None:
    """The requirement is 0.05 mm; what is drawn is a thousandth."""
    outline = box(0.0, -300.0, 1000.0, 300.0)
    contents = template_files([], outline, paper="roll", roll_width=914.4)
    (page,) = full_scale_pages(contents["outline-full-size.pdf"])
    thick = [points for width, points in page if width == pytest.approx(0.5, abs=1e-3)]
    assert [size(points) for points in thick] == [pytest.approx((1000.0, 600.0), abs=0.002)]


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter"])
def test_marks_of_tiles_join_so_that_a_metre_over_all_pages_is_a_metre(paper: Any) -> None:
    """Each page is laid on the page before by a mark that both show; then the far corner is measured from the near one."""
    outline = box(0.0, -300.0, 1000.0, 300.0)
    drawing = outline_drawing(outline, "metric")
    tiling = tile(drawing, paper)
    pages = full_scale_pages(template_files([], outline, paper=paper)["outline-full-size.pdf"])
    assert len(pages) == len(tiling.tiles) > 2
    at = {tile_.number: joint_places(tiling, tile_.number, pages[tile_.number - 1]) for tile_ in tiling.tiles.values()}
    laid: dict[int, tuple[float, float]] = {1: (0.0, 0.0)}
    while len(laid) < len(pages):
        before = len(laid)
        for number, places in at.items():
            if number in laid:
                continue
            for done, (dx, dy) in list(laid.items()):
                shared = [name for name in places if name in at[done]]
                if len(shared) == 2:
                    moves = [(at[done][n][0] + dx - places[n][0], at[done][n][1] + dy - places[n][1]) for n in shared]
                    assert moves[0] == pytest.approx(moves[1], abs=0.002)
                    laid[number] = moves[0]
                    break
        assert len(laid) > before
    corners = {}
    for number, (dx, dy) in laid.items():
        for x, y in crosses(pages[number - 1]):
            if (x, y) not in at[number].values():
                corners[round(x + dx), round(y + dy)] = (x + dx, y + dy)
    spread = np.array(list(corners.values()))
    assert len(spread) == 4
    assert size(spread) == pytest.approx((1000.0, 600.0), abs=0.05)


def joint_places(
    tiling: Tiling, number: int, page: list[tuple[float, np.ndarray[Any, Any]]]
) -> dict[str, tuple[float, float]]:
    """Where the page itself has each mark to join that should be on it."""
    shown = next(one for one in tiling.tiles.values() if one.number == number)
    found = {}
    for joint in tiling.joints:
        if shown.x0 <= joint.x <= shown.x1 and shown.y0 <= joint.y <= shown.y1:
            near = (16.0 + joint.x - shown.x0, 30.0 + joint.y - shown.y0)
            found[joint.name] = min(crosses(page), key=lambda place: math.dist(place, near))
    return found


@pytest.mark.parametrize(("paper", "units"), [("A4", "metric"), ("Letter", "inch"), ("roll", "metric")])
def test_every_page_has_its_paper_and_both_rulers(paper: Any, units: Any) -> None:
    pdf = template_files([plate()], None, paper=paper, units=units)["template-left-plate.pdf"]
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    long, short = (200.0, 100.0) if units == "metric" else (203.2, 101.6)
    for page, lines in zip(reader.pages[1:], full_scale_pages(pdf), strict=True):
        wide, high = (float(page.mediabox.width) * MM, float(page.mediabox.height) * MM)
        if paper in CUT_PAPERS:
            assert (wide, high) == pytest.approx(CUT_PAPERS[paper], abs=0.01)
        else:
            assert high == pytest.approx(610.0, abs=0.01)
        spans = [size(points) for _, points in lines if len(points) == 2]
        assert any(span == pytest.approx((long, 0.0), abs=0.005) for span in spans)
        assert any(span == pytest.approx((0.0, short), abs=0.005) for span in spans)
        assert f"of {len(reader.pages) - 1}" in page.extract_text()


def test_the_template_is_as_large_on_paper_as_it_was_worked_out() -> None:
    made = plate(length=900.0)
    (page,) = full_scale_pages(template_files([made], None, paper="roll")["template-left-plate.pdf"])
    rings = [size(points) for _, points in page if len(points) >= 5]
    for asked in (
        (made.opening_length, made.opening_width),
        (made.cut_length, made.cut_width),
        (made.outer_length, made.outer_width),
    ):
        assert any(ring == pytest.approx(asked, abs=0.005) for ring in rings)


def test_on_the_underside_the_far_edge_is_below() -> None:
    upright = Polygon([(0, 0), (200, 0), (200, 60), (120, 60), (120, 120), (0, 120)])
    made = {face: template(upright, ROUTER, depth=10.0, face=face) for face in ("show", "underside")}
    rings = {
        face: next(c for c in template_drawing(one, "metric").chains if c.layer == "OPENING")
        for face, one in made.items()
    }
    middle = {
        face: np.mean([side.start[1] for side in ring.sides if side.start[0] < 0.0]) for face, ring in rings.items()
    }
    assert middle["show"] == pytest.approx(-middle["underside"])
    right = {face: max(side.start[1] for side in ring.sides if side.start[0] > 80.0) for face, ring in rings.items()}
    assert right["show"] < 10.0 < 60.0 < right["underside"]
    texts = " ".join(label.text for label in template_drawing(made["underside"], "metric").labels)
    assert "to the far edge" in texts
    assert "this side up, on the underside" in texts


def read(dxf: bytes) -> Drawing:
    document = ezdxf.read(io.StringIO(dxf.decode("utf-8")))
    assert isinstance(document, Drawing)
    return document


def test_the_dxf_passes_an_audit_in_millimetres_with_round_corners_as_arcs() -> None:
    made = plate()
    document = read(template_files([made], None)["template-left-plate.dxf"])
    auditor = document.audit()
    assert not auditor.errors
    assert not auditor.fixes
    assert document.units == 4
    (ring,) = document.modelspace().query('LWPOLYLINE[layer=="OPENING"]')
    assert ring.closed
    bulges = [point[4] for point in ring.get_points()]
    assert [b for b in bulges if b] == pytest.approx([math.tan(math.pi / 8.0)] * 4, abs=1e-5)
    points = np.array([point[:2] for point in ring.get_points()])
    assert size(points) == pytest.approx((made.opening_length, made.opening_width), abs=1e-5)


def test_the_outline_dxf_is_the_outline() -> None:
    outline = live()
    document = read(template_files([], outline)["outline-full-size.dxf"])
    assert not document.audit().errors
    (ring,) = document.modelspace().query('LWPOLYLINE[layer=="OUTLINE"]')
    drawn = Polygon([(p.x, p.y) for p in make_path(ring).flattening(0.001)])
    assert drawn.hausdorff_distance(outline) < 0.02


def test_check_lengths_are_what_the_check_marks_are_apart() -> None:
    lengths = {check.what: check.length for check in long_checks(outline_drawing(box(0, 0, 1200, 500), "metric"))}
    assert lengths["P to Q"] == lengths["S to R"] == 1200.0
    assert lengths["P to R"] == lengths["Q to S"] == 1300.0


def test_pages_without_a_line_are_left_out_but_every_line_is_on_a_page() -> None:
    drawing = outline_drawing(live(), "metric")
    tiling = tile(drawing, "A4")
    assert len(tiling.tiles) < tiling.rows * tiling.columns
    shown = shapely.union_all([box(one.x0, one.y0, one.x1, one.y1) for one in tiling.tiles.values()])
    assert live().exterior.difference(shown).length < 1e-6
    assert len({joint.name for joint in tiling.joints}) == len(tiling.joints)


def test_a_drawing_longer_than_a_page_may_be_goes_on_several_lengths_of_the_roll() -> None:
    tiling = tile(outline_drawing(box(0, 0, 7000, 500), "metric"), "roll")
    assert tiling.page_width == 5000.0
    assert len(tiling.tiles) == 2
    assert len(tiling.joints) == 2


@pytest.mark.parametrize(
    ("paper", "roll_width", "outline", "says"),
    [
        ("A0", 610.0, live(), "A4, A3, Letter or roll"),
        ("roll", 0.0, live(), "roll_width"),
        ("roll", math.nan, live(), "roll_width"),
        ("roll", 1e9, live(), "roll_width"),
        ("roll", -610.0, live(), "roll_width"),
        ("roll", 610.0, box(0, 0, 1e6, 900), "20 m"),
        ("A4", 610.0, box(0, 0, 19000, 19000), "pages"),
        ("A4", 610.0, Polygon([(0, 0), (900, 900), (900, 0), (0, 900)]), "plain shape"),
        ("A4", 610.0, Polygon(), "plain shape"),
    ],
)
def test_absurd_pages_are_refused_before_they_are_set(
    paper: Any, roll_width: float, outline: Polygon, says: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def set_nothing(*_: object) -> bytes:
        raise AssertionError("was set")

    monkeypatch.setattr(template_pages, "_pdf", set_nothing)
    with pytest.raises(SlabwrightError, match=says):
        write_templates([plate()], outline, tmp_path, paper=paper, roll_width=roll_width)
    assert not list(tmp_path.iterdir())


def test_files_have_names_of_their_own_and_come_out_the_same_each_time(tmp_path: Path) -> None:
    templates = [plate("Left plate"), plate("left: PLATE"), plate("Ünder/../x")]
    written = write_templates(templates, None, tmp_path, paper="roll")
    names = sorted(path.name for path in written)
    assert [name for name in names if name.endswith(".dxf")] == [
        "template-left-plate-2.dxf",
        "template-left-plate.dxf",
        "template-under-x.dxf",
    ]
    before = {path.name: path.read_bytes() for path in written}
    again = write_templates(templates, None, tmp_path, paper="roll")
    assert {path.name: path.read_bytes() for path in again} == before
    assert file_stem("木") == "template-unnamed"


def test_the_sheet_says_how_it_is_made_and_what_to_mind() -> None:
    made = plate()
    pdf = template_files(
        [made],
        None,
        head=Head("Reading table", "B"),
        findings=template_findings(made, ROUTER),
    )["template-left-plate.pdf"]
    text = " ".join(pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text().split())
    for said in (
        "Reading table",
        "guide bushing, 24.0 mm",
        "corners do not enter",
        "clockwise round the inside of a pocket",
        "hole saw",
        "100 %",
        "4.3 mm, 8.7 mm, 13.0 mm, 14.0 mm",
    ):
        assert said in text


def test_dxf_of_a_bearing_template_has_no_second_line() -> None:
    made = template(box(0, 0, 300, 100), Router(bearing=True), depth=10.0)
    document = read(full_scale_dxf(template_drawing(made, "inch")))
    assert not document.modelspace().query('LWPOLYLINE[layer=="POCKET"]')


def test_the_floor_outline_marks_the_feet_and_is_signed() -> None:
    outline = box(0, -450, 2000, 450)
    feet = [("left front foot", -700.0, -300.0), ("right back foot", 700.0, 300.0)]
    made = template_files([], outline, paper="roll", roll_width=914.4, feet=feet)
    drawn = read(made["outline-full-size.dxf"])
    rings = [make_path(e) for e in drawn.modelspace().query("LWPOLYLINE[layer=='FEET']") if e.closed]
    middles = []
    for ring in rings:
        points = np.array([(p.x, p.y) for p in ring.flattening(0.01)])
        low, high = points.min(axis=0), points.max(axis=0)
        middles.append(tuple(np.round((low + high) / 2, 2)))
        assert high - low == pytest.approx((50.0, 50.0), abs=0.05)
    assert sorted(middles) == [(300.0, -300.0), (1700.0, 300.0)]
    said = " ".join(pypdf.PdfReader(io.BytesIO(made["outline-full-size.pdf"])).pages[0].extract_text().split())
    for words in ("Signed before the slab is bought", "place of the feet", "For the client", "[brief.template]"):
        assert words in said
    bare = template_files([], outline, paper="roll", roll_width=914.4)["outline-full-size.pdf"]
    assert "feet" not in pypdf.PdfReader(io.BytesIO(bare)).pages[0].extract_text()


def test_an_enquiry_with_a_brief_has_its_outline_for_the_floor(tmp_path: Path) -> None:
    result = plan(priced_job(brief={"seats": 4}))
    written = write_router_templates(result, tmp_path)
    assert {path.name for path in written} == {"outline-full-size.pdf", "outline-full-size.dxf"}
    assert read((tmp_path / "templates" / "outline-full-size.dxf").read_bytes()).modelspace().query("*[layer=='FEET']")
    assert write_router_templates(plan(priced_job()), tmp_path) == []
    assert not (tmp_path / "templates").exists()
