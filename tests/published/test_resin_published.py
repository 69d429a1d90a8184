"""Epoxy against figures from outside the project."""

from __future__ import annotations

import pytest

from slabwright.finish.pours import mix
from slabwright.job.epoxy_models import Epoxy


@pytest.mark.parametrize(("temperature", "hours"), [(13.0, 8.0), (23.0, 4.0), (33.0, 2.0), (43.0, 1.0)])
def test_pot_life_doubles_for_ten_degrees_colder(temperature: float, hours: float) -> None:
    # Unified Facilities Guide Specification 09 97 13: pot life halves for each 10 degrees Celsius (18 F) warmer; a primer of
    # 4 hours at 23 degrees has 8 at 13, 2 at 33 and 1 at 43.
    sheet = Epoxy(sheet_temperature=23.0, shop_temperature=temperature, temperature_factor=2.0)
    assert 4.0 * sheet.slower == pytest.approx(hours)


def test_the_volume_of_a_mix_is_that_of_its_parts() -> None:
    # V = m_A / rho_A + m_B / rho_B for parts that do not shrink in mixing, with densities usual for resin and hardener
    # (1.16 and 0.97 kg/l, from memory): 2 to 1 by volume is 2.392 to 1 by mass.
    sheet = Epoxy(
        mix_by="volume", resin_parts_volume=2.0, hardener_parts_volume=1.0, resin_density=1.16, hardener_density=0.97
    )
    assert sheet.resin_to_hardener == pytest.approx(2.3918, abs=5e-5)
    weighed = mix(3290, sheet)  # three litres
    assert weighed.resin / 1.16 + weighed.hardener / 0.97 == pytest.approx(3000.0, abs=1.0)
