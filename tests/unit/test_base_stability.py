"""Answers of the base: against closed forms, balance of forces, and one another."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
import shapely

from slabwright.accounts import accounts, as_plain
from slabwright.base.loads import cases, loads_of, settle, stand
from slabwright.base.parts import parts_to_cut
from slabwright.base.stability import base_structure
from slabwright.base.stiffness import TopOn, build
from slabwright.base.tipping import tipping_lines, tipping_load
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base
from slabwright.quantities import Units, format_force
from slabwright.slab.sag import deflection

TOP = TopOn(2200.0, 900.0, (44.0, 45.0, 46.0), 8.0, 620.0, 11_600.0, 0.55)


def stated(**keys: Any) -> Base:
    return Base.model_validate(keys, context={"units": "metric"})


def test_shares_of_the_give_add_up_to_all_of_it() -> None:
    found = base_structure(stated(), "closed loops", 740.0, TOP)
    for way in (found.sway_shares.x, found.sway_shares.y):
        parts = as_plain(way)
        assert sum(parts.values()) == pytest.approx(1.0, abs=1e-5)
        assert min(parts.values()) >= 0.0


def test_sag_is_that_of_a_beam_on_two_supports_where_the_legs_give_way() -> None:
    """Feet that slide let the legs turn with the top, so that it is an overhanging beam, worked out without a mesh elsewhere."""
    base = stated(spread=1400, plate={"bolt_rows": 1, "width": 100}, loads={"spread": 0})
    found = base_structure(base, "U legs", 740.0, TOP)
    x = np.linspace(0.0, 2200.0, 221)
    curve = deflection(x, [400.0, 1800.0], 2200.0, 45.0, 620.0, 11_600.0)
    # Across the grain, where plate and top bend between the uprights, there is a little more.
    assert found.sag.now == pytest.approx(float(np.ptp(curve)), rel=0.15)
    assert found.sag.long_term == pytest.approx(1.5 * found.sag.now)


def test_frequency_is_that_of_a_mass_on_a_spring_under_a_heavy_top() -> None:
    heavy = TopOn(2200.0, 900.0, (44.0, 45.0, 46.0), 8.0, 40_000.0, 11_600.0, 0.55)
    found = base_structure(stated(), "U legs", 740.0, heavy)
    stiff = min(found.sway_stiffness.x, found.sway_stiffness.y)
    assert found.sway_frequency == pytest.approx(math.sqrt(stiff * 1000.0 / found.top_mass) / (2 * math.pi), rel=0.02)


def test_feet_balance_every_load() -> None:
    base = stated()
    found = base_structure(base, "four legs", 740.0, TOP)
    structure = found.structure
    every = cases(structure, loads_of(base.loads, TOP.area))
    places = structure.assembled.frame.nodes
    for slides in (True, False):
        for one in settle(stand(structure, slides), [case for case in every if case.slides == slides]):
            assert one is not None
            forces = one.case.forces.reshape(-1, 6)
            assert one.feet.sum() == pytest.approx(-forces[:, 2].sum(), rel=1e-6)
            assert (one.feet >= -1e-6).all()
            if slides:
                feet = places[list(structure.feet)]
                turned = forces[:, 2] @ places[:, :2] + np.array([-forces[:, 4].sum(), forces[:, 3].sum()])
                # The soft springs that keep a sliding table from wandering take up next to nothing.
                assert one.feet @ feet[:, :2] == pytest.approx(-turned, abs=0.01 * one.feet.sum())


def test_a_low_floor_is_found_by_the_foot_above_it() -> None:
    base = stated(loads={"dropped": 3.0})
    structure = base_structure(base, "four legs", 740.0, TOP).structure
    every = [case for case in cases(structure, loads_of(base.loads, TOP.area)) if case.low]
    for number, one in enumerate(settle(stand(structure, slides=True), every)):
        assert one is not None
        level = one.feet.sum() / 4.0
        assert one.feet[number] < level
        drop = one.motions[6 * structure.feet[number] + 2]
        assert drop >= -3.0 - 1e-9
        assert (one.feet[number] < 1e-6) == (drop > -3.0 + 1e-9)


@pytest.mark.parametrize("times", [0.97, 1.03])
def test_elastic_contact_tips_where_statics_says(times: float) -> None:
    """A rigid table tips at the load that statics gives; the elastic one, lifting foot by foot, at the same."""
    base = stated(spread=1300, across=500)
    found = base_structure(base, "U legs", 740.0, TOP)
    lines = tipping_lines([(name, place) for name, _, place in found.drawn.feet])
    weight = (sum(foot.standing for foot in found.feet)) - 50.0 * TOP.area * 1e-6 * 9.80665
    tips, _ = tipping_load(lines, weight, (0.0, 0.0), (0.0, -400.0))
    assert tips is not None
    loaded = base_structure(stated(spread=1300, across=500, loads={"edge": times * tips}), "U legs", 740.0, TOP)
    assert ("a person at the near edge" in loaded.tipping_cases) == (times > 1.0)


def test_a_stretcher_or_a_wider_plate_makes_it_stiffer() -> None:
    plain = base_structure(stated(plate={"bolt_spacing": 60}), "U legs", 740.0, TOP)
    wide = base_structure(stated(plate={"bolt_spacing": 200}), "U legs", 740.0, TOP)
    stretched = base_structure(stated(plate={"bolt_spacing": 60}, stretcher="60x60x3"), "U legs", 740.0, TOP)
    assert wide.sway_stiffness.x > 1.1 * plain.sway_stiffness.x
    assert stretched.sway_stiffness.x > 1.2 * plain.sway_stiffness.x


def test_mends_hold_when_they_are_made() -> None:
    found = base_structure(stated(), "inverted U", 740.0, TOP)
    mend = next(mend for mend in found.mends if mend.change.startswith("stretchers"))
    made = base_structure(stated(stretcher="60x60x3"), "inverted U", 740.0, TOP)
    assert made.sway_stiffness.x == pytest.approx(mend.sway_x)
    assert made.mass - found.mass == pytest.approx(mend.mass)
    costs = [max(mend.mass, 0.1) / (mend.gain - 1.0) for mend in found.mends]
    assert costs == sorted(costs)


def test_weight_near_what_the_trade_knows() -> None:
    """2.29 m x 0.91 m x 45 mm of walnut on two U legs of 2 in x 1/4 in tube with heavy plates: near 250 lb (common practice)."""
    walnut = TopOn(2290.0, 910.0, (45.0, 45.0, 45.0), 10.0, 1000 * 0.55 * 1.12, 11_600.0, 0.55)
    base = stated(tube="HSS 2x2x1/4", plate={"width": 203.2, "thickness": 12.7})
    found = base_structure(base, "U legs", 740.0, walnut)
    assert (found.mass + found.top_mass) / 0.45359237 == pytest.approx(250.0, rel=0.1)


def test_weak_tables_are_told() -> None:
    wobbly = stated(tube="20x20x2", plate={"width": 60, "thickness": 3, "bolt_spacing": 20}, loads={"edge": 4000})
    found = base_structure(wobbly, "inverted U", 1100.0, TOP)
    codes = {finding.code for finding in found.findings}
    assert {"base/wobbles-lengthwise", "base/tips", "base/bolt-pull"} <= codes
    told = next(finding for finding in found.findings if finding.code == "base/wobbles-lengthwise")
    (named,) = [mend for mend in found.mends if mend.change[1:] in told.remedy]
    assert named.sway_x > 1.05 * found.sway_stiffness.x


WEAK = {"tube": "20x20x2 mm", "plate": {"width": 60, "thickness": 2.5, "bolt_spacing": 20}, "loads": {"edge": 4000}}


@pytest.mark.parametrize("units", ["metric", "inch"])
def test_messages_are_sentences_in_the_units_of_the_job(units: Units) -> None:
    found = base_structure(stated(**WEAK), "inverted U", 1100.0, TOP, units=units)
    assert len(found.findings) > 4
    for finding in found.findings:
        for said in (finding.message, finding.remedy):
            assert said[0] == said[0].upper() and said.endswith(".")
            words = said.replace(",", " ").replace(";", " ").replace(".", " ").split()
            strange = {"N", "mm", "kg", "MPa", "N/mm", "mm;"} if units == "inch" else {"lbf", "lb", "ksi", "lbf/in"}
            assert not strange & set(words), said
            assert units == "inch" or '"' not in said


def test_flats_are_called_in_the_units_of_the_job() -> None:
    base = stated(tube="HSS 2x2x1/4", corners="butted", plate={"width": 203.2, "thickness": 9.525})
    for units, plate, cap in (
        ("inch", 'flat 8"x3/8"', 'flat 1 7/16"x1/4"'),
        ("metric", "flat 203.2x9.525", "flat 37x6.35"),
    ):
        found = base_structure(base, "closed loops", 740.0, TOP, units=units)  # type: ignore[arg-type]
        parts = {part.name: part for part in parts_to_cut(found.drawn, found.stack)}
        assert (parts["plate"].section.name, parts["cap"].section.name) == (plate, cap)
        assert parts["plate"].section.mass_per_metre == pytest.approx(203.2 * 9.525 * 7.85e-3, rel=1e-4)


def test_a_remedy_for_pulled_bolts_holds_when_it_is_made() -> None:
    one_row = {"width": 90, "length": 560, "bolt_rows": 1}
    found = base_structure(stated(plate=one_row, across=560), "U legs", 740.0, TOP)
    told = next(finding for finding in found.findings if finding.code == "base/bolt-pull")
    assert told.remedy.startswith("Two rows of bolts on each plate, 60 mm apart")
    plate = {"width": 90, "length": 560, "bolt_rows": 2, "bolt_spacing": 60}
    made = base_structure(stated(plate=plate, across=560), "U legs", 740.0, TOP)
    assert "base/bolt-pull" not in {finding.code for finding in made.findings}
    assert made.bolt_pull is not None
    assert f"at most {format_force(made.bolt_pull.pull, 'metric')}" in told.remedy


def test_a_plate_that_is_too_thin_yields() -> None:
    found = base_structure(stated(plate={"thickness": 2.5}), "closed loops", 740.0, TOP)
    assert "plate" in found.stress.member
    assert "base/steel-yields" in {finding.code for finding in found.findings}


def test_what_cannot_stand_is_refused() -> None:
    with pytest.raises(SlabwrightError, match="picture of the base"):
        base_structure(stated(), None, 740.0, TOP)
    off = TopOn(2200.0, 900.0, (44.0, 45.0, 46.0), 8.0, 620.0, 11_600.0, 0.55, shapely.box(0.0, -450.0, 2200.0, 450.0))
    assert base_structure(stated(), "U legs", 740.0, off).tip_load == pytest.approx(
        base_structure(stated(), "U legs", 740.0, TOP).tip_load
    )


def test_a_top_that_slides_on_every_bolt_is_refused() -> None:
    from dataclasses import replace

    found = base_structure(stated(), "U legs", 740.0, TOP)
    sliding = [replace(bolt, slides=True) for bolt in found.drawn.bolts]
    with pytest.raises(SlabwrightError, match="every bolt slides"):
        base_structure(stated(), "U legs", 740.0, TOP, sliding)


def test_sliding_bolts_carry_nothing_along_their_slot() -> None:
    structure = build(base_structure(stated(), "U legs", 740.0, TOP).drawn, TOP)
    for bolt, joint in zip(structure.bolts, structure.assembled.frame.joints[4:], strict=True):
        assert (joint.stiffness[1] == 0.0) == bolt.slides
        assert joint.stiffness[0] > 0.0


def test_a_stiff_table_rocks_where_the_floor_is_low() -> None:
    rocking = base_structure(stated(loads={"dropped": 30.0}), "four legs", 740.0, TOP)
    assert len(rocking.rocks) == 4
    assert "base/rocks" in {finding.code for finding in rocking.findings}
    assert not base_structure(stated(loads={"dropped": 0.05}), "four legs", 740.0, TOP).rocks


def test_parts_and_paint_of_u_legs() -> None:
    keys = {"tube": "60x60x4", "across": 640, "plate": {"width": 200, "length": 600, "thickness": 8}}
    found = base_structure(
        stated(**keys), "U legs", 740.0, TopOn(2200.0, 900.0, (36.0, 45.0, 45.0), 8.0, 620.0, 11_600.0, 0.5)
    )
    assert found.stack is not None
    parts = {part.name: part for part in parts_to_cut(found.drawn, found.stack)}
    assert parts["upright"].extra == pytest.approx(0.0)
    assert (parts["plate"].section.name, parts["plate"].length, parts["plate"].count) == ("flat 200x8", 600.0, 2)
    leg = found.stack.leg
    around = parts["upright"].section.perimeter
    tubes = around * (4 * (leg - 30.0) + 2 * (640.0 - 60.0))
    assert found.paint_area == pytest.approx(tubes + 2 * 2 * (200 * 600 + 200 * 8 + 600 * 8))
    thin = TopOn(2200.0, 900.0, (30.0, 45.0, 45.0), 8.0, 620.0, 11_600.0, 0.5)
    long = base_structure(stated(**keys), "U legs", 740.0, thin)
    extra = {part.name: part.extra for part in parts_to_cut(long.drawn, long.stack)}
    assert extra == {"upright": pytest.approx(5.0), "bottom rail": 0.0, "plate": 0.0}


def test_every_figure_has_its_meaning() -> None:
    found = base_structure(stated(), "U legs", 740.0, TOP)
    listed = {account.path: account for account in accounts(found, "base")}
    assert all(account.description.meaning for account in listed.values())
    for path in ("base.mass", "base.height.low", "base.sway_stiffness.x", "base.sag.long_term", "base.tip_load"):
        assert listed[path].description.how
