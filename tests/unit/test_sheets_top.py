"""The top's sheets: their figures, that all stays on its page, and the drawings as files."""

from __future__ import annotations

import io
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
from pypdf import PdfReader
from shapely import LineString, Polygon

from slabwright.job.load import load_job
from slabwright.plan import Plan, plan
from slabwright.sheets import document
from slabwright.sheets.context import Context
from slabwright.sheets.document import bench_sheets
from slabwright.sheets.picture import TEXT
from slabwright.sheets.top_drawing import face_drawing
from slabwright.sheets.top_drawing_file import every_name, top_files
from slabwright.sheets.top_picture import PITCH, Ordinate, TopPicture, free_place, touch
from slabwright.sheets.top_place_sheet import Placed, crossing, piece_in_slab, turned_out
from slabwright.sheets.top_sheets import top_sheets
from slabwright.sheets.top_tables import _split
from slabwright.sheets.top_words import called, mark, numbers
from slabwright.sheets.words import Words
from slabwright.sheets.write import write_sheets
from slabwright.top.results import TopPlan

EXAMPLE = Path(__file__).parents[2] / "examples" / "reading-table"
SVG = "{http://www.w3.org/2000/svg}"
HOLES = "".join(
    f'\n[[top.features]]\nkind = "insert"\nname = "hole {k}"\nalong = {-1000 + 55 * k}\n'
    f"across = {(-1) ** k * (310 + 7 * k % 90)}\n"
    f'drill = {8 + k % 3}\ndepth = {15 + k % 5}\nthread = 6\nengagement = 10\nface = "{"show" if k % 7 == 0 else "underside"}"\n'
    for k in range(37)
    if k != 18
)
SAWN = (
    ('live_edges = "both"', 'live_edges = "none"\nwidth = 880'),
    ("[top]\n", '[top]\nends = { kind = "boxed", width = 120, pin = 380 }\nturn_most = 1\ndefect_cost = 0.5\n'),
)
VARIANTS: dict[str, tuple[tuple[tuple[str, str], ...], str]] = {
    "metric": ((), ""),
    "letter": ((('units = "metric"', 'units = "metric"\npaper = "Letter"'),), ""),
    "many": ((('units = "metric"', 'units = "metric"\npaper = "Letter"'),), HOLES),
    "face B": ((('show_face = "A"', 'show_face = "B"'),), ""),
    "sawn": (SAWN, ""),
    "no room": ((('kind = "heated house"', ""), ("[room]", "")), ""),
}


@cache
def worked_out(name: str) -> Plan:
    """The plan of the example, changed."""
    with TemporaryDirectory() as folder:
        here = Path(folder) / "job"
        shutil.copytree(EXAMPLE, here)
        told = (here / "job.toml").read_text("utf-8")
        for before, after in VARIANTS[name][0]:
            assert before in told
            told = told.replace(before, after, 1)
        (here / "job.toml").write_text(told + VARIANTS[name][1], "utf-8")
        return plan(load_job(here / "job.toml"))


def top_of(name: str) -> TopPlan:
    found = worked_out(name).top
    assert found is not None
    return found


def in_inches(whole: Plan) -> Plan:
    """The same plan, its sheets printed in inches."""
    stated = whole.job.stated
    head = stated.job.model_copy(update={"units": "inch", "paper": None})
    return replace(whole, job=replace(whole.job, stated=stated.model_copy(update={"job": head})))


def printed(whole: Plan, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """The text of each of the top's sheets by its title; there are as many pages as sheets."""
    context = Context(whole)
    sheets = top_sheets(context)
    monkeypatch.setattr(document, "bench_sheets", lambda _: sheets)
    reader = PdfReader(io.BytesIO(document.bench_pdf(context)))  # raises where the typesetter warns
    said = [" ".join(page.extract_text().replace("\u00a0", " ").split()) for page in reader.pages]
    assert len(said) == len(sheets)
    for text, sheet in zip(said, sheets, strict=True):
        assert f"Sheet {sheet.title}" in text
    return {sheet.title: text for text, sheet in zip(said, sheets, strict=True)}


@pytest.mark.parametrize("name", VARIANTS)
def test_every_sheet_is_one_page(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    titles = list(printed(worked_out(name), monkeypatch))
    assert titles[0] == "Where to cut the top"
    assert any(title.startswith("Top, underside") for title in titles)
    assert ("Movement" in titles) is (name != "no room")
    assert ("Movement, more slots" in titles) is (name == "many")


def test_the_figures_stand_on_their_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    said, top = printed(worked_out("metric"), monkeypatch), top_of("metric")
    placed = top.placement
    assert f"{int(placed.thickness * 10) / 10:.1f}" in said["Where to cut the top"]
    for cut in placed.rough_cuts:
        assert f"x {mark(cut.x, Words('metric'))}, square to the centre line" in said["Where to cut the top"]
        assert f"{cut.out_of_square:.1f}°" in said["Where to cut the top"]
    features = said["Features of the top"]
    for feature in top.features:
        assert called(feature.name) in features
        if feature.wood_left is not None and feature.wood_asked is not None:
            assert f"{feature.wood_left:.1f} {feature.wood_asked:.1f}" in features
    moved = said["Movement"]
    assert top.movement is not None and top.staying_flat is not None
    assert f"−{abs(top.movement.width_change_dry):.1f}" in moved and f"+{top.movement.width_change_damp:.1f}" in moved
    for slot in top.slots:
        assert f"{slot.length:.1f} x {slot.width:.1f}" in moved or f"Ø {slot.width:.1f}" in moved
    assert f"{top.staying_flat.cup_most:.1f} mm over its width" in moved
    held = said["Fastenings"]
    first = top.fastenings[0]
    assert first.holds is not None and first.allowed is not None and first.bolt_length is not None
    for figure in (
        Words("metric").force(first.holds).replace("\u00a0", " "),
        Words("metric").force(first.allowed).replace("\u00a0", " "),
        f"{first.bolt_length:.1f}",
        f"divided by {first.safety:g}",
    ):
        assert figure in held
    assert "Wood Handbook" in held


def test_dimensions_run_from_the_left_end_and_the_centre_line(monkeypatch: pytest.MonkeyPatch) -> None:
    context, top = Context(worked_out("metric")), top_of("metric")
    face = face_drawing(context, top, "underside")
    pocket = top.layout.named("left plate")
    bolts = [top.layout.named(f"left {row} middle").along or 0.0 for row in ("outer", "inner")]
    assert pocket.length is not None and pocket.along is not None
    along = [each.value for each in face.along]
    for value in (pocket.along - pocket.length / 2, *bolts, pocket.along + pocket.length / 2, 1620.0):
        assert min(abs(value - each) for each in along) < 0.01
    assert [e.value for e in face.across if abs(e.value) == 230.0] == [-230.0, 230.0]
    said = printed(worked_out("metric"), monkeypatch)["Top, underside"]
    for figure in ("356.8", "483.2", "375", "1825", "359.8", "2200", "10.0", "34.0", "under hole 21.0 mm"):
        assert figure in said


def test_inches_are_told_to_a_thirty_second_and_in_thousandths(monkeypatch: pytest.MonkeyPatch) -> None:
    said = printed(in_inches(worked_out("metric")), monkeypatch)
    assert '14 3/4"' in said["Top, underside"]  # 375 mm = 14.764 in
    assert "16.535" in said["Features of the top"]
    assert "lbf" in said["Fastenings"] and " mm" not in said["Movement"]
    assert mark(12.7, Words("inch")) == '1/2"' and mark(-0.001, Words("metric")) == "0"


def test_the_piece_is_drawn_where_it_was_placed() -> None:
    for name in ("metric", "face B", "sawn"):
        whole, top = worked_out(name), top_of(name)
        placed = top.placement
        piece, outline = piece_in_slab(top), Context(whole).outline(placed.face_up)
        assert piece.difference(outline.buffer(0.01)).area < 1.0
        assert piece.area == pytest.approx(top.outline.area)
        where = Placed(placed, outline)
        for cut in where.finals():
            # A final cut runs along the piece's rim and not through it.
            assert cut.line.intersection(piece.buffer(-0.5)).is_empty
            assert cut.line.distance(piece) < 0.01
        for first in placed.rough_cuts:
            assert where.rough(first).line.intersection(piece).is_empty
            assert crossing(where.rough(first).line, placed) == pytest.approx((first.x, first.y), abs=1e-6)
    assert turned_out(10.0, 20.0, 90.0, 1.0, 0.0) == pytest.approx((10.0, 21.0))


@pytest.mark.parametrize("name", ["metric", "face B", "many"])
def test_the_drawings_open_without_faults_full_size(name: str) -> None:
    top = top_of(name)
    files = top_files(Context(worked_out(name)))
    assert set(files) == every_name()
    number = numbers(top)
    for side in ("underside", "show-face"):
        drawing = ezdxf.read(io.StringIO(files[f"top-{side}.dxf"].decode("utf-8")))
        auditor = drawing.audit()
        assert not auditor.has_errors and not auditor.has_fixes
        assert drawing.header["$INSUNITS"] == 4  # DXF reference, $INSUNITS: 4 = millimetres
        space = drawing.modelspace()
        rim = next(iter(space.query('LWPOLYLINE[layer=="OUTLINE"]')))
        corners = np.array(list(rim.get_points("xy")))
        assert np.ptp(corners[:, 0]) == pytest.approx(top.length, abs=0.01)
        way = -1.0 if side == "underside" else 1.0
        face = "underside" if side == "underside" else "show"
        circles = [(c.dxf.center.x, c.dxf.center.y, c.dxf.radius) for c in space.query("CIRCLE[layer=='FEATURES']")]
        holes = [f for f in top.features if f.kind == "insert" and f.face == face]
        for hole in holes:
            assert hole.along is not None and hole.across is not None and hole.length is not None
            wanted = (hole.along, way * hole.across, hole.length / 2)
            assert any(np.allclose(circle, wanted, atol=1e-6) for circle in circles)
            assert any(text.dxf.text.split(" ")[0] == f"{number[hole.name]}" for text in space.query("TEXT"))
        root = ElementTree.fromstring(files[f"top-{side}.svg"])
        box = [float(v) for v in root.attrib["viewBox"].split()]
        assert root.attrib["width"] == f"{box[2]:.2f}mm"
        drawn = {
            (float(c.attrib["cx"]), -float(c.attrib["cy"]), float(c.attrib["r"])) for c in root.iter(f"{SVG}circle")
        }
        assert all(any(np.allclose(circle, other, atol=0.01) for other in drawn) for circle in circles)


def test_a_channel_s_round_corners_are_arcs_in_the_file() -> None:
    drawing = ezdxf.read(io.StringIO(top_files(Context(worked_out("metric")))["top-underside.dxf"].decode("utf-8")))
    bulges = [p[4] for line in drawing.modelspace().query('LWPOLYLINE[layer=="FEATURES"]') for p in line.get_points()]
    assert any(abs(bulge) > 0.3 for bulge in bulges)  # round ends and the bend
    assert all(len(line) < 20 for line in drawing.modelspace().query('LWPOLYLINE[layer=="FEATURES"]'))


def test_nothing_of_the_top_without_one(tmp_path: Path) -> None:
    whole = worked_out("metric")
    bare = replace(whole, top=None)
    assert top_sheets(Context(bare)) == [] and top_files(Context(bare)) == {}
    written = {path.name for path in write_sheets(whole, tmp_path)}
    assert every_name() <= written
    assert not every_name() & {path.name for path in write_sheets(bare, tmp_path)}
    assert not any((tmp_path / name).exists() for name in every_name())
    titles = [sheet.title for sheet in bench_sheets(Context(whole))]
    assert titles.index("Where to cut the top") < titles.index("Movement")


def test_without_features_there_are_the_cuts_and_the_movement() -> None:
    whole, top = worked_out("metric"), top_of("metric")
    empty = replace(top, features=(), slots=(), pockets=(), places=(), fastenings=())
    titles = [sheet.title for sheet in top_sheets(Context(replace(whole, top=empty)))]
    assert titles == ["Where to cut the top", "Movement"]
    still = replace(empty, movement=None, staying_flat=None)
    assert [sheet.title for sheet in top_sheets(Context(replace(whole, top=still)))] == ["Where to cut the top"]
    assert top_files(Context(replace(whole, top=empty))) == {}


def test_figures_of_a_row_stand_apart_and_those_without_room_are_counted() -> None:
    picture = TopPicture(100.0, 60.0)
    places = [Ordinate(10.0 + 0.5 * k, f"{k}", 20.0) for k in range(30)]
    left_out = picture.below(places, 30.0, 0.0, 40.0)
    figures = list(ElementTree.fromstring(picture.svg()).iter(f"{SVG}text"))
    assert len(figures) + left_out == 30 and left_out > 0
    at = [float(t.attrib["transform"].split("(")[1].split()[0]) - 0.35 * TEXT for t in figures]
    assert np.diff(at).min() >= PITCH - 0.02 and min(at) >= -0.02 and max(at) <= 40.02


def test_a_tag_finds_a_free_place_or_none() -> None:
    box, within = (10.0, 10.0, 14.0, 14.0), (0.0, 0.0, 40.0, 30.0)
    taken = [box, (14.5, 8.0, 30.0, 16.0)]
    place = free_place(box, 6.0, 5.0, taken, within)
    assert place is not None
    mine = (place[0] - 3.0, place[1] - 2.5, place[0] + 3.0, place[1] + 2.5)
    assert not any(touch(mine, other) for other in taken)
    assert free_place(box, 6.0, 5.0, [within], within) is None


@pytest.mark.parametrize("count", [1, 5, 6, 7, 16, 40])
def test_a_table_is_split_so_that_no_page_is_empty(count: int) -> None:
    spans = _split(count, 5, 8)
    assert [row for start, end in spans for row in range(start, end)] == list(range(count))
    assert all(0 < end - start <= 8 for start, end in spans) and spans[-1][1] - spans[-1][0] <= 5


def test_a_cut_runs_from_rim_to_rim() -> None:
    slab = Polygon([(0, 0), (1000, 0), (1000, 400), (0, 400)])
    where = Placed(top_of("metric").placement, slab)
    line = where.through((300.0, 250.0), (300.0, 251.0))
    assert line.equals(LineString([(300.0, 0.0), (300.0, 400.0)]))
