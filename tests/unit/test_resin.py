"""Epoxy: amounts, pours, batches to the gram, times, and what there is to say."""

from __future__ import annotations

import math

import pytest
from shapely import Point
from tests.unit.mended_slab import BOARD, job, mended, planned
from tests.unit.sheet_plan import invented

from slabwright.finish.pours import batch_sizes, greatest_batch, layer_count, layers, least_batch, mix, shared_out
from slabwright.finish.resin import resin_plan
from slabwright.job.epoxy_models import Epoxy, ThinEpoxy
from slabwright.slab.patch import Patch

HOLE = {"kind": "void", "at": [1000, 0], "diameter": 80, "depth": "through"}
AREA = math.pi * 40.0**2


def test_a_hole_is_poured_with_what_stands_proud_what_leaks_and_waste() -> None:
    _, _, resin, told = mended([HOLE])
    (place,) = resin.places
    poured = AREA * (BOARD + 1.0) / (1.0 - 0.4)
    assert resin.volume == pytest.approx(AREA * BOARD)
    assert place.overfill == pytest.approx(AREA)
    assert resin.poured == pytest.approx(poured)
    assert resin.lost == pytest.approx(0.4 * poured)
    assert place.mass == pytest.approx(poured * 1.1e-6 * 1.15)
    assert place.pours == 3
    assert place.layer == pytest.approx(17.0)
    # Three pours, each rounded up to the gram.
    assert resin.mass == pytest.approx(place.mass, abs=0.003)
    assert resin.mass >= place.mass
    assert "finish/leaks" in [each.code for each in told]


def test_pours_wait_for_each_other_and_the_face_for_the_last() -> None:
    _, _, resin, _ = mended([HOLE])
    first, second, third = resin.pours
    assert second.start == pytest.approx(first.minutes / 60.0 + 12.0)
    assert third.start == pytest.approx(second.start + second.minutes / 60.0 + 12.0)
    assert resin.wait == pytest.approx(third.start + third.minutes / 60.0 + 72.0)
    (again,) = resin.rerun
    assert (again.face, again.stage, again.depths) == ("A", "skim", None)
    slab = planned().slab
    assert slab is not None
    skims = again.passes(slab.passes)
    assert skims == tuple(each for each in slab.passes if each.face == "A" and each.stage == "skim")
    assert skims[-1].level == 0.0


def test_colder_than_the_sheet_all_times_grow_by_its_factor() -> None:
    _, _, warm, _ = mended([HOLE])
    _, _, cold, _ = mended([HOLE], shop={"epoxy": {"shop_temperature": 10, "temperature_factor": 2.0}})
    assert cold.between == pytest.approx(2.0 * warm.between)
    assert cold.before_machining == pytest.approx(2.0 * warm.before_machining)
    assert cold.batches[0].working == pytest.approx(2.0 * warm.batches[0].working)
    assert cold.largest_batch is not None and warm.largest_batch is not None
    assert cold.largest_batch > warm.largest_batch


def test_the_air_of_the_finish_serves_where_the_shop_states_none() -> None:
    factor = {"epoxy": {"temperature_factor": 2.0}}
    _, _, sheet, _ = mended([HOLE], shop=factor)
    _, _, air, _ = mended([HOLE], shop=factor, finish={"temperature": 10})
    assert air.between == pytest.approx(2.0 * sheet.between)
    own = {"epoxy": {"temperature_factor": 2.0, "shop_temperature": 20}}
    assert mended([HOLE], shop=own, finish={"temperature": 10})[2].between == pytest.approx(sheet.between)


def test_what_is_on_the_underside_is_poured_when_the_slab_is_turned() -> None:
    under = {"kind": "void", "at": [500, 0], "diameter": 60, "depth": 25, "face": "B"}
    _, _, resin, _ = mended([HOLE, under], mends=[{"defect": 2, "choose": "fill"}])
    assert [pour.up for pour in resin.pours] == ["show"] * 3 + ["underside"] * 2
    assert [again.face for again in resin.rerun] == ["A", "B"]
    assert resin.places[-1].loss == 0.0


def test_thin_epoxy_comes_first_and_in_coats() -> None:
    # More than the least cup holds.
    knots = [{"kind": "knot", "at": [at, 0], "diameter": 90, "depth": 30} for at in (300, 500, 700, 1300, 1500)]
    _, _, resin, _ = mended([HOLE, *knots])
    assert sum(place.mass for place in resin.places if place.sort == "thin") > 0.075
    assert [pour.sort for pour in resin.pours] == ["thin", "thin", "casting", "casting", "casting"]
    thin = resin.places[0]
    assert thin.name == "D2"
    assert thin.poured == pytest.approx(thin.volume)
    assert resin.pours[2].start >= resin.pours[1].start + 4.0


def test_a_dip_over_a_deep_defect_waits_until_that_is_full() -> None:
    base = planned()
    assert base.slab is not None
    mending, _, _, _ = mended([HOLE])
    from dataclasses import replace

    dip = invented(
        Patch,
        name="A",
        area=9000.0,
        volume=36000.0,
        missing=36000.0,
        depth=4.0,
        pours=1,
        outline=Point(1000, 0).buffer(60),
    )
    slab = replace(base.slab, patches=(dip,))
    below = replace(mending, mends=tuple(replace(mend, in_patch="A") for mend in mending.mends))
    resin, _ = resin_plan(job([HOLE]), slab, below)
    hole, patch = resin.places
    assert (patch.name, patch.first, hole.pours) == ("patch A", 4, 3)
    assert [pour.places for pour in resin.pours] == [("D1",)] * 3 + [("patch A",)]
    assert hole.overfill == 0.0
    # The dip's own volume and waste stay what they are; only what stands proud is added.
    assert patch.mass == pytest.approx((36000.0 + 9000.0) * 1.1e-6 * 1.15)


def test_a_place_that_widens_upwards_takes_more_in_its_upper_layers() -> None:
    wedge = layers(0.5 * 100.0 * 40.0, 100.0, 40.0, 0.0, 2)
    assert wedge == pytest.approx((500.0, 1500.0))
    prism = layers(100.0 * 40.0, 100.0, 40.0, 2.0, 3)
    assert prism == pytest.approx((1400.0, 1400.0, 1400.0))


@pytest.mark.parametrize(("depth", "count"), [(0.5, 1), (20.0, 1), (20.0 + 1e-12, 1), (20.01, 2), (60.0, 3)])
def test_layers_from_the_greatest_depth(depth: float, count: int) -> None:
    assert layer_count(depth, 20.0) == count


def test_a_batch_is_no_larger_than_can_be_poured() -> None:
    # 0.8 of 30 minutes less 5 for mixing leaves 19 minutes: at 8 minutes a litre 2.375 litres.
    assert greatest_batch(Epoxy()) == pytest.approx(19.0 / 8.0 * 1100.0)
    assert greatest_batch(Epoxy(greatest_batch=0.5)) == pytest.approx(500.0)
    assert greatest_batch(Epoxy(working_minutes=6.0)) is None
    large = {"kind": "void", "outline": [[500, -200], [1300, -200], [1300, 200], [500, 200]], "depth": "through"}
    _, _, resin, told = mended([large])
    assert max(batch.grams for batch in resin.batches) <= resin.largest_batch * 1000.0  # type: ignore[operator]
    assert all(batch.minutes <= 0.8 * batch.working + 1e-9 for batch in resin.batches)
    assert {"finish/hot-batch", "finish/pour-attended"} <= {each.code for each in told}


def test_no_time_to_pour_is_a_stop() -> None:
    _, _, resin, told = mended([HOLE], shop={"epoxy": {"working_minutes": 6}})
    assert resin.batches == ()
    assert resin.largest_batch is None
    stop = next(each for each in told if each.severity == "stop")
    assert stop.code == "finish/no-time-to-pour"
    assert "[epoxy] working_minutes" in stop.remedy


@pytest.mark.parametrize(
    ("shop", "code", "severity"),
    [
        ({"shop_temperature": 12, "coldest": 15}, "finish/epoxy-temperature", "stop"),
        ({"shop_temperature": 32, "warmest": 30}, "finish/epoxy-temperature", "stop"),
        ({"shop_temperature": 14}, "finish/epoxy-times", "caution"),
        ({"greatest_batch": 0.02}, "finish/small-batch", "caution"),
        ({}, "finish/least-batch", "note"),
    ],
)
def test_what_there_is_to_say_of_the_epoxy(shop: dict[str, float], code: str, severity: str) -> None:
    small = {**HOLE, "diameter": 20}
    told = {each.code: each.severity for each in mended([small], shop={"epoxy": shop})[3]}
    assert told[code] == severity


def test_a_mix_by_volume_is_weighed_by_its_densities() -> None:
    sheet = Epoxy(
        mix_by="volume", resin_parts_volume=2.0, hardener_parts_volume=1.0, resin_density=1.15, hardener_density=0.95
    )
    weighed = mix(325, sheet)
    assert weighed.resin + weighed.hardener == 325
    assert weighed.resin == round(325 * 2.3 / 3.25)
    assert (weighed.resin / 1.15) / (weighed.hardener / 0.95) == pytest.approx(2.0, rel=0.01)


def test_tint_is_a_share_of_resin_and_hardener_and_stays_below_the_greatest() -> None:
    weighed = mix(510, Epoxy(tint_share=0.02))
    assert (weighed.tint, weighed.resin + weighed.hardener) == (10, 500)
    edge = mix(101, Epoxy(tint_share=0.05, tint_most=0.05))
    assert edge.tint <= 0.05 * (edge.resin + edge.hardener)


def test_small_batches_grow_until_the_scale_holds_the_ratio() -> None:
    assert least_batch(Epoxy(resin_parts=100, hardener_parts=45)) == math.ceil(25.0 * 145.0 / 45.0)
    assert batch_sizes(10.0, 2000.0, 81) == (81,)
    assert batch_sizes(10.0, 50.0, 81) == (50,)
    assert batch_sizes(2001.0, 1000.0, 81) == (667, 667, 667)
    assert batch_sizes(0.0, 1000.0, 81) == ()


def test_batches_go_into_one_place_after_the_other() -> None:
    assert shared_out([30.0, 10.0], [20, 20]) == (((0, 1.0),), ((0, 0.5), (1, 0.5)))


def test_the_thin_epoxy_has_a_sheet_of_its_own() -> None:
    assert ThinEpoxy().name == "thin epoxy"
    assert ThinEpoxy().hours_between_pours < Epoxy().hours_between_pours
