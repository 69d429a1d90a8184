"""Mending: what stays of each defect, its options with their costs, keys, cuts, and what is refused."""

from __future__ import annotations

import math

import pytest
import shapely
from pydantic import ValidationError
from shapely import Point
from tests.unit.mended_slab import BOARD, above, job, mended, one, planned

from slabwright.accounts import accounts
from slabwright.finish.mending_keys import key_sizes, places_along
from slabwright.finish.mending_places import Ground
from slabwright.job.mend_models import MEND_KINDS, MendKey
from slabwright.reference.mending import mending_figures

THROUGH = {"kind": "void", "at": [1000, 0], "diameter": 40, "depth": "through"}
CHECK = {"kind": "check", "outline": [[600, 50], [1000, 50]], "width": 2, "depth": "through"}
OPEN_END = {"kind": "check", "outline": [[0, 0], [300, 0]], "width": 2, "depth": "through"}


def codes(findings: object) -> list[str]:
    return [each.code for each in findings]  # type: ignore[attr-defined]


def test_a_round_hole_through_the_board_is_a_cylinder() -> None:
    found = one(THROUGH)
    assert found.volume == pytest.approx(math.pi * 20.0**2 * BOARD, rel=1e-9)
    assert (found.through, found.tape, found.leaks, found.dam, found.side) == (True, True, True, False, "both")


def test_of_a_stated_depth_what_is_cut_off_above_it_goes() -> None:
    found = one({**THROUGH, "depth": 20})
    assert found.depth == pytest.approx(20.0 - above(), abs=1e-6)
    assert found.volume == pytest.approx(math.pi * 20.0**2 * (20.0 - above()), rel=1e-6)
    assert (found.through, found.tape, found.side) == (False, False, "show")


def test_a_check_that_ends_in_the_board_is_a_wedge() -> None:
    found = one({**CHECK, "depth": 20})
    assert found.length == pytest.approx(400.0)
    assert found.width == 2.0
    assert found.volume == pytest.approx(0.5 * 400.0 * 2.0 * (20.0 - above()), rel=1e-6)
    assert one(CHECK).volume == pytest.approx(400.0 * 2.0 * BOARD, rel=1e-9)


def test_half_of_a_defect_at_the_end_of_the_piece_counts_half() -> None:
    start = planned().top.placement.x - 950.0  # type: ignore[union-attr]
    found = one({**THROUGH, "at": [start, 0]})
    assert found.area == pytest.approx(math.pi * 20.0**2 / 2.0, rel=1e-3)
    assert found.dam


def test_a_stated_share_that_is_missing_takes_the_place_of_the_usual_one() -> None:
    knot = {**THROUGH, "kind": "knot", "depth": 20}
    usual = mending_figures().missing["knot"]
    assert one(knot).volume == pytest.approx(usual * one({**knot, "kind": "void"}).volume)
    stated = one(knot, mends=[{"defect": 1, "missing": 0.4}])
    assert stated.volume == pytest.approx(0.4 / usual * one(knot).volume)


def test_what_is_cut_away_wants_no_mending() -> None:
    outside = {**THROUGH, "at": [10, 0], "diameter": 8}
    shallow = {**THROUGH, "depth": above() / 2.0}
    mending, said, resin, told = mended([outside, shallow])
    assert [(each.name, each.why) for each in mending.gone] == [
        ("D1", "outside the piece"),
        ("D2", "cut away with the face"),
    ]
    assert not mending.mends
    assert (said, told, resin.batches, resin.wait) == ((), (), (), 0.0)


def test_a_choice_for_what_is_gone_is_told() -> None:
    _, said, _, _ = mended([{**THROUGH, "at": [10, 0], "diameter": 8}], mends=[{"defect": 1, "choose": "fill"}])
    assert codes(said) == ["finish/nothing-to-mend"]


def test_a_depth_that_nobody_probed_counts_as_through_and_is_told() -> None:
    mending, said, _, _ = mended([{key: value for key, value in THROUGH.items() if key != "depth"}])
    assert mending.mends[0].through
    assert not mending.mends[0].depth_known
    assert "finish/depth-unknown" in codes(said)


def test_every_way_of_mending_is_shown_with_its_cost() -> None:
    found = one(THROUGH)
    assert tuple(option.kind for option in found.options) == MEND_KINDS
    assert all(bool(option.reason) != option.fits for option in found.options)


def test_the_cost_of_a_fill_adds_up_by_hand() -> None:
    fill = {"price_per_litre": 95, "price_per_visible_area": 420, "client_agrees": True}
    option = one(THROUGH, fill=fill).option("fill")
    area = math.pi * 20.0**2
    poured = area * (BOARD + 1.0) / 0.6
    hours = 0.3 + 0.25 + 3 * 0.2  # cleaned, taped, three pours of 51 mm
    assert option.volume == pytest.approx(poured)
    assert option.hours == pytest.approx(hours)
    assert option.money == pytest.approx(poured / 1e6 * 95 + area / 1e6 * 420 + hours * 60.0)
    assert option.days == pytest.approx((2 * 12 + 72) / 24)
    assert one(THROUGH).option("fill").money is None


@pytest.mark.parametrize(
    ("defect", "taken"),
    [
        (THROUGH, "fill"),
        ({**THROUGH, "kind": "bark", "depth": 20}, "fill"),
        ({**THROUGH, "kind": "knot", "depth": 20}, "thin epoxy"),
        ({**THROUGH, "kind": "pith", "depth": 20}, "thin epoxy"),
        ({**THROUGH, "face": "B", "depth": 20}, "leave"),
        (CHECK, "key and fill"),
        ({**CHECK, "width": 0.3}, "thin epoxy"),
    ],
)
def test_what_is_recommended(defect: dict[str, object], taken: str) -> None:
    found = one(defect)
    assert (found.recommended, found.chosen, found.stated) == (taken, taken, False)


def test_a_client_who_says_no_leaves_no_fill_on_the_show_face() -> None:
    mending, said, resin, _ = mended([THROUGH], fill={"client_agrees": False})
    assert mending.mends[0].option("fill").reason == "the client said no"
    assert mending.mends[0].chosen == "reject"
    assert "finish/slab-rejected" in codes(said)
    assert not resin.places
    assert one({**THROUGH, "face": "B", "depth": 20}, fill={"client_agrees": False}).option("fill").fits


def test_a_stated_way_that_does_not_fit_is_a_stop_with_what_does() -> None:
    _, said, _, _ = mended([THROUGH], mends=[{"defect": 1, "choose": "key"}])
    stop = next(each for each in said if each.severity == "stop")
    assert stop.code == "finish/mend-does-not-fit"
    assert "keys hold a check together" in stop.message
    assert "'fill'" in stop.remedy


def test_keys_stand_square_across_the_check_and_no_farther_apart_than_asked() -> None:
    found = one(CHECK, mends=[{"defect": 1, "choose": "key", "key": {"spacing": 150}}])
    assert found.keys is not None
    assert found.keys.turn == pytest.approx(90.0)
    assert len(found.keys.places) == 3
    assert found.keys.spacing == pytest.approx(400.0 / 3.0)
    middles = [place.x for place in found.keys.places]
    assert middles == pytest.approx([600 + 400 / 6, 800, 1000 - 400 / 6])
    assert all(place.y == pytest.approx(50.0) for place in found.keys.places)
    outline = found.keys.places[0].outline
    assert outline.bounds[3] - outline.bounds[1] == pytest.approx(found.keys.length)
    assert outline.bounds[2] - outline.bounds[0] == pytest.approx(found.keys.width)
    assert (found.keys.length, found.keys.depth) == pytest.approx((75.0, 20.0))


def test_a_key_at_an_open_end_keeps_its_distance() -> None:
    found = one(OPEN_END, mends=[{"defect": 1, "choose": "key and fill"}])
    assert found.dam
    assert found.keys is not None
    assert found.option("key").fits
    start = planned().top.placement.x - 950.0  # type: ignore[union-attr]
    assert min(place.outline.bounds[0] for place in found.keys.places) >= start + 25.0 - 1e-6


def test_keys_have_the_check_and_the_top_in_one_frame() -> None:
    found = one(CHECK)
    placed = planned().top.placement  # type: ignore[union-attr]
    assert found.along == pytest.approx(800.0 - placed.x + 950.0, abs=1e-6)
    assert found.across == pytest.approx(50.0 - placed.y, abs=1e-6)
    turned = one(CHECK, show="B")
    assert turned.across == pytest.approx(-(50.0 - planned(show="B").top.placement.y), abs=1e-6)  # type: ignore[union-attr]


@pytest.mark.parametrize("show", ["A", "B"])
def test_into_the_tops_frame_and_back(show: str) -> None:
    plan = planned(show=show)
    assert plan.slab is not None
    ground = Ground.of(plan.slab, plan.top, BOARD)
    shape = Point(700.0, 120.0).buffer(30.0)
    assert ground.from_top(ground.in_top(shape)).symmetric_difference(shape).area < 1e-6
    piece = ground.in_top(ground.area["A"])
    assert piece.bounds[0] == pytest.approx(0.0, abs=1e-6)
    assert piece.bounds[2] == pytest.approx(1900.0, abs=1e-6)
    assert piece.bounds[3] == pytest.approx(380.0, abs=1e-6)


def test_a_key_deeper_than_the_board_is_a_stop() -> None:
    _, said, _, _ = mended([CHECK], mends=[{"defect": 1, "choose": "key and fill", "key": {"depth": 50}}])
    stops = {each.code: each for each in said if each.severity == "stop"}
    assert "25" in stops["finish/key-too-deep"].remedy
    _, said, _, _ = mended([CHECK], mends=[{"defect": 1, "key": {"depth": 30}}])
    assert "finish/key-deep" in codes(said)
    _, said, _, _ = mended([CHECK], mends=[{"defect": 1, "key": {"waist": 60, "width": 65, "length": 80}}])
    assert not {"finish/key-deep", "finish/key-too-deep", "finish/key-without-waist"} & set(codes(said))


def test_a_key_without_a_waist_by_its_default_width_is_a_stop() -> None:
    _, said, _, _ = mended([CHECK], mends=[{"defect": 1, "key": {"width": 10, "length": 60, "waist": 9}}])
    assert "finish/key-without-waist" not in codes(said)
    assert key_sizes(MendKey.model_validate({"waist": 30}), 50.0)[1] == pytest.approx(60.0)


def test_no_room_for_a_key_along_the_edge() -> None:
    near = {**CHECK, "outline": [[600, -340], [1000, -340]]}
    found = one(near)
    assert "to an edge" in found.option("key").reason
    assert found.recommended == "fill"


def test_what_the_top_has_at_that_place_is_in_the_way() -> None:
    top = {"features": [{"kind": "pocket", "name": "plate", "along": 0, "length": 400, "width": 300, "depth": 20}]}
    base = planned()
    from slabwright.finish.mending import mending_plan
    from slabwright.top.topping import placing, top_plan

    trial = job([CHECK], top=top)
    assert base.slab is not None and base.board is not None
    where = placing(trial, base.slab, lambda _: None)
    topped, _ = top_plan(trial, base.slab, base.board, lambda _: None, where)
    mending, _ = mending_plan(trial, base.slab, base.board, topped)
    assert mending.mends[0].option("key").reason == "'plate' is in the way"
    key = {
        "kind": "key",
        "name": "bow",
        "along": -130,
        "across": 30,
        "length": 70,
        "width": 30,
        "waist": 15,
        "depth": 20,
    }
    trial = job([CHECK], top={"features": [{**key, "face": "show"}]})
    where = placing(trial, base.slab, lambda _: None)
    topped, _ = top_plan(trial, base.slab, base.board, lambda _: None, where)
    mending, _ = mending_plan(trial, base.slab, base.board, topped)
    assert mending.mends[0].keyed_by == ("bow",)
    assert (mending.mends[0].chosen, mending.mends[0].keys) == ("key and fill", None)


def test_keys_of_two_checks_over_each_other_are_told() -> None:
    other = {**CHECK, "outline": [[600, 60], [1000, 60]]}
    assert "finish/keys-meet" in codes(mended([CHECK, other])[1])


def test_a_piece_with_room_is_moved_off_the_defect_and_loses_nothing() -> None:
    plan = planned(1500.0)
    start = plan.top.placement.x - 750.0  # type: ignore[union-attr]
    defect = {**THROUGH, "at": [start + 30.0, 0]}
    found = one(defect, length=1500.0)
    option = found.option("cut off")
    assert option.fits
    assert (option.length, found.recommended) == (0.0, "cut off")
    assert option.thickness == pytest.approx(0.0, abs=1e-6)
    assert "to the right" in option.note
    # As the remedy says: with that cut the piece no longer lies over the defect.
    cut = float(option.note.split("= '")[1].split(" mm")[0].replace(" ", ""))
    assert cut >= start + 50.0


def test_without_room_the_piece_gets_shorter() -> None:
    start = planned().top.placement.x - 950.0  # type: ignore[union-attr]
    option = one({**THROUGH, "at": [start + 130.0, 0]}).option("cut off")
    assert not option.fits
    assert option.length == pytest.approx(130.0 + 20.0 + 5.0, abs=0.05)
    assert option.money == pytest.approx(option.length * 760.0 * BOARD / 1e9 * 2000.0 + 0.5 * 60.0)
    assert one(THROUGH).option("cut off").reason == "too far from an end"


def test_another_defect_that_would_come_in_speaks_against_moving() -> None:
    start = planned(1500.0).top.placement.x - 750.0  # type: ignore[union-attr]
    near = {**THROUGH, "at": [start + 30.0, 0]}
    beyond = {**THROUGH, "at": [start + 1530.0, 0]}
    mending, _, _, _ = mended([near, beyond], length=1500.0)
    assert [mend.name for mend in mending.mends] == ["D1"]
    assert mending.mends[0].option("cut off").reason == "another defect comes into the piece"


def test_without_a_length_all_that_is_flat_is_mended() -> None:
    found = one(THROUGH, length=None)
    assert found.along is None
    assert found.option("cut off").reason == "the piece has no length yet"
    assert found.chosen == "fill"


def test_middles_of_keys_leave_no_stretch_unserved() -> None:
    assert places_along(0.0, 100.0, 200.0) == [50.0]
    assert places_along(0.0, 400.0, 200.0) == [100.0, 300.0]
    assert places_along(0.0, 401.0, 200.0) == pytest.approx([401 / 6, 401 / 2, 401 * 5 / 6])
    assert len(places_along(0.0, 100.0, 200.0, 3)) == 3


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ({"mends": [{"defect": 2, "choose": "fill"}]}, "has 1"),
        ({"mends": [{"defect": 1}, {"defect": 1}]}, "twice"),
        ({"mends": [{"defect": 1, "missing": 1.2}]}, "less than or equal to 1"),
        ({"mends": [{"defect": 1, "key": {"width": 20, "waist": 20}}]}, "waist must be less than width"),
        ({"mends": [{"defect": 1, "choose": "glue"}]}, "'cut off'"),
        ({"shop": {"epoxy": {"resin_parts": 0}}}, "greater than 0"),
        ({"shop": {"epoxy": {"leak_loss": 1.0}}}, "less than 1"),
        ({"shop": {"epoxy": {"tint_share": 0.06}}}, "tint_share can be at most tint_most"),
        ({"shop": {"epoxy": {"mix_by": "volume"}}}, "wants resin_parts_volume"),
        ({"shop": {"epoxy": {"resin_parts_volume": 2}}}, "go together"),
        ({"shop": {"epoxy": {"resin_density": 1.1}}}, "go together"),
        ({"shop": {"epoxy": {"coldest": 30, "warmest": 20}}}, "coldest must be less"),
        (
            {
                "shop": {
                    "epoxy": {
                        "resin_parts_volume": 1,
                        "hardener_parts_volume": 1,
                        "resin_density": 1.16,
                        "hardener_density": 0.97,
                    }
                }
            },
            "the ratios do not agree",
        ),
    ],
)
def test_wrong_input_is_refused_with_what_would_be_right(tables: dict[str, object], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        job([THROUGH], **tables)  # type: ignore[arg-type]


def test_every_figure_has_an_account() -> None:
    mending, _, resin, _ = mended([THROUGH, CHECK])
    for path, value in (("finish.mending", mending), ("finish.resin", resin)):
        for account in accounts(value, path):
            assert account.description.meaning, account.path


def test_the_piece_is_what_lies_within_it() -> None:
    mending, _, _, _ = mended([THROUGH])
    assert shapely.area(mending.outline) == pytest.approx(1900.0 * 760.0, rel=1e-6)


def test_a_blind_pocket_of_bark_does_not_leak() -> None:
    pocket = {"kind": "bark", "at": [1000, 0], "diameter": 60}
    leaks = [mended([{**pocket, "depth": depth}])[0].mends[0].leaks for depth in (18, "through")]
    assert leaks == [False, True]
    assert mended([pocket])[0].mends[0].leaks
