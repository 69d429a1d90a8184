"""What the bench reads: one unit, no figure that is nothing, no tool or part that is not there, promises rounded down."""

from __future__ import annotations

import dataclasses
from typing import Any, cast

import pytest
from tests.unit.carried import worked_out
from tests.unit.mended_slab import mended

from slabwright.base.drill_plan import drill_plan
from slabwright.base.kinds import Drawn
from slabwright.base.parts import parts_to_cut
from slabwright.base.rack import on_the_rack
from slabwright.base.stability import base_structure
from slabwright.base.stiffness import TopOn
from slabwright.base.weld_plan import weld_plan
from slabwright.carry.assembly import assembly
from slabwright.carry.assembly_results import PartMasses
from slabwright.carry.lifts import lifts
from slabwright.carry.route import way_in
from slabwright.carry.route_pieces import Apart, Pieces, Solid, block
from slabwright.job.base_models import Base, BaseKind
from slabwright.job.carry_models import Delivery
from slabwright.job.shop_models import SteelOffcut
from slabwright.sheets.words import Words

TOP = TopOn(2200.0, 900.0, (44.0, 45.0, 46.0), 8.0, 620.0, 11_600.0, 0.55)
DOOR = {"kind": "door", "width": 880, "height": 2000}


def drawn(kind: BaseKind, **keys: Any) -> Drawn:
    stated = Base.model_validate({"tube": "60x60x3", **keys}, context={"units": "metric"})
    return base_structure(stated, kind, 740.0, TOP).drawn


def delivery(**keys: Any) -> Delivery:
    return Delivery.model_validate({"steps": [DOOR], **keys}, context={"units": "metric"})


def test_welds_and_vents_are_told_in_the_units_of_the_job() -> None:
    base = drawn("four legs")
    inch = weld_plan(base, "inch")
    assert '1"' in inch.prepare[0] and not any(" mm" in line for line in inch.prepare)
    assert "25 mm from each seam" in weld_plan(base, "metric").prepare[0]
    for units, told in (("metric", "30 mm below"), ("inch", '1 1/4" below')):
        places = " ".join(vent.place for vent in drill_plan(base, None, cast(Any, units)).vents)
        assert ("below" not in places or told in places) and ("mm" in places) <= (units == "metric")


def test_slots_are_filed_only_where_there_are_slots() -> None:
    told = drill_plan(drawn("U legs"), None, "metric").deburr
    assert told and not any("slot" in line for line in told)


def test_what_goes_into_a_round_tube_is_called_round() -> None:
    names = {part.name for part in parts_to_cut(drawn("U legs", tube="round tube 60.3x4", corners="butted"), None)}
    assert names & {"round cap", "round foot plate"}
    assert not names & {"cap", "foot plate"}


@pytest.mark.parametrize("typed", ["60x60x4", "60X60X4", "60 x 60 x 4", "60×60×4", " 60 × 60 X 4 mm"])
def test_an_offcut_is_found_however_its_section_is_typed(typed: str) -> None:
    found, told = on_the_rack([SteelOffcut(section=typed, length=1200.0, count=2)], ["60x60x4"], "metric")
    assert [(one.section, one.length, one.count) for one in found] == [("60x60x4", 1200.0, 2)] and told == ()


def test_an_offcut_of_no_section_is_left_out_and_told_with_the_nearest_name() -> None:
    found, (told,) = on_the_rack([SteelOffcut(section="60x60 tub", length=900.0)], ["80x40x3", "60x60x4"], "metric")
    assert found == ()
    assert told.severity == "caution" and "60x60 tub" in told.message and "60x60x4" in told.remedy


def test_a_promise_is_never_more_than_it_is() -> None:
    assert Words("metric").least_number(44.97) == "44.9"
    assert float(Words("inch").least_number(44.97)) * 25.4 <= 44.97


def test_thin_epoxy_for_little_goes_on_from_one_cup() -> None:
    _, _, resin, _ = mended([{"kind": "knot", "at": [500, 0], "diameter": 30, "depth": 15}])
    (batch,) = [each for each in resin.batches if each.sort == "thin"]
    (place,) = [each for each in resin.places if each.sort == "thin"]
    assert place.pours == 1 and batch.grams >= 1000.0 * place.mass


def test_always_apart_parts_the_piece_and_does_not_only_take_its_feet_off() -> None:
    whole = block("the table", 1500.0, 600.0, 500.0, 60.0)
    feet = Apart("the feet off", (block("the table", 1500.0, 600.0, 480.0, 59.0),))
    parted = Apart("the top off the base", (block("the top", 1500.0, 600.0, 50.0, 40.0), whole))
    assert way_in(delivery(apart="always"), Pieces(whole, (feet, parted)), "metric")[0].carried == parted.how
    # A top that is welded on: nothing but its feet comes off.
    assert way_in(delivery(apart="always"), Pieces(whole, (feet,)), "metric")[0].carried == feet.how


def test_the_roomiest_way_is_told_beside_the_one_that_is_easiest_to_carry() -> None:
    way = way_in(delivery(), Pieces(Solid("a chest", ((0.0, 0.0, 0.0, 1500.0, 600.0, 500.0),), 60.0)), "metric")[0]
    (through,) = way.passages[0].ways
    assert through.attitude == "flat" and through.margin == pytest.approx((880.0 - 600.0) / 2 - 36.0)
    assert through.most_attitude != "flat"
    assert through.most == pytest.approx((880.0 - 500.0) / 2 - 36.0)


def test_an_assembly_turns_over_what_the_lift_card_says() -> None:
    whole = worked_out("reading-table")
    assert whole.carry is not None and whole.top is not None and whole.base is not None
    cards, _ = lifts(whole.job, whole.carry)
    piece = next(card for card in cards if card.state == "finished piece")
    made, _ = assembly(whole.job, whole.top, whole.base, PartMasses(60.0, 28.0), 4, cards)
    assert made is not None
    turned = [each.mass for each in made.turning if each.what == "whole piece"]
    assert turned == [piece.mass] * len(turned)
    assert next(way for way in made.ways if "whole" in way.what).heaviest == piece.mass


def test_glides_have_no_thread_to_turn() -> None:
    whole = worked_out("reading-table")
    assert whole.top is not None and whole.base is not None
    bare = dataclasses.replace(whole.base, drawn=dataclasses.replace(whole.base.drawn, stud=None))
    made, _ = assembly(whole.job, whole.top, bare, PartMasses(60.0, 28.0), 4)
    assert made is not None
    assert not any("leveller" in str(step) or "lock nut" in step.do for step in made.steps)
