"""Change of width and thickness, and of every place across."""

from __future__ import annotations

import numpy as np
import pytest

from slabwright.accounts import accounts
from slabwright.findings import SlabwrightError
from slabwright.job.models import Moisture, Room
from slabwright.reference.wood import Species, species
from slabwright.top.movement import (
    MoistureRange,
    Movement,
    OutOfRange,
    along_movement,
    displacement,
    moisture_made,
    moisture_range,
    movement,
    strain,
)
from slabwright.top.rings import RingPattern, coefficients

ASH = species("ash, white")
SEASONS = MoistureRange(6.5, 11.0)
FLAT, QUARTER = RingPattern(0.0, None, 15.0), RingPattern(90.0, None, 15.0)


def top(pattern: RingPattern = FLAT, made_at: float = 9.0, fixed_at: float = 0.0) -> Movement:
    return movement(900.0, 50.0, ASH, made_at, SEASONS, pattern, fixed_at)


def test_width_shrinks_towards_the_dry_season_and_swells_towards_the_damp() -> None:
    found = top()
    assert found.width_change_dry == pytest.approx(900.0 * 0.00274 * -2.5)
    assert found.width_change_damp == pytest.approx(900.0 * 0.00274 * 2.0)
    assert found.thickness_change_dry == pytest.approx(50.0 * 0.00169 * -2.5)
    assert found.coefficient == pytest.approx(0.00274)
    assert top(QUARTER).width_change_damp == pytest.approx(900.0 * 0.00169 * 2.0)


def test_circles_about_the_pith_move_as_the_sum_of_thin_strips() -> None:
    pattern = RingPattern(None, (120.0, 200.0), 0.0)
    y = (np.arange(3000) + 0.5) / 3000 * 900.0 - 450.0
    d = (np.arange(50) + 0.5) / 50 * 50.0
    along, through = coefficients(pattern, 0.00274, 0.00169, y[:, None], d[None, :])
    found = top(pattern)
    assert found.width_change_damp == pytest.approx(2.0 * 900.0 * float(along.mean()), rel=1e-5)
    assert found.thickness_change_damp == pytest.approx(2.0 * 50.0 * float(through.mean()), rel=1e-5)


def test_places_move_from_the_fixed_one() -> None:
    found = top(fixed_at=-200.0)
    assert displacement(found, -200.0).dry == 0.0
    assert displacement(found, 300.0).dry == pytest.approx(500.0 * 0.00274 * -2.5)
    assert displacement(found, -400.0).dry == pytest.approx(200.0 * 0.00274 * 2.5)  # shrinks towards the fixed one
    first, last = found.displacements[0], found.displacements[-1]
    assert last.dry - first.dry == pytest.approx(found.width_change_dry)


def test_what_is_not_known_widens_the_range() -> None:
    found = top()
    assert found.width_change_dry_low < found.width_change_dry < found.width_change_dry_high
    assert found.width_change_dry - found.width_change_dry_low == pytest.approx(
        np.hypot(0.3 * 6.165, 900.0 * 0.00274), rel=1e-3
    )
    exact = top(RingPattern(0.0, None, 0.0))
    assert found.width_change_dry_high > exact.width_change_dry_high  # rings may stand steeper than the picture
    reach = displacement(found, 400.0)
    assert reach.low < reach.dry < 0.0 < reach.damp < reach.high


def test_wood_made_drier_than_its_room_only_swells_but_its_own_day_counts() -> None:
    found = top(made_at=6.0)
    assert 0.0 < found.width_change_dry < found.width_change_damp
    assert displacement(found, 400.0).low <= 0.0


def test_beyond_the_linear_range_the_shrinkage_is_taken() -> None:
    wet = top(made_at=18.0)
    assert wet.width_change_dry == pytest.approx(900.0 * (6.5 - 18.0) / (3000.0 / 7.8 - 30.0 + 18.0))
    assert "13-3" in wet.rests_on_source
    assert "13-2" in top().rests_on_source


@pytest.mark.parametrize("made_at", [30.5, -1.0])
def test_outside_what_the_coefficients_hold_for(made_at: float) -> None:
    with pytest.raises(OutOfRange, match="0 to 30 %"):
        top(made_at=made_at)


def test_a_species_without_shrinkage_holds_within_the_linear_range_only() -> None:
    bare = Species("wood", 0.6, None, None, (0.001, 0.002), ())
    assert movement(100.0, 20.0, bare, 9.0, SEASONS, FLAT).width_change_damp == pytest.approx(0.4)
    with pytest.raises(OutOfRange, match="no shrinkage"):
        movement(100.0, 20.0, bare, 15.0, SEASONS, FLAT)
    with pytest.raises(SlabwrightError, match="neither"):
        movement(100.0, 20.0, Species("wood", 0.6, None, None, None, ()), 9.0, SEASONS, FLAT)
    with pytest.raises(SlabwrightError, match="above zero"):
        movement(0.0, 20.0, ASH, 9.0, SEASONS, FLAT)


def test_shrinkage_stands_in_where_the_table_has_no_coefficient() -> None:
    found = movement(500.0, 40.0, species("cedar, incense"), 9.0, SEASONS, FLAT)
    assert found.width_change_damp == pytest.approx(500.0 * strain(None, 5.2, 9.0, 11.0))


def test_moisture_when_made_as_stated_else_core_else_shell() -> None:
    assert moisture_made(8.0, Moisture(core=[10.0])) == 8.0
    assert moisture_made(None, Moisture(core=[10.0, 11.0], shell=[7.0])) == 10.5
    assert moisture_made(None, Moisture(shell=[7.0])) == 7.0
    assert moisture_made(None, None) is None


def test_the_room_gives_the_seasons() -> None:
    found = moisture_range(Room(kind="heated house"))
    assert found is not None
    assert 5.5 < found.dry < 7.0 < 10.0 < found.damp < 12.0
    assert moisture_range(None) is None


def test_along_the_grain_wood_hardly_moves() -> None:
    assert along_movement(top(), 2000.0) == pytest.approx(2000.0 * 0.002 / 30.0 * 3.5)


def test_every_figure_says_what_it_is() -> None:
    told = {account.path: account.description for account in accounts(top(), "top.movement")}
    for name in ("width_change_dry", "width_change_damp"):
        description = told[f"top.movement.{name}"]
        assert description.unit == "mm"
        assert description.how
        assert description.source
        assert description.sure
    assert told["top.movement.displacements[0].across"].meaning
