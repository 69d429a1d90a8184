"""The machine's sheets: a page for each clamping, their figures, and that all stays on its page."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from functools import cache
from math import ceil
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from xml.etree import ElementTree

import pytest
from tests.unit.sheet_plan import plan as invented_plan
from tests.unit.sheet_prints import by_title

from slabwright.job.load import load_job
from slabwright.machine.results import MachinePlan
from slabwright.plan import Plan, plan
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.colours import PAPER, WOOD
from slabwright.sheets.context import Context
from slabwright.sheets.document import bench_pdf, bench_sheets
from slabwright.sheets.fill_sheets import patch_sheet
from slabwright.sheets.machine_drawings import draw_heights, spread
from slabwright.sheets.machine_sheets import machine_sheets
from slabwright.sheets.machine_words import level_of, minutes
from slabwright.sheets.mending_sheet import mending_sheets
from slabwright.sheets.picture import Picture
from slabwright.sheets.words import Words

EXAMPLES = Path(__file__).parents[2] / "examples"
GREAT = 28.0 * 25.4 / 72.0
CLAMPS = """
[[clamps]]
name = "long stop"
kind = "stop"
at = [600, 130]
size = [80, 40]
height = 30

[[clamps]]
at = [1500, 1120]
size = [60, 60]
height = 40
face = "B"
"""
MANY = "".join(f"\n[[clamps]]\nat = [{200 * k}, 1150]\nsize = [40, 40]\nheight = 35\n" for k in range(1, 8))
VARIANTS: dict[str, tuple[str, str, str, str]] = {
    "gantry": ("reading-table", "", "", ""),
    "letter": ("reading-table", "", 'paper = "Letter"\n', ""),
    "clamps": ("reading-table", "block_height = 20\n", "", CLAMPS),
    "two clampings": ("reading-table", "travel_x = 1500\ninsert_life = 9000\n", "", ""),
    "many": ("reading-table", "first_depth = 0.9\n", "", MANY),
    "sled": ("hall-desk", "", "", ""),
    "sled on A4": ("hall-desk", "", 'paper = "A4"\n', ""),
}


@cache
def worked_out(name: str) -> Plan:
    """The plan of an example, with some of its figures changed."""
    example, machine, head, clamps = VARIANTS[name]
    with TemporaryDirectory() as folder:
        here = Path(folder) / example
        shutil.copytree(EXAMPLES / example, here)
        shop, job = here / "shop.toml", here / "job.toml"
        told = shop.read_text("utf-8").replace("[machine]\n", f"[machine]\n{machine}", 1)
        shop.write_text(
            told.replace("greatest_depth = 3\n", "greatest_depth = 1\n") if name == "many" else told, "utf-8"
        )
        job.write_text(job.read_text("utf-8").replace("[job]\n", f"[job]\n{head}", 1) + clamps, "utf-8")
        return plan(load_job(job))


def machine_of(name: str) -> MachinePlan:
    found = worked_out(name).machine
    assert found is not None
    return found


@cache
def pages(name: str) -> dict[str, str]:
    """The text of each of the machine's pages by its sheet's title; every sheet is on one page."""
    context = Context(worked_out(name))
    said = by_title(bench_pdf(context), bench_sheets(context))
    return {sheet.title: said[sheet.title] for sheet in machine_sheets(context)}


def drawings(sheet: Sheet) -> list[ElementTree.Element]:
    """The drawings of a sheet."""

    def inside(value: Any) -> list[str]:
        if isinstance(value, dict):
            own = [value["svg"]] if "svg" in value else []
            return own + [s for item in value.values() for s in inside(item)]
        return [s for item in value for s in inside(item)] if isinstance(value, list) else []

    return [ElementTree.fromstring(svg) for svg in inside(sheet.picture)]


def great_words(sheet: Sheet) -> list[str]:
    """What a sheet's drawings say in 28 pt and more."""
    return [
        text.text or ""
        for drawing in drawings(sheet)
        for text in drawing.iter("{http://www.w3.org/2000/svg}text")
        if float(text.attrib["font-size"]) >= GREAT - 1e-3
    ]


@pytest.mark.parametrize("name", VARIANTS)
def test_each_clamping_has_its_page_and_every_sheet_is_one_page(name: str) -> None:
    titles = list(pages(name))
    machine = machine_of(name)
    assert titles[:2] == ["Feeds card", "What errors cost"]
    for clamping in machine.clampings:
        first = f"Clamping {clamping.number} of {len(machine.clampings)}: "
        own = [title for title in titles if title.startswith(first) and "," not in title]
        assert len(own) == 1
        assert own[0].endswith(f"face {clamping.face}")
        assert f"Face {clamping.face} up" in pages(name)[own[0]]


def test_without_a_machine_there_are_no_pages() -> None:
    assert machine_sheets(Context(invented_plan())) == []


@pytest.mark.parametrize("name", ["gantry", "clamps", "two clampings"])
def test_files_in_order_with_level_time_and_lifts(name: str) -> None:
    machine, words = machine_of(name), Words("metric")
    sheets = {sheet.title: sheet for sheet in machine_sheets(Context(worked_out(name)))}
    for clamping in machine.clampings:
        title = next(title for title in sheets if title.startswith(f"Clamping {clamping.number} of"))
        text, great = pages(name)[title], great_words(sheets[title])
        own = [program for program in machine.programs if program.clamping == clamping.number]
        places = ["".join(text.split()).index(program.name) for program in own]
        assert places == sorted(places)
        for program in own:
            assert level_of(program.level, words) in great
            assert f"{minutes(program.time)}, ".replace("\u00a0", " ") in text
        assert f"{clamping.plane_over_block:.1f} mm" in [word.replace("\u00a0", " ") for word in great]


def test_the_second_face_is_turned_over_and_told_to_the_hands() -> None:
    said = list(pages("gantry").values())[2:]
    turned = ["Turn over about its length" in text for text in said]
    assert turned == [False, True, True, True]
    assert ["Nobody under a slab" in text for text in said] == turned
    assert all("Never leave the machine running alone" in text for text in said)
    assert "Rest 10 days, read again" in said[1]
    assert "56.6 mm at five places" in said[3].replace("\n", " ")


def words_of(sheet: Sheet) -> str:
    """All words of a sheet and its drawings, one after another."""
    return " ".join(re.sub(r"<[^>]+>|\\\\n", " ", str(sheet)).split())


def test_one_time_of_the_pour_on_every_sheet_of_a_slab_that_rests() -> None:
    plan_, machine = worked_out("gantry"), machine_of("gantry")
    assert plan_.slab is not None and plan_.slab.patches and plan_.finish is not None
    context, resin = Context(plan_), plan_.finish.resin
    said = [words_of(sheet) for sheet in machine_sheets(context)]
    hours = f"{ceil(resin.wait)} hours"
    rested = [text for text in said if "Fill and mend by the mixing cards" in text]
    assert len(rested) == 1 and "Rest 10 days" in rested[0] and hours in rested[0]
    assert not any("once more, z zeroed" in text for text in said)
    skims = [p.name[:2] for p in machine.programs if p.stage == "skim" and p.face == plan_.slab.show_face]
    # Few filled places stand with the defects, on one map.
    assert patch_sheet(context) is None
    sheet, _, cards = mending_sheets(context, plan_.finish.mending, resin)
    text = str(sheet)
    assert sheet.title == "Filling and mending"
    assert f"Then skim face A: files {', '.join(skims)}." in text
    assert hours in text and "Clean the dip to sound wood" in text
    assert all(patch.name in text for patch in plan_.slab.patches)
    assert "before the skim" in text and "before the skim" in str(cards)


def test_in_one_go_the_last_file_is_run_again_when_the_epoxy_is_hard() -> None:
    job = load_job(EXAMPLES / "reading-table" / "job.toml")
    assert job.stated.slab is not None
    slab = job.stated.slab.model_copy(update={"procedure": "one go"})
    plan_ = plan(replace(job, stated=job.stated.model_copy(update={"slab": slab})), scheduled=False)
    assert plan_.slab is not None and plan_.machine is not None and plan_.finish is not None
    last = [p for p in plan_.machine.programs if p.face == plan_.slab.show_face][-1]
    context = Context(plan_)
    assert f"then {last.name[:2]} once more" in words_of(machine_sheets(context)[1 + last.clamping])
    assert f"Then face A once more in the same set-up, z zeroed at the same place: file {last.name[:2]}." in str(
        mending_sheets(context, plan_.finish.mending, plan_.finish.resin)[0]
    )
    assert plan_.finish.mending.when == "after the last pass of the show face, which is then cut once more"


def test_clamps_stand_in_the_clampings_of_their_face_and_the_block_is_told() -> None:
    said = list(pages("clamps").values())[2:]
    assert all("long stop 600 mm 130 mm 30 mm" in " ".join(text.split()) for text in said)
    assert ["clamp 2" in text for text in said] == [False, True, False, True]
    assert all("z on the block, 20.0 mm above the bed" in " ".join(text.split()) for text in said)


def test_more_clamps_and_files_than_fit_go_on_on_other_sheets() -> None:
    titles = list(pages("many"))
    assert any(title.endswith(", more files") for title in titles)
    assert any(title.endswith(", clamps") for title in titles)
    said = "\n".join(pages("many").values())
    assert all(program.name in "".join(said.split()) for program in machine_of("many").programs)
    assert all(f"clamp {k}" in said for k in range(1, 8))


def test_two_clampings_of_a_face_show_window_overlap_and_where_it_is_set_down() -> None:
    machine, said = machine_of("two clampings"), list(pages("two clampings").values())[2:]
    assert len(machine.clampings) == 8
    for clamping, page in zip(machine.settings, said, strict=True):
        first, text = clamping.overlap is not None, " ".join(page.split())
        assert "cut now" in text
        assert ("overlap" in text) == first
        assert ("cut later" in text) == first
        assert ("cut before" in text) == (not first)
        assert (f"clamping {clamping.number + 1} cuts them off" in text) == first
        assert (f"set it down farther left: clamping {clamping.number + 1}" in text.replace("Lift it, ", "")) == first
        assert ("Lift it clear, do not drag it" in text) == (not first)
        if not first:
            assert f"{abs(clamping.moved):.0f} mm farther to the left" in text
            assert f"x −{-clamping.stock.outline.bounds[0]:.0f} mm" in text


def test_a_carrying_stack_off_the_bed_is_told_with_the_stand_it_wants_and_stops_nothing() -> None:
    plan_, machine = worked_out("two clampings"), machine_of("two clampings")
    assert plan_.slab is not None and plan_.slab.shims is not None
    first, second = machine.settings[:2]
    for clamping in (first, second):
        text = " ".join(list(pages("two clampings").values())[1 + clamping.number].split())
        for stack in plan_.slab.shims.stacks:
            x = stack.bed_x + clamping.lying.shift[0]
            off = x < plan_.job.shop.bed.pad_diameter / 2
            told = f"Stack {stack.name} would stand off the bed: set a stand of {stack.height:.1f} mm"
            assert (told in text) == (off and stack.carries)
        assert "Stop." not in text
        assert ("would stand off the bed" in text) == (clamping is second)


def test_the_weight_is_told_as_that_before_roughing() -> None:
    said = [" ".join(text.split()) for text in list(pages("gantry").values())[2:]]
    assert ["kg before roughing" in text for text in said] == [False, True, True, True]


def test_what_comes_then_stands_on_the_clampings_own_page() -> None:
    for name in ("gantry", "many", "two clampings"):
        for clamping in machine_of(name).settings:
            title = next(t for t in pages(name) if t.startswith(f"Clamping {clamping.number} of") and "," not in t)
            own, machine = " ".join(pages(name)[title].split()), machine_of(name)
            last = clamping.number == len(machine.settings)
            assert ("Last clamping" if last else f"clamping {clamping.number + 1}.") in own
    assert all(".ngc" in text for title, text in pages("many").items() if title.endswith(", more files"))


def test_a_roughed_face_is_drawn_flat() -> None:
    shapes = {}
    for clamping in machine_of("gantry").settings:
        picture = Picture(100.0, 70.0)
        draw_heights(picture, 0.0, 0.0, 60.0, context=Context(worked_out("gantry")), clamping=clamping)
        wood = next(path for path in ElementTree.fromstring(picture.svg()) if path.attrib.get("fill") == WOOD)
        shapes[clamping.stage] = len(re.findall(r"[\d.]+ [\d.]+", wood.attrib["d"]))
    assert shapes == {"rough": 5, "skim": 4}


@pytest.mark.parametrize("name", ["gantry", "clamps", "two clampings", "many"])
def test_words_on_the_bed_keep_clear_of_each_other(name: str) -> None:
    for sheet in machine_sheets(Context(worked_out(name)))[2:]:
        if not sheet.title.startswith("Clamping") or "," in sheet.title:
            continue
        boxes = []
        for text in drawings(sheet)[0].iter("{http://www.w3.org/2000/svg}text"):
            if text.attrib["fill"] == PAPER and "stroke" in text.attrib:
                continue  # the halo of the words that follow
            size, x, y = (float(text.attrib[key]) for key in ("font-size", "x", "y"))
            wide = 0.42 * size * len(text.text or "")
            left = x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[text.attrib["text-anchor"]]
            boxes.append((left, y - 0.7 * size, left + wide, y, text.text))
        for index, one in enumerate(boxes):
            for other in boxes[:index]:
                apart = one[0] >= other[2] or other[0] >= one[2] or one[1] >= other[3] or other[1] >= one[3]
                assert apart, (sheet.title, one[4], other[4])


def test_the_feeds_card_says_what_is_set_and_what_it_comes_to() -> None:
    text = pages("two clampings")["Feeds card"]
    for said in ("16000", "6000", "35.0", "3.0", "0.8", "0.125 mm", "42 m/s", "none: the stepover is within the flat"):
        assert said in text
    machine = machine_of("two clampings")
    assert machine.edges_used is not None
    assert f"{machine.edges_used:.1f} lives" in text
    assert "chip_load_low" in text
    assert {"35.0", "3.0"} <= set(great_words(machine_sheets(Context(worked_out("two clampings")))[0]))


def test_what_errors_cost_has_a_row_for_each_error() -> None:
    for name in ("gantry", "sled"):
        text = " ".join(pages(name)["What errors cost"].split())
        for cost in machine_of(name).error_costs:
            assert f"{cost.what.capitalize()}, {cost.way}" in text
            assert cost.change in text
    assert "under 0.001" in pages("sled")["What errors cost"]


@pytest.mark.parametrize("name", ["sled", "sled on A4"])
def test_rails_have_their_heights_and_set_downs_in_great_type(name: str) -> None:
    machine, words = machine_of(name), Words("inch")
    assert machine.sled is not None
    sheets = machine_sheets(Context(worked_out(name)))[2:]
    assert len(sheets) == len(machine.sled.settings)
    for sheet, setting in zip(sheets, machine.sled.settings, strict=True):
        great = great_words(sheet)
        for support in setting.supports:
            assert words.number(support.height) in great
        for depth in setting.depths:
            assert words.number(depth.lower) in great
        assert words.fine(setting.above_plane) in great


def test_drawings_keep_their_words_inside() -> None:
    for name in VARIANTS:
        for sheet in machine_sheets(Context(worked_out(name))):
            for drawing in drawings(sheet):
                wide, high = (float(drawing.attrib[side].removesuffix("mm")) for side in ("width", "height"))
                for text in drawing.iter("{http://www.w3.org/2000/svg}text"):
                    # Rather little for a letter: what sticks out by this measure is cut off for sure.
                    size, long = float(text.attrib["font-size"]), len(text.text or "")
                    reach = 0.42 * size * long
                    share = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.attrib["text-anchor"]]
                    x, y = float(text.attrib["x"]), float(text.attrib["y"])
                    told = (name, sheet.title, text.text)
                    assert x - share * reach >= -0.5 and x + (1.0 - share) * reach <= wide + 0.5, told
                    assert 0.6 * size <= y <= high, told


def test_a_refused_program_is_told_as_a_stop_on_its_clamping() -> None:
    found, machine = worked_out("gantry"), machine_of("gantry")
    refused = replace(found, machine=replace(machine, programs=(), time=0.0, edge_length=0.0))
    sheets = machine_sheets(Context(refused))[2:]
    assert len(sheets) == len(machine.clampings)
    assert all("No program is written" in str(sheet.picture) for sheet in sheets)
    assert not any(re.search(r"\.ngc", str(sheet)) for sheet in sheets)


def test_labels_are_spread_in_their_order_and_within_bounds() -> None:
    assert spread([10.0, 40.0, 70.0], 20.0, 0.0, 100.0) == [10.0, 40.0, 70.0]
    assert spread([10.0, 12.0, 14.0], 20.0, 10.0, 60.0) == [10.0, 30.0, 50.0]
    assert spread([50.0, 58.0, 60.0], 20.0, 0.0, 60.0) == [20.0, 40.0, 60.0]
