"""The sheets of the weld plan and the drill plan: every joint, hole and check stands on them; sections are true."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pytest
import shapely
from tests.unit.test_sheets_base import KINDS, NAMES, base_of, printed, worked_out
from tests.unit.test_weld_plan import drawn

from slabwright.base.drill_plan import Cable, PlateDrill, drill_plan
from slabwright.base.weld_joints import meetings
from slabwright.base.weld_plan import WeldPlan, weld_plan
from slabwright.findings import Finding
from slabwright.sheets.context import Context
from slabwright.sheets.drill_drawing import hole_letters, plate_picture, plates_alike
from slabwright.sheets.joint_scenes import scenes, seam_scene
from slabwright.sheets.programs import write_plate_drawings
from slabwright.sheets.top_words import mark, tape
from slabwright.sheets.weld_drawing import frame_drawing
from slabwright.sheets.weld_words import joints_alike, minutes, share, spans
from slabwright.sheets.words import Words

EVERY = [*NAMES, *KINDS]


def welds_of(name: str) -> WeldPlan:
    welds = base_of(worked_out(name)).welds
    assert welds is not None
    return welds


SAID: dict[str, dict[str, str]] = {}


def said_on(name: str, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """The text of each of the base's sheets, printed once."""
    if name not in SAID:
        SAID[name] = printed(worked_out(name), monkeypatch)
    return SAID[name]


def bare(text: str) -> str:
    return text.replace("\u00a0", " ")


@pytest.mark.parametrize("name", EVERY)
def test_every_joint_has_a_number_and_stands_in_one_group(name: str) -> None:
    welds = welds_of(name)
    alike = joints_alike(base_of(worked_out(name)).drawn, welds)
    assert sorted(n for each in alike for n in each.numbers) == list(range(1, len(welds.joints) + 1))
    assert len({each.mark for each in alike}) == len(alike)
    for each in alike:
        for number in each.numbers:
            joint = welds.joints[number - 1]
            assert (joint.kind, joint.prepare) == (each.joint.kind, each.joint.prepare)
            assert (joint.used or 0.0) <= (each.joint.used or 0.0)
        assert {seam.place for group in each.seams for seam in group} == {seam.place for seam in each.joint.seams}


def test_runs_of_numbers_are_drawn_together() -> None:
    assert spans([1, 2, 3, 4, 7]) == "1 to 4, 7"
    assert spans([1, 2]) == "1, 2"
    assert spans([5]) == "5"


def test_shares_and_times_are_told_plainly() -> None:
    assert bare(share(0.42)) == "42 %"
    assert bare(share(0.004)) == "under 1 %"
    assert share(None) == "no load"
    assert minutes(17.2) == "17 min"
    assert minutes(104.8) == "1.7 h"


@pytest.mark.parametrize("name", EVERY)
def test_each_kind_of_joint_is_told_with_what_remains(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    whole, welds = worked_out(name), welds_of(name)
    words = Context(whole).words
    said = said_on(name, monkeypatch)
    table = said["Welds"] if "Welds" in said else said["Weld plan"]
    details = " ".join(text for title, text in said.items() if title.startswith("Joint details"))
    for each in joints_alike(base_of(whole).drawn, welds):
        assert f"{each.mark} {spans(each.numbers)} {each.title}" in table
        assert f"{each.mark} {each.title}" in details
        assert f"Joints {spans(each.numbers)}" in details
        assert f"Before: {each.joint.prepare}." in details
        for group in each.seams:
            seam = group[0]
            assert f"{words.fine(seam.throat)}" in table
            assert (f"leg {words.fine(seam.leg)}" if seam.leg is not None else "filled flush") in table
    assert minutes(welds.welding_time) in said["Weld plan"]
    for line in welds.prepare:
        assert line in said["Weld plan"]


@pytest.mark.parametrize("name", EVERY)
def test_steps_stand_in_their_order_with_the_sign_off_before_welding_out(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    welds = welds_of(name)
    said = said_on(name, monkeypatch)
    titles = list(said)
    text = " ".join(said[title] for title in titles if title.startswith(("Tack", "Prove", "Weld out")))
    numbers = {joint.name: str(number) for number, joint in enumerate(welds.joints, start=1)}
    places = []
    for step in welds.order:
        told = f"{step.number} {step.title}. {step.do}"
        if step.joints:
            told += f" Joints in turn: {', '.join(numbers[joint] for joint in step.joints)}."
        assert told in text
        places.append(text.index(told))
        if step.proof:
            assert f"{step.proof[:1].upper()}{step.proof[1:]}." in text
    assert places == sorted(places)
    assert text.index("Client sign-off") < text.index("Weld out.")
    assert titles.index("Weld plan") < next(k for k, title in enumerate(titles) if title.startswith("Tack"))
    for caution in welds.cautions:
        assert caution in said["Weld out and grind"]
    assert "Local codes" in said["Weld out and grind"]


@pytest.mark.parametrize("name", [*NAMES, "trestles", "four legs"])
def test_each_check_of_squareness_has_its_limit_and_a_box(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out(name)
    words, square = Context(whole).words, base_of(whole).squareness
    assert square is not None
    said = said_on(name, monkeypatch)
    text = next(text for title, text in said.items() if "square" in title)
    for check in square.checks:
        nominal = "flat" if check.nominal is None else bare(tape(check.nominal, words))
        assert f"{nominal} {words.fine(check.may_differ)}" in text
    assert ("Both frames together" in text) == any(check.what.startswith("both") for check in square.checks)


def test_a_frame_that_tapers_as_drawn_is_not_out_of_square(monkeypatch: pytest.MonkeyPatch) -> None:
    said = said_on("trestles", monkeypatch)
    text = next(text for title, text in said.items() if "square" in title)
    nodes = base_of(worked_out("trestles")).drawn.nodes
    taper = 2.0 * (nodes["left far upright, bottom"][1] - nodes["left far upright, top"][1])
    assert taper > 50.0
    assert f"Sides A less B, beyond {bare(tape(taper, Words('metric')))}" in text
    said = said_on("window-bench", monkeypatch)
    assert "beyond" not in next(text for title, text in said.items() if "square" in title)


def test_a_free_frame_is_proven_by_its_nodes(monkeypatch: pytest.MonkeyPatch) -> None:
    said = said_on("free frame", monkeypatch)
    text = next(text for title, text in said.items() if "square" in title)
    assert "a foot −630 mm −160 mm 0 mm" in text


def test_a_weld_that_is_too_weak_is_told_on_its_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out("reading-table")
    stop = Finding("base/weld-too-weak", "stop", "This weld is too weak.", "Take a thicker wall.", "EN 1993-1-8")
    said = printed(replace(whole, findings=(*whole.findings, stop)), monkeypatch)
    assert "This weld is too weak." in said["Weld plan"]


def test_no_weld_plan_has_no_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out("reading-table")
    said = printed(replace(whole, base=replace(base_of(whole), welds=None, drill=None)), monkeypatch)
    assert not [title for title in said if title.startswith(("Weld", "Joint", "Tack", "Drill"))]


def centres(svg: str, radius: float) -> np.ndarray[Any, Any]:
    found = re.findall(rf'<circle cx="([0-9.]+)" cy="([0-9.]+)" r="{radius}"', svg)
    return np.array(found, dtype=float)


@pytest.mark.parametrize("name", EVERY)
def test_numbers_on_the_drawn_base_do_not_cover_each_other(name: str) -> None:
    base = base_of(worked_out(name))
    met = meetings(base.drawn)
    svg = frame_drawing(base.drawn, met, [str(k) for k in range(len(met))], 131.0, 85.0).svg()
    rings = centres(svg, 3.1)
    assert len(rings) == len(met)
    assert all(np.linalg.norm(a - b) >= 6.2 for a, b in combinations(rings, 2))
    assert rings.min() > 3.0 and rings[:, 0].max() < 128.0 and rings[:, 1].max() < 82.0
    some = frame_drawing(base.drawn, met, ["1", *[""] * (len(met) - 1)], 131.0, 85.0, square=True).svg()
    assert len(centres(some, 3.1)) == 0 and some.count(">1</text>") == 1


SECTIONS: list[dict[str, Any]] = [
    {"kind": "U legs"},
    {"kind": "U legs", "corners": "butted"},
    {"kind": "U legs", "tube": "60x60x5", "stretcher": "40x40x3"},
    {"kind": "closed loops", "tube": "50x50x3", "plate": {"width": 45}},
    {"kind": "four legs", "tube": "round tube 60.3x4", "rail": "50x50x3"},
    {"kind": "trestles"},
]


@pytest.mark.parametrize("keys", SECTIONS, ids=str)
def test_welds_fill_what_steel_leaves(keys: dict[str, Any]) -> None:
    base = drawn(**keys)
    by_name = {meeting.name: meeting for meeting in meetings(base)}
    for joint in weld_plan(base, "metric").joints:
        meeting = by_name[joint.name]
        for scene in scenes(meeting, joint):
            assert all(not piece.is_empty and piece.is_valid for piece in scene.pieces)
            assert all(not weld.is_empty and weld.area > 0.5 for weld in scene.welds)
            pieces = shapely.union_all(scene.pieces)
            for weld in scene.welds:
                assert weld.distance(pieces) < 0.01
                if meeting.kind != "mitre":  # whose groove is drawn over the two walls that it joins
                    assert weld.intersection(pieces).area < 0.02 * weld.area
            marked = {place for place, _, _ in scene.marks}
            assert marked <= {seam.place for seam in joint.seams}


def test_a_fillet_is_drawn_with_its_leg_and_a_groove_with_its_gap() -> None:
    base = drawn("U legs", tube="60x60x5")
    meeting = next(m for m in meetings(base) if m.kind == "mitre")
    joint = next(j for j in weld_plan(base, "metric").joints if j.kind == "mitre")
    seams = {seam.place: seam for seam in joint.seams}
    fillet, groove = seams["inside of the corner"], seams["outside of the corner"]
    scene, (leg,) = seam_scene(fillet, meeting)
    assert fillet.leg is not None
    assert scene.welds[0].area == pytest.approx(fillet.leg**2 / 2)
    assert leg[1][0] - leg[0][0] == pytest.approx(fillet.leg)
    scene, (gap,) = seam_scene(groove, meeting)
    assert gap[1][0] - gap[0][0] == pytest.approx(1.25)
    assert scene.pieces[0].distance(scene.pieces[1]) == pytest.approx(1.25)
    # Two bevels of 30 degrees above a land of 1.5 mm.
    open_up = scene.pieces[1].bounds[0] + (5.0 - 1.5) * np.tan(np.radians(30.0))
    upper = scene.pieces[1].intersection(shapely.box(0.0, 4.999, 100.0, 6.0))
    assert upper.bounds[0] == pytest.approx(open_up, abs=0.01)
    (inside,) = (w for w in scenes(meeting, joint)[0].welds[1:])
    assert inside.area == pytest.approx(fillet.leg**2 / 2)


def plate(**changes: Any) -> PlateDrill:
    whole = base_of(worked_out("reading-table")).drill
    assert whole is not None
    return replace(whole.plates[0], **changes)


def test_plates_that_are_alike_are_drawn_once() -> None:
    one = plate()
    mirrored = plate(name="right plate", holes=tuple(replace(h, along=-h.along) for h in one.holes))
    other = plate(name="third plate", length=one.length + 10.0)
    (first, second) = plates_alike([one, plate(name="again"), mirrored, other])
    assert first.names[:2] == (one.name, "again") and second.names == ("third plate",)
    assert len(first.names) == 3
    lopsided = plate(holes=(replace(one.holes[0], along=20.0), *one.holes[1:]))
    turned = replace(lopsided, name="right plate", holes=tuple(replace(h, along=-h.along) for h in lopsided.holes))
    (both,) = plates_alike([lopsided, turned])
    assert both.turned == ("right plate",)
    assert plates_alike([lopsided, replace(turned, thickness=10.0)])[1].turned == ()


@pytest.mark.parametrize("name", [*NAMES, "trestles"])
def test_every_hole_is_told_from_the_middle_and_from_the_end(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out(name)
    words, drill = Context(whole).words, base_of(whole).drill
    assert drill is not None
    said = said_on(name, monkeypatch)
    for alike in plates_alike(drill.plates):
        text = next(text for title, text in said.items() if title.startswith("Drill plan") and alike.names[0] in text)
        svg = plate_picture(alike.plate, 275.0, 90.0, words).svg()
        for hole in alike.plate.holes:
            figures = [mark(each, words) for each in (hole.along, hole.across, alike.plate.length / 2 + hole.across)]
            assert bare(f"{hole.name} {' '.join(figures)}") in text
            for figure in figures[1:]:
                assert f">{figure}</text>" in svg or (figure == '0"' and ">0</text>" in svg)
        assert ", ".join(alike.names) in text
    lists = said["Vents, openings, deburring"]
    for line in drill.deburr:
        assert line[1:] in lists
    for vent in drill.vents:
        assert f"{vent.place} Ø {bare(tape(vent.diameter, words))}" in lists


def test_openings_stand_on_the_plate_and_in_the_list(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out("reading-table")
    base = base_of(whole)
    cables = [Cable("lamp", "left plate", 12.0, 10.0, 130.0), Cable("socket", "left near upright", 9.0, 200.0)]
    drill = drill_plan(base.drawn, None, "metric", cables)
    said = printed(replace(whole, base=replace(base, drill=drill)), monkeypatch)
    texts = {title: text for title, text in said.items() if title.startswith("Drill plan")}
    assert set(texts) == {"Drill plan: left plate", "Drill plan: right plate"}
    assert "cable: lamp 10 130 410 Ø 16" in texts["Drill plan: left plate"]
    assert "lamp left plate Ø 16 10, 130" in said["Vents, openings, deburring"]
    assert "socket left near upright Ø 13 200, 0" in said["Vents, openings, deburring"]
    assert "grommet" in said["Vents, openings, deburring"]
    first = drill.plates[0]
    assert sorted(hole_letters(first), key=int) == [str(k + 1) for k in range(len(first.holes) + 1)]


def test_a_plate_with_many_holes_goes_over_more_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out("reading-table")
    base = base_of(whole)
    assert base.drill is not None
    one = base.drill.plates[0]
    holes = tuple(
        replace(one.holes[0], name=f"bolt {k}", along=-40.0 + 20.0 * (k % 5), across=-240.0 + 60.0 * (k // 5))
        for k in range(45)
    )
    drill = replace(base.drill, plates=(replace(one, holes=holes),), deburr=base.drill.deburr * 9)
    said = printed(replace(whole, base=replace(base, drill=drill)), monkeypatch)
    text = " ".join(said.values())
    assert all(f"bolt {k} " in text for k in range(45))
    assert len([title for title in said if title.startswith("Deburring")]) >= 1


def test_a_drawing_of_each_plate_is_written_and_an_old_one_taken_away(tmp_path: Path) -> None:
    whole = worked_out("reading-table")
    (tmp_path / "plates").mkdir()
    stale, other = tmp_path / "plates" / "plate-middle.dxf", tmp_path / "plates" / "notes.txt"
    stale.write_text("old")
    other.write_text("mine")
    written = write_plate_drawings(whole, tmp_path)
    assert [path.name for path in written] == ["plate-left.dxf", "plate-right.dxf"]
    assert not stale.exists() and other.read_text() == "mine"
    drill = base_of(whole).drill
    assert drill is not None
    for path, each in zip(written, drill.plates, strict=True):
        holes = ezdxf.readfile(path).modelspace().query('*[layer=="HOLES"]')
        assert len(holes) == len(each.holes)
    assert write_plate_drawings(replace(whole, base=None), tmp_path) == []
    assert [path.name for path in (tmp_path / "plates").iterdir()] == ["notes.txt"]
