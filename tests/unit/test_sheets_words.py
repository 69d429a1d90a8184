"""What the sheets say at the bench: heights, units, checks, problems."""

from __future__ import annotations

import dataclasses
import re
from typing import Any, cast

import pytest
from tests.unit.sheet_plan import plan
from tests.unit.sheet_prints import bare, by_title, printed, said_by, text_of

from slabwright.findings import Finding
from slabwright.job.loaded import Place
from slabwright.plan import Plan
from slabwright.sheets.context import Context
from slabwright.sheets.document import bench_pdf, bench_sheets
from slabwright.sheets.overview import overview
from slabwright.sheets.words import Words
from slabwright.slab.board import Board


def test_the_second_face_s_plane_is_told_above_the_bed_and_what_sanding_still_takes() -> None:
    result, said = printed()[0], said_by()
    assert result.slab is not None
    milled = result.slab.seat.milled  # the planned board and what sanding takes
    assert milled == pytest.approx(43.0 + 2 * 0.8)
    second = " ".join(next(text for text in said if "Face B before cutting" in text).split())
    assert f"finished: {milled:.1f} mm" in second and "rest of 2.0 mm" in second
    assert f"roughed: {milled + 2.0:.1f} mm" in second  # while the face below has its rest
    checks = next(text for text in said if "Checks while working" in text)
    assert f"{milled:.1f} mm" in checks and "43.0 mm" in checks


@pytest.mark.parametrize("first_face", ["A", "B"])
def test_the_first_face_s_plane_is_told_above_the_bed_on_its_stacks(first_face: str) -> None:
    result, said = printed(first_face=first_face)[0], said_by(first_face=first_face)
    assert result.slab is not None
    planes = result.slab.seat.planes
    # The invented stacks hold the slab level: its frame stands 10 mm above the bed, or turned over 70 mm.
    level = planes.c / planes.slant + 10.0 if first_face == "A" else 70.0 - planes.d / planes.slant
    page = " ".join(next(text for text in said if f"Face {first_face} before cutting" in text).split())
    assert f"{level:.1f} mm plane above the bed" in page
    assert f"on the stacks: {level:.1f} mm" in page
    x, y, above = Context(result).highest(cast("Any", first_face))
    assert f"touch the highest spot, at x {x:.0f} mm, y {y:.0f} mm: it stands +{above:.1f} mm" in page
    assert f"{level + above:.1f} mm above the bed" in page


def test_each_depth_says_the_cutter_s_height_above_the_plane_and_above_the_bed() -> None:
    result, said = printed()[0], said_by()
    assert result.slab is not None
    context = Context(result)
    for face in ("A", "B"):
        page = next(text for text in said if f"Wood left on face {face}" in text)
        for each in (each for each in result.slab.passes if each.face == face):
            plane = context.above_bed(face, each.stage)
            assert plane is not None
            assert f"{each.level:.1f}" in page and f"{plane + each.level:.1f}" in page
        assert "Nothing left" in page
    assert not any("above the bed" in text for text in said_by(stop=True) if "Wood left on face A" in text)  # no stacks


def test_the_first_depth_leads_from_the_highest_spot_to_its_level() -> None:
    result, said = printed()[0], said_by()
    page = " ".join(next(text for text in said if "Face A before cutting" in text).split())
    found = re.search(r"go down ([\d.]+) mm from there, to \+([\d.]+) mm", page)
    assert found is not None
    assert float(found[1]) + float(found[2]) == pytest.approx(round(Context(result).highest("A")[2], 1))  # as printed
    assert float(found[1]) <= 1.5 + 0.05  # half of the greatest depth, for a face that was never cut


def test_inches_carry_a_sixteenth_only_where_it_is_one() -> None:
    words = Words("inch")
    assert words.board(42.8625).replace("\u00a0", " ") == '1.688" (1 11/16")'  # 1 11/16 in is 42.8625 mm
    assert words.board(42.70) == '1.681"'
    assert words.board(42.8625 + 0.0016 * 25.4) == '1.689"'


def test_inch_sheets_have_no_metric_units_but_grams() -> None:
    whole = "\n".join(said_by(units="inch"))
    for invented in ("0.8 mm a face", "220 mm shorter"):  # words of the invented plan
        whole = whole.replace(invented, "")
    for unit in (" N ", " mm", " litre", " ml", "metres", " gal", "cm²"):
        assert unit not in whole, unit
    for unit in ("lbf", "cu in", "6 ft", "fl oz", "lb,"):
        assert unit in whole, unit
    assert Words("inch").fill(231 * 25.4**3 / 128) == "1.0 fl oz"  # NIST SP 811, appendix B: 231 cu in are 128 fl oz


def test_usual_figures_are_named_until_the_shop_states_its_own() -> None:
    said = said_by()
    told = "Usual figures taken for machine, bed, shims, allowance: state your own in shop.toml."
    assert sum(told in " ".join(text.split()) for text in said) == 2  # on the first sheet and on the set-up
    whole = plan()
    stated = dataclasses.replace(
        whole.job, where={"shop:machine.feed": Place("shop.toml", 3), "shop:bed": Place("", 1)}
    )
    assert Context(dataclasses.replace(whole, job=stated)).usual.startswith("Usual figures taken for shims, allowance:")
    every = {f"shop:{part}.x": Place("shop.toml", 1) for part in ("machine", "bed", "shims", "allowance")}
    stated = dataclasses.replace(whole.job, where=every)
    assert Context(dataclasses.replace(whole, job=stated)).usual == ""


CHECKS: tuple[dict[str, Any], ...] = (
    {"face": "A", "kind": "straightedge", "value": 0.55},
    {"face": "B", "after": "rough", "kind": "winding sticks", "value": 0.37},
    {"face": "B", "kind": "thickness", "value": 44.93, "at": [200, 180]},
    {"face": "B", "kind": "thickness", "value": 44.71, "at": [1150, 440]},
)


def _boxes(result: Plan) -> list[list[str]]:
    sheet = next(each for each in bench_sheets(Context(result)) if each.title == "Checks while working")
    tables = [block for block in sheet.picture if block["kind"] == "table"]
    return [row["cells"][1:] for table in tables for row in table["rows"]]


def test_checks_of_the_job_stand_in_their_boxes() -> None:
    empty = "[write]"
    straightedge, winding, cut, sanded = _boxes(plan(checks=CHECKS))
    assert straightedge == [empty, "[write]0.55", empty, empty]  # rough and skim of the first face, then of the second
    assert winding == [empty, empty, "[write]0.37", empty]
    assert cut == ["[write]44.93", empty, empty, empty, "[write]44.71", "[write]44.71"]
    assert set(sanded) == {empty}
    assert {cell for row in _boxes(plan()) for cell in row} == {empty}


def test_a_board_that_checks_lowered_is_the_headline() -> None:
    lowered = Board(thickness=42.26, thickness_low=42.26, thickness_even=42.6, found=0.74, basis="measured")
    said = text_of(bench_pdf(Context(bare(plan(board=lowered)))))
    assert "42.2 mm" in said[0] and "after checks found 0.74 mm lost" in said[0]
    assert "42.2 mm" in said[-1]
    kept = dataclasses.replace(lowered, thickness=43.0, thickness_low=43.0, found=0.2)
    said = text_of(bench_pdf(Context(bare(plan(board=kept)))))
    assert "is planned for" in said[0] and "Checks found 0.20 mm lost" in said[0]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(("count", "long"), [(9, 1), (8, 4), (60, 2)])
def test_many_problems_are_told_once_each(count: int, long: int, paper: str) -> None:
    whole = bare(plan(paper=paper))
    words = " of those that were invented for this test, where it is long."
    many = tuple(
        Finding(
            "slab/some", "caution", f"Problem {k + 1:03d}{long * words}", long * "Mend it by hand, slowly. ", "x" * 20
        )
        for k in range(count)
    )
    context = Context(dataclasses.replace(whole, findings=many))
    sheets = overview(context)
    pdf = bench_pdf(context)
    said = text_of(pdf)
    assert by_title(pdf, bench_sheets(context))  # each sheet is on one page
    told = [found for text in said if (found := set(re.findall(r"Problem (\d{3})", text)))]
    assert sum(map(len, told)) == count and len(set().union(*told)) == count
    assert ("more on the next sheet" in said[0]) is (len(sheets) > 1)
    if len(told) > 1:
        assert f"{count - len(told[0])} more on the next sheet" in said[0] and told[0] == {
            f"{k + 1:03d}" for k in range(len(told[0]))
        }


def test_a_way_that_does_not_fit_says_why() -> None:
    assert "No: too short" in next(text for text in said_by() if "Ways out of a dip" in text)


def test_stacks_where_nothing_was_read_say_so_and_how_far_off_they_may_be() -> None:
    said = " ".join("\n".join(said_by()).split())
    assert "Unread: build, then feeler" in said and "No reading over D: these may be 2.2 mm off." in said
    whole = plan()
    assert whole.slab is not None and whole.slab.shims is not None
    blind = tuple(dataclasses.replace(stack, read=False) for stack in whole.slab.shims.stacks)
    slab = dataclasses.replace(whole.slab, shims=dataclasses.replace(whole.slab.shims, stacks=blind))
    pages = text_of(bench_pdf(Context(dataclasses.replace(whole, slab=slab))))
    page = " ".join(next(text for text in pages if "Sheet Shim map" in text).split())
    assert "C, G, K: nothing was measured there" in page and "Level the slab by its top" in page
    # A reading near C, the heights of the invented face and 10 mm of standing: checked against the map's own figure.
    context = Context(dataclasses.replace(whole, slab=slab))
    rows = context.heights("A")
    nearest = min(rows.tolist(), key=lambda row: (row[0] - blind[0].x) ** 2 + (row[1] - blind[0].y) ** 2)
    plane = context.above_bed("A", "rough")
    assert plane is not None and f"C {nearest[0]:.0f} mm {nearest[1]:.0f} mm {plane + nearest[2]:.1f} mm" in page
    assert "Carries, unread: level it" in "\n".join(pages)
