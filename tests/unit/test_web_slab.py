"""The slab's page: options are keys that do what they say, pictures are there, files are looked at before they are kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.unit.web_bench import Bench, bench

from slabwright.sheets.context import Context
from slabwright.sheets.fill_sheets import patch_sheet

JOB = """# Invented for tests.
[job]
title = "Hall table"
units = "{units}"

[piece]
length = {length}
thickness = {thickness}

[slab]
species = "ash, white"
survey = "survey.csv"
survey_units = "mm"

[fill]
price_per_litre = 90
price_per_visible_area = 400
client_agrees = true
"""


def survey(dip: float = 5.0) -> bytes:
    """Readings of both faces every 150 mm: 56 mm thick, with a dip in face A and a bow."""
    rows = ["face,x,y,z"]
    for face, z in (("A", 56.0), ("B", 0.0)):
        for i in range(12):
            for j in range(5):
                x, y = 150.0 * i, 150.0 * j - 300.0
                hollow = dip if face == "A" and (i, j) == (8, 2) else 0.0
                rows.append(f"{face},{x:.1f},{y:.1f},{z + 2.0 * (1.0 - ((x - 825.0) / 825.0) ** 2) - hollow:.2f}")
    return ("\n".join(rows) + "\n").encode()


def job(units: str = "metric", length: str = "1400", thickness: str = "52") -> bytes:
    return JOB.format(units=units, length=length, thickness=thickness).encode()


def two_jobs(folder: Path) -> Iterator[Bench]:
    """Job 1 is not read, job 2 is."""
    with bench(folder) as made:
        made.book.add({"job.toml": job(), "survey.csv": survey()}, "test", "begun")
        yield made


@pytest.fixture
def pages(tmp_path: Path) -> Iterator[Bench]:
    yield from two_jobs(tmp_path)


@pytest.fixture(scope="module")
def looked_at(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """The same, for tests that change nothing."""
    yield from two_jobs(tmp_path_factory.mktemp("looked-at"))


def view(pages: Bench, number: int = 2) -> dict[str, Any]:
    answer = pages.device.get(f"/api/jobs/{number}/slab")
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def standing(pages: Bench, number: int = 2) -> tuple[str, str]:
    step = next(one for one in view(pages, number)["head"]["steps"] if one["name"] == "slab")
    return step["state"], step["words"]


def test_a_slab_that_is_not_read_wants_reading(looked_at: Bench) -> None:
    shown = view(looked_at, 1)
    assert (shown["stated"], shown["read"], shown["planned"]) == (True, False, False)
    assert standing(looked_at, 1) == ("ready", "to be read")
    assert "Read it by hand" in looked_at.device.get("/jobs/1/slab").text
    assert looked_at.device.get("/api/jobs/1/slab/shape").status_code == 404


def test_the_shape_stands_over_the_planes_that_are_cut(looked_at: Bench) -> None:
    shape = looked_at.device.get("/api/jobs/2/slab/shape").json()
    plan = looked_at.app.state.desk.store.now(2).planned.result
    assert shape["thickness"] == pytest.approx(plan.slab.seat.planes.thickness, abs=1e-3)
    for face, plane, up in (("a", shape["thickness"], 1.0), ("b", 0.0, -1.0)):
        grid = shape[face]
        assert len(grid["height"]) == len(grid["y"]) <= 90
        assert len(grid["height"][0]) == len(grid["x"]) <= 90
        pairs = [
            (high, above)
            for highs, aboves in zip(grid["height"], grid["above"], strict=True)
            for high, above in zip(highs, aboves, strict=True)
            if high is not None
        ]
        assert len(pairs) > 100
        assert all(abs(plane + up * above - high) < 1e-3 for high, above in pairs)
    assert len(shape["ramp"]) == 9


def test_every_way_out_is_a_change_that_does_what_it_says(pages: Bench) -> None:
    ways = {way["kind"]: way for way in view(pages)["ways"]}
    assert set(ways) == {
        "as it is",
        "thinner",
        "other face up",
        "dip on the underside",
        "let in wood",
        "fill",
        "shorten",
    }
    assert ways["as it is"]["taken"]
    assert ways["as it is"]["values"] == {}
    promised = {}
    for kind in ("thinner", "other face up", "fill", "shorten"):
        newest = pages.book.job(2).revision
        edited = pages.edit(ways[kind]["values"], newest, 2)
        assert edited.status_code == 200, edited.text
        plan = pages.app.state.desk.store.now(2).planned.result
        promised[kind] = plan.slab
        pages.post("/api/jobs/2/restore", json={"number": 1})
    seen = {way.kind: way for way in pages.app.state.desk.store.planned(2, 1).result.slab.ways}
    assert promised["thinner"].seat.target == pytest.approx(seen["thinner"].thickness_low, abs=0.1001)
    assert promised["other face up"].show_face == "B"
    assert promised["shorten"].survey.length == pytest.approx(1400.0, abs=0.2)
    assert promised["shorten"].seat.thickness == pytest.approx(seen["shorten"].thickness, abs=0.05)
    filled = promised["fill"]
    assert filled.patch_front[filled.chosen_fill].fill_volume == pytest.approx(seen["fill"].volume)


def test_a_dip_is_let_in_with_wood_and_the_plan_waits_for_no_pour(pages: Bench) -> None:
    seen = view(pages)
    number = seen["head"]["revision"]
    way = next(one for one in seen["ways"] if one["kind"] == "let in wood")
    assert way["take"] == "Let in wood"
    assert pages.edit(way["values"], number, job=2).status_code == 200
    after = view(pages)
    assert [one["kind"] for one in after["ways"] if one["taken"]] == ["let in wood"]
    result = pages.app.state.desk.store.now(2).planned.result
    assert result is not None and result.slab is not None and result.finish is not None
    pieces, patches = result.finish.mending.let_in, result.slab.patches
    assert [piece.name for piece in pieces] == [f"patch {patch.name}" for patch in patches] and pieces
    assert not result.finish.resin.pours and not any(p.name.startswith("patch") for p in result.finish.resin.places)
    assert result.finish.mending.hours >= sum(piece.hours for piece in pieces) > 0.0
    assert result.finish.mending.days >= 1.0
    names = [one.name for one in result.shop.operations] if result.shop is not None else []
    assert sum(name.startswith("Let wood into") for name in names) == len(pieces)
    assert not any("poxy" in name for name in names)
    sheet = patch_sheet(Context(result))
    assert sheet is not None and sheet.title == "Wood let in"
    # The same dips filled with epoxy instead: one press back.
    fill = next(one for one in after["ways"] if one["kind"] == "fill")
    if fill["take"]:
        assert fill["values"]["fill.way"] is None


def test_the_brief_says_how_wide_the_slab_makes_it_and_a_choice_can_be_left_open_again(pages: Bench) -> None:
    number = view(pages)["head"]["revision"]
    assert (
        pages.edit({"piece.base": "U legs", "piece.width": None, "piece.length": 1300}, number, job=2).status_code
        == 200
    )
    brief = pages.device.get("/api/jobs/2/brief").json()
    result = pages.app.state.desk.store.now(2).planned.result
    assert result is not None and result.top is not None
    wide = round(result.top.width / 10.0) * 10
    assert f"about {wide} mm" in brief["picture"]
    assert next(one["hint"] for one in brief["asked"] if one["key"] == "piece.width") == f"open: about {wide} mm"
    assert 'name="piece.base" value=""' in pages.device.get("/jobs/2/brief").text
    assert pages.edit({"piece.base": None}, number + 1, job=2).status_code == 200
    assert "base: still open" in pages.device.get("/api/jobs/2/brief").json()["picture_words"]


def test_a_point_of_thickness_against_fill_is_taken_and_moves_figures(pages: Bench) -> None:
    fills = view(pages)["fills"]
    assert [one["number"] for one in fills] == list(range(len(fills)))
    assert fills[0]["volume"] == 0.0
    assert [one["board"] for one in fills] == sorted(one["board"] for one in fills)
    other = next(one for one in fills if not one["taken"] and one["number"] > 0)
    edited = pages.edit({"fill.choose": other["number"]}, 1, 2).json()
    assert "slab.chosen_fill" in {one["path"] for one in edited["moved"]}
    after = view(pages)
    assert [one["number"] for one in after["fills"] if one["taken"]] == [other["number"]]
    assert after["fill"]["fill.choose"] == str(other["number"])
    assert pages.edit({"fill.choose": None}, 2, 2).status_code == 200


def test_too_thin_has_a_remedy_that_mends_it(pages: Bench) -> None:
    pages.edit({"piece.thickness": 60}, 1, 2)
    assert standing(pages)[0] == "decide"
    problem = next(one for one in view(pages)["problems"] if one["code"] == "slab/too-thin")
    assert problem["apply"]["words"].startswith("Agree on ")
    assert pages.edit(problem["apply"]["values"], 2, 2).status_code == 200
    assert "slab/too-thin" not in {one["code"] for one in view(pages)["problems"]}
    assert standing(pages)[0] == "done"


def test_pictures_and_stacks_are_there(looked_at: Bench) -> None:
    shown = view(looked_at)
    depths = shown["depths"]
    assert [one["number"] for one in depths] == list(range(1, len(depths) + 1))
    for address in (*shown["faces"], shown["depths_key"], depths[0]["drawing"], depths[-1]["drawing"]):
        drawn = looked_at.device.get(address)
        assert drawn.status_code == 200, address
        assert drawn.text.startswith("<svg")
    assert looked_at.device.get("/api/jobs/2/drawings/slab-left-a-60").status_code == 404
    plan = looked_at.app.state.desk.store.now(2).planned.result
    assert len(shown["stacks"]) == len(plan.slab.shims.stacks)
    assert sum(one["carries"] for one in shown["stacks"]) == 3
    for one, stack in zip(shown["stacks"], plan.slab.shims.stacks, strict=True):
        assert sum(float(piece["thickness"]) * piece["count"] for piece in one["pieces"]) == pytest.approx(stack.height)
    page = looked_at.device.get("/jobs/2/slab").text
    assert "style=" not in page
    assert page.count('<li class="option') == len(shown["ways"])


def test_an_inch_job_is_told_in_inches(pages: Bench) -> None:
    pages.book.add({"job.toml": job("inch", '"55 in"', '"2 1/16 in"'), "survey.csv": survey()}, "test", "begun")
    shown = view(pages, 3)
    assert shown["unit"] == "in"
    assert shown["volume_unit"] == "fluid ounces"
    assert all('"' in way["sure"] or "in" in way["sure"] for way in shown["ways"])
    thinner = next(way for way in shown["ways"] if way["kind"] == "thinner")
    assert pages.edit(thinner["values"], 1, 3).status_code == 200
    shape = pages.device.get("/api/jobs/3/slab/shape").json()
    assert shape["unit"] == "in"
    assert 1.5 < shape["thickness"] < 2.5


def test_checks_and_what_came_out_are_entered(pages: Bench) -> None:
    check = {"face": "A", "after": "skim", "kind": "straightedge", "value": 0.4, "at": [700, 0]}
    assert pages.edit({"checks[0]": check}, 1, 2).status_code == 200
    assert view(pages)["checks"][0]["words"] == "Face A after its skim: straightedge 0.4 mm at 700 mm, 0 mm"
    assert pages.edit({"as_made.thickness": "51.6"}, 2, 2).status_code == 200
    assert standing(pages) == ("done", "made: 51.6 mm")
    assert pages.edit({"checks[0]": None}, 3, 2).status_code == 200
    assert view(pages)["checks"] == []


def put(pages: Bench, number: int, based_on: int, **files: tuple[str, bytes]) -> Any:
    return pages.post(f"/api/jobs/{number}/slab/files", data={"based_on": based_on}, files=files)


def test_a_survey_and_an_outline_come_as_files(pages: Bench) -> None:
    outline = b"x,y\n-5,-310\n1660,-310\n1660,310\n-5,310\n"
    sent = put(pages, 1, 1, survey=("C:\\bench\\readings.csv", survey()), outline=("edge.csv", outline))
    assert sent.status_code == 200, sent.text
    assert 'survey = "readings.csv"' in pages.text()
    assert 'outline = "edge.csv"' in pages.text()
    assert view(pages, 1)["planned"]
    # Two set-ups take the place of one survey.
    rows = survey().decode().splitlines()[1:]
    faces = {
        name: ("\n".join(["x,y,z", *(row[2:] for row in rows if row[0] == name)]) + "\n").encode() for name in "AB"
    }
    both = put(pages, 1, 2, survey_a=("a.csv", faces["A"]), survey_b=("b.csv", faces["B"]))
    assert both.status_code == 422
    assert "callipers" in both.json()["error"]
    assert 'survey = "readings.csv"' in pages.text()


@pytest.mark.parametrize(
    ("files", "told"),
    [
        ({"survey": ("readings.csv", b"\x00\x01\x02")}, "is no text"),
        ({"survey": ("readings.exe", b"MZ")}, "is of no kind"),
        ({"survey": ("scan.ply", b"not a scan")}, "does not hold what .ply says"),
        ({"outline": ("edge.ply", b"ply\n")}, "is of no kind"),
        ({"survey": ("readings.csv", b"face,x,y,z\nA,0,0,wide\n")}, "readings.csv:2"),
        ({"outline": ("edge.csv", b"x,y\n0,0\n10,0\n10,10\n")}, "edge.csv"),
        ({"survey": ("a.csv", b"face,x,y,z\n"), "outline": ("a.csv", b"x,y\n")}, "two of the files"),
        ({}, "no file was chosen"),
    ],
)
def test_a_file_that_is_not_what_it_says_changes_nothing(looked_at: Bench, files: dict[str, Any], told: str) -> None:
    refused = looked_at.post("/api/jobs/2/slab/files", data={"based_on": 1}, files=files or None)
    assert refused.status_code == 422
    assert told in refused.json()["error"]
    assert looked_at.book.job(2).revision == 1
