"""The base's sheets: their figures, that each is one page, and that the views show the base as drawn."""

from __future__ import annotations

import io
import shutil
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from slabwright.base.basing import BasePlan
from slabwright.base.loads import loads_of
from slabwright.base.spacing_curve import frame_governs_from
from slabwright.job.base_models import BaseLoads
from slabwright.job.load import load_job
from slabwright.plan import Plan, plan
from slabwright.quantities import Units
from slabwright.sheets import document
from slabwright.sheets.base_cut_drawing import lean
from slabwright.sheets.base_drawing import seen_from
from slabwright.sheets.base_sheets import base_sheets
from slabwright.sheets.base_spacing_sheet import spacing_sheet, tried
from slabwright.sheets.base_view_3d import part_number, view_3d_sheet
from slabwright.sheets.base_views_sheet import answer, views_sheet
from slabwright.sheets.base_words import steel_name
from slabwright.sheets.blocks import Sheet
from slabwright.sheets.context import Context
from slabwright.sheets.top_words import tape
from slabwright.sheets.words import Words

EXAMPLES = Path(__file__).parents[2] / "examples"
TEXTS, RINGS, PATHS = (f"{{http://www.w3.org/2000/svg}}{kind}" for kind in ("text", "circle", "path"))
NAMES = ("reading-table", "window-bench", "hall-desk")


CORNERS = {"a": (-630, -160), "b": (630, -160), "c": (630, 160), "d": (-630, 160)}
FREE = (
    '\n[base]\ntube = "50x50x3"\n'
    + "".join(
        f'[[base.nodes]]\nname = "{name} foot"\nat = [{x}, {y}, 0]\nstands = true\n'
        f'[[base.nodes]]\nname = "{name}"\nat = [{x}, {y}, 380]\nbolt = true\nslides = false\n'
        f'[[base.members]]\nname = "leg {name}"\nfirst = "{name} foot"\nlast = "{name}"\n'
        for name, (x, y) in CORNERS.items()
    )
    + "".join(f'[[base.members]]\nfirst = "{a}"\nlast = "{b}"\n' for a, b in ("ab", "bc", "cd", "da"))
)
KINDS = {
    "free frame": ('base = "closed loops"\n', "", FREE),
    "trestles": ('base = "closed loops"', 'base = "trestles"', ""),
    "four legs": ('base = "closed loops"', 'base = "four legs"', ""),
}
MORE = {
    "one row of bolts": (
        'base = "closed loops"',
        'base = "U legs"',
        "\n[base]\nplate = { width = 70, bolt_rows = 1 }\nloads = { push_along = 600 }\n",
    ),
}


@cache
def worked_out(name: str) -> Plan:
    """The plan of an example, or of the window bench on another kind of base."""
    if name in NAMES:
        return plan(load_job(EXAMPLES / name / "job.toml"))
    before, after, more = (KINDS | MORE)[name]
    with TemporaryDirectory() as folder:
        here = Path(folder) / "job"
        shutil.copytree(EXAMPLES / "window-bench", here)
        told = (here / "job.toml").read_text("utf-8")
        assert before in told
        # Its cord is tied to a piece that other bases need not have.
        told = told.replace('through = [{ outside = "right far upright" }]\n', "")
        (here / "job.toml").write_text(told.replace(before, after, 1) + more, "utf-8")
        return plan(load_job(here / "job.toml"))


def base_of(whole: Plan) -> BasePlan:
    assert whole.base is not None
    return whole.base


def with_head(whole: Plan, **head: object) -> Plan:
    """The same plan, its sheets printed in other units or on other paper."""
    stated = whole.job.stated
    changed = stated.model_copy(update={"job": stated.job.model_copy(update=head)})
    return replace(whole, job=replace(whole.job, stated=changed))


def printed(whole: Plan, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """The text of each of the base's sheets by its title; there are as many pages as sheets."""
    context = Context(whole)
    sheets = base_sheets(context)
    monkeypatch.setattr(document, "bench_sheets", lambda _: sheets)
    reader = PdfReader(io.BytesIO(document.bench_pdf(context)))
    said = [" ".join(page.extract_text().replace("\u00a0", " ").split()) for page in reader.pages]
    assert len(said) == len(sheets)
    return {sheet.title: text for text, sheet in zip(said, sheets, strict=True)}


@pytest.mark.parametrize("name", [*NAMES, *KINDS])
@pytest.mark.parametrize("head", [{"units": "metric", "paper": "A4"}, {"units": "inch", "paper": "Letter"}], ids=str)
def test_every_sheet_is_one_page(name: str, head: dict[str, object], monkeypatch: pytest.MonkeyPatch) -> None:
    said = printed(with_head(worked_out(name), **head), monkeypatch)
    assert next(iter(said)) == "The base"
    for title, text in said.items():
        assert f"Sheet {title}" in text


def test_no_base_has_no_sheets() -> None:
    assert base_sheets(Context(replace(worked_out("reading-table"), base=None))) == []


def test_the_height_stack_and_the_answer_stand_on_the_first_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out("reading-table")
    said = printed(whole, monkeypatch)["The base"]
    stack = base_of(whole).stack
    assert stack is not None
    for figure in (stack.top, stack.plate, stack.leg, stack.foot, stack.pocket):
        assert f"{figure:.1f} mm" in said
    assert "Yes Safe to cut the legs now?" in said


@pytest.mark.parametrize(
    ("safe", "long", "great", "step"),
    [("no", 0.0, "No", "Do not cut the legs yet"), ("cut long", 6.5, "6.5 mm long", "Cut the legs 6.5 mm long")],
)
def test_legs_that_are_not_safe_to_cut(
    safe: str, long: float, great: str, step: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = worked_out("reading-table")
    base = base_of(whole)
    assert base.stack is not None
    stack = replace(base.stack, safe_to_cut=safe, cut_long=long)  # type: ignore[arg-type]
    said = printed(replace(whole, base=replace(base, stack=stack)), monkeypatch)["The base"]
    assert f"{great} Safe to cut the legs now?" in said
    assert step in said
    assert answer(stack, Words("metric")).replace("\u00a0", " ") == great


@pytest.mark.parametrize("name", NAMES)
def test_the_views_show_the_base_as_drawn(name: str) -> None:
    base = base_of(worked_out(name))
    front, end, above = seen_from(base, "front"), seen_from(base, "left"), seen_from(base, "above")
    assert front.bounds[3] == pytest.approx(base.height.even)
    assert front.bounds[1] == pytest.approx(0.0)
    uprights = next(part for part in base.drawn.parts if part.name == "upright")
    feet = [y for _, _, (_, y) in base.drawn.feet]
    outside = max(feet) - min(feet) + uprights.section.depth
    assert end.steel.bounds[2] - end.steel.bounds[0] == pytest.approx(outside)
    # The leg stack runs from the foot's seat to the plate's underside.
    assert base.stack is not None
    assert end.steel.bounds[1] == pytest.approx(base.stack.foot)
    assert end.steel.bounds[3] == pytest.approx(base.stack.foot + base.stack.leg, abs=base.stack.plate)
    assert len(above.bolts) == len(base.drawn.bolts)
    right = seen_from(base, "right")
    assert right.top.bounds[0] == pytest.approx(-end.top.bounds[2])


def force(newtons: float) -> str:
    """A force as the sheets print it."""
    return Words("metric").force(newtons).replace("\u00a0", " ")


def least(newtons: float) -> str:
    """A force that is borne at least."""
    return Words("metric").force_least(newtons).replace("\u00a0", " ")


def test_what_moves_tips_and_sags_stands_on_its_sheet(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out("reading-table")
    base = base_of(whole)
    said = printed(whole, monkeypatch)["How the base stands"]
    loads = loads_of(BaseLoads(), base.structure.top.area)
    assert f"{loads.push_along.value / base.sway_stiffness.x:.2f} mm" in said
    assert f"{loads.push_across.value / base.sway_stiffness.y:.2f} mm" in said
    assert f"{base.sway_frequency:.1f} times a second" in said
    assert f"{base.sag.now:.2f} mm" in said and f"{base.sag.long_term:.2f} mm" in said
    assert base.tip_load is not None and f"{least(base.tip_load)} least load that tips it" in said
    for tip in base.tips:
        assert tip.load is not None and least(tip.load) in said
    for foot in base.feet:
        assert force(foot.standing) in said and f"up to {force(foot.most)}" in said
    for name in ("frame", "plates", "bolts", "slab", "feet"):
        share = getattr(base.sway_shares.x, name)
        assert f"{share:.0%} {getattr(base.sway_shares.y, name):.0%}" in said
    assert f"{base.mends[0].sway_x:.0f} N/mm" in said
    pull = base.bolt_pull
    assert pull is not None and pull.margin > 1.0
    assert f"{pull.bolt}, {force(pull.pull)} ({pull.case}); it may bear {least(pull.allowed)}" in said


def test_bolts_that_are_pulled_too_hard_stand_on_the_sheet_with_what_mends_it(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out("one row of bolts")
    pull = base_of(whole).bolt_pull
    assert pull is not None and pull.margin < 1.0
    said = printed(whole, monkeypatch)["How the base stands"]
    assert f"pulled with {force(pull.pull)}" in said and "two rows of bolts on each plate" in said


@pytest.mark.parametrize("name", NAMES)
def test_the_cut_list_holds_every_part_stop_and_length(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out(name)
    cuts = base_of(whole).cut_list
    assert cuts is not None
    words = Context(whole).words
    said = printed(whole, monkeypatch)
    for stop in cuts.stops:
        assert f"{stop.count} × {tape(stop.stop, words)}".replace("\u00a0", " ") in said["Saw stops and lengths"]
    for part in cuts.parts:
        figures = f"{part.count} {tape(part.long_points, words)} {tape(part.short_points, words)}".replace(
            "\u00a0", " "
        )
        assert figures in said["Cut list"]
    for bought in cuts.bought:
        assert f"{bought.count} × {tape(bought.length, words)}".replace("\u00a0", " ") in said["Cut list"]
    assert "phosgene" in said["Cut list"] and "pinches the blade" in said["Cut list"]
    for each in cuts.two_pass:
        assert each.how in said["Cut list"]


def test_a_long_cut_list_goes_over_more_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out("hall-desk")
    base = base_of(whole)
    cuts = base.cut_list
    assert cuts is not None
    parts = tuple(replace(cuts.parts[0], name=f"member {k}") for k in range(60))
    lengths = tuple(
        replace(cuts.lengths[0], pieces=tuple(replace(piece, part=f"member {k}") for piece in cuts.lengths[0].pieces))
        for k in range(11)
    )
    many = replace(
        cuts, parts=parts, lengths=lengths, stops=cuts.stops * 7, bought=cuts.bought * 12, offcuts=cuts.offcuts * 12
    )
    said = printed(replace(whole, base=replace(base, cut_list=many)), monkeypatch)
    text = " ".join(said.values())
    assert all(f"member {k} " in text for k in range(60))
    assert len([title for title in said if title.startswith("Saw stops and lengths")]) > 1


def test_a_piece_is_drawn_to_its_long_points() -> None:
    cuts = base_of(worked_out("reading-table")).cut_list
    assert cuts is not None
    rail = next(part for part in cuts.parts if part.name == "bottom rail")
    piece = next(piece for length in cuts.lengths for piece in length.pieces if piece.part == "bottom rail")
    reach = piece.end - piece.start + sum(lean(rail, mitre) for mitre in rail.mitres)
    assert reach == pytest.approx(rail.long_points)
    plate = next(part for part in cuts.parts if part.name == "plate")
    assert lean(plate, 0.0) == 0.0


def test_flats_are_called_in_the_units_of_the_job() -> None:
    assert steel_name("flat 203.2x9.525", Words("inch")).replace("\u00a0", " ") == 'flat 8" x 3/8"'
    assert steel_name('flat 8"x3/8"', Words("inch")).replace("\u00a0", " ") == 'flat 8" x 3/8"'
    assert steel_name("flat 90x8", Words("metric")) == "flat 90x8"
    assert steel_name("HSS 2x2x1/4", Words("inch")) == "HSS 2x2x1/4"


@pytest.mark.parametrize("name", [*NAMES, *KINDS])
@pytest.mark.parametrize("head", [{"units": "metric", "paper": "A4"}, {"units": "inch", "paper": "Letter"}], ids=str)
def test_no_words_leave_their_drawing(name: str, head: dict[str, object]) -> None:
    context = Context(with_head(worked_out(name), **head))
    base = base_of(context.plan)
    sheets = [*base_sheets(context), view_3d_sheet(context, base), spacing_sheet(context, base)]
    for svg in drawings(sheets):
        root = ElementTree.fromstring(svg)
        width = float(root.attrib["viewBox"].split()[2])
        for text in root.iter(TEXTS):
            wide = 0.46 * float(text.attrib["font-size"]) * len(text.text or "")
            left = (
                float(text.attrib["x"]) - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[text.attrib["text-anchor"]]
            )
            assert left > -1.5 and left + wide < width + 1.5, text.text


def drawings(value: Any) -> list[str]:
    """Every drawing in some sheets."""
    if isinstance(value, Sheet):
        return drawings([value.picture, value.text])
    if isinstance(value, dict):
        return ([value["svg"]] if "svg" in value else []) + drawings(list(value.values()))
    return [svg for item in value for svg in drawings(item)] if isinstance(value, list) else []


@pytest.mark.parametrize("units", ["metric", "inch"])
@pytest.mark.parametrize("projection", [None, "first-angle", "third-angle"])
def test_views_lie_as_the_projection_says(units: Units, projection: str | None) -> None:
    whole = with_head(worked_out("reading-table"), units=units, projection=projection)
    first = projection == "first-angle" if projection else units == "metric"
    [svg, *_] = drawings(views_sheet(Context(whole), base_of(whole)))
    at = {text.text: float(text.attrib["y"]) for text in ElementTree.fromstring(svg).iter(TEXTS)}
    assert ("From the left end" in at) == first and ("From the right end" in at) == (not first)
    # Seen from above it is drawn below the front in first angle, above it in third.
    assert (at["From above"] > at["From the near side"]) == first
    assert any(f"{'first' if first else 'third'} angle" in (said or "") for said in at)
    # The symbol is a cone's two views; the rings stand on the side away from its small end, or beside it.
    rings = [ring for ring in ElementTree.fromstring(svg).iter(RINGS) if float(ring.attrib["r"]) == 3.5]
    cone = next(
        path.attrib["d"] for path in ElementTree.fromstring(svg).iter(PATHS) if path.attrib["d"].count("L") == 3
        and path.attrib["d"].endswith("Z") and path.attrib["stroke-width"] == "0.25" and path.attrib["fill"] == "none"
        and abs(float(path.attrib["d"][1:].split()[0]) - float(rings[0].attrib["cx"])) < 16.0
    )  # fmt: skip
    small = float(cone[1:].split()[0])
    assert len(rings) == 1 and (float(rings[0].attrib["cx"]) > small) == first


@pytest.mark.parametrize("name", [*NAMES, *KINDS])
@pytest.mark.parametrize("head", [{"units": "metric", "paper": "A4"}, {"units": "inch", "paper": "Letter"}], ids=str)
def test_the_base_as_it_stands_has_the_numbers_of_its_cut_list(name: str, head: dict[str, object]) -> None:
    whole = with_head(worked_out(name), **head)
    base = base_of(whole)
    assert base.cut_list is not None
    [svg] = drawings(view_3d_sheet(Context(whole), base))
    said = [text.text for text in ElementTree.fromstring(svg).iter(TEXTS)]
    assert "left end" in said and "near edge" in said
    for number, part in enumerate(base.cut_list.parts, start=1):
        if part.name not in ("cap", "foot plate"):
            assert 1 <= said.count(str(number)) <= part.count
    for member in base.drawn.members:
        if member.part == "frame":
            known = part_number(base, base.drawn, member)
            assert known is not None and base.cut_list.parts[known - 1].section == member.section.name


@pytest.mark.parametrize("name", ["reading-table", "hall-desk", "trestles"])
def test_the_sheet_of_bolts_or_a_stretcher_tells_its_curve(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = worked_out(name)
    context, base = Context(whole), base_of(whole)
    sheet, found = spacing_sheet(context, base), tried(context, base)
    assert sheet is not None and found is not None
    monkeypatch.setattr(document, "bench_sheets", lambda _: [sheet])
    [page] = PdfReader(io.BytesIO(document.bench_pdf(context))).pages
    said = " ".join(page.extract_text().replace("\u00a0", " ").split())
    assert "common practice" in said
    unit = 1.0 if whole.job.stated.job.units == "metric" else 4.4482216152605 / 25.4
    for point in found.curve:
        stretched = "" if point.stretched is None else f" {point.stretched / unit:.0f}"
        assert f"{point.stiffness / unit:.0f}{stretched} {point.joint:.0%}" in said
    assert ("Stretcher" in said) == (name != "trestles")
    # The base as it is lies on its own curve, or between two of its points.
    assert found.now is not None
    around = [(a, b) for a, b in pairwise(found.curve) if a.spacing <= found.now <= b.spacing]
    assert around and around[0][0].stiffness < base.sway_stiffness.x * 1.02
    if name != "trestles":
        assert base.sway_stiffness.x < around[0][1].stiffness * 1.05
    governs = frame_governs_from(found.curve)
    assert ("govern at every spacing" in said) == (governs is None)


def test_a_free_frame_has_no_curve() -> None:
    whole = worked_out("free frame")
    assert spacing_sheet(Context(whole), base_of(whole)) is None


def test_a_free_frame_has_no_height_stack(monkeypatch: pytest.MonkeyPatch) -> None:
    said = printed(worked_out("free frame"), monkeypatch)
    assert "Safe to cut the legs" not in said["The base"] and "Height stack" not in said["The base"]
    assert "leg a" in said["Cut list"]
    assert seen_from(base_of(worked_out("free frame")), "front").plates.is_empty
