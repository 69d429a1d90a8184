"""The moisture gate: is the slab dry enough for the client's room?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from slabwright.accounts import figure


@dataclass(frozen=True)
class MoistureGate:
    """What the meter said against what the room asks for."""

    verdict: Literal["go", "caution", "stop"] = figure("", "whether the slab may be cut now")
    shell: float | None = figure("%", "moisture near the surface, mean of the readings")
    core: float | None = figure("%", "moisture at half the thickness, mean of the readings")
    target: float | None = figure("%", "moisture the wood will come to in the room, mean of its seasons")
    target_low: float | None = figure("%", "in the room's driest season")
    target_high: float | None = figure("%", "in the room's dampest season")
    excess: float | None = figure("%", "core above the target")
    wait_low: float | None = figure("day", "shortest likely wait")
    wait_high: float | None = figure("day", "longest likely wait")
