from __future__ import annotations

import pytest

from slabwright.findings import SlabwrightError
from slabwright.job.models import Moisture, Room, Season
from slabwright.reference.air import equilibrium_moisture
from slabwright.reference.wood import all_species, species
from slabwright.slab.moisture import moisture_findings, moisture_gate

HOUSE = Room(kind="heated house", dry=None, damp=None)


def gate_of(core: float | None, shell: float | None, room: Room | None = HOUSE, thickness: float = 50.0):  # type: ignore[no-untyped-def]
    moisture = Moisture(shell=[shell] if shell else [], core=[core] if core else [], days_in_shop=None)
    return moisture_gate(moisture, room, thickness)


def test_dry_slab_may_go_on_without_a_word() -> None:
    gate = gate_of(9.0, 8.5)
    assert gate.verdict == "go"
    assert moisture_findings(gate) == ()


def test_wet_slab_stops_and_tells_how_long() -> None:
    gate = gate_of(18.0, 12.0)
    assert gate.verdict == "stop"
    assert gate.wait_low is not None and gate.wait_high is not None and 0 < gate.wait_low < gate.wait_high
    [finding] = moisture_findings(gate)
    assert finding.severity == "stop" and "rule of thumb" in finding.remedy


def test_thicker_slab_waits_with_the_square_of_its_thickness() -> None:
    thin, thick = gate_of(18.0, 12.0, thickness=40.0), gate_of(18.0, 12.0, thickness=80.0)
    assert thick.wait_low == pytest.approx(4.0 * (thin.wait_low or 0.0))


@pytest.mark.parametrize(
    ("core", "shell", "room", "code"),
    [
        (None, 9.0, HOUSE, "slab/core-unknown"),
        (None, None, HOUSE, "slab/moisture-unknown"),
        (9.0, 9.0, None, "slab/room-unknown"),
        (3.0, 3.0, HOUSE, "slab/too-dry"),
        (13.9, 12.0, HOUSE, "slab/damp"),
        (9.0, 75.0, None, "slab/shell-wetter"),
    ],
)
def test_what_is_not_known_or_not_right_is_a_caution(
    core: float | None, shell: float | None, room: Room | None, code: str
) -> None:
    gate = gate_of(core, shell, room)
    assert gate.verdict == "caution"
    assert code in [finding.code for finding in moisture_findings(gate)]


def test_stated_air_is_taken() -> None:
    room = Room(kind=None, dry=Season(temperature=20, humidity=40), damp=Season(temperature=20, humidity=50))
    gate = gate_of(9.0, 9.0, room)
    assert gate.target_high == pytest.approx(equilibrium_moisture(20, 50))


def test_air_outside_the_equation_is_refused() -> None:
    with pytest.raises(ValueError, match="outside"):
        equilibrium_moisture(20.0, 120.0)


@pytest.mark.parametrize("name", ["ash, white", "White Ash", "white ash", "ASH, WHITE"])
def test_species_by_any_word_order(name: str) -> None:
    assert species(name).name == "ash, white"


def test_unknown_species_tells_near_ones() -> None:
    with pytest.raises(SlabwrightError, match="'ash, white'"):
        species("ash, purple")
    with pytest.raises(SlabwrightError, match="'walnut, black'"):
        species("wallnut, black")


def test_table_is_whole() -> None:
    for row in all_species().values():
        assert row.specific_gravity is None or 0.2 < row.specific_gravity < 1.0
        assert row.modulus is None or 5_000 < row.modulus < 18_000
        if row.shrinkage:
            radial, tangential, volumetric = row.shrinkage
            assert 0 < radial < tangential < volumetric < 25
