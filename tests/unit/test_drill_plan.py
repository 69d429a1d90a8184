"""The drill plan: slots where their bolts are, steel at the edges, openings, vents, DXF that reads back."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from typing import Any

import ezdxf
import pytest

from slabwright.base.drill_plan import Cable, drill_plan
from slabwright.base.kinds import Bolt, Drawn
from slabwright.base.stability import base_structure
from slabwright.base.stiffness import TopOn
from slabwright.findings import SlabwrightError
from slabwright.job.base_models import Base, BaseKind
from slabwright.sheets.plate_drawing import plate_dxf
from slabwright.top.slots import Slot, SlotPlan

TOP = TopOn(2200.0, 900.0, (44.0, 45.0, 46.0), 8.0, 620.0, 11_600.0, 0.55)
SPREAD = 1500.0


def bolts(dx: float = 95.0, dy: float = 260.0) -> list[Bolt]:
    return [
        Bolt(f"{end} {side} {row}", x + row * dx, y, slides=y != 0.0)
        for end, x in (("left", -SPREAD / 2), ("right", SPREAD / 2))
        for row in (-1, 1)
        for side, y in (("near", -dy), ("middle", 0.0), ("far", dy))
    ]


def drawn(kind: BaseKind = "U legs", held: list[Bolt] | None = None, **keys: Any) -> Drawn:
    stated = Base.model_validate(
        {"tube": "60x60x3", "across": 640, "spread": SPREAD, "plate": {"width": 240}, **keys},
        context={"units": "metric"},
    )
    return base_structure(stated, kind, 740.0, TOP, held or bolts()).drawn


def slot_of(bolt: Bolt, length: float, shift: float, width: float = 9.0) -> Slot:
    """A slot with these sizes; what the drill plan does not read is zero."""
    return Slot(
        name=bolt.name,
        plate="plate",
        fixed=not bolt.slides,
        along=bolt.x + 1100.0,
        across=bolt.y,
        from_fixed=bolt.y,
        movement_dry=0.0,
        movement_damp=0.0,
        movement_low=0.0,
        movement_high=0.0,
        bolt=bolt.thread,
        length=length,
        width=width,
        shift=shift,
        near_end=length / 2 - shift,
        far_end=length / 2 + shift,
        bolt_sits="",
        washer="washer",
        washer_least=13.0,
        washer_outer=24.0,
        washer_thickness=2.0,
        tighten="",
    )


def slots(held: list[Bolt]) -> SlotPlan:
    made = tuple(slot_of(b, 16.0 if b.slides else 9.0, math.copysign(1.5, b.y) if b.slides else 0.0) for b in held)
    return SlotPlan(None, False, made, (), ())


def test_slots_stand_at_their_bolts_and_their_shift() -> None:
    plan = drill_plan(drawn(), slots(bolts()), "metric")
    left = next(plate for plate in plan.plates if plate.name == "left plate")
    holes = {hole.name: hole for hole in left.holes}
    assert set(holes) == {bolt.name for bolt in bolts() if bolt.x < 0}
    near, middle = holes["left near -1"], holes["left middle 1"]
    assert (near.along, near.across, near.length, near.width) == pytest.approx((-95.0, -261.5, 16.0, 9.0))
    assert (middle.along, middle.across, middle.length) == pytest.approx((95.0, 0.0, 9.0))
    assert near.edge == pytest.approx(120.0 - 95.0 - 4.5)
    assert near.make != middle.make
    assert not plan.findings


def test_round_holes_before_there_is_a_layout() -> None:
    hole = drill_plan(drawn(), None, "metric").plates[0].holes[0]
    assert (hole.length, hole.width, hole.shift) == (9.0, 9.0, 0.0)


@pytest.mark.parametrize(("dx", "severity"), [(111.0, "caution"), (117.0, "stop")])
def test_a_slot_at_the_edge(dx: float, severity: str) -> None:
    held = bolts(dx)
    found = drill_plan(drawn(held=held), slots(held), "metric").findings
    assert {(finding.code, finding.severity) for finding in found} == {("base/hole-at-edge", severity)}


def test_moving_it_in_as_told_mends_the_edge() -> None:
    held = bolts(111.0)
    said = drill_plan(drawn(held=held), slots(held), "metric").findings[0].remedy
    assert "in by 1.8 mm" in said
    held = bolts(111.0 - 1.8)
    assert not drill_plan(drawn(held=held), slots(held), "metric").findings


def test_slots_that_run_into_each_other() -> None:
    held = [*bolts(), Bolt("left extra", -SPREAD / 2 - 95.0, 275.0, slides=True)]
    found = drill_plan(drawn(held=held), slots(held), "metric").findings
    (finding,) = [finding for finding in found if finding.code == "base/holes-too-near"]
    assert finding.severity == "stop"
    assert "left extra" in finding.message


def test_a_bolt_over_a_tube_cannot_be_turned() -> None:
    held = bolts(35.0)
    codes = {finding.code for finding in drill_plan(drawn("closed loops", held), slots(held), "metric").findings}
    assert codes == {"base/bolt-over-tube"}
    held = bolts(43.0)
    assert not drill_plan(drawn("closed loops", held), slots(held), "metric").findings


def test_openings_for_cables() -> None:
    cables = [Cable("power", "left plate", 12.0, 0.0, 100.0), Cable("lead", "left near upright", 20.0, 300.0)]
    plan = drill_plan(drawn(), slots(bolts()), "metric", cables)
    (power,) = plan.plates[0].openings
    (lead,) = plan.openings
    assert (power.diameter, lead.diameter) == (16.0, 24.0)
    assert "grommet" in power.protect
    assert not plan.findings
    assert any("opening lead" in line for line in plan.deburr)
    wide = drill_plan(drawn(), slots(bolts()), "metric", [replace(cables[1], diameter=30.0)])
    assert {finding.code for finding in wide.findings} == {"base/opening-too-wide"}
    near = drill_plan(drawn(), slots(bolts()), "metric", [replace(cables[0], along=95.0, across=268.0)])
    assert {finding.code for finding in near.findings} == {"base/holes-too-near"}
    with pytest.raises(SlabwrightError, match="goes through 'shelf'"):
        drill_plan(drawn(), None, "metric", [Cable("power", "shelf", 12.0, 0.0)])


def test_every_hollow_has_one_vent() -> None:
    vents = drill_plan(drawn(), None, "metric").vents
    assert len(vents) == 2
    assert set(vents[0].pieces) == {"left near upright", "left bottom rail", "left far upright"}
    base = drawn()
    rail = 640.0 - 60.0
    near = base.nodes["left near upright, top"][2] - base.nodes["left near upright, bottom"][2]
    assert vents[0].volume == pytest.approx(54.0**2 * (rail + 2 * near))
    assert vents[0].place == "underside of the left bottom rail, at its middle"
    assert len(drill_plan(drawn(corners="butted"), None, "metric").vents) == 6
    assert len(drill_plan(drawn("closed loops"), None, "metric").vents) == 2


def test_dxf_reads_back_with_its_slots() -> None:
    plate = drill_plan(drawn(), slots(bolts()), "metric", [Cable("power", "left plate", 12.0, 0.0, 100.0)]).plates[0]
    made = plate_dxf(plate, "metric")
    assert made == plate_dxf(plate, "metric")
    document = ezdxf.read(io.StringIO(made.decode()))
    assert not document.audit().has_errors
    space = document.modelspace()
    (outline,) = space.query('LWPOLYLINE[layer=="OUTLINE"]')
    assert {tuple(abs(v) for v in point[:2]) for point in outline.get_points()} == {(120.0, 320.0)}
    rings = space.query('LWPOLYLINE[layer=="HOLES"]')
    rounds = space.query('CIRCLE[layer=="HOLES"]')
    assert (len(rings), len(rounds)) == (4, 2)
    centres = sorted((sum(p[0] for p in ring) / 4, sum(p[1] for p in ring) / 4) for ring in rings)
    assert centres == [
        pytest.approx(place) for place in [(-95.0, -261.5), (-95.0, 261.5), (95.0, -261.5), (95.0, 261.5)]
    ]
    points = [point for ring in rings for point in ring.get_points("xyb")]
    assert max(p[1] for p in points) - min(p[1] for p in points) == pytest.approx(2 * 261.5 + 16.0 - 9.0)
    assert sorted({p[2] for p in points}) == [0.0, 1.0]
    (opening,) = space.query('CIRCLE[layer=="OPENINGS"]')
    assert opening.dxf.radius == 8.0
