"""The systems of coats: amounts, order, windows, and what there is to say."""

from __future__ import annotations

import dataclasses
from datetime import datetime
from typing import Any

import pytest
from tests.unit.finish_job import areas, finish_job, paint

from slabwright.findings import Finding, SlabwrightError
from slabwright.finish.coating_findings import climate_findings, dew_findings
from slabwright.finish.coating_plan import coating_plan
from slabwright.finish.coating_results import SystemPlan
from slabwright.finish.coating_systems import examples
from slabwright.job.finish_models import Coating
from slabwright.reference.coatings import dew_point

OIL = {
    "name": "house oil",
    "kind": "oil",
    "put_on": "wipe",
    "oil": {"first": 20, "second": 40, "end_grain": 10},
    "without_sanding": {"least": 10, "greatest": 72},
    "cure": 240,
    "coats": 2,
    "cans": [{"size": 0.25, "price": 12}, {"size": 1, "price": 40}],
    "more": {"transfer_loss": 0.0},
}


def planned(
    finish: dict[str, Any] | None, coatings: list[dict[str, Any]] | None = None, **more: Any
) -> tuple[dict[str, SystemPlan], dict[str, Finding]]:
    systems, found = coating_plan(finish_job(finish, coatings, **more), areas())
    return {system.on: system for system in systems}, {finding.code: finding for finding in found}


def test_oil_is_counted_by_coat_and_end_grain_drinks_more() -> None:
    systems, _ = planned({"wood": [{"coating": "house oil", "coats": 3}]}, [OIL])
    first, second, third = systems["wood"].coats
    assert first.amount == pytest.approx(3.9 / 20 + 0.1 / 10)
    assert second.amount == third.amount == pytest.approx(3.9 / 40 + 0.1 / 10)
    assert first.film is None and systems["wood"].film is None
    (can,) = systems["wood"].cans
    assert (can.size, can.count, can.price) == (0.25, 2, 24.0)


def test_the_sheet_says_how_many_coats_unless_the_job_does() -> None:
    assert len(planned({"wood": [{"coating": "house oil"}]}, [OIL])[0]["wood"].coats) == 2
    assert len(planned({"wood": [{"coating": "house oil", "coats": 5}]}, [OIL])[0]["wood"].coats) == 5


def test_paint_is_counted_by_coverage_and_loss_and_mixed_in_batches() -> None:
    systems, _ = planned({"steel": [{"coating": "grey paint", "coats": 2}]}, [paint(pot_life=10)])
    coat = systems["steel"].coats[0]
    # 1 m2 at 8 m2/l less 20 %; 15 min at 4 m2 an hour, 7.5 min to a batch.
    assert coat.amount == pytest.approx(1.0 / (8.0 * 0.8))
    assert coat.minutes == pytest.approx(15.0)
    assert coat.batches.count == 2 and coat.batches.volume == pytest.approx(coat.amount / 2)


def test_film_and_solids_give_the_coverage() -> None:
    sheet = paint(more={"solids": 50, "film": 50, "thinner": 0.1, "transfer_loss": 0.5})
    del sheet["coverage"]
    coat = planned({"steel": [{"coating": "grey paint"}]}, [sheet])[0]["steel"].coats[0]
    assert coat.coverage == 10.0 and coat.amount == pytest.approx(0.2)
    assert coat.wet_film == pytest.approx(110.0)


def test_the_shops_own_coating_goes_before_the_example_of_that_name() -> None:
    own = OIL | {"name": "Hard-wax  Oil"}
    systems, found = planned({"wood": [{"coating": "hard-wax oil"}]}, [own])
    assert systems["wood"].coats[0].coating == "Hard-wax  Oil" and systems["wood"].invented == ()
    assert "finish/example-figures" not in found
    systems, found = planned({"wood": [{"coating": "hard-wax oil"}]})
    assert systems["wood"].invented == ("hard-wax oil",)
    assert "invented example figures" in found["finish/example-figures"].message
    assert "State your data sheet's" in found["finish/example-figures"].remedy


def test_an_unknown_system_is_refused_with_near_names() -> None:
    with pytest.raises(
        SlabwrightError, match=r"^finish\.steel\[1\]\.coating: .*'grey pait'.*did you mean 'grey paint'\?"
    ):
        planned({"steel": [{"coating": "grey paint"}, {"coating": "grey pait"}]}, [paint()])
    with pytest.raises(SlabwrightError, match="there are two-part epoxy primer"):
        planned({"wood": [{"coating": "zzzzz"}]})


def test_the_six_answers_name_a_finish_and_other_words_are_asked_about() -> None:
    systems, found = planned(None, piece={"finish": "Hard-wax oil"})
    assert [coat.coating for coat in systems["wood"].coats] == ["hard-wax oil"] * 2
    assert "steel" not in systems and "finish/bare-steel" in found and "finish/no-start" not in found
    systems, found = planned(None, piece={"finish": "something matt"})
    assert systems == {} and "'something matt'" in found["finish/not-known"].message
    assert coating_plan(finish_job(), areas(0.0, 0.0, 0.0)) == ((), ())


def test_coats_follow_each_other_in_the_shops_hours() -> None:
    systems, found = planned(
        {
            "wood": [{"coating": "house oil"}],
            "steel": [{"coating": "grey paint", "coats": 2}],
            "start": "2026-12-01T09:00",
        },
        [OIL, paint()],
    )
    first, second = systems["steel"].coats
    assert (first.starts, first.ends) == ("2026-12-01T09:00", "2026-12-01T09:15")
    assert first.next is not None and first.next.words == "between 17:15 and 19:45 tonight"
    assert second.starts == "2026-12-01T17:15" and second.next is None
    assert systems["steel"].usable == "2026-12-06T17:30"
    assert "finish/window-missed" not in found


def test_a_missed_window_is_told_and_its_remedy_meets_it() -> None:
    finish = {"steel": [{"coating": "grey paint", "coats": 2}], "steel_start": "2026-12-01T14:00"}
    systems, found = planned(finish, [paint()])
    missed = found["finish/window-missed"]
    window = systems["steel"].coats[0].next
    assert window is not None and window.missed and window.way == "after scuffing"
    assert missed.severity == "caution" and "8 h to 12 h after it" in missed.message
    assert missed.remedy.startswith("Put this coat on at 11:30 today: the next one then meets its window.")
    assert missed.remedy.endswith("Or scuff it and coat between 08:00 and 19:45 tomorrow, as planned.")
    again, fewer = planned(finish | {"steel_start": "2026-12-01T11:30"}, [paint()])
    assert "finish/window-missed" not in fewer
    second = again["steel"].coats[0].next
    assert second is not None and second.way == "without sanding"


def test_sanding_the_primer_makes_its_greatest_moot() -> None:
    finish = {"steel": [{"coating": "grey paint", "coats": 2, "then": "sand"}], "steel_start": "2026-12-01T14:00"}
    systems, found = planned(finish, [paint()])
    window = systems["steel"].coats[0].next
    assert window is not None and (window.way, window.least, window.greatest) == ("after sanding", 20.0, None)
    assert "finish/window-missed" not in found


def test_a_colder_shop_waits_longer() -> None:
    warm, cold = (
        planned({"steel": [{"coating": "grey paint", "coats": 2}], "temperature": at}, [paint()])[0]["steel"].coats[0]
        for at in (20, 10)
    )
    assert warm.next is not None and cold.next is not None
    assert cold.next.least == pytest.approx(2.0 * warm.next.least)
    assert cold.pot_life == pytest.approx(240.0) and cold.next.basis == "by the temperature rule"


@pytest.mark.parametrize(
    ("air", "code", "said"),
    [
        ({"temperature": 8, "humidity": 50}, "finish/too-cold", "10 °C"),
        ({"temperature": 36, "humidity": 20}, "finish/too-warm", "30 °C"),
        ({"temperature": 20, "humidity": 90}, "finish/too-damp", "80 %"),
        ({"temperature": 20, "humidity": 12}, "finish/too-dry", "30 %"),
        ({"temperature": 20, "humidity": 60, "steel_temperature": 12}, "finish/dew", "dew point"),
    ],
)
def test_air_outside_the_sheet_is_a_stop_with_a_remedy(air: dict[str, Any], code: str, said: str) -> None:
    _, found = planned({"steel": [{"coating": "two-part flat urethane"}], **air})
    assert found[code].severity == "stop" and found[code].remedy
    assert said in found[code].message
    _, fine = planned({"steel": [{"coating": "two-part flat urethane"}], "temperature": 20, "humidity": 50})
    assert not {finding.code for finding in fine.values() if finding.severity == "stop"}


def test_steel_at_the_remedys_warmth_is_warm_enough() -> None:
    dew = dew_point(20.0, 60.0)
    assert dew_findings(20.0, 60.0, dew + 2.9, "metric")
    assert not dew_findings(20.0, 60.0, dew + 3.0, "metric")
    assert "°F" in dew_findings(20.0, 60.0, dew, "inch")[0].remedy


def test_the_same_air_warmed_as_the_remedy_says_is_dry_enough() -> None:
    (urethane,) = (coating for coating in examples() if coating.isocyanate)
    (damp,) = climate_findings(urethane, 15.0, 88.0, None, "metric")
    warmer = float(damp.remedy.split("warm the shop to ")[1].split(" ")[0])
    assert dew_point(warmer, 80.0) >= dew_point(15.0, 88.0) > dew_point(warmer - 0.2, 80.0)


def test_an_induction_that_eats_the_pot_life_is_a_stop_and_a_cooler_shop_mends_it() -> None:
    sheet = paint(pot_life=60, more={"induction": 50, "coldest": 5, "warmest": 40})
    _, found = planned({"steel": [{"coating": "grey paint"}], "temperature": 22}, [sheet])
    stop = found["finish/pot-life"]
    assert stop.severity == "stop"
    cooler = float(stop.remedy.split("Coat at ")[1].split(" ")[0])
    _, fine = planned({"steel": [{"coating": "grey paint"}], "temperature": cooler}, [sheet])
    assert "finish/pot-life" not in fine


def test_more_film_than_the_pockets_were_laid_out_for() -> None:
    thick = paint(more={"film": 100})
    _, found = planned({"steel": [{"coating": "grey paint", "coats": 2}]}, [thick])
    over = found["finish/film-over-allowance"]
    assert "200 µm" in over.message and "150 µm" in over.message and "paint = 0.20 mm" in over.remedy
    _, fine = planned({"steel": [{"coating": "grey paint", "coats": 2}]}, [thick], top={"paint": 0.2})
    assert "finish/film-over-allowance" not in fine


def test_a_start_outside_the_shops_hours_is_moved_and_told() -> None:
    systems, found = planned({"wood": [{"coating": "house oil"}], "start": "2026-12-01T21:30"}, [OIL])
    assert systems["wood"].coats[0].starts == "2026-12-02T08:00"
    assert 'start = "2026-12-02T08:00"' in found["finish/not-open"].remedy


def test_holes_are_cut_before_the_last_coat() -> None:
    with_bores = areas()
    bores = dataclasses.replace(with_bores.surfaces[0], name="bores")
    with_bores = dataclasses.replace(with_bores, surfaces=(*with_bores.surfaces, bores))
    _, found = coating_plan(finish_job({"wood": [{"coating": "house oil"}]}, [OIL]), with_bores)
    assert any(finding.code == "finish/holes-first" for finding in found)


def test_usable_is_the_cure_after_the_last_coat() -> None:
    system = planned({"wood": [{"coating": "house oil"}], "start": "2026-12-01T09:00"}, [OIL])[0]["wood"]
    ends, usable = system.coats[-1].ends, system.usable
    assert ends is not None and usable is not None
    assert (datetime.fromisoformat(usable) - datetime.fromisoformat(ends)).total_seconds() == 240 * 3600


def test_every_example_coats_something() -> None:
    for coating in examples():
        assert isinstance(coating, Coating)
        on = "steel" if coating.kind == "paint" else "wood"
        systems, _ = planned({on: [{"coating": coating.name}]})
        assert all(coat.amount > 0.0 for coat in systems[on].coats) and systems[on].cans


def test_a_start_in_the_past_is_told_and_another_year_is_a_slip() -> None:
    said = {}
    for start in ("2026-11-20T09:00", "1999-12-01T09:00", "2026-12-01T09:00"):
        _, found = planned({"wood": [{"coating": "house oil"}], "start": start}, [OIL], date="2026-11-25")
        said[start[:4] + start[5:7]] = [f.severity for code, f in found.items() if code == "finish/start-past"]
    assert said == {"202611": ["caution"], "199912": ["stop"], "202612": []}
