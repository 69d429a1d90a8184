"""Every clamping through tool path, program and simulator: what is set up can be cut."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby
from typing import Any

import numpy as np
import pytest
from tests.unit.milled_slab import job, slab

from slabwright.machine.program_check import limits_of
from slabwright.machine.rs274 import program_text
from slabwright.machine.setting import Clamping, settings
from slabwright.machine.simulator import after, simulate
from slabwright.machine.strips import strips


def cut(clamping: Clamping, machine: Any) -> np.ndarray:
    """The wood above the bed after all depths of a clamping, each of which must pass."""
    stock, previous = clamping.stock, None
    for index, level in enumerate(clamping.levels):
        here = replace(clamping.at_depth(index), stock=stock)
        path = strips(here, level, previous, machine=machine)
        text = program_text(
            path,
            here,
            name="trial",
            units=machine.program_units,
            cutter_diameter=machine.cutter_diameter,
            spindle_speed=machine.spindle_speed,
            comments=[],
        )
        run = simulate(text, here, limits_of(machine), level=level)
        assert run.faults == ()
        stock, previous = after(here, run).stock, level
    return stock.top


@pytest.mark.parametrize("show", ["A", "B"])
@pytest.mark.parametrize("procedure", ["one go", "rough, rest, skim"])
@pytest.mark.parametrize("travel", [2600.0, 1400.0])
def test_every_clamping_passes_and_what_it_leaves_is_what_the_next_one_counts_on(
    show: str, procedure: str, travel: float
) -> None:
    about: dict[str, Any] = {"show": show, "procedure": procedure}
    shop = job(**about).shop
    machine = shop.machine.model_copy(update={"travel_x": travel})
    found = settings(slab(**about), machine, shop.bed, allowance=shop.allowance)
    assert len({(clamping.face, clamping.stage) for clamping in found}) == (2 if procedure == "one go" else 4)
    assert any(clamping.overlap for clamping in found) == (travel < 2000.0)
    for _, group in groupby(found, key=lambda clamping: (clamping.face, clamping.stage)):
        # A half where nothing stands above the rest has no clamping of its own.
        parts = list(group)
        top = parts[0].stock.top
        for part in parts:
            # The second clamping counts on no wood being gone that is still there.
            assert np.nanmax(top - part.stock.top) <= 1e-3
            top = cut(part, machine)
        level = parts[-1].plane + parts[-1].levels[-1]
        wood = ~np.isnan(top)
        assert np.max(top[wood]) <= level + 1e-3
        assert np.min(top[wood]) >= min(level, float(np.nanmin(parts[0].stock.top))) - 1e-3
