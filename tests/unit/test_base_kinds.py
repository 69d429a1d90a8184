"""Kinds of base: the right parts, frames that stand, and clear words where none can be made."""

from __future__ import annotations

from typing import Any, get_args

import pytest
from pydantic import ValidationError

from slabwright.base.base_sizes import sizes_of, tubes_to_cut
from slabwright.base.kinds import draw, draw_free, plate_bolts
from slabwright.base.stability import base_structure
from slabwright.base.stiffness import TopOn
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base, BaseKind

KINDS = get_args(BaseKind)
TOP = TopOn(2200.0, 900.0, (44.0, 45.0, 46.0), 8.0, 620.0, 11_600.0, 0.55)


def stated(**keys: Any) -> Base:
    return Base.model_validate(keys, context={"units": "metric"})


@pytest.mark.parametrize("kind", KINDS)
def test_every_picture_stands_and_weighs_what_its_parts_weigh(kind: BaseKind) -> None:
    found = base_structure(stated(), kind, 740.0, TOP)
    assert not found.tipping_cases
    assert found.stack is not None
    assert found.stack.safe_to_cut == "yes"
    assert found.mass == pytest.approx(found.tube_mass + found.plate_mass)
    empty = sum(foot.standing for foot in found.feet) / 9.80665 - 50.0 * TOP.area * 1e-6
    # On the middle lines of its joints a tube is counted up to half a depth longer or shorter.
    assert empty == pytest.approx(found.mass + found.top_mass, rel=0.03)


@pytest.mark.parametrize("kind", KINDS)
def test_both_halves_of_a_base_are_alike(kind: BaseKind) -> None:
    loads = [foot.standing for foot in base_structure(stated(), kind, 740.0, TOP).feet]
    assert loads == pytest.approx([loads[0]] * 4, rel=1e-6)


def test_lengths_of_u_legs_mitred_and_butted() -> None:
    mitred = sizes_of(stated(tube="60x60x4", across=640), 2200.0, 900.0, 740.0, 675.0, "metric", "U legs")
    parts = {part.name: part for part in tubes_to_cut("U legs", mitred)}
    assert (parts["upright"].length, parts["upright"].mitres, parts["upright"].count) == (675.0, (45.0, 0.0), 4)
    assert (parts["bottom rail"].length, parts["bottom rail"].mitres) == (640.0, (45.0, 45.0))
    butted = sizes_of(
        stated(tube="60x60x4", across=640, corners="butted"), 2200.0, 900.0, 740.0, 675.0, "metric", "U legs"
    )
    parts = {part.name: part for part in tubes_to_cut("U legs", butted)}
    assert (parts["upright"].length, parts["upright"].mitres) == (615.0, (0.0, 0.0))


def test_a_trestle_that_leans_by_nothing_is_square() -> None:
    sizes = sizes_of(
        stated(tube="60x60x4", across=640, top_across=640), 2200.0, 900.0, 740.0, 675.0, "metric", "U legs"
    )
    parts = {part.name: part for part in tubes_to_cut("trestles", sizes)}
    assert parts["leg"].length == pytest.approx(615.0)
    assert parts["leg"].mitres == (0.0, 0.0)
    assert parts["middle rail"].length == pytest.approx(520.0)


def test_middle_bolts_hold_and_the_others_slide() -> None:
    base = stated(plate={"bolts_in_row": 5, "bolt_rows": 2})
    bolts = plate_bolts(base, sizes_of(base, 2200.0, 900.0, 740.0, 675.0, "metric", "U legs"))
    assert len(bolts) == 20
    assert {round(bolt.y, 6) for bolt in bolts if not bolt.slides} == {0.0}


def test_a_bolt_beside_its_plate() -> None:
    base = stated(plate={"width": 200})
    sizes = sizes_of(base, 2200.0, 900.0, 740.0, 675.0, "metric", "U legs")
    wide = plate_bolts(stated(plate={"bolt_spacing": 230}), sizes)
    with pytest.raises(SlabwrightError, match="misses it"):
        draw("U legs", sizes, wide, "metric")


@pytest.mark.parametrize(
    ("keys", "words"),
    [
        ({"tube": "61x61x4"}, None),
        ({"tube": "60x60x40"}, "half of its side"),
        ({"tube": "sixty"}, "no steel section"),
        ({"across": 100}, "no room between two uprights"),
        ({"rail_height": 735, "stretcher": "60x60x3"}, "rail_height"),
        ({"feet": {"inset": 400}}, "brings the feet together"),
    ],
)
def test_sizes_that_make_no_base(keys: dict[str, Any], words: str | None) -> None:
    if words is None:
        assert base_structure(stated(**keys), "U legs", 740.0, TOP).mass > 0.0
        return
    with pytest.raises(SlabwrightError, match=words):
        base_structure(stated(**keys), "U legs", 740.0, TOP)


CORNERS = {"a": (-600, -250), "b": (600, -250), "c": (600, 250), "d": (-600, 250)}


def table_of_four_posts(pinned: str = "no") -> dict[str, Any]:
    nodes = [{"name": f"{name} foot", "at": [x, y, 0], "stands": True} for name, (x, y) in CORNERS.items()]
    nodes += [{"name": name, "at": [x, y, 690], "bolt": True, "slides": False} for name, (x, y) in CORNERS.items()]
    members = [{"first": f"{name} foot", "last": name, "pinned": pinned} for name in CORNERS]
    members += [{"first": a, "last": b, "pinned": pinned} for a, b in (("a", "b"), ("b", "c"), ("c", "d"), ("d", "a"))]
    return {"nodes": nodes, "members": members, "tube": "50x50x3"}


def test_a_free_frame_is_worked_out_like_any_other() -> None:
    found = base_structure(stated(**table_of_four_posts()), None, 740.0, TOP)
    assert found.kind == "free frame"
    assert found.stack is None
    assert found.height.even == pytest.approx(690.0 + 45.0 - 8.0)
    assert found.sway_stiffness.x > 30.0
    assert found.tube_mass == pytest.approx(4.25 * (4 * 0.69 + 2 * 1.2 + 2 * 0.5), rel=1e-6)


def test_a_free_frame_that_folds_up_names_the_node() -> None:
    with pytest.raises(SlabwrightError, match=r"fold up|nothing holds"):
        base_structure(stated(**table_of_four_posts(pinned="both")), None, 740.0, TOP)


def test_members_that_do_not_meet() -> None:
    frame = table_of_four_posts()
    frame["members"][0] = {"first": "a foot", "last": "aa"}
    with pytest.raises(SlabwrightError, match=r"members\[0\]: there is no node 'aa'; near ones: a"):
        draw_free(stated(**frame), "metric")
    frame = table_of_four_posts()
    frame["nodes"].append({"name": "middle", "at": [0, -250, 688]})
    with pytest.raises(SlabwrightError, match="beside the member a to b, 2 mm from it"):
        draw_free(stated(**frame), "metric")
    frame["nodes"].append({"name": "other", "at": [0, 0, 300]})
    frame["members"].append({"first": "middle", "last": "other"})
    with pytest.raises(SlabwrightError, match="meet neither the top nor the rest"):
        draw_free(stated(**frame), "metric")


def test_free_frames_without_feet_or_bolts() -> None:
    frame = table_of_four_posts()
    with pytest.raises(ValidationError, match="stands"):
        stated(**frame | {"nodes": [node | {"stands": False} for node in frame["nodes"]]})
    loose = stated(**frame | {"nodes": [node | {"bolt": False} for node in frame["nodes"]]})
    with pytest.raises(SlabwrightError, match="no node holds the top"):
        draw_free(loose, "metric")


def test_inches_are_read_as_inches() -> None:
    base = Base.model_validate({"across": 25, "plate": {"thickness": "3/8"}}, context={"units": "inch"})
    assert base.across == pytest.approx(635.0)
    found = base_structure(base, "U legs", 762.0, TOP, units="inch")
    assert found.drawn.parts[0].section.name == "HSS 2x2x1/4"
